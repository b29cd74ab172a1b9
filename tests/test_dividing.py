"""Dividing: index circles, angles, combined movements."""

from dataclasses import replace
from fractions import Fraction

import naive_dividing as naive
import pytest
from cells import cells, codes, said
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from refusals import refused
from shops import DEMO_TEETH, mill
from strategies import drawn

from gearsearch.base.errors import GearsearchError
from gearsearch.dividing import divided, ramps
from gearsearch.dividing import indexing as dividing
from gearsearch.dividing.indexing import Movement
from gearsearch.search.check import check
from gearsearch.sheet.page import Job, stops_of
from gearsearch.shop.head import Dividing
from gearsearch.shop.machine import Route
from gearsearch.shop.machines.lathe import Lathe
from gearsearch.shop.machines.mill import Mill
from gearsearch.shop.overview import overview
from gearsearch.shop.reader import demo_shop
from gearsearch.shop.shop import Shop
from gearsearch.shop.trains import Train
from gearsearch.work.asking import part

heads = st.builds(
    lambda ratio, plates: Dividing(Fraction(ratio), tuple(tuple(sorted(plate)) for plate in plates)),
    st.sampled_from([5, 40, 60, 72, 90]),
    st.lists(st.lists(st.integers(2, 40), min_size=1, max_size=4, unique=True), min_size=1, max_size=3),
)
turns = st.fractions(Fraction(1, 200), 20, max_denominator=500)


@given(heads, turns)
def test_exact_movements_are_those_of_the_naive_search_handiest_first(head, value):
    found = [(m.turns, m.holes, m.circle) for m in dividing.exact_movements(head, value)]
    assert sorted(found) == sorted(naive.exact(head.circles, value))
    assert [holes for _, holes, _ in found] == sorted(holes for _, holes, _ in found)


@given(heads, turns)
@settings(deadline=None)
def test_the_nearest_movement_is_nearest_by_trying_every_hole(head, value):
    nearest = dividing.nearest_movements(head, value)[0]
    assert abs(nearest.crank_turns - value) == naive.least_error(head.circles, value)


@given(st.integers(2, 60), turns)
def test_the_nearest_on_all_circles_is_what_fractions_calls_nearest(most, value):
    """With every circle from 2 to K holes: as near as the best fraction of a denominator up to K."""
    assume(value >= Fraction(1, most))
    head = Dividing(Fraction(40), (tuple(range(2, most + 1)),))
    nearest = dividing.nearest_movements(head, value)[0]
    assert abs(nearest.crank_turns - value) == abs(value.limit_denominator(most) - value)


@given(heads, turns)
def test_nearest_movements_stand_in_their_order_one_for_each_circle(head, value):
    found = dividing.nearest_movements(head, value)
    keys = [(abs(movement.crank_turns - value), movement.holes, -movement.circle) for movement in found]
    assert keys == sorted(keys)
    assert {movement.circle for movement in found if movement.circle} <= set(head.circles)
    assert all(movement.crank_turns > 0 for movement in found)


@given(heads, turns, st.integers(1, 40))
def test_a_limit_of_ways_is_the_first_of_the_full_list(head, value, count):
    assert dividing.spacings(head, value, 1, count) == dividing.spacings(head, value, 1, 1000)[:count]


@drawn(heads, st.fractions(Fraction(1, 50), 3, max_denominator=100), quick=8, slow=50)
def test_the_nearest_combined_movement_is_nearest_by_trying_every_two(head, value):
    spacing = dividing.nearest_combined(head, value, 1)
    if max(len(side) for side in head.plates) < 2:
        assert spacing is None
    elif spacing is not None:
        assert abs(spacing.step.crank_turns - value) == naive.least_combined_error(head.plates, value)


@given(heads, turns, st.integers(1, 500))
def test_error_builds_up_by_as_many_spaces(head, value, repeats):
    for spacing in dividing.spacings(head, value, repeats):
        assert spacing.error_deg == (spacing.step.crank_turns - value) * 360 / head.ratio
        assert spacing.built_up_deg == repeats * spacing.error_deg
        assert spacing.exact == (spacing.error_deg == 0)


def test_the_arms_span_the_pin_s_own_hole_too():
    assert Movement(6, 26, 39).sector == 27
    assert str(Movement(6, 26, 39)) == "6 turns and 26 holes of the 39 circle"
    assert str(Movement(1, 1, 18)) == "1 turn and 1 hole of the 18 circle"
    assert str(Movement(5)) == "5 turns"
    assert Movement(5).sector == 0


