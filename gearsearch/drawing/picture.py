"""The train to scale, as it stands on the quadrant; with the optional extra ``draw`` (matplotlib)."""

from __future__ import annotations

from textwrap import fill
from typing import Any

from ..check import Checked
from ..errors import GearsearchError
from ..mounting.placement import Names, Placement
from ..report import placement_lines
from ..shop import Quadrant
from . import papers
from .marks import Mark, Round, Words, box_of
from .trainview import TrainView

SCALES = (1.0, 1.25, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0, 15.0, 20.0, 30.0, 50.0, 100.0)  # for a rule
_DASHES = {"dashed": (6.0, 2.4), "dotted": (1.3, 1.9), "chain": (8.0, 2.0, 1.5, 2.0)}  # [points]
Area = tuple[float, float, float, float]  # left, bottom, width, height [mm of paper]


def train_figure(checked: Checked, paper: str = "A4") -> Any:
    """A sheet as wide as the paper with the train to scale and the lines by which its studs are set.

    Parameters
    ----------
    checked : the train as ``check`` judged it
    paper : ``A4`` or ``Letter``

    Raises GearsearchError where the train has no places to draw (it does not mount, or the shop file has no
    quadrant).
    """
    width, height = papers.PAPERS_MM[paper]
    figure, _ = papers.blank(width, height * 0.68)
    margin = papers.MARGIN_MM
    draw_train(figure, (margin, margin, width - 2 * margin, height * 0.68 - 2 * margin), checked)
    return figure


def draw_train(figure: Any, area: Area, checked: Checked) -> None:
    """Draw the train into a part of a sheet: heading, picture at the largest usual scale that fits, legend.

    Parameters
    ----------
    figure : sheet made by ``papers.blank``
    area : left, bottom, width, height of the part [mm]
    checked : the train as ``check`` judged it

    Raises GearsearchError as ``train_figure`` does.
    """
    placement, quadrant = checked.fit.placement, checked.shop.quadrant
    if placement is None or quadrant is None:
        raise GearsearchError(
            f"{checked.fit.train} cannot be drawn to scale, for its mounting is judged: {checked.fit.mounts}",
            "take a train that mounts, on a shop file with a quadrant",
        )
    left, bottom, width, height = area
    page, legend = figure.axes[0], _legend(checked, placement, quadrant, int(width / 1.75))
    foot = 4.2 * (legend.count("\n") + 1)
    page.text(left, bottom, legend, fontsize=8.5, va="bottom", linespacing=1.35)
    room = width, height - foot - 16
    names = Names(checked.shop, checked.route, len(placement.studs))
    view = _fitting(placement, quadrant, names, room)
    axes = papers.inset(figure, left, bottom + foot + 2, *room)
    _draw_all(axes, view, room)
    hand = f", {checked.fit.hand} hand" if checked.fit.hand else ""
    page.text(left, bottom + height - 1, f"{checked.fit.train}{hand}", fontsize=17, weight="bold", va="top")
    seen = f"seen along the shafts, scale 1 : {view.paper:g}; {_short(placement)}"
    page.text(left, bottom + height - 9.5, seen, fontsize=9.5, va="top")


def _fitting(placement: Placement, quadrant: Quadrant, names: Names, room: tuple[float, float]) -> TrainView:
    """The view at the largest usual scale at which all of it fits; reach and castings may be cut off at the frame."""
    for scale in SCALES:
        view = TrainView(placement, quadrant, names, scale)
        (x0, y0), (x1, y1) = box_of(_kept(view.marks()), scale)
        if (x1 - x0) / scale <= room[0] and (y1 - y0) / scale <= room[1]:
            break
    return view


def _kept(marks: list[Mark]) -> list[Mark]:
    """What must not be cut off."""
    return [mark for mark in marks if isinstance(mark, Words) or not mark.name.startswith(("reach", "obstacle"))]


def _draw_all(axes: Any, view: TrainView, room: tuple[float, float]) -> None:
    """Draw a view into the middle of axes that measure ``room`` on paper, in the machine's own millimetres."""
    marks = view.marks()
    (x0, y0), (x1, y1) = box_of(_kept(marks), view.paper)
    half = room[0] * view.paper / 2, room[1] * view.paper / 2
    axes.set(xlim=((x0 + x1) / 2 - half[0], (x0 + x1) / 2 + half[0]))
    axes.set(ylim=((y0 + y1) / 2 - half[1], (y0 + y1) / 2 + half[1]))
    axes.axis("off")
    for order, mark in enumerate(marks, 1):
        _draw(axes, mark, order)


def _draw(axes: Any, mark: Mark, order: int) -> None:
    from matplotlib.patches import Circle, Polygon

    if isinstance(mark, Words):
        axes.text(
            *mark.at,
            mark.text,
            fontsize=mark.size,
            weight="bold" if mark.bold else "normal",
            ha="center",
            va="center",
            rotation=mark.turned,
            bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.8},
            zorder=order,
        )
        return
    dashes = tuple(points / mark.weight for points in _DASHES.get(mark.stroke, ()))  # they are taken times the weight
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


def _legend(checked: Checked, placement: Placement, quadrant: Quadrant, columns: int) -> str:
    """What the picture shows, as the lines by which studs are set."""
    names = Names(checked.shop, checked.route, len(placement.studs))
    near, far = (names.length(float(reach)) for reach in quadrant.reach_mm)
    low, high = (f"{float(swing):+g}°" for swing in quadrant.swing_deg)
    lines = [
        *placement_lines(placement, names),
        "tips: plane 1 (the first driver's) drawn out, plane 2 in dashes, plane 3 in dots; idlers in brackets",
        *(
            [f"studs can stand {near} to {far} from the pivot, swing {low} to {high}; + is up"]
            if placement.studs
            else []
        ),
        "arrows: when the first shaft turns clockwise in this view",
    ]
    return "\n".join(fill(line, columns, subsequent_indent="    ") for line in lines)


def _short(placement: Placement) -> str:
    return "nothing near" if placement.clearance_mm is None else placement.tightest
