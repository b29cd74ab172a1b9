"""What the loops of the mounting pass over early, on boxes of a few gears."""

import random

import numpy as np
import pytest
from quadrants import made_up_set, made_up_shop, plain

from gearsearch.box import box_of
from gearsearch.mounting import Judge, arrays

COLUMNS = ("found", "idlers", "clearance_um", "drivers", "driven", "idler_sizes", "idler_places")


@pytest.mark.parametrize("mode", ["geometry", "rule", "skip"])
def test_a_train_of_more_gears_than_there_are_mounts_nowhere_and_spoils_no_train_after_it(mode):
    shop = plain((24, 32, 48, 100))
    judge = Judge(shop, box_of(shop), shop.route(), mode)
    twice, once = ([judge.box.size("", teeth) for teeth in row] for row in ((100, 100, 24, 48), (100, 32, 24, 48)))
    both, alone = judge.best(np.array([twice, once]), "right"), judge.best(np.array([once]), "right")
    assert both.found.tolist() == [False, True]
    for name in COLUMNS:
        assert getattr(both, name)[1].tolist() == getattr(alone, name)[0].tolist(), name
    assert judge.judged(both, 0).why == "the box has 1 of the 100; this train needs 2"


@pytest.mark.parametrize("seed", [8, 12, 14])
def test_on_a_plate_the_short_cuts_find_the_same(seed, monkeypatch):
    """Also where two studs may stand off one line, so that nothing can be said of how far out the last one is."""
    rng = random.Random(seed)
    shop = made_up_shop(rng, most=6, odd_gears=False, layouts=("plate",))  # of two studs
    judge = Judge(shop, box_of(shop), shop.route())
    drivers, driven = made_up_set(rng, judge.box, 2)
    sets = np.array([[*drivers, *driven]])
    for hand in ("right", "left"):
        plainly = judge.best(sets, hand)
        with monkeypatch.context() as patch:
            patch.setattr(arrays, "_MANY", 0)
            short = judge.best(sets, hand)
        for name in COLUMNS:
            assert np.array_equal(getattr(plainly, name), getattr(short, name)), (name, hand)
