"""The set-up sheet as pages to print: first what is needed at the machine, the train to scale among it, then the rest.

The first page bears the train and its lead, to be read from two metres, the picture beside the train plane by plane,
and the words in two columns. What the error does and the template at 1:1 stand on the next, with what was too much;
``under.py`` fills what is left of it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import product
from typing import TYPE_CHECKING

from ...base.document import Block, Document, plain
from ...sheet.page import Job, document
from ...sheet.stacked import NARROW, in_planes
from . import papers
from .flow import FIELD_MM, Flow
from .papers import measure
from .picture import beside_mm, draw_beside
from .under import Space, Under

if TYPE_CHECKING:
    from matplotlib.figure import Figure

SIZES = (14.0, 13.0, 12.5, 12.0, 11.5, 11.0)  # type [points]
_TITLE, _LEAD, _LEAST_LEAD = 46.0, 27.0, 19.0  # type of the train and of its lead, and least beside it [points]
_PICTURE_MM, _APART_MM = 54.0, 4.0


def pages(job: Job, paper: str = "A4") -> list[Figure]:
    """The whole sheet on paper: words, pictures where something is known to draw, template where one can be.

    Parameters
    ----------
    job : what is cut
    paper : ``A4`` or ``Letter``

    The words are set in the largest type in which neither those for the machine nor all that there is take more pages
    than in the smallest, nor push out the error along the cut; in that, no short part of what is not needed at the
    machine is parted unless it costs a page.
    """
    setting = _Setting(job, document(job).keyed(), paper, Under.of(job, paper))
    least = setting.counts(SIZES[-1], whole=False)
    sizes = product(SIZES, (True, False))
    size, whole = next(each for each in sizes if setting.counts(*each) == least)
    flow = setting.filled(size, whole, setting.evened(size, whole), drawn=True)
    flow.figures += setting.under.put(flow.figures[-1], _space(setting.said, flow), job)
    for number, figure in enumerate(flow.figures, 1):
        _foot(figure, setting.said, job, f"page {number} of {len(flow.figures)}")
    return flow.figures


@dataclass(frozen=True, slots=True)
class _Setting:
    """A sheet that is tried in several sizes of type, each with short parts left whole or not."""

    job: Job
    said: Document
    paper: str
    under: Under

    def counts(self, size: float, whole: bool) -> tuple[int, int, bool]:
        """Pages of what is needed at the machine, and of all; whether the error along the cut has no room."""
        at_machine = self.filled(size, whole, {}, replace(self.said, blocks=self.said.first_blocks))
        flow = self.filled(size, whole, self.evened(size, whole))
        further, misses_error = self.under.further(_space(self.said, flow))
        return len(at_machine.figures), len(flow.figures) + further, misses_error

    def evened(self, size: float, whole: bool) -> dict[int, float]:
        """How much of the last page stays free when its columns are as even as can be [mm], by its number."""
        free, most = 0.0, papers.size_mm(self.paper)[1]
        count = len(self.filled(size, whole, {}).figures)
        while most - free > 2.0:
            middle = (free + most) / 2
            more = len(self.filled(size, whole, {count - 1: middle}).figures) > count
            free, most = (free, middle) if more else (middle, most)
        return {count - 1: free}

    def filled(
        self, size: float, whole: bool, kept: dict[int, float], said: Document | None = None, *, drawn: bool = False
    ) -> Flow:
        """The pages of words."""
        flow = Flow(self.paper, size, measure(), only_counting=not drawn, kept=dict(kept), keeps_whole=whole)
        _fill(flow, said or self.said, self.job)
        return flow


def _space(said: Document, flow: Flow) -> Space:
    """What is left of the last page under the words, above the lines to write on."""
    number = len(flow.figures) - 1
    fields = 0.0 if number else FIELD_MM * len(_fields(said)) + _APART_MM
    return Space(number, papers.MARGIN_MM + fields, flow.lowest - _APART_MM)


def _fields(said: Document) -> list[tuple[str, ...]]:
    return [labels for block in said.blocks for labels in block.fields]


def _foot(figure: Figure, said: Document, job: Job, number: str) -> None:
    """Which sheet a page belongs to, whose it is, and what speaks against it, on every page."""
    against = "".join(f" {note.text.partition(':')[0].upper()}." for note in said.against)
    demo = f"   {papers.DEMO}" if job.checked.shop.is_demo else ""
    papers.say_at_foot(figure, f"{said.title}{':' if against else ''}{against}{demo}   {number}")


def _fill(flow: Flow, said: Document, job: Job) -> None:
    """All words, the picture of the train and the lines to write on."""
    fields = _fields(said)
    flow.kept[0] = max(flow.kept.get(0, 0.0), FIELD_MM * len(fields))
    flow.new_page()
    flow.write_on(fields)
    _head(flow, said)
    has_picture = job.checked.fit.placement is not None
    if has_picture:
        high = max(_PICTURE_MM, beside_mm(job.checked))
        flow.y -= high
        if not flow.only_counting:
            area = papers.MARGIN_MM, flow.y, flow.room, high - 1
            draw_beside(flow.figures[-1], area, job.checked)
    flow.y -= 1.0
    flow.parted(2)
    for block in (*said.first_blocks, *said.own_pages):
        flow.block(_without_picture(block) if has_picture else _narrow(block, job))


def _without_picture(block: Block) -> Block:
    """A part without what the picture of the train says."""
    return replace(block, diagram=(), items=tuple(item for item in block.items if not item.drawn))


def _narrow(block: Block, job: Job) -> Block:
    """A part with the train in plain characters as narrow as it can be."""
    if not block.diagram:
        return block
    return replace(block, diagram=(*in_planes(job.checked, NARROW), "| in mesh   = keyed together"))


def _head(flow: Flow, said: Document) -> None:
    """The train and its lead, as large as there is room for, then whose and when, then what speaks against it."""
    size, lead = _largest(flow, said.title, _TITLE), plain(said.heading[0])
    top, beside = flow.y, flow.room - flow.width(said.title, size, True) - _APART_MM
    flow.words(said.title, size, bold=True)
    lines = lead.split(", ")
    large = _LEAD * min(1.0, beside / max(flow.width(line, _LEAD, True) for line in lines))
    if large >= _LEAST_LEAD:
        flow.at_right(lines, top, flow.y, large)
    else:
        flow.words(lead, _largest(flow, lead, _LEAD), bold=True)
    for line in said.heading[1:]:
        flow.words(line, flow.size)
    for note in said.against:
        flow.boxed(note.text)
    flow.y -= 1.0


def _largest(flow: Flow, text: str, most: float) -> float:
    """The largest type in which a heavy line has room on the page [points]."""
    return min(most, max(16.0, most * flow.room / flow.width(text, most, True) - 0.1))
