"""How ``divide`` writes its answers down: tables for people and for paper, records for programs."""

from __future__ import annotations

import csv
import io
import json
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from ..base.units import format_angle, format_length
from ..dividing.differential import Differential
from ..dividing.indexing import Combined, Movement, Spacing, error_words
from ..dividing.ramps import RampStep
from ..dividing.teeth import ByTeeth

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
class Divided:
    """An answer of ``divide``.

    Parameters
    ----------
    heading : what was asked, in lines
    ways : the ways of dividing, best first, or the steps of a ramp in their order; at least one
    notes : what else to know, a line each
    exact : whether an exact way that may be set up was found
    unit : ``mm`` or ``in``, for lengths in the table for people
    """

    heading: tuple[str, ...]
    ways: tuple[Way, ...]
    notes: tuple[str, ...]
    exact: bool
    unit: str = "mm"

    @property
    def columns(self) -> list[dict[str, str]]:
        """The table for people, one dict a row."""
        return [_columns(way, self.unit) for way in self.ways]

    @property
    def records(self) -> list[dict[str, Any]]:
        """The same for programs, all of the same keys."""
        return [_record(way) for way in self.ways]

    def text(self) -> str:
        """The answer for people; its table is Markdown too."""
        return "\n".join([*self.heading, "", _table(self.columns), "", *(f"- {note}" for note in self.notes)]) + "\n"

    def markdown(self) -> str:
        """The answer as a page of Markdown: the last line of the heading says what was asked and is its title."""
        *lines, title = self.heading
        parts = [f"# {title}", "\n".join(f"- {line}" for line in lines), _table(self.columns)]
        return "\n\n".join([*parts, "\n".join(f"- {note}" for note in self.notes)]) + "\n"

    def record(self) -> dict[str, Any]:
        """The answer for programs."""
        what = "steps" if self.is_ramp else "ways"
        return {"asked": list(self.heading), "exact": self.exact, what: self.records, "notes": list(self.notes)}

    @property
    def is_ramp(self) -> bool:
        """Whether the ways are the steps of a ramp, one after the other."""
        return isinstance(self.ways[0], RampStep)

    def json(self) -> str:
        """The answer as JSON."""
        return json.dumps(self.record(), indent=2, ensure_ascii=False) + "\n"

    def csv(self) -> str:
        """The answer as CSV, one way or step a row; truth is true or false, and what a way has not is empty."""
        text = io.StringIO()
        keys = STEP_KEYS if self.is_ramp else WAY_KEYS
        writer = csv.DictWriter(text, keys, lineterminator="\n")
        writer.writeheader()
        for record in self.records:
            writer.writerow({key: str(v).lower() if isinstance(v, bool) else v for key, v in record.items()})
        return text.getvalue()


def _table(columns: list[dict[str, str]]) -> str:
    from tabulate import tabulate

    cells = [list(row.values()) for row in columns]
    return tabulate(cells, list(columns[0]), tablefmt="pipe", disable_numparse=True)


def _columns(way: Way, unit: str) -> dict[str, str]:
    """A row for people."""
    match way:
        case Spacing():
            return _spacing_columns(way)
        case Differential():
            return _differential_columns(way)
        case ByTeeth():
            advance = f"{way.advance} {'tooth' if way.advance == 1 else 'teeth'}"
            return {"way": _BY_TEETH, "last gear": str(way.last_gear), "advance": advance}
        case RampStep():
            return _step_columns(way, unit)


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


def _spacing_columns(spacing: Spacing) -> dict[str, str]:
    """A row for people of plain or combined indexing."""
    step = spacing.step
    parts = (step,) if isinstance(step, Movement) else (step.first, step.second)
    spans = [part.sector for part in parts if part.sector]
    return {
        "turn the crank": str(step),
        "arms span": " and ".join(map(str, spans)) + " holes" if spans else "",
        "error": error_words(spacing.error_deg, spacing.repeats),
    }


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


def _differential_columns(answer: Differential) -> dict[str, str]:
    """A row for people of differential indexing."""
    row = {
        "turn the crank": str(answer.movement),
        "arms span": f"{answer.movement.sector} holes" if answer.movement.sector else "",
        "gears, spindle to plate": str(answer.train),
        "plate turns": f"{answer.plate_way}, {abs(answer.plate_turns)} for 1 of the spindle",
        "mounts": "by the rule of thumb" if answer.mounts == "rule" else f"no: {answer.why}",
    }
    return row if answer.exact else row | {"error": error_words(answer.error_deg, answer.divisions)}


def _differential_record(answer: Differential) -> dict[str, Any]:
    """The same for programs."""
    gears = {
        "train": str(answer.train),
        "plate_turns": str(answer.plate_turns),
        "plate_way": answer.plate_way,
        "mounts": answer.mounts,
        "why": answer.why,
    }
    errors = answer.error_deg, answer.built_up_deg
    return _way_record("differential", str(answer.movement), answer.movement, gears, errors)


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


def _step_columns(step: RampStep, unit: str) -> dict[str, str]:
    """A row for people of a stepped ramp, a column left empty to cross off."""
    return {
        "step": str(step.number),
        "turn the crank": str(step.crank),
        "from the start": str(step.crank_total),
        "angle": format_angle(step.angle_deg),
        "along the axis": format_length(step.move_mm, unit),
        "off": error_words(step.off_deg, 1),
        "done": "[ ]",
    }


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