def test_one_division_is_the_whole_turn():
    answer = divided.of_divisions(demo_shop(), 1)
    assert (answer.exact, cells(answer)[0]["turn the crank"]) == (True, "60 turns")


def test_an_error_that_is_not_zero_is_never_printed_as_zero():
    assert dividing.error_words(Fraction(0), 5) == "exact"
    assert dividing.error_words(Fraction(1, 60), 1) == "1.000′ too far"
    assert dividing.error_words(Fraction(-1, 60), 3) == "1.000′ too short each time, 0.050° (0°03′00″) after 3"
    assert dividing.error_words(Fraction(1, 60 * 10**7), 1) == "0.00000010′ too far"


def test_two_circles_that_are_exact_come_before_one_that_is_not():
    answer = divided.of_angle(demo_shop(), Fraction(35, 2), 5)
    assert answer.exact
    assert [record["way"] for record in answer.rows()] == ["combined", *["plain"] * 5]
    assert answer.rows()[0]["second_back"] is True
    assert cells(answer)[0]["arms span"] == "2 and 3 holes"
    assert codes(answer)[:2] == ["two-circles", "combined"]


@pytest.mark.parametrize("divisions", [1009, 9973])
def test_where_nothing_is_exact_the_way_that_ends_nearest_comes_first(divisions):
    """1009 on one circle ends 3.9° short, on two 0.0033° too far."""
    answer = divided.of_divisions(demo_shop(), divisions)
    assert not answer.exact
    assert [record["way"] for record in answer.rows()] == ["combined", *["plain"] * 5]
    errors = [abs(way.built_up_deg) for way in answer.ways]
    assert errors == sorted(errors)
    assert answer.ways[0].built_up_deg == divisions * answer.ways[0].error_deg


plain_heads = st.builds(lambda head: replace(head, differential=False), heads)


@given(plain_heads, st.integers(2, 400))
@settings(deadline=None, max_examples=25)
def test_a_head_that_takes_no_gears_gets_none_and_an_exact_two_circles_first(head, divisions):
    shop = replace(demo_shop(), dividing=head)
    answer, turns_each = divided.of_divisions(shop, divisions), head.ratio / divisions
    assert all(isinstance(way, dividing.Spacing) for way in answer.ways)
    if naive.exact(head.circles, turns_each):
        assert "no-differential" not in codes(answer)
        assert answer.rows()[0]["way"] == "plain"
    elif max(map(len, head.plates)) > 1 and naive.least_combined_error(head.plates, turns_each) == 0:
        assert answer.rows()[0]["way"] == "combined"
        assert answer.rows()[0]["exact"]
    else:
        assert "no-differential" in codes(answer)
    assert answer.exact == answer.rows()[0]["exact"]


def test_a_head_that_takes_no_gears_is_not_asked_for_the_nearest_train():
    shop = replace(demo_shop(), dividing=replace(demo_shop().dividing, differential=False))
    with refused("refused", "differential = false"):
        divided.of_divisions(shop, 127, nearest=True)
    with refused("refused", "'no'"):
        replace(demo_shop().dividing, differential="no")


def test_the_circle_that_would_be_exact_is_named_where_none_is():
    """17½° are 2 11/12 turns, 1009 divisions 60/1009 of a turn; no plate has 1009 holes."""
    assert "circle of 12 holes" in said(divided.of_angle(demo_shop(), Fraction(35, 2)), "circle-needed")
    assert "circle of 131 holes" in said(divided.of_divisions(head_of_15(), 131), "circle-needed")
    assert "circle-needed" not in codes(divided.of_divisions(demo_shop(), 1009))
    assert "circle-needed" not in codes(divided.of_divisions(demo_shop(), 42))


def head_of_15():
    return replace(demo_shop(), gears=mill((20, 21)).gears, dividing=Dividing(Fraction(60), ((15,),)))


