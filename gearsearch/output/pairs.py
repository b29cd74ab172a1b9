"""How answers for two meshing gears are written down: tables for people, JSON and CSV for programs."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Iterable, Iterator
from fractions import Fraction
from typing import Any

from ..base.document import plain
from ..base.units import decimals, format_angle, format_both, format_length, format_ppm, significant, spaced
from ..pairs.find import PairAnswer, PairFit
from ..pairs.meshing import HelicalPair
from ..work.figures import helix_words
from ..work.helix import HelicalGear
from ..work.spans import CUTTERS_DEG, span_note, span_of, span_words
from .fits import fit_record, machine_line, mounts_in_short


def pair_text(answer: PairAnswer) -> str:
    """The answer as printed for people."""
    least, most = answer.request.terms.pairs
    pairs = f"{least}" if least == most else f"{least} to {most}"
    lines = [answer.shop.heading, machine_line(answer.shop, answer.route), *describe(answer)]
    lines += [f"{spaced(answer.searched)} trains of {pairs} pairs searched for each gear, all there are", ""]
    if answer.fits:
        asked = "at this centre distance" if answer.request.pair.fixed_mm else "for the helix angle as drawn"
        lines += [f"{asked}, least mismatch first:", _table(answer, answer.fits, _drawn_row), ""]
    if answer.moved:
        lines += ["exact pairs with the helix angle moved, easiest first:", _table(answer, answer.moved, _moved_row)]
        lines += ["the blanks change with the angle: turn them to these outside diameters", ""]
    return "\n".join([*lines, *_refusals(answer), *answer.notes, *_spans(answer)]).rstrip() + "\n"


def _spans(answer: PairAnswer) -> Iterator[str]:
    """What proves the depth of each gear's teeth, at the helix angle wanted."""
    pair, unit = answer.request.pair, answer.shop.units
    told = [(number, span_words(gear, unit, pair.face_mm)) for number, gear, _ in _gears(pair)]
    for number, words in told:
        if words:
            yield f"gear {number}: {plain(words)}"
    if any(words for _, words in told):
        yield span_note(pair.first.normal_module_mm, unit)


def describe(answer: PairAnswer) -> list[str]:
    """Lines that say which pair is wanted."""
    pair, unit = answer.request.pair, answer.shop.units
    apart = f"centre distance {format_both(pair.centre_distance_mm, unit)}"
    if pair.shafts == "parallel":
        shafts = f"parallel shafts, {apart}{'' if pair.fixed_mm is None else ' as given'}"
    else:
        shafts = f"shafts crossed at {format_angle(pair.shaft_angle_deg)}, {apart}"
    face = "" if pair.face_mm is None else f", common face {format_both(pair.face_mm, unit)}"
    return [
        f"wanted: a helical pair of {pair.first.module_words}, {shafts}{face}",
        *_angle_line(pair),
        *(_gear_line(number, gear, hand, unit) for number, gear, hand in _gears(pair)),
    ]


def _angle_line(pair: HelicalPair) -> Iterator[str]:
    """Where the helix angle comes from, where the distance was given."""
    if pair.fixed_mm is not None:
        cosine = pair.first.normal_module_mm * (pair.first.teeth + pair.second.teeth) / (2 * pair.fixed_mm)
        yield (
            f"  cosine of the helix angle = normal module × ({pair.first.teeth} + {pair.second.teeth}) / twice the "
            f"centre distance = {decimals(cosine, 6)}"
        )


def _gears(pair: HelicalPair) -> Iterator[tuple[int, HelicalGear, str]]:
    yield 1, pair.first, pair.hands[0]
    yield 2, pair.second, pair.hands[1]


def _gear_line(number: int, gear: HelicalGear, hand: str, unit: str) -> str:
    hand = "either hand" if hand == "either" else f"{hand} hand"
    return (
        f"  gear {number}: {gear.teeth} teeth, {hand}, lead {format_both(gear.lead_mm, unit)}, "
        f"helix angle {format_angle(gear.helix_angle_deg)} at pitch diameter "
        f"{format_both(gear.pitch_diameter_mm, unit)}"
    )


