"""What the script of a pocket chart knows of a chart besides its rows: shop, gears, bracket, words."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ...base.document import plain
from ...base.facts import Record
from ...charts.legend import judged_by
from ...mounting.gears import Gears
from ...mounting.placement import TWO_ON_A_PLATE
from ...mounting.reasons import head_step_mm
from ...shop.gears import PLACES
from ..drawing.slots import lines_of, middle_line
from .packed import items_of

if TYPE_CHECKING:
    from ...charts.making import Chart
    from ...charts.rows import LeadRows
    from ...shop.machine import Route


def about(chart: Chart, rows: LeadRows | None, command: str) -> Record:
    """All of it in plain types; the columns of the packed rows are told by who packs them."""
    source, shop = chart.source, chart.source.shop
    items = items_of(rows)[0] if rows is not None and chart.kind == "list" else []
    pool, lever = source.pool, source.route.has_lever
    return {
        "shop": shop.name,
        "route": routes_in_short(chart),
        "command": command,
        "judged": judged_by(chart),
        "mounts": source.word,
        "units": shop.units,
        "hands": list(source.hands),
        "either": "either hand, by the reversing lever" if lever else "hand not known",
        "countsThreads": shop.machine.counts_threads,
        "firstShaft": shop.machine.first_shaft,
        "work": shop.machine.work,
        "ways": [_way(chart, route) for route in chart.routes],
        "cautions": list(shop.machine.cautions()),
        "sizes": [
            {
                "teeth": teeth,
                "kind": pool.tags[kind],
                "module": float(shop.gears[kind].kind.module_mm),
                "loose": pool.loose[number],
            }
            for number, (teeth, kind) in enumerate(zip(pool.teeth, pool.kind, strict=True))
        ],
        "pieces": [{"gears": [a, b], "count": count} for a, b, count in pool.joined],
        "fixed": [pool.fixed_first, None, pool.fixed_last],
        "hangs": Gears.of(shop, pool).hangs.tolist(),
        "items": [{"name": name, "wanted": str(wanted)} for name, wanted in items],
        **_bracket(chart),
    }


def routes_in_short(chart: Chart) -> str:
    """The routes by name; one alone with the position of its lever."""
    first, *others = chart.routes
    return ", ".join(dict.fromkeys(route.name for route in (first, *others))) if others else first.call


def _way(chart: Chart, route: Route) -> Record:
    """What is set, and how the hand is seen, by one way."""
    shop, hands = chart.source.shop, chart.source.hands
    return {
        "call": route.call,
        "lever": route.lever,
        "lastShaft": shop.machine.last_shaft(route),
        "engaging": plain(shop.machine.engaging(route, shop.dividing)),
        "test": {hand: plain(shop.machine.hand_test(route, None if hand == "either" else hand)) for hand in hands},
    }


def _bracket(chart: Chart) -> Record:
    """Where studs stand and what gears must clear; none where no place was judged."""
    quadrant = chart.source.shop.quadrant
    if chart.source.judge.mode != "geometry" or quadrant is None or quadrant.shaft_distance_mm is None:
        return {"bracket": None, "planes": quadrant.planes if quadrant else 2}
    return {
        "planes": quadrant.planes,
        "bracket": {
            "pivot": quadrant.pivot,
            "apart": [float(end) for end in quadrant.shaft_distance_mm],
            "numbered": not quadrant.bracket.named_by_layout,
            "two": "" if quadrant.bracket.swings_whole else TWO_ON_A_PLATE,
            "steps": [head_step_mm(quadrant, studs) for studs in range(quadrant.bracket.takes + 1)],
            "slots": [[list(point) for point in middle_line(line)] for line in lines_of(quadrant)],
            "nuts": [float(quadrant.nut_radius_mm.get(place, 0)) for place in PLACES],
            "obstacles": [
                [float(block.x_mm), float(block.y_mm), float(block.radius_mm)] for block in quadrant.obstacles
            ],
        },
    }
