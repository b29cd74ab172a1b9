"""What is said of a train on a quadrant: every number in it is the one the loops went by, from either end."""

import random
import re
from dataclasses import replace
from fractions import Fraction as F
from math import inf

import naive_mounting as naive
import numpy as np
import pytest
from quadrants import KINDS, LAYOUTS, NUTS, made_up_box, made_up_set, made_up_shop, plain
from slow import some

from gearsearch.base.errors import GearsearchError
from gearsearch.mounting.judge import Judge, Verdict
from gearsearch.mounting.placement import Names, Wheel, gap_words
from gearsearch.search.find import find
from gearsearch.search.solutions import clear_in_short
from gearsearch.search.terms import Terms
from gearsearch.shop.gears import GearSet, Kind
from gearsearch.shop.pool import pool_of
from gearsearch.shop.quadrant import Obstacle
from gearsearch.shop.reader import demo_shop
from gearsearch.shop.shop import Shop
from gearsearch.shop.train_columns import Trains
from gearsearch.shop.trains import Pair, Train
from gearsearch.work.part import Part

TEETH = (20, 24, 24, 28, 30, 32, 36, 40, 44, 48, 52, 56, 60, 64, 72, 80, 86, 100, 127)


def judge_of(shop, mode="auto", **box):
    return Judge(shop, pool_of(shop, **box), shop.route(), mode)


def place(text, mode="auto", teeth=TEETH, **quadrant):
    return judge_of(plain(teeth, **quadrant), mode).place(Train.parse(text))


def with_gears(*sets, quadrant=True, **more):
    shop = plain((20,), **more)
    return Shop(shop.name, "mm", shop.machine, sets, shop.quadrant if quadrant else None)


def made_up(seed, **quadrant):
    """A made-up shop with one made-up train of it, idlers included; None where the draw has none."""
    rng = random.Random(seed)
    shop = made_up_shop(rng, kinds=rng.choice([1, 2]), most=8, **quadrant)
    box = made_up_box(rng, shop)
    count = rng.choice([1, 2, 2, 3])
    sets = made_up_set(rng, box, count)
    if sets is None:
        return None
    between = [[] for _ in range(count)]
    for _ in range(rng.choice([0, 1, 1, 2])):
        place = rng.randrange(count)
        fitting = [size for size in range(len(box.teeth)) if box.kind[size] == box.kind[sets[0][place]]]
        between[place].append(rng.choice(fitting))
    return Judge(shop, box, shop.route()), box.train(*sets, between)


def numbers_in(words):
    """The figures of a sentence."""
    return [float(figure) for figure in re.findall(r"-?\d+\.\d+", words)]


def drawings_of(judge, train):
    """The train as the slow way draws it, once for each way to take its gears from joined pieces."""
    shop, box = judge.shop, judge.pool
    train = shop.tagged(train)
    pairs = tuple(
        (box.number(p.kind, p.driver), tuple(box.number(p.kind, i) for i in p.idlers), box.number(p.kind, p.driven))
        for p in train.pairs
    )
    if not naive.may_stand(box, pairs):
        return []
    return [naive.Drawing(shop, box, pairs, idle) for idle in naive.ways(shop, box, pairs, shop.quadrant.planes)]


@pytest.mark.parametrize("layout", LAYOUTS)
@pytest.mark.parametrize("first", some(range(0, 480, 120)))
def test_a_no_tells_by_how_much_the_worst_condition_fails_at_the_least_bad_place(layout, first):
    compared = 0
    for seed in range(first, first + 120):
        drawn = made_up(seed, layouts=(layout,), free=True)
        if drawn is None:
            continue
        judge, train = drawn
        judged, drawings = judge.place(train), drawings_of(*drawn)
        margin = max((drawing.room()[0] for drawing in drawings), default=-inf)
        if judged.mounts == "no" and margin > -inf and " fouls " in judged.why:
            gap = margin + float(judge.shop.quadrant.clearance_mm)
            assert numbers_in(judged.why)[-1] == pytest.approx(-gap, abs=0.051), seed
            compared += 1
    assert compared


