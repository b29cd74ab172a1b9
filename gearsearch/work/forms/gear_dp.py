"""The lead of a helical gear by its normal diametral pitch."""

from __future__ import annotations

from fractions import Fraction

from ...base.units import INCH_MM
from ..form import Given, Option, diametral_pitch
from ._gear import GearForm


class GearDiametralPitch(GearForm):
    """π × 25.4 mm × teeth / (normal diametral pitch × sin β). Common practice, no source."""

    name = "gear_dp"
    own = Option("gear_dp", "P", "normal diametral pitch of a helical gear, likewise", "12")
    gives = "a helical gear by its normal diametral pitch"
    row = "`--gear-dp 12 --teeth 23 --helix-angle 15`"
    example = "gear dp 12 z 23 helix 15deg"
    spelt = "dp"
    rank = 7

    def normal_module(self, given: Given, _beta_deg: Fraction) -> tuple[Fraction, str]:
        """25.4 mm over the diametral pitch."""
        pitch = diametral_pitch(given.value(self.own, "no diametral pitch is given"), "gear diametral pitch")
        return INCH_MM / pitch, f"normal diametral pitch {pitch}"
