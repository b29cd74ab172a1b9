"""A chart on a terminal: its rows first, and what is said of it under them."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TextIO

from ..base.facts import Table
from .paper import Page
from .tables import GAP, drawn, filled, terminal_width

_ROWS = 500  # under which the headings stand again


class ScreenPages:
    """A chart being printed as text.

    Parameters
    ----------
    stream : where to
    """

    gap, around, on_paper = GAP, 0, False

    def __init__(self, stream: TextIO) -> None:
        self._stream, self.width = stream, terminal_width()
        self._title, self._facts = "", tuple[str, ...]()

    def shown(self, table: Table) -> Table:
        """The table as it is."""
        return table

    def rows_beside(self, shape: Table, facts: tuple[str, ...], legend: tuple[str, ...]) -> int:  # noqa: ARG002
        """All of them: what is said of the chart stands last."""
        return _ROWS

    def write(self, page: Page) -> None:
        """Print some rows."""
        above = "\n" if self._title else ""
        if page.title != self._title:
            self._stream.write(above + "\n".join(filled(page.title, self.width, "  ")) + "\n")
        for table in page.tables:
            self._stream.write("\n" + "\n".join(drawn(table, self.width)) + "\n")
        self._title, self._facts = page.title, self._facts or (*page.legend, *page.facts)

    def close(self) -> None:
        """Print what is said of the chart."""
        self.say(self._facts)

    def say(self, facts: Sequence[str]) -> None:
        """Print some lines under all else."""
        lines = [line for fact in facts for line in filled(f"- {fact}", self.width, "  ")]
        if lines:
            self._stream.write("\n".join(["", *lines]) + "\n")
