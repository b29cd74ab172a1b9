"""Gears to add, gears to spare, sets from scratch: against the slow and obvious ones, and against other judges."""

import json
import signal
import subprocess
import sys
import time
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import naive
import naive_extend
import numpy as np
import pytest
from commands import raising
from hypothesis import HealthCheck, assume, given, seed, settings
from hypothesis import strategies as st
from scipy.optimize import Bounds, LinearConstraint, milp
from shops import allowed, mill
from slow import some
from strategies import KINDS, drawn, shops

from gearsearch.base.errors import GearsearchError
from gearsearch.base.sharing import HERE
from gearsearch.extend import bound, joining, scratch, smallest, wanted
from gearsearch.extend.add import best_gears
from gearsearch.extend.new_trains import NewTrains
from gearsearch.extend.scratch import design
from gearsearch.extend.smallest import MustKeep
from gearsearch.extend.spare import spare_gears
from gearsearch.extend.wanted import WantedLeads
from gearsearch.output.written import written
from gearsearch.search.find import find
from gearsearch.search.terms import Terms
from gearsearch.shop.brackets.slot import Slot
from gearsearch.shop.gears import GearSet, Kind
from gearsearch.shop.machine import MACHINES, Route
from gearsearch.shop.pool import pool_of
from gearsearch.shop.quadrant import Quadrant
from gearsearch.shop.reader import demo_shop, load_shop
from gearsearch.work.asking import part
from gearsearch.work.lists import load_list
from gearsearch.work.naming import NamedThread
from gearsearch.work.part import Part
from gearsearch.work.tolerance import Tolerance

slow_to_make = settings(deadline=None, suppress_health_check=list(HealthCheck))
hands = st.sampled_from(["right", "left", "either"])
QUADRANT = Quadrant(
    (Fraction(150), Fraction(150)),
    bracket=Slot(2, (Fraction(40), Fraction(190))),
    swing_deg=(Fraction(-75), Fraction(75)),
    nut_radius_mm={"first": Fraction(12), "last": Fraction(12), "stud": Fraction(10)},
)

NEEDS = [Part(Fraction(360), name="one", tolerance=allowed(Fraction(360), (Fraction(359), Fraction(361))))]


def rule(shop, mounting):
    """What the naive search judges an arrangement by: the rule of thumb, or nothing."""
    modules = [gears.kind.module_mm for gears in shop.gears]
    if mounting == "skip":
        return lambda *_: True
    return lambda a, b, idlers: naive.clears_by_rule(a, b, idlers, modules)


@st.composite
def terms_of(draw, most_pairs=2):
    """Terms of any hand, with and without mounting."""
    return Terms(
        hand=draw(hands), mounting=draw(st.sampled_from(["must", "skip"])), pairs=(1, draw(st.integers(1, most_pairs)))
    )


@st.composite
def needs_of(draw, shop, teeth, added=()):
    """A few leads that these tooth counts give, or nearly; no two alike, as those would count as one.

    The first is of gears that could be added, where there are some, so that few cases are idle.
    """
    base, gear = shop.drive(shop.route()).lead_of_machine_mm, st.sampled_from(teeth)
    needs = []
    for number in range(draw(st.integers(1, 4))):
        first = gear if number or not added else st.sampled_from(added)
        wanted = base * Fraction(draw(first), draw(gear if len(added) < 2 else first))
        if draw(st.booleans()):
            wanted *= Fraction(draw(gear), draw(gear))
        if draw(st.booleans()):
            wanted *= 1 + Fraction(draw(st.integers(-9, 9)), 1000)
        share = st.sampled_from([Fraction(0), Fraction(1, 1000), Fraction(1, 100), Fraction(1, 20)])
        less, more = (draw(share), draw(share)) if draw(st.booleans()) else (draw(share),) * 2
        needs.append(
            Part(wanted, name=f"lead {number}", tolerance=allowed(wanted, (wanted * (1 - less), wanted * (1 + more))))
        )
    return list({(need.lead_mm, need.allowed_mm): need for need in needs}.values())


def candidates_of(shop, most):
    """Gears that could be had, of any kind of tooth of the shop."""
    kinds = st.integers(0, len(shop.gears) - 1)
    return st.lists(st.tuples(kinds, st.integers(12, 40)), min_size=1, max_size=most, unique=True)


def tagged(shop, gears):
    """Gears (kind number, teeth) as (tag, teeth)."""
    return [(shop.gears[kind].kind.tag, teeth) for kind, teeth in gears]


def teeth_of(shop, more=()):
    """Every tooth count of a shop and of some more gears."""
    return [teeth for gears in shop.gears for teeth in gears.available()] + [teeth for _, teeth in more]


