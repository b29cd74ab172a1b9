"""The search at its limits: what it says, what it takes first, and that nothing is lost on the way."""

from dataclasses import replace
from fractions import Fraction
from math import radians, sin

import naive
import pytest
from cells import codes, texts
from quadrants import plain
from refusals import refused
from shops import DEMO_TEETH, allowed, classic, mill

from gearsearch.base.errors import GearsearchError
from gearsearch.search.catalogue import Catalogue
from gearsearch.search.find import find, with_every_arrangement
from gearsearch.search.search import Search
from gearsearch.search.terms import Terms
from gearsearch.shop.counting import count_trains
from gearsearch.shop.machine import MACHINES
from gearsearch.shop.machines.lathe import Lathe
from gearsearch.shop.pool import pool_of
from gearsearch.shop.reader import demo_shop
from gearsearch.work.part import Part


def rows(answer):
    """What an answer holds, row by row."""
    return [(fit.lead_mm, str(fit.train)) for fit in answer.fits]


def test_out_of_reach_names_the_end_of_the_reach_and_what_would_help():
    assert texts(find(demo_shop(), Part(Fraction(5))))[:3] == (
        "out of reach: the shortest lead of this box by the route worm is 13.606 mm (0.5357 in), by 100/20 127/24",
        "nearest in reach: 13.606 mm (0.5357 in), by 127/24 100/20; mounts: yes",
        "add --route spindle: 24/(80)/20 is exact (no crank indexing by that route)",
    )
    assert codes(find(demo_shop(), Part(Fraction(10) ** 9))) == ["out-of-reach", "nearest-in-reach", "nothing-helps"]


def test_the_end_of_the_reach_is_itself_within_reach():
    shop = demo_shop()
    shortest, longest = find(shop, Part(Fraction(400)), Terms(mounting="skip")).reach_mm
    for end in (shortest, longest):
        answer = find(shop, Part(end), Terms(mounting="skip", count=1))
        assert (answer.fits[0].error, answer.reach_mm) == (0, (shortest, longest))


def test_the_search_says_what_it_searched():
    answer = find(demo_shop(), Part(Fraction(400)), Terms(pairs=(2, 2), mounting="skip", count=2))
    assert answer.searched == count_trains(pool_of(demo_shop()), 2)
    assert {fit.train.gears for fit in answer.fits} == {4}
    both = find(demo_shop(), Part(Fraction(400)), Terms(mounting="skip"))
    assert both.searched == answer.searched + count_trains(pool_of(demo_shop()), 1)


def test_a_box_without_a_train_of_so_many_pairs_says_how_many():
    notes = texts(find(mill((30, 40)), Part(Fraction(360)), Terms(pairs=(2, 2), mounting="skip")))
    assert notes == ("the box makes no train of 2 pairs: too few gears that mesh with each other",)


def test_of_two_leads_as_far_off_the_shorter_comes_first():
    """By 20, 30 and 40 on a machine of 360 mm, 180 mm and 540 mm are both half of 360 mm off it."""
    answer = find(mill((20, 20, 30, 40)), Part(Fraction(360)), Terms(pairs=(1, 1), mounting="skip"))
    assert [fit.lead_mm for fit in answer.fits] == [360, 270, 240, 480, 180, 540, 720]
    assert [fit.lead_mm for fit in find(mill((20, 30)), Part(Fraction(390)), Terms(mounting="skip")).fits] == [240, 540]
    assert [fit.lead_mm for fit in find(mill((20, 40)), Part(Fraction(450)), Terms(mounting="skip")).fits] == [180, 720]


def test_a_gear_to_be_used_twice_is_used_twice():
    teeth = (20, 24, 24, 30, 36, 40)
    for use in ((24,), (24, 24)):
        answer = find(mill(teeth), Part(Fraction(400)), Terms(use=use, pairs=(1, 2), mounting="skip", count=1000))
        whole = find(mill(teeth), Part(Fraction(400)), Terms(pairs=(1, 2), mounting="skip", count=1000))
        times = [(*fit.train.drivers, *fit.train.driven).count(24) for fit in answer.fits]
        assert min(times) == len(use)
        assert len(answer.fits) < len(whole.fits)


