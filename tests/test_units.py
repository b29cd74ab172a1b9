"""Quantities: what drawings and plates write is read exactly, printed, and read back."""

import math
import time
from decimal import Decimal
from fractions import Fraction

import mpmath
import numpy as np
import pint
import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from refusals import refused
from slow import in_lots

from gearsearch.base import units
from gearsearch.base.errors import UnitError

finite_lengths = st.fractions(Fraction(1, 10**5), Fraction(10**8), max_denominator=10**6)
REGISTRY = pint.UnitRegistry(non_int_type=Fraction)
angles = st.fractions(-1000, 1000, max_denominator=10**6)


@pytest.mark.parametrize(
    ("text", "unit", "mm"),
    [
        ("412.5 mm", "mm", "412.5"),
        ("412.5mm", "in", "412.5"),
        ("412.5", "mm", "412.5"),
        ("3 3/8 in", "mm", "85.725"),
        ("3-3/8 in", "mm", "85.725"),
        ('3 3/8"', "mm", "85.725"),
        ("3⅜″", "mm", "85.725"),
        ("3 ⅜ in", "mm", "85.725"),
        ("1-1/4 in", "mm", "31.75"),
        ("1/2 in", "mm", "12.7"),
        ("½ in", "mm", "12.7"),
        ('0.25"', "mm", "6.35"),
        (".25in", "mm", "6.35"),
        ("0.25", "in", "6.35"),
        ("1/4", "in", "6.35"),
        ("5 inches", "mm", "127"),
        ("3.5 in.", "mm", "88.9"),
        ("0.25''", "mm", "6.35"),
        ("+0.25 IN", "mm", "6.35"),
        ("12 thou", "mm", "0.3048"),
        ("1 m", "mm", "1000"),
        ("2 cm", "mm", "20"),
        ("30 µm", "mm", "0.03"),
        ("1e2 mm", "mm", "100"),
        (" 7\u00a0mm ", "mm", "7"),
        (6, "mm", "6"),
        (6, "in", "152.4"),
        (0.1, "mm", "0.1"),
        (Decimal("0.1"), "mm", "0.1"),
        (Fraction(1, 8), "in", "3.175"),
        (np.int64(6), "in", "152.4"),
        (np.float32(0.1), "mm", "0.1"),
        ("0.000001 mm", "mm", "0.000001"),
        ("1000000000 mm", "in", "1000000000"),
    ],
)
def test_lengths_read_as_drawings_write_them(text, unit, mm):
    assert units.parse_length(text, unit) == Fraction(mm)


@pytest.mark.parametrize(
    ("text", "mm"),
    [
        ("13 tpi", Fraction(127, 65)),
        ("13tpi", Fraction(127, 65)),
        ("4 1/2 threads per inch", Fraction(254, 45)),
        ("11½ TPI", Fraction(127 * 2, 5 * 23)),
        ("10/in", Fraction(127, 50)),
        ('10/"', Fraction(127, 50)),
        ("10 T.P.I.", Fraction(127, 50)),
        ("10 threads to the inch", Fraction(127, 50)),
        ("10 thds per 1 in.", Fraction(127, 50)),
        ("3/8 tpi", Fraction(1016, 15)),
        ("4 turns per inch", Fraction(127, 20)),
        ("1.5 mm", Fraction(3, 2)),
        ("1/4 in", Fraction(127, 20)),
        ("0.8", Fraction(4, 5)),
    ],
)
def test_pitches_read_as_plates_write_them(text, mm):
    assert units.parse_pitch(text) == mm


