"""Two gears that must mesh: against every pair there is, and the geometry against mpmath."""

import io
import json
from dataclasses import replace
from fractions import Fraction

import mpmath
import naive
import naive_pairs
import pytest
from cells import cells, texts
from commands import raising
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from refusals import refused
from shops import DEMO_TEETH, mill
from slow import some
from strategies import shops

from gearsearch.base.errors import GearsearchError
from gearsearch.base.units import PI, sin_deg
from gearsearch.cli import main
from gearsearch.output.written import written
from gearsearch.pairs import find as pairs_module
from gearsearch.pairs.asking import pair_of
from gearsearch.pairs.find import find_pairs
from gearsearch.pairs.meshing import HelicalPair, angle_change, hands_of, helix_at_distance
from gearsearch.pairs.request import PairRequest
from gearsearch.search.find import find
from gearsearch.search.terms import Terms
from gearsearch.shop.factors import primes
from gearsearch.shop.machine import Route
from gearsearch.work.helix import HelicalGear
from gearsearch.work.part import Part
from gearsearch.work.tolerance import Tolerance

slow_to_make = settings(deadline=None, suppress_health_check=list(HealthCheck))
modules = st.fractions(Fraction(1, 2), Fraction(5), max_denominator=8)
teeth = st.integers(8, 90)
helix_angles = st.fractions(Fraction(3), Fraction(50), max_denominator=60)
errors = st.fractions(Fraction(-1, 50), Fraction(1, 50), max_denominator=10**6)


def parallel(module=Fraction(2), first=20, second=44, helix=Fraction(20), hand="either", **more):
    """A pair on parallel shafts."""
    gears = (HelicalGear(module, count, helix) for count in (first, second))
    return HelicalPair(*gears, hands=hands_of(hand, None, "parallel"), **more)


def crossed(helix=(Fraction(45), Fraction(45)), hands=("right", "right"), counts=(24, 30), module=Fraction(2)):
    """A pair on crossed shafts."""
    gears = (HelicalGear(module, count, angle) for count, angle in zip(counts, helix, strict=True))
    return HelicalPair(*gears, hands=hands, shafts="crossed")


def high(value):
    """A fraction to 50 digits."""
    return mpmath.mpf(value.numerator) / value.denominator


def near(ours, theirs, absolute=1e-9):
    """Whether a figure of ours is that of the judge."""
    return abs(high(Fraction(ours)) - theirs) <= absolute


@given(modules, teeth, teeth, helix_angles)
@settings(slow_to_make, max_examples=50)
def test_the_leads_a_pair_wants_are_in_the_ratio_of_its_teeth(module, first, second, helix):
    pair = parallel(module, first, second, helix)
    assert pair.first.lead_mm / pair.second.lead_mm == Fraction(first, second)
    with mpmath.workdps(50):
        expected = high(module) * (first + second) / (2 * mpmath.cos(high(helix) * mpmath.pi / 180))
        assert near(pair.centre_distance_mm, expected, 1e-10)


def at_distance(module, first, second, centre, **more):
    """A pair on parallel shafts at a fixed centre distance [mm]."""
    helix = helix_at_distance(module, (first, second), centre)
    return replace(parallel(module, first, second, helix, **more), fixed_mm=centre)


def test_a_centre_distance_tells_the_helix_angle_worked_by_hand():
    """Diametral pitch 12, 20 and 40 teeth, 2.75 in: acos(60 / (2 · 12 · 2.75)) = acos(0.90909) = 24.6200°."""
    helix = helix_at_distance(Fraction(127, 60), (20, 40), Fraction("69.85"))
    assert round(float(helix), 4) == 24.62
    pair = at_distance(Fraction(127, 60), 20, 40, Fraction("69.85"))
    assert round(float(pair.first.lead_mm), 3) == 319.239
    assert pair.second.lead_mm == 2 * pair.first.lead_mm
    assert pair.centre_distance_mm == Fraction("69.85")


@given(modules, teeth, teeth, st.fractions(Fraction(1, 10**9), Fraction(2), max_denominator=10**9))
@settings(slow_to_make, max_examples=60)
def test_gears_of_that_angle_stand_at_that_distance_however_little_it_is_above_the_spur_gears(module, z1, z2, above):
    centre = module * (z1 + z2) / 2 * (1 + above)
    ours = helix_at_distance(module, (z1, z2), centre)
    with mpmath.workdps(50):
        theirs = mpmath.acos(high(module) * (z1 + z2) / (2 * high(centre))) * 180 / mpmath.pi
        assert abs(high(ours) / theirs - 1) < 1e-14


