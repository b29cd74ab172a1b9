"""Single made-up shops against the slow way, one at a time."""

import random
from fractions import Fraction as F
from itertools import combinations, permutations

import naive_mounting as naive
import numpy as np
import pytest
from quadrants import KINDS, LAYOUTS, made_up_pieces, made_up_set, made_up_shop, plain
from slow import some
from test_mounting import agrees_with_naive, row_of, same_as_naive

from gearsearch.mounting.judge import Judge
from gearsearch.shop.gears import GearSet
from gearsearch.shop.pool import pool_of
from gearsearch.shop.shop import Shop
from gearsearch.shop.trains import Train


@pytest.mark.parametrize("seed", some(range(40), 20))
def test_the_slow_way_finds_the_same_best_arrangement(seed):
    assert same_as_naive(seed, most=5) >= 0


@pytest.mark.parametrize("seed", some(range(120), 30))
def test_of_joined_pieces_the_slow_way_makes_the_same_best_arrangement(seed):
    rng = random.Random(seed)
    shop = made_up_pieces(rng)
    pairs = (3,) if seed % 10 == 0 else (1, 2)
    assert agrees_with_naive(shop, rng, ("geometry", "rule", "skip"), pairs, seed) >= 0


def test_joined_pieces_are_taken_in_each_mode():
    shops = [(random.Random(seed), seed) for seed in range(1000, 1012)]
    for mode in ("geometry", "rule", "skip"):
        mounting = [agrees_with_naive(made_up_pieces(rng), rng, (mode,), (1, 2), seed) for rng, seed in shops]
        assert sum(mounting) > 3


@pytest.mark.parametrize("mode", ["geometry", "rule", "skip"])
def test_the_slow_way_finds_trains_that_mount_in_each_mode(mode):
    assert sum(same_as_naive(seed, modes=(mode,), pairs=(2,), most=5) for seed in range(100, 112)) > 3


@pytest.mark.parametrize("layout", LAYOUTS)
@pytest.mark.parametrize("seed", some([*range(306, 312), *range(300, 306)], quick=6))
def test_the_slow_way_finds_the_same_where_head_or_studs_can_be_moved(layout, seed):
    most = {"layouts": (layout,), "most": 4, "most_studs": 2}
    assert same_as_naive(seed, modes=("geometry",), pairs=(1, 2), free=True, **most) >= 0


@pytest.mark.parametrize("seed", some(range(500, 540), 14))
def test_gears_of_consecutive_counts_are_told_apart(seed):
    rng = random.Random(seed)
    low = rng.randint(16, 40)
    shop = plain(rng.choices(range(low, low + 9), k=6), shaft_distance_mm=(F(low * 7, 2),) * 2, studs=3)
    assert agrees_with_naive(shop, rng, ("geometry", "rule"), (1, 2), seed) >= 0


@pytest.mark.parametrize("seed", [*range(80, 110), 3001, 3002, 3003])
def test_of_two_kinds_with_the_same_counts_the_counts_decide_first(seed):
    rng = random.Random(seed)
    gears = tuple(
        GearSet(kind, tuple(sorted(rng.choices(range(20, 34), k=rng.randint(2, 4 if seed < 3000 else 3)))))
        for kind in KINDS
    )
    shop = Shop("Millrace", "mm", plain((12,)).machine, gears)
    assert agrees_with_naive(shop, rng, ("rule", "skip"), (2,) if seed < 3000 else (3,), seed) >= 0


@pytest.mark.parametrize("seed", range(600, 606))
def test_three_pairs_are_put_in_the_order_that_the_slow_way_finds(seed):
    rng = random.Random(seed)
    shop = plain(rng.choices(range(20, 60), k=7), studs=3, shaft_distance_mm=(F(120), F(120)), reach_mm=(F(20), F(300)))
    assert agrees_with_naive(shop, rng, ("geometry", "rule"), (3,), seed) >= 0


@pytest.mark.parametrize("hand", ["right", "left"])
def test_a_gear_taken_for_one_train_is_there_for_the_next_and_only_once(hand):
    """Of five gears four make the train, and the one left over is the only idler there can be."""
    shop = plain((24, 32, 48, 60, 100), shaft_distance_mm=(F(110), F(110)), reach_mm=(F(10), F(300)))
    judge = Judge(shop, pool_of(shop), shop.route(), "skip")
    rows = [[*a, *b] for a in combinations(range(5), 2) for b in combinations(sorted({*range(5)} - {*a}), 2)]
    together = judge.best(np.array(3 * rows), hand)
    for number, row in enumerate(3 * rows):
        idlers = [size for size in together.idlers[number].tolist() if size >= 0]
        assert idlers == ([] if hand == "right" else sorted({*range(5)} - {*row})), (number, row)


