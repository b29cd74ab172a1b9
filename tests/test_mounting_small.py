"""Single made-up shops against the slow way: small enough for loops that are interpreted, one at a time."""

import random
from fractions import Fraction as F

import numpy as np
import pytest
from quadrants import made_up_set, made_up_shop, plain
from test_mounting import TEETH, freely_placed, hemmed_in, same_as_naive, short_cuts_agree

from gearsearch.box import box_of
from gearsearch.mounting import Judge
from gearsearch.shop import Obstacle
from gearsearch.trains import Train


@pytest.mark.parametrize("seed", range(40))
def test_the_slow_way_finds_the_same_best_arrangement(seed):
    assert same_as_naive(seed, most=5) >= 0


@pytest.mark.parametrize("mode", ["geometry", "rule", "skip"])
def test_the_slow_way_finds_trains_that_mount_in_each_mode(mode):
    assert sum(same_as_naive(seed, modes=(mode,), pairs=(2,), most=5) for seed in range(100, 112)) > 3


@pytest.mark.parametrize("layout", ["slot", "plate"])
@pytest.mark.parametrize("seed", range(300, 330))
def test_a_dense_sweep_finds_no_better_position(layout, seed):
    assert freely_placed(seed, layout, 200) in ("yes", "no", None)


@pytest.mark.parametrize("seed", range(200, 212))
def test_short_cuts_find_the_same(seed, monkeypatch):
    short_cuts_agree(seed, monkeypatch, 8, 4)


@pytest.mark.parametrize("seed", range(400, 416))
def test_each_train_of_many_is_judged_as_if_it_were_alone(seed):
    """Also after a train of gears that the box has not."""
    rng = random.Random(seed)
    shop = made_up_shop(rng, kinds=rng.choice([1, 2]), most=7)
    judge = Judge(shop, box_of(shop), shop.route())
    drawn = [made_up_set(rng, judge.box, 2) for _ in range(5)]
    rows = [[*a, *b] for a, b in filter(None, drawn)]
    rows[1:1] = [[0, 0, 0, 0]]
    together = judge.best(np.array(rows, np.int64), "right")
    for number, row in enumerate(rows):
        alone = judge.best(np.array([row], np.int64), "right")
        for name in ("found", "idlers", "clearance_um", "drivers", "driven", "idler_sizes", "idler_places"):
            assert np.array_equal(getattr(alone, name)[0], getattr(together, name)[number]), (name, number)


@pytest.mark.parametrize("distance", [F(1421, 10), F(1611, 10)])
@pytest.mark.parametrize(("width", "mounts"), [(-0.01, "no"), (0.01, "yes")])
def test_a_narrow_window_of_shaft_distances_is_found(distance, width, mounts):
    whole = {"swing_deg": (F(0), F(180))}
    gears = (44, 48, 100)
    train = Train.parse("44/(100)/48")
    fixed = plain(gears, shaft_distance_mm=(distance, distance), **whole)
    (stud,) = Judge(fixed, box_of(fixed), fixed.route()).place(train).placement.studs
    beyond = Obstacle(distance + F(37.5 + 0.5 + 4 + width / 2), F(0), F(4))
    blocks = (hemmed_in(stud, 76.5, width)[1], beyond)
    shop = plain(gears, obstacles=blocks, shaft_distance_mm=(F(140), F(165)), **whole)
    assert Judge(shop, box_of(shop), shop.route()).place(train).mounts == mounts


@pytest.mark.parametrize(
    ("swing", "least", "text"), [((15, 45), 156, "44/(60)/(24)/48"), ((20, 40), 128, "60/(44)/(30)/36")]
)
def test_a_head_that_can_be_moved_finds_more_room_than_any_of_a_few_fixed_distances(swing, least, text):
    plate = {
        "layout": "plate",
        "swing_deg": tuple(map(F, swing)),
        "reach_mm": (F(20), F(190)),
        "nut_radius_mm": dict.fromkeys(("first", "stud", "last"), F(4)),
    }

    def room(low, high):
        shop = plain(TEETH, shaft_distance_mm=(low, high), **plate)
        return Judge(shop, box_of(shop), shop.route()).place(Train.parse(text))

    best = room(F(least), F(least + 15))
    at = F(best.placement.shaft_distance_mm)
    assert best.clearance_mm > max(room(F(least) + k, F(least) + k).clearance_mm or 0 for k in range(0, 16, 3))
    assert room(at, at).clearance_mm == pytest.approx(best.clearance_mm, abs=1e-6)
