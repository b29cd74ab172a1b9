"""Thousandths of an inch per foot."""

from __future__ import annotations

import re
from collections.abc import Callable
from fractions import Fraction

from ...base.pattern import Pattern
from ...base.units import INCH_MM
from ..tolerance import HALF, Interval, Reading, Tolerance, ToleranceForm, in_proportion, is_angle, length

_PER_FOOT = Pattern(r"(.*[^\s0-9.¼-¾⅐-⅞]\.?)(?:\s*/\s*|\s+per\s+)(?:ft|foot|feet)\.?", re.IGNORECASE)


class PerFoot(ToleranceForm):
    """How far the cut may be off for each foot, as a share of it: ``2 thou/ft``, ``0.002 in/ft``."""

    name = "per_foot"
    example = "'2 thou/ft'"
    rank, told = -1, 2
    or_seconds = True

    def reads(self, bare: str, unit: str, _: str) -> Reading | None:
        """A length for each foot."""
        match = _PER_FOOT.fullmatch(bare)
        if match is None or is_angle(match[1]):
            return None
        return Reading("per_foot", match[1], _of_a_foot(unit))

    def interval(self, tolerance: Tolerance, wanted_mm: Fraction, _: Fraction | None) -> Interval:
        """As far off as the share."""
        return in_proportion(tolerance, wanted_mm, Fraction(1))

    def slip(self, _: Tolerance) -> tuple[Fraction, str]:
        """Half of the lead."""
        return HALF, "half of the lead"


def _of_a_foot(unit: str) -> Callable[[str], Fraction]:
    """Reads a length as a share of a foot."""
    read = length(unit)
    return lambda text: read(text) / (12 * INCH_MM)
