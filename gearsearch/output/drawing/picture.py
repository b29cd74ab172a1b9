"""The train to scale, as it stands on the quadrant; with the optional extra ``draw`` (matplotlib)."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from ...base.errors import GearsearchError
from ...mounting.placement import Names, Placement, placement_lines
from ...search.checked import CheckResult
from ...sheet.stacked import NARROW, in_planes
from ...shop.quadrant import Quadrant
from . import papers
from .flow import broken
from .marks import LINE, Mark, Round, Words, box_of
from .papers import POINT_MM, measure
from .train_view import PLANES, TrainView

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

SCALES = (1.0, 1.25, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0, 15.0, 20.0, 30.0, 50.0, 100.0)  # for a rule
_SEEN, _LEGEND, _PLANES = 11.0, 10.0, 10.0  # type of the lines above, of those below, and of the gear planes [points]
_CLOSE, _LINE_OF_TYPE = 1.05, 1.2  # between lines, and of a line of type for its size
_LEAST_BESIDE_MM = 62.0
_FAR_SMALLER = 2  # times
_USUAL_SHARE, _TITLE_MM = 0.68, 11.0  # of the paper's height; for the title of a picture
_BESIDE = 9.5  # type of all that stands beside the picture on the sheet [points]
_LETTER, _MONOSPACED = (
    0.58,
    0.603,
)  # width of a letter for the size of its type: of words, about, and of plain characters
DASHES = {"dashed": (6.0, 2.4), "dotted": (1.3, 1.9), "chain": (8.0, 2.0, 1.5, 2.0)}  # [points]
Area = tuple[float, float, float, float]  # left, bottom, width, height [mm of paper]


def train_figure(checked: CheckResult, paper: str = "A4") -> Figure:
    """A sheet as wide as the paper with the train to scale and the lines by which its studs are set.

    Parameters
    ----------
    checked : the train as ``check`` judged it
    paper : ``A4`` or ``Letter``

    Raises GearsearchError where the train has no places to draw (it does not mount, or the shop file has no
    quadrant).
    """
    margin, (width, high) = papers.MARGIN_MM, papers.size_mm(paper)
    for height in (_USUAL_SHARE * high, high):
        drawn = _drawn(checked, width - 2 * margin, height - 2 * margin)
        if not drawn.view.brief:
            break
    figure, _ = papers.blank(width, height)
    _draw_train(figure, (margin, margin, width - 2 * margin, height - 2 * margin), checked, drawn)
    return figure


@dataclass(frozen=True, slots=True)
class _Drawn:
    """A view with what is said above and below it, and how large it is on paper [mm]."""

    view: TrainView
    room: tuple[float, float]
    above: list[str]
    below: list[str]


def _drawn(checked: CheckResult, width: float, height: float) -> _Drawn:
    """What has room in a part of a sheet [mm]."""
    placement, quadrant, names = placed(checked)
    planes = in_planes(checked, NARROW)
    above = broken([*seen_from(placement, quadrant), _short(placement)], width, _SEEN)
    below = broken(legend(placement, quadrant, names), width - _wide(planes) - 6, _LEGEND, hanging="    ")
    foot = max(_high(below, _LEGEND), _high(planes, _PLANES))
    room = width, height - foot - _high(["", *above], _SEEN) - _TITLE_MM - 3
    return _Drawn(with_distances(placement, quadrant, names, room), room, above, below)


def _draw_train(figure: Figure, area: Area, checked: CheckResult, drawn: _Drawn) -> None:
    """Draw a train into a part of a sheet: heading, picture, legend."""
    left, bottom, width, height = area
    planes, page = in_planes(checked, NARROW), figure.axes[0]
    page.text(left, bottom, "\n".join(drawn.below), fontsize=_LEGEND, va="bottom", linespacing=LINE)
    at, apart = (left + width - _wide(planes), bottom), _kept_apart(planes)
    page.text(*at, apart, va="bottom", family="monospace", fontsize=_PLANES, linespacing=LINE)
    top = bottom + height - _high(["", *drawn.above], _SEEN) - _TITLE_MM
    axes = papers.inset(figure, left, top - drawn.room[1], *drawn.room)
    _draw_all(axes, drawn.view, drawn.room)
    hand = f", {checked.fit.hand} hand" if checked.fit.hand else ""
    title = f"{checked.fit.train}{hand}"
    page.text(left, bottom + height - 1, title, fontsize=_title_size(title, width), weight="bold", va="top")
    lines = [f"scale 1 : {drawn.view.paper:g}", *drawn.above]
    page.text(left, bottom + height - 9.5, "\n".join(lines), fontsize=_SEEN, va="top", linespacing=LINE)


def _wide(planes: list[str]) -> float:
    """How wide plain characters are below the picture [mm]."""
    return max(map(len, planes)) * _PLANES * _MONOSPACED * POINT_MM


def draw_beside(figure: Figure, area: Area, checked: CheckResult) -> None:
    """Draw the train into a part of a sheet, and at its right the same train plane by plane, with how it is seen.

    Parameters
    ----------
    figure : sheet made by ``papers.blank``
    area : left, bottom, width, height of the part [mm]
    checked : the train as ``check`` judged it

    Raises GearsearchError as ``train_figure`` does.
    """
    placement, quadrant, names = placed(checked)
    left, bottom, width, height = area
    planes = in_planes(checked, NARROW)
    beside = _width_beside(planes)
    room = width - beside - 4, height
    view = fitting(placement, quadrant, names, room, brief=True)
    _draw_all(papers.inset(figure, left, bottom, *room), view, room)
    page, at = figure.axes[0], left + width - beside
    top, apart = bottom + height - 1, _kept_apart(planes)
    page.text(at, top, apart, va="top", family="monospace", weight="bold", fontsize=_BESIDE, linespacing=_CLOSE)
    told = _said_beside(checked, f"scale 1 : {view.paper:g}")
    page.text(at, bottom + 1, "\n".join(told), fontsize=_BESIDE, va="bottom", linespacing=_CLOSE)


def draw_large(figure: Figure, area: Area, checked: CheckResult) -> None:
    """Draw the train once more into a part of a sheet, as large as there is room, under how it is seen.

    Parameters as of ``draw_beside``; it raises as that does.
    """
    placement, quadrant, names = placed(checked)
    left, bottom, width, height = area
    lines = broken(seen_from(placement, quadrant), width, _SEEN)
    room = width, height - 8 - _high(lines, _SEEN)
    view = fitting(placement, quadrant, names, room, brief=True)
    _draw_all(papers.inset(figure, left, bottom, *room), view, room)
    page, top = figure.axes[0], bottom + height
    page.text(left, top, f"The train at 1 : {view.paper:g}", fontsize=13, weight="bold", va="top")
    page.text(left, top - 7, "\n".join(lines), fontsize=_SEEN, va="top", linespacing=LINE)


def _kept_apart(lines: list[str]) -> str:
    """Lines whose blanks stay: a browser draws several in a row as one, but for those that do not break."""
    return "\n".join(lines).replace(" ", "\N{NO-BREAK SPACE}")


def beside_mm(checked: CheckResult) -> float:
    """How high what stands at the right of the picture on a sheet is [mm]."""
    lines = len(in_planes(checked, NARROW)) + len(_said_beside(checked, "scale 1 : 2.5"))
    return (lines + 1) * _BESIDE * POINT_MM * _CLOSE * _LINE_OF_TYPE


def _width_beside(planes: list[str]) -> float:
    """How wide plain characters are beside the picture on a sheet [mm], and at least what is said under them."""
    return max(_LEAST_BESIDE_MM, max(map(len, planes)) * _BESIDE * _MONOSPACED * POINT_MM)


def _said_beside(checked: CheckResult, scale: str) -> list[str]:
    """How the picture is seen, in lines that have room beside it."""
    placement, quadrant, _ = placed(checked)
    planes = {wheel.plane for wheel in placement.wheels}
    strokes = ", ".join(f"{plane + 1} {PLANES[plane % len(PLANES)]}" for plane in sorted(planes))
    keyed = ["| in mesh, = keyed together"] if len(planes) > 1 else []
    said = [*keyed, scale + (f"; plane {strokes}" if len(planes) > 1 else "")]
    if placement.studs:
        said.append("+ swing is up" + ("; or all of it down" if quadrant.same_both_ways else ""))
    return broken([*said, _short(placement)], _width_beside(in_planes(checked, NARROW)), _BESIDE, hanging="  ")


def draw_view(axes: Axes, checked: CheckResult, room: tuple[float, float]) -> None:
    """Draw the train alone into the middle of axes that measure ``room`` on paper [mm], in the machine's millimetres.

    Raises GearsearchError as ``train_figure`` does.
    """
    placement, quadrant, names = placed(checked)
    _draw_all(axes, fitting(placement, quadrant, names, room), room)


def placed(checked: CheckResult) -> tuple[Placement, Quadrant, Names]:
    """Where a train stands, on what, and what the shafts are called. Raises GearsearchError where no place is known."""
    placement, quadrant = checked.fit.placement, checked.shop.quadrant
    if placement is None or quadrant is None:
        raise GearsearchError(
            f"{checked.fit.train} cannot be drawn to scale, for its mounting is judged: {checked.fit.mounts}",
            "take a train that mounts, on a shop file with a quadrant",
        )
    return placement, quadrant, Names(checked.shop, checked.route, len(placement.studs))


def _high(lines: list[str], size: float) -> float:
    """Height of lines in a size of type [mm]."""
    return 1.2 * LINE * size * POINT_MM * len(lines)


def _title_size(text: str, width: float) -> float:
    """The largest type in which a title fits [points]."""
    wide, size = measure(), 17.0
    while size > 8 and wide(text, size, True) > width:
        size -= 0.5
    return size


def fitting(
    placement: Placement,
    quadrant: Quadrant,
    names: Names,
    room: tuple[float, float],
    *,
    brief: bool = False,
    scales: Sequence[float] = SCALES,
) -> TrainView:
    """The view at the largest of some scales at which all of it fits; the reach of a plate may be cut off at the frame.

    Where it fits at none, it is the smallest view.
    """
    gears = [Round((wheel.x_mm, wheel.y_mm), wheel.tip_radius_mm) for wheel in placement.wheels]
    for scale in scales:
        view = TrainView(placement, quadrant, names, scale, brief)
        if fits(gears, scale, room) and fits(kept(view.marks()), scale, room):
            break
    return view


def with_distances(placement: Placement, quadrant: Quadrant, names: Names, room: tuple[float, float]) -> TrainView:
    """The view with the distances of the studs drawn, unless there are so many that the gears would be far smaller."""
    brief = fitting(placement, quadrant, names, room, brief=True)
    scales = [scale for scale in SCALES if brief.paper <= scale <= _FAR_SMALLER * brief.paper]
    full = fitting(placement, quadrant, names, room, scales=scales)
    return full if fits(kept(full.marks()), full.paper, room) else brief


def fits(marks: Iterable[Mark], scale: float, room: tuple[float, float]) -> bool:
    """Whether marks have room on paper [mm], where one millimetre of it shows so many of theirs."""
    (x0, y0), (x1, y1) = box_of(marks, scale)
    return (x1 - x0) / scale <= room[0] and (y1 - y0) / scale <= room[1]


def kept(marks: list[Mark]) -> list[Mark]:
    """What must not be cut off."""
    return [mark for mark in marks if isinstance(mark, Words) or not mark.name.startswith("reach")]


def _draw_all(axes: Axes, view: TrainView, room: tuple[float, float]) -> None:
    """Draw a view into the middle of axes that measure ``room`` on paper, in the machine's own millimetres."""
    marks = view.marks()
    draw_marks(axes, marks, kept(marks), view.paper, room)


