"""Judging one train as typed."""

import csv
import io
import json
import re
from dataclasses import replace
from fractions import Fraction

import naive_tolerance as naive
import pytest
from commands import raising
from hypothesis import given
from hypothesis import strategies as st
from refusals import refused
from shops import CLASSIC_TEETH, classic, mill

from gearsearch.base.errors import GearsearchError
from gearsearch.base.sources import noted
from gearsearch.cli import main
from gearsearch.output.written import written
from gearsearch.search.check import check, require_owned
from gearsearch.search.proof import proof
from gearsearch.search.terms import Terms
from gearsearch.shop.gears import GearSet, Kind
from gearsearch.shop.machine import MACHINES, Route
from gearsearch.shop.machines.lathe import Lathe
from gearsearch.shop.reader import demo_shop
from gearsearch.shop.trains import Pair, Train
from gearsearch.work.accuracy import ISO_COVERS
from gearsearch.work.asking import part
from gearsearch.work.part import Part
from gearsearch.work.tolerance import Tolerance

GOOD = Train.parse("100/24 32/48")
indexes = st.lists(st.integers(0, len(CLASSIC_TEETH) - 1), min_size=4, max_size=4, unique=True)


def run(*words):
    """Exit code and stdout of ``gearsearch check``."""
    return raising("check", *words)


def test_the_lead_is_exact_and_the_error_is_against_what_was_wanted():
    checked = check(classic(), GOOD, part(lead="3.61 in"))
    assert checked.fit.lead_mm == Fraction(2286, 25)
    assert checked.fit.error == Fraction(360, 361) - 1
    assert checked.figures.error == checked.fit.error
    assert checked.fit.within is None
    assert checked.passes


@given(indexes, st.fractions(10, 2000))
def test_every_figure_is_recomputed_from_the_gears(chosen, wanted):
    a, b, c, d = (CLASSIC_TEETH[i] for i in chosen)
    lead = Fraction(127, 20) * 40 * b * d / (a * c)
    cut = {"length_mm": Fraction(60), "tolerance": Tolerance.parse("0.02 mm over 60 mm")}
    checked = check(classic(), Train((Pair(a, b), Pair(c, d))), replace(part(lead=wanted), **cut))
    assert checked.fit.lead_mm == lead
    assert checked.fit.error == lead / wanted - 1
    assert checked.fit.error_mm == lead - wanted
    assert checked.figures.drift_mm == (lead / wanted - 1) * 60
    assert checked.fit.within == (abs(lead / wanted - 1) <= Fraction(1, 3000))
    assert checked.fit.step_up == Fraction(a * c, b * d)
    assert checked.travel_mm == {1: lead, 10: 10 * lead}


boxes = st.lists(st.integers(4, 60), min_size=4, max_size=12)


@given(boxes, st.integers(1, 2), st.sampled_from(["mill", "lathe"]))
def test_every_single_wrong_gear_is_told_with_its_lead(teeth, pairs, kind):
    shop = replace(mill(teeth), machine=MACHINES[kind](Fraction(6), (Route("worm", Fraction(60), "right"),)))
    drivers, driven = teeth[:pairs], teeth[pairs : 2 * pairs]
    train = Train(tuple(Pair(a, b) for a, b in zip(drivers, driven, strict=True)))
    checked = check(shop, train)
    rows = [(slip.place, slip.meant, slip.put_on, slip.in_the_box, slip.lead_mm) for slip in checked.slips]
    assert rows == naive.slips(kind, Fraction(360), drivers, driven, teeth)
    assert checked.turned_about_mm == naive.lead_of(kind, Fraction(360), driven, drivers)


def test_a_wrong_gear_of_another_kind_of_tooth_is_no_neighbour():
    sets = (
        GearSet(Kind(Fraction(3, 2), tag="m1.5", label="module 1.5 mm"), (20, 30, 36)),
        GearSet(Kind(Fraction(2), tag="m2", label="module 2 mm"), (24, 40, 32)),
    )
    checked = check(replace(mill((20,)), gears=sets), Train.parse("20/(36)/30 24/40"))
    boxed = [(slip.meant, slip.put_on) for slip in checked.slips if slip.in_the_box]
    assert boxed == [(24, 32), (40, 32)]


