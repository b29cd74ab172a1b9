"""Will it mount: verdicts and their words, the best arrangement, hands, and the slow way to the same answers."""

import random
from fractions import Fraction as F
from math import hypot, inf

import naive_mounting as naive
import numpy as np
import pytest
from quadrants import KINDS, made_up_box, made_up_set, made_up_shop, plain

from gearsearch.base.errors import GearsearchError
from gearsearch.mounting.judge import Judge
from gearsearch.shop.gears import GearSet, Kind
from gearsearch.shop.pool import pool_of
from gearsearch.shop.quadrant import Obstacle
from gearsearch.shop.shop import Shop
from gearsearch.shop.trains import Train

TEETH = (20, 24, 24, 28, 30, 32, 36, 40, 44, 48, 52, 56, 60, 64, 72, 80, 86, 100, 127)
SMALL_NUT = {"first": F(12), "last": F(17, 4), "stud": F(10)}


def judge_of(shop, mode="auto", **box):
    return Judge(shop, pool_of(shop, **box), shop.route(), mode)


def place(text, mode="auto", teeth=TEETH, **quadrant):
    return judge_of(plain(teeth, **quadrant), mode).place(Train.parse(text))


def sizes(judge, *teeth, tag=""):
    return np.array([[judge.pool.number(tag, t) for t in teeth]], np.int64)


def with_gears(*sets, quadrant=True, **more):
    shop = plain((20,), **more)
    return Shop(shop.name, "mm", shop.machine, sets, shop.quadrant if quadrant else None)


# ---------------------------------------------------------------------------------------------------- words


@pytest.mark.parametrize(
    ("text", "quadrant", "why"),
    [
        ("32/24 100/48", {}, "the 100 on stud 1 fouls the nut of the table screw by 46.5 mm"),
        ("100/48 32/24", {}, "the 48 on stud 1 fouls the nut of the last shaft (worm) by 7.5 mm"),
        (
            "100/48 32/24",
            {"nut_radius_mm": SMALL_NUT},
            "the 48 on stud 1 clears the nut of the last shaft (worm) by 0.25 mm; 0.50 mm is asked",
        ),
        ("100/24 20/32 30/48", {}, "the 24 on stud 1 fouls the 30 on stud 2 by 4.5 mm"),
        ("20/24 28/30", {}, "does not reach: 76.5 mm of 150.0 mm"),
        ("20/(24)/30", {}, "does not reach: 73.5 mm of 150.0 mm"),
        ("24/28 127/100", {}, "the 127 on stud 1 fouls the nut of the table screw by 69.8 mm"),
        (
            "48/20 24/127",
            {"reach_mm": (F(60), F(190)), "nut_radius_mm": {"first": F(1), "stud": F(1), "last": F(1)}},
            "stud 1 would stand 51.0 mm from the pivot; the slot begins at 60.0 mm",
        ),
        (
            "100/127 86/80",
            {"reach_mm": (F(40), F(150)), "shaft_distance_mm": (F(250), F(250))},
            "stud 1 would stand 170.2 mm from the pivot; the slot ends at 150.0 mm",
        ),
        (
            "100/(127)/20",
            {"shaft_distance_mm": (F(50), F(50)), "studs": 1},
            "too large: stud 1 would stand 170.2 mm from the pivot, 120.2 mm from the last shaft (worm) at the least, "
            "but the 127 and the 20 mesh at 110.2 mm",
        ),
        (
            "20/(127)/100",
            {"shaft_distance_mm": (F(50), F(50)), "studs": 1},
            "too large: the 127 and the 100 mesh at 170.2 mm, but stud 1 would stand 110.2 mm from the pivot, and "
            "the last shaft (worm) 50.0 mm",
        ),
        (
            "20/(24)/127/".rstrip("/"),
            {"shaft_distance_mm": (F(40), F(40)), "layout": "plate", "swing_deg": (F(-180), F(180))},
            "too large: the 24 and the 127 mesh at 113.2 mm",
        ),
        (
            "20/(24)/(127)/100",
            {"shaft_distance_mm": (F(20), F(20)), "layout": "plate", "reach_mm": (F(30), F(190))},
            "too large: the 127 and the 100 mesh at 170.2 mm, more than the 166.2 mm of the other meshes and the "
            "shafts",
        ),
        ("40/72", {}, "the 40 and the 72 mesh at 84.0 mm; the shafts stand 150.0 mm apart"),
        (
            "40/72",
            {"shaft_distance_mm": (F(90), F(100))},
            "the 40 and the 72 mesh at 84.0 mm; the shafts stand 90.0 mm to 100.0 mm apart",
        ),
        ("40/(24)/(28)/(30)/72", {}, "it needs 3 studs; the quadrant takes 2"),
        ("40/(24)/(28)/(30)/72", {"layout": "plate", "studs": 3}, "it needs 3 studs; the quadrant takes 2"),
        ("40/(56)/72", {"studs": 0}, "it needs 1 stud; the quadrant takes 0"),
        (
            "40/(56)/72",
            {"swing_deg": (F(-5), F(5))},
            "the slot would stand at 31.2°; the swing is from -5.0° to 5.0°",
        ),
        (
            "40/(100)/72",
            {"obstacles": (Obstacle(F(60), F(60), F(15)), Obstacle(F(60), F(-60), F(15)))},
            "the 100 on stud 1 fouls the obstacle at (60.0 mm, 60.0 mm) by",
        ),
        ("20/24 24/20", {}, "the box has 1 of the 20; this train needs 2"),
    ],
)
def test_a_no_names_gear_shaft_and_number(text, quadrant, why):
    judged = place(text, **quadrant)
    assert judged.mounts == "no"
    assert judged.why.startswith(why), judged.why
    assert judged.placement is None
    assert judged.clearance_mm is None


