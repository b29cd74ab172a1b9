"""The trains a pool gains with gears added: only those that need every added gear are listed, never the old ones."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import product
from math import prod

import numpy as np

from ..base.arrays import Bools, Floats, Ints
from ..search.halves import Halves, halves_of, kinds_of
from ..shop.pool import GearPool
from ..shop.train_columns import Trains
from .joining import join

Split = tuple[tuple[int, ...], tuple[int, ...]]


@dataclass(frozen=True, slots=True)
class _Side:
    """Halves of one side that may be joined with one block of the other, and the gears that stand there besides.

    Parameters
    ----------
    sizes : the gears of each half
    product : of its teeth and those of the gears besides, ascending
    more : the gears besides
    """

    sizes: Ints
    product: Floats
    more: tuple[int, ...]

    def gears(self, rows: Ints) -> Ints:
        """All gears of some of the halves, those besides at the end."""
        return np.column_stack([self.sizes[rows], np.tile(np.array(self.more, np.int64), (len(rows), 1))])


_NO_MORE = {0: Halves(np.empty((1, 0), np.int64), np.ones(1), np.empty(0, np.int64))}  # beside the added gears


class NewTrains:
    """Finds the trains of p pairs that a pool gains with gears added.

    Parameters
    ----------
    pool : the pool without them; sizes it may gain are numbered in it already, with none owned
    pairs : p, at least 1

    Cost: for each question about the halves that p − 1 (or p − 2) gears of the pool make on one side and p on the
    other; trains of the pool itself are never looked at.
    """

    def __init__(self, pool: GearPool, pairs: int) -> None:
        self.pairs = pairs
        self._pool = pool
        self._teeth = np.array(pool.teeth, np.int64)
        self._cap = np.array(pool.available, np.int64)
        self._share = kinds_of(pool, np.arange(len(pool.teeth))[:, np.newaxis]).tolist()
        self._halves: dict[tuple[int, int], dict[int, Halves]] = {}

    def trains(self, added: tuple[int, ...], windows: Floats) -> Trains:
        """Every train in each window that needs all the added gears; ``asked`` tells the number of the window.

        Parameters
        ----------
        added : numbers of the gears added
        windows : (W, 2) lowest and highest driven/drivers; widen them for float, see ``kernels``
        """
        cap, none = self._with(added), np.empty((0, self.pairs), np.int64)
        lots = [(none[:, 0], none, none), *(self._listed(*sides, cap, windows) for sides in self._sides(added))]
        window, *halves = map(np.concatenate, zip(*lots, strict=True))
        drivers, driven = (np.sort(half, axis=1) for half in halves)
        drivers_product, driven_product = (self._teeth[side].prod(axis=1) for side in (drivers, driven))
        return Trains(np.full(len(window), self.pairs), drivers, driven, drivers_product, driven_product, window)

    def touched(self, added: tuple[int, ...], windows: Floats, hit: Bools) -> None:
        """Mark the windows in which there is such a train at all."""
        from . import kernels

        cap = self._with(added)
        for drivers, driven in self._sides(added):
            few, many, inside = _shorter_first(drivers, driven, windows)
            extra = np.array([*drivers.more, *driven.more], np.int64)
            kernels.touch(few.sizes, few.product, many.sizes, many.product, extra, cap, inside, hit)

    def _with(self, added: tuple[int, ...]) -> Ints:
        cap = self._cap.copy()
        for size in added:
            cap[size] += 1
        return cap

    def _sides(self, added: tuple[int, ...]) -> Iterator[tuple[_Side, _Side]]:
        for split in self._splits(added):
            drivers = self._blocks(self.pairs - len(split[0]), self._pool.fixed_first)
            driven = self._blocks(self.pairs - len(split[1]), self._pool.fixed_last)
            shift = self._signature(split[0]) - self._signature(split[1])
            for signature, side in drivers.items():
                other = driven.get(signature + shift)
                if other is not None:
                    yield self._scaled(side, split[0]), self._scaled(other, split[1])

    def _blocks(self, gears: int, fixed: int) -> dict[int, Halves]:
        if gears == 0:
            return _NO_MORE if fixed < 0 else {}
        if (gears, fixed) not in self._halves:  # more of them than halves_of keeps
            self._halves[gears, fixed] = halves_of(self._pool, gears, fixed)
        return self._halves[gears, fixed]

    def _splits(self, added: tuple[int, ...]) -> Iterator[Split]:
        """Every way to put all gears of the added sizes, but those fixed on a shaft, among drivers and driven."""
        uses = [(size, self._loose(size) + added.count(size)) for size in sorted(set(added))]
        for shares in product(*(range(count + 1) for _, count in uses)):
            drivers = tuple(size for (size, _), share in zip(uses, shares, strict=True) for _ in range(share))
            driven = tuple(size for (size, n), share in zip(uses, shares, strict=True) for _ in range(n - share))
            if max(len(drivers), len(driven)) <= self.pairs:
                yield drivers, driven

    def _loose(self, size: int) -> int:
        fixed = (self._pool.fixed_first, self._pool.fixed_last).count(size)
        return int(self._cap[size]) - fixed

    def _signature(self, sizes: tuple[int, ...]) -> int:
        return sum(self._share[size] for size in sizes)

    def _scaled(self, side: Halves, sizes: tuple[int, ...]) -> _Side:
        return _Side(side.gears, side.product * float(prod(self._pool.teeth[size] for size in sizes)), sizes)

    def _listed(self, drivers: _Side, driven: _Side, cap: Ints, windows: Floats) -> tuple[Ints, Ints, Ints]:
        """The window of each train, its drivers and its driven gears."""
        few, many, inside = _shorter_first(drivers, driven, windows)
        extra = np.array([*drivers.more, *driven.more], np.int64)
        window, i, j = join(few.sizes, few.product, many.sizes, many.product, extra, cap, inside).T
        drivers_row, driven_row = (i, j) if few is drivers else (j, i)
        return window, drivers.gears(drivers_row), driven.gears(driven_row)


def _shorter_first(drivers: _Side, driven: _Side, windows: Floats) -> tuple[_Side, _Side, Floats]:
    """The side with fewer halves, the other, and the windows of the other's product over the first's."""
    if len(drivers.product) <= len(driven.product):
        return drivers, driven, windows
    with np.errstate(divide="ignore"):
        return driven, drivers, np.ascontiguousarray(1 / windows[:, ::-1])