def draw_marks(axes: Axes, marks: list[Mark], kept: list[Mark], paper: float, room: tuple[float, float]) -> None:
    """Draw marks in the machine's own millimetres.

    Parameters
    ----------
    axes : what to draw into
    marks, kept : all marks, and those that must stand in the middle of the axes
    paper : how many millimetres one millimetre of the paper shows
    room : width and height of the axes on paper [mm]
    """
    (x0, y0), (x1, y1) = box_of(kept, paper)
    half = room[0] * paper / 2, room[1] * paper / 2
    axes.set(xlim=((x0 + x1) / 2 - half[0], (x0 + x1) / 2 + half[0]))
    axes.set(ylim=((y0 + y1) / 2 - half[1], (y0 + y1) / 2 + half[1]))
    axes.axis("off")
    for order, mark in enumerate(marks, 1):
        _draw(axes, mark, paper, order)


def _draw(axes: Axes, mark: Mark, paper: float, order: int) -> None:
    from matplotlib.patches import Circle, Polygon

    if isinstance(mark, Words):
        _draw_words(axes, mark, paper, order)
        return
    dashes = tuple(points / mark.weight for points in DASHES.get(mark.stroke, ()))  # they are taken times the weight
    style = {
        "facecolor": "none" if mark.fill is None else str(mark.fill),
        "edgecolor": "black",
        "linewidth": mark.weight,
        "linestyle": (0, dashes) if dashes else "solid",
        "zorder": order,
        "gid": mark.name or None,
    }
    if isinstance(mark, Round):
        axes.add_patch(Circle(mark.at, mark.radius, hatch="////" if mark.hatched else None, **style))
    else:
        axes.add_patch(Polygon(mark.points, closed=mark.closed, joinstyle="miter", capstyle="butt", **style))


