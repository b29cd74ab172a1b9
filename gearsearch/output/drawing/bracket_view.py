"""A bracket to scale before any gear is on it, seen in its own frame: pivot, slots and how many studs each takes."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ...base.errors import GearsearchError
from ...base.units import UNIT_MM, format_length
from ...shop.quadrant import Quadrant
from ...shop.shop import Shop
from . import papers
from .marks import Mark, Round, Stroke, Words, arc, away, line
from .picture import SCALES, draw_marks, fits
from .slots import lines_of, middle_of, slot_outline

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

_SMALL = 7.5  # type [points]


def bracket_marks(shop: Shop, quadrant: Quadrant, paper: float) -> Iterator[Mark]:
    """The bracket with the pivot at the origin and its x axis to the right.

    Parameters
    ----------
    shop, quadrant : whose; lengths are told in the shop's unit
    paper : how many of its millimetres one millimetre of the paper shows
    """
    nut, stud = (float(quadrant.nut_radius_mm.get(place, 10)) for place in (quadrant.pivot, "stud"))
    near, far = map(float, quadrant.bracket.reach_mm)
    yield Round((0, 0), nut, name="pivot")
    yield line((-1.5 * nut, 0), (far + 2 * stud, 0), stroke="chain", weight=0.4)
    yield line((0, -1.5 * nut), (0, 1.5 * nut), stroke="chain", weight=0.4)
    slots = lines_of(quadrant)
    for number, slot in enumerate(slots, 1):
        yield Stroke(slot_outline(slot, 0.45 * stud), weight=0.8, closed=True, name=f"slot-{number}")
        x, y = middle_of(slot)
        text = f"slot {number}: {slot.studs} stud{'s' if slot.studs > 1 else ''}"
        yield Words((x, y + 0.45 * stud + 4 * paper), text, _SMALL)
        for point in (slot.start_mm, slot.end_mm):
            at = (float(point[0]), float(point[1]))
            yield Round(at, 0.8 * paper, fill=0.0)
            told = ", ".join(f"{float(part / UNIT_MM[shop.units]):.4g}" for part in point)
            yield Words((at[0], at[1] - 0.45 * stud - 4 * paper), told, _SMALL)
    if not slots:
        low, high = map(float, quadrant.swing_deg)
        for radius, name in ((near, "nearest"), (far, "farthest")):
            yield Stroke(arc((0, 0), radius, low, high), "dotted", 0.7, name=name)
            told = f"{name} {format_length(quadrant.bracket.reach_mm[name == 'farthest'], shop.units)}"
            yield Words(away((0, 0), radius, (low + high) / 2), told, _SMALL)


def bracket_figure(shop: Shop, paper: str = "A4") -> Figure:
    """A sheet as wide as the paper with the bracket of a shop at the largest usual scale.

    Parameters
    ----------
    shop : whose
    paper : ``A4`` or ``Letter``

    Raises GearsearchError where the shop file has no measured quadrant.
    """
    quadrant = _measured(shop)
    width, high = papers.size_mm(paper)[0], papers.size_mm(paper)[1] * 0.5
    figure, page = papers.blank(width, high)
    margin = papers.MARGIN_MM
    room = width - 2 * margin, high - 2 * margin - 18
    scale = draw_bracket(papers.inset(figure, margin, margin, *room), shop, room)
    head = f"The quadrant of {shop.name}"
    page.text(margin, high - margin, head, fontsize=13, weight="bold", va="top")
    told = f"scale 1 : {scale:g}; pivot: the {quadrant.pivot} shaft; dots: a stud at the ends, x and y in {shop.units}"
    page.text(margin, high - margin - 8, told, fontsize=8, va="top")
    return figure


def draw_bracket(axes: Axes, shop: Shop, room: tuple[float, float]) -> float:
    """Draw the bracket alone into the middle of axes that measure ``room`` on paper [mm], in its own millimetres.

    Returns how many of them one millimetre of the paper shows. Raises GearsearchError as ``bracket_figure``.
    """
    quadrant = _measured(shop)
    for scale in SCALES:
        marks = list(bracket_marks(shop, quadrant, scale))
        if fits(marks, scale, room):
            break
    draw_marks(axes, marks, marks, scale, room)
    return scale


def _measured(shop: Shop) -> Quadrant:
    quadrant = shop.quadrant
    if quadrant is None or not shop.has_geometry:
        raise GearsearchError(
            "there is no measured quadrant to draw", "gearsearch shop measure says what to measure", code="no-quadrant"
        )
    return quadrant