@pytest.mark.parametrize("centre", [Fraction("63.5"), Fraction("63.4")])
def test_a_distance_not_above_that_of_spur_gears_is_refused_with_the_least(centre):
    with refused("refused", "63.5 mm (2.5000 in)"):
        helix_at_distance(Fraction(127, 60), (20, 40), centre)


@given(modules, teeth, teeth, errors, errors)
@settings(slow_to_make, max_examples=40)
def test_at_a_fixed_distance_the_teeth_roll_on_circles_that_touch_there(module, z1, z2, one, two):
    """Judge: each tooth followed over 1 mm on the circle that the fixed distance gives it."""
    centre = module * (z1 + z2) * Fraction(11, 20)
    pair = at_distance(module, z1, z2, centre, face_mm=Fraction(1))
    leads = pair.first.lead_mm * (1 + one), pair.second.lead_mm * (1 + two)
    meshing = pair.meshing(leads)
    assert sum(meshing.pitch_diameters_mm) == 2 * centre
    own = replace(pair, fixed_mm=None).meshing(leads)
    assert meshing.centre_distance_mm == own.centre_distance_mm
    with mpmath.workdps(50):
        slopes = [2 * mpmath.pi * high(centre * z / (z1 + z2) / lead) for z, lead in zip((z1, z2), leads, strict=True)]
        assert near(meshing.mismatch_um, 1000 * (slopes[0] - slopes[1]), 1e-9)
        assert near(meshing.helix_angles_deg[0], mpmath.atan(slopes[0]) * 180 / mpmath.pi, 1e-11)


@given(modules, teeth, teeth, helix_angles, errors)
@settings(slow_to_make, max_examples=60)
def test_leads_in_the_ratio_of_the_teeth_give_one_helix_angle_however_far_both_are_off(
    module, first, second, helix, error
):
    pair = parallel(module, first, second, helix, face_mm=Fraction(25))
    lead = pair.first.lead_mm * (1 + error)
    meshing = pair.meshing((lead, lead * second / first))
    assert meshing.mismatch_deg == meshing.mismatch_um == 0
    assert meshing.helix_angles_deg[0] == meshing.helix_angles_deg[1]
    with mpmath.workdps(50):
        sine = mpmath.pi * high(module) * first / high(lead)
        assert near(meshing.helix_angles_deg[0], mpmath.asin(sine) * 180 / mpmath.pi, 1e-11)
        apart = high(module) * (first + second) / (2 * mpmath.sqrt(1 - sine**2))
        assert near(meshing.centre_distance_mm, apart, 1e-9)
        assert near(meshing.outside_diameters_mm[0], high(module) * (first / mpmath.sqrt(1 - sine**2) + 2), 1e-9)


@given(modules, teeth, teeth, helix_angles, errors, errors, st.integers(5, 80))
@settings(slow_to_make, max_examples=60)
def test_the_mismatch_is_how_far_the_two_teeth_drift_apart_on_circles_that_roll_on_each_other(
    module, first, second, helix, one, two, face
):
    """Judge: each tooth is followed across the face on its rolling circle, to 50 digits."""
    pair = parallel(module, first, second, helix, face_mm=Fraction(face))
    leads = pair.first.lead_mm * (1 + one), pair.second.lead_mm * (1 + two)
    meshing = pair.meshing(leads)
    with mpmath.workdps(50):
        own = [
            high(module) * z / mpmath.sqrt(1 - (mpmath.pi * high(module) * z / high(lead)) ** 2)
            for z, lead in zip((first, second), leads, strict=True)
        ]
        radii = [sum(own) / 2 * z / (first + second) for z in (first, second)]
        turned = [2 * mpmath.pi * face / high(lead) for lead in leads]
        drift = [radius * turn for radius, turn in zip(radii, turned, strict=True)]
        angles = [mpmath.atan(arc / face) for arc in drift]
        wanted = high(helix) * mpmath.pi / 180
        assert near(meshing.mismatch_um, 1000 * (drift[0] - drift[1]), 1e-7)
        assert near(meshing.mismatch_deg, (angles[0] - angles[1]) * 180 / mpmath.pi, 1e-11)
        assert near(meshing.shared_deg, ((angles[0] + angles[1]) / 2 - wanted) * 180 / mpmath.pi, 1e-10)
        assert near(meshing.pitch_diameters_mm[1], 2 * radii[1], 1e-9)
    assert (meshing.mismatch_um == 0) == (one == two)


