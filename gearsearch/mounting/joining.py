"""Joined pieces: every way to take the gears of an arrangement from loose gears and from pieces of two.

A piece serves with both gears on one stud that carries a driven and a driver, or with one alone, the other idle in a
neighbouring plane, on the first shaft, on the last, or as an idler.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from ..base.arrays import Ints
from .gears import Gears
from .shape import Shape

_LOOSE = -1


class Ways(NamedTuple):
    """Ways to take arrangements from the pool, one a row.

    Parameters
    ----------
    row : the arrangement of each way
    choice : (3, shafts, ways) for each shaft the kind of joined piece, or −1: loose, or fixed there; its idle partner,
        or −1; and the plane that hangs in
    """

    row: Ints
    choice: Ints

    def take(self, ways: Ints) -> Ways:
        """Some of the ways."""
        return Ways(self.row[ways], self.choice[..., ways])


@dataclass(frozen=True, slots=True)
class Joining:
    """Puts joined pieces into arrangements.

    Parameters
    ----------
    gears : the pool
    placed : whether places are judged, so that an idle partner needs a plane
    """

    gears: Gears
    placed: bool

    def ways(self, shape: Shape, gears: Ints) -> Iterator[tuple[Shape, Ints, Ints]]:
        """The ways to take arrangements, fewest idle partners first: shape with these, gears, and the row of each."""
        found = self.taken(shape, gears)
        _, partner, plane = found.choice
        code = np.zeros(len(found.row), np.int64)
        for digit in np.where(partner >= 0, plane + 1, 0):
            code = code * 4 + digit
        patterns = [(self._pattern(int(each), shape.studs + 2), each) for each in np.unique(code)]
        for idle, each in sorted(patterns, key=lambda pattern: (len(pattern[0]), pattern[0])):
            ways = np.flatnonzero(code == each)
            partners = [partner[shaft, ways] for shaft, _ in idle]
            columns = np.concatenate([gears[:, found.row[ways]], *(row[np.newaxis] for row in partners)])
            yield shape.with_idle(idle), columns, found.row[ways]

    @staticmethod
    def _pattern(code: int, shafts: int) -> tuple[tuple[int, int], ...]:
        digits = [code // 4 ** (shafts - 1 - shaft) % 4 for shaft in range(shafts)]
        return tuple((shaft, digit - 1) for shaft, digit in enumerate(digits) if digit)

    def taken(self, shape: Shape, gears: Ints) -> Ways:
        """Every way that the pool affords."""
        shafts, rows = shape.studs + 2, gears.shape[1]
        ways = Ways(np.arange(rows), np.full((3, shafts, rows), _LOOSE))
        for shaft in range(shafts):
            ways = self._with_shaft(shape, gears, ways, shaft)
        pieces = [(ways.choice[0] == kind).sum(axis=0) <= piece[2] for kind, piece in enumerate(self.gears.pool.joined)]
        good = np.logical_and.reduce(pieces) & self._loose_enough(shape, gears, ways)
        return ways.take(np.flatnonzero(good))

    def _with_shaft(self, shape: Shape, gears: Ints, ways: Ways, shaft: int) -> Ways:
        """The ways with every choice for one shaft: loose or fixed, and each piece that serves."""
        place = shape.place(shaft)
        found = [ways]
        if self.gears.fixed(place) < 0:
            for kind, (a, b, _) in enumerate(self.gears.pool.joined):
                for used, partner in dict.fromkeys(((a, b), (b, a))):
                    found += self._served(shape, gears, ways, (shaft, place), (kind, used, partner))
        row, choice = zip(*found, strict=True)
        return Ways(np.concatenate(row), np.concatenate(choice, axis=2))

    def _served(
        self, shape: Shape, gears: Ints, ways: Ways, at: tuple[int, int], piece: tuple[int, int, int]
    ) -> Iterator[Ways]:
        """The ways in which a piece serves on a shaft with the gear ``used``."""
        (shaft, place), (kind, used, partner) = at, piece
        columns = shape.at(shaft)
        here = gears[columns[0], ways.row] == used
        if len(columns) > 1:
            yield self._put(ways, here & (gears[columns[1], ways.row] == partner), shaft, (kind, _LOOSE, _LOOSE))
        elif self.gears.hangs[partner, place]:
            plane = shape.seats[columns[0]].plane
            if not self.placed:
                yield self._put(ways, here, shaft, (kind, _LOOSE, _LOOSE))
                return
            for beside in (plane - 1, plane + 1):
                if 0 <= beside < shape.planes:
                    yield self._put(ways, here, shaft, (kind, partner, beside))

    @staticmethod
    def _put(ways: Ways, good: np.ndarray, shaft: int, choice: tuple[int, int, int]) -> Ways:
        some = ways.take(np.flatnonzero(good))
        some.choice[:, shaft] = np.array(choice)[:, np.newaxis]
        return some

    def _loose_enough(self, shape: Shape, gears: Ints, ways: Ways) -> np.ndarray:
        """Whether there are loose gears for all that no piece serves for."""
        columns = range(shape.idle_from)
        loose = []
        for column in columns:
            shaft = shape.seats[column].shaft
            fixed = self.gears.fixed(shape.place(shaft)) >= 0
            loose.append(np.zeros(len(ways.row), bool) if fixed else ways.choice[0, shaft] == _LOOSE)
        size = [gears[column, ways.row] for column in columns]
        good = np.ones(len(ways.row), bool)
        for column in columns:
            used = np.zeros(len(ways.row), np.int64)
            for other in columns:
                used += loose[other] & (size[other] == size[column])
            good &= ~loose[column] | (used <= self.gears.loose[size[column]])
        return good
