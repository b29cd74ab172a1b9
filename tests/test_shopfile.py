"""The shop file: what it may say, where it is found, and every mistake told at once, by table and key."""

import re
import tomllib
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from refusals import refused

from gearsearch.base.errors import GearsearchError, ShopError
from gearsearch.shop.dial import Dial
from gearsearch.shop.gears import MOST_PIECES
from gearsearch.shop.machine import Route
from gearsearch.shop.machines.lathe import Lathe
from gearsearch.shop.machines.mill import Mill
from gearsearch.shop.quadrant import MOST_OBSTACLES, Obstacle
from gearsearch.shop.reader import DEMO_TEXT, demo_shop, load_shop, read_shop
from gearsearch.shop.shop import Shop

BASE = """\
name = "Millrace workshop"
units = "mm"
[machine]
kind = "mill"
screw_lead = "6 mm"
screw_accuracy = "0.03 mm over 300 mm"
backlash = "0.1 mm"
[[machine.route]]
name = "worm"
ratio = 60
hand_with_one_stud = "right"
step_up_warning = 4
[[gears]]
module = "1.5 mm"
pressure_angle = 20
teeth = [24, 20, 24, 127]
[quadrant]
shaft_distance = "150 mm"
pivot = "first"
layout = "slot"
studs = 2
reach = ["40 mm", "190 mm"]
swing = [-75, 75]
planes = 2
nut_radius = { first = "12 mm", last = "12 mm", stud = "10 mm" }
clearance = "0.5 mm"
[dividing]
ratio = 60
circles = [15, 16, 17]
"""
SECOND = """\
[[gears]]
module = "1 mm"
pressure_angle = 20
teeth = [30, 40]
"""


def edited(*changes):
    """The base file with one piece of text after another replaced; each piece must stand there once."""
    text = BASE
    for old, new in zip(changes[::2], changes[1::2], strict=True):
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    return text


def problems(text):
    """Every mistake that the reader names in a text."""
    with pytest.raises(ShopError) as caught:
        read_shop(text, "test")
    return list(caught.value.problems)


def tells(problem, place, fact=""):
    """Whether a mistake is named by its place, with a fact such as the value given, and with what would do."""
    return problem.startswith(f"{place}: ") and fact in problem and re.search("; |: write ", problem) is not None


def without(line):
    """The base file without one line."""
    return edited(line + "\n", "")


# ---------------------------------------------------------------------------------------- what a file gives


def test_the_demo_is_the_millrace_workshop_and_says_that_it_is_the_demo():
    shop = demo_shop()
    assert (shop.name, shop.units, shop.source, shop.is_demo) == ("Millrace workshop", "mm", "", True)
    assert [(route.name, route.ratio, route.hand_with_one_stud) for route in shop.machine.routes] == [
        ("worm", 60, "right"),
        ("spindle", 1, "left"),
    ]
    assert shop.drive(shop.route()).lead_of_machine_mm == 360
    assert len(shop.gears[0].teeth) == 19
    assert shop.dividing.circles == (15, 16, 17, 18, 19, 20, 21, 23, 27, 29, 31, 33, 37, 39, 41, 43, 47, 49)


def test_the_demo_read_as_a_file_of_ones_own_is_the_same_shop():
    mine = read_shop(DEMO_TEXT, "mine.toml")
    demo = demo_shop()
    assert (mine.source, mine.is_demo) == ("mine.toml", False)
    assert (mine.machine, mine.gears, mine.quadrant, mine.dividing) == (
        demo.machine,
        demo.gears,
        demo.quadrant,
        demo.dividing,
    )


def test_every_example_in_the_notes_of_the_demo_can_be_used():
    """Each line that the notes offer is put to use, and the file is still read."""
    text = DEMO_TEXT
    for old in ("# joined  =", "# fixed   =", "# only_on =", "# smallest  =", "# largest   =", "# obstacles ="):
        assert text.count(old) == 1, old
        text = text.replace(old, old[2:])
    text = text.replace(
        "\n# [[gears]]\n# diametral_pitch = 16\n# pressure_angle  = 14.5\n# teeth",
        ("\n[[gears]]\ndiametral_pitch = 16\npressure_angle  = 14.5\nteeth"),
    )
    shop = read_shop(text, "test")
    assert shop.gears[0].joined == ((60, 30),)
    assert shop.gears[0].fixed == {"first": 40}
    assert shop.gears[0].only_on == {127: frozenset({"first"})}
    assert shop.gears[1].teeth == (20, 30, 40)
    assert shop.quadrant.smallest == {"first": 24}
    assert shop.quadrant.largest == {"first": Fraction(120)}
    assert shop.quadrant.obstacles == (Obstacle(Fraction(80), Fraction(-20), Fraction(15)),)


def test_every_key_of_a_full_file_arrives_in_its_field():
    shop = read_shop(BASE, "test")
    assert shop.source == "test"
    assert shop.machine.kind == "mill"
    assert shop.machine.screw_lead_mm == 6
    assert shop.machine.screw_accuracy == Fraction(1, 10_000)
    assert shop.machine.backlash_mm == Fraction(1, 10)
    assert shop.machine.routes[0].step_up_warning == 4
    (gears,) = shop.gears
    assert gears.teeth == (20, 24, 24, 127)
    assert (gears.kind.module_mm, gears.kind.pressure_angle_deg) == (Fraction(3, 2), 20)
    assert (gears.kind.tag, gears.kind.label) == ("", "module 1.5 mm, 20°")
    quadrant = shop.quadrant
    assert quadrant.shaft_distance_mm == (150, 150)
    assert (quadrant.pivot, quadrant.bracket.layout, quadrant.bracket.studs, quadrant.planes) == ("first", "slot", 2, 2)
    assert (quadrant.bracket.reach_mm, quadrant.swing_deg) == ((40, 190), (-75, 75))
    assert quadrant.nut_radius_mm == {"first": 12, "last": 12, "stud": 10}
    assert quadrant.clearance_mm == Fraction(1, 2)
    assert (shop.dividing.ratio, shop.dividing.plates) == (60, ((15, 16, 17),))