def _table(answer: PairAnswer, fits: tuple[PairFit, ...], row: Any) -> str:
    from tabulate import tabulate

    rows = [cells for number, fit in enumerate(fits, 1) for cells in _two_rows(answer, number, fit, row)]
    columns = [key for key in rows[0] if any(cells[key] for cells in rows)]
    cells = [[line[key] for key in columns] for line in rows]
    return tabulate(cells, headers=columns, tablefmt="simple", disable_numparse=True, colalign=["right"])


def _two_rows(answer: PairAnswer, number: int, fit: PairFit, row: Any) -> Iterator[dict[str, str]]:
    unit = answer.shop.units
    for place, train in enumerate(fit.fits):
        cells = {
            "no.": "" if place else str(number),
            "gear": str(place + 1),
            "hand": train.hand or "not known",
            "train": str(train.train),
            "lead": format_both(train.lead_mm, unit),
            **row(answer, fit, place),
            "mounts": mounts_in_short(train, unit),
        }
        yield cells


def _drawn_row(answer: PairAnswer, fit: PairFit, place: int) -> dict[str, str]:
    meshing, unit = fit.meshing, answer.shop.units
    move = meshing.centre_distance_mm - answer.request.pair.centre_distance_mm
    first = place == 0
    return {
        "error": format_ppm(fit.fits[place].error) if fit.fits[place].error else "exact",
        "mismatch": mismatch_words(fit) if first else "",
        "both angles": helix_words(meshing.shared_deg) if first else "",
        "helix angle": f"{decimals(meshing.helix_angles_deg[place], 4)}°",
        _distance(answer): f"{format_length(meshing.centre_distance_mm, unit)}, {_signed(move, unit)}" if first else "",
    }


def _distance(answer: PairAnswer) -> str:
    """The head of the column of centre distances: at a fixed one they are only what the trains would suit."""
    return "centre distance" if answer.request.pair.fixed_mm is None else "would suit"


def _moved_row(answer: PairAnswer, fit: PairFit, place: int) -> dict[str, str]:
    cells = _drawn_row(answer, fit, place)
    outside = format_length(fit.meshing.outside_diameters_mm[place], answer.shop.units)
    return {key: cells[key] for key in ("both angles", "helix angle", "centre distance")} | {
        "outside diameter": outside
    }


def _signed(move_mm: Fraction, unit: str) -> str:
    return "unchanged" if move_mm == 0 else format_length(move_mm, unit, signed=True)


def mismatch_words(fit: PairFit) -> str:
    """The mismatch for people: exact, or minutes, and µm across the face where there is one."""
    if fit.exact:
        return "none: exact"
    minutes = abs(fit.meshing.mismatch_deg) * 60
    said = f"{significant(minutes, 2)}′"
    if fit.meshing.mismatch_um is not None:
        said += f", {significant(abs(fit.meshing.mismatch_um), 2)} µm"
    return said


def _refusals(answer: PairAnswer) -> Iterator[str]:
    for number, fit in enumerate(answer.fits, 1):
        for place, train in enumerate(fit.fits, 1):
            if train.mounts == "no":
                yield f"{number}, gear {place}: no, {train.why}"


def pair_record(answer: PairAnswer) -> dict[str, Any]:
    """The whole answer for programs; the keys are stable."""
    pair = answer.request.pair
    return {
        "pair": {
            "normal_module_mm": float(pair.first.normal_module_mm),
            "shafts": pair.shafts,
            "shaft_angle_deg": float(pair.shaft_angle_deg),
            "centre_distance_mm": float(pair.centre_distance_mm),
            "centre_distance_fixed": pair.fixed_mm is not None,
            "face_mm": None if pair.face_mm is None else float(pair.face_mm),
            "gears": [_gear_record(gear, hand) for _, gear, hand in _gears(pair)],
        },
        "shop": answer.shop.name,
        "demo": answer.shop.is_demo,
        "route": answer.route.name,
        "searched": answer.searched,
        "windows_mm": [[float(low), float(high)] for low, high in answer.windows_mm],
        "fits": [fit_pair_record(fit) for fit in answer.fits],
        "moved": [fit_pair_record(fit) for fit in answer.moved],
        "notes": list(answer.notes),
    }


