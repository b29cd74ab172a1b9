"""The search: every train, in order, exactly."""

from collections import Counter
from dataclasses import replace
from fractions import Fraction
from itertools import islice, permutations
from math import inf

import naive
import numpy as np
import pytest
import sympy
from cells import codes, texts
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st
from refusals import refused
from shops import DEMO_TEETH, allowed, classic, mill
from strategies import drawn, few_teeth, shops

from gearsearch.base.errors import GearsearchError
from gearsearch.base.units import PI
from gearsearch.mounting.judge import Judge
from gearsearch.search.catalogue import EDGE, Catalogue
from gearsearch.search.find import find, with_every_arrangement
from gearsearch.search.halves import MOST_HALVES
from gearsearch.search.terms import Terms, cam_mm, multiple_of
from gearsearch.shop.counting import count_trains, reach
from gearsearch.shop.gears import GearSet, Kind
from gearsearch.shop.machine import Route
from gearsearch.shop.machines.lathe import Lathe
from gearsearch.shop.machines.mill import Mill
from gearsearch.shop.pool import pool_of
from gearsearch.shop.reader import demo_shop
from gearsearch.work.asking import part
from gearsearch.work.part import Part
from gearsearch.work.tolerance import Tolerance

slow_to_make = settings(deadline=None, max_examples=30, suppress_health_check=[HealthCheck.too_slow])
ratios = st.fractions(Fraction(1, 20), Fraction(20), max_denominator=1000)


def rows(answer):
    """The rows of an answer in the form of the naive search."""
    return [
        (fit.lead_mm, fit.train.drivers, fit.train.driven, fit.train.idlers, tuple(p.kind for p in fit.train.pairs))
        for fit in answer.fits
    ]


def naive_rows(shop, request, judged=None):
    """The rows of the naive search in the same form."""
    tags = [gears.kind.tag for gears in shop.gears]
    return [
        (
            value,
            tuple(t for _, t in drivers),
            tuple(t for _, t in driven),
            tuple(gear[1] for _, gear in idlers),
            tuple(tags[kind] for kind, _ in drivers),
        )
        for value, drivers, driven, idlers in naive.find(shop, shop.route(), *request, judged)
    ]


def swept(shop, pairs, low=0.0, high=inf):
    """Every train set the catalogue lists, as (drivers, driven) of (kind, teeth)."""
    box = pool_of(shop)
    gear = [(kind, teeth) for kind, teeth in zip(box.kind, box.teeth, strict=True)]
    trains = Catalogue(box, [pairs]).between(low, high).gears(pairs)
    return [
        (tuple(sorted(gear[i] for i in row[:pairs])), tuple(sorted(gear[i] for i in row[pairs:])))
        for row in trains.tolist()
    ]


@given(shops(), st.integers(1, 3))
@slow_to_make
def test_sweep_gives_every_train_once(shop, pairs):
    found = swept(shop, pairs)
    assert len(found) == len(set(found))
    assert set(found) == naive.train_sets(shop, pairs)
    assert count_trains(pool_of(shop), pairs) == len(found) == Catalogue(pool_of(shop), [pairs]).count_between(0, inf)


@given(shops(), st.integers(1, 2), ratios, ratios)
@slow_to_make
def test_windows_that_share_an_edge_part_the_trains(shop, pairs, a, b):
    low, high = sorted((float(a), float(b)))
    catalogue = Catalogue(pool_of(shop), [pairs])
    parts = [catalogue.count_between(*ends) for ends in ((0.0, low), (low, high), (high, inf))]
    assert sum(parts) == catalogue.count
    inside = {s for s in naive.train_sets(shop, pairs) if low * (1 + 1e-12) < naive.ratio(*s) < high * (1 - 1e-12)}
    assert inside <= set(swept(shop, pairs, low, high))


@given(shops(), st.integers(1, 3))
@slow_to_make
def test_reach_is_the_least_and_greatest_ratio(shop, pairs):
    found = [naive.ratio(*train) for train in naive.train_sets(shop, pairs)]
    if found:
        assert reach(pool_of(shop), pairs) == (min(found), max(found))


