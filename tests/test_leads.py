"""The lead a part needs, from whatever the drawing gives."""

import argparse
import math
from dataclasses import FrozenInstanceError, replace
from fractions import Fraction

import mpmath
import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from refusals import refused

from gearsearch.base.document import cut
from gearsearch.base.errors import GearsearchError
from gearsearch.base.units import PI
from gearsearch.commands import options
from gearsearch.work.asking import part, part_of_text
from gearsearch.work.figures import Figures
from gearsearch.work.form import forms
from gearsearch.work.helix import HelicalGear, helix_change, lead_at
from gearsearch.work.part import Part
from gearsearch.work.tilt import tilt_for
from gearsearch.work.tolerance import Tolerance

slopes = st.fractions(Fraction(1, 10), Fraction(899, 10), max_denominator=1000)
diameters = st.fractions(1, 500, max_denominator=1000)

GEARS = " or ".join(form.options[0].typed for form in forms() if form.is_gear)


def exactly(value):
    """A Fraction as mpmath holds it."""
    return mpmath.mpf(value.numerator) / value.denominator


@given(slopes, diameters)
def test_helix_angle_and_lead_angle_follow_their_formulas(angle, diameter):
    with mpmath.workdps(40):
        beta, around = exactly(angle) * mpmath.pi / 180, mpmath.pi * exactly(diameter)
        from_helix = part(helix_angle=angle, diameter=diameter).lead_mm
        from_lead = part(lead_angle=angle, diameter=diameter).lead_mm
        assert abs(exactly(from_helix) / (around / mpmath.tan(beta)) - 1) < 1e-15
        assert abs(exactly(from_lead) / (around * mpmath.tan(beta)) - 1) < 1e-15


@given(slopes, diameters)
def test_the_two_angles_at_a_diameter_make_90_degrees_and_give_back_what_was_asked(angle, diameter):
    wanted = part(helix_angle=angle, diameter=diameter)
    assert wanted.helix_angle_deg + wanted.lead_angle_deg == 90
    assert abs(wanted.helix_angle_deg - angle) < Fraction(1, 10**11)
    assert abs(part(lead_angle=90 - angle, diameter=diameter).lead_mm / wanted.lead_mm - 1) < Fraction(1, 10**14)


def test_an_angle_mixed_up_is_seen_from_its_lead():
    """50 mm and 20°: 431.57 mm from the axis, 57.17 mm from square to it (worked out; common practice, no source)."""
    assert f"{float(part(helix_angle=20, diameter=50).lead_mm):.2f}" == "431.57"
    assert f"{float(part(lead_angle=20, diameter=50).lead_mm):.2f}" == "57.17"


def test_a_step_of_1_37_mm_for_5_8_degrees_is_a_lead_of_about_85_mm():
    """Common practice, no source."""
    assert part(rise="1.37 mm", per="5.8").lead_mm == Fraction(36 * 137, 58)
    assert round(part(rise="1.37 mm", per="5.8").lead_mm) == 85


def test_a_rise_and_a_lead_take_starts_alike():
    """Three ramps of 60° side by side, each 15.24 mm high: the lead is that of one."""
    one, three = part(rise="0.6in", per=60), part(rise="0.6in", per=60, starts=3)
    assert three.lead_mm == one.lead_mm == Fraction(9144, 100)
    assert (three.starts, three.pitch_mm) == (3, one.lead_mm / 3)
    assert part(lead=one.lead_mm, starts=3).pitch_mm == three.pitch_mm
    assert part_of_text("rise 0.6in per 60deg x 3 starts").starts == 3


@given(
    st.fractions(Fraction(1, 100), 500, max_denominator=100), st.fractions(Fraction(1, 10), 3600), st.integers(1, 80)
)
def test_a_rise_keeps_its_arc_exact_and_at_any_tilt(rise, arc, tilt):
    assert part(rise=rise, per=arc).arc_deg == arc
    assert part(rise=rise, per=arc, tilt=tilt).arc_deg == arc
    assert part(lead=rise).arc_deg is None


