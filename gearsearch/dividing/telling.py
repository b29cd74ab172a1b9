"""How ``divide`` tells its ways to people: one as something to do, several as a table, and which notes come first."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from typing import Any

from ..base.facts import Column, Note
from ..base.units import format_angle, format_length, significant
from ..mounting.placement import JUDGEMENT
from .differential import Differential
from .indexing import Combined, Movement, Spacing, error_words
from .places import Cut, Place
from .teeth import ByTeeth, told

BY_TEETH = "by the teeth of the last gear"
# what holds for most answers, and is told with the rest
_GENERAL = frozenset(("arms", "one-way", "count-first", "by-gears", "without-gears", "ask-depth"))


def recommended(way: Spacing | Differential | ByTeeth | Place) -> str:
    """What to do, as a sentence that begins with it and ends with how near it comes."""
    error = _error((way, ""))
    return f"{to_do(way)}: {f'nearest, {error}' if error not in ('', 'exact') else 'exact'}"


def to_do(way: Spacing | Differential | ByTeeth | Place) -> str:
    """What to do with the crank, the gears or the spindle for each space."""
    row = way, ""
    span = f", sector arms over {_span(row)}" if _span(row) else ""
    match way:
        case Spacing():
            return f"turn the crank {_crank(row)} each time{span}"
        case Differential():
            return (
                f"gear {way.train} from spindle to plate and turn the crank {_crank(row)} each time{span}; the plate "
                f"turns {way.plate_way}"
            )
        case ByTeeth():
            return f"turn the spindle on by {told(way.advance, way.last_gear)} of the {way.last_gear} each time"
    return ""


def brief(notes: Sequence[Note], first: object) -> tuple[Note, ...]:
    """The notes without which the first way cannot be set up or trusted."""
    combined = isinstance(getattr(first, "step", getattr(first, "by_two", None)), Combined)
    left_out = _GENERAL if combined else _GENERAL | {"combined", "back"}
    return tuple(note for note in notes if note.code not in left_out)


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


def _mounts(way: Differential) -> str:
    """The judgement; that of the rule of thumb is told once, as a note."""
    if way.mounts == "rule":
        return ""
    return f"no: {way.why}" if way.mounts == "no" else JUDGEMENT[way.mounts]


WAY: tuple[Column[Row], ...] = (
    Column("", "way", cell=_of(ByTeeth, lambda _way: BY_TEETH)),
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
        cell=_of(Differential, _mounts),
    ),
    Column("", "error", cell=_error),
)
BRIEF = tuple(column for column in WAY if column.short not in ("arms span", "plate turns"))
# how far the crank goes from the place before, and from the start
_MOVED: tuple[Column[Row], ...] = (
    Column("", "turns", cell=lambda row: str(row[0].crank.turns) if row[0].number else "", right=True),
    Column("", "holes", cell=lambda row: str(row[0].crank.holes) if row[0].number else "", right=True),
)
_IN_ALL: tuple[Column[Row], ...] = (
    Column("", "in all", cell=lambda row: str(row[0].crank_total.turns), right=True),
    Column("", "hole", cell=lambda row: str(row[0].crank_total.holes), right=True),
)
# of a stepped ramp; a column to cross off stays empty
STEP: tuple[Column[Row], ...] = (
    Column("", "step", cell=lambda row: str(row[0].number), right=True),
    *_MOVED,
    *_IN_ALL,
    Column("", "angle", cell=lambda row: format_angle(row[0].angle_deg), weight=2, right=True),
    Column("", "along the axis", cell=lambda row: format_length(row[0].move_mm, row[1]), right=True),
    Column("", "off", cell=lambda row: error_words(row[0].off_deg, 1) if row[0].off_deg else "", weight=1, right=True),
    Column("", "done", cell=lambda _row: "[ ]"),
)


def _whole_seconds(angle_deg: Fraction) -> str:
    """An angle to the nearest second: ``2°50′05″``."""
    minutes, seconds = divmod(round(angle_deg * 3600), 60)
    return f"{minutes // 60}°{minutes % 60:02d}′{seconds:02d}″"


def _dial(cut: Cut) -> str:
    turns, reads = cut.dial_to_a_second
    return f"{turns} + {_whole_seconds(reads)}"


def _then(cut: Cut) -> str:
    """By how many holes of the second circle crank and plate turn together, on or back."""
    if cut.by_two is None or not cut.number:
        return ""
    return f"{cut.by_two.second.holes} {'back' if cut.by_two.back else 'on'}"


def _off(cut: Cut) -> str:
    """How far the hole is from the exact angle; plus is too far."""
    return f"{'+' * (cut.off_deg > 0)}{significant(60 * cut.off_deg, 1)}′" if cut.off_deg else ""


CUT: tuple[Column[Row], ...] = (
    Column("", "cut", cell=lambda row: row[0].name, right=True),
    Column(
        "", "space", cell=lambda row: "" if row[0].space_deg is None else _whole_seconds(row[0].space_deg), right=True
    ),
    *_MOVED,
    Column("", "then", cell=lambda row: _then(row[0]), right=True),
    *_IN_ALL,
    Column("", "back pin", cell=lambda row: "" if row[0].by_two is None else str(row[0].back_pin), right=True),
    Column("", "angle", cell=lambda row: _whole_seconds(row[0].angle_deg), right=True),
    Column("", "dial", cell=lambda row: _dial(row[0]), weight=2, right=True),
    Column("", "off", cell=lambda row: _off(row[0]), weight=1, right=True),
    Column("", "done", cell=lambda _row: "[ ]"),
)