@pytest.mark.parametrize(
    ("old", "new", "value"),
    [
        ('"6 mm"', '"4 tpi"', Fraction(127, 20)),
        ('"6 mm"', '"1/4 in"', Fraction(127, 20)),
        ('"6 mm"', "6", 6),
        ('"6 mm"', "6.35", Fraction(127, 20)),
    ],
)
def test_a_screw_may_be_told_in_any_unit(old, new, value):
    assert read_shop(edited(old, new), "test").machine.screw_lead_mm == value


def test_a_bare_number_has_the_unit_of_the_shop():
    shop = read_shop(edited('units = "mm"', 'units = "in"', '"6 mm"', "0.25", '"150 mm"', "6"), "test")
    assert shop.machine.screw_lead_mm == Fraction(127, 20)
    assert shop.quadrant.shaft_distance_mm == (Fraction(762, 5), Fraction(762, 5))


@pytest.mark.parametrize(
    ("given", "value"),
    [
        ('"0.03 mm over 300 mm"', Fraction(1, 10_000)),
        ('"0.001 in over 10 in"', Fraction(1, 10_000)),
        ('"0.001 in over 254 mm"', Fraction(1, 10_000)),
        ('"100 ppm"', Fraction(1, 10_000)),
        ('"0.01 %"', Fraction(1, 10_000)),
        ('"1 in 100"', None),
        ('"0 ppm"', None),
        ('"2 %"', None),
        ('"0.03 mm over 0 mm"', None),
        ('"over"', None),
        ("0.0001", None),
        ('"1e-4"', None),
    ],
)
def test_a_screws_accuracy_is_an_error_over_a_travel_or_a_part(given, value):
    text = edited('"0.03 mm over 300 mm"', given)
    if value is not None:
        assert read_shop(text, "test").machine.screw_accuracy == value
    else:
        (problem,) = problems(text)
        assert problem.startswith("[machine], screw_accuracy: ")
        assert problem.endswith(
            "; allowed: the screw's error, above 0 and at most 1 in 100, as in "
            'screw_accuracy = "0.03 mm over 300 mm" or "100 ppm"; leave it out if not measured'
        )


def test_what_may_be_left_out_may_be_left_out():
    text = BASE[: BASE.index("[quadrant]")]
    for line in (
        'screw_accuracy = "0.03 mm over 300 mm"',
        'backlash = "0.1 mm"',
        'hand_with_one_stud = "right"',
        "step_up_warning = 4",
        "pressure_angle = 20",
    ):
        text = text.replace(line + "\n", "")
    shop = read_shop(text, "test")
    route = shop.machine.routes[0]
    assert (shop.quadrant, shop.dividing) == (None, None)
    assert (shop.machine.screw_accuracy, shop.machine.backlash_mm) == (None, None)
    assert (route.hand_with_one_stud, route.step_up_warning) == (None, None)
    assert shop.gears[0].kind.pressure_angle_deg == 20


def test_a_quadrant_may_leave_out_planes_clearance_and_obstacles():
    quadrant = read_shop(edited('clearance = "0.5 mm"\n', "", "planes = 2\n", ""), "test").quadrant
    assert (quadrant.planes, quadrant.clearance_mm, quadrant.obstacles) == (2, Fraction(1, 2), ())


def test_a_quadrant_of_limits_alone_has_no_geometry():
    text = BASE[: BASE.index("shaft_distance")] + 'smallest = { first = 22 }\nlargest = { last = "5 in" }\n'
    quadrant = read_shop(text, "test").quadrant
    assert quadrant.shaft_distance_mm is None
    assert quadrant.smallest == {"first": 22}
    assert quadrant.largest == {"last": 127}
    assert isinstance(quadrant.largest["last"], Fraction)
    assert isinstance(quadrant.smallest["first"], int)


def test_a_head_that_can_be_moved_has_two_shaft_distances():
    quadrant = read_shop(edited('"150 mm"', '["140 mm", "6 in"]'), "test").quadrant
    assert quadrant.shaft_distance_mm == (140, Fraction(762, 5))


def test_kinds_of_tooth_are_tagged_where_there_are_several():
    more = "[[gears]]\ndiametral_pitch = 20\npressure_angle = 14.5\nteeth = [20, 30]\n"
    shop = read_shop(edited("[quadrant]", SECOND + more + "[quadrant]"), "test")
    assert [gears.kind.tag for gears in shop.gears] == ["m1.5", "m1", "dp20"]
    assert [gears.kind.label for gears in shop.gears] == [
        "module 1.5 mm, 20°",
        "module 1 mm, 20°",
        "diametral pitch 20, 14.5°",
    ]
    assert shop.gears[2].kind.module_mm == Fraction(127, 100)


def test_kinds_that_share_a_module_carry_the_pressure_angle_in_their_tags():
    more = '[[gears]]\nmodule = "1.5 mm"\npressure_angle = 14.5\nteeth = [20, 30]\n'
    shop = read_shop(edited("[quadrant]", SECOND + more + "[quadrant]"), "test")
    assert [gears.kind.tag for gears in shop.gears] == ["m1.5a20", "m1", "m1.5a14.5"]


def test_plates_keep_their_sides():
    shop = read_shop(edited("circles = [15, 16, 17]", "plates = [[20, 15], [21, 20]]"), "test")
    assert shop.dividing.plates == ((15, 20), (20, 21))
    assert shop.dividing.circles == (15, 20, 21)


def test_a_byte_order_mark_and_windows_line_ends_do_no_harm(tmp_path):
    file = tmp_path / "windows.toml"
    file.write_bytes(b"\xef\xbb\xbf" + BASE.replace("\n", "\r\n").encode())
    assert load_shop(str(file)) == read_shop("\ufeff" + BASE, str(file))


def test_a_shop_file_may_be_named_by_a_path(tmp_path):
    file = tmp_path / "shop.toml"
    file.write_text(BASE, encoding="utf-8")
    assert load_shop(file) == load_shop(str(file))
    assert load_shop(file).source == str(file)
    with refused("no-shop-file", "no.toml"):
        load_shop(tmp_path / "no.toml")


