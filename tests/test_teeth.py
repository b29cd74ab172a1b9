"""Indexing by the teeth of a change gear: the mesh that can be opened, and how far the work goes on there."""

from dataclasses import replace
from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from refusals import refused
from shops import mill

from gearsearch.base.errors import GearsearchError
from gearsearch.dividing.divided import while_geared
from gearsearch.dividing.teeth import opening, told
from gearsearch.shop.bracket import BRACKETS
from gearsearch.shop.machine import MACHINES
from gearsearch.shop.overview import machine_lines, two_ratios
from gearsearch.shop.quadrant import Quadrant
from gearsearch.shop.reader import demo_shop
from gearsearch.shop.trains import Pair, Train

TEETH = (20, 24, 28, 30, 32, 36, 40, 45, 48, 60, 64, 72, 80, 90, 120)


def shop(kind, pivot, layout="slot"):
    made = mill(TEETH * 2)
    machine = MACHINES[kind](made.machine.screw_lead_mm, made.machine.routes)
    return replace(
        made, machine=machine, quadrant=Quadrant((Fraction(170),) * 2, pivot=pivot, bracket=BRACKETS[layout]())
    )


def mill_at(pivot):
    return shop("mill", pivot)


PAIRS = st.builds(Pair, *[st.sampled_from(TEETH)] * 2, st.lists(st.sampled_from(TEETH), max_size=1).map(tuple))
TRAINS = st.lists(PAIRS, min_size=1, max_size=3).map(lambda pairs: Train(tuple(pairs)))


def opened(shop, train, advance):
    return opening(shop, shop.route(), train, advance)


def gone_by(train, kind, advance):
    """Teeth that pass at the far mesh while so many pass at the near one: mesh by mesh, stud by stud."""
    wheels = [(pair.driver, pair.driven) for pair in train.pairs]
    if kind == "mill":
        wheels = [(driven, driver) for driver, driven in reversed(wheels)]
    teeth = Fraction(advance)
    for (_, onto), (by, _) in pairwise(wheels):
        teeth = teeth / onto * by  # what turns the one gear of a stud turns the other
    return teeth


@given(TRAINS, st.sampled_from(["mill", "lathe"]), st.integers(1, 40))
@settings(deadline=None)
def test_where_the_quadrant_swings_round_the_other_shaft_the_gears_own_mesh_opens(train, kind, advance):
    near = train.driven[-1] if kind == "mill" else train.drivers[0]
    found = opened(shop(kind, "first" if kind == "mill" else "last"), train, advance)
    assert (found.gear, found.advance) == (near, advance)
    assert ("swing the quadrant back until it is out of mesh" in found.mark) == (train.studs > 0)


@given(TRAINS.filter(lambda train: train.studs), st.sampled_from(["mill", "lathe"]), st.integers(1, 40))
@settings(deadline=None)
def test_where_it_swings_round_the_gears_own_shaft_the_far_mesh_opens_by_whole_teeth(train, kind, advance):
    there = gone_by(train, kind, advance)
    quadrant = shop(kind, "last" if kind == "mill" else "first")
    near, far = train.driven[-1], train.drivers[0]
    if kind == "lathe":
        near, far = far, near
    if there.denominator == 1:
        found = opened(quadrant, train, advance)
        assert found.advance == there
        assert f"so its mesh stays: mark that of the {far} on" in found.mark
    elif train.studs == 1:
        found = opened(quadrant, train, advance)
        assert (found.gear, found.advance) == (near, advance)
        assert "mark both meshes" in found.mark
    else:
        with pytest.raises(GearsearchError, match=f"at the {far} on .*, which can be opened, a start is"):
            opened(quadrant, train, advance)


@pytest.mark.parametrize(
    ("kind", "train", "advance", "gear", "there"),
    [
        ("mill", "40/(28)/72", 24, 28, 24),  # an idler passes on as many teeth as it gets
        ("mill", "40/28 36/72", 9, 28, 7),  # 9 of the 72 turn the stud 1/4 turn: 7 of its 28
        ("lathe", "120/20 60/45", 15, 60, 45),  # 15 of the 120 turn the stud 3/4 turn: 45 of its 60
        ("lathe", "80/(64)/20", 20, 64, 20),
    ],
)
def test_the_gear_that_goes_on_at_the_far_shaft(kind, train, advance, gear, there):
    """By hand, in the remark beside each."""
    found = opened(shop(kind, "last" if kind == "mill" else "first"), Train.parse(train), advance)
    assert (found.gear, found.advance) == (gear, there)
    assert f"until the {gear} that meshes there has gone on by {there} teeth" in found.turn


@pytest.mark.parametrize(
    ("advance", "gear", "words"),
    [
        (1, 20, "1 tooth"),
        (19, 20, "19 teeth"),
        (20, 20, "1 turn"),
        (21, 20, "1 turn and 1 tooth"),
        (45, 20, "2 turns and 5 teeth"),
    ],
)
def test_more_teeth_than_a_gear_has_are_told_in_turns(advance, gear, words):
    assert told(advance, gear) == words