def test_a_greatest_step_up_is_kept_to_the_last_part():
    shop = mill((20, 30, 40))
    for kind in ("mill", "lathe"):
        turned = replace(shop, machine=MACHINES[kind](shop.machine.screw_lead_mm, shop.machine.routes))
        for limit in (Fraction(2), Fraction(199, 100)):
            request = (Part(Fraction(300)), Terms(pairs=(1, 1), greatest_step_up=limit, mounting="skip"))
            steps = {fit.step_up for fit in find(turned, *request).fits}
            assert max(steps) == (2 if limit == 2 else Fraction(3, 2))
            assert min(steps) == Fraction(1, 2)


def test_a_train_that_mounts_is_taken_before_one_of_fewer_gears_that_does_not():
    """720 mm: 20/40 alone does not reach, as four gears the same lead mounts."""
    shop = replace(mill((20, 40, 44, 48, 88, 96)), quadrant=demo_shop().quadrant)
    request = (Part(Fraction(720)), Terms(hand="right", count=1, pairs=(1, 2)))
    shown = find(shop, request[0], replace(request[1], mounting="show")).fits[0]
    must = find(shop, *request).fits[0]
    assert must.mounts == "yes"
    assert (shown.train, shown.mounts) == (must.train, "yes")
    only = find(replace(shop, gears=mill((20, 40)).gears), request[0], replace(request[1], mounting="show")).fits[0]
    assert (str(only.train), only.mounts) == ("20/40", "no")


def test_the_answer_counts_the_other_gear_sets_of_its_lead_and_says_whether_it_is_inside():
    shop = mill((20, 20, 30, 30, 40, 40))
    near = (Fraction(359), Fraction(361))
    answer = find(
        shop, Part(Fraction(360), tolerance=allowed(Fraction(360), near)), Terms(pairs=(1, 2), mounting="skip", count=2)
    )
    at_360 = {train for pairs in (1, 2) for train in naive.train_sets(shop, pairs) if naive.ratio(*train) == 1}
    assert answer.fits[0].same_lead == len(at_360) - 1
    assert [fit.within for fit in answer.fits] == [True, False]
    for ends in ((Fraction(360), Fraction(400)), (Fraction(300), Fraction(360))):
        assert (
            find(shop, Part(Fraction(360), tolerance=allowed(Fraction(360), ends)), Terms(mounting="skip", count=1))
            .fits[0]
            .within
        )
    assert find(shop, Part(Fraction(360)), Terms(mounting="skip", count=1)).fits[0].within is None


def test_a_ring_that_holds_too_many_trains_is_parted_and_nothing_is_lost(monkeypatch):
    request = (Part(Fraction(431)), Terms(pairs=(1, 2), count=1000, mounting="skip"))
    whole = rows(find(classic(), *request))
    for most, batch in ((300, 1), (1000, 1000)):
        monkeypatch.setattr("gearsearch.search.catalogue._MOST_IN_A_RING", most)
        monkeypatch.setattr("gearsearch.search.search._BATCH", batch)
        assert rows(find(classic(), *request)) == whole


@pytest.mark.parametrize("most", [50, 300, 1000])
def test_no_ring_holds_more_trains_than_are_well_held_in_memory(most, monkeypatch):
    rings = []
    first = Catalogue._ring

    def ring(self, *about):
        found = first(self, *about)
        rings.append(len(found[0]))
        return found

    monkeypatch.setattr(Catalogue, "_ring", ring)
    monkeypatch.setattr("gearsearch.search.catalogue._MOST_IN_A_RING", most)
    find(classic(), Part(Fraction(431)), Terms(pairs=(1, 2), count=1000, mounting="skip"))
    assert max(rings) <= most
    assert sum(rings) > 1000
    assert len(rings) < 40 * sum(rings) / most  # and they are not needlessly small


