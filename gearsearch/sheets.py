"""The sheets of numbers that the compiled loops of the mounting work on, and what is read back from them."""

from __future__ import annotations

import os
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from math import radians
from typing import Any

import numpy as np

from . import kernels_mounting as kernels
from .box import Box
from .errors import GearsearchError
from .shop import PLACES, Quadrant, Shop

MOST_STUDS = kernels.SHAFTS - 2
_SHARED = 50_000  # orders of train sets from which on the processor's cores share the work
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
class Sheets:
    """Box and quadrant as numbers; see ``kernels_mounting`` for the arrays.

    Parameters
    ----------
    floats, wholes, sizes, pitch, tip : the arrays
    geometry, free, joined : the choices that are None where the shop does not need them
    """

    floats: kernels.Floats
    wholes: kernels.Ints
    sizes: kernels.Ints
    pitch: kernels.Floats
    tip: kernels.Floats
    geometry: int | None
    free: int | None
    joined: int | None

    @classmethod
    def of(cls, shop: Shop, box: Box, mode: str) -> Sheets:
        """The sheets of a shop and box; mode is ``geometry``, ``rule`` or ``skip``."""
        quadrant = shop.quadrant if mode == "geometry" else None
        module = np.array([float(shop.gears[kind].kind.module_mm) for kind in box.kind], np.float64)
        teeth = np.array(box.teeth, np.int64)
        wholes = _wholes(box, module * teeth)
        floats = np.zeros(kernels.FLOATS)
        free = False
        if quadrant is not None:
            _write_quadrant(quadrant, floats, wholes, module * teeth)
            least, most = floats[kernels.SHORTEST], floats[kernels.LONGEST]
            free = bool(least < most or quadrant.obstacles or (quadrant.layout == "plate" and quadrant.studs > 1))
        else:
            wholes[kernels.RULED] = mode == "rule"
        return cls(
            floats,
            wholes,
            _sizes(shop, box),
            module * teeth / 2,
            module * (teeth + 2) / 2,
            1 if quadrant is not None else None,
            1 if free else None,
            1 if box.joined else None,
        )

    @property
    def studs(self) -> int:
        """How many studs the quadrant takes."""
        return int(self.wholes[kernels.STUDS])

    def sorted(self, sets: kernels.Ints) -> kernels.Ints:
        """Train sets with drivers, and driven, by tooth count and then kind of tooth."""
        half = sets.shape[1] // 2
        by_teeth = np.lexsort((np.arange(len(self.sizes)), self.sizes[:, kernels.TEETH]))
        rank = np.empty_like(by_teeth)
        rank[by_teeth] = np.arange(len(by_teeth))
        ranks = rank[sets]
        ordered: kernels.Ints = by_teeth[
            np.concatenate([np.sort(ranks[:, :half], axis=1), np.sort(ranks[:, half:], axis=1)], axis=1)
        ]
        return ordered

    def judge(
        self, sets: kernels.Ints, perms: kernels.Ints, idlers: tuple[int, int, int], reasons: bool
    ) -> kernels.Rows:
        """The best arrangement of each train set, a row each; see ``kernels_mounting.judge_rows``."""
        room = max(1, idlers[0], idlers[2])
        rows = np.empty((len(sets), kernels.GEARS + sets.shape[1] + 2 * room), np.int32)
        values = np.empty(len(sets))
        if len(sets) * len(perms) ** 2 < _SHARED:
            self._judge(sets, perms, idlers, reasons, rows, values)
            return rows
        with ThreadPoolExecutor(os.cpu_count()) as crew:
            parts = [slice(start, start + _CHUNK) for start in range(0, len(sets), _CHUNK)]
            tasks = [
                crew.submit(self._judge, sets[part], perms, idlers, reasons, rows[part], values[part]) for part in parts
            ]
            for task in tasks:
                task.result()
        return rows

    def _judge(
        self,
        sets: kernels.Ints,
        perms: kernels.Ints,
        idlers: tuple[int, int, int],
        reasons: bool,
        rows: kernels.Rows,
        values: kernels.Floats,
    ) -> None:
        mine = np.empty(rows.shape[1], np.int32)
        self._own()._run(sets, perms, idlers, False, reasons, mine, rows, values)

    def _own(self) -> Sheets:
        """The same sheets with arrays of their own where the loops write, so that threads do not disturb each other."""
        return replace(self, floats=self.floats.copy(), wholes=self.wholes.copy(), sizes=self.sizes.copy())

    def _run(self, *args: Any) -> None:
        judge: Any = kernels.judge_rows
        judge(
            *args,
            self.floats,
            self.wholes,
            self.sizes,
            self.pitch,
            self.tip,
            self.geometry,
            self.free,
            self.joined,
        )

    def read(self, gears: list[int], idlers: list[int], places: list[int]) -> Reading | None:
        """One arrangement, judged as it is; None where the joined pieces do not allow it.

        Parameters
        ----------
        gears : size numbers of drivers, then of driven gears, in power order
        idlers, places : their size numbers, and the pairs they stand in
        """
        pairs, n = len(gears) // 2, len(gears) // 2 - 1 + len(idlers)
        row = [0, len(idlers), 0, *gears, *idlers, *places]
        mine, rows, values = np.array(row, np.int32), np.empty((1, len(row)), np.int32), np.empty(1)
        sets, alone = np.array([gears], np.int64), np.arange(pairs, dtype=np.int64)[np.newaxis]
        own = self._own()
        own._run(sets, alone, (len(idlers), 1, len(idlers)), True, True, mine, rows, values)
        if values[0] == -np.inf:
            return None
        f, w = own.floats, own.wholes
        if self.joined is not None:
            for kept, idle in ((kernels.KEPT_IDLE, kernels.IDLE), (kernels.KEPT_PLANE, kernels.IDLE_PLANE)):
                w[idle : idle + n + 2] = w[kept : kept + n + 2]
        value = kernels.evaluate(n, -np.inf, f, w, self.pitch, self.tip, self.geometry, self.free)
        return _reading(n, value, f, w)


