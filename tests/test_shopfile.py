"""The shop file: what it may say, where it is found, and every mistake told at once, by table and key."""

import tomllib
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

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
    with pytest.raises(GearsearchError, match="there is no shop file"):
        load_shop(tmp_path / "no.toml")


# -------------------------------------------------------------------------------- every mistake, one by one

TEETH = "a whole number from 4 to 2000"
STUDS = 'a whole number from 1 to 3 where the layout is "slot"'
AT_150 = (
    'a length from 10 mm to 3000 mm, as in "150 mm", or two where the head can be moved, as in ["140 mm", "170 mm"]'
)
REACH = 'the nearest and the farthest, lengths from 0 mm to 5000 mm, as in reach = ["40 mm", "190 mm"]'
SWING = "two in square brackets, each an angle from -180 to 180 degrees"
NUT = 'a length from 1 mm to 300 mm, as in { first = "12 mm", last = "12 mm", stud = "10 mm" }'
SCREW = 'a travel from 0.1 mm to 60 mm for one turn, as in "6 mm", "1/4 in" or "5 tpi"'
NOT_ABOVE_ZERO = "is not a ratio above zero that a machine can have"
RATIO = 'a ratio from 1/1000 to 10000, as in ratio = 60 or "60:1"'
MODULE = 'a length from 0.1 mm to 25 mm, as in module = "1.5 mm", or else diametral_pitch = 20'
LIMIT = 'teeth as a whole number without quotes, from 4 to 2000, or an outside diameter as in "120 mm"'

MISSING = [
    ('name = "Millrace workshop"', "name: missing; give the name of the shop, 1 to 60 letters in quotes"),
    ('units = "mm"', 'units: missing; give "mm" or "in"'),
    ('kind = "mill"', '[machine], kind: missing; give "lathe" or "mill"'),
    ('screw_lead = "6 mm"', f"[machine], screw_lead: missing; give {SCREW}"),
    ('name = "worm"', "[[machine.route]] no. 1, name: missing; give a name for the route, 1 to 30 letters in quotes"),
    ('module = "1.5 mm"', f"[[gears]] no. 1, module: missing; give {MODULE}"),
    (
        "teeth = [24, 20, 24, 127]",
        f"[[gears]] no. 1, teeth: there is no gear in this table; give {TEETH} for each gear, as in [24, 24, 40]",
    ),
    ('shaft_distance = "150 mm"', f"[quadrant], shaft_distance: missing; give {AT_150}"),
    ('pivot = "first"', '[quadrant], pivot: missing; give "first" or "last"'),
    ('layout = "slot"', '[quadrant], layout: missing; give "plate" or "slot"'),
    ("studs = 2", f"[quadrant], studs: missing; give {STUDS}"),
    ('reach = ["40 mm", "190 mm"]', f"[quadrant], reach: missing; give {REACH}"),
    ("swing = [-75, 75]", f"[quadrant], swing: missing; give {SWING}"),
    (
        'nut_radius = { first = "12 mm", last = "12 mm", stud = "10 mm" }',
        f"[quadrant], nut_radius: missing; give {NUT}",
    ),
    (
        "circles = [15, 16, 17]",
        "[dividing], circles: missing; give circles = [15, 16, 17] or, by side, plates = [[15, 16, 17], [18, 19, 20]]",
    ),
]


@pytest.mark.parametrize(("line", "message"), MISSING)
def test_a_line_that_is_missing_is_named(line, message):
    assert problems(without(line)) == [message]


