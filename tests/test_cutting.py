"""The cut: offset, dish, swing, blank, feed; against three dimensions."""

import math
from fractions import Fraction

import naive_cutting as naive
import pytest
from hypothesis import given
from hypothesis import strategies as st
from strategies import drawn

from gearsearch.base.document import plain
from gearsearch.base.errors import GearsearchError
from gearsearch.base.units import PI
from gearsearch.sheet import cutting
from gearsearch.work.asking import part

WALL = cutting.EndRamp(120.0, 18.0, 30.0, 5.0, 24.0)


@pytest.mark.parametrize(("side", "spread"), [(1, "0.0743"), (0, "1.388"), (-1, "2.846")])
def test_the_dish_of_a_ramp_is_that_of_the_swept_cutter(side, spread):
    """Lead 120 mm, cutter radius 5 mm, wall 18 to 30 mm, true at 24: figures of a sweep made elsewhere."""
    ours = WALL.dish_mm(side * WALL.offset_mm)
    assert abs(ours - float(spread)) <= 0.5 * 10.0 ** -len(spread.partition(".")[2])
    assert abs(ours - naive.dish(120, 18, 30, 5, side * WALL.offset_mm)) < 1e-3


@drawn(st.floats(20, 120), st.floats(15, 30), st.floats(2, 12), st.floats(1, 6), quick=40, slow=200)
def test_the_right_side_is_truer_than_the_wrong_side(lead, inner, wall, cutter):
    """For ramps of up to about 50 degrees; on steeper ones neither side is true."""
    ramp = cutting.EndRamp(lead, inner, inner + wall, min(cutter, inner * 0.4), inner + wall / 2)
    assert ramp.dish_mm(ramp.offset_mm) < ramp.dish_mm(-ramp.offset_mm)


def test_a_half_inch_cutter_at_29_degrees_is_offset_about_three_millimetres():
    """Common practice, no source."""
    lead = 2 * math.pi * 20 * math.tan(math.radians(29))
    assert abs(cutting.EndRamp(lead, 15, 25, 6.35, 20).offset_mm - 3) < 0.1


@pytest.mark.parametrize("hand", ["right", "left"])
def test_the_cutter_is_offset_to_the_low_side_of_the_ramp(hand):
    assert cutting.offset_side(hand) == naive.low_side_seen_at_the_end(hand)
    assert cutting.offset_side(hand, "inner") != cutting.offset_side(hand)


@pytest.mark.parametrize("flank", ["end", "inner"])
@pytest.mark.parametrize("hand", ["right", "left"])
def test_the_offset_on_the_side_that_is_named_makes_the_small_dish(hand, flank):
    """In space: the end of the work at the right, so that its face is seen looking along -x, with the column right."""
    toward_column = {"right": 1, "left": -1}[cutting.offset_side(hand, flank)] * WALL.offset_mm
    small, none, large = (
        naive.dish_in_space(hand, flank, 120, 18, 30, 5, share * toward_column) for share in (1, 0, -1)
    )
    assert small == pytest.approx(0.0743, abs=1e-3)
    assert none == pytest.approx(1.388, abs=1e-3)
    assert large == pytest.approx(2.846, abs=1e-3)


@pytest.mark.parametrize(("side", "spread"), [(1, "0.0742"), (0, "1.363"), (-1, "2.684")])
def test_the_closed_form_is_only_an_estimate_of_the_dish(side, spread):
    """Its figures are those worked out elsewhere; the envelope, which is printed, is larger by up to 6 %."""
    estimate = naive.closed_form_dish(120, 18, 30, 5, side * WALL.offset_mm)
    assert abs(estimate - float(spread)) <= 0.5 * 10.0 ** -len(spread.partition(".")[2])
    assert estimate < WALL.dish_mm(side * WALL.offset_mm) < 1.07 * estimate


@pytest.mark.parametrize("hand", ["right", "left"])
def test_the_table_is_swung_so_that_the_groove_lies_along_the_cutter(hand):
    """Anticlockwise from above takes the right-hand end away from the operator."""
    swing = naive.swing_that_lines_the_groove_up(hand, 400, 25)
    assert abs(abs(swing) - math.degrees(math.atan(2 * math.pi * 25 / 400))) < 1e-6
    assert cutting.swing_side(hand).startswith("away from you" if swing > 0 else "toward you")