def test_gears_of_joined_pieces_and_fixed_gears_count_as_owned_where_they_can_be_put():
    gears = (GearSet(Kind(Fraction(3, 2)), (20, 24, 48), ((60, 30),), {"first": 40}),)
    shop = replace(mill((20,)), gears=gears)
    assert check(shop, Train.parse("40/60 30/48")).fit.mounts == "rule"
    apart = check(shop, Train.parse("40/60 20/48"))
    assert apart.fit.mounts == "no"
    assert apart.fit.why.startswith("the joined pieces can't go on like this: ")
    assert str(apart.alternative.train) == "40/48 20/60"
    moved = check(shop, Train.parse("20/40"))
    assert (moved.fit.mounts, moved.fit.why) == ("no", "the 40 cannot come off the table screw")
    assert not moved.passes
    with pytest.raises(GearsearchError) as caught:
        check(shop, Train.parse("40/60 60/48"))
    assert str(caught.value) == (
        "40/60 60/48: the 60 is needed 2 times, and Test shop has 1\nhelp: gears owned: 20, 24, 30, 40, 48, 60"
    )


def test_a_tilted_head_is_judged_by_the_lead_on_the_work():
    wanted = part(lead="45 mm").tilted("30")
    checked = check(classic(), GOOD, replace(wanted, length_mm=Fraction(10), tolerance=Tolerance.parse("1 mm")))
    assert wanted.lead_mm == 90
    assert checked.interval_mm == (88, 92)
    assert checked.fit.within
    assert checked.figures.lead_mm == Fraction(2286, 50)


def test_a_lathe_multiplies_by_drivers_over_driven():
    shop = replace(mill((20, 40)), machine=Lathe(Fraction(127, 20), (Route("direct", Fraction(1)),)))
    checked = check(shop, Train.parse("20/40"))
    assert checked.fit.lead_mm == Fraction(127, 40)
    assert checked.fit.hand is None
    assert list(proof(shop, shop.route(), checked.fit.train)) == [
        "drivers 20 = 20; driven 40 = 40",
        "screw lead 6.350 mm × route 1 = lead of the machine 6.350 mm; × 20 / 40 = 3.175 mm",
        "1 turn of the spindle: 3.175 mm (0.1250 in) of travel, 0.5 turns of the screw",
        "10 turns of the spindle: 31.750 mm (1.2500 in) of travel, 5 turns of the screw",
    ]


def test_an_arrangement_that_does_not_mount_gets_the_one_that_does():
    """The published four (Brown & Sharpe 1914, p. 62), by the rule of thumb."""
    checked = check(classic(), Train.parse("32/24 100/48"), part(lead="3.6 in"))
    assert checked.fit.mounts == "no"
    assert not checked.passes
    assert str(checked.alternative.train) == "100/24 32/48"


def test_a_train_that_cuts_the_other_hand_does_not_pass():
    checked = check(classic(), GOOD, terms=Terms(hand="left"))
    assert checked.fit.mounts == "no"
    assert checked.fit.why == (
        "not for the left hand: it cuts a right-hand helix by the route worm; one idler more or fewer turns the hand"
    )
    assert checked.alternative.hand == "left"
    assert len(checked.alternative.train.idlers) == 1


def test_step_up_is_warned_of_beyond_the_route_s_limit():
    shop = demo_shop()
    gentle, fierce = check(shop, Train.parse("72/24")), check(shop, Train.parse("100/20"))
    assert not gentle.route.warns_of(gentle.fit.step_up)
    assert fierce.route.warns_of(fierce.fit.step_up)
    assert fierce.fit.step_up == 5


