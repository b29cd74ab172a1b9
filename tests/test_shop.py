"""The shop as an object: its leads, its routes, and which gear may go where."""

from dataclasses import FrozenInstanceError, replace
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from quadrants import LAYOUTS
from refusals import refused

from gearsearch.base.errors import GearsearchError
from gearsearch.shop.bracket import BRACKETS, Bracket
from gearsearch.shop.brackets.plate import Plate
from gearsearch.shop.brackets.slot import Slot
from gearsearch.shop.gears import GearSet, Kind
from gearsearch.shop.head import Dividing
from gearsearch.shop.machine import MACHINES, Drive, Machine, Route
from gearsearch.shop.machines.lathe import Lathe
from gearsearch.shop.machines.mill import Mill
from gearsearch.shop.quadrant import Obstacle, Quadrant
from gearsearch.shop.shop import Shop
from gearsearch.shop.trains import Train

ONE = Kind(Fraction(3, 2), tag="m1.5", label="module 1.5 mm, 20°")
TWO = Kind(Fraction(127, 100), Fraction(29, 2), tag="dp20", label="diametral pitch 20, 14.5°")
WORM, SPINDLE = Route("worm", Fraction(60), "right", Fraction(4)), Route("spindle", Fraction(1))


FIVE = (GearSet(Kind(Fraction(3, 2)), (20, 24, 24, 40, 60)),)


def shop(gears=FIVE, quadrant=None, kind="mill"):
    """A small shop with two routes."""
    return Shop("Millrace workshop", "mm", MACHINES[kind](Fraction(6), (WORM, SPINDLE)), gears, quadrant)


@pytest.mark.parametrize(
    ("name", "ratio", "worm"),
    [
        ("worm", 40, True),
        ("by the Worm shaft", 20, True),
        ("worm", 1, None),
        ("spindle", 1, False),
        ("spindle, 2:1", 2, False),
        ("direct", Fraction(1, 2), False),
        ("short leads", 1, False),
        ("short leads", 2, None),
        ("short leads", Fraction(1, 2), None),
        ("usual", 60, True),
        ("usual", 40, None),
        ("spindle", 60, None),
    ],
)
def test_what_is_in_mesh_is_taken_from_the_route_s_name_and_ratio_or_not_known(name, ratio, worm):
    head = replace(shop(), dividing=Dividing(Fraction(60), ((15,),)))
    assert head.machine.through_worm(Route(name, Fraction(ratio)), head.dividing) is worm


@given(st.integers(1, 60), st.integers(20, 127), st.fractions(Fraction(1, 4), 4, max_denominator=6))
def test_a_gear_indexes_the_starts_where_its_count_is_the_multiple_that_is_told(starts, teeth, ratio):
    whole = (teeth * ratio / starts).denominator == 1
    route = Route("direct", ratio)
    assert (teeth % Mill(Fraction(6), (route,)).multiple(route, starts) == 0) == whole


def test_only_a_quadrant_with_its_shaft_distance_is_geometry():
    measured, bare = Quadrant((Fraction(150), Fraction(150))), Quadrant(None)
    assert [shop(quadrant=quadrant).has_geometry for quadrant in (measured, bare, None)] == [True, False, False]


def test_the_lead_of_the_machine_is_screw_lead_times_ratio():
    assert shop().drive(WORM).lead_of_machine_mm == 360
    assert shop().drive(SPINDLE).lead_of_machine_mm == 6


def test_forty_to_one_and_a_5_mm_screw_give_200_mm():
    """Common practice, no source."""
    machine = Mill(Fraction(5), (Route("worm", Fraction(40)),))
    assert replace(shop(), machine=machine).drive(machine.routes[0]).lead_of_machine_mm == 200


@pytest.mark.parametrize(("train", "inches"), [("100/24 32/48", "3.60"), ("32/48 40/72", "27")])
def test_leads_of_the_10_in_machine_are_as_printed(train, inches):
    """Practical Treatise on Milling and Milling Machines, 1914, p. 62 (the 27 in by its rule)."""
    machine = Mill(Fraction(127, 20), (Route("worm", Fraction(40)),))
    lead = replace(shop(), machine=machine).lead(Train.parse(train), machine.routes[0])
    assert lead == Fraction(inches) * Fraction(127, 5)


