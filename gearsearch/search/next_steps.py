"""What would bring a train where none serves: each step is searched before it is said."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import replace
from fractions import Fraction
from itertools import combinations
from typing import Any

from ..base.errors import GearsearchError
from ..base.facts import Note
from ..base.units import OTHER_UNIT, format_ppm, text_of_length
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

    Parameters
    ----------
    searches : for each way that was asked for
    routes : what is said of other routes already
    """
    found = [*(routes or _by_route(searches)), *_by_pairs(searches)]
    yield from found or _by_gear(searches)


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


def _by_route(searches: Sequence[Search]) -> Iterator[Note]:
    search = searches[0]
    searched = [each.route for each in searches]
    terms = [*other_routes(search.shop, search.terms, searched)]
    for fit in filter(None, (_tried(search.shop, search.part, each) for each in terms)):
        yield replace(told_better(fit, search.shop), code="other-route")


def _by_pairs(searches: Sequence[Search]) -> Iterator[Note]:
    least, most = searches[0].terms.pairs
    for pairs in range(most + 1, MOST_PAIRS + 1):
        fit = _best(searches, pairs=(pairs, pairs))
        if fit is not None:
            typed = str(pairs) if least == 1 else f"{least}-{pairs}"
            yield Note("more-pairs", f"add --pairs {typed}: {fit.train} is {off_words(fit.error)}")
            return


def _by_gear(searches: Sequence[Search]) -> Iterator[Note]:
    """The one gear with which the error is least; of equals the smallest."""
    shop, (least, most) = searches[0].shop, searches[0].terms.pairs
    if least > _MOST_PAIRS_WITH_A_GEAR:
        return
    pairs = least, min(most, _MOST_PAIRS_WITH_A_GEAR)
    found: list[tuple[Fraction, int, Solution]] = []
    for least_error, teeth in sorted(row for search in searches for row in _promising(search)):
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
        text = f"get one more gear, of {teeth} teeth: {fit.train} is {off_words(fit.error)}"
        yield Note("one-gear", text)


def _promising(search: Search) -> Iterator[tuple[float, int]]:
    """The tooth counts that with one or three gears owned come inside, each with the least error that it could have.

    Which gears may stand together is left out, so that the true error may be larger, and is never less.
    """
    low, high = map(float, search.drive.ratios(*_window(search.part)))
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


def _best(searches: Sequence[Search], shop: Shop | None = None, **changes: Any) -> Solution | None:
    """The nearest train that serves, of all ways that were asked for, with the terms changed."""
    first = searches[0]
    tried = (_tried(shop or first.shop, first.part, replace(each.terms, **changes)) for each in searches)
    return min(filter(None, tried), key=lambda fit: abs(fit.error), default=None)


def _tried(shop: Shop, part: Part, terms: Terms) -> Solution | None:
    """The nearest train that serves; None where there is none, and where it cannot be asked for."""
    mounting = "skip" if terms.mounting == "skip" else "must"
    asked = replace(terms, mounting=mounting)
    try:
        fits = [search.nearest_inside(*_window(part)) for search in searches_of(shop, part, asked)]
    except GearsearchError:  # a hand that is not known, or too many trains to look through
        return None
    return min(filter(None, fits), key=lambda fit: abs(fit.error), default=None)


def _window(part: Part) -> tuple[Fraction, Fraction]:
    """The leads that serve [mm]: the tolerance, or what is not hopeless."""
    return part.interval_mm or (part.lead_mm * (1 - HOPELESS), part.lead_mm * (1 + HOPELESS))
