"""Plates: one stud as in a slot, two anywhere in reach.

The definition of a place for two studs, counted from the pivot. The second stands at every whole millimetre from the
pivot at which its triangle with the other shaft and that with the first stud both close, and where a limit begins: at
the ends of what closes and of the reach, where either stud meets an end of the swing, and where the second just clears
the pivot or the first the other shaft; each in all four mirror images. So no place is missed between two limits,
however narrow, but for obstacles. A head that can be moved is tried at every 5 mm of its range (whole multiples) and at
both ends of it. Of these places that with the greatest clearance is taken.

A grid, and not the windows of the angle with the stud in the middle of the widest, because it is the simpler and quick
enough: a chart of 100 to 500 mm of the demo shop on a plate with a head that moves 15 mm takes 0.7 s of processor time.
What it misses lies between the heads tried: of 2000 trains made up round a position off the grid, 6 get a no, and those
positions have 0.94 mm at most to spare in the tightest of their limits (``benchmarks/off_grid.py``).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import product
from math import cos, pi, sin

import numpy as np

from ..base.arrays import Floats
from .bracket import Bracket, Slots, Where, neighbours_clear, obstructed, ragged, stations
from .chains import EPS
from .slots import Straight, far_shaft
from .standing import Limits, Standing

PLATE_HEAD_STEP_MM = 5.0
_LEAST_MM = 1e-6  # a stud is never taken to stand nearer to the pivot, so that its angle is known
_AT_ONCE = 2000  # arrangements with a shaft distance; some 50 places of the second stud come to each


@dataclass(frozen=True, slots=True)
class Plate(Bracket):
    """A plate that takes studs anywhere in reach.

    Parameters
    ----------
    near, far : nearest and farthest a stud can stand from the pivot [mm]
    """

    near: float
    far: float

    def heads(self, studs: int, limits: Limits) -> Floats:
        """As ``Bracket.heads``."""
        return stations(limits.shortest, limits.longest, PLATE_HEAD_STEP_MM) if studs > 1 else limits.heads

    def with_studs(self, standing: Standing) -> Iterator[tuple[Standing, Where]]:
        """As ``Bracket.with_studs``."""
        if standing.chains.shape.studs == 1:
            along = Slots((Straight((self.near, 0.0), (self.far, 0.0), 1, outward=True),))
            for here, where in along.with_studs(standing):
                yield here, Where((), where.sides)
            return
        standing = neighbours_clear(standing)
        centre = standing.chains.centre(0)
        standing = standing.hold("begins", (1, 0), centre - self.near).hold("ends", (1, 0), self.far - centre).kept()
        for here in self._heads(standing):
            yield from self._tried(here)

    def _heads(self, standing: Standing) -> Iterator[Standing]:
        """Each arrangement at every shaft distance that its meshes can bridge, in portions that memory bears."""
        heads = self.heads(2, standing.limits)
        first, stop = np.zeros(len(standing), np.int64), np.full(len(standing), len(heads))
        if not standing.all:
            centres = [standing.chains.centre(mesh) for mesh in range(3)]
            total = np.add.reduce(centres)
            low, need = 2 * np.maximum.reduce(centres) - total - EPS, standing.chains.need(0, 3)
            if need is not None:
                low = np.maximum(low, need + standing.least)
            first = np.searchsorted(heads, low)
            stop = np.maximum(first, np.searchsorted(heads, total + EPS, "right"))
        row, at = ragged(first, stop)
        for start in range(0, len(row), _AT_ONCE):
            some = slice(start, start + _AT_ONCE)
            here = standing.repeated(row[some]).but(head=heads[at[some]])
            yield here.clear(0, 3, here.head).kept()

    def _tried(self, standing: Standing) -> Iterator[tuple[Standing, Where]]:
        """Every place of two studs."""
        limits = standing.limits
        row, far = self._distances(standing)
        here = standing.repeated(row)
        head = here.head
        first, between, last = (here.of_row(standing.chains.centre(mesh)) for mesh in range(3))
        total = first + between + last
        longest = np.maximum(np.maximum(first, between), last)
        here = here.meets("short", (2,), total - head).meets("long", (2,), head - (2 * longest - total))
        here = here.where_it_closes("begins", (2, 0), far - self.near)
        here = here.where_it_closes("ends", (2, 0), self.far - far)
        here = here.clear(0, 2, far)
        if not here.all:
            good = np.flatnonzero((here.margin >= -EPS) & (here.gap >= here.of_row(here.least)))
            here, far, first, between, last = here.take(good), far[good], first[good], between[good], last[good]
            head = here.head
        swings_alike = limits.swing[0] == -limits.swing[1] and not limits.obstacles
        for side, lean in product((1,) if swings_alike else (1, -1), (1, -1)):
            x2, y2, _, _ = far_shaft(head, 0.0, last, far, -side)
            x1, y1, _, _ = far_shaft(x2, y2, between, first, lean)
            there = here.stood(x1, y1).stood(x2, y2).stood(head, 0.0)
            there = there.clear(1, 3).kept()
            for stud, (x, y) in enumerate(there.points[1:3], 1):
                angle = np.arctan2(y, x)
                room = np.minimum(angle - limits.swing[0], limits.swing[1] - angle)
                there = there.where_it_closes("swing", (stud,), np.hypot(x, y) * room)
            yield obstructed(there).settled(), Where((), (side, lean))

    def _distances(self, standing: Standing) -> tuple[np.ndarray, Floats]:
        """How far from the pivot the second stud is tried: for each the row of the arrangement, and the distance."""
        first, between, last = (standing.of_row(standing.chains.centre(mesh)) for mesh in range(3))
        least = np.maximum(np.maximum(np.abs(first - between), np.abs(standing.head - last)), _LEAST_MM)
        most = np.maximum(least, np.minimum(first + between, standing.head + last))
        low, high = np.clip(self.near, least, most), np.clip(self.far, least, most)
        start, need = low, standing.chains.need(0, 2)
        if need is not None and not standing.all:
            start = np.maximum(low, standing.of_row(need + standing.least))
        begin = np.ceil(start - EPS).astype(np.int64)
        row, grid = ragged(begin, np.maximum(begin, np.floor(high + EPS).astype(np.int64) + 1))
        ends = [np.clip(end, low, high) for end in (low, high, *self._limits_begin(standing))]
        every = np.tile(np.arange(len(standing)), len(ends))
        return np.concatenate([row, every]), np.concatenate([grid, *ends])

    def _limits_begin(self, standing: Standing) -> Iterator[Floats]:
        """How far from the pivot the second stud stands where a limit of swing or clearance begins [mm]; else 0."""
        first, between, last = (standing.of_row(standing.chains.centre(mesh)) for mesh in range(3))
        head, clearance = standing.head, standing.limits.clearance
        need = standing.chains.need(0, 2)
        if need is not None:
            yield standing.of_row(need) + clearance
        firsts: list[tuple[Floats, Floats, Floats | float]] = [
            (first * cos(angle), first * sin(angle), np.inf) for angle in _ends(standing.limits)
        ]
        need = standing.chains.need(1, 3)
        if need is not None:
            firsts.append(_point(far_shaft(head, 0.0, standing.of_row(need) + clearance, first, -1)))
        for (x, y, closes), side in product(firsts, (1, -1)):
            from_far_x, from_far_y, also = _point(far_shaft(x - head, y, between, last, side))
            yield np.where(np.minimum(closes, also) >= 0, np.hypot(head + from_far_x, from_far_y), 0.0)
        for angle in _ends(standing.limits):
            foot, square = head * cos(angle), last * last - (head * sin(angle)) ** 2
            half = np.sqrt(np.maximum(0.0, square))
            yield np.where(square >= 0, foot + half, 0.0)
            yield np.where(square >= 0, foot - half, 0.0)


def _point(found: tuple[Floats, Floats, Floats, Floats]) -> tuple[Floats, Floats, Floats]:
    """x and y of a shaft, and by how much its triangle closes [mm]."""
    x, y, reaches, short = found
    return x, y, np.minimum(reaches, short)


def _ends(limits: Limits) -> set[float]:
    """The ends of the swing that limit anything, mirror images once."""
    low, high = limits.swing
    return {angle for angle in ((high,) if low == -high else (low, high)) if abs(angle) < pi}
