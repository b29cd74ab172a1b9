"""Single made-up shops against the slow way: small enough for loops that are interpreted, one at a time."""

import random

import numpy as np
import pytest
from quadrants import made_up_set, made_up_shop
from test_mounting import freely_placed, same_as_naive

from gearsearch.box import box_of
from gearsearch.mounting import Judge, arrays


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
    rng = random.Random(seed)
    shop = made_up_shop(rng, kinds=rng.choice([1, 2]), most=8, odd_gears=False)
    judge = Judge(shop, box_of(shop), shop.route())
    for pairs in (1, 2):
        drawn = [made_up_set(rng, judge.box, pairs) for _ in range(4)]
        sets = np.array([[*a, *b] for a, b in filter(None, drawn)], np.int64).reshape(-1, 2 * pairs)
        for hand in ("right", "left") if len(sets) else ():
            plainly = judge.best(sets, hand)
            with monkeypatch.context() as patch:
                patch.setattr(arrays, "_MANY", 0)
                short = judge.best(sets, hand)
            for name in ("found", "idlers", "clearance_um", "drivers", "driven", "idler_sizes", "idler_places"):
                assert np.array_equal(getattr(plainly, name), getattr(short, name)), (name, hand, pairs)
