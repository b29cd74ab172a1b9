"""The slots of a bracket as they are drawn."""

from __future__ import annotations

from fractions import Fraction
from math import atan2, degrees, hypot

from ...shop.brackets.slots import SlotLine, Slots
from ...shop.quadrant import Quadrant
from .marks import Point, arc, away


def slot_outline(slot: SlotLine, half: float, turned_deg: float = 0.0) -> tuple[Point, ...]:
    """The outline of a slot.

    Parameters
    ----------
    slot : the line of the studs' centres
    half : half of its width [mm]
    turned_deg : how far the bracket is swung round the pivot
    """
    start, end = (_turned(point, turned_deg) for point in (slot.start_mm, slot.end_mm))
    if slot.centre_mm is None:
        return straight_outline(start, end, half)
    centre = _turned(slot.centre_mm, turned_deg)
    first, last = (degrees(atan2(y - centre[1], x - centre[0])) for x, y in (start, end))
    last += 360 * (last <= first)
    radius = sum(slot.radii_mm) / 2
    outer, inner = arc(centre, radius + half, first, last), arc(centre, max(0.0, radius - half), last, first)
    return (*outer, *arc(end, half, last, last + 180), *inner, *arc(start, half, first + 180, first + 360))


def straight_outline(start: Point, end: Point, half: float) -> tuple[Point, ...]:
    """The outline of a straight slot from the first to the last place of a stud, half as wide as given [mm]."""
    way = degrees(atan2(end[1] - start[1], end[0] - start[0]))
    return (*arc(start, half, way + 90, way + 270), *arc(end, half, way - 90, way + 90))


def middle_line(slot: SlotLine) -> tuple[Point, ...]:
    """The line that a stud's centre stands on, as points along it; the bracket not swung."""
    start, end = (_turned(point, 0.0) for point in (slot.start_mm, slot.end_mm))
    if slot.centre_mm is None:
        return start, end
    centre = _turned(slot.centre_mm, 0.0)
    first, last = (degrees(atan2(y - centre[1], x - centre[0])) for x, y in (start, end))
    return tuple(arc(centre, sum(slot.radii_mm) / 2, first, last + 360 * (last <= first)))


def middle_of(slot: SlotLine) -> Point:
    """The middle of a slot's line."""
    (x0, y0), (x1, y1) = (tuple(map(float, end)) for end in (slot.start_mm, slot.end_mm))
    if slot.centre_mm is None:
        return (x0 + x1) / 2, (y0 + y1) / 2
    x, y = map(float, slot.centre_mm)
    first, last = (degrees(atan2(b - y, a - x)) for a, b in ((x0, y0), (x1, y1)))
    return away((x, y), sum(slot.radii_mm) / 2, (first + last + 360 * (last <= first)) / 2)


def lines_of(quadrant: Quadrant) -> tuple[SlotLine, ...]:
    """The slots of a quadrant; none of a plate."""
    bracket = quadrant.bracket
    if isinstance(bracket, Slots):
        return bracket.lines
    if not bracket.swings_whole:
        return ()
    near, far = bracket.reach_mm
    return (SlotLine((near, Fraction(0)), (far, Fraction(0)), min(bracket.studs, Slots.most_in_file)),)


def _turned(point: tuple[Fraction, Fraction], degrees_: float) -> Point:
    x, y = float(point[0]), float(point[1])
    return away((0, 0), hypot(x, y), degrees(atan2(y, x)) + degrees_)
