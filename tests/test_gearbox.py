"""A gearbox with a lever: every position is searched, and named wherever its train is told."""

import csv
import io
import json
from fractions import Fraction
from pathlib import Path

import pytest
from cells import cells
from commands import run

from gearsearch.base.errors import ShopError
from gearsearch.search.check import check
from gearsearch.search.find import find
from gearsearch.search.terms import Terms
from gearsearch.shop.machine import Route
from gearsearch.shop.machines.lathe import Lathe
from gearsearch.shop.reader import read_shop
from gearsearch.shop.trains import Train
from gearsearch.work.part import Part

LATHE = """
name = "Millrace workshop, the small lathe"
units = "mm"
[machine]
kind = "lathe"
screw_lead = "6 mm"
[[machine.route]]
name = "gearbox"
ratio = { A = "1", B = "1/2", C = "4/3" }
hand_with_one_stud = "either"
[[machine.route]]
name = "plain"
ratio = 1
hand_with_one_stud = "either"
[[gears]]
module = "1.5 mm"
teeth = [20, 24, 28, 30, 32, 36, 40, 44, 48, 52, 56, 60, 127]
"""
RATIOS = {"A": 1, "B": Fraction(1, 2), "C": Fraction(4, 3)}


@pytest.fixture
def lathe():
    return read_shop(LATHE, "lathe.toml")


