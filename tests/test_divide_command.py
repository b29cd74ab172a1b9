"""``gearsearch divide``: what it prints, writes and refuses."""

import csv
import io
import json
import re
import shlex
from functools import partial
from pathlib import Path

import commands
import pytest

from gearsearch.dividing.answer import STEP_KEYS, WAY_KEYS
from gearsearch.shop.reader import DEMO_TEXT

run = partial(commands.run, "divide")

RAMP = ("--steps", "3", "--step-angle", "20", "--lead", "120mm")


@pytest.mark.parametrize(
    ("typed", "angle"), [("7d12m30s", "7d12m30s"), ("17.5deg", "17.5deg"), ("5°48'", "5°48'"), ("24m", "24m")]
)
def test_an_angle_in_the_place_of_the_divisions_is_led_to_its_option(typed, angle, capsys):
    assert run(typed) == (2, "")
    told = capsys.readouterr().err
    assert f"--angle {shlex.quote(angle)}," in told
    assert run("--angle", angle)[0] in (0, 1)


def test_two_numbers_are_told_to_be_two_jobs(capsys):
    assert run("51", "53") == (2, "")
    told = capsys.readouterr().err
    assert "'53'" in told
    assert "--angle" in told
    assert "--lead" not in told


@pytest.mark.parametrize(
    ("words", "do"),
    [
        (["42"], "turn the crank 1 turn and 9 holes of the 21 circle each time"),
        (["127"], "gear 44/(20)/60 from spindle to plate and turn the crank 7 holes of the 15 circle each time"),
        (
            ["1009"],
            "turn the crank 4 holes of the 47 circle, then 1 hole of the 39 circle back with the plate each time",
        ),
        (["--angle", "17d30m"], "turn the crank 3 turns and 1 hole of the 20 circle, then 2 holes of the 15 circle"),
        (["--starts", "9", "--route", "spindle", "--train", "24/72"], "turn the spindle on by 8 teeth of the 72"),
    ],
)
def test_what_to_do_comes_first_and_the_other_ways_after_it(words, do, monkeypatch):
    monkeypatch.setenv("COLUMNS", "80")
    text = run(*words)[1]
    first, *_ = json.loads(run(*words, "--format", "json")[1])["ways"]
    rest = text.splitlines()[1:]
    assert " ".join(" ".join(rest).split()).startswith(do)
    assert first["exact"] == (" exact" in " ".join(text.partition("Millrace")[0].split()))
    assert max(map(len, text.splitlines())) <= 80


def test_the_rest_is_told_on_request_and_always_to_files_and_programs(capsys):
    short, full = run("127")[1], run("127", "--full")[1]
    assert "--full" in short
    assert "--full" not in full
    assert "hole more than the spaces" not in short
    assert "hole more than the spaces" in full
    assert len(short.splitlines()) < len(full.splitlines())
    assert run("127", "--out", "plate.md")[0] == 0
    assert "sector arms span one hole more" in Path("plate.md").read_text(encoding="utf-8")
    codes = {note["code"] for note in json.loads(run("127", "--format", "json")[1])["notes"]}
    assert {"arms", "one-way", "count-first"} <= codes
    capsys.readouterr()
    for words in (("--format", "json"), ("--out", "other.md")):
        assert run("127", "--full", *words) == (2, "")
        assert "--full" in capsys.readouterr().err


def test_the_depth_of_a_tooth_that_was_asked_for_is_told_at_once():
    asked = "--steps", "3", "--total-angle", "60", "--lead", "120mm"
    assert "DEPTH" not in run(*asked)[1]
    assert "8.959 mm" in run(*asked, "--undercut", "15", "--diameter", "40mm")[1]


def test_one_is_one_division():
    assert run("1")[1].startswith("1 division:")


def test_a_shop_file_says_that_a_head_takes_no_gears(capsys):
    text = DEMO_TEXT.replace("# differential = false", "differential = false")
    Path("shop.toml").write_text(text, encoding="utf-8")
    code, answer = run("127", "--format", "json")
    assert code == 1
    assert {way["way"] for way in json.loads(answer)["ways"]} == {"plain", "combined"}
    for words in (("--nearest",), ("--without", "40")):
        assert run("127", *words) == (2, "")
        assert words[0] in capsys.readouterr().err
    Path("shop.toml").write_text(text.replace("differential = false", 'differential = "no"'), encoding="utf-8")
    assert run("127") == (2, "")
    assert "[dividing], differential" in capsys.readouterr().err


def test_an_exact_circle_is_answered_with_0():
    code, text = run("42", "--full")
    assert code == 0
    assert "42 divisions: 1 3/7 turns of the crank for each" in text
    assert "\n1 turn and 21 holes of the 49 circle  22 holes   exact\n" in text
    assert "- scribe every division lightly on the blank first, and count the marks before the first cut" in text