def test_lengths_are_in_the_unit_of_the_shop():
    judged = place("32/24 100/48", units="in")
    assert judged.why == "the 100 on stud 1 fouls the nut of the table screw by 1.83 in"


def test_a_lathe_has_its_own_words_for_the_shafts():
    assert place("32/24 100/48", kind="lathe").why.endswith(
        "fouls the nut of the first shaft (spindle side) by 46.5 mm"
    )
    assert place("100/48 32/24", kind="lathe").why == "the 48 on stud 1 fouls the nut of the lead screw by 7.5 mm"


def test_a_yes_says_where_it_is_tightest():
    judged = place("100/24 32/48")
    assert judged.mounts == "yes"
    assert judged.why == "tightest 28.5 mm between the 24 on stud 1 and the nut of the last shaft (worm)"
    assert judged.clearance_mm == pytest.approx(28.5, abs=1e-9)


def test_where_nothing_stands_near_no_clearance_is_made_up():
    judged = place("100/100", teeth=(100, 100))
    assert (judged.mounts, judged.clearance_mm, judged.why) == ("yes", None, "nothing stands near")
    assert judged.placement.studs == ()


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("100/24 32/48", "by the rule of thumb only"),
        ("40/(56)/72", "by the rule of thumb only; use any idler that reaches"),
        ("100/24", "by the rule of thumb only; without a stud it goes on only where the shafts stand 93.000 mm apart"),
        (
            "32/24 100/48",
            "by the rule of thumb the 100 on stud 1 fouls the table screw: "
            "32 + 24 = 56 is not more than 100 + 15 = 115",
        ),
        (
            "100/48 32/24",
            "by the rule of thumb the 48 on stud 1 fouls the last shaft (worm): "
            "32 + 24 = 56 is not more than 48 + 15 = 63",
        ),
        (
            "100/48 32/(20)/24",
            "by the rule of thumb the 48 on stud 1 fouls stud 2: 32 + 20 = 52 is not more than 48 + 15 = 63",
        ),
    ],
)
def test_the_rule_of_thumb_says_that_it_is_one(text, why):
    judged = place(text, "rule")
    assert judged.mounts == ("rule" if why.endswith(("only", "reaches", "apart")) else "no")
    assert judged.why == why
    assert judged.clearance_mm is None