@pytest.mark.parametrize("count", [1, 5, 60])
def test_the_easiest_of_many_are_found_ring_by_ring(count, monkeypatch):
    tolerance = Fraction(300), Fraction(600)
    request = (
        Part(Fraction(431), tolerance=allowed(Fraction(431), tolerance)),
        Terms(count=1000, mounting="skip", order="easiest"),
    )
    search = Search(classic(), *request)
    candidates = search.candidates(search.leads(*tolerance))
    whole = [(candidate.ease, abs(candidate.error), candidate.key) for candidate in candidates]
    easiest = [key[1] for key in sorted(whole)]
    held = []
    first = Catalogue._ring

    def counted(self, *about):
        found = first(self, *about)
        held.append(len(found[0]))
        return found

    monkeypatch.setattr(Catalogue, "_ring", counted)
    monkeypatch.setattr("gearsearch.search.catalogue._MOST_IN_A_RING", 50)
    fits = find(classic(), request[0], replace(request[1], count=count)).fits
    assert [abs(fit.error) for fit in fits] == easiest[:count]
    assert max(held) <= 50


def test_of_two_leads_as_far_off_as_the_tolerance_goes_both_are_inside(monkeypatch):
    """360 × 20/30 = 240 and 360 × 20/20 = 360 mm, 60 mm to either side of 300."""
    monkeypatch.setattr("gearsearch.search.search._BATCH", 1)
    ends = Fraction(240), Fraction(360)
    request = (
        Part(Fraction(300), tolerance=allowed(Fraction(300), ends)),
        Terms(pairs=(1, 1), count=9, mounting="skip", order="easiest"),
    )
    fits = find(mill((20, 20, 30)), *request).fits
    assert [(fit.lead_mm, fit.within) for fit in fits] == [(360, True), (240, True), (540, False)]


def test_more_trains_than_memory_is_meant_for_are_not_listed(monkeypatch):
    search = Search(demo_shop(), Part(Fraction("412.5")), Terms(mounting="skip"))
    window = Fraction(400), Fraction(425)
    count = len(search.leads(*window).trains)
    monkeypatch.setattr("gearsearch.search.search._MOST_HELD", count)
    assert len(search.leads(*window).ratios) == 96
    monkeypatch.setattr("gearsearch.search.search._MOST_HELD", count - 1)
    with refused("too-many-trains", f"{count} ", "400.000 mm", "425.000 mm"):
        search.leads(*window)


@pytest.mark.parametrize("wanted", [Fraction(254), Fraction(431)])
def test_where_one_lead_has_more_trains_than_a_ring_may_hold_the_search_goes_on(wanted, monkeypatch):
    """Dozens of trains cut the lead of the machine, 254 mm, so no ring about it can hold fewer."""
    request = (Part(wanted), Terms(pairs=(1, 2), count=60, mounting="skip"))
    whole = rows(find(classic(), *request))
    monkeypatch.setattr("gearsearch.search.catalogue._MOST_IN_A_RING", 5)
    assert rows(find(classic(), *request)) == whole


def test_a_long_search_tells_how_far_it_is(monkeypatch):
    told = []

    class Told:
        def __init__(self, what, total):
            told.append((what, total))

        def step(self, done):
            told.append(done)

        def __enter__(self):
            return self

        def __exit__(self, *_):
            told.append("done")

    monkeypatch.setattr("gearsearch.search.search.Progress", Told)
    find(mill((20, 30, 40)), Part(Fraction(360)), Terms(mounting="skip", count=1000))
    assert told[0] == ("worm: trains tried outward from the wanted lead", 1.0)
    assert told[-1] == "done"
    steps = told[1:-1]
    assert steps == sorted(steps)
    assert 0 < steps[0] <= steps[-1] < 1


