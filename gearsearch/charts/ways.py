"""Charts over several ways to the work: the leads of every route, or of every lever of a gearbox, as those of one."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import replace
from fractions import Fraction
from itertools import product, repeat

import numpy as np

from ..base.errors import GearsearchError
from ..base.sharing import HERE, Crew
from ..search.terms import Terms
from ..shop.shop import Shop
from ..work.part import Part
from .best import BestTrains, ascending
from .nearest import Nearest, blank
from .rows import LeadRows

WAY = "way"  # the column of ``LeadRows.more`` that holds the number of a row's way


def sources_of(shop: Shop, terms: Terms, crew: Crew = HERE) -> tuple[BestTrains, ...]:
    """The best trains by each way that the terms ask for, in the order of the shop file.

    Raises GearsearchError as ``BestTrains``, and where the hands of several ways are not known alike.
    """
    first, *others = terms.each_way(shop)
    source = BestTrains(shop, first, crew=crew)
    sources = (source, *(BestTrains(shop, each, source.catalogue, crew) for each in others))
    odd = next((each for each in sources if each.hands != source.hands), None)
    if odd is not None:
        raise GearsearchError(
            f"the shop file does not tell the hands of the routes {source.route.label} and {odd.route.label} alike",
            "ask for one, as in --hand right, or for one route",
            code="hands-differ",
        )
    return sources


def hands_of(sources: Sequence[BestTrains], items: Iterable[Part]) -> list[str]:
    """The hand that each part of a list is cut with: that of its thread's name, else the one asked for.

    Raises GearsearchError as ``Terms.for_part``, and for a thread named with its hand where a way's hand is not known.
    """
    terms, shop = sources[0].terms, sources[0].shop
    hands = [own.hand for own in terms.for_each(items, shop)]
    for source, hand in product(sources, dict.fromkeys(hands)):
        source.route.fewest_studs(1, hand)
    return hands


def of_hands(rows: LeadRows, hands: Sequence[str]) -> LeadRows | None:
    """The rows of a list without the trains of the other hand than each of its items is cut with; None where none is.

    Parameters
    ----------
    rows : with the columns ``item`` and ``rank``
    hands : of each item; ``either`` for both
    """
    item = rows.more["item"]
    for hand, trains in rows.hands.items():
        if hand != "either":
            blank(trains, np.array([hands[each] not in (hand, "either") for each in item.tolist()]))
    kept = np.logical_or.reduce([trains.pairs > 0 for trains in rows.hands.values()])
    if not kept.any():
        return None
    rows = rows.take(np.flatnonzero(kept))
    item = rows.more["item"]
    rank = np.arange(1, len(rows) + 1) - np.searchsorted(item, item)
    return replace(rows, more={**rows.more, "rank": rank})


def reach_of(sources: Sequence[BestTrains]) -> tuple[Fraction, Fraction]:
    """The shortest and the longest lead [mm] of all ways."""
    return min(source.reach_mm[0] for source in sources), max(source.reach_mm[1] for source in sources)


def leads_of(sources: Sequence[BestTrains], stream: Callable[[BestTrains], Iterator[LeadRows]]) -> Iterator[LeadRows]:
    """The leads of every way, ascending; of equal leads that of the way that stands first comes first.

    Parameters
    ----------
    sources : the ways
    stream : gives the leads of one way, ascending, slice by slice; one way alone is given as it is
    """
    if len(sources) == 1:
        yield from stream(sources[0])
        return
    streams = [map(_marked, stream(source), repeat(way)) for way, source in enumerate(sources)]
    held = [next(parts, None) for parts in streams]
    live = {way for way, rows in enumerate(held) if rows is not None}
    while any(rows is not None for rows in held):
        ends = [(rows.lead_mm[-1], way) for way, rows in enumerate(held) if rows is not None and way in live]
        edge, first = min(ends, default=(np.inf, -1))  # no way has more leads below the edge
        cuts = [(rows, int(np.searchsorted(rows.lead_mm, edge))) for rows in held if rows is not None]
        yield from _together([rows.take(slice(0, cut)) for rows, cut in cuts])
        held = [_from(rows, edge) for rows in held]
        following = next(streams[first], None) if ends else None
        if following is None:
            live.discard(first)
        else:
            rest = held[first]
            held[first] = following if rest is None else LeadRows.joined([rest, following])


def _from(rows: LeadRows | None, edge: float) -> LeadRows | None:
    """The rows from an edge on; None where there are none."""
    if rows is None or rows.lead_mm[-1] < edge:
        return None
    return rows.take(slice(int(np.searchsorted(rows.lead_mm, edge)), None))


def _together(parts: list[LeadRows]) -> Iterator[LeadRows]:
    parts = [rows for rows in parts if len(rows)]
    if parts:
        whole = LeadRows.joined(parts)
        yield whole.take(ascending(whole, np.arange(len(whole))))


def _marked(rows: LeadRows, way: int) -> LeadRows:
    return replace(rows, more={**rows.more, WAY: np.full(len(rows), way)})


def nearest_of(sources: Sequence[BestTrains], wanted_mm: Sequence[Fraction], count: int) -> LeadRows | None:
    """The nearest leads of each wanted lead over all ways, as ``Nearest.answer`` gives those of one.

    For each hand the order is by error, gears, idlers, then the way that stands first in the shop file, then the
    shorter lead. One way alone has at most two leads of one error, so that one more of each is enough.
    """
    if len(sources) == 1:
        return Nearest(sources[0], wanted_mm, count).answer()
    found = [Nearest(source, wanted_mm, count + 1).answer() for source in sources]
    parts = [_marked(rows, way) for way, rows in enumerate(found) if rows is not None]
    if not parts:
        return None
    whole = LeadRows.joined(parts)
    keys = {hand: _keys(whole, hand, wanted_mm) for hand in whole.hands}
    of_item: dict[int, list[int]] = {}
    for row, item in enumerate(whole.more["item"].tolist()):
        of_item.setdefault(item, []).append(row)
    chosen: list[tuple[int, int, int, set[str]]] = []
    for item, rows in sorted(of_item.items()):
        best = {
            hand: sorted((row for row in rows if row in key), key=key.__getitem__)[:count] for hand, key in keys.items()
        }
        kept = {row for picked in best.values() for row in picked}
        order = sorted(kept, key=lambda row: min(key[row] for hand, key in keys.items() if row in best[hand]))
        for rank, row in enumerate(order, 1):
            chosen.append((item, rank, row, {hand for hand, picked in best.items() if row in picked}))
    return _kept(whole, chosen)


_Key = tuple[Fraction, int, int, int, Fraction]


def _keys(rows: LeadRows, hand: str, wanted_mm: Sequence[Fraction]) -> dict[int, _Key]:
    """Where each row stands among the answers of a hand, for the rows that are one."""
    trains = rows.hands[hand]
    idlers = trains.idler_count
    keys: dict[int, _Key] = {}
    for row in np.flatnonzero(trains.pairs > 0).tolist():
        lead, wanted = rows.lead(row), wanted_mm[rows.more["item"][row]]
        keys[row] = abs(lead - wanted), int(trains.pairs[row]), int(idlers[row]), int(rows.more[WAY][row]), lead
    return keys


def _kept(whole: LeadRows, chosen: list[tuple[int, int, int, set[str]]]) -> LeadRows:
    rows = whole.take(np.array([row for _, _, row, _ in chosen]))
    for hand, trains in rows.hands.items():
        blank(trains, np.array([hand not in hands for *_, hands in chosen]))
    rank = np.array([rank for _, rank, _, _ in chosen])
    return replace(rows, more={**rows.more, "rank": rank})


def named(rows: LeadRows, sources: Sequence[BestTrains]) -> LeadRows:
    """The same rows with the names of their routes and levers, where there are several ways."""
    if len(sources) == 1:
        return rows
    routes = np.array([source.route.name for source in sources], object)
    levers = np.array([source.route.lever for source in sources], object)
    way = rows.more[WAY]
    return replace(rows, more={**rows.more, "route": routes[way], "lever": levers[way]})
