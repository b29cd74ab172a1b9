"""What the grid of a plate misses: trains made up round a position of head and studs that does and is not on the grid.

``python benchmarks/off_grid.py [TRAINS]`` (2000). For each the reach and the swing are drawn up to 8 mm and 6° wider
than the position needs, the head can be moved up to 20 mm either way. Prints how many get a no all the same, and how
much those positions have to spare in the tightest of their limits; and how much clearance is given away elsewhere.
"""

from __future__ import annotations

import random
import sys
from cmath import exp, phase
from dataclasses import dataclass, replace
from fractions import Fraction as F
from math import degrees, radians
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "tests"))

from quadrants import plain

from gearsearch.mounting.judge import Judge
from gearsearch.mounting.shape import gears_of, shape_of
from gearsearch.shop.brackets.plate import Plate
from gearsearch.shop.pool import pool_of
from gearsearch.shop.trains import Pair, Train

SEED, MODULE = 20261130, F(3, 2)
SHAPES = ((3, ()), (2, (0,)), (2, (1,)))  # pairs, and the pair each idler stands in: two studs


@dataclass(frozen=True)
class Case:
    """A train on a plate, and what the position it was made up round has to spare [mm]."""

    judge: Judge
    train: Train
    gap: float
    spare: float


def to_thousandth(value: float) -> F:
    """A length or an angle as a shop file would give it."""
    return F(round(value * 1000), 1000)


def made_up(rng: random.Random) -> Case | None:
    """A random case; None where the position itself does not do."""
    pairs, places = rng.choice(SHAPES)
    shape = shape_of(pairs, places, 2)
    teeth = [rng.randint(20, 90) for _ in shape.seats]
    turned, points = 0.0, [0j]
    for near, far in shape.meshes:
        turned += rng.uniform(-150, 150) if turned else rng.uniform(-80, 80)
        points.append(points[-1] + float(MODULE) * (teeth[near] + teeth[far]) / 2 * exp(1j * radians(turned)))
    head = abs(points[-1])
    points = [point * exp(-1j * phase(points[-1])) for point in points]
    away, angles = [abs(point) for point in points[1:3]], [degrees(phase(point)) for point in points[1:3]]
    reach = to_thousandth(min(away) - rng.uniform(0.02, 8)), to_thousandth(max(away) + rng.uniform(0.02, 8))
    swing = to_thousandth(min(angles) - rng.uniform(0.02, 6)), to_thousandth(max(angles) + rng.uniform(0.02, 6))
    heads = to_thousandth(head - rng.uniform(0.001, 20)), to_thousandth(head + rng.uniform(0.001, 20))
    nut, clearance = to_thousandth(rng.uniform(5, 14)), F(rng.choice(["0", "0.2", "0.5", "1"]))
    gap = room(shape, teeth, points, float(nut))
    if not 60 < head < 400 or reach[0] <= 5 or swing[0] < -180 or swing[1] > 180 or gap < clearance + F(1, 1000):
        return None
    shop = plain(teeth, layout="plate", reach_mm=reach, swing_deg=swing, shaft_distance_mm=heads)
    assert shop.quadrant is not None
    nuts = dict.fromkeys(("first", "stud", "last"), nut)
    quadrant = replace(shop.quadrant, bracket=Plate(2, reach), nut_radius_mm=nuts, clearance_mm=clearance)
    shop = replace(shop, quadrant=quadrant)
    idlers = [tuple(teeth[2 * pairs + i] for i, place in enumerate(places) if place == pair) for pair in range(pairs)]
    train = Train(tuple(Pair(teeth[pair], teeth[pairs + pair], idlers[pair], "") for pair in range(pairs)))
    ends = [min(away) - float(reach[0]), float(reach[1]) - max(away), head - float(heads[0]), float(heads[1]) - head]
    turns = [min(angles) - float(swing[0]), float(swing[1]) - max(angles)]
    spare = min(gap - float(clearance), *ends, *(radians(turn) * min(away) for turn in turns))
    return Case(Judge(shop, pool_of(shop), shop.route()), train, gap, spare)


def room(shape, teeth, points, nut) -> float:  # type: ignore[no-untyped-def]
    """The least gap [mm] of a position."""
    tips = [float(MODULE) * (count + 2) / 2 for count in teeth]
    gaps = [
        abs(points[i] - points[j]) - sum(tips[gear] for gear in gears_of(contact)) - (nut if contact.nut else 0)
        for (i, j), contacts in shape.contacts.items()
        for contact in contacts
    ]
    return min(gaps, default=1e6)


def main(trains: int = 2000) -> None:
    """Judge so many trains, and print what is missed."""
    rng, done, missed, less = random.Random(SEED), 0, [], []
    while done < trains:
        case = made_up(rng)
        if case is None:
            continue
        done += 1
        verdict = case.judge.place(case.train)
        if verdict.mounts != "yes":
            missed.append(case.spare)
        elif verdict.clearance_mm is not None:
            less.append(case.gap - verdict.clearance_mm)
    print(f"{done} trains with a position off the grid that does: {len(missed)} get a no", end="")
    print(f", where the position has {max(missed):.2f} mm to spare at most" if missed else "")
    worse = [lost for lost in less if lost > 0.001]
    print(f"{len(worse)} get a position with less clearance, {max(worse, default=0.0):.2f} mm less at most")


if __name__ == "__main__":
    main(*map(int, sys.argv[1:2]))
