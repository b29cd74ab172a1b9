"""``[[quadrant.slot]]``: brackets with slots anywhere, what is refused, and what is told of a train on one."""

import json
from fractions import Fraction as F
from math import hypot

import pytest

from gearsearch.base.errors import GearsearchError, ShopError
from gearsearch.cli import main
from gearsearch.mounting.judge import Judge
from gearsearch.shop.brackets.slots import SlotLine, Slots
from gearsearch.shop.measuring import SLOT_SNIPPET
from gearsearch.shop.pool import pool_of
from gearsearch.shop.reader import DEMO_TEXT, read_shop
from gearsearch.shop.trains import Train

MAIN = """
[[quadrant.slot]]
from  = ["40 mm", "0 mm"]
to    = ["190 mm", "0 mm"]
studs = 2
"""
ARC = """
[[quadrant.slot]]
from   = ["60 mm", "25 mm"]
to     = ["10 mm", "75 mm"]
centre = ["0 mm", "15 mm"]
studs  = 1
"""
SIDE = """
[[quadrant.slot]]
from  = ["20 mm", "60 mm"]
to    = ["120 mm", "75 mm"]
studs = 1
"""


def text_with(*slots, **changes):
    """The demo shop with slots in place of its layout, and other changes of its quadrant."""
    lines = []
    for line in DEMO_TEXT.splitlines():
        key = line.split("=")[0].strip()
        if key in changes:
            line = f"{key} = {changes[key]}"
        if key in ("layout", "studs", "reach") or line.lstrip().startswith('"plate"'):
            continue
        if line.startswith("[dividing]"):
            lines += slots
        lines.append(line)
    return "\n".join(lines)


def problems(text):
    with pytest.raises(ShopError) as caught:
        read_shop(text, "test")
    return list(caught.value.problems)


def place(text, train):
    shop = read_shop(text, "test")
    return Judge(shop, pool_of(shop), shop.route()).place(Train.parse(train))


def test_slots_are_read_as_they_stand_in_the_file():
    bracket = read_shop(text_with(MAIN, ARC), "test").quadrant.bracket
    straight, arc = bracket.lines
    assert (straight.start_mm, straight.end_mm, straight.studs, straight.centre_mm) == ((40, 0), (190, 0), 2, None)
    assert (arc.start_mm, arc.end_mm, arc.studs, arc.centre_mm) == ((60, 25), (10, 75), 1, (0, 15))
    assert (bracket.takes, straight.radial, arc.radial) == (3, True, False)
    assert bracket.reach_mm[0] == 40


def test_one_slot_that_points_at_the_pivot_is_the_layout_slot():
    for train in ("100/24 32/48", "40/(56)/72", "40/(24)/(28)/72", "100/127", "32/24 100/48", "127/(20)/(24)/100"):
        as_slot, as_layout = place(text_with(MAIN), train), place(DEMO_TEXT, train)
        assert (as_slot.mounts, as_slot.clearance_mm) == (as_layout.mounts, as_layout.clearance_mm), train
        if as_slot.mounts == "yes":
            assert as_slot.placement.studs == as_layout.placement.studs


@pytest.mark.parametrize(
    ("slots", "said"),
    [
        ([MAIN.replace('"190 mm"', '"40 mm"')], "no. 1, from, to: a slot whose two ends are one point"),
        ([MAIN, ARC.replace('"75 mm"', '"95 mm"')], "no. 2, centre: the ends of the arc stand 60.83 mm and 80.62 mm"),
        ([ARC.replace('["0 mm", "15 mm"]', '["60 mm", "25 mm"]')], "no. 1, centre: the ends of the arc stand 0.00 mm"),
        ([MAIN.replace('"40 mm"', '"5 mm"')], "no. 1: a stud in it could stand 5.0 mm from the pivot, in the nut"),
        ([MAIN.replace('from  = ["40 mm"', 'from  = ["-90 mm"')], "no. 1: a stud in it could stand 0.0 mm"),
        ([MAIN.replace("studs = 2", "studs = 0")], "no. 1, studs: 0 is too small"),
        ([MAIN.replace("studs = 2", "")], "no. 1, studs: missing"),
        ([MAIN.replace('"190 mm", "0 mm"', '"190 mm"')], "no. 1, to: a list of 1 is not a list of two"),
        ([MAIN.replace("studs = 2", "stud = 2")], "stud: there is no such key"),
        ([MAIN, MAIN, ARC], "[quadrant], slot: the slots take 5 studs together; at most 3 are judged"),
        ([ARC] * 5, "[quadrant], slot: 5 of them; at most 4 are judged"),
        (["[quadrant.slot]\nstuds = 1\n"], "[quadrant], slot: write [[quadrant.slot]] with double brackets"),
    ],
)
def test_a_mistake_in_a_slot_is_named_by_table_and_key(slots, said):
    found = problems(text_with(*slots))
    assert any(said in problem for problem in found), found


def test_what_the_slots_say_already_is_not_said_again():
    text = text_with(MAIN).replace("planes = 2", 'layout = "slot"\nstuds = 2\nplanes = 2')
    assert [problem.split(":")[0] for problem in problems(text)] == ["[quadrant], layout", "[quadrant], studs"]


def test_a_head_that_can_be_moved_by_more_than_half_a_metre_is_no_head():
    assert problems(DEMO_TEXT.replace('shaft_distance = "150 mm"', 'shaft_distance = ["100 mm", "601 mm"]'))[
        0
    ].startswith('[quadrant], shaft_distance: "100 mm" to "601 mm" is more than 500 mm')


