"""``gearsearch divide``: what it prints, writes and refuses."""

import csv
import io
import json
from pathlib import Path

import pytest

from gearsearch.cli import main


def run(*words):
    """Exit code and stdout."""
    out = io.StringIO()
    return main(["divide", *words], out), out.getvalue()


def test_an_exact_circle_is_answered_with_0():
    code, text = run("42")
    assert code == 0
    assert "42 divisions: 1 3/7 turns of the crank for each" in text
    assert "| 1 turn and 9 holes of the 21 circle  | 10 holes    | exact   |" in text
    assert "scribe every division lightly" in text


def test_127_is_answered_by_gears_with_0():
    code, text = run("127")
    assert code == 0
    assert "no circle is exact by itself; geared so, these are exact" in text
    assert "with the crank" in text
    assert "judged by the rule of thumb alone" in text


def test_the_nearest_on_request_are_only_that():
    code, text = run("127", "--nearest", "--count", "3")
    assert code == 1
    assert "no circle of the head is exact: these are the nearest" in text
    assert "combined movements are easily miscounted" in text


def test_an_angle_is_told_with_what_builds_up():
    record = json.loads(run("--angle", "17°29'", "--repeats", "5", "--format", "json")[1])
    first = record["ways"][0]
    assert first["built_up_minutes"] == pytest.approx(5 * first["error_minutes"])
    assert not first["exact"]


def test_starts_while_geared():
    assert run("3", "--geared", "worm")[0] == 0
    code, text = run("9", "--geared", "spindle", "--train", "24/72")
    assert code == 0
    assert "8 teeth" in text


def test_a_ramp_is_written_as_a_table_to_cross_off():
    code, text = run("--steps", "3", "--total-angle", "60", "--lead", "120mm", "--face", "15", "--diameter", "40mm")
    assert code == 0
    assert "| 10 turns                              |" in text
    assert text.count("[ ]") == 3
    assert "each step moves 6.667 mm (0.2625 in) ALONG THE AXIS" in text
    assert "the DEPTH of a tooth with its face undercut by 15.000° (15°00′00″) is another number: 8.959 mm" in text
    code, text = run("--steps", "12", "--step-angle", "5.8", "--rise", "1.37mm", "--circle", "21")
    assert code == 1
    assert "the depth of an undercut tooth is another number: give --diameter and --face for it" in text


@pytest.mark.parametrize("name", ["ramp.md", "ramp.csv", "ramp.json"])
def test_a_ramp_goes_to_a_file_whole_and_only_once(name):
    words = ("--steps", "3", "--step-angle", "20", "--lead", "120mm", "--out", name)
    assert run(*words) == (0, f"written: {name}\n")
    before = Path(name).read_text(encoding="utf-8")
    assert main(["divide", *words], io.StringIO()) == 2
    assert Path(name).read_text(encoding="utf-8") == before
    assert run(*words, "--overwrite")[0] == 0
    if name.endswith("csv"):
        rows = list(csv.DictReader(before.splitlines()))
        assert [row["total_turns"] for row in rows] == ["3", "6", "10"]
    if name.endswith("json"):
        assert json.loads(before)["ways"][2]["axis_exact"] == "20"


@pytest.mark.parametrize(
    ("words", "message"),
    [
        ([], "0 things to divide were given\nhelp: give one: a number of divisions, --angle, or --steps"),
        (
            ["5", "--angle", "3"],
            "2 things to divide were given\nhelp: give one: a number of divisions, --angle, or --steps",
        ),
        (["7.5"], "N '7.5' is not a whole number\nhelp: write it as in N 3"),
        (["0"], "0 divisions\nhelp: give a whole number from 1 to 100000"),
        (["--angle", "0"], "an angle of 0.0°\nhelp: give an angle above 0° and up to 360°"),
        (["--steps", "3"], "a ramp needs the angle of its steps\nhelp: give --step-angle or --total-angle, not both"),
        (
            ["--steps", "3", "--step-angle", "5"],
            "a ramp needs its lead\nhelp: give --lead, or --rise for one step, not both",
        ),
        (
            ["--steps", "3", "--step-angle", "5", "--lead", "85", "--out", "ramp.doc"],
            "ramp.doc has none of the endings that can be written\nhelp: name a file .md, .csv or .json",
        ),
    ],
)
def test_what_cannot_be_divided_says_why(words, message, capsys):
    assert run(*words) == (2, "")
    assert capsys.readouterr().err == f"gearsearch: {message}\n"
