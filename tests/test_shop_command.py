"""``gearsearch shop``: writing a shop file, reading one back, and the page on measuring."""

import csv
import io
import json
import random
import subprocess
import sys
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pytest
from cells import cells, codes
from cells import said as said_of
from commands import raising
from quadrants import plain
from refusals import refused

from gearsearch.base.errors import ShopError
from gearsearch.output.written import written
from gearsearch.search.find import find
from gearsearch.search.terms import Terms
from gearsearch.shop.gears import GearSet, Kind
from gearsearch.shop.machine import Route
from gearsearch.shop.measuring import PAGE, SLOTS_PAGE, SNIPPET
from gearsearch.shop.overview import not_held, overview
from gearsearch.shop.quadrant import Quadrant
from gearsearch.shop.reader import DEMO_TEXT, demo_shop, load_shop, read_shop
from gearsearch.work.part import Part


def said(*words):
    """What the command prints; it must end with exit code 0."""
    code, text = raising("shop", *words)
    assert code == 0
    return text


# ------------------------------------------------------------------------------------------------------ new


def test_new_writes_the_demo_with_its_notes_and_says_what_to_do_next(capsys):
    assert said("new").endswith(": gearsearch shop show\n")
    assert capsys.readouterr().err == "written: shop.toml\n"
    assert Path("shop.toml").read_text(encoding="utf-8") == DEMO_TEXT
    mine = load_shop()
    assert (mine.source, mine.is_demo) == ("shop.toml", False)
    assert replace(mine, source="") == demo_shop()


def test_new_under_another_name_says_how_to_show_it():
    assert said("new", "my mill.toml").endswith(": gearsearch shop show --shop 'my mill.toml'\n")
    assert load_shop("my mill.toml").name == "Millrace workshop"


def test_new_does_not_replace_a_file_unless_told_to():
    Path("shop.toml").write_text("mine", encoding="utf-8")
    with refused("file-exists", "shop.toml"):
        said("new")
    assert Path("shop.toml").read_text(encoding="utf-8") == "mine"
    said("new", "--overwrite")
    assert Path("shop.toml").read_text(encoding="utf-8") == DEMO_TEXT


def test_new_cannot_write_where_there_is_no_folder():
    with refused("no-folder", "nowhere"):
        said("new", "nowhere/shop.toml")


def test_the_demo_file_fits_a_page():
    assert max(map(len, DEMO_TEXT.splitlines())) <= 100


# ----------------------------------------------------------------------------------------------------- show

SHOWN = """\
Millrace workshop (the built-in demo shop; name your own with --shop)
mill: table screw 6.000 mm (0.2362 in) a turn, accurate to 100.0 ppm, backlash 0.150 mm (0.0059 in)
quadrant: slot swinging round the first shaft, up to 2 studs, shafts 150.000 mm (5.9055 in) apart

19 gears of module 1.5 mm, 20°
  loose: 20 24 24 28 30 32 36 40 44 48 52 56 60 64 72 80 86 100 127

route    ratio  lead of the machine      hand with one stud  step-up warning
-------  -----  -----------------------  ------------------  ---------------
worm     60     360.000 mm (14.1732 in)  right               above 4
spindle  1      6.000 mm (0.2362 in)     left                none

route    pairs     trains  shortest lead          or  longest lead            or  quadrant
-------  -----  ---------  -------------  ----------  ------------  ------------  -----------
worm         1        307      56.693 mm   2.2320 in   2286.000 mm    90.0000 in
worm         2     18 904      13.606 mm   0.5357 in   9525.000 mm   375.0000 in
worm         3    404 600       3.797 mm   0.1495 in  34131.250 mm  1343.7500 in
worm         4  3 681 860       1.329 mm   0.0523 in  97517.857 mm  3839.2857 in  no: 3 studs
spindle      1        307       0.945 mm   0.0372 in     38.100 mm     1.5000 in
spindle      2     18 904       0.227 mm   0.0089 in    158.750 mm     6.2500 in
spindle      3    404 600       0.063 mm   0.0025 in    568.854 mm    22.3958 in
spindle      4  3 681 860       0.022 mm  0.00087 in   1625.298 mm    63.9881 in  no: 3 studs

trains and leads are counted from the gears alone; whether a train mounts is judged by the search
no train of 4 pairs goes on the quadrant: it needs 3 studs and the quadrant takes 2

warnings: none
"""


def test_show_reads_the_demo_back_with_all_that_follows_from_it(monkeypatch):
    monkeypatch.setenv("COLUMNS", "120")
    assert said("show") == SHOWN


def test_show_names_the_file_it_read():
    said("new", "mine.toml")
    assert said("show", "--shop", "mine.toml").startswith("Millrace workshop (mine.toml)\n")