def test_remarks_are_whole_sentences():
    unknown = find(mill((20, 30, 40), hand=None), Part(Fraction(540)))
    assert texts(unknown) == (
        "the hand is not known: turn a train through by hand once and write hand_with_one_stud into the shop file",
    )
    either = find(mill((20, 30, 40)), Part(Fraction(540)))
    assert texts(either) == ("each answer says which hand it cuts; for one hand alone add --hand right or --hand left",)
    assert texts(find(mill((20, 30, 40)), Part(Fraction(540)), Terms(hand="right"))) == ()
    shop = replace(mill((20, 30)), quadrant=demo_shop().quadrant)
    assert texts(find(shop, Part(Fraction(540))))[-1] == (
        "none of these trains mounts on this quadrant: --mounting show says why"
    )
    steep = find(demo_shop(), Part(Fraction(50)), Terms(hand="right", count=3))
    assert texts(steep) == ("step-up beyond 4.0, to be turned from the fast side and never in rapid: all of these",)
    easy = find(demo_shop(), Part(Fraction(4125, 10)), Terms(order="easiest", hand="right"))
    assert texts(easy)[0] == "no tolerance was given: the easiest trains are those inside the screw's own accuracy"


def test_step_up_is_warned_of_beyond_the_limit_and_not_at_it():
    """40/20 steps up by just 2."""
    shop = mill((20, 40, 43))
    shop = replace(
        shop, machine=replace(shop.machine, routes=(replace(shop.machine.routes[0], step_up_warning=Fraction(2)),))
    )
    answer = find(shop, Part(Fraction(180)), Terms(hand="left", mounting="skip", pairs=(1, 1), count=2))
    assert [str(fit.train) for fit in answer.fits] == ["40/20", "43/20"]
    assert texts(answer) == ("step-up beyond 2.0, to be turned from the fast side and never in rapid: no. 2",)


def test_easiest_without_a_tolerance_says_what_to_add():
    with pytest.raises(GearsearchError) as caught:
        find(mill(DEMO_TEETH), Part(Fraction(4125, 10)), Terms(order="easiest"))
    assert caught.value.message.startswith("the easiest train ")
    assert caught.value.remedy.endswith("measure the screw and put screw_accuracy into the shop file")


@pytest.mark.parametrize("wanted", [348, 385, 459])
def test_below_the_accuracy_of_the_screw_the_easiest_is_pointed_out(wanted):
    """Of leads as good as the screw the one of the fewest gears and idlers is named, and the first of equals."""
    shop = demo_shop()
    shop = replace(shop, machine=replace(shop.machine, screw_accuracy=Fraction(1, 100)))
    answer = find(shop, Part(Fraction(wanted)), Terms(hand="right", count=6))
    inside = [n for n, fit in enumerate(answer.fits, 1) if abs(fit.error) < Fraction(1, 100)]
    ease = {
        n: (answer.fits[n - 1].train.gears, len(answer.fits[n - 1].train.idlers), -answer.fits[n - 1].clearance_mm)
        for n in inside
    }
    easiest = min(inside, key=lambda n: (ease[n], n))
    numbers = ", ".join(map(str, inside))
    assert texts(answer) == (
        f"no. {numbers} are within the screw's own error (10000 ppm), where a smaller error gains "
        f"nothing: of these no. {easiest} is the easiest",
    )
    assert easiest != inside[0]
    exact = replace(shop, machine=replace(shop.machine, screw_accuracy=abs(answer.fits[1].error)))
    assert texts(find(exact, Part(Fraction(wanted)), Terms(hand="right", count=6))) == ()


def test_every_arrangement_of_no_answer_is_no_answer():
    answer = find(mill((30,)), Part(Fraction(360)), Terms(mounting="skip"))
    assert with_every_arrangement(answer) is answer


