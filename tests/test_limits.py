"""Limits as they are printed: rounded inward, and never contradicting the verdict on what is held against them."""

import re
from fractions import Fraction

import pytest
from hypothesis import assume, example, given
from hypothesis import strategies as st

from gearsearch.base.units import parse_length
from gearsearch.work.limits import Limits, at_most

WANTED = Fraction("412.0876")
TENTH_OF_A_PERCENT = WANTED * Fraction(999, 1000), WANTED * Fraction(1001, 1000)


@pytest.mark.parametrize(
    ("interval", "unit", "words"),
    [
        (("399.95", "400.1"), "mm", "399.950 to 400.100 mm (-125.0 ppm to +250.0 ppm)"),
        (("399.985", "400"), "mm", "399.985 to 400.000 mm (-37.5 ppm to 0 ppm)"),
        (("400", "3000000"), "mm", "400.000 to 3000000.000 mm (0 ppm to +749900.000 %)"),
        (("399.999998", "400"), "mm", "399.9999980 to 400.000 mm (-0.0050 ppm to 0 ppm)"),
        (("399.9999", "400"), "in", "15.7480276 to 15.7480314 in (-0.250 ppm to 0 ppm)"),
        (("399.9504", "400.0996"), "mm", "399.951 to 400.099 mm (-124.0 ppm to +249.0 ppm)"),
        (("399.98504", "400.0098"), "mm", "399.986 to 400.009 mm (-37.4 ppm to +24.5 ppm)"),
        (("399.951", "400.0996"), "in", "15.7462 to 15.7519 in (-122.5 ppm to +249.0 ppm)"),
        (("0", "400.1"), "mm", "acceptable lead: up to 400.100 mm"),
        (("0", "400000000000"), "mm", "any lead is acceptable"),
        (("399.5", "400000000000"), "mm", "acceptable lead: 399.500 mm or longer"),
    ],
)
def test_the_leads_that_will_do_are_told_with_digits_enough_to_tell_them_apart(interval, unit, words):
    ends = tuple(map(Fraction, interval))
    assert Limits(ends, Fraction(400), unit=unit).words.removeprefix("acceptable lead: ") == words.removeprefix(
        "acceptable lead: "
    )
    assert Limits(ends, Fraction(400)) == Limits(ends, Fraction(400), (), "mm")


def test_a_lead_just_outside_is_seen_to_be_outside():
    """412.0876 mm and 0.1 % make 412.4996876 mm, which rounded to the nearest would read 412.500 mm."""
    lead = Fraction("412.5")
    limits = Limits(TENTH_OF_A_PERCENT, WANTED, (lead,))
    assert limits.words == "acceptable lead: 411.676 to 412.499 mm (-0.100 % to +0.100 %)"
    assert limits.lead(lead) == "412.500 mm (16.2402 in)"
    assert limits.relative(lead) == "+0.1001 %"


def test_a_lead_just_inside_is_seen_to_be_inside():
    lead = Fraction("412.4996")
    limits = Limits(TENTH_OF_A_PERCENT, WANTED, (lead,))
    assert limits.words == "acceptable lead: 411.67552 to 412.49968 mm (-0.100 % to +0.100 %)"
    assert limits.lead(lead) == "412.49960 mm (16.2401 in)"
    assert limits.relative(lead) == "+999.8 ppm"


def test_a_lead_at_the_limit_reads_like_it():
    limits = Limits(TENTH_OF_A_PERCENT, WANTED, TENTH_OF_A_PERCENT)
    assert limits.words == "acceptable lead: 411.6755124 to 412.4996876 mm (-0.100 % to +0.100 %)"
    assert [limits.relative(lead) for lead in TENTH_OF_A_PERCENT] == ["-0.100 %", "+0.100 %"]
    assert limits.lead(TENTH_OF_A_PERCENT[1]).startswith("412.4996876 mm ")


def test_a_limit_that_is_the_wanted_lead_is_rounded_inward_as_the_other_is():
    """Read like the wanted lead it would be 412.087 mm, and a lead of 412.0870 mm, which is outside, seem to be in."""
    assert Limits((WANTED, TENTH_OF_A_PERCENT[1]), WANTED).words.startswith("acceptable lead: 412.088 to 412.499 ")
    short = Fraction("412.0872")
    assert Limits((TENTH_OF_A_PERCENT[0], short), short).span.endswith(" to 412.087 mm")
    assert Limits((short, TENTH_OF_A_PERCENT[1]), short).span.startswith("412.088 to ")
    assert Limits((short, TENTH_OF_A_PERCENT[1]), short, (short,)).span.startswith("412.0872 to ")