def _gear_record(gear: HelicalGear, hand: str) -> dict[str, Any]:
    return {
        "teeth": gear.teeth,
        "hand": hand,
        "helix_angle_deg": float(gear.helix_angle_deg),
        "pitch_diameter_mm": float(gear.pitch_diameter_mm),
        "lead_mm": float(gear.lead_mm),
        "lead_exact": str(gear.lead_mm),
        "spans": [
            {
                "pressure_angle_deg": float(angle),
                "teeth": span.teeth,
                "span_mm": float(span.span_mm),
                "least_face_mm": float(span.face_mm),
            }
            for angle in CUTTERS_DEG
            if (span := span_of(gear, angle)) is not None
        ],
    }


def fit_pair_record(fit: PairFit) -> dict[str, Any]:
    """One pair of trains for programs; the keys are stable."""
    meshing = fit.meshing
    return {
        "exact": fit.exact,
        "mismatch_exact": None if fit.mismatch is None else str(fit.mismatch),
        "mismatch_minutes": float(meshing.mismatch_deg * 60),
        "mismatch_um": None if meshing.mismatch_um is None else float(meshing.mismatch_um),
        "shared_error_exact": str(fit.shared),
        "shared_error_ppm": float(fit.shared * 1_000_000),
        "shared_minutes": float(meshing.shared_deg * 60),
        "helix_angles_deg": [float(angle) for angle in meshing.helix_angles_deg],
        "shaft_angle_deg": float(meshing.shaft_angle_deg),
        "pitch_diameters_mm": [float(diameter) for diameter in meshing.pitch_diameters_mm],
        "outside_diameters_mm": [float(diameter) for diameter in meshing.outside_diameters_mm],
        "centre_distance_mm": float(meshing.centre_distance_mm),
        "first": fit_record(fit.first),
        "second": fit_record(fit.second),
    }


def pair_json(answer: PairAnswer) -> str:
    """The answer as JSON."""
    return json.dumps(pair_record(answer), indent=2, ensure_ascii=False) + "\n"


CSV_KEYS = (
    *("angle", "rank", "exact", "mismatch_exact", "mismatch_minutes", "mismatch_um", "shared_error_ppm"),
    *("shared_minutes", "helix_angle_1_deg", "helix_angle_2_deg", "shaft_angle_deg", "centre_distance_mm"),
    *("train_1", "lead_1_mm", "lead_1_exact", "hand_1", "mounts_1"),
    *("train_2", "lead_2_mm", "lead_2_exact", "hand_2", "mounts_2"),
)


def pair_csv(answer: PairAnswer) -> str:
    """The answers as CSV, one row each; ``angle`` says whether the helix angle is as drawn or moved."""
    text = io.StringIO()
    writer = csv.DictWriter(text, CSV_KEYS, extrasaction="ignore", lineterminator="\n")
    writer.writeheader()
    for angle, fits in (("drawn", answer.fits), ("moved", answer.moved)):
        writer.writerows(_csv_rows(angle, fits))
    return text.getvalue()


def _csv_rows(angle: str, fits: Iterable[PairFit]) -> Iterator[dict[str, Any]]:
    for rank, fit in enumerate(fits, 1):
        record = fit_pair_record(fit)
        row = {key: "" if value is None else value for key, value in record.items()}
        row |= {"angle": angle, "rank": rank, "exact": "true" if fit.exact else "false"}
        for number, gear in ((1, "first"), (2, "second")):
            row[f"helix_angle_{number}_deg"] = record["helix_angles_deg"][number - 1]
            for key in ("train", "lead_mm", "lead_exact", "hand", "mounts"):
                name = key.replace("lead_", f"lead_{number}_") if key.startswith("lead_") else f"{key}_{number}"
                row[name] = record[gear][key] or ""
        yield row