@given(modules, helix_angles, errors)
@settings(slow_to_make, max_examples=60)
def test_the_change_of_a_helix_angle_loses_no_digits(module, helix, error):
    gear = HelicalGear(module, 24, helix)
    lead = gear.lead_mm * (1 + error / 10**6)
    ours = angle_change(gear, lead)
    with mpmath.workdps(60):
        sine = high(sin_deg(helix))
        theirs = (mpmath.asin(sine / (1 + high(error) / 10**6)) - mpmath.asin(sine)) * 180 / mpmath.pi
        assert abs(high(ours) - theirs) <= 1e-12 * abs(theirs)


def test_on_parallel_shafts_the_hand_of_one_gear_gives_that_of_the_other():
    assert hands_of("left", None, "parallel") == ("left", "right")
    assert hands_of("either", "left", "parallel") == ("right", "left")
    assert hands_of("either", None, "parallel") == ("either", "either")
    assert hands_of("either", "left", "crossed") == ("either", "left")


@pytest.mark.parametrize(
    ("helix", "hands", "shafts"),
    [
        ((45, 45), ("right", "right"), 90),
        ((30, 60), ("left", "left"), 90),
        ((50, 20), ("right", "left"), 30),
        ((20, 50), ("right", "left"), 30),
    ],
)
def test_crossed_shafts_stand_at_the_sum_or_the_difference_of_the_helix_angles(helix, hands, shafts):
    pair = crossed(tuple(map(Fraction, helix)), hands)
    assert pair.shaft_angle_deg == shafts
    leads = pair.first.lead_mm * Fraction(1001, 1000), pair.second.lead_mm * Fraction(1002, 1000)
    meshing = pair.meshing(leads)
    with mpmath.workdps(50):
        angles = [
            mpmath.asin(mpmath.pi * high(gear.normal_module_mm) * gear.teeth / high(lead)) * 180 / mpmath.pi
            for gear, lead in zip(pair.gears, leads, strict=True)
        ]
        cut = angles[0] + angles[1] if hands[0] == hands[1] else abs(angles[0] - angles[1])
        assert near(meshing.shaft_angle_deg, cut, 1e-11)
        assert near(meshing.mismatch_deg, cut - shafts, 1e-11)
    assert meshing.mismatch_um is None


def row_of(fit):
    """A pair of trains in the form of the naive search."""
    trains = fit.first.train, fit.second.train
    return (
        fit.mismatch,
        abs(fit.shared),
        sum(train.gears for train in trains),
        sum(len(train.idlers) for train in trains),
        tuple(train.drivers + train.driven + (train.idlers or (0,)) for train in trains),
        (fit.first.lead_mm, fit.second.lead_mm),
    )


@st.composite
def requests(draw, shop):
    """A pair whose first lead is one that the shop nearly gives."""
    owned = st.sampled_from([count for gears in shop.gears for count in gears.available()])
    near_lead = shop.drive(shop.route()).lead_of_machine_mm * Fraction(draw(owned), draw(owned))
    first, second = draw(st.integers(8, 40)), draw(st.integers(8, 40))
    helix = Fraction(draw(st.integers(50, 450)), 10)
    module = max(Fraction(1, 1000), Fraction(round(1000 * near_lead * sin_deg(helix) / PI / first), 1000))
    share = Fraction(1, draw(st.sampled_from([5, 20, 100])))
    return PairRequest(
        parallel(
            module,
            first,
            second,
            helix,
            draw(st.sampled_from(["right", "left", "either"])),
            tolerance=Tolerance("share", share, share / 2),
        ),
        Terms(
            pairs=(1, draw(st.integers(1, 2))),
            count=draw(st.integers(1, 6)),
            mounting=draw(st.sampled_from(["must", "skip"])),
        ),
        helix_within_deg=Fraction(3),
    )


