"""What a box gains with gears added, lead by lead: only trains that need the added gears are looked at.

A gear can bring a lead in two ways: as driver or driven of a train, or as the idler that lets a train of the old
gears mount. Trains that do not mount with the old gears are kept for the second way where they would mount with
every gear that could be had; all others can never mount and are dropped.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from ..base.arrays import Bools, Floats, Ints
from ..shop.pool import GearPool
from ..shop.train_columns import Trains
from .new_trains import NewTrains
from .wanted import NEAR, Closest, Serving, WantedLeads


@dataclass(frozen=True, slots=True)
class Outcome:
    """What some added gears bring.

    Parameters
    ----------
    closest : the closest trains that mount, for each lead newly inside tolerance or newly exact
    hopeful : trains with these gears that do not mount, but might with more gears to serve as idlers
    """

    closest: dict[int, Closest]
    hopeful: Trains


class Gains:
    """A box, what it covers, and what it would with gears added.

    Parameters
    ----------
    leads : the leads, the machine and the gears that could be had
    pool : the gears owned
    most : how many gears are added at once at most, 1 or 2
    candidates : numbers of the gears that may be added; None for all that could be had
    """

    def __init__(
        self, leads: WantedLeads, pool: GearPool, most: int = 1, candidates: tuple[int, ...] | None = None
    ) -> None:
        self.leads = leads
        self.pool = pool
        self.most = most
        self.candidates = leads.candidates if candidates is None else candidates
        self._added = [NewTrains(pool, pairs) for pairs in leads.pairs]
        self.closest, failed = Serving(leads, pool).closest()
        self.covered = _marked(len(leads), self.closest)
        self.exact = _marked(len(leads), (lead for lead, closest in self.closest.items() if closest.off == 0))
        self._hopeful = self._still_hopeful(failed)

    @cached_property
    def _everything(self) -> GearPool:
        """The pool with as many of every gear that could be had as may be added."""
        return self.leads.with_gears(self.pool, self.candidates, self.most)

    def _still_hopeful(self, failed: Trains) -> Trains:
        """Of trains that do not mount: those that would serve a lead not yet served so well, and could mount."""
        unserved = self.leads.inside(failed.take(~self.exact[self.leads.lead_of[failed.asked]]), self.covered)
        return unserved.take(self.leads.judges(self._everything).mounting(unserved))

    def new_trains(self, added: tuple[int, ...]) -> Trains:
        """The trains that need all the added gears and serve a lead not yet served so well."""
        windows = self.leads.windows(self.covered)[self._unserved]
        found = Trains.joined(trains.trains(added, windows) for trains in self._added)
        return self.leads.inside(replace(found, asked=self._unserved[found.asked]), self.covered)

    @cached_property
    def _unserved(self) -> Ints:
        """The asks that a train could serve better: of leads not covered, or not exact where that may be."""
        covered, exact = self.covered[self.leads.lead_of], self.exact[self.leads.lead_of]
        return np.flatnonzero(~covered | (~exact & self.leads.may_be_exact))

    def single(self, gear: int) -> Outcome:
        """What one more gear of a size brings."""
        pool = self.leads.with_gears(self.pool, (gear,))
        trains = Trains.joined([self.new_trains((gear,)), self._hopeful])
        closest, failed = self.leads.closest(trains, pool)
        if self.most == 1:
            return Outcome(closest, failed.take(slice(0)))
        return Outcome(closest, self._still_hopeful(failed.take(self._uses(failed, gear))))

    def _uses(self, trains: Trains, gear: int) -> Bools:
        """Which trains take more gears of a size than there are in the pool."""
        used = (trains.drivers == gear).sum(axis=1) + (trains.driven == gear).sum(axis=1)
        more: Bools = used > self.pool.available[gear]
        return more

    def gained(self, outcome: Outcome) -> tuple[int, ...]:
        """Places of the leads newly inside tolerance."""
        return tuple(sorted(lead for lead in outcome.closest if not self.covered[lead]))

    def made_exact(self, outcome: Outcome) -> tuple[int, ...]:
        """Places of the leads newly met exactly."""
        return tuple(sorted(n for n, closest in outcome.closest.items() if closest.off == 0 and not self.exact[n]))

    def nothing(self) -> Outcome:
        """What a gear brings that goes on no shaft here."""
        return Outcome({}, self._hopeful.take(slice(0)))

    def marks(self, outcome: Outcome) -> tuple[Bools, Bools]:
        """The leads that one gear brings inside tolerance, and makes exact, or might with another as an idler."""
        served, exact = self.covered.copy(), self.exact.copy()
        served[list(self.gained(outcome))] = True
        exact[list(self.made_exact(outcome))] = True
        for trains in (self._hopeful, outcome.hopeful):
            leads = self.leads.lead_of[trains.asked]
            served[leads] = True
            exact[leads[trains.off < NEAR]] = True
        return served, exact

    def hope(self, pair: tuple[int, ...], marks: Bools) -> None:
        """Mark also the leads that two gears could bring together at best, in the two rows that ``marks`` gives."""
        windows, rows, leads = self._hopes
        hit = marks[rows, leads]
        for trains in self._added:
            trains.touched(pair, windows, hit)
        marks[rows[hit], leads[hit]] = True

    @cached_property
    def _hopes(self) -> tuple[Floats, Ints, Ints]:
        """The windows of all that may be hoped for, and the row and the lead that each stands for among the marks."""
        rows, asks = np.nonzero([np.ones(len(self.leads.asks), np.bool_), self.leads.may_be_exact])
        each = [self.leads.windows(np.full(len(self.leads), exact)) for exact in (False, True)]
        return np.array(each)[rows, asks], rows, self.leads.lead_of[asks]

    def pair(self, pair: tuple[int, ...], outcomes: list[Outcome]) -> Outcome:
        """What two more gears bring together, from what each of them brings."""
        closest: dict[int, Closest] = {}
        for outcome in outcomes:
            _take_nearer(closest, outcome.closest)
        trains = Trains.joined([self.new_trains(pair), self._hopeful, *(outcome.hopeful for outcome in outcomes)])
        limit = np.full(len(self.covered), np.inf)
        for lead, so_far in closest.items():
            limit[lead] = float(so_far.off) + NEAR
        wanted = trains.take(trains.off <= limit[self.leads.lead_of[trains.asked]])
        found, _ = self.leads.closest(wanted, self.leads.with_gears(self.pool, pair))
        _take_nearer(closest, found)
        return Outcome(closest, trains.take(slice(0)))


def _take_nearer(closest: dict[int, Closest], more: dict[int, Closest]) -> None:
    """Take over what is nearer; gear sets that are as near are kept side by side."""
    for lead, other in more.items():
        so_far = closest.get(lead)
        if so_far is None or other.off < so_far.off:
            closest[lead] = other
        elif other.off == so_far.off:
            closest[lead] = Closest(other.off, tuple(dict.fromkeys((*so_far.sets, *other.sets))))


def _marked(length: int, places: Iterator[int] | dict[int, Closest]) -> Bools:
    marks = np.zeros(length, np.bool_)
    marks[list(places)] = True
    return marks
