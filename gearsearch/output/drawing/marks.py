"""What a picture of the machine is made of: rounds, strokes and words, in its millimetres; x to the right, y up."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from math import cos, hypot, radians, sin

from .papers import POINT_MM

Point = tuple[float, float]
Box = tuple[Point, Point]  # lower left and upper right
LINE = 1.25  # height of a line for the size of its type
UNDER = 9.0  # type of a second line [points]
# Widths of the letters from the blank on, in thousandths of the size of the type: those of the drawing library's own
# font, kept here so that a picture is the same where that library is missing. Heavy letters are at most so much wider.
_IN_ORDER = """
318 401 460 838 636 950 780 275 390 390 500 838 318 361 300 337 636 636 636 636 636 636 636 636 636 636 337
337 838 838 838 531 1000 684 686 698 770 632 575 775 752 295 295 656 557 863 748 787 603 787 695 635 611 732
684 989 685 611 685 390 337 390 838 500 500 613 635 550 635 615 352 635 634 278 278 579 278 974 634 612 635
635 411 521 392 634 592 818 592 592 525 636 337 636 838
"""
_WIDTHS = {chr(32 + place): int(width) for place, width in enumerate(_IN_ORDER.split())}
_WIDEST, _BOLD = 838, 1.17


@dataclass(frozen=True, slots=True)
class Round:
    """A circle.

    Parameters
    ----------
    at, radius : its centre and its radius [mm]
    stroke : ``solid``, ``dashed``, ``dotted`` or ``chain`` (dash and dot)
    weight : thickness of the stroke [points]
    fill : from 0 (black) to 1 (white); None for none
    hatched : whether it is filled with slanting lines
    name : by which a reader of the file finds it
    """

    at: Point
    radius: float
    stroke: str = "solid"
    weight: float = 0.8
    fill: float | None = None
    hatched: bool = False
    name: str = ""

    def box(self, _paper: float) -> Box:
        """Lower left and upper right."""
        (x, y), r = self.at, self.radius
        return (x - r, y - r), (x + r, y + r)


@dataclass(frozen=True, slots=True)
class Stroke:
    """A line through points.

    Parameters
    ----------
    points : two or more
    stroke, weight, fill, name : as of a ``Round``
    closed : whether the last point is joined to the first
    """

    points: tuple[Point, ...]
    stroke: str = "solid"
    weight: float = 0.8
    fill: float | None = None
    closed: bool = False
    name: str = ""

    def box(self, _paper: float) -> Box:
        """Lower left and upper right."""
        xs, ys = zip(*self.points, strict=True)
        return (min(xs), min(ys)), (max(xs), max(ys))


@dataclass(frozen=True, slots=True)
class Words:
    """A line of words on a white ground.

    Parameters
    ----------
    at : the middle of it all
    text : what it says
    size : of the type [points]
    bold : in heavy type
    turned : degrees anticlockwise
    under : a second line below it, in light type of ``UNDER`` points
    """

    at: Point
    text: str
    size: float = 8.0
    bold: bool = False
    turned: float = 0.0
    under: str = ""

    def size_mm(self, paper: float) -> tuple[float, float]:
        """Width and height, not turned, where one millimetre of the paper shows so many of the picture."""
        below = UNDER if self.under else 0.0
        wide = max(_long(self.text) * self.size * (_BOLD if self.bold else 1.0), _long(self.under) * UNDER)
        return wide * POINT_MM * paper, LINE * (self.size + below) * POINT_MM * paper

    def box(self, paper: float) -> Box:
        """Lower left and upper right, where one millimetre of the paper shows so many of the picture."""
        wide, high = self.size_mm(paper)
        c, s = abs(cos(radians(self.turned))), abs(sin(radians(self.turned)))
        half = (wide * c + high * s) / 2, (wide * s + high * c) / 2
        (x, y) = self.at
        return (x - half[0], y - half[1]), (x + half[0], y + half[1])

    def lines(self, paper: float) -> Iterator[tuple[str, float, bool, float]]:
        """Each line, not turned: what it says, its type [points], whether it is heavy, and how high its middle is."""
        half, y = self.size_mm(paper)[1] / 2, self.at[1]
        below = UNDER * POINT_MM * paper * LINE if self.under else 0.0
        if self.text:
            yield self.text, self.size, self.bold, y + below / 2
        if self.under:
            yield self.under, UNDER, False, y - half + below / 2


Mark = Round | Stroke | Words


def _long(text: str) -> float:
    """How wide light words are for the size of their type."""
    return sum(_WIDTHS.get(letter, _WIDEST) for letter in text) / 1000


def box_of(marks: Iterable[Mark], paper: float) -> Box:
    """Lower left and upper right of all marks, where one millimetre of the paper shows so many of theirs."""
    lows, highs = zip(*(mark.box(paper) for mark in marks), strict=True)
    return (min(x for x, _ in lows), min(y for _, y in lows)), (max(x for x, _ in highs), max(y for _, y in highs))


def line(*points: Point, stroke: str = "solid", weight: float = 0.8, name: str = "") -> Stroke:
    """A line through points."""
    return Stroke(points, stroke, weight, name=name)


def arc(centre: Point, radius: float, start_deg: float, end_deg: float) -> tuple[Point, ...]:
    """Points of an arc, anticlockwise where the end is the greater."""
    steps = max(2, int(abs(end_deg - start_deg) / 3))
    return tuple(away(centre, radius, start_deg + (end_deg - start_deg) * i / steps) for i in range(steps + 1))


def away(centre: Point, radius: float, way_deg: float) -> Point:
    """The point so far from a centre, in a direction."""
    return centre[0] + radius * cos(radians(way_deg)), centre[1] + radius * sin(radians(way_deg))


def between(a: Point, b: Point, share: float) -> Point:
    """The point so far on the way from one to another: 0 at the first, 1 at the second."""
    return a[0] + (b[0] - a[0]) * share, a[1] + (b[1] - a[1]) * share


def arrowhead(tip: Point, toward: Point, length: float) -> Stroke:
    """A filled head that ends at ``tip`` and points along the direction ``toward``."""
    size = hypot(*toward)
    ux, uy = toward[0] / size, toward[1] / size
    back, half = (tip[0] - length * ux, tip[1] - length * uy), 0.3 * length
    corners = (tip, (back[0] - half * uy, back[1] + half * ux), (back[0] + half * uy, back[1] - half * ux))
    return Stroke(corners, weight=0.1, fill=0.0, closed=True)


def headed(points: tuple[Point, ...], length: float, weight: float, name: str = "") -> tuple[Stroke, Stroke]:
    """A line with an arrowhead at its last point."""
    (x1, y1), (x2, y2) = points[-2:]
    return Stroke(points, weight=weight, name=name), arrowhead((x2, y2), (x2 - x1, y2 - y1), length)


def overlap(a: Box, b: Box) -> bool:
    """Whether two boxes share any room."""
    across = max(a[0][0], b[0][0]) < min(a[1][0], b[1][0])
    return across and max(a[0][1], b[0][1]) < min(a[1][1], b[1][1])


def distances(box: Box, point: Point) -> tuple[float, float]:
    """How far the nearest and the farthest place of a box are from a point [mm]."""
    (x0, y0), (x1, y1) = box
    x, y = point
    near = hypot(max(x0 - x, x - x1, 0.0), max(y0 - y, y - y1, 0.0))
    return near, hypot(max(x - x0, x1 - x), max(y - y0, y1 - y))
