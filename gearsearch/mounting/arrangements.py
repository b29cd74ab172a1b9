"""Every arrangement of train sets, batch by batch: orders of drivers and driven, idlers and where they stand."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from itertools import combinations_with_replacement, permutations

import numpy as np

from . import rule
from .bracket import ragged
from .chains import EPS, Chains, Coordinate, Floats, Ints, least_gap
from .gears import Flags, Gears
from .shape import Places, Shape, gears_of, shape_of


@dataclass(frozen=True, slots=True)
class Bounds:
    """What the lengths of a train must keep, whatever else: drops arrangements before an idler is tried.

    Parameters
    ----------
    shortest, longest : shaft distance [mm]
    reach : how far out the last stud can stand where all stand in line with the pivot [mm]; infinite where not
    clearance : least gap [mm]
    nuts : nut radius [mm] of the pivot, of a stud, and of the other shaft
    """

    shortest: float
    longest: float
    reach: float
    clearance: float
    nuts: tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class Batch:
    """Arrangements of one shape.

    Parameters
    ----------
    shape, places : what they have in common, and the pair each idler stands in
    gears : (gears of the shape, rows) size numbers
    owner : the number of the train set each is of
    """

    shape: Shape
    places: Places
    gears: Ints
    owner: Ints


@dataclass(frozen=True, slots=True)
class Arrangements:
    """Lists the arrangements of train sets that the gears allow.

    Parameters
    ----------
    gears : the pool
    planes, pivot_last : of the bracket
    bounds : what lengths must keep; None lists all
    smallest : of idlers only the smallest that will do, for no place is judged and a larger one is no better
    ruled : with ``smallest``, whether the rule of thumb must be kept
    """

    gears: Gears
    planes: int
    pivot_last: bool
    bounds: Bounds | None
    smallest: bool = False
    ruled: bool = False

    @property
    def idlers_each(self) -> int:
        """How many idlers are listed for a place at most."""
        return 1 if self.smallest else max(1, len(self.gears.by_pitch))

    def listed(
        self, sets: Ints, owner: Ints, idlers: int, *, as_given: bool, least: Floats | None = None
    ) -> Iterator[Batch]:
        """The arrangements of some sets with so many idlers.

        Parameters
        ----------
        sets : (T, 2p) size numbers of drivers, then driven
        owner : for each set its number
        as_given : only the order that each set is given in
        least : by that number the least gap of use [mm]; may be raised while the batches come
        """
        pairs = sets.shape[1] // 2
        orders, rows = self._orders(sets, as_given=as_given)
        owner = owner[rows]
        for places in combinations_with_replacement(range(pairs), idlers):
            shape = shape_of(pairs, places, self.planes, pivot_last=self.pivot_last)
            yield self._with_idlers(shape, places, orders, owner, least)

    def _orders(self, sets: Ints, *, as_given: bool) -> tuple[Ints, Ints]:
        """Every order that kinds, ratios, shafts and the gears there are allow, and the set of each."""
        columns = sets.T
        enough = np.ones(len(sets), bool)
        for column in range(len(columns)):
            enough &= self.gears.enough(columns, column)
        rows = np.flatnonzero(enough)
        columns = columns if len(rows) == len(sets) else columns[:, rows]
        orders = orders_of(len(columns) // 2)[: 1 if as_given else None]
        gears, owner = columns.take(orders.T, axis=0).reshape(len(columns), -1), np.tile(rows, len(orders))
        if self.gears.anywhere:
            return gears, owner
        good = np.flatnonzero(self.gears.pairs_may_stand(gears))
        return gears.take(good, axis=1), owner[good]

    def _with_idlers(self, shape: Shape, places: Places, gears: Ints, owner: Ints, least: Floats | None) -> Batch:
        """The orders with every choice of idlers for their places."""
        known = 0
        for column in (*shape.idlers, None):
            kept = self._roomy(shape, gears, owner, least, known)
            gears, owner = (gears, owner) if kept is None else (gears.take(kept, axis=1), owner.take(kept))
            known = len(gears)
            if column is not None:
                with_one = self._with_smallest if self.smallest and len(places) == 1 else self._with_one
                gears, owner = with_one(shape, places, gears, owner, least)
        return Batch(shape, places, gears, owner)

    def _roomy(self, shape: Shape, gears: Ints, owner: Ints, least: Floats | None, known: int) -> Ints | None:
        """The rows with room enough between the neighbours that the gears so far settle; None: all."""
        if self.bounds is None or len(gears) == len(shape.seats) or shape.studs == 0:
            return None  # whoever judges the whole chain sees to it
        shafts = [each for each in shape.settled(len(gears)) if each not in shape.settled(known)]
        if not shafts:
            return None
        gap = least_gap(Chains(shape, gears, self.gears.sizes, self.bounds.nuts), shafts)
        return np.flatnonzero(gap >= self._asked(owner, least))

    def _asked(self, owner: Ints, least: Floats | None) -> Coordinate:
        """The gap [mm] that each row must keep."""
        assert self.bounds is not None
        clearance = self.bounds.clearance
        return clearance - EPS if least is None else (np.maximum(clearance, least) - EPS).take(owner)

    def _with_one(
        self, shape: Shape, places: Places, gears: Ints, owner: Ints, least: Floats | None
    ) -> tuple[Ints, Ints]:
        """With one idler more: each that may stand there, meshes, is to be had, and is not too large or too small."""
        sorted_sizes = self.gears.by_pitch
        if self.bounds is not None and len(gears) + 1 == len(shape.seats):
            low, high = self._window(shape, gears)
            low = np.maximum(low, self._for_neighbours(shape, gears) + self._asked(owner, least)) - EPS
            high += EPS
            some = np.flatnonzero(low <= high)
            pitch = self.gears.sizes.pitch[sorted_sizes]
            first = np.searchsorted(pitch, low[some])
            stop = np.maximum(first, np.searchsorted(pitch, high[some], "right"))
            row, at = ragged(first, stop)
            row = some[row]
        else:
            row = np.repeat(np.arange(len(owner)), len(sorted_sizes))
            at = np.tile(np.arange(len(sorted_sizes)), len(owner))
        size = sorted_sizes[at]
        good = self._fits(gears, row, size, places[len(gears) - 2 * shape.pairs])
        row, size = row[good], size[good]
        return np.concatenate([gears.take(row, axis=1), size[np.newaxis]]), owner.take(row)

    def _with_smallest(
        self, shape: Shape, places: Places, gears: Ints, owner: Ints, _least: Floats | None
    ) -> tuple[Ints, Ints]:
        """With the smallest idler that may stand there, meshes, is left over, and keeps the rule where it is asked."""
        sorted_sizes = self.gears.by_pitch
        at = np.zeros(len(owner), np.int64)
        if self.ruled:
            kept = np.flatnonzero(rule.margins(shape, gears, self.gears.sizes) == 0)
            gears, owner = gears[:, kept], owner[kept]
            at = self._first_by_rule(shape, gears)
        size, rows = np.full(len(owner), -1), np.arange(len(owner))
        while len(rows):
            rows = rows[at[rows] < len(sorted_sizes)]
            tried = sorted_sizes[at[rows]]
            good = self._fits(gears, rows, tried, places[0])
            size[rows[good]] = tried[good]
            rows = rows[~good]
            at[rows] += 1
        found = np.flatnonzero(size >= 0)
        return np.concatenate([gears.take(found, axis=1), size[np.newaxis, found]]), owner[found]

    def _first_by_rule(self, shape: Shape, gears: Ints) -> Ints:
        """For each order the place, among the sizes by pitch radius, of the first idler that keeps the rule."""
        sizes = self.gears.sizes
        radius = np.zeros(gears.shape[1])
        for column, each in rule.asked(shape, gears, sizes):
            if column == len(gears):
                radius = np.maximum(radius, each)
        return np.searchsorted(sizes.pitch[self.gears.by_pitch], radius + EPS)

    def _fits(self, gears: Ints, row: Ints, size: Ints, pair: int) -> Flags:
        """Whether an idler is of the pair's kind and there is one more of it."""
        kind = self.gears.sizes.kind
        good: Flags = np.ones(len(row), bool) if not kind.any() else kind[gears[pair][row]] == kind[size]
        used = np.ones(len(row), np.int8)
        for column in gears:
            used += column.take(row) == size
        good &= used <= self.gears.has[size]
        return good

    def _for_neighbours(self, shape: Shape, gears: Ints) -> Floats:
        """Least pitch radius [mm] of the last idler by which nothing on its neighbours' shafts touches."""
        assert self.bounds is not None
        own, radius = len(gears), np.full(gears.shape[1], -np.inf)
        chains = Chains(shape, gears, self.gears.sizes, self.bounds.nuts)
        for i, mesh in enumerate(shape.meshes):
            touch = shape.contacts[i, i + 1]
            if own in mesh and touch and all(own not in gears_of(contact) for contact in touch):
                mate = mesh[0] if mesh[1] == own else mesh[1]
                radius = np.maximum(radius, chains.need(i, i + 1) - self.gears.sizes.pitch[gears[mate]])
        return radius

    def _window(self, shape: Shape, gears: Ints) -> tuple[Floats, Floats]:
        """Least and greatest pitch radius [mm] of the last idler by which the train reaches and no more."""
        assert self.bounds is not None
        pitch, own = self.gears.sizes.pitch, len(gears)
        total = np.zeros(gears.shape[1])
        for column, size in enumerate(gears):
            total += pitch.take(size) * (1 if column < 2 * shape.pairs else 2)
        low = (self.bounds.shortest - total) / 2
        if not np.isfinite(self.bounds.reach):
            return low, np.full_like(low, np.inf)
        last = [pitch.take(gears[column]) for column in shape.meshes[-1] if column != own]
        if own in shape.meshes[-1]:
            return low, self.bounds.reach - total + last[0]
        ends = last[0] + last[1]
        return low, np.minimum(self.bounds.reach - total + ends, self.bounds.longest - total + 2 * ends) / 2


@lru_cache(maxsize=8)
def orders_of(pairs: int) -> Ints:
    """Every order of p drivers and p driven gears as columns, the given one first."""
    alone = list(permutations(range(pairs)))
    return np.array([[*a, *(pairs + i for i in b)] for a in alone for b in alone], np.int64)
