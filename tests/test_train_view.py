"""What stands beside the gears in the picture: every count belongs to its circle, nothing runs off the paper."""

import re
from dataclasses import replace
from fractions import Fraction as F
from math import hypot

import pytest
from quadrants import plain
from shops import DEMO_TEETH
from slow import some

from gearsearch.mounting.placement import Names
from gearsearch.output.drawing import papers, picture, svg
from gearsearch.output.drawing.marks import Stroke, Words, distances
from gearsearch.output.drawing.train_view import PLANES, TrainView
from gearsearch.search.check import check
from gearsearch.shop.quadrant import Obstacle
from gearsearch.shop.reader import demo_shop
from gearsearch.shop.trains import Train

SCALE = 2.0
TRAINS = ("56/(72)/40 48/100", "80/44 48/100", "86/(44)/52 64/127", "28/(72)/32", "40/(56)/52", "127/44 48/52 28/86")
THREE = plain(DEMO_TEETH, studs=3, planes=3, shaft_distance_mm=(F(150), F(200)), reach_mm=(F(40), F(260)))
LATHE = plain(
    [40, 80, 120, 127],
    kind="lathe",
    route="screw",
    layout="plate",
    pivot="last",
    shaft_distance_mm=(F(170), F(170)),
    swing_deg=(F(-90), F(60)),
    reach_mm=(F(40), F(230)),
)


def checked(train, shop=None):
    return check(shop or (THREE if train.count("/") == 3 else demo_shop()), Train.parse(train))


def view(train, shop=None):
    made = checked(train, shop)
    names = Names(made.shop, made.route, made.fit.train.studs)
    return TrainView(made.fit.placement, made.shop.quadrant, names, SCALE)


def counts(seen):
    """Each gear with its words, and the leader of these where there is one."""
    marks = seen.marks()
    leaders = [mark for mark in marks if isinstance(mark, Stroke) and mark.name == "leader"]
    for wheel in seen.wheels:
        text = f"({wheel.teeth})" if wheel.role == "idler" else str(wheel.teeth)
        (words,) = (m for m in marks if isinstance(m, Words) and (m.text, m.under) == (text, wheel.role))
        yield wheel, words, next((leader for leader in leaders if leader.points[0] == words.at), None)


@pytest.mark.parametrize("train", TRAINS)
def test_every_count_stands_in_its_own_circle_alone_or_on_an_arrow_to_its_rim(train):
    seen = view(train)
    for wheel, words, leader in counts(seen):
        centre = wheel.x_mm, wheel.y_mm
        if leader is not None:
            end = leader.points[-1]
            assert hypot(end[0] - centre[0], end[1] - centre[1]) == pytest.approx(wheel.tip_radius_mm)
            assert leader.stroke == PLANES[wheel.plane]
            continue
        assert distances(words.box(SCALE), centre)[1] < wheel.tip_radius_mm
        for other in seen.wheels:
            if other is not wheel:
                near = distances(words.box(SCALE), (other.x_mm, other.y_mm))[0]
                assert near > other.tip_radius_mm or (other.shaft == wheel.shaft and other.teeth > wheel.teeth)


@pytest.mark.parametrize("train", TRAINS)
def test_a_count_that_stands_in_two_circles_of_one_stud_has_an_arrow(train):
    seen = view(train)
    for wheel, words, leader in counts(seen):
        around = [other for other in seen.wheels if other.shaft == wheel.shaft and other.teeth > wheel.teeth]
        assert not around or leader is not None, words.text


def test_counts_cover_no_other_count():
    for train in TRAINS:
        boxes = [words.box(SCALE) for _, words, _ in counts(view(train))]
        for number, ((x0, y0), (x1, y1)) in enumerate(boxes):
            for (u0, v0), (u1, v1) in boxes[:number]:
                assert x1 <= u0 or u1 <= x0 or y1 <= v0 or v1 <= y0


@pytest.mark.parametrize(("train", "shop"), some([("40/120 127/80", LATHE), *((train, None) for train in TRAINS)], 2))
@pytest.mark.parametrize("name", some(papers.PAPERS_MM))
def test_no_words_of_the_picture_run_off_the_paper(train, shop, name):
    made = checked(train, shop)
    assert made.fit.placement is not None
    with papers.drawing():
        figure = picture.train_figure(made, name)
        renderer, page = figure.canvas.get_renderer(), figure.bbox
        for text in [text for axes in figure.axes for text in axes.texts]:
            box = text.get_window_extent(renderer)
            margin = (papers.MARGIN_MM - 4) / 25.4 * figure.dpi
            assert box.x0 >= page.x0 + margin, text.get_text()
            assert box.x1 <= page.x1 - margin, text.get_text()


def test_a_long_train_is_headed_in_smaller_type():
    with papers.drawing():
        assert picture._title_size("80/44 48/100, right hand", 186.0) == 17
        long = "127/(20)/44 28/(36)/52 48/(24)/86 60/(30)/72, right hand" + " " * 20
        assert picture._title_size(long, 186.0) < 17


def words_of(made):
    with papers.drawing():
        words = "\n".join(text.get_text() for axes in picture.train_figure(made).axes for text in axes.texts)
    return words.replace("\N{NO-BREAK SPACE}", " ")


def test_it_says_from_which_end_it_is_seen_and_which_gear_stands_in_which_plane():
    text = words_of(checked("80/44 48/100"))
    assert "the pivot on the left, from the end from which plus swing, as it was measured" in " ".join(text.split())
    assert "44 ====== 48" in text
    assert "plane 1   plane 2" in text


@pytest.mark.parametrize(
    ("change", "same"),
    some(
        [
            ({"swing_deg": (F(-75), F(60))}, False),
            ({"obstacles": (Obstacle(F(-120), F(0), F(2)),)}, True),
            ({"obstacles": (Obstacle(F(0), F(-120), F(2)),)}, False),
            ({}, True),
        ],
        2,
    ),
)
def test_it_says_where_the_studs_may_stand_on_either_side(change, same):
    shop = demo_shop()
    made = checked("80/44 48/100", replace(shop, quadrant=replace(shop.quadrant, **change)))
    assert ("the studs may stand on either side" in words_of(made)) == same


def test_a_train_without_studs_says_nothing_of_swing():
    made = checked("100/100", plain([100, 100]))
    assert made.fit.placement is not None
    assert "swing" not in words_of(made)


@pytest.mark.parametrize(("at", "drawn"), [((F(90), F(-85)), 1), ((F(-60), F(70)), 1), ((F(90), F(-900)), 0)])
def test_the_picture_beside_a_table_holds_every_casting_that_it_draws(at, drawn):
    shop = demo_shop()
    made = checked("80/44 48/100", replace(shop, quadrant=replace(shop.quadrant, obstacles=(Obstacle(*at, F(12)),))))
    drawing = svg.small_svg(made)
    left, top, wide, high = map(float, re.search(r'viewBox="([^"]+)"', drawing)[1].split())
    rounds = [tuple(map(float, found)) for found in re.findall(r'<circle cx="(.+?)" cy="(.+?)" r="(.+?)"', drawing)]
    assert ((float(at[0]), -float(at[1]), 12.0) in rounds) == drawn
    for x, y, radius in rounds:
        assert left <= x - radius < x + radius <= left + wide
        assert top <= y - radius < y + radius <= top + high
