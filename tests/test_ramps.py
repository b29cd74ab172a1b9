"""Stepped ramps: every step from the exact total."""

from dataclasses import replace
from fractions import Fraction

import mpmath
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from gearsearch.base.errors import GearsearchError
from gearsearch.dividing import places, ramps
from gearsearch.dividing.at_hand import AtHand
from gearsearch.shop.head import Dividing
from gearsearch.shop.reader import demo_shop

SHOP = replace(demo_shop(), dividing=Dividing(Fraction(60), ((15, 16, 17), (21, 23))))


def on(circle):
    """The shop with one circle only."""
    return AtHand((circle,)).shop(SHOP)


@given(
    st.fractions(1, 500, max_denominator=100),
    st.fractions(Fraction(1, 10), 60, max_denominator=100),
    st.integers(1, 60),
    st.sampled_from([15, 16, 17, 21, 23]),
)
def test_no_rounding_builds_up(lead, angle, steps, circle):
    assume(60 * angle / 360 * circle >= 1)
    ramp = ramps.Ramp(lead, angle, steps)
    before = Fraction(0)
    for number, step in enumerate(ramps.table(on(circle), ramp), 1):
        assert step.number == number
        assert step.angle_deg == number * angle
        assert step.move_mm == lead * number * angle / 360
        assert step.crank_total.crank_turns - before == step.crank.crank_turns
        assert step.off_deg == step.crank_total.crank_turns * 6 - step.angle_deg
        assert abs(step.off_deg) <= Fraction(6, 2 * circle)
        before = step.crank_total.crank_turns


@given(st.fractions(Fraction(6, 23), 60, max_denominator=100), st.integers(1, 40))
def test_the_best_circle_has_the_least_greatest_error_then_the_fewest_holes(angle, steps):
    """No step is less than a space of the largest circle, so the pin never stays in its hole on the best one."""
    ramp = ramps.Ramp(Fraction(85), angle, steps)
    usable = [circle for circle in SHOP.dividing.circles if 60 * angle / 360 * circle >= 1]
    worst = {circle: max(abs(step.off_deg) for step in ramps.table(on(circle), ramp)) for circle in usable}
    best = places.best_circle(SHOP.dividing, angle, steps)
    steps_of_best = ramps.table(SHOP, ramp)
    assert steps_of_best == ramps.table(on(best), ramp)
    if best in usable:
        assert best == min(usable, key=lambda circle: (worst[circle], circle))
    else:
        assert max(abs(step.off_deg) for step in steps_of_best) <= min(worst.values())


def test_holes_that_change_from_step_to_step_are_pointed_out():
    even = ramps.table(SHOP, ramps.Ramp(Fraction(85), Fraction(6), 3))
    uneven = ramps.table(on(23), ramps.Ramp(Fraction(85), Fraction("5.8"), 12))
    assert list(ramps.changing_holes(even)) == []
    assert [note.code for note in ramps.changing_holes(uneven)] == ["changing-holes"]


def test_5_8_degrees_and_1_37_mm_belong_to_a_lead_of_about_85_mm():
    """Common practice, no source."""
    assert round(ramps.lead_of_steps(Fraction("1.37"), Fraction("5.8"))) == 85
    assert ramps.Ramp(ramps.lead_of_steps(Fraction("1.37"), Fraction("5.8")), Fraction("5.8"), 3).step_mm == Fraction(
        "1.37"
    )


@given(
    st.fractions(10, 200, max_denominator=10),
    st.fractions(5, 40, max_denominator=10),
    st.fractions(20, 100, max_denominator=10),
    st.fractions(0, 30, max_denominator=10),
)
def test_the_depth_of_an_undercut_tooth_closes_the_developed_triangle(lead, angle, diameter, face):
    """Back along the helix from the tip, face leaning under it: both meet at the root on the developed surface."""
    ramp = ramps.Ramp(lead, angle, 1)
    around = mpmath.pi * float(diameter) * float(angle) / 360
    lean = mpmath.tan(mpmath.radians(float(face)))
    if around <= 1.01 * float(ramp.step_mm) * lean:
        return
    depth = float(ramps.tooth_depth_mm(ramp, diameter, face))
    root = around + depth * lean
    assert abs(depth - root * float(ramp.step_mm) / around) < 1e-9 * depth


def test_a_straight_face_is_as_deep_as_the_step():
    ramp = ramps.Ramp(Fraction(120), Fraction(20), 3)
    assert ramps.tooth_depth_mm(ramp, Fraction(40), Fraction(0)) == ramp.step_mm
    assert ramps.tooth_depth_mm(ramp, Fraction(40), Fraction(15)) > ramp.step_mm
    assert ramps.tooth_depth_mm(ramp, Fraction(40), Fraction(-15)) < ramp.step_mm


