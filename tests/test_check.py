"""Judging one train as typed."""

import argparse
import csv
import io
import json
from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shops import CLASSIC_TEETH, classic, mill

from gearsearch import leads
from gearsearch.check import Cut, check, proof, require_owned
from gearsearch.commands import check as command
from gearsearch.errors import GearsearchError
from gearsearch.shop import GearSet, Kind, Machine, Route
from gearsearch.shopfile import demo_shop
from gearsearch.tolerance import Tolerance
from gearsearch.trains import Pair, Train

GOOD = Train.parse("100/24 32/48")
indexes = st.lists(st.integers(0, len(CLASSIC_TEETH) - 1), min_size=4, max_size=4, unique=True)


def run(*words):
    """Exit code and stdout of ``gearsearch check``."""
    parser = argparse.ArgumentParser()
    command.add(parser.add_subparsers())
    out = io.StringIO()
    return command.run(parser.parse_args(["check", *words]), out), out.getvalue()


def test_the_lead_is_exact_and_the_error_is_against_what_was_wanted():
    checked = check(classic(), GOOD, leads.from_lead("3.61 in"))
    assert checked.fit.lead_mm == Fraction(2286, 25)
    assert checked.fit.error == Fraction(360, 361) - 1
    assert checked.figures.error == checked.fit.error
    assert checked.fit.within is None
    assert checked.passes


@given(indexes, st.fractions(10, 2000))
def test_every_figure_is_recomputed_from_the_gears(chosen, wanted):
    a, b, c, d = (CLASSIC_TEETH[i] for i in chosen)
    lead = Fraction(127, 20) * 40 * b * d / (a * c)
    cut = Cut(Fraction(60), Tolerance.parse("0.02 mm over 60 mm"))
    checked = check(classic(), Train((Pair(a, b), Pair(c, d))), leads.from_lead(wanted), cut)
    assert checked.fit.lead_mm == lead
    assert checked.fit.error == lead / wanted - 1
    assert checked.fit.error_mm == lead - wanted
    assert checked.figures.drift_mm == (lead / wanted - 1) * 60
    assert checked.fit.within == (abs(lead / wanted - 1) <= Fraction(1, 3000))
    assert checked.fit.step_up == Fraction(a * c, b * d)
    assert checked.travel_mm == {1: lead, 10: 10 * lead}
    by_gear = {(slip.place, slip.meant, slip.put_on): slip.lead_mm for slip in checked.slips}
    assert by_gear["driven", d, d - 1] == lead * (d - 1) / d
    assert by_gear["driver", a, a + 1] == lead * a / (a + 1)
    assert len(checked.slips) == 8


def test_a_tilted_head_is_judged_by_the_lead_on_the_work():
    wanted = leads.tilted(leads.from_lead("45 mm"), "30")
    checked = check(classic(), GOOD, wanted, Cut(Fraction(10), Tolerance.parse("1 mm")))
    assert wanted.lead_mm == 90
    assert checked.interval_mm == (88, 92)
    assert checked.fit.within
    assert checked.figures.lead_mm == Fraction(2286, 50)


def test_a_lathe_multiplies_by_drivers_over_driven():
    shop = replace(mill((20, 40)), machine=Machine("lathe", Fraction(127, 20), (Route("direct", Fraction(1)),)))
    checked = check(shop, Train.parse("20/40"))
    assert checked.fit.lead_mm == Fraction(127, 40)
    assert checked.fit.hand is None
    assert proof(shop, shop.route(), checked.fit.train) == [
        "drivers 20 = 20; driven 40 = 40",
        "screw lead 6.350 mm × route 1 = lead of the machine 6.350 mm; × 20 / 40 = 3.175 mm",
        "1 turn of the work: 3.175 mm of travel, 0.5 turns of the screw",
        "10 turns of the work: 31.750 mm of travel, 5 turns of the screw",
    ]


def test_an_arrangement_that_does_not_mount_gets_the_one_that_does():
    """The published four (Brown & Sharpe 1914, p. 62), by the rule of thumb."""
    checked = check(classic(), Train.parse("32/24 100/48"), leads.from_lead("3.6 in"))
    assert checked.fit.mounts == "no"
    assert not checked.passes
    assert str(checked.alternative.train) == "100/24 32/48"


def test_a_train_that_cuts_the_other_hand_does_not_pass():
    checked = check(classic(), GOOD, hand="left")
    assert checked.fit.mounts == "no"
    assert checked.fit.why == ("it cuts a right-hand helix by the route worm; one idler more or fewer turns the hand")
    assert checked.alternative.hand == "left"
    assert len(checked.alternative.train.idlers) == 1


def test_step_up_is_warned_of_beyond_the_route_s_limit():
    shop = demo_shop()
    gentle, fierce = check(shop, Train.parse("72/24")), check(shop, Train.parse("100/20"))
    assert not gentle.warns_of_step_up
    assert fierce.warns_of_step_up
    assert fierce.fit.step_up == 5