def test_arrangements_that_mount_come_first_and_then_those_of_the_fewest_gears_and_idlers():
    answer = with_every_arrangement(find(demo_shop(), Part(Fraction(720)), Terms(count=1, hand="either")))
    order = [(fit.mounts == "no", fit.train.gears, len(fit.train.idlers)) for fit in answer.fits]
    assert order == sorted(order)
    assert {mounts for mounts, _, _ in order} == {True, False}
    assert {gears for _, gears, _ in order} == {2, 4}
    kinds = [(fit.train.drivers, fit.train.driven) for fit in answer.fits]
    assert len(set(kinds)) == len(kinds)


# ------------------------------------------------------------------------------------ nothing lost, nothing twice

WIDE = {
    "shaft_distance_mm": (Fraction(60), Fraction(400)),
    "reach_mm": (Fraction(10), Fraction(400)),
    "swing_deg": (Fraction(0), Fraction(180)),
    "nut_radius_mm": dict.fromkeys(("first", "stud", "last"), Fraction(1)),
}


@pytest.mark.parametrize("hand", ["right", "left", "either"])
@pytest.mark.parametrize("studs", range(4))
@pytest.mark.parametrize("pairs", [1, 2, 3])
def test_as_many_pairs_are_searched_as_the_studs_carry_with_the_idler_that_the_hand_needs(pairs, studs, hand):
    """On so roomy a quadrant only the studs can be too few. One stud cuts right, so an odd number of studs does."""
    shop = plain((24, 28, 30, 32, 36, 40, 44, 48), studs=studs, **WIDE)
    needed = pairs - 1 + (hand != "either" and (pairs - 1) % 2 != (hand == "right"))
    found = find(shop, Part(Fraction(360)), Terms(hand=hand, pairs=(pairs, pairs), count=2)).fits
    assert bool(found) == (needed <= studs)


def test_where_the_shaft_distance_is_not_known_the_studs_count_for_nothing():
    """The rule of thumb says nothing of studs, and a quadrant without its distance is judged by it."""
    shop = plain((24, 28, 30, 32, 36, 40, 44, 48), studs=0, shaft_distance_mm=None)
    fits = find(shop, Part(Fraction(360)), Terms(pairs=(2, 2), mounting="must", count=3)).fits
    assert [fit.mounts for fit in fits] == ["rule"] * 3


def test_without_a_quadrant_trains_that_break_the_rule_of_thumb_are_shown_too():
    """Two pairs of 12 and 100: 12 + 100 is not more than 100 + 15, so both large gears cannot be drivers."""
    shop = mill((12, 12, 100, 100))
    fits = find(shop, Part(Fraction(360)), Terms(pairs=(2, 2), count=20)).fits
    assert {fit.mounts for fit in fits} == {"no", "rule"}
    clear = [fit for fit in fits if fit.mounts == "rule"]
    assert find(shop, Part(Fraction(360)), Terms(pairs=(2, 2), mounting="must", count=20)).fits == tuple(clear)


def test_of_a_train_that_steps_down_a_thousandfold_nothing_is_lost_on_a_lathe():
    shop = mill((10, 10, 10, 100, 100, 100))
    lathe = replace(shop, machine=Lathe(shop.machine.screw_lead_mm, shop.machine.routes))
    fits = find(lathe, Part(Fraction(360)), Terms(pairs=(1, 3), count=1000, mounting="skip")).fits
    assert {fit.lead_mm / 360 for fit in fits} == {Fraction(10) ** power for power in range(-3, 4)}


def test_a_train_a_hair_beyond_a_limit_is_left_out():
    """The window of floats is a little wider than what is asked; the exact comparison is the last word."""
    shop, hair = mill((20, 30, 40)), Fraction(1, 10**18)
    request = (Part(Fraction(300)), Terms(pairs=(1, 1), mounting="skip"))
    for limit, least in ((Fraction(2), 180), (2 - hair, 240)):
        fits = find(shop, request[0], replace(request[1], greatest_step_up=limit)).fits
        assert min(fit.lead_mm for fit in fits) == least
    search = Search(shop, *request)
    assert [360 * ratio for ratio in search.leads(Fraction(240), Fraction(270)).ratios] == [270, 240]
    assert search.leads(240 + hair, 270 - hair).ratios == []


