"""Charts where the two hands differ, where nothing needs judging, and where items lie far from any train."""

from fractions import Fraction
from itertools import pairwise

import numpy as np
import pytest
from refusals import refused
from shops import mill
from slow import some

from gearsearch.charts.best import BestTrains
from gearsearch.charts.nearest import Nearest
from gearsearch.charts.rows import LeadRows, thinned
from gearsearch.search.catalogue import Catalogue
from gearsearch.search.terms import Terms
from gearsearch.shop.gears import GearSet, Kind
from gearsearch.shop.machine import Route
from gearsearch.shop.machines.lathe import Lathe
from gearsearch.shop.reader import demo_shop
from gearsearch.shop.shop import Shop
from gearsearch.shop.trains import HANDS
from gearsearch.work.lists import load_list

STEP = Fraction(1, 1000)


def _all(stream):
    return LeadRows.joined(list(stream))


def _of_hand(leads, hand):
    return [leads.lead(row) for row in np.flatnonzero(leads.hands[hand].pairs > 0)]


@pytest.mark.parametrize("hand", HANDS)
def test_a_thinned_chart_keeps_a_train_of_each_hand_within_a_step_of_every_lead_of_that_hand(hand):
    whole = _all(BestTrains(demo_shop(), Terms()).leads())
    kept = _of_hand(_all(thinned(iter([whole]), STEP)), hand)
    floats = np.array([float(lead) for lead in kept])
    wanted = _of_hand(whole, hand)
    above = np.searchsorted(floats, [float(lead) for lead in wanted])
    near = [kept[max(0, at - 1) : at + 2] for at in above.tolist()]
    far = [lead for lead, others in zip(wanted, near, strict=True) if all(abs(o / lead - 1) > STEP for o in others)]
    assert far == []
    assert len(kept) < len(whole) * 3 / 4


def test_thinning_does_not_depend_on_where_the_slices_end():
    whole = _all(BestTrains(demo_shop(), Terms()).leads())
    parts = [whole.take(slice(start, start + 1000)) for start in range(0, len(whole), 1000)]
    once, sliced = _all(thinned(iter([whole]), STEP)), _all(thinned(iter(parts), STEP))
    assert once.num.tolist() == sliced.num.tolist()
    assert once.hands["left"].drivers.tolist() == sliced.hands["left"].drivers.tolist()


BOXES = {
    "single gears": (20, 24, 25, 30, 36, 40, 48),
    "gears owned twice": (20, 20, 24, 24, 30, 36, 36, 40),
    "no gear left over": (20, 24, 24, 30, 36, 40),
    "only twins": (24, 24, 24, 36, 36, 36, 48),
}


@pytest.mark.parametrize("teeth", BOXES.values(), ids=BOXES)
@pytest.mark.parametrize("pairs", [1, 2, 3])
@pytest.mark.parametrize("hand", [*HANDS, "either"])
def test_trains_that_need_no_judging_are_arranged_as_judging_would_arrange_them(teeth, pairs, hand):
    source = BestTrains(mill(teeth), Terms(mounting="skip", pairs=(pairs, pairs)))
    sizes = Catalogue(source.pool, [pairs]).between(0, float("inf")).gears(pairs)
    direct, judged = source.judge.best(sizes, hand), source.judge.best_of_each(sizes, np.arange(len(sizes)), hand)
    assert source.judge.plain
    found = judged.mounts
    assert len(found)
    assert direct.mounts.tolist() == found.tolist()
    for name in ("idler_count", "drivers", "driven", "idlers", "idler_pairs"):
        assert getattr(direct, name)[found].tolist() == getattr(judged, name)[found].tolist(), name


def test_a_box_without_a_gear_to_spare_gives_only_the_hand_that_needs_no_idler():
    source = BestTrains(mill(BOXES["no gear left over"]), Terms(mounting="skip", pairs=(3, 3)))
    sizes = source.catalogue.between(0, float("inf")).gears(3)
    assert [source.judge.best(sizes, hand).mounts.any() for hand in HANDS] == [False, True]


def test_a_hand_cannot_be_charted_where_the_shop_file_does_not_know_it():
    source = BestTrains(mill((24, 36, 48), hand=None), Terms(mounting="skip", pairs=(1, 1)))
    with refused("hand-not-known", "hand_with_one_stud"):
        source.judge.best(np.array([[0, 1]]), "right")


def _lathe(teeth):
    gears = (GearSet(Kind(Fraction(3, 2)), tuple(teeth)),)
    return Shop("Test lathe", "mm", Lathe(Fraction(6), (Route("screw", Fraction(1), "right"),)), gears)