def _reading(n: int, value: float, f: kernels.Floats, w: kernels.Ints) -> Reading:
    step = -1 if w[kernels.PIVOT_LAST] else 1
    x, y = (f[at : at + n + 2].tolist()[::step] for at in (kernels.BEST_X, kernels.BEST_Y))
    idle, planes = (w[at : at + n + 2].tolist() for at in (kernels.IDLE, kernels.IDLE_PLANE))
    return Reading(
        float(value),
        float(f[kernels.BEST_GAP]),
        float(f[kernels.BEST_DISTANCE]),
        tuple(f[kernels.CENTRE : kernels.CENTRE + n + 1].tolist()),
        tuple(zip(x, y, strict=True)),
        tuple(zip(idle, planes, strict=True)),
    )


def _wholes(box: Box, adds_mm: kernels.Floats) -> kernels.Ints:
    wholes = np.zeros(kernels.WHOLES, np.int64)
    wholes[kernels.STUDS], wholes[kernels.PLANES] = MOST_STUDS, 2
    wholes[kernels.FIXED_FIRST], wholes[kernels.FIXED_LAST] = box.fixed_first, box.fixed_last
    wholes[kernels.LARGEST] = int(np.argmax(adds_mm)) if len(adds_mm) else 0
    wholes[kernels.IDLE : kernels.IDLE + kernels.SHAFTS] = -1
    wholes[kernels.ZIGZAG : kernels.DRIVER] = np.arange(kernels.DRIVER - kernels.ZIGZAG) % 2
    _require(len(box.joined) <= kernels.PIECES, f"{len(box.joined)} kinds of joined pieces", kernels.PIECES)
    wholes[kernels.JOINED] = len(box.joined)
    wholes[kernels.PIECE : kernels.PIECE + 3 * len(box.joined)] = np.ravel(box.joined)
    return wholes


def _write_quadrant(q: Quadrant, floats: kernels.Floats, wholes: kernels.Ints, adds_mm: kernels.Floats) -> None:
    assert q.shaft_distance_mm is not None
    plate = q.layout == "plate"
    _require(2 <= q.planes <= 3, f"a quadrant of {q.planes} gear planes", 3, 2)
    _require(0 <= q.studs <= MOST_STUDS, f"a quadrant of {q.studs} studs", MOST_STUDS)
    _require(len(q.obstacles) <= kernels.OBSTACLES, f"{len(q.obstacles)} obstacles", kernels.OBSTACLES)
    nuts = [float(q.nut_radius_mm.get(place, 0)) for place in PLACES]
    swing = [radians(float(angle)) for angle in q.swing_deg]
    ends = [*map(float, q.shaft_distance_mm), *map(float, q.reach_mm), *swing, float(q.clearance_mm), *nuts]
    idlers = [adds_mm.min(), adds_mm.max()] if len(adds_mm) else [0.0, 0.0]
    floats[: kernels.MOST_IDLER + 1] = [*ends, *idlers]
    wholes[kernels.PIVOT_LAST], wholes[kernels.PLATE] = q.pivot == "last", plate
    wholes[kernels.STUDS], wholes[kernels.PLANES] = min(q.studs, 2) if plate else q.studs, q.planes
    if q.planes == 3:
        wholes[kernels.ZIGZAG : kernels.ZIGZAG + 8] = (0, 1, 2, 1, 0, 1, 2, 1)
    blocks = [float(value) for o in q.obstacles for value in (o.x_mm, o.y_mm, o.radius_mm)]
    floats[kernels.BLOCK : kernels.BLOCK + len(blocks)] = blocks
    wholes[kernels.BLOCKS] = len(q.obstacles)


def _sizes(shop: Shop, box: Box) -> kernels.Ints:
    sizes = np.zeros((len(box.teeth), kernels.IDLE_ON + 3), np.int64)
    starts = np.searchsorted(box.kind, np.arange(len(box.tags) + 1))
    limit = box.greatest_pair_ratio
    for size, (teeth, kind) in enumerate(zip(box.teeth, box.kind, strict=True)):
        joined = sum((size == a) * count + (size == b) * count for a, b, count in box.joined)
        most = _NO_LIMIT if limit is None else min(_NO_LIMIT, int(teeth * limit))
        least = 0 if limit is None else -int(-teeth / limit // 1)
        idle_on = [shop.allows(box.tags[kind], teeth, place) for place in PLACES]
        loose = box.loose[size]
        sizes[size, : kernels.IDLE_ON] = (
            *(teeth, starts[kind], starts[kind + 1], loose + joined, loose, least, most),
            *box.allowed[size],
        )
        sizes[size, kernels.IDLE_ON :] = idle_on
    return sizes


def _require(holds: bool, given: str, most: int, least: int = 0) -> None:
    if not holds:
        raise GearsearchError(f"{given}: this cannot be judged", f"give {least} to {most}")
