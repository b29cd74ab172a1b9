"""Gears for several machines at once, as an answer: what they bring to all, then machine by machine."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from ..base.document import Block, Document
from ..base.facts import Column, Note, Table
from ..base.showing import Answering
from ..base.units import spaced
from ..shop.shop import Shop
from .add import Advice, Gain, told, worst_words
from .answer import FIT_KEYS, gear_record, gears_words, leads_words
from .scratch import Design


def labels(shops: Sequence[Shop]) -> list[str]:
    """The names of shops, each with its file where others bear the same."""
    names = [shop.name for shop in shops]
    return [shop.heading if names.count(shop.name) > 1 else shop.name for shop in shops]


@dataclass(frozen=True, slots=True)
class GainOverAll:
    """What some gears would bring to all machines.

    Parameters
    ----------
    each : what they would bring to each; ``Gain`` has the order of a list of these, over the leads of all
    """

    each: tuple[Gain, ...]

    @property
    def gained(self) -> int:
        """How many leads come inside tolerance."""
        return sum(len(gain.gained) for gain in self.each)

    @property
    def exact(self) -> int:
        """How many leads are newly met exactly."""
        return sum(len(gain.exact) for gain in self.each)

    @property
    def worst(self) -> Fraction:
        """The greatest |error| among the leads gained, exact."""
        return max(gain.worst for gain in self.each)

    def record(self) -> dict[str, Any]:
        """For programs."""
        return {
            "gears": [gear_record(gear) for gear in self.each[0].gears],
            "gained": self.gained,
            "exact": self.exact,
            "worst_ppm": float(self.worst * 1_000_000),
            "worst_exact": str(self.worst),
        }


@dataclass(frozen=True, slots=True, repr=False)
class AdviceOverAll(Answering):
    """Which gear to add to each of several boxes.

    Parameters
    ----------
    each : what is said to each machine; the gears are the same, in the order of what they bring to all
    """

    each: tuple[Advice, ...]

    keys = ("shop", *Advice.keys)

    @property
    def found(self) -> bool:
        """Whether a gear helps."""
        return self.each[0].found

    @property
    def gains(self) -> tuple[GainOverAll, ...]:
        """The best gears, or pairs of gears, to add."""
        return tuple(map(GainOverAll, zip(*(advice.gains for advice in self.each), strict=True)))

    @property
    def alone(self) -> GainOverAll | None:
        """With two gears asked for: what the best single gear would bring."""
        alone = [advice.alone for advice in self.each if advice.alone is not None]
        return GainOverAll(tuple(alone)) if alone else None

    @property
    def notes(self) -> tuple[Note, ...]:
        """What else should be known."""
        return tuple(self._notes())

    def _notes(self) -> Iterator[Note]:
        if not self.gains and self.alone is None:
            yield Note("nothing-helps", "none of them brings a lead inside tolerance, or makes one exact")
        elif not self.gains:
            yield Note("one-is-enough", "no two of them bring more than the best single gear")
        if self.alone is not None:
            yield Note(
                "best-single",
                f"the best single gear, {gears_words(self.alone.each[0].gears)}, brings {self.alone.gained} inside "
                f"tolerance and makes {self.alone.exact} exact",
            )
        yield _bound_note(self.each)

    def rows(self) -> Iterator[dict[str, Any]]:
        """A row for each lead that one of the gains brings, machine by machine."""
        yield from _rows(self.each)

    def record(self) -> dict[str, Any]:
        """The advice for programs; the keys are stable."""
        return {
            "shops": [advice.record() for advice in self.each],
            "tried": self.each[0].tried,
            "covered": sum(advice.covered for advice in self.each),
            "exact": sum(advice.exact for advice in self.each),
            "gains": [gain.record() for gain in self.gains],
            "alone": None if self.alone is None else self.alone.record(),
            "notes": [note.record() for note in self.notes],
        }

    def table(self) -> Table:
        """The gears worth adding."""
        return Table.of(_GAIN, [(self, number, gain) for number, gain in enumerate(self.gains, 1)])

    def document(self) -> Document:
        """The advice for people."""
        leads = sum(len(advice.needs) for advice in self.each)
        covered, exact = (sum(getattr(advice, name) for advice in self.each) for name in ("covered", "exact"))
        first = self.each[0]
        two = self.alone is not None or any(len(gain.gears) > 1 for gain in first.gains)
        what = "two gears" if two else "a gear"
        best = self.gains[0] if self.gains else self.alone
        blocks = [Block(table=self.table())] if self.gains else []
        for name, advice, gain in zip(_names(self.each), self.each, best.each if best else (), strict=False):
            if gain.leads:
                blocks.append(Block(f"{name}, {told(gain)}", table=advice.trains(advice.gained_first(gain))))
            else:
                blocks.append(Block(f"{name}, with {gears_words(gain.gears)}: nothing gained"))
        return Document(
            f"{len(self.each)} machines, {leads_words(leads)} in all; the gears owned bring {covered} inside "
            f"tolerance, {exact} exactly",
            blocks=(*blocks, _how(self.each, f"all {spaced(first.tried)} ways to add {what} tried")),
            notes=self.notes,
        )


@dataclass(frozen=True, slots=True, repr=False)
class DesignOverAll(Answering):
    """One set of gears for several machines.

    Parameters
    ----------
    each : what the set does on each
    """

    each: tuple[Design, ...]

    keys = ("shop", *FIT_KEYS)

    @property
    def found(self) -> bool:
        """Whether a lead comes inside tolerance."""
        return any(made.found for made in self.each)

    @property
    def notes(self) -> tuple[Note, ...]:
        """How good the set is."""
        good = next(note for note in self.each[0].notes if note.code in ("proved", "not-proved"))
        return good, _bound_note(self.each)

    def rows(self) -> Iterator[dict[str, Any]]:
        """A row for each lead, machine by machine."""
        yield from _rows(self.each)

    def record(self) -> dict[str, Any]:
        """The set for programs; the keys are stable."""
        return {
            "shops": [made.record() for made in self.each],
            "gears": [gear_record(gear) for gear in self.each[0].gears],
            "covered": sum(made.covered for made in self.each),
            "exact": sum(made.exact for made in self.each),
            "proved": self.each[0].proved,
            "notes": [note.record() for note in self.notes],
        }

    def document(self) -> Document:
        """The set for people."""
        first, leads = self.each[0], sum(len(made.needs) for made in self.each)
        covered, exact = (sum(getattr(made, name) for made in self.each) for name in ("covered", "exact"))
        blocks = [
            Block(
                f"{name}: {made.covered} of {leads_words(len(made.needs))} inside tolerance, {made.exact} exactly",
                table=made.table() if made.covered else None,
            )
            for name, made in zip(_names(self.each), self.each, strict=True)
        ]
        return Document(
            f"{len(self.each)} machines, {leads_words(leads)} in all; these {len(first.gears)} gears bring {covered} "
            f"inside tolerance, {exact} exactly: {gears_words(first.gears)}",
            blocks=(*blocks, _how(self.each)),
            notes=self.notes,
        )


def _names(each: Sequence[Advice | Design]) -> list[str]:
    return labels([answer.shop for answer in each])


def _how(each: Sequence[Advice | Design], *more: str) -> Block:
    """Whose shops they are, and how trains were made and judged, machine by machine."""
    shops = (f"{answer.shop.heading}: {answer.judged_by}" for answer in each)
    return Block(lines=(*shops, each[0].trains_words, each[0].tolerance_words, *more))


def _rows(each: Sequence[Advice | Design]) -> Iterator[dict[str, Any]]:
    for name, answer in zip(_names(each), each, strict=True):
        yield from ({"shop": name} | row for row in answer.rows())


def _bound_note(each: Sequence[Advice | Design]) -> Note:
    """What no number of the gears could pass, over all machines."""
    leads = sum(len(answer.needs) for answer in each)
    covered, exact = (sum(len(getattr(answer.bound, name)) for answer in each) for name in ("covered", "exact"))
    most = sum(answer.bound.most_covered for answer in each)
    unsure = f" ({most} at most)" if most > covered else ""
    return Note(
        "bound",
        f"with any number of these gears: {covered}{unsure} of {leads_words(leads)} inside tolerance, {exact} exactly",
    )


_GAIN: tuple[Column[tuple[AdviceOverAll, int, GainOverAll]], ...] = (
    Column("", "no.", cell=lambda row: str(row[1]), right=True),
    Column("", "add", cell=lambda row: gears_words(row[2].each[0].gears)),
    Column("", "leads gained", cell=lambda row: str(row[2].gained), right=True),
    Column("", "made exact", cell=lambda row: str(row[2].exact), right=True),
    Column("", "largest error", cell=lambda row: worst_words(row[2].worst) if row[2].gained else ""),
    Column("", "on each machine", cell=lambda row: " + ".join(str(len(gain.gained)) for gain in row[2].each), weight=2),
)