@pytest.mark.parametrize("layout", LAYOUTS)
@pytest.mark.parametrize("first", some(range(0, 600, 150)))
def test_the_clearance_of_a_yes_is_its_smallest_gap_and_is_named(layout, first):
    compared = 0
    for seed in range(first, first + 150):
        drawn = made_up(seed, layouts=(layout,), free=True)
        judged = None if drawn is None else drawn[0].place(drawn[1])
        if judged is None or judged.mounts != "yes":
            continue
        gap = max(drawing.room()[1] for drawing in drawings_of(*drawn))
        if gap == 10**6:
            assert (judged.clearance_mm, judged.why) == (None, "nothing stands near")
            continue
        assert judged.clearance_mm == pytest.approx(gap, abs=1e-6), seed
        assert judged.why.startswith(f"tightest {gap_words(gap, 'mm')} between the ")
        compared += 1
    assert compared


def mirrored(words, studs):
    """The same words as seen from the other end of the train."""
    ends = {"the table screw": "the last shaft (worm)", "the last shaft (worm)": "the table screw"}
    ends |= {f"stud {n}": f"stud {studs + 1 - n}" for n in range(1, studs + 1)}
    found = sorted(ends, key=len, reverse=True)
    for number, name in enumerate(found):
        words = words.replace(name, f"<{number}>")
    for number, name in enumerate(found):
        words = words.replace(f"<{number}>", ends[name])
    return words


def turned(train):
    """The same gears in the same places, in power order from the other end."""
    return Train(tuple(Pair(p.driven, p.driver, p.idlers[::-1], p.kind) for p in train.pairs[::-1]))


@pytest.mark.parametrize("layout", LAYOUTS)
def test_a_quadrant_on_the_last_shaft_says_the_same_of_the_train_turned_end_for_end(layout):
    rng = random.Random(11)
    compared = 0
    for _ in range(120):
        first, second = rng.choice([60, 100, 150]), rng.choice([0, 20])
        shared = {
            "layout": layout,
            "shaft_distance_mm": (F(first), F(first + second)),
            "studs": 2,
            "reach_mm": (F(rng.choice([20, 60])), F(rng.choice([100, 190]))),
            "swing_deg": rng.choice([(F(-75), F(75)), (F(10), F(40)), (F(-20), F(180))]),
            "obstacles": (Obstacle(F(40), F(50), F(15)),) if rng.random() < 0.5 else (),
        }
        gears = rng.sample(TEETH, 4)
        text = rng.choice(["{}/{} {}/{}", "{}/({})/{}", "{}/({})/({})/{}", "{}/{}"]).format(*gears)
        train = Train.parse(text)
        nuts = {"first": F(12), "last": F(9), "stud": F(10)}
        swapped = {"first": F(9), "last": F(12), "stud": F(10)}
        straight = judge_of(plain(TEETH, nut_radius_mm=nuts, **shared))
        other = judge_of(plain(TEETH, pivot="last", nut_radius_mm=swapped, **shared))
        one, two = straight.place(train), other.place(turned(train))
        assert one.mounts == two.mounts
        assert numbers_in(one.why) == pytest.approx(numbers_in(two.why), abs=0.11)
        if one.mounts == "no" and "mesh" not in one.why:
            compared += one.why == mirrored(two.why, train.studs)
    assert compared > 40


@pytest.mark.parametrize(
    ("units", "mm", "finer", "text"),
    [
        ("mm", 46.5, 0, "46.5 mm"),
        ("mm", 0.2, 0, "0.2 mm"),
        ("mm", 0.19, 0, "0.190 mm"),
        ("mm", -0.19, 0, "-0.190 mm"),
        ("mm", 0.25, 1, "0.25 mm"),
        ("mm", 0.019, 1, "0.0190 mm"),
        ("in", 25.4, 0, "1.00 in"),
        ("in", 0.51, 0, "0.02 in"),
        ("in", 0.5, 0, "0.0197 in"),
        ("in", 0.051, 1, "0.002 in"),
        ("in", 0.05, 1, "0.00197 in"),
    ],
)
def test_a_length_is_told_finer_where_it_is_small(units, mm, finer, text):
    shop = plain((20,), units=units)
    assert Names(shop, shop.route(), 1).length(mm, finer) == text


