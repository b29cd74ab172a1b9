"""The cut itself: offset and dish, table swing, tilt, cutter, blank and depth, feed, run-out, backlash.

Lengths in mm. The machine is seen as the operator sees it: the work lies left to right along the table, the column
is behind it. What depends on sight is said by what one sees.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction

from ..base.document import strong
from ..base.errors import GearsearchError
from ..base.units import PI, cos_deg, significant, sin_deg
from ..work.helix import HelicalGear

WHOLE_DEPTH = Fraction(9, 4)  # × module: the full-depth basic rack, from memory
SHALLOW_DEPTH = Fraction("2.157")
FARTHEST_SWING_DEG = 45  # of most tables; common practice, no source
CUTTER_RANGES = ((12, 13), (14, 16), (17, 20), (21, 25), (26, 34), (35, 54), (55, 134), (135, None))  # from memory
FLANKS = ("end", "inner")  # of a ramp on the end of a tube: it faces the end of the work, or away from it
_STEPS = 400


@dataclass(frozen=True, slots=True)
class EndRamp:
    """A ramp on the end of a tube, cut with the side of an end mill whose axis points at the work's axis.

    Parameters
    ----------
    lead_mm : lead of the ramp [mm]
    inner_radius_mm, outer_radius_mm : inner and outer radius of the wall [mm]
    cutter_radius_mm : radius of the end mill [mm]
    true_radius_mm : radius at which the offset makes the cut true [mm]

    Limits: the cutter is a plain cylinder, longer than the wall is thick and thinner than the wall's inner radius.
    """

    lead_mm: float
    inner_radius_mm: float
    outer_radius_mm: float
    cutter_radius_mm: float
    true_radius_mm: float

    def __post_init__(self) -> None:
        if not 0 < self.inner_radius_mm < self.outer_radius_mm:
            raise GearsearchError(
                f"a tube cannot be {2 * self.inner_radius_mm:g} mm inside and {2 * self.outer_radius_mm:g} mm outside",
                "give the smaller diameter first, and both above zero, as in --wall 36mm 60mm",
            )
        if not self.inner_radius_mm <= self.true_radius_mm <= self.outer_radius_mm:
            raise GearsearchError(
                f"diameter {2 * self.true_radius_mm:g} mm is not on the wall from {2 * self.inner_radius_mm:g} mm to "
                f"{2 * self.outer_radius_mm:g} mm",
                "choose a diameter on the wall",
            )
        if not 0 < self.cutter_radius_mm < self.inner_radius_mm:
            cutter, bore = 2 * self.cutter_radius_mm, 2 * self.inner_radius_mm
            raise GearsearchError(
                f"an end mill of {cutter:g} mm does not go into a tube of {bore:g} mm inside",
                "choose a cutter thinner than the bore",
            )

    @property
    def offset_mm(self) -> float:
        """How far the cutter stands off the work's axis [mm]: cutter radius × sin(lead angle at the true radius)."""
        return self.cutter_radius_mm * math.sin(self.slope(self.true_radius_mm))

    def slope(self, radius_mm: float) -> float:
        """Lead angle at a radius [radians]."""
        return math.atan2(self.lead_mm, 2 * math.pi * radius_mm)

    def dish_mm(self, offset_mm: float) -> float:
        """How far the ramp is from straight across the wall [mm], cut with such an offset; minus is the wrong side.

        The true envelope of the turning cutter: at each radius the lowest place that the cutter's side reaches.
        Worked out here; near the closed form r / cos λ − y tan λ, which holds for small slopes.
        """
        wall = self.outer_radius_mm - self.inner_radius_mm
        heights = [self._height(self.inner_radius_mm + wall * i / 40, offset_mm) for i in range(41)]
        return max(heights) - min(heights)

    def _height(self, radius_mm: float, offset_mm: float) -> float:
        """Height of the cut surface at a radius, on the line through the work's axis."""
        reach = self.cutter_radius_mm + abs(offset_mm)
        widest = math.asin(min(1.0, reach / radius_mm))

        def side(angle: float) -> float:
            across = radius_mm * math.sin(angle) + offset_mm
            inside = self.cutter_radius_mm**2 - across**2
            return math.inf if inside < 0 else -self.lead_mm * angle / (2 * math.pi) - math.sqrt(inside)

        return _least(side, -widest, widest)