def test_without_a_tolerance_a_lead_that_is_marked_is_seen_to_be_beyond_the_mark():
    assert Limits(None, Fraction(400)).relative(Fraction("400.4004")) == "+0.1001 %"
    assert Limits(None, Fraction(400)).relative(Fraction("399.5996")) == "-0.1001 %"
    assert Limits(None, Fraction(400)).relative(Fraction("400.4")) == "+0.100 %"
    assert Limits(None, Fraction(400)).relative(Fraction("400.399999")) == "+999.998 ppm"


def test_how_far_they_reach_is_one_figure_where_both_sides_are_alike():
    wanted = Fraction(400)
    assert Limits((Fraction("399.8"), Fraction("400.2")), wanted).share == "within 500.0 ppm of"
    assert Limits((Fraction("399.99999"), Fraction("400.00001")), wanted).share == "within 0.025 ppm of"
    assert Limits((Fraction("399.8"), Fraction(400)), wanted).share == "-500.0 ppm to 0 ppm off"


def printed(text):
    return parse_length(re.match(r"[0-9.]+ (?:mm|in)", text)[0])


def error(text):
    size, unit = text.split()
    return Fraction(size) / {"ppm": 10**6, "%": 100}[unit]


near = st.fractions(Fraction(-1, 50), Fraction(1, 50), max_denominator=10**5)


@given(
    st.fractions(1, 2000, max_denominator=10**4),
    st.tuples(near, near, near),
    st.fractions(Fraction(-1, 10**4), Fraction(1, 10**4), max_denominator=10**8),
    st.sampled_from(["mm", "in"]),
)
@example(WANTED, (Fraction(-1, 1000), Fraction(1, 1000), Fraction(1, 1000)), Fraction(1, 10**7), "mm")
def test_what_is_printed_has_the_verdict_of_what_is_exact(wanted, shares, aside, unit):
    low, high = -abs(shares[0]), abs(shares[1])
    assume(low and high)
    interval = wanted * (1 + low), wanted * (1 + high)
    leads = wanted * (1 + shares[2]), wanted * (1 + high + aside), wanted * (1 + low + aside)
    assume(all(lead == end or abs(lead / end - 1) > Fraction(1, 10**8) for lead in leads for end in interval))
    limits = Limits(interval, wanted, leads, unit)
    told = re.fullmatch(r"acceptable lead: (.*) to (.*) \((.*) to (.*)\)", limits.words)
    ends, errors = [printed(f"{told[1]} {unit}"), printed(told[2])], [error(told[3]), error(told[4])]
    assert interval[0] <= ends[0] <= ends[1] <= interval[1]
    assert low <= errors[0] <= errors[1] <= high
    for lead in leads:
        if lead in interval:
            continue
        inside = interval[0] < lead < interval[1]
        assert (ends[0] < printed(limits.lead(lead)) < ends[1]) == inside
        assert (errors[0] < error(limits.relative(lead)) < errors[1]) == inside


def test_a_length_that_is_a_limit_is_rounded_down():
    assert at_most(Fraction("91.68667")) == "91.686 mm"
    assert at_most(Fraction("91.68667"), "in") == "3.6097 in"
    assert at_most(Fraction(1, 300_000)) == "0.0000033 mm"
    assert at_most(Fraction(80)) == "80.000 mm"
    assert at_most(Fraction(0)) == "0.000 mm"


@pytest.mark.parametrize("wanted", [Fraction(1000, 7), Fraction(2000, 3)])
@pytest.mark.parametrize("room", [Fraction(1, 10), Fraction(4, 10000), Fraction(3, 10**7)])
def test_a_one_sided_tolerance_is_never_printed_wider_than_it_is_at_its_own_end(wanted, room):
    for low, high in ((wanted, wanted + room), (wanted - room, wanted)):
        shortest, longest = (Fraction(end.split()[0]) for end in Limits((low, high), wanted).span.split(" to "))
        assert low <= shortest <= longest <= high
