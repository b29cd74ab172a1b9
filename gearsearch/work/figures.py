"""What the error of a lead does to the part, and whether a helical gear is still in its accuracy class.

The error of a lead is e = lead / wanted − 1, exact. Signs: plus is too long. All lengths are along the axis
unless they are said to be around it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction

from ..base import require
from ..base.errors import GearsearchError
from ..base.require import is_whole
from ..base.units import INCH_MM, PI, format_length, shown, significant, tan_deg
from .leads import HelicalGear, helix_change
from .tolerance import ALL_FORMS, Tolerance

ISO_CLASSES = range(1, 12)
ISO_COVERS = "5 to 1000 teeth, module 0.5 to 70 mm, diameter 5 to 15 000 mm, face 4 to 1200 mm, helix angle up to 45°"
_ISO_ENDS = tuple(
    (Fraction(low), Fraction(high)) for low, high in (("5", 1000), ("1/2", 70), ("5", 15_000), ("4", 1200), ("0", 45))
)


@dataclass(frozen=True, slots=True)
class Figures:
    """What the error of a lead does to the part.

    Parameters
    ----------
    wanted_mm, lead_mm : wanted lead and the lead that is cut [mm]
    length_mm : axial length of the cut [mm]; figures over the length need it
    diameter_mm : diameter [mm]; figures around and of the helix angle need it

    Raises UnitError for what is neither int nor Fraction, or not above zero.
    """

    wanted_mm: Fraction
    lead_mm: Fraction
    length_mm: Fraction | None = None
    diameter_mm: Fraction | None = None

    def __post_init__(self) -> None:
        named = {"wanted_mm": "wanted lead", "lead_mm": "lead", "length_mm": "length", "diameter_mm": "diameter"}
        require.kept_exact(self, **named)
        require.above_zero({what: getattr(self, name) for name, what in named.items()})

    @property
    def error(self) -> Fraction:
        """lead / wanted − 1, exact; plus is too long."""
        return self.lead_mm / self.wanted_mm - 1

    @property
    def drift_mm(self) -> Fraction | None:
        """How far the cut is off along the axis at the end of its length [mm]; plus is long."""
        return None if self.length_mm is None else self.error * self.length_mm

    @property
    def turn_deg(self) -> Fraction | None:
        """How much farther than wanted the work has turned at the end of the length [degrees]."""
        if self.length_mm is None:
            return None
        return 360 * self.length_mm * (1 / self.lead_mm - 1 / self.wanted_mm)

    @property
    def around_mm(self) -> Fraction | None:
        """The same, measured around the circumference [mm]."""
        if self.turn_deg is None or self.diameter_mm is None:
            return None
        return PI * self.diameter_mm * self.turn_deg / 360

    @property
    def helix_deg(self) -> Fraction | None:
        """How much larger the helix angle is at the diameter [degrees]; the arc tangent is a float's."""
        return None if self.diameter_mm is None else helix_change(self.lead_mm, self.wanted_mm, self.diameter_mm)

    def helix_slope_um(self, helix_angle_deg: Fraction, face_mm: Fraction) -> Fraction:
        """Helix slope deviation of a helical tooth over its face width [µm], along the pitch circle: b tan β e.

        Plus: the tooth leans less than wanted, its lead is too long. The exact form face × (tan β − tan β′) with
        tan β′ = tan β × wanted / lead. Worked out here. ISO 1328-1 measures along the transverse base tangent (from
        memory), where it is the cosine of the transverse pressure angle times this, 6 to 8 % less: to judge this
        one is on the safe side.
        """
        angle, face = require.exact({"helix angle": helix_angle_deg, "face width": face_mm}, given=True)
        return 1000 * face * tan_deg(angle) * (1 - self.wanted_mm / self.lead_mm)


def iso_helix_slope_um(diameter_mm: Fraction, face_mm: Fraction, accuracy: int) -> int | float:
    """Helix slope tolerance of ISO 1328-1:2013 [µm]: (0.05 √d + 0.35 √b + 4) × √2^(A − 5), rounded.

    Parameters
    ----------
    diameter_mm, face_mm : reference diameter and face width [mm]
    accuracy : tolerance class A, 1 (finest) to 11

    Raises GearsearchError for another class, and for sizes that are no exact numbers above zero.
    The formula and its rounding (above 10 to whole µm, from 5 to 10 to halves, below 5 to tenths) are from memory.
    Limits of validity: see ``iso_covers``.
    """
    named = {"reference diameter": diameter_mm, "face width": face_mm}
    diameter_mm, face_mm = require.above_zero(named, given=True)
    accuracy = accuracy_class(accuracy)
    plain = 0.05 * math.sqrt(diameter_mm) + 0.35 * math.sqrt(face_mm) + 4
    value = plain * math.sqrt(2) ** (accuracy - 5)
    if value > 10:
        return round(value)
    return round(2 * value) / 2 if value >= 5 else round(value, 1)