# -------------------------------------------------------------------------------- every mistake, one by one


MISSING = [
    ('name = "Millrace workshop"', "name"),
    ('units = "mm"', "units"),
    ('kind = "mill"', "[machine], kind"),
    ('screw_lead = "6 mm"', "[machine], screw_lead"),
    ('name = "worm"', "[[machine.route]] no. 1, name"),
    ('module = "1.5 mm"', "[[gears]] no. 1, module"),
    ("teeth = [24, 20, 24, 127]", "[[gears]] no. 1, teeth"),
    ('shaft_distance = "150 mm"', "[quadrant], shaft_distance"),
    ('pivot = "first"', "[quadrant], pivot"),
    ('layout = "slot"', "[quadrant], layout"),
    ("studs = 2", "[quadrant], studs"),
    ('reach = ["40 mm", "190 mm"]', "[quadrant], reach"),
    ("swing = [-75, 75]", "[quadrant], swing"),
    ('nut_radius = { first = "12 mm", last = "12 mm", stud = "10 mm" }', "[quadrant], nut_radius"),
    ("circles = [15, 16, 17]", "[dividing], circles"),
]


@pytest.mark.parametrize(("line", "place"), MISSING)
def test_a_line_that_is_missing_is_named(line, place):
    (problem,) = problems(without(line))
    assert tells(problem, place)


def test_a_missing_ratio_is_named_in_its_own_table():
    for line, place in (
        ("ratio = 60\nhand", "[[machine.route]] no. 1, ratio"),
        ("ratio = 60\ncircles", "[dividing], ratio"),
    ):
        (problem,) = problems(edited(line, line.removeprefix("ratio = 60\n")))
        assert tells(problem, place)


def every_key():
    """Every key of the base file with the table it stands in."""
    place = ""
    for line in BASE.splitlines():
        if line.startswith("["):
            place = line if not line.startswith("[[") else f"{line} no. 1"
        else:
            yield place, line.split(" = ")[0]


@pytest.mark.parametrize(("place", "key"), list(every_key()))
def test_a_misspelt_key_is_named_once_with_the_nearest_spelling(place, key):
    """Never a silent default: one mistake, and the key that was meant is not called missing as well."""
    wrong = key[:-2] + key[-1] + "x" if len(key) > 4 else key + "x"
    at = BASE.index(place.removesuffix(" no. 1"))
    text = BASE[:at] + BASE[at:].replace(f"\n{key} =" if at else f"{key} =", f"\n{wrong} =" if at else f"{wrong} =", 1)
    found = [problem for problem in problems(text) if "nearest" not in problem]
    named = ", ".join(part for part in (place, wrong) if part)
    assert f"{named}: there is no such key; did you mean {key}?" in found
    assert not any(f"{key}: missing" in problem for problem in found)


@pytest.mark.parametrize(
    ("old", "new", "place", "fact"),
    [
        ("[machine]\n", "[machin]\n", "[machin]", "[machine]"),
        ("[quadrant]", "[quadrent]", "[quadrent]", "[quadrant]"),
        ("[dividing]", "[Dividing]", "[Dividing]", "[dividing]"),
        ("[[gears]]", "[[gear]]", "[gear]", "[gears]"),
        ("[[gears]]", "[gears]", "[gears]", "[[gears]]"),
        ("[quadrant]", "[hovercraft]", "[hovercraft]", ""),
        ("[[machine.route]]", "[[route]]", "[route]", "[machine]"),
        ("[quadrant]", "[[quadrant]]", "[[quadrant]]", "[quadrant]"),
        ("planes = 2", "planes = 2\nunits = 'mm'", "[quadrant], units", "top of the file"),
        ("kind =", "studs = 2\nkind =", "[machine], studs", "[quadrant]"),
        ("kind =", "colour = 2\nkind =", "[machine], colour", ""),
        (', stud = "10', ', stub = "10', "[quadrant], nut_radius, stub", "stud"),
    ],
)
def test_a_table_or_key_out_of_place_is_told_where_it_belongs(old, new, place, fact):
    text = BASE.replace("machine.route", "machin.route") if "machin]" in new else BASE
    assert text.count(old) == 1, old
    assert any(tells(problem, place, fact) for problem in problems(text.replace(old, new)))


