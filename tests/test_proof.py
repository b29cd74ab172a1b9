"""Moves that prove a lead by hand: such as a table can make, and near the length of the cut."""

import re
from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shops import classic

from gearsearch.base.units import INCH_MM, format_length
from gearsearch.output.markdown import markdown, marked
from gearsearch.search.check import check
from gearsearch.search.proof import MOST_TRAVEL_MM, exact_length, move, moves, proof, too_long
from gearsearch.sheet.page import Job, document
from gearsearch.shop.machine import MACHINES
from gearsearch.shop.machines.lathe import Lathe
from gearsearch.shop.reader import demo_shop
from gearsearch.shop.trains import Train

SHOP = demo_shop()
WORM, SPINDLE = (SHOP.route(name) for name in ("worm", "spindle"))


@given(st.fractions(Fraction(1, 100), 50_000), st.none() | st.fractions(1, 2000))
def test_no_move_is_longer_than_a_table_nor_much_longer_than_the_cut(lead, length):
    found = moves(SHOP, WORM, lead, length)
    room = MOST_TRAVEL_MM if length is None else Fraction(5, 4) * max(100, length)
    assert found
    for step in found:
        assert step.travel_mm == step.turns * lead
        assert step.screw_turns * 6 == step.travel_mm
        assert step.crank_turns == 60 * step.turns
        assert step.travel_mm <= min(room, MOST_TRAVEL_MM)
    assert bool(too_long(SHOP, lead, found)) == (lead > min(room, MOST_TRAVEL_MM))


@given(st.fractions(Fraction(1, 10), 5000), st.fractions(Fraction(1, 10), 3600, max_denominator=100))
def test_a_ramp_is_the_first_move_and_the_others_stay(lead, arc):
    found = moves(SHOP, WORM, lead, None, arc)
    whole, *rest = found
    assert whole.is_ramp
    assert (whole.turns, whole.travel_mm) == (arc / 360, lead * arc / 360)
    assert (whole.screw_turns, whole.crank_turns) == (whole.travel_mm / 6, arc / 6)
    assert rest == [step for step in moves(SHOP, WORM, lead) if step.turns != whole.turns]


@pytest.mark.parametrize(
    ("arc", "crank"),
    [("60", "6 2/3 turns of the crank"), ("45", "5 turns of the crank"), ("6", "2/3 turn of the crank")],
)
def test_the_crank_of_a_ramp_is_told_as_holes_can_have_it(arc, crank):
    shop = replace(SHOP, dividing=replace(SHOP.dividing, ratio=Fraction(40)))
    (first, *_) = moves(shop, WORM, Fraction(9144, 100), None, Fraction(arc))
    assert crank in first.words(shop)


@pytest.mark.parametrize(
    ("lead", "length", "turns"),
    [
        (2286, None, [Fraction(1, 5)]),
        ("412.5", None, [1]),
        ("412.5", 60, [Fraction(1, 4)]),
        ("95.25", "101.6", [1]),
        ("95.25", None, [1]),
        (50, None, [1, 2]),
        ("12.5", None, [1, 10]),
        (2, 20, [1, 10]),
        (40, 100, [1, 3]),
        (60_000, None, []),
    ],
)
def test_one_turn_and_several_are_made_where_there_is_room_else_a_part(lead, length, turns):
    found = moves(SHOP, WORM, Fraction(lead), None if length is None else Fraction(length))
    assert [step.turns for step in found if not step.by_travel] == turns


def test_a_long_move_has_a_short_one_beside_it():
    assert [(step.by_travel, step.travel_mm) for step in moves(SHOP, WORM, Fraction(450))] == [
        (False, 450),
        (True, 100),
    ]
    assert moves(replace(SHOP, units="in"), WORM, Fraction(450))[1].travel_mm == Fraction("101.6")
    assert [step.by_travel for step in moves(SHOP, WORM, Fraction(125))] == [False]
    assert [step.by_travel for step in moves(SHOP, WORM, Fraction(126))] == [False, True]
    assert [step.turns for step in moves(SHOP, WORM, Fraction(120))] == [1]


@given(st.fractions(Fraction(1, 100), 50_000))
def test_nobody_cranks_several_turns_of_the_work_farther_than_a_round_travel(lead):
    assert all(step.turns <= 1 or step.travel_mm <= 125 for step in moves(SHOP, WORM, lead))


def test_the_crank_is_told_where_it_turns_and_is_known():
    assert move(SHOP, WORM, Fraction(66), Fraction(1, 2)).crank_turns == 30
    assert move(SHOP, SPINDLE, Fraction(66), Fraction(1, 2)).crank_turns is None
    assert move(classic(), classic().route(), Fraction(66), Fraction(1, 2)).crank_turns is None
    lathe = replace(SHOP, machine=Lathe(SHOP.machine.screw_lead_mm, SHOP.machine.routes))
    assert move(lathe, WORM, Fraction(66), Fraction(1, 2)).crank_turns is None


