"""The train as it is seen along the shafts, as it stands on the quadrant: gears, bracket, dimensions, words."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import pairwise, product
from math import atan2, cos, degrees, hypot, sin

from ...mounting.placement import Names, Placement, Wheel
from ...shop.brackets.slots import Slots
from ...shop.gears import PLACES
from ...shop.quadrant import Quadrant
from .labels import Labels, Place
from .marks import Mark, Point, Round, Stroke, Words, arc, arrowhead, away, between, box_of, distances, headed, line
from .slots import slot_outline, straight_outline

PLANES = ("solid", "dashed", "dotted")
_NO_NUT_MM = 2.0
_SMALL, _NUMBER = 9.5, 13.0  # type [points]
_OUT = (8, 12, 16, 21, 28, 36, 45, 56, 70, 90, 120, 160)  # how far from its rim words may stand [mm of paper]
_NEAR_MM = 12.0  # how near to the train a casting is drawn [mm of paper]
_STRAIGHT = 0.2  # below this the two ways from an idler to its gears are opposite


@dataclass(frozen=True, slots=True)
class TrainView:
    """What is drawn of a train; lengths on the machine in mm, the pivot at the origin.

    Parameters
    ----------
    placement : where its gears stand
    quadrant : on what
    names : what the shafts are called
    paper : how many machine millimetres one millimetre of the paper shows
    brief : without distances and without what each gear is, for where the words beside it say so
    """

    placement: Placement
    quadrant: Quadrant
    names: Names
    paper: float
    brief: bool = False

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
        labels, bracket = Labels(self.paper), list(self._bracket())
        for wheel in self.wheels:
            labels.take(Round((wheel.x_mm, wheel.y_mm), wheel.tip_radius_mm))
        for shaft, centre in self.centres.items():
            labels.take(Round(centre, max(self.nut(shaft), 1.6 * self.paper), fill=0.9))
        for mark in bracket:
            labels.take(mark, soft=True)
        sizes = [] if self.brief else list(self._dimensions(labels))
        words = [*self._counts(labels), *self._turning(labels), *self._swing(labels), *self._shaft_names(labels)]
        return [*bracket, *self._gears(), *self._nuts(), *sizes, *words]

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
        near, far = (float(reach) for reach in self.quadrant.bracket.reach_mm)
        low, high = (float(swing) for swing in self.quadrant.swing_deg)
        studs = self.placement.studs
        yield line((0, 0), (self.placement.shaft_distance_mm, 0), stroke="chain", weight=0.4)
        if studs and isinstance(self.quadrant.bracket, Slots):
            turned = self.placement.bracket_swing_deg or 0.0
            for number, slot in enumerate(self.quadrant.bracket.lines, 1):
                outline = slot_outline(slot, 0.45 * self.nut(1), turned)
                yield Stroke(outline, weight=0.6, closed=True, name=f"slot-{number}")
        elif studs and self.quadrant.bracket.swings_whole:
            far = min(far, max(stud.from_pivot_mm for stud in studs) + 60)  # a slot without end is cut short
            begin, stop = (away((0, 0), reach, studs[0].swing_deg) for reach in (near, far))
            yield Stroke(straight_outline(begin, stop, 0.45 * self.nut(1)), weight=0.6, closed=True, name="slot")
        elif studs:
            yield Stroke(arc((0, 0), far, low, high), "dotted", 0.7, name="reach")
        if studs and high - low < 360:
            yield Stroke(arc((0, 0), near, low, high), "dotted", 0.7, name="swing")
            for end in (low, high):
                yield line(away((0, 0), near, end), away((0, 0), near + 5 * self.paper, end), weight=0.9)
        yield from self._castings()

    def _castings(self) -> Iterator[Round]:
        """Those near the train; one as large as the train, of which a part says enough, may be cut at the frame."""
        low, high = box_of((Round((wheel.x_mm, wheel.y_mm), wheel.tip_radius_mm) for wheel in self.wheels), self.paper)
        room, size = _NEAR_MM * self.paper, max(high[0] - low[0], high[1] - low[1])
        for number, block in enumerate(self.quadrant.obstacles, 1):
            at, radius = (float(block.x_mm), float(block.y_mm)), float(block.radius_mm)
            if distances((low, high), at)[0] < radius + room:
                name = f"obstacle-{number}"
                yield Round(at, radius, hatched=True, name=name if 2 * radius < size else f"reach-{name}")

    # -- words

    def _counts(self, labels: Labels) -> Iterator[Mark]:
        """The tooth count of each gear and what it is, inside its own circle, or on an arrow to its rim."""
        for wheel in sorted(self.wheels, key=lambda wheel: (wheel.tip_radius_mm, wheel.shaft)):
            text = f"({wheel.teeth})" if wheel.role == "idler" else str(wheel.teeth)
            words = Words((0, 0), text, _NUMBER, bold=True, under="" if self.brief else wheel.role)
            rim = Round((wheel.x_mm, wheel.y_mm), wheel.tip_radius_mm, PLANES[wheel.plane % len(PLANES)])
            yield from labels.put(words, self._count_places(wheel, words), rim)

    def _count_places(self, wheel: Wheel, words: Words) -> Iterator[Place]:
        """Inside where no other gear is, away from the gears it meshes with; else outside, on an arrow."""
        centre, u = (wheel.x_mm, wheel.y_mm), self.paper
        back, hole = self._back(wheel), self._hole(wheel)
        inside = [hole + (wheel.pitch_radius_mm - hole) * share for share in (0.5, 0.4, 0.6)]
        for radius, aside in product(inside, range(0, 181, 15)):
            for way in (back + aside, back - aside):
                at = away(centre, radius, way)
                if self._is_its_own(replace(words, at=at), wheel, hole):
                    yield at, wheel.tip_radius_mm < self._widest(wheel.shaft), 0.0
        for out, aside in [*product(_OUT, range(0, 181, 15)), *product(_OUT, range(0, 181, 4))]:
            for way in (back + aside, back - aside):
                at, on_rim = away(centre, wheel.tip_radius_mm + out * u, way), away(centre, wheel.tip_radius_mm, way)
                led_over = {other for i in range(9) for other in self._others_under(between(at, on_rim, i / 8), wheel)}
                others = (
                    self._others_at(replace(words, at=at), wheel) + self._others_near(on_rim, wheel) + len(led_over)
                )
                yield at, True, 3.0 * others

    def _hole(self, wheel: Wheel) -> float:
        """Radius about the centre of a gear in which its count would seem to be another's: nut, or smaller gear."""
        tips = [other.tip_radius_mm for other in self.wheels if other.shaft == wheel.shaft and other is not wheel]
        return max([self.nut(wheel.shaft), *(tip for tip in tips if tip < wheel.tip_radius_mm)])

    def _widest(self, shaft: int) -> float:
        """Radius over the tips of the largest gear of a shaft."""
        return max(wheel.tip_radius_mm for wheel in self.wheels if wheel.shaft == shaft)

    def _is_its_own(self, words: Words, wheel: Wheel, hole: float) -> bool:
        """Whether words lie whole between the hole of a gear and its pitch circle, clear of all other shafts' gears."""
        box, room = words.box(self.paper), 0.6 * self.paper
        near, far = distances(box, (wheel.x_mm, wheel.y_mm))
        return hole + room < near and far < wheel.pitch_radius_mm - room and not self._others_at(words, wheel)

    def _others_at(self, words: Words, wheel: Wheel) -> int:
        """On how many gears of other shafts words lie, to which they would seem to belong."""
        box = words.box(self.paper)
        others = [other for other in self.wheels if other.shaft != wheel.shaft]
        return sum(distances(box, (o.x_mm, o.y_mm))[0] < o.tip_radius_mm + 0.6 * self.paper for o in others)

    def _others_under(self, point: Point, wheel: Wheel) -> Iterator[Wheel]:
        """The gears of other shafts on which a place lies."""
        for other in self.wheels:
            if other.shaft != wheel.shaft and hypot(point[0] - other.x_mm, point[1] - other.y_mm) < other.tip_radius_mm:
                yield other

    def _others_near(self, point: Point, wheel: Wheel) -> int:
        """How many rims of other shafts' gears are so near a place that an arrow to it might mean them."""
        others = [other for other in self.wheels if other.shaft != wheel.shaft]
        return sum(abs(hypot(point[0] - o.x_mm, point[1] - o.y_mm) - o.tip_radius_mm) < 3 * self.paper for o in others)

    def _back(self, wheel: Wheel) -> float:
        """The direction away from the gears that a gear meshes with [degrees]; up where there are none."""
        shafts = {"driver": (1,), "driven": (-1,), "idler": (-1, 1)}.get(wheel.role, ())
        mates = [self.centres[wheel.shaft + step] for step in shafts]
        ways = [atan2(y - wheel.y_mm, x - wheel.x_mm) for x, y in mates]
        across, up = sum(map(cos, ways)), sum(map(sin, ways))
        return degrees(atan2(-up, -across)) if hypot(across, up) > _STRAIGHT else degrees(ways[0] if ways else 0.0) + 90

    def _shaft_names(self, labels: Labels) -> Iterator[Mark]:
        for shaft, centre in self.centres.items():
            text, nut = self.names.shaft(shaft).removeprefix("the "), self.nut(shaft)
            near = [(away(centre, nut + 2.8 * self.paper, way), False, 0.0) for way in (-90, 90)]
            ways = [*product(_OUT, range(-90, 270, 15)), *product(_OUT, range(-90, 270, 4))]
            far = [(away(centre, nut + out * self.paper, way), True, 0.0) for out, way in ways]
            yield from labels.put(Words((0, 0), text, _SMALL), near + far, Round(centre, nut))

    def _swing(self, labels: Labels) -> Iterator[Mark]:
        """The angle of each stud, or of the slot, from the line of the shafts."""
        whole, u = self.quadrant.bracket.swings_whole, self.paper
        for number, stud in enumerate(self.placement.studs[:1] if whole else self.placement.studs):
            if not whole:
                yield line((0, 0), (stud.x_mm, stud.y_mm), stroke="chain", weight=0.4)
            if abs(stud.swing_deg) < 0.05:
                continue
            pivot = 0 if self.placement.pivot == "first" else self.last
            radius = min(0.75 * stud.from_pivot_mm, self.nut(pivot) + (12 + 7 * number) * u)
            yield from headed(arc((0, 0), radius, 0, stud.swing_deg), 2 * u, 0.6)
            text = f"{stud.swing_deg:+.1f}°" if whole else f"stud {stud.number} {stud.swing_deg:+.1f}°"
            ways = product((0, 4, 8, *_OUT), (0.5, 0.35, 0.65, 0.2, 0.8, 0.1, 0.9, 0.0, 1.0))
            places = [(away((0, 0), radius + out * u, stud.swing_deg * share), out > 8, 0.0) for out, share in ways]
            yield from labels.put(Words((0, 0), text, _SMALL), places, Round((0, 0), radius))

    def _turning(self, labels: Labels) -> Iterator[Mark]:
        """Which way each shaft turns when the first turns clockwise: every mesh reverses."""
        u = self.paper
        for shaft, centre in self.centres.items():
            sign = -1 if shaft % 2 == 0 else 1
            for radius in self._arrow_radii(shaft):
                half = degrees(min(5.5 * u / radius, 1.0))
                arcs = [Stroke(arc(centre, radius, w - sign * half, w + sign * half)) for w in range(0, 360, 15)]
                found = next(filter(labels.is_clear, arcs), None)
                if found is not None:
                    labels.take(found)
                    yield from headed(found.points, 3 * u, 1.2, f"turn-{shaft}")
                    break

    def _arrow_radii(self, shaft: int) -> Iterator[float]:
        """Just inside the largest gear of a shaft, on no other's rim; then outside."""
        here = [wheel for wheel in self.wheels if wheel.shaft == shaft and wheel.role != "idle"]
        u, tip = self.paper, max(wheel.tip_radius_mm for wheel in here)
        for inside in (2.4, 3.6, 4.8, 6.0, 7.2):
            radius = tip - inside * u
            if radius > self.nut(shaft) + 2 * u and all(
                abs(radius - rim) > 1.2 * u for wheel in here for rim in (wheel.tip_radius_mm, wheel.pitch_radius_mm)
            ):
                yield radius
        yield from (tip + out * u for out in (2, 4, 6, *_OUT))

    # -- dimension lines

    def _dimensions(self, labels: Labels) -> Iterator[Mark]:
        """Distances as they are set with a rule: neighbouring shafts, and each stud from the pivot."""
        pivot = 0 if self.placement.pivot == "first" else self.last
        far = range(2, self.last) if pivot == 0 else range(self.last - 2, 0, -1)
        spans = [*pairwise(range(self.last + 1)), *([(0, self.last)] if self.last > 1 else [])]
        drawn: list[tuple[Point, Point]] = []
        for a, b in [*spans, *((pivot, shaft) for shaft in far)]:
            yield from self._dimension(self.centres[a], self.centres[b], drawn, labels)

    def _dimension(self, a: Point, b: Point, drawn: list[tuple[Point, Point]], labels: Labels) -> Iterator[Mark]:
        """A line beside two centres, clear of the gears and of other such lines, away from the middle of the train."""
        u, long = self.paper, hypot(b[0] - a[0], b[1] - a[1])
        along = (b[0] - a[0]) / long, (b[1] - a[1]) / long
        out = self._outward(a, along)
        off = self._clear_of(a, along, out, long) + 5.5 * u
        ends = _beside(a, b, out, off)
        turn = degrees(atan2(along[1], along[0]))
        upright = turn - 180 if turn > 90 else turn + 180 if turn <= -90 else turn
        words = Words(between(*ends, 0.5), self.names.length(long), _SMALL, turned=upright)
        while any(_near(ends, other, 5 * u) for other in drawn) or not labels.is_free(words):
            off += 2.5 * u
            ends = _beside(a, b, out, off)
            words = replace(words, at=between(*ends, 0.5))
        drawn.append(ends)
        labels.take(words)
        labels.take(line(*ends))
        for centre, end in zip((a, b), ends, strict=True):
            beside = line(centre, (end[0] + 1.5 * u * out[0], end[1] + 1.5 * u * out[1]), weight=0.35)
            labels.take(beside, soft=True)
            yield beside
        yield line(*ends, weight=0.5, name="size")
        yield arrowhead(ends[0], (-along[0], -along[1]), 2 * u)
        yield arrowhead(ends[1], along, 2 * u)
        yield words

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
        rounds += [(casting.at, casting.radius) for casting in self._castings()]
        off = 0.0
        for (x, y), radius in rounds:
            ahead = (x - a[0]) * along[0] + (y - a[1]) * along[1]
            if -radius < ahead < long + radius:
                off = max(off, (x - a[0]) * out[0] + (y - a[1]) * out[1] + radius)
        return off


def _beside(a: Point, b: Point, out: Point, off: float) -> tuple[Point, Point]:
    return (a[0] + off * out[0], a[1] + off * out[1]), (b[0] + off * out[0], b[1] + off * out[1])


def _near(one: tuple[Point, Point], other: tuple[Point, Point], room: float) -> bool:
    """Whether two lines come nearer to each other than ``room``, by points along both."""
    points = [[between(*ends, i / 24) for i in range(25)] for ends in (one, other)]
    return any(hypot(x1 - x2, y1 - y2) < room for x1, y1 in points[0] for x2, y2 in points[1])