def _draw_words(axes: Axes, mark: Words, paper: float, order: int) -> None:
    """Words on a white ground, the second line under the first, both about the middle."""
    for text, size, bold, middle in mark.lines(paper):
        axes.text(
            mark.at[0],
            middle,
            text,
            fontsize=size,
            weight="bold" if bold else "normal",
            ha="center",
            va="center",
            rotation=mark.turned,
            bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.5},
            zorder=order,
        )


def legend(placement: Placement, quadrant: Quadrant, names: Names) -> list[str]:
    """The lines by which studs are set, and what the strokes mean."""
    planes = "planes: | in mesh, = keyed together"
    return [*placement_lines(placement, names), *strokes(placement, quadrant, names), planes]


def strokes(placement: Placement, quadrant: Quadrant, names: Names) -> list[str]:
    """How far the studs can go, and what the strokes mean."""
    near, far = (names.length(float(reach)) for reach in quadrant.bracket.reach_mm)
    low, high = (f"{float(swing):+g}°" for swing in quadrant.swing_deg)
    limits = f"studs can stand {near} to {far} from the pivot, swing {low} to {high}"
    return [
        *([limits] if placement.studs else []),
        "rims and the arrows to them: plane 1 solid, 2 dashed, 3 dotted",
        "arrows round the shafts: when the first turns clockwise as seen here",
    ]


def seen_from(placement: Placement, quadrant: Quadrant) -> list[str]:
    """From which side the picture is seen: the shop file counts swing to one side of the line of the shafts as plus."""
    if not placement.studs:
        return ["seen along the shafts"]
    seen = (
        "seen along the shafts, the pivot on the left, from the end from which plus swing, as it was measured for the "
        "shop file, goes up; from the other end all is mirrored"
    )
    either = "the quadrant is the same both ways: the studs may stand on either side of the line of the shafts"
    return [seen, either] if quadrant.same_both_ways else [seen]


def _short(placement: Placement) -> str:
    return "nothing near" if placement.clearance_mm is None else placement.tightest
