"""``gearsearch find``: what it prints, for people and for programs."""

import csv
import io
import json
import re
from fractions import Fraction
from functools import partial
from pathlib import Path

import commands
import pytest

from gearsearch.search.find import find
from gearsearch.search.solutions import ON_THE_PART, SOLUTION
from gearsearch.search.terms import Terms
from gearsearch.shop.reader import DEMO_TEXT, demo_shop
from gearsearch.work.part import Part

run = partial(commands.run, "find")

LATHE = """
name = "Millrace lathe"
units = "in"
[machine]
kind = "lathe"
screw_lead = "8 tpi"
[[machine.route]]
name = "direct"
ratio = 1
hand_with_one_stud = "right"
[[gears]]
diametral_pitch = 20
teeth = [20, 30, 32, 40, 40, 44, 46, 48, 52, 54, 56, 60, 63, 80, 127]
"""


@pytest.fixture
def lathe(tmp_path):
    """A shop file of a lathe without a quadrant."""
    path = tmp_path / "lathe.toml"
    path.write_text(LATHE)
    return str(path)


def test_the_table_says_what_was_asked_and_what_was_searched():
    code, text = run("--helix-angle", "20", "--diameter", "50mm", "--hand", "right", "--length", "60mm")
    assert code == 0
    lines = text.splitlines()
    assert lines[0].startswith("wanted: lead 431.573 mm (16.9911 in), from helix angle 20.000° (20°00′00″)")
    assert lines[0].endswith(", right hand")
    assert lines[2].split()[:2] == ["no.", "train"]
    assert lines[2].split()[-4:] == ["over", "60", "mm", "helix"]
    assert "\nat diameter 50.000 mm (1.9685 in): helix angle 20.000° (20°00′00″) from the axis" in text
    assert "\nMillrace workshop (the built-in demo shop; name your own with --shop)\n" in text
    assert "\nroute worm: lead of the machine 360.000 mm (14.1732 in)\n" in text
    assert "\nall 19 211 trains of 1 or 2 pairs checked\n" in text
    assert "Before a cut: machine isolated" in text


@pytest.mark.parametrize("columns", ["50", "80", "120"])
@pytest.mark.parametrize("hand", ["right", "either"])
def test_a_figure_that_is_asked_for_has_its_column_however_narrow_the_terminal(monkeypatch, columns, hand):
    monkeypatch.setenv("COLUMNS", columns)
    words = ("--helix-angle", "20", "--diameter", "50mm", "--hand", hand, "--length", "60mm", "--tolerance", "1%")
    text = run(*words, "--count", "3")[1]
    assert re.search(r" +over 60 mm +helix$", text, re.MULTILINE)
    assert re.search(r"\+0\.052 mm +-0\.96′$", text, re.MULTILINE)
    assert max(map(len, text.splitlines())) <= int(columns)


def test_json_has_the_keys_that_programs_rely_on():
    code, text = run("--lead", "412.5", "--hand", "right", "--count", "2", "--format", "json")
    record = json.loads(text)
    assert code == 0
    assert record["wanted"]["lead_exact"] == "825/2"
    assert record["searched"] == 19211
    first = record["fits"][0]
    assert list(first) == [column.name for column in (*SOLUTION, *ON_THE_PART) if column.name]
    assert first["train"] == "80/44 48/100"
    assert first["drivers"] == [80, 48]
    assert first["driven"] == [44, 100]
    assert first["lead_exact"] == "825/2"
    assert first["error_mm"] == first["error_ppm"] == 0.0
    assert first["mounts"] == "yes"
    assert first["studs"][0]["from_pivot_mm"] == pytest.approx(93.0)


def test_csv_holds_the_same_answers():
    words = ("--lead", "412.5", "--hand", "left", "--count", "4")
    rows = list(csv.DictReader(io.StringIO(run(*words, "--format", "csv")[1])))
    fits = json.loads(run(*words, "--format", "json")[1])["fits"]
    assert [row["train"] for row in rows] == [fit["train"] for fit in fits]
    assert [float(row["error_ppm"]) for row in rows] == [fit["error_ppm"] for fit in fits]
    assert [row["same_lead"] for row in rows] == [str(fit["same_lead"]) for fit in fits]
    assert rows[0]["idlers"] == " ".join(map(str, fits[0]["idlers"]))


def test_nothing_inside_the_tolerance_ends_with_1_and_shows_the_closest():
    code, text = run("--lead", "413", "--hand", "right", "--tolerance", "1ppm", "--count", "2")
    assert code == 1
    assert " ppm OUT" in text
    assert text.startswith("!! no usable train is inside the tolerance\n")


