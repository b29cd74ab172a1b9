"""What no set of gears could pass: the leads that trains of the gears in question reach, however many of each."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import product

import numpy as np

from ..base.errors import GearsearchError
from ..base.sharing import HERE, Crew, Remade
from ..search.catalogue import Catalogue
from ..shop.pool import GearPool
from ..shop.train_columns import Trains
from .wanted import ENOUGH, Closest, WantedLeads

JUDGED = 64  # trains judged for one lead before it is left as not ruled out


@dataclass(frozen=True, slots=True)
class Bound:
    """What the gears that could be had would do without limit to their number, the gears owned included.

    Parameters
    ----------
    covered : places of the leads for which a train inside tolerance was found that mounts
    exact : places of the leads for which an exact one was found that mounts
    maybe_covered, maybe_exact : places of the leads for which there are such trains, but none of those judged mounts

    No set of these gears covers more leads than are in ``covered`` and ``maybe_covered`` together.
    """

    covered: tuple[int, ...]
    exact: tuple[int, ...]
    maybe_covered: tuple[int, ...] = ()
    maybe_exact: tuple[int, ...] = ()

    @property
    def most_covered(self) -> int:
        """At most so many leads can be brought inside tolerance."""
        return len(self.covered) + len(self.maybe_covered)

    @property
    def most_exact(self) -> int:
        """At most so many leads can be met exactly."""
        return len(self.exact) + len(self.maybe_exact)

    def record(self) -> dict[str, int]:
        """The bound for programs."""
        return {
            "covered": len(self.covered),
            "exact": len(self.exact),
            "most_covered": self.most_covered,
            "most_exact": self.most_exact,
        }


def unlimited(leads: WantedLeads, pool: GearPool, closest: dict[int, Closest], crew: Crew = HERE) -> Bound:
    """The bound for a pool that may gain any number of the gears that could be had.

    Parameters
    ----------
    leads : the leads, the machine and the gears that could be had
    pool : the gears owned
    closest : what they cover already
    crew : who does the work
    """
    plenty = leads.with_gears(pool, leads.candidates, 2 * leads.terms.pairs[1])
    reach = _Reach(leads, plenty)
    places = range(len(leads))
    asked = [(n, n in closest, n in closest and closest[n].off == 0) for n in places]
    inside, exact = zip(*crew.share("weighing any number of gears", reach.told, asked), strict=True)
    told = [(said, word) for word in ("yes", "maybe") for said in (inside, exact)]
    return Bound(*(tuple(n for n in places if said[n] == word) for said, word in told))


def near_trains(leads: WantedLeads, pool: GearPool, lead: int) -> list[list[int]]:
    """Some trains of a pool that would serve a lead and mount, from the nearest few: the numbers of their gears."""
    return _Reach(leads, pool).trains(lead)


class _Reach(Remade):
    """Whether a pool with gears in plenty has a train that mounts; maybe, where too many would need judging."""

    def __init__(self, leads: WantedLeads, pool: GearPool) -> None:
        self._leads = leads
        self._pool = pool
        self._judges = leads.judges(pool)
        self._catalogues = [Catalogue(pool, [pairs], compiled=True) for pairs in leads.pairs]

    def made_from(self) -> tuple[type[_Reach], tuple[WantedLeads, GearPool]]:
        """The trains are listed again."""
        return _Reach, (self._leads, self._pool)

    def told(self, asked: tuple[int, bool, bool]) -> tuple[str, str]:
        """Whether a lead comes inside tolerance, and whether exactly; what is known of it already is not asked."""
        lead, inside, exact = asked
        exactly = "yes" if exact else self.ask(lead, only_exact=True)
        return "yes" if inside or exactly == "yes" else self.ask(lead, only_exact=False), exactly

    def ask(self, lead: int, *, only_exact: bool) -> str:
        """The answer for one lead."""
        answer = "no"
        for catalogue, ask in product(self._catalogues, self._leads.asks_of(lead)):
            here = self._ask(catalogue, ask, only_exact) if _can_be_listed(catalogue) else "maybe"
            if here == "yes":
                return here
            answer = here if here == "maybe" else answer
        return answer

    def _ask(self, catalogue: Catalogue, ask: int, only_exact: bool) -> str:
        """For trains of one number of pairs."""
        if only_exact and not self._leads.may_be_exact[ask]:
            return "no"
        trains, every = self._near(catalogue, ask, only_exact=only_exact)
        return "yes" if self._mounting(trains) else "no" if every and len(trains) <= JUDGED else "maybe"

    def trains(self, lead: int) -> list[list[int]]:
        """The nearest trains for a lead that mount."""
        asked = product(filter(_can_be_listed, self._catalogues), self._leads.asks_of(lead))
        near = (self._near(catalogue, ask)[0] for catalogue, ask in asked)
        return [gears for trains in near for gears in self._mounting(trains)]

    def _near(self, catalogue: Catalogue, ask: int, *, only_exact: bool = False) -> tuple[Trains, bool]:
        """The nearest few trains at least, from a window that grows until it holds them; and whether these are all."""
        most = 0.0 if only_exact else self._leads.half_width(self._leads.asks[ask].lead)
        low, high = self._leads.within(ask, most)
        about = catalogue.below(high) - catalogue.below(low) if most else 0
        share = most * min(1.0, ENOUGH / max(1, about))
        while True:
            trains = self._leads.near(catalogue, ask, *self._leads.within(ask, share), exact=only_exact)
            if share >= most or len(trains) >= JUDGED:
                return trains, share >= most
            share = min(most, share * 8)

    def _mounting(self, trains: Trains) -> list[list[int]]:
        """Of the nearest trains, those that mount."""
        nearest = trains.take(np.argsort(trains.off, kind="stable")[:JUDGED])
        return [nearest.gears_of(row) for row in np.flatnonzero(self._judges.mounting(nearest)).tolist()]


def _can_be_listed(catalogue: Catalogue) -> bool:
    """Whether the halves of its trains, made here, are few enough; where not, no train is ruled out."""
    try:
        catalogue.prepare()
    except GearsearchError:
        return False
    return True
