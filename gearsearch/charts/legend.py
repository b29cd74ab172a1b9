"""What a chart says of itself to people: its title, the facts of its first page, what its columns mean."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ..base.units import decimals, spaced
from ..search.routes import costs
from ..search.solutions import pairs_words
from ..shop.overview import machine_lines
from ..work.tolerance import DOUBTFUL, HOPELESS
from .columns import gear_set

if TYPE_CHECKING:
    from .making import Chart

DEMO = " (demo shop)"
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


def title_of(chart: Chart) -> str:
    """Whose chart it is, and what it holds."""
    shop = chart.source.shop
    return f"{shop.name}{DEMO * shop.is_demo}: {chart.title}"


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
        *_legend(chart),
        _SAFETY,
        f"made by: {command}" + (f", {date}" if date else ""),
    ]
    return [fact for fact in facts if fact]


def _legend(chart: Chart) -> Iterator[str]:
    yield f"mesh 1 is at {chart.source.shop.machine.first_shaft}; each mesh is written driver/driven, in power order"
    if chart.kind == "grid":
        hands = "; each hand has pages of its own" if len(chart.source.hands) == 2 else ""
        off = f"OFF = more than {decimals(100 * DOUBTFUL, 1)} % off"
        behind = "; after a train: its route and lever" if len(chart.sources) > 1 else ""
        none = f"- = no train within {decimals(100 * HOPELESS, 0)} % of the lead"
        yield f"a gear in brackets is an idler; {off}; {none}{hands}{behind}"
        return
    if chart.source.hands != ("either",):
        yield "idler R, idler L: none = that hand takes no idler, 72 in 1 = a 72 in mesh 1, - = does not mount"
    if len(chart.source.hands) == 2:
        yield "blank = another row has the train for this hand"
    if chart.source.judge.mode == "geometry":
        by_hand = "; R, L: for that hand" if len(chart.source.hands) == 2 else ""
        yield f"clear: tightest gap, in {chart.source.shop.units}, between a gear and what it must clear{by_hand}"
    if chart.kind == "list":
        share = decimals(100 * DOUBTFUL, 1)
        if any(column.name == "change" for column in chart.columns):
            yield "gears: PUT ON = change the gears; stay on = move the lever, or take the other route, and no gear"
        yield "error: lead minus wanted lead; ok or OUT: inside or outside the tolerance"
        yield f"OFF: no tolerance was given, and the lead is more than {share} % off"
        if chart.source.shop.machine.counts_threads:
            yield "tpi: threads per inch, every start of the thread counted"
        if chart.source.shop.machine.dial:
            yield (
                "dial: where on the chasing dial the half nuts may close again, begun at mark 1; count 5: every 5th "
                "mark counted from where they opened; closed: never open them, reverse the lathe"
            )