def test_an_error_below_the_screw_s_accuracy_is_worth_nothing():
    shop = demo_shop()
    assert check(shop, Train.parse("24/48"), part(lead="720.05 mm")).screw_floor
    assert not check(shop, Train.parse("24/48"), part(lead="721 mm")).screw_floor


def test_a_helical_gear_is_told_its_slope_and_its_class():
    wanted = part(teeth=30, helix_angle=20, gear_module=2)
    shop = demo_shop()
    lead = wanted.lead_mm
    checked = check(shop, Train.parse("40/60"), replace(wanted, length_mm=Fraction(20), accuracy=7))
    slope = 1000 * 20 * Fraction("0.36397023426620236") * (1 - lead / 540)
    assert abs(checked.tooth.slope_um - slope) < Fraction(1, 10**6)
    assert checked.tooth.accuracy == 7
    assert checked.tooth.allowed_um == 12


def test_a_gear_outside_its_class_does_not_pass():
    """A lead 0.1 % off over 20 mm at 20° slopes 7.3 µm: inside class 7 (12 µm), outside class 5 (6 µm)."""
    wanted = part(teeth=30, helix_angle=20, gear_module=2)
    screw = wanted.lead_mm * Fraction(1001, 1000) / 60
    shop = mill((30, 40, 41), screw)
    shop = replace(shop, gears=(replace(shop.gears[0], teeth=(30, 30)),))
    train = Train.parse("30/30")
    checked = [check(shop, train, replace(wanted, length_mm=Fraction(20), accuracy=accuracy)) for accuracy in (7, 5)]
    assert [one.within for one in checked] == [True, False]
    assert [one.passes for one in checked] == [True, False]
    assert [one.tooth.passes for one in checked] == [6, 6]
    both = check(shop, train, replace(wanted, length_mm=Fraction(20), tolerance=Tolerance.parse("900 ppm"), accuracy=7))
    assert (both.fit.within, both.tooth.within, both.within, both.passes) == (False, True, False, False)
    assert check(shop, train, replace(wanted, length_mm=Fraction(20))).within is None


def test_the_standard_s_sizes_are_told_where_the_gear_is_beyond_them():
    wanted = part(teeth=30, helix_angle=20, gear_module=2)
    assert check(demo_shop(), Train.parse("40/60"), replace(wanted, length_mm=Fraction(20))).tooth.covered
    assert not check(demo_shop(), Train.parse("40/60"), replace(wanted, length_mm=Fraction(3))).tooth.covered
    text = run("40/60", "--gear-module", "2", "--teeth", "30", "--helix-angle", "20", "--length", "3")[1]
    assert f"\n  beyond what the standard covers {noted('memory')}: {ISO_COVERS}\n" in text


@pytest.mark.parametrize("size", ["small", "large"])
def test_the_sign_of_the_helix_slope_is_told_and_is_that_of_the_angle_that_is_cut(size):
    wanted = part(teeth=23, helix_angle=Fraction(157, 10), gear_module=2)
    lead = wanted.lead_mm * (1 + Fraction(1, 500) * (1 if size == "small" else -1))
    shop = mill((30, 31), lead / 60)
    shop = replace(shop, gears=(replace(shop.gears[0], teeth=(30, 30)),))
    found = check(shop, Train.parse("30/30"), replace(wanted, length_mm=Fraction(20)))
    assert (found.helix_angle_deg < wanted.gear.helix_angle_deg) == (size == "small")
    assert f" µm ({'+' if size == 'small' else '-'}: helix angle too {size}); by the" in written(found, "table")