def test_a_lathe_cuts_by_drivers_over_driven():
    """6 threads per inch with 18 driving 54 cut 18 (Rose, Modern Machine-Shop Practice, on screw cutting)."""
    machine = Lathe(Fraction(127, 30), (Route("feed", Fraction(1)),))
    lathe = replace(shop(), machine=machine)
    assert lathe.lead(Train.parse("18/54"), machine.routes[0]) == Fraction(127, 5) / 18


@given(st.lists(st.tuples(st.integers(4, 200), st.integers(4, 200)), min_size=1, max_size=4))
def test_a_mill_and_a_lathe_cut_inverse_ratios_and_idlers_none(pairs):
    plain = Train.parse(" ".join(f"{a}/{b}" for a, b in pairs))
    idled = Train.parse(" ".join(f"{a}/(33)/{b}" for a, b in pairs))
    assert shop().lead(plain, WORM) * shop(kind="lathe").lead(plain, WORM) == 360 * 360
    assert shop().lead(idled, WORM) == shop().lead(plain, WORM)


def test_a_route_is_found_by_name_and_the_first_is_the_default():
    assert shop().route() is WORM
    assert shop().route("spindle") is SPINDLE
    with pytest.raises(GearsearchError) as caught:
        shop().route("worn")
    assert str(caught.value) == ("there is no route 'worn' in Millrace workshop\nhelp: use one of: worm, spindle")


def test_only_a_shop_without_a_source_is_the_demo():
    assert shop().is_demo
    assert not replace(shop(), source="shop.toml").is_demo


def test_every_gear_is_available_loose_joined_and_fixed():
    gears = GearSet(ONE, (20, 24, 24), ((60, 30), (24, 30)), {"first": 40, "last": 20})
    assert gears.available() == {20: 2, 24: 3, 30: 2, 40: 1, 60: 1}


def test_the_outside_diameter_is_module_times_teeth_and_two():
    assert Kind(Fraction(3, 2)).outside_diameter_mm(20) == 33
    assert TWO.outside_diameter_mm(18) == Fraction(127, 5)


@pytest.mark.parametrize(
    ("teeth", "place", "allowed"),
    [
        (20, "first", False),
        (24, "first", True),
        (24, "stud", True),
        (40, "last", True),
        (60, "last", False),
        (40, "stud", False),
        (40, "first", True),
    ],
)
def test_a_gear_goes_where_its_bore_and_the_shafts_limits_let_it(teeth, place, allowed):
    gears = (GearSet(Kind(Fraction(3, 2)), (20, 24, 24, 40, 60), only_on={40: frozenset({"first", "last"})}),)
    quadrant = Quadrant(None, smallest={"first": 24}, largest={"last": Fraction(63)})
    assert shop(gears, quadrant).allows("", teeth, place) is allowed


def test_a_limit_in_teeth_and_one_in_millimetres_are_told_apart():
    in_teeth = shop(quadrant=Quadrant(None, largest={"last": 40}))
    in_mm = shop(quadrant=Quadrant(None, largest={"last": Fraction(40)}))
    assert in_teeth.allows("", 40, "last")
    assert not in_mm.allows("", 40, "last")
    assert in_mm.allows("", 24, "last")


def test_a_shop_without_limits_lets_every_gear_go_anywhere():
    assert all(shop().allows("", teeth, place) for teeth in (20, 60) for place in ("first", "stud", "last"))


def two_kinds():
    """A shop with two kinds of tooth that share some counts."""
    return shop((GearSet(ONE, (20, 24, 40, 60)), GearSet(TWO, (20, 24, 50))))


def test_a_pair_that_one_kind_alone_can_make_gets_its_tag():
    assert str(two_kinds().tagged(Train.parse("40/60 20/50"))) == "40/60@m1.5 20/50@dp20"
    assert str(two_kinds().tagged(Train.parse("20/24@dp20"))) == "20/24@dp20"
    assert str(shop().tagged(Train.parse("40/60"))) == "40/60"


def test_a_pair_that_two_kinds_could_make_must_be_told_apart():
    with pytest.raises(GearsearchError) as caught:
        two_kinds().tagged(Train.parse("20/24"))
    assert str(caught.value) == (
        "the pair 20/24 could be of several kinds of tooth\nhelp: write 20/24@m1.5 or 20/24@dp20"
    )


