"""What the cut may be off along the axis at the end of a length."""

from __future__ import annotations

from fractions import Fraction

from ..tolerance import HALF, Interval, Reading, Tolerance, ToleranceForm, in_proportion, length, over_a_length


class Drift(ToleranceForm):
    """How far the cut may be off along the axis over a length [mm]."""

    name = "drift"
    example = "'0.02mm over 60mm'"
    rank, told = 3, 2
    or_seconds = True
    grows = True

    def reads(self, bare: str, unit: str, text: str) -> Reading | None:
        """A length over a length."""
        over = over_a_length(bare, unit, text)
        return Reading("drift", over[0], length(unit), over[1]) if over else None

    def interval(self, tolerance: Tolerance, wanted_mm: Fraction, _: Fraction | None) -> Interval:
        """As far off as the drift is of its length."""
        return in_proportion(tolerance, wanted_mm, tolerance.length_mm)

    def rate(self, _: Tolerance, wanted_mm: Fraction, lead_mm: Fraction, __: Fraction | None) -> Fraction:
        """How far off the cut is along the axis for each mm."""
        return lead_mm / wanted_mm - 1

    def slip(self, tolerance: Tolerance) -> tuple[Fraction, str]:
        """Half of its length."""
        return HALF * tolerance.length_mm, "half of its length"