def test_the_rule_asks_for_more_and_not_for_as_much():
    assert place("40/35 60/50", "rule", teeth=(35, 40, 50, 60)).mounts == "no"
    assert place("41/35 60/50", "rule", teeth=(35, 41, 50, 60)).mounts == "rule"


def test_the_rule_compares_diameters_where_the_kinds_of_tooth_differ():
    fine, coarse = GearSet(KINDS[0], (30, 40, 50)), GearSet(KINDS[1], (30, 40, 50))
    judge = judge_of(with_gears(fine, coarse, quadrant=False))
    judged = judge.place(Train.parse("40/30@m1.5 40/50@m2"))
    assert judged.mounts == "no"
    assert all(
        fact in judged.why for fact in ("rule of thumb", "the 40 on stud 1", "table screw", "25.0 mm", "30.0 mm")
    )
    assert judge.place(Train.parse("50/40@m1.5 30/40@m2")).mounts == "rule"


def test_left_out_judging_is_said_to_be_so():
    judged = place("32/24 100/48", "skip")
    assert (judged.mounts, judged.why) == ("unknown", "not judged")


# ---------------------------------------------------------------------------------------- where the gears go


def test_studs_stand_where_a_rule_would_put_them():
    """100/24 and 32/48 of module 1.5: the stud 93 mm from the screw and 60 mm from the head, 150 mm apart."""
    placement = place("100/24 32/48").placement
    (stud,) = placement.studs
    assert (stud.number, stud.gears, stud.idle) == (1, (24, 32), None)
    assert (stud.from_pivot_mm, stud.to_previous_mm, stud.to_next_mm) == pytest.approx((93, 93, 60))
    assert hypot(stud.x_mm, stud.y_mm) == pytest.approx(93)
    assert stud.swing_deg == pytest.approx(np.degrees(np.arccos((150**2 + 93**2 - 60**2) / (2 * 150 * 93))))
    assert placement.shaft_distance_mm == 150
    assert [(w.teeth, w.shaft, w.plane, w.role) for w in placement.wheels] == [
        (100, 0, 0, "driver"),
        (24, 1, 0, "driven"),
        (32, 1, 1, "driver"),
        (48, 2, 1, "driven"),
    ]
    assert placement.wheels[0].pitch_radius_mm == 75
    assert placement.wheels[0].tip_radius_mm == 76.5


def test_from_the_last_shaft_the_same_train_stands_mirrored():
    placement = place("100/24 32/48", pivot="last").placement
    (stud,) = placement.studs
    assert (stud.from_pivot_mm, stud.to_previous_mm, stud.to_next_mm) == pytest.approx((60, 93, 60))
    assert [(wheel.x_mm, wheel.y_mm) for wheel in placement.wheels if wheel.shaft != 1] == [(150, 0), (0, 0)]


def test_planes_go_back_and_forth():
    gears = (20, 24, 28, 30, 32, 36, 40, 44)
    roomy = {"shaft_distance_mm": (F(40), F(400)), "studs": 3, "reach_mm": (F(1), F(900))}
    train = Train.parse("44/20 40/24 36/28 32/30")
    nuts = {"nut_radius_mm": {"first": F(1), "stud": F(1), "last": F(1)}, "swing_deg": (F(-180), F(180))}
    for planes, expected in ((2, [0, 0, 1, 1, 0, 0, 1, 1]), (3, [0, 0, 1, 1, 2, 2, 1, 1])):
        judged = judge_of(plain(gears, planes=planes, **roomy, **nuts)).place(train)
        assert [wheel.plane for wheel in judged.placement.wheels] == expected


@pytest.mark.parametrize(("low", "high", "at"), [(140, 160, 146.5), (146, 153, 149.5), (150.25, 150.75, 150.5)])
def test_of_positions_with_the_same_room_the_head_stands_in_the_middle_one(low, high, at):
    """The tightest gap of 100/24 32/48 is one between neighbours, which no shaft distance changes, up to 153 mm."""
    judged = place("100/24 32/48", shaft_distance_mm=(F(low), F(high)))
    assert judged.clearance_mm == pytest.approx(28.5)
    assert judged.placement.shaft_distance_mm == at


