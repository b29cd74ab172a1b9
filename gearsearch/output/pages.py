"""Charts parted into pages of tables, which one writer for each kind of paper writes down."""

from __future__ import annotations

import re
from dataclasses import replace
from fractions import Fraction
from math import ceil
from pickle import dump, load
from tempfile import SpooledTemporaryFile
from typing import TYPE_CHECKING

from ..base.facts import STAYS, Heading, Table
from ..charts.legend import heading_facts, legend_of, shop_of
from ..charts.lines import NAMES, Cells, Line, cells_of, groups_of, table_of
from ..charts.rows import LeadRows
from ..work.tolerance import HOPELESS
from .grid_pages import grid_pages
from .paper import Page, PageWriter
from .tables import aligned

if TYPE_CHECKING:
    from ..charts.making import Chart

LONGEST_GROUP = 12  # rows that no page parts
_NAMES = (24, 16, 8)  # letters that names are cut to, tried in turn
_HELD_BYTES = 8_000_000  # of waiting rows in memory
NO_TRAIN = Table((Heading("no train does this"),), ())


class ChartPages:
    """A chart being written as pages.

    Parameters
    ----------
    chart : what
    writer : a kind of paper
    command, date : for the heading; the date as the user gave it, or empty

    Paper is written when all rows are there, for every page says how many there are: they wait on the disk.
    """

    def __init__(self, chart: Chart, writer: PageWriter, command: str, date: str) -> None:
        self._chart, self._writer = chart, writer
        self._facts = tuple(heading_facts(chart, command, date))
        self._legend = tuple(legend_of(chart))
        self._waiting = SpooledTemporaryFile(max_size=_HELD_BYTES)  # noqa: SIM115  # closed in close
        self._groups: list[int] = []  # rows of each that waits
        self._shape: Table | None = None
        self._held: list[Line] = []  # until it is known which lead comes after
        self._lead_above: Fraction | None = None
        self._rows: list[LeadRows] = []

    def add(self, rows: LeadRows) -> None:
        """Take some more rows; on a screen they are written at once."""
        if self._chart.kind != "every":
            self._rows.append(rows)
            return
        for group in groups_of(self._chart, rows):
            self._place(group[0].lead_mm)
            self._held = group

    def close(self) -> None:
        """Write what waits."""
        try:
            self._finish()
        finally:
            self._waiting.close()
            self._writer.close()

    def _finish(self) -> None:
        self._place(None)
        if self._rows and self._chart.kind == "grid":
            self._write_grid(LeadRows.joined(self._rows))
            return
        if self._rows:
            rows = LeadRows.joined(self._rows)
            groups = self._groups_of(rows, NAMES)
            whole = self._writer.shown(self._table([line for group in groups for line in group]))
            room = fitted(whole, self._writer).sizes[0]
            if room < whole.sizes[0]:  # fewer names on a line are better than names cut off
                groups = self._groups_of(rows, room)
            for group in groups:
                self._put(group)
        self._write_waiting()

    def _groups_of(self, rows: LeadRows, letters: int) -> list[list[Cells]]:
        """The rows of a list, those of one item together, with about so many letters of names on each line."""
        groups = list(groups_of(self._chart, rows, letters))
        cells = iter(cells_of(self._chart, [line for group in groups for line in group]))
        return [[next(cells) for _ in group] for group in groups]

    def _place(self, lead_below: Fraction | None) -> None:
        """Put what was held on a page: a lead between two others."""
        if not self._held:
            return
        beside = [lead for lead in (self._lead_above, lead_below) if lead is not None]
        self._put(cells_of(self._chart, self._held, beside))
        self._lead_above, self._held = self._held[-1].lead_mm, []

    def _put(self, cells: list[Cells]) -> None:
        """Let rows wait, no page to part a few of them, and keep the measure of the broadest cells."""
        for first in range(0, len(cells), LONGEST_GROUP):
            group = cells[first : first + LONGEST_GROUP]
            self._groups.append(len(group))
            dump(group, self._waiting)
            table = self._writer.shown(self._table(group))
            sizes = table.sizes if self._shape is None else map(max, table.sizes, self._shape.sizes)
            self._shape = Table(table.headings, (tuple("x" * size for size in sizes),))
        if not self._writer.on_paper and sum(self._groups) >= self._writer.rows_beside(NO_TRAIN, (), ()):
            self._write_waiting()

    def _table(self, lines: list[Cells]) -> Table:
        """Lines as a table, with a column to pencil in where there is paper."""
        table = table_of(self._chart, lines)
        return table if self._writer.on_paper else table.without(len(table.headings) - 1)

    def _write_waiting(self) -> None:
        """Write all rows that wait."""
        shape = fitted(self._shape, self._writer) if self._shape else NO_TRAIN
        kept = {heading.short for heading in shape.headings}
        whole = self._shape or shape
        legend = tuple(line for line in self._legend if not line.startswith("tpi:") or "tpi" in kept)
        if absent := [each.short for each in whole.headings if each.short not in kept]:
            legend += (f"left out for want of room: {', '.join(absent)}",)
        parts = _parted(self._groups, *(self._writer.rows_beside(shape, facts, legend) for facts in (self._facts, ())))
        self._waiting.seek(0)
        for number, count in enumerate(parts, 1):
            lines = [line for _ in range(count) for line in load(self._waiting)]  # our own file of before
            self._write([self._part(self._table(lines), shape) if lines else NO_TRAIN], number, len(parts), legend)
        self._waiting.seek(0)
        self._waiting.truncate()
        self._groups, self._shape = [], None

    def _part(self, table: Table, shape: Table) -> Table:
        """Those columns of a table for which there is room, its names cut to it."""
        kept = {heading.short for heading in shape.headings}
        part = table.part([place for place, heading in enumerate(table.headings) if heading.short in kept])
        return aligned(_with_names_cut(part, len(shape.rows[0][0]) if shape.rows else 0))

    def _write_grid(self, rows: LeadRows) -> None:
        first, further = (
            self._writer.rows_beside(_grid_shape(self._chart, rows, self._writer), facts, self._legend)
            for facts in (self._facts, ())
        )
        pages = list(grid_pages(self._chart, rows, self._writer, (first, further), HOPELESS))
        for number, (hand, tables) in enumerate(pages, 1):
            self._write(tables, number, len(pages), self._legend, hand)

    def _write(self, tables: list[Table], number: int, count: int, legend: tuple[str, ...], hand: str = "") -> None:
        paper = self._writer.on_paper
        title = page_title(self._chart, hand)
        facts = self._facts if number == 1 else ()
        place = (number, count) if paper else (0, 0)
        self._writer.write(Page(title, *place, facts, tuple(tables), legend))


