"""The train as it is seen along the shafts, as it stands on the quadrant: gears, bracket, dimensions, words."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from math import atan2, degrees, hypot

from ..mounting.placement import Names, Placement, Wheel
from ..shop import PLACES, Quadrant
from .labels import Labels, Place
from .marks import Mark, Point, Round, Stroke, Words, arc, arrowhead, away, headed, line

PLANES = ("solid", "dashed", "dotted")
_NO_NUT_MM = 2.0
_SMALL, _NUMBER = 8.5, 13.0  # type [points]
_ASIDE = (0, 22, -22, 40, -40, 60, -60, 90, -90)
_AROUND = (90, -90, 65, -65, 115, -115, 40, -40, 140, -140, 180)


@dataclass(frozen=True, slots=True)
class TrainView:
    """What is drawn of a train; lengths on the machine in mm, the pivot at the origin.

    Parameters
    ----------
    placement : where its gears stand
    quadrant : on what
    names : what the shafts are called
    paper : how many machine millimetres one millimetre of the paper shows
    """

    placement: Placement
    quadrant: Quadrant
    names: Names
    paper: float

    @property
    def wheels(self) -> tuple[Wheel, ...]:
        """Every gear, in power order."""
        return self.placement.wheels

    @property
    def last(self) -> int:
        """The number of the last shaft."""
        return len(self.placement.studs) + 1

    @property
    def centres(self) -> dict[int, Point]:
        """The centre of every shaft, by number."""
        return {wheel.shaft: (wheel.x_mm, wheel.y_mm) for wheel in self.wheels}

    def nut(self, shaft: int) -> float:
        """Radius of the nut on a shaft [mm]; a small one where the shop file has none."""
        place = PLACES[0 if shaft == 0 else 2 if shaft == self.last else 1]
        return float(self.quadrant.nut_radius_mm.get(place, 0)) or _NO_NUT_MM

    def marks(self) -> list[Mark]:
        """The whole picture, what lies lowest first."""
        sizes, labels = list(self._dimensions()), Labels(self.paper)
        for shaft, centre in self.centres.items():
            labels.take(Round(centre, 2 * self.paper))
            labels.take(Round(centre, self.nut(shaft)), weight=0.5)
        for mark in sizes:
            for part in _parts(mark, 2.5 * self.paper):
                labels.take(part)
        words = [*self._counts(labels), *self._swing(labels), *self._shaft_names(labels)]
        return [*self._bracket(), *self._gears(), *self._nuts(), *sizes, *self._turning(labels), *words]

    # -- what stands there

    def _gears(self) -> Iterator[Mark]:
        """Tips drawn out, pitch circle in dashes and dots; gear planes are told apart by the stroke of the tips."""
        for wheel in self.wheels:
            at, name = (wheel.x_mm, wheel.y_mm), f"{wheel.teeth}-{wheel.role}-{wheel.shaft}"
            yield Round(at, wheel.tip_radius_mm, PLANES[wheel.plane % len(PLANES)], 1.4, name=f"tip-{name}")
            yield Round(at, wheel.pitch_radius_mm, "chain", 0.4, name=f"pitch-{name}")

    def _nuts(self) -> Iterator[Mark]:
        for shaft, (x, y) in self.centres.items():
            yield Round((x, y), self.nut(shaft), fill=0.9, name=f"nut-{shaft}")
            arm = min(1.6 * self.paper, self.nut(shaft))
            yield line((x - arm, y), (x + arm, y), weight=0.6)
            yield line((x, y - arm), (x, y + arm), weight=0.6)

    def _bracket(self) -> Iterator[Mark]:
        """The line of the shafts, the slot or the reach on a plate, how far it swings, and castings in the way."""
        near, far = (float(reach) for reach in self.quadrant.reach_mm)
        low, high = (float(swing) for swing in self.quadrant.swing_deg)
        studs = self.placement.studs
        yield line((0, 0), (self.placement.shaft_distance_mm, 0), stroke="chain", weight=0.4)
        if studs and self.quadrant.layout == "slot":
            far = min(far, max(stud.from_pivot_mm for stud in studs) + 60)  # a slot without end is cut short
            yield Stroke(_slot(near, far, studs[0].swing_deg, 0.45 * self.nut(1)), weight=0.6, closed=True, name="slot")
        elif studs:
            yield Stroke(arc((0, 0), far, low, high), "dotted", 0.7, name="reach")
        if studs and high - low < 360:
            yield Stroke(arc((0, 0), near, low, high), "dotted", 0.7, name="swing")
            for end in (low, high):
                yield line(away((0, 0), near, end), away((0, 0), near + 5 * self.paper, end), weight=0.9)
        for number, block in enumerate(self.quadrant.obstacles, 1):
            at = float(block.x_mm), float(block.y_mm)
            yield Round(at, float(block.radius_mm), hatched=True, name=f"obstacle-{number}")

    # -- words

    def _counts(self, labels: Labels) -> Iterator[Mark]:
        """The tooth count of each gear beside the gear it meshes with, or on a leader where it has no room inside."""
        for wheel in sorted(self.wheels, key=lambda wheel: (wheel.tip_radius_mm, wheel.shaft)):
            text = {"idler": f"({wheel.teeth})", "idle": f"{wheel.teeth} idle"}.get(wheel.role, str(wheel.teeth))
            rim = Round((wheel.x_mm, wheel.y_mm), wheel.tip_radius_mm)
            yield from labels.put(Words((0, 0), text, _NUMBER, bold=True), self._count_places(wheel), rim)

    def _count_places(self, wheel: Wheel) -> Iterator[Place]:
        """Inside, toward the gear it meshes with; else outside, on a leader."""
        centre, u = (wheel.x_mm, wheel.y_mm), self.paper
        ways = [degrees(atan2(y - centre[1], x - centre[0])) for x, y in self._mates(wheel)] or [90.0]
        inside = wheel.pitch_radius_mm - 4.8 * u
        if inside - 3.6 * u > self.nut(wheel.shaft):
            yield from ((away(centre, inside, way + aside), False, 0.0) for aside in _ASIDE for way in ways)
        for out in (7.0, 11.0, 15.0, 21.0, 28.0):
            for aside in _AROUND:
                at = away(centre, wheel.tip_radius_mm + out * u, ways[0] + aside)
                yield at, True, (5 * u) ** 2 * self._on_others(at, wheel)

    def _mates(self, wheel: Wheel) -> list[Point]:
        """The centres of the gears that a gear meshes with."""
        shafts = {"driver": (1,), "driven": (-1,), "idler": (-1, 1)}.get(wheel.role, ())
        return [self.centres[wheel.shaft + step] for step in shafts]

    def _on_others(self, at: Point, wheel: Wheel) -> int:
        """On how many gears of other shafts a place lies, to which a count there would seem to belong."""
        return sum(
            other.shaft != wheel.shaft
            and hypot(at[0] - other.x_mm, at[1] - other.y_mm) < other.tip_radius_mm + 3 * self.paper
            for other in self.wheels
        )

    def _shaft_names(self, labels: Labels) -> Iterator[Mark]:
        for shaft, centre in self.centres.items():
            text, nut = self.names.shaft(shaft).removeprefix("the "), self.nut(shaft)
            near = [(away(centre, nut + 2.8 * self.paper, way), False, 0.0) for way in (-90, 90)]
            far = [
                (away(centre, nut + out * self.paper, way), True, 0.0)
                for out in (8, 12, 18)
                for way in range(-90, 270, 30)
            ]
            yield from labels.put(Words((0, 0), text, _SMALL), near + far, Round(centre, nut))

    def _swing(self, labels: Labels) -> Iterator[Mark]:
        """The angle of each stud, or of the slot, from the line of the shafts."""
        plate, u = self.quadrant.layout == "plate", self.paper
        for number, stud in enumerate(self.placement.studs if plate else self.placement.studs[:1]):
            if plate:
                yield line((0, 0), (stud.x_mm, stud.y_mm), stroke="chain", weight=0.4)
            if abs(stud.swing_deg) < 0.05:
                continue
            pivot = 0 if self.placement.pivot == "first" else self.last
            radius = min(0.75 * stud.from_pivot_mm, self.nut(pivot) + (12 + 7 * number) * u)
            yield from headed(arc((0, 0), radius, 0, stud.swing_deg), 2 * u, 0.6)
            text = f"stud {stud.number} {stud.swing_deg:+.1f}°" if plate else f"{stud.swing_deg:+.1f}°"
            outer, shares = [radius + step * u for step in (0, 4, 8, 12, 16)], (0.5, 0.35, 0.65)
            places = [(away((0, 0), r, stud.swing_deg * share), False, 0.0) for r in outer for share in shares]
            yield from labels.put(Words((0, 0), text, _SMALL), places, Round((0, 0), radius))

    def _turning(self, labels: Labels) -> Iterator[Mark]:
        """Which way each shaft turns when the first turns clockwise: every mesh reverses."""
        u = self.paper
        for shaft, centre in self.centres.items():
            radius, sign = self._arrow_radius(shaft), -1 if shaft % 2 == 0 else 1
            half = degrees(5.5 * u / radius)
            arcs = [Stroke(arc(centre, radius, w - sign * half, w + sign * half)) for w in range(0, 360, 15)]
            best = min(arcs, key=labels.cost)
            labels.take(best)
            yield from headed(best.points, 3 * u, 1.2, f"turn-{shaft}")

    def _arrow_radius(self, shaft: int) -> float:
        """Just inside the largest gear of a shaft, on no other's rim; outside where there is no room."""
        here = [wheel for wheel in self.wheels if wheel.shaft == shaft and wheel.role != "idle"]
        u, tip = self.paper, max(wheel.tip_radius_mm for wheel in here)
        for inside in (2.4, 3.6, 4.8, 6.0, 7.2):
            radius = tip - inside * u
            if radius > self.nut(shaft) + 2 * u and all(
                abs(radius - rim) > 1.2 * u for wheel in here for rim in (wheel.tip_radius_mm, wheel.pitch_radius_mm)
            ):
                return radius
        return tip + 2.0 * u

    # -- dimension lines

    def _dimensions(self) -> Iterator[Mark]:
        """Distances as they are set with a rule: neighbouring shafts, and each stud from the pivot."""
        pivot = 0 if self.placement.pivot == "first" else self.last
        far = range(2, self.last) if pivot == 0 else range(self.last - 2, 0, -1)
        spans = [*pairwise(range(self.last + 1)), *([(0, self.last)] if self.last > 1 else [])]
        drawn: list[tuple[Point, Point]] = []
        for a, b in [*spans, *((pivot, shaft) for shaft in far)]:
            yield from self._dimension(self.centres[a], self.centres[b], drawn)

    def _dimension(self, a: Point, b: Point, drawn: list[tuple[Point, Point]]) -> Iterator[Mark]:
        """A line beside two centres, clear of the gears and of other such lines, away from the middle of the train."""
        u, long = self.paper, hypot(b[0] - a[0], b[1] - a[1])
        along = (b[0] - a[0]) / long, (b[1] - a[1]) / long
        out = self._outward(a, along)
        off = self._clear_of(a, along, out, long) + 5.5 * u
        ends = _beside(a, b, out, off)
        while any(_near(ends, other, 5 * u) for other in drawn):
            off += 2.5 * u
            ends = _beside(a, b, out, off)
        drawn.append(ends)
        for centre, end in zip((a, b), ends, strict=True):
            yield line(centre, (end[0] + 1.5 * u * out[0], end[1] + 1.5 * u * out[1]), weight=0.35)
        yield line(*ends, weight=0.5, name="size")
        yield arrowhead(ends[0], (-along[0], -along[1]), 2 * u)
        yield arrowhead(ends[1], along, 2 * u)
        turn = degrees(atan2(along[1], along[0]))
        upright = turn - 180 if turn > 90 else turn + 180 if turn <= -90 else turn
        at = (ends[0][0] + ends[1][0]) / 2, (ends[0][1] + ends[1][1]) / 2
        yield Words(at, self.names.length(long), _SMALL, turned=upright)

    def _outward(self, a: Point, along: Point) -> Point:
        """The direction square to a line that leads away from the middle of all shafts; down where it leads through."""
        ring = list(self.centres.values())
        middle = sum(x for x, _ in ring) / len(ring), sum(y for _, y in ring) / len(ring)
        out = -along[1], along[0]
        side = (middle[0] - a[0]) * out[0] + (middle[1] - a[1]) * out[1]
        inward = side > 1e-6 or (abs(side) <= 1e-6 and out[1] > 0)
        return (-out[0], -out[1]) if inward else out

    def _clear_of(self, a: Point, along: Point, out: Point, long: float) -> float:
        """How far a line beside two centres must stand off to be clear of every gear and casting beside it."""
        rounds = [((w.x_mm, w.y_mm), w.tip_radius_mm) for w in self.wheels]
        rounds += [((float(o.x_mm), float(o.y_mm)), float(o.radius_mm)) for o in self.quadrant.obstacles]
        off = 0.0
        for (x, y), radius in rounds:
            ahead = (x - a[0]) * along[0] + (y - a[1]) * along[1]
            if -radius < ahead < long + radius:
                off = max(off, (x - a[0]) * out[0] + (y - a[1]) * out[1] + radius)
        return off


