"""The set-up sheet as pages to print: first what is needed at the machine, the train to scale among it, then the rest.

The first page bears the train and its lead, to be read from two metres, the picture beside the train plane by plane,
and the words in two columns. What the error does and the template at 1:1 stand on the next, with what was too much.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from ...base.document import Block, Document, plain
from ...base.errors import GearsearchError
from ...sheet.page import Job, document
from ...sheet.stacked import NARROW, in_planes
from . import papers
from .flow import FIELD_MM, Flow
from .papers import Width, measure
from .picture import beside_mm, draw_beside
from .plots import draw_error
from .templates import Template
from .tiles import draw_whole, template_of, template_tiles, whole_mm

if TYPE_CHECKING:
    from matplotlib.figure import Figure

SIZES = (14.0, 13.0, 12.5, 12.0, 11.5, 11.0)  # type [points]
_TITLE, _LEAD, _LEAST_LEAD = 46.0, 27.0, 19.0  # type of the train and of its lead, and least beside it [points]
_PICTURE_MM, _ERROR_MM, _APART_MM = 54.0, 72.0, 4.0


def pages(job: Job, paper: str = "A4") -> list[Figure]:
    """The whole sheet on paper: words, pictures where something is known to draw, template where one can be.

    Parameters
    ----------
    job : what is cut
    paper : ``A4`` or ``Letter``

    The words are set in the largest type in which neither those for the machine nor all that there is take more pages
    than in the smallest.
    """
    said, width = document(job), measure()
    at_machine = replace(said, blocks=said.first_blocks)
    pictures = _Pictures.of(job, paper)

    def counts(size: float) -> tuple[int, int]:
        first, whole = (Flow(paper, size, width, only_counting=True) for _ in range(2))
        _fill(first, at_machine, job)
        _fill(whole, said, job)
        return len(first.figures), len(whole.figures) + pictures.further(whole.even_mm)

    least = counts(SIZES[-1])
    size = next(size for size in SIZES if counts(size) == least)
    flow = Flow(paper, size, width, kept=_kept(said, job, paper, size, width))
    _fill(flow, said, job)
    pictures.put(flow, job)
    for number, figure in enumerate(flow.figures, 1):
        _foot(figure, said, job, f"page {number} of {len(flow.figures)}")
    return flow.figures


def _count(said: Document, job: Job, flow: Flow) -> int:
    _fill(flow, said, job)
    return len(flow.figures)


def _kept(said: Document, job: Job, paper: str, size: float, width: Width) -> dict[int, float]:
    """How much of the last page stays free when its columns are as even as can be [mm]."""
    free, most = 0.0, papers.size_mm(paper)[1]
    pages_ = _count(said, job, Flow(paper, size, width, only_counting=True))
    while most - free > 2.0:
        middle = (free + most) / 2
        flow = Flow(paper, size, width, only_counting=True, kept={pages_ - 1: middle})
        free, most = (middle, most) if _count(said, job, flow) == pages_ else (free, middle)
    return {pages_ - 1: free}


def _foot(figure: Figure, said: Document, job: Job, number: str) -> None:
    """Which sheet a page belongs to, whose it is, and what speaks against it, on every page."""
    against = "".join(f" {note.text.partition(':')[0].upper()}." for note in said.against)
    demo = f"   {papers.DEMO}" if job.checked.shop.is_demo else ""
    papers.say_at_foot(figure, f"{said.title}{':' if against else ''}{against}{demo}   {number}")


def _fill(flow: Flow, said: Document, job: Job) -> None:
    """All words, the picture of the train and the lines to write on."""
    fields = [labels for block in said.blocks for labels in block.fields]
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


@dataclass(frozen=True, slots=True)
class _Pictures:
    """What stands under the words: the template at the foot of a page, the error along the cut above it.

    Parameters
    ----------
    paper : its name
    template, whole : the template, None where there is none; how high it is [mm], None where it takes several papers
    has_error : whether there is an error to show along the cut
    """

    paper: str
    template: Template | None
    whole: float | None
    has_error: bool

    @classmethod
    def of(cls, job: Job, paper: str) -> _Pictures:
        """Those of a job, each only where there is something true to draw."""
        template, figures = _template(job), job.checked.figures
        has_error = figures is not None and figures.length_mm is not None and figures.error != 0
        return cls(paper, template, whole_mm(template, paper) if template else None, has_error)

    def further(self, top: float) -> int:
        """How many further pages the pictures take under words that end so high [mm]."""
        return sum(begins for begins, _ in self._places(top)) + bool(self.template and self.whole is None)

    def _places(self, top: float) -> Iterator[tuple[bool, float]]:
        """Whether each begins a page, and where it ends above [mm]: the template's, then the error's."""
        low, high = papers.MARGIN_MM, papers.size_mm(self.paper)[1] - papers.MARGIN_MM
        if self.whole is not None:
            begins = top - low < self.whole
            top = high if begins else top
            low += self.whole + _APART_MM
            yield begins, low
        if self.has_error:
            begins = top - low < _ERROR_MM
            yield begins, high if begins else top

    def put(self, flow: Flow, job: Job) -> None:
        """Draw them."""
        wide, high = papers.size_mm(self.paper)
        places = list(self._places(flow.lowest - _APART_MM))
        for number, (begins, top) in enumerate(places):
            if begins:
                flow.figures.append(papers.blank(wide, high)[0])
            if self.template is not None and self.whole is not None and number == 0:
                draw_whole(flow.figures[-1], self.template, job.unit)
            else:
                area = papers.MARGIN_MM, top - _ERROR_MM, wide - 2 * papers.MARGIN_MM, _ERROR_MM
                draw_error(flow.figures[-1], area, job.checked)
        if self.template is not None and self.whole is None:
            flow.figures += template_tiles(self.template, self.paper, job.unit)


def _template(job: Job) -> Template | None:
    try:
        return template_of(job)
    except GearsearchError:
        return None  # a length is missing: the picture is left out, as a line of the sheet would be
