"""Dividing: index circles, angles, combined movements."""

from fractions import Fraction

import naive_dividing as naive
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from published_values import published
from shops import mill

from gearsearch import divided, dividing
from gearsearch.dividing import Movement
from gearsearch.errors import GearsearchError
from gearsearch.shop import Dividing
from gearsearch.shopfile import demo_shop

PLAIN = published("plain_indexing")
CLASSIC = Dividing(Fraction(40), ((15, 16, 17, 18, 19, 20), (21, 23, 27, 29, 31, 33), (37, 39, 41, 43, 47, 49)))
ROWS = [row for row in PLAIN["row"] if "turns" in row]
heads = st.builds(
    lambda ratio, plates: Dividing(Fraction(ratio), tuple(tuple(sorted(plate)) for plate in plates)),
    st.sampled_from([5, 40, 60, 72, 90]),
    st.lists(st.lists(st.integers(2, 40), min_size=1, max_size=4, unique=True), min_size=1, max_size=3),
)
turns = st.fractions(Fraction(1, 200), 20, max_denominator=500)


def head_with(circle):
    """The classic head, with the circle of the row added where it is of another plate."""
    if circle in CLASSIC.circles or not circle:
        return CLASSIC
    return Dividing(CLASSIC.ratio, (*CLASSIC.plates, *map(tuple, PLAIN["reversible"])))


def turns_of(row):
    """Crank turns that a row asks for, on a 40:1 head."""
    asked = row["asked"]
    if asked.isdigit():
        return dividing.crank_turns(CLASSIC, int(asked))
    from gearsearch.units import parse_angle

    return dividing.crank_turns_of_angle(CLASSIC, parse_angle(asked))


@pytest.mark.parametrize("row", [row for row in ROWS if row["case"] != "PA01"], ids=lambda row: row["case"])
def test_plain_indexing_is_as_printed(row):
    movement = Movement(row["turns"], row.get("holes", 0), row.get("circle", 0))
    found = dividing.exact_movements(head_with(row.get("circle", 0)), turns_of(row))
    assert movement in found, (PLAIN["sources"][row["source"]], row)


def test_an_approximate_row_is_the_approximation_it_is_said_to_be():
    """24 minutes on the 23 circle: printed as one hole, 0.391304° for 0.4°, approximate by the page itself."""
    row = next(row for row in ROWS if row["case"] == "PA01")
    nearest = [m for m in dividing.nearest_movements(CLASSIC, turns_of(row)) if m.circle == row["circle"]]
    assert nearest == [Movement(0, row["holes"], row["circle"])]
    spacing = dividing.Spacing(nearest[0], turns_of(row), Fraction(9), 1)
    assert round(float(spacing.error_deg), 6) == -0.008696


def test_the_classic_circles_reach_every_number_up_to_50():
    """Printed, Brown & Sharpe 1914, p. 52."""
    assert [
        n for n in range(2, 51) if not dividing.spacings(CLASSIC, dividing.crank_turns(CLASSIC, n), n)[0].exact
    ] == []


def test_one_crank_turn_of_a_40_to_1_head_is_9_degrees():
    """Common practice; also Brown & Sharpe 1914, p. 54."""
    assert dividing.crank_turns_of_angle(CLASSIC, Fraction(9)) == 1


def test_the_combined_movement_of_the_books_is_found_for_77():
    """40/77 = 9/21 + 3/33: from memory."""
    spacing = dividing.nearest_combined(CLASSIC, dividing.crank_turns(CLASSIC, 77), 77)
    assert spacing.exact
    assert str(spacing.step) == "9 holes of the 21 circle, then 3 holes of the 33 circle on with the plate"


@given(heads, turns)
def test_exact_movements_are_those_of_the_naive_search_handiest_first(head, value):
    found = [(m.turns, m.holes, m.circle) for m in dividing.exact_movements(head, value)]
    assert sorted(found) == sorted(naive.exact(head.circles, value))
    assert [holes for _, holes, _ in found] == sorted(holes for _, holes, _ in found)


