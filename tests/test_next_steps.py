"""What would help where no train serves: every step that is said is typed, and brings what it says."""

import re
from dataclasses import replace
from fractions import Fraction
from itertools import combinations
from math import prod

import pytest
from cells import codes, said
from commands import run
from shops import classic, mill

from gearsearch.search import next_steps
from gearsearch.search.find import find
from gearsearch.search.search import Search
from gearsearch.search.terms import Terms
from gearsearch.shop.reader import demo_shop
from gearsearch.work.asking import part
from gearsearch.work.part import Part
from gearsearch.work.tolerance import Tolerance


def of_lead(lead, tolerance=None):
    return Part(Fraction(lead), tolerance=tolerance and Tolerance.parse(tolerance))


def test_14_mm_on_the_demo_shop_is_exact_by_the_spindle():
    """By hand: 6 mm × 56/24 = 14 mm."""
    answer = find(demo_shop(), of_lead(14, "0.1%"))
    assert said(answer, "better-route").startswith("add --route spindle: 24/(60)/56 is exact")


@pytest.mark.parametrize("lead", [20000, 50000, 10**6])
def test_pairs_that_the_quadrant_cannot_take_are_not_named(lead):
    """Two studs take three pairs at most, and no three pairs that mount reach these.

    By hand: 6 mm × 60 × 100/20 × 127/24 = 9525 mm; × 86/20 × 100/24 × 127/24 = 34131.25 mm; by the spindle 158.75 mm.
    """
    answer = find(demo_shop(), of_lead(lead))
    assert codes(answer) == ["out-of-reach", "nearest-in-reach", "nothing-helps"]
    assert "9525.000 mm" in said(answer, "nearest-in-reach")
    assert "20/100 24/127" in said(answer, "nearest-in-reach")
    tried = said(answer, "nothing-helps")
    assert re.findall(r"--\w+ \w+", tried) == ["--route spindle", "--pairs 3"]
    assert "longest lead 158.750 mm" in tried
    assert ("34131.250 mm" in tried) == (lead > 35000)


def test_of_gears_that_are_equally_good_the_smallest_is_named():
    answer = find(mill((20, 24, 32, 45, 60, 100)), of_lead(528, "2ppm"), Terms(mounting="skip", pairs=(1, 2)))
    assert "of 22 teeth" in said(answer, "one-gear")


def test_the_nearest_in_reach_mounts_also_where_others_are_shown():
    answer = find(demo_shop(), of_lead(10**6), Terms(hand="right", pairs=(1, 3), mounting="show"))
    assert "9525.000 mm" in said(answer, "nearest-in-reach")


@pytest.mark.parametrize(
    ("terms", "fact"), [({"pairs": (4, 4)}, "4 pairs"), ({"use": (40,), "greatest_step_up": Fraction(1, 100)}, "steps")]
)
def test_where_no_lead_was_tried_it_is_said_why(terms, fact):
    text = said(find(demo_shop(), of_lead("0.001"), Terms(**terms)), "none-mounts")
    assert fact in text
    assert " 0 " not in text


def test_the_nearest_in_reach_is_one_that_mounts():
    """The shortest lead of all, 13.606 mm, is of a train that cuts the right hand, so that the left has another."""
    text = said(find(demo_shop(), of_lead("0.01"), Terms(hand="left")), "nearest-in-reach")
    lead, train = re.search(r"([\d.]+) mm .*by (.*);", text).groups()
    best = find(demo_shop(), of_lead(lead), Terms(hand="left", count=1)).fits[0]
    assert (str(best.lead_mm.limit_denominator(1000)), str(best.train)) == (str(Fraction(lead)), train)
    assert best.mounts == "yes"
    assert not [
        fit for fit in find(demo_shop(), of_lead("13.606"), Terms(hand="left")).fits if fit.lead_mm < best.lead_mm
    ]


