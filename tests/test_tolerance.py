"""Tolerances as intervals of leads, and what an error does to the part."""

import re
from dataclasses import replace
from fractions import Fraction

import mpmath
import naive_tolerance as naive
import pytest
from hypothesis import assume, example, given
from hypothesis import strategies as st
from strategies import drawn

from gearsearch.base.errors import GearsearchError
from gearsearch.base.units import INCH_MM, PI, format_ppm, parse_length
from gearsearch.work.accuracy import ISO_COVERS, iso_class, iso_covers, iso_helix_slope_um
from gearsearch.work.asking import part
from gearsearch.work.figures import Figures, error_in_words, helix_words, longest_cut_mm
from gearsearch.work.helix import HelicalGear
from gearsearch.work.tolerance import DOUBTFUL, HOPELESS, NO_END, TOLERANCES, Tolerance, open_ended, spellings

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
        ("+0.01in/-0.05mm", "399.95", "400.254"),
        ("-0/+0.1 mm", "400", "400.1"),
        ("+0.1 −0.05 mm", "399.95", "400.1"),
        ("+0.1mm -0", "400", "400.1"),
        ("+1/64/-1/32 in", "399.20625", "400.396875"),
        ("0.01 in", "399.746", "400.254"),
        ("200 ppm", "399.92", "400.08"),
        ("0.1%", "399.6", "400.4"),
        ("0.1 percent", "399.6", "400.4"),
        ("+0.1/-0.05 %", "399.8", "400.4"),
        ("0.02 mm over 50 mm", "399.84", "400.16"),
        ("0.002in over 2in", "399.6", "400.4"),
        (" 0.002 in over 2 in ", "399.6", "400.4"),
        ("0.02 mm in 50 mm", "399.84", "400.16"),
        ("+0.02/-0.01 mm over 50 mm", "399.92", "400.16"),
        ("+0.01 in -0.02 in", "399.492", "400.254"),
        ("+0.01 in / -0.02 in", "399.492", "400.254"),
        ("+0.01 in. / -0.02 in.", "399.492", "400.254"),
        ("±0.01 in", "399.746", "400.254"),
        ("0.002 in in 2 in", "399.6", "400.4"),
        ("0.002 in. in 2 in.", "399.6", "400.4"),
        ('0.002" in 2"', "399.6", "400.4"),
        ("+0.002 in -0.001 in in 2 in", "399.8", "400.4"),
        ("0.02mm in .05 m", "399.84", "400.16"),
        ("0.02mm in 5", "398.4", "401.6"),
        ("1/64 in", "399.603125", "400.396875"),
        ("½ mm", "399.5", "400.5"),
        ("1/100 over 1", "396", "404"),
        ("0.5mm/m", "399.8", "400.2"),
        ("49.99 %", "200.04", "599.96"),
        ("199.9 mm", "200.1", "599.9"),
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


def test_the_sides_of_an_angle_are_those_of_the_angle():
    """A larger helix angle, and a work that turns more, have the shorter lead: plus is on the short side."""
    low, high = Tolerance.parse("+0.1/-0 deg helix").interval(Fraction(400), Fraction(50))
    assert low < 400 == high
    low, high = Tolerance.parse("+0/-0.1 deg helix").interval(Fraction(400), Fraction(50))
    assert low == 400 < high
    assert Tolerance.parse("+36/-0deg over 100mm").interval(Fraction(400)) == (Fraction(2000, 7), 400)
    assert Tolerance.parse("+0/-36deg over 100mm").interval(Fraction(400)) == (400, Fraction(2000, 3))


@pytest.mark.parametrize(
    ("text", "degrees"),
    [
        ("6' over 60mm", Fraction(1, 10)),
        ("0°6′ over 60mm", Fraction(1, 10)),
        ("0°0′30″ over 60mm", Fraction(1, 120)),
        ("0d0m30s over 60mm", Fraction(1, 120)),
        ("30 sec over 60mm", Fraction(1, 120)),
        ("0.1 degrees per 60mm", Fraction(1, 10)),
        ("2' helix", Fraction(1, 30)),
        ("0.05° helix angle", Fraction(1, 20)),
    ],
)
def test_an_angle_may_be_in_degrees_minutes_and_seconds(text, degrees):
    tolerance = Tolerance.parse(text)
    assert tolerance.form == ("helix" if "helix" in text else "turn")
    assert (tolerance.less, tolerance.more) == (degrees, degrees)


def test_inch_marks_are_no_seconds():
    assert Tolerance.parse('0.001" over 2"') == Tolerance(
        "drift", Fraction(127, 5000), Fraction(127, 5000), Fraction(254, 5), '0.001" over 2"'
    )
    assert Tolerance.parse("0.001'' over 2''").less == Fraction(127, 5000)


def test_a_distance_around_is_a_turn_at_its_diameter():
    tolerance = Tolerance.parse("+0.2/-0.1 mm around over 60 mm")
    turn = Tolerance("turn", Fraction(36) / (PI * 50), Fraction(72) / (PI * 50), Fraction(60))
    assert tolerance.form == "around"
    assert tolerance.interval(Fraction(400), Fraction(50)) == turn.interval(Fraction(400))


