"""The wrap-round template on paper at 1:1: one sheet as large as it must be, or tiles of one paper size."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

from ...base.errors import GearsearchError
from ...base.units import UNIT_MM, format_length
from ...sheet.cutting import blank_diameter_mm
from ...sheet.page import Job
from . import papers
from .flow import broken
from .templates import CLEAR_MM, TAB_MM, SawCut, Template

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

RULER = {"mm": (100, 10), "in": (4, 0.5)}  # what is measured to see what the printer did, and between two of its marks
MOST_SHEETS = 20
_TYPE = 9.5  # [points]
_HEAD_MM = 42.0  # room for the words and the ruler across, below the drawing
_SIDE_MM = 8.0  # room for the upright ruler
_LEAST_MM = 150.0
_RULER_MM = 102.0  # the longer of the rulers
_WORDS_MM = 20.0  # length of the strip from which it has room for its words
_EDGE_MM = 0.6  # drawn past each edge, so that a line along it is whole


@dataclass(frozen=True, slots=True)
class Window:
    """The part of a template that stands on one sheet, in the template's own millimetres."""

    left: float
    bottom: float
    width: float
    height: float
    number: int
    count: int


def template_of(job: Job) -> Template:
    """The template of a job, on the surface that the paper lies on.

    A helical gear's is the blank, a tube's the outside, else the diameter that was given. Raises GearsearchError
    where the diameter, the length or the hand is not known, and for a cam.
    """
    wanted, hand = job.checked.wanted, job.hand
    if job.is_cam:
        raise GearsearchError(
            "a template to wrap round shows a helix, and a tilted head cuts the rise of a cam, which has none",
            "ask for another picture, as in --picture train",
        )
    diameter = job.wall_mm[1] if job.wall_mm else None if wanted is None else wanted.diameter_mm
    if wanted is not None and wanted.gear is not None:
        diameter = blank_diameter_mm(wanted.gear)
    if wanted is None or diameter is None or job.length_mm is None or hand is None:
        raise GearsearchError(
            "a template to wrap round needs the lead, its hand, the diameter and the length of the cut",
            "give --lead, --hand, --diameter and --length",
        )
    starts = wanted.gear.teeth if wanted.gear else wanted.starts
    inner = float(job.wall_mm[0]) if job.wall_mm and job.flank == "end" else None
    cut_lead = float(job.checked.fit.lead_mm) if job.checked.fit.error else None
    return Template(float(wanted.work_lead_mm), hand, float(diameter), float(job.length_mm), starts, inner, cut_lead)


def template_sheet(template: Template, unit: str = "mm") -> Figure:
    """One sheet of its own size with the whole template."""
    height, margin = _height(template), papers.MARGIN_MM
    wide = max(template.around_mm + TAB_MM, _RULER_MM + 84.0) + 2 * margin + _SIDE_MM
    figure, _ = papers.blank(wide, max(height, _LEAST_MM - _HEAD_MM) + _HEAD_MM + 2 * margin)
    draw_whole(figure, template, unit)
    return figure


def template_tiles(template: Template, paper: str = "A4", unit: str = "mm") -> list[Figure]:
    """Sheets of a paper size that are put together edge to edge.

    Raises GearsearchError where more than 20 would be needed.
    """
    portrait = papers.size_mm(paper)
    size = min(portrait, portrait[::-1], key=lambda size: len(list(_windows(template, *size))))
    windows = list(_windows(template, *size))
    if len(windows) > MOST_SHEETS:
        raise GearsearchError(
            f"the template takes {len(windows)} sheets of {paper}, and at most {MOST_SHEETS} are put together",
            "write it as .svg: one sheet of its own size",
        )
    figures = []
    for window in windows:
        figure, _ = papers.blank(*size)
        _draw(figure, template, window, unit)
        figures.append(figure)
    return figures


def whole_mm(template: Template, paper: str) -> float | None:
    """How high a template stands on an upright paper [mm], rulers and words included; None where it takes several."""
    wide, high = papers.size_mm(paper)
    if len(list(_windows(template, wide, high))) > 1:
        return None
    return standing_mm(template)


def standing_mm(template: Template) -> float:
    """How high a template stands on one paper [mm], rulers and words included."""
    return max(_height(template) + _HEAD_MM, _RULER_MM)


def draw_whole(figure: Figure, template: Template, unit: str) -> None:
    """Draw a template that has room on one sheet at its foot."""
    _draw(figure, template, Window(0, 0, template.around_mm + TAB_MM, _height(template), 1, 1), unit)


def _height(template: Template) -> float:
    """How high the drawing is [mm]: the length, and the saw cut where it stands above."""
    cut = template.saw_cut()
    tops = [] if cut is None else [y for curve in template.saw_curves(cut) for _, y in curve]
    return max([template.length_mm, *tops]) + 0.5


def _windows(template: Template, width: float, height: float) -> Iterator[Window]:
    wide, high = width - 2 * papers.MARGIN_MM - _SIDE_MM, height - 2 * papers.MARGIN_MM - _HEAD_MM
    total = template.around_mm + TAB_MM, _height(template)
    across, up = math.ceil(total[0] / wide), math.ceil(total[1] / high)
    for row in range(up):
        for column in range(across):
            left, bottom = column * wide, row * high
            number = row * across + column + 1
            yield Window(left, bottom, min(wide, total[0] - left), min(high, total[1] - bottom), number, across * up)


