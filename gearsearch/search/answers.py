"""What the search answers: solutions, and all that goes with them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from ..base.document import Block, Document, Item
from ..base.facts import Note, Record, Table, record
from ..base.showing import Pictured
from ..base.units import spaced
from ..mounting.placement import Names, placement_lines
from ..shop.machine import ANY_ROUTE, Route
from ..shop.overview import machine_lines, two_ratios
from ..shop.shop import Shop
from ..work.limits import Limits
from ..work.part import Part
from ..work.tolerance import open_ended
from .solution import Solution
from .solutions import (
    CAUTION,
    FAR_OFF,
    ON_THE_PART,
    PART_KEYS,
    SOLUTION,
    Told,
    number,
    on_the_part,
    pairs_words,
    refusals,
)
from .terms import Terms

_LISTS = ("studs", "on_the_part")  # which a flat row holds spread out, or not at all
_VERDICTS = frozenset({"far-off", "nearest-in-reach", "none-inside", "none-mounts", "no-train", "out-of-reach"})
_HELPING = frozenset(
    {"better-route", "other-route", "more-pairs", "one-gear", "other-unit", "tilt-for-a-cam", "nothing-helps"}
)
_NAMES = [column.name for column in (*SOLUTION, *ON_THE_PART) if column.name]
KEYS = (*(name for name in _NAMES if name not in _LISTS), *PART_KEYS)


@dataclass(frozen=True, slots=True, repr=False)
class Answer(Pictured):
    """What the search found.

    Parameters
    ----------
    shop : whose gears
    part : what is to be cut
    terms : how its train may be made
    routes : by which ways, in the order of the shop file
    searched : how many trains the box makes, by each of these ways; every one was considered
    fits : the answers, best first
    reach_mm : shortest and longest lead [mm] of the box with so many pairs, before mounting; None: no train at all
    notes : what else the machinist should know
    """

    shop: Shop
    part: Part
    terms: Terms
    routes: tuple[Route, ...]
    searched: int
    fits: tuple[Solution, ...]
    reach_mm: tuple[Fraction, Fraction] | None
    notes: tuple[Note, ...] = ()

    keys = KEYS

    @property
    def route(self) -> Route:
        """The way of the best answer; the first of all where there is none."""
        return self.fits[0].way if self.fits else self.routes[0]

    @property
    def found(self) -> bool:
        """Whether a train qualifies: one that mounts or is not known not to, inside the tolerance if there is one.

        Where there is none, a lead that is more than 1 % off does not qualify.
        """
        return any(fit.mounts != "no" and fit.within is not False and not self.is_far(fit) for fit in self.fits)

    @property
    def helping(self) -> tuple[Note, ...]:
        """The notes that say what would help, where no train qualifies."""
        return () if self.found else tuple(note for note in self.notes if note.code in _HELPING)

    def is_off(self, fit: Solution) -> bool:
        """Whether an answer is marked as far off: ``Solution.is_off``, and no tilt of the head takes it up."""
        return fit.is_off and not self.part.tilts_to(fit.lead_mm)

    def is_far(self, fit: Solution) -> bool:
        """Whether an answer is too far off to be one: ``Solution.is_far``, and no tilt of the head takes it up."""
        return fit.is_far and not self.part.tilts_to(fit.lead_mm)

    @property
    def limits(self) -> Limits:
        """The leads that will do, as they are printed beside the answers."""
        leads = tuple(fit.lead_mm for fit in self.fits)
        return Limits(self.part.interval_mm, self.part.lead_mm, leads, self.shop.units, self.part.of_gears)

    @property
    def _told(self) -> list[Told]:
        limits, hands = self.limits, {fit.hand for fit in self.fits}
        hand = next((said for said in (self.terms.hand, None) if hands == {said}), "")
        return [
            Told(self.shop, fit, place, self.part, limits, self.is_off(fit), self.routes, hand)
            for place, fit in enumerate(self.fits, 1)
        ]

    def rows(self) -> Iterator[Record]:
        """One row for each answer."""
        for told in self._told:
            yield record((*SOLUTION, *ON_THE_PART), told) | on_the_part(told.fit, self.part)

    def record(self) -> Record:
        """The whole answer for programs; the keys are stable. ``longest_allowed_mm`` is None where there is no end."""
        allowed = self.part.interval_mm
        ends = (None, None) if allowed is None else open_ended(allowed, self.part.lead_mm)
        return {
            "wanted": wanted_record(self.part, self.shop.units) | {"hand": self.terms.hand},
            "shop": self.shop.name,
            "demo": self.shop.is_demo,
            **asked_way(self.routes),
            "shortest_allowed_mm": number(ends[0]),
            "longest_allowed_mm": number(ends[1]),
            "searched": self.searched,
            "fits": [record((*SOLUTION, *ON_THE_PART), told) for told in self._told],
            "notes": [note.record() for note in self.notes],
        }

    def table(self) -> Table:
        """The answers for people, best first."""
        return Table.of((*SOLUTION, *ON_THE_PART), self._told)

    def document(self) -> Document:
        """The answer for people."""
        wanted, *more = self.part.asked(self.shop.units)
        hand = "" if self.terms.hand == "either" else f", {self.terms.hand} hand"
        tolerance = [] if self.part.interval_mm is None else [self.limits.words]
        answers = (*self._tables(), Block(lines=tuple(refusals(self.fits)))) if self.fits else ()
        verdicts, steps, notes = self._sorted_notes()
        return Document(
            wanted + hand,
            (*more, *tolerance),
            (*verdicts, *two_ratios(self.shop, *self.routes)),
            (*answers, *steps, *self._first_placed(), *self._first_caught(), self._about()),
            (*notes, *self._marks(), *([CAUTION] if self.fits else [])),
        )

    def _sorted_notes(self) -> tuple[list[Note], list[Block], list[Note]]:
        """Where no train qualifies, that none does and what would help, each by itself; and all other notes."""
        if self.found:
            return [], [], list(self.notes)
        verdicts = [note for note in self.notes if note.code in _VERDICTS]
        helping = tuple(Item(note.text) for note in self.helping)
        steps = [Block("what would help:", items=helping)] if helping else []
        return verdicts, steps, [note for note in self.notes if note.code not in _VERDICTS | _HELPING]

    def _about(self) -> Block:
        """What the answers are worked out from."""
        searched = f"all {spaced(self.searched)} trains of {pairs_words(self.terms.pairs)} checked"
        ways = machine_lines(self.shop, *self.routes)
        return Block(lines=(*self.part.about(self.shop.units), self.shop.heading, *ways, searched))

    def _tables(self) -> tuple[Block, ...]:
        """The answers; where even the nearest is none, that one, and the others as a detail."""
        table = self.table()
        if len(self.fits) == 1 or not all(fit.within is False or self.is_far(fit) for fit in self.fits):
            return (Block(table=table),)
        first, rest = replace(table, rows=table.rows[:1]), replace(table, rows=table.rows[1:])
        return Block(table=first), Block("farther off:", table=rest, detail=f"the {len(rest.rows)} farther off")

    def _first_placed(self) -> Iterator[Block]:
        """How the first answer stands on the quadrant, where that was judged."""
        if not self.fits or self.fits[0].placement is None:
            return
        fit, placement = self.fits[0], self.fits[0].placement
        lines = placement_lines(placement, Names(self.shop, fit.way, fit.train.studs))
        tightest = [fit.why] if fit.why else []
        detail = "" if self.found else "how it stands on the quadrant"
        title = f"no. 1, {fit.train}, on the quadrant:"
        yield Block(title, tuple(f"  {line}" for line in [*lines, *tightest]), detail=detail)

    def _first_caught(self) -> Iterator[Block]:
        """How the tool comes back into its groove with the first answer, where half nuts close on the screw."""
        for fit in self.fits[:1]:
            lines = tuple(self.shop.machine.catching(fit.lead_mm, self.part.starts, self.shop.units))
            if lines:
                detail = "" if self.found else "how the tool comes back into its groove"
                yield Block(lines=tuple(f"no. 1, {line}" for line in lines), detail=detail)

    def _marks(self) -> Iterator[Note]:
        """What stands in the table and does not explain itself."""
        if self.part.is_cam:
            yield _TILTS
        if any(map(self.is_off, self.fits)):
            yield FAR_OFF


def asked_way(routes: Sequence[Route]) -> dict[str, str | None]:
    """The route and the lever that all answers have, for programs; ``any``, and no lever, where each has its own."""
    names = {route.name for route in routes}
    lever = routes[0].lever if len(routes) == 1 else ""
    return {"route": ANY_ROUTE if len(names) > 1 else routes[0].name, "lever": lever or None}


def wanted_record(part: Part, unit: str) -> Record:
    """What was asked for, for programs: the lead that the gears must give, and in words where it comes from."""
    thread = part.thread and part.thread.record()
    words = part.describe(unit)
    return {"lead_mm": float(part.lead_mm), "lead_exact": str(part.lead_mm), "words": words, "thread": thread}


_TILTS = Note(
    "tilts",
    "exact at tilt: the tilt of the head at which that train makes the cam exact; the set-up sheet sets it. The "
    "order is by the error at the tilt you asked for",
)