@pytest.mark.parametrize(
    ("text", "degrees"),
    [
        ("17.75", Fraction(71, 4)),
        ("17.75°", Fraction(71, 4)),
        ("-1000000", Fraction(-(10**6))),
        ("17.75 deg", Fraction(71, 4)),
        ("17°45'", Fraction(71, 4)),
        ("17° 45′", Fraction(71, 4)),
        ("17d45m", Fraction(71, 4)),
        ("17 deg 45 min", Fraction(71, 4)),
        ("17°45'30\"", Fraction(2131, 120)),
        ("17d45m30s", Fraction(2131, 120)),
        ("17 degrees 45 minutes 30 seconds", Fraction(2131, 120)),
        ("540'", Fraction(9)),
        ("24 minutes", Fraction(2, 5)),
        ("30''", Fraction(1, 120)),
        ("2 1/2", Fraction(5, 2)),
        ("2 1/2°", Fraction(5, 2)),
        ("½ degree", Fraction(1, 2)),
        ("-5°30'", Fraction(-11, 2)),
        ("-0°30'", Fraction(-1, 2)),
        ("17°45.5'", Fraction(2131, 120)),
        ("45'30\"", Fraction(91, 120)),
        ("17d30s", Fraction(2041, 120)),
        ("17d45", Fraction(71, 4)),
        ("17° 5", Fraction(205, 12)),
        ("17°45.5", Fraction(2131, 120)),
        ("17°45'30", Fraction(2131, 120)),
        ("17d45m30", Fraction(2131, 120)),
        ("45'30", Fraction(91, 120)),
        ("30", Fraction(30)),
        ("0.29 turns", Fraction(522, 5)),
        ("29/100 turn", Fraction(522, 5)),
        (5.8, Fraction(29, 5)),
        (0, Fraction(0)),
    ],
)
def test_angles_read_in_decimals_and_in_minutes(text, degrees):
    assert units.parse_angle(text) == degrees


@pytest.mark.parametrize(
    ("text", "ratio"),
    [
        ("40", 40),
        ("40:1", 40),
        ("40 : 1", 40),
        ("40 to 1", 40),
        ("3/2", Fraction(3, 2)),
        ("1.5", Fraction(3, 2)),
        (60, 60),
    ],
)
def test_ratios_read_as_plates_write_them(text, ratio):
    assert units.parse_ratio(text) == ratio


@pytest.mark.parametrize(
    ("read", "text", "code"),
    [
        (units.parse_length, "0", "not-above-zero"),
        (units.parse_length, "-3 mm", "not-above-zero"),
        (units.parse_length, "nan", "out-of-limits"),
        (units.parse_length, "1e999999", "out-of-limits"),
        (units.parse_length, "/4 in", "unreadable"),
        (units.parse_length, "412.5.3", "unreadable"),
        (units.parse_length, "1 000 mm", "unreadable"),
        (units.parse_length, "13 tpi", "wrong-unit"),
        (units.parse_length, "", "unreadable"),
        (units.parse_length, "5 furlong", "wrong-unit"),
        (units.parse_length, "412,5", "comma"),
        (units.parse_length, "1e30", "out-of-limits"),
        (units.parse_length, "1e-30 mm", "out-of-limits"),
        (units.parse_length, math.inf, "out-of-limits"),
        (units.parse_length, True, "unreadable"),
        (units.parse_length, "1/0 in", "unreadable"),
        (units.parse_length, "9" * 5000, "unreadable"),
        (units.parse_pitch, "infinity tpi", "out-of-limits"),
        (units.parse_pitch, "1e30 tpi", "out-of-limits"),
        (units.parse_pitch, "0 tpi", "not-above-zero"),
        (units.parse_angle, "17°75'", "unreadable"),
        (units.parse_angle, "17 45", "unreadable"),
        (units.parse_angle, "17.5°30'", "unreadable"),
        (units.parse_angle, "17°1.5'30\"", "unreadable"),
        (units.parse_angle, "nan", "out-of-limits"),
        (units.parse_angle, "17°60'", "unreadable"),
        (units.parse_angle, "17d5m60s", "unreadable"),
        (units.parse_angle, "steep", "unreadable"),
        (units.parse_angle, "1000000.1", "out-of-limits"),
        (units.parse_ratio, "0", "out-of-limits"),
        (units.parse_ratio, "1e10", "out-of-limits"),
        (units.parse_ratio, "40 mm", "unreadable"),
        (units.parse_ratio, "40:0", "unreadable"),
        (units.parse_ratio, "1:2:3", "unreadable"),
        (units.parse_pitch, "coarse", "unreadable"),
        (units.parse_pitch, "0 mm", "not-above-zero"),
        (units.parse_pitch, "-2 tpi", "not-above-zero"),
        (units.parse_length, "5 %", "unreadable"),
        (units.parse_length, "+∞", "out-of-limits"),
        (units.parse_ratio, "inf", "out-of-limits"),
        (units.parse_ratio, "-1", "out-of-limits"),
        (units.parse_angle, "3 tons", "unreadable"),
        (units.parse_angle, "5'60\"", "unreadable"),
    ],
)
def test_what_cannot_be_read_says_what_would_do(read, text, code):
    with refused(code, units.shown(text)):
        read(text)


