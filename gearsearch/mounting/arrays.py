"""The arrays of numbers that the compiled loops of the mounting work on, and what is read back from them."""

from __future__ import annotations

import os
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from math import radians
from typing import Any

import numpy as np

from ..base.errors import GearsearchError
from ..shop.gears import MOST_PIECES, PLACES
from ..shop.pool import GearPool
from ..shop.quadrant import MOST_STUDS, Quadrant
from ..shop.shop import Shop
from . import kernels

IS_PLATE = {"slot": False, "plate": True}  # of every layout there is: one without loops of its own is no slot
_MANY = 50_000  # orders of train sets from which on short cuts are worth compiling and the processor's cores share
_CHUNK = 4096
_NO_LIMIT = 2**40


@dataclass(frozen=True, slots=True)
class Reading:
    """One arrangement as the loops judged it.

    Parameters
    ----------
    value : the gap [mm] where it mounts, else its margin less ``kernels.OFFSET``
    gap_mm : the tightest gap [mm]; minus infinity where there is no position at all
    shaft_distance_mm : the shaft distance taken [mm]
    centres_mm : distances of neighbouring shafts [mm], from the pivot
    points_mm : (x, y) of every shaft in power order [mm]
    idle : for each shaft in power order the size of an idle partner, or −1, and its plane
    """

    value: float
    gap_mm: float
    shaft_distance_mm: float
    centres_mm: tuple[float, ...]
    points_mm: tuple[tuple[float, float], ...]
    idle: tuple[tuple[int, int], ...]

    @property
    def mounts(self) -> bool:
        """Whether every condition is kept."""
        return self.value > -kernels.OFFSET / 2

    @property
    def stands(self) -> bool:
        """Whether there is a position at all, good or bad."""
        return self.gap_mm > -kernels.OFFSET


