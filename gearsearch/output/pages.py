"""Charts parted into pages of tables, which one writer for each kind of paper writes down."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from typing import TYPE_CHECKING

from ..base.facts import STAYS, Heading, Table
from ..charts.legend import heading_facts, title_of
from ..charts.lines import Cells, Line, cells_of, groups_of, table_of
from ..charts.rows import LeadRows
from ..work.tolerance import HOPELESS
from .grid_pages import grid_pages
from .paper import Page, PageWriter

if TYPE_CHECKING:
    from ..charts.making import Chart

LONGEST_GROUP = 12  # rows that no page parts
_TITLE = 94  # letters of a page's title
_NAMES = (24, 16, 8)  # letters that names are cut to, tried in turn
NO_TRAIN = Table((Heading("no train does this"),), ())


class ChartPages:
    """A chart being written as pages.

    Parameters
    ----------
    chart : what
    writer : a kind of paper
    command, date : for the heading; the date as the user gave it, or empty
    """

    def __init__(self, chart: Chart, writer: PageWriter, command: str, date: str) -> None:
        self._chart, self._writer = chart, writer
        self._title = title_of(chart)
        self._date = date
        self._facts = tuple(heading_facts(chart, command, date))
        self._page = 0
        self._waiting: list[Cells] = []
        self._held: list[Line] = []  # until it is known which lead comes after
        self._lead_above: Fraction | None = None
        self._grid: list[LeadRows] = []
        self._room = writer.rows_under(self._facts)

    def add(self, rows: LeadRows) -> None:
        """Take some more rows; whole pages are written at once."""
        if self._chart.kind == "grid":
            self._grid.append(rows)
            return
        for group in groups_of(self._chart, rows):
            self._place(group[0].lead_mm)
            self._held = group

    def close(self) -> None:
        """Write the last page."""
        try:
            self._finish()
        finally:
            self._writer.close()

    def _finish(self) -> None:
        self._place(None)
        if self._grid:
            self._write_grid()
        elif self._waiting:
            self._next_page([self._table(self._waiting)])
        elif not self._page:
            self._next_page([NO_TRAIN])

    def _place(self, lead_below: Fraction | None) -> None:
        """Put what was held on a page: a lead between two others, or an item of a list, which has only its own."""
        if not self._held:
            return
        beside = [] if self._chart.kind == "list" else [self._lead_above, lead_below]
        cells = cells_of(self._chart, self._held, [lead for lead in beside if lead is not None])
        for first in range(0, len(cells), LONGEST_GROUP):
            self._put(cells[first : first + LONGEST_GROUP])
        self._lead_above, self._held = self._held[-1].lead_mm, []

    def _put(self, group: list[Cells]) -> None:
        """Put rows on a page that takes them all; whole pages are written at once."""
        if not self._page and not self._waiting:
            self._begin(self._table(group))
        if self._waiting and len(self._waiting) + len(group) > self._room:
            self._next_page([self._table(self._waiting)])
            self._waiting = []
        self._waiting += group

    def _table(self, lines: list[Cells]) -> Table:
        """Lines as a table, with a column to pencil in where there is paper."""
        table = table_of(self._chart, lines)
        return table if self._writer.on_paper else table.without(len(table.headings) - 1)

    def _write_grid(self) -> None:
        rows = LeadRows.joined(self._grid)
        _, (first, *_) = next(grid_pages(self._chart, rows, self._writer, (len(rows), len(rows)), HOPELESS))
        self._begin(first)
        room = self._room, self._writer.rows
        for hand, page in grid_pages(self._chart, rows, self._writer, room, HOPELESS):
            self._next_page(page, "" if hand == "either" else f"{hand} hand")

    def _begin(self, table: Table) -> None:
        self._writer.begin(fitted(table, self._writer))
        self._room = self._writer.rows_under(self._facts)

    def _next_page(self, tables: list[Table], hand: str = "") -> None:
        self._page += 1
        laid_out = tuple(fitted(table, self._writer) for table in tables)
        told = {heading.short for heading in laid_out[0].headings}
        absent = "; ".join(heading.short for heading in tables[0].headings if heading.short not in told)
        page = self._page if self._writer.on_paper else None
        title = page_title(self._title, self._date, page, hand, absent)
        group = 5 if self._chart.kind == "every" else 0
        self._writer.write(Page(title, () if self._page > 1 else self._facts, laid_out, group))
        self._room = self._writer.rows


def page_title(title: str, date: str, page: int | None, hand: str = "", absent: str = "") -> str:
    """The heading of a page: its hand where it has one, the title as far as there is room, date, page, absent.

    None for the page of a screen, which has no number and room for every title.
    """
    line = (f"{hand.upper()}, " if hand else "") + title
    if page is None:
        return line + (f" (no room: {absent})" if absent else "")
    last = (f"{date}, " if date else "") + f"page {page}" + (f" (no room: {absent})" if absent else "")
    most = _TITLE - len(last)
    return f"{line}, {last}" if len(line) <= most else f"{line[:most]}… {last}"


def fitted(table: Table, writer: PageWriter) -> Table:
    """A table no broader than the page: columns of the least weight are left out, and names are cut.

    Names keep 24 letters where the columns that stay leave room for them; columns of one weight go together.
    """
    for least in _NAMES:
        named = _with_names_cut(table, least)
        sizes = writer.shown(named).sizes
        kept = _heaviest(table.headings, sizes, writer)
        spare = writer.width - _broad(sizes, kept, writer)
        if spare >= 0:
            break
    if named is not table and spare > 0:
        whole = _with_names_cut(table, least + spare)
        if _broad(writer.shown(whole).sizes, kept, writer) <= writer.width:
            named = whole
    return named.part(kept)


def _broad(sizes: list[int], places: list[int], writer: PageWriter) -> int:
    """How broad some columns are on a kind of paper, in letters."""
    return sum(sizes[place] for place in places) + writer.gap * (len(places) - 1) + writer.around


def _heaviest(headings: tuple[Heading, ...], sizes: list[int], writer: PageWriter) -> list[int]:
    """The places of the columns that stay, and of the others the heaviest for which there is room."""
    kept = [place for place, heading in enumerate(headings) if heading.weight >= STAYS]
    for weight in range(STAYS - 1, -1, -1):
        more = sorted([*kept, *(place for place, heading in enumerate(headings) if heading.weight == weight)])
        if _broad(sizes, more, writer) <= writer.width:
            kept = more
    return kept


def _with_names_cut(table: Table, most: int) -> Table:
    """Names of so many letters at most."""
    if table.headings[0].short != "name" or all(len(row[0]) <= most for row in table.rows):
        return table
    rows = tuple((row[0] if len(row[0]) <= most else row[0][: most - 1] + "…", *row[1:]) for row in table.rows)
    return replace(table, rows=rows)
