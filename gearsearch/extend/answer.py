"""What every answer of ``extend`` has, and how its leads, gears and trains are told."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from ..base.document import Block, Document
from ..base.facts import Column, Note, Record, Table
from ..base.showing import Answering
from ..base.units import format_length
from ..search.answers import asked_way
from ..search.solution import Solution
from ..search.solutions import SOLUTION, Told, pairs_words, solution_record
from ..search.terms import Terms
from ..shop.machine import Route
from ..shop.overview import machine_lines, two_ratios
from ..shop.shop import Shop
from ..work.limits import Limits
from ..work.part import Part
from .wanted import Gear

if TYPE_CHECKING:
    from .bound import Bound

MOST_NAMED = 8
FIT_KEYS = ("lead", "wanted_mm", "train", "lead_mm", "lead_exact", "route", "lever")
Fitted = tuple[Part, Solution]


@dataclass(frozen=True, slots=True, repr=False)
class Extension(Answering):
    """An answer of ``extend``.

    Parameters
    ----------
    shop, routes, terms, needs : whose gears, by which ways, under which terms, for which leads
    """

    shop: Shop
    routes: tuple[Route, ...]
    terms: Terms
    needs: tuple[Part, ...]

    def common(self) -> Record:
        """What every record has."""
        return {
            "shop": self.shop.name,
            "demo": self.shop.is_demo,
            **asked_way(self.routes),
            "hand": self.terms.hand,
            "pairs": list(self.terms.pairs),
            "mounting": self.terms.mounting,
            "leads": [_need_record(need) for need in self.needs],
        }

    def page(self, found: str, blocks: Iterable[Block], *more: str, notes: tuple[Note, ...] = ()) -> Document:
        """A page that begins with what was found, and ends with how.

        Parameters
        ----------
        found : its title
        blocks : what was found
        more : further lines on how
        notes : what else to know
        """
        how = (
            self.shop.heading,
            *machine_lines(self.shop, *self.routes),
            f"{self.trains_words}, {self.judged_by}",
            self.tolerance_words,
            *more,
        )
        ratios = two_ratios(self.shop, *self.routes)
        return Document(found, (), ratios, (*blocks, Block(lines=how)), notes)

    @property
    def trains_words(self) -> str:
        """Which trains were looked at."""
        hand = "either hand" if self.terms.hand == "either" else f"{self.terms.hand} hand"
        return f"trains of {pairs_words(self.terms.pairs)}, {hand}"

    @property
    def tolerance_words(self) -> str:
        """What counts as inside tolerance."""
        return f"inside tolerance: {_tolerance_words(self.needs)}"

    @property
    def judged_by(self) -> str:
        """How mounting was judged."""
        if self.terms.mounting == "skip":
            return "mounting not judged"
        return "each mounting on the quadrant" if self.shop.has_geometry else "mounting by the rule of thumb"

    def names(self, places: Sequence[int]) -> str:
        """Leads by their places, the first few by name."""
        shown = ", ".join(self.needs[place].title for place in places[:MOST_NAMED])
        more = len(places) - MOST_NAMED
        return f"{shown} and {more} more" if more > 0 else shown

    def beyond(self, bound: Bound) -> tuple[Note, ...]:
        """Which leads no set of the gears brings, where there are such."""
        possible = {*bound.covered, *bound.maybe_covered}
        beyond = [place for place in range(len(self.needs)) if place not in possible]
        route = "" if set(self.shop.machine.routes) == set(self.routes) else ", --route any"
        help_ = f"try more --pairs{route} or a wider --tolerance"
        return (Note("beyond", f"no set of these gears brings {self.names(beyond)}: {help_}"),) if beyond else ()

    def bound_notes(self, bound: Bound) -> Iterator[Note]:
        """What no number of the gears could pass."""
        yield Note(
            "bound",
            f"with any number of these gears: {len(bound.covered)} of {leads_words(len(self.needs))} inside tolerance, "
            f"{len(bound.exact)} exactly",
        )
        if bound.maybe_covered or bound.maybe_exact:
            yield Note(
                "not-ruled-out",
                f"for {leads_words(len(bound.maybe_covered))} more (exactly: {len(bound.maybe_exact)}) there are "
                "trains, but none of the nearest mounts; they are not ruled out",
            )
        yield from self.beyond(bound)

    def trains(self, fitted: Iterable[Fitted]) -> Table:
        """Leads, each with its train."""
        rows = [(need, Told(self.shop, fit, part=need, routes=self.routes)) for need, fit in fitted]
        return Table.of(_FITTED, rows)


def _need_record(need: Part) -> Record:
    low, high = need.allowed_mm
    return {
        "name": need.title,
        "wanted_mm": float(need.lead_mm),
        "wanted_exact": str(need.lead_mm),
        "low_mm": float(low),
        "high_mm": float(high),
    }


def _tolerance_words(needs: Sequence[Part]) -> str:
    """How far a lead may be off, where that is the same share of each."""
    ends = {tuple(end / need.lead_mm - 1 for end in need.allowed_mm) for need in needs}
    if len(ends) > 1:
        return "by each lead's own tolerance"
    ((low, high),) = ends
    if low == high:
        return "the wanted lead exactly"
    return f"{Limits(needs[0].allowed_mm, needs[0].lead_mm).share} the wanted lead"


def leads_words(count: int) -> str:
    """So many leads, in words."""
    return "1 lead" if count == 1 else f"{count} leads"


def gear_words(gear: Gear) -> str:
    """A gear for people: its tooth count, and its kind of tooth where the shop has several."""
    tag, teeth = gear
    return f"{teeth}@{tag}" if tag else f"{teeth}"


def gears_words(gears: Iterable[Gear]) -> str:
    """Several gears for people."""
    return " ".join(map(gear_words, gears))


def gear_record(gear: Gear) -> Record:
    """A gear for programs."""
    return {"kind": gear[0], "teeth": gear[1]}


def fit_records(shop: Shop, fitted: Iterable[tuple[Part, Solution | None]]) -> list[Record]:
    """The trains of leads that have one, for programs."""
    return [{"lead": need.title} | solution_record(shop, fit) for need, fit in fitted if fit is not None]


def fit_row(need: Part, fit: Solution | None) -> Record:
    """A lead and its train in a flat row, the train empty where there is none."""
    row = {"lead": need.title, "wanted_mm": float(need.lead_mm)}
    if fit is None:
        return row
    cut = {"train": str(fit.train), "lead_mm": float(fit.lead_mm), "lead_exact": str(fit.lead_mm)}
    return row | cut | {"route": fit.route, "lever": fit.way.lever or None}


def _of_solution(column: Column[Told]) -> Column[tuple[Part, Told]]:
    cell = column.cell
    assert cell is not None
    short = "cuts" if column.short == "lead" else "error" if column.short == "relative" else column.short
    return Column("", short, cell=lambda row: cell(row[1]), weight=column.weight, right=column.right)


_SHOWN = ("train", "lead", "or", "relative", "hand", "route", "lever", "mounts")
_FITTED: tuple[Column[tuple[Part, Told]], ...] = (
    Column("", "lead", cell=lambda row: row[0].title),
    Column("", "wanted", cell=lambda row: format_length(row[0].lead_mm, row[1].shop.units), right=True, weight=3),
    *(_of_solution(column) for column in SOLUTION if column.short in _SHOWN),
)
