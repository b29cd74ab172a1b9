"""The lead of a helical gear by its transverse module."""

from __future__ import annotations

from fractions import Fraction

from ...base.units import cos_deg, parse_length, text_of_length
from ..form import Given, Option
from ._gear import GearForm


class GearTransverseModule(GearForm):
    """π × transverse module × teeth / tan β; pitch diameter = transverse module × teeth. Common practice, no source."""

    name = "gear_transverse_module"
    own = Option(
        "gear_transverse_module", "M", "transverse module of a helical gear [mm], square to its axis, likewise", "2"
    )
    gives = "a helical gear by its transverse module"
    row = "`--gear-transverse-module 2 --teeth 23 --helix-angle 15`"
    example = "gear transverse module 2 z 23 helix 15deg"
    spelt = r"transverse\s+(?:module|mod\.?)"
    rank = 8

    def normal_module(self, given: Given, beta_deg: Fraction) -> tuple[Fraction, str]:
        """Transverse module × cos β; the cosine through a float, relative error below 1e-15."""
        module = given.value(self.own, "no transverse module is given")
        size = parse_length(module, "mm", "gear transverse module")
        return size * cos_deg(beta_deg), f"transverse module {text_of_length(size)}"
