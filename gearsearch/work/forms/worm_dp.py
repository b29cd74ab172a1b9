"""The lead of a worm by its diametral pitch."""

from __future__ import annotations

import re

from ...base.units import INCH_MM, PI
from ..form import DIAMETER, STARTS, Form, Given, Option, diametral_pitch
from ..part import Part

_PITCH = Option("worm_dp", "P", "diametral pitch of a worm, with --starts", "10")


class WormDiametralPitch(Form):
    """π × 25.4 mm × starts / axial diametral pitch. Common practice, no source."""

    name = "worm_dp"
    options = (_PITCH, DIAMETER, STARTS)
    gives = "a worm by its diametral pitch"
    row = "`--worm-dp 10`"
    example = "20 dp"
    pattern = re.compile(r"(?:worm\s+)?dp\s*(\S+)|(?:worm\s+)?(\S+)\s*d\.?p\.?", re.IGNORECASE)
    rank = 5

    def reads(self, text: str) -> dict[str, str | None] | None:
        """``dp 20`` or ``20 dp``."""
        match = self.pattern.fullmatch(text)
        return {"worm_dp": match[1] or match[2]} if match else None

    def part(self, given: Given) -> Part:
        """The lead of the worm. Raises GearsearchError for what is no diametral pitch."""
        pitch = diametral_pitch(given.value(_PITCH, "no diametral pitch is given"), "worm diametral pitch")
        lead = PI * INCH_MM * given.starts / pitch
        return Part(lead, f"a worm of diametral pitch {pitch}", starts=given.starts)
