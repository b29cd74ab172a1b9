"""Differential indexing: every train exact, row for row as by trying every hole and every gear."""

from dataclasses import replace
from fractions import Fraction
from math import prod

import naive_dividing as naive
import pytest
from cells import cells, codes, said
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st
from shops import classic, mill
from strategies import drawn

from gearsearch.base.errors import GearsearchError
from gearsearch.dividing import differential, divided
from gearsearch.dividing.indexing import Movement
from gearsearch.mounting.placement import Names
from gearsearch.shop.gears import GearSet, Kind
from gearsearch.shop.head import Dividing

CLASSIC = replace(
    classic(),
    dividing=Dividing(Fraction(40), ((15, 16, 17, 18, 19, 20), (21, 23, 27, 29, 31, 33), (37, 39, 41, 43, 47, 49))),
)
quick = settings(deadline=None, max_examples=15, suppress_health_check=[HealthCheck.too_slow])


def shop_of(teeth, circles, ratio):
    """A shop of these gears and one plate."""
    return replace(mill(teeth), dividing=Dividing(Fraction(ratio), (tuple(circles),)))


def row_of(answer):
    """A set-up as the naive search writes it."""
    movement, train = answer.movement, answer.train
    crank = movement.turns, movement.holes, movement.circle
    return (answer.plate_turns, *crank, tuple(sorted(train.drivers)), tuple(sorted(train.driven)), len(train.idlers))


def best_of_each_first(rows):
    """The first row of each movement, then all others."""
    first = [row for number, row in enumerate(rows) if row[1:4] not in [earlier[1:4] for earlier in rows[:number]]]
    return first + [row for row in rows if row not in first]


@st.composite
def within_reach(draw):
    """Gears, circles, a head's ratio, and a number of divisions that some train of them makes."""
    teeth = draw(st.lists(st.sampled_from([12, 14, 15, 20, 24, 30, 32, 36, 40, 48, 60, 72]), min_size=4, max_size=6))
    ratio = draw(st.sampled_from([5, 40, 60]))
    order = draw(st.permutations(teeth))
    pairs = draw(st.integers(1, 2))
    plate = Fraction(prod(order[:pairs]), prod(order[pairs : 2 * pairs])) * draw(st.sampled_from([1, -1]))
    circle = plate.denominator * draw(st.integers(1, 4))
    holes = circle * (ratio - plate)
    assume(8 <= circle <= 60 and holes > 0)
    divisions = draw(st.sampled_from([n for n in range(1, 200) if holes % n == 0]))
    circles = sorted({circle, *draw(st.lists(st.integers(8, 30), max_size=2))})
    return sorted(teeth), circles, ratio, divisions


@drawn(within_reach(), quick=6, slow=40)
def test_set_ups_are_those_of_the_naive_search_row_for_row(asked):
    teeth, circles, ratio, divisions = asked
    mounting, ruled_out = naive.set_ups(teeth, circles, Fraction(ratio), divisions)
    found = differential.differentials(shop_of(teeth, circles, ratio), divisions, count=1000)
    assert found
    assert [row_of(answer) for answer in found if answer.mounts == "rule"] == best_of_each_first(mounting)[:1000]
    if len(mounting) + len(ruled_out) <= 1000:
        assert {row_of(answer)[:-1] for answer in found if answer.mounts == "no"} == ruled_out


@given(st.integers(51, 400))
@quick
def test_every_set_up_is_exact_by_the_formula(divisions):
    for answer in differential.differentials(CLASSIC, divisions, count=50):
        movement, drivers, driven = answer.movement, prod(answer.train.drivers), prod(answer.train.driven)
        plate = Fraction(drivers, driven) * (1 if answer.plate_way == "with the crank" else -1)
        assert divisions * movement.crank_turns + plate == 40
        assert answer.exact
        assert answer.built_up_deg == 0
        assert answer.train.studs == (1 if plate > 0 else 2)
        wheels = list(answer.train.wheels)
        assert all(wheels.count(("", teeth)) <= CLASSIC.gears[0].teeth.count(teeth) for _, teeth in wheels)


@given(st.integers(51, 400), st.integers(1, 12))
@quick
def test_a_limit_of_answers_is_the_first_of_the_full_list(divisions, count):
    full = differential.differentials(CLASSIC, divisions, count=200)
    assert differential.differentials(CLASSIC, divisions, count=count) == full[:count]


def test_the_spindle_turned_hole_by_hole_comes_round_after_127():
    """Turn by turn of the crank, the plate following the spindle, with no formula but the ratio of the worm."""
    answer = differential.differentials(CLASSIC, 127)[0]
    spindle = Fraction(0)
    for _ in range(127):
        plate_before, crank = spindle * answer.plate_turns, Fraction(0)
        moved = answer.movement.crank_turns
        # the pin comes to rest in a hole of the plate, which has moved on meanwhile: crank = moved + plate's own way
        crank = moved / (1 - answer.plate_turns / 40)
        spindle += crank / 40
        assert crank - (spindle * answer.plate_turns - plate_before) == moved
    assert spindle == 1