def test_a_missing_ratio_is_named_in_its_own_table():
    assert problems(edited("ratio = 60\nhand", "hand")) == [f"[[machine.route]] no. 1, ratio: missing; give {RATIO}"]
    assert problems(edited("ratio = 60\ncircles", "circles")) == [
        "[dividing], ratio: missing; give a ratio from 1 to 10000, as in ratio = 60"
    ]


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
    ("old", "new", "message"),
    [
        ("[machine]\n", "[machin]\n", "[machin]: there is no such table; did you mean [machine]?"),
        ("[quadrant]", "[quadrent]", "[quadrent]: there is no such table; did you mean [quadrant]?"),
        ("[dividing]", "[Dividing]", "[Dividing]: there is no such table; did you mean [dividing]?"),
        ("[[gears]]", "[[gear]]", "[gear]: there is no such table; did you mean [gears]?"),
        ("[[gears]]", "[gears]", "[gears]: write [[gears]] with double brackets, there may be several"),
        (
            "[quadrant]",
            "[hovercraft]",
            "[hovercraft]: there is no such table; "
            "allowed: name, units, machine, gears, quadrant, dividing",
        ),
        ("[[machine.route]]", "[[route]]", "[route]: this table has no place here; "
         "it belongs to [machine]: write [[machine.route]]"),
        ("[quadrant]", "[[quadrant]]", "[[quadrant]]: there can be only one; write [quadrant] with single brackets"),
        ("planes = 2", "planes = 2\nunits = 'mm'", "[quadrant], units: this key has no place here; it belongs to "
         "the top of the file, above the first table"),
        ("kind =", "studs = 2\nkind =", "[machine], studs: this key has no place here; it belongs to [quadrant]"),
        ("kind =", "colour = 2\nkind =", "[machine], colour: there is no such key; "
         "allowed: kind, screw_lead, screw_accuracy, backlash, dial, route"),
        (', stud = "10', ', stub = "10', "[quadrant], nut_radius, stub: there is no such key; did you mean stud?"),
    ],
)  # fmt: skip
def test_a_table_or_key_out_of_place_is_told_where_it_belongs(old, new, message):
    text = BASE.replace("machine.route", "machin.route") if "machin]" in new else BASE
    assert text.count(old) == 1, old
    assert message in problems(text.replace(old, new))


