"""How the judgement of one train is written down: words for people, JSON and CSV for programs."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Iterator
from fractions import Fraction
from typing import Any

from .check import Checked, decimal, proof
from .placement import Names
from .report import CAUTION, JUDGEMENT, fit_record, machine_line, placement_lines, shop_line, wanted_record
from .tolerance import helix_words
from .units import decimals, format_both, format_length, format_ppm


def checked_text(checked: Checked) -> str:
    """The judgement as printed for people."""
    unit = checked.shop.units
    wanted = checked.wanted.describe(unit) if checked.wanted else []
    lines = [
        shop_line(checked.shop),
        machine_line(checked.shop, checked.route),
        f"train {checked.fit.train}: lead {format_both(checked.fit.lead_mm, unit)}, {_hand(checked)}",
        *wanted,
        "",
        *_error_lines(checked),
        *_tolerance_lines(checked),
        *_tooth_lines(checked),
        *_mounting_lines(checked),
        *_turning_lines(checked),
        "",
        "to prove it by hand:",
        *(f"  {line}" for line in proof(checked.shop, checked.route, checked.fit.train)),
        "",
        "one wrong tooth would have given:",
        *(f"  {line}" for line in _slip_lines(checked)),
        "",
        CAUTION,
    ]
    return "\n".join(lines) + "\n"


def _hand(checked: Checked) -> str:
    hand = checked.fit.hand
    return f"{hand} hand" if hand else "hand not known: turn it through by hand once"


def _error_lines(checked: Checked) -> Iterator[str]:
    figures, unit = checked.figures, checked.shop.units
    if figures is None:
        return
    if figures.error == 0:
        yield "error: none, the lead is exact"
        return
    side, turn = ("long", "less") if figures.error > 0 else ("short", "more")
    off = format_length(abs(figures.lead_mm - figures.wanted_mm), unit)
    yield f"error: the lead is {off} too {side} ({format_ppm(figures.error)})"
    if figures.drift_mm is not None and figures.length_mm is not None and figures.turn_deg is not None:
        over = format_length(figures.length_mm, unit)
        yield f"  along the axis: {format_length(abs(figures.drift_mm), unit)} {side} over {over} of cut"
        around = figures.around_mm
        at = "" if around is None else f", {format_length(abs(around), unit)} around the diameter"
        yield f"  around the axis: the work turns {decimals(abs(figures.turn_deg), 4)}° {turn} over that length{at}"
    if figures.helix_deg is not None:
        yield f"  helix angle at the diameter: {helix_words(figures.helix_deg)}"
    if checked.screw_floor:
        accuracy = checked.shop.machine.screw_accuracy
        assert accuracy is not None
        yield f"  below what the screw itself holds ({format_ppm(accuracy)[1:]}): a smaller error is worth nothing"


def _tolerance_lines(checked: Checked) -> Iterator[str]:
    if checked.interval_mm is None:
        return
    unit = checked.shop.units
    low, high = (format_length(lead, unit) for lead in checked.interval_mm)
    verdict = "inside" if checked.fit.within else "OUTSIDE"
    yield f"tolerance: {verdict}; geared leads from {low} to {high} will do"
    if checked.longest_cut_mm is not None:
        yield f"  longest cut that stays inside what it allows: {format_length(checked.longest_cut_mm, unit)}"


def _tooth_lines(checked: Checked) -> Iterator[str]:
    tooth = checked.tooth
    if tooth is None:
        return
    passes = "none of the classes" if tooth.passes is None else f"class {tooth.passes} and coarser"
    yield (
        f"helix slope over the face: {decimals(tooth.slope_um, 2)} µm; by the lead alone it passes {passes} "
        "of ISO 1328-1:2013 (formula from memory)"
    )
    if tooth.allowed_um is not None:
        verdict = "inside" if abs(tooth.slope_um) <= Fraction(tooth.allowed_um) else "OUTSIDE"
        yield f"  class {tooth.accuracy} allows {tooth.allowed_um} µm: {verdict}"


def _mounting_lines(checked: Checked) -> Iterator[str]:
    fit = checked.fit
    why = f", {fit.why}" if fit.why else ""
    yield f"mounts: {JUDGEMENT[fit.mounts]}{why}"
    if fit.placement:
        names = Names(checked.shop, checked.route, fit.train.studs)
        yield from (f"  {line}" for line in placement_lines(fit.placement, names))
    if checked.alternative is not None:
        other = checked.alternative
        yield f"  the same gears as {other.train} mount ({JUDGEMENT[other.mounts]}), {other.hand or 'hand not known'}"


def _turning_lines(checked: Checked) -> Iterator[str]:
    step = checked.fit.step_up
    first, last = (
        ("table screw", "last shaft") if checked.shop.machine.kind == "mill" else ("first shaft", "lead screw")
    )
    if step == 1:
        yield "turning: both shafts turn equally fast"
    elif step < 1:
        yield f"turning: steps down {decimal(1 / step)} : 1; turn it by the {first}, its fast side"
    else:
        yield f"turning: steps up 1 : {decimal(step)}; turn it by the {last}, its fast side"
    if checked.warns_of_step_up:
        limit = checked.route.step_up_warning
        assert limit is not None
        yield f"  WARNING: beyond the {decimal(limit)} at which this route warns: no power feed from the {first}"


def _slip_lines(checked: Checked) -> Iterator[str]:
    unit, right = checked.shop.units, checked.fit.lead_mm
    for slip in checked.slips:
        off = format_ppm(slip.lead_mm / right - 1)
        yield f"{slip.put_on} for the {slip.meant} ({slip.place}): {format_length(slip.lead_mm, unit)} ({off})"


def checked_record(checked: Checked) -> dict[str, Any]:
    """The judgement for programs; the keys are stable."""
    figures, tooth = checked.figures, checked.tooth
    return {
        **({"wanted": wanted_record(checked.wanted, checked.shop.units)} if checked.wanted else {"wanted": None}),
        "shop": checked.shop.name,
        "demo": checked.shop.is_demo,
        **fit_record(checked.fit),
        "drift_mm": _number(figures.drift_mm if figures else None),
        "turn_deg": _number(figures.turn_deg if figures else None),
        "around_mm": _number(figures.around_mm if figures else None),
        "helix_angle_change_deg": _number(figures.helix_deg if figures else None),
        "shortest_allowed_mm": _number(checked.interval_mm and checked.interval_mm[0]),
        "longest_allowed_mm": _number(checked.interval_mm and checked.interval_mm[1]),
        "longest_cut_mm": _number(checked.longest_cut_mm),
        "helix_slope_um": _number(tooth.slope_um if tooth else None),
        "helix_slope_allowed_um": tooth and tooth.allowed_um,
        "accuracy_class_passed": tooth and tooth.passes,
        "step_up": float(checked.fit.step_up),
        "below_screw_accuracy": checked.screw_floor,
        "travel_mm": {str(turns): float(travel) for turns, travel in checked.travel_mm.items()},
        "slips": [
            {"meant": slip.meant, "put_on": slip.put_on, "place": slip.place, "lead_mm": float(slip.lead_mm)}
            for slip in checked.slips
        ],
        "alternative": str(checked.alternative.train) if checked.alternative else None,
    }


def _number(value: Fraction | None) -> float | None:
    return None if value is None else float(value)


def checked_json(checked: Checked) -> str:
    """The judgement as JSON."""
    return json.dumps(checked_record(checked), indent=2, ensure_ascii=False) + "\n"


def checked_csv(checked: Checked) -> str:
    """The judgement as CSV, one row; what is a list of records stays with the JSON."""
    record = {key: value for key, value in checked_record(checked).items() if not isinstance(value, dict)}
    record.pop("slips"), record.pop("studs")
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(record)
    writer.writerow(" ".join(map(str, v)) if isinstance(v, list) else "" if v is None else v for v in record.values())
    return text.getvalue()
