"""Stepped ramps: every step from the exact total."""

from dataclasses import replace
from fractions import Fraction

import mpmath
import pytest
from hypothesis import given
from hypothesis import strategies as st

from gearsearch import ramps
from gearsearch.errors import GearsearchError
from gearsearch.shop import Dividing
from gearsearch.shopfile import demo_shop

SHOP = replace(demo_shop(), dividing=Dividing(Fraction(60), ((15, 16, 17), (21, 23))))


@given(
    st.fractions(1, 500, max_denominator=100),
    st.fractions(Fraction(1, 10), 60, max_denominator=100),
    st.integers(1, 60),
    st.sampled_from([15, 16, 17, 21, 23]),
)
def test_no_rounding_builds_up(lead, angle, steps, circle):
    ramp = ramps.Ramp(lead, angle, steps)
    before = Fraction(0)
    for number, step in enumerate(ramps.table(SHOP, ramp, circle), 1):
        assert step.number == number
        assert step.angle_deg == number * angle
        assert step.move_mm == lead * number * angle / 360
        assert step.crank_total.crank_turns - before == step.crank.crank_turns
        assert step.off_deg == step.crank_total.crank_turns * 6 - step.angle_deg
        assert abs(step.off_deg) <= Fraction(6, 2 * circle)
        before = step.crank_total.crank_turns


def test_the_best_circle_has_the_least_greatest_error():
    ramp = ramps.Ramp(Fraction(85), Fraction(58, 10), 12)
    worst = {
        circle: max(abs(step.off_deg) for step in ramps.table(SHOP, ramp, circle)) for circle in SHOP.dividing.circles
    }
    assert worst[ramps.best_circle(SHOP, ramp)] == min(worst.values())


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


@pytest.mark.parametrize(
    ("ask", "message"),
    [
        (lambda: ramps.Ramp(Fraction(85), Fraction(5), 0), "0 steps\nhelp: give a whole number from 1 to 10000"),
        (lambda: ramps.Ramp(Fraction(85), Fraction(0), 3), "steps of 0°\nhelp: give an angle above 0°"),
        (
            lambda: ramps.Ramp(Fraction(85), Fraction(360), 2000),
            "2000 steps of 360° overrun the helix: 720000°\nhelp: give steps that stay within 1000 turns",
        ),
        (
            lambda: ramps.ramp_of_total(Fraction(85), 0, Fraction(60)),
            "0 steps\nhelp: give a whole number from 1 to 10000",
        ),
        (
            lambda: list(ramps.table(SHOP, ramps.Ramp(Fraction(85), Fraction(5), 3), 99)),
            "there is no circle of 99 holes\nhelp: circles of the head: 15, 16, 17, 21, 23",
        ),
        (
            lambda: ramps.tooth_depth_mm(ramps.Ramp(Fraction(85), Fraction(5), 3), Fraction(40), Fraction(60)),
            "a face angle of 60°\nhelp: give an angle above -60° and below 60°",
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
