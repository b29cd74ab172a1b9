"""Against shapely: every yes drawn as circles."""

import random
from itertools import combinations

import numpy as np
import pytest
from quadrants import LAYOUTS, made_up_box, made_up_set, made_up_shop
from shapely import Point
from slow import some

from gearsearch.mounting.judge import Judge
from gearsearch.shop.gears import PLACES

SETS = 12  # train sets drawn for each shop
SAME = 1e-6  # mm
TOUCH = 1e-6  # mm²; tips that just touch share less
TENTH_OF_A_MODULE = 0.2  # mm, of the coarsest kind: what two gears alone may be off the shafts' distance


def judged_of(seed, **more):
    """Shop, box and verdicts on the best arrangements of some train sets, each for both hands."""
    rng = random.Random(seed)
    shop = made_up_shop(rng, kinds=rng.choice([1, 2]), most=9, odd_gears=seed % 4 == 0, **more)
    box = made_up_box(rng, shop)
    judge = Judge(shop, box, shop.route())
    found = []
    for pairs in (1, 2, 3):
        made_up = [made_up_set(rng, box, pairs) for _ in range(SETS)]
        rows = [[*drivers, *driven] for drivers, driven in filter(None, made_up)]
        if rows:
            for hand in ("right", "left"):
                best = judge.best(np.array(rows, np.int64), hand)
                found += [judge.judged(best, row) for row in range(len(rows)) if best.mounts[row] or row % 4 == 0]
    return shop, box, found


def overlaps(shop, placement):
    """Every pair of things that share an area and are not gears that mesh."""
    q = shop.quadrant
    last = len(placement.studs) + 1
    off = allowed_off(placement)
    disks = [(w, Point(w.x_mm, w.y_mm).buffer(w.tip_radius_mm, quad_segs=32)) for w in placement.wheels]
    shafts = {w.shaft: (w.x_mm, w.y_mm) for w in placement.wheels}
    nuts = {
        shaft: Point(at).buffer(float(q.nut_radius_mm[PLACES[0 if shaft == 0 else 2 if shaft == last else 1]]))
        for shaft, at in shafts.items()
    }
    blocks = [Point(float(b.x_mm), float(b.y_mm)).buffer(float(b.radius_mm)) for b in q.obstacles]
    for (a, one), (b, other) in combinations(disks, 2):
        if a.plane == b.plane and a.shaft != b.shaft and not mesh(a, b, off) and share(one, other):
            yield a, b
    for wheel, disk in disks:
        meshing = {b.shaft for b, _ in disks if mesh(wheel, b, off)}
        for shaft, nut in nuts.items():
            if shaft != wheel.shaft and shaft not in meshing and share(disk, nut):
                yield wheel, f"nut of shaft {shaft}"
        for block in blocks:
            if share(disk, block):
                yield wheel, "obstacle"


def share(one, other):
    """Whether two disks share more than a point."""
    return one.intersects(other) and one.intersection(other).area > TOUCH


def allowed_off(placement):
    """How far two meshing pitch circles may be from touching."""
    return SAME if placement.studs else TENTH_OF_A_MODULE + SAME


def off_mesh(a, b):
    """How far two pitch circles are from touching [mm]."""
    return abs(Point(a.x_mm, a.y_mm).distance(Point(b.x_mm, b.y_mm)) - a.pitch_radius_mm - b.pitch_radius_mm)


def mesh(a, b, off):
    """Whether two gears mesh: pitch circles touch, in one plane, on neighbouring shafts, of one kind, neither idle."""
    together = a.plane == b.plane and abs(a.shaft - b.shaft) == 1 and a.kind == b.kind
    return together and "idle" not in (a.role, b.role) and off_mesh(a, b) <= off


def check_drawing(shop, judged):
    """Assert that a placement meshes, is inside reach and swing, and overlaps nowhere."""
    placement, q = judged.placement, shop.quadrant
    assert list(overlaps(shop, placement)) == []
    for shaft in range(len(placement.studs) + 1):
        meshing = [
            (a, b)
            for a in placement.wheels
            for b in placement.wheels
            if a.shaft == shaft and b.shaft == shaft + 1 and mesh(a, b, allowed_off(placement))
        ]
        assert len(meshing) == 1
    for stud in placement.studs:
        assert float(q.bracket.reach_mm[0]) - 1e-6 <= stud.from_pivot_mm <= float(q.bracket.reach_mm[1]) + 1e-6
        assert float(q.swing_deg[0]) - 1e-6 <= stud.swing_deg <= float(q.swing_deg[1]) + 1e-6
    assert q.shaft_distance_mm[0] <= placement.shaft_distance_mm + 1e-9
    assert placement.shaft_distance_mm - 1e-9 <= q.shaft_distance_mm[1]


def count_drawn(seeds, enough=10**9, **more):
    """How many placements of made-up shops were drawn and found good."""
    drawn = 0
    for seed in seeds:
        if drawn >= enough:
            break
        shop, _, found = judged_of(seed, **more)
        for judged in found:
            if judged.mounts == "yes":
                check_drawing(shop, judged)
                drawn += 1
    return drawn


@pytest.mark.parametrize("first", some(range(0, 400, 20), quick=2))
def test_trains_that_mount_overlap_nowhere_when_drawn(first):
    """All twenty draw eight thousand trains."""
    assert count_drawn(range(first, first + 20)) > 200


@pytest.mark.parametrize("first", some(range(5480, 4980, -20), quick=1))
def test_trains_where_studs_or_head_can_be_moved_overlap_nowhere_when_drawn(first):
    """All twenty-five draw nine thousand trains."""
    assert count_drawn(range(first, first + 20), free=True, layouts=LAYOUTS) > 100
