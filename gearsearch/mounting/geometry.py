"""What the quadrant says of arrangements: the room the best position leaves, or by how much the least bad one fails."""

from __future__ import annotations

from dataclasses import dataclass
from math import hypot, radians

import numpy as np

from ..shop import bracket as shop
from ..shop.brackets import slots as shop_slots
from ..shop.gears import PLACES
from ..shop.quadrant import Quadrant
from .arrangements import Bounds
from .bracket import HEAD_STEP_MM, Bracket, Slots, Where, positions, stations
from .chains import EPS, NOTHING_NEAR, Chains, Floats, Ints, Sizes
from .plates import Plate
from .shape import Contact, Shape
from .slots import Arc, Slot, Straight
from .standing import FAILS, GAPS, Condition, Limits, Standing

HOPELESS = -2 * FAILS  # the value of more studs than the bracket takes


@dataclass(frozen=True, slots=True)
class Reading:
    """One arrangement as it was judged; shafts are counted from the pivot.

    Parameters
    ----------
    value : the gap [mm] where it mounts, else its margin less ``FAILS``
    gap_mm : the tightest gap [mm]
    head_mm : the shaft distance taken [mm]
    heads_mm : least and greatest shaft distance tried without a break at which it mounts in the same places [mm]
    swing : how far the bracket stands from the line pivot → other shaft [radians]; 0 on a plate with two studs
    centres_mm : distances of neighbouring shafts [mm]
    points_mm : (x, y) of every shaft [mm], the pivot at the origin, x toward the other shaft
    slots : the slot of each stud, from 0; none on a plate
    shape, gears : which gear stands where, and their gear numbers by column
    limit : where it mounts the tightest gap, else the condition with the least margin; None where nothing is near
    margin_mm : by how much that is kept [mm]; of a gap, what is left beside the clearance asked
    contact : of a gap, the gear and what it must clear
    """

    value: float
    gap_mm: float
    head_mm: float
    heads_mm: tuple[float, float]
    swing: float
    centres_mm: tuple[float, ...]
    points_mm: tuple[tuple[float, float], ...]
    slots: tuple[int, ...]
    shape: Shape
    gears: tuple[int, ...]
    limit: Condition | None
    margin_mm: float
    contact: Contact | None

    @property
    def mounts(self) -> bool:
        """Whether every condition is kept."""
        return self.value > -FAILS / 2


@dataclass(frozen=True, slots=True)
class Geometry:
    """A bracket between two shafts with what gears must clear.

    Parameters
    ----------
    bracket, limits : where studs can stand, and what else is kept
    nuts : nut radius [mm] of the pivot, of a stud, and of the other shaft
    """

    bracket: Bracket
    limits: Limits
    nuts: tuple[float, float, float]

    @classmethod
    def of(cls, q: Quadrant) -> Geometry:
        """The geometry of a quadrant whose shaft distance is known."""
        assert q.shaft_distance_mm is not None
        least, most = q.shaft_distance_mm
        low, high = (radians(float(angle)) for angle in q.swing_deg)
        limits = Limits(
            heads=stations(float(least), float(most), HEAD_STEP_MM),
            swing=(low, high),
            clearance=float(q.clearance_mm),
            obstacles=tuple((float(o.x_mm), float(o.y_mm), float(o.radius_mm)) for o in q.obstacles),
        )
        pivot, stud, other = (float(q.nut_radius_mm.get(place, 0)) for place in PLACES)
        return cls(_bracket(q.bracket), limits, (pivot, stud, other) if q.pivot == "first" else (other, stud, pivot))

    @property
    def bounds(self) -> Bounds:
        """What lengths must keep whatever the place."""
        limits = self.limits
        return Bounds(limits.shortest, limits.longest, self.bracket.reach, limits.clearance, self.nuts)

    def costly(self, shape: Shape) -> bool:
        """Whether an arrangement has so many positions that it pays to try the most promising first."""
        return len(self.limits.heads) > 1 or (isinstance(self.bracket, Plate) and shape.studs > 1)

    def at_most(self, shape: Shape, gears: Ints, sizes: Sizes) -> Floats:
        """The gap [mm] that no position of an arrangement can exceed: two shafts stand no farther apart than the
        centre distances between them add up to, nor the two ends than the head can be moved.
        """
        chains = Chains(shape, gears, sizes, self.nuts)
        most, last = np.full(len(chains), NOTHING_NEAR), shape.studs + 1
        for i, j in shape.contacts:
            need = chains.need(i, j)
            if need is not None:
                apart = np.add.reduce([chains.centre(mesh) for mesh in range(i, j)])
                if (i, j) == (0, last):
                    apart = np.minimum(apart, self.limits.longest) if shape.studs else self.limits.longest
                np.minimum(most, apart - need, out=most)
        return most

    def values(self, shape: Shape, gears: Ints, sizes: Sizes, least: Floats | None) -> Floats:
        """The value of each arrangement: the greatest gap [mm], else the greatest margin less ``FAILS``.

        Parameters
        ----------
        least : for each arrangement the least gap of use [mm]: what has less may come back as minus infinity;
            None: those that do not mount are wanted with their margin
        """
        values = np.full(gears.shape[1], -np.inf)
        if shape.studs > self.bracket.takes:
            return np.full_like(values, HOPELESS) if least is None else values
        asked = values if least is None else np.maximum(least, self.limits.clearance) - EPS
        chains = Chains(shape, gears, sizes, self.nuts)
        for here, _ in positions(self.bracket, Standing.of(chains, asked, every=least is None, say=False), self.limits):
            value = here.value(self.limits.clearance)
            if here.row is None:
                values[here.number] = np.maximum(values[here.number], value)
            else:
                np.maximum.at(values, here.arrangement, value)
        return values

    def read(self, shape: Shape, gears: Ints, sizes: Sizes) -> Reading:
        """One arrangement, given as a single column of gears, as it stands best or least badly.

        Of positions with the same value the first way of the bracket is taken, and there the middle one of the shaft
        distances tried, then of the places of the second stud.
        """
        chains = Chains(shape, gears, sizes, self.nuts)
        asked = np.array([self.limits.clearance - EPS])
        tried: list[tuple[Standing, Where]] = []
        for every in (False, True):
            if not tried and shape.studs <= self.bracket.takes:
                start = Standing.of(chains, asked, every=every, say=True)
                tried = [each for each in positions(self.bracket, start, self.limits) if len(each[0])]
        if not tried:
            none, column = Condition("studs", ()), tuple(gears[:, 0].tolist())
            return Reading(HOPELESS, -np.inf, 0, (0, 0), 0, (), (), (), shape, column, none, -np.inf, None)
        values = [here.value(self.limits.clearance) for here, _ in tried]
        best = max(float(value.max()) for value in values)
        batch = next(number for number, value in enumerate(values) if value.max() >= best - EPS)
        return self._reading(*tried[batch], values[batch], tried)

    def _reading(self, here: Standing, where: Where, values: Floats, tried: list[tuple[Standing, Where]]) -> Reading:
        chains, n = here.chains, here.chains.shape.studs
        heads = np.broadcast_to(here.head, values.shape)
        at = middle(values, heads, np.hypot(*np.broadcast_arrays(*here.points[-2], values)[:2]))
        swing = float(np.broadcast_to(here.swing, values.shape)[at])
        turn = np.exp(1j * swing)
        points = [complex(*(np.broadcast_to(part, values.shape)[at] for part in point)) * turn for point in here.points]
        limit, margin = _limit(here, at, mounts=values[at] > -FAILS / 2)
        return Reading(
            value=float(values[at]),
            gap_mm=float(here.gap[at]),
            head_mm=float(heads[at]),
            heads_mm=self._heads(float(heads[at]), where, n, tried),
            swing=swing,
            centres_mm=tuple(float(chains.centre(mesh)[0]) for mesh in range(n + 1)),
            points_mm=tuple((point.real, point.imag) for point in points),
            slots=where.slots,
            shape=chains.shape,
            gears=tuple(chains.gears[:, 0].tolist()),
            limit=limit,
            margin_mm=margin,
            contact=None if limit is None else _contact(chains, limit),
        )

    def _heads(self, head: float, where: Where, studs: int, tried: list[tuple[Standing, Where]]) -> tuple[float, float]:
        """The least and greatest shaft distance round one, tried without a break, at which all mounts in one way."""
        if not studs:
            return head, head
        mounting = [
            np.broadcast_to(each.head, len(each))[each.value(self.limits.clearance) > -FAILS / 2]
            for each, place in tried
            if place == where
        ]
        return run(self.bracket.heads(studs, self.limits), np.concatenate(mounting), head)


