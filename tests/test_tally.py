"""The numbered divisions: every hole where the pin must stand, counted by turning the crank hole by hole."""

from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gearsearch.base.units import parse_angle
from gearsearch.search.check import check
from gearsearch.search.terms import Terms
from gearsearch.sheet.tally import FEWEST_ROWS, MOST_ROWS, tally_of
from gearsearch.shop.reader import demo_shop
from gearsearch.shop.trains import Train
from gearsearch.work.asking import part

TRAIN = Train.parse("80/44 48/100")


def tally(starts, route=None, train=TRAIN):
    return tally_of(check(demo_shop(), train, replace(part(lead="412.5"), starts=starts), Terms(route=route)))


@given(st.integers(FEWEST_ROWS, MOST_ROWS))
def test_the_pin_stands_where_turning_hole_by_hole_brings_it(starts):
    """A 60:1 head: each division is 60 / starts turns; with the exact circle each is a whole number of holes."""
    found = tally(starts)
    exact = [n for n in demo_shop().dividing.circles if (60 * n) % starts == 0]
    if not exact:
        assert found is None
        return
    circle = (
        int(found.table.headings[2].short.rpartition(" ")[2]) if "of the" in found.table.headings[2].short else None
    )
    step = 60 * (circle or 1) // starts
    pin, expected = 0, []
    for _ in range(starts + 1):
        expected.append(pin % circle if circle else pin)
        pin += step
    assert [int(row[2]) for row in found.table.rows] == expected
    assert expected[-1] == (0 if circle else 60)


@given(st.integers(FEWEST_ROWS, MOST_ROWS))
def test_every_division_stands_at_its_exact_angle(starts):
    found = tally(starts)
    for number, row in enumerate(found.table.rows if found else ()):
        assert abs(parse_angle(row[1]) - Fraction(360 * number, starts)) <= Fraction(1, 2000)


def test_on_the_spindle_the_teeth_of_the_last_gear_are_counted():
    found = tally(5, "spindle")
    assert found.title == "5 divisions, the last gear, 100, on by 20 teeth each time"
    assert [row[2] for row in found.table.rows] == ["0", "20", "40", "60", "80", "100"]
    assert tally(7, "spindle") is None


@pytest.mark.parametrize("starts", [1, FEWEST_ROWS - 1, MOST_ROWS + 1])
def test_few_divisions_and_too_many_are_not_listed(starts):
    assert tally(starts) is None


def test_a_shop_without_a_dividing_head_lists_none():
    shop = replace(demo_shop(), dividing=None)
    assert tally_of(check(shop, TRAIN, replace(part(lead="412.5"), starts=4))) is None


def test_the_teeth_of_a_helical_gear_are_its_divisions():
    assert part(teeth=17, helix_angle=15, gear_module=2).divisions == 17
    assert replace(part(lead="412.5"), starts=3).divisions == 3
    assert tally_of(check(demo_shop(), TRAIN)) is None