def test_on_a_plate_the_second_stud_stands_at_a_whole_millimetre_where_the_room_is_greatest():
    judged = place("60/(40)/(40)/60", teeth=(40, 40, 60, 60), layout="plate", swing_deg=(F(-90), F(90)))
    placement = judged.placement
    points = [complex(wheel.x_mm, wheel.y_mm) for wheel in placement.wheels]
    room = min(abs(points[2] - points[0]), abs(points[3] - points[1])) - 46.5 - 31.5
    assert judged.clearance_mm == pytest.approx(room, abs=1e-9)
    assert placement.studs[1].from_pivot_mm == pytest.approx(round(placement.studs[1].from_pivot_mm))


def test_two_gears_alone_need_just_the_right_shaft_distance():
    """A fixed distance may be off by a tenth of the module, as much as the backlash of a mesh takes."""
    for distance, mounts in (
        (F(14985, 100), "yes"),
        (F(15015, 100), "yes"),
        (F(14984, 100), "no"),
        (F(15016, 100), "no"),
    ):
        assert place("100/100", teeth=(100, 100), shaft_distance_mm=(distance, distance)).mounts == mounts
    moved = place("100/100", teeth=(100, 100), shaft_distance_mm=(F(140), F(170)))
    assert (moved.mounts, moved.placement.shaft_distance_mm) == ("yes", 150)


# ------------------------------------------------------------------------- gears that are joined, fixed, bored


def joined_judge(loose, piece, **more):
    return judge_of(with_gears(GearSet(Kind(F(3, 2)), tuple(sorted(loose)), (piece,)), **more))


def test_a_joined_piece_serves_with_both_gears_on_one_stud():
    judged = joined_judge((48, 100), (24, 32)).place(Train.parse("100/24 32/48"))
    assert judged.mounts == "yes"
    assert [wheel.role for wheel in judged.placement.wheels] == ["driver", "driven", "driver", "driven"]


def test_a_joined_piece_serves_alone_and_its_partner_must_clear_what_is_near():
    judge = joined_judge((40, 72), (56, 24))
    judged = judge.place(Train.parse("40/(56)/72"))
    assert judged.mounts == "yes"
    (stud,) = judged.placement.studs
    assert (stud.gears, stud.idle) == ((56,), 24)
    assert [(w.teeth, w.plane) for w in judged.placement.wheels if w.role == "idle"] == [(24, 1)]
    large = joined_judge((40, 72), (56, 100)).place(Train.parse("40/(56)/72"))
    assert large.why == "the idle 100 on stud 1 fouls the nut of the table screw by 16.5 mm"


def test_a_joined_piece_does_not_share_a_stud_with_a_stranger():
    judged = joined_judge((48, 100, 32), (24, 60)).place(Train.parse("100/24 32/48"))
    assert judged.mounts == "no"
    assert "joined pieces" in judged.why


def test_the_partner_that_is_idle_may_be_kept_off_a_shaft_too():
    small = with_gears(GearSet(Kind(F(3, 2)), (40, 72), ((56, 24),)), largest={"stud": 23, "first": 200, "last": 200})
    assert judge_of(small).place(Train.parse("40/(56)/72")).why == "the 56 may not go on stud 1"
    small = with_gears(GearSet(Kind(F(3, 2)), (40, 72), ((56, 64),)), largest={"stud": 60})
    assert judge_of(small).place(Train.parse("40/(56)/72")).why == (
        "the 64 that is joined to the 56 may not go on stud 1, where it would hang idle"
    )


def test_a_fixed_gear_stays_where_it_is_and_serves_nowhere_else():
    gears = GearSet(Kind(F(3, 2)), (24, 32, 48), fixed={"first": 100})
    judge = judge_of(with_gears(gears))
    assert judge.place(Train.parse("100/24 32/48")).mounts == "yes"
    assert judge.place(Train.parse("32/24 100/48")).why == "the 100 cannot come off the table screw"
    best = judge.best(sizes(judge, 32, 100, 48, 24), "either")
    assert str(judge.train(best, 0)) == "100/24 32/48"
    twice = judge.place(Train.parse("100/(100)/24"))
    assert twice.why == "the box has none of the 100 besides the fixed one; this train needs 1"


