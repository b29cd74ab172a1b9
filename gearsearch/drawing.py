"""The train to scale, as it stands on the quadrant; with the optional extra ``draw`` (matplotlib)."""

from __future__ import annotations

from math import atan2, cos, degrees, hypot, pi, radians, sin
from pathlib import Path
from textwrap import fill
from typing import Any

from .check import Checked
from .errors import GearsearchError
from .placement import Names, Placement, Wheel
from .report import placement_lines
from .shop import PLACES, Quadrant

ENDINGS = (".svg", ".png", ".pdf")
PAPERS_MM = {"A4": (210.0, 297.0), "Letter": (215.9, 279.4)}
_PLANE_STYLES = ("-", (0, (6, 2)), (0, (2, 2)))


def draw_train(checked: Checked, target: Path, ending: str, paper: str = "A4") -> None:
    """Draw a train that was judged by geometry: tips, pitch circles, nuts, studs, slot, reach, and where to set them.

    Parameters
    ----------
    checked : the train as ``check`` judged it
    target : the file to write
    ending : ``.svg``, ``.png`` or ``.pdf``
    paper : ``A4`` or ``Letter``; the picture is as wide as fits, its scale is printed on it

    The same input gives the same bytes. Raises GearsearchError where matplotlib is missing, and where the train has
    no places to draw (it does not mount, or the shop file has no quadrant).
    """
    placement, quadrant = checked.fit.placement, checked.shop.quadrant
    if placement is None or quadrant is None:
        raise GearsearchError(
            f"{checked.fit.train} has no places to draw: mounting is judged {checked.fit.mounts}",
            "take a train that mounts, on a shop file with a quadrant",
        )
    pyplot = _pyplot()
    width, height = (side / 25.4 for side in PAPERS_MM[paper])
    figure = pyplot.figure(figsize=(width - 0.8, height * 0.6))
    axes = figure.add_axes((0.02, 0.17, 0.96, 0.72))
    _draw(axes, placement, quadrant)
    scale = _scale(axes, figure)
    figure.text(0.02, 0.955, f"{checked.fit.train}    {checked.fit.hand or ''} hand", fontsize=15, weight="bold")
    figure.text(0.02, 0.915, f"seen along the shafts, {scale}; {_short(placement)}", fontsize=9)
    figure.text(0.02, 0.02, _legend(checked, placement), fontsize=8, va="bottom", linespacing=1.4)
    metadata = {".pdf": {"CreationDate": None, "ModDate": None}, ".svg": {"Date": None}, ".png": {"Software": None}}
    figure.savefig(target, format=ending[1:], dpi=150, metadata=metadata[ending])
    pyplot.close(figure)


def _pyplot() -> Any:
    try:
        import matplotlib as mpl
    except ImportError:
        raise GearsearchError(
            "pictures need matplotlib, which is not installed", "install gearsearch[draw], or write the sheet as .md"
        ) from None
    mpl.use("Agg")
    mpl.rcParams["svg.hashsalt"] = "gearsearch"
    mpl.rcParams["svg.fonttype"] = "none"
    from matplotlib import pyplot

    return pyplot


def _draw(axes: Any, placement: Placement, quadrant: Quadrant) -> None:
    axes.set_aspect("equal")
    axes.axis("off")
    _bracket(axes, placement, quadrant)
    for wheel in placement.wheels:
        _gear(axes, wheel, len(placement.studs) + 1)
    for shaft, at in _centres(placement).items():
        _shaft(axes, shaft, at, placement, quadrant)
    _labels(axes, placement)
    _arrows(axes, placement)
    axes.autoscale_view()
    axes.margins(0.03)


def _gear(axes: Any, wheel: Wheel, last: int) -> None:
    """Tips drawn out, pitch circle in dots and dashes; the gear planes are told apart by the stroke of the tips."""
    from matplotlib.patches import Circle

    at = wheel.x_mm, wheel.y_mm
    style = _PLANE_STYLES[wheel.plane]
    axes.add_patch(Circle(at, wheel.tip_radius_mm, fill=False, lw=1.6, ls=style))
    axes.add_patch(Circle(at, wheel.pitch_radius_mm, fill=False, lw=0.6, ls=(0, (8, 2, 1, 2))))
    outward = {0: 200, last: -20}.get(wheel.shaft, 150 if wheel.role in ("driven", "idler") else 30)
    reach = max(wheel.pitch_radius_mm - 7, 0.6 * wheel.pitch_radius_mm)
    x, y = at[0] + reach * cos(radians(outward)), at[1] + reach * sin(radians(outward))
    text = {"idler": f"({wheel.teeth})", "idle": f"{wheel.teeth} idle"}.get(wheel.role, str(wheel.teeth))
    axes.text(x, y, text, ha="center", va="center", fontsize=11, weight="bold", zorder=8)


def _box() -> dict[str, Any]:
    return {"facecolor": "white", "edgecolor": "none", "pad": 1.0}


