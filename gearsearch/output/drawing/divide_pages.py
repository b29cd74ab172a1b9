"""What ``divide`` answers, as pages to hang by the dividing head: in type to be read at arm's length."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import TYPE_CHECKING

from ...base.document import Item, strong
from ...base.facts import Table
from ...dividing.answer import Divided
from . import papers
from .flow import Flow
from .papers import measure

if TYPE_CHECKING:
    from matplotlib.figure import Figure

SIZES = (16.0, 15.0, 14.0, 13.0, 12.0, 11.0, 10.0, 9.0, 8.5, 8.0, 7.5, 7.0, 6.5, 6.0)  # type [points]
_READABLE = 11.0  # below this a table of few wide rows is set row under row


def divide_pages(answer: Divided, paper: str = "A4") -> list[Figure]:
    """The answer on paper: what was asked, the table, what else to know.

    Parameters
    ----------
    answer : what ``divide`` found
    paper : ``A4`` or ``Letter``

    In the largest type in which the table fits the paper and all stands on one page, else over more pages. Ways whose
    table would be small are set one under the other.
    """
    width = measure()
    told = answer.table()
    table = Table(told.headings, tuple(tuple(map(_short(answer), row)) for row in told.rows))
    fitting = [size for size in SIZES if Flow(paper, size, width).table_width(table) <= Flow(paper, size, width).room]
    stacked = not answer.in_order and not (fitting and fitting[0] >= _READABLE)
    sizes = [size for size in SIZES if size >= _READABLE] if stacked else fitting or SIZES[-1:]
    counted = (size for size in sizes if len(_filled(answer, table, Flow(paper, size, width, True), stacked)) == 1)
    flow = Flow(paper, next(counted, sizes[-1] if stacked else sizes[0]), width)
    figures = _filled(answer, table, flow, stacked)
    for number, figure in enumerate(figures, 1):
        right = papers.size_mm(paper)[0] - papers.MARGIN_MM
        figure.axes[0].text(right, 4.0, f"page {number} of {len(figures)}", fontsize=7.5, ha="right", va="center")
    return figures


def _short(answer: Divided) -> Callable[[str], str]:
    """Cells as they are; of steps and cuts without minutes of the angle."""
    if not answer.in_order:
        return str
    return lambda cell: re.sub(r" \(.*\)", "", cell)


def _filled(answer: Divided, table: Table, flow: Flow, stacked: bool) -> list[Figure]:
    """The pages of an answer, in the type of a flow."""
    *facts, asked = answer.heading
    flow.words(asked, 1.3 * flow.size, bold=True)
    for fact in facts:
        flow.words(fact, 0.8 * flow.size)
    flow.y -= 2.0
    if stacked:
        for number, row in enumerate(table.rows, 1):
            flow.title(f"{number}. {row[0]}")
            for heading, cell in zip(table.headings[1:], row[1:], strict=True):
                if cell:
                    flow.words(f"{heading.short}: {strong(cell)}", flow.size, 4.0)
    else:
        flow.table(table)
    flow.title("Notes")
    for note in answer.notes:
        flow.item(Item(note.text))
    return flow.figures