def test_the_figures_of_a_helical_gear():
    """23 teeth, module 2, 15°: d = 46 / cos 15°; the virtual teeth are 23 / cos³ 15°."""
    gear = part(teeth=23, helix_angle=15, gear_module=2).gear
    assert float(cutting.virtual_teeth(gear)) == pytest.approx(23 / math.cos(math.radians(15)) ** 3, rel=1e-14)
    assert float(cutting.blank_diameter_mm(gear)) == pytest.approx(46 / math.cos(math.radians(15)) + 4, rel=1e-14)
    assert cutting.tooth_depth_mm(gear) == Fraction(9, 2)


@pytest.mark.parametrize(
    ("teeth", "cutter"),
    [
        ("11.99", None),
        ("12", (12, 13)),
        ("13.9", (12, 13)),
        ("14", (14, 16)),
        ("25.5", (21, 25)),
        ("26", (26, 34)),
        ("134.9", (55, 134)),
        ("135", (135, None)),
        ("5000", (135, None)),
    ],
)
def test_a_tooth_count_between_two_cutters_takes_the_lower(teeth, cutter):
    assert cutting.cutter_range(Fraction(teeth)) == cutter


@given(st.integers(12, 100_000))
def test_every_whole_tooth_count_lies_in_the_range_of_its_cutter(teeth):
    low, high = cutting.cutter_range(Fraction(teeth))
    assert low <= teeth <= (high or 100_000)


@pytest.mark.parametrize(("teeth", "number"), [(12, 8), (26, 4), (34, 4), (35, 3), (134, 2), (135, 1), (2000, 1)])
def test_cutters_are_numbered_from_the_rack_down(teeth, number):
    """From memory."""
    assert cutting.cutter_number(cutting.cutter_range(Fraction(teeth))) == number


def test_in_one_turn_the_table_goes_the_geared_lead_and_the_cam_slides_along_the_cutter_what_does_not_rise():
    assert cutting.cam_feed_factor(Fraction(30), Fraction(50), Fraction(40) / PI) == pytest.approx(1)
    assert cutting.slide_mm(Fraction(30), Fraction(50)) == pytest.approx(40)


@given(st.integers(1, 40), st.integers(5, 200), st.integers(1, 90), st.integers(1, 8))
def test_the_cutter_s_edge_serves_the_cam_s_thickness_and_its_slide(thickness, geared, tilt, quarters):
    rise = geared * math.sin(math.radians(tilt))
    slide = cutting.slide_mm(Fraction(rise), Fraction(geared)) * quarters / 4
    needed = naive.cutter_length_for_a_cam(thickness, geared, tilt, quarters / 4)
    assert thickness + slide == pytest.approx(needed, abs=1e-5)


def test_a_tilt_set_wrong_changes_the_lead_by_the_difference_of_the_sines():
    """Brown & Sharpe 1914, p. 181: 17° instead of 17° 1′ on a geared lead of .67 in is a hair."""
    change = cutting.tilt_change_mm(Fraction("0.67"), Fraction(17) + Fraction(1, 60), Fraction(-1, 60))
    exact = 0.67 * (math.sin(math.radians(17)) - math.sin(math.radians(17 + 1 / 60)))
    assert float(change) == pytest.approx(exact, rel=1e-9)
    assert -0.0002 < change < -0.0001


def test_the_work_turns_once_in_a_lead():
    assert cutting.turn_deg(Fraction(825, 2), Fraction(825, 2)) == 360
    assert cutting.turn_deg(Fraction(120), Fraction(20)) == 60


@pytest.mark.parametrize(("lead", "factor"), [(10, "1.05"), (1, "3.3")])
def test_the_feed_along_the_groove(lead, factor):
    """Diameter 1, leads 10 and 1, in any unit: worked out by arithmetic elsewhere too."""
    value = cutting.feed_factor(Fraction(lead), Fraction(1))
    assert abs(value - float(factor)) <= 0.5 * 10.0 ** -len(factor.partition(".")[2])