def _parts(mark: Mark, step: float) -> Iterator[Mark]:
    """Words as they are; of a straight line a row of small rounds, for its own box would cover far more than it."""
    if isinstance(mark, Words):
        yield mark
    elif isinstance(mark, Stroke) and len(mark.points) == 2:
        a, b = mark.points
        pieces = max(1, round(hypot(b[0] - a[0], b[1] - a[1]) / step))
        yield from (Round(_between(a, b, i / pieces), step / 2) for i in range(pieces + 1))


def _beside(a: Point, b: Point, out: Point, off: float) -> tuple[Point, Point]:
    return (a[0] + off * out[0], a[1] + off * out[1]), (b[0] + off * out[0], b[1] + off * out[1])


def _near(one: tuple[Point, Point], other: tuple[Point, Point], room: float) -> bool:
    """Whether two lines come nearer to each other than ``room``, by points along both."""
    points = [[_between(*ends, i / 24) for i in range(25)] for ends in (one, other)]
    return any(hypot(x1 - x2, y1 - y2) < room for x1, y1 in points[0] for x2, y2 in points[1])


def _between(a: Point, b: Point, share: float) -> Point:
    return a[0] + (b[0] - a[0]) * share, a[1] + (b[1] - a[1]) * share


def _slot(near: float, far: float, angle: float, half: float) -> tuple[Point, ...]:
    """The outline of a slot that points at the origin."""
    ends = [away((0, 0), r, angle) for r in (near, far)]
    return (*arc(ends[0], half, angle + 90, angle + 270), *arc(ends[1], half, angle - 90, angle + 90))
