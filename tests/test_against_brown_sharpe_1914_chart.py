"""The chart of the furnished gears against Brown & Sharpe, 1914; pages stand in the data file."""

from fractions import Fraction

import naive
import pytest
from published_values import is_cut_to, published, rounds_to
from shops import classic

from gearsearch.base.units import INCH_MM
from gearsearch.charts.best import BestTrains
from gearsearch.charts.rows import LeadRows
from gearsearch.search.terms import Terms

BOOK = published("brown_sharpe_1914")


@pytest.fixture(scope="module")
def chart():
    """Every four-gear lead of the furnished gears [in], ascending; mounting is not asked."""
    leads = LeadRows.joined(list(BestTrains(classic(), Terms(pairs=(2, 2), mounting="skip")).leads()))
    return [leads.lead(row) / INCH_MM for row in range(len(leads))]


def test_the_shortest_lead_of_the_chart_is_the_printed_one(chart):
    assert rounds_to(chart[0], BOOK["shortest"]["printed"]), BOOK["shortest"]


def test_the_chart_holds_the_lead_worked_out_in_the_book(chart):
    row = next(row for row in BOOK["lead"] if row["case"] == "HM01")
    assert Fraction(row["printed"]) in chart, row


def test_the_chart_holds_a_lead_that_the_book_cuts_to_three_decimals(chart):
    row = BOOK["cut_not_rounded"]
    assert [lead for lead in chart if is_cut_to(lead, row["printed"])] != [], row


def test_the_chart_has_as_many_leads_as_there_are(chart):
    shop = classic()
    assert len(chart) == len(naive.every_lead(shop, shop.route(), 2, 2)) == 1309
