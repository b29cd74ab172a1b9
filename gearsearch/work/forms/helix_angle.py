"""The lead of a helix angle at a diameter."""

from __future__ import annotations

import re

from ...base.units import PI, format_angle, format_both, parse_length, tan_deg
from ..form import DIAMETER, HELIX_ANGLE, STARTS, Form, Given
from ..helix import slope_of
from ..part import Part


class HelixAngle(Form):
    """π d / tan β, the angle taken from the axis. Common practice, no source."""

    name = "helix_angle"
    options = (HELIX_ANGLE, DIAMETER, STARTS)
    gives = "a helix angle, from the work's axis"
    row = "`--helix-angle 20 --diameter 50mm`"
    example = "helix 20deg at 50mm"
    pattern = re.compile(r"helix(?:\s+angle)?\s+(?P<helix_angle>.+?)\s+at\s+(?P<diameter>.+)", re.IGNORECASE)
    rank = 1

    def part(self, given: Given) -> Part:
        """The lead of the angle. Raises GearsearchError without a diameter, and unless above 0° and below 90°."""
        beta = slope_of(given.value(HELIX_ANGLE, "no helix angle is given"), "helix angle")
        diameter = given.value(DIAMETER, "a helix angle means nothing without its diameter")
        size = parse_length(diameter, given.unit, "diameter")
        how = f"from helix angle {format_angle(beta)} at diameter {format_both(size, given.unit)}"
        return Part(PI * size / tan_deg(beta), how, diameter_mm=size, starts=given.starts)