@given(shops(), st.data(), st.integers(1, 3))
@settings(slow_to_make, max_examples=60)
def test_added_trains_are_just_those_that_need_every_added_gear(shop, data, pairs):
    gear = st.sampled_from([(k, t) for k, owned in enumerate(shop.gears) for t in {*range(12, 16), *owned.available()}])
    added = data.draw(st.lists(gear, min_size=1, max_size=2))
    wide = pool_of(naive_extend.with_gears(shop, added))
    number = {gear: size for size, gear in enumerate(zip(wide.kind, wide.teeth, strict=True))}
    loose = np.array(wide.loose)
    np.subtract.at(loose, [number[gear] for gear in added], 1)
    trains = NewTrains(replace(wide, loose=tuple(loose.tolist())), pairs)
    sizes, windows = tuple(number[gear] for gear in added), np.array([[0, np.inf]])
    gears = list(zip(wide.kind, wide.teeth, strict=True))
    lots = []
    for looked in (0, 10**9):  # by numpy, and by compiled loops
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(joining.looked, "places", looked)
            lots.append(trains.trains(sizes, windows).gears(pairs).tolist())
    assert lots[0] == lots[1]
    found = [
        (tuple(sorted(gears[i] for i in row[:pairs])), tuple(sorted(gears[i] for i in row[pairs:]))) for row in lots[0]
    ]
    expected = naive.train_sets(naive_extend.with_gears(shop, added), pairs)
    for place in range(len(added)):
        expected -= naive.train_sets(naive_extend.with_gears(shop, added[:place] + added[place + 1 :]), pairs)
    assert len(found) == len(set(found))
    assert set(found) == expected
    hit = np.zeros(1, np.bool_)
    trains.touched(sizes, windows, hit)
    assert hit[0] == bool(expected)


def test_a_proof_cut_short_tells_only_what_was_proved(monkeypatch):
    shop = mill((20, 24, 24, 28, 32, 36, 40, 44, 48, 56, 64, 72, 86, 100))
    needs = [
        Part(
            Fraction(n),
            name=str(n),
            tolerance=allowed(Fraction(n), (Fraction(n) * Fraction(99, 100), Fraction(n) * Fraction(101, 100))),
        )
        for n in (90, 333, 412)
    ]
    whole = spare_gears(shop, needs, Terms())
    assert whole.proved
    none = spare_gears(shop, needs, Terms(), rounds=0)
    assert (none.least, none.proved) == (0, False)
    assert len(none.smallest) >= len(whole.smallest)
    assert f"proved: at least {none.least} are needed" in written(none, "table")
    monkeypatch.setattr(smallest, "MOST_STEPS", 2)
    short = spare_gears(shop, needs, Terms())
    assert short.least < len(whole.smallest) <= len(short.smallest)
    assert not short.proved


def test_trains_of_more_halves_than_memory_holds_are_not_ruled_out():
    need = Part(Fraction(777), name="one", tolerance=allowed(Fraction(777), (Fraction(777), Fraction(777))))
    terms = Terms(pairs=(4, 4), mounting="skip")
    advice = best_gears(mill((20, 30)), [need], terms, [("", teeth) for teeth in range(15, 128)])
    assert advice.gains == ()
    assert advice.bound.maybe_covered == advice.bound.maybe_exact == (0,)
    assert (advice.bound.most_covered, advice.bound.most_exact) == (1, 1)
    assert "for 1 lead more (exactly: 1) there are trains, but none of the nearest mounts" in written(advice, "table")


def test_the_advice_says_what_mounting_was_judged_by_and_what_no_gear_can_bring():
    needs = [
        Part(Fraction(10**6), name="far off", tolerance=allowed(Fraction(10**6), (Fraction(10**6), Fraction(10**6))))
    ]
    shop = mill((20, 30, 40))
    text = written(best_gears(shop, needs, Terms(), [("", 25)]), "table")
    assert "either hand, mounting by the rule of thumb" in text
    assert "no set of these gears brings far off: try more --pairs or a wider --tolerance" in text
    text = written(spare_gears(replace(shop, quadrant=QUADRANT), needs, Terms()), "table")
    assert "each mounting on the quadrant" in text
    assert "no gear is needed: no lead of the list is inside tolerance with a train that mounts" in text
    text = written(design(shop, [*needs, *NEEDS], Terms(), [("", 25), ("", 20)], 2, 2), "table")
    assert "not inside tolerance: far off" in text
    spare = written(
        spare_gears(
            mill((20, 40)),
            [Part(Fraction(720), name="2 to 1", tolerance=allowed(Fraction(720), (Fraction(720), Fraction(720))))],
            Terms(),
        ),
        "table",
    )
    assert "every gear is needed for some lead" in spare


@pytest.mark.parametrize("number", some(range(60)))
@pytest.mark.parametrize(("gears", "examples", "most"), [(1, 40, 6), (2, 30, 4)])
def test_the_gears_to_add_equal_those_of_the_naive_search_row_for_row(gears, examples, most, number, monkeypatch):
    monkeypatch.setattr(wanted, "ENOUGH", 1)  # so that windows grow also where trains are few
    monkeypatch.setattr(wanted, "FIRST", 1)
    seen = []

    @seed(number)
    @given(shops(most=5), st.data(), terms_of())
    @settings(slow_to_make, max_examples=examples)
    def holds(shop, data, terms):
        more = data.draw(candidates_of(shop, most))
        needs = data.draw(needs_of(shop, teeth_of(shop, more), [teeth for _, teeth in more][:gears]))
        passes = rule(shop, terms.mounting)
        expected = naive_extend.best_gears(shop, needs, terms, more, gears, passes)
        advice = best_gears(shop, needs, terms, tagged(shop, more), gears, count=1000)
        found = [(gain.gained, gain.exact, gain.worst, gain.gears) for gain in advice.gains]
        assert found == expected
        own = [None if fit is None else abs(fit.error) for fit in advice.owned]
        assert own == naive_extend.closest(shop, needs, terms, passes)
        few = best_gears(shop, needs, terms, tagged(shop, more), gears, count=2)
        assert few.gains == advice.gains[:2]
        seen.append(len(expected))

    holds()
    assert sum(seen) > examples / 20  # the cases are not idle


