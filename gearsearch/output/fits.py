"""How answers of the search are written down: a table for people, JSON and CSV for programs, HTML for notebooks."""

from __future__ import annotations

import csv
import io
import json
from dataclasses import asdict
from html import escape
from typing import Any

from ..base.units import INCH_MM, decimals, format_angle, format_both, format_length, significant, spaced
from ..mounting.placement import JUDGEMENT, Names, Placement, gap_words
from ..search.answers import Answer, Solution
from ..shop.machine import Route
from ..shop.shop import Shop
from ..work.figures import error_in_words, figures_of
from ..work.limits import Limits
from ..work.part import Part
from ..work.tolerance import DOUBTFUL, open_ended

CAUTION = (
    "Before a cut: machine isolated while gears are changed, gears guarded, the whole travel turned by hand first;\n"
    "the machine's manual, local rules and qualified people come before this."
)
_TILTS = (
    "a cam is exact with the head at the tilt that stands beside its train, which the set-up sheet then sets; the "
    "order is by the error at the tilt that was asked for"
)


def answer_text(answer: Answer) -> str:
    """The answer as printed for people; with a length, the error also over that length of cut."""
    unit = answer.shop.units
    lines = [answer.shop.heading, machine_line(answer.shop, answer.route), *answer.part.describe(unit)]
    lines += [*_tolerance_line(answer), _searched_line(answer), ""]
    if answer.fits:
        lines.append(_table(answer))
        reasons = [line for number, fit in enumerate(answer.fits, 1) for line in _reason(number, fit)]
        placed = _first_placed(answer)
        lines += [line for part in (reasons, placed) if part for line in ("", *part)]
    said = [*answer.notes, *_marks(answer)]
    notes = ["", *said] if answer.fits and said else said
    caution = ["", CAUTION] if answer.fits else []
    return "\n".join([*lines, *notes, *caution]) + "\n"


def _marks(answer: Answer) -> list[str]:
    """What stands in the table and does not explain itself."""
    off = f"OFF: no tolerance was given, and the lead is more than {decimals(100 * DOUBTFUL, 1)} % off"
    tilts = [_TILTS] if answer.fits and answer.part.is_cam else []
    return [*tilts, *([off] if any(map(answer.is_off, answer.fits)) else [])]


def _reason(number: int, fit: Solution) -> list[str]:
    """Why an answer does not mount, or at which shaft distance alone it does."""
    if fit.mounts == "no":
        return [f"{number}: no, {fit.why}"]
    return [f"{number}: {fit.why}"] if fit.mounts == "rule" and not fit.train.studs else []


def _first_placed(answer: Answer) -> list[str]:
    """How the first answer stands on the quadrant, where that was judged."""
    fit = answer.fits[0]
    if fit.placement is None:
        return []
    names = Names(answer.shop, answer.route, fit.train.studs)
    lines = placement_lines(fit.placement, names)
    tightest = [fit.why] if fit.why else []
    return [f"no. 1, {fit.train}, on the quadrant:", *(f"  {line}" for line in [*lines, *tightest])]


RECORD_KEYS = (
    *("train", "drivers", "driven", "idlers", "lead_mm", "lead_exact", "error_mm", "error_ppm", "within", "hand"),
    *("route", "mounts", "why", "clearance_mm", "studs", "same_lead", "exact_tilt_deg", "on_the_part"),
)


PART_KEYS = ("drift_mm", "turn_deg", "around_mm", "helix_angle_change_deg")


def machine_line(shop: Shop, route: Route) -> str:
    """The route and its lead of the machine, and a doubt about the two where there is one."""
    doubt = shop.machine.ratio_doubt(route, shop.dividing)
    line = f"route {route.name}: lead of the machine {format_both(shop.drive(route).lead_of_machine_mm, shop.units)}"
    return f"{line}\n!! {doubt}" if doubt else line


def _tolerance_line(answer: Answer) -> list[str]:
    """How the tolerance was read, where one was given."""
    return [] if answer.part.interval_mm is None else [f"tolerance: {_limits(answer).words}"]


