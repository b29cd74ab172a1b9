"""The set-up sheet: what stands on it, in which order, and what is left out."""

import io
import re
from dataclasses import replace
from fractions import Fraction
from functools import partial
from itertools import pairwise
from math import asin, atan, degrees, hypot, pi, prod
from pathlib import Path

import commands
import pytest
from refusals import refused

from gearsearch import demo, gear_module
from gearsearch.base.document import plain, strong
from gearsearch.cli import main
from gearsearch.search.check import check
from gearsearch.search.find import find
from gearsearch.search.terms import Terms
from gearsearch.sheet.items import do, know
from gearsearch.sheet.page import Job, choose
from gearsearch.sheet.starts import notes
from gearsearch.shop.machine import MACHINES
from gearsearch.shop.reader import DEMO_TEXT, demo_shop
from gearsearch.shop.trains import Train
from gearsearch.work.asking import part
from gearsearch.work.part import Part

run = partial(commands.run, "sheet")

GOOD = ("80/44 48/100", "--lead", "412.5mm", "--hand", "right")
RAMP = ("--lead", "120mm", "--diameter", "48mm", "--end-mill", "10mm", "--wall", "36mm", "60mm")
LATHE = """
name = "Millrace lathe"
units = "in"
[machine]
kind = "lathe"
screw_lead = "8 tpi"
{more}
[[machine.route]]
name = "tumbler"
ratio = 1
{hand}
[[gears]]
diametral_pitch = 20
teeth = [20, 30, 40, 45, 50, 60, 127]
"""


def said(*words):
    """What the sheet says, without its line ends."""
    return unwrapped(run(*words)[1])


def unwrapped(text):
    return " ".join(text.split())


def lathe(hand='hand_with_one_stud = "left"', more=""):
    """The name of a shop file of a lathe."""
    Path("lathe.toml").write_text(LATHE.format(hand=hand, more=more), encoding="utf-8")
    return "lathe.toml"


@pytest.mark.parametrize(
    "words",
    [
        GOOD,
        (*RAMP, "--hand", "left"),
        ("--gear-module", "2", "--teeth", "24", "--helix-angle", "15", "--hand", "left", "--disc-cutter", "60mm"),
        ("72/24 80/44", "--lead", "66mm"),
        ("86/24 80/24 127/20 64/28", "--lead", "12mm", "--tolerance", "1ppm"),
    ],
)
def test_every_sheet_carries_the_cautions_and_stays_within_80_columns(words, monkeypatch):
    monkeypatch.setenv("COLUMNS", "80")
    text = run(*words)[1]
    for caution in MACHINES["mill"].cautions():
        assert caution in unwrapped(text)
    assert max(map(len, text.splitlines())) <= 80


def test_the_blocks_stand_in_the_order_in_which_they_are_done():
    lines = run(*GOOD, "--length", "60mm")[1].splitlines()
    heads = [line for before, line in pairwise(lines) if not before and line[:1] not in "-["]
    assert lines[:2] == ["80/44 48/100", "lead 412.500 mm, right hand"]
    assert [head for head in heads if "___" not in head] == [
        "What is cut",
        "1. Put the train on",
        "2. Set the machine",
        "3. Prove it by hand",
        "4. Cut",
        "Cautions",
        "What the error does",
        "The lead worked out",
    ]


def test_the_train_stands_by_mesh_with_its_planes_and_studs():
    text = run(*GOOD)[1]
    start = text.index("1. Put the train on\n") + len("1. Put the train on\n")
    assert [line.rstrip() for line in text[start:].splitlines()][:6] == [
        "                    plane 1       plane 2   | in mesh   = keyed together",
        "table screw            80",
        "                       |",
        "stud 1                 44 ========== 48",
        "                                     |",
        "last shaft (worm)                   100",
    ]
    assert (
        "Machine isolated. 80 on the table screw, 100 on the last shaft (worm); shafts 150.0 mm apart. [ ] Stud 1 "
        "with 44 and, keyed to it, 48: 93.0 mm from the table screw (the pivot), 111.0 mm from the last shaft (worm); "
        "swing +47.6°."
    ) in unwrapped(text)


def test_the_studs_of_a_longer_train_are_set_from_the_pivot_outward():
    words = said("86/(44)/52 64/127", "--lead", "432mm")
    assert words.index("Stud 1 with 44 as an idler: 97.5 mm") < words.index("Stud 2 with 52 and, keyed to it, 64")


def test_head_table_proof_and_cut_of_a_disc_cutter():
    words = said(*GOOD, "--length", "60mm", "--diameter", "50mm", "--disc-cutter", "60mm", "--depth", "5mm")
    assert "Length along the axis 60.000 mm; over it the work turns 52.364° (52°21′49″)." in words
    assert "Index-plate lock OUT, index pin IN, worm IN mesh, spindle clamp OFF." in words
    assert "Turn it by the table screw: the train steps down 1.1458 : 1." in words
    assert (
        "swing the table 20.847° (20°50′48″), its right-hand end away from you, "
        "toward the column (cutter above the work) (note 1)."
    ) in words
    assert "Screw 6.000 mm × route 60 × driven / drivers 44 × 100 / (80 × 48) = 412.500 mm (16.2402 in)." in words
    assert "One whole turn of the work takes 412.500 mm (16.2402 in) of travel: a part of it is enough." in words
    assert (
        "1/4 turn of the work: 103.125 mm of travel, 17.1875 turns of the screw, 15 turns of the crank. Measured ____"
    ) in words
    assert "Right hand: looking along the work from either end, it must turn CLOCKWISE as it moves away from" in words
    assert "15.5 mm free past each end for a thin disc cutter: stops for 91.0 mm of travel at least." in words
    assert "For its width add 0.18 × the width at each end, along the axis: half of it × sin of the swing; the" in words
    assert "Depth 5.000 mm." in words
    assert "Set the table feed to 93 % of the cutter's feed: along the groove it goes 1.07 times as fast" in words
    assert "0.150 mm of backlash shifts the groove 0.057 mm round the work" in words


