"""What no set of gears could pass: the leads that trains of the gears in question reach, however many of each."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import chain, product

import numpy as np

from ..base.errors import GearsearchError
from ..base.sharing import HERE, Crew, Remade
from ..search.catalogue import Catalogue
from ..shop.pool import GearPool
from ..shop.train_columns import Trains
from .joining import pays
from .wanted import ENOUGH, Closest, WantedLeads

JUDGED = 64  # trains judged for one lead before it is left as not ruled out
_TOGETHER = 32  # leads weighed together, as judging one train takes as long as judging hundreds


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
    places = range(len(leads))
    asked = [(n, n in closest, n in closest and closest[n].off == 0) for n in places]
    lots = [asked[start : start + _TOGETHER] for start in range(0, len(asked), _TOGETHER)]
    answers = crew.share("weighing any number of gears", _Reach(leads, plenty).told, lots, len, len(asked))
    inside, exact = zip(*chain.from_iterable(answers), strict=True)
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
        self._catalogues = [Catalogue(pool, [pairs], compiled=pays()) for pairs in leads.pairs]

    def made_from(self) -> tuple[type[_Reach], tuple[WantedLeads, GearPool]]:
        """The trains are listed again."""
        return _Reach, (self._leads, self._pool)

    def told(self, asked: list[tuple[int, bool, bool]]) -> list[tuple[str, str]]:
        """Whether leads come inside tolerance, and whether exactly; what is known of them already is not asked."""
        exact = {lead: "yes" for lead, _, known in asked if known}
        exact |= self._ask([lead for lead, *_ in asked if lead not in exact], only_exact=True)
        inside = {lead: "yes" for lead, known, _ in asked if known or exact[lead] == "yes"}
        inside |= self._ask([lead for lead, *_ in asked if lead not in inside], only_exact=False)
        return [(inside[lead], exact[lead]) for lead, *_ in asked]

    def _ask(self, leads: list[int], *, only_exact: bool) -> dict[int, str]:
        """The answer for each lead, by trains of one number of pairs after another."""
        said, lead_of = dict.fromkeys(leads, "no"), self._leads.lead_of.tolist()
        may = self._leads.may_be_exact if only_exact else np.ones(len(lead_of), np.bool_)
        for catalogue in self._catalogues:
            asks = [ask for ask in np.flatnonzero(may).tolist() if said.get(lead_of[ask], "yes") != "yes"]
            unsure, served = self._weighed(catalogue, asks, only_exact) if asks else ([], [])
            said |= {lead_of[ask]: "maybe" for ask in unsure} | {lead_of[ask]: "yes" for ask in served}
        return said

    def _weighed(self, catalogue: Catalogue, asks: list[int], only_exact: bool) -> tuple[list[int], list[int]]:
        """The asks of which not all trains were judged, and those of which one mounts."""
        if not _can_be_listed(catalogue):
            return asks, []
        near = [self._near(catalogue, ask, only_exact=only_exact) for ask in asks]
        trains = Trains.joined(trains for trains, _ in near)
        unsure = [ask for ask, (_, every) in zip(asks, near, strict=True) if not every]
        return unsure, trains.asked[self._judges.mounting(trains)].tolist()

    def trains(self, lead: int) -> list[list[int]]:
        """The nearest trains for a lead that mount."""
        asked = product(filter(_can_be_listed, self._catalogues), self._leads.asks_of(lead))
        lots = [self._near(catalogue, ask)[0] for catalogue, ask in asked]
        return [lot.gears_of(row) for lot in lots for row in np.flatnonzero(self._judges.mounting(lot)).tolist()]

    def _near(self, catalogue: Catalogue, ask: int, *, only_exact: bool = False) -> tuple[Trains, bool]:
        """The nearest few trains, from a window that grows until it holds them; and whether these are all there are."""
        most = 0.0 if only_exact else self._leads.half_width(self._leads.asks[ask].lead)
        low, high = self._leads.within(ask, most)
        about = catalogue.below(high) - catalogue.below(low) if most else 0
        share = most * min(1.0, ENOUGH / max(1, about))
        while True:
            trains = self._leads.near(catalogue, ask, share, exact=only_exact)
            if share >= most or len(trains) >= JUDGED:
                nearest = trains.take(np.argsort(trains.off, kind="stable")[:JUDGED])
                return nearest, share >= most and len(trains) <= JUDGED
            share = min(most, share * 8)


def _can_be_listed(catalogue: Catalogue) -> bool:
    """Whether the halves of its trains, made here, are few enough; where not, no train is ruled out."""
    try:
        catalogue.prepare()
    except GearsearchError:
        return False
    return True
