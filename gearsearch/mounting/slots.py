"""Where a circle cuts another or a slot, in the bracket's own frame: places of studs, and of the other shaft."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import hypot
from typing import NamedTuple

import numpy as np

from ..base.arrays import Floats
from .chains import EPS, Coordinate

_ROUND_ITSELF = 1e-6  # mm; an arc whose centre is as near to the shaft before holds a stud anywhere, or nowhere
_LAST_BITS = 1e-11  # mm
_NO_TRIANGLE = 1e-6  # mm; by how much a stud on the pivot fails where the other sides are alike


def far_shaft(
    x: Coordinate, y: Coordinate, last: Floats, distance: Coordinate, side: int
) -> tuple[Floats, Floats, Floats, Floats]:
    """Where the other shaft stands in the bracket's own frame, and by how much the triangle closes [mm].

    Parameters
    ----------
    x, y : the last stud in the bracket's frame, the pivot at its origin
    last : from that stud to the other shaft
    distance : from the pivot to the other shaft
    side : 1 where the stud is to stand on the positive side of the line of the shafts, −1 for the mirror image

    Returns x, y, by how much the sides are long enough, and by how much none is too long. A stud on the pivot makes no
    triangle, for it gives no direction: it counts as too long, and x and y are made up. The height comes from
    Heron's formula in Kahan's order ("Miscalculating Area and Angles of a Needle-like Triangle", 2000; from memory), so
    that studs nearly in line lose no figures.
    """
    stands = np.hypot(x, y)
    reaches, short = (stands + last) - distance, distance - np.abs(stands - last)
    if stands.min(initial=np.inf) < EPS:
        short, stands = short - _NO_TRIANGLE * (stands < EPS), np.maximum(stands, EPS)
    sides = _above(reaches) * _above(distance + (last - stands)) * _above(distance + (stands - last))
    high = np.sqrt(sides * (distance + stands + last)) / (2 * stands)
    along = (stands * stands + (distance - last) * (distance + last)) / (2 * stands)
    ux, uy = x / stands, y / stands
    return ux * along + side * uy * high, uy * along - side * ux * high, reaches, short


def _above(length: Floats) -> Floats:
    """A length whose root is wanted: 0 where it is negative, or no more than what rounding leaves of a zero."""
    return np.where(length > _LAST_BITS, length, 0.0)


class Place(NamedTuple):
    """Where a circle cuts the line of a slot.

    Parameters
    ----------
    x, y : the place [mm]; where the circle misses the line, the point of the line next to it
    begins, ends : how far along the slot it is from where the slot begins, and from where it ends [mm]
    cuts : by how much the circle reaches the line [mm]
    """

    x: Floats
    y: Floats
    begins: Floats
    ends: Floats
    cuts: Floats


@dataclass(frozen=True, slots=True)
class Straight:
    """A straight slot: where a stud's centre can stand at its two ends [mm].

    Parameters
    ----------
    start, end : (x, y) from the pivot
    studs : how many studs it takes
    outward : take only the place farther along: right where the slot is the only one and points at the pivot
    """

    start: tuple[float, float]
    end: tuple[float, float]
    studs: int
    outward: bool = False

    def places(self, x: Coordinate, y: Coordinate, away: Floats) -> Iterator[Place]:
        """Where a stud can stand that is ``away`` from a point."""
        (x0, y0), (x1, y1) = self.start, self.end
        length = hypot(x1 - x0, y1 - y0)
        ux, uy = (x1 - x0) / length, (y1 - y0) / length
        foot = (x - x0) * ux + (y - y0) * uy
        if self.outward:  # every point asked about is in line with it
            yield self._place(foot + away, away)
            return
        aside = np.abs((x - x0) * uy - (y - y0) * ux)
        cuts = away - aside
        half = np.sqrt(_above(cuts) * (away + aside))
        yield self._place(foot + half, cuts)
        yield self._place(foot - half, cuts)

    def _place(self, along: Floats, cuts: Floats) -> Place:
        (x0, y0), (x1, y1) = self.start, self.end
        length = hypot(x1 - x0, y1 - y0)
        ux, uy = (x1 - x0) / length, (y1 - y0) / length
        return Place(x0 + along * ux, y0 + along * uy, along, length - along, cuts)


@dataclass(frozen=True, slots=True)
class Arc:
    """A curved slot: part of a circle on which a stud's centre can stand [mm], counter-clockwise.

    Parameters
    ----------
    start, end, centre : (x, y) from the pivot; the radius is the mean of both ends'
    studs : how many studs it takes

    Limits of validity: an arc round the very shaft before, by just the distance asked, is taken to hold no stud.
    """

    start: tuple[float, float]
    end: tuple[float, float]
    centre: tuple[float, float]
    studs: int

    def places(self, x: Coordinate, y: Coordinate, away: Floats) -> Iterator[Place]:
        """Where a stud can stand that is ``away`` from a point."""
        x0, y0 = self.centre
        radius = (hypot(self.start[0] - x0, self.start[1] - y0) + hypot(self.end[0] - x0, self.end[1] - y0)) / 2
        around = np.hypot(x - x0, y - y0) < _ROUND_ITSELF
        for side in (-1, 1):
            px, py, reaches, short = far_shaft(x - x0, y - y0, away, radius, side)
            begins, ends = self._along(px, py, radius)
            yield Place(x0 + px, y0 + py, begins, ends, np.where(around, -_ROUND_ITSELF, np.minimum(reaches, short)))

    def _along(self, px: Floats, py: Floats, radius: float) -> tuple[Floats, Floats]:
        """How far a point on the circle is from both ends, along it; to the nearer side where it is not between."""
        x0, y0 = self.centre
        start = np.arctan2(self.start[1] - y0, self.start[0] - x0)
        end = np.arctan2(self.end[1] - y0, self.end[0] - x0)
        half = (end - start) % (2 * np.pi) / 2
        off = (np.arctan2(py, px) - start - half + np.pi) % (2 * np.pi) - np.pi  # from the middle of the arc
        return radius * (half + off), radius * (half - off)


Slot = Straight | Arc