@pytest.mark.parametrize("examples", some([30, 400]))
def test_pairs_of_trains_equal_those_of_the_naive_search_row_for_row(examples):
    seen = []

    @given(shops(), st.data())
    @settings(slow_to_make, max_examples=examples)
    def holds(shop, data):
        request = data.draw(requests(shop))
        answer = find_pairs(shop, request)
        modules = [gears.kind.module_mm for gears in shop.gears]
        passes = (
            (lambda *_: True)
            if request.terms.mounting == "skip"
            else (lambda a, b, idlers: naive.clears_by_rule(a, b, idlers, modules))
        )
        gears = [(gear.lead_mm, gear.teeth) for gear in request.pair.gears]
        asked = gears, request.pair.hands[0], request.terms.pairs
        drawn = naive_pairs.nearest_pairs(shop, *asked, answer.windows_mm, passes)
        moved = naive_pairs.exact_pairs(shop, *asked, pairs_module.moved_windows(request), passes)
        assert [row_of(fit) for fit in answer.fits] == drawn[: request.terms.count]
        assert [row_of(fit) for fit in answer.moved] == moved[: request.terms.count]
        for fit in answer.fits:
            assert fit.exact == (fit.first.lead_mm * gears[1][1] == fit.second.lead_mm * gears[0][1])
            assert fit.first.hand != fit.second.hand
        less, more = request.pair.tolerance.less, request.pair.tolerance.more
        for train in (train for fit in (*answer.fits, *answer.moved) for train in fit.fits):
            assert train.within == (-less <= train.error <= more)
        seen.append((len(answer.fits), len(answer.moved)))

    holds()
    assert sum(fits for fits, _ in seen) > examples / 6  # the cases are not idle
    assert sum(moved for _, moved in seen) > examples / 50


def test_a_pair_by_its_transverse_module_is_that_of_the_normal_module_it_has():
    """Centre distance by hand: transverse module 2, 20 and 44 teeth: 2 × 64 / 2 = 64 mm at every helix angle."""
    size = {"teeth": (20, 44), "helix_angle": 20, "face": "25 mm"}
    asked = pair_of("mm", **size, gear_transverse_module=2)
    assert float(asked.centre_distance_mm) == pytest.approx(64, abs=1e-12)
    normal = pair_of("mm", **size, gear_module=asked.first.normal_module_mm)
    assert [gear.lead_mm for gear in asked.gears] == [gear.lead_mm for gear in normal.gears]
    record = json.loads(ask("--gear-transverse-module", "2", *PAIR[2:], "--format", "json")[1])
    assert record["pair"]["normal_module_mm"] == pytest.approx(1.879385241571817)  # 2 cos 20°


@pytest.mark.parametrize(
    ("words", "code"),
    [
        (("--gear-transverse-module", "2", "--centre-distance", "70mm"), "distance-tells-nothing"),
        (("--gear-transverse-module", "2", "--gear-dp", "12", "--helix-angle", "20"), "one-size"),
        (
            (
                *("--gear-transverse-module", "2", "--helix-angle", "30,60"),
                *("--shafts", "crossed", "--hand", "right", "--mate-hand", "right"),
            ),
            "modules-differ",
        ),
    ],
)
def test_a_transverse_module_that_tells_no_pair_is_refused(words, code):
    with refused(code):
        ask("--teeth", "20,44", *words)


def test_crossed_pairs_come_in_the_order_of_the_shaft_angle_they_miss():
    tolerance = Tolerance("share", Fraction(1, 500), Fraction(1, 500))
    pair = replace(crossed((Fraction(30), Fraction(60)), ("right", "right")), tolerance=tolerance)
    shop = mill(DEMO_TEETH)
    answer = find_pairs(shop, PairRequest(pair, Terms(count=20, mounting="skip")))
    assert all(train.within for fit in answer.fits for train in fit.fits)
    singles = [
        find(shop, Part(gear.lead_mm), Terms(hand="right", count=1000, mounting="skip")).fits for gear in pair.gears
    ]
    windows = [[fit.lead_mm for fit in fits if abs(fit.error) <= Fraction(1, 500)] for fits in singles]
    missed = sorted(
        round(abs(pair.meshing((one, two)).mismatch_deg) * 10**9) for one in windows[0] for two in windows[1]
    )
    found = [round(abs(fit.meshing.mismatch_deg) * 10**9) for fit in answer.fits]
    assert found == missed[: len(found)]
    assert len(found) == min(20, len(missed)) > 3
    assert all(fit.mismatch is None and not fit.exact for fit in answer.fits)