@pytest.mark.parametrize(
    ("unit", "mm", "finer", "text"),
    [
        ("mm", 43.5, 0, "43.5 mm"),
        ("mm", 43.4999999999, 0, "43.5 mm"),
        ("mm", 43.4999, 0, "43.4 mm"),
        ("mm", 43.59, 0, "43.5 mm"),
        ("mm", 43.59, 1, "43.59 mm"),
        ("mm", 0.2, 0, "0.2 mm"),
        ("mm", 0.1999, 0, "0.199 mm"),
        ("mm", 0.0, 0, "0.000 mm"),
        ("in", 1.88 * 25.4, 0, "1.88 in"),
        ("in", 1.8799 * 25.4, 0, "1.87 in"),
        ("in", 2.129 * 25.4, 0, "2.12 in"),
        ("in", 0.0199 * 25.4, 0, "0.0198 in"),
        ("in", 0.0599 * 25.4, 0, "0.05 in"),
        ("in", 1.8799 * 25.4, 1, "1.879 in"),
    ],
)
def test_a_clearance_is_never_told_larger_than_it_is(unit, mm, finer, text):
    assert gap_words(mm, unit, finer) == text


def test_a_clearance_is_told_the_same_in_the_table_and_under_it():
    """Lead 17.23 in on the demo shop in inches: 1.88 in the table was 1.87 under it."""
    shop = replace(demo_shop(), units="in")
    for lead in (F("17.23"), F("15"), F("16.4"), F("20.1")):
        for hand in ("right", "left"):
            for fit in find(shop, Part(lead * F("25.4")), Terms(hand=hand, count=6)).fits:
                clear = clear_in_short(fit, "in")
                assert fit.placement.tightest.startswith(f"tightest {clear} between")
                assert float(clear.removesuffix(" in")) * 25.4 <= fit.clearance_mm + 1e-6


def test_shafts_have_the_names_of_their_machine():
    mill, lathe = plain((20,)), plain((20,), kind="lathe")
    assert [Names(mill, mill.route(), 2).shaft(n) for n in range(4)] == [
        "the table screw",
        "stud 1",
        "stud 2",
        "the last shaft (worm)",
    ]
    assert [Names(lathe, lathe.route(), 1).shaft(n) for n in range(3)] == [
        "the first shaft (spindle side)",
        "stud 1",
        "the lead screw",
    ]


class Own(Names):
    """Names of a machine that is neither mill nor lathe."""

    def shaft(self, number):
        """By its number alone."""
        return f"shaft {number} of {self.studs + 2}"

    @property
    def no_idler(self):
        """In words of its own."""
        return "nothing is left to turn it round"


def test_every_reason_of_a_no_speaks_with_the_names_that_the_judge_was_given():
    shop = with_gears(
        GearSet(Kind(F(3, 2)), (20, 24, 30, 40, 60, 80), fixed={"first": 40}, only_on={80: frozenset({"first"})})
    )
    for mode in ("geometry", "rule"):
        judge = Judge(shop, pool_of(shop), shop.route(), mode, Own)
        assert judge.place(Train.parse("20/24")).why == "the 40 cannot come off shaft 0 of 2"
        assert judge.place(Train.parse("40/80")).why == "the 80 may not go on shaft 1 of 2"
    rule = judge.place(Train.parse("40/30 60/20"))
    assert rule.why.startswith("by the rule of thumb the 60 on shaft 1 of 3 fouls shaft 0 of 3: ")
    roomy = plain((24, 32, 48, 100))
    judge = Judge(roomy, pool_of(roomy), roomy.route(), names=Own)
    assert judge.place(Train.parse("100/24 32/48")).why.endswith(" on shaft 1 of 3 and the nut of shaft 2 of 3")
    assert "on shaft 1 of 3 fouls" in judge.place(Train.parse("32/24 100/48")).why
    few = with_gears(GearSet(Kind(F(3, 2)), (20, 30)), quadrant=False)
    judge = Judge(few, pool_of(few), few.route(), names=Own)
    assert judge.judged(judge.best(sizes(judge, 20, 30), "right"), 0).why == "nothing is left to turn it round"


def wheel(teeth, role="driver", shaft=0, kind="m1.5"):
    return Wheel(teeth, kind, role, shaft, 0, 0.0, 0.0, teeth * 0.75, teeth * 0.75 + 1.5)


def test_where_there_are_two_kinds_of_tooth_a_gear_is_named_with_its_kind():
    two = with_gears(GearSet(KINDS[0], (20,)), GearSet(KINDS[1], (30,)))
    assert Names(two, two.route(), 1).wheel(wheel(20)) == "the 20@m1.5 on the table screw"
    one = plain((20,))
    assert Names(one, one.route(), 1).wheel(wheel(20, "idle", 1)) == "the idle 20 on stud 1"