@pytest.mark.parametrize("per", ["1/4", " 3/8 ", "¼", "1 1/2", "2½", "1 / 4"])
def test_a_fraction_without_a_unit_is_asked_about(per):
    with refused("which-unit", per.strip(), "turns", "deg"):
        part(rise="6mm", per=per)
    assert (
        part(rise="6mm", per=f"{per.strip()} turns").lead_mm == part(rise="6mm", per=f"{per.strip()} deg").lead_mm / 360
    )


def test_threads_and_worms_multiply_by_their_starts():
    assert part(thread="13 tpi").lead_mm == Fraction(127, 65)
    assert part(thread="1.5 mm", starts=3).lead_mm == Fraction(9, 2)
    assert part(thread="1.5 mm", starts=3).pitch_mm == Fraction(3, 2)
    assert part(worm_module="2", starts=2).lead_mm == 4 * PI
    assert part(worm_dp="10", starts=2).lead_mm == PI * Fraction(127, 25)
    assert part(worm_dp="10 D.P.", starts=2).lead_mm == PI * Fraction(127, 25)


@given(st.integers(5, 200), slopes, st.fractions(Fraction(1, 2), 10, max_denominator=100))
def test_a_helical_gear_has_the_helix_angle_it_was_given(teeth, angle, module):
    wanted = part(teeth=teeth, helix_angle=angle, gear_module=module)
    assert wanted.diameter_mm == wanted.gear.pitch_diameter_mm
    assert abs(wanted.helix_angle_deg - angle) < Fraction(1, 10**10)
    with mpmath.workdps(40):
        beta = exactly(angle) * mpmath.pi / 180
        assert abs(exactly(wanted.lead_mm) / (mpmath.pi * exactly(module) * teeth / mpmath.sin(beta)) - 1) < 1e-15


def test_a_gear_by_diametral_pitch_is_that_of_its_module():
    assert (
        part(teeth=20, helix_angle=15, gear_dp=20).lead_mm == part(teeth=20, helix_angle=15, gear_module="1.27").lead_mm
    )


@given(st.fractions(1, 100), st.fractions(1, 90))
def test_a_tilted_head_needs_a_longer_geared_lead(lead, tilt):
    wanted = part(lead=lead).tilted(tilt)
    assert wanted.lead_mm >= lead
    assert abs(wanted.work_lead_mm / lead - 1) < Fraction(1, 10**14)
    assert abs(tilt_for(wanted.work_lead_mm, wanted.lead_mm) - tilt) < Fraction(1, 10**6)


@given(st.fractions(Fraction(1, 100), 1), st.fractions(1, 100))
@example(1 - Fraction(1, 10**12), Fraction(1))
def test_the_tilt_is_right_to_one_part_in_ten_to_the_15(sine, geared):
    with mpmath.workdps(40):
        judge = mpmath.asin(exactly(sine)) * 180 / mpmath.pi
        assert abs(exactly(tilt_for(geared * sine, geared)) / judge - 1) < 1e-15


@given(diameters, st.fractions(5, 1000), st.fractions(Fraction(-1, 100), Fraction(1, 100)))
def test_the_change_of_helix_angle_is_the_difference_of_the_two(diameter, wanted, error):
    lead = wanted * (1 + error)
    with mpmath.workdps(40):

        def beta(value):
            return mpmath.atan(mpmath.pi * exactly(diameter) / exactly(value)) * 180 / mpmath.pi

        ours = exactly(helix_change(lead, wanted, diameter))
        assert abs(ours - (beta(lead) - beta(wanted))) <= 1e-14 * max(1, abs(ours))


def test_both_angles_are_printed_with_their_diameter():
    assert part(helix_angle="20", diameter="50 mm").describe() == [
        "wanted: lead 431.573 mm (16.9911 in), from helix angle 20.000° (20°00′00″) at diameter 50.000 mm (1.9685 in)",
        "at diameter 50.000 mm (1.9685 in): helix angle 20.000° (20°00′00″) from the axis, "
        "lead angle 70.000° (70°00′00″) square to it",
    ]
    assert part(lead="5 mm").tilted(85).describe()[1:] == [
        "head tilted 85.000° (85°00′00″) from the table: the gears must give 5.019 mm (0.1976 in)",
        "a tilted head cuts the rise of a cam, square to the axis of the work; it cuts no helix along it",
        "a tilt above 80° is avoided in practice (note 3)",
    ]
    assert part(thread="1.5", starts=2).describe("in")[1] == "2 starts, 0.0591 in (1.500 mm) from one to the next"