def test_the_sheet_says_of_the_standard_what_check_says():
    gear = "--gear-module", "2", "--teeth", "23", "--helix-angle", "15", "--length", "3mm", "--accuracy", "7"
    out = io.StringIO()
    main(["sheet", "24/56 36/64", *gear], out)
    sheet = " ".join(out.getvalue().replace("**", "").split())
    lines = [line.strip() for line in run("24/56 36/64", *gear)[1].splitlines()]
    slope = next(number for number, line in enumerate(lines) if line.startswith("helix slope"))
    assert "beyond what the standard covers" in lines[slope + 2]
    for line in lines[slope : slope + 3]:
        assert f"{line[0].upper()}{line[1:]}." in sheet


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (
            ("--lead", "540", "--length", "20"),
            "accuracy class 7 judges a helical gear, and none is given\n"
            "help: add the gear, as in --gear-module 2 --teeth 23 --helix-angle 15",
        ),
        (
            ("--gear-module", "2", "--teeth", "30", "--helix-angle", "20"),
            "accuracy class 7 is judged over the face width, and none is given\nhelp: add it, as in --length 20mm",
        ),
    ],
)
def test_an_accuracy_class_needs_a_gear_and_its_face(words, message):
    with pytest.raises(GearsearchError) as caught:
        run("40/60", "--accuracy", "7", *words)
    assert str(caught.value) == message


def test_without_a_lead_it_says_what_the_train_cuts():
    code, text = run("100/24 32/48", "--diameter", "50", "--length", "60")
    assert code == 0
    assert "train 100/24 32/48: lead 129.600 mm (5.1024 in), right hand\n" in text
    assert (
        "at diameter 50.000 mm (1.9685 in): helix angle 50.475° (50°28′31″) from the axis, "
        "lead angle 39.525° (39°31′29″) square to it\nover 60.000 mm of cut the work turns 166.6667°\n"
    ) in text
    assert "error:" not in text
    record = json.loads(run("100/24 32/48", "--diameter", "50", "--format", "json")[1])
    assert record["wanted"] is None
    assert record["within"] is None
    assert record["helix_angle_deg"] == pytest.approx(float(naive.helix(Fraction("129.6"), Fraction(50))))


def test_companions_of_a_lead_still_ask_for_it():
    with refused("no-lead", "--starts", "--lead"):
        run("100/24 32/48", "--starts", "2")


@pytest.mark.parametrize(
    ("tolerance", "words", "longest"),
    [
        ("90deg over 60mm", "acceptable lead: 166.154 mm or longer", None),
        ("+0.2/-0deg helix", "acceptable lead: 533.056 to 540.000 mm (-1.286 % to 0 ppm)", 540.0),
        ("0.1ppm", "acceptable lead: 539.999946 to 540.000054 mm (-0.100 ppm to +0.100 ppm)", 540.000054),
    ],
)
def test_what_a_tolerance_allows_is_told_without_made_up_ends(tolerance, words, longest):
    wanted = ("40/60", "--lead", "540", "--diameter", "50", "--tolerance", tolerance)
    assert f"tolerance: inside; {words}\n" in run(*wanted)[1]
    assert json.loads(run(*wanted, "--format", "json")[1])["longest_allowed_mm"] == longest


@pytest.mark.parametrize(
    ("train", "words"),
    [
        ("40/60", "turning: turn it by the table screw: the train steps down 1.5 : 1\n\n"),
        ("40/(30)/40", None),
        ("24/(30)/24", "turning: first and last shaft turn equally fast\n\n"),
        (
            "60/40",
            "turning: the train steps up 1 : 1.5: use power feed from the table screw; by hand it is easier from "
            "the last shaft (worm), the fast side\n\n",
        ),
        ("72/24 40/30", "steps up 1 : 4: use power feed from the table screw"),
        (
            "100/20",
            "turning: turn it by the last shaft (worm), the fast side: the train steps up 1 : 5\n"
            "  STEP-UP BEYOND 4, at which this route warns: no power feed from the table screw; by hand, from the last "
            "shaft (worm)\n\n",
        ),
    ],
)
def test_the_fast_side_is_the_one_to_turn(train, words):
    if words is None:
        with refused("gear-not-owned", "40", "2", "Millrace workshop"):
            run(train)
    else:
        assert words in run(train)[1]