def with_ways(shop, data):
    """The shop with a gearbox of several levers for its route, and another route beside it; its leads are near by."""
    ratio, hand = shop.machine.routes[0].ratio, st.sampled_from(["right", "left", "either"])
    steps = st.sampled_from([Fraction(1), Fraction(1, 2), Fraction(4, 3), Fraction(8, 9)])
    levers = data.draw(st.lists(steps, min_size=1, max_size=2, unique=True))
    routes = [Route("box", ratio * step, data.draw(hand), lever=f"L{n}") for n, step in enumerate(levers)]
    routes.append(Route("plain", ratio * data.draw(steps), data.draw(hand)))
    return replace(shop, machine=replace(shop.machine, routes=tuple(routes)))


def with_hands(needs, data):
    """The same leads, some as threads that are named with their hand."""
    hands = [data.draw(st.sampled_from([None, None, "right", "left"])) for _ in needs]
    threads = [
        hand and NamedThread("made up", need.lead_mm, need.lead_mm, hand=hand)
        for need, hand in zip(needs, hands, strict=True)
    ]
    return [replace(need, thread=thread) for need, thread in zip(needs, threads, strict=True)]


@pytest.mark.parametrize("number", some(range(8)))
@pytest.mark.parametrize(("gears", "examples", "most"), [(1, 40, 4), (2, 25, 3)])
def test_over_several_ways_too_the_gears_to_add_equal_those_of_the_naive_search(gears, examples, most, number):
    @seed(number)
    @given(shops(most=5), st.data(), terms_of(), st.sampled_from([None, "any"]))
    @settings(slow_to_make, max_examples=examples)
    def holds(shop, data, terms, route):
        more = data.draw(candidates_of(shop, most))
        needs = data.draw(needs_of(shop, teeth_of(shop, more)))
        shop, terms, passes = with_ways(shop, data), replace(terms, route=route), rule(shop, terms.mounting)
        if terms.hand == "either" and shop.machine.counts_threads:
            needs = with_hands(needs, data)
        advice = best_gears(shop, needs, terms, tagged(shop, more), gears, count=1000)
        found = [(gain.gained, gain.exact, gain.worst, gain.gears) for gain in advice.gains]
        assert found == naive_extend.best_gears(shop, needs, terms, more, gears, passes)
        assert [fit and abs(fit.error) for fit in advice.owned] == naive_extend.closest(shop, needs, terms, passes)
        for need, fit in (fitted for gain in advice.gains for fitted in advice.fitted(gain)):
            assert shop.drive(fit.way).lead_mm(fit.train.ratio) == fit.lead_mm
            assert need.allowed_mm[0] <= fit.lead_mm <= need.allowed_mm[1]
            assert need.thread is None or fit.hand in (need.thread.hand, "either")
        spare, lost = spare_gears(shop, needs, terms), naive_extend.spare(shop, needs, terms, passes)
        assert set(spare.covered) == naive_extend.covered(shop, needs, terms, passes)
        assert spare.lost == {tagged(shop, [gear])[0]: leads for gear, leads in lost.items()}

    holds()


@pytest.mark.parametrize(("route", "ways"), [("any", "ABD"), (None, "ABD"), ("gearbox:B", "B")])
def test_one_gear_brings_each_lead_by_the_lever_that_is_nearest(route, ways):
    shop = load_shop(str(Path(__file__).parents[1] / "tables" / "lathe.toml"))
    leads = {"A": Fraction("9.3"), "B": Fraction("4.65"), "D": Fraction("12.4")}  # 31 to 20 by each
    needs = [Part(lead, name=name, tolerance=allowed(lead, (lead, lead))) for name, lead in leads.items()]
    terms = Terms(route=route, pairs=(1, 1), mounting="skip", without=(40,))
    (gain,) = best_gears(shop, needs, terms, [("", 31)]).gains
    brought = zip(gain.leads, gain.fits, strict=True)
    told = [(needs[place].name, fit.way.lever, str(fit.train)) for place, fit in brought]
    assert told == [(name, name, "31/20") for name in ways]


@drawn(shops(most=5), st.data(), terms_of(), quick=30, slow=150)
def test_every_train_told_is_the_first_that_the_naive_search_gives_with_the_gears_there_would_be(shop, data, terms):
    more = data.draw(candidates_of(shop, 5))
    needs = data.draw(needs_of(shop, teeth_of(shop, more)))
    passes = rule(shop, terms.mounting)
    tags = [gears.kind.tag for gears in shop.gears]
    for gain in best_gears(shop, needs, terms, tagged(shop, more)).gains:
        grown = naive_extend.with_gears(shop, [(tags.index(tag), teeth) for tag, teeth in gain.gears])
        for place, fit in zip(gain.leads, gain.fits, strict=True):
            need, route = needs[place], grown.route()
            request = (Part(need.lead_mm), Terms(hand=terms.hand, pairs=terms.pairs, count=1000))
            rows = naive.find(grown, route, *request, passes)
            lead, a, b, idlers = next(row for row in rows if need.allowed_mm[0] <= row[0] <= need.allowed_mm[1])
            assert (fit.lead_mm, fit.train.drivers, fit.train.driven) == (lead, teeth_in(a), teeth_in(b))
            assert fit.train.idlers == tuple(gear[1] for _, gear in idlers)