VALUES = [
    ('"Millrace workshop"', '""', 'name: "" will not do; allowed: the name of the shop, 1 to 60 letters in quotes'),
    ('"Millrace workshop"', "7", "name: 7 is not a text in quotes; allowed: the name of the shop, "
     "1 to 60 letters in quotes"),
    ('"Millrace workshop"', '"a\\nb"', 'name: "a?b" will not do; '
     'allowed: the name of the shop, 1 to 60 letters in quotes'),
    ('units = "mm"', 'units = "cm"', 'units: "cm" is not known; allowed: "mm" or "in"'),
    ('units = "mm"', "units = 1", 'units: 1 is not known; allowed: "mm" or "in"'),
    ('"mill"', '"mil"', '[machine], kind: "mil" is not known, did you mean "mill"?; allowed: "lathe" or "mill"'),
    ('"mill"', '["mill"]', '[machine], kind: a list is not known; allowed: "lathe" or "mill"'),
    ('"6 mm"', "0", f"[machine], screw_lead: 0 is too small; allowed: {SCREW}"),
    ('"6 mm"', "-6", f"[machine], screw_lead: -6 is too small; allowed: {SCREW}"),
    ('"6 mm"', '"600 mm"', f'[machine], screw_lead: "600 mm" is too large; allowed: {SCREW}'),
    ('"6 mm"', "true", f"[machine], screw_lead: true is not a number or a text in quotes; allowed: {SCREW}"),
    ('"6 mm"', "nan", f"[machine], screw_lead: NaN is not a number; allowed: {SCREW}"),
    ('"6 mm"', "inf", f"[machine], screw_lead: Infinity is not a number; allowed: {SCREW}"),
    ('"6 mm"', "1e999999999", f"[machine], screw_lead: 1E+999999999 is too large; allowed: {SCREW}"),
    ('"6 mm"', "1e-999999999", f"[machine], screw_lead: 1E-999999999 is too small; allowed: {SCREW}"),
    ('"6 mm"', "0x" + "f" * 6000, "[machine], screw_lead: a number of more than 30 digits is too large; "
     f"allowed: {SCREW}"),
    ('"6 mm"', "[6]", f"[machine], screw_lead: a list is not a number or a text in quotes; allowed: {SCREW}"),
    ('"6 mm"', "2020-01-01", "[machine], screw_lead: 2020-01-01 is not a number or a text in quotes; "
     f"allowed: {SCREW}"),
    ('backlash = "0.1 mm"', "backlash = -0.1", '[machine], backlash: -0.1 is too small; '
     'allowed: a length from 0 mm to 10 mm, as in "0.1 mm"'),
    ("ratio = 60\nhand", "ratio = 0\nhand", f"[[machine.route]] no. 1, ratio: 0 {NOT_ABOVE_ZERO}; "
     f"allowed: {RATIO}"),
    ("ratio = 60\nhand", "ratio = -60\nhand", f"[[machine.route]] no. 1, ratio: -60 {NOT_ABOVE_ZERO}; "
     f"allowed: {RATIO}"),
    ("ratio = 60\nhand", "ratio = 1_000_000\nhand",
     f"[[machine.route]] no. 1, ratio: 1000000 is too large; allowed: {RATIO}"),
    ("ratio = 60\nhand", "ratio = false\nhand",
     f"[[machine.route]] no. 1, ratio: false is not a number or a text in quotes; allowed: {RATIO}"),
    ('"right"', '"up"', '[[machine.route]] no. 1, hand_with_one_stud: "up" is not known; '
     'allowed: "right", "left" or "either"'),
    ('"right"', '"Right"', '[[machine.route]] no. 1, hand_with_one_stud: "Right" is not known, '
     'did you mean "right"?; allowed: "right", "left" or "either"'),
    ("step_up_warning = 4", "step_up_warning = 0.5", "[[machine.route]] no. 1, step_up_warning: 0.5 is too small; "
     "allowed: a ratio from 1 to 1000, as in step_up_warning = 4"),
    ('"1.5 mm"', '"0 mm"', f'[[gears]] no. 1, module: "0 mm" is too small; allowed: {MODULE}'),
    ('"1.5 mm"', '"1500 mm"', f'[[gears]] no. 1, module: "1500 mm" is too large; allowed: {MODULE}'),
    ('module = "1.5 mm"', "diametral_pitch = 0", f"[[gears]] no. 1, diametral_pitch: 0 {NOT_ABOVE_ZERO}; "
     "allowed: a ratio from 1 to 200, as in diametral_pitch = 20"),
    ('module = "1.5 mm"', 'module = "1.5 mm"\ndiametral_pitch = 20',
     "[[gears]] no. 1, diametral_pitch: stands beside module; allowed: one of the two"),
    ("pressure_angle = 20", "pressure_angle = 90", "[[gears]] no. 1, pressure_angle: 90 is too large; "
     "allowed: an angle from 10 to 30 degrees"),
    ("127]", "3]", f"[[gears]] no. 1, teeth no. 4: 3 is too small; allowed: {TEETH}"),
    ("127]", "0]", f"[[gears]] no. 1, teeth no. 4: 0 is too small; allowed: {TEETH}"),
    ("127]", "-24]", f"[[gears]] no. 1, teeth no. 4: -24 is too small; allowed: {TEETH}"),
    ("127]", "2001]", f"[[gears]] no. 1, teeth no. 4: 2001 is too large; allowed: {TEETH}"),
    ("127]", "24.5]", f"[[gears]] no. 1, teeth no. 4: 24.5 is not a whole number; allowed: {TEETH}"),
    ("127]", "true]", f"[[gears]] no. 1, teeth no. 4: true is not a whole number; allowed: {TEETH}"),
    ("127]", '"24"]', f'[[gears]] no. 1, teeth no. 4: "24" is not a whole number; allowed: {TEETH}'),
    ("127]", "0x" + "f" * 6000 + "]",
     f"[[gears]] no. 1, teeth no. 4: a number of more than 30 digits is too large; allowed: {TEETH}"),
    ("teeth = [24, 20, 24, 127]", "teeth = 24",
     f"[[gears]] no. 1, teeth: 24 is not a list; allowed: a list in square brackets, each {TEETH}"),
    ("127]", "127]\njoined = [[60, 30, 20]]", "[[gears]] no. 1, joined no. 1: a list of 3 is not a list of two; "
     f"allowed: two in square brackets, each {TEETH}"),
    ("127]", "127]\njoined = [60, 30]", "[[gears]] no. 1, joined no. 1: 60 is not a list of two; "
     f"allowed: two in square brackets, each {TEETH}"),
    ("127]", "127]\njoined = [[60, 3]]", "[[gears]] no. 1, joined no. 1: 3 is too small; "
     f"allowed: two in square brackets, each {TEETH}"),
    ("127]", "127]\njoined = []", "[[gears]] no. 1, joined: an empty list; allowed: a list in square brackets, "
     f"each two in square brackets, each {TEETH}"),
    ("127]", "127]\nfixed = { stud = 40 }", "[[gears]] no. 1, fixed, stud: there is no such key; allowed: first, last"),
    ("127]", "127]\nfixed = { first = 1 }", f"[[gears]] no. 1, fixed, first: 1 is too small; allowed: {TEETH}"),
    ("127]", "127]\nfixed = 40", "[[gears]] no. 1, fixed: 40 is not a table; allowed: a table with first, last"),
    ("127]", '127]\nonly_on = { 128 = ["first"] }',
     "[[gears]] no. 1, only_on, 128: there is no gear of 128 teeth in this table; allowed: 20, 24, 127"),
    ("127]", '127]\nonly_on = { 127 = ["frist"] }', '[[gears]] no. 1, only_on, 127 no. 1: "frist" is not known, '
     'did you mean "first"?; allowed: "first", "stud" or "last"'),
    ("127]", "127]\nonly_on = { 127 = [] }", "[[gears]] no. 1, only_on, 127: an empty list; "
     'allowed: a list in square brackets, each "first", "stud" or "last"'),
    ("127]", "127]\nonly_on = 127", "[[gears]] no. 1, only_on: 127 is not a table; "
     'allowed: a table such as { 127 = ["first"] }'),
    ("127]", '127]\nfixed = { first = 40 }\nonly_on = { 40 = ["last"] }', "[[gears]] no. 1, only_on, 40 no. 1: "
     '"last" cannot be, the 40 is fixed on the first shaft; allowed: "first", "stud" or "last"'),
    ('"150 mm"', "0", f"[quadrant], shaft_distance: 0 is too small; allowed: {AT_150}"),
    ('"150 mm"', "-150", f"[quadrant], shaft_distance: -150 is too small; allowed: {AT_150}"),
    ('"150 mm"', '"150 m"', None),
    ('"150 mm"', '["170 mm", "140 mm"]', '[quadrant], shaft_distance: "170 mm" is more than "140 mm", '
     f"the first must be the smaller; allowed: {AT_150}"),
    ('"150 mm"', '["170 mm"]', f"[quadrant], shaft_distance: a list of 1 is not a list of two; allowed: {AT_150}"),
    ('pivot = "first"', 'pivot = "stud"', '[quadrant], pivot: "stud" is not known; allowed: "first" or "last"'),
    ('"slot"', '"slots"', '[quadrant], layout: "slots" is not known, did you mean "slot"?; allowed: "plate" or "slot"'),
    ("studs = 2", "studs = 0", f"[quadrant], studs: 0 is too small; allowed: {STUDS}"),
    ("studs = 2", "studs = 4", f"[quadrant], studs: 4 is too large; allowed: {STUDS}"),
    ('layout = "slot"\nstuds = 2', 'layout = "plate"\nstuds = 3', "[quadrant], studs: 3 is too large; "
     'allowed: a whole number from 1 to 2 where the layout is "plate"'),
    ('["40 mm", "190 mm"]', '["190 mm", "40 mm"]', '[quadrant], reach: "190 mm" is more than "40 mm", '
     f"the first must be the smaller; allowed: {REACH}"),
    ('["40 mm", "190 mm"]', '["-40 mm", "190 mm"]', f'[quadrant], reach: "-40 mm" is too small; allowed: {REACH}'),
    ('["40 mm", "190 mm"]', '"190 mm"', f'[quadrant], reach: "190 mm" is not a list of two; allowed: {REACH}'),
    ("[-75, 75]", "[-75, 181]", f"[quadrant], swing: 181 is too large; allowed: {SWING}"),
    ("[-75, 75]", "[-181, 75]", f"[quadrant], swing: -181 is too small; allowed: {SWING}"),
    ("[-75, 75]", "[75, -75]", "[quadrant], swing: 75 is more than -75, the first must be the smaller; "
     f"allowed: {SWING}"),
    ("planes = 2", "planes = 4", "[quadrant], planes: 4 is too large; allowed: 2 or 3"),
    ("planes = 2", "planes = 1", "[quadrant], planes: 1 takes no train of two pairs (for simple trains alone, "
     "write 2 and search with --pairs 1); allowed: 2 or 3"),
    ('first = "12 mm"', 'first = "-12 mm"', f'[quadrant], nut_radius, first: "-12 mm" is too small; allowed: {NUT}'),
    ('first = "12 mm"', "first = 0", f"[quadrant], nut_radius, first: 0 is too small; allowed: {NUT}"),
    (', stud = "10 mm"', "", f"[quadrant], nut_radius, stud: missing; give {NUT}"),
    ('{ first = "12 mm", last = "12 mm", stud = "10 mm" }', '"12 mm"',
     '[quadrant], nut_radius: "12 mm" is not a table; allowed: a table with first, stud, last'),
    ('"0.5 mm"', '"-1 mm"', '[quadrant], clearance: "-1 mm" is too small; '
     'allowed: a length from 0 mm to 20 mm, as in "0.5 mm"'),
    ("planes = 2", "smallest = { first = 2.5 }", "[quadrant], smallest, first: 2.5 could be teeth or a length; "
     f"allowed: {LIMIT}"),
    ("planes = 2", 'smallest = { first = "24" }', '[quadrant], smallest, first: "24" could be teeth or a length; '
     f"allowed: {LIMIT}"),
    ("planes = 2", "smallest = { first = true }", f"[quadrant], smallest, first: true is not a whole number; "
     f"allowed: {LIMIT}"),
    ("planes = 2", "smallest = { first = 3 }", f"[quadrant], smallest, first: 3 is too small; allowed: {LIMIT}"),
    ("planes = 2", "smallest = { first = 30 }\nlargest = { first = 24 }",
     "[quadrant], smallest, first: 30 is more than largest, first, which is 24, so no gear could go "
     "there; give the smaller first"),
    ("planes = 2", "smallest = 30", "[quadrant], smallest: 30 is not a table; allowed: a table with first, stud, last"),
    ("planes = 2", "obstacles = 3", "[quadrant], obstacles: 3 is not a list; "
     'allowed: [{ at = ["80 mm", "-20 mm"], radius = "15 mm" }]'),
    ("planes = 2", "obstacles = [3]", "[quadrant], obstacles no. 1: 3 is not a table; "
     "allowed: a table with at, radius"),
    ("planes = 2", 'obstacles = [{ at = ["80 mm", "-20 mm"] }]', "[quadrant], obstacles no. 1, radius: missing; "
     'give a length from 0.1 mm to 1000 mm, as in "15 mm"'),
    ("planes = 2", 'obstacles = [{ at = ["80 mm"], radius = "-15 mm" }]', None),
    ("circles = [15, 16, 17]", "circles = [1]",
     "[dividing], circles no. 1: 1 is too small; allowed: a whole number from 2 to 1000"),
    ("circles = [15, 16, 17]", "circles = [15.5]",
     "[dividing], circles no. 1: 15.5 is not a whole number; allowed: a whole number from 2 to 1000"),
    ("circles = [15, 16, 17]", "circles = [15, 15]",
     "[dividing], circles: the circle of 15 holes stands twice; allowed: each circle once"),
    ("circles = [15, 16, 17]", "plates = [[15], [16, 16]]",
     "[dividing], plates no. 2: the circle of 16 holes stands twice; allowed: each circle once"),
    ("circles = [15, 16, 17]", "plates = [15, 16]", "[dividing], plates no. 1: 15 is not a list; "
     "allowed: a list in square brackets, each a whole number from 2 to 1000"),
    ("circles = [15, 16, 17]", "plates = 15",
     "[dividing], plates: 15 is not a list of lists; allowed: [[15, 16, 17], [18, 19, 20]]"),
    ("circles = [15, 16, 17]", "circles = [15]\nplates = [[15]]",
     "[dividing], plates: stands beside circles; allowed: one of the two"),
    ("ratio = 60\ncircles", "ratio = 0\ncircles",
     f"[dividing], ratio: 0 {NOT_ABOVE_ZERO}; allowed: a ratio from 1 to 10000, as in ratio = 60"),
]  # fmt: skip


