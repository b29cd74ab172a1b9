"""The gear, or the two, worth adding: which bring most leads of a list inside tolerance with a train that mounts."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

from ..base import require
from ..base.errors import GearsearchError
from ..base.require import is_whole
from ..search.answers import Solution
from ..search.terms import MOST_ANSWERS, Terms
from ..shop.machine import Route
from ..shop.shop import Shop
from ..work.part import Part
from .wanted import Gear

if TYPE_CHECKING:
    from .bound import Bound
    from .gains import Gains, Outcome, Score


@dataclass(frozen=True, slots=True)
class Gain:
    """What one gear, or two, would bring.

    Parameters
    ----------
    gears : the gears added, as (tag of the kind of tooth, tooth count)
    gained : places in the list of the leads newly inside tolerance with a train that mounts
    exact : places of the leads newly met exactly, whether or not they were inside tolerance before
    worst : greatest |error| among the leads gained, exact; zero where none is
    fits : the closest train that mounts for each lead in ``gained`` or ``exact``, in the order of the list

    Order of the list of gains: most leads gained, then most made exact, then the least ``worst``, then the gears.
    """

    gears: tuple[Gear, ...]
    gained: tuple[int, ...]
    exact: tuple[int, ...]
    worst: Fraction
    fits: tuple[Solution, ...] = ()

    @property
    def leads(self) -> tuple[int, ...]:
        """Places of all leads gained or made exact, ascending; ``fits`` stand in this order."""
        return tuple(sorted({*self.gained, *self.exact}))


@dataclass(frozen=True, slots=True)
class Advice:
    """Which gear to add.

    Parameters
    ----------
    shop, route, terms, needs : whose gears, by which route, under which terms, for which leads
    owned : the closest train that mounts from the gears owned, for each lead; None where there is none inside tolerance
    gains : the best gears, or pairs of gears, to add
    alone : with two gears asked for: what the best single gear would bring
    tried : how many gears, or pairs of gears, were tried
    bound : what no set of these gears could pass, however many of each
    """

    shop: Shop
    route: Route
    terms: Terms
    needs: tuple[Part, ...]
    owned: tuple[Solution | None, ...]
    gains: tuple[Gain, ...]
    alone: Gain | None
    tried: int
    bound: Bound

    @property
    def covered(self) -> int:
        """How many leads the gears owned bring inside tolerance."""
        return sum(fit is not None for fit in self.owned)

    @property
    def exact(self) -> int:
        """How many leads the gears owned give exactly."""
        return sum(fit is not None and fit.error == 0 for fit in self.owned)


def best_gears(
    shop: Shop, needs: Iterable[Part], terms: Terms, candidates: Iterable[Gear], gears: int = 1, count: int = 10
) -> Advice:
    """Which gear, or which two, to add so that most leads come inside tolerance with a train that mounts.

    Parameters
    ----------
    shop : whose gears are added to
    needs : the leads that matter
    terms : how the trains may be built
    candidates : the gears that could be had, as (tag of the kind of tooth, tooth count)
    gears : how many are added at once, 1 or 2
    count : how many answers, 1 to 1000

    Every candidate (every pair, with two alike too) is tried; the order is that of ``Gain``. A gear counts as driver,
    driven or idler. Two gears are listed only where they bring more than the best single one.
    Raises GearsearchError for a request that cannot be.
    Limits of validity: as ``find``; an added gear is taken to go wherever a gear of its size may go.
    """
    if not is_whole(gears) or gears not in (1, 2):
        raise GearsearchError(f"{gears} gears cannot be added at once", "ask for 1 or 2")
    count = require.whole(count, MOST_ANSWERS, "answers")
    from .bound import unlimited
    from .gains import Gains
    from .wanted import WantedLeads

    leads = WantedLeads(shop, needs, terms, candidates)
    if not leads.candidates:
        raise GearsearchError(
            "there is no gear to try", "give the tooth counts that could be had, as in --teeth 15:127"
        )
    brought = Gains(leads, leads.pool, gears)
    singles = brought.singles()
    ranked = _ranked((brought.score(outcome), outcome) for outcome in singles)
    alone, tried = ranked[:1], len(singles)
    if gears == 2:
        ranked, tried = brought.pairs(singles, count), tried * (tried + 1) // 2
    return Advice(
        shop=shop,
        route=leads.route,
        terms=terms,
        needs=leads.needs,
        owned=_owned(brought),
        gains=tuple(_gain(brought, *row) for row in ranked[:count]),
        alone=_gain(brought, *alone[0]) if alone and gears == 2 else None,
        tried=tried,
        bound=unlimited(leads, leads.pool, brought.closest),
    )


def _ranked(rows: Iterable[tuple[Score, Outcome]]) -> list[tuple[Score, Outcome]]:
    """Those that bring anything, best first."""
    return sorted((row for row in rows if row[0].gained or row[0].exact), key=lambda row: row[0].order)


def _owned(brought: Gains) -> tuple[Solution | None, ...]:
    solutions = brought.leads.solutions(brought.pool, brought.closest)
    return tuple(solutions.get(lead) for lead in range(len(brought.leads)))


def _gain(brought: Gains, score: Score, outcome: Outcome) -> Gain:
    pool = brought.leads.with_gears(brought.pool, outcome.added)
    closest = {lead: outcome.closest[lead] for lead in {*score.gained, *score.exact}}
    gears = tuple(map(brought.leads.gear, outcome.added))
    solutions = brought.leads.solutions(pool, closest)
    return Gain(gears, score.gained, score.exact, score.worst, tuple(solutions.values()))
