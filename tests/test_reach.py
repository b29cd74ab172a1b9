"""Counting trains and their longest and shortest leads, against putting every gear on in every order."""

from dataclasses import replace
from fractions import Fraction

import naive_reach
import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st
from shops import classic, mill
from strategies import shops

from gearsearch.base.errors import GearsearchError
from gearsearch.search.find import find
from gearsearch.search.terms import Terms
from gearsearch.shop import counting
from gearsearch.shop.counting import count_trains, shortest_and_longest
from gearsearch.shop.gears import GearSet, Kind
from gearsearch.shop.pool import pool_of
from gearsearch.shop.reader import demo_shop
from gearsearch.work.part import Part

_slow_to_make = settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])


def ends_can_be_apart(shop):
    """Not both end gears fixed, of one kind among several: a pair of its own would have to be first and last."""
    return len(shop.gears) == 1 or all(len(gears.fixed) < 2 for gears in shop.gears)


@given(shops(most=5), st.integers(1, 3))
@_slow_to_make
def test_the_count_equals_that_of_every_order(shop, pairs):
    assume(ends_can_be_apart(shop) and len(naive_reach.gears_of(shop)) <= 7)
    assert count_trains(pool_of(shop), pairs) == len(naive_reach.trains(shop, pairs))


@given(shops(most=5), st.integers(1, 3))
@_slow_to_make
def test_the_ends_are_the_shortest_and_longest_of_all_leads(shop, pairs):
    assume(ends_can_be_apart(shop) and len(naive_reach.gears_of(shop)) <= 7)
    route = shop.route()
    leads = set(naive_reach.leads(shop, route, pairs))
    if leads:
        assert shortest_and_longest(shop, route, pairs) == (min(leads), max(leads))
    else:
        with pytest.raises(GearsearchError) as caught:
            shortest_and_longest(shop, route, pairs)
        assert str(caught.value) == (
            f"the gears of Made up make no train of {pairs} pairs\nhelp: ask for fewer pairs, or add gears that mesh"
        )


@given(shops(most=7), st.integers(1, 2), st.integers(0, 4), st.integers(0, 2))
@settings(_slow_to_make, max_examples=150)
def test_a_gear_that_is_in_use_elsewhere_reaches_nothing(shop, pairs, smallest, largest):
    assume(ends_can_be_apart(shop) and len(naive_reach.gears_of(shop)) <= 8)
    loose = sorted(teeth for gears in shop.gears for teeth in gears.teeth)
    without = [*loose[:smallest], *loose[smallest:][len(loose[smallest:]) - largest :]]
    box = pool_of(shop, without)
    left = shop
    for teeth in without:
        left = without_one(left, teeth)
    assert counting.count_trains(box, pairs) == len(naive_reach.trains(left, pairs))
    ratios = {
        lead / left.machine.screw_lead_mm / left.route().ratio for lead in naive_reach.leads(left, left.route(), pairs)
    }
    if ratios:
        ends = (min(ratios), max(ratios)) if left.machine.kind == "mill" else (1 / max(ratios), 1 / min(ratios))
        assert counting.reach(box, pairs) == ends


def without_one(shop, teeth):
    """The shop less one loose gear of so many teeth, of the first kind that has one."""
    gears = list(shop.gears)
    number = next(i for i, of_a_kind in enumerate(gears) if teeth in of_a_kind.teeth)
    loose = list(gears[number].teeth)
    loose.remove(teeth)
    gears[number] = replace(gears[number], teeth=tuple(loose), only_on={})
    return replace(shop, gears=tuple(gears))


def test_what_is_out_of_reach_is_so_with_the_gears_that_are_left():
    """With 20 to 30 in use elsewhere 64/32 72/40 still gives 360 × 32·40/(64·72) = 100 mm, by hand."""
    without = (20, 24, 24, 28, 30)
    shortest, longest = Fraction(32 * 36, 127 * 100), Fraction(127 * 100, 32 * 36)
    assert counting.reach(pool_of(demo_shop(), without), 2) == (shortest, longest)
    answer = find(demo_shop(), Part(Fraction(100)), Terms(without=without))
    assert answer.fits[0].lead_mm == 100
    assert not any("reach" in note.code for note in answer.notes)
    everything = [teeth for gears in demo_shop().gears for teeth in gears.teeth]
    assert find(demo_shop(), Part(Fraction(100)), Terms(without=everything)).fits == ()


def test_31_gears_with_one_size_twice_make_the_number_of_trains_the_design_names():
    assert count_trains(pool_of(mill((24, *range(20, 50)))), 3) == 12_208_014


def test_the_demo_shop_reaches_from_its_smallest_to_its_largest_gears():
    """By hand: 360 × (20·24) / (127·100) and 360 × (127·100) / (20·24), in mm."""
    shop = demo_shop()
    shortest, longest = Fraction(360 * 20 * 24, 127 * 100), Fraction(360 * 127 * 100, 20 * 24)
    assert shortest_and_longest(shop, shop.route(), 2) == (shortest, longest)
    assert shortest_and_longest(shop, shop.route("spindle"), 2) == (shortest / 60, longest / 60)


def test_the_classic_head_reaches_down_to_67_hundredths_of_an_inch():
    """Printed: .67 in is the shortest lead (Practical Treatise on Milling and Milling Machines, 1914, p. 180)."""
    shortest, _ = shortest_and_longest(classic(), classic().route(), 2)
    assert abs(shortest / Fraction(127, 5) - Fraction(67, 100)) <= Fraction(5, 1000)


def test_a_fixed_gear_is_in_every_train_and_only_where_it_is():
    gears = (GearSet(Kind(Fraction(1)), (20, 30), (), {"first": 40}),)
    shop = mill((20, 30))
    fixed = type(shop)(shop.name, shop.units, shop.machine, gears)
    assert count_trains(pool_of(fixed), 1) == 2
    assert shortest_and_longest(fixed, fixed.route(), 1) == (180, 270)
