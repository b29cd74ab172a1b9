"""More freedom never turns a yes into a no; and two trains that were once judged wrongly."""

import random
from dataclasses import replace
from fractions import Fraction as F

import pytest
from made_up_brackets import made_up_case
from quadrants import plain
from slow import some

from gearsearch.mounting.judge import Judge
from gearsearch.shop.gears import GearSet, Kind
from gearsearch.shop.pool import pool_of
from gearsearch.shop.trains import Pair, Train


def judged(shop, train):
    return Judge(shop, pool_of(shop), shop.route()).place(train)


def on_whole_steps(shop):
    """The same shop, its head tried at places that a wider range has too: whole multiples of 5 mm."""
    low, high = shop.quadrant.shaft_distance_mm
    ends = max(F(5), low // 5 * 5), max(F(5), -(-high // 5) * 5)
    return replace(shop, quadrant=replace(shop.quadrant, shaft_distance_mm=ends))


def widened(rng, shop):
    """The shop with more freedom: the head, the swing, or the reach of a slot or plate."""
    q = shop.quadrant
    low, high = q.shaft_distance_mm
    wider = {
        "shaft_distance_mm": (max(F(5), low - 5 * rng.randint(0, 3)), high + 5 * rng.randint(0, 3)),
        "swing_deg": (
            max(F(-180), q.swing_deg[0] - rng.randint(0, 30)),
            min(F(180), q.swing_deg[1] + rng.randint(0, 30)),
        ),
    }
    if q.bracket.named_by_layout:
        near, far = q.bracket.reach_mm
        wider["bracket"] = replace(q.bracket, reach_mm=(max(F(0), near - rng.randint(0, 9)), far + rng.randint(0, 9)))
    return replace(shop, quadrant=replace(q, **wider))


@pytest.mark.parametrize("first", some(range(0, 500, 125)))
def test_more_freedom_never_turns_a_yes_into_a_no(first):
    stayed = 0
    for seed in range(first, first + 125):
        rng = random.Random(seed)
        case = made_up_case(rng)
        if case is None:
            continue
        shop = on_whole_steps(case[0])
        train = Train(tuple(Pair(driver, driven, idlers, tag) for driver, idlers, driven, tag in case[1]))
        before = judged(shop, train)
        if before.mounts == "yes":
            after = judged(widened(rng, shop), train)
            assert after.mounts == "yes", (seed, after.why)
            if None not in (before.clearance_mm, after.clearance_mm):
                assert after.clearance_mm >= before.clearance_mm - 1e-6, seed
            stayed += 1
    assert stayed > 25


@pytest.mark.parametrize("ends", [(140, 365), (F(2797, 10), F(2797, 10)), (279, 281)])
def test_on_a_plate_a_head_with_a_long_way_to_go_finds_what_a_fixed_one_finds(ends):
    shop = plain(
        (44, 48, 60, 69),
        layout="plate",
        pivot="last",
        shaft_distance_mm=tuple(map(F, ends)),
        reach_mm=(F(102), F(1646, 10)),
        swing_deg=(F(35, 10), F(564, 10)),
        nut_radius_mm=dict.fromkeys(("first", "stud", "last"), F(10)),
    )
    shop = replace(shop, gears=(replace(shop.gears[0], kind=Kind(F(2))),))
    found = judged(shop, Train.parse("48/(69)/(60)/44"))
    assert found.mounts == "yes", found.why
    assert found.clearance_mm > 46


@pytest.mark.parametrize(
    ("apart", "nut", "mounts"), [("59.86", "13.5", "no"), ("59.86", "13.3", "yes"), ("60.14", "13.6", "yes")]
)
def test_without_a_stud_the_gap_is_that_of_the_real_shaft_distance(apart, nut, mounts):
    """A 60 hangs idle beside a 40: 46.5 mm over its tips, and the other shaft's nut not 60 mm away but 59.86 mm."""
    gears = GearSet(Kind(F(3, 2)), (40,), ((40, 60),))
    nuts = dict.fromkeys(("first", "stud", "last"), F(nut))
    shop = plain((40,), shaft_distance_mm=(F(apart),) * 2, nut_radius_mm=nuts, clearance_mm=F(0))
    found = judged(replace(shop, gears=(gears,)), Train.parse("40/40"))
    assert found.mounts == mounts, found.why
    if mounts == "yes":
        assert found.clearance_mm == pytest.approx(float(F(apart) - F(nut)) - 46.5)
