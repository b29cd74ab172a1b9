"""Tolerances as intervals of leads, and what an error does to the part."""

from fractions import Fraction

import mpmath
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from gearsearch.errors import GearsearchError
from gearsearch.leads import from_gear
from gearsearch.tolerance import (
    Figures,
    Tolerance,
    error_in_words,
    helix_words,
    iso_class,
    iso_helix_slope_um,
    longest_cut_mm,
)

leads = st.fractions(1, 2000, max_denominator=1000)
small = st.fractions(Fraction(-1, 50), Fraction(1, 50), max_denominator=10**6).filter(bool)
lengths = st.fractions(1, 500, max_denominator=100)
diameters = st.fractions(5, 300, max_denominator=100)


@pytest.mark.parametrize(
    ("text", "low", "high"),
    [
        ("0.05 mm", "399.95", "400.05"),
        ("0.05", "399.95", "400.05"),
        ("±0.05mm", "399.95", "400.05"),
        ("+/-0.05 mm", "399.95", "400.05"),
        ("+0.1/-0 mm", "400", "400.1"),
        ("+0.1mm/-0.05mm", "399.95", "400.1"),
        ("0.01 in", "399.746", "400.254"),
        ("200 ppm", "399.92", "400.08"),
        ("0.1%", "399.6", "400.4"),
        ("0.1 percent", "399.6", "400.4"),
        ("+0.1/-0.05 %", "399.8", "400.4"),
        ("0.02 mm over 50 mm", "399.84", "400.16"),
        ("0.002in over 2in", "399.6", "400.4"),
        ("150 %", "0", "1000"),
    ],
)
def test_a_tolerance_is_an_exact_interval_of_leads(text, low, high):
    assert Tolerance.parse(text).interval(Fraction(400)) == (Fraction(low), Fraction(high))


def test_a_turn_over_a_length_reaches_farther_on_the_long_side():
    """36° over 100 mm of a lead of 400 mm, which turns 90° there: 126° are a lead of 2000/7, 54° one of 2000/3."""
    low, high = Tolerance.parse("36deg over 100mm").interval(Fraction(400))
    assert (low, high) == (Fraction(2000, 7), Fraction(2000, 3))
    assert high - 400 > 400 - low
    assert Tolerance.parse("90deg over 100mm").interval(Fraction(400))[1] == 400 * 10**9


@given(leads, lengths, st.fractions(Fraction(1, 1000), 5, max_denominator=1000))
def test_the_ends_of_a_turn_interval_turn_by_just_what_is_allowed(wanted, length, turn):
    assume(turn < 360 * length / wanted)
    low, high = Tolerance.parse(f"{turn}deg over {length}mm").interval(wanted)
    assert 360 * length * (1 / low - 1 / wanted) == turn
    assert 360 * length * (1 / wanted - 1 / high) == turn


@given(leads, diameters, st.fractions(Fraction(1, 1000), Fraction(1, 2), max_denominator=1000))
def test_the_ends_of_a_helix_angle_interval_have_just_the_allowed_angle(wanted, diameter, change):
    low, high = Tolerance.parse(f"{change}deg helix").interval(wanted, diameter)
    with mpmath.workdps(40):
        around = mpmath.pi * mpmath.mpf(diameter.numerator) / diameter.denominator

        def beta(lead):
            return mpmath.atan(around / (mpmath.mpf(lead.numerator) / lead.denominator)) * 180 / mpmath.pi

        allowed = mpmath.mpf(change.numerator) / change.denominator
        if low:
            assert abs(beta(low) - beta(wanted) - allowed) < 1e-10
        if high < wanted * 10**9:
            assert abs(beta(wanted) - beta(high) - allowed) < 1e-10


@given(leads, small, lengths, diameters)
def test_figures_follow_their_definitions_exactly(wanted, error, length, diameter):
    lead = wanted * (1 + error)
    figures = Figures(wanted, lead, length, diameter)
    assert figures.error == error
    assert figures.drift_mm == error * length
    assert figures.turn_deg == 360 * length / lead - 360 * length / wanted
    assert abs(figures.around_mm - figures.turn_deg / 360 * diameter * Fraction("3.14159265358979323846")) < 1e-12
    assert (figures.helix_deg > 0) == (error < 0)


def test_figures_need_their_lengths():
    figures = Figures(Fraction(400), Fraction(401))
    assert (figures.drift_mm, figures.turn_deg, figures.around_mm, figures.helix_deg) == (None, None, None, None)


@pytest.mark.parametrize(("angle", "degrees"), [(10, "0.10"), (20, "0.18"), (30, "0.25"), (45, "0.29")])
def test_one_percent_of_lead_in_degrees_of_helix_angle(angle, degrees):
    """Worked out by arithmetic elsewhere too: (e / 2) sin 2β, for 1 %; the exact form agrees to its two decimals."""
    wanted = from_gear(30, angle, module=2)
    change = Figures(wanted.lead_mm, wanted.lead_mm * Fraction(101, 100), diameter_mm=wanted.diameter_mm).helix_deg
    assert abs(abs(change) - Fraction(degrees)) < Fraction(6, 1000)
    assert change < 0


