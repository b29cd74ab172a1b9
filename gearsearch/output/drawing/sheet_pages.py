"""The set-up sheet as pages to print: the words large, then the pictures, then the template at 1:1."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from ...base.document import Block, Document, plain
from ...base.errors import GearsearchError
from ...sheet.page import Job, document
from . import papers
from .flow import Flow, measure
from .picture import draw_train
from .plots import draw_error
from .tiles import template_of, template_tiles

SIZES = (11.0, 10.5, 10.0, 9.5, 9.0, 8.7, 8.4, 8.2, 8.0)  # type [points]
_ERROR_MM = 84.0


def pages(job: Job, paper: str = "A4") -> list[Any]:
    """The whole sheet on paper: words, pictures where something is known to draw, template where one can be.

    Parameters
    ----------
    job : what is cut
    paper : ``A4`` or ``Letter``
    """
    said = document(job)
    figures = [*_word_pages(said, paper, job.checked.fit.placement is not None)]
    figures += [*_picture_pages(job, paper), *_template_pages(job, paper)]
    for number, figure in enumerate(figures, 1):
        _foot(figure, said, f"{number} of {len(figures)}")
    return figures


def _foot(figure: Any, said: Document, number: str) -> None:
    """Which sheet a page belongs to, and what speaks against it, on every page."""
    against = "".join(f" {note.text.partition(':')[0].upper()}." for note in said.against)
    width = figure.get_size_inches()[0] * papers.INCH_MM
    right = width - papers.MARGIN_MM
    text = f"{said.title}{':' if against else ''}{against}   page {number}"
    figure.axes[0].text(right, 4.0, text, fontsize=7.5, ha="right", va="center")


def _word_pages(said: Document, paper: str, has_picture: bool) -> list[Any]:
    """The words in the largest type that keeps them on one page, tables on pages of their own.

    Where only the small sizes would do, the train in plain characters is left out if its picture follows; where
    none does, the words go on over more pages.
    """
    width = measure()
    parts = [block for block in said.blocks if not block.own_page]
    bare = [replace(block, diagram=()) for block in parts] if has_picture else parts
    tries = [(size, parts) for size in SIZES[:3]] + [(size, bare) for size in SIZES] + [(SIZES[2], bare)]
    fitting = (one for one in tries if _pages_of(Flow(paper, one[0], width, only_counting=True), said, one[1]) == 1)
    size, chosen = next(fitting, tries[-1])
    flow = Flow(paper, size, width)
    _fill(flow, said, chosen)
    for block in said.blocks:
        if block.own_page and block.table is not None:
            one_page = len(flow.figures) == 1
            flow.need(10_000.0 if one_page else min(150.0, (len(block.table.rows) + 4) * 1.5 * flow.line_mm))
            _put(flow, block)
    return flow.figures


def _pages_of(flow: Flow, said: Document, parts: list[Block]) -> int:
    _fill(flow, said, parts)
    return len(flow.figures)


def _fill(flow: Flow, said: Document, parts: list[Block]) -> None:
    large = 28.0
    while large > 16 and flow.width(said.title, large, True) > flow.room:
        large -= 1
    flow.words(said.title, large, bold=True)
    for line in said.heading:
        is_large = line != plain(line)
        flow.words(line, 16 if is_large else flow.size, bold=is_large)
    for note in said.against:
        flow.boxed(note.text)
    for block in parts:
        _put(flow, block)


def _put(flow: Flow, block: Block) -> None:
    if block.title:
        flow.title(block.title)
    for line in block.lines:
        flow.words(line.strip(), flow.size, 4.0 * line.startswith(" "))
    flow.plain(block.diagram)
    for item in block.items:
        flow.item(item)
    if block.table is not None:
        flow.table(block.table)
    if block.fields:
        flow.need(8.5 * len(block.fields))
    for labels in block.fields:
        flow.ruled(*labels)


def _picture_pages(job: Job, paper: str) -> list[Any]:
    """A page with the train to scale and the error along the cut; each only where there is something true to draw."""
    has_train = job.checked.fit.placement is not None
    figures = job.checked.figures
    has_error = figures is not None and figures.length_mm is not None and figures.error != 0
    if not (has_train or has_error):
        return []
    width, height = papers.size_mm(paper)
    figure, _ = papers.blank(width, height)
    margin = papers.MARGIN_MM
    top = height - margin
    if has_train:
        room = height - 2 * margin - (_ERROR_MM + 4 if has_error else 0)
        draw_train(figure, (margin, top - room, width - 2 * margin, room), job.checked)
        top -= room + 4
    if has_error:
        draw_error(figure, (margin, top - _ERROR_MM, width - 2 * margin, _ERROR_MM), job.checked)
    return [figure]


def _template_pages(job: Job, paper: str) -> list[Any]:
    try:
        template = template_of(job)
    except GearsearchError:
        return []  # a length is missing: the page is left out, as a line of the sheet would be
    return template_tiles(template, paper, job.checked.shop.units)