@given(shops(), ratios, st.data())
@slow_to_make
def test_a_joined_piece_is_left_out_as_a_whole(shop, ratio, data):
    pieces = [piece for gears in shop.gears for piece in gears.joined]
    assume(pieces)
    name = "+".join(map(str, data.draw(st.permutations(data.draw(st.sampled_from(pieces))))))
    request = (Part(360 * ratio), Terms(pairs=(1, 2), count=8, mounting="skip", without=(name,)))
    answer = find(shop, *request)
    if answer.fits or (answer.reach_mm and answer.reach_mm[0] <= request[0].lead_mm <= answer.reach_mm[1]):
        assert rows(answer) == naive_rows(shop, request)
    assert sum(pool_of(shop, (name,)).available) == sum(pool_of(shop).available) - 2


@given(shops(), ratios, st.sampled_from(["right", "left", "either"]), st.integers(1, 2))
@slow_to_make
def test_find_equals_the_naive_search_row_for_row(shop, ratio, hand, most):
    request = (Part(360 * ratio), Terms(hand=hand, pairs=(1, most), count=8, mounting="skip"))
    answer = find(shop, *request)
    if answer.fits or (answer.reach_mm and answer.reach_mm[0] <= request[0].lead_mm <= answer.reach_mm[1]):
        assert rows(answer) == naive_rows(shop, request)


@drawn(shops(), ratios, st.sampled_from(["right", "left"]), quick=10, slow=60)
def test_find_equals_the_naive_search_under_the_rule_of_thumb(shop, ratio, hand):
    request = (Part(360 * ratio), Terms(hand=hand, count=8, mounting="must"))
    modules = [gears.kind.module_mm for gears in shop.gears]
    answer = find(shop, *request)
    if answer.reach_mm and answer.reach_mm[0] <= request[0].lead_mm <= answer.reach_mm[1]:
        expected = naive_rows(shop, request, lambda a, b, idlers: naive.clears_by_rule(a, b, idlers, modules))
        assert rows(answer) == expected
        assert {fit.mounts for fit in answer.fits} <= {"rule"}


@drawn(
    shops(),
    ratios,
    st.lists(few_teeth, max_size=1),
    st.one_of(st.none(), st.fractions(1, 3)),
    st.one_of(st.none(), st.fractions(Fraction(1, 2), 3)),
    st.integers(1, 3),
    quick=20,
    slow=60,
)
def test_filters_equal_the_naive_search(shop, ratio, use, greatest_pair_ratio, greatest_step_up, starts):
    owned = shop.gears[0].available() - Counter(shop.gears[0].teeth[:1])
    request = (
        Part(360 * ratio),
        Terms(
            count=6,
            mounting="skip",
            use=tuple(teeth for teeth in use if owned[teeth]),
            without=shop.gears[0].teeth[:1],
            greatest_pair_ratio=greatest_pair_ratio,
            greatest_step_up=greatest_step_up,
            multiple=starts,
        ),
    )
    answer = find(shop, *request)
    if answer.reach_mm and answer.reach_mm[0] <= request[0].lead_mm <= answer.reach_mm[1]:
        assert rows(answer) == naive_rows(shop, request)


@drawn(shops(), ratios, st.integers(1, 12), quick=8, slow=60)
def test_a_limit_is_the_beginning_of_the_full_list(shop, ratio, count):
    request = (Part(360 * ratio), Terms(count=1000, mounting="skip"))
    whole = rows(find(shop, *request))
    assert rows(find(shop, request[0], replace(request[1], count=count))) == whole[:count]


@drawn(shops(), ratios, quick=6, slow=40)
def test_easiest_puts_the_fewest_gears_inside_the_tolerance_first(shop, ratio):
    wanted = 360 * ratio
    tolerance = wanted * Fraction(9, 10), wanted * Fraction(11, 10)
    request = (Part(wanted, tolerance=allowed(wanted, tolerance)), Terms(count=1000, mounting="skip", order="easiest"))
    fits = find(shop, *request).fits
    inside = [fit for fit in fits if fit.within]
    assert list(fits[: len(inside)]) == inside
    assert all(tolerance[0] <= fit.lead_mm <= tolerance[1] for fit in inside)
    ease = [(fit.train.gears, len(fit.train.idlers), abs(fit.error)) for fit in inside]
    assert ease == sorted(ease)
    errors = [abs(fit.error) for fit in fits[len(inside) :]]
    assert errors == sorted(errors)
    assert sorted(rows(find(shop, request[0], replace(request[1], order="closest")))) == sorted(
        rows(find(shop, *request))
    )


