"""The position that arrangements take of all that were tried: which it is, and what is read off it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ..base.arrays import Floats, Ints
from .bracket import Where
from .chains import EPS, Chains
from .geometry import Geometry
from .shape import Contact, Shape
from .standing import BROKEN, GAPS, HOPELESS, Condition, Standing

Points = NDArray[np.complex128]


@dataclass(frozen=True, slots=True)
class Positions:
    """Every position of arrangements of one shape on a bracket, one a row.

    Parameters
    ----------
    geometry : the bracket
    batches, ways : those tried together, and which of the places each batch is
    batch : the batch of each
    owner : the number of its arrangement
    value : see ``Geometry.values``
    head, swing : its shaft distance [mm] and swing [radians]
    points : (shafts, positions) where each shaft stands in the bracket's own frame, x + iy [mm]
    """

    geometry: Geometry
    batches: list[Standing]
    ways: list[Where]
    batch: Ints
    owner: Ints
    value: Floats
    head: Floats
    swing: Floats
    points: Points

    @classmethod
    def of(cls, geometry: Geometry, chains: Chains, *, every: bool = False) -> Positions | None:
        """Those that mount, with ``every`` those that do not as well; None where there is none."""
        if chains.shape.studs > geometry.takes:
            return None
        asked = np.full(len(chains), geometry.limits.clearance - EPS)
        # with words, so that both mirror images are told apart
        start = Standing.of(chains, geometry.limits, asked, every=every, say=True)
        tried = [each for each in geometry.bracket.positions(start) if len(each[0])]
        if not tried:
            return None
        batches = [here for here, _ in tried]

        def flat(parts: Iterable[Any]) -> NDArray[Any]:
            both = zip(parts, batches, strict=True)
            return np.concatenate([part if np.ndim(part) else np.full(len(here), part) for part, here in both])

        shafts = zip(*(here.points for here in batches), strict=True)
        return cls(
            geometry,
            batches,
            ways=[where for _, where in tried],
            batch=flat(range(len(batches))),
            owner=flat(here.arrangement for here in batches),
            value=flat(here.value() for here in batches),
            head=flat(here.head for here in batches),
            swing=flat(here.swing for here in batches),
            points=np.array([flat(x + 1j * y for x, y in shaft) for shaft in shafts]),
        )

    @property
    def shape(self) -> Shape:
        """What the arrangements have in common."""
        return self.batches[0].chains.shape

    def best(self) -> Ints:
        """The position of each arrangement, by its number: of those with the greatest value the first way of the
        bracket, there the middle one of the shaft distances tried, then of the places of the last stud.
        """
        best = np.full(self.owner.max() + 1, -np.inf)
        np.maximum.at(best, self.owner, self.value)
        first = np.full(len(best), len(self.batches))
        good = np.flatnonzero(self.value >= best[self.owner] - EPS)
        np.minimum.at(first, self.owner[good], self.batch[good])
        rows = np.flatnonzero(self.batch == first[self.owner])
        rows = rows[np.argsort(self.owner[rows], kind="stable")]
        groups = np.split(rows, np.flatnonzero(np.diff(self.owner[rows])) + 1)
        return np.array([group[0] if len(group) == 1 else self._middle(group) for group in groups], np.int64)

    def _middle(self, rows: Ints) -> int:
        rows = rows[self.value[rows] >= self.value[rows].max() - EPS]
        for measure in (self.head, np.abs(self.points[-2])):
            distinct = np.unique(measure[rows])
            rows = rows[measure[rows] == distinct[(len(distinct) - 1) // 2]]
        return int(rows[0])

    def turned(self, rows: Ints) -> Points:
        """(shafts, rows) where the shafts stand from the pivot, the other shaft on the real axis [mm]."""
        turned: Points = self.points[:, rows] * np.exp(1j * self.swing[rows])
        turned[-1] = self.head[rows]
        return turned

    def heads(self, rows: Ints) -> Floats:
        """(rows, 2) least and greatest shaft distance [mm] round that of a position, of those tried without a break,
        at which all mounts in the same places.
        """
        studs, limits = self.shape.studs, self.geometry.limits
        if not studs or len(limits.heads) == 1:
            return np.column_stack([self.head[rows], self.head[rows]])
        stations = self.geometry.bracket.heads(studs, limits)
        way = np.array([self.ways.index(where) for where in self.ways])[self.batch]
        order = np.argsort(self.owner, kind="stable")
        begins = np.searchsorted(self.owner[order], np.arange(self.owner.max() + 2))
        ends = []
        for row in rows.tolist():
            mine = order[begins[self.owner[row]] : begins[self.owner[row] + 1]]
            mine = mine[(way[mine] == way[row]) & (self.value[mine] > BROKEN)]
            ends.append(_run(stations, self.head[mine], float(self.head[row])))
        return np.array(ends).reshape(-1, 2)


def _run(heads: Floats, mounts: Floats, head: float) -> tuple[float, float]:
    """The least and greatest of the shaft distances round one at which all that were tried mount."""
    good = np.zeros(len(heads), bool)
    good[np.searchsorted(heads, mounts)] = True
    low = high = int(np.searchsorted(heads, head))
    while low > 0 and good[low - 1]:
        low -= 1
    while high + 1 < len(heads) and good[high + 1]:
        high += 1
    return float(heads[low]), float(heads[high])


@dataclass(frozen=True, slots=True)
class Reading:
    """One arrangement as it was judged; shafts are counted from the pivot.

    Parameters
    ----------
    value : the gap [mm] where it mounts, else its margin less ``FAILS``
    gap_mm : the tightest gap [mm]
    head_mm : the shaft distance taken [mm]
    heads_mm : least and greatest shaft distance tried without a break at which it mounts in the same places [mm]
    swing : how far the bracket stands from the line pivot → other shaft [radians]; 0 on a plate with two studs
    centres_mm : distances of neighbouring shafts [mm]
    points_mm : (x, y) of every shaft [mm], the pivot at the origin, x toward the other shaft
    slots : the slot of each stud, from 0; none on a plate
    shape, gears : which gear stands where, and their gear numbers by column
    limit : where it mounts the tightest gap, else the condition with the least margin; None where nothing is near
    margin_mm : by how much that is kept [mm]; of a gap, what is left beside the clearance asked
    contact : of a gap, the gear and what it must clear
    """

    value: float
    gap_mm: float
    head_mm: float
    heads_mm: tuple[float, float]
    swing: float
    centres_mm: tuple[float, ...]
    points_mm: tuple[tuple[float, float], ...]
    slots: tuple[int, ...]
    shape: Shape
    gears: tuple[int, ...]
    limit: Condition | None
    margin_mm: float
    contact: Contact | None

    @property
    def mounts(self) -> bool:
        """Whether every condition is kept."""
        return self.value > BROKEN


def read(geometry: Geometry, shape: Shape, gears: Ints) -> Reading:
    """One arrangement, given as a single column of gears, as it stands best or least badly."""
    chains, column = geometry.chains(shape, gears), tuple(gears[:, 0].tolist())
    positions = Positions.of(geometry, chains) or Positions.of(geometry, chains, every=True)
    if positions is None:
        none = Condition("studs", ())
        return Reading(HOPELESS, -np.inf, 0, (0, 0), 0, (), (), (), shape, column, none, -np.inf, None)
    best = positions.best()
    batch = int(positions.batch[best[0]])
    at = int(best[0] - np.searchsorted(positions.batch, batch))
    here, value = positions.batches[batch], float(positions.value[best[0]])
    limit, margin = _limit(here, at, mounts=value > BROKEN)
    low, high = positions.heads(best)[0].tolist()
    return Reading(
        value=value,
        gap_mm=float(here.gap[at]),
        head_mm=float(positions.head[best[0]]),
        heads_mm=(low, high),
        swing=float(positions.swing[best[0]]),
        centres_mm=tuple(float(chains.centre(mesh)[0]) for mesh in range(shape.studs + 1)),
        points_mm=tuple((point.real, point.imag) for point in positions.turned(best)[:, 0].tolist()),
        slots=positions.ways[batch].slots,
        shape=shape,
        gears=column,
        limit=limit,
        margin_mm=margin,
        contact=None if limit is None else _contact(chains, limit),
    )


def _limit(here: Standing, at: int, *, mounts: bool) -> tuple[Condition | None, float]:
    """The condition that limits a position, and its margin [mm]."""
    said = [(what, float(margin[at])) for what, margin in here.said or () if what.kind in GAPS or not mounts]
    return min(said, key=lambda each: each[1], default=(None, np.inf))


def _contact(chains: Chains, limit: Condition) -> Contact | None:
    """The gear of a gap that is tightest, and what it must clear."""
    if limit.kind not in GAPS:
        return None
    if limit.kind == "obstacle":
        columns = chains.shape.at(limit.shafts[0])
        widest = max(columns, key=lambda column: float(chains.sizes.tip[chains.gears[column, 0]]))
        return Contact(widest, limit.shafts[1], True)
    i, j = limit.shafts
    return max(chains.shape.contacts[i, j], key=lambda contact: float(chains.room(contact)[0]))