def _centres(placement: Placement) -> dict[int, tuple[float, float]]:
    return {wheel.shaft: (wheel.x_mm, wheel.y_mm) for wheel in placement.wheels}


def _shaft(axes: Any, shaft: int, at: tuple[float, float], placement: Placement, quadrant: Quadrant) -> None:
    """The nut as a solid round, as wide as the shop file says."""
    from matplotlib.patches import Circle

    last = len(placement.studs) + 1
    place = PLACES[0 if shaft == 0 else 2 if shaft == last else 1]
    nut = float(quadrant.nut_radius_mm.get(place, 0)) or 2.0
    axes.add_patch(Circle(at, nut, facecolor="0.85", edgecolor="black", lw=0.8, zorder=3))
    axes.plot(*at, marker="+", ms=9, color="black", zorder=4)


def _bracket(axes: Any, placement: Placement, quadrant: Quadrant) -> None:
    """The slot or the reach of the studs, and the line of the shafts."""
    near, far = (float(reach) for reach in quadrant.reach_mm)
    distance = placement.shaft_distance_mm
    axes.plot([0, distance], [0, 0], lw=0.6, ls=(0, (10, 3, 2, 3)), color="black")
    if quadrant.layout == "slot" and placement.studs:
        angle = atan2(placement.studs[0].y_mm, placement.studs[0].x_mm)
        ends = [(r * cos(angle), r * sin(angle)) for r in (near, far)]
        axes.plot(*zip(*ends, strict=True), lw=7, color="0.88", solid_capstyle="round", zorder=0)
    for block in quadrant.obstacles:
        from matplotlib.patches import Circle

        at = float(block.x_mm), float(block.y_mm)
        axes.add_patch(Circle(at, float(block.radius_mm), facecolor="none", edgecolor="black", hatch="////"))


def _labels(axes: Any, placement: Placement) -> None:
    """A word in each nut, and each distance beside its line; what they mean stands below the picture."""
    centres, last = _centres(placement), len(placement.studs) + 1
    for shaft, at in centres.items():
        word = "first" if shaft == 0 else "last" if shaft == last else str(shaft)
        axes.text(at[0], at[1] - 2, word, ha="center", va="top", fontsize=8, zorder=7)
    for shaft in range(last):
        (x1, y1), (x2, y2) = centres[shaft], centres[shaft + 1]
        axes.plot([x1, x2], [y1, y2], lw=0.8, color="black", zorder=2)
        turn = degrees(atan2(y2 - y1, x2 - x1))
        upright = turn if -90 < turn <= 90 else turn - 180
        aside = radians(upright + 90)
        at = (x1 + x2) / 2 + 4.5 * cos(aside), (y1 + y2) / 2 + 4.5 * sin(aside)
        text = f"{hypot(x2 - x1, y2 - y1):.1f}"
        axes.text(*at, text, rotation=upright, ha="center", va="center", fontsize=9, bbox=_box(), zorder=6)


def _legend(checked: Checked, placement: Placement) -> str:
    """What the picture shows, as the lines by which studs are set."""
    names = Names(checked.shop, checked.route, len(placement.studs))
    lines = [
        f"first: {names.shaft(0)}; last: {names.shaft(len(placement.studs) + 1)}; distances in mm; idlers in brackets",
        *placement_lines(placement, names),
        "tips drawn alike stand in one plane; arrows: when the first shaft turns clockwise in this view",
    ]
    return "\n".join(fill(line, 100, subsequent_indent="    ") for line in lines)


def _arrows(axes: Any, placement: Placement) -> None:
    """Which way each shaft turns when the first turns clockwise: every mesh reverses."""
    for wheel in placement.wheels:
        if wheel.role == "idle" or (wheel.role == "driver" and wheel.shaft):
            continue
        sign = -1 if wheel.shaft % 2 == 0 else 1
        start = pi * 1.62
        radius = wheel.tip_radius_mm * 0.62
        points = [
            (wheel.x_mm + radius * cos(start + sign * a), wheel.y_mm + radius * sin(start + sign * a)) for a in (0, 0.5)
        ]
        bend = 0.25 * sign
        axes.annotate(
            "",
            points[1],
            points[0],
            arrowprops={"arrowstyle": "-|>", "lw": 1.2, "color": "black", "connectionstyle": f"arc3,rad={bend}"},
            zorder=6,
        )


def _scale(axes: Any, figure: Any) -> str:
    """The scale of the picture in words, for example ``scale 1 : 2.14``."""
    figure.canvas.draw()
    box = axes.get_window_extent()
    shown_mm = box.width / figure.dpi * 25.4
    low, high = axes.get_xlim()
    return f"scale 1 : {(high - low) / shown_mm:.2f}"


def _short(placement: Placement) -> str:
    return "nothing near" if placement.clearance_mm is None else placement.tightest