def test_on_a_lathe_the_spindle_turns_the_train_however_it_steps(tmp_path):
    lathe = tmp_path / "lathe.toml"
    lathe.write_text(
        'name = "Small lathe"\nunits = "in"\n[machine]\nkind = "lathe"\nscrew_lead = "8 tpi"\n'
        '[[machine.route]]\nname = "direct"\nratio = 1\n[[gears]]\nmodule = "1 mm"\nteeth = [20, 40, 60]\n',
        encoding="utf-8",
    )
    up, down = (run(train, "--shop", str(lathe), "--full")[1] for train in ("40/20", "20/40"))
    assert "lead 0.2500 in (6.350 mm), hand not known: turn it through by hand once\n" in up
    assert "turning: the lead screw turns 2 times as fast as the spindle: lowest speed\n" in up
    assert "turning: the spindle turns 2 times as fast as the lead screw\n" in down
    apart = "without a stud it goes on only where the shafts stand 1.1811 in apart"  # (40 + 20) mm / 2
    assert f"\nmounts: by the rule of thumb only; {apart}\n" in up
    assert re.search(r"\n +60 +40  driver +0\.3750 in +\+50\.000 %  yes\n", up)
    assert "drivers and driven swapped: 0.0625 in -75.000 %\n" in up


def test_a_tilted_head_s_error_is_said_to_be_on_the_work():
    text = run("100/24 32/48", "--lead", "64", "--tilt", "30")[1]
    at = "at the tilt of 30.000° (30°00′00″) the lead on the work is"
    assert (
        f"\nerror: {at} 0.800 mm too long (+1.250 %)\ntilt: set the head to 29.592° (29°35′33″) instead: with" in text
    )


