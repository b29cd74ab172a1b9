"""Every arrangement of train sets, batch by batch: orders of drivers and driven, idlers and where they stand."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from itertools import combinations_with_replacement, permutations

import numpy as np
from numpy.typing import NDArray

from ..base.arrays import Bools, Floats, Ints
from . import rule
from .bracket import ragged
from .chains import EPS, NOTHING_NEAR, Coordinate
from .gears import Gears
from .geometry import Geometry
from .shape import Shape, shape_of


@dataclass(frozen=True, slots=True)
class Batch:
    """Arrangements of one shape.

    Parameters
    ----------
    shape : what they have in common
    gears : (gears of the shape, rows) gear numbers
    owner : the number of the train set each is of
    """

    shape: Shape
    gears: Ints
    owner: Ints


@dataclass(frozen=True, slots=True)
class Arrangements:
    """Lists the arrangements of train sets that the gears allow.

    Parameters
    ----------
    gears : the pool
    geometry : whose lengths must be kept whatever the place; None where no place is judged
    ruled : whether the rule of thumb must be kept, where there is no geometry
    every : list what keeps neither as well
    """

    gears: Gears
    geometry: Geometry | None
    ruled: bool
    every: bool = False

    @property
    def bounds(self) -> Geometry | None:
        """What drops arrangements before an idler is tried."""
        return None if self.every else self.geometry

    @property
    def smallest(self) -> bool:
        """Whether only the smallest idlers that will do are listed: where no place is judged a larger is no better."""
        return self.geometry is None and not self.gears.pool.joined and not self.every

    def shape(self, pairs: int, places: tuple[int, ...]) -> Shape:
        """The shape of trains with idlers in some of their pairs."""
        if self.geometry is None:
            return shape_of(pairs, places, 2)
        return shape_of(pairs, places, self.geometry.planes, pivot_last=self.geometry.pivot_last)

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
        sets : (T, 2p) gear numbers of drivers, then driven
        owner : for each set its number
        as_given : only the order that each set is given in
        least : by that number the least gap of use [mm]; may be raised while the batches come
        """
        pairs = sets.shape[1] // 2
        orders, rows = self._orders(sets, as_given=as_given)
        listing = _Listing.of(self, sets, owner, least)
        for places in combinations_with_replacement(range(pairs), idlers):
            shape = self.shape(pairs, places)
            gears, row = listing.with_idlers(shape, orders, rows)
            yield Batch(shape, gears, owner.take(row))

    def _orders(self, sets: Ints, *, as_given: bool) -> tuple[Ints, Ints]:
        """Every order that kinds, ratios, shafts and the gears there are allow, and the set of each."""
        columns = sets.T
        rows = np.flatnonzero(self.gears.enough(columns))
        columns = columns if len(rows) == len(sets) else columns[:, rows]
        orders = orders_of(len(columns) // 2)[: 1 if as_given else None]
        gears, owner = columns.take(orders.T, axis=0).reshape(len(columns), -1), np.tile(rows, len(orders))
        if self.gears.anywhere:
            return gears, owner
        good = np.flatnonzero(self.gears.pairs_may_stand(gears))
        return gears.take(good, axis=1), owner[good]


@lru_cache(maxsize=8)
def orders_of(pairs: int) -> Ints:
    """Every order of p drivers and p driven gears as columns, the given one first."""
    alone = list(permutations(range(pairs)))
    return np.array([[*a, *(pairs + i for i in b)] for a in alone for b in alone], np.int64)


@dataclass(frozen=True, slots=True)
class _Listing:
    """Puts idlers into the orders of some train sets; ``rows`` are the numbers of the sets that the orders are of.

    Parameters
    ----------
    lister : whose
    owner, least : as ``Arrangements.listed`` takes them
    wheels : how many gears a set has
    pitch : for each set its pitch radii added up [mm]
    left : (T, sizes) how many of each size a set leaves
    measured : gaps [mm] between the gears of the orders, which other shapes may have as well, by what they are between
    """

    lister: Arrangements
    owner: Ints
    least: Floats | None
    wheels: int
    pitch: Floats
    left: NDArray[np.int8]
    measured: dict[tuple[object, ...], Floats | None]

    @classmethod
    def of(cls, lister: Arrangements, sets: Ints, owner: Ints, least: Floats | None) -> _Listing:
        """The listing of some sets."""
        pitch, left = np.zeros(len(sets)), np.tile(lister.gears.has.astype(np.int8), (len(sets), 1))
        for sizes in sets.T:
            pitch += lister.gears.pitch[sizes]
            left[np.arange(len(sets)), sizes] -= 1
        return cls(lister, owner, least, sets.shape[1], pitch, left, {})

    def with_idlers(self, shape: Shape, gears: Ints, rows: Ints) -> tuple[Ints, Ints]:
        """The orders with every choice of idlers for their places, and the set of each."""
        known = 0
        for column in (*shape.idlers, None):
            gap = self._least_gap(shape, gears, known)
            if gap is not None:
                kept = np.flatnonzero(gap >= self._asked(rows))
                gears, rows = gears.take(kept, axis=1), rows.take(kept)
            known = len(gears)
            if column is not None:
                alone = self.lister.smallest and len(shape.places) == 1
                with_one = self._with_smallest if alone else self._with_one
                gears, rows = with_one(shape, shape.places[column - self.wheels], gears, rows)
        return gears, rows

    def _least_gap(self, shape: Shape, gears: Ints, known: int) -> Floats | None:
        """The least gap [mm] between the neighbours that the gears from ``known`` on settle; None: nothing to ask."""
        bounds = self.lister.bounds
        if bounds is None or len(gears) == len(shape.seats) or shape.studs == 0:
            return None  # whoever judges the whole chain sees to it
        shafts = [each for each in shape.settled(len(gears)) if each not in shape.settled(known)]
        if not shafts:
            return None
        chains, measured = bounds.chains(shape, gears), {} if known else self.measured
        least = np.full(len(chains), NOTHING_NEAR)
        for i, j in shafts:
            near = [(each.gear, chains.nut(each.other)) if each.nut else each for each in shape.contacts[i, j]]
            between = (shape.meshes[i], *near)
            if between not in measured:
                need = chains.need(i, j)
                measured[between] = None if need is None else chains.centre(i) - need
            gap = measured[between]
            if gap is not None:
                np.minimum(least, gap, out=least)
        return least

    def _asked(self, rows: Ints) -> Coordinate:
        """The gap [mm] that each row must keep."""
        assert self.lister.bounds is not None
        clearance = self.lister.bounds.limits.clearance
        if self.least is None:
            return clearance - EPS
        return (np.maximum(clearance, self.least[self.owner]) - EPS).take(rows)

    def _with_one(self, shape: Shape, pair: int, gears: Ints, rows: Ints) -> tuple[Ints, Ints]:
        """With one idler more: each that may stand there, meshes, is to be had, and is not too large or too small."""
        sizes = self.lister.gears.by_pitch
        if self.lister.bounds is not None and len(gears) + 1 == len(shape.seats):
            low, high = self._window(shape, gears, rows)
            low = np.maximum(low, self._for_neighbours(shape, gears) + self._asked(rows)) - EPS
            some = np.flatnonzero(low <= high + EPS)
            pitch = self.lister.gears.pitch[sizes]
            first, stop = np.searchsorted(pitch, low[some]), np.searchsorted(pitch, high[some] + EPS, "right")
            at, number = ragged(first, np.maximum(first, stop))
            at = some[at]
        else:
            at, number = np.repeat(np.arange(len(rows)), len(sizes)), np.tile(np.arange(len(sizes)), len(rows))
        size = sizes[number]
        good = np.flatnonzero(self._fits(gears, rows, pair, at, size))
        at, size = at[good], size[good]
        return np.concatenate([gears.take(at, axis=1), size[np.newaxis]]), rows.take(at)

    def _with_smallest(self, shape: Shape, pair: int, gears: Ints, rows: Ints) -> tuple[Ints, Ints]:
        """With the smallest idler that may stand there, meshes, is left over, and keeps the rule where it is asked."""
        sizes = self.lister.gears.by_pitch
        number = np.zeros(len(rows), np.int64)
        if self.lister.ruled:
            kept = np.flatnonzero(rule.margins(shape, gears, self.lister.gears) == 0)
            gears, rows = gears[:, kept], rows[kept]
            number = self._first_by_rule(shape, gears)
        chosen, at = np.full(len(rows), -1), np.arange(len(rows))
        while len(at):
            at = at[number[at] < len(sizes)]
            size = sizes[number[at]]
            good = self._fits(gears, rows, pair, at, size)
            chosen[at[good]] = size[good]
            at = at[~good]
            number[at] += 1
        found = np.flatnonzero(chosen >= 0)
        return np.concatenate([gears.take(found, axis=1), chosen[np.newaxis, found]]), rows[found]

    def _first_by_rule(self, shape: Shape, gears: Ints) -> Ints:
        """For each order the place, among the sizes by pitch radius, of the first idler that keeps the rule."""
        sizes = self.lister.gears
        radius = np.zeros(gears.shape[1])
        for column, each in rule.asked(shape, gears, sizes):
            if column == len(gears):
                radius = np.maximum(radius, each)
        return np.searchsorted(sizes.pitch[self.lister.gears.by_pitch], radius + EPS)

    def _fits(self, gears: Ints, rows: Ints, pair: int, at: Ints, size: Ints) -> Bools:
        """Whether an idler for the orders ``at`` is of the pair's kind and there is one more of it."""
        left = self.left[rows.take(at), size]
        for idler in gears[self.wheels :]:
            left -= idler.take(at) == size
        kind = self.lister.gears.kind
        good: Bools = left > 0
        return good & (kind[gears[pair][at]] == kind[size]) if kind.any() else good

    def _for_neighbours(self, shape: Shape, gears: Ints) -> Floats:
        """Least pitch radius [mm] of the last idler by which nothing on its neighbours' shafts touches."""
        assert self.lister.bounds is not None
        own, radius = len(gears), np.full(gears.shape[1], -np.inf)
        chains = self.lister.bounds.chains(shape, gears)
        for i, mesh in enumerate(shape.meshes):
            touch = shape.contacts[i, i + 1]
            if own in mesh and touch and all(own not in contact.gears for contact in touch):
                mate = mesh[0] if mesh[1] == own else mesh[1]
                radius = np.maximum(radius, chains.need(i, i + 1) - chains.sizes.pitch.take(gears[mate]))
        return radius

    def _window(self, shape: Shape, gears: Ints, rows: Ints) -> tuple[Floats, Floats]:
        """Least and greatest pitch radius [mm] of the last idler by which the train reaches and no more."""
        bounds, pitch, own = self.lister.bounds, self.lister.gears.pitch, len(gears)
        assert bounds is not None
        total = self.pitch.take(rows)
        for idler in gears[self.wheels :]:
            total += 2 * pitch.take(idler)
        low, reach = (bounds.limits.shortest - total) / 2, bounds.bracket.reach
        if not np.isfinite(reach):
            return low, np.full_like(low, np.inf)
        last = [pitch.take(gears[column]) for column in shape.meshes[-1] if column != own]
        if own in shape.meshes[-1]:
            return low, reach - total + last[0]
        ends = last[0] + last[1]
        return low, np.minimum(reach - total + ends, bounds.limits.longest - total + 2 * ends) / 2