@dataclass(frozen=True, slots=True)
class Arrays:
    """GearPool and quadrant as numbers; see ``kernels`` for the arrays.

    Parameters
    ----------
    by_teeth, rank : the loops number the sizes by tooth count and then kind of tooth: the box's number of each, with
        a last entry of −1, and the other way round
    floats, wholes, sizes, pitch, tip : the arrays
    geometry, free, joined : the choices that are None where the shop does not need them
    """

    by_teeth: kernels.Rows
    rank: kernels.Ints
    floats: kernels.Floats
    wholes: kernels.Ints
    sizes: kernels.Ints
    pitch: kernels.Floats
    tip: kernels.Floats
    geometry: int | None
    free: int | None
    joined: int | None

    @classmethod
    def of(cls, shop: Shop, box: GearPool, mode: str) -> Arrays:
        """The arrays of a shop and box; mode is ``geometry``, ``rule`` or ``skip``."""
        quadrant = shop.quadrant if mode == "geometry" else None
        by_teeth = sorted(range(len(box.teeth)), key=lambda size: (box.teeth[size], box.kind[size]))
        rank = np.argsort(by_teeth)
        module = np.array([float(shop.gears[box.kind[size]].kind.module_mm) for size in by_teeth], np.float64)
        teeth = np.array([box.teeth[size] for size in by_teeth], np.int64)
        floats, wholes = np.zeros(kernels.FLOATS), _wholes(box, rank)
        wholes[kernels.RULED] = mode == "rule"
        free = False
        if quadrant is not None and len(teeth):
            _write_quadrant(quadrant, floats, wholes)
            adds = module * teeth
            floats[kernels.LEAST_IDLER], floats[kernels.MOST_IDLER] = adds.min(), adds.max()
            fixed = floats[kernels.SHORTEST] == floats[kernels.LONGEST]
            free = not fixed or bool(quadrant.obstacles) or (IS_PLATE[quadrant.layout] and quadrant.studs > 1)
        return cls(
            by_teeth=np.array([*by_teeth, -1], np.int32),
            rank=rank,
            floats=floats,
            wholes=wholes,
            sizes=_sizes(shop, box)[by_teeth],
            pitch=module * teeth / 2,
            tip=module * (teeth + 2) / 2,
            geometry=None if quadrant is None else 1,
            free=1 if free else None,
            joined=1 if box.joined else None,
        )

    @property
    def studs(self) -> int:
        """How many studs the quadrant takes."""
        return int(self.wholes[kernels.STUDS])

    def judge(
        self, sets: kernels.Ints, perms: kernels.Ints, idlers: tuple[int, int, int], reasons: bool
    ) -> kernels.Rows:
        """The best arrangement of each train set, a row each, by the box's size numbers; see ``judge_rows``.

        With a single order in ``perms`` the sets keep the order they are given in.
        """
        half = perms.shape[1]
        ranks = self.rank[sets]
        if len(perms) > 1:
            ranks = np.concatenate([np.sort(ranks[:, :half], axis=1), np.sort(ranks[:, half:], axis=1)], axis=1)
        least, step, most = idlers
        idlers = least, step, max(least, most) if reasons else most
        rows = np.full((len(sets), kernels.GEARS + 2 * half + 2 * max(1, idlers[2])), -1, np.int32)
        many = len(sets) * len(perms) ** 2 >= _MANY
        if many:
            with ThreadPoolExecutor(os.cpu_count()) as crew:
                parts = [slice(start, start + _CHUNK) for start in range(0, len(sets), _CHUNK)]
                tasks = [crew.submit(self._judge, ranks[p], perms, idlers, reasons, rows[p], 1) for p in parts]
                for task in tasks:
                    task.result()
        else:
            self._judge(ranks, perms, idlers, reasons, rows, None)
        places = (rows.shape[1] + kernels.GEARS + 2 * half) // 2
        rows[:, kernels.GEARS : places] = self.by_teeth[rows[:, kernels.GEARS : places]]
        return rows

    def _judge(
        self,
        ranks: kernels.Ints,
        perms: kernels.Ints,
        idlers: tuple[int, int, int],
        reasons: bool,
        rows: kernels.Rows,
        many: int | None,
    ) -> None:
        mine = np.full(rows.shape[1], -1, np.int32)
        self._own()._run(ranks, perms, idlers, False, reasons, mine, rows, many=many)

    def _own(self) -> Arrays:
        """the same arrays with arrays of their own where the loops write, so that threads do not disturb each other."""
        return replace(self, floats=self.floats.copy(), wholes=self.wholes.copy(), sizes=self.sizes.copy())

    def _run(self, *args: Any, many: int | None) -> None:
        judge: Any = kernels.judge_rows
        arrays = (self.floats, self.wholes, self.sizes, self.pitch, self.tip)
        judge(*args, *arrays, self.geometry, self.free, self.joined, many)

    def read(self, gears: list[int], idlers: list[int], places: list[int]) -> Reading | None:
        """One arrangement, judged as it is; None where the joined pieces do not allow it.

        Parameters
        ----------
        gears : size numbers of drivers, then of driven gears, in power order
        idlers, places : their size numbers, and the pairs they stand in
        """
        pairs, count = len(gears) // 2, len(idlers)
        mine = np.array([0, count, 0, *self.rank[gears], *(self.rank[size] for size in idlers), *places], np.int32)
        rows = np.full((1, len(mine)), -1, np.int32)
        alone = np.arange(pairs, dtype=np.int64)[np.newaxis]
        own = self._own()
        own._run(self.rank[gears][np.newaxis], alone, (count, 1, count), True, True, mine, rows, many=None)
        return own._reading(pairs - 1 + count) if rows[0, kernels.FOUND] >= 0 else None

    def _reading(self, n: int) -> Reading:
        """What the last arrangement left in the arrays."""
        f, w = self.floats, self.wholes
        kept = kernels.IDLE if self.joined is None else kernels.KEPT_IDLE
        step = -1 if w[kernels.PIVOT_LAST] else 1
        at = (kernels.X, kernels.Y) if self.free is None else (kernels.BEST_X, kernels.BEST_Y)
        x, y = (f[row : row + n + 2].tolist()[::step] for row in at)
        idle, planes = (w[row : row + n + 2].tolist()[::step] for row in (kept, kept + kernels.SHAFTS))
        return Reading(
            float(f[kernels.BEST]),
            float(f[kernels.BEST_GAP]),
            float(f[kernels.BEST_DISTANCE]),
            tuple(f[kernels.CENTRE : kernels.CENTRE + n + 1].tolist()),
            tuple(zip(x, y, strict=True)),
            tuple((int(self.by_teeth[size]), plane) for size, plane in zip(idle, planes, strict=True)),
        )


