"""Positions under trial: where shafts stand, which conditions are kept, and by how much."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from ..base.arrays import Floats, Ints
from ..base.facts import Record
from .chains import EPS, NOTHING_NEAR, Chains, Coordinate

FAILS = 1e6  # what a margin is less by in the value of what breaks some condition
BROKEN = -FAILS / 2  # a value below is such a margin
HOPELESS = -2 * FAILS  # the value of more studs than the bracket takes
_WORTH_DROPPING = 0.1
GAPS = ("gap", "obstacle")  # kinds of condition


class Condition(NamedTuple):
    """One condition of mounting: what kind it is, and the shafts it is about, counted from the pivot."""

    kind: str
    shafts: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Limits:
    """What a machine allows, in mm and radians.

    Parameters
    ----------
    heads : shaft distances to try, ascending
    swing : least and greatest angle of the bracket
    clearance : least gap
    obstacles : x, y and radius of each, from the pivot, x toward the other shaft
    """

    heads: Floats
    swing: tuple[float, float]
    clearance: float
    obstacles: tuple[tuple[float, float, float], ...] = ()

    @property
    def shortest(self) -> float:
        """The least shaft distance."""
        return float(self.heads[0])

    @property
    def longest(self) -> float:
        """The greatest shaft distance."""
        return float(self.heads[-1])


@dataclass  # never changed; frozen, one would take twice as long to make
class Standing:
    """Positions of arrangements, one a row.

    Parameters
    ----------
    chains, limits : the arrangements, and what the machine allows
    row : the row of ``chains`` that each position belongs to; None: each has one
    number : what the caller numbers each row of ``chains`` by
    points : x and y of pivot, studs so far and, once it is set, the other shaft [mm]
    margin : by how much the worst condition so far is kept [mm], gaps left out
    closes : where rows that break a condition are kept all the same: by how much circles, lines and triangles meet
        [mm]; where they do not there is no position to judge; else None
    gap : the tightest gap so far [mm]
    least : the gap each row of ``chains`` must keep, or what else is asked of it [mm]
    said : where words are wanted, every condition so far with its margins
    head, swing : shaft distance [mm] and angle of the bracket [radians], once they are set
    """

    chains: Chains
    limits: Limits
    row: Ints | None
    number: Ints
    points: tuple[tuple[Coordinate, Coordinate], ...]
    margin: Floats
    closes: Floats | None
    gap: Floats
    least: Floats
    said: tuple[tuple[Condition, Floats], ...] | None = None
    head: Coordinate = 0.0
    swing: Coordinate = 0.0

    @classmethod
    def of(cls, chains: Chains, limits: Limits, least: Floats, *, every: bool, say: bool) -> Standing:
        """No stud yet, of no arrangement."""
        whole = np.full(len(chains), np.inf)
        gap = np.full(len(chains), NOTHING_NEAR)
        closes, said = whole if every else None, () if say else None
        return cls(chains, limits, None, np.arange(len(chains)), ((0.0, 0.0),), whole, closes, gap, least, said)

    @property
    def all(self) -> bool:
        """Whether rows that break a condition are kept all the same."""
        return self.closes is not None

    def __len__(self) -> int:
        return len(self.margin)

    def but(self, **changed: object) -> Standing:
        """The same with something changed; ``dataclasses.replace`` takes three times as long."""
        changed_one = object.__new__(Standing)
        changed_one.__dict__.update(self.__dict__, **changed)
        return changed_one

    @property
    def arrangement(self) -> Ints:
        """The caller's number of each position's arrangement."""
        return self.number if self.row is None else self.number[self.row]

    def of_row(self, values: Floats) -> Floats:
        """Values by row of ``chains`` as values by position."""
        return values if self.row is None else values.take(self.row)

    def hold(self, kind: str, shafts: tuple[int, ...], margin: Floats) -> Standing:
        """With one condition more."""
        said = self.said
        if said is not None:
            said = (*said, (Condition(kind, shafts), np.broadcast_to(margin, self.margin.shape)))
        return self.but(margin=np.minimum(self.margin, margin), said=said)

    def where_it_closes(self, kind: str, shafts: tuple[int, ...], margin: Floats) -> Standing:
        """With one condition more on positions; what has none is not judged by it."""
        return self.hold(kind, shafts, margin if self.closes is None else np.where(self.closes >= -EPS, margin, np.inf))

    def meets(self, kind: str, shafts: tuple[int, ...], margin: Floats) -> Standing:
        """With one condition more without which there is no position at all; only the first that fails counts."""
        standing = self.where_it_closes(kind, shafts, margin)
        return standing if self.closes is None else standing.but(closes=np.minimum(self.closes, margin))

    def clear(self, i: int, j: int, away: Coordinate | None = None) -> Standing:
        """With the gap between two shafts, which stand where they stand or as far apart as is given."""
        need = self.chains.need(i, j)
        if need is None:
            return self
        if away is None:
            (x, y), (other_x, other_y) = self.points[i], self.points[j]
            away = np.sqrt((x - other_x) ** 2 + (y - other_y) ** 2)
        return self.gapped("gap", (i, j), away - self.of_row(need))

    def gapped(self, kind: str, shafts: tuple[int, ...], gap: Floats) -> Standing:
        """With one gap more."""
        said = self.said
        if said is not None:
            said = (*said, (Condition(kind, shafts), np.broadcast_to(gap - self.limits.clearance, self.gap.shape)))
        return self.but(gap=np.minimum(self.gap, gap), said=said)

    def stood(self, x: Coordinate, y: Coordinate) -> Standing:
        """With one shaft more."""
        return self.but(points=(*self.points, (x, y)))

    def kept(self, most: float = _WORTH_DROPPING) -> Standing:
        """Without the positions that already break a condition or give less room than asked.

        Parameters
        ----------
        most : the share of them that may stay all the same, for to drop few costs more than to take them along
        """
        if self.all:
            return self
        good = (self.margin >= -EPS) & (self.gap >= self.of_row(self.least))
        return self if np.count_nonzero(good) >= (1 - most) * len(good) else self.take(np.flatnonzero(good))

    def take(self, rows: Ints) -> Standing:
        """Some of the positions."""
        if self.row is None:
            chains, row, number, least = self.chains.take(rows), None, self.number.take(rows), self.least.take(rows)
        else:
            chains, row, number, least = self.chains, self.row[rows], self.number, self.least
        return self.but(
            chains=chains,
            row=row,
            number=number,
            least=least,
            **self._positions(rows),
        )

    def repeated(self, rows: Ints) -> Standing:
        """Each of the positions as often as its number is given."""
        return self.but(row=rows if self.row is None else self.row[rows], **self._positions(rows))

    def _positions(self, rows: Ints) -> Record:
        said = None if self.said is None else tuple((condition, margin[rows]) for condition, margin in self.said)
        return {
            "points": tuple((_at(x, rows), _at(y, rows)) for x, y in self.points),
            "margin": self.margin.take(rows),
            "closes": None if self.closes is None else self.closes.take(rows),
            "gap": self.gap.take(rows),
            "said": said,
            "head": _at(self.head, rows),
            "swing": _at(self.swing, rows),
        }

    def settled(self) -> Standing:
        """Done: what has no position is judged by its lengths alone, for its gaps are those of made-up points."""
        if self.closes is None:
            return self.kept(0)
        none = self.closes < -EPS
        said = self.said
        if said is not None:
            said = tuple((what, np.where(none & (what.kind in GAPS), np.inf, margin)) for what, margin in said)
        return self.but(gap=np.where(none, NOTHING_NEAR, self.gap), said=said)

    def value(self) -> Floats:
        """What orders positions: the gap where every condition is kept, else the worst margin less ``FAILS``."""
        margin = np.minimum(self.margin, self.gap - self.limits.clearance)
        return np.where(margin >= -EPS, self.gap, margin - FAILS)


def _at(coordinate: Coordinate, rows: Ints) -> Coordinate:
    return coordinate.take(rows) if isinstance(coordinate, np.ndarray) else coordinate
