"""What the forms of a helical gear share: teeth and helix angle, and the lead that follows from them."""

from __future__ import annotations

import re
from abc import abstractmethod
from fractions import Fraction
from typing import ClassVar

from ...base.units import format_angle
from ..form import HELIX_ANGLE, TEETH, Form, Given, Option
from ..helix import MOST_TEETH, HelicalGear, slope_of
from ..part import Part


class GearForm(Form):
    """π × normal module × teeth / sin β; angles belong to the pitch diameter. Common practice, no source."""

    own: ClassVar[Option]
    spelt: ClassVar[str]  # what a list calls the size by, as a pattern
    rank = 6
    is_gear = True

    def __init_subclass__(cls) -> None:
        if "own" in vars(cls):
            cls.options = (cls.own, TEETH, HELIX_ANGLE)
            size = rf"{cls.spelt}\s*(?P<{cls.name}>.+?)"
            whole = rf"gear\s+{size}\s+z\s*(?P<teeth>[0-9]+)\s+helix\s+(?P<helix_angle>.+)"
            cls.pattern = re.compile(whole, re.IGNORECASE)
        super().__init_subclass__()

    @abstractmethod
    def normal_module(self, given: Given, beta_deg: Fraction) -> tuple[Fraction, str]:
        """The module square to the tooth [mm], and what was given for it in words."""

    def part(self, given: Given) -> Part:
        """The lead of the gear. Raises GearsearchError without teeth or helix angle, and for what no gear has."""
        given.value(TEETH, "a helical gear needs its tooth count, and none is given")
        angle = given.value(HELIX_ANGLE, "a helical gear needs its helix angle, and none is given")
        teeth, beta = given.whole(TEETH, MOST_TEETH), slope_of(angle, "helix angle")
        size, words = self.normal_module(given, beta)
        gear = HelicalGear(size, teeth, beta, words)
        how = f"a gear of {gear.teeth} teeth, {gear.module_words}, helix angle {format_angle(gear.helix_angle_deg)}"
        return Part(gear.lead_mm, how, diameter_mm=gear.pitch_diameter_mm, gear=gear)
