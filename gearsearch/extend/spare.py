"""Gears a list of leads never needs, and the smallest part of the box that still covers the list."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from ..base import require
from ..search.answers import Solution
from ..search.terms import Terms
from ..shop.machine import Route
from ..shop.shop import Shop
from ..work.part import Part
from .wanted import Gear

MOST_ROUNDS = 400


@dataclass(frozen=True, slots=True)
class Spare:
    """Which gears a list needs.

    Parameters
    ----------
    shop, route, terms, needs : whose gears, by which route, under which terms, for which leads
    covered : places of the leads the whole box brings inside tolerance with a train that mounts
    lost : for each loose gear, as (tag of the kind of tooth, tooth count), the leads lost without one such gear
    smallest : loose gears that cover the same leads with as few gears as were found to do
    fits : the closest train of the smaller set for each lead in ``covered``
    least : no fewer loose gears can cover the same leads

    Joined pieces and gears that cannot come off stay in the box throughout and are not counted.
    """

    shop: Shop
    route: Route
    terms: Terms
    needs: tuple[Part, ...]
    covered: tuple[int, ...]
    lost: dict[Gear, tuple[int, ...]]
    smallest: tuple[Gear, ...]
    fits: tuple[Solution, ...]
    least: int

    @property
    def never_needed(self) -> tuple[Gear, ...]:
        """The gears any one of which can be taken out without losing a lead."""
        return tuple(gear for gear, leads in self.lost.items() if not leads)

    @property
    def proved(self) -> bool:
        """Whether no smaller set covers the same leads."""
        return len(self.smallest) == self.least


def spare_gears(shop: Shop, needs: Iterable[Part], terms: Terms, rounds: int = MOST_ROUNDS) -> Spare:
    """Which gears a list never needs, and the fewest that cover what the whole box covers.

    Parameters
    ----------
    shop, needs, terms : whose gears, for which leads, and how trains may be built
    rounds : how many rounds of the proof are worked at most; what is proved until then is told in ``least``

    Raises GearsearchError for a request that cannot be.
    Method: a set that does not cover the list is made as large as it stays so; any set that does must hold one of
    the gears it lacks. The fewest gears that hold one of each such choice are tried next, until they cover the list:
    then no fewer can. (Implicit hitting sets; worked out here.)
    """
    rounds = require.whole(rounds, None, "rounds", 0)
    from .smallest import PartsOfPool
    from .wanted import Serving, WantedLeads

    leads = WantedLeads(shop, needs, terms)
    parts = PartsOfPool(leads, leads.pool)
    lost = {leads.gear(number): parts.lost(number) for number in parts.sizes}
    kept, least = parts.smallest(rounds)
    pool = parts.pool(kept)
    closest, _ = Serving(leads, pool).closest()
    solutions = leads.solutions(pool, {lead: closest[lead] for lead in parts.covered})
    return Spare(
        shop=shop,
        route=leads.route,
        terms=terms,
        needs=leads.needs,
        covered=parts.covered,
        lost=lost,
        smallest=tuple(leads.gear(number) for number, count in enumerate(pool.loose) for _ in range(count)),
        fits=tuple(solutions.values()),
        least=least,
    )
