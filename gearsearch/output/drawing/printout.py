"""The set-up sheet as pages to print: the words large, then the pictures, then the template at 1:1."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from ...base.errors import GearsearchError
from ...sheet.block import Block
from ...sheet.page import Job, blocks, lead_line, stops_of
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
    figures = [*_word_pages(job, paper), *_picture_pages(job, paper), *_template_pages(job, paper)]
    for number, figure in enumerate(figures, 1):
        _foot(figure, job, f"{number} of {len(figures)}")
    return figures


def _foot(figure: Any, job: Job, number: str) -> None:
    """Which sheet a page belongs to, and what speaks against it, on every page."""
    against = "".join(f" {reason.partition(':')[0].upper()}." for reason in job.against)
    width = figure.get_size_inches()[0] * papers.INCH_MM
    right = width - papers.MARGIN_MM
    text = f"{job.checked.fit.train}{':' if against else ''}{against}   page {number}"
    figure.axes[0].text(right, 4.0, text, fontsize=7.5, ha="right", va="center")


def _word_pages(job: Job, paper: str) -> list[Any]:
    """The words in the largest type that keeps them on one page, tables on pages of their own.

    Where only the small sizes would do, the train in plain characters is left out if its picture follows; where
    none does, the words go on over more pages.
    """
    width = measure()
    parts = [block for block in blocks(job) if not block.own_page]
    bare = [replace(block, plain=()) for block in parts] if job.checked.fit.placement else parts
    tries = [(size, parts) for size in SIZES[:3]] + [(size, bare) for size in SIZES] + [(SIZES[2], bare)]
    fitting = (one for one in tries if _pages_of(Flow(paper, one[0], width, only_counting=True), job, one[1]) == 1)
    size, chosen = next(fitting, tries[-1])
    flow = Flow(paper, size, width)
    _fill(flow, job, chosen)
    for block in blocks(job):
        if block.own_page and block.table is not None:
            one_page = len(flow.figures) == 1
            flow.need(10_000.0 if one_page else min(150.0, (len(block.table.rows) + 4) * 1.5 * flow.line_mm))
            _put(flow, block)
    return flow.figures


def _pages_of(flow: Flow, job: Job, parts: list[Block]) -> int:
    _fill(flow, job, parts)
    return len(flow.figures)


def _fill(flow: Flow, job: Job, parts: list[Block]) -> None:
    checked = job.checked
    train = str(checked.fit.train)
    large = 28.0
    while large > 16 and flow.width(train, large, True) > flow.room:
        large -= 1
    flow.words(train, large, bold=True)
    flow.words(lead_line(job), 16, bold=True)
    flow.words(f"{checked.shop.heading}, route {checked.route.name}", flow.size)
    if job.date:
        flow.words(f"Date: {job.date}", flow.size)
    for reason in stops_of(job):
        flow.boxed(reason)
    for block in parts:
        _put(flow, block)
    flow.need(17)
    flow.ruled(*([] if job.date else ["Date"]), "By", "Measured lead")
    flow.ruled("Tried on", "Works: yes / no", "Notes")


def _put(flow: Flow, block: Block) -> None:
    flow.title(block.title)
    flow.plain(block.plain)
    for item in block.items:
        flow.item(item)
    if block.table is not None:
        flow.table(block.table)


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