@pytest.mark.parametrize(("old", "new", "message"), VALUES)
def test_a_value_that_will_not_do_is_named_with_what_would(old, new, message):
    found = problems(edited(old, new))
    if message is not None:
        assert message in found


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
    assert str(caught.value) == "\n".join(
        [
            "mine.toml: 4 mistakes",
            '  [machine], kind: "mil" is not known, did you mean "mill"?; allowed: "lathe" or "mill"',
            f"  [[machine.route]] no. 1, ratio: 0 {NOT_ABOVE_ZERO}; allowed: {RATIO}",
            f"  [[gears]] no. 1, teeth no. 4: 3 is too small; allowed: {TEETH}",
            "  [quadrant], stud: there is no such key; did you mean studs?",
        ]
    )


def test_an_empty_file_lists_what_must_be_there():
    assert problems("") == [
        "name: missing; give the name of the shop, 1 to 60 letters in quotes",
        'units: missing; give "mm" or "in"',
        "[machine]: missing; give this table with kind, screw_lead and at least one [[machine.route]]",
        "[[gears]]: missing; give at least one such table with module and teeth",
    ]


# ---------------------------------------------------------------------- what contradicts itself across keys


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ("[24, 20, 24, 127]", "[24]", "[[gears]]: one gear makes no pair; "
         "give at least two gears of one kind of tooth"),
        ("teeth = [24, 20, 24, 127]\n", 'teeth = [24]\n[[gears]]\nmodule = "2 mm"\npressure_angle = 20\nteeth = [24]\n',
         "[[gears]]: gears of different kinds make no pair; give at least two gears of one kind of tooth"),
        ("[24, 20, 24, 127]", "[" + "24, " * 2001 + "]", "[[gears]]: 2001 gears in all; allowed: at most 2000"),
        ("[quadrant]", SECOND.replace('"1 mm"', '"1.5 mm"') + "[quadrant]",
         "[[gears]] no. 2: module 1.5 mm, 20° is the same kind of tooth as no. 1; put them in one table"),
        ("[quadrant]", SECOND.replace('module = "1 mm"', "diametral_pitch = 16.9333333333") + "[quadrant]",
         "[[gears]] no. 2: diametral pitch 16.9333, 20° is the same kind of tooth as no. 1; put them in one table"),
        ("[quadrant]", SECOND.replace("pressure_angle = 20\n", "") + "[quadrant]",
         "[[gears]] no. 2, pressure_angle: missing; give an angle from 10 to 30 degrees"),
        ("127]", "127]\nfixed = { first = 40 }\n" + SECOND + "fixed = { first = 50 }",
         "[[gears]] no. 2, fixed: first = 50, but no. 1 has a gear fixed there already; take one of the two out"),
        ("127]", "127]\n" + SECOND.replace("teeth = [30, 40]", "fixed = { last = 50 }"),
         "[[gears]] no. 2, fixed: the 50 fixed on the last shaft can mesh with nothing; "
         "add a gear of module 1 mm, 20°"),
        ('name = "worm"', 'name = "worm"\nratio = 1\n[[machine.route]]\nname = "worm"',
         '[[machine.route]] no. 2, name: "worm" is the name of another route too; give each its own'),
        ('"150 mm"', '"24 mm"', '[quadrant], shaft_distance: "24 mm" is not more than the nut radii of both shafts '
         "together; measure from centre to centre"),
        ('"150 mm"', '["20 mm", "150 mm"]', '[quadrant], shaft_distance: "20 mm" is not more than the nut radii of '
         "both shafts together; measure from centre to centre"),
        ('["40 mm", "190 mm"]', '["5 mm", "12 mm"]',
         "[quadrant], reach: a stud so near would stand in the nut of the first shaft, the pivot; "
         "measure from its centre"),
        ("planes = 2", 'obstacles = [{ at = ["5 mm", "0 mm"], radius = "1 mm" }]',
         "[quadrant], obstacles no. 1: stands on the first shaft; "
         "measure at from the pivot, first toward the other shaft, then square to it"),
        ("planes = 2", 'obstacles = [{ at = ["150 mm", "20 mm"], radius = "15 mm" }]', "[quadrant], obstacles no. 1: "
         "stands on the last shaft; measure at from the pivot, first toward the other shaft, then square to it"),
        ('"150 mm"', '"150 mm"\nsmallest = { first = 128 }', "[quadrant] and only_on: no gear there is may go on the "
         "first shaft; look at smallest, largest and only_on"),
        ('"150 mm"', '"150 mm"\nlargest = { last = "30 mm" }', "[quadrant] and only_on: no gear there is may go on "
         "the last shaft; look at smallest, largest and only_on"),
    ],
)  # fmt: skip
def test_a_contradiction_is_the_one_mistake_that_is_named(old, new, message):
    assert problems(edited(old, new)) == [message]