VALUES = [
    ('"Millrace workshop"', '""', "name", '""'),
    ('"Millrace workshop"', "7", "name", "7"),
    ('"Millrace workshop"', '"a\\nb"', "name", '"a?b"'),
    ('units = "mm"', 'units = "cm"', "units", '"cm"'),
    ('units = "mm"', "units = 1", "units", "1"),
    ('"mill"', '"mil"', "[machine], kind", '"mil"'),
    ('"mill"', '["mill"]', "[machine], kind", ""),
    ('"6 mm"', "0", "[machine], screw_lead", "0"),
    ('"6 mm"', "-6", "[machine], screw_lead", "-6"),
    ('"6 mm"', '"600 mm"', "[machine], screw_lead", '"600 mm"'),
    ('"6 mm"', "true", "[machine], screw_lead", "true"),
    ('"6 mm"', "nan", "[machine], screw_lead", "NaN"),
    ('"6 mm"', "inf", "[machine], screw_lead", "Infinity"),
    ('"6 mm"', "1e999999999", "[machine], screw_lead", "1E+999999999"),
    ('"6 mm"', "1e-999999999", "[machine], screw_lead", "1E-999999999"),
    ('"6 mm"', "0x" + "f" * 6000, "[machine], screw_lead", ""),
    ('"6 mm"', "[6]", "[machine], screw_lead", ""),
    ('"6 mm"', "2020-01-01", "[machine], screw_lead", "2020"),
    ('backlash = "0.1 mm"', "backlash = -0.1", "[machine], backlash", "-0.1"),
    ("ratio = 60\nhand", "ratio = 0\nhand", "[[machine.route]] no. 1, ratio", "0"),
    ("ratio = 60\nhand", "ratio = -60\nhand", "[[machine.route]] no. 1, ratio", "-60"),
    ("ratio = 60\nhand", "ratio = 1_000_000\nhand", "[[machine.route]] no. 1, ratio", "1000000"),
    ("ratio = 60\nhand", "ratio = false\nhand", "[[machine.route]] no. 1, ratio", "false"),
    ('"right"', '"up"', "[[machine.route]] no. 1, hand_with_one_stud", '"up"'),
    ('"right"', '"Right"', "[[machine.route]] no. 1, hand_with_one_stud", '"Right"'),
    ("step_up_warning = 4", "step_up_warning = 0.5", "[[machine.route]] no. 1, step_up_warning", "0.5"),
    ('"1.5 mm"', '"0 mm"', "[[gears]] no. 1, module", '"0 mm"'),
    ('"1.5 mm"', '"1500 mm"', "[[gears]] no. 1, module", '"1500 mm"'),
    ('module = "1.5 mm"', "diametral_pitch = 0", "[[gears]] no. 1, diametral_pitch", "0"),
    ('module = "1.5 mm"', 'module = "1.5 mm"\ndiametral_pitch = 20', "[[gears]] no. 1, diametral_pitch", ""),
    ("pressure_angle = 20", "pressure_angle = 90", "[[gears]] no. 1, pressure_angle", "90"),
    ("127]", "3]", "[[gears]] no. 1, teeth no. 4", "3"),
    ("127]", "0]", "[[gears]] no. 1, teeth no. 4", "0"),
    ("127]", "-24]", "[[gears]] no. 1, teeth no. 4", "-24"),
    ("127]", "2001]", "[[gears]] no. 1, teeth no. 4", "2001"),
    ("127]", "24.5]", "[[gears]] no. 1, teeth no. 4", "24.5"),
    ("127]", "true]", "[[gears]] no. 1, teeth no. 4", "true"),
    ("127]", '"24"]', "[[gears]] no. 1, teeth no. 4", '"24"'),
    ("127]", "0x" + "f" * 6000 + "]", "[[gears]] no. 1, teeth no. 4", ""),
    ("teeth = [24, 20, 24, 127]", "teeth = 24", "[[gears]] no. 1, teeth", "24"),
    ("127]", "127]\njoined = [[60, 30, 20]]", "[[gears]] no. 1, joined no. 1", "a list of 3"),
    ("127]", "127]\njoined = [60, 30]", "[[gears]] no. 1, joined no. 1", "60"),
    ("127]", "127]\njoined = [[60, 3]]", "[[gears]] no. 1, joined no. 1", "3"),
    ("127]", "127]\njoined = []", "[[gears]] no. 1, joined", ""),
    ("127]", "127]\nfixed = { stud = 40 }", "[[gears]] no. 1, fixed, stud", ""),
    ("127]", "127]\nfixed = { first = 1 }", "[[gears]] no. 1, fixed, first", "1"),
    ("127]", "127]\nfixed = 40", "[[gears]] no. 1, fixed", "40"),
    ("127]", '127]\nonly_on = { 128 = ["first"] }', "[[gears]] no. 1, only_on, 128", ""),
    ("127]", '127]\nonly_on = { 127 = ["frist"] }', "[[gears]] no. 1, only_on, 127 no. 1", '"frist"'),
    ("127]", "127]\nonly_on = { 127 = [] }", "[[gears]] no. 1, only_on, 127", ""),
    ("127]", "127]\nonly_on = 127", "[[gears]] no. 1, only_on", "127"),
    (
        "127]",
        '127]\nfixed = { first = 40 }\nonly_on = { 40 = ["last"] }',
        "[[gears]] no. 1, only_on, 40 no. 1",
        '"last"',
    ),
    ('"150 mm"', "0", "[quadrant], shaft_distance", "0"),
    ('"150 mm"', "-150", "[quadrant], shaft_distance", "-150"),
    ('"150 mm"', '"150 m"', "[quadrant], shaft_distance", '"150 m"'),
    ('"150 mm"', '["170 mm", "140 mm"]', "[quadrant], shaft_distance", '"170 mm"'),
    ('"150 mm"', '["170 mm"]', "[quadrant], shaft_distance", "a list of 1"),
    ('pivot = "first"', 'pivot = "stud"', "[quadrant], pivot", '"stud"'),
    ('"slot"', '"slots"', "[quadrant], layout", '"slots"'),
    ("studs = 2", "studs = 0", "[quadrant], studs", "0"),
    ("studs = 2", "studs = 4", "[quadrant], studs", "4"),
    ('layout = "slot"\nstuds = 2', 'layout = "plate"\nstuds = 3', "[quadrant], studs", "3"),
    ('["40 mm", "190 mm"]', '["190 mm", "40 mm"]', "[quadrant], reach", '"190 mm"'),
    ('["40 mm", "190 mm"]', '["-40 mm", "190 mm"]', "[quadrant], reach", '"-40 mm"'),
    ('["40 mm", "190 mm"]', '"190 mm"', "[quadrant], reach", '"190 mm"'),
    ("[-75, 75]", "[-75, 181]", "[quadrant], swing", "181"),
    ("[-75, 75]", "[-181, 75]", "[quadrant], swing", "-181"),
    ("[-75, 75]", "[75, -75]", "[quadrant], swing", "75"),
    ("planes = 2", "planes = 4", "[quadrant], planes", "4"),
    ("planes = 2", "planes = 1", "[quadrant], planes", "1"),
    ('first = "12 mm"', 'first = "-12 mm"', "[quadrant], nut_radius, first", '"-12 mm"'),
    ('first = "12 mm"', "first = 0", "[quadrant], nut_radius, first", "0"),
    (', stud = "10 mm"', "", "[quadrant], nut_radius, stud", ""),
    ('{ first = "12 mm", last = "12 mm", stud = "10 mm" }', '"12 mm"', "[quadrant], nut_radius", '"12 mm"'),
    ('"0.5 mm"', '"-1 mm"', "[quadrant], clearance", '"-1 mm"'),
    ("planes = 2", "smallest = { first = 2.5 }", "[quadrant], smallest, first", "2.5"),
    ("planes = 2", 'smallest = { first = "24" }', "[quadrant], smallest, first", '"24"'),
    ("planes = 2", "smallest = { first = true }", "[quadrant], smallest, first", "true"),
    ("planes = 2", "smallest = { first = 3 }", "[quadrant], smallest, first", "3"),
    ("planes = 2", "smallest = { first = 30 }\nlargest = { first = 24 }", "[quadrant], smallest, first", "30"),
    ("planes = 2", "smallest = 30", "[quadrant], smallest", "30"),
    ("planes = 2", "obstacles = 3", "[quadrant], obstacles", "3"),
    ("planes = 2", "obstacles = [3]", "[quadrant], obstacles no. 1", "3"),
    ("planes = 2", 'obstacles = [{ at = ["80 mm", "-20 mm"] }]', "[quadrant], obstacles no. 1, radius", ""),
    (
        "planes = 2",
        'obstacles = [{ at = ["80 mm"], radius = "-15 mm" }]',
        "[quadrant], obstacles no. 1, at",
        "a list of 1",
    ),
    ("circles = [15, 16, 17]", "circles = [1]", "[dividing], circles no. 1", "1"),
    ("circles = [15, 16, 17]", "circles = [15.5]", "[dividing], circles no. 1", "15.5"),
    ("circles = [15, 16, 17]", "circles = [15, 15]", "[dividing], circles", ""),
    ("circles = [15, 16, 17]", "plates = [[15], [16, 16]]", "[dividing], plates no. 2", ""),
    ("circles = [15, 16, 17]", "plates = [15, 16]", "[dividing], plates no. 1", "15"),
    ("circles = [15, 16, 17]", "plates = 15", "[dividing], plates", "15"),
    ("circles = [15, 16, 17]", "circles = [15]\nplates = [[15]]", "[dividing], plates", ""),
    ("ratio = 60\ncircles", "ratio = 0\ncircles", "[dividing], ratio", "0"),
]


