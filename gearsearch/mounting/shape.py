"""The shape of a train: which gear stands on which shaft, in which plane, and what it could foul there."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise
from typing import NamedTuple

Idle = tuple[tuple[int, int], ...]


class Seat(NamedTuple):
    """Where one gear stands: its shaft, counted from the pivot, its plane, and the shafts it meshes with."""

    shaft: int
    plane: int
    mates: tuple[int, ...]


class Contact(NamedTuple):
    """A gear and what it must clear: another gear, or the nut of a shaft. Gears by their column."""

    gear: int
    other: int
    nut: bool

    @property
    def gears(self) -> tuple[int, ...]:
        """The columns of its gears."""
        return (self.gear,) if self.nut else (self.gear, self.other)


@dataclass(frozen=True, slots=True)
class Shape:
    """The shape that all arrangements of one batch have in common.

    Parameters
    ----------
    pairs, planes : how many pairs of driver and driven, and gear planes
    places : the pair each idler stands in, ascending
    pivot_last : whether the bracket swings round the last shaft
    seats : where each gear stands, by column: the drivers in power order, the driven, the idlers, idle partners of
        joined pieces
    meshes : the two columns that mesh, from the pivot outward
    contacts : for two shafts, the nearer to the pivot first, what on them must clear what
    idle_from : the first column of the idle partners

    Shafts are counted from the pivot: 0, then the studs, then the other shaft.
    """

    pairs: int
    places: tuple[int, ...]
    planes: int
    pivot_last: bool
    seats: tuple[Seat, ...]
    meshes: tuple[tuple[int, int], ...]
    contacts: dict[tuple[int, int], tuple[Contact, ...]]
    idle_from: int

    @property
    def studs(self) -> int:
        """How many studs it needs."""
        return len(self.meshes) - 1

    @property
    def idlers(self) -> range:
        """The columns of its idlers."""
        return range(2 * self.pairs, self.idle_from)

    def settled(self, column: int) -> list[tuple[int, int]]:
        """The neighbouring shafts whose distance and contacts are known from the gears before a column."""
        return [
            (i, i + 1)
            for i, mesh in enumerate(self.meshes)
            if max((*mesh, *(gear for contact in self.contacts[i, i + 1] for gear in contact.gears))) < column
        ]

    def at(self, shaft: int) -> list[int]:
        """The columns of the gears on a shaft."""
        return [column for column, seat in enumerate(self.seats) if seat.shaft == shaft]

    def in_power_order(self, shaft: int) -> int:
        """The number of a shaft in power order."""
        return self.studs + 1 - shaft if self.pivot_last else shaft

    def place(self, shaft: int) -> int:
        """0 for the first shaft, 1 for a stud, 2 for the last."""
        return 1 if 1 <= shaft <= self.studs else 2 if self.in_power_order(shaft) else 0

    def with_idle(self, idle: Idle) -> Shape:
        """The same with idle partners of joined pieces: for each its shaft, counted from the pivot, and its plane."""
        return shape_of(self.pairs, self.places, self.planes, pivot_last=self.pivot_last, idle=idle)


@lru_cache(maxsize=256)
def shape_of(pairs: int, places: tuple[int, ...], planes: int, *, pivot_last: bool = False, idle: Idle = ()) -> Shape:
    """The shape of trains of some pairs; the plane changes from pair to pair, going back and forth.

    Parameters
    ----------
    pairs, places, planes, pivot_last : see ``Shape``
    idle : see ``Shape.with_idle``
    """
    meshes, seat = _in_power_order(pairs, places)
    last = len(meshes)
    if pivot_last:
        meshes = [(far, near) for near, far in reversed(meshes)]
        seat = {column: last - shaft for column, shaft in seat.items()}
    zigzag = [*range(planes), *range(planes - 2, 0, -1)]
    of_pair = [*range(pairs), *range(pairs), *places]
    seats = [
        Seat(seat[column], zigzag[pair % len(zigzag)], tuple(seat[mate] for mate in _mates(column, meshes)))
        for column, pair in enumerate(of_pair)
    ]
    seats += [Seat(shaft, plane, ()) for shaft, plane in idle]
    return Shape(pairs, places, planes, pivot_last, tuple(seats), tuple(meshes), _contacts(seats, last), len(of_pair))


def _in_power_order(pairs: int, places: tuple[int, ...]) -> tuple[list[tuple[int, int]], dict[int, int]]:
    """Columns that mesh, and the shaft of each column, from the first shaft on."""
    meshes, seat, shaft = [], {}, 0
    for pair in range(pairs):
        between = [2 * pairs + number for number, place in enumerate(places) if place == pair]
        line = [pair, *between, pairs + pair]
        seat.update({column: shaft + step for step, column in enumerate(line)})
        meshes += list(pairwise(line))
        shaft += len(line) - 1
    return meshes, seat


def _mates(column: int, meshes: list[tuple[int, int]]) -> list[int]:
    return [far if near == column else near for near, far in meshes if column in (near, far)]


def _contacts(seats: list[Seat], last: int) -> dict[tuple[int, int], tuple[Contact, ...]]:
    on: list[list[int]] = [[] for _ in range(last + 1)]
    for column, seat in enumerate(seats):
        on[seat.shaft].append(column)
    found = {}
    for i in range(last + 1):
        for j in range(i + 1, last + 1):
            nuts = [Contact(a, j, True) for a in on[i] if j not in seats[a].mates]
            nuts += [Contact(b, i, True) for b in on[j] if i not in seats[b].mates]
            gears = [
                Contact(a, b, False)
                for a in on[i]
                for b in on[j]
                if seats[a].plane == seats[b].plane and not (j in seats[a].mates and i in seats[b].mates)
            ]
            found[i, j] = (*nuts, *gears)
    return found