def test_a_gear_prints_its_angles_at_its_pitch_diameter():
    assert part(teeth=23, helix_angle="15°", gear_module="2 mm").describe() == [
        "wanted: lead 558.356 mm (21.9825 in), a gear of 23 teeth, normal module 2 mm, helix angle 15.000° (15°00′00″)",
        "at its pitch diameter 47.623 mm (1.8749 in): helix angle 15.000° (15°00′00″) from the axis, "
        "lead angle 75.000° (75°00′00″) square to it",
    ]


def test_each_way_of_giving_a_lead_says_where_it_comes_from():
    assert [
        part(lead="3.6in").how,
        part(lead_angle="4d30m", diameter="2in").how,
        part(rise="1.37 mm", per="5.8").how,
        part(thread="13 tpi", starts=2).how,
        part(worm_module=2, starts=3).how,
        part(worm_dp="10 dp").how,
    ] == [
        "",
        "from lead angle 4.500° (4°30′00″) at diameter 50.800 mm (2.0000 in)",
        "from a rise of 1.370 mm (0.0539 in) over 5.800° (5°48′00″)",
        "a thread of 13 tpi, pitch 1.954 mm (0.0769 in)",
        "a worm of axial module 2 mm, 6.283 mm (0.2474 in) from thread to thread",
        "a worm of diametral pitch 10",
    ]


def test_the_angles_of_a_tilted_lead_are_those_on_the_work():
    straight = part(helix_angle=20, diameter=50)
    wanted = straight.tilted(30)
    assert wanted.helix_angle_deg == straight.helix_angle_deg
    assert wanted.lead_mm == 2 * straight.lead_mm


def test_a_wanted_lead_prints_in_a_notebook_and_on_a_terminal():
    wanted = part(lead="5 mm").tilted(30)
    assert str(wanted).splitlines() == wanted.describe()
    assert all(line in cut(wanted._repr_html_()) for line in wanted.describe())
    assert wanted.to_markdown().startswith("# wanted: lead 5.000 mm")


def test_a_diameter_given_beside_a_lead_is_for_judging_and_never_replaces_the_angles_own():
    assert part(lead=5).at(Fraction(20)).diameter_mm == 20
    assert part(helix_angle=20, diameter=50).at(Fraction(20)).diameter_mm == 50


def test_a_wanted_lead_cannot_be_changed_behind_ones_back():
    with pytest.raises(FrozenInstanceError):
        part(lead=5).lead_mm = Fraction(6)


@pytest.mark.parametrize("angle", ["0", "90", "-5", "91", "180", "1e6", "nan"])
def test_an_angle_that_makes_no_helix_is_refused(angle):
    for name in ("helix angle", "lead angle"):
        with pytest.raises(GearsearchError, match=name):
            part(diameter="50 mm", **{name.replace(" ", "_"): angle})