sides = st.fractions(0, 1, max_denominator=1000)
tolerances = st.one_of(
    st.builds(Tolerance, st.just(name), sides, sides, lengths if form.grows else st.none())
    for name, form in TOLERANCES.items()
).filter(lambda given: given.less or given.more)
ROUNDED = ("around", "helix")  # π and the functions of angles are rounded


@given(tolerances, leads, st.fractions(Fraction(1, 2), 2, max_denominator=10**5), diameters)
@example(Tolerance("turn", Fraction(0), Fraction(1), Fraction(60)), Fraction(400), Fraction(399, 400), Fraction(50))
@example(Tolerance("helix", Fraction(1, 10), Fraction(0)), Fraction(400), Fraction(401, 400), Fraction(50))
@example(Tolerance("around", Fraction(1), Fraction(0), Fraction(60)), Fraction(400), Fraction(401, 400), Fraction(50))
def test_a_lead_is_inside_just_where_the_obvious_way_says_so(tolerance, wanted, share, diameter):
    lead = wanted * share
    room = naive.room(tolerance, wanted, lead, diameter)
    assume(lead == wanted or tolerance.form not in ROUNDED or abs(room) > 1e-9)
    assume(tolerance.form != "lead" or max(tolerance.less, tolerance.more) < wanted / 2)
    low, high = tolerance.interval(wanted, diameter)
    assert low <= wanted <= high
    assert (low <= lead <= high) == (room >= 0)


def test_a_form_that_is_none_gives_no_interval():
    """An unknown form must not be taken for a share, by any of the calls that go by the form."""
    with pytest.raises(GearsearchError, match="form of tolerance 'trun' is not known"):
        Tolerance("trun", Fraction(1, 10), Fraction(1, 10), Fraction(60))


@pytest.mark.parametrize("form", sorted(TOLERANCES))
def test_a_tolerance_belongs_to_a_length_just_where_it_grows_with_one(form):
    grows = form in ("drift", "turn", "around")
    right, wrong = (Fraction(60), None) if grows else (None, Fraction(60))
    assert Tolerance(form, Fraction(1, 10), Fraction(1, 10), right).grows is grows
    with pytest.raises(GearsearchError, match=f"of the form {form} "):
        Tolerance(form, Fraction(1, 10), Fraction(1, 10), wrong)


@drawn(tolerances.filter(lambda given: given.grows), leads, small, diameters, quick=30, slow=100)
def test_the_longest_cut_uses_up_what_the_tolerance_allows(tolerance, wanted, error, diameter):
    lead = wanted * (1 + error)
    longest = longest_cut_mm(tolerance, wanted, lead, diameter)
    off = naive.measured(tolerance.form, longest, wanted, lead, diameter)
    allowed = tolerance.more if off > 0 else -tolerance.less if off < 0 else 0
    assert abs(off - allowed) < 1e-30
    assert longest or 0 in (tolerance.less, tolerance.more)


@given(leads, small, lengths, diameters)
def test_figures_are_those_of_the_obvious_way(wanted, error, length, diameter):
    lead = wanted * (1 + error)
    figures = Figures(wanted, lead, length, diameter)
    assert figures.drift_mm == naive.off_along(wanted, lead, length)
    assert figures.turn_deg == naive.off_in_degrees(wanted, lead, length)
    assert abs(figures.around_mm - naive.off_around(wanted, lead, length, diameter)) < 1e-30
    helix = naive.off_in_helix(wanted, lead, diameter)
    assert abs(figures.helix_deg - helix) < abs(helix) * Fraction(1, 10**14)


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
    wanted = part(teeth=30, helix_angle=angle, gear_module=2)
    change = Figures(wanted.lead_mm, wanted.lead_mm * Fraction(101, 100), diameter_mm=wanted.diameter_mm).helix_deg
    assert abs(abs(change) - Fraction(degrees)) < Fraction(6, 1000)
    assert change < 0


@pytest.mark.parametrize(("angle", "um"), [(10, "3.5"), (20, "7.3"), (30, "11.5"), (45, "20")])
def test_one_per_mille_of_lead_in_micrometres_over_20_mm_of_face(angle, um):
    """Worked out by arithmetic elsewhere too: F tan β e."""
    wanted = part(teeth=30, helix_angle=angle, gear_module=2)
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
    turn = Tolerance.parse("+1/-0deg over 100mm")
    assert longest_cut_mm(turn, Fraction(400), Fraction(401)) == 0
    assert Figures(Fraction(400), Fraction(399), longest_cut_mm(turn, Fraction(400), Fraction(399))).turn_deg == 1


def test_an_interval_without_end_says_so_by_its_bound():
    assert Tolerance.parse("5deg helix").interval(Fraction(4000), Fraction(50))[1] == 4000 * NO_END
    assert Tolerance.parse("90.0000000001deg over 100mm").interval(Fraction(400))[1] == 400 * NO_END
    assert Tolerance.parse("89.999999999999999deg over 100mm").interval(Fraction(400))[1] == 400 * NO_END
    assert Tolerance("helix", Fraction(80), Fraction(80)).interval(Fraction(40), Fraction(50))[0] == 0