@pytest.mark.parametrize(("old", "new", "place", "fact"), VALUES)
def test_a_value_that_will_not_do_is_named_with_what_would(old, new, place, fact):
    assert any(tells(problem, place, fact) for problem in problems(edited(old, new)))


@pytest.mark.parametrize(
    ("old", "new", "place"),
    [
        ('"6 mm"', '"6 parsecs"', "[machine], screw_lead: "),
        ('"6 mm"', '"60 deg"', "[machine], screw_lead: "),
        ('"1.5 mm"', '"13 tpi"', "[[gears]] no. 1, module: "),
        ('"150 mm"', '"wide"', "[quadrant], shaft_distance: "),
        ("[-75, 75]", '["-75 mm", "75 mm"]', "[quadrant], swing: "),
        ("ratio = 60\nhand", 'ratio = "60 mm"\nhand', "[[machine.route]] no. 1, ratio: "),
        ("pressure_angle = 20", 'pressure_angle = "20 mm"', "[[gears]] no. 1, pressure_angle: "),
        ('"6 mm"', '"1e999999999 mm"', "[machine], screw_lead: "),
        ('"6 mm"', '"1/0 in"', "[machine], screw_lead: "),
        ('"6 mm"', '"nan mm"', "[machine], screw_lead: "),
    ],
)
def test_a_wrong_unit_is_one_mistake_that_names_its_place(old, new, place):
    (problem,) = problems(edited(old, new))
    assert problem.startswith(place)
    assert "; allowed: " in problem


def test_all_mistakes_are_told_at_once_and_counted():
    text = edited("studs = 2", "stud = 2", "127]", "3]", '"mill"', '"mil"', "ratio = 60\nhand", "ratio = 0\nhand")
    with pytest.raises(ShopError) as caught:
        read_shop(text, "mine.toml")
    found = caught.value.problems
    assert str(caught.value).splitlines() == ["mine.toml: 4 mistakes", *(f"  {problem}" for problem in found)]
    places = ("[machine], kind", "[[machine.route]] no. 1, ratio", "[[gears]] no. 1, teeth no. 4", "[quadrant], stud")
    assert all(map(tells, found, places, ('"mil"', "0", "3", "studs")))


def test_an_empty_file_lists_what_must_be_there():
    assert all(map(tells, problems(""), ("name", "units", "[machine]", "[[gears]]")))


# ---------------------------------------------------------------------- what contradicts itself across keys


@pytest.mark.parametrize(
    ("old", "new", "place", "fact"),
    [
        ("[24, 20, 24, 127]", "[24]", "[[gears]]", "at least two"),
        (
            "teeth = [24, 20, 24, 127]\n",
            'teeth = [24]\n[[gears]]\nmodule = "2 mm"\npressure_angle = 20\nteeth = [24]\n',
            "[[gears]]",
            "at least two",
        ),
        ("[24, 20, 24, 127]", "[" + "24, " * 2001 + "]", "[[gears]]", "2001"),
        ("[quadrant]", SECOND.replace('"1 mm"', '"1.5 mm"') + "[quadrant]", "[[gears]] no. 2", "no. 1"),
        (
            "[quadrant]",
            SECOND.replace('module = "1 mm"', "diametral_pitch = 16.9333333333") + "[quadrant]",
            "[[gears]] no. 2",
            "no. 1",
        ),
        (
            "[quadrant]",
            SECOND.replace("pressure_angle = 20\n", "") + "[quadrant]",
            "[[gears]] no. 2, pressure_angle",
            "",
        ),
        (
            "127]",
            "127]\nfixed = { first = 40 }\n" + SECOND + "fixed = { first = 50 }",
            "[[gears]] no. 2, fixed",
            "first = 50",
        ),
        (
            "127]",
            "127]\n" + SECOND.replace("teeth = [30, 40]", "fixed = { last = 50 }"),
            "[[gears]] no. 2, fixed",
            "the 50",
        ),
        (
            'name = "worm"',
            'name = "worm"\nratio = 1\n[[machine.route]]\nname = "worm"',
            "[[machine.route]] no. 2, name",
            '"worm"',
        ),
        ('"150 mm"', '"24 mm"', "[quadrant], shaft_distance", '"24 mm"'),
        ('"150 mm"', '["20 mm", "150 mm"]', "[quadrant], shaft_distance", '"20 mm"'),
        ('["40 mm", "190 mm"]', '["5 mm", "12 mm"]', "[quadrant], reach", "first shaft"),
        (
            "planes = 2",
            'obstacles = [{ at = ["5 mm", "0 mm"], radius = "1 mm" }]',
            "[quadrant], obstacles no. 1",
            "first shaft",
        ),
        (
            "planes = 2",
            'obstacles = [{ at = ["150 mm", "20 mm"], radius = "15 mm" }]',
            "[quadrant], obstacles no. 1",
            "last shaft",
        ),
        ('"150 mm"', '"150 mm"\nsmallest = { first = 128 }', "[quadrant] and only_on", "first shaft"),
        ('"150 mm"', '"150 mm"\nlargest = { last = "30 mm" }', "[quadrant] and only_on", "last shaft"),
    ],
)
def test_a_contradiction_is_the_one_mistake_that_is_named(old, new, place, fact):
    (problem,) = problems(edited(old, new))
    assert tells(problem, place, fact)