def test_a_short_lead_is_proved_over_several_turns():
    assert "10 turns of the work: 77.778 mm of travel, 12.963 turns of the screw." in said(
        "72/56 36/60", "--route", "spindle"
    )


def test_what_is_not_known_leaves_its_lines_out():
    text = run(*GOOD)[1]
    for word in ("swing the table", "free past", "of backlash", "Offset", "divisions", "Blank", "Length along"):
        assert word not in text
    assert "What the error does" not in run("80/44 48/100")[1]


def test_without_a_named_cutter_both_ways_of_setting_the_table_are_told():
    words = said(*GOOD, "--diameter", "50mm")
    assert "Disc cutter: swing the table 20.847°" in words
    assert "(cutter above the work) (note 1); an end mill: square." in words
    assert "table left square" in said(*GOOD, "--diameter", "50mm", "--end-mill", "8mm")


def test_a_helix_angle_that_no_table_reaches_is_said():
    words = said("--lead", "120mm", "--diameter", "48mm", "--disc-cutter", "60mm")
    assert "Most tables swing no farther than 45°" in words


def test_a_ramp_is_told_its_offset_its_side_and_its_dish():
    right, left = (said(*RAMP, "--hand", hand) for hand in ("right", "left"))
    assert "Offset the end mill 3.113 mm across the axis to the RIGHT, as you look straight at the end face" in right
    assert "to the side where the ramp goes away from you" in right
    assert "Offset the end mill 3.113 mm across the axis to the LEFT" in left
    assert "Dish over the wall: 0.074 mm with this offset, 1.388 mm with none, 2.846 mm on the wrong side" in right


def test_the_flank_that_faces_away_from_the_end_takes_the_other_side():
    words = said(*RAMP, "--hand", "right", "--flank", "inner")
    assert "to the LEFT, as you look straight at the end face with the cutter at the top: to the side where" in words
    assert "the ramp comes toward you" in words


def test_a_helical_gear_is_told_blank_depth_cutter_and_indexing():
    code, text = run("--gear-module", "2", "--teeth", "24", "--helix-angle", "15", "--hand", "left", "--pairs", "2")
    words = unwrapped(text)
    assert code == 0
    assert "Blank 53.693 mm over the tips; whole depth as marked on the cutter" in words
    assert "have 4.500 mm, 14½° form cutters often 4.314 mm" in words
    assert (
        "Cutter for 26.6 teeth: 24 / cos³ of the helix angle, not for the 24; of the usual set of eight No. 4, marked "
        "26 to 34 teeth, or No. 5 where No. 1 is that of 12 and 13 (note 2)."
    ) in words
    assert "Prove the depth by the span square to the teeth: with a 20° cutter 3 teeth 15.503 mm (0.6103 in)" in words
    assert "take 0.040 mm off each for that" in words
    assert "5. Index the 24 divisions [ ] Turn the crank 2 turns and 8 holes of the 16 circle; arms span 9" in words
    assert "Train chosen by find, closest first, of 19 211 trains checked." in words


def test_the_divisions_are_numbered_after_what_is_done_at_the_machine():
    assert run("80/44 48/100", "--lead", "412.5", "--starts", "7", "--out", "sheet.md")[0] == 0
    text = Path("sheet.md").read_text(encoding="utf-8")
    table = text.partition('<div style="break-before: page"></div>')[2]
    title, _, names, _, *rows = table.splitlines()[2:14]
    assert title == "## 7 divisions, 8 turns and 12 holes of the 21 circle each time"
    told = [[cell.strip() for cell in row.split("|")[1:-1]] for row in (names, *rows)]
    assert told == [
        ["no.", "from the first", "pin in hole of the 21", "cut"],
        ["1", "0.000°", "0", ""],
        ["2", "51.429°", "12", ""],
        ["3", "102.857°", "3", ""],
        ["4", "154.286°", "15", ""],
        ["5", "205.714°", "6", ""],
        ["6", "257.143°", "18", ""],
        ["7", "308.571°", "9", ""],
        ["1 again", "360.000°", "0", ""],
    ]


def test_starts_that_need_differential_indexing_are_refused_on_the_sheet():
    code, text = run("--lead", "412.5", "--starts", "127", "--hand", "right")
    assert code == 1
    assert "!! THE STARTS CANNOT BE INDEXED THIS WAY: no circle of this head divides 127" in unwrapped(text)
    assert "CANNOT BE INDEXED THIS WAY: no circle of this head divides 127" in unwrapped(text)
    assert "1 again" not in text
    assert run("--lead", "412.5", "--starts", "12", "--hand", "right")[0] == 0
    assert main(["find", "--lead", "412.5", "--starts", "127", "--hand", "right"], io.StringIO()) == 0


def test_teeth_that_cannot_be_indexed_are_called_teeth():
    code, text = run("--gear-module", "2", "--teeth", "127", "--helix-angle", "20", "--hand", "right")
    assert code == 1
    assert "!! THE TEETH CANNOT BE INDEXED THIS WAY: no circle of this head divides 127" in unwrapped(text)


def test_short_leads_on_the_spindle_put_the_worm_out_and_index_by_teeth():
    text = said("--lead", "6.7mm", "--starts", "3", "--route", "spindle", "--hand", "left")
    assert "Worm OUT of mesh, spindle clamp OFF: the last gear is on the head's spindle itself." in text
    assert "by the teeth of the last gear" in text
    assert "Index-plate lock OUT, index pin IN" not in text


def geared_head(name, ratio):
    """The name of a shop file whose short route is called otherwise and geared."""
    text = DEMO_TEXT.replace('"spindle"            # the last', f'"{name}" # the last').replace(
        "ratio = 1                    # for short leads", f"ratio = '{ratio}'"
    )
    assert name in text
    assert f"ratio = '{ratio}'" in text
    Path("head.toml").write_text(text, encoding="utf-8")
    return "--shop", "head.toml", "--route", name