@pytest.mark.parametrize(
    ("make", "message"),
    [
        (
            lambda: part(helix_angle=20, diameter=None),
            "a helix angle means nothing without its diameter\nhelp: add it, as in --diameter 50mm",
        ),
        (
            lambda: part(lead_angle=20, diameter=None),
            "a lead angle means nothing without its diameter\nhelp: add it, as in --diameter 50mm",
        ),
        (
            lambda: part(helix_angle=90, diameter=50),
            "helix angle 90 is not above 0° and below 90°\nhelp: give an angle between the two, such as 20",
        ),
        (
            lambda: part(helix_angle="1e-8", diameter=50),
            "helix angle '1e-8' is too near to 0° or 90° to make a lead\n"
            "help: give an angle farther from both, or the lead itself",
        ),
        (
            lambda: part(lead="10mm").tilted("1e-400"),
            "tilt '1e-400' is less than 0.000000001 degrees, too little to be set or measured\n"
            "help: give 0.000000001 to 1 000 000 degrees",
        ),
        (
            lambda: part(rise="1mm", per="1e-400"),
            "arc '1e-400' is less than 0.000000001 degrees, too little to be set or measured\n"
            "help: give 0.000000001 to 1 000 000 degrees",
        ),
        (
            lambda: part(rise="1.37 mm", per=None),
            "a rise of 1.370 mm (0.0539 in) makes no lead without the arc it takes\nhelp: add it, as in --per 5.8",
        ),
        (
            lambda: part(rise="1.37 mm", per="0"),
            "arc '0' is not above 0° and up to 36000°, a hundred turns\n"
            "help: give the arc that the rise takes, as in --per 5.8",
        ),
        (lambda: part(thread="13 tpi", starts=0), "0 is no number of starts\nhelp: give a whole number from 1 to 1000"),
        (
            lambda: part(teeth=20, helix_angle=15),
            f"--teeth belongs to {GEARS}, not to --helix-angle\nhelp: leave it out, or give {GEARS}",
        ),
        (
            lambda: part(teeth=20, helix_angle=None, gear_module=2),
            "a helical gear needs its helix angle, and none is given\nhelp: add it, as in --helix-angle 15",
        ),
        (
            lambda: part(teeth=20, helix_angle=15, gear_module=2, gear_dp=12),
            "the lead is given in 2 ways: --gear-module, --gear-dp\nhelp: keep one of them",
        ),
        (
            lambda: part(teeth=0, helix_angle=15, gear_module=2),
            "0 is no number of teeth\nhelp: give a whole number from 1 to 100000",
        ),
        (
            lambda: part(teeth=20.5, helix_angle=15, gear_module=2),
            "20.5 is no number of teeth\nhelp: give a whole number from 1 to 100000",
        ),
        (
            lambda: part(lead=5, starts=True),
            "True is no number of starts\nhelp: give a whole number from 1 to 1000",
        ),
        (
            lambda: part(worm_dp="0 dp"),
            "worm diametral pitch '0 dp' is not a number above zero\nhelp: write it as in 20 or 20 dp",
        ),
        (
            lambda: part(lead=5).tilted(30).tilted(30),
            "the head is tilted twice\nhelp: give one tilt, from the table",
        ),
        (
            lambda: part(lead=5).tilted(91),
            "tilt 91 is not above 0° and up to 90°\nhelp: give the head's angle from the table, as in --tilt 30",
        ),
        (
            lambda: tilt_for(Fraction(10), Fraction(0)),
            "no tilt makes 10.000 mm from a geared lead of 0.000 mm\n"
            "help: gear for a lead at least as long as that on the work",
        ),
        (
            lambda: part(lead=5).tilted(0),
            "tilt 0 is not above 0° and up to 90°\nhelp: give the head's angle from the table, as in --tilt 30",
        ),
        (
            lambda: tilt_for(Fraction(10), Fraction(5)),
            "no tilt makes 10.000 mm from a geared lead of 5.000 mm\n"
            "help: gear for a lead at least as long as that on the work",
        ),
        (
            lambda: part(helix_angle=Fraction(1, 10**6), diameter=10**8),
            "a lead of 1.8e+16 mm cannot be cut: from helix angle 0.0000010° (0°00′00.0036″) at diameter 100000000.000 "
            "mm (3937007.8740 in)\nhelp: ask for a lead from 0.000001 mm to 1 000 000 000 mm",
        ),
    ],
)
def test_what_makes_no_lead_says_what_would(make, message):
    with pytest.raises(GearsearchError) as caught:
        make()
    assert str(caught.value) == message


def wanted(*words):
    """What the command line makes of these words."""
    parser = argparse.ArgumentParser()
    options.add_wanted(parser)
    return options.wanted_from(parser.parse_args(words)).part()