def test_a_fixed_gear_that_its_shaft_does_not_take_is_named():
    text = edited("127]", "127]\nfixed = { first = 40 }", "planes = 2", "smallest = { first = 50 }")
    (problem,) = problems(text)
    assert tells(problem, "[quadrant] and only_on", "40")


def test_an_obstacle_beside_a_shaft_that_can_be_moved_away_is_allowed():
    text = edited("planes = 2", 'obstacles = [{ at = ["150 mm", "0 mm"], radius = "5 mm" }]',
                  'distance = "150 mm"', 'distance = ["150 mm", "180 mm"]')  # fmt: skip
    assert len(read_shop(text, "test").quadrant.obstacles) == 1


def test_gears_fixed_on_both_shafts_of_two_kinds_can_work():
    more = SECOND + "fixed = { last = 50 }\n"
    shop = read_shop(edited("127]", "127]\nfixed = { first = 40 }\n" + more), "test")
    assert [gears.fixed for gears in shop.gears] == [{"first": 40}, {"last": 50}]


BEYOND = 'obstacles = [{ at = ["150 mm", "60 mm"], radius = "15 mm" }, { at = ["-150 mm", "0 mm"], radius = "15 mm" }]'
TOUCHING = 'obstacles = [{ at = ["150 mm", "27 mm"], radius = "15 mm" }]'


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("127]", "4]"),
        ("127]", "2000]"),
        ("[24, 20, 24, 127]", "[24, 20]"),
        ("[24, 20, 24, 127]", "[" + "24, " * 2000 + "]"),
        ("[-75, 75]", "[-180, 180]"),
        ("[-75, 75]", "[0, 0]"),
        ('["40 mm", "190 mm"]', '["0 mm", "190 mm"]'),
        ('["40 mm", "190 mm"]', '["90 mm", "90 mm"]'),
        ('"150 mm"', '"24.001 mm"'),
        ('"0.5 mm"', "0"),
        ('backlash = "0.1 mm"', 'backlash = "0 mm"'),
        ("planes = 2", "smallest = { first = 24 }\nlargest = { first = 24 }"),
        ("planes = 2", BEYOND),
        ("planes = 2", TOUCHING),
        ("planes = 2", "planes = 3"),
        ('"Millrace workshop"', '"' + "x" * 60 + '"'),
    ],
)
def test_the_bounds_themselves_are_allowed(old, new):
    assert isinstance(read_shop(edited(old, new), "test"), Shop)


@pytest.mark.parametrize("key", ["smallest", "largest"])
def test_a_quadrant_may_have_one_limit_alone(key):
    text = BASE[: BASE.index("shaft_distance")] + f"{key} = {{ stud = 25 }}\n"
    assert getattr(read_shop(text, "test").quadrant, key) == {"stud": 25}


def test_an_empty_quadrant_is_told_to_be_filled_or_left_out():
    (problem,) = problems(BASE[: BASE.index("shaft_distance")])
    assert tells(problem, "[quadrant]")


def test_geometry_without_a_shaft_distance_is_not_half_used():
    found = problems(BASE[: BASE.index("shaft_distance")] + "studs = 2\n")
    assert any(tells(problem, "[quadrant], shaft_distance") for problem in found)


def test_a_long_value_is_cut_short_in_the_message():
    long, short = "x" * 61, "x" * 37 + "…"
    (value,) = problems(edited('"Millrace workshop"', f'"{long}"'))
    (key,) = problems(edited("planes = 2", f"{long} = 2"))
    assert tells(value, "name", f'"{short}"')
    assert tells(key, f"[quadrant], {short}")


@pytest.mark.parametrize("count", ["x", "１２７", "-24", "24.0", "0127"])
def test_only_on_takes_nothing_but_counts_of_gears_that_are_there(count):
    text = edited("127]", f'127]\nonly_on = {{ "{count}" = ["first"] }}')
    (problem,) = problems(text)
    assert tells(problem, f"[[gears]] no. 1, only_on, {count}", "20, 24, 127")


# -------------------------------------------------------------------------------------- text that is no TOML


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("name = \n", "not TOML: Invalid value (at line 1, column 8): name ="
         "\n    help: a key, an equals sign, a value; words and values with a unit stand in quotes"),
        ("units = 'mm'\nscrew_lead = 6 mm\n", "not TOML: Expected newline or end of document after a statement "
         '(at line 2, column 16): screw_lead = 6 mm\n    help: a value with a unit stands in quotes, as in "6 mm"'),
        ("a = 1,5\n", "not TOML: Expected newline or end of document after a statement (at line 1, column 6): a = 1,5"
         "\n    help: write a decimal point, not a comma"),
        ("name = “Mill”\n", "not TOML: Invalid value (at line 1, column 8): name = “Mill”"
         '\n    help: use the straight quotes ", not curly ones'),
        ("a = 1\na = 2\n", "not TOML: Cannot overwrite a value (at line 2, column 6): a = 2"
         "\n    help: the same key or table stands twice; take one of them out"),
        ("[machine]\n[machine]\n", "not TOML: Cannot declare [machine] twice (at line 2, column 9): [machine]"
         "\n    help: the same key or table stands twice; take one of them out"),
        ("a = " + "[" * 100_000, "brackets are nested too deeply to be read; close each list before the next begins"),
        ("a = [1", "not TOML: Unclosed array (at end of document)"
         "\n    help: something is opened and not closed: a quote, a bracket or a brace"),
    ],
)  # fmt: skip
def test_a_text_that_is_no_toml_is_shown_where_it_breaks(text, message):
    assert problems(text) == [message]


