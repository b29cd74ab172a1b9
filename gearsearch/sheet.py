"""The set-up sheet: everything at the machine on one page, in the order in which it is done."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

from . import cutting
from .check import Checked, decimal
from .leads import STEEPEST_TILT_DEG
from .placement import Names
from .report import JUDGEMENT, placement_lines, shop_line
from .tolerance import error_in_words
from .trains import Train
from .units import decimals, format_angle, format_both, format_length, format_ppm

WIDTH = 100
PROOF_TURNS = (1, 5)
PICTURES = "This page with the train to scale: gearsearch sheet … --out sheet.pdf (needs gearsearch[draw])"
CAUTIONS = (
    "Isolate the machine while gears are changed or meshed; guard the gears before it runs again.",
    "Index-plate lock OUT and spindle clamp OFF before any feed is engaged, or gears and worm break.",
    "Turn the whole travel through by hand first: watch gears, cutter, tailstock, arbor, hoses; then set the stops.",
    "Withdraw the cutter before every return; come back past the start and take up lost motion the same way.",
    "No rapid traverse while geared. A train that steps up is turned from its fast side.",
    "Keep hair, sleeves and rags away from open gears.",
    "The machine's manual, local rules and qualified people come before this sheet.",
)


@dataclass(frozen=True, slots=True)
class Job:
    """What is cut, beyond the train and the lead; whatever is None leaves its lines out.

    Parameters
    ----------
    checked : the train, judged for the wanted lead
    date : as the user writes it; None leaves a line to fill in
    length_mm, depth_mm : of the cut [mm]
    disc_mm : diameter of a disc cutter on the arbor [mm]
    end_mill_mm : diameter of an end mill [mm]
    wall_mm : inner and outer diameter of a tube on whose end a ramp is milled [mm]
    flank : ``end`` or ``inner``: whether the ramp faces the end of the work
    indexing : lines that say how to index between starts
    chosen : how the train was come by, where it was not typed
    """

    checked: Checked
    date: str | None = None
    length_mm: Fraction | None = None
    depth_mm: Fraction | None = None
    disc_mm: Fraction | None = None
    end_mill_mm: Fraction | None = None
    wall_mm: tuple[Fraction, Fraction] | None = None
    flank: str = "end"
    indexing: tuple[str, ...] = ()
    chosen: str = ""


def sections(job: Job) -> list[tuple[str, list[str]]]:
    """The sheet's parts in the order in which they are needed: a title and its lines.

    A line that begins with ``!`` is something to do, one that begins with four blanks a row of the train.
    """
    parts = [
        ("What is cut", _cut_lines(job)),
        ("The train, in the order of power", _train_lines(job)),
        ("Put it on", _mounting_lines(job)),
        ("Set the machine", _machine_lines(job)),
        ("Prove it by hand", _proof_lines(job)),
        ("Cut", _cutting_lines(job)),
        ("Index", list(job.indexing)),
        ("What the error does", _error_lines(job)),
        ("Cautions", list(CAUTIONS)),
    ]
    return [(title, lines) for title, lines in parts if lines]


def markdown(job: Job) -> str:
    """The sheet as Markdown that reads as plain text too, at most 100 columns wide."""
    stops = "\n\n".join(f"## !!  {_wrapped(reason, '     ')}" for reason in stops_of(job))
    parts = [_heading(job), stops, *(_section(title, lines) for title, lines in sections(job)), _to_fill_in()]
    return "\n\n".join(part for part in parts if part) + "\n"


def _heading(job: Job) -> str:
    checked = job.checked
    hand = f", {checked.fit.hand} hand" if checked.fit.hand else ""
    return "\n".join(
        [
            f"# {checked.fit.train}   lead {format_both(checked.fit.lead_mm, checked.shop.units)}{hand}",
            "",
            f"{shop_line(checked.shop)}, route {checked.route.name}",
            "",
            f"Date: {job.date or '_' * 24}   By: {'_' * 24}",
        ]
    )


def stops_of(job: Job) -> list[str]:
    """What speaks against the set-up, to be said first and large."""
    fit, wanted = job.checked.fit, job.checked.wanted
    reasons = []
    if fit.mounts == "no":
        reasons.append(f"THIS TRAIN DOES NOT MOUNT: {fit.why}.")
        if job.checked.alternative is not None:
            reasons.append(f"The same gears as {job.checked.alternative.train} do.")
    if fit.within is False and wanted is not None:
        unit = job.checked.shop.units
        reasons.append(
            f"OUTSIDE THE TOLERANCE: {format_ppm(fit.error)} off the wanted {format_both(wanted.lead_mm, unit)}."
        )
    if fit.mounts in ("rule", "unknown"):
        reasons.append("MOUNTING NOT PROVED: " + _not_proved(fit.mounts))
    return reasons


def _not_proved(mounts: str) -> str:
    if mounts == "rule":
        return "judged by the rule of thumb alone. Try the gears on before anything else."
    return "not judged. Try the gears on before anything else."


def _section(title: str, lines: list[str]) -> str:
    lines = [*lines, PICTURES] if title.startswith("The train") else lines
    return "\n".join([f"## {title}", "", *(line if line.startswith("    ") else _bullet(line) for line in lines)])


def _bullet(line: str) -> str:
    return line if not line else "- [ ] " + _wrapped(line, "      ") if line[0] == "!" else "- " + _wrapped(line, "  ")


def _wrapped(text: str, indent: str) -> str:
    return textwrap.fill(
        text.lstrip("!"),
        WIDTH - len(indent) - 2,
        subsequent_indent=indent,
        break_long_words=False,
        break_on_hyphens=False,
    )


def _cut_lines(job: Job) -> list[str]:
    checked, unit = job.checked, job.checked.shop.units
    lines = [job.chosen] if job.chosen else []
    if checked.wanted is not None:
        lines += [line[0].upper() + line[1:] for line in checked.wanted.describe(unit)]
    if job.length_mm is not None:
        lines.append(f"Length along the axis {format_both(job.length_mm, unit)}")
    gear = checked.wanted.gear if checked.wanted else None
    if gear is not None:
        lines.append(
            f"Blank {format_both(cutting.blank_diameter_mm(gear), unit)} over the tips, pitch diameter "
            f"{format_both(gear.pitch_diameter_mm, unit)}; whole depth "
            f"{format_both(cutting.tooth_depth_mm(gear), unit)} (full-depth teeth, from memory)"
        )
        lines.append(
            f"Choose the cutter for {decimals(cutting.virtual_teeth(gear), 1)} teeth: {gear.teeth} / cos³ of the helix "
            "angle, not for the teeth of the gear"
        )
    return lines


def _train_lines(job: Job) -> list[str]:
    checked = job.checked
    names = Names(checked.shop, checked.route, checked.fit.train.studs)
    return [f"    {line}" for line in picture(checked.fit.train, names)]


def picture(train: Train, names: Names) -> list[str]:
    """The train in plain characters: each mesh on a line, in power order, with the shafts its gears are on."""
    rows, shaft = [], 0
    for pair in train.pairs:
        wheels = (pair.driver, *pair.idlers, pair.driven)
        for number, (a, b) in enumerate(pairwise(wheels)):
            left, right = names.shaft(shaft), names.shaft(shaft + 1)
            keyed = "   keyed to the gear before it" if number == 0 and shaft else ""
            idle = "   an idler" if number + 2 < len(wheels) else ""
            rows.append((f"({a})", left, f"({b})", right, keyed or idle))
            shaft += 1
    width = max(len(row[1]) for row in rows)
    return [f"{a:>6} {left:<{width}}  drives  {b:>6} {right}{note}".rstrip() for a, left, b, right, note in rows]


def _mounting_lines(job: Job) -> list[str]:
    checked = job.checked
    fit, names = checked.fit, Names(checked.shop, checked.route, checked.fit.train.studs)
    if fit.mounts == "no":
        return [f"Does not mount: {fit.why}"]
    lines = ["!Machine isolated."]
    first, last = names.shaft(0), names.shaft(names.studs + 1)
    lines.append(f"!The {fit.train.drivers[0]} on {first}, the {fit.train.driven[-1]} on {last}.")
    if fit.placement is not None:
        lines += [f"!{line[0].upper()}{line[1:]}." for line in placement_lines(fit.placement, names)]
        lines.append(f"Tightest gap: {fit.placement.tightest.removeprefix('tightest ')}.")
    else:
        lines.append(f"Mounts: {JUDGEMENT[fit.mounts]}; stud places are not known without a quadrant in the shop file.")
    lines.append(
        "!Mesh each pair with a strip of paper between the teeth; turn the train by hand, feel for a tight spot."
    )
    return lines


def _machine_lines(job: Job) -> list[str]:
    checked, wanted = job.checked, job.checked.wanted
    lines = ["!Index-plate lock OUT, index pin IN, spindle clamp OFF."]
    if checked.shop.machine.kind == "mill":
        worm = "worm OUT of mesh" if checked.route.ratio == 1 else "worm IN mesh"
        lines[0] = f"!Index-plate lock OUT, index pin IN, spindle clamp OFF, {worm} (route {checked.route.name})."
    else:
        lines = ["!Lead-screw drive engaged; half nuts closed and left closed where the pitch asks for it."]
    step = checked.fit.step_up
    fast = "the last shaft" if step > 1 else "the first shaft"
    way = f"steps up 1 : {decimal(step)}" if step > 1 else f"steps down {decimal(1 / step)} : 1"
    lines.append(
        f"The train {way}: turn it from {fast}, its fast side." if step != 1 else "Both shafts turn equally fast."
    )
    if checked.warns_of_step_up:
        lines.append("STEP-UP BEYOND THE ROUTE'S WARNING: by hand from the fast side only.")
    if wanted is not None and wanted.tilt_deg is not None:
        lines.append(f"!Head AND cutter tilted {format_angle(wanted.tilt_deg)} from the table, both axes parallel.")
        if wanted.tilt_deg > STEEPEST_TILT_DEG:
            lines.append("A tilt above 80° is avoided (Brown & Sharpe 1914, pp. 180-182).")
    lines += list(_table_lines(job))
    return lines


def _table_lines(job: Job) -> Iterator[str]:
    wanted, hand = job.checked.wanted, job.checked.fit.hand
    if job.disc_mm is not None and wanted is not None and wanted.helix_angle_deg is not None and hand:
        assert wanted.diameter_mm is not None
        yield (
            f"!Disc cutter: swing the table {format_angle(wanted.helix_angle_deg)}, the helix angle at diameter "
            f"{format_length(wanted.diameter_mm, job.checked.shop.units)}; for a {hand}-hand helix its right-hand end "
            f"goes {cutting.swing_side(hand)} (common practice, no source)."
        )
    elif job.end_mill_mm is not None:
        yield "End mill: the table stays square."
    if job.wall_mm is not None and job.end_mill_mm is not None and hand:
        yield from _offset_lines(job, hand)


def _offset_lines(job: Job, hand: str) -> Iterator[str]:
    assert job.wall_mm is not None
    assert job.end_mill_mm is not None
    unit, wanted = job.checked.shop.units, job.checked.wanted
    inner, outer = (float(diameter) / 2 for diameter in job.wall_mm)
    middle = float(wanted.diameter_mm) / 2 if wanted and wanted.diameter_mm else (inner + outer) / 2
    lead = wanted.work_lead_mm if wanted else job.checked.fit.lead_mm
    ramp = cutting.Ramp(float(lead), inner, outer, float(job.end_mill_mm) / 2, middle)

    def said(mm: float) -> str:
        return format_length(Fraction(mm), unit)

    side = cutting.offset_side(hand, job.flank)
    yield (
        f"!Offset the end mill {said(ramp.offset_mm)} across the axis: cutter radius × sin of the lead angle at "
        f"diameter {said(2 * middle)}. Looking straight at the end face with the cutter above it: to the "
        f"{side.upper()}, the {'low' if job.flank == 'end' else 'high'} side of the ramp."
    )
    yield (
        f"Dish over the wall: {said(ramp.dish_mm(ramp.offset_mm))} with this offset, {said(ramp.dish_mm(0.0))} with "
        f"none, {said(ramp.dish_mm(-ramp.offset_mm))} on the wrong side (envelope of the cutter, worked out here)."
    )


def _proof_lines(job: Job) -> list[str]:
    checked, unit = job.checked, job.checked.shop.units
    lead, screw = checked.fit.lead_mm, checked.shop.machine.screw_lead_mm
    lines = [
        f"!{turns} turn{'s' if turns > 1 else ''} of the work: {format_both(turns * lead, unit)} of travel, "
        f"{decimal(turns * lead / screw)} turns of the screw. Measured: {'_' * 10}"
        for turns in PROOF_TURNS
    ]
    if checked.fit.hand:
        way = "CLOCKWISE" if checked.fit.hand == "right" else "ANTICLOCKWISE"
        lines.append(
            f"!Hand: looking along the work from either end, it must turn {way} as it moves away from you "
            f"({checked.fit.hand} hand). If not, one idler more or fewer turns the hand."
        )
    lines.append("!Scribe a light line over the whole length and measure it before the first cut.")
    return lines


def _cutting_lines(job: Job) -> list[str]:
    checked, unit = job.checked, job.checked.shop.units
    wanted, lines = checked.wanted, []
    if wanted is not None and wanted.diameter_mm is not None:
        factor = cutting.feed_factor(wanted.work_lead_mm, wanted.diameter_mm)
        lines.append(
            f"Along the groove the cutter goes {factor:.2f} times as fast as the table: cut the table feed down so."
        )
        backlash = checked.shop.machine.backlash_mm
        if backlash is not None:
            moved = cutting.lost_motion_mm(wanted.work_lead_mm, wanted.diameter_mm, backlash)
            lines.append(
                f"Lost motion of {format_length(backlash, unit)} moves the groove {format_length(moved, unit)} around: "
                "take it up the same way before every cut."
            )
    if job.disc_mm is not None and job.depth_mm is not None:
        room = cutting.run_out_mm(job.disc_mm, job.depth_mm)
        lines.append(f"Run-out: leave {format_length(Fraction(room), unit)} free past each end for the disc cutter.")
    elif job.end_mill_mm is not None:
        lines.append(f"Run-out: leave {format_length(job.end_mill_mm / 2, unit)} free past each end for the end mill.")
    lines.append("First cut light. Feed against the cutter's rotation unless lost motion is taken out of the screw.")
    return lines


def _error_lines(job: Job) -> list[str]:
    checked, figures, unit = job.checked, job.checked.figures, job.checked.shop.units
    if figures is None:
        return []
    words = error_in_words(figures.wanted_mm, figures.lead_mm, job.length_mm, figures.diameter_mm, unit)
    lines = [f"Lead {format_ppm(figures.error)}: {words}" if words else f"Lead {format_ppm(figures.error)}"]
    if figures.error == 0:
        lines = ["None: the lead is exact."]
    if checked.interval_mm is not None:
        low, high = (format_length(lead, unit) for lead in checked.interval_mm)
        lines.append(f"{'Inside' if checked.fit.within else 'OUTSIDE'} the tolerance: {low} to {high} will do.")
    if checked.longest_cut_mm is not None:
        lines.append(f"Longest cut inside what it allows: {format_length(checked.longest_cut_mm, unit)}.")
    if checked.screw_floor:
        lines.append("Below what the screw itself holds: a smaller error is worth nothing.")
    return lines


def _to_fill_in() -> str:
    line = "_" * 22
    return f"Measured lead: {line}   Tried on: {line}   Works: [ ] yes  [ ] no\n\nNotes: {'_' * 90}\n\n{'_' * 97}"
