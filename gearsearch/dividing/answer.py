"""What ``divide`` answers: the ways of spacing the work, as a table for people and as records for programs."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from fractions import Fraction
from pathlib import Path
from typing import Any, Literal

from ..base.document import Block, Document, strong
from ..base.facts import Column, Note, Record, Table
from ..base.showing import Answering, from_above
from ..base.spelling import spelled
from .differential import Differential
from .indexing import Combined, Movement, Spacing
from .places import Cut, Place
from .ramps import RampStep
from .teeth import ByTeeth
from .telling import BRIEF, BY_TEETH, CUT, STEP, WAY, brief, recommended

# every way of dividing has all of these for programs, None where it has no such thing
WAY_KEYS = (
    *("way", "words", "turns", "holes", "circle", "sector", "second_holes", "second_circle", "second_back"),
    *("train", "plate_turns", "plate_way", "mounts", "why", "last_gear", "advance_teeth"),
    *("exact", "error_minutes", "built_up_minutes", "built_up_exact_deg"),
)
STEP_KEYS = (
    *("step", "turns", "holes", "circle", "total_turns", "total_holes", "angle_deg", "angle_exact"),
    *("axis_mm", "axis_exact", "off_minutes", "off_exact_deg"),
)

CUT_KEYS = (
    *("cut", "turns", "holes", "circle", "second_holes", "second_circle", "second_back"),
    *("total_turns", "total_holes", "second_total_holes", "space_deg", "space_exact"),
    *("angle_deg", "angle_exact", "dial_turns", "dial_deg", "dial_exact", "off_minutes", "off_exact_deg"),
)

Way = Spacing | Differential | ByTeeth | RampStep | Cut


@dataclass(frozen=True, slots=True, repr=False)
class Divided(Answering):
    """An answer of ``divide``.

    Parameters
    ----------
    heading : what was asked, in lines, the last of them the question itself
    ways : the ways of dividing, best first, or the steps of a ramp or the cuts of a table in their order; at least
        one, all of one kind
    notes : what else to know
    exact : whether an exact way that may be set up was found
    unit : ``mm`` or ``in``, for lengths in the table for people
    """

    heading: tuple[str, ...]
    ways: tuple[Way, ...]
    notes: tuple[Note, ...]
    exact: bool
    unit: str = "mm"

    @property
    def in_order(self) -> bool:
        """Whether the ways are no choice, but the steps of a ramp or the cuts of a table, one after the other."""
        return isinstance(self.ways[0], Place)

    @property
    def _kind(self) -> tuple[str, Sequence[str], tuple[Column[Any], ...]]:
        """What the ways are called in a record, what each row has for programs, and the columns for people."""
        match self.ways[0]:
            case RampStep():
                return "steps", STEP_KEYS, STEP
            case Cut():
                return "cuts", CUT_KEYS, CUT
        return "ways", WAY_KEYS, WAY

    @property
    def keys(self) -> Sequence[str]:
        """What each row has for programs."""
        return self._kind[1]

    def rows(self) -> list[Record]:
        """The ways, steps or cuts for programs, all of the same keys."""
        return [_record(way) for way in self.ways]

    def record(self) -> Record:
        """The answer for programs."""
        notes = [note.record() for note in self.notes]
        return {"asked": list(self.heading), "exact": self.exact, self._kind[0]: self.rows(), "notes": notes}

    def table(self) -> Table:
        """The ways, steps or cuts for people, with all there is to say of each."""
        return Table.of(self._kind[2], [(way, self.unit) for way in self.ways])

    def document(self) -> Document:
        """The answer as a page: its title is the question, and what to do comes next."""
        *facts, asked = self.heading
        kept = brief(self.notes, self.ways[0])
        doubts = tuple(fact for fact in facts if fact.startswith("!!"))
        if self.in_order:
            return self._in_order()
        how = Block(lines=tuple(fact for fact in facts if fact not in doubts))
        first, *others = self.ways
        rows = [(way, self.unit) for way in others]
        rest = Block("other ways:", table=Table.of(WAY, rows), brief=Table.of(BRIEF, rows)) if others else Block()
        return Document(asked, (strong(recommended(first)), *doubts), blocks=(rest, how), notes=self.notes, brief=kept)

    def _in_order(self) -> Document:
        """Steps or cuts: what speaks against them and whose head it is stand before the rows, which go over pages."""
        *facts, asked = self.heading
        against = tuple(note for note in self.notes if note.code == "only-nearest")
        instead = tuple(note for note in self.notes if note.code == "exact-way")
        notes = tuple(note for note in self.notes if note not in (*against, *instead))
        heading = (*(strong(note.text) for note in instead), *facts)
        rows = (Block(table=self.table()),)
        return Document(asked, heading, against, rows, notes, brief(notes, self.ways[0]))

    @spelled
    def save(self, file: str | Path, *, paper: Literal["A4", "Letter"] = "A4", overwrite: bool = False) -> None:
        """Write all of it as ``.md``, ``.csv``, ``.json``, or as ``.pdf`` to hang by the head.

        Raises GearsearchError for another ending, and for a file that is there already unless ``overwrite``.
        """
        write = from_above("output.divide_files", "write_divided")
        write(self, str(file), paper, overwrite=overwrite)


def _record(way: Way) -> Record:
    """The same for programs."""
    match way:
        case Spacing():
            return _spacing_record(way)
        case Differential():
            return _differential_record(way)
        case ByTeeth():
            gear = {"last_gear": way.last_gear, "advance_teeth": way.advance}
            return _way_record("teeth", BY_TEETH, None, gear, (Fraction(0), Fraction(0)))
        case RampStep():
            return _step_record(way)
        case Cut():
            return _cut_record(way)


def _spacing_record(spacing: Spacing) -> Record:
    """The same for programs."""
    step = spacing.step
    combined = _second(step) if isinstance(step, Combined) else {}
    first = step.first if isinstance(step, Combined) else step
    way = "combined" if combined else "plain"
    return _way_record(way, str(step), first, combined, (spacing.error_deg, spacing.built_up_deg))


def _second(step: Combined) -> Record:
    return {"second_holes": step.second.holes, "second_circle": step.second.circle, "second_back": step.back}


def _differential_record(answer: Differential) -> Record:
    """The same for programs."""
    gears = {
        "train": str(answer.train),
        "plate_turns": str(answer.plate_turns),
        "plate_way": answer.plate_way,
        "mounts": answer.mounts,
        "why": answer.why,
    }
    errors, placement = (answer.error_deg, answer.built_up_deg), answer.placement
    told = _way_record("differential", str(answer.movement), answer.movement, gears, errors)
    if placement is None:
        return told
    shafts = {"shaft_distance_mm": placement.shaft_distance_mm, "bracket_swing_deg": placement.bracket_swing_deg}
    return told | shafts | {"studs": [asdict(stud) for stud in placement.studs]}


def _way_record(
    way: str, words: str, movement: Movement | None, more: Mapping[str, object], errors: tuple[Fraction, Fraction]
) -> Record:
    once, built_up = errors
    told = {"way": way, "words": words, **more}
    if movement is not None:
        crank = {"turns": movement.turns, "holes": movement.holes, "circle": movement.circle or None}
        told |= crank | {"sector": movement.sector or None}
    told |= {"exact": once == 0, "error_minutes": float(60 * once), "built_up_minutes": float(60 * built_up)}
    return {key: told.get(key) for key in WAY_KEYS} | {"built_up_exact_deg": str(built_up)}


def _step_record(step: RampStep) -> Record:
    """The same for programs."""
    moved = {"axis_mm": float(step.move_mm), "axis_exact": str(step.move_mm)}
    return _told({"step": step.number} | _place_record(step) | moved, STEP_KEYS)


def _cut_record(cut: Cut) -> Record:
    """The same for programs."""
    space = {} if cut.space_deg is None else {"space_deg": float(cut.space_deg), "space_exact": str(cut.space_deg)}
    turns, reads = cut.dial
    dial = {"dial_turns": turns, "dial_deg": float(reads), "dial_exact": str(reads)}
    second = {} if cut.by_two is None else _second(cut.by_two) | {"second_total_holes": cut.back_pin}
    return _told({"cut": cut.name} | _place_record(cut) | second | space | dial, CUT_KEYS)


def _told(record: Record, keys: Sequence[str]) -> Record:
    return {key: record.get(key) for key in keys}


def _place_record(place: Place) -> Record:
    return {
        "turns": place.crank.turns,
        "holes": place.crank.holes,
        "circle": place.crank.circle,
        "total_turns": place.crank_total.turns,
        "total_holes": place.crank_total.holes,
        "angle_deg": float(place.angle_deg),
        "angle_exact": str(place.angle_deg),
        "off_minutes": float(60 * place.off_deg),
        "off_exact_deg": str(place.off_deg),
    }
