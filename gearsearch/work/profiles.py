"""What a lathe hand must know of a thread: angles, depths, diameters, crests and roots, each with where it is from.

Every profile is a triangle of its included angle with the top and the bottom cut off or rounded. Diameters and depths
are the basic ones, without tolerance. Angles go through floats (relative error below 1e-15).
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction

from ..base.errors import GearsearchError
from ..base.sources import NOTES
from ..base.units import INCH_MM, PI, cos_deg, degrees, sin_deg, tan_deg
from .naming import NamedThread

_SQRT3 = Fraction(math.isqrt(3 * 10**80), 10**40)
_H60 = _SQRT3 / 2  # height of the sharp triangle of 60°, in pitches


@dataclass(frozen=True, slots=True)
class Form:
    """A form of thread; lengths in pitches, but for ``clearance``.

    Parameters
    ----------
    title : for people
    standard : that has the profile
    basis : its section, and whether that and the figures were read or are from memory
    included_deg : between the flanks [degrees]
    effective : major diameter less pitch diameter
    depth : of the external thread, without clearance
    bore : half of the major diameter of the nut less its minor diameter, without clearance
    crest, root : radius of the external thread; None for a flat
    clearance : from the pitch [mm] to what root and nut are cut deeper [mm]
    note : what else is to be said of its crest and root; empty where nothing is
    """

    title: str
    standard: str
    basis: str
    included_deg: Fraction
    effective: Fraction
    depth: Fraction
    bore: Fraction
    crest: Fraction | None = None
    root: Fraction | None = None
    nut_root: Fraction | None = None
    clearance: Callable[[Fraction], Fraction] = lambda _: Fraction(0)
    note: str = ""


def _rounded(title: str, standard: str, basis: str, included: Fraction, depth: Fraction) -> Form:
    """A form with equal arcs on crest and root that touch the flanks."""
    sine = sin_deg(included / 2)
    cut = (1 / (2 * tan_deg(included / 2)) - depth) / 2
    radius = cut * sine / (1 - sine)
    return Form(title, standard, basis, included, depth, depth, depth, radius, radius, radius)


def _trapezoidal_clearance(pitch_mm: Fraction) -> Fraction:
    """Crest clearance of a trapezoidal thread [mm]: ISO 2904, clause 4; the steps were read at roymech.org."""
    steps = ((Fraction(3, 2), "0.15"), (Fraction(5), "0.25"), (Fraction(12), "0.5"))
    return next((Fraction(clearance) for up_to, clearance in steps if pitch_mm <= up_to), Fraction(1))


def _acme_clearance(pitch_mm: Fraction) -> Fraction:
    """Half of the allowance on the minor diameter [mm]: 0.010 in up to 10 threads per inch, else 0.005 in."""
    return INCH_MM * (Fraction("0.010") if pitch_mm * 10 >= INCH_MM else Fraction("0.005"))


_WHITWORTH_DEPTH = 1 / (3 * tan_deg(Fraction("27.5")))
FORMS = {
    "iso": Form(
        "ISO metric, 60°",
        "ISO 68-1, ISO 965-1",
        "basic profile and root of the external thread; factors read, sections from memory: 68-1, 5; 965-1, 11",
        Fraction(60),
        _H60 * 3 / 4,
        _H60 * 17 / 24,
        _H60 * 5 / 8,
        root=_H60 / 6,
    ),
    "unified": Form(
        "unified, 60°",
        "ASME B1.1",
        "design profiles UN and UNR; factors agree with tables that were read; section 8 and root radius from memory",
        Fraction(60),
        _H60 * 3 / 4,
        _H60 * 11 / 16,
        _H60 * 5 / 8,
        root=_H60 / 8,
        note="the radius of the root is the least that UNR takes; UN may have a flat root",
    ),
    "whitworth": _rounded(
        "Whitworth, 55°",
        "BS 84",
        "clause 4, profile of Whitworth screw thread (its table of contents and the factors were read); that G and R "
        "threads have it too, ISO 228-1 and ISO 7-1, from memory",
        Fraction(55),
        _WHITWORTH_DEPTH,
    ),
    "ba": _rounded(
        "British Association, 47.5°",
        "BS 93",
        "depth and angle read from pages that name it; section not read",
        Fraction("47.5"),
        Fraction("0.6"),
    ),
    "trapezoidal": Form(
        "metric trapezoidal, 30°",
        "ISO 2901, ISO 2904",
        "formulas read from pages that name them; sections not read",
        Fraction(30),
        Fraction(1, 2),
        Fraction(1, 2),
        Fraction(1, 2),
        clearance=_trapezoidal_clearance,
        note="corners of the root rounded by no more than the clearance, of the crest by half of it",
    ),
    "npt": Form(
        "American taper pipe, 60°",
        "ASME B1.20.1",
        "table 2 and its formulas for small end and length, from memory; they agree with tables that were read",
        Fraction(60),
        Fraction("0.8"),
        Fraction("0.8"),
        Fraction("0.8"),
    ),
    "acme": Form(
        "Acme, 29°",
        "ASME B1.5",
        "general purpose, from memory",
        Fraction(29),
        Fraction(1, 2),
        Fraction(1, 2),
        Fraction(1, 2),
        clearance=_acme_clearance,
    ),
}


@dataclass(frozen=True, slots=True)
class Figure:
    """One figure of a thread.

    Parameters
    ----------
    code : stable name for programs: ``depth``
    name : for people
    value : in ``unit``
    unit : ``mm`` or ``deg``
    source : standard, or what else it is from
    basis : section, and what of it is from memory; empty for a practice
    note : name of that source in ``base/sources.py``; empty for the standard
    at_machine : whether it is set on a dial of the machine, or measured at it
    """

    code: str
    name: str
    value: Fraction
    unit: str
    source: str
    basis: str = ""
    note: str = ""
    at_machine: bool = False


@dataclass(frozen=True, slots=True)
class Profile:
    """A thread with the figures to set a lathe by: ``profile_of`` makes it.

    Parameters
    ----------
    thread : as it was named
    form : its form
    lead_mm : its lead [mm], of all starts
    """

    thread: NamedThread
    form: Form
    lead_mm: Fraction

    @property
    def flank_deg(self) -> Fraction:
        """Between a flank and a plane square to the axis [degrees]: where the compound is set, from the cross slide."""
        return self.form.included_deg / 2

    @property
    def clearance_mm(self) -> Fraction:
        """How much deeper than the other's crest a root is cut [mm]."""
        return self.form.clearance(self.thread.pitch_mm)

    @property
    def depth_mm(self) -> Fraction:
        """Of the external thread, square to the axis [mm]."""
        return self.form.depth * self.thread.pitch_mm + self.clearance_mm

    @property
    def nut_depth_mm(self) -> Fraction:
        """Of the internal thread, from its bore [mm]."""
        return self.form.bore * self.thread.pitch_mm + self.clearance_mm

    @property
    def major_mm(self) -> Fraction:
        """Diameter to turn before threading [mm]; of an NPT thread at its small end."""
        return self.effective_mm + self.form.effective * self.thread.pitch_mm

    @property
    def effective_mm(self) -> Fraction:
        """Pitch diameter [mm]: of an NPT thread at its small end, of an R thread at the gauge plane."""
        pitch, major = self.thread.pitch_mm, self.thread.major_mm
        if self.form is FORMS["npt"]:
            return major - (major / 20 + INCH_MM * Fraction("1.1")) * pitch / INCH_MM
        return major - self.form.effective * pitch

    @property
    def core_mm(self) -> Fraction:
        """Minor diameter of the external thread [mm], where ``effective_mm`` is."""
        return self.major_mm - 2 * self.depth_mm

    @property
    def bore_mm(self) -> Fraction | None:
        """Minor diameter to bore for the internal thread [mm]; None for NPT, which is bored to its gauge."""
        if self.form is FORMS["npt"]:
            return None
        return self.thread.major_mm - 2 * self.form.bore * self.thread.pitch_mm

    @property
    def nut_major_mm(self) -> Fraction | None:
        """Major diameter of the internal thread [mm], the least; None for NPT."""
        return None if self.form is FORMS["npt"] else self.thread.major_mm + 2 * self.clearance_mm

    @property
    def effective_length_mm(self) -> Fraction | None:
        """Length of the thread that seals, from its small end [mm]; None but for NPT."""
        if self.form is not FORMS["npt"]:
            return None
        return (self.thread.major_mm * Fraction("0.8") + INCH_MM * Fraction("6.8")) * self.thread.pitch_mm / INCH_MM

    @property
    def crest_flat_mm(self) -> Fraction | None:
        """Width of the crest [mm]; None where it is round."""
        return None if self.form.crest is not None else self._groove(-self.form.effective * self.thread.pitch_mm / 2)

    @property
    def root_flat_mm(self) -> Fraction | None:
        """Width of the tool's tip for the external thread [mm]; None where it is round."""
        if self.form.root is not None:
            return None
        return self._groove(self.depth_mm - self.form.effective * self.thread.pitch_mm / 2)

    @property
    def crest_radius_mm(self) -> Fraction | None:
        """Radius of the crest [mm]; None where it is flat."""
        return None if self.form.crest is None else self.form.crest * self.thread.pitch_mm

    @property
    def root_radius_mm(self) -> Fraction | None:
        """Radius of the tool's tip for the external thread [mm]; None where it is flat."""
        return None if self.form.root is None else self.form.root * self.thread.pitch_mm

    @property
    def nut_root_flat_mm(self) -> Fraction | None:
        """Width of the tool's tip for the internal thread [mm]; None where it is round."""
        if self.form.nut_root is not None:
            return None
        return self._groove(self.form.effective * self.thread.pitch_mm / 2 + self.clearance_mm)

    @property
    def nut_root_radius_mm(self) -> Fraction | None:
        """Radius of the tool's tip for the internal thread [mm]; None where it is flat."""
        return None if self.form.nut_root is None else self.form.nut_root * self.thread.pitch_mm

    @property
    def compound_feed_mm(self) -> Fraction:
        """How far the compound is fed in for the whole depth of the external thread, set to ``flank_deg`` [mm]."""
        return self.depth_mm / cos_deg(self.flank_deg)

    @property
    def lead_angle_deg(self) -> Fraction:
        """Of the helix at the pitch diameter [degrees]: what the tool's side clearance must be more than."""
        return self._lead_angle(self.effective_mm)

    @property
    def steepest_deg(self) -> Fraction:
        """Of the helix at the root of the external thread [degrees], where it is steepest."""
        return self._lead_angle(self.core_mm)

    @property
    def taper_deg(self) -> Fraction:
        """Between the side of a taper thread and its axis [degrees]; 0 for a parallel one."""
        return degrees(math.atan(float(self.thread.taper / 2))) if self.thread.taper else Fraction(0)

    @property
    def where(self) -> str:
        """Where on a taper thread its diameters are; empty for a parallel one."""
        if not self.thread.taper:
            return ""
        plane = "at the small end" if self.form is FORMS["npt"] else "at the gauge plane"
        return f"diameters {plane}; the tool stands square to the axis"

    @property
    def standards(self) -> str:
        """That of the profile, and that of the size where it is another."""
        both = [*self.form.standard.split(", "), self.thread.standard]
        return ", ".join(dict.fromkeys(filter(None, both)))

    @property
    def figures(self) -> tuple[Figure, ...]:
        """Every figure that this thread has, with its source."""
        values = ((code, name, unit, note, getattr(self, f"{code}_{unit}")) for code, name, unit, note in _FIGURES)
        return tuple(
            Figure(code, name, value, unit, *self._whence(note), at_machine=code in _AT_MACHINE)
            for code, name, unit, note, value in values
            if value is not None and (code != "taper" or value)
        )

    def _whence(self, note: str) -> tuple[str, str, str]:
        """Source, basis and note of a figure."""
        return (NOTES[note], "", note) if note else (self.standards, self.form.basis, "")

    def _groove(self, below: Fraction) -> Fraction:
        """Width of the groove so far below the pitch line, or of the thread so far above it [mm]."""
        return self.thread.pitch_mm / 2 - 2 * abs(below) * tan_deg(self.flank_deg)

    def _lead_angle(self, diameter_mm: Fraction) -> Fraction:
        return degrees(math.atan2(float(self.lead_mm), float(PI * diameter_mm)))


