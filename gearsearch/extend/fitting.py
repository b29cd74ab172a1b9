"""The trains chosen for the leads of a list, judged in full and put as answers."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from math import prod
from typing import TYPE_CHECKING

import numpy as np

from ..search.answers import Solution
from ..shop.pool import GearPool
from ..shop.trains import Train
from .coverage import Best, Setting

if TYPE_CHECKING:
    from ..mounting.judge import Judge
    from ..shop.train_columns import Trains

Key = tuple[object, ...]


def fits_of(setting: Setting, box: GearPool, best: dict[int, Best]) -> dict[int, Solution]:
    """For each lead the first of its closest trains, judged in full.

    Of trains equally near: the shorter lead, then the fewest gears, idlers, the most clearance, the tooth counts,
    as the search orders them.
    """
    judge = setting.judge(box)
    first: dict[int, tuple[Key, Trains, int]] = {}
    for pairs in sorted({len(sizes) // 2 for chosen in best.values() for sizes in chosen.sets}):
        asked = [(need, sizes) for need, chosen in best.items() for sizes in chosen.sets if len(sizes) == 2 * pairs]
        arranged = judge.best(np.array([sizes for _, sizes in asked], np.int64), setting.terms.hand)
        for row, ((need, _), key) in enumerate(zip(asked, _keys(setting, box, arranged), strict=True)):
            if need not in first or key < first[need][0]:
                first[need] = key, arranged, row
    return {
        need: _fit(setting, judge, need, judge.train(arranged, row))
        for need, (_, arranged, row) in sorted(first.items())
    }


def _keys(setting: Setting, box: GearPool, best: Trains) -> Iterator[Key]:
    """Where each arrangement stands in the order."""
    teeth = np.array(box.teeth, np.int64)
    counts = [teeth[sizes].tolist() for sizes in (best.drivers, best.driven)]
    for drivers, driven, key in zip(*counts, best.order_keys(box).tolist(), strict=True):
        yield setting.drive.lead_mm(Fraction(prod(driven), prod(drivers))), len(drivers), *key


def _fit(setting: Setting, judge: Judge, need: int, train: Train) -> Solution:
    judged = judge.place(train)
    lead_mm = setting.shop.lead(train, setting.route)
    part = setting.needs[need]
    return Solution.of(judged, lead_mm, part.lead_mm, setting.route.name, part.allowed_mm)