@pytest.mark.parametrize("asked", [None, "any"])
def test_over_several_ways_the_pairs_are_the_merge_of_those_of_single_ways(asked):
    shop = mill(DEMO_TEETH[:12])
    levers = [Route("box", Fraction(ratio), "right", lever=name) for name, ratio in (("A", 60), ("B", 40))]
    routes = (*levers, Route("plain", Fraction(72), "left"))
    shop = replace(shop, machine=replace(shop.machine, routes=routes))
    tolerance = Tolerance("share", Fraction(1, 100), Fraction(1, 100))
    request = PairRequest(parallel(tolerance=tolerance), Terms(route=asked, count=15, mounting="skip"), Fraction(1))
    answer = find_pairs(shop, request)
    ways = routes if asked else levers
    assert answer.routes == tuple(ways)
    terms = [replace(request.terms, route=way.call, count=200) for way in ways]
    single = [find_pairs(shop, replace(request, terms=each)) for each in terms]
    assert answer.searched == sum(each.searched for each in single)
    for name in ("fits", "moved"):
        merged = {}
        rows = [(row_of(fit), fit.first.way) for each in single for fit in getattr(each, name)]
        for row, way in sorted(rows, key=lambda row: row[0] if name == "fits" else (*row[0][2:4], row[0][1], row[0])):
            merged.setdefault(row[-1], (row[-1], way))
        found = [(row_of(fit)[-1], fit.first.way) for fit in getattr(answer, name)]
        assert [leads for leads, _ in found] == [leads for leads, _ in merged.values()][:15]
        assert all(fit.first.way == fit.second.way for fit in getattr(answer, name))
    assert len({fit.first.way for fit in answer.fits}) > 1


def test_without_a_tolerance_the_window_widens_until_there_is_a_pair():
    answer = find_pairs(mill((20, 21, 44, 46)), PairRequest(parallel(), Terms(pairs=(1, 1), mounting="skip")))
    assert answer.fits
    low, high = answer.windows_mm[0]
    assert high / answer.request.pair.first.lead_mm - 1 > Fraction(1, 500)
    assert texts(answer)[0].startswith("no tolerance was given: leads within ")
    assert low < answer.fits[0].first.lead_mm < high


def test_a_lead_far_off_is_marked_as_in_every_list_and_the_mark_stays_in_a_narrow_table(monkeypatch):
    monkeypatch.setenv("COLUMNS", "80")
    pair = parallel(first=19, second=47, face_mm=20)
    answer = find_pairs(mill(DEMO_TEETH), PairRequest(pair, Terms(mounting="skip", count=40)))
    trains = [train for fit in answer.fits for train in fit.fits]
    marked = [" OFF" in row["error"] for row in cells(answer)]
    assert marked == [abs(train.error) > Fraction(1, 1000) for train in trains]
    assert set(marked) == {True, False}
    assert written(answer, "table").count("% OFF") == sum(marked)
    near = find_pairs(
        mill(DEMO_TEETH), PairRequest(replace(pair, tolerance=Tolerance.parse("1%")), answer.request.terms)
    )
    assert {row["error"].rpartition(" ")[2] for row in cells(near)} == {"ok"}


def test_a_tooth_ratio_whose_prime_no_gear_has_can_have_no_exact_pair_and_says_so():
    answer = find_pairs(mill(DEMO_TEETH), PairRequest(parallel(second=47), Terms(mounting="skip")))
    assert not any(fit.exact for fit in answer.fits)
    assert (
        "no pair can be exact: leads in the ratio 20:47 of the teeth need gears with the factor 47, "
        "and there is none in the box"
    ) in texts(answer)


def test_moving_the_helix_angle_gives_exact_pairs_with_their_new_centre_distance():
    request = PairRequest(parallel(), Terms(mounting="skip", count=50), helix_within_deg=Fraction(1, 2))
    answer = find_pairs(mill(DEMO_TEETH), request)
    assert answer.moved
    for fit in answer.moved:
        assert fit.exact
        assert abs(fit.meshing.shared_deg) <= Fraction(1, 2)
        with mpmath.workdps(30):
            wanted = 64 / mpmath.cos(high(fit.meshing.helix_angles_deg[0]) * mpmath.pi / 180)
            assert near(fit.meshing.centre_distance_mm, wanted, 1e-9)
    efforts = [(fit.first.train.gears + fit.second.train.gears) for fit in answer.moved]
    assert efforts == sorted(efforts)


