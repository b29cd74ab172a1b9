"""The lead a part needs: from the drawing's own figures to the lead the gears must give."""

from __future__ import annotations

import re
from dataclasses import replace
from fractions import Fraction

from ..base.errors import GearsearchError, UnitError
from ..base.units import (
    INCH_MM,
    PI,
    Value,
    format_angle,
    format_both,
    parse_angle,
    parse_length,
    parse_pitch,
    parse_ratio,
    shown,
    sin_deg,
    tan_deg,
    text_of_length,
)
from .helix import HelicalGear, slope_of
from .part import Part, starts_of
from .threads import read_thread
from .tilt import no_tilt


def from_lead(lead: Value, unit: str = "mm", starts: int = 1) -> Part:
    """A lead as given.

    Parameters
    ----------
    lead : length, read in ``unit`` without one of its own
    unit : ``mm`` or ``in``
    starts : helices side by side

    Raises UnitError for what is no length.
    """
    return Part(parse_length(lead, unit, "lead"), "as given", starts=starts_of(starts), may_be_cam=True)


def from_helix_angle(angle: Value, diameter: Value | None, unit: str = "mm", starts: int = 1) -> Part:
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
    return Part(PI * size / tan_deg(beta), how, diameter_mm=size, starts=starts_of(starts))


def from_lead_angle(angle: Value, diameter: Value | None, unit: str = "mm", starts: int = 1) -> Part:
    """Lead of a lead angle at a diameter: π d tan λ, the angle taken from a plane square to the axis.

    Parameters, errors and source as ``from_helix_angle``.
    """
    lambda_ = slope_of(angle, "lead angle")
    size = _diameter(diameter, unit, "lead angle")
    how = f"from lead angle {format_angle(lambda_)} at diameter {format_both(size, unit)}"
    return Part(PI * size * tan_deg(lambda_), how, diameter_mm=size, starts=starts_of(starts))


def from_rise(rise: Value, per: Value | None, unit: str = "mm") -> Part:
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
    return Part(360 * height / arc, how, rise_mm=height, may_be_cam=True)


def from_thread(pitch: Value, starts: int | None = None, unit: str = "mm") -> Part:
    """Lead of a thread: starts × pitch.

    Parameters
    ----------
    pitch : length, threads per inch (``13 tpi``), or a thread by its name: ``M12``, ``Tr 40x14(P7) LH``, ``2BA``
    starts : threads side by side; None where the name may tell them, else 1
    unit : as ``from_lead``

    Raises UnitError as ``threads.read_thread``, and for other starts than those of the name.
    """
    if isinstance(pitch, str):
        size, named, thread = read_thread(pitch, unit)
    else:
        size, named, thread = parse_pitch(pitch, unit, "thread"), "", None
    own = thread and thread.starts
    if own is not None and starts not in (None, own):
        have = f"{own} start{'' if own == 1 else 's'}"
        raise UnitError(f"thread {shown(pitch)} has {have}, and {starts} are given", "leave --starts out")
    count = own or starts_of(1 if starts is None else starts)
    return Part(size * count, f"a thread of {named}pitch {format_both(size, unit)}", starts=count, thread=thread)


def from_worm_module(module: Value, starts: int = 1, unit: str = "mm") -> Part:
    """Lead of a worm: π × axial module × starts.

    Parameters
    ----------
    module : axial module, in mm where it has no unit of its own
    starts : threads side by side
    unit : ``mm`` or ``in``, for the words only

    Raises GearsearchError for what is no module, and outside 1 to 1000 starts. Common practice, no source.
    """
    size, count = parse_length(module, "mm", "worm module"), starts_of(starts)
    named = f"a worm of axial module {text_of_length(size)}, {format_both(PI * size, unit)} from thread to thread"
    return Part(PI * size * count, named, starts=count)


def from_worm_dp(pitch: Value, starts: int = 1) -> Part:
    """Lead of a worm: π × 25.4 mm × starts / diametral pitch.

    Parameters
    ----------
    pitch : axial diametral pitch, ``20`` or ``20 dp``
    starts : threads side by side

    Raises GearsearchError for what is no diametral pitch, and outside 1 to 1000 starts. Common practice, no source.
    """
    size, count = _diametral_pitch(pitch, "worm diametral pitch"), starts_of(starts)
    return Part(PI * INCH_MM * count / size, f"a worm of diametral pitch {size}", starts=count)


def from_gear(
    teeth: int,
    helix: Value | None,
    *,
    module: Value | None = None,
    diametral_pitch: Value | None = None,
) -> Part:
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
    return Part(gear.lead_mm, how, diameter_mm=gear.pitch_diameter_mm, gear=gear)


def tilted(wanted: Part, tilt: Value) -> Part:
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
        raise no_tilt(tilt)
    if wanted.is_cam:
        raise GearsearchError("the head is tilted twice", "give one tilt, from the table")
    return replace(wanted, lead_mm=wanted.lead_mm / sin_deg(alpha), tilt_deg=alpha)


def _diameter(diameter: Value | None, unit: str, what: str) -> Fraction:
    if diameter is None:
        raise GearsearchError(f"a {what} means nothing without its diameter", "give it too, as in --diameter 50mm")
    return parse_length(diameter, unit, "diameter")


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