@pytest.mark.parametrize("ratio", ["2", "1/2"])
def test_whether_the_worm_is_in_mesh_is_taken_from_the_name_where_the_ratio_does_not_tell(ratio):
    direct = said("72/24", "--lead", "6.7mm", *geared_head("spindle by gears", ratio))
    assert "Worm OUT of mesh, spindle clamp OFF: the last gear drives the head's spindle without the worm." in direct
    unknown = said("72/24", "--lead", "6.7mm", *geared_head("short leads", ratio))
    assert "Whether this route goes through the worm is not known from the shop file. If it does: worm IN" in unknown
    assert "If its gears drive the spindle without the worm: worm OUT of mesh." in unknown
    for words in (direct, unknown):
        assert "turns of the crank" not in words
        assert "Index-plate lock OUT, index pin IN" not in words
    assert "turns of the crank" in said("80/44 48/100", "--lead", "412.5mm")


def test_a_geared_route_without_the_worm_is_indexed_by_the_teeth_of_its_last_gear():
    """Two turns of the 24 are one of the work: 48 of its teeth, 6 from each of 8 starts to the next."""
    route = geared_head("spindle by gears", "2")
    words = said("72/24", "--lead", "4mm", "--starts", "8", *route)
    assert "Way by the teeth of the last gear; last gear 24; advance 6 teeth" in words
    assert "turn the spindle on by 6 teeth of the 24, mesh again, and do so 8 times in all" in words
    assert "8 divisions, the last gear, 24, on by 6 teeth each time" in words
    assert "1 again 360.000° 48" in words
    five = said("72/24", "--lead", "4mm", "--starts", "5", *route)
    assert "THE STARTS CANNOT BE INDEXED THIS WAY: 5 starts cannot be indexed by the 24 teeth of the last gear" in five
    assert (
        "Take a last gear whose count is a multiple of 5: 20 or 30 or 40 or 60 or 80 or 100; 24 teeth index 2, 3, 4,"
        in five
    )
    chosen = said("--lead", "4.1mm", "--starts", "7", *route)  # only a 28 or a 56 will do
    assert "CANNOT BE INDEXED" not in chosen
    unknown = said("72/24", "--lead", "4mm", "--starts", "8", *geared_head("short leads", "2"))
    assert "The crank and the plate turn the work only through the worm, the last gear's teeth only without" in unknown


def test_a_train_that_does_not_mount_says_so_first_and_large():
    code, text = run("72/24 80/44", "--lead", "66mm")
    assert code == 1
    assert text.startswith("!! THIS TRAIN DOES NOT MOUNT: the 80 on stud 1")
    assert (
        "the 80 on stud 1 fouls the nut of the table screw by 1.5 mm. The same gears mount as 80/44 72/24"
        in unwrapped(text)
    )
    assert "Machine isolated" not in text.partition("\n2. ")[0]


def test_a_lead_outside_the_tolerance_says_so_first_and_large():
    code, text = run("80/44 48/100", "--lead", "413mm", "--tolerance", "100ppm")
    assert code == 1
    assert text.startswith("!! OUTSIDE THE TOLERANCE: ")
    assert "-0.121 % off the wanted 413.000 mm (16.2598 in)." in text


def test_a_train_judged_by_rule_of_thumb_is_not_printed_as_proved():
    text = run("60/127", "--shop", lathe())[1]
    assert text.startswith("!! MOUNTING NOT PROVED: ")


def test_a_step_up_beyond_the_warning_is_turned_from_the_fast_side():
    words = said("80/44 72/24", "--lead", "66mm")
    assert "Turn it by the last shaft (worm), the fast side: the train steps up 1 : 5.4545." in words
    assert "STEP-UP BEYOND 4, at which this route warns: no power feed from the table screw" in words


def test_a_tilted_head_takes_up_the_error_of_the_train():
    """5 mm on the work from 7.777… mm geared: the sheet asks for the sine of just these two."""
    words = said("72/56 36/60", "--lead", "5mm", "--tilt", "40", "--route", "spindle")
    angle = degrees(asin(5 / (6 * 56 * 60 / (72 * 36))))
    assert f"Head and cutter tilted {angle:.3f}° (40°00′19″) from the table, both axes parallel" in words
    assert "= 0.64286 (note 3)." in words
    assert f"40.000° (40°00′00″) was asked; with these gears set {angle:.3f}° (40°00′19″)." in words
    assert f"Head tilted {angle:.3f}° (40°00′19″) from the table: the gears must give 7.778 mm" in words
    assert "None from the gears: at the tilt above the lead is exact." in words
    assert "Set 0.1° too low, the lead comes 0.010 mm short (-0.208 %)." in words
    assert "Set 1′ too low, the lead comes 0.0017 mm short (-346.6 ppm)." in words
    assert "geared lead 7.778 mm" in words
    assert "swing the table" not in words


def test_the_feed_and_the_lost_motion_of_a_cam_are_those_of_the_geared_lead():
    """In one turn the table goes 150 mm, the cam of 80 mm rises 24 mm and slides 148.068 mm along the cutter."""
    cam = "--rise", "8mm", "--per", "120", "--diameter", "80mm", "--end-mill", "12mm"
    words = said("72/24 32/(60)/40", *cam, "--tilt", "10")
    assert "At diameter 80.000 mm: the cam's outline rises at 5.455°" in words
    assert (
        "Cutter's edge at least as long as the cam is thick and 49.356 mm more: so far the work slides along it over "
        "the rise of 8.000 mm, 148.068 mm in a whole turn."
    ) in words
    of_a_turn = said("72/24 32/(60)/40", "--lead", "24mm", "--tilt", "10")
    assert "as long as the cam is thick and 148.068 mm more for each turn that is cut: so far the work" in of_a_turn
    assert "along the outline it goes 1.68 times as fast as the table" in words
    assert "Set the table feed to 59 % of" in words
    assert "0.150 mm of backlash puts the rise 0.024 mm out" in words
    assert "helix angle" not in words
    assert "free past each end" not in words
    assert "Scribe" not in words
    by_hand = said("127/24 64/48", *cam, "--tilt", "30")
    assert "STEP-UP BEYOND 4" in by_hand
    assert "set the table feed" not in by_hand