@pytest.mark.parametrize(
    ("words", "lead"),
    [
        (["--lead", "3.6in"], part(lead="3.6in")),
        (["--helix-angle", "20", "--diameter", "50mm"], part(helix_angle=20, diameter=50)),
        (["--lead-angle", "4d30m", "--diameter", "2in"], part(lead_angle="4.5", diameter="2in")),
        (["--rise", "1.37", "--per", "5.8"], part(rise="1.37", per="5.8")),
        (["--thread", "13 tpi", "--starts", "2"], part(thread="13 tpi", starts=2)),
        (["--worm-module", "2", "--starts", "3"], part(worm_module=2, starts=3)),
        (["--worm-dp", "10"], part(worm_dp=10)),
        (
            ["--gear-module", "2", "--teeth", "23", "--helix-angle", "15"],
            part(teeth=23, helix_angle=15, gear_module="2"),
        ),
        (["--gear-dp", "10", "--teeth", "23", "--helix-angle", "15"], part(teeth=23, helix_angle=15, gear_dp=10)),
        (["--lead", "5", "--diameter", "20"], part(lead=5).at(Fraction(20))),
        (["--rise", "2.443in", "--per", "0.29 turns"], part(rise="2.443in", per="104.4")),
        (["--lead", "5", "--tilt", "30"], part(lead="5").tilted(30)),
    ],
)
def test_the_command_line_takes_every_way_of_giving_a_lead(words, lead):
    assert wanted(*words).lead_mm == lead.lead_mm
    assert wanted(*words).diameter_mm == lead.diameter_mm


@pytest.mark.parametrize(
    ("words", "message"),
    [
        ([], "no lead was asked for\nhelp: give one as in --lead 412.5mm, or --helix-angle 20 --diameter 50mm"),
        (
            ["--per", "20", "--diameter", "50"],
            "no lead was asked for: --diameter and --per alone isn't enough\n"
            "help: give one as in --lead 412.5mm, or --helix-angle 20 --diameter 50mm",
        ),
        (
            ["--rise", "2"],
            "a rise of 2.000 mm (0.0787 in) makes no lead without the arc it takes\nhelp: add it, as in --per 5.8",
        ),
        (
            ["--gear-module", "2", "--gear-dp", "12", "--teeth", "20", "--helix-angle", "20"],
            "the lead is given in 2 ways: --gear-module, --gear-dp\nhelp: keep one of them",
        ),
        (
            ["--lead", "0"],
            "lead '0' is not above zero\nhelp: give a length longer than zero",
        ),
        (
            ["--lead", "5", "--diameter", "-50"],
            "diameter '-50' is not above zero\nhelp: give a length longer than zero",
        ),
        (["--lead", "5", "--thread", "2"], "the lead is given in 2 ways: --lead, --thread\nhelp: keep one of them"),
        (
            ["--lead", "5", "--helix-angle", "20"],
            "the lead is given in 2 ways: --lead, --helix-angle\nhelp: keep one of them",
        ),
        (["--lead", "5", "--per", "20"], "--per belongs to --rise, not to --lead\nhelp: leave it out, or give --rise"),
        (
            ["--lead", "5", "--teeth", "20"],
            f"--teeth belongs to {GEARS}, not to --lead\nhelp: leave it out, or give {GEARS}",
        ),
        (
            ["--gear-module", "2", "--helix-angle", "20"],
            "a helical gear needs its tooth count, and none is given\nhelp: add it, as in --teeth 23",
        ),
        (
            ["--gear-module", "2", "--teeth", "20", "--helix-angle", "20", "--diameter", "50"],
            "--diameter does not belong to a helical gear, which has its own pitch diameter\n"
            "help: leave --diameter out",
        ),
        (["--lead", "5", "--starts", "two"], "--starts 'two' is not a whole number\nhelp: write it as in --starts 3"),
        (
            ["--helix-angle", "20"],
            "a helix angle means nothing without its diameter\nhelp: add it, as in --diameter 50mm",
        ),
    ],
)
def test_options_that_contradict_each_other_are_named(words, message):
    with pytest.raises(GearsearchError) as caught:
        wanted(*words)
    assert str(caught.value) == message


@pytest.mark.parametrize("word", ["--per", "--starts", "--teeth", "--tilt", "--lead", "--helix-angle"])
def test_no_option_about_the_lead_is_passed_over_in_silence(word):
    parser = argparse.ArgumentParser()
    options.add_wanted(parser)
    assert not options.asks_for_lead(parser.parse_args([]))
    assert options.asks_for_lead(parser.parse_args([word, "5"]))


