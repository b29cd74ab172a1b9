"""``[dividing.quadrant]``: the bracket between the head's spindle and its plate, for differential indexing."""

import json

import pytest

from gearsearch.base.errors import ShopError
from gearsearch.cli import main
from gearsearch.dividing.differential import differentials
from gearsearch.shop.reader import DEMO_TEXT, demo_shop, read_shop

BRACKET = """
[dividing.quadrant]
shaft_distance = "150 mm"
pivot = "last"
layout = "slot"
studs = 2
reach = ["30 mm", "150 mm"]
swing = [-60, 60]
nut_radius = { first = "12 mm", last = "12 mm", stud = "10 mm" }
"""


def test_without_it_the_rule_of_thumb_is_all_there_is():
    assert {way.mounts for way in differentials(demo_shop(), 127)} <= {"rule", "no"}


def test_with_it_differential_trains_are_tried_on_it():
    ways = differentials(read_shop(DEMO_TEXT + BRACKET, "test"), 127)
    mounting = [way for way in ways if way.mounts == "yes"]
    assert mounting
    for way in mounting:
        assert len(way.placement.studs) == way.train.studs
        assert way.placement.shaft_distance_mm == 150
        assert (way.train.studs % 2 == 1) == (way.wanted_turns > 0)
    narrow = read_shop(DEMO_TEXT + BRACKET.replace("[-60, 60]", "[59, 60]"), "test")
    assert all(
        way.mounts == "no" or way.train.studs == 0 or way.placement.bracket_swing_deg >= 59
        for way in differentials(narrow, 127)
    )


def test_it_is_told_where_the_studs_go(tmp_path, capsys):
    file = tmp_path / "shop.toml"
    file.write_text(DEMO_TEXT + BRACKET, encoding="utf-8")
    assert main(["divide", "127", "--shop", str(file)]) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert "from the plate (the pivot)" in said
    assert "rule of thumb" not in said
    assert main(["divide", "127", "--shop", str(file), "--format", "json"]) == 0
    first = json.loads(capsys.readouterr().out)["ways"][0]
    assert (first["mounts"], first["shaft_distance_mm"]) == ("yes", 150)
    assert all(stud["slot"] == 1 for stud in first["studs"])


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("studs = 2", "studs = 9", "[dividing.quadrant], studs: 9 is too large"),
        ('"150 mm"\n', '"15 mm"\n', '[dividing.quadrant], shaft_distance: "15 mm" is not more than the nut radii'),
        ('layout = "slot"\nstuds = 2\nreach = ["30 mm", "150 mm"]\n', "slot = 3\n", "[dividing.quadrant], slot: write"),
    ],
)
def test_a_mistake_in_it_is_named(old, new, said):
    with pytest.raises(ShopError) as caught:
        read_shop(DEMO_TEXT + BRACKET.replace(old, new), "test")
    assert any(problem.startswith(said) for problem in caught.value.problems), caught.value.problems
