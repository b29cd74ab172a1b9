"""What a shop file comes to: leads of the machine, trains the gears make, leads they reach, and what to look at."""

from __future__ import annotations

import csv
import io
import json
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from ..base.units import format_both, format_ppm, spaced
from .gears import PLACES, GearSet
from .machine import Route
from .quadrant import Quadrant
from .reach import count_trains, shortest_and_longest
from .shop import Shop
from .trains import MOST_PAIRS

_INCH_PRIME = 127  # 1 in = 127/5 mm: what a gear must divide out to cross between inch and metric exactly


@dataclass(frozen=True, slots=True)
class Reach:
    """What trains of so many pairs give on one route.

    Parameters
    ----------
    route : the route
    pairs : pairs of gears in the train
    trains : how many trains there are, whether they mount or not
    leads_mm : shortest and longest lead [mm]; None where there is no train
    """

    route: Route
    pairs: int
    trains: int
    leads_mm: tuple[Fraction, Fraction] | None


@dataclass(frozen=True, slots=True)
class Overview:
    """A shop with everything derived from it.

    Parameters
    ----------
    shop : the shop
    reaches : for every route, trains of 1 to 4 pairs
    notes : how the figures are to be taken
    warnings : what is missing or of no use in the shop file
    """

    shop: Shop
    reaches: tuple[Reach, ...]
    notes: tuple[str, ...]
    warnings: tuple[str, ...]


def overview(shop: Shop) -> Overview:
    """Everything that follows from a shop file, without a search."""
    counts = {pairs: count_trains(shop, pairs) for pairs in range(1, MOST_PAIRS + 1)}
    reaches = tuple(
        Reach(route, pairs, trains, shortest_and_longest(shop, route, pairs) if trains else None)
        for route in shop.machine.routes
        for pairs, trains in counts.items()
    )
    return Overview(shop, reaches, tuple(_notes(shop)), tuple(_warnings(shop)))


def _notes(shop: Shop) -> list[str]:
    notes = ["trains and leads are counted from the gears alone; whether a train mounts is judged by the search"]
    if any(gears.joined for gears in shop.gears):
        notes.append("the two gears of a joined piece are counted here as if they were loose")
    return notes


def _warnings(shop: Shop) -> list[str]:
    return [
        *(_no_hand(route) for route in shop.machine.routes if route.hand_with_one_stud is None),
        *filter(None, map(shop.ratio_doubt, shop.machine.routes)),
        *_crossing(shop),
        *(_alone(gears) for gears in shop.gears if gears.available().total() == 1),
        *_misfits(shop),
        *_unmeasured(shop),
    ]


def _hand(route: Route) -> str:
    known = route.hand_with_one_stud or "not yet found"
    return "either, by a lever" if known == "either" else known


def _no_hand(route: Route) -> str:
    return (
        f"route {route.name}: the hand is not yet found, so no answer can say right or left; put on any train with one "
        "stud, turn by hand, and write hand_with_one_stud"
    )


def _crossing(shop: Shop) -> list[str]:
    """A box without 127 in it cannot cross between inch and metric."""
    if any(teeth % _INCH_PRIME == 0 for gears in shop.gears for teeth in gears.available()):
        return []
    inch = shop.machine.screw_lead_mm.numerator % _INCH_PRIME == 0
    screw, other = ("an inch", "millimetres") if inch else ("a metric", "inches")
    return [f"there is no gear of {_INCH_PRIME} teeth: with {screw} screw no lead in round {other} can be exact"]


def _alone(gears: GearSet) -> str:
    (teeth,) = gears.available()
    return f"the {teeth} is the only gear of {gears.kind.label}: it can mesh with nothing"


def _misfits(shop: Shop) -> list[str]:
    return [
        f"the {teeth} of {gears.kind.label} may go nowhere: look at only_on, smallest and largest"
        for gears in shop.gears
        for teeth in sorted(gears.available())
        if not any(shop.allows(gears.kind.tag, teeth, place) for place in PLACES)
    ]


def _unmeasured(shop: Shop) -> list[str]:
    warnings = []
    if not shop.has_geometry:
        warnings.append(
            "the quadrant is not measured: whether a train mounts is judged by the rule of thumb only; "
            "gearsearch shop measure tells what to measure"
        )
    if shop.machine.screw_accuracy is None:
        warnings.append("screw_accuracy is not given: no answer can say where a smaller error is worth nothing")
    if shop.dividing is None:
        warnings.append("there is no [dividing] table: gearsearch divide cannot be used")
    return warnings


def overview_text(view: Overview) -> str:
    """The overview as printed for people."""
    shop = view.shop
    lines = [shop.heading, *_machine_lines(shop), _quadrant_line(shop.quadrant, shop.units), ""]
    lines += [line for gears in shop.gears for line in _gear_lines(gears)]
    lines += ["", *_columns(_route_rows(shop)), "", *_columns(_reach_rows(view))]
    lines += ["", *view.notes]
    lines += ["", "warnings:" if view.warnings else "warnings: none", *(f"- {warning}" for warning in view.warnings)]
    return "\n".join(lines) + "\n"


def _machine_lines(shop: Shop) -> list[str]:
    machine = shop.machine
    screw = "table screw" if machine.kind == "mill" else "lead screw"
    parts = [f"{machine.kind}: {screw} {format_both(machine.screw_lead_mm, shop.units)} a turn"]
    if machine.screw_accuracy is not None:
        parts.append(f"accurate to {format_ppm(machine.screw_accuracy).lstrip('+')}")
    if machine.backlash_mm is not None:
        parts.append(f"lost motion {format_both(machine.backlash_mm, shop.units)}")
    return [", ".join(parts)]


