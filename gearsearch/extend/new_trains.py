"""The trains a pool gains with gears added: only those that need every added gear are listed, never the old ones."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import product
from math import prod

import numpy as np

from ..base.arrays import Bools, Floats, Ints
from ..search.halves import Halves, halves_of, kinds_of
from ..shop.pool import GearPool
from ..shop.train_columns import Trains
from . import kernels

Split = tuple[tuple[int, ...], tuple[int, ...]]


@dataclass(frozen=True, slots=True)
class _Side:
    """Halves of one side that may be joined with one block of the other, with the added gears' share in the product."""

    sizes: Ints
    product: Floats


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
        self._halves: dict[tuple[int, int], dict[int, Halves]] = {}

    def trains(self, added: tuple[int, ...], windows: Floats) -> Trains:
        """Every train in each window that needs all the added gears; ``asked`` tells the number of the window.

        Parameters
        ----------
        added : numbers of the gears added
        windows : (W, 2) lowest and highest driven/drivers; widen them for float, see ``kernels``
        """
        cap = self._with(added)
        parts = [
            self._listed(drivers, driven, split, cap, windows) for drivers, driven, split in self._sides(added)
        ] or [replace(Trains.none(self.pairs), asked=np.empty(0, np.int64))]
        return Trains.joined(parts)

    def touched(self, added: tuple[int, ...], windows: Floats, hit: Bools) -> None:
        """Mark the windows in which there is such a train at all."""
        cap = self._with(added)
        inverse = _inverse(windows)
        for drivers, driven, split in self._sides(added):
            extra = np.array([*split[0], *split[1]], np.int64)
            if len(drivers.product) <= len(driven.product):
                few, many, inside = drivers, driven, windows
            else:
                few, many, inside = driven, drivers, inverse
            kernels.touch(few.sizes, few.product, many.sizes, many.product, extra, cap, inside, hit)

    def _with(self, added: tuple[int, ...]) -> Ints:
        cap = self._cap.copy()
        for size in added:
            cap[size] += 1
        return cap

    def _sides(self, added: tuple[int, ...]) -> Iterator[tuple[_Side, _Side, Split]]:
        for split in self._splits(added):
            drivers = self._blocks(self.pairs - len(split[0]), self._pool.fixed_first)
            driven = self._blocks(self.pairs - len(split[1]), self._pool.fixed_last)
            shift = self._signature(split[0]) - self._signature(split[1])
            for signature, side in drivers.items():
                other = driven.get(signature + shift)
                if other is not None:
                    yield self._scaled(side, split[0]), self._scaled(other, split[1]), split

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
        return int(kinds_of(self._pool, np.array([sizes], np.int64))[0])

    def _scaled(self, side: Halves, sizes: tuple[int, ...]) -> _Side:
        return _Side(side.gears, side.product * float(prod(self._pool.teeth[size] for size in sizes)))

    def _listed(self, drivers: _Side, driven: _Side, split: Split, cap: Ints, windows: Floats) -> Trains:
        extra = np.array([*split[0], *split[1]], np.int64)
        swap = len(drivers.product) > len(driven.product)
        few, many, inside = (driven, drivers, _inverse(windows)) if swap else (drivers, driven, windows)
        out = np.empty((1024, 3), np.int64)
        found = kernels.join(few.sizes, few.product, many.sizes, many.product, extra, cap, inside, out)
        if found > len(out):
            out = np.empty((found, 3), np.int64)
            kernels.join(few.sizes, few.product, many.sizes, many.product, extra, cap, inside, out)
        window, i, j = out[:found].T
        return self._found(window, (drivers, j if swap else i), (driven, i if swap else j), split)

    def _found(self, window: Ints, drivers: tuple[_Side, Ints], driven: tuple[_Side, Ints], split: Split) -> Trains:
        sides = [
            np.concatenate([side.sizes[rows], np.tile(np.array(more, np.int64), (len(rows), 1))], axis=1)
            for (side, rows), more in ((drivers, split[0]), (driven, split[1]))
        ]
        sizes = [np.sort(side, axis=1) for side in sides]
        teeth = [self._teeth[side].prod(axis=1) for side in sizes]
        return Trains(np.full(len(window), self.pairs), sizes[0], sizes[1], teeth[0], teeth[1], asked=window)


def _inverse(windows: Floats) -> Floats:
    with np.errstate(divide="ignore"):
        return np.ascontiguousarray(1 / windows[:, ::-1])