@pytest.mark.parametrize("ends", [(240, 270), (180, 540), (270, 270)])
def test_a_lead_at_the_end_of_the_tolerance_is_answered_once(ends):
    low, high = map(Fraction, ends)
    request = (
        Part(Fraction(270), tolerance=allowed(Fraction(270), (low, high))),
        Terms(pairs=(1, 1), mounting="skip", order="easiest", count=20),
    )
    leads = [fit.lead_mm for fit in find(mill((20, 30, 40)), *request).fits]
    assert sorted(leads) == [180, 240, 270, 480, 540, 720]


def test_the_easiest_has_the_fewest_gears_even_where_it_takes_an_idler():
    shop, wanted = demo_shop(), Fraction(648)
    request = (
        Part(wanted, tolerance=allowed(wanted, (wanted * Fraction(9, 10), wanted * Fraction(11, 10)))),
        Terms(hand="right", order="easiest"),
    )
    fits = [fit for fit in find(shop, request[0], replace(request[1], count=1000)).fits if fit.within]
    ease = [(fit.train.gears, len(fit.train.idlers), -fit.clearance_mm) for fit in fits]
    assert [(gears, idlers) for gears, idlers, _ in ease] == sorted((gears, idlers) for gears, idlers, _ in ease)
    assert {(2, 1), (4, 0)} <= {(gears, idlers) for gears, idlers, _ in ease}


@pytest.mark.parametrize("end", [360, 384])
def test_without_a_tolerance_the_easiest_are_those_inside_the_accuracy_of_the_screw_its_ends_among_them(end):
    shop, wanted = demo_shop(), Fraction(370)
    accuracy = abs(end / wanted - 1)
    exact = replace(shop, machine=replace(shop.machine, screw_accuracy=accuracy))
    request = (Part(wanted), Terms(hand="right", order="easiest", count=40))
    interval = wanted * (1 - accuracy), wanted * (1 + accuracy)
    by_screw, by_tolerance = (
        find(exact, *request).fits,
        find(shop, replace(request[0], tolerance=allowed(request[0].lead_mm, interval)), request[1]).fits,
    )
    assert [(fit.train, fit.lead_mm) for fit in by_screw] == [(fit.train, fit.lead_mm) for fit in by_tolerance]
    inside = [fit.lead_mm for fit in by_tolerance if fit.within]
    assert end in inside
    assert by_screw != find(exact, request[0], replace(request[1], order="closest")).fits


def test_no_remark_says_that_nothing_is_inside_where_something_is():
    request = (Part(Fraction(271)), Terms(pairs=(1, 1), mounting="skip", hand="right", count=3))
    said = "no usable train is inside the tolerance"
    near, far = (Fraction(270), Fraction(272)), (Fraction(541, 2), Fraction(272))
    assert (
        texts(find(mill((20, 30, 40)), replace(request[0], tolerance=allowed(request[0].lead_mm, near)), request[1]))
        == ()
    )
    fits = find(mill((20, 30, 40)), replace(request[0], tolerance=allowed(request[0].lead_mm, far)), request[1])
    assert said in texts(fits)


@pytest.mark.parametrize(("tilt", "told"), [(99, None), (100, "1.00"), (150, "1.50"), (199, "1.99")])
def test_a_cam_is_told_a_tilt_from_one_degree_upward(tilt, told):
    """The tilt is told in hundredths of a degree, rounded down."""
    shortest = find(demo_shop(), Part(Fraction(400)), Terms(mounting="skip")).reach_mm[0]
    rise = Fraction(float(shortest) * sin(radians((tilt + 0.5) / 100)))
    notes = [note for note in texts(find(demo_shop(), Part(rise, may_be_cam=True))) if "for a cam" in note]
    assert [note.partition(";")[0].rpartition(" ")[2] for note in notes] == ([told] if told else [])