def _least(function: Callable[[float], float], low: float, high: float) -> float:
    """The least value between two ends: the best of many steps, then closed in on."""
    step = (high - low) / _STEPS
    at = min((low + step * i for i in range(_STEPS + 1)), key=function)
    a, b = max(low, at - step), min(high, at + step)
    for _ in range(60):
        c, d = a + (b - a) / 3, b - (b - a) / 3
        a, b = (a, d) if function(c) <= function(d) else (c, b)
    return min(function(at), function((a + b) / 2))


def offset_side(hand: str, flank: str = "end") -> str:
    """To which side the cutter is offset, as one looks straight at the end face with the cutter above it.

    The cutter touches the ramp toward the high side, so it stands off toward the low side. On a right-hand ramp
    that faces the end the low side is to the right; it changes with the hand, and for the flank that faces away.
    Worked out here, and checked in three dimensions by the tests.

    Parameters
    ----------
    hand : ``right`` or ``left``
    flank : ``end`` (the ramp faces the end of the work) or ``inner`` (it faces away from it)
    """
    right = (hand == "right") == (flank == "end")
    return "right" if right else "left"


def swing_side(hand: str) -> str:
    """Which way the table of a universal mill is swung for a disc cutter on a horizontal arbor above the work.

    Right-hand helix: the right-hand end of the table away from the operator. Common practice, no source; checked in
    three dimensions by the tests.
    """
    return "away from you, toward the column" if hand == "right" else "toward you, away from the column"


def virtual_teeth(gear: HelicalGear) -> Fraction:
    """The tooth count that chooses the cutter of a helical gear: teeth / cos³ β (common practice, no source)."""
    return gear.teeth / cos_deg(gear.helix_angle_deg) ** 3


def cutter_range(teeth: Fraction) -> tuple[int, int | None] | None:
    """The tooth counts of that cutter of the usual set of eight which serves a tooth count, first and last.

    A cutter is true for the first of its counts and serves from there on, so a count between two ranges takes the
    lower. None below 12 teeth, which no cutter of the set serves; the last of 135 and more is a rack's (None).
    From memory.

    Parameters
    ----------
    teeth : tooth count of a spur gear; of a helical gear its virtual teeth
    """
    serving = [cutter for cutter in CUTTER_RANGES if cutter[0] <= teeth]
    return serving[-1] if serving else None


def cutter_number(counts: tuple[int, int | None]) -> int:
    """The number stamped on the cutter of these tooth counts: No. 1 from 135 to a rack, No. 8 for 12 and 13.

    Some sets, mostly by module, are numbered from the other end: 9 less this. From memory.
    """
    return len(CUTTER_RANGES) - CUTTER_RANGES.index(counts)


def tilt_change_mm(geared_lead_mm: Fraction, tilt_deg: Fraction, wrong_deg: Fraction) -> Fraction:
    """How much longer the lead on the work gets [mm] when the head is tilted by so much too far.

    Geared lead × (sin of the angle it stands at − sin of the angle it should stand at); the sines are a float's.
    """
    return geared_lead_mm * (sin_deg(tilt_deg + wrong_deg) - sin_deg(tilt_deg))


def turn_deg(lead_mm: Fraction, length_mm: Fraction) -> Fraction:
    """How far the work turns over a length of travel [degrees]: 360 × length / lead, exact."""
    return 360 * length_mm / lead_mm


def blank_diameter_mm(gear: HelicalGear) -> Fraction:
    """Outside diameter of the blank [mm]: pitch diameter + 2 normal modules (full depth, from memory)."""
    return gear.pitch_diameter_mm + 2 * gear.normal_module_mm


def tooth_depth_mm(gear: HelicalGear) -> Fraction:
    """Whole depth of the tooth [mm]: 2.25 normal modules (full-depth basic rack, from memory)."""
    return WHOLE_DEPTH * gear.normal_module_mm


