"""A set of gears from scratch: so many gears that bring as many leads of a list inside tolerance as can be found."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from itertools import combinations
from math import comb

from ..base import require
from ..base.document import Block, Document
from ..base.errors import GearsearchError
from ..base.facts import Note, Record, Table
from ..base.sharing import HERE, Crew, Remade
from ..search.solution import Solution
from ..search.terms import Terms
from ..shop.shop import Shop
from ..work.part import Part
from .answer import FIT_KEYS, Extension, fit_records, fit_row, gear_record, gears_words, leads_words
from .bound import Bound, near_trains, unlimited
from .boxes import Boxes, Set
from .together import Together
from .wanted import Gear, Serving, WantedLeads

MOST_GEARS, MOST_COPIES = 60, 4
MOST_TRIED = 500  # up to so many sets every one is tried
STARTS = 6  # how many sets are begun, of which the best is kept


@dataclass(frozen=True, slots=True, repr=False)
class Design(Extension):
    """A set of gears for a list of leads.

    Parameters
    ----------
    shop, routes, terms, needs : for which machine, by which ways, under which terms, for which leads
    gears : the gears, as (tag of the kind of tooth, tooth count), ascending; fewer than asked for where more help none
    fits : the closest train that mounts for each lead; None where the set has none inside tolerance
    bound : what no set of these gears could pass, however many of each
    proved : whether no set of so many gears does better: every set was tried, or this one does all the bound allows
    """

    gears: tuple[Gear, ...]
    fits: tuple[Solution | None, ...]
    bound: Bound
    proved: bool

    keys = FIT_KEYS

    @property
    def found(self) -> bool:
        """Whether a lead comes inside tolerance."""
        return self.covered > 0

    @property
    def covered(self) -> int:
        """How many leads the set brings inside tolerance."""
        return sum(fit is not None for fit in self.fits)

    @property
    def exact(self) -> int:
        """How many leads the set gives exactly."""
        return sum(fit is not None and fit.error == 0 for fit in self.fits)

    @property
    def notes(self) -> tuple[Note, ...]:
        """How good the set is, and what it leaves out."""
        good = Note("proved", "proved: no set of as many gears does better")
        said = [good if self.proved else Note("not-proved", "a good set, not proved to be the best")]
        missing = [place for place, fit in enumerate(self.fits) if fit is None]
        if missing:
            said.append(Note("missing", f"not inside tolerance: {self.names(missing)}"))
        return (*said, *self.bound_notes(self.bound))

    def rows(self) -> Iterator[Record]:
        """A row for each lead."""
        yield from (fit_row(need, fit) for need, fit in zip(self.needs, self.fits, strict=True))

    def record(self) -> Record:
        """The set for programs; the keys are stable."""
        return self.common() | {
            "gears": [gear_record(gear) for gear in self.gears],
            "covered": self.covered,
            "exact": self.exact,
            "proved": self.proved,
            "fits": fit_records(self.shop, zip(self.needs, self.fits, strict=True)),
            "bound": self.bound.record(),
            "notes": [note.record() for note in self.notes],
        }

    def table(self) -> Table:
        """The leads that the set brings, each with its train."""
        return self.trains((need, fit) for need, fit in zip(self.needs, self.fits, strict=True) if fit is not None)

    def document(self) -> Document:
        """The set for people."""
        found = (
            f"{leads_words(len(self.needs))}; these {len(self.gears)} gears bring {self.covered} inside tolerance, "
            f"{self.exact} exactly: {gears_words(self.gears)}"
        )
        return self.page(found, [Block(table=self.table())] if self.covered else [], notes=self.notes)


def design(
    shop: Shop,
    needs: Iterable[Part],
    terms: Terms,
    candidates: Iterable[Gear],
    gears: int,
    copies: int = 2,
    crew: Crew = HERE,
) -> Design:
    """A set of so many gears, from scratch, that covers as much of a list as can be found.

    Parameters
    ----------
    shop : the machine; of its gears only those that cannot come off are used, and not counted
    needs, terms : for which leads, and how trains may be built; with no gears to do without, as none is owned
    candidates : the gears that could be had, as (tag of the kind of tooth, tooth count)
    gears : how many gears the set may have, 2 to 60
    copies : how many equal gears it may have, 1 to 4
    crew : who does the work

    Sets are compared by leads inside tolerance, then leads met exactly, then fewest teeth in all, then tooth counts.
    Where there are no more than 500 sets, every one is tried. Else sets are begun in a few ways; gears are put in one
    at a time (two, where one brings nothing), each the best there is, and then exchanged one for one as long as that
    helps: a good set, not proved to be the best unless it does all that the bound allows.
    Raises GearsearchError for a request that cannot be.
    """
    return designed([(shop, needs, candidates)], terms, gears, copies, crew)[0]


def designed(
    machines: Iterable[tuple[Shop, Iterable[Part], Iterable[Gear]]], terms: Terms, gears: int, copies: int, crew: Crew
) -> list[Design]:
    """The set for each of several machines, each with its leads and the gears that go on it.

    It is one set, the best over the leads of all machines. The rest is as for ``design``.
    """
    gears = require.whole(gears, MOST_GEARS, "gears for a set", 2)
    copies = require.whole(copies, MOST_COPIES, "equal gears in a set")
    if terms.without:
        raise GearsearchError("a set from scratch uses none of your gears, and --without names some", "leave them out")
    machines = list(machines)
    boxes = Boxes([WantedLeads(_bare(shop), needs, terms, these) for shop, needs, these in machines], crew)
    if len(boxes.gears) * copies < gears:
        raise GearsearchError(
            f"{len(boxes.gears)} tooth counts, {copies} gears of each, make no set of {gears} gears",
            "give more tooth counts, as in --sizes 15:127",
        )
    chosen, every = _SetMaker(boxes, gears, copies).best()
    made = [_made(boxes, box, chosen) for box in range(len(boxes.each))]
    reached = all(each.covered == each.bound.most_covered and each.exact == each.bound.most_exact for each in made)
    return [replace(each, shop=shop, proved=every or reached) for each, (shop, *_) in zip(made, machines, strict=True)]


def _bare(shop: Shop) -> Shop:
    """The machine with the gears alone that cannot come off."""
    return replace(shop, gears=tuple(replace(owned, teeth=(), joined=()) for owned in shop.gears))


def _made(boxes: Boxes, box: int, chosen: Set) -> Design:
    """The set as an answer for one machine."""
    leads, pool = boxes.each[box], boxes.pools(chosen)[box]
    solutions = leads.solutions(pool, Serving(leads, pool).closest()[0])
    fits = tuple(solutions.get(lead) for lead in range(len(leads)))
    gears, bound = tuple(boxes.gears[gear] for gear in chosen), unlimited(leads, leads.pool, {}, boxes.crew)
    return Design(leads.shop, leads.routes, leads.terms, leads.needs, gears, fits, bound, proved=False)


class _SetMaker(Remade):
    """Makes sets of gears for a list and compares them; see ``design`` for the order and the method.

    Parameters
    ----------
    boxes : the leads, the machines and the gears that could be had; no machine has a loose gear
    gears : how many gears a set may have
    copies : how many equal ones
    """

    def __init__(self, boxes: Boxes, gears: int, copies: int) -> None:
        self._boxes = boxes
        self._gears = gears
        self._copies = copies
        self._known: dict[Set, tuple[int, int]] = {}

    def made_from(self) -> tuple[type[_SetMaker], tuple[Boxes, int, int]]:
        """What sets are known already is left behind."""
        return _SetMaker, (self._boxes, self._gears, self._copies)

    def best(self) -> tuple[Set, bool]:
        """The best set that was found, without gears that bring nothing, and whether every set was tried."""
        stock = sorted(self._boxes.candidates * self._copies)
        every = comb(len(stock), self._gears) <= MOST_TRIED
        if every:
            tried = sorted(set(combinations(stock, self._gears)))
            chosen = self._best_of("trying every set", tried)
        else:
            chosen = min(map(self._improved, self._starts()), key=self._placed)
        return self._bare(chosen), every

    def _best_of(self, what: str, sets: Iterable[Set]) -> Set:
        """The best of some sets, those not known yet tried by everyone."""
        sets = list(sets)
        new = list(dict.fromkeys(chosen for chosen in sets if chosen not in self._known))
        self._known |= dict(zip(new, self._boxes.crew.share(what, self.tried, new), strict=True))
        return min(sets, key=self._placed)

    def tried(self, chosen: Set) -> tuple[int, int]:
        """How many leads the set covers on all machines, and how many exactly."""
        covered = exact = 0
        for leads, pool in zip(self._boxes.each, self._boxes.pools(chosen), strict=True):
            closest, _ = Serving(leads, pool).closest()
            covered += len(closest)
            exact += sum(found.off == 0 for found in closest.values())
        return covered, exact

    def _value(self, chosen: Set) -> tuple[int, int]:
        if chosen not in self._known:
            self._known[chosen] = self.tried(chosen)
        return self._known[chosen]

    def _placed(self, chosen: Set) -> tuple[int, int, int, Set]:
        """What sets are compared by, the best first, and the set itself."""
        covered, exact = self._value(chosen)
        return -covered, -exact, self._boxes.teeth(chosen), chosen

    def _bare(self, chosen: Set) -> Set:
        """The set without gears that bring nothing, the largest taken out first."""
        for size in sorted(set(chosen), key=lambda size: -self._boxes.teeth((size,))):
            while size in chosen and self._value(_less(chosen, size)) == self._value(chosen):
                chosen = _less(chosen, size)
        return chosen

    def _gains(self, chosen: Set, most: int) -> Together:
        allowed = tuple(size for size in self._boxes.candidates if chosen.count(size) < self._copies)
        return Together(self._boxes, chosen, most, allowed)

    def _improved(self, start: Set) -> Set:
        """A set gathered, then exchanged and filled up again while that helps."""
        chosen = self._gathered(start)
        while True:
            trial = self._gathered(self._exchanged(chosen))
            if self._placed(trial) >= self._placed(chosen):
                return chosen
            chosen = trial

    def _starts(self) -> list[Set]:
        """What sets are begun from: nothing, and the first few pairs of gears that bring most."""
        gains = self._gains((), 2)
        once = frozenset(gains.candidates if self._copies == 1 else ())
        pairs = gains.pairs(gains.singles(), STARTS, once)
        return [(), *(score.added for score, _ in pairs[1:STARTS])]

    def _gathered(self, chosen: Set) -> Set:
        """The set filled up, each time with what brings most; short where nothing brings anything."""
        while len(chosen) < self._gears:
            more = self._one(chosen) or self._two(chosen) or self._train(chosen)
            if not more:
                break
            chosen = tuple(sorted((*chosen, *more)))
        return chosen

    def _one(self, chosen: Set) -> Set:
        gains = self._gains(chosen, 1)
        ranked = gains.ranked(gains.singles())
        return ranked[0][0].added if ranked else ()

    def _two(self, chosen: Set) -> Set:
        if len(chosen) + 2 > self._gears:
            return ()
        gains = self._gains(chosen, 2)
        once = frozenset(size for size in gains.candidates if chosen.count(size) + 2 > self._copies)
        pairs = gains.pairs(gains.singles(), 1, once)
        return pairs[0][0].added if pairs else ()

    def _train(self, chosen: Set) -> Set:
        """The fewest gears more that make a whole train for a lead that the set does not cover."""
        few = [
            more
            for box in range(len(self._boxes.each))
            for more in self._lacking(box, chosen)
            if 0 < len(more) <= self._gears - len(chosen)
        ]
        return min(few, key=lambda more: (len(more), more), default=())

    def _lacking(self, box: int, chosen: Set) -> Iterator[Set]:
        """What a set lacks of each near train for the leads of one machine that it does not cover."""
        leads, pool = self._boxes.each[box], self._boxes.pools(chosen)[box]
        plenty = leads.with_gears(leads.pool, leads.candidates, self._copies)
        covered, _ = Serving(leads, pool).closest()
        for lead in range(len(leads)):
            for train in near_trains(leads, plenty, lead) if lead not in covered else ():
                more = _lacking(train, pool.available)
                yield tuple(sorted(self._boxes.gear_of(box, number) for number in more))

    def _exchanged(self, chosen: Set) -> Set:
        """The set with gears exchanged one for one, the best exchange each time, as long as that helps."""
        while True:
            rests = [_less(chosen, size) for size in sorted(set(chosen))]
            refilled = (tuple(sorted((*rest, *self._one(rest)))) for rest in rests)
            better = self._best_of("weighing sets", refilled) if rests else chosen
            if self._placed(better) >= self._placed(chosen):
                return chosen
            chosen = better


def _less(chosen: Set, size: int) -> Set:
    place = chosen.index(size)
    return chosen[:place] + chosen[place + 1 :]


def _lacking(train: list[int], available: tuple[int, ...]) -> Set:
    """The gears of a train that a pool has not got."""
    return tuple(size for size, count in sorted(Counter(train).items()) for _ in range(count - available[size]))