def teeth_in(gears):
    """Tooth counts of gears (kind, teeth)."""
    return tuple(teeth for _, teeth in gears)


@pytest.mark.parametrize("kind", ["mill", "lathe"])
@pytest.mark.parametrize("share", [Fraction(1, 50), Fraction(1, 10), Fraction(9, 10), Fraction(3, 2)])
def test_the_part_of_a_window_near_the_wanted_lead_reaches_as_far_on_both_sides(kind, share):
    shop = mill((20, 30))
    shop = replace(shop, machine=MACHINES[kind](shop.machine.screw_lead_mm, shop.machine.routes))
    leads = WantedLeads(
        shop,
        [Part(Fraction(100), name="one", tolerance=allowed(Fraction(100), (Fraction(15), Fraction(300))))],
        Terms(),
    )
    low, high = leads.within(0, float(share))
    ends = [Fraction(100) * (1 - share), Fraction(100) * (1 + share)]
    ends = [max(ends[0], Fraction(15)), min(ends[1], Fraction(300))]
    ratios = sorted(lead / 360 if kind == "mill" else 360 / lead for lead in ends)
    assert low <= ratios[0] <= low * (1 + 1e-12)
    assert high * (1 - 1e-12) <= ratios[1] <= high


def test_of_two_leads_equally_far_off_the_shorter_is_told():
    need = Part(Fraction(390), name="between", tolerance=allowed(Fraction(390), (Fraction(1), Fraction(1000))))
    advice = best_gears(mill((30,)), [need], Terms(pairs=(1, 1)), [("", 20)])
    assert str(advice.gains[0].fits[0].train) == "30/20"
    assert advice.gains[0].worst == Fraction(150, 390)


def test_a_second_gear_that_lets_an_exact_train_mount_as_idler_makes_it_exact():
    """21/40 cuts it exactly but needs an idler for the hand; the owned gear of its kind may not go on a stud."""
    one = GearSet(KINDS[0], (40,), only_on={40: frozenset({"last"})})
    two = GearSet(KINDS[1], (20, 30, 40, 50))
    shop = replace(mill(()), gears=(one, two))
    wanted = Fraction(360 * 40, 21)
    need = Part(
        wanted, name="40 to 21", tolerance=allowed(wanted, (wanted * Fraction(9, 10), wanted * Fraction(11, 10)))
    )
    advice = best_gears(shop, [need], Terms(hand="right"), [("m1.5", 21), ("m1.5", 32)], gears=2)
    assert advice.covered == 1
    assert advice.exact == 0
    assert advice.alone is None
    assert [gain.gears for gain in advice.gains] == [(("m1.5", 21), ("m1.5", 21)), (("m1.5", 21), ("m1.5", 32))]
    assert str(advice.gains[1].fits[0].train) == "21/(32)/40@m1.5"


def test_a_loose_gear_beside_an_equal_one_that_cannot_come_off_can_be_spared():
    gears = (GearSet(Kind(Fraction(3, 2)), (20, 40), fixed={"first": 40}),)
    need = Part(Fraction(180), name="1 to 2", tolerance=allowed(Fraction(180), (Fraction(180), Fraction(180))))
    spare = spare_gears(replace(mill(()), gears=gears), [need], Terms(pairs=(1, 1), mounting="skip"))
    assert spare.lost == {("", 20): (0,), ("", 40): ()}
    assert spare.smallest == (("", 20),)
    assert spare.proved


@given(shops(most=5), st.data(), terms_of())
@settings(slow_to_make, max_examples=40)
def test_every_train_told_cuts_what_is_said_with_the_gears_there_would_be(shop, data, terms):
    more = data.draw(candidates_of(shop, 5))
    needs = data.draw(needs_of(shop, teeth_of(shop, more)))
    advice = best_gears(shop, needs, terms, tagged(shop, more))
    for gain in advice.gains:
        assert len(gain.fits) == len(gain.leads)
        for place, fit in zip(gain.leads, gain.fits, strict=True):
            need = needs[place]
            assert need.allowed_mm[0] <= fit.lead_mm <= need.allowed_mm[1]
            assert fit.lead_mm == shop.lead(fit.train, shop.route())
            assert fit.error == fit.lead_mm / need.lead_mm - 1
            assert {(kind, teeth) for kind, teeth in gain.gears} & set(fit.train.wheels)
            assert (fit.error == 0) == (place in gain.exact)


def test_a_gear_that_adds_no_lead_counts_when_it_lets_one_mount_as_idler():
    shop = replace(mill((20, 40)), quadrant=None)
    need = Part(Fraction(720), name="2 to 1", tolerance=allowed(Fraction(720), (Fraction(719), Fraction(721))))
    terms = Terms(hand="right", pairs=(1, 1))
    advice = best_gears(shop, [need], terms, [("", 30), ("", 31)])
    assert advice.owned == (None,)
    assert [gain.gears for gain in advice.gains] == [(("", 30),), (("", 31),)]
    assert str(advice.gains[0].fits[0].train) == "20/(30)/40"