@pytest.mark.parametrize("read", [units.parse_length, units.parse_pitch, units.parse_angle, units.parse_ratio])
@pytest.mark.parametrize(
    "text",
    [
        "9" * 100_000,
        "1e999999999",
        "1/" + "3" * 100_000,
        "\u0663 mm",
        "x" * 10**6,
        "nan",
        10**5000,
        Fraction(10**5000 + 1, 10**5000),
        Decimal("1e999999"),
        Decimal("1e-999999"),
        Decimal("1" * 5000),
        Decimal("0." + "1" * 5000),
        Decimal("sNaN"),
        -math.inf,
        True,
        None,
        b"5",
    ],
    ids=range(17),
)
def test_absurd_input_is_refused_at_once(read, text):
    start = time.monotonic()
    with pytest.raises(UnitError):
        read(text)
    assert time.monotonic() - start < 1


@given(st.text(max_size=80))
@example("1 1/2 1/2 in")
@example("1/2/3")
def test_no_text_gives_anything_but_a_quantity_or_our_own_error(text):
    for read in (units.parse_length, units.parse_pitch, units.parse_angle, units.parse_ratio):
        try:
            amount = read(text)
        except UnitError:
            continue
        assert isinstance(amount, Fraction)


@given(finite_lengths, st.sampled_from(["mm", "in"]))
def test_a_printed_length_reads_back_exactly(mm, unit):
    assert units.parse_length(units.text_of_length(mm, unit)) == mm


@given(angles)
def test_a_printed_angle_reads_back_exactly(angle):
    assert units.parse_angle(units.text_of_angle(angle)) == angle


@given(finite_lengths, st.sampled_from(["mm", "in"]))
def test_a_length_as_people_read_it_is_right_to_its_last_digit(mm, unit):
    text = units.format_length(mm, unit)
    half_a_digit = Fraction(1, 2 * 10 ** len(text.split()[0].split(".")[1]))
    value = mm / units.INCH_MM if unit == "in" else mm
    assert abs(Fraction(text.split()[0]) - value) <= half_a_digit
    assert "e" not in text


@given(st.integers(1, 10**6), st.sampled_from(["mm", "cm", "m", "in", "µm"]))
def test_pint_agrees_about_every_unit_of_length(amount, unit):
    expected = REGISTRY.Quantity(Fraction(amount, 1000), unit).to("mm").magnitude
    text = f"{amount / 1000:.3f} {unit}"
    try:
        assert units.parse_length(text) == expected
    except UnitError:
        assert not units.LEAST_MM <= expected <= units.GREATEST_MM


@given(st.fractions(Fraction(1, 64), 1000, max_denominator=64))
def test_pint_agrees_about_threads_per_inch(threads):
    expected = (1 / REGISTRY.Quantity(threads, "1/inch")).to("mm").magnitude
    assert units.parse_pitch(f"{threads} tpi") == expected


@given(st.integers(0, 720), st.integers(0, 59), st.integers(0, 5999))
def test_pint_agrees_about_degrees_minutes_and_seconds(degrees, minutes, hundredths):
    parts = ((degrees, "degree"), (minutes, "arcminute"), (Fraction(hundredths, 100), "arcsecond"))
    expected = sum(REGISTRY.Quantity(Fraction(size), unit).to("degree").magnitude for size, unit in parts)
    seconds = f"{hundredths // 100}.{hundredths % 100:02d}"
    assert units.parse_angle(f"{degrees}°{minutes}′{seconds}″") == expected
    assert units.parse_angle(f"{degrees}d{minutes}m{seconds}s") == expected
    assert units.parse_angle(f"{degrees}d{minutes}m{seconds}") == expected


@given(st.fractions(Fraction(1, 10**9), Fraction(90) - Fraction(1, 10**9)))
def test_an_angle_as_people_read_it_says_the_same_in_both_writings(angle):
    decimal, sexagesimal = units.format_angle(angle).rstrip(")").split(" (")
    places = len(decimal.rstrip("°").split(".")[1])
    half_a_digit = Fraction(1, 2 * 10**places)
    assert abs(units.parse_angle(decimal) - angle) <= half_a_digit
    assert abs(units.parse_angle(sexagesimal) - angle) <= half_a_digit
    assert units.parse_angle(decimal) not in (0, 90)


