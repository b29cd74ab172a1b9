"""Against the slow way, on brackets of every kind: verdicts, studs, clearances; shapely draws every yes."""

import random

import mpmath
import naive_mounting as naive
import numpy as np
import pytest
from made_up_brackets import made_up_case
from slow import some
from test_against_shapely_mounting import overlaps

from gearsearch.mounting.judge import Judge
from gearsearch.shop.pool import pool_of
from gearsearch.shop.trains import Pair, Train

MICROMETRE, STUD = 1e-3, 1e-9  # mm


def compared(seed):
    """Judge one made-up train both ways; "yes" or "no" as both say, None where there is none."""
    case = made_up_case(random.Random(seed))
    if case is None:
        return None
    shop, train = case
    box = pool_of(shop)
    pairs = tuple(
        (box.number(tag, driver), tuple(box.number(tag, i) for i in idlers), box.number(tag, driven))
        for driver, idlers, driven, tag in train
    )
    drawing = naive.Drawing(shop, box, pairs)
    _, gap, places = drawing.best()
    judge = Judge(shop, box, shop.route())
    judged = judge.place(Train(tuple(Pair(driver, driven, idlers, tag) for driver, idlers, driven, tag in train)))
    assert judged.mounts == ("yes" if places else "no"), (seed, judged.why)
    assert judged.why
    if places:
        clearance = 10**6 if judged.clearance_mm is None else judged.clearance_mm
        assert abs(clearance - gap) < MICROMETRE, seed
        assert off_by(drawing, judged.placement) < STUD, seed
        assert list(overlaps(shop, judged.placement)) == [], seed
    if not any(idlers for _, idlers, _, _ in train):
        orders = np.array([[*(pair[0] for pair in pairs), *(pair[2] for pair in pairs)]])
        assert bool(judge.orders(orders, "either").mounts[0]) >= bool(places), seed
    return judged.mounts


def off_by(drawing, placement):
    """How far the shafts are from the place of the slow way that has the same shaft distance and is nearest [mm]."""
    points = {wheel.shaft: complex(wheel.x_mm, wheel.y_mm) for wheel in placement.wheels}
    with mpmath.workdps(40):
        return min(
            max(
                abs(points[shaft] - complex(*map(float, point)))
                for shaft, point in zip(drawing.from_pivot, place[3], strict=True)
            )
            for place in drawing.tried(naive.Digits)
            if abs(float(place[2]) - placement.shaft_distance_mm) < STUD
        )


@pytest.mark.parametrize("part", some(range(8), quick=2))
def test_on_every_kind_of_bracket_the_slow_way_finds_the_same(part):
    found = [compared(seed) for seed in range(50 * part, 50 * part + 50)]
    assert min(found.count("yes"), found.count("no")) >= 10


@pytest.mark.slow
@pytest.mark.parametrize("part", range(10))
def test_on_three_thousand_brackets_the_slow_way_finds_the_same(part):
    found = [compared(seed) for seed in range(1000 + 330 * part, 1330 + 330 * part)]
    assert min(found.count("yes"), found.count("no")) >= 80