def test_a_number_of_thousands_of_digits_is_refused():
    assert problems("a = " + "9" * 5000) == ["a number has thousands of digits; give at most 30"]


values = st.recursive(
    st.one_of(
        st.booleans(), st.integers(), st.floats(), st.text(max_size=8), st.sampled_from(["6 mm", "first", "slot", "mm"])
    ),
    lambda inner: st.one_of(st.lists(inner, max_size=3), st.dictionaries(st.sampled_from("ab"), inner, max_size=2)),
    max_leaves=4,
)


def toml(value):
    """A value written as TOML; the inverse of reading it."""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, str):
        return '"' + "".join(f"\\U{ord(c):08x}" if not "\ud800" <= c <= "\udfff" else "?" for c in value) + '"'
    if isinstance(value, list):
        return "[" + ", ".join(map(toml, value)) + "]"
    if isinstance(value, dict):
        return "{" + ", ".join(f"{key} = {toml(inner)}" for key, inner in value.items()) + "}"
    return str(value)


@given(st.integers(0, BASE.count(" = ") - 1), values)
@settings(max_examples=300, deadline=None)
def test_no_value_whatever_gives_anything_but_a_shop_or_a_list_of_mistakes(number, value):
    lines = BASE.splitlines()
    keyed = [n for n, line in enumerate(lines) if " = " in line]
    line = keyed[number % len(keyed)]
    lines[line] = f"{lines[line].split(' = ')[0]} = {toml(value)}"
    text = "\n".join(lines)
    tomllib.loads(text)
    try:
        assert isinstance(read_shop(text, "test"), Shop)
    except ShopError as error:
        told = error.problems
    else:
        return
    assert told
    assert all("\n" not in problem for problem in told)


@given(st.text(max_size=60))
@settings(max_examples=200, deadline=None)
def test_no_text_whatever_gives_anything_but_a_list_of_mistakes(text):
    with pytest.raises(ShopError):
        read_shop(text, "test")


# ------------------------------------------------------------------------------------------ finding the file


def test_the_shop_is_looked_for_in_the_documented_order(monkeypatch):
    for name in ("argument", "variable", "shop"):
        Path(f"{name}.toml").write_text(BASE.replace("Millrace workshop", name), encoding="utf-8")
    monkeypatch.setenv("GEARSEARCH_SHOP", "variable.toml")
    assert load_shop("argument.toml").name == "argument"
    assert load_shop().name == "variable"
    monkeypatch.setenv("GEARSEARCH_SHOP", "")
    assert (load_shop().name, load_shop().source) == ("shop", "shop.toml")
    Path("shop.toml").unlink()
    assert load_shop().is_demo


def refusal(path=None):
    """What is said of a file that cannot be read."""
    with pytest.raises(GearsearchError) as caught:
        load_shop(path)
    return str(caught.value)


def test_a_file_that_is_not_there_is_said_to_be_missing(monkeypatch):
    expected = "there is no shop file 'none.toml'{}\nhelp: write one to fill in with: gearsearch shop new FILE"
    assert refusal("none.toml") == expected.format("")
    monkeypatch.setenv("GEARSEARCH_SHOP", "none.toml")
    assert refusal() == expected.format(" (named by $GEARSEARCH_SHOP)")


def test_a_shop_toml_that_leads_nowhere_is_not_passed_over():
    Path("shop.toml").symlink_to("none.toml")
    assert refusal().startswith("there is no shop file 'shop.toml'")


def test_a_folder_is_said_to_be_a_folder():
    Path("mill").mkdir()
    assert refusal("mill") == "mill is a folder\nhelp: name the shop file in it, as in mill/shop.toml"
    assert refusal("") == "the name of the shop file is empty\nhelp: name a file after --shop, or leave --shop out"


def test_a_file_that_may_not_be_read_is_said_so():
    assert refusal("nul\0.toml") == (
        "the shop file 'nul\\x00.toml' cannot be read: embedded null byte\nhelp: name a file you may read"
    )
    assert refusal("x" * 5000).endswith("cannot be read: file name too long\nhelp: name a file you may read")


def test_a_file_that_the_system_withholds_is_said_so(monkeypatch):
    def refuse(*_):
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "open", refuse)
    assert refusal("locked.toml") == (
        "the shop file 'locked.toml' cannot be read: permission denied\nhelp: name a file you may read"
    )


def test_text_that_is_not_utf_8_names_the_byte():
    Path("latin.toml").write_bytes(b"units = 'mm'\nname = 'M\xfchle'\n")
    assert refusal("latin.toml") == (
        "latin.toml is not UTF-8 text: byte 23, in line 2, is 0xfc\n"
        "help: save it again in your editor with the encoding UTF-8"
    )
    Path("wide.toml").write_bytes(BASE.encode("utf-16"))
    assert "byte 1, in line 1, is 0xff; it looks like UTF-16" in refusal("wide.toml")


def test_a_huge_file_is_refused_unread():
    Path("huge.toml").write_bytes(b"#" * 1_000_001)
    assert refusal("huge.toml") == (
        "huge.toml is larger than 1000000 bytes: not a shop file\nhelp: name the shop file itself"
    )
    Path("full.toml").write_bytes(BASE.encode() + b"#" * (1_000_000 - len(BASE)))
    assert load_shop("full.toml").name == "Millrace workshop"


def test_mistakes_in_a_file_are_told_with_its_name(monkeypatch):
    Path("mine.toml").write_text(without("studs = 2"), encoding="utf-8")
    monkeypatch.setenv("GEARSEARCH_SHOP", "mine.toml")
    assert refusal().startswith("mine.toml: 1 mistake\n  [quadrant], studs: ")