def test_a_pair_that_no_one_kind_can_make_is_refused():
    with pytest.raises(GearsearchError) as caught:
        two_kinds().tagged(Train.parse("40/50"))
    assert str(caught.value) == (
        "no one kind of tooth has all gears of the pair 40/50\n"
        "help: kinds owned: m1.5 (module 1.5 mm, 20°), dp20 (diametral pitch 20, 14.5°)"
    )


def test_a_tag_that_is_not_there_is_refused_with_those_that_are():
    with pytest.raises(GearsearchError) as caught:
        two_kinds().tagged(Train.parse("20/24@dp16"))
    assert str(caught.value) == "there is no kind of tooth 'dp16' in Millrace workshop\nhelp: use one of: m1.5, dp20"
    with refused("no-such-kind", "leave the kind out"):
        shop().gear_set("m1.5")


def test_circles_are_those_of_all_plates_each_once():
    assert Dividing(Fraction(40), ((20, 15), (15, 33))).circles == (15, 20, 33)


def test_a_shop_cannot_be_changed_by_accident():
    with pytest.raises(FrozenInstanceError):
        shop().name = "other"


def machine_with(**change):
    """The machine of the small shop, with something else in it."""
    return replace(shop().machine, **change)


def quadrant_with(**change):
    """A quadrant with its shaft distance, with something else in it."""
    return replace(Quadrant((Fraction(150), Fraction(150))), **change)