def test_a_lead_with_pi_in_it_reads_back_exactly():
    lead = units.PI * 50 / units.tan_deg(Fraction(20))
    assert units.parse_length(units.text_of_length(lead)) == lead


@given(st.fractions(Fraction(1, 10**6), Fraction(90) - Fraction(1, 10**6)))
@example(Fraction(1, 10**9))
@example(Fraction(90) - Fraction(1, 10**9))
@example(Fraction(45))
@example(Fraction(30))
@example(Fraction(60))
def test_tan_sin_and_cos_are_right_to_one_part_in_ten_to_the_15(angle):
    with mpmath.workdps(40):
        exact = mpmath.mpf(angle.numerator) / angle.denominator * mpmath.pi / 180
        for ours, judge in ((units.tan_deg, mpmath.tan), (units.sin_deg, mpmath.sin), (units.cos_deg, mpmath.cos)):
            value = ours(angle)
            assert abs(mpmath.mpf(value.numerator) / value.denominator / judge(exact) - 1) < 1e-15


def test_only_the_simplest_angles_have_an_exact_tangent_or_sine():
    assert units.tan_deg(Fraction(45)) == units.sin_deg(Fraction(90)) == units.cos_deg(Fraction(0)) == 1
    assert units.sin_deg(Fraction(30)) == units.cos_deg(Fraction(60)) == Fraction(1, 2)
    assert units.tan_deg(Fraction(60)) ** 2 != 3  # a float's, however near


def test_a_right_angle_has_no_tangent():
    with pytest.raises(UnitError) as caught:
        units.tan_deg(Fraction(90))
    assert str(caught.value) == "90° has no tangent\nhelp: give an angle below 90°"


def test_pi_is_right_to_50_decimals():
    with mpmath.workdps(70):
        assert abs(mpmath.mpf(units.PI.numerator) / units.PI.denominator - mpmath.pi) < mpmath.mpf(10) ** -50


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (units.format_length(Fraction(825, 2)), "412.500 mm"),
        (units.format_both(Fraction(825, 2)), "412.500 mm (16.2402 in)"),
        (units.format_both(Fraction(825, 2), "in"), "16.2402 in (412.500 mm)"),
        (units.format_length(Fraction(12, 1000), signed=True), "+0.012 mm"),
        (units.format_length(Fraction(-12, 1000), signed=True), "-0.012 mm"),
        (units.format_length(Fraction(123, 10**7)), "0.000012 mm"),
        (units.format_length(Fraction(0)), "0.000 mm"),
        (units.format_angle(Fraction(71, 4)), "17.750° (17°45′00″)"),
        (units.format_angle(Fraction(-1, 2)), "-0.500° (-0°30′00″)"),
        (units.format_angle(Fraction(3599999, 60000)), "60.000° (60°00′00″)"),
        (units.format_angle(Fraction(90) - Fraction(1, 10**5)), "89.999990° (89°59′59.964″)"),
        (units.format_angle(Fraction(-1, 2000)), "-0.00050° (-0°00′01.80″)"),
        (units.format_angle(Fraction(90)), "90.000° (90°00′00″)"),
        (units.format_ppm(Fraction(29, 10**6)), "+29.0 ppm"),
        (units.format_ppm(Fraction(29, 10**6), 2), "+29.000 ppm"),
        (units.format_ppm(Fraction(0)), "0 ppm"),
        (units.format_ppm(Fraction(1, 10**12)), "+0.0000010 ppm"),
        (units.format_ppm(Fraction(1, 1000)), "+0.100 %"),
        (units.format_ppm(Fraction(-1, 10**7)), "-0.100 ppm"),
        (units.format_ppm(Fraction(-1, 100)), "-1.000 %"),
        (units.decimals(Fraction(5, 2), 0), "2"),
        (units.text_of_length(Fraction(1, 3)), "1/3 mm"),
        (units.text_of_length(Fraction(127, 10), "in"), "0.5 in"),
    ],
)
def test_quantities_print_as_people_read_them(value, text):
    assert value == text


