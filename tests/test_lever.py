"""A machine whose lever reverses the train: any number of studs cuts either hand, and no idler is added for it."""

import io
import random
from dataclasses import replace
from fractions import Fraction

import naive
import naive_mounting
import numpy as np
import pytest
from cells import texts
from quadrants import made_up_set, made_up_shop, plain
from shops import mill

from gearsearch.charts import making as charts
from gearsearch.mounting.judge import Judge
from gearsearch.output.markdown import markdown
from gearsearch.output.markdown_pages import MarkdownPages
from gearsearch.output.pages import ChartPages
from gearsearch.output.paper import Paper
from gearsearch.search.check import check
from gearsearch.search.find import find
from gearsearch.search.terms import Terms
from gearsearch.sheet.page import Job, document
from gearsearch.shop.machine import MACHINES
from gearsearch.shop.overview import overview
from gearsearch.shop.pool import pool_of
from gearsearch.shop.reader import DEMO_TEXT, read_shop
from gearsearch.shop.trains import HANDS, Train
from gearsearch.work.asking import part
from gearsearch.work.part import Part

BOX = (20, 24, 30, 36, 40, 48)


def with_lever(shop):
    """The same shop with a lever on each of its routes."""
    routes = tuple(replace(route, hand_with_one_stud="either") for route in shop.machine.routes)
    return replace(shop, machine=replace(shop.machine, routes=routes))


@pytest.mark.parametrize("kind", ["mill", "lathe"])
@pytest.mark.parametrize("hand", [*HANDS, "either"])
@pytest.mark.parametrize("wanted", [Fraction(360), Fraction(401)])
def test_the_search_is_that_of_the_slow_way(kind, hand, wanted):
    shop = mill(BOX, hand="either")
    shop = replace(shop, machine=MACHINES[kind](shop.machine.screw_lead_mm, shop.machine.routes))
    request = (Part(wanted), Terms(hand=hand, mounting="skip", count=30))
    answer = find(shop, *request)
    got = [(fit.lead_mm, fit.train.drivers, fit.train.driven, fit.train.idlers) for fit in answer.fits]
    slow = naive.find(shop, shop.route(), *request)
    expected = [(lead, *(tuple(teeth for _, teeth in side) for side in (a, b)), ()) for lead, a, b, _ in slow]
    assert got == expected
    assert {fit.hand for fit in answer.fits} == {hand}
    assert texts(answer) == (
        "the reversing lever sets the hand" + (f": set it for the {hand}" if hand in HANDS else ""),
    )


@pytest.mark.parametrize("seed", range(30))
def test_the_best_arrangement_is_that_of_the_slow_way(seed):
    rng = random.Random(seed)
    shop = with_lever(made_up_shop(rng, most=6))
    box = pool_of(shop)
    drawn = made_up_set(rng, box, rng.choice([1, 2]))
    for mode in ("geometry", "rule", "skip") if drawn else ():
        judge = Judge(shop, box, shop.route(), mode)
        for hand in (*HANDS, "either"):
            expected = naive_mounting.best(shop, box, shop.route(), *drawn, hand, mode)
            got = judge.best(np.array([[*drawn[0], *drawn[1]]]), hand)
            assert bool(got.mounts[0]) == (expected is not None)
            if expected:
                assert (got.idler_count[0], got.clearance_um[0]) == (expected[0], -expected[1])
                assert judge.judged(got, 0).hand == hand


@pytest.mark.parametrize("hand", HANDS)
def test_check_and_sheet_take_the_hand_that_is_asked_for(hand):
    shop = with_lever(plain((24, 32, 48, 100)))
    checked = check(shop, Train.parse("100/24 32/48"), part(lead="54"), Terms(hand=hand))
    assert (checked.fit.hand, checked.fit.mounts, checked.fault) == (hand, "yes", "")
    said = " ".join(markdown(document(Job(checked))).split())
    assert f"**{hand.capitalize()} hand**" in said
    assert "If not, turn the reversing lever." in said
    open_hand = markdown(document(Job(check(shop, Train.parse("100/24 32/48"), part(lead="54")))))
    assert "either hand" in open_hand.splitlines()[2]
    assert "Hand: set by the reversing lever." in open_hand


def test_a_chart_needs_no_columns_for_hands():
    chart = charts.every(with_lever(plain((24, 32, 48, 100))), Terms())
    stream = io.StringIO()
    page = ChartPages(chart, MarkdownPages(stream, Paper(), 0), "made so", "")
    for rows in chart.rows:
        page.add(rows)
    page.close()
    assert "either hand, set by the reversing lever" in " ".join(stream.getvalue().split())
    assert "| idler    |" in stream.getvalue()
    one = charts.every(with_lever(plain((24, 32, 48, 100))), Terms(hand="left"))
    both = charts.every(with_lever(plain((24, 32, 48, 100))), Terms())
    assert [len(rows) for rows in one.rows] == [len(rows) for rows in both.rows]


def test_the_shop_file_says_so_and_shows_it():
    text = DEMO_TEXT.replace('hand_with_one_stud = "right"', 'hand_with_one_stud = "either"')
    shop = read_shop(text, "shop.toml")
    assert shop.route("worm").hand_with_one_stud == "either"
    assert "either, by a lever" in overview(shop).to_markdown()
    assert "hand-not-known" not in {note.code for note in overview(shop).warnings}
