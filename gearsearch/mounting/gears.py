"""The gears of a pool as arrays by gear number: radii, and where each may go."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..base.arrays import Bools, Floats, Ints
from ..base.errors import GearsearchError
from ..shop.gears import PLACES
from ..shop.pool import GearPool
from ..shop.shop import Shop

MOST_KINDS_OF_PIECES = 16


@dataclass(frozen=True, slots=True)
class Gears:
    """A gear pool as arrays, by gear number.

    Parameters
    ----------
    pool : the pool itself
    teeth, kind : tooth count, and the number of its kind of tooth
    pitch, tip : pitch radius, and radius over the tips [mm]
    has : how many gears of each size a train could use at most
    loose : how many of them are loose
    may : (sizes, 3) whether it may work on the first shaft, a stud, the last shaft; where a gear is fixed no other may
    mates : (sizes, sizes) whether a pair of the two keeps the greatest pair ratio; None where there is none
    hangs : (sizes, 3) whether it may hang there as the idle partner in a joined piece, where there are any
    by_pitch : the sizes there are that may work on a stud, by pitch radius
    """

    pool: GearPool
    teeth: Ints
    kind: Ints
    pitch: Floats
    tip: Floats
    has: Ints
    loose: Ints
    may: Bools
    mates: Bools | None
    hangs: Bools
    by_pitch: Ints

    @classmethod
    def of(cls, shop: Shop, pool: GearPool) -> Gears:
        """The arrays of a pool. Raises GearsearchError where it has more kinds of joined pieces than can be judged."""
        if len(pool.joined) > MOST_KINDS_OF_PIECES:
            given = f"{len(pool.joined)} kinds of joined pieces cannot be judged"
            raise GearsearchError(given, f"give 0 to {MOST_KINDS_OF_PIECES}")
        teeth, kind = np.array(pool.teeth, np.int64), np.array(pool.kind, np.int64)
        module = np.array([float(gears.kind.module_mm) for gears in shop.gears])[kind]
        may = np.array(pool.allowed, bool).reshape(-1, 3)
        for place, fixed in ((0, pool.fixed_first), (2, pool.fixed_last)):
            if fixed >= 0:
                may[:, place] &= np.arange(len(teeth)) == fixed
        pitch = module * teeth / 2
        has = np.array(pool.available, np.int64)
        idlers = np.flatnonzero(may[:, 1] & (has > 0))
        return cls(
            pool=pool,
            teeth=teeth,
            kind=kind,
            pitch=pitch,
            tip=module * (teeth + 2) / 2,
            has=has,
            loose=np.array(pool.loose, np.int64),
            may=may,
            mates=_mates(pool),
            hangs=_hangs(shop, pool) if pool.joined else np.ones((len(teeth), 3), bool),
            by_pitch=idlers[np.argsort(pitch[idlers], kind="stable")],
        )

    @property
    def anywhere(self) -> bool:
        """Whether any two gears may be a pair, anywhere."""
        return self.mates is None and bool(self.may.all()) and not self.kind.any()

    def fixed(self, place: int) -> int:
        """The size that cannot come off the first (0) or last (2) shaft, or −1."""
        return {0: self.pool.fixed_first, 2: self.pool.fixed_last}.get(place, -1)

    def pairs_may_stand(self, gears: Ints) -> Bools:
        """Which orders of p drivers and p driven gears, in power order, are allowed: by kind, ratio and shaft."""
        pairs = len(gears) // 2
        kind, good = self.kind, np.ones(gears.shape[1], bool)
        for pair, (driver, driven) in enumerate(zip(gears[:pairs], gears[pairs:], strict=True)):
            good &= kind[driver] == kind[driven]
            good &= self.may[driver, 0 if pair == 0 else 1] & self.may[driven, 2 if pair == pairs - 1 else 1]
            if self.mates is not None:
                good &= self.mates[driver, driven]
        return good

    def enough(self, gears: Ints) -> Bools:
        """Which columns of gears take no more of any than there are."""
        good = np.ones(gears.shape[1], bool)
        for row, size in enumerate(gears):
            good &= 1 + (gears[:row] == size).sum(axis=0) <= self.has[size]
        return good


def _hangs(shop: Shop, pool: GearPool) -> Bools:
    sizes = zip(pool.kind, pool.teeth, strict=True)
    return np.array([[shop.allows(pool.tags[kind], teeth, place) for place in PLACES] for kind, teeth in sizes], bool)


def _mates(pool: GearPool) -> Bools | None:
    limit = pool.greatest_pair_ratio
    if limit is None:
        return None
    return np.array([[a <= b * limit and b <= a * limit for b in pool.teeth] for a in pool.teeth], bool)