def test_a_ramp_keeps_rise_and_arc_and_is_proved_whole():
    """0.6 in over 60° by a screw of 0.25 in and a crank of 40: 0.6 / 0.25 = 2.4 turns, 40 / 6 = 6 2/3 turns."""
    inch = DEMO_TEXT.replace('screw_lead = "6 mm"', 'screw_lead = "4 tpi"').replace("= 60 ", "= 40 ", 2)
    Path("inch.toml").write_text(inch, encoding="utf-8")
    asked = "100/36", "--rise", "0.6in", "--per", "60", "--shop", "inch.toml"
    for words in (said(*asked), said(*asked, "--length", "0.6in"), said(*asked, "--starts", "3")):
        assert "from a rise of 15.240 mm (0.6000 in) over 60.000° (60°00′00″)" in words
        assert (
            "The whole ramp, 60.000° (60°00′00″) of the work: 15.240 mm of travel, 2.4 turns of the "
            "screw, 6 2/3 turns of the crank. Measured ___"
        ) in words
    assert "3 starts" in words
    checked = unwrapped(commands.run("check", *asked)[1])
    assert "6 2/3 turns of the crank" in checked
    assert "The whole ramp" not in said("100/36", "--lead", "3.6in", "--shop", "inch.toml")


CAM = "72/24 64/44", "--rise", "6mm", "--per", "90", "--tilt", "20"


def test_the_rise_of_a_cam_is_proved_by_its_travel_its_screw_and_its_crank():
    """24 mm a turn from 82.5 mm geared: 6 mm of rise take a quarter turn and 20.625 mm of travel."""
    words = said(*CAM, "--length", "5mm")
    assert "Rise 5.000 mm, square to the axis; over it the work turns 75.000° (75°00′00″)." in words
    assert (
        "The whole rise of 5.000 mm: 17.188 mm of travel, 2.8646 turns of the screw, 12.5 turns of the "
        "crank: the work turns 75.000° (75°00′00″). Measured ____"
    ) in words
    whole = said(*CAM)
    assert "Rise 6.000 mm, square to the axis; over it the work turns 90.000° (90°00′00″)." in whole
    assert "20.625 mm of travel, 3.4375 turns of the screw, 15 turns of the crank" in whole
    assert "what comes under the cutter as the table brings the work nearer is cut lower and lower" in whole
    assert "Length along the axis" not in words


def test_a_cam_s_sheet_has_one_tilt_and_its_tolerance_is_told_as_tilts():
    """asin(24 / 82.5) = 16.912°; 1 % less and more lead from asin(23.76 / 82.5) = 16.73826° to asin(24.24 / 82.5) =
    17.08668°: 16.738° and 17.087° would both be outside."""
    code, text = run(*CAM, "--tolerance", "1%")
    words = unwrapped(text)
    assert code == 0
    assert "20.000° (20°00′00″) was asked; with these gears set 16.912° (16°54′45″)." in words
    assert words.count("20.000°") == 1
    assert "Inside the tolerance from a tilt of 16.739° (16°44′20″) to 17.086° (17°05′10″)." in words
    for word in ("OUTSIDE", "NOT THE WANTED", "acceptable geared lead"):
        assert word not in words
    exact = said("72/24 64/44", "--lead", "41.25mm", "--tilt", "30")
    assert "was asked" not in exact
    upright = said("60/(36)/64", "--lead", "6.4mm", "--tilt", "89", "--route", "spindle")
    assert "with these gears set 90.000° (90°00′00″)." in upright


def test_where_no_tilt_serves_the_lead_is_said_to_be_wrong_first():
    code, text = run("60/(36)/80 56/30", "--lead", "5mm", "--tilt", "60", "--route", "spindle")
    assert code == 1
    assert "!! NOT THE WANTED LEAD: -25.769 % off, and no tolerance was given." in unwrapped(text)


@pytest.mark.parametrize("train", ["64/48 44/40", "72/56 36/40", "80/44 48/100"])
def test_the_part_s_figures_are_of_the_wanted_lead_and_the_machine_s_of_the_train_s(train):
    cut = ("--diameter", "50mm", "--length", "60mm", "--disc-cutter", "60mm", "--depth", "5mm")
    words = said(train, "--lead", "450mm", *cut)
    lead = 360 * prod(map(int, re.findall(r"/(\d+)", train))) / prod(map(int, re.findall(r"(\d+)/", train)))
    assert "over it the work turns 48.000° (48°00′00″). " in words
    assert f"below: this train, {lead:.3f} mm" in words
    assert f"swing the table {degrees(atan(50 * pi / lead)):.3f}°" in words
    assert f"0.150 mm of backlash shifts the groove {0.15 * 50 * pi / lead:.3f} mm round the work" in words
    assert f"Set the table feed to {100 / hypot(1, 50 * pi / lead):.0f} % of" in words
    assert "what follows" not in said("80/44 48/100", "--lead", "412.5mm", *cut)


def test_a_steep_tilt_is_avoided_and_one_that_cannot_be_is_refused():
    assert "A tilt above 80° is avoided" in said("--lead", "5mm", "--tilt", "85", "--route", "spindle")
    assert "No tilt serves: this train gives 4.286 mm, less than the work needs." in said(
        "60/(36)/80 56/30", "--lead", "5mm", "--tilt", "60", "--route", "spindle"
    )


def test_an_error_is_told_in_the_terms_of_a_tooth():
    words = said(
        *("80/44 48/100", "--gear-module", "2", "--teeth", "17", "--helix-angle", "15", "--length", "20mm"),
        *("--accuracy", "7", "--tolerance", "1%"),
    )
    assert (
        "Helix slope over the face: -2.57 µm (-: helix angle too large); by the lead alone it passes class 3 and "
        "coarser of ISO 1328-1:2013"
    ) in words
    assert "Class 7 allows 12 µm: inside" in words
    assert "Inside the tolerance: acceptable lead" in words