def _wholes(box: GearPool, rank: kernels.Ints) -> kernels.Ints:
    wholes = np.zeros(kernels.WHOLES, np.int64)
    wholes[kernels.STUDS], wholes[kernels.PLANES] = MOST_STUDS, 2
    for at, size in ((kernels.FIXED_FIRST, box.fixed_first), (kernels.FIXED_LAST, box.fixed_last)):
        wholes[at] = rank[size] if size >= 0 else -1
    wholes[kernels.IDLE : kernels.IDLE + kernels.SHAFTS] = -1
    wholes[kernels.ZIGZAG : kernels.NEAR] = np.arange(kernels.NEAR - kernels.ZIGZAG) % 2
    if len(box.joined) > MOST_PIECES:
        raise GearsearchError(f"{len(box.joined)} kinds of joined pieces cannot be judged", f"give 0 to {MOST_PIECES}")
    wholes[kernels.JOINED] = len(box.joined)
    pieces = [number for a, b, count in box.joined for number in (rank[a], rank[b], count)]
    wholes[kernels.PIECE : kernels.PIECE + len(pieces)] = pieces
    return wholes


def _write_quadrant(q: Quadrant, floats: kernels.Floats, wholes: kernels.Ints) -> None:
    assert q.shaft_distance_mm is not None
    nuts = [float(q.nut_radius_mm.get(place, 0)) for place in PLACES]
    swing = [radians(float(angle)) for angle in q.swing_deg]
    lengths = [*map(float, q.shaft_distance_mm), *map(float, q.reach_mm), *swing, float(q.clearance_mm)]
    floats[: kernels.NUT_FAR + 1] = [*lengths, *(nuts if q.pivot == "first" else nuts[::-1])]
    wholes[kernels.PIVOT_LAST], wholes[kernels.PLATE] = q.pivot == "last", IS_PLATE[q.layout]
    wholes[kernels.STUDS], wholes[kernels.PLANES] = q.takes, q.planes
    if q.planes == 3:
        wholes[kernels.ZIGZAG : kernels.ZIGZAG + 8] = (0, 1, 2, 1, 0, 1, 2, 1)
    blocks = [float(value) for o in q.obstacles for value in (o.x_mm, o.y_mm, o.radius_mm)]
    floats[kernels.BLOCK : kernels.BLOCK + len(blocks)] = blocks
    wholes[kernels.BLOCKS] = len(q.obstacles)


def _sizes(shop: Shop, box: GearPool) -> kernels.Ints:
    sizes = np.zeros((len(box.teeth), kernels.IDLE_ON + 3), np.int64)
    limit = box.greatest_pair_ratio
    for size, (teeth, kind) in enumerate(zip(box.teeth, box.kind, strict=True)):
        joined = sum((size == a) * count + (size == b) * count for a, b, count in box.joined)
        most = _NO_LIMIT if limit is None else min(_NO_LIMIT, int(teeth * limit))
        least = 0 if limit is None else -int(-teeth / limit // 1)
        idle_on = [shop.allows(box.tags[kind], teeth, place) for place in PLACES]
        loose = box.loose[size]
        first, stud, last = box.allowed[size]
        fixed = (size == box.fixed_first) + (size == box.fixed_last)
        first, last = first and box.fixed_first in (-1, size), last and box.fixed_last in (-1, size)
        sizes[size] = (teeth, kind, loose + joined + fixed, loose, least, most, first, stud, last, *idle_on)
    return sizes
