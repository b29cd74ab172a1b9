"""Thousandths of an inch per foot: a share of the lead by its own name."""

from fractions import Fraction

import pytest

from gearsearch.base.errors import GearsearchError
from gearsearch.work.asking import part
from gearsearch.work.tolerance import Tolerance


@pytest.mark.parametrize("text", ["2 thou/ft", "2thou/ft", "2 thou per foot", "±0.002 in / ft", "0.002in/foot"])
@pytest.mark.parametrize("unit", ["mm", "in"])
def test_two_thousandths_per_foot_are_one_in_six_thousand(text, unit):
    tolerance = Tolerance.parse(text, unit)
    assert (tolerance.less, tolerance.more) == (Fraction(1, 6000),) * 2
    assert part(lead=600, tolerance=text).interval_mm == (Fraction(5999, 10), Fraction(6001, 10))


def test_it_may_have_two_sides():
    tolerance = Tolerance.parse("+3/-0 thou/ft")
    assert (tolerance.less, tolerance.more) == (0, Fraction(1, 4000))


@pytest.mark.parametrize("text", ["0 thou/ft", "7 in/ft", "x thou/ft", '30"/ft', "+2 thou/ft", "2/ft"])
def test_what_is_none_is_refused_with_what_would_do(text):
    with pytest.raises(GearsearchError) as caught:
        Tolerance.parse(text)
    assert caught.value.remedy


def test_other_rates_stay_what_they_are():
    assert Tolerance.parse("0.5mm/m").form == Tolerance.parse("0.002 in/in").form == "share"