def test_a_gear_fixed_on_the_last_shaft_stays_there():
    judge = judge_of(with_gears(GearSet(Kind(F(3, 2)), (24, 32, 100), fixed={"last": 48})))
    assert judge.place(Train.parse("100/24 32/48")).mounts == "yes"
    assert judge.place(Train.parse("100/48 32/24")).why == "the 48 cannot come off the last shaft (worm)"
    assert judge.place(Train.parse("48/24 32/48")).why == (
        "the box has none of the 48 besides the fixed one; this train needs 1"
    )


def test_a_gear_bored_for_one_place_may_go_on_no_other():
    for only, allowed, refused in (
        ("first", "100/24 32/48", ("32/24 100/48", "stud 1")),
        ("stud", "32/24 100/48", ("100/24 32/48", "the table screw")),
        ("last", "48/24 32/100", ("100/24 32/48", "the table screw")),
        ("first", "100/24 32/48", ("48/24 32/100", "the last shaft (worm)")),
    ):
        gears = GearSet(Kind(F(3, 2)), (24, 32, 48, 100), only_on={100: frozenset({only})})
        judge = judge_of(with_gears(gears, quadrant=False))
        assert not judge.place(Train.parse(allowed)).why.startswith("the 100 may not go")
        assert judge.place(Train.parse(refused[0])).why == f"the 100 may not go on {refused[1]}"


def test_what_rules_a_train_out_is_told_in_the_order_of_what_must_be_changed_first():
    """A fixed gear before a bore, a bore before the step of a pair, and that before gears the box has not."""
    gears = GearSet(Kind(F(3, 2)), (20, 24, 80), fixed={"first": 40}, only_on={80: frozenset({"first"})})
    judge = judge_of(with_gears(gears), greatest_pair_ratio=F(3))
    assert judge.place(Train.parse("20/80 24/24")).why == "the 40 cannot come off the table screw"
    assert judge.place(Train.parse("40/80 20/24")).why == "the 80 may not go on stud 1"
    judge = judge_of(with_gears(GearSet(Kind(F(3, 2)), (20, 24, 80))), greatest_pair_ratio=F(3))
    assert judge.place(Train.parse("24/80 24/20")).why == "the pair 24/80 steps by 3.33:1; at most 3.00:1 is asked"
    assert judge.place(Train.parse("80/24 24/20")).why == "the pair 80/24 steps by 3.33:1; at most 3.00:1 is asked"
    assert judge.place(Train.parse("24/20 24/20")).why == "the box has 1 of the 20; this train needs 2"


def test_a_joined_piece_counts_once_for_each_of_its_gears():
    gears = GearSet(Kind(F(3, 2)), (24, 30), ((30, 30), (24, 40), (24, 40)))
    judge = judge_of(with_gears(gears, quadrant=False))
    assert judge.place(Train.parse("30/30 30/30 24/24")).why == "the box has 3 of the 30; this train needs 4"
    assert judge.place(Train.parse("40/40 40/24 24/24")).why == "the box has 2 of the 40; this train needs 3"
    assert judge.place(Train.parse("24/24 24/24 30/40")).why == "the box has 3 of the 24; this train needs 4"


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("40/30 60/24 28/20", "by the rule of thumb the 60 on stud 1 fouls the table screw: "
         "40 + 30 = 70 is not more than 60 + 15 = 75"),
        ("30/(20)/24 60/20", "by the rule of thumb the 60 on stud 2 fouls stud 1: "
         "20 + 24 = 44 is not more than 60 + 15 = 75"),
        ("30/56 20/(24)/28", "by the rule of thumb the 56 on stud 1 fouls stud 2: "
         "20 + 24 = 44 is not more than 56 + 15 = 71"),
    ],
)  # fmt: skip
def test_the_rule_of_thumb_names_the_stud_and_the_shaft(text, why):
    assert judge_of(plain(TEETH * 2), "rule").place(Train.parse(text)).why == why