@pytest.mark.parametrize(
    ("cut", "wanted", "error"),
    [
        (Fraction(80, 63), "1.27", "-125.0 ppm"),
        (Fraction(47, 37), "1.27", "+212.8 ppm"),
        (Fraction(22, 7), PI, "+402.5 ppm"),
        (Fraction(355, 113), PI, "+0.085 ppm"),
        ("0.2617", "0.261", "+0.268 %"),
    ],
)
def test_errors_of_well_known_near_misses(cut, wanted, error):
    """Common practice, no source; each worked out by arithmetic elsewhere too."""
    assert format_ppm(Figures(Fraction(wanted), Fraction(cut)).error) == error


def test_pitches_of_1_27_mm_and_14_11_mm_slip_one_thread_in_23_33_inches():
    """Worked out by arithmetic elsewhere too: 1 / (1/1.27 − 11/14) = 592.67 mm."""
    length = longest_cut_mm(
        Tolerance("turn", Fraction(360), Fraction(360), Fraction(100)), Fraction("1.27"), Fraction(14, 11)
    )
    assert length == Fraction(1778, 3)
    assert abs(length / Fraction("25.4") - Fraction("23.33")) <= Fraction(5, 1000)


@given(leads, small, lengths, diameters)
def test_a_tooth_ends_aside_along_its_pitch_circle_by_its_slope(wanted, error, face, diameter):
    figures = Figures(wanted, wanted * (1 + error))
    slope = naive.slope_um(wanted, figures.lead_mm, face, diameter)
    assert abs(figures.helix_slope_um(naive.helix(wanted, diameter), face) - slope) < abs(slope) * Fraction(1, 10**14)


def test_iso_1328_helix_slope_tolerance_and_class():
    """The formula is from memory; class 5 at d 50 mm, b 20 mm: 0.3536 + 1.5652 + 4 = 5.919, rounded to 6.0 µm."""
    assert iso_helix_slope_um(Fraction(50), Fraction(20), 5) == 6.0
    assert iso_helix_slope_um(Fraction(50), Fraction(20), 7) == 12
    assert iso_helix_slope_um(Fraction(50), Fraction(20), 1) == 1.5
    assert iso_class(Fraction(6), Fraction(50), Fraction(20)) == 5
    assert iso_class(Fraction(-6001, 1000), Fraction(50), Fraction(20)) == 6
    assert iso_class(Fraction(10000), Fraction(50), Fraction(20)) is None
    assert iso_helix_slope_um(Fraction(50), Fraction(20), 6) == 8.5


@pytest.mark.parametrize(
    ("gear", "face", "covered"),
    [
        ((2, 23, 15), 4, True),
        ((2, 23, 15), 1200, True),
        ((2, 23, 15), "3.999", False),
        ((2, 23, 15), "1200.1", False),
        ((2, 5, 15), 20, True),
        ((2, 4, 15), 20, False),
        ((2, 1000, 15), 20, True),
        ((2, 1001, 15), 20, False),
        (("0.5", 23, 15), 20, True),
        (("0.499", 23, 15), 20, False),
        ((70, 23, 15), 20, True),
        (("70.1", 23, 15), 20, False),
        ((2, 23, 45), 20, True),
        ((2, 23, "45.1"), 20, False),
        (("0.5", 9, 15), 20, False),  # 4.66 mm
        ((16, 950, 15), 20, False),  # 15 736 mm
        ((15, 1000, "0.0000001"), 20, True),  # 15 000 mm
        (("15.0005", 1000, "0.0000001"), 20, False),  # 15 000.5 mm
    ],
)
def test_iso_1328_covers_sizes_from_memory(gear, face, covered):
    module, teeth, angle = gear
    made = HelicalGear(Fraction(module), teeth, Fraction(angle))
    assert iso_covers(made, Fraction(face)) is covered
    assert ISO_COVERS.startswith("5 to 1000 teeth, module 0.5 to 70 mm, diameter 5 to 15 000 mm, face 4 to 1200 mm")


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        ((Fraction(400), Fraction(400), Fraction(60), Fraction(50)), "exact"),
        ((Fraction(400), Fraction(401), Fraction(52)), "0.130 mm long over 52 mm"),
        ((Fraction(400), Fraction(399), Fraction(52)), "0.130 mm short over 52 mm"),
        ((Fraction(400), Fraction(401), Fraction(254, 10), None, "in"), "0.0025 in long over 1 in"),
        ((Fraction(400), Fraction(401), None, Fraction(50)), "helix angle 2.92′ smaller"),
        ((Fraction(400), Fraction(401)), ""),
        ((Fraction(400), Fraction(401), Fraction(4, 100)), "0.00010 mm long over 0.04 mm"),
        ((Fraction(400), Fraction(401), Fraction(254, 10**6), None, "in"), "0.000000025 in long over 0.00001 in"),
    ],
)
def test_an_error_is_told_in_words_with_its_sign(arguments, words):
    assert error_in_words(Figures(*arguments[:4]), *arguments[4:]) == words


def test_helix_words():
    assert helix_words(Fraction(0)) == "unchanged"
    assert helix_words(Fraction(1, 60000)) == "0.0010′ larger"


