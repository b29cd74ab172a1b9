"""Brackets with slots: studs from the pivot outward in the bracket's own frame, then the swing from a triangle.

The definition of a place, the same for every bracket. Shafts are counted from the pivot. Each stud stands its centre
distance from the shaft before it, where that circle cuts a slot; the last centre distance and the shaft distance close
a triangle with the pivot and the last stud, which gives the swing, in both mirror images. A head that can be moved is
tried at every half millimetre of its range (whole multiples) and at both ends of it, and set where the clearance is
greatest. Two gears alone set the head themselves.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from ..base.arrays import Floats, Ints
from .chains import EPS
from .slots import Slot, Straight, far_shaft
from .standing import Limits, Standing

HEAD_STEP_MM = 0.5
_MOST_POSITIONS = 200_000  # at once; bounds the memory
_TENTH = 0.1  # of the module: how far from mesh two gears alone may stand, as much as backlash takes up


class Where(NamedTuple):
    """Which of the places a position is: the slot of each stud from the pivot outward, and mirror images."""

    slots: tuple[int, ...] = ()
    sides: tuple[int, ...] = ()


class Bracket:
    """What carries the studs."""

    @property
    def reach(self) -> float:
        """How far out the last of several studs can stand at most, where that is their centre distances added up."""
        return np.inf

    def heads(self, _studs: int, limits: Limits) -> Floats:
        """The shaft distances that a head which can be moved is tried at, with so many studs [mm], ascending."""
        return limits.heads

    def positions(self, standing: Standing) -> Iterator[tuple[Standing, Where]]:
        """Every position of arrangements, batch by batch."""
        if standing.chains.shape.studs == 0:
            yield _alone(standing), Where()
        elif len(standing):
            yield from self.with_studs(standing)

    def with_studs(self, standing: Standing) -> Iterator[tuple[Standing, Where]]:
        """Every position of some arrangements with one stud at least, batch by batch."""
        raise NotImplementedError


def stations(low: float, high: float, step: float) -> Floats:
    """Whole multiples of a step within a range, and its two ends, ascending."""
    inside = np.arange(np.ceil(low / step), np.floor(high / step) + 1) * step
    return np.unique(np.concatenate([[low], inside, [high]]))


def neighbours_clear(standing: Standing) -> Standing:
    """With the gaps between shafts that mesh, which no swing or head changes; those between most gears first."""
    shape = standing.chains.shape
    tightest_first = sorted(range(shape.studs + 1), key=lambda i: -len(shape.contacts[i, i + 1]))
    for i in tightest_first if standing.said is None else range(shape.studs + 1):
        standing = standing.clear(i, i + 1, standing.chains.centre(i)).kept()
    return standing


def _alone(standing: Standing) -> Standing:
    """Two gears without a stud: they keep the gap of the real shaft distance, which may be a little off their own."""
    chains, centre, limits = standing.chains, standing.chains.centre(0), standing.limits
    near = chains.gears[chains.shape.meshes[0][0]]
    module = chains.sizes.tip[near] - chains.sizes.pitch[near]
    off = np.minimum(centre - limits.shortest, limits.longest - centre) + _TENTH * module
    head = np.clip(centre, limits.shortest, limits.longest)
    standing = standing.hold("apart", (0, 1), off).clear(0, 1, head)
    return obstructed(standing.stood(head, np.zeros_like(head)).but(head=head)).kept(0)


def obstructed(standing: Standing) -> Standing:
    """With the gaps between every shaft's gears and the obstacles; points are in the bracket's frame."""
    if not standing.limits.obstacles:
        return standing
    cos, sin = np.cos(standing.swing), np.sin(standing.swing)
    for number, (x, y, radius) in enumerate(standing.limits.obstacles):
        here, there = x * cos + y * sin, y * cos - x * sin
        for shaft, (px, py) in enumerate(standing.points):
            away = np.sqrt((px - here) ** 2 + (py - there) ** 2)
            gap = away - radius - standing.of_row(standing.chains.widest(shaft))
            standing = standing.gapped("obstacle", (shaft, number), gap)
    return standing


@dataclass(frozen=True, slots=True)
class Slots(Bracket):
    """A bracket with slots, each of which takes some studs.

    Parameters
    ----------
    slots : in the bracket's own frame, the pivot at its origin
    """

    slots: tuple[Slot, ...]

    @property
    def radial(self) -> bool:
        """Whether it is one slot that points at the pivot."""
        return len(self.slots) == 1 and isinstance(self.slots[0], Straight) and self.slots[0].outward

    @property
    def reach(self) -> float:
        """As ``Bracket.reach``: the end of the slot."""
        return float(np.hypot(*self.slots[0].end)) if self.radial else np.inf

    def with_studs(self, standing: Standing) -> Iterator[tuple[Standing, Where]]:
        """As ``Bracket.with_studs``."""
        late = self._gaps_late(standing)
        standing = standing if late else neighbours_clear(standing)
        for stood, slots in self._stood(standing, late=late):
            for rows in _portions(stood):
                yield from self._closed(rows, slots, late=late)

    def _stood(
        self, standing: Standing, slots: tuple[int, ...] = (), *, late: bool
    ) -> Iterator[tuple[Standing, tuple[int, ...]]]:
        """Every way to put the studs into slots, those in ``slots`` being there already."""
        stud = len(slots) + 1
        if stud > standing.chains.shape.studs:
            yield standing, slots
            return
        away = standing.chains.centre(stud - 1)
        for number, slot in enumerate(self.slots):
            if slots.count(number) == slot.studs:
                continue
            for place in slot.places(*standing.points[-1], away):
                at = (stud, number)
                here = standing if self.radial else standing.meets("cuts", at, place.cuts)
                here = here.where_it_closes("begins", at, place.begins).where_it_closes("ends", at, place.ends)
                here = here.stood(place.x, place.y)
                here = here if late else _clear_of_others(here, stud).kept()
                if len(here):
                    yield from self._stood(here, (*slots, number), late=late)

    def _gaps_late(self, standing: Standing) -> bool:
        """Whether gaps that no swing changes are better measured last, for hardly any of them fails.

        What lists trains with idlers sees to the gaps between neighbours; a straight line sees to the others.
        """
        idlers = len(standing.chains.shape.idlers) > 0
        return self.radial and idlers and len(standing.limits.heads) == 1 and standing.said is None

    def _closed(self, standing: Standing, slots: tuple[int, ...], *, late: bool) -> Iterator[tuple[Standing, Where]]:
        """The triangle of each position closed, in both mirror images; in one where only the room is asked of both."""
        mirrored = self.radial and not standing.limits.obstacles and not standing.all and standing.said is None
        n = standing.chains.shape.studs
        last = standing.of_row(standing.chains.centre(n))
        for side in (1,) if mirrored else (1, -1):
            far_x, far_y, reaches, short = far_shaft(*standing.points[-1], last, standing.head, side)
            here = standing.meets("short", (n,), reaches).meets("long", (n,), short).stood(far_x, far_y)
            for stud in range(n - 1, 0, -1):  # the nearest to the other shaft fouls it most
                here = here.clear(stud, n + 1).kept()
            here = here.clear(0, n + 1, here.head)
            for stud in range(1, n + 2) if late else ():
                here = here.clear(stud - 1, stud, here.chains.centre(stud - 1))
                here = _clear_of_others(here, stud) if stud <= n else here
            yield obstructed(self._swung(here, mirrored=mirrored)).settled(), Where(slots, (side,))

    @staticmethod
    def _swung(standing: Standing, *, mirrored: bool) -> Standing:
        """With the swing of the bracket, as near the middle of what it may swing as that or its mirror image is."""
        x, y = standing.points[-2]
        far_x, far_y = standing.points[-1]
        swing = -np.arctan2(far_y, far_x)
        room = _inside(swing, standing.limits)
        if mirrored:
            other = -swing - 2 * np.arctan2(y, x)
            room = np.maximum(room, _inside((other + np.pi) % (2 * np.pi) - np.pi, standing.limits))
        return standing.where_it_closes("swing", (), np.hypot(x, y) * room).but(swing=swing)


def _clear_of_others(standing: Standing, stud: int) -> Standing:
    """With the gaps between a stud and the shafts before it that it does not mesh with."""
    for shaft in range(stud - 1):
        standing = standing.clear(shaft, stud)
    return standing


def _inside(swing: Floats, limits: Limits) -> Floats:
    return np.minimum(swing - limits.swing[0], limits.swing[1] - swing)


def _portions(standing: Standing) -> Iterator[Standing]:
    """Each arrangement at every shaft distance that its triangle closes at, in portions that memory bears."""
    heads = standing.limits.heads
    if len(heads) == 1:
        yield standing.but(head=standing.limits.longest)
        return
    first, stop = np.zeros(len(standing), np.int64), np.full(len(standing), len(heads))
    if not standing.all:
        n = standing.chains.shape.studs
        stands = np.hypot(*standing.points[-1])
        last = standing.chains.centre(n)
        low, need = np.abs(stands - last) - EPS, standing.chains.need(0, n + 1)
        if need is not None:
            low = np.maximum(low, need + standing.least)
        first = np.searchsorted(heads, low)
        stop = np.maximum(first, np.searchsorted(heads, stands + last + EPS, "right"))
    many = np.cumsum(stop - first)
    start = 0
    while start < len(standing):
        done = many[start - 1] if start else 0
        end = max(start + 1, int(np.searchsorted(many, done + _MOST_POSITIONS, "right")))
        row, head = ragged(first[start:end], stop[start:end])
        yield standing.repeated(row + start).but(head=heads[head])
        start = end


def ragged(first: Ints, stop: Ints) -> tuple[Ints, Ints]:
    """For each row the whole numbers from first to before stop: the row of each, and the number."""
    count = stop - first
    row = np.repeat(np.arange(len(first)), count)
    before = np.cumsum(count) - count
    return row, np.arange(len(row)) - before[row] + first[row]
