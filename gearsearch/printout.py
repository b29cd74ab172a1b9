"""The set-up sheet as pages to print: the words large, then the pictures, then the template at 1:1."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

from . import paper as sheets
from .errors import GearsearchError
from .picture import draw_train
from .plots import draw_error
from .report import shop_line
from .sheet import Job, sections, stops_of
from .templatesheets import template_of, template_tiles
from .units import format_both

SIZES = (11.0, 10.5, 10.0, 9.5, 9.0)  # type [points], the largest with which the words stay on one page
_LINE = 1.26
_POINT_MM = 25.4 / 72
_FOOT_MM = 6.0
_ERROR_MM = 92.0
Width = Callable[[str, float, bool], float]


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
    against = " DOES NOT MOUNT." if job.checked.fit.mounts == "no" else ""
    against += " OUTSIDE THE TOLERANCE." if job.checked.fit.within is False else ""
    width = figure.get_size_inches()[0] * sheets.INCH_MM
    right = width - sheets.MARGIN_MM
    text = f"{job.checked.fit.train}{':' if against else ''}{against}   page {number}"
    figure.axes[0].text(right, 4.0, text, fontsize=7.5, ha="right", va="center")


@dataclass(slots=True)
class Flow:
    """Words set line after line down pages of one size of type.

    Parameters
    ----------
    paper, size : name of the paper, and the type [points]
    width : how wide a text is [mm], by text, size and heaviness
    """

    paper: str
    size: float
    width: Width
    figures: list[Any] = field(default_factory=list)
    y: float = 0.0

    @property
    def room(self) -> float:
        """Width between the margins [mm]."""
        return sheets.PAPERS_MM[self.paper][0] - 2 * sheets.MARGIN_MM

    @property
    def page(self) -> Any:
        """The page that is being filled."""
        return self.figures[-1].axes[0]

    def need(self, height: float) -> None:
        """Begin a page where there is none, or where this one has not so much room left [mm]."""
        if not self.figures or self.y - height < sheets.MARGIN_MM + _FOOT_MM / 2:
            wide, high = sheets.PAPERS_MM[self.paper]
            self.figures.append(sheets.blank(wide, high)[0])
            self.y = high - sheets.MARGIN_MM

    def words(self, text: str, size: float, indent: float = 0.0, **style: Any) -> None:
        """A paragraph, broken where it must be."""
        bold = style.get("weight") == "bold"
        for line in self.broken(text, size, self.room - indent, bold=bold):
            step = size * _LINE * _POINT_MM
            self.need(step)
            self.y -= step
            at = sheets.MARGIN_MM + indent, self.y + 0.3 * step
            self.page.text(*at, line, fontsize=size, va="baseline", **style)

    def broken(self, text: str, size: float, room: float, *, bold: bool) -> list[str]:
        """The lines of a text, none wider than the room [mm] unless one word alone is."""
        lines = [""]
        for word in text.split():
            longer = f"{lines[-1]} {word}".strip()
            if lines[-1] and self.width(longer, size, bold) > room:
                lines.append(word)
            else:
                lines[-1] = longer
        return lines

    def item(self, line: str) -> None:
        """One line of a section: to do, with a box to tick, or to know, after a dot."""
        from matplotlib.patches import Rectangle

        todo, text = line.startswith("!"), line.lstrip("!")
        self.need(self.size * _LINE * _POINT_MM)
        side = 0.62 * self.size * _POINT_MM
        top, page = self.y, self.page
        low = top - 0.82 * self.size * _LINE * _POINT_MM + 0.02 * side
        if todo:
            page.add_patch(Rectangle((sheets.MARGIN_MM, low), 1.25 * side, 1.25 * side, fill=False, lw=0.9))
        else:
            page.plot(sheets.MARGIN_MM + 0.7 * side, low + 0.65 * side, marker="o", ms=1.8, color="black")
        self.words(text, self.size, 5.0)
        self.y -= 0.16 * self.size * _POINT_MM

    def table(self, rows: list[str]) -> None:
        """Rows of the train in large letters of one width, their blanks kept."""
        longest = max(map(len, rows))
        size = min(1.3 * self.size, self.room / (0.603 * _POINT_MM * longest))
        step = size * 1.4 * _POINT_MM
        for row in rows:
            self.need(step)
            self.y -= step
            style = {"family": "monospace", "weight": "bold"}
            self.page.text(sheets.MARGIN_MM, self.y + 0.3 * step, row, fontsize=size, **style)

    def title(self, text: str) -> None:
        """A title over a rule across the page; kept with the line that follows."""
        self.need(4 * self.size * _LINE * _POINT_MM)
        self.y -= 0.55 * self.size * _POINT_MM
        left = sheets.MARGIN_MM
        self.page.plot([left, left + self.room], [self.y, self.y], color="black", lw=0.9)
        self.words(text, 1.18 * self.size, weight="bold")

    def boxed(self, text: str) -> None:
        """A warning, large, in a heavy frame."""
        from matplotlib.patches import Rectangle

        size = 1.6 * self.size
        lines = self.broken(text, size, self.room - 4, bold=True)
        height = len(lines) * size * _LINE * _POINT_MM + 3
        self.need(height + 2)
        self.y -= 1.5
        low = self.y - height
        self.page.add_patch(Rectangle((sheets.MARGIN_MM, low), self.room, height, fill=False, lw=2.6))
        self.y -= 1.2
        for line in lines:
            self.words(line, size, 4.0, weight="bold")
        self.y = low - 1.5

    def ruled(self, *labels: str) -> None:
        """Labels with a line to write on after each, side by side."""
        self.need(9)
        self.y -= 8.5
        each = self.room / len(labels)
        for number, label in enumerate(labels):
            left = sheets.MARGIN_MM + number * each
            self.page.text(left, self.y, label, fontsize=self.size, va="baseline")
            begin = left + (self.width(label, self.size, False) + 2 if label else 0)
            self.page.plot([begin, left + each - 3], [self.y - 0.6] * 2, color="black", lw=0.6)


def _word_pages(job: Job, paper: str) -> list[Any]:
    """The words in the largest type that keeps them on one page; where none does, in the middle one on more."""
    width = _measure()
    for size in (*SIZES, SIZES[len(SIZES) // 2]):
        flow = Flow(paper, size, width)
        _fill(flow, job)
        if len(flow.figures) == 1:
            break
    return flow.figures


def _measure() -> Width:
    from matplotlib.font_manager import FontProperties
    from matplotlib.textpath import text_to_path

    known: dict[tuple[str, float, bool], float] = {}

    def width(text: str, size: float, bold: bool) -> float:
        if (text, size, bold) not in known:
            font = FontProperties(size=size, weight="bold" if bold else "normal")
            points = text_to_path.get_text_width_height_descent(text, font, ismath=False)[0]
            known[text, size, bold] = float(points) * _POINT_MM
        return known[text, size, bold]

    return width


def _fill(flow: Flow, job: Job) -> None:
    checked = job.checked
    large = 30.0
    while large > 16 and flow.width(str(checked.fit.train), large, True) > flow.room:
        large -= 1
    flow.words(str(checked.fit.train), large, weight="bold")
    hand = f", {checked.fit.hand} hand" if checked.fit.hand else ""
    flow.words(f"lead {format_both(checked.fit.lead_mm, checked.shop.units)}{hand}", 17, weight="bold")
    flow.words(f"{shop_line(checked.shop)}, route {checked.route.name}", flow.size)
    if job.date:
        flow.words(f"Date: {job.date}", flow.size)
    for reason in stops_of(job):
        flow.boxed(reason)
    for title, lines in sections(job):
        flow.title(title)
        rows = [line[4:] for line in lines if line.startswith("    ")]
        if rows:
            flow.table(rows)
        for line in lines:
            if not line.startswith("    "):
                flow.item(line)
    flow.need(26)
    flow.title("To fill in")
    flow.ruled(*([] if job.date else ["Date"]), "By", "Measured lead")
    flow.ruled("Tried on", "Works: yes / no", "Notes")


def _picture_pages(job: Job, paper: str) -> list[Any]:
    """A page with the train to scale and the error along the cut; each only where there is something true to draw."""
    has_train = job.checked.fit.placement is not None
    has_error = job.checked.figures is not None and job.checked.figures.length_mm is not None
    if not (has_train or has_error):
        return []
    width, height = sheets.PAPERS_MM[paper]
    figure, _ = sheets.blank(width, height)
    margin = sheets.MARGIN_MM
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