def test_a_mismatch_below_what_the_screw_holds_says_so():
    shop = mill(DEMO_TEETH)
    shop = replace(shop, machine=replace(shop.machine, screw_accuracy=Fraction(1, 1000)))
    answer = find_pairs(shop, PairRequest(parallel(second=47), Terms(mounting="skip")))
    assert texts(answer)[-1] == "the best mismatch is below what the screw itself holds (0.100 %)"


def test_trains_that_do_not_mount_are_told_with_the_reason_when_they_are_to_be_shown():
    shop = mill((12, 13, 14, 15))
    answer = find_pairs(shop, PairRequest(parallel(second=20), Terms(pairs=(2, 2), mounting="show")))
    assert not answer.found
    unmounted = [fit for fit in answer.fits if not fit.mounts]
    assert unmounted
    assert f"gear 1: no, {next(fit.first.why for fit in unmounted if fit.first.mounts == 'no')}" in written(
        answer, "table"
    )


@given(st.integers(1, 10**6))
@settings(max_examples=100)
def test_prime_factors_multiply_back(number):
    left = number
    for prime in primes(number):
        assert all(prime % divisor for divisor in range(2, min(prime, 1000)))
        assert left % prime == 0
        while left % prime == 0:
            left //= prime
    assert left == 1


@pytest.mark.parametrize(
    ("make", "message"),
    [
        (
            lambda: HelicalPair(HelicalGear(Fraction(2), 20, Fraction(20)), HelicalGear(Fraction(3), 20, Fraction(20))),
            "two gears of different normal module do not mesh\n"
            "help: give one normal module for both, as in --gear-module 2",
        ),
        (
            lambda: HelicalPair(HelicalGear(Fraction(2), 20, Fraction(20)), HelicalGear(Fraction(2), 20, Fraction(21))),
            "helix angles 20.000° (20°00′00″) and 21.000° (21°00′00″) do not mesh on parallel shafts\n"
            "help: give one helix angle for both gears, or add --shafts crossed",
        ),
        (
            lambda: HelicalPair(*parallel().gears, hands=("right", "right")),
            "hands right and right do not mesh on parallel shafts\n"
            "help: give opposite hands, as in --hand left --mate-hand right, or add --shafts crossed",
        ),
        (
            lambda: HelicalPair(*parallel().gears, shafts="bevel"),
            "position of the shafts 'bevel' is not known\nhelp: use parallel or crossed",
        ),
        (
            lambda: parallel(helix=Fraction(90)),
            "helix angle 90 is not above 0° and below 90°\nhelp: give an angle between the two, such as 20",
        ),
        (
            lambda: crossed(hands=("right", "either")),
            "crossed shafts need the hand of each gear\nhelp: give both: --hand right --mate-hand left",
        ),
        (
            lambda: crossed(hands=("right", "left")),
            "equal helix angles of opposite hands make the shafts parallel\n"
            "help: add --shafts parallel, or change a hand or an angle",
        ),
        (
            lambda: HelicalPair(*parallel().gears, ("right", "right"), "crossed", Fraction(20)),
            "a face width tells nothing on crossed shafts, where the teeth touch in a point\nhelp: leave --face out",
        ),
        (
            lambda: PairRequest(crossed(), helix_within_deg=Fraction(1)),
            "the helix angle cannot be moved on crossed shafts: the shafts would move too\n"
            "help: leave --helix-within out",
        ),
        (
            lambda: replace(crossed(), fixed_mm=Fraction(60)),
            "a centre distance does not tell the two helix angles of crossed shafts\nhelp: leave --centre-distance out "
            "and give both angles, as in --helix-angle 45,45; the distance follows",
        ),
        (
            lambda: PairRequest(at_distance(Fraction(2), 20, 44, Fraction(68)), helix_within_deg=Fraction(1)),
            "the helix angle cannot be moved at a fixed centre distance, from which it follows\nhelp: leave "
            "--helix-within out, or give the angle of the drawing instead of --centre-distance",
        ),
        (
            lambda: PairRequest(parallel(), helix_within_deg=Fraction(11)),
            "the helix angle cannot be moved by 11°\nhelp: give more than 0° and up to 10°",
        ),
        (
            lambda: find_pairs(mill((20, 30)), PairRequest(parallel(helix=Fraction(2)), helix_within_deg=Fraction(3))),
            "moving a helix angle of 2.000° (2°00′00″) by 3.000° (3°00′00″) passes 0° or 90°\n"
            "help: move it less, as in --helix-within 0.5deg",
        ),
        (
            lambda: parallel().meshing((Fraction(100), Fraction(800))),
            "a lead is too short for the teeth of its gear: less than π × normal module × teeth\n"
            "help: give a longer lead",
        ),
    ],
)
def test_a_pair_that_cannot_be_says_so(make, message):
    with pytest.raises(GearsearchError) as caught:
        make()
    assert str(caught.value) == message


