"""Hobs with spiral flutes against Franklin D. Jones, Turning and Boring, 1914."""

from fractions import Fraction

from published_values import published, rounds_to

from gearsearch.base.units import INCH_MM, PI, parse_length, parse_ratio
from gearsearch.shop.trains import Train
from gearsearch.work.asking import part

BOOK = published("jones_1914")


def test_a_flute_square_to_the_thread_has_the_lead_printed():
    """The flute's helix angle is the thread's lead angle, at the same diameter; C² / l is the short form."""
    row = BOOK["hob_flute"]
    around, thread_lead = (parse_length(row[name], "in") for name in ("circumference", "thread_lead"))
    thread = part(lead=thread_lead).at(around / PI)
    flute = part(helix_angle=thread.lead_angle_deg, diameter=thread.diameter_mm)
    assert rounds_to(flute.lead_mm / INCH_MM, row["printed"]), row
    assert abs(flute.lead_mm / (around**2 / thread_lead) - 1) < Fraction(1, 10**13)


def test_the_compensating_gears_are_as_printed():
    row = BOOK["compensating_gears"]
    r = parse_length(row["flute_lead"], "in") / parse_length(row["thread_lead"], "in")
    assert r == parse_ratio(row["r"]), row
    assert (r + 1) / r == parse_ratio(row["printed"]) == 1 / Train.parse(row["printed"]).ratio, row