FORMS = spellings()
ONE_SIDE = (
    "does not say how far off on the other side\nhelp: write both sides, as in +0.1/-0mm, or 0.1mm for both alike"
)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", f"tolerance '' cannot be read\nhelp: write it as in {FORMS}"),
        ("tight", f"tolerance 'tight' cannot be read\nhelp: write it as in {FORMS}"),
        ("0", f"tolerance '0' is not above zero\nhelp: write it as in {FORMS}"),
        ("-0.1mm", f"tolerance '-0.1mm' {ONE_SIDE}"),
        ("+0.1mm", f"tolerance '+0.1mm' {ONE_SIDE}"),
        ("+200 ppm", f"tolerance '+200 ppm' {ONE_SIDE}"),
        ("+0.1/+0.05mm", f"tolerance '+0.1/+0.05mm' {ONE_SIDE}"),
        ("+0.02mm over 60mm", f"tolerance '+0.02mm over 60mm' {ONE_SIDE}"),
        ("0.05mm around", f"tolerance '0.05mm around' cannot be read\nhelp: write it as in {FORMS}"),
        ("x" * 1001, f"tolerance '{'x' * 58}… cannot be read\nhelp: write it as in {FORMS}"),
        ("0 ppm", f"tolerance '0 ppm' is not a share above zero\nhelp: write it as in {FORMS}"),
        ("nan %", f"tolerance 'nan %' is not of a size that can be made\nhelp: write it as in {FORMS}"),
        (
            "0.05deg",
            "tolerance '0.05deg' is an angle, but of what\nhelp: write '0.1deg over 60mm' or '0.05deg helix'",
        ),
        ("0deg helix", f"tolerance '0deg helix' allows nothing\nhelp: write it as in {FORMS}"),
        ("+0/-0 mm", f"tolerance '+0/-0 mm' allows nothing\nhelp: write it as in {FORMS}"),
        ("-1deg helix", f"tolerance '-1deg helix' {ONE_SIDE}"),
        ("wide deg helix", f"tolerance 'wide deg' cannot be read\nhelp: write it as in {FORMS}"),
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


@pytest.mark.parametrize(
    ("text", "seconds", "inches"),
    [
        ('30" over 60 mm', "30s", "30 in"),
        ("30″ per 60mm", "30s", "30 in"),
        ("30'' in 60mm", "30s", "30 in"),
        ('+1"/-2" over 2 in', "+1s/-2s", "+1 in/-2 in"),
        ('0.02" over 2in', "0.02s", "0.02 in"),
        ('30"/m', "30s over a length", "30 in"),
        ('0.01"/in', "0.01s over a length", "0.01 in"),
        ('+0.001"/-2" over 2in', "+0.001s/-2s", "+0.001 in/-2 in"),
    ],
)
def test_an_inch_mark_that_could_be_seconds_is_refused(text, seconds, inches):
    with pytest.raises(GearsearchError) as caught:
        Tolerance.parse(text)
    assert str(caught.value) == (
        f"tolerance {text!r} could be in inches or in seconds of arc\n"
        f"help: write {seconds} for seconds of arc, or {inches} for inches"
    )


def test_a_longest_lead_without_end_is_none():
    wanted = Fraction(2)
    assert open_ended((Fraction(1), wanted * NO_END), wanted) == (1, None)
    assert open_ended((Fraction(1), wanted * NO_END + 1), wanted) == (1, None)
    assert open_ended((Fraction(1), wanted * NO_END - 1), wanted) == (1, wanted * NO_END - 1)


def test_an_inch_mark_too_small_for_seconds_is_inches():
    assert Tolerance.parse('0.0199" over 2in').less == Fraction("0.50546")
    assert Tolerance.parse('0.001"/in').less == Fraction(1, 1000)
    assert Tolerance.parse("30s over 60mm").less == Tolerance.parse('30" helix').less == Fraction(1, 120)


@pytest.mark.parametrize(
    ("text", "minutes"),
    [
        ("3m over 60mm", "3 min"),
        ("0.05 m per 60mm", "0.05 min"),
        ("3m", "3 min"),
        ("+3M/-1m over 60mm", "+3 min/-1 min"),
        ("+3/-1m over 60mm", "+3/-1 min"),
    ],
)
def test_a_bare_m_could_be_minutes_or_metres(text, minutes):
    with pytest.raises(GearsearchError) as caught:
        Tolerance.parse(text)
    assert str(caught.value) == (
        f"tolerance {text!r} could be in minutes of arc or in metres\n"
        f"help: write {minutes} for minutes of arc; for a length give it in mm, as in 0.02mm"
    )


def test_an_m_that_can_be_but_one_of_the_two_is_read():
    assert Tolerance.parse("0d3m over 60mm").less == Tolerance.parse("3m helix").less == Fraction(1, 20)
    assert Tolerance.parse("0.02mm over 0.06m").over_mm == 60


