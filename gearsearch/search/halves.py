"""Half trains: every choice of p drivers, or of p driven gears, with its product, sorted so that halves can be joined.

A train takes one half of drivers and one of driven gears. What a half needs of the gears owned is held as bits: a bit
for each gear owned, of which a half of drivers takes the first ones of a size and a half of driven gears the last. So
two halves need the same gear exactly where their bits meet.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property, lru_cache
from math import prod

import numpy as np
from numpy.typing import NDArray

from ..base.arrays import Floats, Ints
from ..base.errors import GearsearchError
from ..base.units import spaced
from ..shop.pool import GearPool

Bits = NDArray[np.uint64]
MOST_HALVES = 5_000_000
GREATEST_PRODUCT = 2**53
_WORD = 64  # bits


@dataclass(frozen=True)
class Halves:
    """Halves that may stand on one side of a train, each with as many gears of each kind of tooth.

    Parameters
    ----------
    gears : int64 (H, p), numbers of the gears in the pool, ascending in a row
    product : float64 (H,), product of the tooth counts, exact, ascending
    owned : int64, how many of each gear are owned; 0 of one owned so often that no train can lack it
    """

    gears: Ints
    product: Floats
    owned: Ints

    def __len__(self) -> int:
        return len(self.product)

    @cached_property
    def as_drivers(self) -> Bits:
        """The gears owned that each half takes as drivers, (H, words): the first ones of each size."""
        return self._needs(last=False)

    @cached_property
    def as_driven(self) -> Bits:
        """The gears owned that each half takes as driven gears, (H, words): the last ones of each size."""
        return self._needs(last=True)

    def _needs(self, *, last: bool) -> Bits:
        first = np.cumsum(self.owned) - self.owned
        needs = np.zeros((len(self), -(-int(self.owned.sum()) // _WORD)), np.uint64)
        before = np.zeros(len(self), np.int64)
        for place, size in enumerate(self.gears.T):
            if place:
                before = np.where(size == self.gears[:, place - 1], before + 1, 0)
            at = first[size] + (self.owned[size] - 1 - before if last else before)
            scarce = np.flatnonzero(self.owned[size])
            needs[scarce, at[scarce] // _WORD] |= np.left_shift(np.uint64(1), (at[scarce] % _WORD).astype(np.uint64))
        return needs


def joinable(pool: GearPool, pairs: int) -> Iterator[tuple[Halves, Halves]]:
    """Halves of drivers with the halves of driven gears that they may be joined with, for trains of so many pairs.

    Raises GearsearchError when the halves would not fit in memory or a product could pass 2**53.
    """
    drivers = halves_of(pool, pairs, pool.fixed_first)
    driven = halves_of(pool, pairs, pool.fixed_last)
    yield from ((drivers[kinds], driven[kinds]) for kinds in sorted(drivers.keys() & driven.keys()))


@lru_cache(maxsize=8)  # both sides of trains of one to four pairs; the largest take 200 MB each
def halves_of(pool: GearPool, pairs: int, fixed: int) -> dict[int, Halves]:
    """The halves of one side, by a number for how many gears of each kind of tooth they have.

    Parameters
    ----------
    pool : the gears
    pairs : how many gears a half has, at least 1
    fixed : the gear that cannot come off this side's shaft, and so is in every half; −1: none

    Raises GearsearchError as ``joinable``.
    """
    most = _most(pool, pairs, fixed)
    _check_bounds(pool, most, pairs)
    rows = _choices(np.array(most, np.int64), pairs)
    if fixed >= 0:
        rows = rows[(rows == fixed).any(axis=1)]
    if not len(rows):
        return {}
    product = np.array(pool.teeth, np.int64)[rows].prod(axis=1).astype(np.float64)
    kinds = kinds_of(pool, rows)
    order = np.lexsort((product, kinds))
    different, starts = np.unique(kinds[order], return_index=True)
    available = np.array(pool.available, np.int64)
    owned = np.where(available < 2 * pairs, available, 0)
    return {
        int(number): Halves(np.ascontiguousarray(rows[part]), product[part], owned)
        for number, part in zip(different, np.split(order, starts[1:]), strict=True)
    }


def kinds_of(pool: GearPool, rows: Ints) -> Ints:
    """A number for how many gears of each kind of tooth each row has; it grows by each gear's share."""
    numbers: Ints = (5 ** np.array(pool.kind, np.int64)[rows]).sum(axis=1)  # no half has more than four of one kind
    return numbers


def _choices(most: Ints, count: int) -> Ints:
    """Every choice of so many sizes, each at most so often; rows ascending, each choice once."""
    rows = np.flatnonzero(most)[:, None]
    for _ in range(count - 1):
        options = len(most) - rows[:, -1]
        grown = np.repeat(rows, options, axis=0)
        size = np.arange(len(grown)) - np.repeat(np.cumsum(options) - options, options) + grown[:, -1]
        keep = (grown == size[:, None]).sum(axis=1) < most[size]
        rows = np.column_stack([grown, size])[keep]
    return rows


def _most(pool: GearPool, pairs: int, fixed: int) -> list[int]:
    """How often this side could take each size; gears fixed elsewhere left out."""
    most = list(pool.available)
    for place in (pool.fixed_first, pool.fixed_last):
        if place >= 0:
            most[place] -= 1
    if fixed >= 0:
        most[fixed] += 1
    return [min(count, pairs) for count in most]


def _check_bounds(pool: GearPool, most: list[int], pairs: int) -> None:
    teeth = sorted((t for t, count in zip(pool.teeth, most, strict=True) for _ in range(count)), reverse=True)
    if prod(teeth[:pairs]) >= GREATEST_PRODUCT:
        raise GearsearchError(
            f"{pairs} gears of up to {teeth[0]} teeth multiply to 2**53 or more, past what the search holds exactly",
            "use fewer pairs or smaller gears",
            code="too-many-trains",
        )
    halves = count_halves(most, pairs)
    if halves > MOST_HALVES:
        raise GearsearchError(
            f"{len(teeth)} gears are too many for trains of {pairs} pairs: {pairs} of them can be chosen in "
            f"{spaced(halves)} ways and the search holds {spaced(MOST_HALVES)}",
            "use fewer pairs, or leave gears out with --without",
            code="too-many-trains",
        )


def count_halves(most: list[int], pairs: int) -> int:
    """How many choices of ``pairs`` gears there are; exact, without listing them."""
    ways = [1] + [0] * pairs
    for times in most:
        ways = [sum(ways[taken - used] for used in range(min(times, taken) + 1)) for taken in range(pairs + 1)]
    return ways[pairs]