def test_the_nearest_trains_are_the_exact_ones_where_there_are_any():
    near = differential.nearest_differentials(CLASSIC, 127, count=3)
    assert all(answer.exact for answer in near)
    assert near[0] == differential.differentials(CLASSIC, 127)[0]


@drawn(
    st.lists(st.sampled_from([20, 24, 28, 30, 40, 48, 60, 72, 100]), min_size=3, max_size=5),
    st.lists(st.integers(8, 30), min_size=1, max_size=3, unique=True),
    st.sampled_from([5, 40, 60]),
    st.integers(3, 1200),
    quick=20,
    slow=80,
)
def test_the_nearest_train_is_nearest_by_trying_every_one(teeth, circles, ratio, divisions):
    """Every gear set that clears, on every movement; the error after all divisions by a plain ratio."""
    found = differential.nearest_differentials(shop_of(teeth, circles, ratio), divisions, count=1)
    errors = [abs(answer.built_up_deg) for answer in found]
    least = naive.least_built_up(sorted(teeth), circles, Fraction(ratio), divisions)
    assert errors == ([] if least is None else [least])
    for answer in found:
        turned = answer.movement.crank_turns / (ratio - answer.plate_turns)
        assert answer.error_deg == 360 * (turned - Fraction(1, divisions))
        assert answer.built_up_deg == answer.error_deg * divisions


@drawn(
    st.lists(st.sampled_from([20, 24, 28, 30, 40, 48, 60, 72, 100]), min_size=3, max_size=5),
    st.lists(st.integers(8, 30), min_size=1, max_size=3, unique=True),
    st.integers(3, 1200),
    st.integers(1, 6),
    quick=8,
    slow=40,
)
def test_few_nearest_trains_are_the_first_of_all(teeth, circles, divisions, count):
    """With few asked for, a movement is given up once both its sides are past the last; with a thousand none is."""
    shop = shop_of(teeth, circles, 40)
    every = differential.nearest_differentials(shop, divisions, count=1000)
    assert len(every) < 1000
    assert differential.nearest_differentials(shop, divisions, count=count) == every[:count]


def test_127_divisions_are_found_with_the_shop_s_own_gears():
    answer = divided.of_divisions(CLASSIC, 127)
    assert answer.exact
    assert answer.rows()[0]["way"] == "differential"
    assert {"by-gears", "rule", "no-helix"} <= set(codes(answer))
    assert "error" not in cells(answer)[0]
    without = said(answer, "without-gears")
    assert "30 holes of the 49 circle, then 11 holes of the 37 circle back with the plate: 0.0070′" in without


def test_two_circles_that_are_exact_are_told_beside_the_gears():
    answer = divided.of_divisions(CLASSIC, 77)
    assert answer.rows()[0]["way"] == "differential"
    without = said(answer, "without-gears")
    assert "9 holes of the 21 circle, then 3 holes of the 33 circle on with the plate: exact" in without


def test_without_a_train_the_nearest_is_said_to_be_only_that():
    shop = replace(mill((20, 30)), dividing=CLASSIC.dividing)
    answer = divided.of_divisions(shop, 9973)
    assert not answer.exact
    assert codes(answer)[:3] == ["only-nearest", "no-train", "ask-nearest"]


def test_nearest_trains_are_told_with_what_builds_up_and_are_no_exact_way():
    answer = divided.of_divisions(CLASSIC, 1009, 3, nearest=True)
    assert not answer.exact
    assert [record["way"] for record in answer.rows()] == ["differential"] * 3
    assert all(record["built_up_minutes"] for record in answer.rows())
    assert all("after 1009" in row["error"] for row in cells(answer))
    assert codes(answer)[0] == "only-nearest"


def test_gears_that_would_be_exact_and_do_not_clear_are_no_exact_way():
    """97 on the 20 circle, 8 holes: x = 40 − 38.8 = 6/5, but 24/20 alone makes it, and there is no idler for it."""
    shop = shop_of((20, 24), (20,), 40)
    found = differential.differentials(shop, 97)
    assert [(answer.mounts, answer.why) for answer in found] == [
        ("no", "no gear is left over that could turn the plate the other way as an idler")
    ]
    answer = divided.of_divisions(shop, 97)
    assert not answer.exact
    assert codes(answer)[1] == "no-clearance"
    assert "24/20 with 8 holes of the 20 circle" in said(answer, "no-clearance")


def test_a_breach_of_the_rule_is_told_in_the_words_of_a_dividing_head():
    """71 on a 91 circle, 50 holes: x = 90/91, which only 12 and 15 over 13 and 14 make, all too small to clear."""
    answer = differential.differentials(shop_of((12, 13, 14, 15), (91,), 40), 71)[0]
    assert (answer.mounts, answer.plate_turns) == ("no", Fraction(90, 91))
    assert answer.why == (
        "by the rule of thumb the 13 on stud 1 fouls the plate: 12 + 14 = 26 is not more than 13 + 15 = 28"
    )