@pytest.mark.parametrize(
    ("text", "what"),
    [
        ("50%", "half of the lead"),
        ("+0/-400%", "half of the lead"),
        ("500mm/m", "half of the lead"),
        ("30mm over 60mm", "half of its length"),
        ("0.02mm over 0.04mm", "half of its length"),
        ("180deg over 60mm", "half a turn"),
        ("2 turns over 60mm", "half a turn"),
        ("10deg helix", "10°"),
        ("+89/-0deg helix", "10°"),
        ("200mm", "half of the lead, which is 400.000 mm (15.7480 in),"),
        ("78.54mm around over 60mm", "half way round the work"),
    ],
)
def test_a_tolerance_to_which_no_part_is_made_is_refused(text, what):
    with pytest.raises(GearsearchError) as caught:
        Tolerance.parse(text).interval(Fraction(400), Fraction(50))
    assert caught.value.message == f"tolerance {text!r} is {what} or more, to which no part is made"
    assert caught.value.remedy == f"give how far off it may be, as in {FORMS}"


def test_a_tolerance_just_below_what_is_refused_stands():
    for text in ("49.9%", "29.9mm over 60mm", "179.9deg over 60mm", "9.9deg helix", "78.5mm around over 60mm"):
        low, high = Tolerance.parse(text).interval(Fraction(400), Fraction(50))
        assert 0 < low < 400 < high


@pytest.mark.parametrize(
    ("text", "what"),
    [("0.05deg helix", "a helix angle"), ("0.05mm around over 60mm", "measured around the work")],
)
def test_what_belongs_to_a_diameter_needs_one(text, what):
    with pytest.raises(GearsearchError) as caught:
        Tolerance.parse(text).interval(Fraction(400))
    assert str(caught.value) == (
        f"tolerance '{text}' is {what}, which means nothing without its diameter\n"
        "help: give it too, as in --diameter 50mm"
    )


@given(st.text(max_size=60) | st.text("+-±/0.15 mdegpo%vrhlix'°", max_size=30))
def test_no_text_gives_anything_but_a_tolerance_or_our_own_error(text):
    try:
        tolerance = Tolerance.parse(text)
    except GearsearchError:
        return
    assert min(tolerance.less, tolerance.more) >= 0 < max(tolerance.less, tolerance.more)


@pytest.mark.parametrize(
    "text",
    ["+-0.05mm", "+/-0.05mm", "+ / - 0.05 mm", "+ /-0.05mm", "±  0.05mm", "+/–0.05mm", "  0.05mm  "],
)
def test_both_sides_alike_may_be_written_in_many_ways(text):
    tolerance = Tolerance.parse(text)
    assert tolerance == Tolerance("lead", Fraction(1, 20), Fraction(1, 20), None, text)


@pytest.mark.parametrize(
    ("text", "form", "less", "more", "over"),
    [
        ("0.02 mm OVER 50 mm", "drift", "0.02", "0.02", 50),
        ("0.02 mm per 50 mm", "drift", "0.02", "0.02", 50),
        ("0.02 mm  over  50 mm", "drift", "0.02", "0.02", 50),
        ("0.02 mm Around over 50 mm", "around", "0.02", "0.02", 50),
        ("0.02 mm  around over 50 mm", "around", "0.02", "0.02", 50),
        ("0.5 DEG HELIX ANGLE", "helix", "0.5", "0.5", None),
        ("0.5° helix  angle", "helix", "0.5", "0.5", None),
        ("0.5°helix", "helix", "0.5", "0.5", None),
        ("200PPM", "share", "0.0002", "0.0002", None),
        ("200  ppm", "share", "0.0002", "0.0002", None),
        ("2 Percent", "share", "0.02", "0.02", None),
        ("2%", "share", "0.02", "0.02", None),
        ("+2ppm/-1ppm", "share", "0.000001", "0.000002", None),
        ("+2 -1ppm", "share", "0.000001", "0.000002", None),
        ("+2 / -1 ppm", "share", "0.000001", "0.000002", None),
        ("+ 2/- 1 ppm", "share", "0.000001", "0.000002", None),
        ("-1/+2 ppm", "share", "0.000001", "0.000002", None),
        ("-.0/+2 ppm", "share", "0", "0.000002", None),
        ("-00.00/+2 ppm", "share", "0", "0.000002", None),
        ("+1/8/-1/4mm", "lead", "0.25", "0.125", None),
        ("+0.1mm-0.05mm", "lead", "0.05", "0.1", None),
        ("+0.1mm / -0.05mm", "lead", "0.05", "0.1", None),
        ("+1deg/-0.5deg over 50mm", "turn", "0.5", "1", 50),
        ("0.0005in/in", "share", "0.0005", "0.0005", None),
        ("0.0005 in. / in.", "share", "0.0005", "0.0005", None),
        ('0.0005"/"', "share", "0.0005", "0.0005", None),
        ("0.5mm/m", "share", "0.0005", "0.0005", None),
        ("0.5 MM PER M", "share", "0.0005", "0.0005", None),
        ("5 µm/cm", "share", "0.0005", "0.0005", None),
        ("+0.5/-0 mm/m", "share", "0", "0.0005", None),
        ("3 arcmin helix", "helix", "0.05", "0.05", None),
        ("36 arc seconds helix", "helix", "0.01", "0.01", None),
    ],
)
def test_a_tolerance_tells_its_form_and_its_sides(text, form, less, more, over):
    tolerance = Tolerance.parse(text)
    assert tolerance == Tolerance(form, Fraction(less), Fraction(more), over and Fraction(over), text)
    assert tolerance.grows == (over is not None)


