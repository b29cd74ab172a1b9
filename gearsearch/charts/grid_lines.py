"""The cells of a grid of diameters and angles as people read them: train, lead and angle, one under the other."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

from ..base.facts import Heading, Table
from ..base.units import UNIT_MM, decimals
from ..work.tolerance import DOUBTFUL
from .lead_cells import LEAD_DIGITS, number

if TYPE_CHECKING:
    from .making import Chart
    from .rows import LeadRows

LINES = ("train", "lead")  # of a diameter
Cells = dict[tuple[int, int], tuple[str, str]]  # by the numbers of diameter and angle


def grid_cells(chart: Chart, rows: LeadRows, hand: str, farthest: Fraction) -> Cells:
    """Train and lead of each cell for one hand, by the numbers of diameter and angle; the angle where it is off.

    A cell without a train whose lead is off by no more than ``farthest`` is left out.
    """
    more, angles, chosen = rows.more, len(chart.sides[1]), rows.hands[hand]
    cells: Cells = {}
    for row in sorted(range(len(rows)), key=lambda row: -int(more["rank"][row])):  # the nearest last, to stay
        lead, wanted = rows.lead(row), more["wanted"][row]
        if abs(lead - wanted) <= wanted * farthest and chosen.pairs[row] > 0 and rows.own[hand][row]:
            place = divmod(int(more["item"][row]), angles)
            given = decimals(more["given"][row], 3)
            told = _lead(chart, lead) + (f" ({given}°)" if abs(lead - wanted) > wanted * DOUBTFUL else "")
            way = f" {chart.routes[int(more['way'][row])].call}" if "way" in more else ""
            cells[place] = f"{chosen.train(chart.source.pool, row)}{way}", told
    return cells


def _lead(chart: Chart, lead_mm: Fraction) -> str:
    unit = chart.source.shop.units
    return number(lead_mm, unit, 0, LEAD_DIGITS[chart.source.shop.machine.counts_threads])


def grid_table(chart: Chart, cells: Cells, diameters: range, angles: range) -> Table:
    """Some diameters, two lines each, for some angles side by side."""
    unit = chart.source.shop.units
    named = [decimals(chart.sides[1][angle], 3).rstrip("0").rstrip(".") + "°" for angle in angles]
    headings = (Heading(f"diameter, {unit}", right=True), *map(Heading, named))
    rows = []
    for row in diameters:
        size = decimals(chart.sides[0][row] / UNIT_MM[unit], 3)
        for part in range(len(LINES)):
            told = (cells.get((row, angle), ("-", ""))[part] for angle in angles)
            rows.append((size if part == 0 else "", *told))
    return Table(headings, tuple(rows))