def test_step_and_depth_are_told_apart():
    ramp, shop = ramps.Ramp(Fraction(120), Fraction(20), 3), demo_shop()
    step, depth = (note.text for note in ramps.notes(shop, ramp, Fraction(40), Fraction(15)))
    assert step == "each step moves 6.667 mm (0.2625 in) ALONG THE AXIS: lead 120.000 mm × 20.000° (20°00′00″) / 360°"
    assert depth == (
        "the DEPTH of a tooth with its face undercut by 15.000° (15°00′00″) is another number: "
        "8.959 mm (0.3527 in) at diameter 40.000 mm, 34.4 % more than the step"
    )
    leaning = list(ramps.notes(shop, ramp, Fraction(40), Fraction(-15)))[1].text
    assert "leaning back by 15.000° (15°00′00″)" in leaning
    assert leaning.endswith(" % less than the step")
    straight = list(ramps.notes(shop, ramp, Fraction(40), Fraction(0)))[1].text
    assert straight == "the DEPTH of a tooth with a straight face is the same as the step: 6.667 mm (0.2625 in)"
    assert list(ramps.notes(shop, ramp, None, None))[1].text == (
        "the DEPTH of an undercut tooth is a different figure: give --diameter and --undercut for it"
    )


def test_as_many_steps_as_just_fill_the_helix_are_taken():
    assert ramps.Ramp(Fraction(36), Fraction(10), 12, Fraction(12)).step_mm * 12 == 12


@pytest.mark.parametrize(
    ("ask", "message"),
    [
        (
            lambda: ramps.Ramp(Fraction(85), Fraction(5), 0),
            "0 is no number of steps\nhelp: give a whole number from 1 to 10000",
        ),
        (
            lambda: ramps.Ramp(Fraction(0), Fraction(5), 3),
            "a ramp cannot have a lead of 0 mm\nhelp: give a lead longer than zero",
        ),
        (
            lambda: ramps.Ramp(Fraction(85), Fraction(0), 3),
            "a step cannot be 0°\nhelp: give an angle above 0° and up to 360°",
        ),
        (
            lambda: ramps.Ramp(Fraction(85), Fraction(361), 3),
            "a step cannot be 361°\nhelp: give an angle above 0° and up to 360°",
        ),
        (
            lambda: ramps.Ramp(Fraction(85), Fraction(360), 2000),
            "2000 steps of 360° make 720000°, more than 1000 turns\nhelp: take fewer or smaller steps",
        ),
        (
            lambda: ramps.Ramp(Fraction(36), Fraction(10), 13, Fraction(12)),
            "13 steps of 1.000 mm (0.0394 in) overrun the helix: they take 13.000 mm (0.5118 in), and it is "
            "12.000 mm (0.4724 in) long\nhelp: at most 12 such steps fit",
        ),
        (
            lambda: ramps.step_of_total(Fraction(60), 0),
            "0 is no number of steps\nhelp: give a whole number from 1 to 10000",
        ),
        (
            lambda: ramps.lead_of_steps(Fraction(1), Fraction(0)),
            "a step cannot be 0°\nhelp: give an angle above 0° and up to 360°",
        ),
        (
            lambda: ramps.table(on(15), ramps.Ramp(Fraction(85), Fraction("0.1"), 3)),
            "step 1 would leave the pin in its hole: a step of 0.1° is 0.250 spaces of the 15 circle\n"
            "help: take larger steps, or a circle of more holes",
        ),
        (
            lambda: ramps.tooth_depth_mm(ramps.Ramp(Fraction(85), Fraction(5), 3), Fraction(0), Fraction(10)),
            "a tooth cannot be measured at a diameter of 0 mm\nhelp: give a diameter larger than zero",
        ),
        (
            lambda: on(99),
            "there is no circle of 99 holes\nhelp: circles of the head: 15, 16, 17, 21, 23",
        ),
        (
            lambda: ramps.tooth_depth_mm(ramps.Ramp(Fraction(85), Fraction(5), 3), Fraction(40), Fraction(60)),
            "a face cannot lean by 60°\nhelp: give an angle above -60° and below 60°",
        ),
        (
            lambda: ramps.tooth_depth_mm(ramps.Ramp(Fraction(850), Fraction(5), 3), Fraction(4), Fraction(50)),
            "a face undercut by 50° never meets the back of a tooth of this lead\n"
            "help: give a smaller face angle or a larger diameter",
        ),
    ],
)
def test_a_ramp_that_cannot_be_says_why(ask, message):
    with pytest.raises(GearsearchError) as caught:
        ask()
    assert str(caught.value) == message
