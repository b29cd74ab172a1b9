"""A bracket to scale before any gear is on it, seen in its own frame: pivot, slots and how many studs each takes."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from fractions import Fraction
from math import hypot
from typing import TYPE_CHECKING

from ...base.errors import GearsearchError
from ...base.units import UNIT_MM, decimal, format_length
from ...shop.brackets.slots import SlotLine
from ...shop.quadrant import Quadrant
from ...shop.shop import Shop
from . import papers
from .labels import Labels, Place
from .marks import Mark, Point, Round, Stroke, Words, arc, away, line
from .picture import SCALES, draw_marks, fits
from .slots import lines_of, middle_of, slot_outline

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

_SMALL = 7.5  # type [points]
_OUT = (4, 8, 12, 16, 21, 28, 36, 45, 56)  # how far out words may stand on a leader [mm of paper]
_APART = 1.2  # from words to what they belong to [mm of paper]
_REACH = ("nearest", "farthest")


def bracket_marks(shop: Shop, quadrant: Quadrant, paper: float) -> list[Mark]:
    """The bracket with the pivot at the origin and its x axis to the right; words lie on nothing (``labels.py``).

    Parameters
    ----------
    shop, quadrant : whose; lengths are told in the shop's unit
    paper : how many of its millimetres one millimetre of the paper shows
    """
    nut, stud = (float(quadrant.nut_radius_mm.get(place, 10)) for place in (quadrant.pivot, "stud"))
    far, slots = float(quadrant.bracket.reach_mm[1]), lines_of(quadrant)
    drawn: list[Mark] = [
        Round((0, 0), nut, name="pivot"),
        line((-1.5 * nut, 0), (far + 2 * stud, 0), stroke="chain", weight=0.4),
        line((0, -1.5 * nut), (0, 1.5 * nut), stroke="chain", weight=0.4),
    ]
    half = 0.45 * stud
    for number, slot in enumerate(slots, 1):
        outline = slot_outline(slot, half)
        drawn.append(Stroke((*outline, outline[0]), weight=0.8, closed=True, name=f"slot-{number}"))
        drawn += [Round(_point(end), 0.8 * paper, fill=0.0) for end in (slot.start_mm, slot.end_mm)]
    drawn += [] if slots else _reach(quadrant)
    labels = Labels(paper)
    for mark in drawn:
        labels.take(mark)
    told = _slot_words(slots, shop, half, paper) if slots else _reach_words(quadrant, shop, paper)
    return [*drawn, *(mark for words, places, rim in told for mark in labels.put(words, places, rim))]


def _slot_words(
    slots: Sequence[SlotLine], shop: Shop, half: float, paper: float
) -> Iterator[tuple[Words, Iterable[Place], Round]]:
    """What stands at each slot, and where it may: where its ends are, which it is and how many studs it takes."""
    for slot in slots:
        for end in (slot.start_mm, slot.end_mm):
            told = ", ".join(decimal(part / UNIT_MM[shop.units]) for part in end)
            words = Words((0, 0), told, _SMALL)
            yield words, _round_about(_point(end), half, words, paper), Round(_point(end), 0.8 * paper)
    for number, slot in enumerate(slots, 1):
        words = Words((0, 0), f"slot {number}: {slot.studs} stud{'s' if slot.studs > 1 else ''}", _SMALL)
        yield words, _round_about(middle_of(slot), half, words, paper), Round(middle_of(slot), half)


def _reach(quadrant: Quadrant) -> Iterator[Stroke]:
    """How near to the pivot of a plate a stud stands, and how far."""
    low, high = map(float, quadrant.swing_deg)
    for reach, name in zip(quadrant.bracket.reach_mm, _REACH, strict=True):
        yield Stroke(arc((0, 0), float(reach), low, high), "dotted", 0.7, name=name)


def _reach_words(quadrant: Quadrant, shop: Shop, paper: float) -> Iterator[tuple[Words, Iterable[Place], Round]]:
    """What stands at each of those arcs, and where it may: outside it, from its middle to its ends."""
    low, high = map(float, quadrant.swing_deg)
    for reach, name in zip(quadrant.bracket.reach_mm, _REACH, strict=True):
        words = Words((0, 0), f"{name} {format_length(reach, shop.units)}", _SMALL)
        ways = [low + (high - low) * share / 40 for share in sorted(range(41), key=lambda share: abs(share - 20))]
        places = [(_beyond((0, 0), float(reach), way, words, paper), False, 0.0) for way in ways]
        yield words, places, Round((0, 0), float(reach))


def _round_about(at: Point, radius: float, words: Words, paper: float) -> Iterator[Place]:
    """Places for words round a point, the nearest first: below and above, then all round, farther out on a leader."""
    for out in (0.0, *_OUT):
        for way in sorted(range(-90, 270, 15), key=lambda way: (way % 180 != 90, abs(way))):
            yield _beyond(at, radius + out * paper, way, words, paper), out > 0, 0.0


def _beyond(at: Point, radius: float, way: float, words: Words, paper: float) -> Point:
    """Where the middle of words is that lie just outside a circle, in one direction [degrees]."""
    wide, high = words.size_mm(paper)
    reach = hypot(wide / 2, high / 2) if way % 90 else (wide if way % 180 == 0 else high) / 2
    return away(at, radius + reach + _APART * paper, way)


def _point(place: tuple[Fraction, Fraction]) -> Point:
    return float(place[0]), float(place[1])


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
    unit = {"in": "inches"}.get(shop.units, shop.units)
    ends = f"dots: a stud at the ends of a slot, x and y in {unit}"
    meant = ends if lines_of(quadrant) else "dotted: where a stud stands nearest to the pivot and farthest from it"
    told = f"scale 1 : {scale:g}; circle: the pivot, at the {quadrant.pivot} shaft; {meant}"
    page.text(margin, high - margin - 8, told, fontsize=8, va="top")
    return figure


def draw_bracket(axes: Axes, shop: Shop, room: tuple[float, float]) -> float:
    """Draw the bracket alone into the middle of axes that measure ``room`` on paper [mm], in its own millimetres.

    Returns how many of them one millimetre of the paper shows. Raises GearsearchError as ``bracket_figure``.
    """
    quadrant = _measured(shop)
    for scale in SCALES:
        marks = bracket_marks(shop, quadrant, scale)
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
