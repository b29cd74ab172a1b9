"""Windows of a few hundredths of a millimetre, made by any two limits on any train, are found without fail."""

import cmath
import random
from dataclasses import replace
from fractions import Fraction as F
from math import asin, degrees, pi

import naive_mounting as naive
import pytest
from quadrants import plain
from test_mounting import stands

from gearsearch.mounting.judge import Judge
from gearsearch.shop.pool import pool_of
from gearsearch.shop.quadrant import LAYOUTS, Obstacle

SLACK = 0.005  # mm that a position is left to each side
FAR_OFF = 0.05  # mm that no position may be away from it
TEETH = tuple(range(20, 64, 2))
SMALL = dict.fromkeys(("first", "stud", "last"), F(1, 10))
OPEN = {
    "swing_deg": (F(-180), F(180)),
    "reach_mm": (F(1, 10), F(2000)),
    "nut_radius_mm": SMALL,
    "clearance_mm": F(1, 4),
    "planes": 3,
}


class Window:
    """A train on a quadrant that leaves it one line of positions, and a place on that line.

    The place is the angle of the first stud on a plate [radians], or the shaft distance of a slot [mm].
    """

    def __init__(self, rng, layout):
        self.rng, self.layout = rng, layout
        pairs = rng.choice([1, 2, 3] if layout == "plate" else [1, 2, 2])
        studs = 2 if layout == "plate" else rng.choice([1, 2]) if pairs == 1 else pairs - 1 + rng.choice([0, 1])
        swing = rng.choice([(F(-180), F(180)), (F(-180), F(172)), (F(-172), F(180))])
        self.shop = plain(TEETH, layout=layout, studs=3, **{**OPEN, "swing_deg": swing})
        self.box = pool_of(self.shop)
        sizes = rng.sample(range(len(TEETH)), pairs + pairs + studs - pairs + 1)
        between = [[] for _ in range(pairs)]
        for size in sizes[2 * pairs :]:
            between[rng.randrange(pairs)].append(size)
        self.sets = sizes[:pairs], sizes[pairs : 2 * pairs], between
        self.pairs = tuple(zip(sizes[:pairs], map(tuple, between), sizes[pairs : 2 * pairs], strict=True))
        self.branch = rng.randrange(2)
        whole = sum(naive.Drawing(self.shop, self.box, self.pairs).centres)
        self.distance = whole * rng.uniform(0.4, 0.95)
        self.at = rng.uniform(-2.5, 2.5) if layout == "plate" else self.distance

    def drawing(self, **quadrant):
        """The train with some limits drawn closer."""
        return naive.Drawing(self.limited(**quadrant), self.box, self.pairs)

    def limited(self, **quadrant):
        """The shop with some limits drawn closer."""
        spread = 0 if self.layout == "plate" else min(25.0, self.distance / 4)
        given = {"shaft_distance_mm": (F(self.distance - spread / 3), F(self.distance + spread)), **quadrant}
        return replace(self.shop, quadrant=replace(self.shop.quadrant, **given))

    def points(self, at):
        """The shafts at a place of the line; none where the train does not close there."""
        drawing = self.drawing()
        found = drawing.on_the_plate(self.distance, at) if self.layout == "plate" else drawing.on_the_ray(at)
        return found[self.branch] if found else None

    def limits(self, kind):
        """The limit of a kind that leaves the place its slack and no more: lines of the quadrant."""
        points = self.points(self.at)
        stud = len(points) - 2 if kind in ("near", "far") else self.rng.randrange(1, len(points) - 1)
        point, widest = points[stud], max(self.drawing().tip(gear[0]) for gear in self.drawing().shafts[stud])
        turn, away = cmath.phase(point), abs(point)
        match kind:
            case "low":
                return {"low": F(degrees(turn - SLACK / away))}
            case "high":
                return {"high": F(degrees(turn + SLACK / away))}
            case "near":
                return {"near": F(away - SLACK)}
            case "far":
                return {"far": F(away + SLACK)}
            case "shortest":
                return {"shortest": F(self.at - SLACK)}
            case "longest":
                return {"longest": F(self.at + SLACK)}
            case "first" | "last":
                return {"nut": (kind, self._nut(points, kind))}
        step = 1e-6 if self.layout == "plate" else 1e-4
        after = self.points(self.at + step)
        shaft = len(points) - 1 if kind == "beyond" else stud
        if kind == "beyond":
            point, widest = points[-1], self.drawing().tip(self.drawing().shafts[-1][0][0])
        move = (after[shaft] - point) / abs(after[shaft] - point) * self.rng.choice([1, -1])
        block = point + move * cmath.exp(1j * self.rng.uniform(-0.6, 0.6)) * (widest + 3 + 0.25 + SLACK)
        return {"block": Obstacle(F(block.real), F(block.imag), F(3))}

    def _nut(self, points, end):
        """How large the nut of a shaft may be at most."""
        gaps, at = [], points[0 if end == "first" else -1]
        for shaft, gears in enumerate(self.drawing().shafts):
            if shaft not in (0, 1) if end == "first" else shaft < len(points) - 2:
                gaps += [abs(points[shaft] - at) - self.drawing().tip(gear[0]) for gear in gears]
        return F(min(gaps, default=0) - 0.25 - SLACK)

    def _usual(self):
        return *self.shop.quadrant.swing_deg, *self.shop.quadrant.reach_mm

    def judged(self, quadrant):
        """What is said of the train on the quadrant, by a judge that has just judged another."""
        shop = self.limited(**quadrant)
        judge = Judge(shop, self.box, shop.route())
        other = self.rng.sample(range(len(TEETH)), 4)
        judge.place(self.box.train(other[:1], other[1:2], [other[2:]]))
        judged = judge.place(self.box.train(*self.sets))
        if judged.mounts == "yes":
            assert stands(self.drawing(**quadrant), judged), "a condition is not kept where the studs are said to stand"
        return judged

    def between(self, kinds):
        """The quadrant with two limits; None where they do not leave a narrow window about the place."""
        if self.points(self.at) is None or self.points(self.at + 1e-4) is None:
            return None
        found = [self.limits(kind) for kind in kinds]
        low, high, near, far = (
            next((limit[name] for limit in found if name in limit), usual)
            for name, usual in zip(("low", "high", "near", "far"), self._usual(), strict=True)
        )
        quadrant = {
            "swing_deg": (low, high),
            "reach_mm": (near, far),
            "nut_radius_mm": {**SMALL, **dict(limit["nut"] for limit in found if "nut" in limit)},
            "obstacles": tuple(limit["block"] for limit in found if "block" in limit),
        }
        shortest, longest = self.limited().quadrant.shaft_distance_mm
        if self.layout == "slot":
            shortest, longest = (
                next((limit[name] for limit in found if name in limit), usual)
                for name, usual in (("shortest", shortest), ("longest", longest))
            )
            quadrant["shaft_distance_mm"] = shortest, longest
        if min(quadrant["nut_radius_mm"].values()) <= 0 or near >= far or low >= high:
            return None
        return quadrant if self.is_narrow(quadrant) else None

    def is_narrow(self, quadrant):
        """Whether the place will do, and no place a little to either side of it."""
        drawing = self.drawing(**quadrant)
        if not 0 < drawing.margin(self.points(self.at))[0] < 2 * SLACK:
            return False
        low, high = map(float, drawing.q.shaft_distance_mm)
        for way in (-1, 1):
            for share in (0.5, 1, 2, 4):
                at = self.at + way * share * (FAR_OFF if self.layout == "slot" else FAR_OFF / 40)
                points = self.points(at)
                if points is not None and drawing.margin(points)[0] >= 0 and (low <= at <= high or low == high):
                    return False
        return True