_AT_MACHINE = {"major", "depth", "compound_feed", "bore", "nut_depth", "effective", "effective_length"}
_FIGURES = (
    ("flank", "flank angle: set compound from the cross slide", "deg", ""),
    ("major", "external: turn to", "mm", ""),
    ("depth", "external: depth", "mm", ""),
    ("compound_feed", "external: feed of the compound for it", "mm", "geometry"),
    ("core", "external: minor diameter", "mm", ""),
    ("crest_flat", "external: width of the crest", "mm", ""),
    ("crest_radius", "external: radius of the crest", "mm", ""),
    ("root_flat", "external: width of the tool's tip", "mm", ""),
    ("root_radius", "external: radius of the tool's tip", "mm", ""),
    ("bore", "internal: bore to", "mm", ""),
    ("nut_depth", "internal: depth", "mm", ""),
    ("nut_major", "internal: major diameter", "mm", ""),
    ("nut_root_flat", "internal: width of the tool's tip", "mm", ""),
    ("nut_root_radius", "internal: radius of the tool's tip", "mm", ""),
    ("effective", "pitch diameter", "mm", ""),
    ("lead_angle", "lead angle at the pitch diameter", "deg", "geometry"),
    ("steepest", "lead angle at the root: side clearance over this", "deg", "practice"),
    ("taper", "side of the taper to the axis", "deg", ""),
    ("effective_length", "length of thread that seals", "mm", ""),
)


def profile_of(thread: NamedThread, starts: int | None = None) -> Profile | None:
    """The figures of a thread; None where its name does not tell its form, as of ``12-8``.

    Parameters
    ----------
    thread : as ``naming.read_name`` gives it
    starts : threads side by side, where the name does not say; None: 1

    Raises GearsearchError for a thread so deep that nothing is left of its diameter.

    >>> from .naming import read_name
    >>> round(float(profile_of(read_name("1/2 BSW")).depth_mm), 3)
    1.355
    """
    if not thread.form:
        return None
    profile = Profile(thread, FORMS[thread.form], thread.pitch_mm * (thread.starts or starts or 1))
    if profile.core_mm <= 0:
        raise GearsearchError(
            f"thread {thread.name} is {float(profile.depth_mm):.3f} mm deep, and nothing is left of its diameter",
            "check size and pitch",
        )
    return profile
