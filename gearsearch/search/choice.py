"""The best train of each of many leads: one that mounts, of the fewest gears, then in the judge's order."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ..base.arrays import Ints
from ..shop.train_columns import NO_GEAR, Trains

if TYPE_CHECKING:
    from ..mounting.judge import Judge

MOST_IDLERS = 8
_COMPILED_FROM = 20_000  # rows; from there on the compiled loop is ten times as fast, its loading forgotten


def best_of_each(judge: Judge, trains: Trains, hand: str, leads: int, most: int, others: bool = False) -> Trains:
    """The best train of each lead for one hand, one row a lead; no pairs where none mounts.

    Parameters
    ----------
    judge : says what mounts
    trains : all trains of each lead, as the catalogue lists them; ``asked`` tells the lead, from 0
    hand : ``right``, ``left`` or ``either``
    leads : how many leads there are
    most : most pairs of a train, for the width of the columns
    others : where none mounts, the first of the fewest gears all the same

    Of the trains of one lead the best is the first in the documented order: mounting, fewest gears, fewest idlers,
    most clearance, then the tooth counts in power order.
    """
    best = no_trains(leads, most, hand)
    for pairs in np.unique(trains.pairs).tolist():
        rows = np.flatnonzero((trains.pairs == pairs) & ~best.mounts[trains.asked])
        if len(rows):
            _choose(judge, trains.gears(pairs)[rows], trains.asked[rows], best, others)
    return best


def no_trains(leads: int, most: int, hand: str = "either") -> Trains:
    """A row for each of so many leads, and no train in any."""
    gears, idlers = np.full((leads, most), NO_GEAR, np.int16), np.full((leads, MOST_IDLERS), NO_GEAR, np.int16)
    return Trains(
        pairs=np.zeros(leads, np.int16),
        drivers=gears,
        driven=gears.copy(),
        mounts=np.zeros(leads, np.bool_),
        idlers=idlers,
        idler_pairs=idlers.copy(),
        clearance_um=np.full(leads, -1, np.int32),
        hand=hand,
    )


def _choose(judge: Judge, gears: Ints, asked: Ints, best: Trains, others: bool) -> None:
    """Judge gear sets of one number of pairs, and keep the best of each lead."""
    if judge.plain:
        rows = first_of_each(asked, gears, len(best))
        gears, asked = gears[rows], asked[rows]
    if others or judge.plain:
        arranged = judge.best(gears, best.hand)
    else:
        arranged = judge.best_of_each(gears, asked, best.hand)
        asked = arranged.asked
    rows = np.flatnonzero(arranged.mounts)
    rows = rows[first_of_each(asked[rows], arranged.order_keys(judge.pool)[rows], len(best))]
    keep(judge, arranged, rows, best, asked[rows])
    if others:
        rows = np.flatnonzero(best.pairs[asked] == 0)
        rows = rows[first_of_each(asked[rows], arranged.order_keys(judge.pool)[rows], len(best))]
        keep(judge, arranged, rows, best, asked[rows])


def keep(judge: Judge, arranged: Trains, rows: Ints, best: Trains, leads: Ints) -> None:
    """Write arranged trains down as the best of some leads; without geometry no clearance is known."""
    pairs, idlers = arranged.drivers.shape[1], arranged.idlers.shape[1]
    best.pairs[leads] = pairs
    best.drivers[leads, :pairs] = arranged.drivers[rows]
    best.driven[leads, :pairs] = arranged.driven[rows]
    best.mounts[leads] = arranged.mounts[rows]
    best.idlers[leads, :idlers] = arranged.idlers[rows]
    best.idler_pairs[leads, :idlers] = arranged.idler_pairs[rows]
    if judge.mode == "geometry":
        best.clearance_um[leads] = arranged.clearance_um[rows]


def first_of_each(asked: Ints, keys: Ints, leads: int) -> Ints:
    """The rows that are the first of their lead by their keys, compared from the left; by ascending lead."""
    if len(asked) < _COMPILED_FROM:
        order = np.lexsort([*keys.T[::-1], asked])
        return order[np.flatnonzero(np.diff(asked[order], prepend=-1))]
    from . import kernels

    best = np.full(leads, -1, np.int64)
    kernels.first_of_each(asked, np.ascontiguousarray(keys), best)
    rows: Ints = best[best >= 0]
    return rows
