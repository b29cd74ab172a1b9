"""The catalogue of trains: windows, rings and slices hold just the trains that the slow search lists."""

from fractions import Fraction
from itertools import pairwise
from math import inf

import naive
import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from shops import DEMO_TEETH, mill
from strategies import drawn, shops

from gearsearch.base.columns import Columns
from gearsearch.search import choice
from gearsearch.search.catalogue import Catalogue, by_ratio
from gearsearch.search.choice import first_of_each
from gearsearch.search.halves import halves_of, joinable
from gearsearch.shop.pool import pool_of
from gearsearch.shop.train_columns import Trains

slow_to_make = settings(deadline=None, max_examples=60, suppress_health_check=[HealthCheck.too_slow])
ratios = st.fractions(Fraction(1, 20), Fraction(20), max_denominator=1000)
EVERY = (1, 2, 3)


def sets_of(pool, trains):
    """Trains as sorted (drivers, driven) of (kind, teeth)."""
    gear = list(zip(pool.kind, pool.teeth, strict=True))
    rows = (trains.gears_of(row) for row in range(len(trains)))
    return [
        tuple(tuple(sorted(gear[number] for number in half)) for half in (row[: len(row) // 2], row[len(row) // 2 :]))
        for row in rows
    ]


def naive_sets(shop, pairs=EVERY):
    """Every train of the slow search."""
    return {train for number in pairs for train in naive.train_sets(shop, number)}


@given(shops(), ratios, ratios)
@slow_to_make
def test_a_window_holds_its_ends_and_all_between(shop, a, b):
    pool, (low, high) = pool_of(shop), sorted((a, b))
    found = sets_of(pool, Catalogue(pool, EVERY).window(low, high))
    assert len(found) == len(set(found))
    assert set(found) == {train for train in naive_sets(shop) if low <= naive.ratio(*train) <= high}


@given(shops(), ratios, st.booleans(), st.integers(1, 20))
@slow_to_make
def test_rings_hold_every_train_once_nearest_first(shop, wanted, inverse, count):
    """By how far off the ratio or its inverse is, then the smaller of these."""
    pool, told, trains = pool_of(shop), [], []
    for ring in Catalogue(pool, EVERY).nearest(wanted, count, inverse):
        assert np.all(np.diff(ring.trains.asked) >= 0)
        for row, place in enumerate(ring.trains.asked.tolist()):
            assert Fraction(*ring.trains.ratio(row)) == ring.ratios[place]
        told += ring.ratios
        trains += sets_of(pool, ring.trains)
    expected = naive_sets(shop)
    assert (len(trains), set(trains)) == (len(expected), expected)
    keys = {
        ratio: (abs(wanted / ratio - 1), 1 / ratio) if inverse else (abs(ratio / wanted - 1), ratio) for ratio in told
    }
    assert told == sorted({naive.ratio(*train) for train in expected}, key=keys.__getitem__)


@drawn(shops(), st.integers(1, 30), quick=15, slow=80)
def test_slices_part_the_trains_and_no_ratio_lies_in_two(shop, most):
    pool = pool_of(shop)
    catalogue = Catalogue(pool, EVERY)
    if catalogue.reach is None:
        return
    low, high = (float(end) for end in catalogue.reach)
    ends = low * (1 - 1e-9), high * (1 + 1e-9)
    slices = list(catalogue.stream(*ends, most))
    assert list(catalogue.stream(*ends, most, falling=True)) == slices[::-1]
    assert all(one[1] == other[0] for one, other in pairwise(slices))
    parts = [catalogue.between(*ends) for *ends, _ in slices]
    assert sum(map(len, parts)) == catalogue.count == len(naive_sets(shop))
    held = [{Fraction(*part.ratio(row)) for row in range(len(part))} for part in parts]
    assert sum(map(len, held)) == len(set().union(*held))
    assert all(count >= len(part) for part, (*_, count) in zip(parts, slices, strict=True))


@given(shops(), st.sampled_from([None, Fraction(1, 2), Fraction(1), Fraction(3, 2)]))
@slow_to_make
def test_gears_to_use_and_a_least_ratio_leave_out_the_other_trains(shop, least):
    pool = pool_of(shop)
    use = pool.teeth[:1]
    found = sets_of(pool, Catalogue(pool, EVERY, use, least).window(Fraction(1, 10**6), Fraction(10**6)))
    expected = {
        train
        for train in naive_sets(shop)
        if use[0] in {teeth for half in train for _, teeth in half} and (least is None or naive.ratio(*train) >= least)
    }
    assert (len(found), set(found)) == (len(expected), expected)


def test_halves_whose_needs_meet_share_a_gear_that_is_owned_too_seldom():
    """Owned: one 20, two 24, three 30; a size owned four times or more binds no train of two pairs."""
    pool = pool_of(mill((20, 24, 24, 30, 30, 30, 40, 40, 40, 40)))
    ((drivers, driven),) = joinable(pool, 2)
    for i, one in enumerate(drivers.gears.tolist()):
        for j, other in enumerate(driven.gears.tolist()):
            owned = all([*one, *other].count(gear) <= pool.available[gear] for gear in {*one, *other})
            assert ((drivers.as_drivers[i] & driven.as_driven[j]) == 0).all() == owned, (one, other)


def test_gears_past_the_first_word_of_bits_are_told_apart():
    pool = pool_of(mill(range(20, 160)))
    catalogue = Catalogue(pool, [1])
    assert len(catalogue.between(0, inf)) == catalogue.count == catalogue.count_between(0, inf) == 140 * 139


def test_a_side_without_a_half_makes_no_train():
    """The one gear is fixed on the first shaft, so that there is no half of driven gears."""
    pool = pool_of(mill((20,)))
    assert halves_of(pool, 2, pool.fixed_first) == {}
    catalogue = Catalogue(pool, EVERY)
    assert (catalogue.count, catalogue.reach, len(catalogue.between(0, inf))) == (0, None, 0)
    assert list(catalogue.nearest(Fraction(1), 5)) == []


@given(shops(), ratios, ratios)
@slow_to_make
def test_compiled_windows_are_those_of_numpy(shop, a, b):
    pool, (low, high) = pool_of(shop), sorted((float(a), float(b)))
    plain, compiled = Catalogue(pool, EVERY), Catalogue(pool, EVERY, compiled=True)
    assert compiled.below(low) == plain.below(low)
    for ends in ((0.0, low), (low, high), (high, inf)):
        assert sets_of(pool, compiled.between(*ends)) == sets_of(pool, plain.between(*ends))


@pytest.mark.parametrize("seed", range(3))
def test_the_compiled_loop_and_numpy_choose_the_same_rows(seed, monkeypatch):
    rng = np.random.default_rng(seed)
    asked, keys = rng.integers(0, 40, 500), rng.integers(0, 3, (500, 4))
    plainly = first_of_each(asked, keys, 40)
    monkeypatch.setattr(choice, "_COMPILED_FROM", 0)
    assert first_of_each(asked, keys, 40).tolist() == plainly.tolist()


def test_some_ratios_are_taken_with_their_trains():
    found = by_ratio(Catalogue(pool_of(mill(DEMO_TEETH)), (1, 2)).window(Fraction(1), Fraction(11, 10)))
    order = sorted(range(len(found.ratios)), key=found.ratios.__getitem__)[::-1][:7]
    some = found.take(order)
    assert some.ratios == sorted(found.ratios)[::-1][:7]
    later = some.part(2, 5)
    assert (later.ratios, set(later.trains.asked.tolist())) == (some.ratios[2:5], {0, 1, 2})
    assert [Fraction(*later.trains.ratio(row)) for row in range(len(later.trains))] == [
        later.ratios[place] for place in later.trains.asked.tolist()
    ]


def test_columns_of_different_width_are_joined_side_by_side():
    one = Trains(np.array([1]), np.array([[3]]), np.array([[4]]))
    two = Trains(np.array([2]), np.array([[5, 6]]), np.array([[7, 8]]))
    joined = Trains.joined([one, two])
    assert isinstance(joined, Columns)
    assert (joined.drivers.tolist(), joined.driven.tolist()) == ([[3, -1], [5, 6]], [[4, -1], [7, 8]])
    assert [joined.gears_of(row) for row in range(2)] == [[3, 4], [5, 6, 7, 8]]
    assert joined.take([1]).pairs.tolist() == [2]
    assert joined.clearance_um is None


def test_windows_listed_together_hold_just_the_trains_of_each(monkeypatch):
    """Though few of them have room in the processor's cache, and few trains are joined at once."""
    catalogue = Catalogue(pool_of(mill((20, 24, 24, 30, 36, 40, 48))), [1, 2])
    windows = [*pairwise(np.geomspace(0.3, 3, 100).tolist()), (0.5, 2.0)]
    found = [row for window in windows for row in _gears(catalogue.between(*window))]
    monkeypatch.setattr("gearsearch.search.catalogue._IN_CACHE", 200)
    monkeypatch.setattr("gearsearch.search.catalogue._AT_ONCE", 50)
    assert sorted(_gears(catalogue.between_each(windows))) == sorted(found)


def _gears(trains):
    return [*zip(map(tuple, trains.drivers.tolist()), map(tuple, trains.driven.tolist()), strict=True)]
