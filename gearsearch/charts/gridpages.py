"""The pages of a grid: as many angles side by side as fit, three lines for each diameter."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from typing import TYPE_CHECKING

from ..units import INCH_MM, decimals, format_length
from .rows import Rows, train_of

if TYPE_CHECKING:
    from . import Chart

_BORDER = 3  # columns of text between two cells
Cell = tuple[str, str, str]
Page = list[dict[str, str]]


def grid_pages(chart: Chart, rows: Rows, width: int, page_rows: int, first_rows: int) -> Iterator[tuple[str, Page]]:
    """The hand of each page and the rows of its table: one hand after the other, a page never has both.

    Parameters
    ----------
    chart, rows : the grid
    width : columns of text
    page_rows, first_rows : rows of the table on a page, and on the first page
    """
    room = first_rows
    for hand in rows.leads.hands:
        for page in _pages_of(chart, _cells(chart, rows, hand), width, room, page_rows):
            yield hand, page
        room = page_rows


def _pages_of(chart: Chart, cells: dict[tuple[int, int], Cell], width: int, first: int, further: int) -> Iterator[Page]:
    """All diameters for the first angles, then for the next ones."""
    diameters, angles = chart.sides
    unit = chart.survey.shop.units
    wide = max((len(line) for cell in cells.values() for line in cell), default=8)
    side = f"diameter {unit}"
    taken = len(side) + len("angle") + 2 * _BORDER + 1
    count = max(1, (width - taken) // (wide + _BORDER))
    room = max(1, first // 3)
    for across in range(0, len(angles), count):
        down = 0
        while down < len(diameters):
            yield [
                line
                for row in range(down, min(down + room, len(diameters)))
                for line in _lines(chart, cells, row, range(across, min(across + count, len(angles))))
            ]
            down, room = down + room, max(1, further // 3)


def _cells(chart: Chart, rows: Rows, hand: str) -> dict[tuple[int, int], Cell]:
    """Train, lead and angle of each cell for one hand, by the numbers of its diameter and its angle."""
    diameters = {float(size): number for number, size in enumerate(chart.sides[0])}
    angles = {float(size): number for number, size in enumerate(chart.sides[1])}
    asked, given = chart.columns[1].name, chart.columns[2].name
    chosen, cells = rows.leads.hands[hand], {}
    for row in sorted(range(len(rows)), key=lambda row: -int(rows.more["rank"][row])):  # the nearest last, to stay
        if chosen.pairs[row] > 0 and rows.own[hand][row]:
            place = diameters[rows.more["diameter_mm"][row]], angles[rows.more[asked][row]]
            lead = format_length(rows.leads.lead(row), chart.survey.shop.units)
            angle = decimals(Fraction(float(rows.more[given][row])), 3) + "°"
            cells[place] = str(train_of(chart.survey.box, chosen, row)), lead, angle
    return cells


def _lines(chart: Chart, cells: dict[tuple[int, int], Cell], row: int, columns: range) -> Iterator[dict[str, str]]:
    unit = chart.survey.shop.units
    diameter = chart.sides[0][row] / (INCH_MM if unit == "in" else 1)
    for part, label in enumerate(("train", "lead", "angle")):
        line = {f"diameter {unit}": decimals(diameter, 3) if part == 0 else "", "angle": label}
        for column in columns:
            heading = decimals(chart.sides[1][column], 3).rstrip("0").rstrip(".") + "°"
            line[heading] = cells.get((row, column), ("-", "", ""))[part]
        yield line