def test_a_shop_has_no_more_obstacles_than_are_judged():
    one = '{ at = ["80 mm", "-90 mm"], radius = "5 mm" }'
    read = edited("planes = 2", f"obstacles = [{', '.join([one] * MOST_OBSTACLES)}]")
    assert len(read_shop(read, "test").quadrant.obstacles) == MOST_OBSTACLES
    with pytest.raises(ShopError) as caught:
        read_shop(edited("planes = 2", f"obstacles = [{', '.join([one] * (MOST_OBSTACLES + 1))}]"), "test")
    assert caught.value.problems == (
        "[quadrant], obstacles: 17 of them; allowed: at most 16, so draw one circle round several",
    )


def test_a_shop_has_no_more_kinds_of_joined_pieces_than_are_judged():
    """A piece that is there twice, either way round, is of one kind; the same counts in another table are not."""

    def read(first, second):
        lists = (str([[20, 21 + at] for at in range(first)] + [[21, 20]]), str([[20, 21 + at] for at in range(second)]))
        one, two = (
            f"teeth = {teeth}\njoined = {joined}"
            for teeth, joined in zip(("[24, 127]", "[30, 40]"), lists, strict=True)
        )
        return read_shop(edited("teeth = [24, 20, 24, 127]", one) + SECOND.replace("teeth = [30, 40]", two), "test")

    assert len(read(10, MOST_PIECES - 10).gears[0].joined) == 11
    with pytest.raises(ShopError) as caught:
        read(10, MOST_PIECES - 9)
    assert caught.value.problems == ("[[gears]]: 17 kinds of joined pieces in all; allowed: at most 16",)


LATHE = edited('kind = "mill"', 'kind = "lathe"').replace(
    "[[machine.route]]", "[machine.dial]\nLINES\n[[machine.route]]", 1
)


@pytest.mark.parametrize(
    ("lines", "dial"),
    [
        ("teeth = 32\nmarks = 8", Dial(32, 8)),
        ("teeth = 16\nmarks = 4\nscrew_starts = 2", Dial(16, 4, 2)),
        ("teeth = [14, 15, 16]\nmarks = 4", Dial((14, 15, 16), 4)),
    ],
)
def test_a_lathe_may_have_a_chasing_dial(lines, dial):
    assert read_shop(LATHE.replace("LINES", lines), "test").machine.dial == dial
    assert read_shop(LATHE.replace("[machine.dial]\nLINES\n", ""), "test").machine.dial is None


def test_a_dial_on_a_mill_is_named():
    with pytest.raises(ShopError) as caught:
        read_shop(LATHE.replace('"lathe"', '"mill"').replace("LINES", "teeth = 32\nmarks = 8"), "test")
    assert caught.value.problems == (
        '[machine], dial: a mill has no chasing dial; take the table out, or write kind = "lathe"',
    )
    with pytest.raises(GearsearchError, match="a mill has no chasing dial"):
        Mill(6, (Route("worm", 40),), dial=Dial(32, 8))
    with pytest.raises(GearsearchError, match="dial"):
        Lathe(6, (Route("screw", 1),), dial=(32, 8))


@pytest.mark.parametrize(
    ("lines", "problem"),
    [
        ("teeth = 32", "[machine.dial], marks: missing; give a whole number from 1 to 100"),
        ("marks = 8", "[machine.dial], teeth: missing; give a whole number from 1 to 1000"),
        (
            "teeth = [14, 0]\nmarks = 8",
            "[machine.dial], teeth no. 2: 0 is too small; allowed: a whole number from 1 to 1000",
        ),
        (
            "teeth = []\nmarks = 8",
            "[machine.dial], teeth: an empty list; allowed: a list in square brackets, each a whole number from 1 to "
            "1000",
        ),
        ("teeth = 0\nmarks = 8", "[machine.dial], teeth: 0 is too small; allowed: a whole number from 1 to 1000"),
        ("teeth = 32\nmarks = 101", "[machine.dial], marks: 101 is too large; allowed: a whole number from 1 to 100"),
        (
            "teeth = 32.0\nmarks = 8",
            "[machine.dial], teeth: 32.0 is not a whole number; allowed: a whole number from 1 to 1000",
        ),
        ("teeth = 32\nmark = 8", "[machine.dial], mark: there is no such key; did you mean marks?"),
        (
            "teeth = 32\nmarks = 8\nscrew_starts = 13",
            "[machine.dial], screw_starts: 13 is too large; allowed: a whole number from 1 to 12",
        ),
        (
            "teeth = 32\nmarks = 8\nstuds = 1",
            "[machine.dial], studs: this key has no place here; it belongs to [quadrant]",
        ),
    ],
)
def test_a_mistake_in_the_dial_is_told(lines, problem):
    with pytest.raises(ShopError) as caught:
        read_shop(LATHE.replace("LINES", lines), "test")
    assert caught.value.problems == (problem,)


def test_a_dial_that_is_no_table_or_out_of_place_is_told():
    plain = LATHE.replace("[machine.dial]\nLINES\n", "")
    with pytest.raises(ShopError, match=r"\[machine.dial\]: 8 is not a table") as caught:
        read_shop(plain.replace('kind = "lathe"', 'kind = "lathe"\ndial = 8'), "test")
    assert len(caught.value.problems) == 1
    with pytest.raises(ShopError, match=r"\[dial\]: this table has no place here; it belongs to \[machine\]: write"):
        read_shop(plain + "[dial]\nteeth = 32\nmarks = 8\n", "test")
    with pytest.raises(ShopError, match=r"marks: this key has no place here; it belongs to \[machine.dial\]"):
        read_shop(plain.replace('kind = "lathe"', 'kind = "lathe"\nmarks = 8'), "test")


@pytest.mark.parametrize("value", ["0,5 mm", "0,03 mm", "0 furlong", "0,0 mm", "1,5 mm"])
def test_a_value_that_cannot_be_read_is_told_as_it_stands(value):
    with pytest.raises(ShopError) as caught:
        read_shop(BASE.replace('screw_lead = "6 mm"', f'screw_lead = "{value}"'), "x.toml")
    (problem,) = caught.value.problems
    assert f"'{value}'" in problem