@pytest.mark.parametrize(
    ("train", "message"),
    [
        (
            "99/24",
            "99/24: there is no gear of 99 teeth in Test shop\n"
            "help: gears owned: 24, 28, 32, 40, 44, 48, 56, 64, 72, 86, 100",
        ),
        (
            "100/24 24/(24)/48",
            "100/24 24/(24)/48: the 24 is needed 3 times, and Test shop has 2\n"
            "help: gears owned: 24, 28, 32, 40, 44, 48, 56, 64, 72, 86, 100",
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
    with refused("no-such-gear", "40", "module 1.5 mm", "Test shop"):
        check(shop, Train.parse("20/40@m1.5"))
    with refused("which-kind", "30/40"):
        check(shop, Train.parse("30/40"))


def test_an_accuracy_class_that_is_none_is_refused():
    with refused("no-such-class", "12", "1 to 11"):
        Part(400, accuracy=12)


def test_a_tolerance_needs_a_wanted_lead(capsys):
    assert main(["check", "48/36", "--tolerance", "1mm"], io.StringIO()) == 2
    assert "a tolerance is given without the lead it belongs to" in capsys.readouterr().err


def test_the_command_prints_the_error_with_its_sign_and_its_side():
    code, text = run(
        "40/60", "--lead", "540.9", "--length", "60", "--diameter", "50", "--tolerance", "0.2mm over 60mm", "--full"
    )
    assert code in (0, 1)
    assert "train 40/60: lead 540.000 mm (21.2598 in)" in text
    assert "error: the lead is 0.900 mm too short (-0.166 %)" in text
    assert "along the axis: 0.100 mm short over 60.000 mm of cut" in text
    assert "the work turns 0.0666° more over that length, 0.029 mm around the diameter" in text
    assert "tolerance: inside; acceptable lead: 539.097 to 542.703 mm" in text
    assert "longest cut before the error uses up the tolerance: 120.200 mm" in text
    assert "  helix angle at the diameter: 1.53′ larger, 16.219° (16°13′09″) from the axis\n" in text
    assert (
        "  one whole turn of the work takes 540.000 mm (21.2598 in) of travel: a part of it is enough\n"
        "  1/5 turn of the work: 108.000 mm (4.2520 in) of travel, 18 turns of the screw, 12 turns of the crank\n\n"
    ) in text
    slips = text.partition("if one gear is wrong")[2].partition("- Before a cut")[0].splitlines()
    rows = [" ".join(line.split()) for line in slips if " mm " in line]
    assert rows == [
        "36 40 driver 600.000 mm +11.111 % yes",
        "39 40 driver 553.846 mm +2.564 %",
        "41 40 driver 526.829 mm -2.439 %",
        "44 40 driver 490.909 mm -9.091 % yes",
        "56 60 driven 504.000 mm -6.667 % yes",
        "59 60 driven 531.000 mm -1.667 %",
        "61 60 driven 549.000 mm +1.667 %",
        "64 60 driven 576.000 mm +6.667 % yes",
        "drivers and driven swapped: 240.000 mm -55.556 %",
    ]


def test_the_command_ends_with_1_outside_the_tolerance():
    code, text = run("40/60", "--lead", "550", "--tolerance", "100ppm")
    assert code == 1
    assert "tolerance: OUTSIDE" in text


@pytest.mark.parametrize(
    ("lead", "words", "code"),
    [
        ("540.54", "0.540 mm too short (-999.0 ppm)\ntolerance: none given, so judge this error yourself", 0),
        (
            "540.55",
            "0.550 mm too short (-0.102 %) OFF\ntolerance: none given; OFF: more than 0.1 % off",
            0,
        ),
        ("545.4", "5.400 mm too short (-0.990 %) OFF", 0),
        ("545.46", "5.460 mm too short (-1.001 %) OFF", 1),
    ],
)
def test_a_lead_far_off_is_marked_and_then_refused_where_no_tolerance_says_what_will_do(lead, words, code):
    train = "40/(72)/60", "--lead", lead
    ended, text = run(*train)
    assert words in text
    assert ended == code
    assert text.startswith("!! not the wanted lead: -1.001 % off, and no tolerance was given\n") == (code == 1)
    assert run(*train, "--tolerance", "2%")[0] == 0
    assert "OFF" not in run(*train, "--tolerance", "2%")[1]


def test_a_train_just_outside_is_not_printed_as_if_it_were_inside():
    """412.0876 mm and 0.1 % make 412.4996876 mm at the most, and the train cuts 412.5 mm: 1000.73 ppm."""
    code, text = run("80/44 48/100", "--lead", "412.0876", "--tolerance", "0.1%")
    assert code == 1
    assert "error: the lead is 0.412 mm too long (+0.1001 %)\n" in text
    assert "OUTSIDE; acceptable lead: 411.676 to 412.499 mm (-0.100 % to +0.100 %)\n" in text
    code, text = run("80/44 48/100", "--lead", "412.08796", "--tolerance", "0.1%")
    assert code == 0
    assert "train 80/44 48/100: lead 412.50000 mm (16.2402 in), right hand\n" in text
    assert "(+999.9 ppm)\ntolerance: inside; acceptable lead: 411.67588 to 412.50004 mm" in text


def test_the_longest_cut_is_rounded_down():
    """0.02 mm / (1 − 412.5 / 412.59) = 91.68667 mm."""
    text = run("80/44 48/100", "--lead", "412.59", "--tolerance", "0.02mm over 60mm")[1]
    assert "  longest cut before the error uses up the tolerance: 91.686 mm\n" in text


def test_what_speaks_against_a_train_is_said_first():
    gear = "--gear-module", "2", "--teeth", "30", "--helix-angle", "20", "--length", "20", "--accuracy", "1"
    text = run("48/44", *gear, "--tolerance", "1ppm")[1]
    assert text.startswith("!! does not mount\n!! outside the tolerance\n!! outside accuracy class 1\ntrain 48/44: ")
    record = json.loads(run("40/(72)/60", "--lead", "550", "--format", "json")[1])
    assert record["against"] == "not the wanted lead: -1.818 % off, and no tolerance was given"


def test_a_class_that_is_kept_says_what_will_do_and_nothing_is_off():
    gear = "--gear-module", "2", "--teeth", "30", "--helix-angle", "20", "--length", "4", "--accuracy", "11"
    code, text = run("40/(72)/60", *gear)
    assert code == 0
    assert "(-2.0" in text or "too" in text
    assert "OFF" not in text


def test_a_tilt_takes_up_the_error_of_a_cam_s_train_and_no_helix_is_told():
    code, text = run("72/24 64/44", "--lead", "20", "--tilt", "30", "--diameter", "20", "--length", "3")
    assert "\ntilt: set the head to 14.030° (14°01′47″) instead: with these gears the lead is then exact\n" in text
    assert code == (0 if "mounts: yes" in text else 1)
    assert "helix angle" not in text
    assert "OFF" not in text
    assert not text.startswith("!! not")
    short = run("127/24 64/48", "--lead", "60", "--tilt", "60")
    assert short[0] == 1
    assert "tilt: none works: this train gives 51.024 mm (2.0088 in), less than the lead on the work" in short[1]
    record = json.loads(run("72/24 64/44", "--lead", "20", "--tilt", "30", "--diameter", "20", "--format", "json")[1])
    assert record["helix_angle_deg"] is record["helix_angle_change_deg"] is None
    assert record["exact_tilt_deg"] == pytest.approx(14.0296654, abs=1e-6)


def test_json_and_csv_carry_the_same_figures():
    words = ("40/60", "--lead", "540.9", "--length", "60", "--tolerance", "0.2mm over 60mm")
    record = json.loads(run(*words, "--format", "json")[1])
    row = next(csv.DictReader(io.StringIO(run(*words, "--format", "csv")[1])))
    assert record["lead_exact"] == row["lead_exact"] == "540"
    assert record["wanted"]["lead_exact"] == "5409/10"
    assert record["within"] is True
    assert row["within"] == "true"
    assert record["drivers"] == [40]
    assert float(row["drift_mm"]) == record["drift_mm"] == pytest.approx(-0.0998336106)
    assert record["travel_mm"] == {"1": 540.0, "10": 5400.0}


def test_a_gear_fixed_on_its_shaft_cannot_be_mistaken():
    """The first and the last gear are fixed; the two on the stud are told as ever."""
    gears = GearSet(Kind(Fraction(3, 2)), (24, 32, 40), fixed={"first": 100, "last": 48})
    shop = replace(mill((20,)), gears=(gears,))
    checked = check(shop, Train.parse("100/24 32/48"))
    assert {(slip.place, slip.meant) for slip in checked.slips} == {("driven", 24), ("driver", 32)}


def test_what_is_not_zero_is_never_printed_as_zero():
    said = run("72/24 80/44", "--lead", "66.0000001mm", "--length", "5mm", "--diameter", "20mm")[1]
    assert "error: the lead is 0.00000010 mm too short (-0.0015 ppm)" in said
    assert "the work turns 0.000000041° more over that length, 0.0000000072 mm around the diameter" in said
    assert "helix angle at the diameter: 0.0000026′ larger" in said
    assert "over 0.000010 mm of cut the work turns 0.000055°" in run("72/24 80/44", "--length", "0.00001mm")[1]


def test_a_slope_of_a_tooth_that_is_not_zero_is_never_printed_as_zero():
    gear = part(teeth=24, helix_angle=15, gear_module=2)
    nearly = replace(gear, lead_mm=Fraction(60) * 6 * 24 * 44 / (72 * 80) * (1 + Fraction(1, 10**9)))
    assert "helix slope over the face: -0.0000" in written(
        check(demo_shop(), Train.parse("72/24 80/44"), replace(nearly, length_mm=Fraction(10))), "table"
    )


def test_what_a_wrong_gear_would_give_is_a_detail_on_the_screen_and_in_no_other_form():
    short, full = run("40/60")[1], run("40/60", "--full")[1]
    assert "put on" not in short
    assert "--full" in short
    assert "put on" in full
    assert "--full" not in full
    assert json.loads(run("40/60", "--format", "json")[1])["slips"]
    with refused("idle-option", "--full"):
        run("40/60", "--full", "--format", "json")