def test_show_as_json_is_exact_and_complete():
    record = json.loads(said("show", "--format", "json"))
    assert (record["name"], record["demo"], record["source"], record["units"]) == ("Millrace workshop", True, "", "mm")
    assert record["machine"] == {
        "kind": "mill",
        "screw_lead_mm": 6.0,
        "screw_lead_exact": "6",
        "screw_accuracy_ppm": 100.0,
        "backlash_mm": 0.15,
        "dial": None,
    }
    assert [route["lead_of_machine_exact"] for route in record["routes"]] == ["360", "6"]
    two_pairs = record["routes"][0]["trains"][1]
    assert two_pairs == {
        "pairs": 2,
        "trains": 18904,
        "shortest_mm": float(Fraction(360 * 20 * 24, 127 * 100)),
        "shortest_exact": str(Fraction(360 * 20 * 24, 127 * 100)),
        "longest_mm": 9525.0,
        "longest_exact": "9525",
    }
    assert record["gears"][0]["count"] == 19
    assert (record["quadrant"], record["warnings"]) == (True, [])


def test_show_as_csv_has_a_row_for_each_route_and_number_of_pairs():
    rows = list(csv.DictReader(io.StringIO(said("show", "--format", "csv"))))
    assert [(row["route"], row["pairs"]) for row in rows] == [
        (route, str(pairs)) for route in ("worm", "spindle") for pairs in range(1, 5)
    ]
    assert [row["trains"] for row in rows[:4]] == ["307", "18904", "404600", "3681860"]
    assert {row["lead_of_machine_exact"] for row in rows} == {"360", "6"}


def test_show_tells_the_mistakes_in_a_file():
    Path("bad.toml").write_text(DEMO_TEXT.replace("ratio = 60  ", "ration = 60 "), encoding="utf-8")
    with pytest.raises(ShopError) as caught:
        said("show", "--shop", "bad.toml")
    assert str(caught.value) == (
        "bad.toml: 1 mistake\n  [[machine.route]] no. 1, ration: there is no such key; did you mean ratio?"
    )


def test_a_lathe_is_not_warned_that_it_has_no_dividing_head():
    lathe = load_shop(str(Path(__file__).parents[1] / "tables" / "lathe.toml"))
    assert [note.code for note in overview(lathe).warnings] == ["no-quadrant", "no-accuracy"]


def test_warnings_name_what_is_missing_or_of_no_use():
    demo = demo_shop()
    kinds = (
        GearSet(Kind(Fraction(3, 2), tag="m1.5", label="module 1.5 mm, 20°"), (20, 30, 40)),
        GearSet(Kind(Fraction(2), tag="m2", label="module 2 mm, 20°"), (25,)),
    )
    limits = Quadrant(None, smallest={"first": 24, "stud": 24}, largest={"last": Fraction(30)})
    machine = replace(demo.machine, routes=(Route("worm", Fraction(60)),), screw_accuracy=None)
    shop = replace(demo, machine=machine, gears=kinds, quadrant=limits, dividing=None)
    warned = {note.code: note.text for note in overview(shop).warnings}
    assert list(warned) == [
        *("hand-not-known", "no-crossing", "alone", "goes-nowhere", "no-quadrant", "no-accuracy", "no-dividing")
    ]
    assert "no lead in round inches" in warned["no-crossing"]
    assert "the 25 is the only gear of module 2 mm, 20°" in warned["alone"]
    assert "the 20 of module 1.5 mm, 20°" in warned["goes-nowhere"]
    text = written(overview(shop), "table")
    assert "\nwarnings:\n- route worm: the hand is not yet found" in text
    assert "1 gear of module 2 mm, 20°, written @m2\n  loose: 25\n" in text
    assert "\nquadrant: not measured\n" in text
    assert "worm       3       0" in text  # three gears that mesh make no train of three pairs


def test_an_inch_screw_without_a_127_is_warned_of_millimetres():
    demo = demo_shop()
    gears = (GearSet(Kind(Fraction(3, 2)), (20, 40, 60)),)
    inch = replace(demo, machine=replace(demo.machine, screw_lead_mm=Fraction(127, 20)), gears=gears)
    (warned,) = overview(inch).warnings
    assert warned.code == "no-crossing"
    assert "no lead in round millimetres" in warned.text


def test_joined_fixed_and_bored_gears_are_listed_and_how_they_are_counted():
    text = DEMO_TEXT
    for line in ("# joined  =", "# fixed   =", "# only_on ="):
        text = text.replace(line, line[2:])
    view = overview(read_shop(text, "mine.toml"))
    shown = written(view, "table")
    assert "22 gears of module 1.5 mm, 20°\n" in shown
    assert "  joined: 60 with 30\n  fixed on the first shaft: 40\n  the 127 only on: first\n" in shown
    assert "joined-as-loose" in codes(view)
    assert view.warnings == ()


