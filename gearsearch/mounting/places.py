"""Where the gears of many trains stand, as ``Judge.place`` says it of one: the same positions, worked out at once."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from ..base.arrays import Floats, Ints
from ..shop.train_columns import NO_GEAR, Trains
from .chains import EPS
from .reading import Positions
from .shape import Shape
from .trials import Trials

_AT_ONCE = 2000  # arrangements times shaft distances: so few that no bracket parts the positions of one arrangement


@dataclass(frozen=True, slots=True)
class Places:
    """Where trains stand, one row each; nan and −1 where there is nothing.

    Parameters
    ----------
    x_mm, y_mm : (T, most) centres of the studs in power order [mm] from the pivot, x toward the other shaft
    slot : (T, most) the slot each stands in, from 1; 0 where the bracket has none
    swing_deg : how far the bracket swings; 0 on a plate with two studs
    head_mm : distance of first and last shaft to set [mm]
    heads_mm : (T, 2) least and greatest at which the train still mounts, see ``Placement``
    idle, idle_shaft, idle_plane : (T, most) gear numbers of the idle partners of joined pieces, the shafts they hang on
        in power order from 0, and their planes
    """

    x_mm: Floats
    y_mm: Floats
    slot: Ints
    swing_deg: Floats
    head_mm: Floats
    heads_mm: Floats
    idle: Ints
    idle_shaft: Ints
    idle_plane: Ints

    @classmethod
    def none(cls, rows: int, studs: int, idle: int) -> Places:
        """Nothing stands yet."""
        at, hangs = np.full((rows, studs), np.nan), np.full((rows, idle), NO_GEAR)
        one, ends = np.full(rows, np.nan), np.full((rows, 2), np.nan)
        slot = np.zeros((rows, studs), np.int64)
        return cls(at, at.copy(), slot, one, one.copy(), ends, hangs, hangs.copy(), hangs.copy())


def places_of(trials: Trials, trains: Trains) -> Places:
    """Where those of the trains stand that mount.

    Parameters
    ----------
    trials : with the geometry of the bracket
    trains : arranged, each with its idlers

    The position of a train is that of ``Judge.place``: of all with the greatest clearance the same middle one.
    """
    assert trials.geometry is not None
    rows = len(trains)
    found = Places.none(rows, trials.geometry.takes, trials.geometry.takes + 2)
    for shape, mine in _by_shape(trials, trains):
        idlers = trains.idlers[mine, : len(shape.places)]
        columns = np.concatenate([trains.gears(shape.pairs)[mine], idlers], axis=1).T
        _place(trials, found, mine, shape, columns)
    return found


def _by_shape(trials: Trials, trains: Trains) -> Iterator[tuple[Shape, Ints]]:
    """The trains that mount, parted by pairs and by the pairs that their idlers stand in."""
    mounts = (trains.pairs > 0) & trains.mounts
    keys = np.column_stack([trains.pairs, trains.idler_pairs])
    for pairs, *padded in np.unique(keys[mounts], axis=0).tolist():
        places = tuple(place for place in padded if place != NO_GEAR)
        mine = np.flatnonzero(mounts & (keys == [pairs, *padded]).all(axis=1))
        yield trials.arrangements.shape(pairs, places), mine


def _place(trials: Trials, found: Places, mine: Ints, shape: Shape, columns: Ints) -> None:
    """Put some trains of one shape where they stand best, with loose gears or with joined pieces."""
    assert trials.geometry is not None
    best = np.full(len(mine), -np.inf)
    step = max(1, _AT_ONCE // len(trials.geometry.limits.heads))
    for way, gears, row in trials.ways(shape, columns):
        for start in range(0, len(row), step):
            positions = Positions.of(trials.geometry, trials.geometry.chains(way, gears[:, start : start + step]))
            if positions is not None:
                chosen = positions.best()
                at = start + positions.owner[chosen]
                better = _better(best, positions.value[chosen], row[at])
                _fill(found, positions, chosen[better], gears[:, at[better]], mine[row[at[better]]])


def _better(best: Floats, value: Floats, row: Ints) -> Ints:
    """The ways that have more room than every way before; of several of one row the last of them, which has most."""
    last: dict[int, int] = {}
    for way, at in enumerate(row.tolist()):
        if value[way] > best[at] + EPS:
            best[at], last[at] = value[way], way
    return np.array(sorted(last.values()), np.int64)


def _fill(found: Places, positions: Positions, chosen: Ints, gears: Ints, rows: Ints) -> None:
    shape, points = positions.shape, positions.turned(chosen)
    slots = np.array([[slot + 1 for slot in where.slots] or [0] * shape.studs for where in positions.ways], np.int64)
    for at in range(1, shape.studs + 1):
        stud = shape.in_power_order(at) - 1
        found.x_mm[rows, stud], found.y_mm[rows, stud] = points[at].real, points[at].imag
        found.slot[rows, stud] = slots[positions.batch[chosen], at - 1]
    found.head_mm[rows], found.heads_mm[rows] = positions.head[chosen], positions.heads(chosen)
    found.swing_deg[rows] = np.degrees(positions.swing[chosen])
    for table in (found.idle, found.idle_shaft, found.idle_plane):
        table[rows] = NO_GEAR
    for number, column in enumerate(range(shape.idle_from, len(shape.seats))):
        seat = shape.seats[column]
        found.idle[rows, number], found.idle_plane[rows, number] = gears[column], seat.plane
        found.idle_shaft[rows, number] = shape.in_power_order(seat.shaft)