@pytest.mark.parametrize(("hand", "way"), [("left", "TOWARD the headstock"), ("right", "AWAY FROM the headstock")])
def test_on_a_lathe_the_test_of_hand_looks_at_the_tool(hand, way):
    """One stud gives the hand named in the shop file, none the other."""
    words = said("60/127", "--shop", lathe(f'hand_with_one_stud = "{hand}"'))
    assert f"with the top of the work coming toward you the tool must go {way}" in words
    assert "1 turn of the spindle: 0.0591 in of travel" in words
    assert "Index-plate" not in words
    for caution in MACHINES["lathe"].cautions():
        assert caution in words
    assert not re.search("cutter|arbor|rapid", words, re.IGNORECASE)


def test_a_train_of_the_wrong_hand_is_said_to_be_that():
    right = ("80/44 48/100", "--lead", "412.5mm", "--hand")
    words = said(*right, "left")
    assert "!! THIS TRAIN CUTS THE WRONG HAND: not for the left hand: it cuts a right-hand helix" in words
    assert "The same gears cut the other hand as 48/(72)/44 80/100." in words
    assert "Do not put it on: wrong hand; make the sheet of 48/(72)/44 80/100" in words
    assert "not mount" not in words.lower()
    assert run(*right, "left")[0] == 1
    assert "WRONG HAND" not in said(*right, "right")
    fouling = said("72/24 80/44", "--lead", "66mm", "--hand", "left")
    assert "THIS TRAIN DOES NOT MOUNT: the 80 on stud 1 fouls" in fouling


def test_a_lead_that_is_doubtful_heads_the_sheet_too_with_what_it_does():
    """412.5 for 416: 0.841 % short, over 60 mm of cut 0.505 mm."""
    wanted = "80/44 48/100", "--lead", "416mm"
    code, text = run(*wanted, "--length", "60mm")
    assert code == 0
    heading = "!! OFF: -0.841 % from the wanted lead, 0.505 mm over 60.000 mm. No tolerance was given."
    assert heading in unwrapped(text)
    assert text.startswith("!! OFF: ")
    assert "!! OFF: -0.841 % from the wanted lead. No tolerance was given." in said(*wanted)
    assert "!! OFF" not in said(*wanted, "--tolerance", "5%")
    assert "!! OFF" not in said("80/44 48/100", "--lead", "412.8mm")  # 0.07 %
    assert "!! OFF" not in said("80/44 48/100", "--lead", "420mm")


@pytest.mark.parametrize(("lead", "far"), [("416mm", False), ("420mm", True), ("408mm", True), ("412.5mm", False)])
def test_a_lead_that_is_far_off_is_said_first_where_no_tolerance_was_given(lead, far):
    words = said("80/44 48/100", "--lead", lead)
    assert ("!! NOT THE WANTED LEAD" in words) == far
    assert "NOT THE WANTED LEAD" not in said("80/44 48/100", "--lead", lead, "--tolerance", "5%")


def test_starts_are_not_passed_over_where_the_head_is_not_described():
    Path("bare.toml").write_text(DEMO_TEXT.partition("[dividing]")[0], encoding="utf-8")
    words = said(*GOOD, "--starts", "8", "--shop", "bare.toml")
    assert "Index the 8 divisions [ ] From each to the next the work turns 45.000° (45°00′00″)." in words
    assert "the shop file has no [dividing] table. A crank that turns the work 60:1, as this route does" in words
    assert "makes 7 1/2 turns; index with the train at rest." in words
    assert "makes 60/61 turn;" in said(*GOOD, "--starts", "61", "--shop", "bare.toml")
    spindle = said("72/24", "--route", "spindle", "--starts", "8", "--lead", "2mm", "--shop", "bare.toml")
    assert "by the teeth of the last gear" in spindle


def test_starts_on_a_lathe_are_indexed_by_the_teeth_of_the_first_driver():
    two, seven = (said("60/127", "--shop", lathe(), "--thread", "0.75mm", "--starts", starts) for starts in ("2", "7"))
    assert "Mark the mesh of the two gears; draw the 60 or the 127 along its shaft, still on its key, until" in two
    assert "Turn the spindle on by 30 teeth of the 60, mesh again" in two
    assert "!! THE STARTS CANNOT BE INDEXED THIS WAY: a start is 8.5714 of the 60 teeth" in seven
    assert "take a first driver whose count is a multiple of 7, or go on by one pitch with a top slide" in seven.lower()
    assert "CANNOT" not in two


@pytest.mark.parametrize("starts", [2, 3, 4, 5, 6])
def test_on_a_lathe_the_train_that_is_chosen_has_a_first_driver_that_indexes_the_starts(starts):
    """Where one as good as the best has."""
    words = said("--shop", lathe(), "--thread", f"{Fraction(3, starts)} mm", "--starts", str(starts))
    first = int(re.search(r"(\d+)/\d+", words)[1])
    assert "(3.000 mm)" in words
    assert "error does - None: the lead is exact" in words
    assert first % starts == 0
    assert f"and with a first driver that indexes the {starts} starts" in words
    assert f"Turn the spindle on by {first // starts} teeth of the {first}" in words


def test_a_first_driver_that_cannot_come_off_is_neither_taken_out_nor_changed():
    """Half a turn of the first shaft for one of the spindle: 40 × 1/2 / 4 = 5 teeth, / 3 = 6.6667."""
    text = (
        LATHE.format(hand="", more="")
        .replace("ratio = 1", "ratio = '1/2'")
        .replace("teeth = [", "fixed = { first = 40 }\nteeth = [")
    )
    Path("fixed.toml").write_text(text, encoding="utf-8")
    four, three = (said("40/60", "--shop", "fixed.toml", "--lead", "2.1mm", "--starts", n) for n in "43")
    assert "Turn the spindle on by 5 teeth of the 40, mesh again" in four
    assert "take it out" not in four
    assert "a start is 6.6667 of the 40 teeth" in three
    assert "The 40 cannot come off: go on by one pitch with a top slide" in three
    assert "take a first driver" not in three.lower()
    code = main(["find", "--shop", "fixed.toml", "--lead", "2.1mm", "--starts", "3"], out := io.StringIO())
    assert code == 0
    note = "no. 1 cannot index the 3 starts: a start is 6.6667 of the 40 teeth of the gear on the first shaft; the 40"
    assert out.getvalue().count(note) == 1
    main(["find", "--shop", "fixed.toml", "--lead", "2.1mm", "--starts", "4"], out := io.StringIO())
    assert "cannot index" not in out.getvalue()


