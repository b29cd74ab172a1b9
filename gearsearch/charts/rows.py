"""The rows of a chart: leads, each with its best train for each hand, and the columns they are written in."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from fractions import Fraction
from typing import Any

import numpy as np

from ..base.arrays import Bools, Floats, Integers, Ints
from ..base.columns import Columns
from ..base.facts import Record
from ..shop.train_columns import Trains

NOT_TOLD = -1


@dataclass(frozen=True, slots=True)
class LeadRows(Columns):
    """Leads with their trains, one row each.

    Parameters
    ----------
    num, den : the lead [mm], exact and in lowest terms
    lead_mm : the same, rounded
    hands : for each hand that was asked for its trains; the one key ``either`` where no hand is known. ``pairs`` is 0
        where no train will do, ``NOT_TOLD`` where the chart does not tell; ``clearance_um`` is −1 where none was judged
    own : for each hand, whether the row's gears are those of the hand's train: where the two hands have different
        trains, a lead has two rows. Empty as long as each lead has one
    more : further columns by name
    """

    num: Ints
    den: Ints
    lead_mm: Floats
    hands: dict[str, Trains]
    own: dict[str, Bools] = field(default_factory=dict)
    more: dict[str, Any] = field(default_factory=dict)

    def lead(self, row: int) -> Fraction:
        """The lead of a row [mm], exact."""
        return Fraction(int(self.num[row]), int(self.den[row]))

    @property
    def gears(self) -> Trains:
        """The gears of each row; its idlers are those of the hand whose own they are."""
        first, *others = self.hands
        if not others:
            return self.hands[first]
        mine = self.own[first] & (self.hands[first].pairs > 0)
        both = Trains.joined([self.hands[first], self.hands[others[0]]])
        return replace(both.take(np.arange(len(self)) + len(self) * ~mine), hand="either")

    @property
    def clearance_um(self) -> Ints:
        """The tightest gap of each row over the hands it serves [µm]; −1 where none was judged or near."""
        least = np.full(len(self), 10**9, np.int64)
        for hand, trains in self.hands.items():
            mine = self.own[hand] & (trains.pairs > 0)
            least = np.where(mine, np.minimum(least, trains.clearance_um), least)
        return np.where(least >= 10**9, -1, least)


def by_train(leads: LeadRows, more: Record | None = None) -> LeadRows:
    """A row for each train: one where both hands take the same gears in the same order, else one for each hand.

    Parameters
    ----------
    leads : a row for each lead, in any order
    more : further columns in place of those there are, one value a lead
    """
    first, *others = leads.hands.values()
    found = first.pairs > 0
    index = np.flatnonzero(found)
    masks: tuple[Bools, ...] = (np.ones(len(index), np.bool_),)
    if others:
        there = others[0].pairs > 0
        same = found & there & _same_gears(first, others[0])
        second = np.flatnonzero(there & ~same)
        index = np.concatenate([index, second])
        is_second = np.arange(len(index)) >= len(index) - len(second)
        order = np.argsort(2 * index + is_second, kind="stable")
        index, is_second = index[order], is_second[order]
        masks = (~is_second, is_second | same[index])
    rows = replace(leads, more=leads.more if more is None else more).take(index)
    return replace(rows, own=dict(zip(leads.hands, masks, strict=True)))


def _same_gears(one: Trains, other: Trains) -> Bools:
    alike = (one.drivers == other.drivers) & (one.driven == other.driven)
    same: Bools = alike.all(axis=1) & (one.pairs == other.pairs)
    return same


def thinned(stream: Iterator[LeadRows], share: Fraction) -> Iterator[LeadRows]:
    """The easiest lead of each step along the leads, for each hand that was asked for.

    Parameters
    ----------
    stream : leads, ascending
    share : the length of a step, as a share of the lead it begins at; the next begins at the first lead beyond

    Easiest: fewest gears, fewest idlers, most clearance, and the shorter lead. A step keeps one lead where that
    serves every hand best, and two where each hand has its own; none where no train will do.
    Memory: one slice and one step.
    """
    rest: LeadRows | None = None
    for leads in stream:
        whole = leads if rest is None else LeadRows.joined([rest, leads])
        starts = _steps(whole, share)
        yield whole.take(_easiest(whole, starts))
        rest = whole.take(slice(starts[-1], None))
    if rest is not None and len(rest):
        yield rest.take(_easiest(rest, [0, len(rest)]))


def _steps(leads: LeadRows, share: Fraction) -> list[int]:
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


def _easiest(leads: LeadRows, starts: list[int]) -> Ints:
    """The rows of the easiest leads from each start to the next: one for each hand, once where they are the same."""
    return np.unique(np.concatenate([_easiest_for(trains, starts) for trains in leads.hands.values()]))


def _easiest_for(trains: Trains, starts: list[int]) -> Ints:
    rows = starts[0] + np.flatnonzero(trains.pairs[starts[0] : starts[-1]])
    step = np.searchsorted(starts, rows, side="right")
    keys: list[Any] = [rows, -trains.clearance_um[rows], trains.idler_count[rows], trains.pairs[rows], step]
    order = np.lexsort(keys)
    first = np.flatnonzero(np.diff(step[order], prepend=-1))
    return rows[order][first]


def ease(leads: LeadRows) -> list[Integers]:
    """What easiest goes by, the less the better: hands without a train, gears, idlers, −clearance [µm]."""
    hands = list(leads.hands.values())
    lacking = sum((trains.pairs == 0).astype(np.int64) for trains in hands)
    gears = sum(trains.pairs.astype(np.int64) for trains in hands)
    idlers = sum(trains.idler_count.astype(np.int64) for trains in hands)
    tightest = np.full(len(leads), 10**9, np.int64)
    for trains in hands:
        tightest = np.where(trains.pairs > 0, np.minimum(tightest, trains.clearance_um), tightest)
    return [lacking, gears, idlers, -tightest]