def test_a_thousand_gears_are_counted_too():
    many = replace(demo_shop(), gears=(GearSet(Kind(Fraction(3, 2)), tuple(range(20, 1020))),))
    assert overview(many).reaches[0].trains == 1000 * 999


def test_show_needs_none_of_the_heavy_libraries():
    """It answers before they would even be loaded."""
    code = (
        "import sys\n"
        "from gearsearch.output.written import written\n"
        "from gearsearch.shop.overview import overview\n"
        "from gearsearch.shop.reader import load_shop\n"
        "view = overview(load_shop())\n"
        "written(view, 'table'), written(view, 'json'), written(view, 'csv')\n"
        "heavy = {'numpy', 'numba', 'pandas', 'pyarrow', 'matplotlib'} & set(sys.modules)\n"
        "sys.exit(', '.join(heavy) or 0)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert (done.returncode, done.stderr) == (0, "")


# -------------------------------------------------------------------------------------------------- measure


def test_measure_prints_two_pages_of_plain_characters():
    pages = said("measure")
    assert pages == f"{PAGE}\n\n{SLOTS_PAGE}"
    assert pages.isascii()
    for page in (PAGE, SLOTS_PAGE):
        assert max(map(len, page.splitlines())) <= 80
        assert len(page.splitlines()) <= 80


def test_the_table_that_measure_ends_in_is_read_as_it_stands():
    assert PAGE.endswith(SNIPPET)
    without = DEMO_TEXT[: DEMO_TEXT.index("[quadrant]\n")] + DEMO_TEXT[DEMO_TEXT.index("[dividing]\n") :]
    assert read_shop(without, "mine.toml").quadrant is None
    quadrant = read_shop(without + SNIPPET, "mine.toml").quadrant
    assert quadrant == replace(demo_shop().quadrant, largest={"first": Fraction(195), "last": Fraction(195)})


def test_all_eight_measures_have_a_place_in_the_table():
    for number in range(1, 9):
        assert f"\n{number}  " in PAGE
        assert f"# {number}" in SNIPPET


def test_show_tells_of_a_chasing_dial():
    said("new", "mine.toml")
    text = Path("mine.toml").read_text(encoding="utf-8").replace('kind       = "mill"', 'kind       = "lathe"')
    dial = "[machine.dial]\nteeth = 32\nmarks = 8\n\n[[machine.route]]"
    Path("mine.toml").write_text(text.replace("[[machine.route]]", dial, 1), encoding="utf-8")
    assert "chasing dial of 8 marks on a wheel of 32 teeth" in said("show", "--shop", "mine.toml").replace("\n", " ")
    record = json.loads(said("show", "--shop", "mine.toml", "--format", "json"))
    assert record["machine"]["dial"] == {"teeth": 32, "marks": 8, "screw_starts": 1}


# --------------------------------------------------------------------------------------------- what does not go on


def test_pairs_that_need_more_studs_than_the_quadrant_takes_are_marked():
    """The demo takes two studs: four pairs need three."""
    view = overview(demo_shop())
    rows = [(row["pairs"], row.get("quadrant")) for row in cells(view)]
    assert rows == [("1", None), ("2", None), ("3", None), ("4", "no: 3 studs")] * 2
    assert said_of(view, "few-studs").startswith("no train of 4 pairs goes on the quadrant")
    assert "few-studs" not in codes(overview(replace(demo_shop(), quadrant=None)))


def test_a_gear_that_has_room_nowhere_is_named():
    """150 mm between the shafts, less a nut of 12 mm and 0.5 mm: a gear of 183 teeth has 138.75 mm to its tips."""
    (gears,) = demo_shop().gears
    shop = replace(demo_shop(), gears=(replace(gears, teeth=(20, 181, 183, 250)),))
    assert not_held(shop, shop.gears[0]) == [250]
    reaching = replace(shop.quadrant, bracket=replace(shop.quadrant.bracket, reach_mm=(Fraction(40), Fraction(100))))
    assert not_held(replace(shop, quadrant=reaching), shop.gears[0]) == [183, 250]
    assert not_held(replace(shop, quadrant=None), shop.gears[0]) == []


@pytest.mark.parametrize("seed", range(6))
def test_no_train_mounts_with_a_gear_that_is_said_to_have_room_nowhere(seed):
    rng = random.Random(seed)
    teeth = tuple(sorted(rng.choices(range(20, 60), k=4) + rng.sample(range(90, 260), 3)))
    reach = (Fraction(30), Fraction(rng.randint(60, 120)))
    apart = Fraction(rng.randint(80, 130))
    shop = plain(teeth, reach_mm=reach, shaft_distance_mm=(apart, apart), pivot=rng.choice(["first", "last"]))
    named = not_held(shop, shop.gears[0])
    assert named
    for gear in named:
        for pairs in ((1, 1), (2, 2)):
            assert find(shop, Part(Fraction(360)), Terms(pairs=pairs, use=(gear,), mounting="must")).fits == ()
