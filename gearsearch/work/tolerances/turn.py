"""How far the work may have turned off at the end of a length."""

from __future__ import annotations

from fractions import Fraction

from ..tolerance import HALF, Interval, Reading, Tolerance, ToleranceForm, angle, is_angle, over_a_length, turned


class Turn(ToleranceForm):
    """How far the work may be off in its turning over a length [degrees]: a long lead turns too little."""

    name = "turn"
    example = "'0.1deg over 60mm'"
    rank, told = 2, 3
    grows = True

    def reads(self, bare: str, unit: str, text: str) -> Reading | None:
        """An angle over a length."""
        over = over_a_length(bare, unit, text)
        return Reading("turn", over[0], angle, over[1]) if over and is_angle(over[0]) else None

    def interval(self, tolerance: Tolerance, wanted_mm: Fraction, _: Fraction | None) -> Interval:
        """Reaches farther on the long side."""
        return turned(tolerance, wanted_mm, Fraction(360))

    def rate(self, _: Tolerance, wanted_mm: Fraction, lead_mm: Fraction, __: Fraction | None) -> Fraction:
        """How many degrees the work has turned too far for each mm."""
        return 360 * (1 / lead_mm - 1 / wanted_mm)

    def slip(self, _: Tolerance) -> tuple[Fraction, str]:
        """Half a turn."""
        return 360 * HALF, "half a turn"