@pytest.mark.parametrize("hand", some(["right", "left"]))
def test_with_a_quadrant_the_advice_equals_a_search_of_every_grown_shop(hand):
    shop = mill((24, 27, 32, 36, 48, 54, 64, 72, 96), quadrant=QUADRANT)
    leads = [Fraction(value) for value in (90, 225, 300, 333, 412, 450, 500, 600, 675, 777, 1234, 2500)]
    needs = [
        Part(
            lead, name=str(lead), tolerance=allowed(lead, (lead * Fraction(9999, 10000), lead * Fraction(10001, 10000)))
        )
        for lead in leads
    ]
    terms = Terms(hand=hand)
    advice = best_gears(shop, needs, terms, [("", teeth) for teeth in range(30, 61, 3)], count=1000)
    told = {gain.gears[0][1]: dict(zip(gain.leads, gain.fits, strict=True)) for gain in advice.gains}
    for teeth in range(30, 61, 3):
        grown = naive_extend.with_gears(shop, [(0, teeth)])
        for place, need in enumerate(needs):
            request = (
                Part(need.lead_mm, tolerance=need.tolerance),
                Terms(hand=hand, count=1),
            )
            best = next((fit for fit in find(grown, *request).fits if fit.within), None)
            owned = advice.owned[place]
            if best is None:
                assert owned is None
                assert place not in told.get(teeth, {})
            elif owned is None or (best.error == 0 and owned.error != 0):
                assert replace(told[teeth][place], same_lead=0) == replace(best, same_lead=0)
    assert advice.gains  # the case is not idle


@given(shops(most=6), st.data(), terms_of())
@settings(slow_to_make, max_examples=60)
def test_gears_to_spare_and_the_smallest_set_equal_the_naive_ones(shop, data, terms):
    needs = data.draw(needs_of(shop, teeth_of(shop)))
    passes = rule(shop, terms.mounting)
    spare = spare_gears(shop, needs, terms)
    whole = naive_extend.covered(shop, needs, terms, passes)
    lost = {tagged(shop, [gear])[0]: leads for gear, leads in naive_extend.spare(shop, needs, terms, passes).items()}
    tags = [gears.kind.tag for gears in shop.gears]
    kept = [(tags.index(tag), teeth) for tag, teeth in spare.smallest]
    assert set(spare.covered) == whole
    assert spare.lost == lost
    assert naive_extend.covered(naive_extend.with_only(shop, kept), needs, terms, passes) == whole
    assert len(kept) == naive_extend.smallest_cover(shop, needs, terms, passes)
    assert spare.proved


def test_the_smallest_set_equals_that_of_integer_programming():
    """Judge: scipy's mixed-integer solver, on one variable for each gear and one for each train of each lead."""
    shop = mill((20, 24, 24, 28, 32, 36, 40, 44, 48, 56, 64, 72, 86, 100))
    leads = [Fraction(value) for value in (81, 120, 255, 333, 412, 470, 625, 777, 1234, 2150)]
    needs = [
        Part(lead, name=str(lead), tolerance=allowed(lead, (lead * Fraction(998, 1000), lead * Fraction(1002, 1000))))
        for lead in leads
    ]
    spare = spare_gears(shop, needs, Terms(mounting="skip"))
    reachable = naive.every_lead(shop, shop.route(), 1, 2)
    items = sorted(owned_items(shop))
    ways = [
        [
            needed_items(train)
            for lead, trains in reachable.items()
            if need.allowed_mm[0] <= lead <= need.allowed_mm[1]
            for train in trains
        ]
        for need in needs
    ]
    assert {place for place, found in enumerate(ways) if found} == set(spare.covered)
    assert smallest_by_milp(items, [found for found in ways if found]) == len(spare.smallest)
    assert spare.proved


def owned_items(shop):
    """Every gear as (teeth, how many of them so far)."""
    teeth = shop.gears[0].teeth
    return {(count, teeth[: place + 1].count(count)) for place, count in enumerate(teeth)}


def needed_items(train):
    """The same for the gears of a train set."""
    teeth = [count for _, count in (*train[0], *train[1])]
    return {(count, teeth[: place + 1].count(count)) for place, count in enumerate(teeth)}


def smallest_by_milp(items, ways):
    """The fewest gears that hold all gears of one way for each lead."""
    chosen = [(lead, way) for lead, found in enumerate(ways) for way in found]
    total = len(items) + len(chosen)
    rows, low = [], []
    for lead in range(len(ways)):
        row = np.zeros(total)
        row[[len(items) + n for n, (owner, _) in enumerate(chosen) if owner == lead]] = 1
        rows.append(row)
        low.append(1)
    for n, (_, way) in enumerate(chosen):
        for item in way:
            row = np.zeros(total)
            row[items.index(item)], row[len(items) + n] = 1, -1
            rows.append(row)
            low.append(0)
    cost = np.concatenate([np.ones(len(items)), np.zeros(len(chosen))])
    found = milp(
        cost, constraints=LinearConstraint(np.array(rows), low, np.inf), integrality=np.ones(total), bounds=Bounds(0, 1)
    )
    assert found.status == 0, found.message
    return round(found.fun)


@given(st.lists(st.integers(1, 2), min_size=1, max_size=5), st.data())
@settings(slow_to_make, max_examples=80)
def test_the_fewest_gears_that_meet_every_choice_are_found(owned, data):
    refused = data.draw(st.lists(st.tuples(*(st.integers(0, count) for count in owned)), max_size=6))
    refused = [counts for counts in refused if list(counts) != owned]
    must_keep = MustKeep(tuple(owned))
    for counts in refused:
        must_keep.require(counts)
    every = [()]
    for count in owned:
        every = [(*row, kept) for row in every for kept in range(count + 1)]
    meets = [row for row in every if all(any(a > b for a, b in zip(row, counts, strict=True)) for counts in refused)]
    fewest = min(map(sum, meets))
    found, least = must_keep.fewest(sum(owned) + 1)
    assert found in meets
    assert sum(found) == least == fewest
    if fewest:
        assert must_keep.fewest(fewest) == (None, fewest)


