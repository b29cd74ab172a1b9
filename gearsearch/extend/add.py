"""The gear, or the two, worth adding: which bring most leads of a list inside tolerance with a train that mounts."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

from ..base import require
from ..base.document import Block, Document
from ..base.errors import GearsearchError
from ..base.facts import Column, Note, Record, Table
from ..base.require import is_whole
from ..base.sharing import HERE, Crew
from ..base.units import format_ppm, spaced
from ..search.solution import Solution
from ..search.terms import MOST_ANSWERS, Terms
from ..shop.shop import Shop
from ..work.part import Part
from .answer import FIT_KEYS, Extension, Fitted, fit_records, fit_row, gear_record, gears_words, leads_words
from .wanted import Gear

if TYPE_CHECKING:
    from .bound import Bound
    from .gains import Gains
    from .together import Ranked, Together


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


@dataclass(frozen=True, slots=True, repr=False)
class Advice(Extension):
    """Which gear to add.

    Parameters
    ----------
    shop, routes, terms, needs : whose gears, by which ways, under which terms, for which leads
    owned : the closest train that mounts from the gears owned, for each lead; None where there is none inside tolerance
    gains : the best gears, or pairs of gears, to add
    alone : with two gears asked for: what the best single gear would bring
    tried : how many gears, or pairs of gears, were tried
    bound : what no set of these gears could pass, however many of each
    """

    owned: tuple[Solution | None, ...]
    gains: tuple[Gain, ...]
    alone: Gain | None
    tried: int
    bound: Bound

    keys = ("rank", "add", "gained", "made_exact", "worst_ppm", *FIT_KEYS)

    @property
    def found(self) -> bool:
        """Whether a gear helps."""
        return bool(self.gains or self.alone)

    @property
    def covered(self) -> int:
        """How many leads the gears owned bring inside tolerance."""
        return sum(fit is not None for fit in self.owned)

    @property
    def exact(self) -> int:
        """How many leads the gears owned give exactly."""
        return sum(fit is not None and fit.error == 0 for fit in self.owned)

    @property
    def notes(self) -> tuple[Note, ...]:
        """What else the machinist should know."""
        content = "the gears owned bring every lead inside tolerance; one more gear can only make errors smaller"
        more = (Note("all-covered", content),) if self.covered == len(self.needs) else ()
        return (*self._nothing(), *self._alone(), *more, *self.bound_notes(self.bound))

    def _nothing(self) -> Iterator[Note]:
        if not self.gains and self.alone is None:
            yield Note("nothing-helps", "none of them brings a lead inside tolerance, or makes one exact")
        elif not self.gains:
            yield Note("one-is-enough", "no two of them bring more than the best single gear")

    def _alone(self) -> Iterator[Note]:
        if self.alone is not None:
            yield Note(
                "best-single",
                f"the best single gear, {gears_words(self.alone.gears)}, brings {len(self.alone.gained)} inside "
                f"tolerance and makes {len(self.alone.exact)} exact",
            )

    def fitted(self, gain: Gain) -> list[Fitted]:
        """The leads that a gain brings, each with its train."""
        return [(self.needs[place], fit) for place, fit in zip(gain.leads, gain.fits, strict=True)]

    def rows(self) -> Iterator[Record]:
        """A row for each lead that one of the gains brings."""
        for rank, gain in enumerate(self.gains, 1):
            about = {
                "rank": rank,
                "add": gears_words(gain.gears),
                "gained": len(gain.gained),
                "made_exact": len(gain.exact),
                "worst_ppm": float(gain.worst * 1_000_000),
            }
            yield from (about | fit_row(need, fit) for need, fit in self.fitted(gain))

    def record(self) -> Record:
        """The advice for programs; the keys are stable."""
        return self.common() | {
            "tried": self.tried,
            "covered": self.covered,
            "exact": self.exact,
            "owned": fit_records(self.shop, zip(self.needs, self.owned, strict=True)),
            "gains": [self._gain_record(gain) for gain in self.gains],
            "alone": None if self.alone is None else self._gain_record(self.alone),
            "bound": self.bound.record(),
            "notes": [note.record() for note in self.notes],
        }

    def _gain_record(self, gain: Gain) -> Record:
        return {
            "gears": [gear_record(gear) for gear in gain.gears],
            "gained": [self.needs[place].title for place in gain.gained],
            "exact": [self.needs[place].title for place in gain.exact],
            "worst_ppm": float(gain.worst * 1_000_000),
            "worst_exact": str(gain.worst),
            "fits": fit_records(self.shop, self.fitted(gain)),
        }

    def table(self) -> Table:
        """The gears worth adding."""
        return Table.of(_GAIN, [(self, number, gain) for number, gain in enumerate(self.gains, 1)])

    def gained_first(self, gain: Gain) -> list[Fitted]:
        """The leads that a gain brings, those newly inside tolerance first."""
        placed = sorted(zip(gain.leads, self.fitted(gain), strict=True), key=lambda row: row[0] not in gain.gained)
        return [fitted for _, fitted in placed]

    def document(self) -> Document:
        """The advice for people."""
        one = self.alone is None and all(len(gain.gears) == 1 for gain in self.gains)
        ways = "ways to add a gear" if one else "ways to add two gears"
        found = (
            f"{leads_words(len(self.needs))}; the gears owned bring {self.covered} inside tolerance, "
            f"{self.exact} exactly"
        )
        best = self.gains[0] if self.gains else self.alone
        blocks = [Block(table=self.table())] if self.gains else []
        if best is not None:
            blocks.append(Block(told(best), table=self.trains(self.gained_first(best))))
        return self.page(found, blocks, f"all {spaced(self.tried)} {ways} tried", notes=self.notes)


def told(gain: Gain) -> str:
    """What a gain brings, in words: the heading of its trains."""
    before = len(gain.leads) - len(gain.gained)
    said = [f"{leads_words(len(gain.gained))} gained"] if gain.gained or not before else []
    said += [f"{leads_words(before)} inside tolerance before, now exact"] if before else []
    return f"with {gears_words(gain.gears)}: {', then '.join(said)}"


def worst_words(worst: Fraction) -> str:
    """How far off the farthest lead is."""
    return "exact" if worst == 0 else format_ppm(worst).lstrip("+")


_GAIN: tuple[Column[tuple[Advice, int, Gain]], ...] = (
    Column("", "no.", cell=lambda row: str(row[1]), right=True),
    Column("", "add", cell=lambda row: gears_words(row[2].gears)),
    Column("", "leads gained", cell=lambda row: str(len(row[2].gained)), right=True),
    Column("", "made exact", cell=lambda row: str(len(row[2].exact)), right=True),
    Column("", "largest error", cell=lambda row: worst_words(row[2].worst) if row[2].gained else ""),
    Column("", "which leads", cell=lambda row: row[0].names(row[2].leads), weight=2),
)


def best_gears(
    shop: Shop,
    needs: Iterable[Part],
    terms: Terms,
    candidates: Iterable[Gear],
    gears: int = 1,
    count: int = 10,
    crew: Crew = HERE,
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
    crew : who does the work

    Every candidate (every pair, with two alike too) is tried; the order is that of ``Gain``. A gear counts as driver,
    driven or idler. Two gears are listed only where they bring more than the best single one.
    Raises GearsearchError for a request that cannot be.
    Limits of validity: as ``find``; an added gear is taken to go wherever a gear of its size may go.
    """
    return advised([(shop, needs, candidates)], terms, gears, count, crew)[0]