@pytest.fixture
def lathe_file(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    Path("lathe.toml").write_text(LATHE, encoding="utf-8")
    return "lathe.toml"


def changed(ratio):
    return LATHE.replace('{ A = "1", B = "1/2", C = "4/3" }', ratio)


def test_a_route_has_a_way_for_each_lever(lathe):
    ways = {way.call: (way.name, way.lever, way.ratio) for way in lathe.machine.routes}
    assert ways == {f"gearbox:{name}": ("gearbox", name, ratio) for name, ratio in RATIOS.items()} | {
        "plain": ("plain", "", 1)
    }
    assert [way.lever for way in lathe.ways("gearbox")] == ["A", "B", "C"]
    assert [way.lever for way in lathe.ways()] == ["A", "B", "C"]
    assert lathe.route("gearbox:B").ratio == Fraction(1, 2)
    assert len(lathe.ways("any")) == 4


@pytest.mark.parametrize("lead", [Fraction(3, 2), Fraction(7, 4), Fraction(127, 40), Fraction(8)])
def test_every_lead_is_that_of_screw_lever_and_gears(lathe, lead):
    answer = find(lathe, Part(lead), Terms(count=30))
    assert {fit.way.lever for fit in answer.fits} == {"A", "B", "C"}
    for fit in answer.fits:
        ratio = Fraction(1)
        for pair in fit.train.pairs:
            ratio *= Fraction(pair.driver, pair.driven)
        assert fit.lead_mm == 6 * RATIOS[fit.way.lever] * ratio


def test_the_lever_is_named_for_people_and_for_programs(lathe_file):
    words = ("find", "--thread", "1.75mm", "--shop", lathe_file)
    record = json.loads(run(*words, "--format", "json")[1])
    assert (record["route"], record["lever"]) == ("gearbox", None)
    assert {fit["lever"] for fit in record["fits"]} <= set(RATIOS)
    rows = list(csv.DictReader(io.StringIO(run(*words, "--format", "csv")[1])))
    assert [row["lever"] for row in rows] == [fit["lever"] for fit in record["fits"]]
    assert "gearbox: lead of the machine by lever: A 6.000 mm" in run(*words)[1]
    one = json.loads(run(*words, "--route", "gearbox:B", "--format", "json")[1])
    assert (one["route"], one["lever"]) == ("gearbox", "B")
    assert {fit["lever"] for fit in one["fits"]} == {"B"}
    sheet = run("sheet", "--thread", "1.75mm", "--route", "gearbox:C", "--shop", lathe_file)[1]
    assert "Gearbox lever to C" in sheet
    assert "lever B" in run("shop", "show", "--shop", lathe_file)[1]


def test_levers_that_gear_alike_share_an_answer():
    """B and D are both 1/2: each train by B cuts by D what it cuts by B."""
    with_two = LATHE.replace('C = "4/3"', 'C = "4/3", D = "1/2"')
    alike, alone = (read_shop(text, "lathe.toml") for text in (with_two, LATHE))
    wanted, terms = Part(Fraction("1.75")), Terms(route="gearbox", count=20)
    found, before = find(alike, wanted, terms), find(alone, wanted, terms)
    assert [(fit.way.call, fit.lead_mm, fit.train) for fit in found.fits] == [
        (fit.way.call, fit.lead_mm, fit.train) for fit in before.fits
    ]
    assert {row["lever"]: row["other_levers"] for row in found.rows()} == {"A": [], "B": ["D"], "C": []}
    assert {row["lever"] for row in cells(found)} == {"A", "B or D", "C"}


def test_check_takes_the_lever_by_which_the_train_is_nearest(lathe):
    checked = check(lathe, Train.parse("28/48"), Part(Fraction(7, 4)), Terms())
    assert (checked.route.lever, checked.fit.error) == ("B", 0)
    assert [other.route.lever for other in checked.others] == ["A", "C"]
    assert checked.record()["lever"] == "B"


def test_starts_are_indexed_by_a_first_driver_that_turns_as_the_spindle_does():
    geared, plain = Route("box", Fraction(1, 4), lever="D"), Route("stud", Fraction(1, 4))
    machine = Lathe(6, (geared, plain))
    assert (machine.multiple(geared, 3), machine.multiple(plain, 3)) == (3, 12)
    assert machine.last_shaft(geared) != machine.last_shaft(plain)


@pytest.mark.parametrize(
    ("ratio", "named"),
    [
        ("{}", ["[[machine.route]] no. 1, ratio"]),
        ('{ A = "1", a = "1/2" }', ["[[machine.route]] no. 1, ratio, a"]),
        ('{ A = "1", B = "none" }', ["[[machine.route]] no. 1, ratio, B", "none"]),
        ('{ A = "1", B = 0, C = -1 }', ["ratio, B", "ratio, C"]),
        ('{ A = "1", B = [1] }', ["ratio, B"]),
        ('{ A = "1", "" = "1/2" }', ["[[machine.route]] no. 1, ratio"]),
        ('{ A = "1", A = "1/2" }', ["line 9", 'A = "1/2"']),
    ],
)
def test_levers_that_cannot_be_are_named_by_table_and_key(ratio, named):
    with pytest.raises(ShopError) as caught:
        read_shop(changed(ratio), "lathe.toml")
    assert [name for name in named if name not in str(caught.value)] == []


def test_a_bad_lever_ends_with_exit_code_2(lathe_file, capsys):
    Path(lathe_file).write_text(changed('{ A = "1", B = "x" }'), encoding="utf-8")
    assert run("find", "--lead", "2mm", "--shop", lathe_file) == (2, "")
    assert "ratio, B" in capsys.readouterr().err


@pytest.mark.parametrize("name", ["any", "gearbox"])
def test_a_route_cannot_have_a_name_that_stands_for_another(name):
    with pytest.raises(ShopError, match=r"\[\[machine.route\]\] no. 2, name"):
        read_shop(LATHE.replace('"plain"', f'"{name}"'), "lathe.toml")


def test_beyond_the_reach_of_every_lever_the_nearest_one_is_told(lathe_file):
    for lead, lever in (("5000mm", "C"), ("0.001mm", "B")):
        record = json.loads(run("find", "--lead", lead, "--shop", lathe_file, "--format", "json")[1])
        (told,) = [note["text"] for note in record["notes"] if note["code"] == "out-of-reach"]
        assert f"route gearbox, lever {lever} is" in told