def test_where_nothing_mounts_near_the_end_of_the_reach_it_says_so():
    """Two gears that stand 37.5 mm apart, on a quadrant whose shafts are 150 mm apart."""
    shop = replace(mill((20, 30)), quadrant=demo_shop().quadrant)
    assert codes(find(shop, of_lead(50000))) == ["out-of-reach", "none-mounts", "nothing-helps"]


@pytest.mark.parametrize(
    ("lead", "tolerance"), [(14, "0.1%"), (11000, None), (5, "10ppm"), ("0.5", None), (1, "1ppm"), ("13.2", "20ppm")]
)
def test_every_step_brings_a_train_when_it_is_taken(lead, tolerance):
    wanted, taken = of_lead(lead, tolerance), 0
    for note in find(demo_shop(), wanted).notes:
        step = re.search(r"add --(route|pairs) (\w+)", note.text)
        if step:
            terms = Terms(route=step[2]) if step[1] == "route" else Terms(pairs=(1, int(step[2])))
            answer = find(demo_shop(), wanted, terms)
            assert answer.found
            assert any(str(fit.train) in note.text for fit in answer.fits)
            taken += 1
    assert taken


@pytest.mark.parametrize(("lead", "tolerance"), [("413.333", "1ppm"), ("401.7", "2ppm")])
def test_one_more_gear_is_the_one_with_which_the_error_is_least(lead, tolerance):
    shop, wanted = demo_shop(), of_lead(lead, tolerance)
    text = said(find(shop, wanted), "one-gear")
    gear, train = re.fullmatch(r"get one more gear, of (\d+) teeth: (.*) is .*", text).groups()

    def error(teeth):
        (gears,) = shop.gears
        more = replace(shop, gears=(replace(gears, teeth=tuple(sorted((*gears.teeth, teeth)))),))
        best = find(more, replace(wanted, tolerance=None), Terms(count=1, use=(teeth,), mounting="must")).fits[0]
        return abs(best.error), teeth, str(best.train)

    assert min(map(error, range(15, 128))) == (*error(int(gear))[:2], train)


def test_a_lead_without_a_unit_that_the_other_unit_would_bring_in_reach_is_asked_about():
    shop = replace(classic(), units="in")
    assert said(find(shop, part("in", lead="412.5")), "other-unit") == "412.5 in? for millimetres 412.5mm"
    assert "other-unit" not in codes(find(shop, part("in", lead="412.5in")))
    assert "other-unit" not in codes(find(shop, part("in", lead="99999")))


def test_a_route_that_does_not_reach_the_lead_is_not_offered_for_its_starts():
    code, text = run("find", "--lead", "412.5", "--starts", "127", "--pairs", "2", "--count", "1")
    assert code == 0
    assert "cannot index the 127" in text
    assert "spindle" not in text


def test_nothing_is_said_where_a_train_serves_and_what_was_tried_where_nothing_helps():
    assert codes(find(mill((20, 30)), Part(Fraction(540)), Terms(mounting="skip"))) == ["no-hand-asked"]
    answer = find(mill((20, 30)), Part(Fraction(10) ** 8), Terms(mounting="skip"))
    assert codes(answer) == ["out-of-reach", "nearest-in-reach", "nothing-helps"]


@pytest.mark.parametrize("wanted", [Fraction(355, 113), Fraction(7, 19), Fraction(31, 30)])
def test_no_train_with_one_more_gear_is_nearer_than_the_least_error_by_which_gears_are_tried(wanted):
    teeth = (20, 24, 32, 45, 60, 100)
    search = Search(mill(teeth), of_lead(str(360 * wanted), "2%"), Terms())
    least = {gear: error for error, gear in next_steps._promising(search)}
    for gear in range(15, 128):
        sides = [((gear,), (b,)) for b in teeth]
        sides += [((gear, a), pair) for a in teeth for pair in combinations(teeth, 2) if a not in pair]
        ratios = [Fraction(prod(one), prod(other)) for pair in sides for one, other in (pair, pair[::-1])]
        error = min(abs(ratio / wanted - 1) for ratio in ratios)
        if error < Fraction(2, 100):
            assert least[gear] <= error + 1e-12
    assert max(least.values()) > 0.001
