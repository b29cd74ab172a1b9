"""Gears a list of leads never needs, and the smallest part of the box that still covers the list."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from ..base import require
from ..base.document import Block, Document
from ..base.facts import Note, Record, Table
from ..search.solution import Solution
from ..search.terms import Terms
from ..shop.shop import Shop
from ..work.part import Part
from .answer import Extension, fit_records, gear_record, gear_words, gears_words, leads_words
from .wanted import Gear

MOST_ROUNDS = 400


@dataclass(frozen=True, slots=True, repr=False)
class Spare(Extension):
    """Which gears a list needs.

    Parameters
    ----------
    shop, routes, terms, needs : whose gears, by which ways, under which terms, for which leads
    covered : places of the leads the whole box brings inside tolerance with a train that mounts
    lost : for each loose gear, as (tag of the kind of tooth, tooth count), the leads lost without one such gear
    smallest : loose gears that cover the same leads with as few gears as were found to do
    fits : the closest train of the smaller set for each lead in ``covered``
    least : no fewer loose gears can cover the same leads

    Joined pieces and gears that cannot come off stay in the box throughout and are not counted.
    """

    covered: tuple[int, ...]
    lost: dict[Gear, tuple[int, ...]]
    smallest: tuple[Gear, ...]
    fits: tuple[Solution, ...]
    least: int

    keys = ("gear", "leads_lost", "which", "in_smallest_set")

    @property
    def found(self) -> bool:
        """Whether a lead comes inside tolerance."""
        return bool(self.covered)

    @property
    def never_needed(self) -> tuple[Gear, ...]:
        """The gears any one of which can be taken out without losing a lead."""
        return tuple(gear for gear, leads in self.lost.items() if not leads)

    @property
    def proved(self) -> bool:
        """Whether no smaller set covers the same leads."""
        return len(self.smallest) == self.least

    @property
    def notes(self) -> tuple[Note, ...]:
        """Which gears are needed, and which few would do."""
        if not self.covered:
            text = "no gear is needed: no lead of the list is inside tolerance with a train that mounts"
            return (Note("nothing-covered", text),)
        return (*self._needed(), *self._fewest())

    def _needed(self) -> Iterator[Note]:
        if self.never_needed:
            yield Note("never-needed", f"never needed, any one of them: {gears_words(self.never_needed)}")
        else:
            yield Note("all-needed", "every gear is needed for some lead")
        for gear, places in self.lost.items():
            if places:
                lost = f"{leads_words(len(places))} lost ({self.names(places)})"
                yield Note("needed", f"without a {gear_words(gear)}: {lost}")

    def _fewest(self) -> Iterator[Note]:
        count = len(self.smallest)
        gears = "1 gear covers" if count == 1 else f"{count} gears cover"
        yield Note("smallest", f"{gears} the same leads: {gears_words(self.smallest)}")
        if self.proved:
            yield Note("proved", "proved: no smaller set covers them")
        else:
            yield Note("not-proved", f"the smallest found; proved: at least {self.least} are needed")

    def rows(self) -> Iterator[Record]:
        """Each gear owned: the leads lost without it, and how often it is in the smallest set."""
        for gear, places in self.lost.items():
            which = "; ".join(self.needs[place].title for place in places)
            count = self.smallest.count(gear)
            yield {"gear": gear_words(gear), "leads_lost": len(places), "which": which, "in_smallest_set": count}

    def record(self) -> Record:
        """The gears to spare for programs; the keys are stable."""
        needed = [self.needs[place] for place in self.covered]
        return self.common() | {
            "covered": [need.title for need in needed],
            "never_needed": [gear_record(gear) for gear in self.never_needed],
            "lost": [
                gear_record(gear) | {"leads": [self.needs[place].title for place in places]}
                for gear, places in self.lost.items()
            ],
            "smallest": [gear_record(gear) for gear in self.smallest],
            "least": self.least,
            "proved": self.proved,
            "fits": fit_records(self.shop, zip(needed, self.fits, strict=True)),
            "notes": [note.record() for note in self.notes],
        }

    def table(self) -> Table:
        """The leads that the smallest set covers, each with its train."""
        return self.trains((self.needs[place], fit) for place, fit in zip(self.covered, self.fits, strict=True))

    def document(self) -> Document:
        """The gears to spare for people."""
        found = f"{leads_words(len(self.needs))}; the gears owned bring {len(self.covered)} inside tolerance"
        said = Block(lines=tuple(note.text for note in self.notes))
        return self.page(found, [said, Block(table=self.table())] if self.covered else [said])


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
        routes=leads.routes,
        terms=terms,
        needs=leads.needs,
        covered=parts.covered,
        lost=lost,
        smallest=tuple(leads.gear(number) for number, count in enumerate(pool.loose) for _ in range(count)),
        fits=tuple(solutions.values()),
        least=least,
    )