def ask(*words):
    """What the command prints, and its exit code."""
    return raising("pair", *words)


PAIR = ("--gear-module", "2", "--teeth", "20,44", "--helix-angle", "20", "--face", "25mm", "--count", "2")


def test_the_command_answers_in_words_json_and_csv():
    code, text = ask(*PAIR, "--helix-within", "0.5deg")
    assert code == 0
    assert "normal module 2 mm, parallel shafts, centre distance 68.107 mm (2.6814 in)" in text
    assert "  none  " in text
    assert "exact pairs with the helix angle moved, easiest first:" in text
    record = json.loads(ask(*PAIR, "--format", "json")[1])
    best = record["fits"][0]
    assert best["exact"]
    assert best["mismatch_exact"] == "0"
    assert best["mismatch_minutes"] == best["mismatch_um"] == 0
    first, second = (Fraction(best[gear]["lead_exact"]) for gear in ("first", "second"))
    assert first / second == Fraction(20, 44)
    assert {best["first"]["hand"], best["second"]["hand"]} == {"right", "left"}
    lines = ask(*PAIR, "--format", "csv")[1].splitlines()
    assert lines[0].startswith("angle,rank,exact,mismatch_exact,mismatch_minutes,mismatch_um,shared_error_ppm")
    assert lines[1].startswith("drawn,1,true,0,0.0,0.0,")


FIXED = ("--gear-dp", "12", "--teeth", "20,40", "--centre-distance", "2.75in", "--count", "2")


def test_the_command_takes_a_centre_distance_and_says_what_the_trains_would_suit():
    code, text = ask(*FIXED)
    assert code == 0
    assert (
        "centre distance 69.850 mm (2.7500 in) as given\n  cosine of the helix angle = normal module × (20 + 40)"
        in text
    )
    assert "= 0.909091" in text
    assert text.count("helix angle 24.620° (24°37′12″)") == 2
    assert "at this centre distance, least mismatch first:" in text
    assert "gear 1: prove the depth by the span square to the teeth: with a 20° cutter 3 teeth 16.399 mm" in text
    assert "gear 2: prove the depth by the span square to the teeth: with a 20° cutter 6 teeth 35.923 mm" in text
    assert text.count("Span too big?") == 1
    assert "distance off" in text
    assert "  +0.0068 mm  " in text
    assert "the shafts stay 69.850 mm apart" in text
    assert "at most 0.012 mm; + is tight" in text
    record = json.loads(ask(*FIXED, "--format", "json")[1])
    assert record["pair"]["centre_distance_mm"] == 69.85
    assert record["pair"]["centre_distance_fixed"]
    spans = record["pair"]["gears"][0]["spans"]
    assert [(span["pressure_angle_deg"], span["teeth"], round(span["span_mm"], 3)) for span in spans] == [
        (20, 3, 16.399),
        (14.5, 3, 16.395),
    ]
    assert not json.loads(ask(*PAIR, "--format", "json")[1])["pair"]["centre_distance_fixed"]


def test_at_a_fixed_distance_no_moving_of_the_angle_is_offered():
    _, text = ask(*FIXED, "--tolerance", "1ppm", "--pairs", "1")
    assert "what would help: more --pairs, or a wider --tolerance" in text
    assert "no pair here is exact; more --pairs may have one" in text
    assert "the shafts stay" not in text


@pytest.mark.parametrize(
    ("size", "words"),
    [
        (("--gear-module", "0.2"), "normal module 0.2 mm"),  # diametral pitch 127
        (("--gear-dp", "127"), "normal diametral pitch 127"),
        (("--gear-dp", "20"), "normal diametral pitch 20"),
        (("--gear-module", "1.27"), "normal module 1.27 mm"),
        (("--gear-dp", "12.5"), "normal diametral pitch 25/2"),
    ],
)
def test_the_size_of_the_teeth_is_told_as_it_was_given(size, words):
    main(["pair", *size, "--teeth", "20,44", "--helix-angle", "20", "--count", "1"], out := io.StringIO())
    assert f"a helical pair of {words}, parallel shafts" in out.getvalue()


