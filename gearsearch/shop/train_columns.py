"""Trains of one gear pool as columns: what the search lists, what the judge of mounting chooses, what a chart holds."""

from __future__ import annotations

from dataclasses import dataclass
from math import gcd
from typing import Any

from ..base.arrays import Integers, Ints
from ..base.columns import Columns
from .pool import GearPool
from .trains import Train

NO_GEAR = -1


@dataclass(frozen=True, slots=True)
class Trains(Columns):
    """Trains, one row each. Columns that nobody has filled are None.

    Parameters
    ----------
    pairs : pairs of gears of each; 0 where there is no train
    drivers, driven : (T, most) numbers of its gears in the pool, padded with ``NO_GEAR``: ascending as the search lists
        them, in power order once they are arranged
    drivers_product, driven_product : products of the tooth counts
    asked : the number of the lead, ratio or window that each was looked for
    off : how far off what was asked for it is, as a share
    mounts : whether it mounts
    idlers, idler_pairs : (T, most) numbers of its idlers, and the pair each stands in, padded with ``NO_GEAR``
    clearance_um : its smallest gap [µm], rounded down; 0 by the rule of thumb, 10**9 where nothing is near
    hand : the hand that all were arranged for
    """

    pairs: Integers
    drivers: Integers
    driven: Integers
    drivers_product: Any = None
    driven_product: Any = None
    asked: Any = None
    off: Any = None
    mounts: Any = None
    idlers: Any = None
    idler_pairs: Any = None
    clearance_um: Any = None
    hand: str = "either"

    @classmethod
    def none(cls, most: int) -> Trains:
        """No trains, with room for so many pairs, as the search lists them."""
        import numpy as np

        number, gears = np.empty(0, np.int64), np.empty((0, most), np.int64)
        return cls(number, gears, gears, number, number)

    @property
    def idler_count(self) -> Ints:
        """How many idlers each train has."""
        count: Ints = (self.idlers != NO_GEAR).sum(axis=1)
        return count

    def gears(self, pairs: int, rows: Ints | slice = slice(None)) -> Ints:
        """Drivers, then driven gears, (T, 2 × pairs), of rows that all have so many pairs; of all without ``rows``."""
        import numpy as np

        gears: Ints = np.concatenate([self.drivers[rows, :pairs], self.driven[rows, :pairs]], axis=1)
        return gears

    def gears_of(self, row: int) -> list[int]:
        """Drivers, then driven gears, of a row."""
        pairs = int(self.pairs[row])
        return [*self.drivers[row, :pairs].tolist(), *self.driven[row, :pairs].tolist()]

    def order_keys(self, pool: GearPool) -> Ints:
        """What orders arranged trains of one lead and one number of pairs, from the left: (T, columns).

        Idlers, the most clearance, tooth counts of drivers, driven gears and idlers, pairs of these, kinds of tooth.
        """
        import numpy as np

        teeth, kinds = np.array([*pool.teeth, 0], np.int64), np.array([*pool.kind, 0], np.int64)  # NO_GEAR: the last
        gears = (self.drivers, self.driven, self.idlers)
        counts, tags = ([numbers[numbered] for numbered in gears] for numbers in (teeth, kinds))
        clearance = self.clearance_um.astype(np.int64)
        return np.column_stack([self.idler_count, -clearance, *counts, self.idler_pairs, *tags]).astype(np.int64)

    def ratio(self, row: int) -> tuple[int, int]:
        """Driven over drivers of a row in lowest terms."""
        driven, drivers = int(self.driven_product[row]), int(self.drivers_product[row])
        common = gcd(driven, drivers)
        return driven // common, drivers // common

    def train(self, pool: GearPool, row: int) -> Train:
        """The train of a row, in power order, with its idlers."""
        pairs = int(self.pairs[row])
        between: list[list[int]] = [[] for _ in range(pairs)]
        if self.idlers is not None:
            for gear, pair in zip(self.idlers[row].tolist(), self.idler_pairs[row].tolist(), strict=True):
                if gear != NO_GEAR:
                    between[pair].append(gear)
        return pool.train(self.drivers[row, :pairs].tolist(), self.driven[row, :pairs].tolist(), between)
