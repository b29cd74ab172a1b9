"""Index movements and differential trains as books print them, 40:1 head."""

from dataclasses import replace
from fractions import Fraction
from math import prod

import pytest
from published_values import published
from shops import classic

from gearsearch.base.units import parse_angle
from gearsearch.dividing import differential
from gearsearch.dividing import indexing as dividing
from gearsearch.dividing.indexing import Movement
from gearsearch.shop.gears import GearSet, Kind
from gearsearch.shop.head import Dividing

PLAIN = published("plain_indexing")
GEARED = published("differential_indexing")
MOVEMENTS = [row for row in PLAIN["row"] if "turns" in row]
TRAINS = [row for row in GEARED["row"] if "drivers" in row]
CLASSIC = Dividing(Fraction(40), ((15, 16, 17, 18, 19, 20), (21, 23, 27, 29, 31, 33), (37, 39, 41, 43, 47, 49)))
WITH_REVERSIBLE = Dividing(CLASSIC.ratio, (*CLASSIC.plates, *map(tuple, PLAIN["reversible"])))
SHOP = replace(classic(), dividing=CLASSIC)


def turns_of(row):
    """Crank turns that a row asks for."""
    asked = row["asked"]
    if asked.isdigit():
        return dividing.crank_turns(CLASSIC, int(asked))
    return dividing.crank_turns_of_angle(CLASSIC, parse_angle(asked))


def source_of(row):
    """What a failing test prints."""
    return PLAIN["sources"][row["source"]], row


def movement_of(row):
    """The movement a row prints."""
    return Movement(row["turns"], row.get("holes", 0), row.get("circle", 0))


def is_exact(number):
    """Whether the classic circles divide a number exactly."""
    return dividing.spacings(CLASSIC, dividing.crank_turns(CLASSIC, number), number)[0].exact


def test_the_classic_circles_are_those_printed():
    assert CLASSIC.circles == tuple(PLAIN["circles"])
    assert CLASSIC.ratio == PLAIN["head_ratio"] == GEARED["head_ratio"]


@pytest.mark.parametrize("row", [row for row in MOVEMENTS if row["case"] != "PA01"], ids=lambda row: row["case"])
def test_plain_indexing_is_as_printed(row):
    head = CLASSIC if row.get("circle", 15) in CLASSIC.circles else WITH_REVERSIBLE
    assert movement_of(row) in dividing.exact_movements(head, turns_of(row)), source_of(row)


def test_24_minutes_on_the_23_circle_is_as_near_as_the_page_says():
    """Approximate by the page itself: one hole is 0.391304° for 0.4°. The circle is none of the exact ones."""
    row = next(row for row in MOVEMENTS if row["case"] == "PA01")
    wanted = turns_of(row)
    assert movement_of(row) in dividing.nearest_movements(CLASSIC, wanted), source_of(row)
    spacing = dividing.Spacing(movement_of(row), wanted, Fraction(9), 1)
    assert round(float(Fraction(2, 5) + spacing.error_deg), 6) == 0.391304, source_of(row)
    assert movement_of(row) not in dividing.exact_movements(CLASSIC, wanted), source_of(row)


def test_the_classic_circles_reach_every_number_up_to_50():
    """Case PP01: printed, Brown & Sharpe 1914, p. 52."""
    assert [number for number in range(2, 51) if not is_exact(number)] == []
    assert not is_exact(51)


def test_the_classic_circles_reach_many_multiples_of_5_up_to_380():
    """Case PP03: printed, same page. Ours run on to 390 and 400, which the page's "many" does not exclude."""
    reached = [number for number in range(55, 401, 5) if is_exact(number)]
    assert len([number for number in reached if number <= 380]) > 30
    assert [number for number in reached if number >= 380] == [380, 390, 400]


def test_one_crank_turn_of_a_40_to_1_head_is_9_degrees():
    """Printed, Brown & Sharpe 1914, p. 54; common practice."""
    assert dividing.crank_turns_of_angle(CLASSIC, Fraction(9)) == 1


def test_a_quarter_of_a_degree_cannot_be_had_by_plain_indexing():
    """Printed, Brown & Sharpe 1914, p. 54: 1 degree and 1/2 degree can, 1/4 degree cannot."""
    quarter, half, whole = (dividing.crank_turns_of_angle(CLASSIC, Fraction(1, n)) for n in (4, 2, 1))
    assert dividing.exact_movements(CLASSIC, quarter) == []
    assert dividing.exact_movements(CLASSIC, half) != []
    assert dividing.exact_movements(CLASSIC, whole) != []


def test_the_combined_movement_of_77_is_found():
    """40/77 = 9/21 + 3/33: from memory."""
    spacing = dividing.nearest_combined(CLASSIC, dividing.crank_turns(CLASSIC, 77), 77)
    assert spacing.exact
    assert str(spacing.step) == "9 holes of the 21 circle, then 3 holes of the 33 circle on with the plate"


@pytest.mark.parametrize("row", GEARED["row"], ids=lambda row: row["case"])
def test_the_plate_turns_as_printed(row):
    movement = Movement(0, row["holes"], row["circle"])
    assert differential.plate_turns(Fraction(40), row["divisions"], movement) == Fraction(row["plate_turns"]), row


@pytest.mark.parametrize("row", TRAINS, ids=lambda row: row["case"])
def test_the_gears_printed_turn_the_plate_so(row):
    assert Fraction(prod(row["drivers"]), prod(row["driven"])) == abs(Fraction(row["plate_turns"])), row


@pytest.mark.parametrize("row", GEARED["row"], ids=lambda row: row["case"])
def test_as_many_idlers_as_printed(row):
    """Simple trains where the gears are not readable: 271 is printed with one idler."""
    pairs = len(row.get("drivers", [1]))
    assert differential.studs_for(Fraction(row["plate_turns"]), pairs) == pairs - 1 + row["idlers"], row


@pytest.mark.parametrize("row", TRAINS, ids=lambda row: row["case"])
def test_the_printed_set_up_is_among_our_own(row):
    """With the furnished gears, and with the others that the printed rows use; as many idlers as printed."""
    owned = [*SHOP.gears[0].teeth, *(teeth for teeth in (*row["drivers"], *row["driven"]))]
    shop = replace(SHOP, gears=(GearSet(Kind(Fraction(3, 2)), tuple(sorted(owned))),))
    found = differential.differentials(shop, row["divisions"], count=1000)
    gears = sorted(row["drivers"]), sorted(row["driven"])
    crank = Movement(0, row["holes"], row["circle"]).crank_turns
    same = [
        answer
        for answer in found
        if (sorted(answer.train.drivers), sorted(answer.train.driven)) == gears and answer.movement.crank_turns == crank
    ]
    assert [(len(answer.train.idlers), answer.mounts) for answer in same] == [(row["idlers"], "rule")], row