def test_the_command_takes_crossed_shafts_and_diametral_pitch():
    words = ("--gear-dp", "12", "--teeth", "18,24", "--helix-angle", "45,45", "--shafts", "crossed")
    code, text = ask(*words, "--hand", "right", "--mate-hand", "right", "--mounting", "skip")
    assert code == 0
    assert "normal diametral pitch 12, shafts crossed at 90.000° (90°00′00″)" in text


SMALL = ("--gear-module", "0.2", "--teeth", "1,1", "--helix-angle", "80")


def test_the_command_names_the_module_that_was_given_and_not_the_pitch_it_makes():
    text = ask(*SMALL)[1]
    assert "a helical pair of normal module 0.2 mm, parallel" in text
    assert "127" not in text.splitlines()[2]
    assert "a helical pair of normal diametral pitch 127, parallel" in ask("--gear-dp", "127", *SMALL[2:])[1]
    assert HelicalGear(Fraction(1, 5), 20, Fraction(20)).module_words == "normal module 0.2 mm"


def test_a_window_that_ends_at_the_shortest_lead_of_the_teeth_tells_both_its_ends():
    """sin 80° = 0.98481: a lead more than 1.519 % shorter has no helix angle at that diameter."""
    text = ask(*SMALL)[1]
    assert "no tolerance was given: leads -1.519 % to +25.600 % off those wanted were searched" in text
    crossed = (*SMALL[:4], "--helix-angle", "80,20", "--shafts", "crossed", "--hand", "right", "--mate-hand", "right")
    assert (
        "leads -1.519 % to +25.600 % off that of gear 1 and within 25.600 % of that of gear 2 were searched"
        in ask(*crossed)[1]
    )


def test_moving_the_helix_angle_is_no_promise_of_an_exact_pair():
    assert "no pair here is exact; --helix-within 0.5deg may find one, with the helix angle moved" in ask(*SMALL)[1]
    assert "no exact pair was found" in ask(*SMALL, "--helix-within", "0.5deg")[1]


def test_the_command_ends_with_1_when_no_pair_mounts():
    code, text = ask(*PAIR, "--tolerance", "1ppm", "--pairs", "1")
    assert code == 1
    assert "no train that mounts for both gears" in text
    assert "what would help: --helix-within 0.5deg, more --pairs, or a wider --tolerance" in text


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (
            ("--gear-module", "2", "--teeth", "20", "--helix-angle", "20"),
            "--teeth '20' gives 1 value, and takes 2\nhelp: write it as in --teeth 20,44",
        ),
        (
            ("--gear-module", "2", "--teeth", "20,44", "--helix-angle", "20,20,20"),
            "--helix-angle '20,20,20' gives 3 values, and takes 1 or 2\nhelp: write it as in --helix-angle 20",
        ),
        (
            ("--gear-module", "2", "--teeth", "20,44"),
            "a helical pair needs its helix angle, or the centre distance that tells it, and neither is given\n"
            "help: give one of the two, as in --helix-angle 20 or --centre-distance 2.75in",
        ),
        (
            (*FIXED, "--helix-angle", "20"),
            "a helical pair needs its helix angle, or the centre distance that tells it, and both are given\n"
            "help: give one of the two, as in --helix-angle 20 or --centre-distance 2.75in",
        ),
        (
            (*FIXED, "--shafts", "crossed"),
            "a centre distance does not tell the two helix angles of crossed shafts\nhelp: leave --centre-distance out "
            "and give both angles, as in --helix-angle 45,45; the distance follows",
        ),
        (
            ("--teeth", "20,44", "--helix-angle", "20"),
            "the teeth of both gears need one size, and none is given\n"
            "help: give just one, as in --gear-module 2 or --gear-dp 12 or --gear-transverse-module 2",
        ),
        (
            ("--gear-module", "2", "--teeth", "20,x", "--helix-angle", "20"),
            "--teeth 'x' is not a whole number\nhelp: write it as in --teeth 20,44",
        ),
        (
            ("--gear-module", "2", "--teeth", "20,44", "--helix-angle", "20", "--count", "0", "--tolerance", "1%"),
            "0 is no number of answers\nhelp: give a whole number from 1 to 1000",
        ),
    ],
)
def test_a_command_that_cannot_be_says_so(words, message):
    with pytest.raises(GearsearchError) as caught:
        ask(*words)
    assert str(caught.value) == message