def test_a_fixed_gear_that_its_shaft_does_not_take_is_named():
    text = edited("127]", "127]\nfixed = { first = 40 }", "planes = 2", "smallest = { first = 50 }")
    assert problems(text) == [
        "[quadrant] and only_on: not even the 40 fixed there may go on the first shaft; "
        "look at smallest, largest and only_on"
    ]


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
    assert problems(BASE[: BASE.index("shaft_distance")]) == [
        "[quadrant]: this table is empty; fill it in, or leave it out: then only the rule of thumb is used"
    ]


def test_geometry_without_a_shaft_distance_is_not_half_used():
    assert f"[quadrant], shaft_distance: missing; give {AT_150}" in problems(
        BASE[: BASE.index("shaft_distance")] + "studs = 2\n"
    )


def test_a_long_value_is_cut_short_in_the_message():
    long = "x" * 61
    assert problems(edited('"Millrace workshop"', f'"{long}"')) == [
        f'name: "{"x" * 37}…" will not do; allowed: the name of the shop, 1 to 60 letters in quotes'
    ]
    assert problems(edited("planes = 2", f"{long} = 2")) == [
        f"[quadrant], {'x' * 37}…: there is no such key; allowed: shaft_distance, pivot, layout, studs, reach, swing, "
        "planes, nut_radius, clearance, obstacles, smallest, largest"
    ]


@pytest.mark.parametrize("count", ["x", "１２７", "-24", "24.0", "0127"])
def test_only_on_takes_nothing_but_counts_of_gears_that_are_there(count):
    text = edited("127]", f'127]\nonly_on = {{ "{count}" = ["first"] }}')
    assert problems(text) == [
        f"[[gears]] no. 1, only_on, {count}: there is no gear of {count} teeth in this table; allowed: 20, 24, 127"
    ]


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
    assert refusal() == f"mine.toml: 1 mistake\n  [quadrant], studs: missing; give {STUDS}"


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