@pytest.mark.parametrize(
    ("make", "message"),
    [
        (lambda: machine_with(screw_lead_mm=0), "screw_lead_mm 0 is not above zero"),
        (lambda: machine_with(screw_lead_mm=6.35), "screw_lead_mm 6.35 (float) is not an exact number"),
        (lambda: machine_with(screw_lead_mm=None), "screw_lead_mm None (NoneType) is not an exact number"),
        (lambda: machine_with(screw_accuracy=1e-4), "screw_accuracy 0.0001 (float) is not an exact number"),
        (lambda: machine_with(backlash_mm=Fraction(-1, 10)), "backlash_mm -1/10 is below zero"),
        (lambda: machine_with(routes=()), "a machine without a route drives nothing"),
        (lambda: machine_with(routes=(WORM, WORM)), "two routes of worm, worm have one name"),
        (lambda: Route("worm", 60.0), "ratio 60.0 (float) is not an exact number"),
        (lambda: replace(WORM, ratio=-60), "ratio -60 is not above zero"),
        (lambda: replace(WORM, hand_with_one_stud="Right"), "hand_with_one_stud 'Right' is not known"),
        (lambda: replace(WORM, step_up_warning=0), "step_up_warning 0 is not above zero"),
        (lambda: replace(WORM, name=None), "the name of a route None (NoneType) is no text"),
        (lambda: Machine(Fraction(6), (WORM,)), "a machine is always of some kind"),
        (lambda: Machine("mill", Fraction(6), (WORM,)), "a machine is always of some kind"),
        (lambda: Mill(6.0, (WORM,)), "screw_lead_mm 6.0 (float) is not an exact number"),
        (lambda: Drive("mill", WORM), "machine of a drive 'mill' (str) is no Machine"),
        (lambda: Kind(1.5), "module_mm 1.5 (float) is not an exact number"),
        (lambda: Kind(0), "module_mm 0 is not above zero"),
        (lambda: Kind(2, 14.5), "pressure_angle_deg 14.5 (float) is not an exact number"),
        *(
            (lambda angle=angle: Kind(2, angle), f"a pressure angle of {angle}° is none of change gears")
            for angle in (9, 31, 90, 200)
        ),
        (lambda: Kind(2, tag=2), "the tag of a kind of tooth 2 (int) is no text"),
        (lambda: Kind(2, label=2), "the label of a kind of tooth 2 (int) is no text"),
        *(
            (lambda teeth=teeth: GearSet(ONE, (20, teeth)), f"{said} is no number of teeth\nhelp: give a whole number")
            for teeth, said in ((0, "0"), (3, "3"), (2001, "2001"), (40.0, "40.0"), (True, "True"), ("40", "'40'"))
        ),
        (lambda: GearSet(ONE, joined=((30, 0),)), "0 is no number of teeth"),
        (lambda: GearSet(ONE, joined=((30, 40, 50),)), "a joined piece of 3 gears cannot be"),
        (lambda: GearSet(ONE, fixed={"first": 0}), "0 is no number of teeth"),
        (lambda: GearSet(ONE, fixed={"stud": 40}), "the place in fixed 'stud' is not known\nhelp: use first or last"),
        (lambda: GearSet(ONE, (40,), only_on={"40": frozenset({"first"})}), "'40' is no number of teeth"),
        (lambda: GearSet(ONE, (40,), only_on={40: frozenset({"First"})}), "only_on frozenset({'First'}) is no set of"),
        (lambda: GearSet(ONE, (40,), only_on={40: "first"}), "only_on 'first' is no set of places"),
        (lambda: quadrant_with(pivot="Last"), "the pivot 'Last' is not known\nhelp: use first or last"),
        (lambda: quadrant_with(bracket="plate"), "bracket of a quadrant 'plate' (str) is no Bracket\nhelp: make it as"),
        (lambda: Bracket(2), "a bracket is always of some kind\nhelp: make it with Plate(studs, reach_mm) or Slot("),
        (lambda: Slot(9), "9 is no number of studs\nhelp: give a whole number from 0 to 8"),
        (lambda: Slot(2.5), "2.5 is no number of studs"),
        (lambda: quadrant_with(planes=1), "1 is no number of gear planes\nhelp: give a whole number from 2 to 3"),
        (lambda: quadrant_with(clearance_mm=-1), "clearance_mm -1 is below zero"),
        (lambda: quadrant_with(shaft_distance_mm=(0, 150)), "shaft_distance_mm 0 is not above zero"),
        (lambda: quadrant_with(shaft_distance_mm=150), "shaft_distance_mm 150 is no least with a greatest"),
        (
            lambda: quadrant_with(shaft_distance_mm=(150, None)),
            "the greatest shaft_distance_mm None (NoneType) is not an exact",
        ),
        (lambda: Slot(2, (40.0, 190.0)), "the least reach_mm 40.0 (float) is not an exact number"),
        (lambda: Plate(2, (190, 40)), "reach_mm from 190 to 40 cannot be"),
        (lambda: Slot(2, (-1, 40)), "reach_mm from -1 to 40 cannot be"),
        (lambda: quadrant_with(swing_deg=(0, 181)), "swing_deg from 0 to 181 cannot be"),
        (lambda: quadrant_with(nut_radius_mm={"First": 12}), "the place in nut_radius_mm 'First' is not known"),
        (
            lambda: quadrant_with(nut_radius_mm={"first": None}),
            "nut_radius_mm, first, None (NoneType) is not an exact number",
        ),
        (lambda: quadrant_with(nut_radius_mm={"first": -1}), "nut_radius_mm, first, -1 is below zero"),
        (lambda: quadrant_with(smallest={"worm": 24}), "the place in smallest 'worm' is not known"),
        (lambda: quadrant_with(largest={"last": 120.0}), "largest, last, 120.0 (float) is not an exact number"),
        (lambda: quadrant_with(largest={"last": 0}), "largest, last, 0 is not above zero"),
        (lambda: quadrant_with(obstacles=(Obstacle(1, 1, 1),) * 17), "17 obstacles cannot be judged"),
        (lambda: Obstacle(0.5, 1, 1), "x_mm 0.5 (float) is not an exact number"),
        (lambda: Obstacle(0, 1, 0), "radius_mm 0 is not above zero"),
        (lambda: Dividing(0, ((15,),)), "ratio 0 is not above zero"),
        (lambda: Dividing(40, ((),)), "a dividing head without an index circle cannot divide"),
        (lambda: Dividing(40, ((15, 1),)), "1 is no number of holes in a circle\nhelp: give a whole number from 2 to"),
        (lambda: Dividing(40, ((15, 1001),)), "1001 is no number of holes in a circle"),
        (lambda: Dividing(40, ((15, 16.0),)), "16.0 is no number of holes in a circle"),
        (lambda: replace(shop(), units="inch"), "the unit 'inch' is not known\nhelp: use mm or in"),
        (lambda: replace(shop(), name=7), "the name of a shop 7 (int) is no text"),
        (lambda: replace(shop(), source=None), "the name of a shop file None (NoneType) is no text"),
        (lambda: replace(shop(), machine=None), "machine of a shop None (NoneType) is no Machine"),
        (lambda: replace(shop(), gears=(ONE,)), "set of gears Kind("),
        (lambda: replace(shop(), quadrant={}), "quadrant of a shop {} (dict) is no Quadrant"),
        (lambda: replace(shop(), dividing=40), "dividing head of a shop 40 (int) is no Dividing"),
        (lambda: machine_with(routes=("worm",)), "route of a machine 'worm' (str) is no Route"),
        (lambda: GearSet(None), "kind of tooth None (NoneType) is no Kind"),
        (lambda: quadrant_with(obstacles=((80, -20, 15),)), "obstacle (80, -20, 15) (tuple) is no Obstacle"),
        (lambda: shop(FIVE * 2), "two kinds of tooth have one tag"),
        (
            lambda: shop((GearSet(ONE, (20,), fixed={"first": 40}), GearSet(TWO, (20,), fixed={"first": 40}))),
            "two gears are fixed on one shaft",
        ),
    ],
)
def test_a_shop_takes_no_value_from_which_a_wrong_answer_follows(make, message):
    with pytest.raises(GearsearchError) as caught:
        make()
    assert str(caught.value).startswith(message)
    assert caught.value.remedy


