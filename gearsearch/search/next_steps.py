"""What would bring a train where none serves: each step is searched before it is said."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import combinations
from typing import Any

from ..base.errors import GearsearchError
from ..base.facts import Note
from ..base.units import OTHER_UNIT, format_length, format_ppm, text_of_length
from ..shop.shop import Shop
from ..shop.trains import MOST_PAIRS
from ..work.part import Part
from ..work.tolerance import HOPELESS
from .routes import other_routes, searches_of, told_better
from .search import Search
from .solution import Solution
from .terms import Terms

_GEARS_TO_TRY = range(15, 128)  # teeth, as of ``gearsearch extend``
_SLACK = 1e-12  # of floats, which only say what is searched
_MOST_PAIRS_WITH_A_GEAR = 2  # with more pairs, trying every gear would take seconds
_UNIT_NAMES = {"mm": "millimetres", "in": "inches"}


def next_steps(searches: Sequence[Search], routes: Sequence[Note]) -> Iterator[Note]:
    """The other routes and the fewest more pairs that bring a train; where there are none, the one gear that does.

    Where that helps neither, what was tried in vain.

    Parameters
    ----------
    searches : for each way that was asked for
    routes : what is said of other routes already
    """
    shop = searches[0].shop
    by_route, by_pairs = [] if routes else list(_by_route(searches)), list(_by_pairs(searches))
    found = [*routes, *(replace(told_better(step.fit, shop), code="other-route") for step in by_route if step.fit)]
    found += [Note("more-pairs", f"add {step.what}: {_how(step.fit)}") for step in by_pairs if step.fit]
    found += [] if found else [*_by_gear(searches)]
    yield from found or _in_vain(searches, [*by_route, *by_pairs])


@dataclass(frozen=True, slots=True)
class _Step:
    """Something that was tried.

    Parameters
    ----------
    what : what would be typed
    searches : made for it; none where it cannot be asked for
    fit : the nearest train that serves
    """

    what: str
    searches: tuple[Search, ...]
    fit: Solution | None

    def in_vain(self) -> str:
        """What it is called, with how far it reaches where the wanted lead lies beyond; empty if there was no train."""
        search = min(
            (each for each in self.searches if each.reach_mm is not None and each.catalogue.pairs),
            key=lambda each: (not each.reaches, abs(each.end_mm[1] - each.part.lead_mm)),
            default=None,
        )
        if search is None or search.reaches:
            return "" if search is None else self.what
        short, end = search.end_mm
        return f"{self.what} ({'shortest' if short else 'longest'} lead {format_length(end, search.shop.units)})"


def other_unit(search: Search) -> Iterator[Note]:
    """A lead given without a unit that would be in reach in the other one."""
    part, unit = search.part, search.shop.units
    if not part.bare:
        return
    other, typed = OTHER_UNIT[unit], text_of_length(part.lead_mm, unit)
    meant = text_of_length(part.lead_mm, unit).replace(f" {unit}", other)
    lead_mm = part.lead_mm * (Fraction(5, 127) if unit == "in" else Fraction(127, 5))
    if _tried(search.shop, replace(part, lead_mm=lead_mm, tolerance=None), search.terms):
        yield Note("other-unit", f"{typed}? for {_UNIT_NAMES[other]} {meant}")


def by_other_routes(shop: Shop, part: Part, terms: Terms) -> Iterator[Solution]:
    """The nearest train that serves by each route of another name that has one."""
    for other in other_routes(shop, terms, shop.ways(terms.route)):
        fit = _tried(shop, part, other)
        if fit is not None:
            yield fit


def _by_route(searches: Sequence[Search]) -> Iterator[_Step]:
    search = searches[0]
    for terms in other_routes(search.shop, search.terms, [each.route for each in searches]):
        yield _step(search.shop, search.part, f"--route {terms.route}", [terms])


def _by_pairs(searches: Sequence[Search]) -> Iterator[_Step]:
    """More pairs, up to the fewest that serve."""
    (least, most), first = searches[0].terms.pairs, searches[0]
    for pairs in range(most + 1, MOST_PAIRS + 1):
        typed = str(pairs) if least == 1 else f"{least}-{pairs}"
        terms = [replace(each.terms, pairs=(pairs, pairs)) for each in searches]
        step = _step(first.shop, first.part, f"--pairs {typed}", terms)
        yield step
        if step.fit is not None:
            return


def _by_gear(searches: Sequence[Search]) -> Iterator[Note]:
    """The one gear with which the error is least; of equals the smallest."""
    shop, (least, most) = searches[0].shop, searches[0].terms.pairs
    if least > _MOST_PAIRS_WITH_A_GEAR:
        return
    pairs = least, min(most, _MOST_PAIRS_WITH_A_GEAR)
    found: list[tuple[Fraction, int, Solution]] = []
    promising: dict[int, float] = {}
    for error, teeth in (row for search in searches for row in _promising(search)):
        promising[teeth] = min(error, promising.get(teeth, error))
    for teeth, least_error in sorted(promising.items(), key=lambda row: (row[1], row[0])):
        if found and least_error > float(min(error for error, *_ in found)) + _SLACK:
            break
        for number, gears in enumerate(shop.gears):
            more = replace(gears, teeth=tuple(sorted((*gears.teeth, teeth))))
            larger = replace(shop, gears=(*shop.gears[:number], more, *shop.gears[number + 1 :]))
            fit = _best(searches, larger, pairs=pairs, use=(*searches[0].terms.use, teeth))
            if fit is not None:
                found.append((abs(fit.error), teeth, fit))
    if found:
        _, teeth, fit = min(found, key=lambda row: row[:2])  # of several kinds of tooth the first
        yield Note("one-gear", f"get one more gear, of {teeth} teeth: {_how(fit)}")


def _in_vain(searches: Sequence[Search], steps: Sequence[_Step]) -> Iterator[Note]:
    """What was tried without finding a train that serves."""
    tried = [words for step in steps if (words := step.in_vain())]
    least, most = searches[0].terms.pairs
    if least <= _MOST_PAIRS_WITH_A_GEAR:
        at_most = f" in trains of {_MOST_PAIRS_WITH_A_GEAR} pairs at most" if most > _MOST_PAIRS_WITH_A_GEAR else ""
        tried.append(f"one more gear of {_GEARS_TO_TRY[0]} to {_GEARS_TO_TRY[-1]} teeth{at_most}")
    if tried:
        yield Note("nothing-helps", f"tried without success: {', '.join(tried)}")


def _promising(search: Search) -> Iterator[tuple[float, int]]:
    """The tooth counts that with one or three gears owned come inside, each with the least error that it could have.

    Which gears may stand together is left out, so that the true error may be larger, and is never less.
    """
    low, high = map(float, search.drive.ratios(*serving_mm(search.part)))
    wanted, pool = float(search.drive.ratio(search.part.lead_mm)), search.pool
    teeth = [float(count) for count, owned in zip(pool.teeth, pool.available, strict=True) for _ in range(owned)]
    other_side = {1.0: sorted(teeth)} | dict.fromkeys(teeth, sorted(a * b for a, b in combinations(teeth, 2)))
    for gear in _GEARS_TO_TRY:
        sides = [(gear * by, other) for by, other in other_side.items()]
        if any(
            _between(other, low * side, high * side) or _between(other, side / high, side / low)
            for side, other in sides
        ):
            yield min(_off(other, at) for side, other in sides for at in (wanted * side, side / wanted)), gear


def _between(products: list[float], low: float, high: float) -> bool:
    return bisect_left(products, low * (1 - _SLACK)) < bisect_right(products, high * (1 + _SLACK))


def _off(products: list[float], wanted: float) -> float:
    """How far the nearest product is off, as a part of the larger of the two; 1 where there is none."""
    at = bisect_left(products, wanted)
    return min((1 - min(near / wanted, wanted / near) for near in products[max(at - 1, 0) : at + 1]), default=1.0)


def off_words(error: Fraction) -> str:
    """How far off a lead is, in words: ``exact``, ``+120.0 ppm off``."""
    return "exact" if error == 0 else f"{format_ppm(error)} off"


def _how(fit: Solution) -> str:
    return f"{fit.train} is {off_words(fit.error)}"


def _best(searches: Sequence[Search], shop: Shop, **changes: Any) -> Solution | None:
    """The nearest train that serves, of all ways that were asked for, with the terms changed."""
    terms = [replace(each.terms, **changes) for each in searches]
    return _step(shop, searches[0].part, "", terms).fit


def _tried(shop: Shop, part: Part, terms: Terms) -> Solution | None:
    """The nearest train that serves; None where there is none, and where it cannot be asked for."""
    return _step(shop, part, "", [terms]).fit


def _step(shop: Shop, part: Part, what: str, ways: Sequence[Terms]) -> _Step:
    """Something tried, by each of several ways; those that cannot be asked for are left out."""
    tried: list[Search] = []
    fits: list[Solution] = []
    for terms in ways:
        mounting = "skip" if terms.mounting == "skip" else "must"
        try:
            searches = searches_of(shop, part, replace(terms, mounting=mounting))
            found = [search.nearest_inside(*serving_mm(part)) for search in searches]
        except GearsearchError:  # a hand that is not known, or too many trains to look through
            continue
        tried += searches
        fits += filter(None, found)
    return _Step(what, tuple(tried), min(fits, key=lambda fit: abs(fit.error), default=None))


def serving_mm(part: Part) -> tuple[Fraction, Fraction]:
    """The leads that serve [mm]: the tolerance, or what is not hopeless."""
    return part.interval_mm or (part.lead_mm * (1 - HOPELESS), part.lead_mm * (1 + HOPELESS))
