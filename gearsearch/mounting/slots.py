"""Slots of a bracket, in its own frame: where a stud can stand that is some way from the shaft before it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import hypot
from typing import NamedTuple

import numpy as np

from .chains import Coordinate, Floats
from .closing import above

_ROUND_ITSELF = 1e-6  # mm; an arc whose centre is as near to the shaft before holds a stud anywhere, or nowhere


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
        half = np.sqrt(above(cuts) * (away + aside))
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
        dx, dy = x - x0, y - y0
        far = np.hypot(dx, dy)
        own = np.maximum(far, _ROUND_ITSELF)
        ex, ey = dx / own, dy / own
        outside, inside = radius + away - far, far - np.abs(radius - away)
        cuts = np.where(far < _ROUND_ITSELF, -_ROUND_ITSELF, np.minimum(outside, inside))
        along = np.clip((own * own + (radius - away) * (radius + away)) / (2 * own), -radius, radius)
        sides = above(outside) * above(far + (radius - away)) * above(far + (away - radius)) * (radius + away + far)
        half = np.sqrt(sides) / (2 * own)
        for way in (1, -1):
            px, py = along * ex - way * half * ey, along * ey + way * half * ex
            begins, ends = self._along(px, py, radius)
            yield Place(x0 + px, y0 + py, begins, ends, cuts)

    def _along(self, px: Floats, py: Floats, radius: float) -> tuple[Floats, Floats]:
        """How far a point on the circle is from both ends, along it; to the nearer side where it is not between."""
        x0, y0 = self.centre
        start = np.arctan2(self.start[1] - y0, self.start[0] - x0)
        end = np.arctan2(self.end[1] - y0, self.end[0] - x0)
        half = (end - start) % (2 * np.pi) / 2
        off = (np.arctan2(py, px) - start - half + np.pi) % (2 * np.pi) - np.pi  # from the middle of the arc
        return radius * (half + off), radius * (half - off)


Slot = Straight | Arc