@pytest.mark.parametrize(
    ("pivot", "way"),
    [
        ("first", "so its mesh stays: mark that of the 30 on the lead screw; swing the quadrant back"),
        ("last", "Mark the mesh of the 60 on the first shaft; swing the quadrant back"),
    ],
)
def test_the_first_driver_comes_out_of_mesh_as_the_quadrant_lets_it(pivot, way):
    bracket = (
        f"[quadrant]\nshaft_distance = '150 mm'\npivot = '{pivot}'\nlayout = 'slot'\nstuds = 2\nplanes = 2\n"
        "reach = ['10 mm', '300 mm']\nswing = [-170, 170]\n"
        "nut_radius = { first = '5 mm', last = '5 mm', stud = '5 mm' }\n[[machine.route]]"
    )
    text = LATHE.format(hand="", more="").replace("[[machine.route]]", bracket)
    Path("pivot.toml").write_text(text, encoding="utf-8")
    assert way in said("60/(127)/30", "--shop", "pivot.toml", "--lead", "6.35mm", "--starts", "2")


def test_a_train_is_chosen_whose_starts_can_be_gone_through_at_the_mesh_that_opens():
    """The quadrant swings round the last shaft: at the first, 32 × 20 / 36 teeth of the 20 to a start will not do."""
    text = DEMO_TEXT.replace('pivot  = "first"', 'pivot  = "last"')
    Path("last.toml").write_text(text, encoding="utf-8")
    asked = ("--lead", "4.1mm", "--starts", "2", "--route", "spindle", "--hand", "right", "--tolerance", "1%")
    code = main(["find", *asked, "--shop", "last.toml"], out := io.StringIO())
    assert code == 0
    assert "no. 1 cannot index the 2 divisions: the quadrant swings round the shaft of the 64" in out.getvalue()
    assert "which can be opened, a start is 17.778 teeth of the 100" in out.getvalue()
    chosen = said(*asked, "--shop", "last.toml")
    assert "CANNOT BE INDEXED" not in chosen
    assert "and one that indexes the 2 starts" in chosen
    assert "and one that indexes" not in said(*asked)  # here the quadrant swings round the first shaft


@pytest.mark.parametrize(("lead", "starts"), [("7.2mm", "5"), ("14mm", "3"), ("8.4mm", "3")])
def test_of_the_trains_of_one_lead_one_is_chosen_that_indexes_the_starts(lead, starts):
    """Without a tolerance only the trains of the best lead are as good: all their orders are looked through."""
    Path("last.toml").write_text(DEMO_TEXT.replace('pivot  = "first"', 'pivot  = "last"'), encoding="utf-8")
    for hand in ("right", "left"):
        asked = ("--lead", lead, "--starts", starts, "--route", "spindle", "--hand", hand, "--shop", "last.toml")
        assert "CANNOT BE INDEXED" not in said(*asked)


def test_divisions_are_looked_into_once_however_often_the_sheet_is_asked():
    made = Job(check(demo_shop(), Train.parse("80/44 48/100"), replace(part(lead="412.5"), starts=7)))
    assert made.indexing is made.indexing
    assert Job(check(demo_shop(), Train.parse("80/44 48/100"))).indexing is None


def test_teeth_that_need_differential_indexing_are_told_by_find():
    main(["find", "--gear-module", "2", "--teeth", "127", "--helix-angle", "20"], out := io.StringIO())
    assert "\n- no. 1 cannot index the 127 divisions: no circle of this head divides 127" in out.getvalue()
    assert notes(find(demo_shop(), Part(Fraction(1, 1000))), 7) == []


def test_the_train_is_chosen_from_python_as_by_the_command():
    wanted = part(lead="412.6")
    chosen = choose(demo_shop(), wanted, Terms(hand="right"))
    assert str(chosen.train) == "80/44 48/100"
    assert chosen.how == "Train chosen by find, closest first, of 19 211 trains checked"


def test_a_train_with_the_indexing_driver_is_not_bought_with_a_worse_error():
    words = said("--shop", lathe(), "--thread", "1.5 mm", "--starts", "7")
    assert "THE STARTS CANNOT BE INDEXED THIS WAY" in words
    assert "that indexes" not in words


@pytest.mark.parametrize(
    ("train", "said_so"), [("60/127", "The spindle turns 2.1167 times"), ("60/20", "turns 3 times")]
)
def test_on_a_lathe_nothing_is_turned_by_the_lead_screw_under_cut(train, said_so):
    words = said(train, "--shop", lathe())
    assert said_so in words
    assert "fast side" not in words
    steep = lathe('hand_with_one_stud = "left"\nstep_up_warning = 2')
    warned = "STEP-UP BEYOND 2, at which this route warns: the train itself steps up 1 : 3; motor" in said(
        train, "--shop", steep
    )
    assert warned == (train == "60/20")


@pytest.mark.parametrize(
    ("ratio", "train", "said_so"),
    [
        ("2", "40/60", "The lead screw turns 1.3333 times as fast as the spindle: lowest speed."),
        ("1/2", "45/30", "The spindle turns 1.3333 times as fast as the lead screw."),
        ("2", "30/60", "Spindle and lead screw turn equally fast."),
        ("1.00001", "60/(40)/60", "Spindle and lead screw turn as good as equally fast."),
        ("1", "60/(40)/60", "Spindle and lead screw turn equally fast."),
    ],
)
def test_the_speed_of_the_lead_screw_counts_the_ratio_of_the_route(ratio, train, said_so):
    text = LATHE.format(hand="step_up_warning = 1.4", more="").replace("ratio = 1", f"ratio = '{ratio}'")
    Path("geared.toml").write_text(text.replace("[20,", "[20, 60,"), encoding="utf-8")
    words = said(train, "--shop", "geared.toml")
    assert said_so in words
    assert "turns 1 times" not in words
    warned = "STEP-UP BEYOND 1.4, at which this route warns: the train itself steps up 1 : 1.5; motor isolated" in words
    assert warned == (train == "45/30")


