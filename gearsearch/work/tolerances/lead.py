"""A length of lead."""

from __future__ import annotations

from fractions import Fraction

from ...base.errors import GearsearchError
from ...base.units import format_both, shown
from ..tolerance import HALF, Interval, Reading, Tolerance, ToleranceForm, in_proportion, is_angle, lead, refuse_metres


class Lead(ToleranceForm):
    """How far the lead itself may be off [mm]."""

    name = "lead"
    example = "0.05mm, +0.1/-0mm"
    rank, told = 9, 0

    def reads(self, bare: str, unit: str, text: str) -> Reading:
        """A length, as the last that a text can be; raises GearsearchError for a bare angle and a bare m."""
        refuse_metres(bare, text)
        if is_angle(bare):
            raise GearsearchError(
                f"tolerance {shown(text)} is an angle, but of what",
                "write '0.1deg over 60mm' or '0.05deg helix'",
                code="tolerance",
            )
        return Reading("lead", bare, lead(unit))

    def interval(self, tolerance: Tolerance, wanted_mm: Fraction, _: Fraction | None) -> Interval:
        """Refuses half of the wanted lead."""
        tolerance.refuse_slip(HALF * wanted_mm, f"half of the lead, which is {format_both(wanted_mm)},")
        return in_proportion(tolerance, wanted_mm, wanted_mm)