def test_bores_and_pair_ratios_are_kept_to():
    gears = GearSet(Kind(F(3, 2)), (24, 32, 48, 100), only_on={100: frozenset({"stud"})})
    assert judge_of(with_gears(gears)).place(Train.parse("100/24 32/48")).why == "the 100 may not go on the table screw"
    judge = judge_of(plain((24, 32, 48, 100)), greatest_pair_ratio=F(4))
    assert judge.place(Train.parse("100/24 32/48")).why == ("the pair 100/24 steps by 4.17:1; at most 4.00:1 is asked")
    assert not judge.best(sizes(judge, 32, 100, 48, 24), "right").mounts[0]
    assert (
        judge_of(plain((24, 32, 48, 100)), greatest_pair_ratio=F(25, 6)).place(Train.parse("100/24 32/48")).mounts
        == "yes"
    )


# ------------------------------------------------------------------------------------------------------ hands


def test_the_hand_goes_by_the_number_of_studs():
    assert place("100/24 32/48").hand == "right"
    assert place("100/24 32/48", hand="left").hand == "left"
    assert place("40/(56)/(24)/72").hand == "left"
    assert place("100/24 32/48", hand=None).hand is None


def test_gears_too_small_to_reach_for_one_hand_reach_for_the_other_with_the_reversing_idler():
    judge = judge_of(plain(TEETH))
    small = sizes(judge, 24, 32, 28, 40)
    right, left = judge.best(small, "right"), judge.best(small, "left")
    assert not right.mounts[0]
    assert judge.judged(right, 0).why == "does not reach: 93.0 mm of 150.0 mm"
    assert judge.judged(right, 0).hand == "right"
    assert left.mounts[0]
    judged = judge.judged(left, 0)
    assert (judged.mounts, judged.hand, len(judged.train.idlers)) == ("yes", "left", 1)
    assert judge.judged(judge.best(small, "either"), 0) == judged


def test_each_hand_is_answered_on_its_own_and_either_takes_the_fewest_idlers():
    judge = judge_of(plain(TEETH))
    gears = sizes(judge, 100, 32, 24, 48)
    counts = {hand: int(judge.best(gears, hand).idler_count[0]) for hand in ("right", "left", "either")}
    assert counts == {"right": 0, "left": 1, "either": 0}


def test_a_hand_that_nobody_has_found_out_cannot_be_asked_for():
    judge = judge_of(plain(TEETH, hand=None))
    with pytest.raises(GearsearchError) as caught:
        judge.best(sizes(judge, 100, 32, 24, 48), "right")
    assert caught.value.message == "the shop file does not say which hand the route worm cuts"
    assert caught.value.remedy == (
        "put on a train with one stud, turn it through by hand once, and write the hand as hand_with_one_stud"
    )
    assert judge.judged(judge.best(sizes(judge, 100, 32, 24, 48), "either"), 0).hand is None


def test_without_a_gear_left_over_the_hand_cannot_be_turned():
    judge = judge_of(plain((24, 32, 48, 100)))
    judged = judge.judged(judge.best(sizes(judge, 100, 32, 24, 48), "left"), 0)
    assert (judged.mounts, judged.hand) == ("no", "left")
    assert judged.why == "no gear is left over that could turn the hand as an idler"


def test_too_many_studs_for_the_other_hand_is_what_is_said():
    judge = judge_of(plain(TEETH, studs=1))
    judged = judge.judged(judge.best(sizes(judge, 100, 32, 24, 48), "left"), 0)
    assert (judged.mounts, judged.hand, judged.why) == ("no", "left", "it needs 2 studs; the quadrant takes 1")