def test_a_lead_may_be_as_short_and_as_long_as_can_be_said():
    assert Part(Fraction(1, 10**6)).lead_mm == Fraction(1, 10**6)
    assert Part(Fraction(10**9)).lead_mm == 10**9
    for lead, said in ((Fraction(1, 10**6 + 1), "1e-06"), (Fraction(10**9) + Fraction(1, 10**9), "1e+09")):
        with pytest.raises(GearsearchError) as caught:
            Part(lead, "a made-up lead")
        assert str(caught.value) == (
            f"a lead of {said} mm cannot be cut: a made-up lead\n"
            "help: ask for a lead from 0.000001 mm to 1 000 000 000 mm"
        )


def test_counts_are_taken_up_to_their_limits():
    assert part(lead=5, starts=1000).pitch_mm == Fraction(5, 1000)
    assert part(teeth=100_000, helix_angle=15, gear_module=1).gear.teeth == 100_000
    assert part(teeth=1, helix_angle=15, gear_module=1).gear.teeth == 1
    for make in (lambda: part(lead=5, starts=1001), lambda: part(teeth=100_001, helix_angle=15, gear_module=1)):
        with pytest.raises(GearsearchError, match="give a whole number from 1 to"):
            make()


def test_one_start_is_the_rule_and_not_told():
    made = (
        part(lead=5),
        part(helix_angle=20, diameter=50),
        part(lead_angle=20, diameter=50),
        part(thread="2"),
        part(worm_module=2),
        part(worm_dp=10),
        part(rise=2, per=20),
        part(teeth=23, helix_angle=15, gear_module=2),
    )
    for wanted in made:
        assert wanted.starts == 1
        assert not any("start" in line for line in wanted.describe())


def test_several_starts_are_kept_by_every_way_of_giving_a_lead():
    assert part(helix_angle=20, diameter=50, starts=3).starts == part(lead_angle=20, diameter=50, starts=3).starts == 3
    assert part(lead=5, starts=3).starts == part(thread="2", starts=3).starts == 3
    assert part(worm_module=2, starts=3).starts == part(worm_dp=10, starts=3).starts == 3


@pytest.mark.parametrize(
    ("in_inches", "in_mm"),
    [
        (part("in", lead="2"), part(lead="50.8")),
        (part("in", helix_angle=20, diameter="2"), part(helix_angle=20, diameter="50.8")),
        (part("in", lead_angle=20, diameter="2"), part(lead_angle=20, diameter="50.8")),
        (part("in", rise="2", per=20), part(rise="50.8", per=20)),
        (part("in", thread="0.1 in"), part(thread="2.54")),
    ],
)
def test_a_number_alone_is_in_the_unit_of_the_shop(in_inches, in_mm):
    assert in_inches.lead_mm == in_mm.lead_mm
    assert in_inches.diameter_mm == in_mm.diameter_mm


def test_a_module_is_in_millimetres_wherever_the_shop_counts_in_inches():
    wanted = part("in", worm_module="2", starts=1)
    assert wanted.lead_mm == 2 * PI
    assert wanted.how == "a worm of axial module 2 mm, 0.2474 in (6.283 mm) from thread to thread"


def test_a_wanted_lead_prints_in_the_unit_of_the_shop():
    wanted = part("in", helix_angle="20", diameter="2", starts=2).tilted(80)
    assert wanted.describe("in") == [
        "wanted: lead 17.2629 in (438.478 mm), from helix angle 20.000° (20°00′00″) at diameter 2.0000 in (50.800 mm)",
        "2 starts, 8.6315 in (219.239 mm) from one to the next",
        "head tilted 80.000° (80°00′00″) from the table: the gears must give 17.5292 in (445.242 mm)",
        "at diameter 2.0000 in (50.800 mm): the cam's outline rises at 70.000° (70°00′00″) to the round",
        "a tilted head cuts the rise of a cam, square to the axis of the work; it cuts no helix along it",
    ]