def accuracy_class(accuracy: object) -> int:
    """A tolerance class of ISO 1328-1 as an int. Raises GearsearchError for what is none."""
    if not is_whole(accuracy) or accuracy not in ISO_CLASSES:
        raise GearsearchError(
            f"there is no tolerance for accuracy class {shown(accuracy)}", "give a class of ISO 1328-1 from 1 to 11"
        )
    return int(accuracy)


def iso_class(slope_um: Fraction, diameter_mm: Fraction, face_mm: Fraction) -> int | None:
    """The finest class of ISO 1328-1:2013 whose helix slope tolerance holds; None where none does. From memory.

    Parameters
    ----------
    slope_um : helix slope deviation [µm], of either sign
    diameter_mm, face_mm : reference diameter and face width [mm]

    Limits of validity: see ``iso_covers``.
    """
    for accuracy in ISO_CLASSES:
        if abs(slope_um) <= iso_helix_slope_um(diameter_mm, face_mm, accuracy):
            return accuracy
    return None


def iso_covers(gear: HelicalGear, face_mm: Fraction) -> bool:
    """Whether ISO 1328-1:2013 covers a gear with a face width [mm]: ``ISO_COVERS``. From memory."""
    sizes = (Fraction(gear.teeth), gear.normal_module_mm, gear.pitch_diameter_mm, face_mm, gear.helix_angle_deg)
    return all(low <= size <= high for size, (low, high) in zip(sizes, _ISO_ENDS, strict=True))


def longest_cut_mm(
    tolerance: Tolerance, wanted_mm: Fraction, lead_mm: Fraction, diameter_mm: Fraction | None = None
) -> Fraction | None:
    """The longest cut whose drift, turn or distance around stays inside the amount that the tolerance allows [mm].

    Parameters
    ----------
    tolerance : of any form
    wanted_mm, lead_mm : wanted lead and the lead that is cut [mm]
    diameter_mm : for a distance around [mm]

    None where there is no end to it (an exact lead), or where the tolerance does not grow with the length. Raises
    GearsearchError for a distance around without a diameter, and for lengths that are no exact numbers above zero.
    """
    require.instance(tolerance, Tolerance, "tolerance", "read it with Tolerance.parse('0.1%')", given=True)
    wanted_mm, lead_mm = require.above_zero({"wanted lead": wanted_mm, "lead": lead_mm}, given=True)
    (across,) = require.above_zero({"diameter": diameter_mm})
    rate = ALL_FORMS[tolerance.form].rate
    if lead_mm == wanted_mm or rate is None:
        return None
    each = rate(tolerance, wanted_mm, lead_mm, across)
    return (tolerance.more if each > 0 else tolerance.less) / abs(each)


def error_in_words(
    wanted_mm: Fraction,
    lead_mm: Fraction,
    length_mm: Fraction | None = None,
    diameter_mm: Fraction | None = None,
    unit: str = "mm",
) -> str:
    """The error in the part's terms, in a few words with a sign: ``0.130 mm long over 60.000 mm``.

    Parameters
    ----------
    wanted_mm, lead_mm : wanted lead and the lead that is cut [mm]
    length_mm, diameter_mm : of the cut [mm]; None leaves out what needs it
    unit : ``mm`` or ``in``
    """
    figures = Figures(wanted_mm, lead_mm, length_mm, diameter_mm)
    if figures.error == 0:
        return "exact"
    said, length_mm = [], figures.length_mm
    if figures.drift_mm is not None and length_mm is not None:
        side = "long" if figures.error > 0 else "short"
        over = significant(length_mm, 1) if unit == "mm" else significant(length_mm / INCH_MM, 3)
        said.append(f"{format_length(abs(figures.drift_mm), unit)} {side} over {over} {unit}")
    if figures.helix_deg is not None:
        said.append(f"helix angle {helix_words(figures.helix_deg)}")
    return ", ".join(said)


def helix_words(change_deg: Fraction) -> str:
    """A change of helix angle in words: minutes of arc, steeper (a larger angle from the axis) or flatter."""
    if change_deg == 0:
        return "unchanged"
    minutes = abs(change_deg) * 60
    size = "larger" if change_deg > 0 else "smaller"
    return f"{significant(minutes, 2)}′ {size}"
