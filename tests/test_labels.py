"""No words of a picture on other words, on a rim or over a tooth number, for trains of every kind at random."""

import random
from fractions import Fraction as F
from itertools import combinations

import pytest
from matplotlib.font_manager import FontProperties
from matplotlib.textpath import TextPath
from quadrants import plain
from shapely import affinity
from shapely.geometry import LineString, Point, box
from shops import DEMO_TEETH
from slow import some

from gearsearch.mounting.placement import Names
from gearsearch.output.drawing import papers, picture
from gearsearch.output.drawing.marks import UNDER, Round, Stroke, Words
from gearsearch.output.drawing.train_view import TrainView
from gearsearch.search.check import check
from gearsearch.search.find import find
from gearsearch.search.terms import Terms
from gearsearch.shop.quadrant import Obstacle
from gearsearch.shop.reader import demo_shop
from gearsearch.work.asking import part

MOVING = {"shaft_distance_mm": (F(150), F(200)), "reach_mm": (F(40), F(260))}
SHOPS = {  # by their most pairs
    "the demo": (demo_shop(), 2),
    "three studs": (plain(DEMO_TEETH, studs=3, planes=3, **MOVING), 4),
    "a plate": (plain(DEMO_TEETH, layout="plate", pivot="last", swing_deg=(F(-90), F(60)), **MOVING), 3),
    "a casting": (plain(DEMO_TEETH, units="in", obstacles=(Obstacle(F(80), F(-60), F(15)),)), 3),
}
POINT_MM = 25.4 / 72


def trains(name, count, seed):
    """So many trains that mount, each with its shop and placement."""
    shop, most = SHOPS[name]
    rng = random.Random(seed)
    while count > 0:
        pairs = rng.randint(1, most)
        terms = Terms(pairs=(pairs, pairs), hand=rng.choice(["right", "left"]), count=10)
        found = find(shop, part(lead=f"{rng.choice([5, 40, 300]) * rng.uniform(1, 8):.3f}mm"), terms).fits
        for fit in rng.sample(found, min(len(found), count, 4)):
            count -= 1
            yield shop, fit


def ink(words, scale):
    """What words cover, by the outlines of their letters."""
    below = UNDER * POINT_MM * scale * 1.25 if words.under else 0.0
    shapes = []
    lines = [(words.text, words.size, "bold" if words.bold else "normal", below / 2)]
    lines += [(words.under, UNDER, "normal", -words.size * POINT_MM * scale * 1.25 / 2)] if words.under else []
    for text, size, weight, up in lines:
        path = TextPath((0, 0), text, size=size, prop=FontProperties(weight=weight))
        (x0, y0), (x1, y1) = path.get_extents().get_points() * POINT_MM * scale
        half = (x1 - x0) / 2, (y1 - y0) / 2
        at = words.at[0], words.at[1] + up
        shapes.append(box(at[0] - half[0], at[1] - half[1], at[0] + half[0], at[1] + half[1]))
    return [affinity.rotate(shape, words.turned, origin=words.at) for shape in shapes]


def faults(shop, fit, scale, brief):
    """What is wrong with a picture, in words; empty where nothing is."""
    names = Names(shop, shop.machine.routes[0], len(fit.placement.studs))
    marks = TrainView(fit.placement, shop.quadrant, names, scale, brief).marks()
    texts = [(mark, shape) for mark in marks if isinstance(mark, Words) for shape in ink(mark, scale)]
    for (one, a), (other, b) in combinations(texts, 2):
        if one is not other and a.intersects(b):
            yield f"{one.text} on {other.text}"
    for mark in marks:
        if isinstance(mark, Round) and mark.name.startswith(("tip", "nut", "obstacle")):
            line = Point(mark.at).buffer(mark.radius, 128).exterior
            yield from (f"{words.text} over {mark.name}" for words, shape in texts if shape.intersects(line))
        if isinstance(mark, Stroke) and mark.name.startswith(("leader", "turn", "size")):
            line = LineString(mark.points)
            for words, shape in texts:
                own = mark.points[0] == words.at or (mark.name == "size" and line.distance(Point(words.at)) < 1e-6)
                if not own and shape.intersects(line):
                    yield f"{words.text} over a {mark.name} line"
    told = [mark.text for mark in marks if isinstance(mark, Words)]
    counts = [f"({wheel.teeth})" if wheel.role == "idler" else str(wheel.teeth) for wheel in fit.placement.wheels]
    yield from (f"no {count}" for count in counts if count not in told)
    shafts = [names.shaft(number).removeprefix("the ") for number in range(len(fit.placement.studs) + 2)]
    yield from (f"no {name}" for name in shafts if name not in told)
    turning = sum(isinstance(mark, Stroke) and mark.name.startswith("turn-") for mark in marks)
    yield from ["an arrow is missing"] * (turning < len(shafts))


@pytest.mark.parametrize("brief", [False, True])
@pytest.mark.parametrize("name", SHOPS)
def test_a_few_trains_have_their_words_apart(name, brief):
    with papers.drawing():
        for shop, fit in trains(name, 3, 17):
            assert list(faults(shop, fit, 4.0, brief)) == [], str(fit.train)


@pytest.mark.slow
@pytest.mark.parametrize("scale", [2.5, 6.0])
@pytest.mark.parametrize("name", SHOPS)
def test_two_thousand_trains_have_their_words_apart(name, scale):
    with papers.drawing():
        for number, (shop, fit) in enumerate(trains(name, 250, scale * 100)):
            assert list(faults(shop, fit, scale, number % 2 == 0)) == [], str(fit.train)


@pytest.mark.parametrize("paper", some(papers.PAPERS_MM))
def test_a_train_of_four_pairs_has_room_on_its_sheet(paper):
    shop, fit = next(trains("three studs", 1, 4))
    with papers.drawing():
        figure = papers.blank(*papers.size_mm(paper))[0]
        picture.draw_beside(figure, (10, 100, 190, 60), check(shop, fit.train))
        assert len(figure.axes) == 2