def test_the_words_of_a_lead_do_no_harm_in_a_notebook():
    assert "from &lt;b&gt;" in Part(Fraction(5), "from <b>")._repr_html_()


def test_without_a_diameter_a_lead_has_no_angles():
    wanted = part(lead=5)
    assert (wanted.helix_angle_deg, wanted.lead_angle_deg) == (None, None)
    assert wanted.at(None) is wanted
    assert len(wanted.describe()) == 1


def test_a_head_may_be_tilted_to_the_full():
    assert part(lead=5).tilted(90).lead_mm == 5
    assert tilt_for(Fraction(5), Fraction(5)) == 90
    assert part(rise="1", per="36000").lead_mm == Fraction(1, 100)


@pytest.mark.parametrize(
    ("make", "message"),
    [
        (
            lambda: part(rise="1", per="36000.1"),
            "arc '36000.1' is not above 0° and up to 36000°, a hundred turns\nhelp: give the arc that",
        ),
        (lambda: part(rise="1", per="steep"), "arc 'steep' cannot be read"),
        (lambda: part(rise="up", per="1"), "rise 'up' cannot be read"),
        (lambda: part(lead="far"), "lead 'far' cannot be read"),
        (lambda: part(thread="fine"), "thread 'fine' cannot be read"),
        (lambda: part(worm_module="fine"), "worm module 'fine' cannot be read"),
        (lambda: part(teeth=20, helix_angle=15, gear_module="fine"), "gear module 'fine' cannot be read"),
        (lambda: part(teeth=20, helix_angle="steep", gear_module=2), "helix angle 'steep' cannot be read"),
        (lambda: part(helix_angle="steep", diameter=50), "helix angle 'steep' cannot be read"),
        (lambda: part(lead_angle="flat", diameter=50), "lead angle 'flat' cannot be read"),
        (lambda: part(helix_angle=20, diameter="thick"), "diameter 'thick' cannot be read"),
        (lambda: part(lead=5).tilted("a bit"), "tilt 'a bit' cannot be read"),
        (
            lambda: part(teeth=20, helix_angle=15, gear_dp="fine"),
            "gear diametral pitch 'fine' is not a number above zero\nhelp: write it as in 20 or 20 dp",
        ),
        (
            lambda: part(lead_angle="89.99999999999", diameter=50),
            "lead angle '89.99999999999' is too near to 0° or 90° to make a lead\nhelp: give an angle farther",
        ),
        (
            lambda: part(lead_angle=0, diameter=50),
            "lead angle 0 is not above 0° and below 90°\nhelp: give an angle between the two, such as 20",
        ),
    ],
)
def test_what_cannot_be_read_is_called_by_its_name(make, message):
    with pytest.raises(GearsearchError) as caught:
        make()
    assert str(caught.value).startswith(message)


@pytest.mark.parametrize("text", ["10dp", "10 dp", "10 DP", "10 d.p.", "10d.p", "10 dp. ", " 10 "])
def test_a_diametral_pitch_may_say_what_it_is(text):
    assert part(worm_dp=text).lead_mm == part(worm_dp=10).lead_mm


def test_a_gear_by_diametral_pitch_says_so():
    wanted = part(teeth=23, helix_angle=15, gear_dp="10 dp")
    assert wanted.how == "a gear of 23 teeth, normal diametral pitch 10, helix angle 15.000° (15°00′00″)"


def test_the_lead_of_an_angle_in_radians_is_that_of_the_angle_in_degrees():
    assert abs(lead_at(math.pi / 4, Fraction(50)) / (PI * 50) - 1) < Fraction(1, 10**14)


def test_an_arc_may_be_small_and_no_lead_on_the_work_is_none():
    assert part(rise="0.1", per="0.5").lead_mm == 72
    with pytest.raises(GearsearchError, match=r"no tilt makes 0.000 mm"):
        tilt_for(Fraction(0), Fraction(5))


def test_a_lead_that_cannot_be_cut_is_told_to_three_digits():
    with pytest.raises(GearsearchError, match=r"1\.23e\+10 mm"):
        Part(Fraction(12_345_678_901), "a made-up lead")


