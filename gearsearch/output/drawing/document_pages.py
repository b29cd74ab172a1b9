"""Any document as pages to hang by the machine, in type to be read at arm's length and more where there is room."""

from __future__ import annotations

from itertools import product
from typing import TYPE_CHECKING

from ...base.document import Document, Item, plain
from ...shop.shop import DEMO_SAID
from . import papers
from .flow import Flow
from .papers import measure

if TYPE_CHECKING:
    from matplotlib.figure import Figure

SIZES = (24.0, 22.0, 20.0, 18.0, 16.0, 15.0, 14.0, 13.0, 12.0, 11.0)  # type [points]
_ROWS = (2.2, 1.7, 1.35, 1.12)  # height of a row of a table for that of a line
_BESIDE = 0.7  # type of what is neither asked nor done, for the rest


def document_pages(said: Document, paper: str = "A4") -> list[Figure]:
    """A document on paper: what was asked, what to do, its parts, what else to know.

    Parameters
    ----------
    said : the document
    paper : ``A4`` or ``Letter``

    In the largest type that has room for the figures of its tables and takes no more pages than the smallest with its
    tables close, and in that the most open.
    """

    def flow_of(size: float, row: float, *, drawn: bool = False) -> Flow:
        return Flow(paper, size, measure(), only_counting=not drawn, row=row)

    said = said.keyed()
    least = _cost(said, flow_of(SIZES[-1], _ROWS[-1]))
    size, row = next(each for each in product(SIZES, _ROWS) if _cost(said, flow_of(*each)) <= least)
    flow = flow_of(size, row, drawn=True)
    figures = _filled(said, flow)
    lines = (*said.heading, *(line for block in said.blocks for line in block.lines))
    demo = f"{papers.DEMO}   " if any(DEMO_SAID in line for line in lines) else ""
    for number, figure in enumerate(figures, 1):
        papers.say_at_foot(figure, f"{demo}page {number} of {len(figures)}")
    return figures


def _cost(said: Document, flow: Flow) -> tuple[bool, int]:
    """What a type costs: whether its tables break figures, and how many pages it takes."""
    count = len(_filled(said, flow))
    return flow.crowded, count


def _filled(said: Document, flow: Flow) -> list[Figure]:
    """The pages of a document, in the type of a flow."""
    flow.words(said.title, 1.3 * flow.size, bold=True)
    for line in said.heading:
        flow.words(line, flow.size if line != plain(line) else max(papers.FOOT_PT, _BESIDE * flow.size))
    for note in said.against:
        flow.boxed(note.text)
    flow.y -= 2.0
    for block in (*said.first_blocks, *said.own_pages):
        flow.block(block)
    if said.notes:
        flow.title("Notes")
    for note in said.notes:
        flow.item(Item(note.text))
    return flow.figures
