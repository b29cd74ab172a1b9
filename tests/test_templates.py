"""What is wrapped round the blank: the helix, the saw cut; against three dimensions."""

import math

import naive_templates as naive
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from strategies import drawn

from gearsearch.base.errors import GearsearchError
from gearsearch.output.drawing.templates import CLEAR_MM, Template

LEADS, DIAMETERS, LENGTHS = st.floats(20, 2000), st.floats(10, 200), st.floats(1, 300)
HANDS = pytest.mark.parametrize("hand", ["right", "left"])


@HANDS
def test_wrapped_round_the_blank_the_line_is_a_helix_of_the_hand(hand):
    (line,) = Template(400, hand, 60, 30).lines()
    assert naive.hand_of(naive.wrapped(*np.transpose(line), 60)) == hand


@given(LEADS, DIAMETERS, LENGTHS, st.integers(1, 6), st.sampled_from(["right", "left"]))
def test_the_lines_climb_the_whole_length_once_for_each_start(lead, diameter, length, starts, hand):
    template = Template(lead, hand, diameter, length, starts)
    lines = template.lines()
    climbed = sum(high[1] - low[1] for low, high in lines)
    assert climbed == pytest.approx(starts * length)
    for low, high in lines:
        assert abs(high[0] - low[0]) / template.around_mm == pytest.approx((high[1] - low[1]) / lead)
        assert min(low[0], high[0]) >= -1e-9
        assert max(low[0], high[0]) <= template.around_mm + 1e-9


@drawn(
    *(LEADS, DIAMETERS, LENGTHS, st.floats(0.3, 0.95), st.integers(1, 4), st.sampled_from(["right", "left"])),
    quick=8,
    slow=60,
)
def test_the_saw_cut_is_flat_clear_of_the_ramp_and_no_higher_than_it_must_be(lead, outer, length, share, starts, hand):
    template = Template(lead, hand, outer, length, starts, inner_mm=outer * share)
    cut = template.saw_cut()
    if cut is None:
        assert min(length / lead, 1 / starts) > 0.75
        return
    radii = outer / 2, outer * share / 2
    distance = naive.least_distance(cut.slope, cut.above_mm, lead, cut.arc, radii)
    assert CLEAR_MM - 1e-9 <= distance < CLEAR_MM + 1e-4 * lead
    assert cut.above_mm <= naive.lowest_plane(lead, cut.arc, radii, CLEAR_MM) + 1e-4 * lead
    for curve, all_around in zip(template.saw_curves(cut), template.saw_rounds(cut), strict=True):
        together = naive.wrapped(*np.transpose(curve + all_around), outer)
        assert naive.is_flat(together) < 1e-9 * max(outer, lead)


@pytest.mark.parametrize(("lead", "length"), [(120, 40), (600, 150)])
def test_a_steep_saw_cut_leaves_its_stock_in_true_distance_not_only_along_the_axis(lead, length):
    """Tube 36 by 60 mm. A millimetre along the axis would be 0.73 and 0.22 mm of stock here."""
    cut = Template(lead, "right", 60, length, inner_mm=36).saw_cut()
    assert naive.least_distance(cut.slope, cut.above_mm, lead, cut.arc, (30, 18)) == pytest.approx(1, abs=1e-3)


def test_the_saw_curve_rises_with_the_ramp_on_either_hand():
    for hand, side in (("right", 1), ("left", -1)):
        template = Template(120, hand, 60, 30, inner_mm=36)
        (curve,) = template.saw_curves(template.saw_cut())
        ((low, _), (high, _)) = template.lines()[0]
        assert (curve[-1][0] - curve[0][0]) * side > 0
        assert (low, high) == pytest.approx((curve[0][0], curve[-1][0]))


def test_the_angle_at_the_surface_is_the_lead_angle():
    assert Template(120, "right", 60, 30).rise == pytest.approx(120 / (60 * math.pi))


def test_no_flat_cut_is_offered_over_most_of_a_turn_or_without_a_wall():
    assert Template(40, "right", 60, 31, inner_mm=36).saw_cut() is None
    assert Template(40, "right", 60, 10).saw_cut() is None


@pytest.mark.parametrize(
    ("size", "message"),
    [
        (
            (400, 60, 2001),
            "a template of 188 mm around by 2001 mm along is too large to draw\nhelp: give at most 2000 mm either way",
        ),
        (
            (1, 60, 501),
            "a template of 501 turns of the helix cannot be drawn\nhelp: give a length of at most 500 turns",
        ),
    ],
)
def test_a_template_that_cannot_be_printed_says_why(size, message):
    lead, diameter, length = size
    with pytest.raises(GearsearchError) as caught:
        Template(lead, "right", diameter, length)
    assert str(caught.value) == message


@HANDS
@pytest.mark.parametrize("cut_lead", [395.0, 405.0])
def test_the_line_of_the_train_ends_beside_that_of_the_wanted_lead(hand, cut_lead):
    """Both lines are drawn alone and their upper ends held against each other."""
    wanted, cut = Template(400, hand, 60, 30), Template(cut_lead, hand, 60, 30)
    apart = cut.lines()[-1][1][0] - wanted.lines()[-1][1][0]
    assert Template(400, hand, 60, 30, cut_lead_mm=cut_lead).beside_mm == pytest.approx(apart)
    assert wanted.beside_mm == 0