def test_no_ratio_of_the_gears_is_nearer_by_fractions():
    """``fractions`` as the judge: every four of a small box tried in plain sight."""
    teeth, wanted = (20, 24, 28, 30, 36, 40, 44), Fraction(410)
    answer = find(mill(teeth), Part(wanted), Terms(pairs=(2, 2), mounting="skip", count=1))
    nearest = min(abs(Fraction(360 * b * d, a * c) / wanted - 1) for a, b, c, d in permutations(teeth, 4))
    assert abs(answer.fits[0].error) == nearest
    assert answer.searched == 210


def test_the_best_rational_approximation_of_sympy_is_found_where_the_gears_can_make_it():
    """All gears of 20 to 60 teeth: the best fraction of such terms for π/3, from sympy's continued fraction."""
    ratio = Fraction(PI / 3)
    convergents = sympy.continued_fraction_convergents(sympy.continued_fraction_iterator(sympy.pi / 3))
    best = [Fraction(int(c.p), int(c.q)) for c in islice(convergents, 8) if min(c.p, c.q) >= 20 and max(c.p, c.q) <= 60]
    answer = find(mill(range(20, 61)), Part(360 * ratio), Terms(pairs=(1, 1), mounting="skip", count=1))
    assert abs(answer.fits[0].lead_mm / 360 - ratio) <= min(abs(fraction - ratio) for fraction in best)
    assert answer.fits[0].lead_mm / 360 == min(
        (Fraction(b, a) for a in range(20, 61) for b in range(20, 61)), key=lambda r: abs(r - ratio)
    )


def test_the_number_of_trains_is_that_of_the_design():
    """31 gears, one size twice, three pairs: 12 208 014 trains."""
    teeth = (24, *range(20, 50))
    assert count_trains(pool_of(mill(teeth)), 3) == 12_208_014


def test_demo_gears_give_a_lead_exactly_where_one_is_exact():
    answer = find(mill(DEMO_TEETH), Part(Fraction(720)), Terms(hand="right", count=3, mounting="skip"))
    assert answer.fits[0].error == 0
    assert answer.fits[0].lead_mm == 720
    assert answer.fits[0].train.ratio == 2


def test_every_arrangement_of_one_lead_is_listed():
    """3.60 in on the classic head: the four published arrangements of 100, 32 and 24, 48 are among them."""
    request = (Part(Fraction(36, 10) * Fraction(127, 5)), Terms(pairs=(2, 2), count=1, mounting="show"))
    fits = with_every_arrangement(find(classic(), *request)).fits
    orders = [(fit.train.drivers, fit.train.driven) for fit in fits]
    assert {((a, b), (c, d)) for a, b in ((100, 32), (32, 100)) for c, d in ((24, 48), (48, 24))} <= set(orders)
    assert len(set(orders)) == len(orders)
    assert {fit.lead_mm for fit in fits} == {request[0].lead_mm}
    assert "100/24 32/48" in {str(fit.train) for fit in fits if fit.mounts == "rule"}


