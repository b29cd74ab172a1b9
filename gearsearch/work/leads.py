"""The lead a part needs: from the drawing's own figures to the lead the gears must give."""

from __future__ import annotations

import html
import math
import re
from dataclasses import dataclass, field, replace
from fractions import Fraction
from typing import TYPE_CHECKING

from ..base import require
from ..base.errors import GearsearchError, UnitError
from ..base.units import (
    INCH_MM,
    PI,
    Value,
    cos_deg,
    degrees,
    format_angle,
    format_both,
    format_length,
    parse_angle,
    parse_length,
    parse_pitch,
    parse_ratio,
    radians,
    shown,
    sin_deg,
    tan_deg,
    text_of_length,
)
from .threads import read_thread

if TYPE_CHECKING:
    from .tolerance import Tolerance

MOST_STARTS = 1000
MOST_TEETH = 100_000
STEEPEST_TILT_DEG = 80  # angles above are avoided: Brown & Sharpe 1914, pp. 180-182, 249
SHORTEST_MM, LONGEST_MM = Fraction(1, 10**6), Fraction(10**9)
HOW_WANTED = "make it with leads.from_lead('412.5 mm') or its like"


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


@dataclass(frozen=True, slots=True)
class WantedLead:
    """The lead that the gears must give, and where it comes from.

    Parameters
    ----------
    lead_mm : lead to be geared for [mm]
    how : where it comes from, in words
    diameter_mm : diameter that angles and errors belong to [mm]; None where none was given
    starts : how many helices stand side by side; pitch = lead on the work / starts
    gear : the helical gear, where that is what is cut
    tilt_deg : angle of the head from the table [degrees]; the lead on the work is then lead_mm × sin(tilt)
    rise_mm : the rise over an arc that it was given by [mm]; None where it was given otherwise
    may_be_cam : whether the rise of a cam may be meant: given as a lead or a rise, by no helix, thread or gear

    Raises GearsearchError for a lead from which nothing can be cut, and for a number that is neither int nor Fraction.
    """

    lead_mm: Fraction
    how: str
    diameter_mm: Fraction | None = None
    starts: int = 1
    gear: HelicalGear | None = None
    tilt_deg: Fraction | None = None
    rise_mm: Fraction | None = None
    may_be_cam: bool = False

    def __post_init__(self) -> None:
        require.kept_exact(self, lead_mm="lead", diameter_mm="diameter", tilt_deg="tilt", rise_mm="rise")
        require.above_zero({"diameter": self.diameter_mm, "rise": self.rise_mm})
        object.__setattr__(self, "starts", _starts(self.starts))
        if self.tilt_deg is not None and not 0 < self.tilt_deg <= 90:
            raise _no_tilt(self.tilt_deg)
        if not SHORTEST_MM <= self.lead_mm <= LONGEST_MM:
            size = f"{float(self.lead_mm):.3g}" if abs(self.lead_mm) < 10**300 else shown(self.lead_mm)
            raise GearsearchError(
                f"a lead of {size} mm cannot be cut: {self.how}",
                "ask for a lead from 0.000001 mm to 1 000 000 000 mm",
            )

    @property
    def work_lead_mm(self) -> Fraction:
        """Lead on the work [mm]: the geared lead, × sin(tilt) where the head is tilted."""
        return self.lead_mm if self.tilt_deg is None else self.lead_mm * sin_deg(self.tilt_deg)

    @property
    def is_cam(self) -> bool:
        """Whether the head is tilted for it: then it rises square to the work's axis, and is no helix."""
        return self.tilt_deg is not None

    @property
    def helix_diameter_mm(self) -> Fraction | None:
        """The diameter where the helix angle that is cut belongs to [mm]; None without one, and on a cam."""
        return None if self.is_cam else self.diameter_mm

    @property
    def divisions(self) -> int:
        """How many helices are cut one beside the other: teeth of a helical gear, starts of anything else."""
        return self.gear.teeth if self.gear else self.starts

    @property
    def pitch_mm(self) -> Fraction:
        """Axial distance from one start to the next [mm]."""
        return self.work_lead_mm / self.starts

    @property
    def helix_angle_deg(self) -> Fraction | None:
        """Angle between the helix and the axis, at the diameter [degrees]; None without a diameter."""
        return None if self.diameter_mm is None else helix_angle(self.work_lead_mm, self.diameter_mm)

    @property
    def lead_angle_deg(self) -> Fraction | None:
        """Angle between the helix and a plane square to the axis, at the diameter [degrees]: 90° − helix angle."""
        angle = self.helix_angle_deg
        return None if angle is None else 90 - angle

    def at(self, diameter_mm: Fraction | None) -> WantedLead:
        """The same lead with the diameter that angles and errors belong to, where it has none yet."""
        return self if diameter_mm is None or self.diameter_mm else replace(self, diameter_mm=diameter_mm)

    def geared(self, tolerance: Tolerance) -> tuple[Fraction, Fraction]:
        """Shortest and longest geared lead that will do [mm] for a tolerance, which is one of the lead on the work.

        Raises GearsearchError as ``Tolerance.interval``, for a helix angle's on a cam, and for what is no tolerance.
        """
        from .tolerance import Tolerance

        require.instance(tolerance, Tolerance, "tolerance", "read it with Tolerance.parse('0.1%')", given=True)
        if self.is_cam and not tolerance.suits_a_cam:
            raise GearsearchError(
                f"tolerance {shown(tolerance.text)} is one of a helix angle, and a cam, which is no helix, has none",
                "give one of its rise, as in 0.1% or '0.02mm over 5mm'",
            )
        low, high = tolerance.interval(self.work_lead_mm, self.diameter_mm)
        share = self.lead_mm / self.work_lead_mm
        return low * share, high * share

    def exact_tilt_deg(self, geared_mm: Fraction) -> Fraction | None:
        """Tilt at which a train of that lead gives just this lead on the work [degrees].

        None where the head is not tilted, and where the train's lead is the shorter, which no tilt makes longer.
        """
        served = self.is_cam and self.work_lead_mm <= geared_mm
        return tilt_for(self.work_lead_mm, geared_mm) if served else None

    def describe(self, unit: str = "mm") -> list[str]:
        """Lines that say what is wanted: the lead in both units, and both angles with their diameter."""
        lines = [f"wanted: lead {format_both(self.work_lead_mm, unit)}, {self.how}"]
        if self.starts > 1:
            lines.append(f"{self.starts} starts, {format_both(self.pitch_mm, unit)} from one to the next")
        return [*lines, *self._angle_lines(unit), *self._tilt_lines(unit)]

    def __str__(self) -> str:
        return "\n".join(self.describe())

    def _repr_html_(self) -> str:
        return f"<pre>{html.escape(str(self))}</pre>"

    def _angle_lines(self, unit: str) -> list[str]:
        helix, lead = self.helix_angle_deg, self.lead_angle_deg
        if self.diameter_mm is None or helix is None or lead is None:
            return []
        if self.is_cam:
            size = format_both(self.diameter_mm, unit)
            return [f"at diameter {size}: the cam's outline rises at {format_angle(lead)} to the round"]
        where = "at its pitch diameter" if self.gear else "at diameter"
        return [
            f"{where} {format_both(self.diameter_mm, unit)}: "
            f"helix angle {format_angle(helix)} from the axis, lead angle {format_angle(lead)} square to it"
        ]

    def _tilt_lines(self, unit: str) -> list[str]:
        if self.tilt_deg is None:
            return []
        geared = format_both(self.lead_mm, unit)
        lines = [
            f"head tilted {format_angle(self.tilt_deg)} from the table: the gears must give {geared}",
            "a tilted head cuts the rise of a cam, square to the axis of the work; it cuts no helix along it",
        ]
        if self.tilt_deg > STEEPEST_TILT_DEG:
            source = "Brown & Sharpe 1914, pp. 180-182, 249"
            lines.append(f"a tilt above {STEEPEST_TILT_DEG}° is avoided in practice ({source})")
        return lines