@pytest.mark.parametrize(
    ("text", "degrees"),
    [
        *((f"3{gap}{name}", 3) for gap in ("", " ") for name in ("d", "deg", "degs", "degree", "degrees", "°")),
        *(
            (f"3{gap}{name}", Fraction(1, 20))
            for gap in ("", " ")
            for name in ("min", "mins", "minute", "minutes", "arcmin")
        ),
        *(
            (f"3{gap}{name}", Fraction(1, 1200))
            for gap in ("", " ")
            for name in ("s", "sec", "secs", "second", "arcsec")
        ),
        *((f"0.3{gap}{name}", 108) for gap in ("", " ") for name in ("turn", "turns")),
        ("3 seconds", Fraction(1, 1200)),
        ("3'", Fraction(1, 20)),
        ("3′", Fraction(1, 20)),
        ("3 DEG", 3),
    ],
)
def test_every_name_of_an_angle_makes_a_turn(text, degrees):
    assert Tolerance.parse(f"{text} over 60mm") == Tolerance(
        "turn", Fraction(degrees), Fraction(degrees), Fraction(60), f"{text} over 60mm"
    )


@pytest.mark.parametrize("text", ["3 cm", "3 ins", "3 in", "3 thou", "3 µm", "3 millimeters"])
def test_no_name_of_a_length_is_taken_for_an_angle(text):
    assert Tolerance.parse(text).form == "lead"
    assert Tolerance.parse(f"{text} over 600mm").form == "drift"


def test_a_number_alone_is_in_the_unit_of_the_shop():
    assert Tolerance.parse("0.1 over 2", "in").over_mm == Fraction(254, 5)
    assert Tolerance.parse("0.1 over 2", "in").less == Fraction(254, 100)
    assert Tolerance.parse("0.1 around over 2", "in").less == Fraction(254, 100)
    assert Tolerance.parse("0.1", "in").less == Fraction(254, 100)
    assert Tolerance.parse("0.1 around over 2").less == Fraction(1, 10)
    assert Tolerance.parse("0.1 over 2").over_mm == 2


def test_a_tolerance_may_be_a_thousand_characters_long():
    assert Tolerance.parse("0.1 mm" + " " * 994).less == Fraction(1, 10)
    with pytest.raises(GearsearchError, match="cannot be read"):
        Tolerance.parse("0.1 mm" + " " * 995)


def test_a_whole_turn_of_tolerance_is_without_end_and_a_little_less_is_not():
    wanted = Fraction(400)
    assert Tolerance.parse("90deg over 100mm").interval(wanted)[1] == wanted * NO_END
    assert Tolerance.parse("90.1deg over 100mm").interval(wanted)[1] == wanted * NO_END
    assert Tolerance.parse("89.999999deg over 100mm").interval(wanted)[1] == wanted * 90 * 10**6
    around = Tolerance("around", PI * Fraction(25, 2), Fraction(0), Fraction(100))
    assert around.interval(wanted, Fraction(50)) == (wanted, wanted * NO_END)


def test_a_helix_angle_at_the_end_of_its_range_has_no_end():
    wanted = Fraction(1)
    low, high = Tolerance("helix", Fraction(89), Fraction(89)).interval(wanted, Fraction(1, 1000))
    assert 0 < low < wanted
    assert high == wanted * NO_END
    low, high = Tolerance("helix", Fraction(89), Fraction(89)).interval(wanted, Fraction(1000))
    assert low == 0
    assert wanted < high < wanted * NO_END


def test_figures_around_need_both_a_length_and_a_diameter():
    assert Figures(Fraction(400), Fraction(401), Fraction(60)).around_mm is None
    assert Figures(Fraction(400), Fraction(401), diameter_mm=Fraction(50)).around_mm is None
    assert Figures(Fraction(400), Fraction(401), Fraction(60), Fraction(50)).around_mm < 0


def test_the_classes_of_iso_1328_go_from_1_to_11():
    diameter, face = Fraction(50), Fraction(20)
    for accuracy in range(1, 12):
        tolerance = Fraction(iso_helix_slope_um(diameter, face, accuracy))
        assert iso_class(tolerance, diameter, face) == accuracy
    assert iso_class(tolerance + 1, diameter, face) is None
    assert iso_class(Fraction(0), diameter, face) == 1


def test_iso_1328_rounds_by_size():
    """By the formula (from memory): d 50, b 20 make 5.919 in class 5, and √2 more or less for each class."""
    rounded = [iso_helix_slope_um(Fraction(50), Fraction(20), accuracy) for accuracy in range(1, 12)]
    assert rounded == [1.5, 2.1, 3.0, 4.2, 6.0, 8.5, 12, 17, 24, 33, 47]


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (Fraction(1, 600), "0.10′ larger"),
        (Fraction(-1, 600), "0.10′ smaller"),
        (Fraction(94, 60000), "0.094′ larger"),
        (Fraction(-1, 6 * 10**12), "0.000000000010′ smaller"),
        (Fraction(2), "120.00′ larger"),
    ],
)
def test_minutes_of_helix_angle_have_as_many_digits_as_say_something(change, words):
    assert helix_words(change) == words


