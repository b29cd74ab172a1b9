"""Brackets made up round a train that nearly fits them: straight, offset and curved slots, several slots, plates."""

import cmath
import math
from dataclasses import replace
from fractions import Fraction as F
from itertools import pairwise

from quadrants import KINDS, plain

from gearsearch.shop.brackets.plate import Plate
from gearsearch.shop.brackets.slot import Slot
from gearsearch.shop.brackets.slots import SlotLine, Slots
from gearsearch.shop.gears import GearSet, Kind
from gearsearch.shop.quadrant import Obstacle, Quadrant

MODULES = (F(3, 2), F(2))


def rounded(point):
    """A point to a tenth of a millimetre."""
    return F(round(point.real * 10), 10), F(round(point.imag * 10), 10)


def line_through(rng, point, studs):
    """A slot, straight or curved, through about a point."""
    along = point * cmath.exp(1j * rng.uniform(-0.4, 0.4)) / abs(point)
    if rng.random() < 0.5:
        before, after = rng.uniform(5, 40), rng.uniform(5, 40)
        return SlotLine(rounded(point - before * along), rounded(point + after * along), studs)
    centre = rounded(point + rng.uniform(20, 120) * cmath.exp(1j * rng.uniform(0, 2 * math.pi)))
    middle = complex(*map(float, centre))
    start = rounded(middle + (point - middle) * cmath.exp(-1j * rng.uniform(0.1, 1.2)))
    x, y = start[0] - centre[0], start[1] - centre[1]
    half = F(math.tan(rng.uniform(0.1, 1.2) / 2)).limit_denominator(50)  # so that the end is on the very circle
    cos, sin = (1 - half * half) / (1 + half * half), 2 * half / (1 + half * half)
    return SlotLine(start, (centre[0] + x * cos - y * sin, centre[1] + x * sin + y * cos), studs, centre)


def made_up_bracket(rng, kind, points, studs):
    """A bracket of a kind for studs that stand about the points."""
    reach = F(rng.randint(5, 40)), F(rng.randint(80, 260))
    if kind == "plate":
        return Plate(2, reach)
    if kind == "radial" or not studs:
        return Slot(max(1, studs - (rng.random() < 0.03)), reach)
    if kind == "offset":
        return Slots(lines=(line_through(rng, points[1], min(studs, 3)),))
    first = rng.randint(1, min(studs, 3))
    lines = [line_through(rng, points[1], first)]
    lines.append(line_through(rng, points[-1], rng.randint(max(1, min(3, studs - first)), min(studs, 3))))
    rng.shuffle(lines)
    return Slots(lines=tuple(lines))


def made_up_train(rng):
    """Pairs of (driver, idlers, driven) in tooth counts, and the number of the kind of tooth of each."""
    pairs = rng.choice([1, 1, 2, 2, 2, 3, 3, 4])
    idlers = rng.choice([0, 0, 1, 1, 2]) if pairs < 3 else rng.choice([0, 0, 1]) if pairs == 3 else 0
    between = [[] for _ in range(pairs)]
    for _ in range(idlers):
        rng.choice(between).append(rng.randrange(16, 60, 2))
    train = [(rng.randrange(16, 60, 2), tuple(here), rng.randrange(16, 60, 2)) for here in between]
    mixed = rng.random() < 0.3
    return train, [rng.choice([0, 1]) if mixed else 0 for _ in train], mixed


def made_up_case(rng):
    """A shop and a train of its gears as (driver, idlers, driven, tag); None where the draw is of no use."""
    train, kinds, mixed = made_up_train(rng)
    studs = len(train) - 1 + sum(len(idlers) for _, idlers, _ in train)
    kind = rng.choice(["radial", "radial", "offset", "two", "two", "plate", "plate"])
    if kind == "plate" and studs > 2:
        return None
    pivot = rng.choice(["first", "last"])
    centres = []
    for (driver, idlers, driven), number in zip(train, kinds, strict=True):
        line = [driver, *idlers, driven]
        centres += [float(MODULES[number] * (a + b) / 2) for a, b in pairwise(line)]
    centres = centres if pivot == "first" else centres[::-1]
    points, turn = [0j], 0 if kind == "radial" else rng.uniform(-0.3, 0.3)
    for centre in centres[:-1]:
        points.append(points[-1] + centre * cmath.exp(1j * turn))
        turn += 0 if kind == "radial" else rng.uniform(-1, 1)
    other = points[-1] + centres[-1] * cmath.exp(1j * (turn + rng.uniform(-1.5, 1.5)))
    distance = max(F(5), F(round(abs(other) * 2), 2) + rng.choice([0, 0, 0, F(rng.randint(-30, 30), 7)]))
    ends = distance, distance
    if rng.random() < 0.5:
        ends = max(F(5), distance - F(rng.randint(0, 20), rng.choice([1, 2, 3]))), distance + F(rng.randint(0, 20), 3)
    quadrant = Quadrant(
        shaft_distance_mm=ends,
        pivot=pivot,
        bracket=made_up_bracket(rng, kind, points, studs),
        swing_deg=(F(rng.choice([-180, -180, -90, -75, -30, 0])), F(rng.choice([180, 180, 90, 75, 40, 20]))),
        planes=rng.choice([2, 3]),
        nut_radius_mm={place: F(rng.randint(1, 7)) for place in ("first", "stud", "last")},
        clearance_mm=F(rng.choice([0, 1, 2]), 2),
        obstacles=tuple(
            Obstacle(F(rng.randint(-40, 160)), F(rng.randint(-120, 120)), F(rng.randint(2, 12)))
            for _ in range(rng.choice([0, 0, 0, 1, 2]))
        ),
    )
    own = [
        GearSet(
            KINDS[number] if mixed else Kind(F(3, 2)),
            tuple(
                sorted(
                    t for pair, k in zip(train, kinds, strict=True) if k == number for t in (pair[0], *pair[1], pair[2])
                )
            )
            or (20,),
        )
        for number in ((0, 1) if mixed else (0,))
    ]
    shop = replace(plain((20,)), gears=tuple(own), quadrant=quadrant)
    return shop, [(*pair, own[number].kind.tag) for pair, number in zip(train, kinds, strict=True)]