def test_the_rule_of_thumb_counts_in_the_inches_of_the_shop():
    fine, coarse = GearSet(KINDS[0], (30, 40, 50)), GearSet(KINDS[1], (30, 40, 50))
    shop = with_gears(fine, coarse, quadrant=False)
    judge = judge_of(Shop(shop.name, "in", shop.machine, shop.gears, None))
    assert judge.place(Train.parse("40/30@m1.5 40/50@m2")).why == (
        "by the rule of thumb the 40 on stud 1 fouls the table screw: "
        "0.98 in of diameter is left, and more than 1.18 in is needed"
    )


def test_every_stud_tells_its_gears_and_its_distances():
    quadrant = {"layout": "plate", "shaft_distance_mm": (F(160), F(160)), "swing_deg": (F(-20), F(90))}
    placement = place("44/(56)/(60)/48", **quadrant).placement
    one, two = placement.studs
    assert (one.number, one.gears, two.number, two.gears) == (1, (56,), 2, (60,))
    assert (one.to_previous_mm, one.to_next_mm) == pytest.approx((75, 87))
    assert (two.to_previous_mm, two.to_next_mm) == pytest.approx((87, 81))
    for stud in placement.studs:
        assert abs(complex(stud.x_mm, stud.y_mm)) == pytest.approx(stud.from_pivot_mm)
        assert np.degrees(np.angle(complex(stud.x_mm, stud.y_mm))) == pytest.approx(stud.swing_deg)
        (gear,) = [wheel for wheel in placement.wheels if wheel.shaft == stud.number]
        assert (gear.x_mm, gear.y_mm) == (stud.x_mm, stud.y_mm)
    assert two.from_pivot_mm != pytest.approx(two.to_previous_mm)
    assert (placement.pivot, placement.shaft_distance_mm) == ("first", 160)


def test_wheels_stand_in_power_order_and_what_is_idle_before_a_driver():
    judge = judge_of(with_gears(GearSet(Kind(F(3, 2)), (40, 72), ((56, 24),))))
    placement = judge.place(Train.parse("40/(56)/72")).placement
    assert [(w.shaft, w.role, w.teeth) for w in placement.wheels] == [
        (0, "driver", 40),
        (1, "idler", 56),
        (1, "idle", 24),
        (2, "driven", 72),
    ]
    judge = judge_of(with_gears(GearSet(Kind(F(3, 2)), (32, 24, 48), ((100, 20),))))
    placement = judge.place(Train.parse("100/24 32/48")).placement
    assert [(w.shaft, w.role, w.teeth) for w in placement.wheels] == [
        (0, "idle", 20),
        (0, "driver", 100),
        (1, "driven", 24),
        (1, "driver", 32),
        (2, "driven", 48),
    ]


def test_eight_studs_are_judged_and_nine_are_not():
    idlers = "".join(f"({t})/" for t in TEETH[:9])
    assert place(f"127/{idlers}100", "rule").mounts == "no"
    eight = "".join(f"({t})/" for t in TEETH[:8])
    judged = place(f"127/{eight}100", "rule")
    assert (judged.mounts, judged.why) == ("rule", "by the rule of thumb only; use any idler that reaches")
    assert place(f"127/{eight}100", "skip").mounts == "unknown"


@pytest.mark.parametrize("pairs", [1, 4])
def test_trains_of_one_pair_and_of_four_are_judged_and_no_more(pairs):
    judge = judge_of(plain((20, 21, 22, 23, 24, 25, 26, 27, 28), hand="right"), "rule")
    best = judge.best(np.arange(2 * pairs)[np.newaxis], "either")
    assert len(best) == 1
    assert judge.train(best, 0).gears == 2 * pairs
    for wrong in (0, 5):
        with pytest.raises(GearsearchError, match="pairs"):
            judge.best(np.zeros((1, 2 * wrong), np.int64), "either")


def test_a_quadrant_judges_what_it_has_room_for_and_no_more():
    assert judge_of(plain(TEETH, studs=8)).mode == "geometry"
    assert judge_of(plain(TEETH, planes=3)).mode == "geometry"
    assert judge_of(plain(TEETH, obstacles=(Obstacle(F(500), F(1), F(1)),) * 16)).mode == "geometry"
    pieces = tuple((20 + n, 40 + n) for n in range(17))
    assert judge_of(with_gears(GearSet(Kind(F(3, 2)), (20,), pieces[:16]))).mode == "geometry"
    for limits, said in (({"planes": 4}, "4 is no number of gear planes"), ({"studs": 9}, "9 is no number of studs")):
        with pytest.raises(GearsearchError, match=said):
            plain(TEETH, **limits)
    with pytest.raises(GearsearchError, match="17 kinds of joined pieces cannot be judged"):
        judge_of(with_gears(GearSet(Kind(F(3, 2)), (20,), pieces)))


