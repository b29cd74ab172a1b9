"""How far round the work the cut may be off at the end of a length."""

from __future__ import annotations

from fractions import Fraction

from ...base.units import PI
from ..tolerance import AROUND, HALF, Interval, Reading, Tolerance, ToleranceForm, length, over_a_length, turned


class Around(ToleranceForm):
    """How far round the work the cut may be off over a length [mm], at a diameter."""

    name = "around"
    example = "'0.05mm around over 60mm'"
    rank, told = 1, 4
    by_diameter = "measured around the work"
    grows = True

    def reads(self, bare: str, unit: str, text: str) -> Reading | None:
        """A length around over a length."""
        over = over_a_length(bare, unit, text)
        around = AROUND.fullmatch(over[0]) if over else None
        return Reading("around", around[1], length(unit), over[1]) if over and around else None

    def interval(self, tolerance: Tolerance, wanted_mm: Fraction, diameter_mm: Fraction | None) -> Interval:
        """Refuses half way round the work."""
        around = PI * tolerance.at(diameter_mm)
        tolerance.refuse_slip(HALF * around, "half way round the work")
        return turned(tolerance, wanted_mm, around)

    def rate(
        self, tolerance: Tolerance, wanted_mm: Fraction, lead_mm: Fraction, diameter_mm: Fraction | None
    ) -> Fraction:
        """How far round the work has turned too far for each mm."""
        return PI * tolerance.at(diameter_mm) * (1 / lead_mm - 1 / wanted_mm)