def test_starts_while_geared_are_indexed_plainly_or_by_teeth():
    shop = demo_shop()
    assert cells(divided.while_geared(shop, 3, "worm", None))[0]["turn the crank"] == "20 turns"
    by_teeth = divided.while_geared(shop, 9, "spindle", Train.parse("24/72"))
    told = {key: value for key, value in by_teeth.rows()[0].items() if value is not None}
    assert (told["way"], told["last_gear"], told["advance_teeth"], told["exact"]) == ("teeth", 72, 8, True)
    assert cells(divided.while_geared(shop, 72, "spindle", Train.parse("24/72")))[0]["advance"] == "1 tooth"


def test_starts_by_the_teeth_need_no_dividing_head():
    machine = Mill(Fraction(6), (Route("spindle", Fraction(1), "left"),))
    shop = Shop("Test shop", "mm", machine, mill(DEMO_TEETH).gears)
    assert divided.while_geared(shop, 9, "spindle", Train.parse("24/72")).exact


def test_a_route_that_is_not_the_head_s_own_ratio_is_pointed_out():
    machine = Mill(Fraction(6), (Route("bevels", Fraction(120), "left"),))
    shop = Shop("Test shop", "mm", machine, mill(DEMO_TEETH).gears, dividing=demo_shop().dividing)
    doubt = "!! route bevels turns the work 120:1 and [dividing] says 60:1"
    assert divided.while_geared(shop, 3, "bevels", None).heading[1].startswith(doubt)
    machine = replace(machine, routes=(*machine.routes, Route("worm", Fraction(60), "left")))
    answer = divided.while_geared(replace(shop, machine=machine), 3, "bevels", None)
    assert "120:1 is not the head's: see that the crank turns the work 60:1" in said(answer, "other-ratio")
    assert "!!" not in answer.heading[1]


def lathe():
    """A lathe with a dividing head in its shop."""
    machine = Lathe(Fraction(3), (Route("lead screw", Fraction(1), "right"),))
    return Shop("Test shop", "mm", machine, mill(DEMO_TEETH).gears, dividing=demo_shop().dividing)


@pytest.mark.parametrize(
    ("ask", "message"),
    [
        (
            lambda shop: divided.of_divisions(shop, 0),
            "0 is no number of divisions\nhelp: give a whole number from 1 to 100000",
        ),
        (
            lambda shop: divided.of_divisions(shop, -3),
            "-3 is no number of divisions\nhelp: give a whole number from 1 to 100000",
        ),
        (
            lambda shop: divided.of_divisions(shop, 7.5),
            "7.5 is no number of divisions\nhelp: give a whole number from 1 to 100000",
        ),
        (
            lambda shop: divided.of_divisions(shop, 100_001),
            "100001 is no number of divisions\nhelp: give a whole number from 1 to 100000",
        ),
        (
            lambda shop: divided.of_divisions(shop, 7, 0),
            "0 is no number of ways\nhelp: give a whole number from 1 to 1000",
        ),
        (
            lambda shop: divided.of_angle(shop, Fraction(0)),
            "a space of 0° cannot be set off on the work\nhelp: give an angle above 0° and up to 360°",
        ),
        (
            lambda shop: divided.of_angle(shop, Fraction(-5)),
            "a space of -5° cannot be set off on the work\nhelp: give an angle above 0° and up to 360°",
        ),
        (
            lambda shop: divided.of_angle(shop, Fraction(3601, 10)),
            "a space of 360.1° cannot be set off on the work\nhelp: give an angle above 0° and up to 360°",
        ),
        (
            lambda shop: divided.of_angle(shop, Fraction(5), 0),
            "0 is no number of repeats\nhelp: give a whole number from 1 to 100000",
        ),
        (
            lambda shop: divided.while_geared(shop, 127, "worm", None),
            "no circle of this head divides 127, and a head geared for a helix cannot be geared differentially too\n"
            "help: a circle of 127 holes, or of a multiple, would be exact; the nearest here is 9 holes of the 19 "
            "circle: 0.448′ too far each time, 0.947° (0°56′51″) after 127; gearsearch divide 127 --table: counted "
            "from the exact total, no place is more than 3.64′ off",
        ),
        (
            lambda shop: divided.while_geared(shop, 5, "spindle", Train.parse("24/72")),
            "5 starts cannot be indexed by the 72 teeth of the last gear of 24/72\n"
            "help: take a last gear whose count is a multiple of 5: 20 or 30 or 40 or 60 or 80 or 100; "
            "72 teeth index 2, 3, 4, 6, 8, 9, 12, 18, 24, 36, 72",
        ),
        (
            lambda shop: divided.while_geared(shop, 5, "spindle", Train.parse("24/127")),
            "5 starts cannot be indexed by the 127 teeth of the last gear of 24/127\n"
            "help: take a last gear whose count is a multiple of 5: 20 or 30 or 40 or 60 or 80 or 100; "
            "127 teeth index 127",
        ),
        (
            lambda shop: divided.while_geared(shop, 0, "spindle", Train.parse("24/72")),
            "0 is no number of starts\nhelp: give a whole number from 1 to 100000",
        ),
        (
            lambda shop: divided.while_geared(shop, 3, "spindle", None),
            "by the route spindle the starts are indexed by the teeth of the last gear, and no train is given\n"
            "help: give it with --train, as in --train 72/24",
        ),
        (
            lambda _shop: divided.while_geared(lathe(), 3, "lead screw", Train.parse("24/72")),
            "Test shop is a lathe, and its starts are not indexed by a dividing head\n"
            "help: advance the first driver by its teeth × its turns for one of the spindle / starts, "
            "here × 1 / 3, with the train out of mesh",
        ),
        (
            lambda _shop: divided.of_divisions(mill((20, 30)), 7),
            "Test shop has no dividing head\nhelp: add a [dividing] table to the shop file",
        ),
    ],
)
def test_what_cannot_be_divided_says_why(ask, message):
    with pytest.raises(GearsearchError) as caught:
        ask(demo_shop())
    assert str(caught.value) == message