@pytest.mark.parametrize(("angle", "um"), [(10, "3.5"), (20, "7.3"), (30, "11.5"), (45, "20")])
def test_one_per_mille_of_lead_in_micrometres_over_20_mm_of_face(angle, um):
    """Worked out by arithmetic elsewhere too: F tan β e."""
    wanted = from_gear(30, angle, module=2)
    figures = Figures(wanted.lead_mm, wanted.lead_mm * Fraction(1001, 1000))
    slope = figures.helix_slope_um(wanted.gear.helix_angle_deg, Fraction(20))
    assert abs(slope - Fraction(um)) < Fraction(6, 100)


def test_a_drift_tolerance_tells_its_longest_cut():
    tolerance = Tolerance.parse("0.02 mm over 60 mm")
    assert longest_cut_mm(tolerance, Fraction(400), Fraction(4001, 10)) == 80
    assert longest_cut_mm(tolerance, Fraction(400), Fraction(400)) is None
    assert longest_cut_mm(Tolerance.parse("100 ppm"), Fraction(400), Fraction(401)) is None
    turn = Tolerance.parse("1deg over 100mm")
    length = longest_cut_mm(turn, Fraction(400), Fraction(401))
    assert Figures(Fraction(400), Fraction(401), length).turn_deg == -1


def test_one_sided_tolerances_keep_their_sides():
    tolerance = Tolerance.parse("+0.03/-0.01 mm over 60 mm")
    assert longest_cut_mm(tolerance, Fraction(400), Fraction(399)) == Fraction(1, 100) * 400
    assert longest_cut_mm(tolerance, Fraction(400), Fraction(401)) == Fraction(3, 100) * 400


def test_iso_1328_helix_slope_tolerance_and_class():
    """The formula is from memory; class 5 at d 50 mm, b 20 mm: 0.3536 + 1.5652 + 4 = 5.919, rounded to 6.0 µm."""
    assert iso_helix_slope_um(Fraction(50), Fraction(20), 5) == 6.0
    assert iso_helix_slope_um(Fraction(50), Fraction(20), 7) == 12
    assert iso_helix_slope_um(Fraction(50), Fraction(20), 1) == 1.5
    assert iso_class(Fraction(6), Fraction(50), Fraction(20)) == 5
    assert iso_class(Fraction(-6001, 1000), Fraction(50), Fraction(20)) == 6
    assert iso_class(Fraction(10000), Fraction(50), Fraction(20)) is None


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        ((Fraction(400), Fraction(400), Fraction(60), Fraction(50)), "exact"),
        ((Fraction(400), Fraction(401), Fraction(52)), "0.130 mm long over 52.0 mm"),
        ((Fraction(400), Fraction(399), Fraction(52)), "0.130 mm short over 52.0 mm"),
        ((Fraction(400), Fraction(401), Fraction(254, 10), None, "in"), "0.0025 in long over 1.000 in"),
        ((Fraction(400), Fraction(401), None, Fraction(50)), "helix angle 2.92′ smaller"),
        ((Fraction(400), Fraction(401)), ""),
    ],
)
def test_an_error_is_told_in_words_with_its_sign(arguments, words):
    assert error_in_words(*arguments) == words


def test_helix_words():
    assert helix_words(Fraction(0)) == "unchanged"
    assert helix_words(Fraction(1, 60000)) == "0.0010′ larger"


FORMS = "0.05mm, +0.1/-0mm, 200ppm, 0.1%, '0.02mm over 60mm', '0.1deg over 60mm' or '0.05deg helix'"


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", f"tolerance '' cannot be read\nhelp: write it as in {FORMS}"),
        ("tight", f"tolerance 'tight' cannot be read\nhelp: write it as in {FORMS}"),
        ("0", f"tolerance '0' is not above zero\nhelp: write it as in {FORMS}"),
        ("-0.1mm", f"tolerance '-0.1mm' is not above zero\nhelp: write it as in {FORMS}"),
        ("0 ppm", f"tolerance '0 ppm' is not a share above zero\nhelp: write it as in {FORMS}"),
        ("nan %", f"tolerance 'nan %' is not a share above zero\nhelp: write it as in {FORMS}"),
        (
            "0.05deg",
            "tolerance '0.05deg' is an angle, but of what\nhelp: write '0.1deg over 60mm' or '0.05deg helix'",
        ),
        ("0deg helix", f"tolerance '0deg helix' allows nothing\nhelp: write it as in {FORMS}"),
        ("+0/-0 mm", f"tolerance '+0/-0 mm' allows nothing\nhelp: write it as in {FORMS}"),
        ("-1deg helix", f"tolerance '-1deg' is below zero\nhelp: write it as in {FORMS}"),
        (
            "0.02 mm over nothing",
            "length of the tolerance 'nothing' cannot be read\n"
            "help: write it as in 412.5 mm, 3 3/8 in or 0.25 in (mm without a unit)",
        ),
    ],
)
def test_what_is_no_tolerance_says_what_would_be(text, message):
    with pytest.raises(GearsearchError) as caught:
        Tolerance.parse(text)
    assert str(caught.value) == message


def test_a_helix_angle_tolerance_needs_a_diameter():
    with pytest.raises(GearsearchError) as caught:
        Tolerance.parse("0.05deg helix").interval(Fraction(400))
    assert str(caught.value) == (
        "tolerance '0.05deg helix' is a helix angle, which means nothing without its diameter\n"
        "help: give it with --diameter"
    )


@given(st.text(max_size=60))
def test_no_text_gives_anything_but_a_tolerance_or_our_own_error(text):
    try:
        tolerance = Tolerance.parse(text)
    except GearsearchError:
        return
    assert tolerance.less > 0 or tolerance.more > 0
