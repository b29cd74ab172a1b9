"""The pages of a grid: as many angles side by side as fit, three lines for each diameter."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from typing import TYPE_CHECKING

from ..units import INCH_MM, decimals, format_length
from .rows import Rows, train_of

if TYPE_CHECKING:
    from . import Chart

_WIDTH = 100
_BORDER = 3  # columns of text between two cells
Cell = tuple[str, str, str]


def grid_pages(chart: Chart, rows: Rows, page_rows: int, first_rows: int) -> Iterator[list[dict[str, str]]]:
    """The rows of the table of each page: all diameters for the first angles, then for the next ones.

    Parameters
    ----------
    chart, rows : the grid
    page_rows, first_rows : rows of the table on a page, and on the first page
    """
    cells = _cells(chart, rows)
    diameters, angles = chart.sides
    unit = chart.survey.shop.units
    wide = max((len(line) for cell in cells.values() for line in cell), default=8)
    side = f"diameter {unit}"
    taken = len(side) + len("angle") + 2 * _BORDER + 1
    count = max(1, (_WIDTH - taken) // (wide + _BORDER))
    room = max(1, first_rows // 3)
    for across in range(0, len(angles), count):
        down = 0
        while down < len(diameters):
            yield [
                line
                for row in range(down, min(down + room, len(diameters)))
                for line in _lines(chart, cells, row, range(across, min(across + count, len(angles))))
            ]
            down, room = down + room, max(1, page_rows // 3)


def _cells(chart: Chart, rows: Rows) -> dict[tuple[int, int], Cell]:
    """Train, lead and angle of each cell, by the numbers of its diameter and its angle."""
    diameters = {float(size): number for number, size in enumerate(chart.sides[0])}
    angles = {float(size): number for number, size in enumerate(chart.sides[1])}
    asked, given = chart.columns[1].name, chart.columns[2].name
    cells: dict[tuple[int, int], tuple[tuple[int, int], Cell]] = {}
    for row in range(len(rows)):
        place = diameters[rows.more["diameter_mm"][row]], angles[rows.more[asked][row]]
        idlers, train = _train(chart, rows, row)
        lead = format_length(rows.leads.lead(row), chart.survey.shop.units)
        angle = decimals(Fraction(float(rows.more[given][row])), 3) + "°"
        order = int(rows.more["rank"][row]), idlers
        if place not in cells or order < cells[place][0]:
            cells[place] = order, (train, lead, angle)
    return {place: cell for place, (_, cell) in cells.items()}


def _train(chart: Chart, rows: Rows, row: int) -> tuple[int, str]:
    """The train of the hand that takes fewer idlers, with the first letter of that hand where both were asked for."""
    found = []
    for hand, chosen in rows.leads.hands.items():
        if chosen.pairs[row] > 0 and rows.own[hand][row]:
            train = train_of(chart.survey.box, chosen, row)
            letter = f" {hand[0].upper()}" if len(rows.leads.hands) == 2 else ""
            found.append((len(train.idlers), f"{train}{letter}"))
    return min(found, key=lambda train: train[0])


def _lines(chart: Chart, cells: dict[tuple[int, int], Cell], row: int, columns: range) -> Iterator[dict[str, str]]:
    unit = chart.survey.shop.units
    diameter = chart.sides[0][row] / (INCH_MM if unit == "in" else 1)
    for part, label in enumerate(("train", "lead", "angle")):
        line = {f"diameter {unit}": decimals(diameter, 3) if part == 0 else "", "angle": label}
        for column in columns:
            heading = decimals(chart.sides[1][column], 3).rstrip("0").rstrip(".") + "°"
            line[heading] = cells.get((row, column), ("-", "", ""))[part]
        yield line