def test_no_reason_is_worded_with_the_names_of_the_machine_that_the_head_stands_on(monkeypatch):
    """Fixed gears, bores, idlers and the rule of thumb: whatever is said of a shaft, the head's own names are asked."""
    asked = []
    for name in ("shaft", "no_idler"):
        monkeypatch.setattr(Names, name, property(lambda _, name=name: asked.append(name)))
    kind = Kind(Fraction(3, 2))
    for gears in (
        GearSet(kind, (12, 13, 14, 15)),
        GearSet(kind, (20, 24)),
        GearSet(kind, (20, 30, 48), fixed={"last": 40}),
        GearSet(kind, (20, 24, 40), only_on={24: frozenset({"last"})}),
    ):
        shop = replace(shop_of((20,), (20, 91), 40), gears=(gears,))
        found = [each for n in (71, 97, 103) for each in differential.differentials(shop, n, count=1000)]
        assert all(each.why for each in found if each.mounts == "no")
    assert asked == []


def test_gears_that_cannot_stand_are_told_in_the_words_of_a_dividing_head():
    shop = shop_of((20, 24, 30), (20,), 40)
    bored = replace(shop, gears=(replace(shop.gears[0], only_on={24: frozenset({"last"})}),))
    (only,) = differential.differentials(bored, 97)
    assert (only.mounts, only.why) == ("no", "the 24 may not go on the spindle")
    bored = replace(shop, gears=(replace(shop.gears[0], only_on={20: frozenset({"first"})}),))
    (only,) = differential.differentials(bored, 97)
    assert (only.mounts, only.why) == ("no", "the 20 may not go on the plate")


def test_against_the_crank_a_simple_train_takes_two_idlers_or_says_that_one_is_missing():
    three, four = shop_of((20, 24, 30), (20,), 40), shop_of((20, 24, 30, 40), (20,), 40)
    assert differential.plate_turns(Fraction(40), 103, Movement(0, 8, 20)) == Fraction(-6, 5)
    assert [(str(answer.train), answer.mounts) for answer in differential.differentials(four, 103)] == [
        ("24/(30)/(40)/20", "rule")
    ]
    (only,) = differential.differentials(three, 103)
    assert (only.mounts, only.why) == ("no", "no gear is left over for the second idler")


def test_a_gear_stuck_on_the_table_screw_is_not_to_be_had_and_one_on_the_worm_shaft_is_always_there():
    kind = Kind(Fraction(3, 2))
    shop = shop_of((20, 24, 30, 40, 48), (15, 20), 40)
    stuck = replace(shop, gears=(GearSet(kind, (20, 24, 30), fixed={"first": 40}),))
    assert all(40 not in answer.train.drivers for answer in differential.differentials(stuck, 97, count=1000))
    on_worm = replace(shop, gears=(GearSet(kind, (20, 24, 30, 48), fixed={"last": 40}),))
    found = differential.differentials(on_worm, 97, count=1000)
    assert found
    assert {answer.train.driven[-1] for answer in found} == {40}


def test_a_gear_that_goes_on_no_stud_is_no_idler():
    shop = shop_of((20, 24, 30, 40), (20,), 40)
    bored = replace(shop, gears=(replace(shop.gears[0], only_on={30: frozenset({"last"})}),))
    assert [str(answer.train) for answer in differential.differentials(bored, 97)] == ["24/(40)/20"]
    assert "bores" in codes(divided.of_divisions(bored, 97))


def test_the_two_gears_of_a_joined_piece_do_not_stand_on_different_shafts():
    piece = GearSet(Kind(Fraction(3, 2)), (20, 24), joined=((30, 60),))
    shop = replace(mill((20,)), gears=(piece,), dividing=Dividing(Fraction(40), ((20,),)))
    for divisions in range(51, 150):
        for answer in differential.differentials(shop, divisions, count=1000):
            together = {30, 60} <= {teeth for _, teeth in answer.train.wheels}
            on_one_stud = len(answer.train.pairs) == 2 and {answer.train.driven[0], answer.train.drivers[1]} == {30, 60}
            assert answer.mounts == "no" or not together or on_one_stud


@pytest.mark.parametrize(
    ("ask", "message"),
    [
        (
            lambda: differential.differentials(CLASSIC, 127, pairs=(1, 3)),
            "a differential train cannot have 1 to 3 pairs\nhelp: give 1 or 2 pairs",
        ),
        (
            lambda: differential.differentials(CLASSIC, 127, count=1001),
            "1001 is no number of ways\nhelp: give a whole number from 1 to 1000",
        ),
        (
            lambda: differential.nearest_differentials(CLASSIC, 0),
            "0 is no number of divisions\nhelp: give a whole number from 1 to 100000",
        ),
        (
            lambda: differential.differentials(mill((20, 30)), 127),
            "Test shop has no dividing head\nhelp: add a [dividing] table to the shop file",
        ),
    ],
)
def test_what_cannot_be_geared_says_why(ask, message):
    with pytest.raises(GearsearchError) as caught:
        ask()
    assert str(caught.value) == message