KINDS = {
    "plate": ("low", "high", "near", "far", "first", "last", "block", "block"),
    "slot": ("low", "high", "first", "last", "block", "block", "beyond", "shortest", "longest"),
}


def found_in(layout, seed):
    """Look for a narrow window; return the kinds of limits that make it, or None where the draw makes none."""
    rng = random.Random(seed)
    window = Window(rng, layout)
    kinds = rng.choice(KINDS[layout]), rng.choice(KINDS[layout])
    quadrant = window.between(kinds)
    if quadrant is None:
        return None
    judged = window.judged(quadrant)
    assert judged.mounts == "yes", (layout, seed, kinds, judged.why)
    return tuple(sorted(kinds))


def fence_in(layout, seed):
    """Put castings all round the way of a stud, one gap just wide enough and the others not; whether that was made."""
    rng = random.Random(seed)
    window = Window(rng, layout)
    points = window.points(window.at)
    if points is None:
        return False
    stud = 1 if layout == "plate" else rng.randrange(1, len(points) - 1)
    away, turn = abs(points[stud]), cmath.phase(points[stud])
    widest = max(window.drawing().tip(gear[0]) for gear in window.drawing().shafts[stud])

    def step(slack):
        sine = (widest + 3 + 0.25 + slack) / 2 / away
        return 2 * asin(sine) if sine < 1 else pi

    angles = [turn - step(SLACK), turn + step(SLACK)]
    while angles[-1] + 2 * step(-SLACK) < angles[0] + 2 * pi and len(angles) < 16:
        angles.append(angles[-1] + 2 * step(-rng.uniform(1, 4) * SLACK))
    blocks = (away * cmath.exp(1j * angle) for angle in angles)
    quadrant = {"obstacles": tuple(Obstacle(F(at.real), F(at.imag), F(3)) for at in blocks)}
    if layout == "slot":
        quadrant["shaft_distance_mm"] = F(window.distance * 3 / 4), F(window.distance * 5 / 4)
    if not window.is_narrow(quadrant):
        return False
    judged = window.judged(quadrant)
    assert judged.mounts == "yes", (layout, seed, judged.why)
    return True


@pytest.mark.parametrize("part", range(10))
@pytest.mark.parametrize("layout", LAYOUTS)
def test_of_a_fence_the_one_gap_that_is_wide_enough_is_found(layout, part):
    assert sum(fence_in(layout, seed) for seed in range(40 * part, 40 * part + 40)) > 2


@pytest.mark.parametrize("part", range(10))
@pytest.mark.parametrize("layout", LAYOUTS)
def test_a_window_between_any_two_limits_is_found(layout, part):
    made = [found_in(layout, seed) for seed in range(150 * part, 150 * part + 150)]
    assert len({*made} - {None}) >= 2


@pytest.mark.parametrize("part", range(8))
@pytest.mark.parametrize("layout", LAYOUTS)
def test_no_limit_is_broken_where_the_train_is_said_to_mount(layout, part):
    """Limits a little too close at one place, which may leave another."""
    verdicts = []
    for seed in range(50 * part, 50 * part + 50):
        rng = random.Random(seed)
        window = Window(rng, layout)
        if window.points(window.at) is None or window.points(window.at + 1e-4) is None:
            continue
        limit = window.limits(rng.choice(["low", "high", "near", "far"]))
        bounds = [
            limit.get(name, usual) for name, usual in zip(("low", "high", "near", "far"), window._usual(), strict=True)
        ]
        if bounds[0] < bounds[1] and bounds[2] < bounds[3]:
            verdicts.append(window.judged({"swing_deg": tuple(bounds[:2]), "reach_mm": tuple(bounds[2:])}).mounts)
    assert verdicts.count("yes") > 4
