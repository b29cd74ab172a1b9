"""The triangle of pivot, last stud and other shaft: the swing of a bracket follows from its three sides."""

from __future__ import annotations

import numpy as np

from .chains import EPS, Coordinate, Floats

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
    sides = above(reaches) * above(distance + (last - stands)) * above(distance + (stands - last))
    high = np.sqrt(sides * (distance + stands + last)) / (2 * stands)
    along = (distance * distance + (stands - last) * (stands + last)) / (2 * stands)
    ux, uy = x / stands, y / stands
    return ux * along + side * uy * high, uy * along - side * ux * high, reaches, short


def above(length: Floats) -> Floats:
    """A length whose root is wanted: 0 where it is negative, or no more than what rounding leaves of a zero."""
    return np.where(length > _LAST_BITS, length, 0.0)
