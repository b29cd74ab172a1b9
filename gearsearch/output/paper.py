"""Paper that charts are written on: its sizes, a page, and what every kind of it can do."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

from ..base import require
from ..base.errors import GearsearchError
from ..base.facts import Table
from ..base.units import PAPERS_MM

# Rows of a table that fit on a page at the type size of Markdown, tried out in print: (upright, landscape).
_ROWS = {"A4": (58, 32), "Letter": (54, 34)}


@dataclass(frozen=True, slots=True)
class Paper:
    """The paper a chart is printed on.

    Parameters
    ----------
    size : ``A4`` or ``Letter``
    landscape : with the long side along the top
    rows : rows of the table on a page; None for as many as fit
    """

    size: str = "A4"
    landscape: bool = False
    rows: int | None = None

    def __post_init__(self) -> None:
        require.one_of(self.size, PAPERS_MM, "the paper")
        if self.rows is not None and not 5 <= self.rows <= 1000:
            raise GearsearchError(f"a page cannot have {self.rows} rows", "give 5 to 1000 rows")

    @property
    def table_rows(self) -> int:
        """Rows of the table on a page."""
        return self.rows or _ROWS[self.size][self.landscape]


@dataclass(frozen=True, slots=True)
class Page:
    """A page of a chart.

    Parameters
    ----------
    title : its first line
    number, count : which page it is, and of how many; 0 where pages are not counted
    facts : what is said of the chart, a line each; on the first page
    tables : one under the other, no broader than the page
    legend : what the columns mean, a line each; on every page
    group : entries from one heavy line to the next
    """

    title: str
    number: int
    count: int
    facts: tuple[str, ...]
    tables: tuple[Table, ...]
    legend: tuple[str, ...] = ()
    group: int = 5

    @property
    def told(self) -> str:
        """Its place among the others, in words."""
        return f"page {self.number} of {self.count}" if self.count else ""


class PageWriter(Protocol):
    """A kind of paper.

    Parameters
    ----------
    width : letters of the broadest table
    gap, around : letters between two columns, and at both ends of a row together
    on_paper : whether pages have numbers and a column to pencil in; not on a screen, which is written as rows come
    """

    width: int
    gap: int
    around: int
    on_paper: bool

    def shown(self, table: Table) -> Table:
        """A table with its cells as they are written, to be measured so."""

    def rows_beside(self, shape: Table, facts: tuple[str, ...], legend: tuple[str, ...]) -> int:
        """Rows of a table of such a shape on a page, under what is said of the chart, above what the columns mean."""

    def write(self, page: Page) -> None:
        """Write a page."""

    def close(self) -> None:
        """Called once, after the last page or a fault."""