def helix_angle(lead_mm: Fraction, diameter_mm: Fraction) -> Fraction:
    """Helix angle [degrees] of a lead at a diameter: tan β = π d / lead. The arc tangent is a float's.

    Parameters
    ----------
    lead_mm, diameter_mm : lead, and the diameter that the angle belongs to [mm], above zero

    Raises UnitError for what is neither int nor Fraction, or not above zero.
    """
    lead_mm, diameter_mm = require.above_zero({"lead": lead_mm, "diameter": diameter_mm}, given=True)
    return degrees(math.atan2(float(PI * diameter_mm), float(lead_mm)))


def from_lead(lead: Value, unit: str = "mm", starts: int = 1) -> WantedLead:
    """A lead as given.

    Parameters
    ----------
    lead : length, read in ``unit`` without one of its own
    unit : ``mm`` or ``in``
    starts : helices side by side

    Raises UnitError for what is no length.
    """
    return WantedLead(parse_length(lead, unit, "lead"), "as given", starts=_starts(starts), may_be_cam=True)


def from_helix_angle(angle: Value, diameter: Value | None, unit: str = "mm", starts: int = 1) -> WantedLead:
    """Lead of a helix angle at a diameter: π d / tan β, the angle taken from the axis.

    Parameters
    ----------
    angle : helix angle [degrees], above 0° and below 90°
    diameter : the diameter it belongs to
    unit, starts : as ``from_lead``

    Raises GearsearchError without a diameter and for an angle outside its range. Common practice, no source.
    """
    beta = slope_of(angle, "helix angle")
    size = _diameter(diameter, unit, "helix angle")
    how = f"from helix angle {format_angle(beta)} at diameter {format_both(size, unit)}"
    return WantedLead(PI * size / tan_deg(beta), how, size, _starts(starts))


