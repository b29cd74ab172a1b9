"""Differential indexing: the printed trains, and every train exact."""

from dataclasses import replace
from fractions import Fraction
from math import prod

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from published_values import published
from shops import classic, mill

from gearsearch import differential, divided
from gearsearch.dividing import Movement
from gearsearch.errors import GearsearchError
from gearsearch.shop import Dividing, GearSet, Kind

BOOK = published("differential_indexing")
CLASSIC = replace(
    classic(),
    dividing=Dividing(Fraction(40), ((15, 16, 17, 18, 19, 20), (21, 23, 27, 29, 31, 33), (37, 39, 41, 43, 47, 49))),
)


@pytest.mark.parametrize("row", BOOK["row"], ids=lambda row: row["case"])
def test_the_plate_turns_as_printed(row):
    movement = Movement(0, row["holes"], row["circle"])
    assert differential.plate_turns(Fraction(40), row["divisions"], movement) == Fraction(row["plate_turns"]), row


@pytest.mark.parametrize("row", [row for row in BOOK["row"] if "drivers" in row], ids=lambda row: row["case"])
def test_the_gears_printed_turn_the_plate_so(row):
    assert Fraction(prod(row["drivers"]), prod(row["driven"])) == abs(Fraction(row["plate_turns"])), row


@pytest.mark.parametrize("row", BOOK["row"], ids=lambda row: row["case"])
def test_as_many_idlers_as_printed(row):
    """Simple trains where the gears are not readable: 271 is printed with one idler."""
    pairs = len(row.get("drivers", [1]))
    assert differential.studs_for(Fraction(row["plate_turns"]), pairs) == pairs - 1 + row["idlers"], row


@pytest.mark.parametrize("row", [row for row in BOOK["row"] if "drivers" in row], ids=lambda row: row["case"])
def test_the_printed_set_up_is_among_our_own(row):
    """With the furnished gears, and with the others that the printed rows use."""
    owned = sorted({*CLASSIC.gears[0].teeth, *row["drivers"], *row["driven"]} | {24, 28, 32, 40, 44})
    gears = (GearSet(Kind(Fraction(3, 2)), tuple(sorted([*owned, 24, 24]))),)
    found = differential.differentials(replace(CLASSIC, gears=gears), row["divisions"], count=5000)
    wanted = Movement(0, row["holes"], row["circle"]).crank_turns, sorted(row["drivers"]), sorted(row["driven"])
    ours = [
        (answer.movement.crank_turns, sorted(answer.train.drivers), sorted(answer.train.driven)) for answer in found
    ]
    assert wanted in ours, row


@given(st.integers(51, 400))
@settings(deadline=None, max_examples=15, suppress_health_check=[HealthCheck.too_slow])
def test_every_set_up_is_exact_by_the_formula(divisions):
    for answer in differential.differentials(CLASSIC, divisions, count=50):
        movement, drivers, driven = answer.movement, prod(answer.train.drivers), prod(answer.train.driven)
        plate = Fraction(drivers, driven) * (1 if answer.plate_turns > 0 else -1)
        assert divisions * movement.crank_turns + plate == 40
        assert answer.train.studs == (1 if plate > 0 else 2)
        wheels = list(answer.train.wheels)
        assert all(wheels.count(("", teeth)) <= CLASSIC.gears[0].teeth.count(teeth) for _, teeth in wheels)


def test_127_divisions_are_found_with_the_shop_s_own_gears():
    answer = divided.of_divisions(CLASSIC, 127)
    assert answer.exact
    assert answer.records[0]["way"] == "differential"


def test_without_a_train_the_nearest_is_said_to_be_only_that():
    shop = replace(mill((20, 30)), dividing=CLASSIC.dividing)
    answer = divided.of_divisions(shop, 9973)
    assert not answer.exact
    assert answer.notes[0] == "no circle of the head is exact: these are the nearest"


def test_three_pairs_are_refused():
    with pytest.raises(GearsearchError, match="pairs from 1 to 3\nhelp: a differential train has 1 or 2 pairs"):
        differential.differentials(CLASSIC, 127, pairs=(1, 3))