@given(heads, turns)
@settings(deadline=None)
def test_the_nearest_movement_is_nearest_by_trying_every_hole(head, value):
    nearest = dividing.nearest_movements(head, value)[0]
    assert abs(nearest.crank_turns - value) == naive.least_error(head.circles, value)


@given(heads, st.fractions(Fraction(1, 50), 3, max_denominator=100))
@settings(deadline=None, max_examples=25)
def test_the_nearest_combined_movement_is_nearest_by_trying_every_two(head, value):
    spacing = dividing.nearest_combined(head, value, 1)
    if max(len(side) for side in head.plates) < 2:
        assert spacing is None
    elif spacing is not None:
        assert abs(spacing.step.crank_turns - value) == naive.least_combined_error(head.plates, value)


@given(heads, turns, st.integers(1, 500))
def test_error_builds_up_by_as_many_spaces(head, value, repeats):
    for spacing in dividing.spacings(head, value, repeats):
        assert spacing.error_deg == (spacing.step.crank_turns - value) * 360 / head.ratio
        assert spacing.built_up_deg == repeats * spacing.error_deg
        assert spacing.exact == (spacing.error_deg == 0)


def test_the_arms_span_the_pin_s_own_hole_too():
    assert Movement(6, 26, 39).sector == 27
    assert str(Movement(6, 26, 39)) == "6 turns and 26 holes of the 39 circle"
    assert str(Movement(1, 1, 18)) == "1 turn and 1 hole of the 18 circle"
    assert str(Movement(5)) == "5 turns"
    assert Movement(5).sector == 0


def test_starts_while_geared_are_indexed_plainly_or_by_teeth():
    shop = demo_shop()
    assert divided.while_geared(shop, 3, "worm", None).columns[0]["turn the crank"] == "20 turns"
    by_teeth = divided.while_geared(shop, 9, "spindle", "24/72")
    assert by_teeth.records == [{"way": "teeth", "last_gear": 72, "advance_teeth": 8, "exact": True}]


@pytest.mark.parametrize(
    ("ask", "message"),
    [
        (lambda shop: divided.of_divisions(shop, 0), "0 divisions\nhelp: give a whole number from 1 to 100000"),
        (
            lambda shop: divided.of_divisions(shop, 100_001),
            "100001 divisions\nhelp: give a whole number from 1 to 100000",
        ),
        (
            lambda shop: divided.of_angle(shop, Fraction(0)),
            "an angle of 0.0°\nhelp: give an angle above 0° and up to 360°",
        ),
        (
            lambda shop: divided.of_angle(shop, Fraction(361)),
            "an angle of 361.0°\nhelp: give an angle above 0° and up to 360°",
        ),
        (
            lambda shop: divided.of_angle(shop, Fraction(5), 0),
            "0 repeats\nhelp: give a whole number from 1 to 100000",
        ),
        (
            lambda shop: divided.while_geared(shop, 127, "worm", None),
            "127 divisions need differential indexing, and a head geared for a helix cannot be geared differentially "
            "too\nhelp: choose a number of starts that a circle of the head divides, or gear straight on the spindle",
        ),
        (
            lambda shop: divided.while_geared(shop, 5, "spindle", "24/72"),
            "5 starts cannot be indexed by the 72 teeth of the last gear of 24/72\n"
            "help: take a last gear whose count is a multiple of 5; 72 teeth index 2, 3, 4, 6, 8, 9, 12, 18, 24, 36",
        ),
        (
            lambda shop: divided.while_geared(shop, 3, "spindle", None),
            "by the route spindle the starts are indexed by the teeth of the last gear\n"
            "help: give the train with --train",
        ),
        (
            lambda _shop: divided.of_divisions(mill((20, 30)), 7),
            "Test shop has no dividing head\nhelp: add a [dividing] table to the shop file",
        ),
    ],
)
def test_what_cannot_be_divided_says_why(ask, message):
    with pytest.raises(GearsearchError) as caught:
        ask(demo_shop())
    assert str(caught.value) == message
