"""The leads of a list, the machine they are cut on, and which of them a pool of gears covers.

A lead is covered by a train inside its tolerance that mounts; the closest such train is found among all there are.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cached_property
from math import prod
from typing import TYPE_CHECKING

import numpy as np

from ..base import require
from ..base.arrays import Bools, Floats, Ints
from ..base.errors import GearsearchError
from ..base.sharing import HERE, Crew, Remade
from ..base.units import shown, spaced
from ..search.catalogue import EDGE, SURE, Catalogue
from ..search.solution import Solution
from ..search.terms import Terms
from ..shop.pool import GearPool, pool_of
from ..shop.shop import Shop
from ..shop.train_columns import Trains
from ..work.part import HOW_TO_MAKE, Part

if TYPE_CHECKING:
    from ..mounting.judge import Judge

Gear = tuple[str, int]  # tag of the kind of tooth, tooth count
NEAR = 1e-14  # trains nearer to each other than this are told apart by fractions
MOST_TRAINS = 5_000_000
_MOST_TEETH = 2**53  # from where on the loops would not hold the count itself
FIRST = 16  # how many trains of each lead are judged at first; four times as many in each round
ENOUGH = 200  # trains looked at first for each lead; eight times as many in each round


@dataclass(frozen=True, slots=True)
class Closest:
    """The closest trains of one lead that mount.

    Parameters
    ----------
    off : |lead / wanted − 1|, exact
    sets : numbers of the gears, drivers then driven, of every gear set just so far off that mounts
    """

    off: Fraction
    sets: tuple[tuple[int, ...], ...]


class WantedLeads(Remade):
    """A list of leads, a machine to cut them on, and every gear in question, numbered once for all pools.

    Parameters
    ----------
    shop : the shop
    needs : the leads that matter, at least one
    terms : how trains may be built
    candidates : gears that could be had, as (tag of the kind of tooth, tooth count)
    crew : who does the work

    Raises GearsearchError for an empty list, for gears that are none, and what ``pool_of`` raises.
    """

    def __init__(
        self, shop: Shop, needs: Iterable[Part], terms: Terms, candidates: Iterable[Gear] = (), crew: Crew = HERE
    ) -> None:
        self.shop = shop
        self.crew = crew
        needs = tuple(needs)
        require.instance(terms, Terms, "terms", "give Terms()", given=True)
        self.terms = terms = terms.of_many_leads("a gear to add")
        for need in needs:
            require.instance(need, Part, "part that matters", HOW_TO_MAKE, given=True)
        self.needs = _each_once(needs)
        if not self.needs:
            raise GearsearchError("the list of leads is empty", "give at least one lead that matters")
        self.route = shop.route(terms.route)
        self.drive = shop.drive(self.route)
        chosen = sorted({_gear(gear) for gear in candidates})
        self.pool = _numbered(shop, terms, chosen)
        self.candidates = tuple(sorted(self.pool.size(tag, teeth) for tag, teeth in chosen))
        self.wanted = [self.drive.ratio(need.lead_mm) for need in self.needs]
        self._wanted = np.array([float(ratio) for ratio in self.wanted])
        self._edges = [self.drive.ratios(*need.allowed_mm) for need in self.needs]

    def made_from(self) -> tuple[type[WantedLeads], tuple[Shop, tuple[Part, ...], Terms, tuple[Gear, ...]]]:
        """What was asked for is enough."""
        return WantedLeads, (self.shop, self.needs, self.terms, tuple(map(self.gear, self.candidates)))

    def __len__(self) -> int:
        return len(self.needs)

    @property
    def pairs(self) -> range:
        """The numbers of pairs that trains may have."""
        return range(self.terms.pairs[0], self.terms.pairs[1] + 1)

    def gear(self, number: int) -> Gear:
        """A gear by its number."""
        return self.pool.tags[self.pool.kind[number]], self.pool.teeth[number]

    def with_gears(self, pool: GearPool, gears: Iterable[int], times: int = 1) -> GearPool:
        """The pool with gears added."""
        loose = list(pool.loose)
        for gear in gears:
            loose[gear] += times
        return replace(pool, loose=tuple(loose))

    def judge(self, pool: GearPool) -> Judge:
        """What says whether an arrangement of a pool's gears mounts."""
        from ..mounting.judge import Judge

        return Judge.asked(self.shop, pool, self.route, self.terms.mounting)

    def half_width(self, lead: int) -> float:
        """How far the farther end of a lead's tolerance is from the wanted lead, as a share."""
        wanted, (low, high) = self.needs[lead].lead_mm, self.needs[lead].allowed_mm
        return float(max(wanted - low, high - wanted) / wanted)

    def within(self, lead: int, share: float) -> tuple[float, float]:
        """The part of a lead's window that is off the wanted lead by no more than a share, widened for float."""
        low, high = self._whole_windows[lead].tolist()
        wanted, past = self._wanted[lead], share * (1 + EDGE) + EDGE
        least, greatest = self.drive.around(wanted, past)
        return max(low, least), min(high, greatest)

    @cached_property
    def _whole_windows(self) -> Floats:
        return self.windows([False] * len(self))

    def windows(self, exact: Iterable[bool]) -> Floats:
        """For each lead the window of ratios, widened for float; only the exact ratio where ``exact`` says so."""
        edges = [
            (wanted, wanted) if only else edge
            for wanted, edge, only in zip(self.wanted, self._edges, exact, strict=True)
        ]
        return np.array([(float(low) * (1 - EDGE), float(high) * (1 + EDGE)) for low, high in edges])

    def inside(self, trains: Trains, only_exact: Bools | None = None) -> Trains:
        """The trains that really lie in the window of the lead they were asked for, each with how far off it is.

        Parameters
        ----------
        trains : ``asked`` holds the place of the lead
        only_exact : one for each lead: whether nothing but its exact ratio will do

        Those near an edge are decided by fractions.
        """
        asked, ratio = trains.asked, trains.driven_product / trains.drivers_product
        low, high = self._float_edges[asked].T
        exact_only = np.zeros(len(trains), np.bool_) if only_exact is None else only_exact[asked]
        keep = (ratio > low * (1 + SURE)) & (ratio < high * (1 - SURE)) & ~exact_only
        near = (ratio >= low * (1 - SURE)) & (ratio <= high * (1 + SURE)) & ~keep
        near &= ~exact_only | (abs(ratio / self._wanted[asked] - 1) < SURE)
        for row in np.flatnonzero(near).tolist():
            wanted = self.wanted[asked[row]]
            edge = (wanted, wanted) if exact_only[row] else self._edges[asked[row]]
            keep[row] = edge[0] <= Fraction(*trains.ratio(row)) <= edge[1]
        return replace(trains, off=self._off(asked, ratio)).take(np.flatnonzero(keep))

    @cached_property
    def _float_edges(self) -> Floats:
        return np.array([(float(low), float(high)) for low, high in self._edges])

    def _off(self, asked: Ints, ratio: Floats) -> Floats:
        off: Floats = abs(self.drive.lead_share(ratio, self._wanted[asked]) - 1)
        return off

    def exactly_off(self, trains: Trains, row: int) -> Fraction:
        """|lead / wanted − 1| of a train, exact."""
        wanted: Fraction = self.wanted[trains.asked[row]]
        return abs(self.drive.lead_share(Fraction(*trains.ratio(row)), wanted) - 1)

    def mounting(self, trains: Trains, pool: GearPool) -> Bools:
        """Which of some trains mount with the gears of a pool."""
        return _mounting(self.judge(pool), trains, self.terms.hand)

    def near(self, catalogue: Catalogue, lead: int, low: float, high: float, *, exact: bool = False) -> Trains:
        """The trains of a catalogue with low ≤ ratio ≤ high that serve a lead."""
        trains = catalogue.between(low, float(np.nextafter(high, np.inf)))
        trains = replace(trains, asked=np.full(len(trains), lead))
        return self.inside(trains, np.full(len(self), exact))

    def of_pool(self, pool: GearPool) -> Serving:
        """The trains of a pool for the leads. Raises GearsearchError where they are too many."""
        return Serving(self, pool)

    def closest(self, trains: Trains, pool: GearPool) -> tuple[dict[int, Closest], Trains]:
        """The closest of some trains that mount with a pool, for each lead, and those nearer that do not mount."""
        waiting = _Waiting(trains)
        waiting.settle(self.judge(pool), self.terms.hand)
        closest: dict[int, Closest] = {}
        for row in waiting.winners():
            lead, off = int(trains.asked[row]), self.exactly_off(trains, row)
            so_far = closest.get(lead)
            if so_far is None or off <= so_far.off:
                kept = so_far.sets if so_far and off == so_far.off else ()
                closest[lead] = Closest(off, (*kept, tuple(trains.gears_of(row))))
        return closest, waiting.failed()

    def solutions(self, pool: GearPool, closest: dict[int, Closest]) -> dict[int, Solution]:
        """For each lead the first of its closest trains, judged in full.

        Of trains equally near: the shorter lead, then the fewest gears, idlers, the most clearance, the tooth counts,
        as the search orders them.
        """
        judge = self.judge(pool)
        first: dict[int, tuple[tuple[object, ...], Trains, int]] = {}
        for pairs in sorted({len(gears) // 2 for each in closest.values() for gears in each.sets}):
            asked = [(lead, gears) for lead, each in closest.items() for gears in each.sets if len(gears) == 2 * pairs]
            arranged = judge.best(np.array([gears for _, gears in asked], np.int64), self.terms.hand)
            for row, ((lead, _), key) in enumerate(zip(asked, self._keys(pool, arranged), strict=True)):
                if lead not in first or key < first[lead][0]:
                    first[lead] = key, arranged, row
        return {lead: self._solution(judge, lead, arranged, row) for lead, (_, arranged, row) in sorted(first.items())}

    def _keys(self, pool: GearPool, trains: Trains) -> Iterator[tuple[object, ...]]:
        """Where each arrangement stands in the order."""
        teeth = np.array(pool.teeth, np.int64)
        counts = [teeth[gears].tolist() for gears in (trains.drivers, trains.driven)]
        for drivers, driven, key in zip(*counts, trains.order_keys(pool).tolist(), strict=True):
            yield self.drive.lead_mm(Fraction(prod(driven), prod(drivers))), len(drivers), *key

    def _solution(self, judge: Judge, lead: int, arranged: Trains, row: int) -> Solution:
        train = judge.train(arranged, row)
        need, lead_mm = self.needs[lead], self.shop.lead(train, self.route)
        return Solution.of(judge.place(train), lead_mm, need.lead_mm, self.route, need.allowed_mm)


class Serving:
    """The trains of one pool that are inside the tolerances of the leads, whether they mount or not.

    Parameters
    ----------
    leads, pool : for which leads, from which gears

    Raises GearsearchError when more trains are inside the tolerances than memory is planned for.
    """

    def __init__(self, leads: WantedLeads, pool: GearPool) -> None:
        self._leads = leads
        self._pool = pool
        self._catalogue = Catalogue(pool, leads.pairs, compiled=True)
        self._counts = [self._count(lead) for lead in range(len(leads))]
        if sum(self._counts) > MOST_TRAINS:
            raise GearsearchError(
                f"{spaced(sum(self._counts))} trains lie inside the tolerances of the list; at most "
                f"{spaced(MOST_TRAINS)} can be judged",
                "give tighter tolerances or fewer leads, or allow fewer --pairs",
            )

    def _count(self, lead: int) -> int:
        low, high = self._leads.within(lead, self._leads.half_width(lead))
        return self._catalogue.count_between(low, float(np.nextafter(high, np.inf)))

    def all(self) -> Trains:
        """Every train that would serve a lead."""
        return self._within({lead: self._leads.half_width(lead) for lead in range(len(self._leads))})

    def closest(self) -> tuple[dict[int, Closest], Trains]:
        """The closest trains that mount for each lead, and the trains that are nearer but do not mount.

        Each lead is searched in a window that grows on both sides alike until it holds a train that mounts: then no
        nearer one is outside.
        """
        half_width = self._leads.half_width
        shares = {n: half_width(n) * min(1.0, ENOUGH / count) for n, count in enumerate(self._counts) if count}
        closest: dict[int, Closest] = {}
        failed: list[Trains] = [self._within({})]
        while shares:
            found, nearer = self._leads.closest(self._within(shares), self._pool)
            closest |= found
            done = [lead for lead, share in shares.items() if lead in found or share >= half_width(lead)]
            failed.append(nearer.take(np.isin(nearer.asked, done)))
            shares = {lead: min(half_width(lead), share * 8) for lead, share in shares.items() if lead not in done}
        return closest, Trains.joined(failed)

    def _within(self, shares: dict[int, float]) -> Trains:
        lots = [self._leads.near(self._catalogue, n, *self._leads.within(n, share)) for n, share in shares.items()]
        return Trains.joined([no_trains(self._leads), *lots])


class _Waiting:
    """Trains waiting to be judged, nearest first for each lead; judged until the closest that mounts is certain."""

    def __init__(self, trains: Trains) -> None:
        self._trains = trains
        order = np.lexsort((trains.off, trains.asked))
        leads = trains.asked[order]
        self._rank = np.empty(len(order), np.int64)
        self._rank[order] = np.arange(len(order)) - np.searchsorted(leads, leads)
        self._verdict = np.full(len(order), -1, np.int8)  # −1 not judged, 0 does not mount, 1 mounts
        self._limit = np.full(int(leads[-1]) + 1 if len(order) else 0, np.inf)  # by lead: nearest that mounts

    def settle(self, judge: Judge, hand: str) -> None:
        """Judge until for each lead the closest train that mounts is known, or none is."""
        size = FIRST
        while True:
            is_open = np.isinf(self._limit[self._trains.asked])
            here = np.flatnonzero((self._verdict < 0) & (self._rank < size) & is_open)
            if not len(here):
                break
            self._judge(here, judge, hand)
            size *= 4
        self._judge(np.flatnonzero((self._verdict < 0) & self._in_band()), judge, hand)

    def _judge(self, rows: Ints, judge: Judge, hand: str) -> None:
        self._verdict[rows] = _mounting(judge, self._trains.take(rows), hand)
        mounts = rows[self._verdict[rows] == 1]
        np.minimum.at(self._limit, self._trains.asked[mounts], self._trains.off[mounts])

    def _in_band(self) -> Bools:
        band: Bools = self._trains.off <= self._limit[self._trains.asked] + NEAR
        return band

    def winners(self) -> list[int]:
        """The rows of every train that may be the closest of its lead."""
        rows: list[int] = np.flatnonzero((self._verdict == 1) & self._in_band()).tolist()
        return rows

    def failed(self) -> Trains:
        """The trains that do not mount, of those nearer than the closest that does."""
        return self._trains.take((self._verdict == 0) & self._in_band())


def _mounting(judge: Judge, trains: Trains, hand: str) -> Bools:
    """Which of some trains mount."""
    mounts = np.zeros(len(trains), np.bool_)
    for pairs in np.unique(trains.pairs).tolist():
        rows = np.flatnonzero(trains.pairs == pairs)
        mounts[rows] = judge.best(trains.take(rows).gears(pairs), hand).mounts
    return mounts


def no_trains(leads: WantedLeads) -> Trains:
    """No trains for the leads, with every column that others have."""
    none = Trains.none(max(leads.pairs))
    return replace(none, asked=np.empty(0, np.int64), off=np.empty(0))


def _each_once(needs: Iterable[Part]) -> tuple[Part, ...]:
    """Parts of one lead and one tolerance as one, with all their names: what one train brings counts once."""
    alike: dict[tuple[Fraction, tuple[Fraction, Fraction]], list[Part]] = {}
    for need in needs:
        alike.setdefault((need.lead_mm, need.allowed_mm), []).append(need)
    return tuple(
        replace(first, name=", ".join(dict.fromkeys(need.title for need in (first, *more)))) if more else first
        for first, *more in alike.values()
    )


def _gear(gear: object) -> Gear:
    if not isinstance(gear, tuple) or len(gear) != 2 or not isinstance(gear[0], str):
        raise GearsearchError(
            f"a gear cannot be {shown(gear)}", "give its kind of tooth with its teeth, as in ('', 57) or ('m2', 57)"
        )
    return gear[0], require.whole(gear[1], _MOST_TEETH, "teeth")


def _numbered(shop: Shop, terms: Terms, candidates: list[Gear]) -> GearPool:
    """The shop's gears, and those that could be had, of which it has none."""
    pool_of(shop, terms.without)  # so that a gear to do without is looked for among those owned
    sets = list(shop.gears)
    for number, gears in enumerate(sets):
        more = [teeth for tag, teeth in candidates if tag == gears.kind.tag]
        sets[number] = replace(gears, teeth=tuple(sorted((*gears.teeth, *more))))
    for tag, _ in candidates:
        shop.gear_set(tag)
    wide = pool_of(replace(shop, gears=tuple(sets)), terms.without)
    loose = list(wide.loose)
    for tag, teeth in candidates:
        loose[wide.size(tag, teeth)] -= 1
    return replace(wide, loose=tuple(loose))