NEAREST = {
    "demo shop": (demo_shop(), Terms()),
    "demo shop, spindle": (demo_shop(), Terms(route="spindle")),
    "one hand": (demo_shop(), Terms(hand="left")),
    "lathe": (_lathe((20, 24, 30, 32, 36, 40, 48, 127)), Terms()),
    "hand unknown": (mill((20, 24, 30, 32, 36, 40, 48), hand=None), Terms()),
    "nothing judged": (mill((20, 24, 30, 32, 36, 40, 48)), Terms(mounting="skip", pairs=(2, 3))),
    "no gear to spare": (mill((20, 24, 30, 36)), Terms(mounting="skip", pairs=(2, 2))),
}


def _wanted(shop, terms, seed):
    """Leads at random over more than the reach, and some that gears give exactly."""
    shortest, longest = BestTrains(shop, terms).reach_mm
    rng = np.random.default_rng(seed)
    drawn = np.exp(rng.uniform(np.log(float(shortest) / 2), np.log(float(longest) * 2), 25))
    return [Fraction(round(lead * 1000), 1000) + Fraction(1, 10**6) for lead in drawn] + [shortest, longest]


@pytest.mark.parametrize("count", some([3, 1]))
@pytest.mark.parametrize("name", NEAREST)
def test_the_nearest_leads_are_the_first_of_the_full_list_of_each_hand(name, count):
    shop, terms = NEAREST[name]
    source, wanted = BestTrains(shop, terms), _wanted(shop, terms, 7)
    _hold_nearest(source, wanted, _all(BestTrains(shop, terms).leads()), count)


@pytest.mark.parametrize("name", ["one hand", "nothing judged"])
def test_the_nearest_leads_are_so_however_narrow_the_first_windows(name, monkeypatch):
    """As too in the middle between two leads that stand side by side."""
    monkeypatch.setattr("gearsearch.charts.nearest._HOPED", 0.3)
    shop, terms = NEAREST[name]
    source, wanted = BestTrains(shop, terms), _wanted(shop, terms, 7)
    whole = _all(BestTrains(shop, terms).leads())
    leads = sorted({lead for hand in source.hands for lead in _of_hand(whole, hand)})
    wanted += [(one + other) / 2 for one, other in zip(leads[::90], leads[1::90], strict=False)]
    _hold_nearest(source, wanted, whole, 3)


def _hold_nearest(source, wanted, whole, count):
    """The answers for each hand are the first of its full list, of equals the shorter."""
    found = Nearest(source, wanted, count).answer()
    for hand in source.hands:
        every = _of_hand(whole, hand)
        for item, lead in enumerate(wanted):
            mine = found.take(np.flatnonzero(found.more["item"] == item))
            nearest = sorted(every, key=lambda other: (abs(other - lead), other))[:count]
            assert _of_hand(mine, hand) == nearest, (hand, item)


def test_every_standard_thread_has_its_right_and_its_left_hand_train():
    items = load_list("iso-261", starts=(1, 2, 3)).items
    source = BestTrains(demo_shop(), Terms(route="spindle"))
    found = Nearest(source, [item.lead_mm for item in items], 1).answer()
    for hand in HANDS:
        with_train = found.more["item"][found.hands[hand].pairs > 0]
        assert with_train.tolist() == list(range(len(items)))


def test_the_trains_of_one_rank_are_told_from_the_nearest_lead_outward():
    wanted = _wanted(*NEAREST["demo shop"], 3)
    found = Nearest(BestTrains(demo_shop(), Terms()), wanted, 2).answer()
    away = [abs(found.lead(row) - wanted[item]) for row, item in enumerate(found.more["item"].tolist())]
    assert found.more["rank"].max() > 2
    for row in range(1, len(away)):
        if found.more["item"][row] == found.more["item"][row - 1]:
            assert found.more["rank"][row] == found.more["rank"][row - 1] + 1
            assert away[row] >= away[row - 1]
        else:
            assert found.more["rank"][row] == 1


def test_no_train_is_judged_twice(monkeypatch):
    judged = []
    windows = BestTrains.windows
    monkeypatch.setattr(BestTrains, "windows", lambda self, many: judged.extend(many) or windows(self, many))
    source = BestTrains(demo_shop(), Terms(route="spindle"))
    Nearest(source, _wanted(demo_shop(), Terms(route="spindle"), 5), 2).answer()
    judged.sort()
    assert len(judged) > 2
    assert all(one[1] <= other[0] for one, other in pairwise(judged))


def test_windows_without_a_train_are_judged_all_the_same():
    source = BestTrains(mill((20, 100)), Terms(mounting="skip", pairs=(1, 1)))
    found = Nearest(source, [Fraction(360), Fraction(361), Fraction(1)], 2).answer()
    assert found.more["item"].tolist() == [0, 0, 1, 1, 2, 2]
    assert [float(found.lead(row)) for row in range(2)] == [72.0, 1800.0]
