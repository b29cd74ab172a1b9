"""Where the gears of many trains stand, as ``Judge.place`` says it of one: the same positions, worked out at once."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from ..shop.train_columns import Trains
from .bracket import positions
from .chains import EPS, Chains, Floats, Ints
from .geometry import Geometry, middle, run
from .shape import Shape, shape_of
from .standing import Standing
from .trials import Trials

_AT_ONCE = 2000  # arrangements times shaft distances: so few that no bracket parts the positions of one arrangement
NONE = -1


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
        at, hangs = np.full((rows, studs), np.nan), np.full((rows, idle), NONE)
        one, ends = np.full(rows, np.nan), np.full((rows, 2), np.nan)
        slot = np.zeros((rows, studs), np.int64)
        return cls(at, at.copy(), slot, one, one.copy(), ends, hangs, hangs.copy(), hangs.copy())


class _Stood(NamedTuple):
    """Arrangements of one shape at their best positions, the rows last: shafts and slots counted from the pivot."""

    value: Floats
    head: Floats
    heads: Floats
    swing: Floats
    points: NDArray[np.complex128]
    slots: Ints

    @classmethod
    def none(cls, studs: int, rows: int) -> _Stood:
        """Nothing stands yet."""
        value, zero = np.full(rows, -np.inf), np.zeros(rows)
        points, slots = np.zeros((studs + 2, rows), np.complex128), np.zeros((studs, rows), np.int64)
        return cls(value, zero, np.zeros((2, rows)), zero.copy(), points, slots)

    def take(self, rows: Ints) -> _Stood:
        """Some of the rows."""
        one = self.value[rows], self.head[rows], self.heads[:, rows], self.swing[rows]
        return _Stood(*one, self.points[:, rows], self.slots[:, rows])


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
    found = Places.none(rows, trials.geometry.bracket.takes, trials.geometry.bracket.takes + 2)
    for shape, places, mine in _by_shape(trials, trains):
        idlers = len(places)
        columns = np.concatenate([trains.gears(shape.pairs)[mine], trains.idlers[mine, :idlers]], axis=1).T
        _place(trials, found, mine, [(shape, columns, np.arange(len(mine)))], places)
    return found


def _by_shape(trials: Trials, trains: Trains) -> Iterator[tuple[Shape, tuple[int, ...], Ints]]:
    """The trains that mount, parted by pairs and by the pairs that their idlers stand in."""
    mounts = (trains.pairs > 0) & trains.mounts
    keys = np.column_stack([trains.pairs, trains.idler_pairs])
    lister = trials.arrangements
    for pairs, *padded in np.unique(keys[mounts], axis=0).tolist():
        places = tuple(place for place in padded if place != NONE)
        mine = np.flatnonzero(mounts & (keys == [pairs, *padded]).all(axis=1))
        yield shape_of(pairs, places, lister.planes, pivot_last=lister.pivot_last), places, mine


def _place(
    trials: Trials, found: Places, mine: Ints, ways: list[tuple[Shape, Ints, Ints]], places: tuple[int, ...]
) -> None:
    """Put some trains of one shape where they stand best, with loose gears or with joined pieces."""
    (shape, columns, _) = ways[0]
    if trials.joining is not None:
        ways = list(trials.joining.ways(places, shape, columns))
    best = np.full(len(mine), -np.inf)
    assert trials.geometry is not None
    for way, gears, row in ways:
        stood = _stood(trials, way, gears)
        better = _better(best, stood.value, row)
        _fill(found, trials, way, gears[:, better], mine[row[better]], stood.take(better))


def _better(best: Floats, value: Floats, row: Ints) -> Ints:
    """The ways that have more room than every way before; of several of one row the last of them, which has most."""
    last: dict[int, int] = {}
    for way, at in enumerate(row.tolist()):
        if value[way] > best[at] + EPS:
            best[at], last[at] = value[way], way
    return np.array(sorted(last.values()), np.int64)


def _fill(found: Places, trials: Trials, shape: Shape, gears: Ints, rows: Ints, stood: _Stood) -> None:
    last = trials.arrangements.pivot_last
    order = range(shape.studs, 0, -1) if last else range(1, shape.studs + 1)
    for stud, from_pivot in enumerate(order):
        found.x_mm[rows, stud], found.y_mm[rows, stud] = stood.points[from_pivot].real, stood.points[from_pivot].imag
        found.slot[rows, stud] = stood.slots[from_pivot - 1]
    found.head_mm[rows], found.heads_mm[rows] = stood.head, stood.heads.T
    found.swing_deg[rows] = np.degrees(stood.swing)
    for table in (found.idle, found.idle_shaft, found.idle_plane):
        table[rows] = NONE
    for number, column in enumerate(range(shape.idle_from, len(shape.seats))):
        seat = shape.seats[column]
        found.idle[rows, number], found.idle_plane[rows, number] = gears[column], seat.plane
        found.idle_shaft[rows, number] = shape.studs + 1 - seat.shaft if last else seat.shaft


def _stood(trials: Trials, shape: Shape, gears: Ints) -> _Stood:
    """Arrangements of one shape at their best positions, some at a time."""
    geometry = trials.geometry
    assert geometry is not None
    stood = _Stood.none(shape.studs, gears.shape[1])
    if shape.studs > geometry.bracket.takes:
        return stood
    step = max(1, _AT_ONCE // len(geometry.limits.heads))
    for start in range(0, gears.shape[1], step):
        some = slice(start, start + step)
        part = _settled(geometry, Chains(shape, gears[:, some], trials.gears.sizes, geometry.nuts))
        for whole, filled in zip(stood, part, strict=True):
            whole[..., some] = filled
    return stood


def _settled(geometry: Geometry, chains: Chains) -> _Stood:
    asked = np.full(len(chains), geometry.limits.clearance - EPS)
    start = Standing.of(chains, asked, every=False, say=True)  # so that both mirror images are told apart
    tried = [each for each in positions(geometry.bracket, start, geometry.limits) if len(each[0])]
    studs = chains.shape.studs
    stood = _Stood.none(studs, len(chains))
    if not tried:
        return stood
    batches = [here for here, _ in tried]
    values = [here.value(geometry.limits.clearance) for here in batches]
    owner, value = np.concatenate([here.arrangement for here in batches]), np.concatenate(values)
    batch = np.repeat(np.arange(len(batches)), [len(here) for here in batches])
    head, swing = (_all([getattr(here, name) for here in batches], values) for name in ("head", "swing"))
    parts = [[_all([here.points[at][axis] for here in batches], values) for axis in (0, 1)] for at in _shafts(chains)]
    points = np.array([x + 1j * y for x, y in parts]) * np.exp(1j * swing)
    chosen = _chosen(owner, value, batch, head, np.abs(points[-2]))
    at = owner[chosen]
    stood.value[at], stood.head[at], stood.swing[at] = value[chosen], head[chosen], swing[chosen]
    stood.points[:, at] = points[:, chosen]
    slots = np.array([[slot + 1 for slot in where.slots] or [0] * studs for _, where in tried], np.int64)
    stood.slots[:, at] = slots.reshape(len(tried), studs)[batch[chosen]].T
    ways = list(dict.fromkeys(where for _, where in tried))
    way = np.array([ways.index(where) for _, where in tried])[batch]
    stood.heads[:, at] = _heads(geometry, studs, (owner, way, head), chosen)
    return stood


def _heads(geometry: Geometry, studs: int, tried: tuple[Ints, Ints, Floats], chosen: Ints) -> Floats:
    """For each position the shaft distances tried round its own, without a break, at which all mounts the same way."""
    owner, way, head = tried
    if not studs or len(geometry.limits.heads) == 1:
        return np.array([head[chosen], head[chosen]])
    stations = geometry.bracket.heads(studs, geometry.limits)
    order = np.argsort(owner, kind="stable")
    begins = np.searchsorted(owner[order], np.arange(owner.max() + 2))
    ends = []
    for row in chosen.tolist():
        mine = order[begins[owner[row]] : begins[owner[row] + 1]]
        ends.append(run(stations, head[mine[way[mine] == way[row]]], float(head[row])))
    return np.array(ends).reshape(-1, 2).T


def _shafts(chains: Chains) -> range:
    return range(chains.shape.studs + 2)


def _all(parts: list[Floats | float], like: list[Floats]) -> Floats:
    return np.concatenate([np.broadcast_to(part, values.shape) for part, values in zip(parts, like, strict=True)])


def _chosen(owner: Ints, value: Floats, batch: Ints, head: Floats, second: Floats) -> Ints:
    """The position of each arrangement: the first batch that holds the best, and there the middle one."""
    best = np.full(owner.max() + 1, -np.inf)
    np.maximum.at(best, owner, value)
    first = np.full(len(best), len(value))
    good = np.flatnonzero(value >= best[owner] - EPS)
    np.minimum.at(first, owner[good], batch[good])
    rows = np.flatnonzero(batch == first[owner])
    rows = rows[np.argsort(owner[rows], kind="stable")]
    begins = np.flatnonzero(np.diff(owner[rows], prepend=-1))
    groups = np.split(rows, begins[1:]) if len(begins) else []
    return np.array(
        [group[0] if len(group) == 1 else group[middle(value[group], head[group], second[group])] for group in groups],
        np.int64,
    )
