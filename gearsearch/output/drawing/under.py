"""What fills the set-up sheet under its words: template at 1:1, error along the cut, the train large, lines for notes.

The template takes pages of its own where it must. Nothing else begins a page: what has no room is left out, for the
words say it too.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal

from ...base.errors import GearsearchError
from ...sheet.page import Job
from . import papers
from .picture import draw_large
from .plots import draw_error
from .templates import Template
from .tiles import draw_whole, standing_mm, template_of, template_tiles, whole_mm

if TYPE_CHECKING:
    from matplotlib.figure import Figure

_ERROR_MM, _APART_MM = 72.0, 4.0
_TRAIN_MM, _TRAIN_MOST_MM = 120.0, 200.0  # height from which a large picture of the train is worth its place
_NOTES_MM, _TITLE_MM, _LINE_MM = 30.0, 13.0, 9.0  # height from which lines to write on are worth it; to the first line


@dataclass(frozen=True, slots=True)
class Space:
    """What is free of a page, counted from 0, from side to side [mm]."""

    page: int
    low: float
    top: float

    @property
    def high(self) -> float:
        """How high it is [mm]."""
        return self.top - self.low


What = Literal["template", "error", "train", "notes"]
Place = tuple[What, Space]


@dataclass(frozen=True, slots=True)
class Under:
    """What may stand under the words of a sheet.

    Parameters
    ----------
    paper : its name
    template, whole : the template, None where there is none; how high it is [mm], None where it takes several papers
    has_error, has_train : whether there is an error to show along the cut, and a train that can be drawn
    """

    paper: str
    template: Template | None
    whole: float | None
    has_error: bool
    has_train: bool

    @classmethod
    def of(cls, job: Job, paper: str) -> Under:
        """That of a job, each only where there is something true to draw."""
        template, figures = _template(job), job.checked.figures
        has_error = figures is not None and figures.length_mm is not None and figures.error != 0
        whole = whole_mm(template, paper) if template else None
        return cls(paper, template, whole, has_error, job.checked.fit.placement is not None)

    def further(self, left: Space) -> tuple[int, bool]:
        """How many further pages are needed under words that leave so much, and whether the error has no room."""
        places = list(self._places(left))
        pages = max((space.page for _, space in places), default=left.page) - left.page
        misses_error = self.has_error and not any(what == "error" for what, _ in places)
        return pages + (self.template is not None and self.whole is None), misses_error

    def _places(self, left: Space) -> Iterator[Place]:
        """Where each stands."""
        free = [left]
        if self.whole is not None:
            if left.low > papers.MARGIN_MM or left.high < self.whole:
                high = papers.size_mm(self.paper)[1]
                free.append(Space(left.page + 1, papers.MARGIN_MM, high - papers.MARGIN_MM))
            yield "template", free[-1]
            free[-1] = replace(free[-1], low=free[-1].low + self.whole + _APART_MM)
        if self.has_error:
            first = next((number for number, space in enumerate(free) if space.high >= _ERROR_MM), None)
            if first is not None:
                yield "error", free[first]
                free[first] = replace(free[first], top=free[first].top - _ERROR_MM - _APART_MM)
        for space in free:
            if self.has_train and space.page and space.high >= _TRAIN_MM:
                low = max(space.low, space.top - _TRAIN_MOST_MM)
                yield "train", replace(space, low=low)
                space = replace(space, top=low - _APART_MM)
            if space.page and space.high >= _NOTES_MM:
                yield "notes", space

    def put(self, last: Figure, left: Space, job: Job) -> list[Figure]:
        """Draw all of it, on the last page of words and on further ones, which are returned."""
        wide, high = papers.size_mm(self.paper)
        further: list[Figure] = []
        for what, space in self._places(left):
            if space.page > left.page and not further:
                further.append(papers.blank(wide, high)[0])
            self._draw(what, further[-1] if space.page > left.page else last, space, job)
        if self.template is not None and self.whole is None:
            tiles = template_tiles(self.template, self.paper, job.unit)
            if len(tiles) == 1:
                self._note_above(tiles[0], standing_mm(self.template))
            further += tiles
        return further

    @staticmethod
    def _note_above(figure: Figure, template_mm: float) -> None:
        """Lines for notes above a template that has a page of its own."""
        wide, high = (side * papers.INCH_MM for side in figure.get_size_inches())
        space = Space(0, papers.MARGIN_MM + template_mm + _APART_MM, high - papers.MARGIN_MM)
        if space.high >= _NOTES_MM:
            _draw_notes(figure, (papers.MARGIN_MM, wide - papers.MARGIN_MM), space)

    def _draw(self, what: What, figure: Figure, space: Space, job: Job) -> None:
        left, wide = papers.MARGIN_MM, papers.size_mm(self.paper)[0] - 2 * papers.MARGIN_MM
        if what == "template" and self.template is not None:
            draw_whole(figure, self.template, job.unit)
        elif what == "error":
            draw_error(figure, (left, space.top - _ERROR_MM, wide, _ERROR_MM), job.checked)
        elif what == "train":
            draw_large(figure, (left, space.low, wide, space.high), job.checked)
        else:
            _draw_notes(figure, (left, left + wide), space)


def _draw_notes(figure: Figure, sides: tuple[float, float], space: Space) -> None:
    """Lines to write on."""
    page = figure.axes[0]
    page.text(sides[0], space.top, "Notes", fontsize=13, weight="bold", va="top")
    y = space.top - _TITLE_MM
    while y >= space.low:
        page.plot(sides, [y, y], color="black", lw=0.5)
        y -= _LINE_MM


def _template(job: Job) -> Template | None:
    try:
        return template_of(job)
    except GearsearchError:
        return None  # a length is missing: the picture is left out, as a line of the sheet would be
