"""A quadrant as the judge takes it, and what it says of arrangements: the room that the best position leaves."""

from __future__ import annotations

from dataclasses import dataclass
from math import hypot, radians

import numpy as np

from ..base.arrays import Floats, Ints
from ..shop import bracket as shop
from ..shop.brackets import slots as shop_slots
from ..shop.gears import PLACES
from ..shop.quadrant import Quadrant
from .bracket import HEAD_STEP_MM, Bracket, Slots, stations
from .chains import EPS, NOTHING_NEAR, Chains
from .gears import Gears
from .plates import Plate
from .shape import Shape
from .slots import Arc, Slot, Straight
from .standing import HOPELESS, Limits, Standing


@dataclass(frozen=True, slots=True)
class Geometry:
    """A bracket between two shafts with what gears must clear.

    Parameters
    ----------
    bracket, limits : where studs can stand, and what else is kept
    takes : how many studs it takes
    sizes : of the gears
    nuts : nut radius [mm] of the pivot, of a stud, and of the other shaft
    planes, pivot_last : gear planes, and whether the bracket swings round the last shaft
    """

    bracket: Bracket
    limits: Limits
    takes: int
    sizes: Gears
    nuts: tuple[float, float, float]
    planes: int
    pivot_last: bool

    @classmethod
    def of(cls, q: Quadrant, sizes: Gears) -> Geometry:
        """The geometry of a quadrant whose shaft distance is known, for gears of some sizes."""
        assert q.shaft_distance_mm is not None
        least, most = q.shaft_distance_mm
        low, high = (radians(float(angle)) for angle in q.swing_deg)
        limits = Limits(
            heads=stations(float(least), float(most), HEAD_STEP_MM),
            swing=(low, high),
            clearance=float(q.clearance_mm),
            obstacles=tuple((float(o.x_mm), float(o.y_mm), float(o.radius_mm)) for o in q.obstacles),
        )
        pivot_last = q.pivot == "last"
        pivot, stud, other = (float(q.nut_radius_mm.get(place, 0)) for place in PLACES)
        nuts = (other, stud, pivot) if pivot_last else (pivot, stud, other)
        return cls(_bracket(q.bracket), limits, q.bracket.takes, sizes, nuts, q.planes, pivot_last)

    def chains(self, shape: Shape, gears: Ints) -> Chains:
        """Arrangements of these gears between its shafts."""
        return Chains(shape, gears, self.sizes, self.nuts)

    def costly(self, shape: Shape) -> bool:
        """Whether an arrangement has so many positions that it pays to try the most promising first."""
        return len(self.limits.heads) > 1 or (isinstance(self.bracket, Plate) and shape.studs > 1)

    def at_most(self, shape: Shape, gears: Ints) -> Floats:
        """The gap [mm] that no position of an arrangement can exceed: two shafts stand no farther apart than the
        centre distances between them add up to, nor the two ends than the head can be moved.
        """
        chains = self.chains(shape, gears)
        most, last = np.full(len(chains), NOTHING_NEAR), shape.studs + 1
        for i, j in shape.contacts:
            need = chains.need(i, j)
            if need is not None:
                apart = np.add.reduce([chains.centre(mesh) for mesh in range(i, j)])
                if (i, j) == (0, last):
                    apart = np.minimum(apart, self.limits.longest) if shape.studs else self.limits.longest
                np.minimum(most, apart - need, out=most)
        return most

    def values(self, shape: Shape, gears: Ints, least: Floats | None) -> Floats:
        """The value of each arrangement: the greatest gap [mm], else the greatest margin less ``FAILS``.

        Parameters
        ----------
        least : for each arrangement the least gap of use [mm]: what has less may come back as minus infinity;
            None: those that do not mount are wanted with their margin
        """
        values = np.full(gears.shape[1], -np.inf)
        if shape.studs > self.takes:
            return np.full_like(values, HOPELESS) if least is None else values
        asked = values if least is None else np.maximum(least, self.limits.clearance) - EPS
        chains = self.chains(shape, gears)
        for here, _ in self.bracket.positions(Standing.of(chains, self.limits, asked, every=least is None, say=False)):
            value = here.value()
            if here.row is None:
                values[here.number] = np.maximum(values[here.number], value)
            else:
                np.maximum.at(values, here.arrangement, value)
        return values


def _bracket(bracket: shop.Bracket) -> Bracket:
    """A bracket of a shop as the judge takes it."""
    near, far = map(float, bracket.reach_mm)
    if not bracket.swings_whole:
        return Plate(near, far)
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