@pytest.mark.parametrize(
    ("change", "message"),
    [
        (
            {"pairs": (0, 2)},
            "0 to 2 pairs cannot be searched for\nhelp: give 1 to 4 pairs, as in --pairs 3 (at most) or --pairs 2-3",
        ),
        (
            {"pairs": (1, 5)},
            "1 to 5 pairs cannot be searched for\nhelp: give 1 to 4 pairs, as in --pairs 3 (at most) or --pairs 2-3",
        ),
        (
            {"pairs": (3, 2)},
            "3 to 2 pairs cannot be searched for\nhelp: give 1 to 4 pairs, as in --pairs 3 (at most) or --pairs 2-3",
        ),
        ({"count": 0}, "0 is no number of answers\nhelp: give a whole number from 1 to 1000"),
        ({"multiple": 0}, "0 is no number of teeth to be a multiple of\nhelp: give a whole number from 1 on"),
        ({"hand": "up"}, "the hand 'up' is not known\nhelp: use right, left or either"),
        ({"order": "best"}, "the order 'best' is not known\nhelp: use closest or easiest"),
        ({"mounting": "yes"}, "mounting 'yes' is not known\nhelp: use must, show or skip"),
        (
            {"greatest_step_up": Fraction(0)},
            "a greatest step-up of 0 cannot be searched for\nhelp: give 0.000000001 to 1 000 000 000",
        ),
        (
            {"greatest_pair_ratio": Fraction(999, 1000)},
            "a greatest ratio in one pair of 999/1000 cannot be searched for\nhelp: give 1 or more, as in 4 or 4:1",
        ),
        *(
            (
                change,
                f"{what} is not an exact number\nhelp: use an int or a Fraction, as parse_length('412.5 mm') gives",
            )
            for change, what in (
                ({"greatest_pair_ratio": 4.0}, "greatest ratio in one pair 4.0 (float)"),
                ({"greatest_step_up": 4.0}, "greatest step-up 4.0 (float)"),
            )
        ),
    ],
)
def test_a_request_that_cannot_be_says_so(change, message):
    with pytest.raises(GearsearchError) as caught:
        Terms(**change)
    assert str(caught.value) == message


def test_a_request_at_its_limits_is_searched():
    request = (
        Part(412, tolerance=allowed(412, (411, 413))),
        Terms(greatest_pair_ratio=1, greatest_step_up=Fraction(1, 1000)),
    )
    assert find(demo_shop(), *request).found is False
    assert all(isinstance(fit.error, Fraction) for fit in find(demo_shop(), Part(412)).fits)


def test_too_many_halves_are_refused_with_the_bound():
    shop = mill(range(20, 1020))
    assert find(shop, Part(Fraction(412)), Terms(pairs=(1, 2), count=2, mounting="skip")).searched > 10**11
    with refused("too-many-trains", "166 167 000"):
        find(shop, Part(Fraction(412)), Terms(pairs=(3, 3), mounting="skip"))
    assert MOST_HALVES == 5_000_000


def test_products_at_the_bound_work_and_past_it_are_refused():
    """2**53 is the first product that float64 might not hold; a box is swept whatever gears a shop may have."""
    box = replace(pool_of(mill((20, 21, 22, 23))), teeth=(20, 21, 2**26, 2**27 - 1))
    over, under = 2**26 * (2**27 - 1), 420
    trains = Catalogue(box, [2]).between(over / under * (1 - EDGE), over / under * (1 + EDGE))
    assert (trains.driven_product.tolist(), trains.drivers_product.tolist()) == ([over], [under])
    with refused("too-many-trains", "2**53"):
        Catalogue(replace(box, teeth=(20, 21, 2**26, 2**27)), [2]).prepare()


def test_a_gear_left_out_that_is_not_there_is_refused():
    with refused("no-such-gear", "99"):
        find(mill((20, 30)), Part(Fraction(360)), Terms(without=(99,)))


def test_one_gear_makes_no_train_and_says_so():
    answer = find(mill((30,)), Part(Fraction(360)), Terms(mounting="skip"))
    assert answer.fits == ()
    assert texts(answer) == ("the box makes no train of 1 or 2 pairs: too few gears that mesh with each other",)
    assert not answer.found


def test_a_lead_out_of_reach_names_the_nearest_and_what_would_help():
    shop = mill(DEMO_TEETH)
    short = find(shop, Part(Fraction(5)), Terms(mounting="skip"))
    assert short.fits == ()
    assert texts(short)[0].startswith("out of reach: the shortest lead of this box by the route worm is 13.606 mm")
    assert codes(short)[:2] == ["out-of-reach", "nearest-in-reach"]
    assert texts(short)[2].startswith("add --pairs 4: ")  # the nearest of three pairs is more than 1 % off
    long = find(shop, Part(Fraction(10) ** 9), Terms(mounting="skip"))
    assert texts(long)[0].startswith("out of reach: the longest lead")
    assert codes(long) == ["out-of-reach", "nearest-in-reach", "nothing-helps"]


