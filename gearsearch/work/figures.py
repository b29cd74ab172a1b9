"""What the error of a lead does to the part.

The error of a lead is e = lead / wanted − 1, exact. Signs: plus is too long. All lengths are along the axis
unless they are said to be around it.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from ..base import require
from ..base.units import INCH_MM, PI, format_length, significant, tan_deg
from .helix import helix_change
from .part import Part
from .tolerance import Tolerance


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


def figures_of(part: Part, geared_mm: Fraction) -> Figures:
    """What a geared lead [mm] does to a part, in leads on the work."""
    return Figures(part.work_lead_mm, part.on_the_work(geared_mm), part.length_mm, part.helix_diameter_mm)


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
    if lead_mm == wanted_mm or not tolerance.grows:
        return None
    each = tolerance.kind.rate(tolerance, wanted_mm, lead_mm, across)
    return (tolerance.more if each > 0 else tolerance.less) / abs(each)


def over_words(length_mm: Fraction, unit: str = "mm") -> str:
    """Over which length of cut: ``over 60 mm``."""
    over = significant(length_mm, 1) if unit == "mm" else significant(length_mm / INCH_MM, 3)
    return f"over {over.rstrip('0').rstrip('.')} {unit}"


def error_in_words(figures: Figures, unit: str = "mm") -> str:
    """The error in the part's terms, in a few words with a sign: ``0.130 mm long over 60.000 mm``."""
    if figures.error == 0:
        return "exact"
    said, length_mm = [], figures.length_mm
    if figures.drift_mm is not None and length_mm is not None:
        side = "long" if figures.error > 0 else "short"
        said.append(f"{format_length(abs(figures.drift_mm), unit)} {side} {over_words(length_mm, unit)}")
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