@pytest.mark.parametrize(
    ("unit", "mm"),
    [
        ("mm", 1),
        ("millimetre", 1),
        ("millimetres", 1),
        ("millimeter", 1),
        ("millimeters", 1),
        ("cm", 10),
        ("m", 1000),
        ("µm", Fraction(1, 1000)),
        ("um", Fraction(1, 1000)),
        ("in", Fraction(127, 5)),
        ("inch", Fraction(127, 5)),
        ("inches", Fraction(127, 5)),
        ("ins", Fraction(127, 5)),
        ('"', Fraction(127, 5)),
        ("thou", Fraction(127, 5000)),
    ],
)
def test_every_name_of_a_unit_of_length_is_known(unit, mm):
    assert units.parse_length(f"2 {unit}") == 2 * mm


@pytest.mark.parametrize(
    "words",
    [
        "tpi",
        "t.pi",
        "tp.i",
        "t.p.i.",
        "t/in",
        "th per inch",
        "thd per inch",
        "thds per inch",
        "thread per inch",
        "threads per inch",
        "turn per inch",
        "turns per inch",
        "per inch",
        "/in",
        '/"',
        "per 1 inch",
        "per 1inch",
        "threads to an inch",
        "threads to one inch",
        "threads to the inch",
    ],
)
def test_every_way_to_say_threads_per_inch_is_known(words):
    assert units.parse_pitch(f"10 {words}") == units.parse_pitch(f"10{words}") == Fraction(127, 50)


@pytest.mark.parametrize("words", ["tppi", "t..p.i", "threadss per inch", "per  11 in", "to inch"])
def test_what_only_looks_like_threads_per_inch_is_refused(words):
    with pytest.raises(UnitError):
        units.parse_pitch(f"10 {words}")


@pytest.mark.parametrize(
    ("one", "part"),
    [
        ("° degree degrees deg degs d", 1),
        ("' minute minutes min mins m", Fraction(1, 60)),
        ('" second seconds sec secs s', Fraction(1, 3600)),
        ("turn turns rev revs revolution revolutions", 360),
    ],
)
def test_every_name_of_a_part_of_an_angle_is_known(one, part):
    for name in one.split():
        for text in (f"3 {name}", f"3{name}", f"3/1 {name}"):
            assert units.parse_angle(text) == 3 * part


@pytest.mark.parametrize(
    ("text", "degrees"),
    [
        ("- 5 ° 30 ' 6 \"", -(5 + Fraction(30, 60) + Fraction(6, 3600))),
        ("+5°30'6\"", 5 + Fraction(30, 60) + Fraction(6, 3600)),
        ("5°59'59.9\"", 5 + Fraction(59, 60) + Fraction(599, 36000)),
        ("5°59.9'", 5 + Fraction(599, 600)),
        ("60'", Fraction(1)),
        ('60"', Fraction(1, 60)),
        ("90'6\"", Fraction(90, 60) + Fraction(6, 3600)),
        ("5.'", Fraction(5, 60)),
        (".5'", Fraction(1, 120)),
        ("12°", Fraction(12)),
    ],
)
def test_signs_spaces_and_parts_of_minutes_are_read(text, degrees):
    assert units.parse_angle(text) == degrees


@pytest.mark.parametrize(
    ("text", "mm"),
    [
        ("- 3 mm", None),
        ("+ 3 mm", 3),
        ("3 -3/8 in", None),
        ("3 1 / 2 in", Fraction(889, 10)),
        ("3  1/2 in", Fraction(889, 10)),
        ("11/2 in", Fraction(1397, 10)),
        ("2⁄5 mm", Fraction(2, 5)),
        ("1¼ in", Fraction(127, 4)),
        ("2⅞ in", Fraction(2921, 40)),
        ("⅐ mm", Fraction(1, 7)),
        ("1¾ in", Fraction(889, 20)),
        ("5. mm", 5),
        ("1.5e+2 mm", 150),
        ("1.5e-2 mm", Fraction(3, 200)),
        ("3\tmm", 3),
        ("0.5’’", Fraction(127, 10)),
        ("0.5“", Fraction(127, 10)),
    ],
)
def test_lengths_with_odd_spaces_signs_and_marks(text, mm):
    if mm is None:
        with pytest.raises(UnitError):
            units.parse_length(text)
    else:
        assert units.parse_length(text) == mm


def test_limits_are_kept_to_the_last_part():
    assert units.parse_ratio("0.000000001") == Fraction(1, 10**9)
    assert units.parse_ratio("1000000000") == 10**9
    assert units.parse_ratio("1:1000000000") == Fraction(1, 10**9)
    assert units.parse_angle(10**6) == 10**6
    for read, value in (
        (units.parse_ratio, "0.0000000009999"),
        (units.parse_ratio, "1000000000.1"),
        (units.parse_length, "0.0000009999"),
        (units.parse_length, "1000000000.1"),
        (units.parse_angle, -(10**6) - Fraction(1, 10)),
    ):
        with pytest.raises(UnitError):
            read(value)