def test_an_error_says_all_that_it_does_to_the_part():
    said = error_in_words(Figures(Fraction(400), Fraction(401), Fraction(52), Fraction(50)))
    assert said == "0.130 mm long over 52 mm, helix angle 2.92′ smaller"


def test_the_longest_cut_around_needs_its_diameter():
    around = Tolerance.parse("0.5mm around over 60mm")
    with pytest.raises(GearsearchError, match="means nothing without its diameter"):
        longest_cut_mm(around, Fraction(400), Fraction(401))
    assert longest_cut_mm(around, Fraction(400), Fraction(400)) is None
    length = longest_cut_mm(around, Fraction(400), Fraction(401), Fraction(50))
    assert Figures(Fraction(400), Fraction(401), length, Fraction(50)).around_mm == Fraction(-1, 2)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("bent deg over 60mm", f"tolerance 'bent deg' cannot be read\nhelp: write it as in {FORMS}"),
        ("bent over 60mm", f"tolerance 'bent' cannot be read\nhelp: write it as in {FORMS}"),
        ("bent %", f"tolerance 'bent %' cannot be read\nhelp: write it as in {FORMS}"),
        ("+0.1/-bent mm", f"tolerance '+0.1/-bent mm' {ONE_SIDE}"),
        ("0deg over 60mm", f"tolerance '0deg over 60mm' allows nothing\nhelp: write it as in {FORMS}"),
    ],
)
def test_the_rest_of_what_is_no_tolerance_says_what_would_be(text, message):
    with pytest.raises(GearsearchError) as caught:
        Tolerance.parse(text)
    assert str(caught.value) == message


@pytest.mark.parametrize(
    ("text", "less", "more"),
    [
        ("+0.1in/-0.05", "1.27", "2.54"),
        ("-0.05/+0.1in", "1.27", "2.54"),
        ("-0./+0.1 mm", "0", "0.1"),
        ("+0.1/-.0 mm", "0", "0.1"),
    ],
)
def test_a_unit_given_once_is_that_of_both_sides(text, less, more):
    tolerance = Tolerance.parse(text)
    assert (tolerance.less, tolerance.more) == (Fraction(less), Fraction(more))


def test_a_point_alone_is_no_amount():
    with pytest.raises(GearsearchError, match=r"tolerance '\.mm' cannot be read"):
        Tolerance.parse("+0.1/-.mm")


@pytest.mark.parametrize("wanted", range(40, 80))
def test_the_side_of_a_helix_angle_that_allows_nothing_ends_at_the_wanted_lead(wanted):
    diameter = Fraction(50)
    assert Tolerance("helix", Fraction(0), Fraction(1)).interval(Fraction(wanted), diameter)[1] == wanted
    assert Tolerance("helix", Fraction(1), Fraction(0)).interval(Fraction(wanted), diameter)[0] == wanted


def test_iso_1328_rounds_to_whole_micrometres_above_10():
    """d 100, b 64 make 0.5 + 2.8 + 4 = 7.3 in class 5 and 10.32 in class 6, to be rounded to 10 (from memory)."""
    assert iso_helix_slope_um(Fraction(100), Fraction(64), 6) == 10


def test_a_tolerance_made_in_python_has_no_text():
    assert Tolerance("lead", Fraction(1), Fraction(1)).text == ""


def test_an_amount_may_be_a_single_digit():
    assert Tolerance.parse("5 over 60mm").less == Tolerance.parse("5 around over 60mm").less == 5
    assert Tolerance.parse("5 helix").less == Tolerance.parse("5 helix angle").less == 5


@pytest.mark.parametrize("text", ["0.5° helixangle", "0.05mmaround over 60mm", "0.05mmover 60mm", "0.05mm over60mm"])
def test_words_of_a_tolerance_are_parted_by_spaces(text):
    with pytest.raises(GearsearchError, match=r"^tolerance '"):
        Tolerance.parse(text)


def test_what_charts_mark_and_leave_out_is_what_they_say():
    """The mark OFF stands beyond 0.1 %, an empty cell of a grid beyond 1 %: both are printed with every chart."""
    assert Fraction("0.1") / 100 == DOUBTFUL
    assert Fraction(1) / 100 == HOPELESS


@pytest.mark.parametrize("text", ["1/1000", " 1/1000 ", "+1/1000/-0", "1⁄1000", "±1/1000"])
def test_a_fraction_without_a_unit_could_mean_two_things(text):
    with pytest.raises(GearsearchError) as caught:
        Tolerance.parse(text, "in")
    assert str(caught.value).endswith(
        " could be a share of the lead or a length\nhelp: write 0.1% for the share, or 0.001 in for the length"
    )