def shallow_depth_mm(gear: HelicalGear) -> Fraction:
    """Whole depth that many form cutters of 14½° are made for [mm]: 2.157 normal modules (from memory)."""
    return SHALLOW_DEPTH * gear.normal_module_mm


def feed_factor(lead_mm: Fraction, diameter_mm: Fraction) -> float:
    """How much faster the cutter goes along the groove than the table does: √(1 + (π d / lead)²)."""
    return math.sqrt(1 + float(PI * diameter_mm / lead_mm) ** 2)


def feed_words(factor: float, along: str) -> str:
    """How fast the cutter goes and what is therefore put on the table, each with two digits that count or more.

    Parameters
    ----------
    factor : how many times as fast as the table the cutter goes
    along : what it goes along
    """
    times, share = significant(Fraction(factor), 2), significant(Fraction(100 / factor), 0)
    fast = f"along the {along} it goes {times} times as fast as the table"
    return f"Set the table feed to {strong(f'{share} %')} of the cutter's feed: {fast}."


def lost_motion_mm(lead_mm: Fraction, diameter_mm: Fraction, backlash_mm: Fraction) -> Fraction:
    """How far backlash of the table moves the groove around the work [mm]: π d × backlash / lead."""
    return PI * diameter_mm * backlash_mm / lead_mm


def cam_feed_factor(rise_mm: Fraction, geared_mm: Fraction, diameter_mm: Fraction) -> float:
    """How much faster the cutter goes along a cam's outline than the table does: √((π d)² + rise²) / geared lead.

    Parameters
    ----------
    rise_mm : of the cam in one turn [mm]
    geared_mm : lead of the gears, which the table goes in one turn of the tilted head [mm]
    diameter_mm : of the cam [mm]
    """
    return math.hypot(float(PI * diameter_mm), float(rise_mm)) / float(geared_mm)


def slide_mm(rise_mm: Fraction, geared_mm: Fraction) -> float:
    """How far a cam slides along the cutter in one turn [mm]: √(geared lead² − rise²), which is geared lead × cos α."""
    return math.sqrt(float((geared_mm - rise_mm) * (geared_mm + rise_mm)))


def run_out_mm(
    cutter_diameter_mm: Fraction, depth_mm: Fraction, swing_deg: Fraction | None, width_mm: Fraction = Fraction(0)
) -> float:
    """Room a disc cutter needs beyond each end of the cut, along the work's axis, for all of it to be clear [mm].

    √(depth × (diameter − depth)) × cos(swing) + width / 2 × sin(swing): what a flat piece of work would need, which
    no round one exceeds (worked out here, and checked in three dimensions by the tests).

    Parameters
    ----------
    cutter_diameter_mm, depth_mm : of the cutter and of the cut [mm]
    swing_deg : angle between the cutter and the work's axis [degrees]; None where it is not known: the most that any
        swing takes
    width_mm : of the cutter [mm]; 0 for a thin one, to which ``width_share`` of the width is to be added

    Raises GearsearchError when the depth is not below the cutter's radius.
    """
    if not 0 < 2 * depth_mm < cutter_diameter_mm:
        raise GearsearchError(
            f"a cutter of {float(cutter_diameter_mm):g} mm cannot cut {float(depth_mm):g} mm deep",
            "give a depth below the cutter's radius",
        )
    along, across = math.sqrt(float(depth_mm * (cutter_diameter_mm - depth_mm))), float(width_mm / 2)
    if swing_deg is None:
        return math.hypot(along, across)
    return along * float(cos_deg(swing_deg)) + across * float(sin_deg(swing_deg))


def width_share(swing_deg: Fraction) -> Fraction:
    """How much of a disc cutter's width lies farther out along the work's axis than its middle: sin(swing) / 2."""
    return sin_deg(swing_deg) / 2


def rounded_up(value: Fraction, step: Fraction) -> Fraction:
    """The least multiple of a step that is no less: room is never rounded down."""
    return step * math.ceil(value / step)
