"""What a chart says of itself to people: its title, the facts of its first page, what its columns mean."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ..base.sources import meaning
from ..base.units import decimals, spaced
from ..search.routes import costs
from ..search.solutions import pairs_words
from ..shop.overview import machine_lines
from ..work.limits import OFF
from ..work.tolerance import DOUBTFUL, HOPELESS
from .columns import gear_set

if TYPE_CHECKING:
    from .making import Chart

DEMO = " (demo shop)"
_UNITS = {"mm": "mm", "in": "inches"}
_SAFETY = (
    "prove every set-up by hand before cutting: isolate the machine while gears are changed, guard them, turn the "
    "whole travel by hand first, and keep to the machine's manual"
)
_JUDGED = {
    "geometry": "every train mounts on the shop's quadrant",
    "rule": "trains pass the rule of thumb only: A + B > C + 15 and C + D > B + 15",
    "skip": "mounting was not judged: try before you trust",
}


def judged_by(chart: Chart) -> str:
    """What is known of whether its trains mount."""
    return _JUDGED[chart.source.judge.mode]


def shop_of(chart: Chart) -> str:
    """Whose chart it is; of the demo shop so much is said on every page."""
    shop = chart.source.shop
    return f"{shop.name}{DEMO * shop.is_demo}"


def heading_facts(chart: Chart, command: str, date: str) -> list[str]:
    """What the first page says of the chart, a line each."""
    source, shop = chart.source, chart.source.shop
    ways, several = "; ".join(machine_lines(shop, *chart.routes)), len(chart.routes) > 1
    lever = source.route.hand_with_one_stud == "either"
    unknown = "hand not known: the shop file does not say which hand the route cuts"
    hands = {"either": "either hand, set by the reversing lever" if lever else unknown}
    pairs = pairs_words((source.catalogue.pairs[0], source.catalogue.pairs[-1]))
    facts = [
        f"{shop.machine.kind}, {ways}; {hands.get(source.hands[0]) or 'hand: ' + ' and '.join(source.hands)}",
        f"gears: {gear_set(chart)}",
        f"all {spaced(source.catalogue.count)} trains of {pairs} checked{' by each route' * several}; "
        + judged_by(chart),
        *(note.text for note in costs(shop, chart.routes) if several),
        *chart.facts,
        *([meaning("sizes")] if chart.read_from else []),
        _SAFETY,
        f"made by: {command}" + (f", {date}" if date else ""),
    ]
    return [fact for fact in facts if fact]


def legend_of(chart: Chart) -> Iterator[str]:
    """What the columns mean, on every page."""
    machine, hands = chart.source.shop.machine, chart.source.hands
    if chart.kind == "every":
        yield f"mesh 1 is at {machine.first_shaft}; each mesh is written driver/driven, in power order"
    else:
        yield f"trains: driver/driven, mesh by mesh from {machine.first_shaft}; a gear in brackets is an idler"
    if chart.kind == "grid":
        behind = "; after a train: its route and lever" if len(chart.sources) > 1 else ""
        yield f"under the train: its lead, in {_UNITS[chart.source.shop.units]}{behind}"
        far = f"(25.04°): the lead is more than {decimals(100 * DOUBTFUL, 1)} % off, and gives this angle"
        yield f"{far}; -: no train within {_hopeless()} of the lead"
        return
    if chart.kind == "list":
        yield from _of_list(chart)
        return
    if len(hands) == 2:
        yield "idler R, idler L: none = that hand takes no idler, 72 in 1 = a 72 in mesh 1, - = does not mount"
        yield "blank = another row has the train for this hand"
    else:
        yield "idler: none = the train takes no idler, 72 in 1 = a 72 in mesh 1"
    if chart.source.judge.mode == "geometry":
        by_hand = "; R, L: for that hand" if len(hands) == 2 else ""
        unit = _UNITS[chart.source.shop.units]
        yield f"clear: tightest gap, in {unit}, between a gear and what it must clear{by_hand}"
    if machine.counts_threads:
        yield "tpi: threads per inch"


def _hopeless() -> str:
    return f"{decimals(100 * HOPELESS, 0)} %"


def _of_list(chart: Chart) -> Iterator[str]:
    machine, unit = chart.source.shop.machine, _UNITS[chart.source.shop.units]
    if any(column.name == "change" for column in chart.columns):
        yield "gears: PUT ON = change the gears; stay on = move the lever, or take the other route, and no gear"
    by_hand = "; error R, error L: for that hand; blank: for the other alone" if len(chart.source.hands) == 2 else ""
    yield f"error, in {unit}: lead of the train minus wanted lead{by_hand}; ok or OUT: inside or outside the tolerance"
    yield f"{OFF}, and no tolerance was given; -: no train comes within {_hopeless()}"
    if machine.counts_threads:
        yield "tpi: threads per inch, every start of the thread counted"
    if machine.dial:
        yield (
            "dial: where on the chasing dial the half nuts may close again, begun at mark 1; count 5: every 5th mark "
            "counted from where they opened; closed: never open them, reverse the lathe"
        )