def test_find_warns_on_a_lathe_of_the_train_s_own_step_up():
    text = LATHE.format(hand="step_up_warning = 1.4", more="").replace("ratio = 1", "ratio = '1/2'")
    Path("geared.toml").write_text(text, encoding="utf-8")
    main(["find", "--shop", "geared.toml", "--lead", "2.38125mm", "--count", "1"], out := io.StringIO())
    assert "step-up beyond 1.4, to be turned by hand, motor isolated: no. 1" in out.getvalue()


def test_on_a_lathe_lost_motion_is_told_whatever_is_known_of_the_work():
    wanted = ("60/127", "--thread", "1.5mm", "--shop", lathe(more="backlash = '0.1 mm'"))
    for diameter in ((), ("--diameter", "20mm")):
        assert "Take up backlash the same way before every cut." in said(*wanted, *diameter)


def test_a_hand_that_is_not_known_is_not_made_up():
    words = said("60/127", "--shop", lathe(hand=""))
    assert "hand not known" in words
    assert "toward the headstock for a right-hand thread, away from it for a left-hand one." in words


def test_every_item_is_a_sentence():
    job = [*GOOD, "--length", "60mm", "--diameter", "50mm", "--disc-cutter", "60mm", "--depth", "5mm", "--starts", "4"]
    items = [item for item in run(*job)[1].replace("\n  ", " ").splitlines() if item.startswith(("- ", "[ ] "))]
    items = [item for item in items if not item.startswith("- This page with the train to scale")]
    assert len(items) > 20
    for item in items:
        assert item.endswith((".", "_")), item


def test_the_sheet_goes_to_a_file_whole_and_only_once(capsys):
    assert run(*GOOD, "--out", "sheet.md", "--date", "25 November")[0] == 0
    before = Path("sheet.md").read_text(encoding="utf-8")
    assert "Date: 25 November" in before
    assert run(*GOOD, "--out", "sheet.md")[0] == 2
    assert "sheet.md exists" in capsys.readouterr().err
    assert Path("sheet.md").read_text(encoding="utf-8") == before


def test_a_sheet_of_a_lead_out_of_reach_says_what_would_help(capsys):
    """By the spindle 6 mm × 40/48 × 20/100 = 1 mm."""
    run("--lead", "1mm")
    assert "\nhelp: add --route spindle: " in capsys.readouterr().err


@pytest.mark.parametrize(
    ("words", "message"),
    [
        ([], "no lead was asked for"),
        (["--lead", "1mm"], "no train was found: out of reach"),
        ([*GOOD, "--out", "sheet.doc"], "sheet.doc has none of the endings that can be written"),
        ([*GOOD, "--end-mill", "10mm", "--wall", "60mm", "36mm"], "a tube cannot be 60 mm inside and 36 mm outside"),
        ([*GOOD, "--accuracy", "0"], "there is no tolerance for accuracy class 0"),
        ([*GOOD, "--disc-cutter", "60mm", "--depth", "30mm"], "a cutter of 60 mm cannot cut 30 mm deep"),
    ],
)
def test_a_sheet_that_cannot_be_says_why(words, message, capsys):
    assert run(*words) == (2, "")
    assert capsys.readouterr().err.startswith(f"gearsearch: {message}")


def test_a_milling_cutter_on_a_lathe_is_refused(capsys):
    assert run("60/127", "--shop", lathe(), "--disc-cutter", "60mm") == (2, "")
    assert capsys.readouterr().err == (
        "gearsearch: a milling cutter has no place on Millrace lathe, which is a lathe\n"
        "help: leave the cutter and the wall out\n"
    )


def test_what_is_to_be_done_is_a_sentence():
    item = do(f"{strong('one')} thing")
    assert (item.text, plain(item.text), item.tick) == (f"{strong('One')} thing.", "One thing.", True)
    assert know("fill in ____").text == "Fill in ____"


def test_a_ramp_stops_short_of_the_step_at_its_foot():
    words = said("80/44 48/100", *RAMP, "--length", "15mm")
    assert "stop before the edge of the end mill meets the step" in words
    assert "it stands 5.000 mm ahead of the cutter's axis" in words
    assert "free past each end" not in words
    assert "of travel at least" not in words


def test_a_ramp_s_offset_is_that_of_the_lead_which_is_cut():
    offset = 5 * 150 / hypot(150, 48 * pi)
    assert f"Offset the end mill {offset:.3f} mm across the axis" in said("72/24 32/(60)/40", *RAMP)


def test_a_route_without_a_limit_is_promised_no_power_feed():
    plain = DEMO_TEXT.replace("step_up_warning = 4 ", "# ")
    Path("plain.toml").write_text(plain, encoding="utf-8")
    words = said("72/24 32/(60)/40", "--lead", "150mm", "--diameter", "30mm", "--shop", "plain.toml")
    assert "Turn it by the last shaft (worm), the fast side: the train steps up 1 : 2.4." in words
    assert "on't use power feed from the table screw: the shop file gives no step_up_warning for this route" in words
    assert "set the table feed" not in words


@pytest.mark.parametrize(("depth", "room"), [("5.0mm", "15.5"), ("5.02mm", "15.6"), ("4.9mm", "15.4")])
def test_room_is_rounded_up_to_what_is_set_with_a_rule(depth, room):
    cut = "--diameter", "50mm", "--disc-cutter", "60mm", "--depth", depth
    assert f"Leave {room} mm free past each end for a thin disc cutter." in said(*GOOD, *cut)


