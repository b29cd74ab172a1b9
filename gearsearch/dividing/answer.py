"""What ``divide`` answers: the ways of spacing the work, as a table for people and as records for programs."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from fractions import Fraction
from typing import Any

from ..base.document import Block, Document
from ..base.facts import Column, Note, Table
from ..base.showing import Shown
from ..base.units import format_angle, format_length
from ..mounting.placement import JUDGEMENT
from .differential import Differential
from .indexing import Combined, Movement, Spacing, error_words
from .ramps import RampStep
from .teeth import ByTeeth

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

_BY_TEETH = "by the teeth of the last gear"
Way = Spacing | Differential | ByTeeth | RampStep


@dataclass(frozen=True, slots=True)
class Divided(Shown):
    """An answer of ``divide``.

    Parameters
    ----------
    heading : what was asked, in lines, the last of them the question itself
    ways : the ways of dividing, best first, or the steps of a ramp in their order; at least one, all of one kind
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
    def is_ramp(self) -> bool:
        """Whether the ways are the steps of a ramp, one after the other."""
        return isinstance(self.ways[0], RampStep)

    @property
    def keys(self) -> Sequence[str]:
        """What each row has for programs."""
        return STEP_KEYS if self.is_ramp else WAY_KEYS

    def rows(self) -> list[dict[str, Any]]:
        """The ways or steps for programs, all of the same keys."""
        return [_record(way) for way in self.ways]

    def record(self) -> dict[str, Any]:
        """The answer for programs."""
        what = "steps" if self.is_ramp else "ways"
        notes = [note.record() for note in self.notes]
        return {"asked": list(self.heading), "exact": self.exact, what: self.rows(), "notes": notes}

    def table(self) -> Table:
        """The ways or steps for people."""
        return Table.of(_STEP if self.is_ramp else _WAY, [(way, self.unit) for way in self.ways])

    def document(self) -> Document:
        """The answer as a page: its title is the question."""
        *facts, asked = self.heading
        return Document(asked, tuple(facts), blocks=(Block(table=self.table()),), notes=self.notes)


def _record(way: Way) -> dict[str, Any]:
    """The same for programs."""
    match way:
        case Spacing():
            return _spacing_record(way)
        case Differential():
            return _differential_record(way)
        case ByTeeth():
            gear = {"last_gear": way.last_gear, "advance_teeth": way.advance}
            return _way_record("teeth", _BY_TEETH, None, gear, (Fraction(0), Fraction(0)))
        case RampStep():
            return _step_record(way)


def _spacing_record(spacing: Spacing) -> dict[str, Any]:
    """The same for programs."""
    step = spacing.step
    combined = {}
    if isinstance(step, Combined):
        second = step.second
        combined = {"second_holes": second.holes, "second_circle": second.circle, "second_back": step.back}
    first = step.first if isinstance(step, Combined) else step
    way = "combined" if combined else "plain"
    return _way_record(way, str(step), first, combined, (spacing.error_deg, spacing.built_up_deg))


def _differential_record(answer: Differential) -> dict[str, Any]:
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
    way: str, words: str, movement: Movement | None, more: dict[str, Any], errors: tuple[Fraction, Fraction]
) -> dict[str, Any]:
    once, built_up = errors
    told = {"way": way, "words": words, **more}
    if movement is not None:
        crank = {"turns": movement.turns, "holes": movement.holes, "circle": movement.circle or None}
        told |= crank | {"sector": movement.sector or None}
    told |= {"exact": once == 0, "error_minutes": float(60 * once), "built_up_minutes": float(60 * built_up)}
    return {key: told.get(key) for key in WAY_KEYS} | {"built_up_exact_deg": str(built_up)}


def _step_record(step: RampStep) -> dict[str, Any]:
    """The same for programs."""
    return {
        "step": step.number,
        "turns": step.crank.turns,
        "holes": step.crank.holes,
        "circle": step.crank.circle,
        "total_turns": step.crank_total.turns,
        "total_holes": step.crank_total.holes,
        "angle_deg": float(step.angle_deg),
        "angle_exact": str(step.angle_deg),
        "axis_mm": float(step.move_mm),
        "axis_exact": str(step.move_mm),
        "off_minutes": float(60 * step.off_deg),
        "off_exact_deg": str(step.off_deg),
    }


Row = tuple[Any, str]  # a way or a step, and the shop's unit


def _crank(row: Row) -> str:
    way, _ = row
    match way:
        case Spacing():
            return str(way.step)
        case Differential():
            return str(way.movement)
    return ""


def _span(row: Row) -> str:
    """How many holes the sector arms span."""
    way, _ = row
    match way:
        case Spacing(step=Movement() as step) | Differential(movement=step):
            parts = [step]
        case Spacing(step=Combined(first, second)):
            parts = [first, second]
        case _:
            parts = []
    spans = [str(part.sector) for part in parts if part.sector]
    return f"{' and '.join(spans)} holes" if spans else ""


def _error(row: Row) -> str:
    """How far off a way is; a set-up of gears that is exact has nothing to say."""
    way, _ = row
    match way:
        case Spacing():
            return error_words(way.error_deg, way.repeats)
        case Differential(exact=False):
            return error_words(way.error_deg, way.divisions)
    return ""


def _of(kind: type, words: Any) -> Any:
    """The cell of a column that only one kind of way fills."""
    return lambda row: words(row[0]) if isinstance(row[0], kind) else ""


_WAY: tuple[Column[Row], ...] = (
    Column("", "way", cell=_of(ByTeeth, lambda _way: _BY_TEETH)),
    Column("", "last gear", cell=_of(ByTeeth, lambda way: str(way.last_gear))),
    Column("", "advance", cell=_of(ByTeeth, lambda way: f"{way.advance} {'tooth' if way.advance == 1 else 'teeth'}")),
    Column("", "turn the crank", cell=_crank),
    Column("", "arms span", cell=_span),
    Column("", "gears, spindle to plate", cell=_of(Differential, lambda way: str(way.train))),
    Column(
        "",
        "plate turns",
        cell=_of(Differential, lambda way: f"{way.plate_way}, {abs(way.plate_turns)} for 1 of the spindle"),
    ),
    Column(
        "",
        "mounts",
        cell=_of(Differential, lambda way: f"no: {way.why}" if way.mounts == "no" else JUDGEMENT[way.mounts]),
    ),
    Column("", "error", cell=_error),
)
# of a stepped ramp; a column to cross off stays empty
_STEP: tuple[Column[Row], ...] = (
    Column("", "step", cell=lambda row: str(row[0].number), right=True),
    Column("", "turn the crank", cell=lambda row: row[0].crank.on_its_circle),
    Column("", "from the start", cell=lambda row: row[0].crank_total.on_its_circle),
    Column("", "angle", cell=lambda row: format_angle(row[0].angle_deg), weight=2),
    Column("", "along the axis", cell=lambda row: format_length(row[0].move_mm, row[1])),
    Column("", "off", cell=lambda row: error_words(row[0].off_deg, 1) if row[0].off_deg else "", weight=1),
    Column("", "done", cell=lambda _row: "[ ]"),
)