@pytest.mark.parametrize("order", [(), ("--order", "easiest")], ids=["closest", "easiest"])
def test_the_answer_tells_how_the_tolerance_was_read(order):
    words = ("--lead", "412.5", "--hand", "right", "--count", "2", *order)
    told = "acceptable lead: 412.450 to 412.550 mm (-121.2 ppm to +121.2 ppm)"
    assert run(*words, "--tolerance", ".05")[1].splitlines()[1] == told
    record = json.loads(run(*words, "--tolerance", ".05", "--format", "json")[1])
    assert (record["shortest_allowed_mm"], record["longest_allowed_mm"]) == (412.45, 412.55)
    endless = json.loads(run(*words, "--tolerance", "100deg over 60mm", "--format", "json")[1])
    assert endless["shortest_allowed_mm"] == pytest.approx(141.7661, abs=1e-4)
    assert endless["longest_allowed_mm"] is None


def test_a_train_just_outside_is_not_printed_as_if_it_were_inside():
    text = run(
        "--lead", "412.0876", "--tolerance", "0.1%", "--use", "80", "--use", "44", "--use", "48", "--count", "3"
    )[1]
    assert "acceptable lead: 411.676 to 412.499 mm (-0.100 % to +0.100 %)" in text
    assert re.search(r"80/44 48/100 +412\.500 mm +16\.2402 in +\+0\.412 mm +\+0\.1001 % OUT", text)


def test_a_lead_that_is_marked_off_is_not_printed_as_if_it_were_not():
    text = run("--lead", "412.0876", "--use", "80", "--use", "44", "--use", "48", "--count", "3")[1]
    assert "+0.1001 % OFF" in text


def test_without_a_tolerance_none_is_told():
    assert "acceptable" not in run("--lead", "412.5", "--hand", "right")[1]
    record = json.loads(run("--lead", "412.5", "--hand", "right", "--format", "json")[1])
    assert record["shortest_allowed_mm"] is record["longest_allowed_mm"] is None


def test_the_tolerance_of_a_tilted_head_is_told_of_the_geared_lead():
    text = run("--lead", "10", "--tilt", "30", "--tolerance", "0.1%")[1]
    assert "acceptable geared lead: 19.980 to 20.020 mm (-0.100 % to +0.100 %)\n" in text


def test_a_lead_out_of_reach_ends_with_1_and_says_what_would_help():
    code, text = run("--lead", "1", "--hand", "right")
    assert code == 1
    assert "out of reach: the shortest lead of this box by the route worm is 13.606 mm (0.5357 in)" in text
    assert "\n- add --route spindle: " in text
    assert "for a cam: add --tilt 4.21; " in text


def test_a_worm_is_not_told_to_tilt_the_head():
    text = run("--worm-module", "2", "--starts", "2", "--hand", "right")[1]
    assert "\n- add --route spindle: " in text
    assert "tilt" not in text


def test_every_arrangement_is_listed_with_the_reason_where_it_does_not_mount():
    code, text = run("--lead", "412.5", "--hand", "right", "--all-arrangements", "--mounting", "show")
    assert code == 0
    assert re.search(r"no\. \d+ does not mount: the ", text)
    assert "fouls" in text
    assert text.count("412.500 mm") > 20


def test_a_lathe_is_told_in_threads_per_inch(lathe):
    code, text = run("--shop", lathe, "--thread", "13 tpi", "--hand", "right", "--count", "2")
    assert code == 0
    assert "  13 tpi  " in text.splitlines()[4]
    assert "rule of thumb" in text


def test_starts_on_the_spindle_route_choose_the_last_gear():
    fits = json.loads(run("--lead", "6.7", "--starts", "9", "--route", "spindle", "--format", "json")[1])["fits"]
    assert fits
    assert all(fit["driven"][-1] % 9 == 0 for fit in fits)
    others = json.loads(run("--lead", "412.5", "--starts", "9", "--format", "json")[1])["fits"]
    assert any(fit["driven"][-1] % 9 for fit in others)


def test_an_answer_shows_itself_in_a_notebook():
    answer = find(demo_shop(), Part(Fraction(4125, 10)), Terms(hand="right", count=2))
    html = answer._repr_html_()
    assert "<table>" in html
    assert "80/44 48/100" in html


def test_two_gears_straight_across_are_said_to_fit_at_one_shaft_distance_only():
    """(24 + 40) × 1.5 / 2 = 48 mm; a train with a stud can be swung to reach."""
    Path("bare.toml").write_text(DEMO_TEXT.partition("[quadrant]")[0], encoding="utf-8")
    code, text = run("--lead", "216mm", "--hand", "left", "--count", "2", "--shop", "bare.toml")
    assert code == 0
    assert "40/24" in text
    assert "left hand" in text.splitlines()[0]
    assert (
        "\nno. 1: by the rule of thumb only; without a stud it goes on only where the shafts stand 48.000 mm apart\n"
        in text
    )
    assert text.count("without a stud") == text.count("at one distance") == 1


