"""One ranked answer over several ways to the work: every route of a shop, or every lever of a gearbox."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from fractions import Fraction

from ..base.facts import Note
from ..base.units import format_ppm
from ..shop.machine import Route
from ..shop.shop import Shop
from ..work.part import Part
from ..work.tolerance import DOUBTFUL
from .answers import Answer
from .search import Search
from .solution import Solution
from .terms import Terms

_BY_A_LOT = 10  # times nearer; common practice, no source


def searches_of(shop: Shop, part: Part, terms: Terms) -> list[Search]:
    """A search for each way that the terms ask for, in the order of the shop file."""
    return [Search(shop, part, each) for each in terms.each_way(shop)]


def reach_of(searches: Sequence[Search]) -> tuple[Fraction, Fraction] | None:
    """The shortest and the longest lead [mm] of all ways; None where no way has a train."""
    reaches = [search.reach_mm for search in searches if search.reach_mm is not None]
    return (min(low for low, _ in reaches), max(high for _, high in reaches)) if reaches else None


def ranked(searches: Sequence[Search], easy: tuple[Fraction, Fraction] | None, count: int) -> list[Solution]:
    """The first so many answers of all ways together.

    Parameters
    ----------
    searches : those that do not reach the lead have no answer; of levers that gear alike the first answers for all
    easy : for the easiest first, the leads among which they are sought [mm]; None for the closest first
    count : how many

    Closest: by error, gears, idlers, then the way that stands first in the shop file, then the shorter lead. One way
    alone is ordered by ``Search.closest``: there at most two leads, a shorter and a longer, have one error, so that one
    answer more of each way is enough to rank them all.
    """
    each = count if len(searches) == 1 else count + 1
    found: list[tuple[tuple[object, ...], Solution]] = []
    for rank, search in enumerate(searches):
        if not search.reaches or any(search.route.is_like(each.route) for each in searches[:rank]):
            continue
        fits = search.easiest(each, easy) if easy else search.closest(each)
        found += [((*_key(fit, easy), rank, fit.lead_mm), fit) for fit in fits]
        if len(searches) == 1:
            return fits
    return [fit for _, fit in sorted(found, key=lambda row: row[0])[:count]]


def _key(fit: Solution, easy: tuple[Fraction, Fraction] | None) -> tuple[object, ...]:
    gears = fit.train.gears, len(fit.train.idlers)
    if easy is None:
        return (abs(fit.error), *gears)
    if easy[0] <= fit.lead_mm <= easy[1]:
        clearance_um = -1 if fit.clearance_mm is None else int(fit.clearance_mm * 1000)
        return (0, fit.mounts == "no", *gears, -clearance_um, abs(fit.error))
    return (1, abs(fit.error), *gears, 0, 0)


def left_out(shop: Shop, terms: Terms, searches: Sequence[Search]) -> Iterator[Note]:
    """Which ways could not be searched, because a hand is asked for and theirs is not known."""
    searched = {search.route for search in searches}
    for route in shop.ways(terms.route):
        if route not in searched:
            text = f"route {route.label} left out: the shop file does not say which hand it cuts"
            yield Note("route-left-out", text)


def better_route(answer: Answer) -> Iterator[Note]:
    """That another route is exact or better by a lot, where none was asked for and the first does not serve.

    Each other route is searched before it is said.
    """
    own = min((abs(fit.error) for fit in answer.fits if fit.mounts != "no"), default=None)
    if answer.terms.route is not None or answer.part.is_cam or (own is not None and _serves(answer, own)):
        return
    best = min(_of_others(answer), key=lambda fit: abs(fit.error), default=None)
    if best is not None and (own is None or is_better(best, own)):
        yield told_better(best, answer.shop)


def _serves(answer: Answer, own: Fraction) -> bool:
    inside = any(fit.within for fit in answer.fits)
    return inside or own <= (answer.shop.machine.screw_accuracy or 0)


def is_better(other: Solution, own: Fraction) -> bool:
    """Whether an answer by another route is exact, inside the tolerance, or nearer than an error by a lot."""
    off = abs(other.error)
    if off >= own:
        return False
    return off == 0 or bool(other.within) or (own > DOUBTFUL and off * _BY_A_LOT <= own)


def told_better(fit: Solution, shop: Shop) -> Note:
    """That another route should be taken, and what it costs."""
    how = "is exact" if fit.error == 0 else f"is {format_ppm(fit.error)} off"
    cost = shop.machine.cost(fit.way, shop.dividing)
    taken = f" ({cost} by that route)" if cost else ""
    by = f" with the lever at {fit.way.lever}" if fit.way.lever else ""
    text = f"add --route {fit.route}: {fit.train}{by} {how}{taken}"
    return Note("better-route", text)


def costs(shop: Shop, routes: Iterable[Route]) -> Iterator[Note]:
    """What each of several routes takes away."""
    for route in routes:
        if cost := shop.machine.cost(route, shop.dividing):
            yield Note("route-cost", f"by the route {route.label}: {cost}")


def other_routes(shop: Shop, terms: Terms, searched: Sequence[Route]) -> Iterator[Terms]:
    """The terms for each route of another name, where its hand is known as far as it is asked for."""
    names = dict.fromkeys(route.name for route in searched)
    for route in shop.machine.routes:
        if route.name not in names and (terms.hand == "either" or route.hand_with_one_stud is not None):
            names[route.name] = None
            yield replace(terms, route=route.name)


def _of_others(answer: Answer) -> Iterator[Solution]:
    """The best answer of each other route whose train is not known not to mount."""
    mounting = "skip" if answer.terms.mounting == "skip" else "must"
    terms = replace(answer.terms, mounting=mounting, count=1, order="closest")
    for each in other_routes(answer.shop, terms, answer.routes):
        yield from ranked(searches_of(answer.shop, answer.part, each), None, 1)
