"""Batches of trains: nothing that is passed over early is lost, and none disturbs another."""

import random
from fractions import Fraction as F

import numpy as np
import pytest
from quadrants import LAYOUTS, made_up_set, made_up_shop, plain

from gearsearch.mounting import trials
from gearsearch.mounting.judge import Judge
from gearsearch.shop.pool import pool_of

COLUMNS = ("mounts", "clearance_um", "drivers", "driven", "idlers", "idler_pairs")


@pytest.mark.parametrize("mode", ["geometry", "rule", "skip"])
def test_a_train_of_more_gears_than_there_are_mounts_nowhere_and_spoils_no_train_after_it(mode):
    shop = plain((24, 32, 48, 100))
    judge = Judge(shop, pool_of(shop), shop.route(), mode)
    twice, once = ([judge.pool.number("", teeth) for teeth in row] for row in ((100, 100, 24, 48), (100, 32, 24, 48)))
    both, alone = judge.best(np.array([twice, once]), "right"), judge.best(np.array([once]), "right")
    assert both.mounts.tolist() == [False, True]
    for name in COLUMNS:
        assert getattr(both, name)[1].tolist() == getattr(alone, name)[0].tolist(), name
    assert judge.judged(both, 0).why == "the box has 1 of the 100; this train needs 2"


@pytest.mark.parametrize("clearance", [F("28.5"), F("28.49"), F("28.51")])
def test_a_gap_of_just_the_clearance_asked_will_do(clearance):
    """The tightest gap of 100/24 32/48 is one of 28.5 mm between neighbours, which no position changes."""
    shop = plain((24, 32, 48, 100), clearance_mm=clearance)
    judge = Judge(shop, pool_of(shop), shop.route())
    best = judge.best(np.array([[judge.pool.number("", teeth) for teeth in (32, 100, 24, 48)]]), "right")
    assert bool(best.mounts[0]) == (clearance <= F("28.5"))
    assert not best.mounts[0] or best.clearance_um[0] == 28_500


@pytest.mark.parametrize("layout", LAYOUTS)
@pytest.mark.parametrize("seed", range(25))
def test_the_best_order_is_the_best_of_all_orders(seed, layout):
    """One after another without regard to what was found before, and all at once, passing over what cannot win."""
    rng = random.Random(seed)
    shop = made_up_shop(rng, most=6, odd_gears=False, layouts=(layout,), free=True)
    judge = Judge(shop, pool_of(shop), shop.route())
    for pairs in (1, 2):
        drawn = made_up_set(rng, judge.pool, pairs)
        for hand in ("right", "left") if drawn else ():
            best = judge.best(np.array([[*drawn[0], *drawn[1]]]), hand)
            every = [each for each in judge.every(np.array([*drawn[0], *drawn[1]]), hand) if each.mounts == "yes"]
            assert bool(best.mounts[0]) == bool(every)
            if every:
                fewest = min(len(each.train.idlers) for each in every)
                rooms = [each.clearance_mm for each in every if len(each.train.idlers) == fewest]
                assert best.idler_count[0] == fewest
                if None not in rooms:
                    assert best.clearance_um[0] / 1000 == pytest.approx(max(rooms), abs=0.0011)


@pytest.mark.parametrize("layout", LAYOUTS)
@pytest.mark.parametrize("seed", range(12))
def test_it_does_not_matter_how_many_are_tried_at_once(seed, layout, monkeypatch):
    rng = random.Random(seed)
    shop = made_up_shop(rng, most=6, layouts=(layout,), free=True)
    judge = Judge(shop, pool_of(shop), shop.route())
    drawn = [made_up_set(rng, judge.pool, 2) for _ in range(6)]
    sets = np.array([[*a, *b] for a, b in filter(None, drawn)], np.int64).reshape(-1, 4)
    for hand in ("right", "left") if len(sets) else ():
        whole = judge.best(sets, hand)
        with monkeypatch.context() as patch:
            patch.setattr(trials, "_AT_ONCE", 1)
            parts = judge.best(sets, hand)
        for name in COLUMNS:
            assert np.array_equal(getattr(whole, name), getattr(parts, name)), (name, hand)
