"""The set-up sheet: what stands on it, and what is left out."""

import io
from pathlib import Path

import pytest

from gearsearch.cli import main
from gearsearch.sheet import CAUTIONS, WIDTH

GOOD = ("80/44 48/100", "--lead", "412.5mm", "--hand", "right")


def run(*words):
    """Exit code and stdout."""
    out = io.StringIO()
    return main(["sheet", *words], out), out.getvalue()


def unwrapped(text):
    """The sheet's words without its line ends."""
    return " ".join(text.split())


@pytest.mark.parametrize(
    "words",
    [
        GOOD,
        ("--lead", "120mm", "--hand", "left", "--diameter", "48mm", "--end-mill", "10mm", "--wall", "36mm", "60mm"),
        ("--gear-module", "2", "--teeth", "24", "--helix-angle", "15", "--hand", "left", "--disc-cutter", "60mm"),
        ("72/24 80/44", "--lead", "66mm"),
    ],
)
def test_every_sheet_carries_the_cautions_and_stays_within_100_columns(words):
    text = run(*words)[1]
    for caution in CAUTIONS:
        assert caution in unwrapped(text)
    assert max(map(len, text.splitlines())) <= WIDTH


def test_the_train_stands_in_power_order_with_its_studs():
    text = run(*GOOD, "--length", "60mm", "--diameter", "50mm", "--disc-cutter", "60mm", "--depth", "5mm")[1]
    assert "(80) the table screw  drives    (44) stud 1" in text
    assert "(48) stud 1           drives   (100) the last shaft (worm)   keyed to the gear before it" in text
    words = unwrapped(text)
    assert (
        "Stud 1 with 44 and 48: 93.0 mm from the table screw (the pivot), 111.0 mm from the last shaft (worm)" in words
    )
    assert "Index-plate lock OUT, index pin IN, spindle clamp OFF, worm IN mesh (route worm)." in words
    assert "swing the table 20.847° (20°50′48″), the helix angle at diameter 50.000 mm" in words
    assert "its right-hand end goes away from you, toward the column" in words
    assert "5 turns of the work: 2062.500 mm (81.2008 in) of travel, 343.75 turns of the screw." in words
    assert "it must turn CLOCKWISE as it moves away from you (right hand)" in words
    assert "Lost motion of 0.150 mm moves the groove 0.057 mm around" in words
    assert "Run-out: leave 16.583 mm free past each end for the disc cutter." in words


def test_what_is_not_known_leaves_its_lines_out():
    text = run(*GOOD)[1]
    for word in ("swing the table", "Run-out", "Lost motion", "Offset", "divisions", "Blank"):
        assert word not in text


def test_a_ramp_is_told_its_offset_its_side_and_its_dish():
    words = ("--lead", "120mm", "--diameter", "48mm", "--end-mill", "10mm", "--wall", "36mm", "60mm")
    right, left = (unwrapped(run(*words, "--hand", hand)[1]) for hand in ("right", "left"))
    assert "Offset the end mill 3.113 mm across the axis" in right
    assert "to the RIGHT, the low side of the ramp" in right
    assert "to the LEFT, the low side of the ramp" in left
    assert "Dish over the wall: 0.074 mm with this offset, 1.388 mm with none, 2.846 mm on the wrong side" in right


def test_a_helical_gear_is_told_blank_depth_cutter_and_indexing():
    code, text = run("--gear-module", "2", "--teeth", "24", "--helix-angle", "15", "--hand", "left", "--pairs", "2")
    words = unwrapped(text)
    assert code == 0
    assert "Blank 53.693 mm (2.1139 in) over the tips" in words
    assert "whole depth 4.500 mm (0.1772 in)" in words
    assert "Choose the cutter for 26.6 teeth" in words
    assert "24 divisions. turn the crank: 2 turns and 8 holes of the 16 circle" in words
    assert "Train chosen by find" in words


def test_a_train_that_does_not_mount_says_so_first_and_large():
    code, text = run("72/24 80/44", "--lead", "66mm")
    assert code == 1
    assert text.splitlines()[6].startswith("## !!  THIS TRAIN DOES NOT MOUNT: the 80 on stud 1 fouls the nut")
    assert "## !!  The same gears as 80/44 72/24 do." in text


def test_a_lead_outside_the_tolerance_says_so_first_and_large():
    code, text = run("80/44 48/100", "--lead", "413mm", "--tolerance", "100ppm")
    assert code == 1
    assert "## !!  OUTSIDE THE TOLERANCE: -0.121 % off the wanted 413.000 mm (16.2598 in)." in text


def test_starts_that_need_differential_indexing_are_refused_on_the_sheet():
    text = unwrapped(run("--lead", "412.5", "--starts", "127", "--hand", "right")[1])
    assert "INDEXING IS NOT POSSIBLE SO: 127 divisions need differential indexing" in text


def test_short_leads_on_the_spindle_put_the_worm_out_and_index_by_teeth():
    text = unwrapped(run("--lead", "6.7mm", "--starts", "3", "--route", "spindle", "--hand", "left")[1])
    assert "worm OUT of mesh (route spindle)" in text
    assert "by the teeth of the last gear" in text


def test_a_tilted_head_is_told_with_its_limit():
    text = unwrapped(run("--lead", "5mm", "--tilt", "85", "--route", "spindle")[1])
    assert "Head AND cutter tilted 85.000° (85°00′00″) from the table" in text
    assert "A tilt above 80° is avoided" in text


def test_the_sheet_goes_to_a_file_whole_and_only_once(capsys):
    assert run(*GOOD, "--out", "sheet.md", "--date", "25 November")[0] == 0
    before = Path("sheet.md").read_text(encoding="utf-8")
    assert "Date: 25 November" in before
    assert run(*GOOD, "--out", "sheet.md")[0] == 2
    assert "sheet.md is already there" in capsys.readouterr().err
    assert Path("sheet.md").read_text(encoding="utf-8") == before


@pytest.mark.parametrize(
    ("words", "message"),
    [
        ([], "no lead was asked for"),
        (["--lead", "1mm"], "no train was found: out of reach"),
        ([*GOOD, "--out", "sheet.doc"], "sheet.doc has none of the endings that can be written"),
        ([*GOOD, "--end-mill", "10mm", "--wall", "60mm", "36mm"], "a wall from radius 30 to 18 mm"),
    ],
)
def test_a_sheet_that_cannot_be_says_why(words, message, capsys):
    assert run(*words) == (2, "")
    assert capsys.readouterr().err.startswith(f"gearsearch: {message}")