@pytest.mark.parametrize("every", [True, False])
def test_a_set_from_scratch_is_never_better_than_the_best_nor_past_its_bound(every, monkeypatch):
    monkeypatch.setattr(scratch, "MOST_TRIED", 500 if every else 0)
    best = []

    @given(shops(most=3), st.data(), terms_of())
    @settings(slow_to_make, max_examples=40)
    def holds(shop, data, terms):
        more = data.draw(candidates_of(shop, 5))
        gears, copies = data.draw(st.integers(2, 4)), data.draw(st.integers(1, 2))
        assume(len(more) * copies >= gears)
        needs = data.draw(needs_of(shop, teeth_of(shop, more)))
        passes = rule(shop, terms.mounting)
        bare = replace(shop, gears=tuple(replace(owned, joined=()) for owned in shop.gears))
        made = design(shop, needs, terms, tagged(shop, more), gears, copies)
        tags = [owned.kind.tag for owned in shop.gears]
        kept = naive_extend.with_only(bare, [(tags.index(tag), teeth) for tag, teeth in made.gears])
        misses = naive_extend.closest(kept, needs, terms, passes)
        assert [None if fit is None else abs(fit.error) for fit in made.fits] == misses
        value = made.covered, made.exact
        limit = naive_extend.best_design(bare, needs, terms, more, gears, copies, passes)
        assert value <= limit
        assert (limit[0], limit[1]) <= (made.bound.most_covered, made.bound.most_exact + limit[1])
        assert made.bound.most_exact >= limit[1]
        assert len(made.gears) <= gears
        if every or made.proved:
            assert value == limit
        best.append(value == limit)

    holds()
    assert sum(best) > 0.9 * len(best)


@pytest.mark.parametrize("judged", [1, 64])
def test_no_gear_passes_the_bound_of_an_unlimited_set(judged, monkeypatch):
    monkeypatch.setattr(bound, "JUDGED", judged)
    unsure = []

    @given(shops(most=4), st.data(), terms_of())
    @settings(slow_to_make, max_examples=60)
    def holds(shop, data, terms):
        within_bound(shop, data, terms, unsure)

    holds()
    assert any(unsure) == (judged == 1)


def within_bound(shop, data, terms, unsure):
    """What two gears, or two of every gear, bring is inside the bound."""
    more = data.draw(candidates_of(shop, 4))
    needs = data.draw(needs_of(shop, teeth_of(shop, more)))
    advice = best_gears(shop, needs, terms, tagged(shop, more), 2, count=1000)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(bound, "_TOGETHER", 1)  # leads weighed one by one
        assert best_gears(shop, needs, terms, tagged(shop, more)).bound == advice.bound
    owned = {place for place, fit in enumerate(advice.owned) if fit is not None}
    possible = {*advice.bound.covered, *advice.bound.maybe_covered}
    assert owned <= possible
    plenty = naive_extend.with_gears(shop, [gear for gear in more for _ in range(2)])
    assert naive_extend.covered(plenty, needs, terms, rule(shop, terms.mounting)) <= possible
    for gain in advice.gains:
        assert set(gain.gained) <= possible
        assert set(gain.exact) <= {*advice.bound.exact, *advice.bound.maybe_exact}
    unsure.append(bool(advice.bound.maybe_covered))


def test_more_trains_than_can_be_judged_are_refused(monkeypatch):
    monkeypatch.setattr(wanted, "MOST_TRAINS", 4)
    needs = [
        Part(Fraction(360), name="about 1 to 1", tolerance=allowed(Fraction(360), (Fraction(1), Fraction(10_000))))
    ]
    with pytest.raises(GearsearchError) as caught:
        best_gears(mill((20, 30, 40)), needs, Terms(pairs=(1, 1)), [("", 25)])
    assert str(caught.value) == (
        "6 trains lie inside the tolerances of the list; at most 4 can be judged\n"
        "help: give tighter tolerances or fewer leads, or allow fewer --pairs"
    )