def test_each_way_to_judge_can_be_asked_for():
    shop = plain(TEETH, nut_radius_mm=NUTS)
    assert [judge_of(shop, mode).mode for mode in ("auto", "geometry", "rule", "skip")] == [
        "geometry",
        "geometry",
        "rule",
        "skip",
    ]
    with pytest.raises(GearsearchError, match=r"shaft.distance"):
        judge_of(with_gears(GearSet(Kind(F(3, 2)), TEETH), quadrant=False), "geometry")
    assert judge_of(with_gears(GearSet(Kind(F(3, 2)), TEETH), quadrant=False), "skip").mode == "skip"


def test_orders_keeps_the_gears_in_the_order_they_are_given_in():
    judge = judge_of(plain(TEETH))
    size = {teeth: judge.pool.number("", teeth) for teeth in TEETH}
    for text, mounts in (("100/24 32/48", True), ("32/24 100/48", False)):
        train = Train.parse(text)
        gears = np.array([[size[t] for t in (*train.drivers, *train.driven)]])
        best = judge.orders(gears, "right")
        assert bool(best.mounts[0]) is mounts
        if mounts:
            assert judge.train(best, 0) == train


WIDE = {"layout": "plate", "shaft_distance_mm": (F(160), F(160)), "swing_deg": (F(-20), F(90))}
LOW = {"shaft_distance_mm": (F(20), F(20)), "reach_mm": (F(10), F(300))}


@pytest.mark.parametrize(
    ("text", "quadrant", "why"),
    [
        # 44, 56, 60 and 48 teeth of module 1.5: 75 mm, 87 mm and 81 mm from shaft to shaft
        ("44/(56)/(60)/48", {**WIDE, "reach_mm": (F(100), F(190))},
         "stud 1 would stand 75.0 mm from the pivot; the reach begins at 100.0 mm"),
        ("44/(56)/(60)/48", {**WIDE, "reach_mm": (F(100), F(190)), "pivot": "last"},
         "stud 2 would stand 81.0 mm from the pivot; the reach begins at 100.0 mm"),
        ("44/(56)/(60)/48", {**WIDE, "reach_mm": (F(40), F(80)), "pivot": "last"},
         "stud 1 would stand 85.0 mm from the pivot; the reach ends at 80.0 mm"),
        ("44/(56)/(60)/48", {"reach_mm": (F(40), F(120))},
         "stud 2 would stand 162.0 mm from the pivot; the slot ends at 120.0 mm"),
        ("44/(56)/(60)/48", {"reach_mm": (F(40), F(120)), "pivot": "last"},
         "stud 1 would stand 168.0 mm from the pivot; the slot ends at 120.0 mm"),
        ("44/(56)/(60)/48", {"reach_mm": (F(100), F(190)), "pivot": "last"},
         "stud 2 would stand 81.0 mm from the pivot; the slot begins at 100.0 mm"),
        ("44/(56)/(60)/48", {**WIDE, "swing_deg": (F(60), F(90))},
         "stud 2 would stand at 25.9°; the swing is from 60.0° to 90.0°"),
        ("44/(56)/(60)/48", {**WIDE, "swing_deg": (F(60), F(90)), "pivot": "last"},
         "stud 1 would stand at 23.4°; the swing is from 60.0° to 90.0°"),
        ("100/(127)/20", {"shaft_distance_mm": (F(50), F(50)), "pivot": "last"},
         "too large: the 100 and the 127 mesh at 170.2 mm, but stud 1 would stand 110.2 mm from the pivot, and "
         "the table screw 50.0 mm"),
        ("20/(127)/100", {"shaft_distance_mm": (F(50), F(50)), "pivot": "last"},
         "too large: stud 1 would stand 170.2 mm from the pivot, 120.2 mm from the table screw at the least, but "
         "the 20 and the 127 mesh at 110.2 mm"),
        ("100/(24)/(127)/20", {**LOW, "pivot": "last"},
         "too large: stud 1 would stand 223.5 mm from the pivot, 203.5 mm from the table screw at the least, but "
         "the 100 and the 24 mesh at 93.0 mm"),
        ("20/(127)/(24)/100", LOW,
         "too large: stud 2 would stand 223.5 mm from the pivot, 203.5 mm from the last shaft (worm) at the least, "
         "but the 24 and the 100 mesh at 93.0 mm"),
        ("100/127", {}, "the 100 and the 127 mesh at 170.2 mm; the shafts stand 150.0 mm apart"),
    ],
)  # fmt: skip
def test_a_no_names_the_stud_as_counted_from_the_screw_whichever_shaft_the_quadrant_is_on(text, quadrant, why):
    assert place(text, **quadrant).why == why


