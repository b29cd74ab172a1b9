"""The rule of thumb as array expressions: how large a gear beside a stud with two gears must be."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

import numpy as np

from ..base.arrays import Floats, Ints
from .chains import EPS
from .gears import Gears
from .shape import Shape

RULE_TEETH = 15  # that the rule of thumb leaves for a shaft's nut; common practice, no source


def asked(shape: Shape, gears: Ints, sizes: Gears) -> Iterator[tuple[int, Floats]]:
    """The column of each gear beside a stud with a driven and a driver, and the pitch radius [mm] that it must pass.

    Parameters
    ----------
    shape : of the arrangements
    gears : gear numbers; idlers may be missing yet, for the rule asks something of them, not by them
    sizes : the sizes
    """
    room = RULE_TEETH * (sizes.tip - sizes.pitch) / 2
    for (before, near), (far, after) in pairwise(shape.meshes):
        if near != far:
            nut = np.maximum(room.take(gears[near]), room.take(gears[far]))
            larger = sizes.pitch.take(gears[far]) - sizes.pitch.take(gears[near])
            yield before, nut + larger
            yield after, nut - larger


def margins(shape: Shape, gears: Ints, sizes: Gears) -> Floats:
    """By how much [mm] the rule is broken, below zero; 0 where it is kept.

    It asks for more, not for as much, and nothing yet of an idler that is missing.
    """
    margin = np.zeros(gears.shape[1])
    for column, radius in asked(shape, gears, sizes):
        if column < len(gears):
            margin = np.minimum(margin, sizes.pitch.take(gears[column]) - radius - 2 * EPS)
    return np.where(margin >= -EPS, 0.0, margin)