def test_shared_work_keeps_its_order_and_passes_on_what_goes_wrong():
    assert list(HERE.share("squares", lambda number: number**2, range(50))) == [number**2 for number in range(50)]
    done = []

    def task(number):
        done.append(number)
        if number == 3:
            raise GearsearchError("the third")
        return number

    with pytest.raises(GearsearchError, match="the third"):
        list(HERE.share("work", task, range(10_000)))
    assert len(done) < 1000  # what had not begun never began


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (
            lambda: best_gears(mill((20, 30)), [], Terms(), [("", 25)]),
            "the list of leads is empty\nhelp: give at least one lead that matters",
        ),
        (
            lambda: best_gears(mill((20, 30)), NEEDS, Terms(), []),
            "there is no gear to try\nhelp: give the tooth counts to try, as in --sizes 15:127",
        ),
        (
            lambda: best_gears(mill((20, 30)), NEEDS, Terms(), [("", 25)], gears=3),
            "3 gears cannot be added at once\nhelp: ask for 1 or 2",
        ),
        (
            lambda: best_gears(mill((20, 30)), NEEDS, Terms(), [("", 25)], count=0),
            "0 is no number of answers\nhelp: give a whole number from 1 to 1000",
        ),
        (
            lambda: best_gears(mill((20, 30)), NEEDS, Terms(), [("m9", 25)]),
            "there is no kind of tooth 'm9' in Test shop\nhelp: leave the kind out: the shop has only one",
        ),
        (
            lambda: best_gears(mill((20, 30)), NEEDS, Terms(pairs=(4, 4)), [("", 2**52)]),
            "4503599627370496 is no number of teeth\nhelp: give a whole number from 4 to 2000",
        ),
        (
            lambda: Terms(pairs=(2, 5)),
            "2 to 5 pairs cannot be searched for\nhelp: give 1 to 4 pairs, as in --pairs 3 (at most) or --pairs 2-3",
        ),
        (lambda: Terms(hand="both"), "the hand 'both' is not known\nhelp: use right, left or either"),
        (
            lambda: best_gears(mill((20, 30)), NEEDS, Terms(mounting="show"), [("", 25)]),
            "mounting 'show' is not known\nhelp: use must or skip",
        ),
        (
            lambda: best_gears(mill((20, 30)), NEEDS, Terms(use=(20,)), [("", 25)]),
            "a gear to add does not go by use\nhelp: leave it out, or search for one lead",
        ),
        (
            lambda: best_gears(mill((20, 30)), [Part(Fraction(5), name="groove")], Terms(), [("", 25)]),
            "groove: no tolerance says which leads are acceptable\nhelp: give one, as in Tolerance.parse('0.05%')",
        ),
        (
            lambda: design(mill((20, 30)), NEEDS, Terms(), [("", 25)], 61),
            "61 is no number of gears for a set\nhelp: give a whole number from 2 to 60",
        ),
        (
            lambda: design(mill((20, 30)), NEEDS, Terms(), [("", 25)], 4, copies=9),
            "9 is no number of equal gears in a set\nhelp: give a whole number from 1 to 4",
        ),
        (
            lambda: design(mill((20, 30)), NEEDS, Terms(), [("", 25)], 4),
            "1 tooth counts, 2 gears of each, make no set of 4 gears\n"
            "help: give more tooth counts, as in --sizes 15:127",
        ),
        (
            lambda: spare_gears(mill((20, 30)), NEEDS, Terms(without=(99,))),
            "there is no loose gear of 99 teeth to do without\nhelp: loose gears: 20, 30",
        ),
        (
            lambda: spare_gears(mill((20, 30)), NEEDS, Terms(route="spindle")),
            "there is no route 'spindle' in Test shop\nhelp: use one of: worm",
        ),
    ],
)
def test_a_request_that_cannot_be_says_so(call, message):
    with pytest.raises(GearsearchError) as caught:
        call()
    assert str(caught.value) == message


def ask(*words):
    """What the command prints, and its exit code."""
    return raising("extend", *words)


LEADS = ("--lead", "400mm", "--lead", "412.5", "--lead", "777", "--lead", "10in", "--mounting", "skip")


def test_the_command_advises_in_words_json_and_csv():
    code, text = ask(*LEADS, "--sizes", "30:60", "--count", "2")
    assert code == 0
    assert "4 leads; the gears owned bring 3 inside tolerance" in text
    assert "all 31 ways to add a gear tried" in text
    code, text = ask(*LEADS, "--sizes", "30:60", "--count", "2", "--format", "json")
    record = json.loads(text)
    assert [gear["teeth"] for gear in record["gains"][0]["gears"]] == [37]
    assert record["gains"][0]["exact"] == ["777"]
    assert record["gains"][0]["fits"][0]["lead_exact"] == "777"
    assert record["bound"]["most_covered"] == 4
    code, text = ask(*LEADS, "--sizes", "30:60", "--count", "2", "--format", "csv")
    assert text.splitlines()[0].startswith(
        "rank,add,gained,made_exact,worst_ppm,lead,wanted_mm,train,lead_mm,lead_exact"
    )
    assert text.splitlines()[1].split(",")[:6] == ["1", "37", "1", "1", "0.0", "777"]


def test_the_command_tells_when_no_gear_helps():
    code, text = ask("--lead", "400mm", "--sizes", "30:33", "--mounting", "skip")
    assert code == 1
    assert "none of them brings a lead inside tolerance" in text
    assert "the gears owned bring every lead inside tolerance" in text


def test_the_command_tells_when_a_second_gear_brings_no_more():
    words = ("--lead", "333mm", "--lead", "400mm", "--sizes", "30:40", "--add", "2", "--mounting", "skip")
    code, text = ask(*words)
    assert code == 0
    assert "all 66 ways to add two gears tried" in text
    assert "no two of them bring more than the best single gear\n- the best single gear, 37, brings 1" in text
    record = json.loads(ask(*words, "--format", "json")[1])
    assert record["gains"] == []
    assert [gear["teeth"] for gear in record["alone"]["gears"]] == [37]