# ---------------------------------------------------------------------------------------------- what is refused


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: judge_of(plain(TEETH), "guess"), "mounting cannot be judged by 'guess'"),
        (lambda: judge_of(plain(TEETH, shaft_distance_mm=None), "geometry"), "there is no shaft distance"),
        (lambda: judge_of(plain(TEETH, planes=1)), "1 is no number of gear planes"),
        (lambda: judge_of(plain(TEETH, studs=9)), "9 is no number of studs"),
        (
            lambda: judge_of(plain(TEETH, obstacles=(Obstacle(F(1), F(1), F(1)),) * 17)),
            "17 obstacles cannot be judged",
        ),
        (lambda: place("23/24"), "there is no gear of 23 teeth in the box"),
        (lambda: judge_of(plain(TEETH)).best(np.zeros((1, 2), np.int64), "up"), "the hand 'up'"),
        (lambda: judge_of(plain(TEETH)).best(np.zeros((1, 10), np.int64), "left"), "a train of 5 pairs"),
    ],
)
def test_what_cannot_be_judged_is_refused_by_name(call, message):
    with pytest.raises(GearsearchError) as caught:
        call()
    assert caught.value.message.startswith(message)
    assert caught.value.remedy


def test_without_a_shaft_distance_the_rule_of_thumb_is_used():
    assert judge_of(plain(TEETH, shaft_distance_mm=None)).mode == "rule"
    assert judge_of(with_gears(GearSet(Kind(F(3, 2)), TEETH), quadrant=False)).mode == "rule"
    assert judge_of(plain(TEETH)).mode == "geometry"


def test_more_studs_than_are_judged_is_said():
    idlers = "".join(f"({t})/" for t in TEETH[:9])
    assert place(f"127/{idlers}100", "rule").why == "it needs 9 studs; no more than 8 are judged"


# -------------------------------------------------------------------------------------- many at once, and all


def test_many_at_once_are_judged_as_one_by_one():
    """Enough rows to be shared among threads."""
    shop = plain(TEETH, studs=3)
    judge = judge_of(shop)
    rng = random.Random(5)
    slots = [size for size, count in enumerate(judge.pool.loose) for _ in range(count)]
    sets = np.array([rng.sample(slots, 4) for _ in range(13_000)], np.int64)
    for hand in ("right", "left"):
        many = judge.best(sets, hand)
        for start in range(0, len(sets), 500 if hand == "right" else 5000):
            few = judge.best(sets[start : start + 40], hand)
            for name in ("mounts", "idler_count", "clearance_um", "drivers", "driven", "idlers", "idler_pairs"):
                assert np.array_equal(getattr(few, name), getattr(many, name)[start : start + 40]), name


def test_the_order_gears_are_given_in_does_not_matter():
    judge = judge_of(plain(TEETH))
    one, other = (judge.best(sizes(judge, *t), "left") for t in ((100, 32, 24, 48), (32, 100, 48, 24)))
    assert judge.train(one, 0) == judge.train(other, 0)


def test_every_order_of_the_gears_is_listed_the_best_first():
    judge = judge_of(plain(TEETH))
    listed = judge.every(sizes(judge, 100, 32, 24, 48)[0], "right")
    assert [(str(judged.train), judged.mounts) for judged in listed] == [
        ("100/24 32/48", "yes"),
        ("32/24 100/48", "no"),
        ("32/48 100/24", "no"),
        ("100/48 32/24", "no"),
    ]
    left = judge.every(sizes(judge, 100, 32, 24, 48)[0], "left")
    clear = [judged.clearance_mm for judged in left if judged.mounts == "yes"]
    assert len(clear) == 3
    assert clear == sorted(clear, reverse=True)
    assert left[0] == judge.judged(judge.best(sizes(judge, 100, 32, 24, 48), "left"), 0)
    same = judge.every(sizes(judge, 24, 24, 100, 48)[0], "right")
    assert sorted(str(judged.train) for judged in same) == ["24/100 24/48", "24/48 24/100"]


def test_of_equal_clearance_the_least_tooth_counts_come_first():
    judge = judge_of(plain(TEETH), "rule")
    best = judge.best(sizes(judge, 100, 32, 24, 48), "left")
    assert str(judge.train(best, 0)) == "32/(127)/24 100/48"