def test_127_is_answered_by_gears_with_0():
    code, text = run("127", "--full")
    assert code == 0
    assert "no hole circle is exact alone; with these gears each is" in text
    assert "with the crank, 40/43 for 1 of the spindle" in text
    assert "checked by the rule of thumb alone" in text


def test_where_nothing_is_exact_the_answer_is_1_with_the_nearest():
    code, text = run("1009", "--count", "3", "--full")
    assert code == 1
    assert "no circle is exact: two together come nearest" in text
    assert "combined movements are easily miscounted" in text
    assert "add --nearest for the differential trains that come nearest" in text


def test_the_nearest_trains_on_request_are_only_that():
    code, text = run("1009", "--nearest", "--count", "3")
    assert code == 1
    assert "nor is any train of these gears: these are the nearest" in text
    assert "0.000095′ too short each time, 0.0016° (0°00′05.7″) after 1009" in text


def test_an_angle_is_told_with_what_builds_up():
    record = json.loads(run("--angle", "17°29'", "--repeats", "5", "--format", "json")[1])
    first = record["ways"][0]
    assert first["built_up_minutes"] == pytest.approx(5 * first["error_minutes"])
    assert not first["exact"]
    assert not record["exact"]


def test_starts_while_geared():
    assert run("--starts", "3", "--route", "worm")[0] == 0
    assert run("--starts", "3") == run("--starts", "3", "--route", "worm")
    code, text = run("--starts", "9", "--route", "spindle", "--train", "24/72")
    assert code == 0
    assert "on by 8 teeth of the 72" in text


def test_a_ramp_is_a_table_to_cross_off():
    code, text = run("--steps", "3", "--total-angle", "60", "--lead", "120mm", "--undercut", "15", "--diameter", "40mm")
    assert code == 0
    last = next(line.split() for line in text.splitlines() if line.lstrip().startswith("3 ") and "[ ]" in line)
    assert last[:5] == ["3", "3", "5", "10", "0"]
    assert text.count("[ ]") == 3
    assert "each step moves 6.667 mm (0.2625 in) ALONG THE AXIS" in text
    assert "the DEPTH of a tooth with its face undercut by 15.000° (15°00′00″) is another number: 8.959 mm" in text


def test_5_8_degrees_and_1_37_mm_a_step_belong_to_a_lead_of_about_85_mm():
    """Common practice, no source."""
    code, text = run("--steps", "12", "--step-angle", "5.8", "--step-rise", "1.37mm", "--circle", "21", "--full")
    assert code == 1
    assert "each step moves 1.370 mm (0.0539 in) ALONG THE AXIS: lead 85.034 mm × 5.800° (5°48′00″) / 360°" in text
    assert "the DEPTH of an undercut tooth is a different figure: give --diameter and --undercut for it" in text


def test_only_the_circles_named_are_used_and_the_heading_says_so():
    code, text = run("127", "--circle", "33", "--count", "3", "--full")
    assert code == 0
    assert "\nonly the circle of 33 holes\n" in text
    assert text.count("holes of the 33 circle") == 4  # three ways, and the nearest without gears
    assert "without gears the nearest is 16 holes of the 33 circle" in text
    _, text = run("28", "--circle", "49", "--circle", "20", "--full")
    assert "only the circles of 20 and 49 holes" in text
    assert "21 circle" not in text
    assert "2 turns and 7 holes of the 49 circle each time, sector arms over 8 holes: exact" in " ".join(text.split())


def test_with_circles_that_are_not_exact_only_these_are_said_not_to_be():
    code, text = run("--angle", "17d30m", "--circle", "17")
    assert code == 1
    assert "only the circle of 17 holes" in text
    assert "- no circle is exact: these are the nearest" in text
    assert "of the 33" not in text


def test_combined_movements_keep_to_the_circles_named():
    ways = json.loads(run("1009", "--circle", "21", "--circle", "33", "--format", "json")[1])["ways"]
    used = {way[key] for way in ways for key in ("circle", "second_circle") if way[key]}
    assert used == {21, 33}


def test_starts_by_the_worm_keep_to_the_circles_named():
    assert "18 circle" in run("--starts", "9", "--circle", "18")[1]
    assert "27 circle" in run("--starts", "9")[1]
    assert "27 circle" not in run("--starts", "9", "--circle", "18")[1]