def from_lead_angle(angle: Value, diameter: Value | None, unit: str = "mm", starts: int = 1) -> WantedLead:
    """Lead of a lead angle at a diameter: π d tan λ, the angle taken from a plane square to the axis.

    Parameters, errors and source as ``from_helix_angle``.
    """
    lambda_ = slope_of(angle, "lead angle")
    size = _diameter(diameter, unit, "lead angle")
    how = f"from lead angle {format_angle(lambda_)} at diameter {format_both(size, unit)}"
    return WantedLead(PI * size * tan_deg(lambda_), how, size, _starts(starts))


def from_rise(rise: Value, per: Value | None, unit: str = "mm") -> WantedLead:
    """Lead of a stepped ramp or a cam: 360 × rise / arc.

    Parameters
    ----------
    rise : axial rise over the arc
    per : the arc [degrees], above 0
    unit : as ``from_lead``

    Raises GearsearchError without an arc. Source: Brown & Sharpe 1914, p. 182 (a rise over hundredths of a turn).
    """
    height = parse_length(rise, unit, "rise")
    if per is None:
        raise GearsearchError(
            f"a rise of {format_both(height, unit)} makes no lead without the arc it takes",
            "give the arc in degrees with --per, as in --per 5.8",
        )
    arc = parse_angle(per, "arc")
    if not 0 < arc <= 36000:
        raise GearsearchError(
            f"arc {shown(per)} is not above 0° and up to 36000°, a hundred turns",
            "give the arc that the rise takes, as in --per 5.8",
        )
    how = f"from a rise of {format_both(height, unit)} over {format_angle(arc)}"
    return WantedLead(360 * height / arc, how, rise_mm=height, may_be_cam=True)