def test_an_error_below_the_screw_s_accuracy_is_worth_nothing():
    shop = demo_shop()
    assert check(shop, Train.parse("24/48"), leads.from_lead("720.05 mm")).screw_floor
    assert not check(shop, Train.parse("24/48"), leads.from_lead("721 mm")).screw_floor


def test_a_helical_gear_is_told_its_slope_and_its_class():
    wanted = leads.from_gear(30, 20, module=2)
    shop = demo_shop()
    lead = wanted.lead_mm
    checked = check(shop, Train.parse("40/60"), wanted, Cut(Fraction(20), accuracy=7))
    slope = 1000 * 20 * Fraction("0.36397023426620236") * (1 - lead / 540)
    assert abs(checked.tooth.slope_um - slope) < Fraction(1, 10**6)
    assert checked.tooth.accuracy == 7
    assert checked.tooth.allowed_um == 12


@pytest.mark.parametrize(
    ("train", "message"),
    [
        (
            "99/24",
            "99/24: there is no gear of 99 teeth in Test shop\n"
            "help: owned: 24, 28, 32, 40, 44, 48, 56, 64, 72, 86, 100",
        ),
        (
            "100/24 24/(24)/48",
            "100/24 24/(24)/48: the 24 is needed 3 times, and Test shop has 2\n"
            "help: owned: 24, 28, 32, 40, 44, 48, 56, 64, 72, 86, 100",
        ),
    ],
)
def test_gears_that_are_not_owned_are_named(train, message):
    with pytest.raises(GearsearchError) as caught:
        check(classic(), Train.parse(train))
    assert str(caught.value) == message


def test_kinds_of_tooth_are_told_apart():
    sets = (
        GearSet(Kind(Fraction(3, 2), tag="m1.5", label="module 1.5 mm"), (20, 30)),
        GearSet(Kind(Fraction(2), tag="m2", label="module 2 mm"), (20, 40)),
    )
    shop = replace(mill((20,)), gears=sets)
    assert str(check(shop, Train.parse("20/40")).fit.train) == "20/40@m2"
    require_owned(shop, Train.parse("20/40@m2"))
    with pytest.raises(GearsearchError, match=r"there is no gear of 40 teeth of module 1\.5 mm in Test shop"):
        check(shop, Train.parse("20/40@m1.5"))
    with pytest.raises(GearsearchError, match="no one kind of tooth has all gears of the pair 30/40"):
        check(shop, Train.parse("30/40"))


def test_an_accuracy_class_that_is_none_is_refused():
    with pytest.raises(GearsearchError, match="accuracy class 12\nhelp: give a class of ISO 1328-1 from 1 to 11"):
        Cut(accuracy=12)


def test_a_tolerance_needs_a_wanted_lead():
    with pytest.raises(GearsearchError, match="a tolerance without a wanted lead"):
        check(classic(), GOOD, cut=Cut(tolerance=Tolerance.parse("1 mm")))


def test_the_command_prints_the_error_with_its_sign_and_its_side():
    code, text = run("40/60", "--lead", "540.9", "--length", "60", "--diameter", "50", "--tolerance", "0.2mm over 60mm")
    assert code in (0, 1)
    assert "train 40/60: lead 540.000 mm (21.2598 in)" in text
    assert "error: the lead is 0.900 mm too short (-0.166 %)" in text
    assert "along the axis: 0.100 mm short over 60.000 mm of cut" in text
    assert "the work turns 0.0666° more over that length, 0.029 mm around the diameter" in text
    assert "tolerance: inside; geared leads from 539.097 mm to 542.703 mm will do" in text
    assert "longest cut that stays inside what it allows: 120.200 mm" in text
    assert "turning: steps down 1.5 : 1; turn it by the table screw, its fast side" in text
    assert "10 turns of the work: 5400.000 mm of travel, 900 turns of the screw" in text
    assert "59 for the 60 (driven): 531.000 mm (-1.667 %)" in text


def test_the_command_ends_with_1_outside_the_tolerance():
    code, text = run("40/60", "--lead", "550", "--tolerance", "100ppm")
    assert code == 1
    assert "tolerance: OUTSIDE" in text


def test_json_and_csv_carry_the_same_figures():
    words = ("40/60", "--lead", "540.9", "--length", "60", "--tolerance", "0.2mm over 60mm")
    record = json.loads(run(*words, "--format", "json")[1])
    row = next(csv.DictReader(io.StringIO(run(*words, "--format", "csv")[1])))
    assert record["lead_exact"] == row["lead_exact"] == "540"
    assert record["wanted"]["lead_exact"] == "5409/10"
    assert record["within"] is True
    assert row["within"] == "True"
    assert record["drivers"] == [40]
    assert float(row["drift_mm"]) == record["drift_mm"] == pytest.approx(-0.0998336106)
    assert record["travel_mm"] == {"1": 540.0, "10": 5400.0}