@pytest.mark.parametrize(
    ("factor", "times", "share"),
    [
        (1.0743, "1.07", "93"),
        (1, "1.00", "100"),
        (536.12, "536.12", "0.19"),
        (15.2, "15.20", "6.6"),
        (0.0063, "0.0063", "15873"),
        (1e9, "1000000000.00", "0.00000010"),
    ],
)
def test_the_feed_is_told_with_two_digits_that_count_at_least(factor, times, share):
    words = plain(cutting.feed_words(factor, "groove"))
    assert words == (
        f"Set the table feed to {share} % of the cutter's feed: along the groove it goes {times} times as fast "
        "as the table."
    )


@pytest.mark.parametrize(("lead", "shift"), [(10, ".0016"), (1, ".016")])
def test_lost_motion_moves_the_groove(lead, shift):
    """.005 in of backlash at 1 in diameter: worked out by arithmetic elsewhere too."""
    moved = cutting.lost_motion_mm(Fraction(lead), Fraction(1), Fraction(5, 1000))
    assert abs(moved - Fraction(shift)) <= Fraction(1, 2 * 10 ** (len(shift) - 1))


def test_the_run_out_of_a_disc_cutter_closes_its_triangle():
    room = cutting.run_out_mm(Fraction(60), Fraction(5), Fraction(0))
    assert room**2 + 25**2 == pytest.approx(30**2)


@pytest.mark.parametrize(
    ("diameter", "cutter", "depth", "swing", "width", "swept"),
    [
        (50, 60, 5, "20.847", 8, "16.79"),
        (50, 60, 5, "20.847", 12, "17.63"),
        (100, 80, 4, "30", 14, "18.48"),
    ],
)
def test_the_room_of_a_wide_disc_cutter_is_that_of_a_sweep_or_little_more(diameter, cutter, depth, swing, width, swept):
    """Figures of a sweep made elsewhere too; a thin disc alone would need 16.583 and 17.436 mm, not swung."""
    found = naive.room_past_the_end(diameter, cutter, depth, float(swing), width)
    assert found == pytest.approx(float(swept), abs=0.02)
    ours = cutting.run_out_mm(Fraction(cutter), Fraction(depth), Fraction(swing), Fraction(width))
    assert found <= ours < found + 0.2


@drawn(
    *(st.integers(10, 300), st.integers(20, 200), st.integers(2, 49), st.integers(0, 75), st.integers(0, 40)),
    quick=40,
    slow=200,
)
def test_a_disc_cutter_of_any_width_is_clear_of_the_work_past_its_room(diameter, cutter, share, swing, width):
    """So are the words for a width that is not given: the thin cutter's room with the share of the width added."""
    depth = Fraction(cutter * share, 100)
    swept = naive.room_past_the_end(diameter, cutter, float(depth), swing, width)
    figures = Fraction(cutter), depth, Fraction(swing)
    assert swept <= cutting.run_out_mm(*figures, Fraction(width)) + 1e-9
    share_of_width = cutting.rounded_up(cutting.width_share(Fraction(swing)), Fraction(1, 100))
    assert swept <= cutting.run_out_mm(*figures) + share_of_width * width + 1e-9
    assert swept <= cutting.run_out_mm(Fraction(cutter), depth, None, Fraction(width)) + 1e-9


@pytest.mark.parametrize(
    ("make", "message"),
    [
        (
            lambda: cutting.EndRamp(120, 30, 18, 5, 24),
            "a tube cannot be 60 mm inside and 36 mm outside\n"
            "help: give the smaller diameter first, and both above zero, as in --wall 36mm 60mm",
        ),
        (
            lambda: cutting.EndRamp(120, 18, 30, 5, 40),
            "diameter 80 mm is not on the wall from 36 mm to 60 mm\nhelp: choose a diameter on the wall",
        ),
        (
            lambda: cutting.EndRamp(120, 18, 30, 18, 24),
            "an end mill of 36 mm does not go into a tube of 36 mm inside\nhelp: choose a cutter thinner than the bore",
        ),
        (
            lambda: cutting.run_out_mm(Fraction(60), Fraction(30), None),
            "a cutter of 60 mm cannot cut 30 mm deep\nhelp: give a depth below the cutter's radius",
        ),
    ],
)
def test_a_cut_that_cannot_be_says_why(make, message):
    with pytest.raises(GearsearchError) as caught:
        make()
    assert str(caught.value) == message