def _bracket(bracket: shop.Bracket) -> Bracket:
    """A bracket of a shop as the judge takes it."""
    near, far = map(float, bracket.reach_mm)
    if not bracket.swings_whole:
        return Plate(near, far, bracket.takes)
    if not isinstance(bracket, shop_slots.Slots):
        return Slots((Straight((near, 0.0), (far, 0.0), bracket.takes, outward=True),))
    alone = len(bracket.lines) == 1
    return Slots(tuple(_slot(line, outward=alone and line.radial) for line in bracket.lines))


def _slot(line: shop_slots.SlotLine, *, outward: bool) -> Slot:
    start, end = (tuple(map(float, point)) for point in (line.start_mm, line.end_mm))
    if line.centre_mm is None:
        backward = outward and hypot(*start) > hypot(*end)
        start, end = (end, start) if backward else (start, end)
        return Straight((start[0], start[1]), (end[0], end[1]), line.studs, outward)
    x, y = map(float, line.centre_mm)
    return Arc((start[0], start[1]), (end[0], end[1]), (x, y), line.studs)


def _limit(here: Standing, at: int, *, mounts: bool) -> tuple[Condition | None, float]:
    """The condition that limits a position, and its margin [mm]."""
    said = [(what, float(margin[at])) for what, margin in here.said or () if what.kind in GAPS or not mounts]
    return min(said, key=lambda each: each[1], default=(None, np.inf))


def middle(values: Floats, heads: Floats, second: Floats) -> int:
    """Of the best positions the middle one by shaft distance, then by how far out the last stud stands."""
    rows = np.flatnonzero(values >= values.max() - EPS)
    for measure in (heads, second):
        distinct = np.unique(measure[rows])
        rows = rows[measure[rows] == distinct[(len(distinct) - 1) // 2]]
    return int(rows[0])


def run(heads: Floats, mounts: Floats, head: float) -> tuple[float, float]:
    """The least and greatest of the shaft distances round one at which all that were tried mount."""
    good = np.isin(heads, mounts)
    low = high = int(np.searchsorted(heads, head))
    while low > 0 and good[low - 1]:
        low -= 1
    while high + 1 < len(heads) and good[high + 1]:
        high += 1
    return float(heads[low]), float(heads[high])


def _contact(chains: Chains, limit: Condition) -> Contact | None:
    """The gear of a gap that is tightest, and what it must clear."""
    if limit.kind not in GAPS:
        return None
    if limit.kind == "obstacle":
        columns = chains.shape.at(limit.shafts[0])
        widest = max(columns, key=lambda column: float(chains.sizes.tip[chains.gears[column, 0]]))
        return Contact(widest, limit.shafts[1], True)
    i, j = limit.shafts
    return max(chains.shape.contacts[i, j], key=lambda contact: float(chains.room(contact)[0]))