def test_a_nut_that_was_not_measured_takes_no_room():
    """The 24 on the stud is 39 mm over its tips, and the last shaft 60 mm away."""
    for nuts in ({}, {"first": F(1)}):
        assert place("100/24 32/48", nut_radius_mm=nuts).why == (
            "tightest 40.5 mm between the 24 on stud 1 and the nut of the last shaft (worm)"
        )


def test_what_is_not_said_of_a_verdict_is_nothing():
    assert Verdict(Train.parse("40/72"), None, "unknown").why == ""


@pytest.mark.parametrize(
    ("text", "reach", "distance", "why"),
    [
        ("44/(56)/(60)/48", (40, 80), 250, "does not reach: 243.0 mm of 250.0 mm"),
        ("44/(56)/48", (100, 190), 170, "stud 1 would stand 75.0 mm from the pivot; the reach begins at 100.0 mm"),
        ("44/(56)/48", (100, 190), 190, "does not reach: 153.0 mm of 190.0 mm"),
    ],
)
def test_on_a_plate_that_does_not_close_only_the_first_stud_is_known(text, reach, distance, why):
    quadrant = {"layout": "plate", "shaft_distance_mm": (F(distance), F(distance)), "reach_mm": tuple(map(F, reach))}
    assert place(text, **quadrant).why == why


def test_what_rules_nothing_out_says_nothing():
    judge = judge_of(plain(TEETH), "rule")
    for text in ("100/24 32/48", "40/72"):
        arrangement = judge._arrangement(judge.shop.tagged(Train.parse(text)))
        assert (arrangement.ruled_out(), arrangement.by_rule()) == ("", "")


def test_the_rule_of_thumb_is_kept_by_half_a_millimetre_and_broken_by_none():
    """One tooth of module 0.5 mm more than asked, and just as many teeth as are not enough."""
    gears = GearSet(Kind(F(1, 2)), (35, 40, 41, 50, 60))
    judge = judge_of(with_gears(gears, quadrant=False))
    assert judge._arrangement(judge.shop.tagged(Train.parse("41/35 60/50"))).by_rule() == ""
    assert judge.place(Train.parse("40/35 60/50")).why == (
        "by the rule of thumb the 60 on stud 1 fouls the table screw: 40 + 35 = 75 is not more than 60 + 15 = 75"
    )


def test_the_smallest_gear_of_the_box_may_be_a_fixed_one():
    judge = judge_of(with_gears(GearSet(Kind(F(3, 2)), (24, 32, 48, 100), fixed={"first": 16})))
    assert judge.place(Train.parse("100/24 32/48")).why == "the 16 cannot come off the table screw"
    assert judge.place(Train.parse("16/24 32/16")).why == (
        "the box has none of the 16 besides the fixed one; this train needs 1"
    )
    assert not judge.place(Train.parse("16/24 32/48")).why.startswith(("the box", "the 16"))


def test_every_order_that_mounts_is_listed_before_those_that_do_not():
    told_apart = 0
    for seed in range(80):
        rng = random.Random(seed)
        shop = made_up_shop(rng, kinds=rng.choice([1, 2]), most=8)
        box = pool_of(shop)
        sets = made_up_set(rng, box, 2)
        if sets is None:
            continue
        listed = Judge(shop, box, shop.route()).every(np.array([*sets[0], *sets[1]]), "either")
        fails = [judged.mounts == "no" for judged in listed]
        assert fails == sorted(fails), seed
        idlers = [len(judged.train.idlers) for judged in listed]
        told_apart += idlers != sorted(idlers)
    assert told_apart >= 3