def test_a_text_may_be_a_thousand_characters_long():
    assert units.parse_length("1." + "0" * 995 + " mm") == 1
    with refused("unreadable"):
        units.parse_length("1." + "0" * 996 + " mm")


def test_a_power_of_ten_has_four_characters_at_most():
    assert units.parse_length("1e0002 mm") == 100
    assert units.parse_length("1e-002 mm") == Fraction(1, 100)
    with refused("out-of-limits"):
        units.parse_length("1e00002 mm")


def test_numbers_of_python_have_as_many_digits_as_can_be_worked_with_at_once():
    longest = 2**4000 - 1
    assert units.parse_ratio(Fraction(longest, 2**3999)) == Fraction(longest, 2**3999)
    assert units.parse_ratio(Fraction(2**3999, longest)) == Fraction(2**3999, longest)
    for ratio in (Fraction(2**4000, longest), Fraction(longest, 2**4000)):
        with refused("out-of-limits"):
            units.parse_ratio(ratio)
    assert units.parse_angle(Decimal("1." + "0" * 999)) == 1
    assert units.parse_angle(Decimal("0." + "0" * 8 + "1" + "0" * 990)) == Fraction(1, 10**9)
    with refused("out-of-limits"):
        units.parse_angle(Decimal("1e-999"))
    for digits in ("1." + "0" * 1000, "1e-1000", "1e1000"):
        with refused("out-of-limits"):
            units.parse_angle(Decimal(digits))
    with refused("out-of-limits"):
        units.parse_angle(Decimal("1e999"))
    with refused("out-of-limits"):
        units.parse_angle(-longest)
    with refused("out-of-limits"):
        units.parse_angle(-(2**4000))


def test_a_message_shows_sixty_characters_and_no_more():
    assert units.shown("x" * 58) == f"'{'x' * 58}'"
    assert units.shown("x" * 59) == f"'{'x' * 58}…"
    assert units.shown(Fraction(1, 3)) == "1/3"
    assert units.shown(10**5000) == "a number of thousands of digits"


def test_a_quantity_is_called_what_it_is_and_its_unit_named():
    for read, what in (
        (units.parse_length, "length"),
        (units.parse_pitch, "pitch"),
        (units.parse_angle, "angle"),
        (units.parse_ratio, "ratio"),
    ):
        with refused("unreadable", f"{what} 'x'"):
            read("x")
        with refused("unreadable", "the thing 'x'"):
            read("x", what="the thing")
    for read in (units.parse_length, units.parse_pitch):
        assert read("1") == 1
        assert read("1", "in") == Fraction(127, 5)
        with refused("unreadable", "in without a unit"):
            read("x", "in")


def test_the_cosine_of_an_angle_is_that_of_its_size():
    assert units.cos_deg(Fraction(-60)) == units.cos_deg(Fraction(60)) == Fraction(1, 2)