def from_thread(pitch: Value, starts: int | None = None, unit: str = "mm") -> WantedLead:
    """Lead of a thread: starts × pitch.

    Parameters
    ----------
    pitch : length, threads per inch (``13 tpi``), or a thread by its name: ``M12x1.75``, ``Tr 40x14(P7)``,
        ``1/2-13 UNC``
    starts : threads side by side; None where the name may tell them, else 1
    unit : as ``from_lead``

    Raises UnitError as ``threads.read_thread``, and for other starts than those of the name.
    """
    if isinstance(pitch, str):
        size, own, named = read_thread(pitch, unit)
    else:
        size, own, named = parse_pitch(pitch, unit, "thread"), None, ""
    if own is not None and starts not in (None, own):
        have = f"{own} start{'' if own == 1 else 's'}"
        raise UnitError(f"thread {shown(pitch)} has {have}, and {starts} are given", "leave --starts out")
    count = own or _starts(1 if starts is None else starts)
    return WantedLead(size * count, f"a thread of {named}pitch {format_both(size, unit)}", starts=count)


def from_worm_module(module: Value, starts: int = 1, unit: str = "mm") -> WantedLead:
    """Lead of a worm: π × axial module × starts.

    Parameters
    ----------
    module : axial module, in mm where it has no unit of its own
    starts : threads side by side
    unit : ``mm`` or ``in``, for the words only

    Raises GearsearchError for what is no module, and outside 1 to 1000 starts. Common practice, no source.
    """
    size, count = parse_length(module, "mm", "worm module"), _starts(starts)
    named = f"a worm of axial module {text_of_length(size)}, {format_both(PI * size, unit)} from thread to thread"
    return WantedLead(PI * size * count, named, starts=count)


def from_worm_dp(pitch: Value, starts: int = 1) -> WantedLead:
    """Lead of a worm: π × 25.4 mm × starts / diametral pitch.

    Parameters
    ----------
    pitch : axial diametral pitch, ``20`` or ``20 dp``
    starts : threads side by side

    Raises GearsearchError for what is no diametral pitch, and outside 1 to 1000 starts. Common practice, no source.
    """
    size, count = _diametral_pitch(pitch, "worm diametral pitch"), _starts(starts)
    return WantedLead(PI * INCH_MM * count / size, f"a worm of diametral pitch {size}", starts=count)


def from_gear(
    teeth: int,
    helix: Value | None,
    *,
    module: Value | None = None,
    diametral_pitch: Value | None = None,
) -> WantedLead:
    """Lead of a helical gear: π × normal module × teeth / sin β; angles belong to its pitch diameter.

    Parameters
    ----------
    teeth : tooth count, 1 to 100 000
    helix : helix angle at the pitch diameter [degrees], above 0° and below 90°
    module, diametral_pitch : one of the two, square to the tooth (normal); a module is in mm where it has no unit

    Raises GearsearchError unless just one of module and diametral pitch is given, without a helix angle, and for
    values outside their range. Common practice, no source.
    """
    size, named = normal_module(module, diametral_pitch)
    if helix is None:
        raise GearsearchError(
            "a helical gear needs its helix angle, and none is given", "add it, as in --helix-angle 15"
        )
    gear = HelicalGear(size, teeth, slope_of(helix, "helix angle"), named)
    how = f"a gear of {gear.teeth} teeth, {gear.module_words}, helix angle {format_angle(gear.helix_angle_deg)}"
    return WantedLead(gear.lead_mm, how, gear.pitch_diameter_mm, gear=gear)


def tilted(wanted: WantedLead, tilt: Value) -> WantedLead:
    """The same lead on the work, cut with the head tilted: the gears must give lead / sin α.

    Parameters
    ----------
    wanted : what is wanted on the work
    tilt : angle α of the head from the table [degrees], above 0° and up to 90°

    Raises GearsearchError outside that range and for a lead that is tilted already. Angles above 80° are avoided.
    Source: Practical Treatise on Milling and Milling Machines, Brown & Sharpe, 1914, pp. 180-182, 249.
    """
    alpha = parse_angle(tilt, "tilt")
    if not 0 < alpha <= 90:
        raise _no_tilt(tilt)
    if wanted.is_cam:
        raise GearsearchError("the head is tilted twice", "give one tilt, from the table")
    return replace(wanted, lead_mm=wanted.lead_mm / sin_deg(alpha), tilt_deg=alpha)