def advised(
    machines: Iterable[tuple[Shop, Iterable[Part], Iterable[Gear]]], terms: Terms, gears: int, count: int, crew: Crew
) -> list[Advice]:
    """The advice for each of several machines, each with its leads and the gears that go on it.

    The gears are those that bring most leads over all machines: each advice tells what its machine has of them. The
    rest is as for ``best_gears``.
    """
    if not is_whole(gears) or gears not in (1, 2):
        raise GearsearchError(f"{gears} gears cannot be added at once", "ask for 1 or 2")
    count = require.whole(count, MOST_ANSWERS, "answers")
    from .bound import unlimited
    from .boxes import Boxes
    from .together import Together
    from .wanted import WantedLeads

    boxes = Boxes([WantedLeads(shop, needs, terms, candidates) for shop, needs, candidates in machines], crew)
    if not boxes.gears:
        raise GearsearchError("there is no gear to try", "give the tooth counts to try, as in --sizes 15:127")
    together = Together(boxes, most=gears)
    singles = together.singles()
    ranked = together.ranked(singles)
    alone, tried = ranked[:1] if gears == 2 else [], len(singles)
    if gears == 2:
        ranked, tried = together.pairs(singles, count), tried * (tried + 1) // 2
    return [
        Advice(
            shop=leads.shop,
            routes=leads.routes,
            terms=terms,
            needs=leads.needs,
            owned=_owned(together.each[box]),
            gains=tuple(_gains(together, box, ranked[:count])),
            alone=next(_gains(together, box, alone), None),
            tried=tried,
            bound=unlimited(leads, leads.pool, together.each[box].closest, crew),
        )
        for box, leads in enumerate(boxes.each)
    ]


def _owned(gains: Gains) -> tuple[Solution | None, ...]:
    solutions = gains.leads.solutions(gains.pool, gains.closest)
    return tuple(solutions.get(lead) for lead in range(len(gains.leads)))


def _gains(together: Together, box: int, ranked: Ranked) -> Iterator[Gain]:
    """What the gears that were found bring to one machine, each lead with its train."""
    each = [brought for _, brought in ranked]
    fits = together.boxes.crew.share("placing the trains", together.fits, [(box, brought) for brought in each])
    for brought, trains in zip(each, fits, strict=True):
        gains, outcome = together.each[box], brought.each[box]
        gained = gains.gained(outcome)
        worst = max((outcome.closest[lead].off for lead in gained), default=Fraction(0))
        gears = tuple(together.boxes.gears[gear] for gear in brought.added)
        yield Gain(gears, gained, gains.made_exact(outcome), worst, trains)
