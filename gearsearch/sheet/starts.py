"""From one start, flute or tooth to the next while the machine is geared, on the sheet."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from ..check import decimal
from ..errors import GearsearchError
from ..units import format_angle
from .block import Block, Item, Table, do, know
from .job import Job
from .tally import divisions_of, tally_of


def indexing(job: Job) -> Block | None:
    """How to go from one start, flute or tooth to the next while the head is geared; None for a single one."""
    divisions = divisions_of(job.checked)
    if divisions < 2:
        return None
    named = "divisions" if job.is_mill else "starts"
    trouble = _trouble(job, divisions)
    items = (know(f"**NOT POSSIBLE SO**: {trouble[0]}."), know(trouble[1])) if trouble else _ways(job, divisions)
    return Block(f"Index the {divisions} {named}", tuple(items))


def cannot_index(job: Job) -> str:
    """Why the starts cannot be indexed with this train on; empty where they can, or where there is one."""
    divisions = divisions_of(job.checked)
    trouble = _trouble(job, divisions) if divisions > 1 else None
    return trouble[0] if trouble else ""


def _ways(job: Job, divisions: int) -> Iterator[Item]:
    return _on_a_mill(job, divisions) if job.is_mill else _on_a_lathe(job, divisions)


def _trouble(job: Job, divisions: int) -> tuple[str, str] | None:
    """Why the divisions cannot be indexed with this train on, and what would do."""
    if not job.is_mill:
        return _trouble_on_a_lathe(job, divisions)
    try:
        list(_on_a_mill(job, divisions))
    except GearsearchError as error:
        return error.message, error.remedy
    return None


def _on_a_mill(job: Job, divisions: int) -> Iterator[Item]:
    from ..dividing.divided import while_geared

    checked = job.checked
    if checked.shop.dividing is None and checked.route.ratio != 1:
        yield from _without_circles(checked.route.ratio, divisions)
        return
    answer = while_geared(checked.shop, divisions, checked.route.name, str(checked.fit.train))
    row = {name: text for name, text in answer.columns[0].items() if text and text != "exact"}
    yield do("; ".join(f"{name} **{text}**" for name, text in row.items()))
    yield from map(know, answer.notes)


def _without_circles(ratio: Fraction, divisions: int) -> Iterator[Item]:
    """What is known of the divisions where the shop file has no [dividing] table."""
    yield do(f"From each to the next the work turns **{format_angle(Fraction(360, divisions))}**")
    turns = ratio / divisions
    whole, part = divmod(turns, 1)
    mixed = f"{whole} {part}" if whole and part else str(turns)
    yield know(
        f"No circle of holes is named: the shop file has no [dividing] table. A crank that turns the work {ratio}:1, "
        f"as this route does, makes **{mixed}** turn{'' if turns <= 1 else 's'}; index with the train at rest"
    )


def _advance(job: Job, starts: int) -> Fraction:
    """Teeth of the first driver from one start to the next: teeth × its turns for one of the spindle / starts."""
    return job.checked.fit.train.drivers[0] * job.checked.route.ratio / starts


def _trouble_on_a_lathe(job: Job, starts: int) -> tuple[str, str] | None:
    advance, teeth = _advance(job, starts), job.checked.fit.train.drivers[0]
    if advance.denominator == 1:
        return None
    return (
        f"a start is {decimal(advance)} of the {teeth} teeth of the gear on the first shaft",
        f"take a first driver whose count is a multiple of {(starts / job.checked.route.ratio).numerator}, or go on by "
        "one pitch with a top slide set parallel to the axis, or by a driving plate with a slot for each start (common "
        "practice, no source)",
    )


def _on_a_lathe(job: Job, starts: int) -> Iterator[Item]:
    """By the teeth of the first driver, with the train out of mesh."""
    teeth, advance = job.checked.fit.train.drivers[0], _advance(job, starts)
    yield do(
        f"Mark the mesh of the {teeth} on the first shaft, take it out, turn the spindle on by **{advance} teeth** of "
        "it, mesh again; lead screw and carriage stay where they are (common practice, no source)"
    )


def dividing_table(job: Job) -> Block | None:
    """Every division numbered, to be ticked off, on a page of its own; None where there is nothing to number."""
    tally = tally_of(job.checked)
    if tally is None:
        return None
    title = f"{job.checked.fit.train}: {tally.title}"
    return Block(title, table=Table(tally.heads, tally.rows), own_page=True)
