"""The wrap-round template: the helix and the saw cut on the unrolled surface of the blank, at 1:1.

The paper's long way up is the work's axis; its printed face is outside. A right-hand helix then rises to the right.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass

from ...base.errors import GearsearchError

CLEAR_MM = 1.0  # stock that the saw cut leaves on the ramp
TAB_MM = 10.0
MOST_ARC = 1.5 * math.pi  # over a longer arc a flat cut takes next to nothing off
MOST_MM = 2000.0
MOST_LINES = 500
_STEPS = 240

Point = tuple[float, float]
Line = tuple[Point, Point]


@dataclass(frozen=True, slots=True)
class SawCut:
    """A flat cut through a tube that stays clear of a ramp.

    Parameters
    ----------
    slope : tangent of the angle between the cut and a plane square to the axis
    above_mm : height of the cut above the middle of the ramp, where it crosses the axis [mm]
    arc : the ramp's arc [radians]
    """

    slope: float
    above_mm: float
    arc: float

    @property
    def angle_deg(self) -> float:
        """Angle between the cut and a plane square to the axis [degrees]."""
        return math.degrees(math.atan(self.slope))

    def height_mm(self, angle: float, radius_mm: float) -> float:
        """Height over the middle of the ramp [mm], at an angle from it and a radius: a sine on the unrolled tube."""
        return self.above_mm + self.slope * radius_mm * math.sin(angle)


@dataclass(frozen=True, slots=True)
class Template:
    """What is wrapped round the blank.

    Parameters
    ----------
    lead_mm : wanted lead on the work [mm], which is what is drawn
    hand : ``right`` or ``left``
    diameter_mm : diameter of the surface the paper lies on [mm]
    length_mm : length along the axis [mm]
    starts : helices side by side
    inner_mm : inner diameter of a tube with a ramp on its end [mm]; None for anything else
    cut_lead_mm : lead that the train cuts [mm], where it is another one; None where it is the wanted one

    Raises GearsearchError for a paper of more than two metres either way, and for more than 500 turns of
    the helix on it.
    """

    lead_mm: float
    hand: str
    diameter_mm: float
    length_mm: float
    starts: int = 1
    inner_mm: float | None = None
    cut_lead_mm: float | None = None

    def __post_init__(self) -> None:
        if max(self.around_mm, self.length_mm) > MOST_MM:
            raise GearsearchError(
                f"a template of {self.around_mm:.0f} mm around by {self.length_mm:.0f} mm along is too large to draw",
                "give at most 2000 mm either way",
            )
        if self.starts * self.length_mm / self.lead_mm > MOST_LINES:
            raise GearsearchError(
                f"a template of {self.starts * self.length_mm / self.lead_mm:.0f} turns of the helix cannot be drawn",
                f"give a length of at most {MOST_LINES} turns",
            )

    @property
    def around_mm(self) -> float:
        """Once around the surface [mm]."""
        return math.pi * self.diameter_mm

    @property
    def rise(self) -> float:
        """Rise along the axis for each millimetre around: the tangent of the lead angle."""
        return self.lead_mm / self.around_mm

    @property
    def beside_mm(self) -> float:
        """How far to the right of the drawn line that of the train ends, at the upper end [mm]; minus: to the left."""
        if self.cut_lead_mm is None:
            return 0.0
        farther = self.around_mm * self.length_mm * (1 / self.cut_lead_mm - 1 / self.lead_mm)
        return farther if self.hand == "right" else -farther

    def lines(self) -> list[Line]:
        """The helices as straight lines (around, along) [mm], from end to end; cut where the paper's edge is."""
        found = []
        for start in range(self.starts):
            begin = self.around_mm * start / self.starts
            found += [line for line in self._line(begin) if line[0] != line[1]]
        return found

    def _line(self, begin_mm: float) -> Iterator[Line]:
        """One helix, turn after turn, from where it begins at the lower edge."""
        climbed, at = 0.0, begin_mm
        while climbed < self.length_mm - 1e-9:
            far = min(self.around_mm, at + (self.length_mm - climbed) / self.rise)
            yield self._point(at, climbed), self._point(far, climbed + (far - at) * self.rise)
            climbed += (far - at) * self.rise
            at = 0.0

    def _point(self, around_mm: float, along_mm: float) -> Point:
        return (around_mm if self.hand == "right" else self.around_mm - around_mm), along_mm

    def saw_cut(self) -> SawCut | None:
        """The flat cut that takes most off and stays clear of the ramp, on the whole wall; None where none helps.

        Of all planes that rise with the middle of the ramp, the lowest one that is nowhere nearer than
        ``CLEAR_MM`` to it, at the outer or the inner radius; measured along the axis that is ``CLEAR_MM`` / cos of the
        cut's angle. Worked out here, no source.
        """
        arc = min(2 * math.pi * self.length_mm / self.lead_mm, 2 * math.pi / self.starts)
        if self.inner_mm is None or arc > MOST_ARC:
            return None
        outer, inner = self.diameter_mm / 2, self.inner_mm / 2
        climb = self.lead_mm / (2 * math.pi)

        def above(slope: float) -> float:
            highest = max(_highest(climb, slope * radius, arc / 2) for radius in (outer, inner))
            return highest + CLEAR_MM * math.hypot(1, slope)

        slope = _least_of(above, 0.0, 4 * climb / inner)
        return SawCut(slope, above(slope), arc)

    def saw_curves(self, cut: SawCut) -> list[list[Point]]:
        """Where the saw comes out on the outer surface, over each ramp, as (around, along) [mm]."""
        curves = []
        middle = self.lead_mm * cut.arc / (4 * math.pi)
        for start in range(self.starts):
            begin = 2 * math.pi * start / self.starts + cut.arc / 2
            angles = [cut.arc * (i / _STEPS - 0.5) for i in range(_STEPS + 1)]
            radius = self.diameter_mm / 2
            curves.append([self._point((begin + a) * radius, middle + cut.height_mm(a, radius)) for a in angles])
        return curves

    def saw_rounds(self, cut: SawCut) -> list[list[Point]]:
        """Where each of these flat cuts would come out once all around the tube, as (around, along) [mm]."""
        radius, middle = self.diameter_mm / 2, self.lead_mm * cut.arc / (4 * math.pi)
        angles = [2 * math.pi * i / _STEPS for i in range(_STEPS + 1)]
        begins = [2 * math.pi * start / self.starts + cut.arc / 2 for start in range(self.starts)]
        return [
            [self._point(a * radius, middle + cut.height_mm(a - begin, radius)) for a in angles] for begin in begins
        ]


def _highest(climb: float, wave: float, end: float) -> float:
    """The most that climb × angle stands above wave × sin(angle), for angles [radians] from -end to end."""
    angles = [-end, end]
    if wave > climb:
        angles.append(max(-end, -math.acos(climb / wave)))
    return max(climb * angle - wave * math.sin(angle) for angle in angles)


def _least_of(function: Callable[[float], float], low: float, high: float) -> float:
    """Where a function that falls and then rises is least."""
    for _ in range(60):
        c, d = low + (high - low) / 3, high - (high - low) / 3
        low, high = (low, d) if function(c) <= function(d) else (c, high)
    return (low + high) / 2
