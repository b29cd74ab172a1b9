"""How far the helix angle may be off."""

from __future__ import annotations

import math
from fractions import Fraction

from ...base.units import PI, radians
from ..helix import lead_at
from ..tolerance import HELIX, NO_END, Interval, Reading, Tolerance, ToleranceForm, angle

_SLIP_DEG = Fraction(10)


class Helix(ToleranceForm):
    """How far the helix angle may be off at the diameter [degrees]; its tangent is a float's."""

    name = "helix"
    example = "'0.05deg helix'"
    rank, told = 4, 5
    by_diameter = "a helix angle"
    on_a_cam = False

    def reads(self, bare: str, _: str, __: str) -> Reading | None:
        """An angle of the helix."""
        match = HELIX.fullmatch(bare)
        return Reading("helix", match[1], angle) if match else None

    def interval(self, tolerance: Tolerance, wanted_mm: Fraction, diameter_mm: Fraction | None) -> Interval:
        """A larger helix angle has the shorter lead."""
        diameter = tolerance.at(diameter_mm)
        drawn = math.atan2(float(PI * diameter), float(wanted_mm))
        largest, smallest = drawn + radians(tolerance.more), drawn - radians(tolerance.less)
        low = lead_at(largest, diameter) if largest < math.pi / 2 else Fraction(0)
        high = lead_at(smallest, diameter) if smallest > 0 else wanted_mm * NO_END
        low = wanted_mm if tolerance.more == 0 else min(low, wanted_mm)
        high = wanted_mm if tolerance.less == 0 else max(high, wanted_mm)
        return low, min(high, wanted_mm * NO_END)

    def slip(self, _: Tolerance) -> tuple[Fraction, str]:
        """10°, where helix angles themselves begin: chosen here, no source."""
        return _SLIP_DEG, f"{_SLIP_DEG}°"
