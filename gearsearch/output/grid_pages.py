"""The pages of a grid: as many angles side by side as fit, three lines for each diameter."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from typing import TYPE_CHECKING

from ..base.units import INCH_MM, decimals
from ..charts.lead_cells import LEAD_DIGITS, number
from ..charts.rows import LeadRows
from ..work.tolerance import DOUBTFUL

if TYPE_CHECKING:
    from ..charts.making import Chart

_LINES = 3  # of a diameter
_HEADING = 2  # what a further table on a page takes, in rows
_BORDER = 3  # columns of text between two cells
Cell = tuple[str, str, str]
Cells = dict[tuple[int, int], Cell]
Table = list[dict[str, str]]


def grid_pages(
    chart: Chart, rows: LeadRows, width: int, room: tuple[int, int], farthest: Fraction
) -> Iterator[tuple[str, list[Table]]]:
    """The hand of each page and its tables: one hand after the other, a page never has both.

    Parameters
    ----------
    chart, rows : the grid
    width : columns of text
    room : rows of a table on the first page, and on a further one
    farthest : no cell is filled with a lead farther off than this share of the wanted one
    """
    first, further = room
    for hand in rows.hands:
        for page in _pages_of(chart, _cells(chart, rows, hand, farthest), width, first, further):
            yield hand, page
        first = further


def _pages_of(chart: Chart, cells: Cells, width: int, left: int, further: int) -> Iterator[list[Table]]:
    """All diameters for the first angles, then for the next ones; as many such tables on a page as it has room for."""
    count, page = len(chart.sides[0]), list[Table]()
    for columns in _columns(chart, cells, width):
        down = 0
        while down < count:
            fit = (left - _HEADING * bool(page)) // _LINES
            if page and fit < count - down:
                yield page
                page, left = [], further
                continue
            here = range(down, min(count, down + max(1, fit)))
            page.append([line for row in here for line in _lines(chart, cells, row, columns)])
            left -= _LINES * len(here) + _HEADING
            down = here.stop
    yield page


def _columns(chart: Chart, cells: Cells, width: int) -> Iterator[range]:
    """Which angles stand side by side: as many as there is room for, evenly parted."""
    angles = len(chart.sides[1])
    wide = max((len(line) for cell in cells.values() for line in cell), default=8)
    taken = len(f"diameter, {chart.source.shop.units}") + len("angle") + 2 * _BORDER + 1
    most = max(1, (width - taken) // (wide + _BORDER))
    parts = -(-angles // most)
    edges = [angles * part // parts for part in range(parts + 1)]
    yield from map(range, edges, edges[1:])


def _cells(chart: Chart, rows: LeadRows, hand: str, farthest: Fraction) -> Cells:
    """Train, lead and angle of each cell for one hand, by the numbers of its diameter and its angle.

    A cell without a train whose lead is off by no more than ``farthest`` is left out.
    """
    more, angles, chosen = rows.more, len(chart.sides[1]), rows.hands[hand]
    cells: Cells = {}
    for row in sorted(range(len(rows)), key=lambda row: -int(more["rank"][row])):  # the nearest last, to stay
        lead, wanted = rows.lead(row), more["wanted"][row]
        if abs(lead - wanted) <= wanted * farthest and chosen.pairs[row] > 0 and rows.own[hand][row]:
            place = divmod(int(more["item"][row]), angles)
            doubtful = " OFF" if abs(lead - wanted) > wanted * DOUBTFUL else ""
            told = _lead(chart, lead) + doubtful, decimals(more["given"][row], 3) + "°"
            cells[place] = str(chosen.train(chart.source.pool, row)), *told
    return cells


def _lead(chart: Chart, lead_mm: Fraction) -> str:
    unit = chart.source.shop.units
    return f"{number(lead_mm, unit, 0, LEAD_DIGITS[chart.source.shop.machine.counts_threads])} {unit}"


def _lines(chart: Chart, cells: Cells, row: int, columns: range) -> Iterator[dict[str, str]]:
    unit = chart.source.shop.units
    diameter = chart.sides[0][row] / (INCH_MM if unit == "in" else 1)
    for part, label in enumerate(("train", "lead", "angle")):
        line = {f"diameter, {unit}": decimals(diameter, 3) if part == 0 else "", "angle": label}
        for column in columns:
            heading = decimals(chart.sides[1][column], 3).rstrip("0").rstrip(".") + "°"
            line[heading] = cells.get((row, column), ("-", "", ""))[part]
        yield line
