"""The lead of a rise over an arc."""

from __future__ import annotations

import re

from ...base.errors import GearsearchError
from ...base.units import format_angle, format_both, parse_angle, shown
from ..form import DIAMETER, STARTS, Form, Given, Option
from ..part import Part

_RISE = Option("rise", "H", "rise of a ramp or cam over part of a turn, with --per", "1.37mm")
_PER = Option("per", "A", "the arc the rise takes: 5.8 (degrees), 5d48m, '0.29 turns'", "5.8")
_FRACTION = re.compile(r"(?:[0-9]+\s+)?[0-9]+\s*[/⁄]\s*[0-9]+|[0-9]*\s*[¼-¾⅐-⅞]")


class Rise(Form):
    """360 × rise / arc. Source: Brown & Sharpe 1914, p. 182 (a rise over hundredths of a turn)."""

    name = "rise"
    options = (_RISE, _PER, STARTS, DIAMETER)
    gives = "a rise over an arc (ramp, cam)"
    row = "`--rise 1.37mm --per 5.8`"
    example = "rise 1.37mm per 5.8deg"
    pattern = re.compile(r"rise\s+(?P<rise>.+?)\s+per\s+(?P<per>.+)", re.IGNORECASE)
    rank = 3
    may_be_cam = True

    def part(self, given: Given) -> Part:
        """The lead of the rise. Raises GearsearchError without an arc, and unless above 0° and up to 36000°.

        A fraction without a unit is refused: a quarter may be of a turn or of a degree.
        """
        height = given.length("rise", given=True)
        both = format_both(height, given.unit)
        per = given.value(_PER, f"a rise of {both} makes no lead without the arc it takes")
        if isinstance(per, str) and _FRACTION.fullmatch(per.strip()):
            raise GearsearchError(
                f"arc {shown(per)} may be in turns or in degrees",
                f"write --per '{per.strip()} turns' or --per '{per.strip()} deg'",
                code="which-unit",
            )
        arc = parse_angle(per, "arc")
        if not 0 < arc <= 36000:
            raise GearsearchError(
                f"arc {shown(per)} is not above 0° and up to 36000°, a hundred turns",
                "give the arc that the rise takes, as in --per 5.8",
            )
        return Part(
            360 * height / arc, f"from a rise of {both} over {format_angle(arc)}", rise_mm=height, starts=given.starts
        )
