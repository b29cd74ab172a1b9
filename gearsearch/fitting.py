"""The trains chosen for the leads of a list, judged in full and put as answers."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from .answers import Fit
from .box import Box
from .coverage import Best, Setting
from .trains import Train

if TYPE_CHECKING:
    from .mounting import Judge

Key = tuple[object, ...]


def fits_of(setting: Setting, box: Box, best: dict[int, Best]) -> dict[int, Fit]:
    """For each lead the first of its closest trains, judged in full.

    Of trains equally near: the shorter lead, then the fewest gears, idlers, the most clearance, the tooth counts,
    as the search orders them.
    """
    judge = setting.judge(box)
    first: dict[int, tuple[Key, Train]] = {}
    for pairs in sorted({len(sizes) // 2 for chosen in best.values() for sizes in chosen.sets}):
        asked = [(need, sizes) for need, chosen in best.items() for sizes in chosen.sets if len(sizes) == 2 * pairs]
        for need, key, train in _arranged(setting, judge, asked):
            if need not in first or key < first[need][0]:
                first[need] = key, train
    return {need: _fit(setting, judge, need, train) for need, (_, train) in sorted(first.items())}


def _arranged(
    setting: Setting, judge: Judge, asked: list[tuple[int, tuple[int, ...]]]
) -> Iterator[tuple[int, Key, Train]]:
    """Each gear set in its best arrangement, with its place in the order."""
    best = judge.best(np.array([sizes for _, sizes in asked], np.int64), setting.terms.hand)
    for row, (need, sizes) in enumerate(asked):
        train = judge.train(best, row)
        lead = setting.shop.lead(train, setting.route)
        key = (lead, len(sizes), int(best.idlers[row]), -int(best.clearance_um[row]), train.order)
        yield need, key, train


def _fit(setting: Setting, judge: Judge, need: int, train: Train) -> Fit:
    judged = judge.place(train)
    lead_mm = setting.shop.lead(train, setting.route)
    wanted = setting.needs[need]
    return Fit(
        train=judged.train,
        lead_mm=lead_mm,
        error=lead_mm / wanted.wanted_mm - 1,
        hand=judged.hand,
        route=setting.route.name,
        mounts=judged.mounts,
        why=judged.why,
        clearance_mm=judged.clearance_mm,
        placement=judged.placement,
        within=wanted.low_mm <= lead_mm <= wanted.high_mm,
    )
