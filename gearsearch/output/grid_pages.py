"""The pages of a grid: as many angles side by side as fit, as many diameters one under the other."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from typing import TYPE_CHECKING

from ..base.facts import Table
from ..charts.lines import GRID_LINES, GridCells, grid_cells, grid_table

if TYPE_CHECKING:
    from ..charts.making import Chart
    from ..charts.rows import LeadRows
    from .paper import PageWriter

_HEADING = 2  # what a further table on a page takes, in rows
_SIDES = 1  # columns before the angles


def grid_pages(
    chart: Chart, rows: LeadRows, writer: PageWriter, room: tuple[int, int], farthest: Fraction
) -> Iterator[tuple[str, list[Table]]]:
    """The hand of each page and its tables: one hand after the other, a page never has both.

    Parameters
    ----------
    chart, rows : the grid
    writer : the kind of paper
    room : rows of a table on the first page, and on a further one
    farthest : no cell is filled with a lead farther off than this share of the wanted one
    """
    first, further = room
    for hand in rows.hands:
        for page in _pages_of(chart, grid_cells(chart, rows, hand, farthest), writer, first, further):
            yield hand, page
        first = further


def _pages_of(chart: Chart, cells: GridCells, writer: PageWriter, left: int, further: int) -> Iterator[list[Table]]:
    """All diameters for the first angles, then for the next ones; as many such tables on a page as it has room for."""
    count, page = len(chart.sides[0]), list[Table]()
    for angles in _side_by_side(chart, cells, writer):
        down = 0
        while down < count:
            fit = (left - _HEADING * bool(page)) // len(GRID_LINES)
            if page and fit < count - down:
                yield page
                page, left = [], further
                continue
            here = range(down, min(count, down + _even(count - down, max(1, fit), max(1, further // len(GRID_LINES)))))
            page.append(grid_table(chart, cells, here, angles))
            left -= len(GRID_LINES) * len(here) + _HEADING
            down = here.stop
    yield page


def _even(rest: int, here: int, further: int) -> int:
    """How many of the diameters that are left stand on this page, so that no further page is much emptier.

    Parameters
    ----------
    rest : how many are left
    here, further : for how many there is room, and on each further page
    """
    if rest <= here:
        return rest
    pages = -(-(rest - here) // further)
    return min(here, -(-rest * here // (here + pages * further)))


def _side_by_side(chart: Chart, cells: GridCells, writer: PageWriter) -> Iterator[range]:
    """Which angles stand side by side: as many as there is room for, evenly parted."""
    diameters, angles = (range(len(side)) for side in chart.sides)
    sizes = writer.shown(grid_table(chart, cells, diameters, angles)).sizes
    taken = sum(sizes[:_SIDES]) + writer.around + writer.gap * (_SIDES - 1)
    most = max(1, (writer.width - taken) // (max(sizes[_SIDES:]) + writer.gap))
    parts = -(-len(angles) // most)
    edges = [len(angles) * part // parts for part in range(parts + 1)]
    yield from map(range, edges, edges[1:])