@pytest.mark.parametrize("seed", range(40))
def test_where_no_order_passes_the_rule_of_thumb_the_least_bad_one_is_told(seed):
    """The rule: A + B > C + 15 and C + D > B + 15; the order that comes nearest keeps both best."""
    rng = random.Random(seed)
    low = rng.randint(60, 120)
    large, small = [low, low + rng.randint(1, 3)], rng.sample(range(8, 16), 2)
    shop = Shop("Millrace", "mm", plain((12,)).machine, plain((*large, *small)).gears)
    judge = Judge(shop, pool_of(shop), shop.route())
    judged = judge.judged(judge.best(np.array([[2, 3, 0, 1]]), "right"), 0)

    def room(a, b, c, d):
        return min(a + b - c, c + d - b) - 15

    orders = [room(a, b, c, d) for a, c in permutations(large) for b, d in permutations(small)]
    assert judged.mounts == ("rule" if max(orders) > 0 else "no")
    (a, c), (b, d) = judged.train.drivers, judged.train.driven
    assert room(a, b, c, d) == max(orders) or max(orders) > 0


@pytest.mark.parametrize("seed", range(400, 416))
def test_each_train_of_many_is_judged_as_if_it_were_alone(seed):
    """Also after a train of gears that the box has not."""
    rng = random.Random(seed)
    shop = made_up_shop(rng, kinds=rng.choice([1, 2]), most=7)
    judge = Judge(shop, pool_of(shop), shop.route())
    drawn = [made_up_set(rng, judge.pool, 2) for _ in range(5)]
    rows = [[*a, *b] for a, b in filter(None, drawn)]
    rows[1:1] = [[0, 0, 0, 0]]
    together = judge.best(np.array(rows, np.int64), "right")
    for number, row in enumerate(rows):
        alone = judge.best(np.array([row], np.int64), "right")
        for name in ("mounts", "idler_count", "clearance_um", "drivers", "driven", "idlers", "idler_pairs"):
            assert np.array_equal(getattr(alone, name)[0], getattr(together, name)[number]), (name, number)


@pytest.mark.parametrize(
    ("text", "change"),
    [
        ("36/(100)/48", {"reach_mm": (F(102), F(190))}),
        ("36/(100)/48", {"reach_mm": (F(40), F(102))}),
        ("36/(100)/48", {"shaft_distance_mm": (F(213), F(213))}),
        ("100/100", {"shaft_distance_mm": (F(15015, 100),) * 2}),
        ("100/100", {"shaft_distance_mm": (F(14985, 100),) * 2}),
    ],
)
def test_a_train_that_just_reaches_is_judged_to_reach(text, change):
    """The stud of 36 and 100 teeth stands 102 mm out, that of 100 and 48 stands 111 mm from the other shaft."""
    train = Train.parse(text)
    open_wide = {"swing_deg": (F(-180), F(180)), "reach_mm": (F(10), F(300)), "studs": 1, **change}
    shop = plain((36, 48, 100, 100), **open_wide)
    judge = Judge(shop, pool_of(shop), shop.route())
    drawn = np.array([[judge.pool.number("", teeth) for teeth in (*train.drivers, *train.driven)]])
    at_once, alone = judge.best(drawn, "right" if train.idlers else "left"), judge.place(train)
    assert (bool(at_once.mounts[0]), alone.mounts) == (True, "yes")


def test_the_rule_of_thumb_asks_nothing_of_an_idler():
    """Between 12 and 12 no gear on one stud could be larger than 12 + 12 − 15 = 9; an idler of any size may."""
    shop = Shop("Millrace", "mm", plain((12,)).machine, plain((12, 12, 40)).gears)
    judge = Judge(shop, pool_of(shop), shop.route())
    best = judge.best(np.array([[0, 0]]), "right")
    assert str(judge.train(best, 0)) == "12/(40)/12"
    assert best.mounts[0]


@pytest.mark.parametrize("hand", ["right", "left"])
def test_of_equal_arrangements_tooth_counts_decide_before_kinds(hand):
    """A pair of each kind of tooth, and idlers of both kinds with one tooth count."""
    sets = (GearSet(KINDS[0], (20, 24, 30, 36)), GearSet(KINDS[1], (20, 24, 30, 36)))
    shop = Shop("Millrace", "mm", plain((12,)).machine, sets)
    box = pool_of(shop)
    for mode in ("rule", "skip"):
        judge = Judge(shop, box, shop.route(), mode)
        for a, b in ((20, 24), (24, 30), (36, 20)):
            drawn = [box.number(tag, teeth) for teeth in (a, b) for tag in ("m1.5", "m2")]
            expected = naive.best(shop, box, shop.route(), drawn[:2], drawn[2:], hand, mode)
            assert row_of(judge.best(np.array([drawn]), hand)) == (
                expected and (expected[0], -expected[1], expected[5])
            )


@pytest.mark.parametrize(
    ("low", "high", "at"), [(140, 170, 150), (150, 170, 150), (120, 150, 150), (150.1, 170, 150.1), (120, 149.9, 149.9)]
)
def test_two_gears_alone_say_where_the_head_goes(low, high, at):
    shop = plain((100, 100), shaft_distance_mm=(F(low), F(high)))
    judge = Judge(shop, pool_of(shop), shop.route())
    judged = judge.judged(judge.best(np.array([[0, 0]]), "left"), 0)
    assert (judged.mounts, judged.placement.shaft_distance_mm) == ("yes", at)