@pytest.mark.parametrize(
    ("make", "said"),
    [
        (lambda: Slots(), "a bracket of 0 slots"),
        (lambda: Slots(lines=((0, 0),)), "slot (0, 0) (tuple) is no SlotLine"),
        (lambda: SlotLine((F(1), F(0)), (F(1), F(0)), 1), "a slot whose two ends"),
        (lambda: SlotLine((40.5, F(0)), (F(1), F(0)), 1), "x of start_mm 40.5 (float) is not an exact number"),
        (lambda: SlotLine((F(40), F(0)), (F(1), F(0)), 4), "4 is no number of studs in a slot"),
    ],
)
def test_a_slot_that_cannot_be_is_refused(make, said):
    with pytest.raises(GearsearchError, match=said.replace("(", r"\(").replace(")", r"\)")):
        make()


@pytest.mark.parametrize(
    ("line", "nearest"),
    [
        (SlotLine((F(40), F(0)), (F(190), F(0)), 1), 40),
        (SlotLine((F(-30), F(40)), (F(30), F(40)), 1), 40),
        (SlotLine((F(60), F(25)), (F(10), F(75)), 1, (F(0), F(15))), hypot(60, 25)),
        (SlotLine((F(0), F(50)), (F(0), F(-50)), 1, (F(10), F(0))), hypot(10, 50) - 10),
    ],
)
def test_how_near_a_slot_comes_to_the_pivot(line, nearest):
    assert line.nearest_mm == pytest.approx(nearest)


def test_a_stud_stands_in_its_slot_and_says_in_which():
    judged = place(text_with(SIDE, swing="[-180, 180]"), "40/(56)/72")
    assert judged.mounts == "yes", judged.why
    (stud,) = judged.placement.studs
    assert (stud.slot, stud.from_pivot_mm) == (1, pytest.approx(72))
    turned = complex(stud.x_mm, stud.y_mm) / abs(complex(stud.x_mm, stud.y_mm)) * 72
    swing = judged.placement.bracket_swing_deg
    back = turned * complex(
        *[f(-swing * 3.141592653589793 / 180) for f in (__import__("math").cos, __import__("math").sin)]
    )
    assert (back.imag - 60) / 15 == pytest.approx((back.real - 20) / 100)


@pytest.mark.parametrize(
    ("slots", "train", "why"),
    [
        (
            [SIDE],
            "20/(24)/72",
            "no place for stud 1 in slot 1: the 20 and the 24 mesh at 33.0 mm, which misses the slot by",
        ),
        ([SIDE], "127/(100)/72", "stud 1 would stand 30.8 mm beyond where slot 1 ends"),
        ([SIDE], "40/(24)/(28)/72", "it needs 2 studs; the quadrant takes 1"),
        ([MAIN.replace("190", "80")], "100/24 32/48", "stud 1 would stand 13.0 mm beyond where slot 1 ends"),
    ],
)
def test_a_no_tells_which_slot_and_by_how_much(slots, train, why):
    judged = place(text_with(*slots, swing="[-180, 180]"), train)
    assert judged.mounts == "no"
    assert judged.why.startswith(why), judged.why


def test_the_json_of_an_answer_tells_where_everything_stands(tmp_path, capsys):
    file = tmp_path / "shop.toml"
    file.write_text(text_with(MAIN, SIDE), encoding="utf-8")
    assert main(["find", "--lead", "412.5", "--shop", str(file), "--format", "json"]) == 0
    fits = json.loads(capsys.readouterr().out)["fits"]
    placed = [fit for fit in fits if fit["mounts"] == "yes" and fit["studs"]]
    assert placed
    for fit in placed:
        assert fit["shaft_distance_mm"] == 150
        assert -75 <= fit["bracket_swing_deg"] <= 75
        for stud in fit["studs"]:
            assert stud["slot"] in (1, 2)
            assert hypot(stud["x_mm"], stud["y_mm"]) == pytest.approx(stud["from_pivot_mm"], abs=1e-3)


@pytest.mark.parametrize("slots", [[MAIN], [MAIN, ARC], [SIDE, ARC]])
def test_the_bracket_is_drawn_with_every_slot(slots, tmp_path):
    file, picture = tmp_path / "shop.toml", tmp_path / "bracket.svg"
    file.write_text(text_with(*slots), encoding="utf-8")
    shown = ["shop", "show", "--shop", str(file), "--picture", str(picture)]
    assert main(shown) == 0
    drawn = picture.read_text(encoding="utf-8")
    for number in range(1, len(slots) + 1):
        assert f'id="slot-{number}"' in drawn
    assert main(shown) == 2
    assert main([*shown, "--overwrite"]) == 0
    assert main(["shop", "show", "--shop", str(file), "--overwrite"]) == 2


def test_a_train_is_drawn_on_the_slots_as_they_swing(tmp_path):
    file, picture = tmp_path / "shop.toml", tmp_path / "train.svg"
    file.write_text(text_with(MAIN, ARC, swing="[-180, 180]"), encoding="utf-8")
    sheet = ["sheet", "100/24 32/48", "--shop", str(file), "--picture", "train", "--out", str(picture)]
    assert main(sheet) == 0
    assert 'id="slot-2"' in picture.read_text(encoding="utf-8")


def test_what_is_told_to_measure_can_be_put_into_a_shop_file():
    assert read_shop(text_with("\n" + SLOT_SNIPPET, swing="[-180, 180]"), "test").quadrant.bracket.takes == 3