def _limits(answer: Answer) -> Limits:
    part, leads = answer.part, tuple(fit.lead_mm for fit in answer.fits)
    return Limits(part.interval_mm, part.lead_mm, leads, answer.shop.units)


def _searched_line(answer: Answer) -> str:
    least, most = answer.terms.pairs
    pairs = f"{least}" if least == most else f"{least} to {most}"
    return f"{spaced(answer.searched)} trains of {pairs} pairs searched, all there are"


def _table(answer: Answer) -> str:
    from tabulate import tabulate

    rows = [_row(answer, number, fit) for number, fit in enumerate(answer.fits, 1)]
    columns = [key for key in rows[0] if any(row[key] for row in rows)]
    cells = [[row[key] for key in columns] for row in rows]
    return tabulate(cells, headers=columns, tablefmt="simple", disable_numparse=True, colalign=["right"])


def _row(answer: Answer, number: int, fit: Solution) -> dict[str, str]:
    unit, limits = answer.shop.units, _limits(answer)
    terms = error_in_words(figures_of(answer.part, fit.lead_mm), unit)
    return {
        "no.": str(number),
        "train": str(fit.train),
        "lead": limits.lead(fit.lead_mm),
        "threads": _threads(answer, fit),
        "error": "exact" if fit.error == 0 else format_length(fit.error_mm, unit, signed=True),
        "relative": "" if fit.error == 0 else limits.relative(fit.lead_mm) + (" OFF" if answer.is_off(fit) else ""),
        "exact at tilt": _exact_tilt(fit, answer.part),
        "on the part": "" if fit.error == 0 else terms,
        "tolerance": {None: "", True: "inside", False: "outside"}[fit.within],
        "hand": fit.hand or "not known",
        "mounts": mounts_in_short(fit, unit),
        "same lead": f"{fit.same_lead} more" if fit.same_lead else "",
    }


def _exact_tilt(fit: Solution, wanted: Part) -> str:
    """The tilt of the head that takes up the error of a train on a cam."""
    tilt = wanted.exact_tilt_deg(fit.lead_mm)
    return format_angle(tilt) if tilt is not None else "none" if wanted.is_cam else ""


def _threads(answer: Answer, fit: Solution) -> str:
    """Threads per inch, as lathe work counts them."""
    if not answer.shop.machine.counts_threads:
        return ""
    return f"{significant(answer.part.starts * INCH_MM / fit.lead_mm, 4).rstrip('0').rstrip('.')} tpi"


def mounts_in_short(fit: Solution, unit: str) -> str:
    """Whether a train mounts, in few words for a table; ``fit.why`` says more."""
    if fit.mounts == "rule" and not fit.train.studs:
        return "at one shaft distance only"
    if fit.clearance_mm is None or fit.mounts != "yes":
        return JUDGEMENT[fit.mounts]
    return f"yes, {gap_words(fit.clearance_mm, unit)} clear"


def placement_lines(placement: Placement, names: Names) -> list[str]:
    """Where to set each stud, as one would with a rule."""
    pivot = 0 if placement.pivot == "first" else names.studs + 1
    lines = []
    for stud in placement.studs:
        near = [(stud.number - 1, stud.to_previous_mm), (stud.number + 1, stud.to_next_mm)]
        to = ", ".join(f"{names.length(mm)} from {names.shaft(shaft)}" for shaft, mm in near if shaft != pivot)
        lines.append(
            f"stud {stud.number} with {' and '.join(map(str, stud.gears))}: {names.length(stud.from_pivot_mm)} from "
            f"{names.shaft(pivot)} (the pivot), {to}; swing {stud.swing_deg:+.1f}°"
        )
    idle = [wheel for wheel in placement.wheels if wheel.role == "idle"]
    lines += [f"{names.wheel(wheel)}, of a joined piece, in plane {wheel.plane + 1}" for wheel in idle]
    return [*lines, f"shafts {names.length(placement.shaft_distance_mm)} apart"]


