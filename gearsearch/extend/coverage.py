"""Which leads of a list a box of gears covers: the closest train that mounts for each, found among all there are."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from ..base import require
from ..base.arrays import Floats, Ints
from ..base.errors import GearsearchError
from ..search.catalogue import EDGE
from ..search.terms import Terms
from ..shop.pool import GearPool, pool_of
from ..shop.shop import Shop
from ..work.part import HOW_TO_MAKE, Part
from .candidates import Gear, candidates_of
from .kernels import Bools

if TYPE_CHECKING:
    from ..mounting.judge import Judge
    from ..shop.train_columns import Trains

_SURE = 1e-12  # farther than this from an edge a float decides
_BAND = 1e-14  # misses nearer than this to each other are told apart by fractions
FIRST = 16  # how many trains of each need are judged at first; four times as many in each round


@dataclass(frozen=True, slots=True)
class Rows:
    """Trains of one number of pairs that would serve a need, one row each.

    Parameters
    ----------
    need : int64 (T,), the need's place in the list
    sizes : int64 (T, 2p), size numbers of drivers, then of driven gears
    drivers, driven : int64 (T,), products of tooth counts
    miss : float64 (T,), |lead / wanted − 1|
    """

    need: Ints
    sizes: Ints
    drivers: Ints
    driven: Ints
    miss: Floats

    def __len__(self) -> int:
        return len(self.need)

    def take(self, rows: Ints) -> Rows:
        """Some of the rows."""
        return Rows(self.need[rows], self.sizes[rows], self.drivers[rows], self.driven[rows], self.miss[rows])


Pool = dict[int, Rows]  # by number of pairs


@dataclass(frozen=True, slots=True)
class Best:
    """The closest trains of one need that mount.

    Parameters
    ----------
    miss : |lead / wanted − 1|, exact
    sets : size numbers, drivers then driven, of every gear set with that miss that mounts
    """

    miss: Fraction
    sets: tuple[tuple[int, ...], ...]


class Setting:
    """A list of leads, a machine to cut them on, and every gear size in question, numbered once for all boxes.

    Parameters
    ----------
    shop : the shop
    needs : the leads that matter, at least one
    terms : how trains may be built
    candidates : gears that could be had, as (tag of the kind of tooth, tooth count)

    Raises GearsearchError for an empty list, for gears that are none, and what ``pool_of`` raises.
    """

    def __init__(self, shop: Shop, needs: Iterable[Part], terms: Terms, candidates: Iterable[Gear] = ()) -> None:
        self.shop = shop
        self.needs = tuple(needs)
        require.instance(terms, Terms, "terms", "give Terms()", given=True)
        self.terms = terms = terms.of_many_leads("a gear to add")
        for need in self.needs:
            require.instance(need, Part, "part that matters", HOW_TO_MAKE, given=True)
        if not self.needs:
            raise GearsearchError("the list of leads is empty", "give at least one lead that matters")
        self.route = shop.route(terms.route)
        self.drive = shop.drive(self.route)
        chosen = candidates_of(candidates)
        self.box = _numbered(shop, terms, chosen)
        self.candidates = tuple(sorted(self.box.size(tag, teeth) for tag, teeth in chosen))
        wanted = [self.drive.ratio(need.lead_mm) for need in self.needs]
        self.wanted = wanted
        self._wanted = np.array([float(ratio) for ratio in wanted])
        self._edges = [self.drive.ratios(*need.allowed_mm) for need in self.needs]

    def within(self, need: int, share: float) -> tuple[float, float]:
        """The part of a need's window whose leads miss the wanted lead by no more than a share, widened for float."""
        low, high = self._whole_windows[need].tolist()
        wanted, past = self._wanted[need], share * (1 + EDGE) + EDGE
        least, greatest = self.drive.around(wanted, past)
        return max(low, least), min(high, greatest)

    def half_width(self, need: int) -> float:
        """How far the farther end of a need's tolerance is from its wanted lead, as a share."""
        wanted, (low, high) = self.needs[need].lead_mm, self.needs[need].allowed_mm
        return float(max(wanted - low, high - wanted) / wanted)

    @cached_property
    def _whole_windows(self) -> Floats:
        return self.windows([False] * len(self.needs))

    def windows(self, exact: Iterable[bool]) -> Floats:
        """For each need the window of ratios, widened for float; only the exact ratio where ``exact`` says so."""
        edges = [
            (wanted, wanted) if only else edge
            for wanted, edge, only in zip(self.wanted, self._edges, exact, strict=True)
        ]
        return np.array([(float(low) * (1 - EDGE), float(high) * (1 + EDGE)) for low, high in edges])

    def rows(self, need: Ints, sizes: Ints, drivers: Ints, driven: Ints, only_exact: Bools) -> Rows:
        """The trains that really lie in the window of their need; those near an edge are decided by fractions.

        Parameters
        ----------
        need : int64 (T,), place of the need that each train could serve
        sizes : int64 (T, 2p), size numbers of its drivers, then of its driven gears
        drivers, driven : int64 (T,), products of its tooth counts
        only_exact : bool, one for each need: whether nothing but its exact ratio will do
        """
        ratio = driven / drivers
        low, high = self._float_edges[need].T
        exact_only = only_exact[need]
        keep = (ratio > low * (1 + _SURE)) & (ratio < high * (1 - _SURE)) & ~exact_only
        near = (ratio >= low * (1 - _SURE)) & (ratio <= high * (1 + _SURE)) & ~keep
        near &= ~exact_only | (abs(ratio / self._wanted[need] - 1) < _SURE)
        for row in np.flatnonzero(near).tolist():
            here, value = int(need[row]), Fraction(int(driven[row]), int(drivers[row]))
            edge = (self.wanted[here],) * 2 if exact_only[row] else self._edges[here]
            keep[row] = edge[0] <= value <= edge[1]
        kept = np.flatnonzero(keep)
        return Rows(need[kept], sizes[kept], drivers[kept], driven[kept], self._miss(need, ratio)[kept])

    def rows_of(self, trains: Trains, pairs: int, need: int, only_exact: Bools) -> Rows:
        """The trains of so many pairs that really lie in the window of a need."""
        here = trains.take(trains.pairs == pairs)
        number = np.full(len(here), need, np.int64)
        return self.rows(number, here.gears(pairs), here.drivers_product, here.driven_product, only_exact)

    @cached_property
    def _float_edges(self) -> Floats:
        return np.array([(float(low), float(high)) for low, high in self._edges])

    def _miss(self, need: Ints, ratio: Floats) -> Floats:
        wanted = self._wanted[need]
        miss: Floats = abs(self.drive.lead_share(ratio, wanted) - 1)
        return miss

    def exact_miss(self, need: int, drivers: int, driven: int) -> Fraction:
        """|lead / wanted − 1| of a train, exact."""
        return abs(self.drive.lead_share(Fraction(driven, drivers), self.wanted[need]) - 1)

    def judge(self, box: GearPool) -> Judge:
        """What says whether an arrangement of a box's gears mounts."""
        from ..mounting.judge import Judge

        return Judge.asked(self.shop, box, self.route, self.terms.mounting)

    def with_gears(self, box: GearPool, sizes: Iterable[int], times: int = 1) -> GearPool:
        """The box with gears added."""
        loose = list(box.loose)
        for size in sizes:
            loose[size] += times
        return replace(box, loose=tuple(loose))

    def closest(self, pool: Pool, box: GearPool) -> tuple[dict[int, Best], Pool]:
        """The closest trains of each need that mount with a box, and the trains that came before but do not."""
        queue = _Queue(pool)
        queue.settle(self.judge(box), self.terms.hand)
        best: dict[int, Best] = {}
        for need, pairs, row in queue.winners():
            rows = pool[pairs]
            miss = self.exact_miss(need, int(rows.drivers[row]), int(rows.driven[row]))
            so_far = best.get(need)
            if so_far is None or miss <= so_far.miss:
                kept = so_far.sets if so_far and miss == so_far.miss else ()
                best[need] = Best(miss, (*kept, tuple(rows.sizes[row].tolist())))
        return best, queue.failed()