def test_a_left_hand_thread_is_not_listed_without_a_word():
    said = "\n- a thread is right hand unless the drawing says LH (common practice, no source), and some of these cut a"
    thread = "--thread", "13 tpi", "--route", "spindle", "--count", "3"
    assert said in run(*thread)[1]
    assert "a thread is right hand" not in run(*thread, "--hand", "right")[1]
    assert "a thread is right hand" not in run("--lead", "2mm", "--route", "spindle")[1]


def test_a_lead_far_off_is_marked_and_told_what_the_mark_means():
    text = run("--lead", "437mm", "--hand", "right", "--count", "10")[1]
    marked = [line for line in text.splitlines() if line.rstrip().count("% OFF")]
    plain = [line for line in text.splitlines() if "ppm" in line]
    assert marked
    assert plain
    assert "\n- OFF: more than 0.1 % off" in text
    assert "OFF" not in run("--lead", "437mm", "--hand", "right", "--count", "10", "--tolerance", "1%")[1]


@pytest.mark.parametrize(
    ("limit", "said"),
    [
        (("--greatest-step-up", "1"), "these limits may be in the way: greatest step-up 1"),
        (
            ("--pairs", "1", "--greatest-pair-ratio", "9/8", "--without", "40", "--without", "24"),
            "these limits may be in the way: greatest pair ratio 9/8, without 40 24",
        ),
        (("--pairs", "1", "--use", "100"), "these limits may be in the way: use 100"),
    ],
)
def test_where_even_the_nearest_is_no_answer_it_says_so_with_what_may_be_in_the_way(limit, said):
    code, text = run("--lead", "66mm", "--hand", "left", "--count", "2", *limit, "--mounting", "skip")
    assert code == 1
    assert f"off, and no tolerance was given; {said}\n" in text
    assert text.count("not the wanted lead: even the nearest is ") == 1


def test_a_cam_s_trains_stand_with_the_tilt_that_makes_each_exact():
    """24 mm on the work from 82.5 mm geared: asin(24 / 82.5); no helix angle is told, and no train is far off."""
    cam = ("--lead", "24mm", "--tilt", "17", "--diameter", "40mm", "--pairs", "2", "--mounting", "skip")
    code, text = run(*cam, "--count", "40")
    assert code == 0
    assert "exact at tilt" in text
    row = next(line for line in text.splitlines() if " 82.500 mm" in line)
    assert "16.912° (16°54′45″)" in row
    assert "exact at tilt: the tilt of the head at which that train makes the cam exact" in text
    assert "helix angle" not in text
    assert "OFF" not in text
    record = json.loads(run(*cam, "--format", "json")[1])
    assert all(abs(fit["exact_tilt_deg"] - 17) < 1 for fit in record["fits"])
    table = csv.DictReader(io.StringIO(run(*cam, "--format", "csv")[1]))
    assert [float(line["exact_tilt_deg"]) for line in table] == [fit["exact_tilt_deg"] for fit in record["fits"]]


def test_a_cam_that_no_tilt_reaches_is_far_off_as_any_other():
    text = run("--lead", "202mm", "--tilt", "85", "--pairs", "1", "--without", "127", "--mounting", "skip")[1]
    rows = [line for line in text.splitlines() if " mm " in line and " left" in line]
    assert {(" none" in row, "OFF" in row) for row in rows} == {(True, True), (False, False)}


def test_the_step_up_is_told_for_people_and_programs():
    """48/100 80/44: the last shaft turns 48 x 80 / (100 x 44) times as fast as the first."""
    words = ("--lead", "412.5", "--hand", "right", "--count", "1")
    assert " 1.1458 : 1 " in run(*words)[1]
    (row,) = csv.DictReader(io.StringIO(run(*words, "--format", "csv")[1]))
    assert float(row["step_up"]) == pytest.approx(48 * 80 / (100 * 44))


def test_where_even_the_nearest_is_no_answer_it_stands_alone_with_what_would_help():
    words = ("--lead", "14", "--tolerance", "0.1%")
    short, full = run(*words)[1], run(*words, "--full")[1]
    assert short.count(" OUT ") == 1
    assert full.count(" OUT ") == 10
    assert "add --route spindle" in short
    assert len(json.loads(run(*words, "--format", "json")[1])["fits"]) == 10