def fit_record(fit: Solution) -> dict[str, Any]:
    """One answer for programs; the keys are stable."""
    return {
        "train": str(fit.train),
        "drivers": list(fit.train.drivers),
        "driven": list(fit.train.driven),
        "idlers": list(fit.train.idlers),
        "lead_mm": float(fit.lead_mm),
        "lead_exact": str(fit.lead_mm),
        "error_mm": float(fit.error_mm),
        "error_ppm": float(fit.error * 1_000_000),
        "within": fit.within,
        "hand": fit.hand,
        "route": fit.route,
        "mounts": fit.mounts,
        "why": fit.why,
        "clearance_mm": fit.clearance_mm,
        "studs": [asdict(stud) for stud in fit.placement.studs] if fit.placement else [],
        "same_lead": fit.same_lead,
    }


def answer_record(answer: Answer) -> dict[str, Any]:
    """The whole answer for programs; the keys are stable. ``longest_allowed_mm`` is null where there is no end."""
    fits = [_solution_record(fit, answer.part) for fit in answer.fits]
    allowed = answer.part.interval_mm
    ends = (None, None) if allowed is None else open_ended(allowed, answer.part.lead_mm)
    return {
        "wanted": wanted_record(answer.part, answer.shop.units) | {"hand": answer.terms.hand},
        "shop": answer.shop.name,
        "demo": answer.shop.is_demo,
        "route": answer.route.name,
        "shortest_allowed_mm": None if ends[0] is None else float(ends[0]),
        "longest_allowed_mm": None if ends[1] is None else float(ends[1]),
        "searched": answer.searched,
        "fits": fits,
        "notes": list(answer.notes),
    }


def _solution_record(fit: Solution, part: Part) -> dict[str, Any]:
    """One answer with the tilt that makes it exact and, with a length or a diameter, its error on the part."""
    tilt, known = part.exact_tilt_deg(fit.lead_mm), part.length_mm is not None or part.helix_diameter_mm is not None
    on_the_part = _on_the_part(fit, part) if known else None
    return fit_record(fit) | {"exact_tilt_deg": None if tilt is None else float(tilt), "on_the_part": on_the_part}


def _on_the_part(fit: Solution, part: Part) -> dict[str, float | None]:
    """What the lead does to the part; None for what needs a length or a diameter that is not known."""
    figures = figures_of(part, fit.lead_mm)
    values = figures.drift_mm, figures.turn_deg, figures.around_mm, figures.helix_deg
    return {name: None if value is None else float(value) for name, value in zip(PART_KEYS, values, strict=True)}


def answer_json(answer: Answer) -> str:
    """The answer as JSON."""
    return json.dumps(answer_record(answer), indent=2, ensure_ascii=False) + "\n"


def answer_csv(answer: Answer) -> str:
    """The answers as CSV, one row each; lists of gears are parted by spaces."""
    keys = [key for key in RECORD_KEYS if key not in ("studs", "on_the_part")] + list(PART_KEYS)
    text = io.StringIO()
    writer = csv.DictWriter(text, keys, extrasaction="ignore", lineterminator="\n")
    writer.writeheader()
    for fit in answer.fits:
        record = _solution_record(fit, answer.part) | _on_the_part(fit, answer.part)
        writer.writerow({key: _cell(value) for key, value in record.items()})
    return text.getvalue()


def _cell(value: Any) -> Any:
    if isinstance(value, list):
        return " ".join(map(str, value))
    if isinstance(value, bool):
        return "true" if value else "false"
    return "" if value is None else value


def wanted_record(wanted: Part, unit: str) -> dict[str, Any]:
    """What was asked for, for programs: the lead that the gears must give, and in words where it comes from."""
    return {
        "lead_mm": float(wanted.lead_mm),
        "lead_exact": str(wanted.lead_mm),
        "words": wanted.describe(unit),
    }


def answer_html(answer: Answer) -> str:
    """The answer for a notebook."""
    return f"<pre>{escape(answer_text(answer))}</pre>"
