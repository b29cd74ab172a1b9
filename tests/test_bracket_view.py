"""The picture of a bracket: all that it says stands there, over nothing else."""

import random
import re
from dataclasses import replace

import pytest
from matplotlib.font_manager import FontProperties
from matplotlib.textpath import TextPath
from quadrants import LAYOUTS, made_up_quadrant
from shapely.geometry import LineString, Point, box

from gearsearch.output.drawing import papers
from gearsearch.output.drawing.bracket_view import bracket_figure, bracket_marks
from gearsearch.output.drawing.marks import Round, Words
from gearsearch.output.drawing.slots import lines_of
from gearsearch.shop.reader import demo_shop, read_shop

POINT_MM = 25.4 / 72
CURVED = """\
name = "Millrace small mill"
units = "in"
[machine]
kind = "mill"
screw_lead = "1/4 in"
[[machine.route]]
name = "worm"
ratio = 40
hand_with_one_stud = "right"
[[gears]]
diametral_pitch = 16
teeth = [24, 28, 32, 40]
[quadrant]
shaft_distance = "7 in"
pivot = "first"
swing = [-60, 60]
planes = 2
nut_radius = { first = "0.6 in", last = "0.6 in", stud = "0.5 in" }
clearance = "0.04 in"
[[quadrant.slot]]
from = ["1.5 in", "0 in"]
to = ["6 in", "0 in"]
studs = 1
[[quadrant.slot]]
from = ["2.5 in", "1 in"]
to = ["0.5 in", "3.0625 in"]
studs = 1
[[quadrant.slot]]
from = ["3 in", "1.5 in"]
to = ["5 in", "2.7 in"]
studs = 1
"""


def ink(words, scale):
    """What words cover, by the outlines of their letters."""
    path = TextPath((0, 0), words.text, size=words.size, prop=FontProperties())
    (x0, y0), (x1, y1) = path.get_extents().get_points() * POINT_MM * scale
    (x, y), half = words.at, ((x1 - x0) / 2, (y1 - y0) / 2)
    return box(x - half[0], y - half[1], x + half[0], y + half[1])


def faults(shop, scale):
    marks = bracket_marks(shop, shop.quadrant, scale)
    words = [(mark, ink(mark, scale)) for mark in marks if isinstance(mark, Words)]
    for mark, shape in words:
        yield from (
            f"{mark.text} on {other.text}" for other, its in words if other is not mark and shape.intersects(its)
        )
        for drawn in marks:
            if isinstance(drawn, Round):
                filled = Point(drawn.at).buffer(drawn.radius)
                under = filled if drawn.fill is not None else filled.exterior
            elif isinstance(drawn, Words) or drawn.name == "leader":
                continue
            else:
                under = LineString([*drawn.points, *drawn.points[: drawn.closed]])
            if shape.intersects(under):
                yield f"{mark.text} on {drawn.name or drawn}"
    slots = lines_of(shop.quadrant)
    if len(words) != (3 * len(slots) if slots else 2):
        yield f"words are missing: {[mark.text for mark, _ in words]}"


def said(shop):
    with papers.drawing():
        return " ".join(text.get_text() for axes in bracket_figure(shop).axes for text in axes.texts)


@pytest.mark.parametrize("scale", [1.0, 2.5, 4.0])
def test_words_lie_on_nothing_and_none_is_missing(scale):
    rng, demo = random.Random(5), demo_shop()
    shops = [demo, read_shop(CURVED, "curved.toml")]
    shops += [replace(demo, quadrant=made_up_quadrant(rng, (layout,))) for layout in LAYOUTS for _ in range(6)]
    with papers.drawing():
        for shop in shops:
            assert list(faults(shop, scale)) == [], shop.quadrant


def test_figures_are_whole_and_the_unit_is_a_word():
    words = said(read_shop(CURVED, "curved.toml"))
    assert "0.5, 3.0625" in words
    assert "x and y in inches" in words


def test_a_plate_speaks_of_no_dots():
    rng = random.Random(3)
    words = said(replace(demo_shop(), quadrant=made_up_quadrant(rng, ("plate",))))
    assert "dots" not in words
    assert re.search("nearest [0-9.]+ mm", words)
