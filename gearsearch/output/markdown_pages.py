"""Pages of charts as Markdown that reads as plain text too and prints in black and white."""

from __future__ import annotations

from typing import TextIO

from ..base.facts import Table
from .markdown import AROUND, GAP, WIDTH, bullets, escaped, ruled, safe
from .paper import Page, Paper


class MarkdownPages:
    """Pages being written as Markdown.

    Parameters
    ----------
    stream : where to
    paper : how it is laid out
    group : rows from one heavy line to the next; 0 for none
    """

    width, gap, around, on_paper = WIDTH, GAP, AROUND, True

    def __init__(self, stream: TextIO, paper: Paper, group: int) -> None:
        self._stream, self._paper = stream, paper
        stream.write(style(paper, group))
        self._parting = "\n"

    def shown(self, table: Table) -> Table:
        """A table whose cells are no marks of Markdown."""
        return safe(table)

    def rows_beside(self, shape: Table, facts: tuple[str, ...], legend: tuple[str, ...]) -> int:  # noqa: ARG002
        """Rows of the table on a page; the type has one size, whatever the table."""
        said = sum(len(bullets(told).splitlines()) + 1 for told in (facts, legend) if told)
        return max(5, self._paper.table_rows - said)

    def write(self, page: Page) -> None:
        """Write a page."""
        facts, legend = (bullets(told) + "\n\n" if told else "" for told in (page.facts, page.legend))
        tables = "\n".join(ruled(self.shown(table)) + "\n" for table in page.tables)
        title, most = escaped(page.title), WIDTH - len(page.told) - 5
        title = ", ".join(filter(None, (title if len(title) <= most else f"{title[: most - 1]}…", page.told)))
        self._stream.write(f"{self._parting}## {title}\n\n{facts}{tables}\n{legend.rstrip()}\n")
        self._parting = "\n---\n\n"

    def close(self) -> None:
        """Nothing is left to write."""


def style(paper: Paper, group: int) -> str:
    """How it prints: the size of the type, a heavy line below so many rows (0: none), a page for each part."""
    turned = "landscape" if paper.landscape else "portrait"
    size, line = (10.5, 4.7) if paper.landscape else (8.5, 4.2)
    heavy = f"tr:nth-child({group}n) td {{ border-bottom-width: 1.2pt }}\n" if group else ""
    return (
        f"<style>@page {{ size: {paper.size} {turned}; margin: 11mm }}\n"
        f"body {{ font: {size}pt sans-serif; margin: 0; max-width: none }}\n"
        "h2 { font-size: 11pt; margin: 0 0 1mm } ul, p { margin: 0 0 1.5mm; padding-left: 4mm }\n"
        "table { border-collapse: collapse } th { font-weight: bold }\n"
        f"th, td {{ border: 0.5pt solid #000; padding: 0 1.5mm; font: {size}pt/{line}mm monospace }}\n"
        f"{heavy}"
        "hr { break-after: page; visibility: hidden; margin: 0; height: 0 }</style>\n"
    )