@pytest.mark.parametrize(("ratio", "starts", "advance"), [(2, 8, 6), (2, 48, 1), (Fraction(1, 2), 4, 3), (1, 8, 3)])
def test_on_a_geared_route_without_the_worm_the_last_gear_goes_on_by_as_many_teeth_as_its_turns_ask(
    ratio, starts, advance
):
    """By hand: 24 × ratio / starts."""
    shop = demo_shop()
    routes = (*shop.machine.routes, Route("direct by gears", Fraction(ratio), "right"))
    shop = replace(shop, machine=replace(shop.machine, routes=routes))
    answer = divided.while_geared(shop, starts, "direct by gears", Train.parse("72/24"))
    assert cells(answer)[0]["advance"] == f"{advance} {'tooth' if advance == 1 else 'teeth'}"
    with refused("refused", "7 starts", "24 teeth"):
        divided.while_geared(shop, 7, "direct by gears", Train.parse("72/24"))


def test_what_divide_answers_are_objects_with_exact_figures_too():
    shop = demo_shop()
    near = divided.of_angle(shop, Fraction(35, 2), 5)
    assert all(isinstance(way, dividing.Spacing) for way in near.ways)
    assert [way.error_deg == 0 for way in near.ways] == [record["exact"] for record in near.rows()]
    (by_teeth,) = divided.while_geared(shop, 9, "spindle", Train.parse("24/72")).ways
    assert (by_teeth.last_gear, by_teeth.advance, by_teeth.opening.gear) == (72, 8, 72)
    steps = divided.of_ramp(shop, ramps.Ramp(Fraction(85), Fraction("3.6"), 10)).ways
    assert [step.angle_deg for step in steps] == [Fraction(18, 5) * number for number in range(1, 11)]


def test_two_ratios_of_one_head_are_told_first_wherever_they_count():
    """A route through the worm that is not the head's own ratio: one of the two may be a slip of the pen."""
    shop = demo_shop()
    worm = replace(shop.route("worm"), ratio=Fraction(40))
    odd = replace(shop, machine=replace(shop.machine, routes=(worm, shop.route("spindle"))))
    doubt = "route worm turns the work 40:1 and [dividing] says 60:1: unless other gears stand between"
    assert divided.of_divisions(odd, 7).heading[1].startswith(f"!! {doubt}")
    assert divided.of_divisions(shop, 7).heading[1].startswith("dividing head 60:1")
    assert any(warning.text.startswith(doubt) for warning in overview(odd).warnings)
    assert "two-ratios" not in {warning.code for warning in overview(shop).warnings}
    checked = check(odd, Train.parse("72/(56)/32"), part(lead="80", starts=7))
    assert stops_of(Job(checked))[-1].text.startswith(f"TWO RATIOS OF ONE HEAD: {doubt}")
    assert odd.machine.ratio_doubt(odd.route("spindle"), odd.dividing) == ""