def test_whole_numbers_are_kept_as_fractions_so_that_what_follows_from_them_is_exact():
    machine = Lathe(6, (Route("feed", 2, step_up_warning=4),), backlash_mm=0)
    drive = Shop("Millrace", "mm", machine, FIVE).drive(machine.routes[0])
    assert drive.lead_mm(7) == Fraction(12, 7)
    assert machine.multiple(machine.routes[0], 3) == 3
    assert (machine.backlash_mm, machine.screw_accuracy) == (0, None)
    quadrant = Quadrant((150, 150), swing_deg=(-180, 180), clearance_mm=0, largest={"last": 40})
    numbers = (drive.lead_mm(7), *quadrant.shaft_distance_mm, *quadrant.swing_deg, quadrant.clearance_mm)
    assert all(isinstance(number, Fraction) for number in numbers)
    assert quadrant.largest == {"last": 40}
    assert isinstance(quadrant.largest["last"], int)  # as a Fraction it would be a diameter


@pytest.mark.parametrize("teeth", [4, 2000, np.int64(40)])
def test_a_gear_has_as_many_teeth_as_the_shop_file_allows(teeth):
    (count,) = GearSet(ONE, (teeth,)).teeth
    assert (count, type(count)) == (teeth, int)


@pytest.mark.parametrize(("layout", "takes"), [("slot", [0, 1, 2, 3, 4, 5, 6, 7, 8]), ("plate", [0, 1] + 7 * [2])])
def test_a_slot_takes_all_its_studs_and_a_plate_no_more_than_two(layout, takes):
    assert [BRACKETS[layout](studs).takes for studs in range(9)] == takes


@pytest.mark.parametrize("layout", LAYOUTS)
def test_a_train_may_mount_where_the_quadrant_takes_the_fewest_studs_that_it_needs(layout):
    """One stud cuts right: two pairs take one stud for the right hand, two for the left, three pairs two and three."""
    for studs in range(5):
        box = shop(quadrant=quadrant_with(bracket=BRACKETS[layout](studs)))
        most = min(studs, 2) if layout == "plate" else studs
        for pairs, hand, needs in ((2, "right", 1), (2, "left", 2), (3, "left", 2), (3, "right", 3), (3, "either", 2)):
            assert box.may_mount(WORM, pairs, hand) == (needs <= most)


def test_without_geometry_any_train_may_mount_and_a_hand_that_is_not_known_is_refused():
    assert shop().may_mount(WORM, 4, "left")
    assert shop(quadrant=Quadrant(None, bracket=Slot(0))).may_mount(WORM, 4, "left")
    with refused("hand-not-known", "spindle", "hand_with_one_stud"):
        shop().may_mount(SPINDLE, 2, "left")
