"""Cams and angles against Practical Treatise on Milling and Milling Machines, Brown & Sharpe, 1914."""

from fractions import Fraction
from math import prod

from published_values import is_cut_to, published, rounds_to

from gearsearch.base.units import INCH_MM, parse_angle, parse_length, sin_deg
from gearsearch.work.asking import part
from gearsearch.work.tilt import tilt_for

BOOK = published("brown_sharpe_1914")
LOBE, GEARED = (parse_length(BOOK["cam_sine"][name]) for name in ("lobe", "geared"))


def test_the_sine_of_the_head_angle_is_as_printed_and_cut():
    sine = sin_deg(tilt_for(LOBE, GEARED))
    assert is_cut_to(sine, BOOK["cam_sine"]["printed_cut"]), BOOK["cam_sine"]


def test_the_head_angle_is_as_printed_to_the_minute():
    printed = parse_angle(BOOK["cam_angle"]["printed"])
    assert abs(tilt_for(LOBE, GEARED) - printed) <= Fraction(1, 120), BOOK["cam_angle"]


def test_a_head_set_to_its_graduation_cuts_the_lead_printed_from_the_lead_cut_to_three_figures():
    """.67 does not reproduce what is printed; .669, the same lead cut instead of rounded, does."""
    row = BOOK["cam_at_a_graduation"]
    sine = sin_deg(parse_angle(row["head"]))
    assert rounds_to(Fraction(".669") * sine, row["printed"]), row
    assert not rounds_to(Fraction(".67") * sine, row["printed"]), row


def test_the_lead_of_a_lobe_is_as_printed():
    row = BOOK["cam_lobe"]
    assert rounds_to(part(rise=row["rise"], per=row["arc"]).lead_mm / INCH_MM, row["printed"]), row


def test_a_geared_head_at_an_angle_cuts_the_cam_lead_printed():
    row = BOOK["cam_geared"]
    geared = 10 * INCH_MM * Fraction(prod(row["driven"]), prod(row["drivers"]))
    assert rounds_to(geared * sin_deg(parse_angle(row["head"])) / INCH_MM, row["printed"]), row
    wanted = part(lead=f"{row['printed']} in").tilted(row["head"])
    assert rounds_to(wanted.work_lead_mm / INCH_MM, row["printed"]), row
    assert abs(wanted.lead_mm / geared - 1) <= Fraction("0.00005") / Fraction(row["printed"]), row


def test_head_and_attachment_make_a_right_angle():
    row = BOOK["cam_geared"]
    assert parse_angle(row["head"]) + parse_angle(row["attachment"]) == 90


def test_one_turn_of_the_crank_is_as_many_degrees_and_minutes_as_printed():
    row = BOOK["crank_turn"]
    turn = parse_angle(f"1/{BOOK['head_ratio']} turn")
    assert turn == parse_angle(row["printed_degrees"]) == parse_angle(row["printed_minutes"]), row
