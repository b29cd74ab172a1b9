"""What ``divide`` answers: ways of spacing the work, exact ones first, in words and as records."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from . import ramps
from .differential import JUDGED, Differential, differentials
from .dividing import (
    Movement,
    Spacing,
    crank_turns,
    crank_turns_of_angle,
    error_words,
    head_of,
    nearest_combined,
    nearest_movements,
    spacings,
)
from .errors import GearsearchError
from .report import shop_line
from .shop import Shop
from .trains import Train
from .units import format_angle

COUNT_FIRST = "scribe every division lightly on the blank first, and count the marks before the first cut"
ARMS = "the sector arms span one hole more than the spaces moved: the pin's own hole is counted"
COMBINED = (
    "combined movements are easily miscounted: lock the plate by its back pin for the first, "
    "turn plate and crank together for the second, and mark every division"
)


@dataclass(frozen=True, slots=True)
class Divided:
    """An answer of ``divide``.

    Parameters
    ----------
    heading : what was asked, in lines
    columns : the table for people, one dict a row
    records : the same for programs
    notes : what else to know, a line each
    exact : whether an exact way was found
    """

    heading: tuple[str, ...]
    columns: list[dict[str, str]]
    records: list[dict[str, Any]]
    notes: tuple[str, ...]
    exact: bool

    def text(self) -> str:
        """The answer for people; a table that is Markdown too."""
        from tabulate import tabulate

        lines = list(self.heading)
        if self.columns:
            cells = [list(row.values()) for row in self.columns]
            lines += ["", tabulate(cells, list(self.columns[0]), tablefmt="pipe", disable_numparse=True)]
        return "\n".join([*lines, "", *(f"- {note}" for note in self.notes)]) + "\n"

    def record(self) -> dict[str, Any]:
        """The answer for programs."""
        return {"asked": list(self.heading), "exact": self.exact, "ways": self.records, "notes": list(self.notes)}


def of_divisions(shop: Shop, divisions: int, count: int = 5, *, nearest: bool = False) -> Divided:
    """Divisions of the whole turn: plain, else differential with the shop's own gears, else the nearest plain.

    Parameters
    ----------
    shop : its head and its gears
    divisions : 1 to 100 000
    count : how many ways at the most
    nearest : the nearest plain movements on every circle, also where an exact way exists

    Raises GearsearchError for divisions out of range and without a dividing head.
    """
    head = head_of(shop)
    turns = crank_turns(head, divisions)
    heading = (*_heading(shop), f"{divisions} divisions: {_turns(turns)} of the crank for each")
    found = spacings(head, turns, divisions, count)
    if nearest:
        found = _nearest(shop, turns, divisions, count)
    elif not found[0].exact:
        answers = differentials(shop, divisions, count=count)
        if answers:
            return _of_differentials(heading, answers, found[0])
    return _of_spacings(shop, heading, found[:count], turns, divisions)


def of_angle(shop: Shop, angle_deg: Fraction, repeats: int = 1, count: int = 5) -> Divided:
    """Spaces of one angle: exact or nearest circle and holes, and what builds up over the repeats.

    Raises GearsearchError for an angle that is not above 0° and up to 360°.
    """
    head = head_of(shop)
    turns = crank_turns_of_angle(head, angle_deg)
    heading = (*_heading(shop), f"an angle of {format_angle(angle_deg)}: {_turns(turns)} of the crank")
    return _of_spacings(shop, heading, spacings(head, turns, repeats, count), turns, repeats)


def while_geared(shop: Shop, starts: int, route: str, train: str | None, count: int = 5) -> Divided:
    """Starts or flutes while the head is geared for a helix: plain indexing, or by the teeth of the last gear.

    With the worm in the train only plain indexing is left: the plate turns with the train, and a head geared for
    a helix cannot be geared differentially (Brown & Sharpe 1914, p. 55). Straight on the spindle the worm is out
    of mesh, and the last gear is advanced by teeth / starts (same, p. 63).

    Raises GearsearchError for what is impossible, with the reason.
    """
    way = shop.route(route)
    if way.ratio != 1:
        found = spacings(head_of(shop), crank_turns(head_of(shop), starts), starts, count)
        if not found[0].exact:
            raise GearsearchError(
                f"{starts} divisions need differential indexing, and a head geared for a helix cannot be geared "
                "differentially too",
                "choose a number of starts that a circle of the head divides, or gear straight on the spindle",
            )
        heading = (*_heading(shop), f"{starts} starts while geared by the route {route}: plain indexing only")
        note = "leave the plate unlocked while cutting; index by pulling the pin, with the train at rest"
        return _of_spacings(shop, heading, found, crank_turns(head_of(shop), starts), starts, note)
    if train is None:
        raise GearsearchError(
            f"by the route {route} the starts are indexed by the teeth of the last gear", "give the train with --train"
        )
    return _by_teeth(shop, starts, route, Train.parse(train))


def _by_teeth(shop: Shop, starts: int, route: str, train: Train) -> Divided:
    teeth = train.driven[-1]
    if starts < 1 or teeth % starts:
        good = [str(n) for n in range(2, teeth) if teeth % n == 0]
        raise GearsearchError(
            f"{starts} starts cannot be indexed by the {teeth} teeth of the last gear of {train}",
            f"take a last gear whose count is a multiple of {starts}; {teeth} teeth index {', '.join(good)}",
        )
    advance = teeth // starts
    heading = (*_heading(shop), f"{starts} starts while geared by the route {route}, straight on the spindle")
    row = {"way": "by the teeth of the last gear", "last gear": str(teeth), "advance": f"{advance} teeth"}
    record = {"way": "teeth", "last_gear": teeth, "advance_teeth": advance, "exact": True}
    notes = (
        f"mark a tooth of the {teeth} and the space it stands in; swing it out of mesh, turn the spindle on by "
        f"{advance} teeth, mesh again, and do so {starts} times in all",
        "do not move the table while the gear is out of mesh",
        COUNT_FIRST,
    )
    return Divided(heading, [row], [record], notes, True)


def of_ramp(
    shop: Shop, ramp: ramps.Ramp, circle: int | None, diameter_mm: Fraction | None, face_deg: Fraction | None
) -> Divided:
    """The numbered table of a stepped ramp. Raises GearsearchError as ``ramps.table``."""
    steps = list(ramps.table(shop, ramp, circle))
    worst = max(abs(step.off_deg) for step in steps)
    heading = (
        *_heading(shop),
        f"{ramp.steps} steps of {format_angle(ramp.step_deg)}, {format_angle(ramp.total_deg)} in all, "
        f"on the {steps[0].crank.circle} circle",
    )
    records = [
        {
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
        }
        for step in steps
    ]
    notes = (
        *ramps.notes(shop, ramp, diameter_mm, face_deg),
        "angle and move are counted from the start, each from the exact total: rounding never builds up",
        f"the holes are at the most {float(60 * worst):.2f}′ off",
        COUNT_FIRST,
    )
    return Divided(heading, ramps.rows(shop, ramp, circle), records, notes, worst == 0)


def _heading(shop: Shop) -> tuple[str, ...]:
    head = head_of(shop)
    degrees = format_angle(360 / head.ratio)
    return shop_line(shop), f"dividing head {head.ratio}:1, one turn of the crank is {degrees} of the work"


def _turns(turns: Fraction) -> str:
    whole, part = divmod(turns, 1)
    text = f"{whole} {part}" if whole and part else str(turns)
    return f"{text} turn{'' if turns <= 1 else 's'}"


def _nearest(shop: Shop, turns: Fraction, repeats: int, count: int) -> list[Spacing]:
    head = head_of(shop)
    steps = nearest_movements(head, turns)[:count]
    return [Spacing(step, turns, 360 / head.ratio, repeats) for step in steps]


def _of_spacings(
    shop: Shop, heading: tuple[str, ...], found: list[Spacing], turns: Fraction, repeats: int, *more: str
) -> Divided:
    found, notes = list(found), [*more, ARMS, COUNT_FIRST]
    if not found[0].exact:
        notes.insert(0, "no circle of the head is exact: these are the nearest")
        combined = nearest_combined(head_of(shop), turns, repeats)
        if combined is not None and abs(combined.error_deg) < abs(found[0].error_deg):
            found.append(combined)
            notes.insert(1, COMBINED)
    return Divided(
        heading,
        [_columns(spacing) for spacing in found],
        [_record(spacing) for spacing in found],
        tuple(notes),
        any(spacing.exact for spacing in found),
    )


def _columns(spacing: Spacing) -> dict[str, str]:
    arms = f"{spacing.step.sector} holes" if isinstance(spacing.step, Movement) and spacing.step.circle else ""
    return {"turn the crank": str(spacing.step), "arms span": arms, "error": error_words(spacing)}


def _record(spacing: Spacing) -> dict[str, Any]:
    record: dict[str, Any] = {"way": "plain" if isinstance(spacing.step, Movement) else "combined"}
    if isinstance(spacing.step, Movement):
        step = spacing.step
        record |= {"turns": step.turns, "holes": step.holes, "circle": step.circle, "sector": step.sector}
    return record | {
        "words": str(spacing.step),
        "exact": spacing.exact,
        "error_minutes": float(60 * spacing.error_deg),
        "built_up_minutes": float(60 * spacing.built_up_deg),
    }


def _of_differentials(heading: tuple[str, ...], answers: list[Differential], plain: Spacing) -> Divided:
    rows = [
        {
            "turn the crank": str(answer.movement),
            "arms span": f"{answer.movement.sector} holes" if answer.movement.circle else "",
            "gears, spindle to plate": str(answer.train),
            "plate turns": f"{answer.plate_way}, {abs(answer.plate_turns)} for 1 of the spindle",
            "mounts": "by the rule of thumb" if answer.mounts == "rule" else f"no: {answer.why}",
        }
        for answer in answers
    ]
    records = [
        {
            "way": "differential",
            "turns": answer.movement.turns,
            "holes": answer.movement.holes,
            "circle": answer.movement.circle,
            "sector": answer.movement.sector,
            "train": str(answer.train),
            "plate_turns": str(answer.plate_turns),
            "plate_way": answer.plate_way,
            "exact": True,
            "mounts": answer.mounts,
            "why": answer.why,
        }
        for answer in answers
    ]
    notes = (
        "no circle is exact by itself; geared so, these are exact",
        "gears are named from the spindle (the first driver) to the plate; plate lock out, or nothing turns",
        "idlers turn the plate the right way and may be of any size that reaches; turn the crank by hand and look",
        JUDGED,
        f"without gears the nearest would be {plain.step}: {error_words(plain)}",
        "a head geared so cannot be geared for a helix at the same time",
        ARMS,
        COUNT_FIRST,
    )
    return Divided(heading, rows, records, notes, True)