def test_degrees_and_radians_undo_each_other():
    assert units.radians(Fraction(180)) == math.pi
    assert units.degrees(math.pi) == Fraction(math.pi) * 180 / units.PI
    assert abs(units.degrees(units.radians(Fraction(17))) - 17) < Fraction(1, 10**14)


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (units.format_length(Fraction(0), signed=True), "0.000 mm"),
        (units.format_length(Fraction(1, 100)), "0.010 mm"),
        (units.format_length(Fraction(9, 1000)), "0.0090 mm"),
        (units.format_length(Fraction(-9, 1000)), "-0.0090 mm"),
        (units.format_length(Fraction(127, 5) / 1000, "in"), "0.0010 in"),
        (units.format_length(Fraction(1, 10**12)), "0.0000000000010 mm"),
        (units.format_length(Fraction(7, 2), digits=0), "4 mm"),
        (units.format_length(Fraction(-7, 2), digits=0), "-4 mm"),
        (units.format_length(Fraction(127, 10), "in", digits=2), "0.50 in"),
        (units.format_angle(Fraction(0)), "0.000° (0°00′00″)"),
        (units.format_angle(Fraction(1, 100)), "0.010° (0°00′36″)"),
        (units.format_angle(Fraction(-1, 7 * 10**10)), "-0.000000000014° (-0°00′00.000000051″)"),
        (units.format_angle(Fraction(1799, 1800)), "0.999° (0°59′58″)"),
        (units.format_angle(Fraction(-91)), "-91.000° (-91°00′00″)"),
        (units.format_angle(Fraction(-90) + Fraction(1, 2000)), "-89.99950° (-89°59′58.20″)"),
        (units.format_angle(Fraction(65, 3600)), "0.018° (0°01′05″)"),
        (units.format_ppm(Fraction(1, 10**6)), "+1.0 ppm"),
        (units.format_ppm(Fraction(9999, 10**7)), "+999.9 ppm"),
        (units.format_ppm(Fraction(99, 10**8)), "+0.990 ppm"),
        (units.format_ppm(Fraction(-1, 1000)), "-0.100 %"),
        (units.decimals(Fraction(-1, 4), 1), "-0.2"),
        (units.decimals(Fraction(-1, 40), 1), "0.0"),
        (units.text_of_length(Fraction(1, 10**18)), "0.000000000000000001 mm"),
        (units.text_of_length(Fraction(1, 10**19)), f"1/{10**19} mm"),
        (units.text_of_length(Fraction(1, 8)), "0.125 mm"),
        (units.text_of_length(Fraction(1, 25)), "0.04 mm"),
        (units.text_of_length(Fraction(6)), "6 mm"),
        (units.text_of_length(Fraction(127, 5), "in"), "1 in"),
        (units.text_of_angle(Fraction(71, 4)), "17.75°"),
    ],
)
def test_quantities_print_to_the_digit_that_says_something(value, text):
    assert value == text


@in_lots(range(1, 90), lots=3)
def test_whole_degrees_are_right_to_one_part_in_ten_to_the_15(angle):
    with mpmath.workdps(40):
        exact = mpmath.mpf(angle) * mpmath.pi / 180
        for ours, judge in ((units.tan_deg, mpmath.tan), (units.sin_deg, mpmath.sin), (units.cos_deg, mpmath.cos)):
            value = ours(Fraction(angle))
            assert abs(mpmath.mpf(value.numerator) / value.denominator / judge(exact) - 1) < 1e-15


@pytest.mark.parametrize(
    ("text", "mm"),
    [
        ("30 μm", Fraction(3, 100)),
        ("3″", Fraction(381, 5)),
        ("3”", Fraction(381, 5)),
        ("3“", Fraction(381, 5)),
        ("3''", Fraction(381, 5)),
        ("3′′", Fraction(381, 5)),
        ("3’’", Fraction(381, 5)),
        ("3‘‘", Fraction(381, 5)),
        ("1−1/4 in", Fraction(127, 4)),
        ("1–1/4 in", Fraction(127, 4)),
        ("3¼ in", Fraction(1651, 20)),
        ("3½ in", Fraction(889, 10)),
        ("3¾ in", Fraction(381, 4)),
        ("3⅐ mm", Fraction(22, 7)),
        ("3⅞ in", Fraction(3937, 40)),
    ],
)
def test_every_mark_of_print_is_read_as_the_plain_one(text, mm):
    assert units.parse_length(text) == mm


@pytest.mark.parametrize("text", ["5º", "5˚", "5°0′", "5°0‘", "5°0’0″", "5°0'0“", "5°0'0”", "−−5"])
def test_every_mark_of_an_angle_is_read_as_the_plain_one(text):
    if text.startswith("−−"):
        with pytest.raises(UnitError):
            units.parse_angle(text)
        assert units.parse_angle(text[1:]) == units.parse_angle(f"–{text[2:]}") == -5
    else:
        assert units.parse_angle(text) == 5


@pytest.mark.parametrize("text", ["d30m", "°30'", "-d5m"])
def test_a_mark_of_degrees_without_degrees_is_no_angle(text):
    with refused("unreadable"):
        units.parse_angle(text)


@pytest.mark.parametrize("text", ["5 mmX", "5 inX", "5 mm X"])
def test_a_letter_behind_a_unit_is_not_passed_over(text):
    with pytest.raises(UnitError):
        units.parse_length(text)


