"""The rows of a chart: leads with their trains, one row for each train, and the columns they are written in."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from fractions import Fraction
from typing import TYPE_CHECKING, Any

import numpy as np

if TYPE_CHECKING:
    from ..shop.pool import GearPool
    from ..shop.trains import Train
    from .survey import Chosen, Leads


@dataclass(frozen=True, slots=True)
class Rows:
    """Rows of a chart, each a lead and one order of its gears.

    Parameters
    ----------
    leads : the lead of each row, with the trains chosen for each hand
    own : for each hand, whether the row's gears are those of the train chosen for it. Where the two hands have
        different trains a lead has two rows
    more : further columns by name, one value a row
    """

    leads: Leads
    own: dict[str, Any]
    more: dict[str, Any] = field(default_factory=dict)

    def __len__(self) -> int:
        return len(self.leads)

    @classmethod
    def of(cls, leads: Leads, more: dict[str, Any] | None = None) -> Rows:
        """The rows of leads: one where both hands take the same gears in the same order, else one for each hand.

        Parameters
        ----------
        leads : ascending, or in any other order
        more : further columns, one value a lead
        """
        first, *others = leads.hands.values()
        found = first.pairs > 0
        index = np.flatnonzero(found)
        masks: tuple[Any, ...] = (np.ones(len(index), np.bool_),)
        if others:
            there = others[0].pairs > 0
            same = found & there & _same_gears(first, others[0])
            second = np.flatnonzero(there & ~same)
            index = np.concatenate([index, second])
            is_second = np.arange(len(index)) >= len(index) - len(second)
            order = np.argsort(2 * index + is_second, kind="stable")
            index, is_second = index[order], is_second[order]
            masks = (~is_second, is_second | same[index])
        own = dict(zip(leads.hands, masks, strict=True))
        return cls(leads.take(index), own, {name: values[index] for name, values in (more or {}).items()})

    def take(self, rows: Any) -> Rows:
        """Some of the rows."""
        own = {hand: mask[rows] for hand, mask in self.own.items()}
        return Rows(self.leads.take(rows), own, {name: values[rows] for name, values in self.more.items()})

    @classmethod
    def joined(cls, parts: list[Rows]) -> Rows:
        """Several one after another."""
        return cls(
            type(parts[0].leads).joined(part.leads for part in parts),
            {hand: np.concatenate([part.own[hand] for part in parts]) for hand in parts[0].own},
            {name: np.concatenate([part.more[name] for part in parts]) for name in parts[0].more},
        )

    @property
    def gears(self) -> Chosen:
        """The gears of each row; its idlers are those of the hand whose own they are."""
        hands = list(self.leads.hands)
        rows = self.leads.hands[hands[0]]
        if len(hands) == 1:
            return rows
        mine = self.own[hands[0]] & (rows.pairs > 0)
        return _where(mine, rows, self.leads.hands[hands[1]])

    @property
    def clearance_um(self) -> Any:
        """The tightest gap of each row over the hands it serves [µm]; −1 where none was judged or near."""
        least = np.full(len(self), 10**9, np.int64)
        for hand, chosen in self.leads.hands.items():
            mine = self.own[hand] & (chosen.pairs > 0)
            least = np.where(mine, np.minimum(least, chosen.clearance_um), least)
        return np.where(least >= 10**9, -1, least)


@dataclass(frozen=True, slots=True)
class RowsAnew:
    """The rows of a chart, part by part, worked out anew each time they are gone through: never all are held.

    Parameters
    ----------
    make : begins them
    """

    make: Callable[[], Iterator[Rows]]

    def __iter__(self) -> Iterator[Rows]:
        return self.make()


def _same_gears(one: Chosen, other: Chosen) -> Any:
    same = (one.drivers == other.drivers) & (one.driven == other.driven)
    return same.all(axis=1) & (one.pairs == other.pairs)


def _where(mask: Any, one: Chosen, other: Chosen) -> Chosen:
    columns = ("pairs", "drivers", "driven", "idlers", "places", "clearance_um")
    chosen = []
    for name in columns:
        a, b = getattr(one, name), getattr(other, name)
        chosen.append(np.where(mask if a.ndim == 1 else mask[:, np.newaxis], a, b))
    return type(one)(*chosen)


def train_of(box: GearPool, chosen: Chosen, row: int) -> Train:
    """The train of a row that has one."""
    pairs = int(chosen.pairs[row])
    between: list[list[int]] = [[] for _ in range(pairs)]
    for size, place in zip(chosen.idlers[row].tolist(), chosen.places[row].tolist(), strict=True):
        if size >= 0:
            between[place].append(size)
    return box.train(chosen.drivers[row, :pairs].tolist(), chosen.driven[row, :pairs].tolist(), between)


def thinned(stream: Iterator[Leads], share: Fraction) -> Iterator[Leads]:
    """The easiest lead of each step along the leads, for each hand that was asked for.

    Parameters
    ----------
    stream : leads, ascending
    share : the length of a step, as a share of the lead it begins at; the next begins at the first lead beyond

    Easiest: fewest gears, fewest idlers, most clearance, and the shorter lead. A step keeps one lead where that
    serves every hand best, and two where each hand has its own; none where no train will do.
    Memory: one slice and one step.
    """
    rest: Leads | None = None
    for leads in stream:
        whole = leads if rest is None else type(leads).joined([rest, leads])
        starts = _steps(whole, share)
        yield whole.take(_easiest(whole, starts))
        rest = whole.take(slice(starts[-1], None))
    if rest is not None and len(rest):
        yield rest.take(_easiest(rest, [0, len(rest)]))


def _steps(leads: Leads, share: Fraction) -> list[int]:
    """Where the steps begin; the last of them may go on in the next slice."""
    starts = [0]
    while True:
        end = leads.lead(starts[-1]) * (1 + share)
        row = int(np.searchsorted(leads.lead_mm, float(end)))  # what rounds to less is less
        while row < len(leads) and leads.lead(row) < end:
            row += 1
        if row >= len(leads):
            return starts
        starts.append(row)


def _easiest(leads: Leads, starts: list[int]) -> Any:
    """The rows of the easiest leads from each start to the next: one for each hand, once where they are the same."""
    return np.unique(np.concatenate([_easiest_for(chosen, starts) for chosen in leads.hands.values()]))


def _easiest_for(chosen: Chosen, starts: list[int]) -> Any:
    rows = starts[0] + np.flatnonzero(chosen.pairs[starts[0] : starts[-1]])
    step = np.searchsorted(starts, rows, side="right")
    keys: list[Any] = [rows, -chosen.clearance_um[rows], chosen.idler_count[rows], chosen.pairs[rows], step]
    order = np.lexsort(keys)
    first = np.flatnonzero(np.diff(step[order], prepend=-1))
    return rows[order][first]


def ease(leads: Leads) -> list[Any]:
    """What easiest goes by, the less the better: hands without a train, gears, idlers, −clearance [µm]."""
    hands = list(leads.hands.values())
    lacking = sum((chosen.pairs == 0).astype(np.int64) for chosen in hands)
    gears = sum(chosen.pairs.astype(np.int64) for chosen in hands)
    idlers = sum(chosen.idler_count.astype(np.int64) for chosen in hands)
    tightest = np.full(len(leads), 10**9, np.int64)
    for chosen in hands:
        tightest = np.where(chosen.pairs > 0, np.minimum(tightest, chosen.clearance_um), tightest)
    return [lacking, gears, idlers, -tightest]