@pytest.mark.parametrize(
    ("wanted", "factors"),
    [
        (Fraction(360) * 23 / 20, "the factor 23,"),
        (Fraction(360) * 23 / 31, "the factors 23 and 31,"),
        (Fraction(360) * 149 / 100, "the factor 149,"),
        (Fraction(360) * 151 / 100, None),  # too large for a change gear
        (Fraction(360) * 127 / 86, None),  # a fault of the pairs allowed, not of the factors
        (Fraction(360) * 11 / 10, None),  # exact
        (Fraction(360) * (23 * 10**5 + 23) / 10**6, None),  # hardly meant to be exact
        (Fraction(360) * 23 * 2**16 / 5**8, None),  # so is this
        (Fraction(360) * 5**8 / (23 * 2**16), None),
        (Fraction(360) * 23 * 2**15 / 5**8, "the factor 23,"),
        (Fraction(360) * 23 / 151, None),  # one of the two is too large
    ],
)
def test_a_factor_that_no_gear_has_is_named_where_one_gear_could_bring_it(wanted, factors):
    shop = demo_shop()
    shop = replace(shop, machine=replace(shop.machine, screw_accuracy=None))
    request = (Part(wanted), Terms(pairs=(1, 2), mounting="skip", hand="right", count=1))
    notes = texts(find(shop, *request))
    said = [note for note in notes if note.startswith("no train can be exact: this lead needs gears with ")]
    assert bool(said) == (factors is not None)
    assert not said or f"{factors} and there is none in the box; gearsearch extend shows" in said[0]
    true = replace(shop, machine=replace(shop.machine, screw_accuracy=Fraction(1, 100)))
    assert not any(note.startswith("no train can be exact") for note in texts(find(true, *request)))


def test_where_no_more_pairs_can_be_had_nothing_is_said_of_them():
    notes = texts(find(mill((20, 30)), Part(Fraction(300)), Terms(pairs=(1, 4), mounting="skip")))
    far = [note for note in notes if note.startswith("not the wanted lead")]
    assert far == ["not the wanted lead: even the nearest is -20.000 % off, and no tolerance was given"]


@pytest.mark.parametrize(
    ("kind", "way"),
    [
        ("mill", "to be turned from the fast side and never in rapid"),
        ("lathe", "to be turned by hand, motor isolated"),
    ],
)
def test_a_step_up_beyond_the_limit_says_how_it_is_turned(kind, way):
    shop = mill((20, 60))
    route = replace(shop.route(), step_up_warning=Fraction(2))
    shop = replace(shop, machine=MACHINES[kind](shop.machine.screw_lead_mm, (route,)))
    lead = shop.drive(route).lead_of_machine_mm * (Fraction(1, 3) if kind == "mill" else 3)
    notes = texts(find(shop, Part(lead), Terms(pairs=(1, 1), mounting="skip", count=1)))
    assert f"step-up beyond 2.0, {way}: no. 1" in notes


@pytest.mark.parametrize(("mounting", "pairs"), [("must", [1, 2]), ("show", [1, 2, 3]), ("skip", [1, 2, 3])])
def test_pairs_that_need_more_studs_than_there_are_are_swept_only_where_others_are_shown_too(mounting, pairs):
    """With one stud a train of three pairs cannot stand: where it must, none of them is looked for."""
    shop = demo_shop()
    shop = replace(shop, quadrant=replace(shop.quadrant, bracket=replace(shop.quadrant.bracket, studs=1)))
    request = (Part(Fraction(400)), Terms(hand="right", pairs=(1, 3), mounting=mounting))
    assert list(Search(shop, *request).catalogue.pairs) == pairs