def _no_tilt(tilt: Value) -> GearsearchError:
    return GearsearchError(
        f"tilt {shown(tilt)} is not above 0° and up to 90°", "give the head's angle from the table, as in --tilt 30"
    )


def tilt_for(lead_on_work_mm: Fraction, geared_lead_mm: Fraction) -> Fraction:
    """Tilt of the head [degrees] that makes the lead on the work from a longer geared lead: sin α = lead / geared.

    Parameters
    ----------
    lead_on_work_mm : lead the part needs [mm], above zero
    geared_lead_mm : lead that the gears give with the head at 90° [mm]

    Raises GearsearchError where the geared lead is the shorter, and for what is neither int nor Fraction. The arc sine
    is a float's.
    Source: Brown & Sharpe 1914, pp. 180-181.
    """
    named = {"lead on the work": lead_on_work_mm, "geared lead": geared_lead_mm}
    lead_on_work_mm, geared_lead_mm = require.exact(named, given=True)
    if not 0 < lead_on_work_mm <= geared_lead_mm:
        on_work, geared = format_length(lead_on_work_mm), format_length(geared_lead_mm)
        raise GearsearchError(
            f"no tilt makes {on_work} from a geared lead of {geared}",
            "gear for a lead at least as long as that on the work",
        )
    sine = lead_on_work_mm / geared_lead_mm
    if sine == 1:
        return Fraction(90)
    return degrees(math.atan2(float(sine), math.sqrt((1 - sine) * (1 + sine))))  # asin loses digits near 90°


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
            f"{what} {shown(angle)} is not above 0° and below 90°", "give an angle between the two, such as 20"
        )
    if min(radians(slope), radians(90 - slope)) < 1e-9:
        raise GearsearchError(
            f"{what} {shown(angle)} is too near to 0° or 90° to make a lead",
            "give an angle farther from both, or the lead itself",
        )
    return slope


def _diameter(diameter: Value | None, unit: str, what: str) -> Fraction:
    if diameter is None:
        raise GearsearchError(f"a {what} means nothing without its diameter", "give it too, as in --diameter 50mm")
    return parse_length(diameter, unit, "diameter")


def _starts(starts: int) -> int:
    return require.whole(starts, MOST_STARTS, "starts")


def normal_module(module: Value | None, diametral_pitch: Value | None) -> tuple[Fraction, str]:
    """Normal module [mm] of a gear given by either, and the words for what was given.

    Raises GearsearchError unless just one of the two is given, and for one that cannot be.
    """
    if module is not None and diametral_pitch is None:
        size = parse_length(module, "mm", "gear module")
        return size, f"normal module {text_of_length(size)}"
    if diametral_pitch is not None and module is None:
        pitch = _diametral_pitch(diametral_pitch, "gear diametral pitch")
        return INCH_MM / pitch, f"normal diametral pitch {pitch}"
    given = "none is given" if module is None else "both are given"
    raise GearsearchError(
        f"a gear needs either a normal module or a normal diametral pitch, and {given}",
        "give one of the two, as in --gear-module 2 or --gear-dp 12",
    )


def _diametral_pitch(value: Value, what: str) -> Fraction:
    pitch = re.sub(r"\s*d\.?p\.?\s*$", "", value, flags=re.IGNORECASE) if isinstance(value, str) else value
    try:
        return parse_ratio(pitch, what)
    except UnitError:
        raise UnitError(f"{what} {shown(value)} is not a number above zero", "write it as in 20 or 20 dp") from None