def test_only_orders_in_which_each_pair_is_of_one_kind_are_listed():
    judge = judge_of(with_gears(GearSet(KINDS[0], (30, 40)), GearSet(KINDS[1], (32, 48))), "rule")
    box = judge.pool
    gears = [box.number("m1.5", 30), box.number("m2", 32), box.number("m1.5", 40), box.number("m2", 48)]
    listed = judge.every(np.array(gears), "right")
    assert sorted(str(judged.train) for judged in listed) == ["30/40@m1.5 32/48@m2", "32/48@m2 30/40@m1.5"]


def test_of_three_pairs_each_is_of_one_kind():
    judge = judge_of(with_gears(GearSet(KINDS[0], (20, 24, 30, 40)), GearSet(KINDS[1], (32, 48))), "rule")
    fine, coarse = (lambda t: judge.pool.number("m1.5", t)), (lambda t: judge.pool.number("m2", t))
    listed = judge.every(np.array([fine(20), fine(30), coarse(32), fine(24), fine(40), coarse(48)]), "left")
    assert len(listed) == len({str(judged.train) for judged in listed}) == 6 * 2
    assert {pair.kind for judged in listed for pair in judged.train.pairs if 32 in (pair.driver, pair.driven)} == {"m2"}


def sizes(judge, *teeth):
    return np.array([[judge.pool.number("", t) for t in teeth]])


def test_where_no_order_mounts_each_tells_its_own_reason_with_the_idler_it_would_need():
    judge = judge_of(plain(TEETH, swing_deg=(F(-3), F(3))))
    for judged in judge.every(sizes(judge, 100, 32, 24, 48)[0], "left"):
        assert (judged.mounts, judged.hand, len(judged.train.idlers)) == ("no", "left", 1)
        assert any(said in judged.why for said in ("fouls", "ends at"))


def test_where_either_hand_will_do_and_none_mounts_the_hand_is_that_of_the_least_bad():
    judge = judge_of(plain(TEETH, reach_mm=(F(40), F(70))))
    judged = judge.judged(judge.best(sizes(judge, 100, 32, 24, 48), "either"), 0)
    assert (str(judged.train), judged.mounts, judged.hand) == ("100/24 32/48", "no", "right")
    assert judged.why == "stud 1 would stand 93.0 mm from the pivot; the slot ends at 70.0 mm"


def test_the_reason_is_that_of_an_order_which_nothing_rules_out():
    """The fixed 100 stands on the screw; what is missing is an idler, not another place for it."""
    judge = judge_of(with_gears(GearSet(Kind(F(3, 2)), (24, 32, 48), fixed={"first": 100})))
    judged = judge.judged(judge.best(sizes(judge, 32, 100, 24, 48), "left"), 0)
    assert str(judged.train) == "100/24 32/48"
    assert judged.why == "no gear is left over that could turn the hand as an idler"


def test_by_the_rule_of_thumb_no_more_than_one_idler_is_tried():
    """Both gears on the stud are too large for the meshes beside them: that would take an idler on either side."""
    judge = judge_of(plain((12, 12, 20, 20, 22, 40, 41)), "rule")
    assert not judge.orders(sizes(judge, 12, 41, 40, 12), "either").mounts[0]
    assert judge.orders(sizes(judge, 41, 12, 12, 40), "either").mounts[0]


def test_trains_of_one_lead_are_ordered_by_ease_then_tooth_counts_then_kinds():
    box = pool_of(with_gears(GearSet(KINDS[0], (30, 40)), GearSet(KINDS[1], (40, 50))))
    assert (box.teeth, box.kind) == ((30, 40, 40, 50), (0, 0, 1, 1))
    best = Trains(
        pairs=np.array([1, 1]),
        mounts=np.array([True, False]),
        clearance_um=np.array([2_000_000_000, 7], np.int32),
        drivers=np.array([[1], [2]]),
        driven=np.array([[0], [3]]),
        idlers=np.array([[1], [-1]]),
        idler_pairs=np.array([[0], [-1]]),
        hand="left",
    )
    assert best.order_keys(box).tolist() == [
        [1, -2_000_000_000, 40, 30, 40, 0, 0, 0, 0],
        [0, -7, 40, 50, 0, -1, 1, 1, 0],
    ]


def test_a_judge_is_asked_for_as_requests_take_mounting():
    shop = demo_shop()
    modes = {how: Judge.asked(shop, pool_of(shop), shop.route(), how).mode for how in ("must", "show", "skip")}
    assert modes == {"must": "geometry", "show": "geometry", "skip": "skip"}