@pytest.mark.parametrize(
    ("text", "unit", "remedy"),
    [
        ("1/3", "mm", "write 100/3% for the share, or 1/3 mm for the length"),
        ("1 1/64", "in", "write 1.015625 in for the length"),
        ("½", "in", "write 0.5 in for the length"),
    ],
)
def test_what_a_fraction_could_mean_is_written_out_so_that_it_can_be_typed(text, unit, remedy):
    with pytest.raises(GearsearchError) as caught:
        Tolerance.parse(text, unit)
    assert caught.value.remedy == remedy
    share, length = re.fullmatch("write (?:(.*) for the share, or )?(.*) for the length", remedy).groups()
    assert share is None or Tolerance.parse(share).less == parse_length(text)
    assert Tolerance.parse(length).less == parse_length(text, unit)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("0.001 in 6 in", "tolerance '0.001 in 6 in' cannot be read"),
        ("½ in 6 in", "tolerance '½ in 6 in' cannot be read"),
        ("0.1mm/0.2mm", "tolerance '0.1mm/0.2mm' cannot be read"),
        ("1/m", "tolerance '1/m' cannot be read"),
        ("0.1deg/mm", "tolerance '0.1deg/mm' cannot be read"),
        ("0.02mmin 60mm", "tolerance '0.02mmin 60mm' cannot be read"),
        ("0.02mm in60mm", "tolerance '0.02mm in60mm' cannot be read"),
        ("m in 60mm", "tolerance 'm' cannot be read"),
        ("0.5mmper m", "tolerance '0.5mmper m' cannot be read"),
        ("0.5mm perm", "tolerance '0.5mm perm' cannot be read"),
        ("m/m", "tolerance 'm' cannot be read"),
        ("0.5mm/", "tolerance '0.5mm/' cannot be read"),
        ("0.1deg per mm", "length of the tolerance 'mm' cannot be read"),
        ("+0.001 in", f"tolerance '+0.001 in' {ONE_SIDE}"),
        ("+0.001 in 0 in", f"tolerance '+0.001 in 0 in' {ONE_SIDE}"),
    ],
)
def test_what_could_be_read_in_two_ways_is_not_read(text, message):
    with pytest.raises(GearsearchError) as caught:
        Tolerance.parse(text)
    assert str(caught.value).startswith(message)


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda: Tolerance("lead", Fraction(1), 0.5), "upper side of a tolerance 0.5 (float) is not an exact number"),
        (lambda: Tolerance("lead", 0.5, Fraction(1)), "lower side of a tolerance 0.5 (float) is not an exact number"),
        (lambda: Tolerance("drift", 1, 1, 60.0), "length of a tolerance 60.0 (float) is not an exact number"),
        (
            lambda: Tolerance("lead", None, Fraction(1)),
            "lower side of a tolerance None (NoneType) is not an exact number",
        ),
        (lambda: Tolerance("lead", 1, 1).interval(None), "lead None (NoneType) is not an exact number"),
        (lambda: Figures(1.5, 2), "wanted lead 1.5 (float) is not an exact number"),
        (lambda: Figures(2, 2, diameter_mm=1.5), "diameter 1.5 (float) is not an exact number"),
        (lambda: Figures(2, 2, diameter_mm=-1), "diameter -1 is not above zero"),
        (lambda: Figures(2, 2).helix_slope_um(Fraction(20), 1.5), "face width 1.5 (float) is not an exact number"),
        (lambda: Figures(2, 2).helix_slope_um(Fraction(20), None), "face width None (NoneType) is not an exact number"),
        (lambda: iso_helix_slope_um(1.5, 20, 7), "reference diameter 1.5 (float) is not an exact number"),
        (lambda: iso_helix_slope_um(None, 20, 7), "reference diameter None (NoneType) is not an exact number"),
        (
            lambda: longest_cut_mm(Tolerance("drift", 1, 1, 60), 1.5, 2),
            "wanted lead 1.5 (float) is not an exact number",
        ),
        (lambda: longest_cut_mm(Tolerance("drift", 1, 1, 60), 2, None), "lead None (NoneType) is not an exact number"),
        (lambda: longest_cut_mm(None, 1, 2), "tolerance None (NoneType) is no Tolerance"),
    ],
)
def test_a_value_that_is_no_exact_number_is_called_by_its_name(call, said):
    with pytest.raises(GearsearchError) as caught:
        call()
    assert str(caught.value).splitlines()[0] == said


def test_ints_are_kept_as_fractions_and_a_cam_is_told_apart():
    made = Tolerance("drift", 1, 2, 60)
    assert [type(value) for value in (made.less, made.more, made.over_mm)] == [Fraction] * 3
    assert type(Figures(400, 401).lead_mm) is Fraction
    assert made.suits_a_cam is True
    assert Tolerance("helix", 1, 1).suits_a_cam is False


@pytest.mark.parametrize("text", ['10"', '1" around over 2"'])
def test_an_inch_mark_that_can_be_no_second_of_arc_is_one_of_inches(text):
    assert Tolerance.parse(text, "in").more >= INCH_MM


@pytest.mark.parametrize("form", TOLERANCES)
def test_every_tolerance_but_that_of_a_helix_angle_suits_a_cam(form):
    grows = TOLERANCES[form].grows
    tolerance = Tolerance(form, Fraction(1, 1000), Fraction(1, 1000), Fraction(60) if grows else None, "so much")
    cam = part(lead="200 mm").tilted(30).at(Fraction(80))
    if form == "helix":
        with pytest.raises(GearsearchError, match="a cam, which is no helix, has none"):
            replace(cam, tolerance=tolerance)
    else:
        low, high = replace(cam, tolerance=tolerance).allowed_mm
        assert low < cam.lead_mm < high