def test_gears_in_use_elsewhere_are_not_offered():
    assert "44/(20)/60" in run("127", "--count", "1")[1]
    code, text = run("127", "--count", "3", "--without", "44,60", "--without", "20")
    assert code == 0
    assert "without the gears of 20, 44 and 60 teeth, in use elsewhere" in text
    trains = [way["train"] for way in json.loads(run("127", "--without", "44,60,20", "--format", "json")[1])["ways"]]
    assert not any({"20", "44", "60"} & set(re.findall(r"\d+", train)) for train in trains)


def test_of_two_gears_of_a_count_one_is_left():
    """The demo shop has two of 24."""
    ways = json.loads(run("127", "--without", "24", "--count", "200", "--format", "json")[1])["ways"]
    counts = [re.findall(r"\d+", way["train"]).count("24") for way in ways]
    assert max(counts) == 1


def test_different_movements_come_before_further_trains_of_one():
    ways = json.loads(run("271", "--count", "60", "--format", "json")[1])["ways"]
    movements = [(way["turns"], way["holes"], way["circle"]) for way in ways]
    different = len(set(movements))
    assert different > 2
    assert len(set(movements[:different])) == different
    assert json.loads(run("271", "--format", "json")[1])["ways"] == ways[:5]


def as_csv(value):
    """A value of JSON as CSV writes it."""
    if value is None:
        return ""
    return str(value).lower() if isinstance(value, bool) else str(value)


@pytest.mark.parametrize(
    ("words", "keys"),
    [
        (("42",), WAY_KEYS),
        (("127",), WAY_KEYS),
        (("1009",), WAY_KEYS),
        (("1009", "--nearest"), WAY_KEYS),
        (("--angle", "17°30'"), WAY_KEYS),
        (("--starts", "9", "--route", "spindle", "--train", "24/72"), WAY_KEYS),
        (RAMP, STEP_KEYS),
    ],
)
def test_json_and_csv_hold_the_same_rows_of_the_same_keys(words, keys):
    code, text = run(*words, "--format", "json")
    record = json.loads(text)
    assert code == (0 if record["exact"] else 1)
    rows = record["steps" if keys is STEP_KEYS else "ways"]
    table = list(csv.DictReader(io.StringIO(run(*words, "--format", "csv")[1])))
    assert [list(row) for row in rows] == [list(keys)] * len(rows)
    assert table == [{key: as_csv(value) for key, value in row.items()} for row in rows]


def test_a_file_that_cannot_be_written_is_refused_before_any_work(monkeypatch, capsys):
    monkeypatch.setattr("gearsearch.shop.reader.load_shop", pytest.fail)
    Path("ramp.md").write_text("old", encoding="utf-8")
    assert run(*RAMP, "--out", "ramp.md") == (2, "")
    assert "ramp.md exists" in capsys.readouterr().err


def test_a_file_that_is_called_a_dash_is_the_screen(capsys):
    assert run(*RAMP, "--out", "-") == run(*RAMP)
    assert run(*RAMP, "--out", "-", "--format", "json") == run(*RAMP, "--format", "json")
    assert capsys.readouterr().err == ""
    assert list(Path().iterdir()) == []


@pytest.mark.parametrize("name", ["ramp.md", "ramp.csv", "ramp.json"])
def test_a_ramp_goes_to_a_file_whole_and_only_once(name, capsys):
    words = (*RAMP, "--out", name)
    assert run(*words) == (0, "")
    assert capsys.readouterr().err == f"written: {name}\n"
    before = Path(name).read_text(encoding="utf-8")
    assert run(*words) == (2, "")
    assert Path(name).read_text(encoding="utf-8") == before
    assert run(*words, "--overwrite")[0] == 0
    if name.endswith("csv"):
        rows = list(csv.DictReader(before.splitlines()))
        assert [row["total_turns"] for row in rows] == ["3", "6", "10"]
    if name.endswith("json"):
        assert json.loads(before)["steps"][2]["axis_exact"] == "20"
    if name.endswith("md"):
        assert before.startswith(
            "# 3 steps of 20.000° (20°00′00″), 60.000° (60°00′00″) in all, on the 15 circle\n\n- Millrace workshop"
        )
        assert "\n\n| step |" in before
        lines = [line for line in before.splitlines() if line.startswith("|")]
        assert [line.count("|") for line in lines] == [9] * 5
        assert before.count("[ ]") == 3


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ("ratio  = 60", "ratio  = 0", "[dividing], ratio: "),
        ("[15, 16, 17, 18, 19, 20]", "[15, 16.5]", "[dividing], plates no. 1 no. 2: 16.5 is not a whole number"),
        ("[15, 16, 17, 18, 19, 20]", "[1]", "[dividing], plates no. 1 no. 1: 1 is too small"),
    ],
)
def test_a_dividing_head_that_cannot_be_is_refused_with_its_place_in_the_file(old, new, message, capsys):
    Path("shop.toml").write_text(DEMO_TEXT.replace(old, new, 1), encoding="utf-8")
    assert run("42") == (2, "")
    assert message in capsys.readouterr().err