def test_sizes_are_int64_and_products_exact():
    trains = Catalogue(pool_of(mill(DEMO_TEETH)), [2]).between(1.0, 1.1)
    assert trains.gears(2).dtype == np.int64
    teeth = np.array(pool_of(mill(DEMO_TEETH)).teeth)
    assert np.array_equal(teeth[trains.drivers].prod(axis=1), trains.drivers_product)
    assert np.array_equal(teeth[trains.driven].prod(axis=1), trains.driven_product)


def test_the_remarks_name_what_the_table_does_not():
    shop = demo_shop()
    near = find(shop, Part(Fraction(431573, 1000)), Terms(pairs=(1, 3), count=50, mounting="skip"))
    assert any("is the easiest" in note and "(100 ppm)" in note for note in texts(near))
    assert any("add --hand right or --hand left" in note for note in texts(near))
    steep = find(shop, Part(Fraction(50)), Terms(hand="right", count=3))
    assert any(note.startswith("step-up beyond 4.0") for note in texts(steep))
    outside = find(
        shop,
        Part(Fraction(413), tolerance=allowed(Fraction(413), (Fraction(41299, 100), Fraction(41301, 100)))),
        Terms(hand="right"),
    )
    assert "no usable train is inside the tolerance" in texts(outside)
    assert not outside.found


def test_a_box_of_which_nothing_mounts_says_so():
    """Two gears that stand 37.5 mm apart, on a quadrant whose shafts are 150 mm apart."""
    shop = replace(mill((20, 30)), quadrant=demo_shop().quadrant)
    answer = find(shop, Part(Fraction(540)), Terms(hand="left"))
    assert answer.fits == ()
    assert not answer.found
    assert codes(answer) == ["nothing-helps", "none-mounts"]
    assert "left hand" in texts(answer)[1]
    shown = find(shop, Part(Fraction(540)), Terms(hand="left", mounting="show"))
    assert shown.fits[0].mounts == "no"
    assert "mm" in shown.fits[0].why


def test_a_hand_cannot_be_asked_for_where_the_machine_s_is_not_known():
    with refused("hand-not-known", "hand_with_one_stud"):
        find(mill((20, 30, 40), hand=None), Part(Fraction(540)), Terms(hand="left"))
    answer = find(mill((20, 30, 40), hand=None), Part(Fraction(540)))
    assert {fit.hand for fit in answer.fits} == {None}
    assert texts(answer)[0].startswith("the hand is not known")


def test_easiest_without_a_tolerance_goes_by_the_screw_or_is_refused():
    answer = find(demo_shop(), Part(Fraction(4125, 10)), Terms(order="easiest", hand="right"))
    assert texts(answer)[0].startswith("no tolerance was given")
    with refused("no-tolerance", "tolerance"):
        find(mill(DEMO_TEETH), Part(Fraction(4125, 10)), Terms(order="easiest"))


@drawn(st.fractions(60, 2000, max_denominator=100), st.sampled_from(["right", "left"]), quick=4, slow=24)
def test_the_nearest_that_mount_are_those_of_every_train_judged(wanted, hand):
    """By geometry: every train of the demo shop judged one by one, then sorted."""
    shop = demo_shop()
    request = (Part(wanted), Terms(hand=hand, pairs=(1, 1), count=5))
    judge = Judge(shop, pool_of(shop), shop.route())
    box, rows = pool_of(shop), []
    for a in range(len(box.teeth)):
        for b in range(len(box.teeth)):
            if a != b or box.available[a] > 1:
                judged = judge.every(np.array([a, b]), hand)[:1]
                rows += [(shop.lead(j.train, shop.route()), j) for j in judged if j.mounts == "yes"]
    expected = {}
    for lead, judged in rows:
        key = (len(judged.train.idlers), -int((judged.clearance_mm or 10**6) * 1000), judged.train.order)
        expected[lead] = min(expected.get(lead, (key, judged)), (key, judged), key=lambda row: row[0])
    nearest = sorted(expected, key=lambda lead: (abs(lead / wanted - 1), lead))[:5]
    answer = find(shop, *request)
    assert [fit.lead_mm for fit in answer.fits] == nearest
    assert [fit.train for fit in answer.fits] == [expected[lead][1].train for lead in nearest]


