"""Accuracy classes of helical teeth: the helix slope tolerance of ISO 1328-1."""

from __future__ import annotations

import math
from fractions import Fraction

from ..base import require
from ..base.errors import GearsearchError
from ..base.require import is_whole
from ..base.units import shown
from .helix import HelicalGear

ISO_CLASSES = range(1, 12)
ISO_COVERS = "5 to 1000 teeth, module 0.5 to 70 mm, diameter 5 to 15 000 mm, face 4 to 1200 mm, helix angle up to 45°"
_ISO_ENDS = tuple(
    (Fraction(low), Fraction(high)) for low, high in (("5", 1000), ("1/2", 70), ("5", 15_000), ("4", 1200), ("0", 45))
)


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
            f"there is no tolerance for accuracy class {shown(accuracy)}",
            "give a class of ISO 1328-1 from 1 to 11",
            code="no-such-class",
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
