"""A helix: its lead, its angle at a diameter, and a helical gear."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from fractions import Fraction

from ..base import require
from ..base.errors import GearsearchError
from ..base.units import PI, Value, cos_deg, degrees, parse_angle, radians, shown, sin_deg, text_of_length

MOST_TEETH = 100_000


@dataclass(frozen=True, slots=True)
class HelicalGear:
    """A helical gear to be cut.

    Parameters
    ----------
    normal_module_mm : module square to the tooth [mm]
    teeth : tooth count
    helix_angle_deg : helix angle at the pitch diameter [degrees]
    given : the module, or the diametral pitch, in the words it was given by

    Raises GearsearchError for a module, a tooth count or a helix angle that no helical gear has, and for a number that
    is neither int nor Fraction.
    """

    normal_module_mm: Fraction
    teeth: int
    helix_angle_deg: Fraction
    given: str = field(default="", compare=False)

    def __post_init__(self) -> None:
        require.kept_exact(self, normal_module_mm="normal module", helix_angle_deg="helix angle")
        require.above_zero({"normal module": self.normal_module_mm})
        object.__setattr__(self, "teeth", require.whole(self.teeth, MOST_TEETH, "teeth"))
        slope_of(self.helix_angle_deg, "helix angle")

    @property
    def module_words(self) -> str:
        """The module, or the diametral pitch, as it was given."""
        return self.given or f"normal module {text_of_length(self.normal_module_mm)}"

    @property
    def pitch_diameter_mm(self) -> Fraction:
        """Normal module × teeth / cos(helix angle) [mm]; the cosine through a float, relative error below 1e-15."""
        return self.normal_module_mm * self.teeth / cos_deg(self.helix_angle_deg)

    @property
    def lead_mm(self) -> Fraction:
        """π × normal module × teeth / sin(helix angle) [mm]; the sine through a float, relative error below 1e-15."""
        return PI * self.normal_module_mm * self.teeth / sin_deg(self.helix_angle_deg)


def helix_angle(lead_mm: Fraction, diameter_mm: Fraction) -> Fraction:
    """Helix angle [degrees] of a lead at a diameter: tan β = π d / lead. The arc tangent is a float's.

    Parameters
    ----------
    lead_mm, diameter_mm : lead, and the diameter that the angle belongs to [mm], above zero

    Raises UnitError for what is neither int nor Fraction, or not above zero.
    """
    lead_mm, diameter_mm = require.above_zero({"lead": lead_mm, "diameter": diameter_mm}, given=True)
    return degrees(math.atan2(float(PI * diameter_mm), float(lead_mm)))


def helix_change(lead_mm: Fraction, wanted_mm: Fraction, diameter_mm: Fraction) -> Fraction:
    """How much larger the helix angle of a lead is than that of the wanted lead, at a diameter [degrees].

    Parameters
    ----------
    lead_mm, wanted_mm : the lead that is cut and the wanted lead [mm], above zero
    diameter_mm : the diameter that the angles belong to [mm]

    tan(β − β₀) = π d (L₀ − L) / (L L₀ + (π d)²), which loses no digits however near the two leads are; the arc
    tangent is a float's. Raises UnitError for what is neither int nor Fraction, or not above zero.
    """
    named = {"lead": lead_mm, "wanted lead": wanted_mm, "diameter": diameter_mm}
    lead_mm, wanted_mm, diameter_mm = require.above_zero(named, given=True)
    around = PI * diameter_mm
    return degrees(math.atan(float(around * (wanted_mm - lead_mm) / (lead_mm * wanted_mm + around**2))))


def lead_at(helix_angle_rad: float, diameter_mm: Fraction) -> Fraction:
    """Lead [mm] of a helix angle given in radians, at a diameter."""
    return PI * diameter_mm / Fraction(math.tan(helix_angle_rad))


def slope_of(angle: Value, what: str) -> Fraction:
    """A helix angle or lead angle [degrees] that makes a lead; ``what`` names which of the two it is.

    Raises GearsearchError unless it is above 0° and below 90°, each by 10⁻⁹ radians or more.
    """
    slope = parse_angle(angle, what)
    if not 0 < slope < 90:
        raise GearsearchError(
            f"{what} {shown(angle)} is not above 0° and below 90°",
            "give an angle between the two, such as 20",
            code="angle",
        )
    if min(radians(slope), radians(90 - slope)) < 1e-9:
        raise GearsearchError(
            f"{what} {shown(angle)} is too near to 0° or 90° to make a lead",
            "give an angle farther from both, or the lead itself",
            code="angle",
        )
    return slope