def _draw(figure: Figure, template: Template, window: Window, unit: str) -> None:
    margin = papers.MARGIN_MM
    wide, high = window.width + 2 * _EDGE_MM, window.height + 2 * _EDGE_MM
    axes = papers.inset(figure, margin + _SIDE_MM - _EDGE_MM, margin + _HEAD_MM - _EDGE_MM, wide, high)
    left, low = window.left - _EDGE_MM, window.bottom - _EDGE_MM
    axes.set(xlim=(left, left + wide), ylim=(low, low + high))
    axes.axis("off")
    _outline(axes, template)
    for line in template.lines():
        axes.plot(*zip(*line, strict=True), color="black", lw=1.0, gid="helix")
    cut = template.saw_cut()
    if cut is not None:
        for curve in template.saw_rounds(cut):
            axes.plot(*zip(*curve, strict=True), color="black", lw=0.7, ls=(0, (1, 3)), gid="saw-on")
        for curve in template.saw_curves(cut):
            axes.plot(*zip(*curve, strict=True), color="white", lw=2.5)
            axes.plot(*zip(*curve, strict=True), color="black", lw=0.9, ls=(0, (6, 3)), gid="saw")
    _edges(figure.axes[0], window)
    _words(figure, template, cut, window, unit)
    _rulers(figure.axes[0], unit)


def _outline(axes: Axes, template: Template) -> None:
    around, length = template.around_mm, template.length_mm
    axes.plot([0, around, around, 0, 0], [0, 0, length, length, 0], color="black", lw=0.6, gid="outline")
    axes.plot([around + TAB_MM] * 2, [0, length], color="black", lw=0.5, ls=":")
    if length >= _WORDS_MM:
        middle = around + TAB_MM / 2, length / 2
        axes.text(*middle, "under the\nother edge", rotation=90, ha="center", va="center", fontsize=9, clip_on=True)


def _edges(page: Axes, window: Window) -> None:
    """Where a sheet of several is cut and laid against the next."""
    if window.count == 1:
        return
    x, y = papers.MARGIN_MM + _SIDE_MM, papers.MARGIN_MM + _HEAD_MM
    xs, ys = [x, x + window.width, x + window.width, x, x], [y, y, y + window.height, y + window.height, y]
    page.plot(xs, ys, color="0.5", lw=0.4)


def _words(figure: Figure, template: Template, cut: SawCut | None, window: Window, unit: str) -> None:
    def said(mm: float) -> str:
        return format_length(Fraction(mm), unit)

    starts = f", {template.starts} starts" if template.starts > 1 else ""
    angle = math.degrees(math.atan(template.rise))
    lines = [
        f"Wrap round diameter {said(template.diameter_mm)}, printed side out: "
        f"{template.hand} hand, lead {said(template.lead_mm)}{starts}",
        f"full line: the helix, helix angle {90 - angle:.2f}° from the axis, lead angle {angle:.2f}° square to it on "
        f"this surface; once around is {said(template.around_mm)}",
        "the strip with the dotted edge goes under the other edge",
    ]
    if template.inner_mm is not None:
        lines[2] += "; the end of the work is up"
    if template.cut_lead_mm is not None:
        side = "right" if template.beside_mm > 0 else "left"
        lines.append(
            f"this is the wanted lead: the train cuts {said(template.cut_lead_mm)}, at the upper end its line lies "
            f"{said(abs(template.beside_mm))} to the {side}"
        )
    if cut is not None:
        lines.append(
            f"dashes: a flat saw cut {cut.angle_deg:.1f}° from square, {said(CLEAR_MM)} clear of the ramp at least"
        )
        lines.append("dots: where the same cut goes on round the tube: stop short of them where the tube must stay")
    if window.count > 1:
        lines.append(
            f"sheet {window.number} of {window.count}, row by row from below: cut at the thin frame, lay edge to edge"
        )
    left, top = papers.MARGIN_MM + _SIDE_MM, papers.MARGIN_MM + _HEAD_MM - 2
    room = figure.get_size_inches()[0] * papers.INCH_MM - left - papers.MARGIN_MM
    told = "\n".join(broken(lines, room, _TYPE, hanging="   "))
    figure.axes[0].text(left, top, told, fontsize=_TYPE, va="top", linespacing=1.15)


def _rulers(page: Axes, unit: str) -> None:
    """A known length each way, in the shop's unit, to check what the printer did."""
    count, step = RULER[unit]
    part = float(UNIT_MM[unit])
    left, low, long = papers.MARGIN_MM, papers.MARGIN_MM - 2, count * part
    page.plot([left, left + long], [low, low], color="black", lw=0.8, gid="ruler-across")
    page.plot([left, left], [low, low + long], color="black", lw=0.8, gid="ruler-up")
    for number in range(round(count / step) + 1):
        mm = number * step * part
        page.plot([left + mm] * 2, [low, low + 2], color="black", lw=0.6)
        page.plot([left, left + 2], [low + mm] * 2, color="black", lw=0.6)
    words = f"{count} {unit} both ways? If not, print it again at 100 %"
    page.text(left + long + 2, low + 4, words, fontsize=_TYPE, va="center")
