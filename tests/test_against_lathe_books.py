"""Against screw-cutting trains printed in old books; the sources stand in the data file."""

from dataclasses import replace
from fractions import Fraction

import pytest
from published_values import published, rounds_to
from shops import mill

from gearsearch.base.units import INCH_MM, parse_pitch
from gearsearch.shop.machine import Route
from gearsearch.shop.machines.lathe import Lathe
from gearsearch.shop.trains import Pair, Train

DATA = published("lathe_books")
TRAINS = DATA["train"]


def cut(row):
    """What our lathe cuts with the gears of a row, in the unit printed."""
    machine = Lathe(parse_pitch(row["screw"]), (Route("direct", Fraction(1), "right"),))
    shop = replace(mill((20, 40)), machine=machine)
    pairs = tuple(Pair(a, b) for a, b in zip(row["drivers"], row["driven"], strict=True))
    lead = shop.lead(Train(pairs), shop.route())
    return {"tpi": INCH_MM / lead, "in": lead / INCH_MM, "mm": lead}[row["unit"]]


@pytest.mark.parametrize("row", [row for row in TRAINS if not row.get("misprint")], ids=lambda row: row["case"])
def test_the_train_cuts_what_the_book_prints(row):
    source = DATA["sources"][row["source"]]
    assert rounds_to(cut(row), row["printed"]), (source, row)


@pytest.mark.parametrize("row", [row for row in TRAINS if row.get("misprint")], ids=lambda row: row["case"])
def test_a_misprint_does_not_reproduce(row):
    """Printed 32 where 36 is needed: the gears cut 16 threads, not 18."""
    assert cut(row) == 16
    assert Fraction(row["printed"]) == 18


def test_the_misprint_is_the_only_one():
    assert [row["case"] for row in TRAINS if row.get("misprint")] == ["LR90"]
    assert len(TRAINS) == 32
