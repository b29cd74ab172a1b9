"""Against Practical Treatise on Milling and Milling Machines, Brown & Sharpe, 1914; pages stand in the data file."""

from fractions import Fraction

import pytest
from published_values import is_cut_to, published, rounds_to
from shops import classic

from gearsearch.base.units import INCH_MM, sin_deg
from gearsearch.search.find import find
from gearsearch.search.terms import Terms
from gearsearch.shop.trains import Pair, Train
from gearsearch.work.part import Part

BOOK = published("brown_sharpe_1914")
SHOP = classic()


def lead_in(row):
    """Our lead [in] of the gears of a row."""
    pairs = zip(row["drivers"], row["driven"], strict=True)
    return SHOP.lead(Train(tuple(Pair(a, b) for a, b in pairs)), SHOP.route()) / INCH_MM


def test_the_shop_is_that_of_the_book():
    assert SHOP.drive(SHOP.route()).lead_of_machine_mm == 10 * INCH_MM
    assert sorted(BOOK["furnished"]["teeth"]) == list(SHOP.gears[0].teeth)


@pytest.mark.parametrize("row", [row for row in BOOK["lead"] if "printed" in row], ids=lambda row: row["case"])
def test_leads_of_trains_are_as_printed(row):
    assert rounds_to(lead_in(row), row["printed"]), (BOOK["title"], row)


@pytest.mark.parametrize("row", [row for row in BOOK["lead"] if "by_rule" in row], ids=lambda row: row["case"])
def test_a_worked_rule_gives_what_the_rule_gives(row):
    assert lead_in(row) == Fraction(row["by_rule"]), (BOOK["title"], row)


@pytest.mark.parametrize("row", [row for row in BOOK["lead"] if "cam_printed" in row], ids=lambda row: row["case"])
def test_a_cam_lead_at_a_head_angle_is_as_printed(row):
    assert rounds_to(lead_in(row) * sin_deg(Fraction(row["cam_head_deg"])), row["cam_printed"]), (BOOK["title"], row)


def test_the_shortest_four_gear_lead_is_the_one_printed():
    answer = find(SHOP, Part(Fraction(10) * INCH_MM), Terms(pairs=(2, 2), mounting="skip"))
    assert rounds_to(answer.reach_mm[0] / INCH_MM, BOOK["shortest"]["printed"]), BOOK["shortest"]
    assert answer.reach_mm[0] / INCH_MM == Fraction(10 * 24 * 24, 100 * 86)


def test_a_lead_that_the_book_cuts_instead_of_rounding_is_found_and_is_cut():
    """8.437 is printed where the gears 32, 64 and 24, 72 give 8.4375: cut, not rounded."""
    printed = BOOK["cut_not_rounded"]["printed"]
    answer = find(SHOP, Part(Fraction(printed) * INCH_MM), Terms(pairs=(2, 2), count=1, mounting="skip"))
    lead = answer.fits[0].lead_mm / INCH_MM
    assert lead == Fraction(135, 16)
    assert is_cut_to(lead, printed)
    assert sorted(answer.fits[0].train.drivers) == [32, 64]
    assert sorted(answer.fits[0].train.driven) == [24, 72]


def test_all_four_arrangements_give_one_lead():
    assert {lead_in(row) for row in BOOK["arrangement"]} == {Fraction(18, 5)}


@pytest.mark.parametrize("row", BOOK["arrangement"], ids=lambda row: row["case"])
def test_the_rule_of_thumb_says_of_each_arrangement_what_the_actual_test_said(row):
    from gearsearch.search.check import check

    pairs = tuple(Pair(a, b) for a, b in zip(row["drivers"], row["driven"], strict=True))
    assert check(SHOP, Train(pairs)).fit.mounts == ("rule" if row["mounts"] else "no"), (BOOK["title"], row)


def test_find_offers_the_one_arrangement_that_mounts():
    answer = find(SHOP, Part(Fraction("3.6") * INCH_MM), Terms(count=1, pairs=(2, 2), use=(100, 32, 24, 48)))
    assert str(answer.fits[0].train) == "100/24 32/48"
    assert answer.fits[0].mounts == "rule"
