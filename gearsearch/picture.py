"""The train to scale, as it stands on the quadrant; with the optional extra ``draw`` (matplotlib)."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from fractions import Fraction
from math import atan2, cos, degrees, hypot, pi, sin
from textwrap import fill
from typing import Any

from . import paper as sheets
from .check import Checked
from .errors import GearsearchError
from .placement import Names, Placement, Stud, Wheel
from .report import placement_lines
from .shop import PLACES, Quadrant

SCALES = (1, Fraction(3, 2), 2, Fraction(5, 2), 3, 4, 5, 6, 8, 10)  # ones that a rule can be laid on
MOST_DIMENSIONS = 4
_PLANE_STYLES = ("-", (0, (6, 2)), (0, (1.5, 1.5)), (0, (8, 2, 1, 2, 1, 2)))
_TEXT_MM = 5.0  # room on paper that a tooth count takes
Box = tuple[float, float, float, float]  # left, bottom, width, height [mm]


def train_figure(checked: Checked, paper: str = "A4") -> Any:
    """A sheet as wide as the paper with the train to scale and the lines by which its studs are set.

    Parameters
    ----------
    checked : the train as ``check`` judged it
    paper : ``A4`` or ``Letter``

    Raises GearsearchError where the train has no places to draw (it does not mount, or the shop file has no
    quadrant).
    """
    width, height = sheets.PAPERS_MM[paper]
    figure, _ = sheets.blank(width, height * 0.68)
    margin = sheets.MARGIN_MM
    draw_train(figure, (margin, margin, width - 2 * margin, height * 0.68 - 2 * margin), checked)
    return figure


def draw_train(figure: Any, box: Box, checked: Checked) -> None:
    """Draw the train into a part of a sheet: heading, picture, legend.

    Parameters
    ----------
    figure : sheet made by ``paper.blank``
    box : left, bottom, width, height of the part [mm]
    checked : the train as ``check`` judged it
    """
    placement, quadrant = checked.fit.placement, checked.shop.quadrant
    if placement is None or quadrant is None:
        raise GearsearchError(
            f"{checked.fit.train} has no places to draw: mounting is judged {checked.fit.mounts}",
            "take a train that mounts, on a shop file with a quadrant",
        )
    left, bottom, width, height = box
    page = figure.axes[0]
    legend = _legend(checked, placement, int(width / 1.75))
    foot = 4.2 * (legend.count("\n") + 1)
    page.text(left, bottom, legend, fontsize=8.5, va="bottom", linespacing=1.35)
    picture = Picture(placement, quadrant, 1.0, checked.shop.units)
    room = width, height - foot - 16
    scale = _scale(picture.extent(), room)
    axes = sheets.inset(figure, left, bottom + foot + 2, *room)
    Picture(placement, quadrant, float(scale), checked.shop.units).draw(axes, room)
    hand = f", {checked.fit.hand} hand" if checked.fit.hand else ""
    page.text(left, bottom + height - 1, f"{checked.fit.train}{hand}", fontsize=17, weight="bold", va="top")
    seen = f"seen along the shafts, scale 1 : {float(scale):g}"
    page.text(left, bottom + height - 9.5, seen, fontsize=9.5, va="top")


def _scale(extent: Box, room: tuple[float, float]) -> Fraction:
    """How many times smaller than life, so that it fits: the first such scale that a rule can be laid on."""
    needed = max(extent[2] / room[0], extent[3] / room[1])
    return Fraction(next((scale for scale in SCALES if scale >= needed), Fraction(needed)))


@dataclass(slots=True)
class Picture:
    """The train as drawn: in millimetres of the machine, one paper millimetre being ``scale`` of them."""

    placement: Placement
    quadrant: Quadrant
    scale: float
    unit: str
    taken: dict[int, list[float]] = field(default_factory=dict)

    @property
    def last(self) -> int:
        """Number of the last shaft."""
        return len(self.placement.studs) + 1

    @property
    def centres(self) -> dict[int, tuple[float, float]]:
        """Where each shaft stands [mm]."""
        return {wheel.shaft: (wheel.x_mm, wheel.y_mm) for wheel in self.placement.wheels}

    def extent(self) -> Box:
        """Left, bottom, width and height of all that is drawn [mm], with some room for dimensions."""
        wheels = self.placement.wheels
        left = min(w.x_mm - w.tip_radius_mm for w in wheels) - 3
        right = max(w.x_mm + w.tip_radius_mm for w in wheels) + 3
        low = min(w.y_mm - w.tip_radius_mm for w in wheels) - 3
        high = max(w.y_mm + w.tip_radius_mm for w in wheels) + 3
        return left, low, right - left, high - low

    def draw(self, axes: Any, room_mm: tuple[float, float]) -> None:
        """Draw everything into axes that measure ``room_mm`` on paper."""
        left, low, width, height = self.extent()
        wide, high = room_mm[0] * self.scale, room_mm[1] * self.scale
        axes.set(xlim=(left + (width - wide) / 2, left + (width + wide) / 2))
        axes.set(ylim=(low + (height - high) / 2, low + (height + high) / 2))
        axes.axis("off")
        self._bracket(axes)
        for wheel in self.placement.wheels:
            self._gear(axes, wheel)
        for shaft, at in self.centres.items():
            self._shaft(axes, shaft, at)
            self.taken[shaft] = self._busy(shaft)
        self._distances(axes)
        for shaft in self.centres:
            self._count_teeth(axes, shaft)
            self._arrow(axes, shaft)

    def _gear(self, axes: Any, wheel: Wheel) -> None:
        """Tips drawn out, pitch circle in dots and dashes; gear planes are told apart by the stroke of the tips."""
        from matplotlib.patches import Circle

        at = wheel.x_mm, wheel.y_mm
        style = _PLANE_STYLES[wheel.plane % len(_PLANE_STYLES)]
        name = f"{wheel.teeth}-{wheel.role}-{wheel.shaft}"
        axes.add_patch(Circle(at, wheel.tip_radius_mm, fill=False, lw=1.5, ls=style, gid=f"tip-{name}"))
        pitch = Circle(at, wheel.pitch_radius_mm, fill=False, lw=0.5, ls=(0, (8, 2, 1, 2)), gid=f"pitch-{name}")
        axes.add_patch(pitch)

    def _shaft(self, axes: Any, shaft: int, at: tuple[float, float]) -> None:
        """The nut, as wide as the shop file says, with the shaft's name in it."""
        from matplotlib.patches import Circle

        nut = self._nut(shaft)
        axes.add_patch(Circle(at, nut, facecolor="0.88", edgecolor="black", lw=0.8, zorder=3, gid=f"nut-{shaft}"))
        word = "first" if shaft == 0 else "last" if shaft == self.last else f"stud {shaft}"
        if 2 * nut / self.scale > 8.5:
            axes.text(*at, word, ha="center", va="center", fontsize=7, zorder=8)
        elif 0 < shaft < self.last:
            axes.text(*at, str(shaft), ha="center", va="center", fontsize=7, zorder=8)
        else:
            axes.plot(*at, marker="+", ms=5, mew=0.6, color="black", zorder=4)
            axes.text(at[0], at[1] - nut - self.scale, word, ha="center", va="top", fontsize=7, zorder=8, bbox=_white())

    def _nut(self, shaft: int) -> float:
        place = PLACES[0 if shaft == 0 else 2 if shaft == self.last else 1]
        return float(self.quadrant.nut_radius_mm.get(place, 0)) or 1.5 * self.scale

    def _bracket(self, axes: Any) -> None:
        """The line of the shafts, the slot from end to end, the angle it is swung to, and castings in the way."""
        from matplotlib.patches import Circle

        axes.plot([0, self.placement.shaft_distance_mm], [0, 0], lw=0.6, ls=(0, (10, 3, 2, 3)), color="black")
        if self.quadrant.layout == "slot" and self.placement.studs:
            self._slot(axes)
        for block in self.quadrant.obstacles:
            at = float(block.x_mm), float(block.y_mm)
            axes.add_patch(Circle(at, float(block.radius_mm), facecolor="none", edgecolor="black", hatch="////"))
            axes.text(*at, "casting", fontsize=8, ha="center", va="center", bbox=_white(), zorder=7)

    def _slot(self, axes: Any) -> None:
        stud = self.placement.studs[0]
        angle = atan2(stud.y_mm, stud.x_mm)
        near, far = (float(reach) for reach in self.quadrant.reach_mm)
        far = min(far, max(s.from_pivot_mm for s in self.placement.studs) + 25)  # a slot without end is cut short
        ends = [(r * cos(angle), r * sin(angle)) for r in (near, far)]
        axes.plot(*zip(*ends, strict=True), lw=6, color="0.9", solid_capstyle="round", zorder=0)
        arc = [angle * i / 40 for i in range(41)]
        radius = 0.3 * self.placement.shaft_distance_mm
        axes.plot([radius * cos(a) for a in arc], [radius * sin(a) for a in arc], lw=0.7, color="black", zorder=2)
        middle = radius * cos(angle / 2), radius * sin(angle / 2)
        axes.text(*middle, f"{degrees(angle):+.1f}°", fontsize=8.5, ha="center", va="center", bbox=_white(), zorder=7)

    def _distances(self, axes: Any) -> None:
        """Each centre distance on its line, and beside it how far from the pivot the farther studs of a slot stand."""
        centres = self.centres
        for shaft in range(self.last):
            self._dimension(axes, centres[shaft], centres[shaft + 1], 0.0)
        pivot = 0 if self.placement.pivot == "first" else self.last
        apart = [s for s in self.placement.studs if abs(s.number - pivot) > 1]
        past = max((w.tip_radius_mm for w in self.placement.wheels if self._is_between(w.shaft, apart)), default=0.0)
        for step, stud in enumerate(apart[:MOST_DIMENSIONS]):
            aside = self._outward() * (past + (9 * step + 4) * self.scale)
            self._dimension(axes, centres[pivot], (stud.x_mm, stud.y_mm), aside)
            for shaft in (pivot, stud.number):
                self.taken[shaft].append(atan2(stud.y_mm, stud.x_mm) + self._outward() * pi / 2)
        if self.last > 1:
            self._dimension(axes, centres[0], centres[self.last], 0.0, bare=True)

    def _is_between(self, shaft: int, far: list[Stud]) -> bool:
        """Whether it is a stud that stands nearer to the pivot than those far ones."""
        return bool(far) and 0 < shaft < self.last and shaft != far[0 if self.placement.pivot == "last" else -1].number

    def _outward(self) -> int:
        """On which side of the slot, seen from the pivot, the other shaft is not."""
        return 1 if self.placement.studs[0].y_mm >= 0 else -1

    def _dimension(
        self, axes: Any, one: tuple[float, float], two: tuple[float, float], aside: float, *, bare: bool = False
    ) -> None:
        """A line between two centres with its length; ``aside`` of it, with arrowheads and its own lines out to it."""
        (x1, y1), (x2, y2) = one, two
        length = hypot(x2 - x1, y2 - y1)
        nx, ny = -(y2 - y1) / length, (x2 - x1) / length
        a, b = (x1 + aside * nx, y1 + aside * ny), (x2 + aside * nx, y2 + aside * ny)
        if aside:
            for start, end in ((one, a), (two, b)):
                axes.plot(*zip(start, end, strict=True), lw=0.4, color="black", zorder=2)
            axes.annotate(
                "", a, b, arrowprops={"arrowstyle": "<|-|>", "lw": 0.7, "color": "black", "shrinkA": 0, "shrinkB": 0}
            )
        elif not bare:
            axes.plot(*zip(a, b, strict=True), lw=0.8, color="black", zorder=2)
        turn = degrees(atan2(y2 - y1, x2 - x1))
        upright = turn if -90 < turn <= 90 else turn - 180
        at = (a[0] + b[0]) / 2, (a[1] + b[1]) / 2
        text = f"{length / 25.4:.3f}" if self.unit == "in" else f"{length:.1f}"
        axes.text(*at, text, rotation=upright, ha="center", va="center", fontsize=9, bbox=_white(), zorder=7)

    def _busy(self, shaft: int) -> list[float]:
        """Directions from a shaft that are taken by lines to other shafts [radians]."""
        x, y = self.centres[shaft]
        near = [self.centres[n] for n in (shaft - 1, shaft + 1) if n in self.centres]
        ends = [self.centres[self.last - shaft], (x, y - 1)] if shaft in (0, self.last) else []  # below: its name
        return [atan2(b - y, a - x) for a, b in (*near, *ends)]

    def _free(self, shaft: int) -> float:
        """The direction from a shaft with the most room round it; it is then taken [radians]."""
        taken = self.taken[shaft]
        best = max((pi * n / 12 for n in range(24)), key=lambda a: (round(_nearest(a, taken), 6), -a))
        taken.append(best)
        return best

    def _count_teeth(self, axes: Any, shaft: int) -> None:
        """The tooth count of each gear, inside its own tips and outside those of a smaller one on the same stud."""
        inner = self._nut(shaft)
        wheels = sorted((w for w in self.placement.wheels if w.shaft == shaft), key=lambda w: w.tip_radius_mm)
        for wheel in wheels:
            room = wheel.pitch_radius_mm - inner
            tall = _TEXT_MM * self.scale
            radius = inner + room / 2 if room > 1.5 * tall else wheel.tip_radius_mm + 0.8 * tall
            direction = self._free(shaft)
            at = wheel.x_mm + radius * cos(direction), wheel.y_mm + radius * sin(direction)
            text = {"idler": f"({wheel.teeth})", "idle": f"{wheel.teeth} idle"}.get(wheel.role, str(wheel.teeth))
            axes.text(*at, text, ha="center", va="center", fontsize=13, weight="bold", zorder=8, bbox=_white())
            inner = wheel.tip_radius_mm

    def _arrow(self, axes: Any, shaft: int) -> None:
        """Which way a shaft turns when the first turns clockwise: every mesh reverses."""
        x, y = self.centres[shaft]
        turn = -1 if shaft % 2 == 0 else 1
        smallest = min(w.pitch_radius_mm for w in self.placement.wheels if w.shaft == shaft)
        radius = max(self._nut(shaft) + 2 * self.scale, 0.55 * smallest)
        others = list(self.taken[shaft])
        middle = self._free(shaft)
        span = min(1.2, 11 * self.scale / radius, 1.1 * _nearest(middle, others))
        points = [
            (x + radius * cos(middle + turn * span * t), y + radius * sin(middle + turn * span * t))
            for t in (i / 20 - 0.5 for i in range(21))
        ]
        axes.plot(*zip(*points, strict=True), lw=1.4, color="black", zorder=6)
        head = {
            "arrowstyle": "-|>,head_width=0.28,head_length=0.5",
            "lw": 1.4,
            "color": "black",
            "shrinkA": 0,
            "shrinkB": 0,
        }
        axes.annotate("", points[-1], points[-3], arrowprops=head, zorder=6)


def _nearest(angle: float, others: Iterable[float]) -> float:
    """How far an angle is from the nearest of others [radians]."""
    return min((abs((angle - other + pi) % (2 * pi) - pi) for other in others), default=pi)


def _white() -> dict[str, Any]:
    return {"facecolor": "white", "edgecolor": "none", "pad": 0.8}


def _legend(checked: Checked, placement: Placement, columns: int) -> str:
    """What the picture shows, as the lines by which studs are set."""
    names = Names(checked.shop, checked.route, len(placement.studs))
    unit = "inches" if checked.shop.units == "in" else "mm"
    is_slot = checked.shop.quadrant is not None and checked.shop.quadrant.layout == "slot" and placement.studs
    slot = "; grey bar: the slot, and the angle it is swung to" if is_slot else ""
    lines = [
        f"first: {names.shaft(0)}; last: {names.shaft(len(placement.studs) + 1)}",
        f"distances in {unit}; idlers in brackets{slot}",
        *placement_lines(placement, names),
        "nothing stands near" if placement.clearance_mm is None else placement.tightest,
        "tips drawn alike stand in one plane; arrows: when the first shaft turns clockwise in this view",
    ]
    return "\n".join(fill(line, columns, subsequent_indent="    ") for line in lines)