def _quadrant_line(quadrant: Quadrant | None, unit: str) -> str:
    if quadrant is None or quadrant.shaft_distance_mm is None:
        return "quadrant: not measured"
    least, most = quadrant.shaft_distance_mm
    apart = format_both(least, unit) + (f" to {format_both(most, unit)}" if most > least else "")
    studs = "1 stud" if quadrant.takes == 1 else f"up to {quadrant.takes} studs"
    return f"quadrant: {quadrant.layout} swinging round the {quadrant.pivot} shaft, {studs}, shafts {apart} apart"


def _gear_lines(gears: GearSet) -> list[str]:
    tag = f", written @{gears.kind.tag}" if gears.kind.tag else ""
    count = gears.available().total()
    lines = [f"{count} {'gear' if count == 1 else 'gears'} of {gears.kind.label}{tag}"]
    if gears.teeth:
        lines.append(f"  loose: {' '.join(map(str, gears.teeth))}")
    if gears.joined:
        lines.append(f"  joined: {', '.join(f'{a} with {b}' for a, b in gears.joined)}")
    lines += [f"  fixed on the {place} shaft: {teeth}" for place, teeth in gears.fixed.items()]
    for teeth, places in sorted(gears.only_on.items()):
        lines.append(f"  the {teeth} only on: {', '.join(place for place in PLACES if place in places)}")
    return lines


def _route_rows(shop: Shop) -> list[list[str]]:
    rows = [["route", "ratio", "lead of the machine", "hand with one stud", "step-up warned of"]]
    for route in shop.machine.routes:
        lead = format_both(shop.drive(route).lead_of_machine_mm, shop.units)
        step_up = "none" if route.step_up_warning is None else f"above {_plain(route.step_up_warning)}"
        rows.append([route.name, _plain(route.ratio), lead, _hand(route), step_up])
    return rows


def _reach_rows(view: Overview) -> list[list[str]]:
    rows = [["route", "pairs", "trains", "shortest lead", "longest lead"]]
    for reach in view.reaches:
        ends = ["", ""] if reach.leads_mm is None else [format_both(end, view.shop.units) for end in reach.leads_mm]
        rows.append([reach.route.name, str(reach.pairs), spaced(reach.trains), *ends])
    return rows


def _columns(rows: list[list[str]]) -> list[str]:
    """Rows of words set in columns, two spaces apart."""
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    return ["  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip() for row in rows]


def _plain(number: Fraction) -> str:
    return f"{float(number):.6g}"


def overview_record(view: Overview) -> dict[str, Any]:
    """The overview for programs; the keys are stable."""
    shop = view.shop
    return {
        "name": shop.name,
        "demo": shop.is_demo,
        "source": shop.source,
        "units": shop.units,
        "machine": {
            "kind": shop.machine.kind,
            "screw_lead_mm": float(shop.machine.screw_lead_mm),
            "screw_lead_exact": str(shop.machine.screw_lead_mm),
            "screw_accuracy_ppm": _float(shop.machine.screw_accuracy, 1_000_000),
            "backlash_mm": _float(shop.machine.backlash_mm),
        },
        "gears": [_gear_record(gears) for gears in shop.gears],
        "routes": [_route_record(view, route) for route in shop.machine.routes],
        "quadrant": shop.has_geometry,
        "notes": list(view.notes),
        "warnings": list(view.warnings),
    }


def _gear_record(gears: GearSet) -> dict[str, Any]:
    return {
        "kind": gears.kind.label,
        "tag": gears.kind.tag,
        "module_mm": float(gears.kind.module_mm),
        "pressure_angle_deg": float(gears.kind.pressure_angle_deg),
        "count": gears.available().total(),
        "teeth": list(gears.teeth),
        "joined": [list(piece) for piece in gears.joined],
        "fixed": dict(gears.fixed),
        "only_on": {str(teeth): sorted(places) for teeth, places in sorted(gears.only_on.items())},
    }


def _route_record(view: Overview, route: Route) -> dict[str, Any]:
    lead = view.shop.drive(route).lead_of_machine_mm
    return {
        "name": route.name,
        "ratio": float(route.ratio),
        "lead_of_machine_mm": float(lead),
        "lead_of_machine_exact": str(lead),
        "hand_with_one_stud": route.hand_with_one_stud,
        "step_up_warning": _float(route.step_up_warning),
        "trains": [_reach_record(reach) for reach in view.reaches if reach.route == route],
    }


def _reach_record(reach: Reach) -> dict[str, Any]:
    shortest, longest = reach.leads_mm or (None, None)
    return {
        "pairs": reach.pairs,
        "trains": reach.trains,
        "shortest_mm": _float(shortest),
        "shortest_exact": None if shortest is None else str(shortest),
        "longest_mm": _float(longest),
        "longest_exact": None if longest is None else str(longest),
    }


def _float(number: Fraction | None, times: int = 1) -> float | None:
    return None if number is None else float(number * times)


def overview_json(view: Overview) -> str:
    """The overview as JSON."""
    return json.dumps(overview_record(view), indent=2, ensure_ascii=False) + "\n"


CSV_KEYS = ("route", "lead_of_machine_mm", "lead_of_machine_exact", "hand_with_one_stud", "pairs", "trains")


def overview_csv(view: Overview) -> str:
    """One row for each route and number of pairs."""
    text = io.StringIO()
    keys = [*CSV_KEYS, "shortest_mm", "shortest_exact", "longest_mm", "longest_exact"]
    writer = csv.DictWriter(text, keys, extrasaction="ignore", lineterminator="\n")
    writer.writeheader()
    for reach in view.reaches:
        row = {"route": reach.route.name, **_route_record(view, reach.route), **_reach_record(reach)}
        writer.writerow(row)
    return text.getvalue()
