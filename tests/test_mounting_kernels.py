"""What the loops of the mounting pass over early, on boxes of a few gears."""

import random
from fractions import Fraction as F

import numpy as np
import pytest
from quadrants import made_up_set, made_up_shop, plain

from gearsearch.mounting import arrangement, arrays, kernels
from gearsearch.mounting.judge import Judge
from gearsearch.shop import quadrant_table as quadrant
from gearsearch.shop.gears import MOST_PIECES
from gearsearch.shop.pool import pool_of
from gearsearch.shop.quadrant import LAYOUTS, MOST_OBSTACLES, MOST_STUDS

COLUMNS = ("mounts", "idler_count", "clearance_um", "drivers", "driven", "idlers", "idler_pairs")


@pytest.mark.parametrize("mode", ["geometry", "rule", "skip"])
def test_a_train_of_more_gears_than_there_are_mounts_nowhere_and_spoils_no_train_after_it(mode):
    shop = plain((24, 32, 48, 100))
    judge = Judge(shop, pool_of(shop), shop.route(), mode)
    twice, once = ([judge.box.size("", teeth) for teeth in row] for row in ((100, 100, 24, 48), (100, 32, 24, 48)))
    both, alone = judge.best(np.array([twice, once]), "right"), judge.best(np.array([once]), "right")
    assert both.mounts.tolist() == [False, True]
    for name in COLUMNS:
        assert getattr(both, name)[1].tolist() == getattr(alone, name)[0].tolist(), name
    assert judge.judged(both, 0).why == "the box has 1 of the 100; this train needs 2"


def made_up_judge(rng):
    """A judge of a small shop, its quadrant narrow or roomy."""
    if rng.random() < 0.5:
        shop = made_up_shop(rng, most=rng.randint(6, 9), odd_gears=False, layouts=(rng.choice(LAYOUTS),))
    else:
        distance = F(rng.randint(70, 200))
        shop = plain(
            rng.choices(range(16, 80), k=8),
            studs=rng.choice([3, 3, 4]),
            shaft_distance_mm=(distance, distance),
            reach_mm=(F(10), F(400)),
            swing_deg=(F(-180), F(180)),
            nut_radius_mm=dict.fromkeys(("first", "stud", "last"), F(rng.randint(5, 25))),
            pivot=rng.choice(["first", "last"]),
        )
    return Judge(shop, pool_of(shop), shop.route())


@pytest.mark.parametrize("seed", [*range(60), 10055, 10072, 10133, 10214, 10680])
def test_the_short_cuts_find_the_same_on_narrow_and_on_roomy_quadrants(seed, monkeypatch):
    """The last seeds are those that a spoiled short cut was seen to fail on: idlers in both pairs, equal rooms."""
    rng = random.Random(seed)
    judge = made_up_judge(rng)
    pairs = rng.choice([1, 2, 2, 3])
    drawn = [made_up_set(rng, judge.box, pairs) for _ in range(3)]
    sets = np.array([[*a, *b] for a, b in filter(None, drawn)], np.int64).reshape(-1, 2 * pairs)
    hand = rng.choice(["right", "left"])
    if not len(sets):
        return
    plainly = judge.best(sets, hand)
    monkeypatch.setattr(arrays, "_MANY", 0)
    short = judge.best(sets, hand)
    for name in COLUMNS:
        assert np.array_equal(getattr(plainly, name)[plainly.mounts], getattr(short, name)[plainly.mounts]), name
    assert np.array_equal(plainly.mounts, short.mounts)


@pytest.mark.parametrize("clearance", [F("28.5"), F("28.49"), F("28.51")])
@pytest.mark.parametrize("many", [0, 10**9])
def test_a_gap_of_just_the_clearance_asked_will_do(clearance, many, monkeypatch):
    """The tightest gap of 100/24 32/48 is one of 28.5 mm between neighbours, which no position changes."""
    monkeypatch.setattr(arrays, "_MANY", many)
    shop = plain((24, 32, 48, 100), clearance_mm=clearance)
    judge = Judge(shop, pool_of(shop), shop.route())
    best = judge.best(np.array([[judge.box.size("", teeth) for teeth in (32, 100, 24, 48)]]), "right")
    assert bool(best.mounts[0]) == (clearance <= F("28.5"))
    assert not best.mounts[0] or best.clearance_um[0] == 28_500


@pytest.mark.parametrize("seed", [8, 12, 14])
def test_on_a_plate_the_short_cuts_find_the_same(seed, monkeypatch):
    """Also where two studs may stand off one line, so that nothing can be said of how far out the last one is."""
    rng = random.Random(seed)
    shop = made_up_shop(rng, most=6, odd_gears=False, layouts=("plate",))  # of two studs
    judge = Judge(shop, pool_of(shop), shop.route())
    drivers, driven = made_up_set(rng, judge.box, 2)
    sets = np.array([[*drivers, *driven]])
    for hand in ("right", "left"):
        plainly = judge.best(sets, hand)
        with monkeypatch.context() as patch:
            patch.setattr(arrays, "_MANY", 0)
            short = judge.best(sets, hand)
        for name in COLUMNS:
            assert np.array_equal(getattr(plainly, name), getattr(short, name)), (name, hand)


@pytest.mark.parametrize("seed", range(50))
def test_where_studs_or_head_can_be_moved_the_best_order_is_the_best_of_all_orders(seed):
    """One after another without regard to what was found before, and all at once, passing over what cannot win."""
    rng = random.Random(seed)
    shop = made_up_shop(rng, most=6, odd_gears=False, layouts=("plate", "plate", "slot"), free=True)
    judge = Judge(shop, pool_of(shop), shop.route())
    for pairs in (1, 2):
        drawn = made_up_set(rng, judge.box, pairs)
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


def test_the_arrays_have_room_for_what_a_shop_may_have():
    assert kernels.BLOCK + 3 * MOST_OBSTACLES <= kernels.MARKS
    assert kernels.PIECE + 3 * MOST_PIECES <= kernels.OPTION
    assert MOST_PIECES <= kernels.PIECES
    assert MOST_STUDS + 2 <= kernels.SHAFTS


def test_loops_and_words_have_the_same_rule_of_thumb():
    assert kernels.RULE_TEETH == arrangement.RULE_TEETH


def test_every_layout_there_is_has_its_loops_and_none_is_taken_for_a_slot():
    assert set(arrays.IS_PLATE) == set(LAYOUTS) == set(quadrant._STUDS)