class _Queue:
    """Trains waiting to be judged, nearest first for each need; judged until the closest that mounts is certain."""

    def __init__(self, pool: Pool) -> None:
        self._pool = pool
        empty = np.empty(0, np.int64)
        pairs = [np.full(len(rows), p, np.int64) for p, rows in pool.items()] or [empty]
        self._need = np.concatenate([rows.need for rows in pool.values()] or [empty])
        self._miss = np.concatenate([rows.miss for rows in pool.values()] or [np.empty(0)])
        self._pairs = np.concatenate(pairs)
        self._row = np.concatenate([np.arange(len(rows)) for rows in pool.values()] or [empty])
        order = np.lexsort((self._miss, self._need))
        self._rank = np.empty(len(order), np.int64)
        needs = self._need[order]
        first = np.flatnonzero(np.append(True, needs[1:] != needs[:-1])) if len(order) else empty
        self._rank[order] = np.arange(len(order)) - np.repeat(first, np.diff(np.append(first, len(order))))
        self._verdict = np.full(len(order), -1, np.int8)  # −1 not judged, 0 does not mount, 1 mounts
        self._limit = np.full(int(self._need.max()) + 1 if len(order) else 0, np.inf)  # by need: least miss that mounts

    def settle(self, judge: Judge, hand: str) -> None:
        """Judge until for each need the closest train that mounts is known, or none is."""
        size = FIRST
        while len(self._need):
            here = np.flatnonzero((self._verdict < 0) & (self._rank < size) & np.isinf(self._limit[self._need]))
            if not len(here):
                break
            self._judge(here, judge, hand)
            size *= 4
        if len(self._need):
            self._judge(np.flatnonzero((self._verdict < 0) & self._in_band()), judge, hand)

    def _judge(self, rows: Ints, judge: Judge, hand: str) -> None:
        for pairs in np.unique(self._pairs[rows]).tolist():
            here = rows[self._pairs[rows] == pairs]
            found = judge.best(self._pool[pairs].sizes[self._row[here]], hand).mounts
            self._verdict[here] = found
            np.minimum.at(self._limit, self._need[here[found]], self._miss[here[found]])

    def _in_band(self) -> Bools:
        band: Bools = self._miss <= self._limit[self._need] + _BAND
        return band

    def winners(self) -> list[tuple[int, int, int]]:
        """(need, pairs, row) of every train that may be the closest of its need."""
        here = np.flatnonzero((self._verdict == 1) & self._in_band())
        columns = (self._need[here].tolist(), self._pairs[here].tolist(), self._row[here].tolist())
        return list(zip(*columns, strict=True))

    def failed(self) -> Pool:
        """The trains that do not mount, of those nearer than the closest that does."""
        here = (self._verdict == 0) & self._in_band() if len(self._need) else np.empty(0, np.bool_)
        return {p: rows.take(self._row[here & (self._pairs == p)]) for p, rows in self._pool.items()}


def joined(parts: list[Rows], pairs: int) -> Rows:
    """Several lots of trains of so many pairs as one."""
    none = np.empty(0, np.int64)
    parts = parts or [Rows(none, np.empty((0, 2 * pairs), np.int64), none, none, np.empty(0))]
    return Rows(
        np.concatenate([part.need for part in parts]),
        np.concatenate([part.sizes for part in parts]),
        np.concatenate([part.drivers for part in parts]),
        np.concatenate([part.driven for part in parts]),
        np.concatenate([part.miss for part in parts]),
    )


def merged(*pools: Pool) -> Pool:
    """Several pools as one."""
    pairs = sorted({p for pool in pools for p in pool})
    return {p: joined([pool[p] for pool in pools if p in pool], p) for p in pairs}


def _numbered(shop: Shop, terms: Terms, candidates: list[Gear]) -> GearPool:
    """The shop's box with sizes for the candidates too, of which it has none."""
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
