"""Charts as pages to print: the type as large as the paper allows, ruled to be read along a row from a metre away."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from ...base.facts import Table
from ..paper import Page, Paper
from ..tables import tabulated
from . import papers
from .flow import LINE, broken
from .papers import POINT_MM, measure

if TYPE_CHECKING:
    from matplotlib.axes import Axes

_LARGEST = 16.0  # type of a table [points]
_TITLE, _SAID = 15.0, 9.0
_LETTER = 0.602  # width of a letter of the even-spaced type for its size
_NARROW, _BROAD = 100, 120  # letters of a table
_ROW, _OPEN = 1.22, 2.6  # height of a row for that of a line: where there are many, and at the most
_LIGHT, _HEAVY, _BETWEEN = 0.3, 1.1, 2.0  # points
_APART_MM = 2.0
_STRIP, _BETWEEN_MM = 10.0, 6.0  # smallest type of strips side by side [points], and from one to the next
_MOST_STRIPS = 6
_FILLED = 0.75  # of the width, from which a table needs no strip beside it


class PrintedPages:
    """Pages being written as a PDF; the same bytes for the same pages.

    Parameters
    ----------
    target : file
    paper : how they are laid out
    title : of the file
    in_strips : whether a long narrow table stands in several strips, to be read down, then across
    """

    gap, around, on_paper = 3, 4, True  # as in Markdown, so that both have the same columns

    def __init__(self, target: Path, paper: Paper, title: str = "", *, in_strips: bool = False) -> None:
        from matplotlib.backends.backend_pdf import PdfPages

        self.width = _BROAD if paper.landscape else _NARROW
        self._paper, self._in_strips = paper, in_strips
        self._pages: Any = PdfPages(target, metadata={**papers.NO_DATES[".pdf"], "Title": title})

    def shown(self, table: Table) -> Table:
        """The cells as they are."""
        return table

    def rows_beside(self, shape: Table, facts: tuple[str, ...], legend: tuple[str, ...]) -> int:
        """As many as the type can be large, where the user has not said how many."""
        wide, _ = self._room_mm()
        strips = self._strips(shape, wide)
        return self._paper.rows or max(5, strips * self._rows(shape, strips, self._table_mm(facts, legend)))

    def _strips(self, shape: Table, wide: float) -> int:
        """How many strips of a table stand side by side: as few as fill the width, in type that is large enough."""
        strips = 1
        while self._in_strips and self._size(shape, wide, strips + 1) >= _STRIP:
            broad = _letters(shape) * self._size(shape, wide, strips) * _LETTER * POINT_MM
            if strips * broad + (strips - 1) * _BETWEEN_MM >= _FILLED * wide:
                break
            strips += 1
        return strips

    def _rows(self, shape: Table, strips: int, high: float) -> int:
        """How many rows a strip has room for under its head."""
        return int(high / (self._size(shape, self._room_mm()[0], strips) * LINE * _ROW * POINT_MM)) - 1

    def _size(self, shape: Table, wide: float, strips: int = 1) -> float:
        """The largest type in which so many strips of a table have room from side to side [points]."""
        each = (wide - (strips - 1) * _BETWEEN_MM) / strips
        return min(_LARGEST, each / (_letters(shape) * _LETTER * POINT_MM))

    def _table_mm(self, facts: tuple[str, ...], legend: tuple[str, ...]) -> float:
        """How high the tables of a page may be [mm], under its title and what is said and above what columns mean."""
        wide, high = self._room_mm()
        said = sum(len(list(_lines(told, wide))) * _said_mm() + _APART_MM for told in (facts, legend) if told)
        return high - _title_mm() - said

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
        _say_title(axes, page, (left, bottom + high), wide)
        top = _say(axes, page.facts, bottom + high - _title_mm(), wide)
        _say(axes, page.legend, bottom + len(list(_lines(page.legend, wide))) * _said_mm(), wide)
        tables = [self._cut(table, self._table_mm(page.facts, page.legend)) for table in page.tables]
        rows = sum(max(len(strip) for strip in table) + 1 for table in tables) + (len(page.tables) - 1)
        room = self._table_mm(page.facts, page.legend) / max(rows, 1)
        sizes = [self._size(table, wide, len(cut)) for table, cut in zip(page.tables, tables, strict=True)]
        size = min(*sizes, room / (LINE * _ROW * POINT_MM))
        step = min(room, size * LINE * _OPEN * POINT_MM)
        for table, cut in zip(page.tables, tables, strict=True):
            top = _draw_strips(axes, table, cut, (left, top), (size, step), page.group) - step
        self._pages.savefig(figure)

    def _cut(self, table: Table, high: float) -> list[range]:
        """Which rows of a table stand in each strip: in those in which the type is largest, cut between two leads."""
        count, wide = len(table.rows), self._room_mm()[0]

        def size(strips: int) -> float:
            least = high / ((-(-count // strips) + 1) * LINE * _ROW * POINT_MM)
            return min(self._size(table, wide, strips), least)

        strips = max(range(1, _MOST_STRIPS + 1), key=size) if self._in_strips else 1
        begins = [row for row in range(1, count) if table.rows[row][0] not in ("", table.rows[row - 1][0])]
        even = [-(-count * strip // strips) for strip in range(1, strips)]
        cuts = sorted({min(begins, key=lambda row: abs(row - place)) for place in even}) if begins else []
        return list(map(range, [0, *cuts], [*cuts, count]))

    def close(self) -> None:
        """Make the file whole."""
        self._pages.close()


def _title_mm() -> float:
    return 1.6 * _TITLE * POINT_MM


def _said_mm() -> float:
    return _SAID * LINE * POINT_MM


def _lines(said: tuple[str, ...], wide: float) -> Iterator[str]:
    """What is said, in lines that have room."""
    for one in said:
        yield from broken([one], wide, _SAID, hanging="    ")


def _say_title(axes: Axes, page: Page, corner: tuple[float, float], wide: float) -> None:
    """The title, and at the right which page it is."""
    width, (left, top) = measure(), corner
    number = width(page.told, _SAID + 2, True)
    size = min(_TITLE, _TITLE * (wide - number - 4) / width(page.title, _TITLE, True))
    axes.text(left, top, page.title, fontsize=size, weight="bold", va="top")
    axes.text(left + wide, top, page.told, fontsize=_SAID + 2, weight="bold", va="top", ha="right")


def _say(axes: Axes, said: tuple[str, ...], top: float, wide: float) -> float:
    """Print lines downward from so high [mm]; return where what follows begins."""
    for line in _lines(said, wide):
        axes.text(papers.MARGIN_MM, top, line, fontsize=_SAID, va="top")
        top -= _said_mm()
    return top - _APART_MM * bool(said)


def _letters(table: Table) -> int:
    """How wide a table is, in letters."""
    return sum(size + 2 for size in table.sizes)


def _draw_strips(
    axes: Axes, table: Table, strips: list[range], corner: tuple[float, float], room: tuple[float, float], group: int
) -> float:
    """Draw the strips of a table side by side, a heavy line between; return where the longest ends."""
    (left, top), bottoms = corner, list[float]()
    for strip in strips:
        if strip.start:
            axes.plot([left - _BETWEEN_MM / 2] * 2, [top, min(bottoms)], color="black", linewidth=_BETWEEN)
        bottoms.append(_draw_table(axes, table, strip, (left, top), room, group))
        left += _letters(table) * room[0] * _LETTER * POINT_MM + _BETWEEN_MM
    return min(bottoms)


def _draw_table(
    axes: Axes, table: Table, strip: range, corner: tuple[float, float], room: tuple[float, float], group: int
) -> float:
    """Draw some rows of a table under its head from an upper left corner [mm]; return where it ends.

    Parameters
    ----------
    room : size of the type [points], and height of a row [mm]
    group : entries from one heavy line to the next; rows that go on with the one above have no line between
    """
    (size, high), (left, top) = room, corner
    letter, edges = size * _LETTER * POINT_MM, list(_edges(table.sizes))
    _, head, lines = tabulated(table, "simple")
    for number, line in enumerate([head, *lines[strip.start : strip.stop]]):
        style: dict[str, Any] = {"fontsize": size, "family": "monospace", "weight": "normal" if number else "bold"}
        axes.text(left + letter, top - (number + 0.5) * high, line, va="center_baseline", **style)
    right, bottom = left + edges[-1] * letter, top - (len(strip) + 1) * high
    for y, heavy in _rules(replace(table, rows=table.rows[strip.start : strip.stop]), group):
        axes.plot([left, right], [top - y * high] * 2, color="black", linewidth=_HEAVY if heavy else _LIGHT)
    for x in edges:
        axes.plot([left + x * letter] * 2, [top, bottom], color="black", linewidth=_LIGHT)
    return bottom


def _rules(table: Table, group: int) -> Iterator[tuple[int, bool]]:
    """Under how many rows lines go across, the head counted, and whether each is heavy."""
    yield 0, True
    entries = 0
    for number, row in enumerate(table.rows, 1):
        goes_on = number > 1 and (not row[0] or sum(map(bool, row)) == 1)
        if not goes_on:
            yield number, entries % group == 0
            entries += 1
    yield len(table.rows) + 1, True


def _edges(sizes: list[int]) -> Iterator[float]:
    """Where the columns begin and end, in letters."""
    at = 0
    yield at
    for size in sizes:
        at += size + 2
        yield at