def test_a_move_is_told_with_what_is_set_first():
    half, whole, twice = (move(SHOP, WORM, Fraction(60), Fraction(turns)) for turns in ("1/2", "1", "2"))
    assert marked(half.words(SHOP)) == (
        "**1/2 turn** of the work: **30.000 mm (1.1811 in)** of travel, 5 turns of the screw, 30 turns of the crank"
    )
    assert marked(whole.words(SHOP)).startswith("**1 turn** of")
    assert marked(twice.words(SHOP)).startswith("**2 turns** of")
    by_travel = move(SHOP, SPINDLE, Fraction(12), Fraction(1, 2), by_travel=True)
    assert marked(by_travel.words(SHOP)) == (
        "**6.000 mm (0.2362 in)** of travel, 1 turn of the screw: the work turns **180.000° (180°00′00″)**"
    )


def test_a_lead_too_long_for_the_table_is_told_as_a_fact():
    lines = list(proof(SHOP, WORM, Train.parse("20/127")))
    assert lines[2:] == [
        "one whole turn of the work takes 2286.000 mm (90.0000 in) of travel: a part of it is enough",
        "1/5 turn of the work: 457.200 mm (18.0000 in) of travel, 76.2 turns of the screw, 12 turns of the crank",
        "100.000 mm (3.9370 in) of travel, 16.6667 turns of the screw, 2.6247 turns of the crank: the work turns "
        "15.748° (15°44′53″)",
    ]


SCREWS = st.one_of(
    st.integers(1, 40).map(lambda tpi: INCH_MM / tpi),
    st.integers(1, 80).map(lambda quarters: Fraction(quarters, 4)),
    st.fractions(Fraction(1, 10), 60, max_denominator=500),
)
RATIOS = st.sampled_from([Fraction(40), Fraction(60), Fraction(1), Fraction(1, 3), Fraction("2.5"), Fraction(127, 30)])


def figures_of(product):
    """What the printed figures of a product make, in the order in which they are keyed in: 25.4/7, (80 × 48)."""
    plain = re.sub(r"\*\*| (?:mm|in)\b|[a-z]+(?: / [a-z]+)?", "", product).replace("×", "*")
    value = eval(re.sub(r"([0-9.]+)", r"Fraction('\1')", plain))
    assert isinstance(value, Fraction)
    return value


@given(SCREWS, RATIOS, st.sampled_from(["mm", "in"]), st.sampled_from(["mill", "lathe"]))
def test_whoever_multiplies_the_printed_figures_gets_the_printed_lead(screw, ratio, unit, kind):
    train = Train.parse("80/44 48/100")
    route = replace(WORM, ratio=ratio)
    machine = MACHINES[kind](screw, (route,))
    shop = replace(SHOP, units=unit, machine=machine)
    lead = format_length(shop.lead(train, route), unit)
    line = list(proof(shop, route, train))[1]
    base, last = line.replace("lead of the machine", "").split(";")
    first, second = base.split("=")
    second = second.partition("(")[0]
    machine_lead = shop.drive(route).lead_of_machine_mm / (INCH_MM if unit == "in" else 1)
    assert figures_of(first) == figures_of(second) == machine_lead
    product, _, result = last.partition("=")
    assert (
        format_length(figures_of(second + product) * (INCH_MM if unit == "in" else 1), unit) == result.strip() == lead
    )
    (on_the_sheet,) = re.findall(
        r"^- (Screw .*?)\.\n", markdown(document(Job(check(shop, train)))), re.MULTILINE | re.DOTALL
    )
    product, _, result = on_the_sheet.replace("\n", " ").replace("Screw", "").replace("**", "").rpartition("=")
    result = result.partition(" (")[0]
    assert format_length(figures_of(product) * (INCH_MM if unit == "in" else 1), unit) == result.strip() == lead


@pytest.mark.parametrize(
    ("mm", "unit", "text"),
    [
        ("6", "mm", "6.000 mm"),
        ("127/35", "mm", "25.4/7 mm"),
        ("127/35", "in", "1/7 in"),
        ("6", "in", "6/25.4 in"),
        ("127/320", "in", "0.015625 in"),
        ("5.0001234", "mm", "5.0001234 mm"),
        ("100/7", "mm", "100/7 mm"),
        ("100/7", "in", "500/889 in"),
        ("381/35", "mm", "76.2/7 mm"),
        ("25.4", "mm", "25.400 mm"),
    ],
)
def test_a_length_to_be_multiplied_is_exact(mm, unit, text):
    assert exact_length(Fraction(mm), unit) == text