@pytest.mark.parametrize(
    ("change", "what"),
    [
        ({"lead_mm": 412.5}, "lead 412.5 (float)"),
        ({"diameter_mm": 50.0}, "diameter 50.0 (float)"),
        ({"tilt_deg": 30.0}, "tilt 30.0 (float)"),
    ],
)
def test_a_wanted_lead_is_exact(change, what):
    with pytest.raises(GearsearchError) as caught:
        Part(**{"lead_mm": Fraction(100), "how": "as given", **change})
    assert str(caught.value) == (
        f"{what} is not an exact number\nhelp: use an int or a Fraction, as parse_length('412.5 mm') gives"
    )


@pytest.mark.parametrize("form", ["1%", "0.05mm", "0.02mm over 5mm", "0.1deg over 5mm", "0.05mm around over 5mm"])
def test_a_tolerance_of_a_cam_is_one_of_its_lead_and_is_told_of_the_gears(form):
    """The geared leads are those of the work × the same share; with the head upright they are the same."""
    plain = part(lead="24mm").at(Fraction(80))
    cam, tolerance = plain.tilted(30), Tolerance.parse(form)
    assert replace(plain, tolerance=tolerance).allowed_mm == tolerance.interval(Fraction(24), Fraction(80))
    assert replace(cam, tolerance=tolerance).allowed_mm == tuple(
        2 * lead for lead in replace(plain, tolerance=tolerance).allowed_mm
    )


def test_a_helix_tolerance_of_a_cam_is_refused():
    cam = part(lead="24mm").at(Fraction(80)).tilted(30)
    with pytest.raises(GearsearchError, match=r"^tolerance '0.05deg helix' is one of a helix angle, and a cam, which"):
        replace(cam, tolerance=Tolerance.parse("0.05deg helix"))


def test_a_cam_has_a_tilt_that_makes_a_train_exact_and_no_helix():
    plain = part(lead="24 mm").at(Fraction(40))
    cam = plain.tilted("30")
    assert (plain.helix_diameter_mm, cam.helix_diameter_mm) == (40, None)
    assert plain.exact_tilt_deg(Fraction(48)) is None
    assert cam.exact_tilt_deg(Fraction(48)) == pytest.approx(30)
    assert cam.exact_tilt_deg(cam.work_lead_mm) == 90
    assert cam.exact_tilt_deg(cam.work_lead_mm - 1) is None


def test_a_gear_has_its_teeth_to_index_and_anything_else_its_starts():
    gear = part(teeth=23, helix_angle=15, gear_module=2)
    assert (gear.divisions, part(lead="24 mm", starts=3).divisions) == (23, 3)


def test_gears_are_the_same_however_their_teeth_were_given():
    plain = HelicalGear(Fraction(127, 100), 23, Fraction(15))
    by_pitch = part(teeth=23, helix_angle=15, gear_dp=20).gear
    assert plain == by_pitch
    assert (plain.module_words, by_pitch.module_words) == ("normal module 1.27 mm", "normal diametral pitch 20")


@pytest.mark.parametrize("tilt", ["0.5", "17", "30", "44.9", "80", "90"])
@pytest.mark.parametrize("text", ["+0.1/-0mm", "+0/-0.1mm", "0.1%", "+0.1/-0mm over 60mm", "+0/-1deg over 5mm"])
def test_what_will_do_for_a_cam_always_holds_the_lead_that_is_geared(tilt, text):
    """A search refuses leads that do not hold the wanted one: a tilt, or a tolerance of one side, must make none."""
    wanted = part(rise="1.37mm", per="5.8").tilted(tilt)
    low, high = replace(wanted, tolerance=Tolerance.parse(text)).allowed_mm
    assert low <= wanted.lead_mm <= high
    assert low < high


def test_whole_numbers_make_no_floats():
    wanted = Part(400, "as asked", diameter_mm=50, starts=3)
    assert (wanted.pitch_mm, type(wanted.pitch_mm)) == (Fraction(400, 3), Fraction)
    assert Figures(400, 401, 60, 50).error == Fraction(1, 400)