NOTHING = "give one: a number of divisions, --angle, --starts, or --steps"


@pytest.mark.parametrize(
    ("words", "message"),
    [
        ([], f"nothing to divide is given\nhelp: {NOTHING}"),
        (["5", "--angle", "3"], f"2 things to divide are given: a number of divisions and --angle\nhelp: {NOTHING}"),
        (["7.5"], "gearsearch divide '7.5' is not a whole number\nhelp: write it as in gearsearch divide 42"),
        (["0"], "0 is no number of divisions\nhelp: give a whole number from 1 to 100000"),
        (["100001"], "100001 is no number of divisions\nhelp: give a whole number from 1 to 100000"),
        (
            ["99999999999"],
            "99999999999 is no number of divisions\nhelp: give a whole number from 1 to 100000",
        ),
        (["7", "--count", "0"], "0 is no number of ways\nhelp: give a whole number from 1 to 1000"),
        (
            ["--angle", "0"],
            "a space of 0° cannot be set off on the work\nhelp: give an angle above 0° and up to 360°",
        ),
        (
            ["--angle=-5"],
            "a space of -5° cannot be set off on the work\nhelp: give an angle above 0° and up to 360°",
        ),
        (
            ["--angle", "360.5"],
            "a space of 360.5° cannot be set off on the work\nhelp: give an angle above 0° and up to 360°",
        ),
        (["42", "--repeats", "3"], "--repeats belongs to --angle, not to a number of divisions\nhelp: leave it out"),
        (["42", "--lead", "85"], "--lead belongs to --steps, not to a number of divisions\nhelp: leave it out"),
        (
            ["--angle", "5", "--nearest"],
            "--nearest belongs to a number of divisions, not to --angle\nhelp: leave it out",
        ),
        (
            [*RAMP, "--count", "3"],
            "--count belongs to a number of divisions or --angle or --starts, not to --steps\nhelp: leave it out",
        ),
        (
            ["--steps", "3"],
            "a ramp needs the angle of its steps once, and it is not given\n"
            "help: give either --step-angle or --total-angle",
        ),
        (
            ["--steps", "3", "--step-angle", "5"],
            "a ramp needs its lead once, and it is not given\nhelp: give either --lead, or --step-rise for one step",
        ),
        (
            ["--steps", "0", "--total-angle", "60", "--lead", "85"],
            "0 is no number of steps\nhelp: give a whole number from 1 to 10000",
        ),
        (
            [*RAMP, "--undercut", "15"],
            "the depth of an undercut tooth needs its face angle and its diameter\n"
            "help: give --undercut and --diameter, or none",
        ),
        (
            [*RAMP, "--length", "12mm"],
            "3 steps of 6.667 mm (0.2625 in) overrun the helix: they take 20.000 mm (0.7874 in), and it is "
            "12.000 mm (0.4724 in) long\nhelp: at most 1 such steps fit",
        ),
        (
            [*RAMP, "--circle", "22"],
            "there is no circle of 22 holes\nhelp: circles of the head: "
            "15, 16, 17, 18, 19, 20, 21, 23, 27, 29, 31, 33, 37, 39, 41, 43, 47, 49",
        ),
        (
            ["42", "--circle", "21", "--circle", "22"],
            "there is no circle of 22 holes\nhelp: circles of the head: "
            "15, 16, 17, 18, 19, 20, 21, 23, 27, 29, 31, 33, 37, 39, 41, 43, 47, 49",
        ),
        (
            ["127", "--without", "25"],
            "there is no loose gear of 25 teeth to do without\nhelp: loose gears: "
            "20, 24, 28, 30, 32, 36, 40, 44, 48, 52, 56, 60, 64, 72, 80, 86, 100, 127",
        ),
        (
            ["--angle", "5", "--without", "24"],
            "--without belongs to a number of divisions, not to --angle\nhelp: leave it out",
        ),
        (
            [*RAMP, "--out", "ramp.doc"],
            "ramp.doc has none of the endings that can be written\nhelp: end the name in one of .md, .pdf, .csv, .json",
        ),
        (
            ["--starts", "3", "--route", "belt"],
            "there is no route 'belt' in Millrace workshop\nhelp: use one of: worm, spindle",
        ),
    ],
)
def test_what_cannot_be_divided_says_why(words, message, capsys):
    assert run(*words) == (2, "")
    assert capsys.readouterr().err == f"gearsearch: {message}\n"
