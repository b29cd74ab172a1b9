"""Charts as pages to print: the type as large as the paper allows, ruled to be read along a row."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator
from dataclasses import replace
from math import ceil
from pathlib import Path
from typing import TYPE_CHECKING, Any

from ...base.facts import Table
from ..paper import Page, Paper
from ..tables import tabulated
from . import papers
from .flow import LINE
from .papers import POINT_MM, measure

if TYPE_CHECKING:
    from matplotlib.axes import Axes

_LARGEST = 13.0  # type [points]
_TITLE, _SAID = 11.0, 8.0
_LETTER = 0.602  # width of a letter of the even-spaced type for its size
_SAID_LETTERS = 110  # of what is said of the chart, on a line as wide as a narrow page
_NARROW, _BROAD = 100, 120  # letters of a table
_ROW = 1.28  # height of a row for that of a line
_LIGHT, _HEAVY = 0.3, 1.1  # points


class PrintedPages:
    """Pages being written as a PDF; the same bytes for the same pages.

    Parameters
    ----------
    target : file
    paper : how they are laid out
    """

    gap, around, on_paper = 3, 4, True  # as in Markdown, so that both have the same columns

    def __init__(self, target: Path, paper: Paper) -> None:
        from matplotlib.backends.backend_pdf import PdfPages

        self.width = _BROAD if paper.landscape else _NARROW
        self._paper = paper
        self._width = measure()
        self._pages: Any = PdfPages(target, metadata=papers.NO_DATES[".pdf"])

    @property
    def rows(self) -> int:
        """Rows of the table on a page."""
        return self._paper.table_rows

    def shown(self, table: Table) -> Table:
        """The cells as they are."""
        return table

    def begin(self, table: Table) -> None:
        """Put as many rows on a page as the type can be large, where the user has not said how many."""
        if self._paper.rows is None:
            room, high = self._room_mm()
            size = min(_LARGEST, room / (_letters(table) * _LETTER * POINT_MM))
            self._paper = replace(self._paper, rows=min(self.rows, int(high / (size * LINE * _ROW * POINT_MM)) - 3))

    def rows_under(self, facts: tuple[str, ...]) -> int:
        """Rows of the table on the first page, under what is said of the chart, which is set smaller."""
        room, high = self._room_mm()
        said = sum(len(lines) for lines in _wrapped(facts, room)) * _SAID * LINE * POINT_MM + 2
        return max(5, self.rows - ceil(said * (self.rows + 3) / high))

    def _room_mm(self) -> tuple[float, float]:
        """Width and height between the margins."""
        sides = papers.size_mm(self._paper.size)
        wide, high = reversed(sides) if self._paper.landscape else sides
        return wide - 2 * papers.MARGIN_MM, high - 2 * papers.MARGIN_MM

    def write(self, page: Page) -> None:
        """Write a page."""
        wide, high = self._room_mm()
        left = bottom = papers.MARGIN_MM
        figure, axes = papers.blank(wide + 2 * left, high + 2 * bottom)
        size = _TITLE * min(1.0, wide / self._width(page.title, _TITLE, True))
        axes.text(left, bottom + high, page.title, fontsize=size, weight="bold", va="top")
        top = _say(axes, page.facts, bottom + high - 1.6 * _TITLE * POINT_MM, wide)
        room = wide, high / (self.rows + 3)
        for table in page.tables:
            top = _draw_table(axes, table, (left, top), room, page.group) - room[1]
        self._pages.savefig(figure)

    def close(self) -> None:
        """Make the file whole."""
        self._pages.close()


def _say(axes: Axes, facts: tuple[str, ...], top: float, wide: float) -> float:
    """Print what is said of the chart; return where the table begins [mm]."""
    for lines in _wrapped(facts, wide):
        for number, line in enumerate(lines):
            axes.text(papers.MARGIN_MM + 2 * bool(number), top, line, fontsize=_SAID, va="top")
            top -= _SAID * LINE * POINT_MM
    return top - 2 * bool(facts)


def _wrapped(facts: tuple[str, ...], wide: float) -> Iterator[list[str]]:
    """The lines that what is said of the chart takes."""
    for fact in facts:
        yield textwrap.wrap(fact, round(_SAID_LETTERS * wide / 186), break_long_words=True)


def _letters(table: Table) -> int:
    """How wide a table is, in letters."""
    return sum(size + 2 for size in table.sizes)


def _draw_table(axes: Axes, table: Table, corner: tuple[float, float], room: tuple[float, float], group: int) -> float:
    """Draw a table from its upper left corner [mm] in the largest type that there is room for; return where it ends.

    Parameters
    ----------
    room : width of the table, and height of a row at the most [mm]
    group : rows from one heavy line to the next; 0 for one above each row whose first cell is filled
    """
    rows, letters = table.rows, _letters(table)
    size = min(_LARGEST, room[0] / (letters * _LETTER * POINT_MM), room[1] / (LINE * _ROW * POINT_MM))
    letter, high, (left, top) = size * _LETTER * POINT_MM, size * LINE * _ROW * POINT_MM, corner
    _, head, lines = tabulated(table, "simple")
    for number, line in enumerate([head, *lines]):
        weight = "bold" if number == 0 else "normal"
        axes.text(
            *(left + letter, top - (number + 0.5) * high),
            line,
            fontsize=size,
            family="monospace",
            weight=weight,
            va="center_baseline",
        )
    right, bottom = left + letters * letter, top - (len(rows) + 1) * high
    for number in range(len(rows) + 2):
        is_heavy = number <= 1 or (
            (number - 1) % group == 0 if group else number == len(rows) + 1 or rows[number - 1][0]
        )
        y = top - number * high
        axes.plot([left, right], [y, y], color="black", linewidth=_HEAVY if is_heavy else _LIGHT)
    for x in _edges(table.sizes):
        axes.plot([left + x * letter] * 2, [top, bottom], color="black", linewidth=_LIGHT)
    return bottom


def _edges(sizes: list[int]) -> Iterator[float]:
    """Where the columns begin and end, in letters."""
    at = 0
    yield at
    for size in sizes:
        at += size + 2
        yield at
