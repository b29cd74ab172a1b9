"""Half trains: every choice of p drivers, and of p driven gears, with its product, ready for the sweep."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from math import inf, prod

import numpy as np

from ..base.errors import GearsearchError
from ..base.units import spaced
from ..shop.pool import GearPool
from . import kernels

MOST_HALVES = 5_000_000
GREATEST_PRODUCT = 2**53
# By what share a window is widened at each end before its trains are decided exactly. The end as a float, its widening
# and the product that the sweep compares are each rounded once, by less than 1.2e-16: together less than a twentieth.
EDGE = 1e-14


@dataclass(frozen=True, slots=True)
class Halves:
    """All halves of p gears for one side of the train, in blocks that may be joined with each other.

    Parameters
    ----------
    sizes : int64 (H, p), size numbers, ascending in a row
    product : float64 (H,), exact product of the tooth counts, ascending within a block
    blocks : for each signature (how many gears of each kind of tooth) its rows, as (start, stop)
    """

    sizes: kernels.Ints
    product: kernels.Floats
    blocks: dict[int, tuple[int, int]]


@dataclass(frozen=True, slots=True)
class Trains:
    """Trains as the sweep finds them, one row each.

    Parameters
    ----------
    sizes : int64 (T, 2p), the size numbers of p drivers, then of p driven gears
    drivers, driven : int64 (T,), products of their tooth counts
    """

    sizes: kernels.Ints
    drivers: kernels.Ints
    driven: kernels.Ints

    def __len__(self) -> int:
        return len(self.drivers)


class Sweeper:
    """Finds every train of p pairs whose product of driven over product of drivers lies in a window.

    Parameters
    ----------
    box : the gears
    pairs : p, at least 1

    Raises GearsearchError when the halves would not fit in memory or a product could pass 2**53.
    Cost: about the number of halves (the square root of the number of trains) and the trains in the window.
    """

    def __init__(self, box: GearPool, pairs: int) -> None:
        self.pairs = pairs
        self._teeth = np.array(box.teeth, np.int64)
        self._cap = np.array(box.available, np.int64)
        self._drivers = halves_of(box, pairs, box.fixed_first)
        self._driven = halves_of(box, pairs, box.fixed_last)

    def count(self, low: float = 0.0, high: float = inf) -> int:
        """How many trains have low ≤ driven/drivers < high."""
        nothing = np.empty((0, 2), np.int64)
        return sum(self._sweep(block, low, high, nothing) for block in self._common())

    def trains(self, low: float, high: float) -> Trains:
        """Every train with low ≤ driven/drivers < high, in no useful order.

        Windows that share an edge part the trains exactly; a caller who needs an exact edge widens the window
        by ``EDGE`` and decides by fractions.
        """
        rows = np.concatenate([self._rows(block, low, high) for block in self._common()] or [_NO_ROWS])
        driven, drivers = self._driven.sizes[rows[:, 0]], self._drivers.sizes[rows[:, 1]]
        return Trains(
            np.concatenate([drivers, driven], axis=1),
            self._teeth[drivers].prod(axis=1),
            self._teeth[driven].prod(axis=1),
        )

    def _common(self) -> list[int]:
        return sorted(self._driven.blocks.keys() & self._drivers.blocks.keys())

    def _rows(self, block: int, low: float, high: float) -> kernels.Ints:
        out = np.empty((4096, 2), np.int64)
        found = self._sweep(block, low, high, out)
        if found > len(out):
            out = np.empty((found, 2), np.int64)
            self._sweep(block, low, high, out)
        starts = self._driven.blocks[block][0], self._drivers.blocks[block][0]
        rows: kernels.Ints = out[:found] + np.array(starts, np.int64)
        return rows

    def _sweep(self, block: int, low: float, high: float, out: kernels.Ints) -> int:
        over, under = slice(*self._driven.blocks[block]), slice(*self._drivers.blocks[block])
        return kernels.sweep(
            self._driven.sizes[over],
            self._driven.product[over],
            self._drivers.sizes[under],
            self._drivers.product[under],
            self._cap,
            low,
            high,
            out,
        )


_NO_ROWS = np.empty((0, 2), np.int64)


@lru_cache(maxsize=8)  # both sides of trains of one to four pairs; the largest take 200 MB each
def halves_of(box: GearPool, pairs: int, fixed: int) -> Halves:
    """The halves of one side of the train; ``fixed`` is the size that this side's shaft always carries, or −1."""
    most = _most(box, pairs, fixed)
    _check_bounds(box, most, pairs)
    rows = _multisets(np.array(most, np.int64), pairs)
    if fixed >= 0:
        rows = rows[(rows == fixed).any(axis=1)]
    product = np.array(box.teeth, np.int64)[rows].prod(axis=1).astype(np.float64)
    signature = ((pairs + 1) ** np.array(box.kind, np.int64)[rows]).sum(axis=1)
    order = np.lexsort((product, signature))
    signatures, starts = np.unique(signature[order], return_index=True)
    stops = np.append(starts, len(rows))[1:]
    blocks = {int(s): (int(a), int(b)) for s, a, b in zip(signatures, starts, stops, strict=True)}
    return Halves(np.ascontiguousarray(rows[order]), product[order], blocks)


def _multisets(most: kernels.Ints, count: int) -> kernels.Ints:
    """Every choice of so many sizes, each at most so often; rows ascending, each choice once."""
    rows = np.flatnonzero(most)[:, None]
    for _ in range(count - 1):
        options = len(most) - rows[:, -1]
        grown = np.repeat(rows, options, axis=0)
        size = np.arange(len(grown)) - np.repeat(np.cumsum(options) - options, options) + grown[:, -1]
        keep = (grown == size[:, None]).sum(axis=1) < most[size]
        rows = np.column_stack([grown, size])[keep]
    return rows


def _most(box: GearPool, pairs: int, fixed: int) -> list[int]:
    """How often this side could take each size; gears fixed elsewhere left out."""
    most = list(box.available)
    for place in (box.fixed_first, box.fixed_last):
        if place >= 0:
            most[place] -= 1
    if fixed >= 0:
        most[fixed] += 1
    return [min(count, pairs) for count in most]


def _check_bounds(box: GearPool, most: list[int], pairs: int) -> None:
    teeth = sorted((t for t, count in zip(box.teeth, most, strict=True) for _ in range(count)), reverse=True)
    if prod(teeth[:pairs]) >= GREATEST_PRODUCT:
        raise GearsearchError(
            f"{pairs} gears of up to {teeth[0]} teeth multiply to 2**53 or more, past what the search holds exactly",
            "use fewer pairs or smaller gears",
        )
    halves = count_halves(most, pairs)
    if halves > MOST_HALVES:
        raise GearsearchError(
            f"{len(teeth)} gears are too many for trains of {pairs} pairs: {pairs} of them can be chosen in "
            f"{spaced(halves)} ways and the search holds {spaced(MOST_HALVES)}",
            "use fewer pairs, or leave gears out with --without",
        )


def count_halves(most: list[int], pairs: int) -> int:
    """How many choices of ``pairs`` gears there are; exact, without listing them."""
    ways = [1] + [0] * pairs
    for times in most:
        ways = [sum(ways[taken - used] for used in range(min(times, taken) + 1)) for taken in range(pairs + 1)]
    return ways[pairs]