def test_the_command_reads_lists_with_tolerances_and_standard_lists(tmp_path):
    path = tmp_path / "leads.csv"
    path.write_text("name,wanted,tolerance\nsluice,777 mm,100ppm\nroll,20 in,0.1%\n", encoding="utf-8")
    record = json.loads(ask("--list", str(path), "--sizes", "37", "--mounting", "skip", "--format", "json")[1])
    assert [lead["name"] for lead in record["leads"]] == ["sluice", "roll"]
    low, high = (Fraction(record["leads"][0][key]) for key in ("low_mm", "high_mm"))
    assert (round(low, 4), round(high, 4)) == (Fraction("776.9223"), Fraction("777.0777"))
    _, text = ask("--list", "iso-261", "--sizes", "15:20", "--format", "json")
    assert len(json.loads(text)["leads"]) > 20


def test_the_command_names_gears_to_spare_and_makes_sets():
    code, text = ask(*LEADS, "--spare")
    assert code == 0
    assert "proved: no smaller set covers them" in text
    record = json.loads(ask(*LEADS, "--spare", "--format", "json")[1])
    assert record["proved"]
    assert record["least"] == len(record["smallest"])
    assert ask(*LEADS, "--spare", "--format", "csv")[1].startswith("gear,leads_lost,which,in_smallest_set\n")
    words = (*LEADS, "--sizes", "20,25,36,40,50,127", "--design", "4", "--copies", "1")
    code, text = ask(*words)
    assert code == 0
    assert "proved: no set of as many gears does better" in text
    assert json.loads(ask(*words, "--format", "json")[1])["proved"]
    assert ask(*words, "--format", "csv")[1].startswith("lead,wanted_mm,train,lead_mm,lead_exact,route,lever\n400mm,")


@pytest.mark.parametrize(
    ("words", "message"),
    [
        ((), "no lead was asked for\nhelp: give a list with --list leads.csv, or leads with --lead 412.5mm"),
        (
            ("--lead", "400", "--sizes", "60:20"),
            "--sizes '60:20' is not a range of tooth counts\n"
            "help: give 5 to 1000 teeth, the smaller number first, as in --sizes 15:127",
        ),
        (
            ("--lead", "400", "--sizes", "few"),
            "--sizes 'few' is not a whole number\nhelp: write it as in --sizes 15:127",
        ),
        (
            ("--lead", "400", "--spare", "--design", "4"),
            "--spare and --design ask for different things\nhelp: keep one of them",
        ),
        (
            ("--lead", "400", "--kind", "m3"),
            "there is no kind of tooth 'm3' in Millrace workshop\nhelp: leave the kind out: the shop has only one",
        ),
        (
            ("--lead", "-4"),
            "lead '-4' is not above zero\nhelp: give a length longer than zero",
        ),
    ],
)
def test_a_command_that_cannot_be_says_so(words, message):
    with pytest.raises(GearsearchError) as caught:
        ask(*words)
    assert str(caught.value) == message


PROGRAM = """
import signal, sys
signal.signal(signal.SIGINT, signal.default_int_handler)
from fractions import Fraction
from gearsearch.extend.add import best_gears
from gearsearch.search.terms import Terms
from gearsearch.shop.reader import demo_shop
from gearsearch.shop.reader import demo_shop
from gearsearch.work.asking import part
from gearsearch.work.lists import load_list
from gearsearch.work.part import Part
from gearsearch.work.tolerance import Tolerance
leads = [Fraction(1000 + 37 * number, 7) for number in range(50)]
needs = [Part(lead, tolerance=Tolerance.parse("100 ppm")) for lead in leads]
print("begun", flush=True)
best_gears(demo_shop(), needs, Terms(pairs=(1, 4), hand="right"), [("", teeth) for teeth in range(15, 400)], 2)
"""


@pytest.mark.skipif(sys.platform == "win32", reason="signals differ")
def test_an_interrupt_ends_the_work_at_once():
    with subprocess.Popen([sys.executable, "-c", PROGRAM], stdout=subprocess.PIPE, stderr=subprocess.PIPE) as process:
        assert process.stdout.readline() == b"begun\n"
        time.sleep(0.8)
        process.send_signal(signal.SIGINT)
        _, errors = process.communicate(timeout=20)
    assert process.returncode != 0
    assert errors.strip().endswith(b"KeyboardInterrupt")


def test_leads_of_one_pitch_and_tolerance_count_once_under_all_their_names():
    """As sizes of a list of threads do: M1, M1.1 and M1.2 are all 0.25 mm."""
    shop, gears = mill((20, 24, 72, 100)), [("", 15), ("", 17)]
    needs = [part(lead=lead, name=name, tolerance="0.1%") for lead, name in ((250, "M1"), (300, "M1.4"), (250, "M1.1"))]
    once = best_gears(shop, needs[:2], Terms(mounting="skip"), gears)
    twice = best_gears(shop, needs, Terms(mounting="skip"), gears)
    assert [need.title for need in twice.needs] == ["M1, M1.1", "M1.4"]
    assert twice.gains == once.gains
    assert len(best_gears(shop, [needs[0], part(lead=250, tolerance="0.2%")], Terms(), gears).needs) == 2


def test_the_trains_of_a_gear_are_told_in_as_many_parts_as_are_counted():
    needs = [replace(item, tolerance=Tolerance.parse("0.05%", "mm")) for item in load_list("asme-b1.1").items]
    advice = best_gears(demo_shop(), needs, Terms(route="spindle"), [("", 120)], count=1)
    (gain,) = advice.gains
    exact = len(gain.leads) - len(gain.gained)
    block = advice.document().blocks[1]
    assert exact > 0
    assert {str(len(gain.gained)), str(exact)} <= set(block.title.split())
    assert len(block.table.rows) == len(gain.leads)