def test_a_ratio_too_small_is_told_the_limits_and_one_of_nothing_an_example():
    with pytest.raises(UnitError) as small:
        units.parse_ratio("1e-10")
    assert small.value.remedy == "give 0.000000001 to 1 000 000 000"
    with pytest.raises(UnitError) as nothing:
        units.parse_ratio("0")
    assert nothing.value.remedy == "write it as in 40, 40:1, 3/2 or 1.5"


@pytest.mark.parametrize(("text", "inches"), [("13/8 in", "13/8"), ("11/16 in", "11/16"), ("1 13/16 in", "29/16")])
def test_a_fraction_of_two_digits_is_not_parted(text, inches):
    assert units.parse_length(text) == Fraction(inches) * Fraction(127, 5)


@pytest.mark.parametrize("text", ["+-3/8 in", "5e mm", "5e", "5e+ mm"])
def test_signs_and_powers_are_whole(text):
    with pytest.raises(UnitError):
        units.parse_length(text)


@pytest.mark.parametrize("text", ["∞", "+∞", "-∞", "∞ mm"])
def test_the_mark_of_infinity_is_no_size(text):
    with refused("out-of-limits"):
        units.parse_length(text)


@pytest.mark.parametrize("text", ["0.000000001", "-0.000000001", "0", "1000000", "-1000000"])
def test_an_angle_may_be_nothing_or_of_a_size_that_can_be_set(text):
    assert units.parse_angle(text) == Fraction(text)


@pytest.mark.parametrize("text", ["0.0000000009", "-0.0000000009", "1e-400", '0.000001"'])
def test_an_angle_too_small_to_be_set_is_refused(text):
    with pytest.raises(UnitError) as caught:
        units.parse_angle(text)
    assert str(caught.value) == (
        f"angle {text!r} is less than 0.000000001 degrees, too little to be set or measured\n"
        "help: give 0.000000001 to 1 000 000 degrees"
    )


@pytest.mark.parametrize(
    ("text", "share"),
    [
        ("0.1%", Fraction(1, 1000)),
        (" .1 % ", Fraction(1, 1000)),
        ("1/2 percent", Fraction(1, 200)),
        ("200ppm", Fraction(1, 5000)),
        ("200 PPM", Fraction(1, 5000)),
        ("0.000000001 ppm", Fraction(1, 10**15)),
        ("1000000000%", Fraction(10**7)),
    ],
)
def test_a_share_is_read_in_percent_and_in_parts_in_a_million(text, share):
    assert units.parse_share(text) == share


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("0.001", "unreadable"),
        ("x%", "unreadable"),
        ("0%", "not-above-zero"),
        ("-1 ppm", "not-above-zero"),
        ("1e400%", "out-of-limits"),
        ("1e-400%", "out-of-limits"),
        ("1e99999999%", "out-of-limits"),
    ],
)
def test_what_is_no_share_is_refused_at_once(text, code):
    with refused(code, f"thin {text!r}"):
        units.parse_share(text, "thin")
    with refused(code, f"share {text!r}"):
        units.parse_share(text)


@pytest.mark.parametrize(
    ("value", "usual", "text"),
    [
        (Fraction(0), 2, "0.00"),
        (Fraction(1, 10), 2, "0.10"),
        (Fraction(-1, 10), 1, "-0.10"),
        (Fraction(94, 1000), 2, "0.094"),
        (Fraction(95, 1000), 2, "0.10"),
        (Fraction(7, 2), 0, "3.5"),
        (Fraction(35), 0, "35"),
        (Fraction(1, 30_000), 4, "0.000033"),
        (Fraction(-1, 3 * 10**30), 4, f"-0.{'0' * 30}33"),
    ],
)
def test_a_number_that_is_not_zero_shows_two_digits(value, usual, text):
    assert units.significant(value, usual) == text


@given(st.fractions(Fraction(1, 10**6), Fraction(10**6), max_denominator=10**6))
def test_a_share_reads_back_what_it_was_written_from(share):
    assert units.parse_share(units.text_of_share(share)) == share


def test_papers_have_the_sizes_of_their_standards():
    """A4: ISO 216. Letter: 8 1/2 by 11 inches (ANSI/ASME Y14.1, size A; from memory)."""
    assert list(units.PAPERS_MM) == ["A4", "Letter"]
    assert units.PAPERS_MM["A4"] == (210, 297)
    assert units.PAPERS_MM["Letter"] == pytest.approx((8.5 * 25.4, 11 * 25.4))
