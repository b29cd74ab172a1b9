"""The lead of a helical gear by its normal module."""

from __future__ import annotations

from fractions import Fraction

from ...base.units import parse_length, text_of_length
from ..form import Given, Option
from ._gear import GearForm


class GearModule(GearForm):
    """π × normal module × teeth / sin β. Common practice, no source."""

    name = "gear_module"
    own = Option("gear_module", "M", "normal module of a helical gear [mm], with --teeth and --helix-angle", "2")
    gives = "a helical gear by its normal module"
    row = "`--gear-module 2 --teeth 23 --helix-angle 15`"
    example = "gear module 2 z 23 helix 15deg"
    spelt = r"(?:module|mod\.?)"

    def normal_module(self, given: Given, _beta_deg: Fraction) -> tuple[Fraction, str]:
        """As given; in mm where it has no unit."""
        size = parse_length(given.value(self.own, "no normal module is given"), "mm", "gear module")
        return size, f"normal module {text_of_length(size)}"
