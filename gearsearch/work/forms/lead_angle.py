"""The lead of a lead angle at a diameter."""

from __future__ import annotations

import re

from ...base.units import PI, format_angle, format_both, parse_length, tan_deg
from ..form import DIAMETER, STARTS, Form, Given, Option
from ..helix import slope_of
from ..part import Part

_ANGLE = Option("lead_angle", "A", "angle from SQUARE to the axis (threads, ramps, worms), with --diameter", "4d30m")


class LeadAngle(Form):
    """π d tan λ, the angle taken from a plane square to the axis. Common practice, no source."""

    name = "lead_angle"
    options = (_ANGLE, DIAMETER, STARTS)
    gives = "a lead angle, from square to the axis"
    row = "`--lead-angle 4d30m --diameter 2in`"
    example = "lead angle 5deg at 50mm"
    pattern = re.compile(r"lead\s+angle\s+(?P<lead_angle>.+?)\s+at\s+(?P<diameter>.+)", re.IGNORECASE)
    rank = 2

    def part(self, given: Given) -> Part:
        """The lead of the angle. Raises GearsearchError without a diameter, and unless above 0° and below 90°."""
        lambda_ = slope_of(given.value(_ANGLE, "no lead angle is given"), "lead angle")
        diameter = given.value(DIAMETER, "a lead angle means nothing without its diameter")
        size = parse_length(diameter, given.unit, "diameter")
        how = f"from lead angle {format_angle(lambda_)} at diameter {format_both(size, given.unit)}"
        return Part(PI * size * tan_deg(lambda_), how, diameter_mm=size, starts=given.starts)