def test_a_gear_that_cannot_come_off_is_not_drawn_along_its_shaft():
    made = mill_at("first")
    made = replace(made, gears=(replace(made.gears[0], fixed={"last": 72}),))
    assert "draw the 24 along its shaft, still on its key, until" in opened(made, Train.parse("24/72"), 8).mark
    route = replace(made.route(), name="spindle", ratio=Fraction(1))
    made = replace(made, machine=replace(made.machine, routes=(route,)))
    with refused("refused", "72", "2, 3, 4"):
        while_geared(made, 5, "spindle", Train.parse("24/72"))


def test_a_quadrant_that_cannot_swing_is_not_swung():
    made = mill_at("first")
    still = replace(made, quadrant=replace(made.quadrant, swing_deg=(Fraction(0), Fraction(0))))
    assert "swing" not in opened(still, Train.parse("40/(28)/72"), 24).mark


@pytest.mark.parametrize(
    ("name", "ratio", "through"),
    [
        ("no worm", 2, False),
        ("worm out", 1, False),
        ("without worm", 2, False),
        ("worm disengaged", 3, False),
        ("no worm", 60, None),
        ("worm", 40, True),
        ("worm, output side", 40, True),
        ("short leads", 2, None),
    ],
)
def test_a_worm_that_is_denied_in_the_name_of_a_route_is_out(name, ratio, through):
    shop = demo_shop()
    route = replace(shop.route(), name=name, ratio=Fraction(ratio))
    assert shop.machine.through_worm(route, shop.dividing) is through
    assert shop.machine.by_teeth(route, shop.dividing) == (through is False)


@pytest.mark.parametrize(
    ("routes", "doubted"),
    [
        ({"worm": 60, "worm by 2:1 box": 120}, []),  # the head's own ratio stands there
        ({"worm": 40, "spindle": 1}, ["worm"]),
        ({"head": 40, "spindle": 1}, ["head"]),
        ({"short leads": 2, "spindle by gears": 40}, []),  # by gears to the spindle
    ],
)
def test_a_ratio_is_doubted_where_no_route_has_the_head_s_own(routes, doubted):
    shop = demo_shop()
    made = tuple(replace(shop.route(), name=name, ratio=Fraction(ratio)) for name, ratio in routes.items())
    shop = replace(shop, machine=replace(shop.machine, routes=made))
    assert [route.name for route in made if shop.machine.ratio_doubt(route, shop.dividing)] == doubted
    assert [note.code for note in two_ratios(shop, *made)] == ["two-ratios"] * len(doubted)
    assert next(machine_lines(shop, made[0])).startswith(f"route {made[0].name}: ")


@pytest.mark.parametrize(
    "quadrant", [None, Quadrant(None), Quadrant((Fraction(170),) * 2, bracket=BRACKETS["plate"]())]
)
def test_of_a_quadrant_that_is_not_known_nothing_is_promised(quadrant):
    found = opened(replace(mill(TEETH), quadrant=quadrant), Train.parse("40/(28)/72"), 24)
    assert "if another mesh opens with it, mark that too before, and let no gear on a stud turn" in found.mark


def test_two_gears_without_a_stud_are_drawn_apart_along_a_shaft():
    found = opened(mill_at("last"), Train.parse("24/72"), 8)
    assert "draw the 72 or the 24 along its shaft, still on its key, until they are out of mesh" in found.mark


def test_starts_that_need_a_mesh_that_cannot_be_opened_are_refused():
    made = mill_at("last")
    made = replace(
        made, machine=replace(made.machine, routes=(replace(made.route(), name="spindle", ratio=Fraction(1)),))
    )
    with pytest.raises(GearsearchError) as caught:
        while_geared(made, 3, "spindle", Train.parse("40/28 36/(24)/72"))
    assert str(caught.value) == (
        "the quadrant swings round the shaft of the 72, so its mesh stays; at the 40 on the table screw, which can be "
        "opened, a start is 18.667 teeth of the 28\n"
        "help: take a train with one stud, or of one pair, or one in which those teeth come out whole"
    )


@pytest.mark.parametrize(
    ("swing", "swings"), [((-48, 48), False), ((-60, 60), True), ((-48, 60), True), ((-60, 48), False)]
)
def test_a_quadrant_too_near_its_stop_is_not_swung(swing, swings):
    """80/44 48/100 stands at +47.6°: tips clear two modules, 3 mm, farther from the last shaft, at some 49.4°."""
    shop = demo_shop()
    shop = replace(shop, quadrant=replace(shop.quadrant, swing_deg=tuple(map(Fraction, swing))))
    route, train = shop.route("spindle"), Train.parse("80/44 48/100")
    assert ("swing the quadrant back" in opening(shop, route, train, 25).mark) == swings