# ----------------------------------------------------------------------------------------- the slow, obvious way


def same_as_naive(seed, modes=("geometry", "rule", "skip"), pairs=(1, 2), most=6, **quadrant):
    """Compare the best arrangements of one made-up shop; returns how many of them mount."""
    rng = random.Random(seed)
    shop = made_up_shop(rng, kinds=rng.choice([1, 1, 2]), most=most, **quadrant)
    return agrees_with_naive(shop, rng, modes, pairs, seed)


def agrees_with_naive(shop, rng, modes, pairs, seed):
    """Compare the best arrangements of made-up train sets of a shop; returns how many of them mount."""
    box = made_up_box(rng, shop)
    found = 0
    for mode in modes:
        judge = Judge(shop, box, shop.route(), mode)
        for count in pairs:
            made_up = made_up_set(rng, box, count)
            if made_up is None:
                continue
            for hand in ("right", "left", "either"):
                expected = naive.best(shop, box, shop.route(), *made_up, hand, mode)
                got = judge.best(np.array([[*made_up[0], *made_up[1]]]), hand)
                assert row_of(got) == (expected and (expected[0], -expected[1], expected[5])), (seed, mode, hand)
                judged = judge.judged(got, 0)
                yes = {"geometry": "yes", "rule": "rule", "skip": "unknown"}[mode]
                assert judged.mounts == (yes if expected else "no"), (seed, mode, hand)
                assert judged.why
                assert hand in ("either", judged.hand)
                found += expected is not None
    return found


def row_of(best):
    """The first row as idlers, clearance and pairs; None where nothing mounts."""
    if not best.mounts[0]:
        return None
    between = [[] for _ in best.drivers[0]]
    for size, place_ in zip(best.idlers[0].tolist(), best.idler_pairs[0].tolist(), strict=True):
        if size >= 0:
            between[place_].append(size)
    pairs = zip(best.drivers[0].tolist(), map(tuple, between), best.driven[0].tolist(), strict=True)
    return int(best.idler_count[0]), int(best.clearance_um[0]), tuple(pairs)


def test_the_best_arrangement_is_the_one_the_slow_way_finds():
    """Repeats, two kinds of tooth, joined pieces, fixed gears, bores, pair ratios, starts, one to three studs."""
    assert sum(same_as_naive(seed) for seed in range(25)) > 100


@pytest.mark.slow
def test_the_best_arrangement_is_the_one_the_slow_way_finds_at_length():
    assert sum(same_as_naive(seed) for seed in range(1000, 1300)) > 1000
    assert sum(same_as_naive(seed, pairs=(3,), most=8) for seed in range(2000, 2040)) > 50


def test_the_least_bad_arrangement_fails_by_least():
    """Where nothing mounts, no order and no idler comes nearer than the one whose reason is given."""
    compared = 0
    for seed in range(40):
        rng = random.Random(seed)
        shop = made_up_shop(rng, odd_gears=False, most=6)
        box = pool_of(shop)
        judge = Judge(shop, box, shop.route())
        made_up = made_up_set(rng, box, 2)
        got = None if made_up is None else judge.best(np.array([[*made_up[0], *made_up[1]]]), "right")
        counts = naive.counts_for(shop, shop.route(), 2, "right", "geometry")
        if got is None or got.mounts[0] or not counts:
            continue
        chosen = judge.train(got, 0)
        margins = {}
        for _, pairs, _, _ in naive.arrangements(box, *made_up, counts):
            if naive.may_stand(box, pairs) and naive.ways(shop, box, pairs, shop.quadrant.planes):
                train = box.train([p[0] for p in pairs], [p[2] for p in pairs], [p[1] for p in pairs])
                margin = naive.Drawing(shop, box, pairs).room()[0]
                margins |= {train: margin} if margin > -inf else {}
        if chosen in margins:
            assert margins[chosen] == pytest.approx(max(margins.values()), abs=1e-6), seed
            compared += 1
    assert compared >= 5