@pytest.mark.parametrize("wanted", [Fraction(285, 32), Fraction(14)])
def test_where_two_kinds_of_tooth_share_a_count_the_counts_decide_before_the_kinds(wanted):
    kinds = (Kind(Fraction(3, 2), tag="m1.5"), Kind(Fraction(2), tag="m2"))
    boxes = GearSet(kinds[0], (24, 38)), GearSet(kinds[1], (13, 24, 27))
    shop = replace(mill((20,)), machine=Mill(Fraction(5), (Route("worm", Fraction(1), "left"),)), gears=boxes)
    request = (Part(wanted), Terms(hand="right", mounting="skip"))
    assert rows(find(shop, *request)) == naive_rows(shop, request)
    assert (Fraction(285, 32), (24, 24), (27, 38), (13,), ("m2", "m1.5")) in rows(find(shop, *request))


@pytest.mark.parametrize(
    ("change", "more"),
    [
        ({"pairs": (1, 3)}, ["nearest-in-reach", "nothing-helps"]),
        ({"pairs": (3, 3)}, ["none-mounts"]),
        ({"hand": "left"}, ["none-mounts", "nothing-helps"]),
    ],
)
def test_out_of_reach_is_said_even_where_no_train_at_the_end_of_the_reach_could_mount(change, more):
    """The end is made by more gears than the one stud of this quadrant carries; it is told all the same."""
    shop = demo_shop()
    shop = replace(shop, quadrant=replace(shop.quadrant, bracket=replace(shop.quadrant.bracket, studs=1)))
    request = (Part(Fraction(10) ** 9), Terms(**change))
    answer = find(shop, *request)
    anyhow = find(replace(shop, quadrant=None), *request)
    assert texts(answer)[0] == texts(anyhow)[0]
    assert codes(answer)[1:] == more
    assert texts(answer)[0].startswith("out of reach: the longest lead of this box by the route worm is ")


def test_what_follows_from_the_part_and_the_shop_is_worked_out_in_one_place():
    """Starts by the last gear's teeth only where the worm is out; a cam only from a lead or a rise, on a mill."""
    shop = demo_shop()
    three = part(lead="6.7 mm", starts=3)
    assert multiple_of(shop, three, Terms(route="spindle", count=3)) == 3
    assert multiple_of(shop, three, Terms()) == 1
    cam = part(rise="1.37 mm", per="5.8").tilted(30)
    tolerance = Tolerance.parse("0.5 mm")
    low, high = replace(cam, tolerance=tolerance).interval_mm
    assert cam.lead_mm - low == high - cam.lead_mm == tolerance.more * cam.lead_mm / cam.work_lead_mm
    assert cam_mm(shop, cam) == cam.work_lead_mm
    assert cam_mm(shop, part(helix_angle=20, diameter="50 mm")) is None
    assert cam_mm(shop, part(thread="M12x1.75")) is None
    lathe = replace(shop, machine=Lathe(shop.machine.screw_lead_mm, shop.machine.routes))
    assert multiple_of(lathe, three, Terms(route="spindle")) == 1
    assert cam_mm(lathe, three) is None
    with refused("no-such-route", "'belt'"):
        multiple_of(shop, three, Terms(route="belt"))


def test_trains_found_for_starts_by_the_spindle_route_index_them_by_the_last_gear():
    answer = find(demo_shop(), part(lead="6.7 mm", starts=3), Terms(route="spindle", count=20))
    assert len(answer.fits) == 20
    assert all(fit.train.driven[-1] % 3 == 0 for fit in answer.fits)


def test_a_cam_too_short_for_the_gears_is_told_the_tilt_that_reaches_it():
    """The tilt is of the rise on the work, however far the head is tilted already, and is within reach when typed."""
    rise = Fraction(5)
    for asked in (Part(rise, may_be_cam=True), part(lead=rise).tilted(60)):
        said = texts(find(demo_shop(), asked))[-1]
        assert said.startswith("for a cam: add --tilt 21.56; ")
        assert "127/24 100/20 (lead 13.606 mm (0.5357 in)) rises 5.000 mm (0.1969 in) in a turn" in said
    assert find(demo_shop(), part(lead=rise).tilted("21.56")).fits
    hardly = texts(find(demo_shop(), Part(Fraction("0.2"), may_be_cam=True)))
    assert not any("tilt" in note for note in hardly)  # less than a degree is not set with any sense