def _grid_shape(chart: Chart, rows: LeadRows, writer: PageWriter) -> Table:
    """The broadest table of a grid."""
    tables = [each for _, page in grid_pages(chart, rows, writer, (len(rows), len(rows)), HOPELESS) for each in page]
    return max((writer.shown(table) for table in tables), key=lambda table: sum(table.sizes) + 3 * len(table.sizes))


def _parted(groups: list[int], first: int, further: int) -> list[int]:
    """How many groups of rows stand on each page, the pages about as full as each other."""
    plain = _filled(groups, first, further)
    if len(plain) < 2:
        return plain
    share = sum(groups) / (first + (len(plain) - 1) * further)
    slack = max(groups) - 1
    even = _filled(groups, min(first, ceil(share * first) + slack), min(further, ceil(share * further) + slack))
    return even if len(even) == len(plain) else plain


def _filled(groups: list[int], first: int, further: int) -> list[int]:
    """The same with every page as full as it can be."""
    pages, used = [0], 0
    for rows in groups:
        if pages[-1] and used + rows > (first if len(pages) == 1 else further):
            pages.append(0)
            used = 0
        pages[-1] += 1
        used += rows
    return pages


def page_title(chart: Chart, hand: str = "") -> str:
    """The heading of a page: what it holds, for which hand where it is one, and whose it is."""
    hand = hand or (chart.source.hands[0] if len(chart.source.hands) == 1 else "either")
    is_file = re.search(r"\.[A-Za-z]\w*$", chart.title.partition(",")[0])
    title = chart.title if is_file else chart.title[:1].upper() + chart.title[1:]
    return ", ".join(filter(None, (title, "" if hand == "either" else f"{hand} hand", shop_of(chart))))


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