def test_where_the_swing_is_not_known_the_room_is_the_most_that_any_swing_takes():
    cutter = *GOOD, "--disc-cutter", "60mm", "--depth", "5mm"
    words = said(*cutter)
    assert "Leave 16.6 mm free past each end for a thin disc cutter." in words
    assert "For its width add half of it × sin of the swing at each end, along the axis; the stops twice as" in words
    wide = said(*cutter, "--cutter-width", "12mm")  # hypot(16.583, 6) = 17.635
    assert "Leave 17.7 mm free past each end for a disc cutter 12.000 mm wide." in wide


def test_with_its_width_a_disc_cutter_s_room_is_one_figure():
    """16.583 × cos 20.847° + 4 × sin 20.847° = 16.921 mm; 60 + 2 × 16.921 = 93.842 mm."""
    cut = "--length", "60mm", "--diameter", "50mm", "--disc-cutter", "60mm", "--depth", "5mm", "--cutter-width", "8mm"
    words = said(*GOOD, *cut)
    assert (
        "Leave 17.0 mm free past each end for a disc cutter 8.000 mm wide: stops for 93.9 mm of travel at least."
    ) in words
    assert "its width" not in words


def test_an_error_that_is_not_zero_is_never_printed_as_zero():
    text = said("72/24 80/44", "--lead", "66.0001mm", "--length", "5mm")
    assert "The work turns 0.000041° more than it should" in text
    gear = ("--gear-module", "2", "--teeth", "24", "--helix-angle", "15", "--length", "0.1mm")
    assert "Helix slope over the face: -0.00071 µm" in said("28/24 44/60 52/72", *gear)


def test_a_tolerance_without_end_is_told_without_a_made_up_one():
    assert "the tolerance: acceptable lead: 141.767 mm or longer" in said(*GOOD, "--tolerance", "100deg over 60mm")


def test_limits_on_the_sheet_are_never_wider_than_they_are():
    words = said("80/44 48/100", "--lead", "412.0876", "--tolerance", "0.1%")
    assert "Lead +0.1001 %" in words
    assert "OUTSIDE the tolerance: acceptable lead: 411.676 to 412.499 mm" in words
    words = said("80/44 48/100", "--lead", "412.59", "--tolerance", "0.02mm over 60mm")
    assert "Longest cut before the error uses up the tolerance: 91.686 mm" in words


@pytest.mark.parametrize(
    ("teeth", "angle", "words"),
    [
        ("11", "13.45", "Cutter for 11.9 teeth: 11 / cos³ of the helix angle, not for the 11; no cutter of the usual"),
        (
            "15",
            "16.42",
            "Cutter for 16.9 teeth: 15 / cos³ of the helix angle, not for the 15; of the usual set of eight",
        ),
    ],
)
def test_virtual_teeth_are_never_printed_beyond_the_count_where_a_cutter_begins(teeth, angle, words):
    """11 / cos³ 13.45° = 11.957, below the first cutter; 15 / cos³ 16.42° = 16.996, below that of 17 to 20."""
    text = said("--gear-module", "2", "--teeth", teeth, "--helix-angle", angle)
    assert words in text
    between = (
        "marked 14 to 16 teeth, or No. 2 where No. 1 is that of 12 and 13; between two cutters use the one for fewer"
    )
    assert (between in text) == (teeth == "15")
    assert "between two cutters" not in said("--gear-module", "2", "--teeth", "24", "--helix-angle", "15")


def test_room_for_a_disc_cutter_is_told_by_the_depth_of_a_gear_where_none_is_given():
    gear = "--gear-module", "2", "--teeth", "23", "--helix-angle", "20", "--length", "20mm"
    for cutter in (("--disc-cutter", "60mm"), ("--disc-cutter", "60mm", "--cutter-width", "8mm")):
        (room,) = re.findall(r"Leave (\S+ mm) free past each end", said(*gear, *cutter))
        assert f"Leave {room} free past each end" in said(*gear, *cutter, "--depth", "4.5mm")  # 2.25 × 2 mm


def test_a_disc_cutter_without_a_depth_asks_for_it():
    assert "--depth" in said(*GOOD, "--disc-cutter", "60mm")


def test_a_depth_beyond_the_teeth_of_a_gear_is_said_first_and_one_within_them_is_not():
    gear = ("--gear-module", "2", "--teeth", "23", "--helix-angle", "15")
    deep, right = (demo().sheet(gear_module(2, teeth=23, helix_angle=15), depth=depth) for depth in ("20 mm", "4.5 mm"))
    assert [note.code for note in deep.document().against] == ["deeper-than-teeth"]
    assert right.document().against == ()
    code, text = run(*gear, "--depth", "20mm")
    assert code == 0
    assert text.startswith("!! ")
    assert "4.500 mm" in text.partition("\n")[0]


def test_a_cut_may_be_as_deep_as_just_below_half_the_diameter():
    assert demo().sheet("412.5 mm", hand="right", diameter="20 mm", depth="9.999 mm").ready
    with refused("too-deep", "10.000 mm"):
        demo().sheet("412.5 mm", hand="right", diameter="20 mm", depth="10 mm")


def test_a_lead_near_the_wanted_one_is_told_with_how_far_it_is_off():
    """A lead of the drawing and one of the train that round alike would look the same."""
    sheet = demo().sheet("557.99 mm", train="64/60 52/86", hand="right")
    assert any("ppm)" in line or "%)" in line for line in str(sheet).splitlines() if "below: this train" in line)


def test_a_depth_past_the_axis_is_refused_of_no_cam_no_ramp_and_no_blank():
    cam = ("--rise", "8mm", "--per", "120", "--diameter", "80mm", "--end-mill", "12mm", "--depth", "50mm")
    assert run("72/24 32/(60)/40", *cam, "--tilt", "10")[0] in (0, 1)
    assert run(*RAMP, "--hand", "right", "--depth", "30mm")[0] in (0, 1)
    assert demo().sheet(gear_module(2, teeth=23, helix_angle=15), depth="24 mm")  # pitch circle 47.6 mm, blank 51.6 mm
