"""Where a place only just is, or only just is not, one: mirror images, studs in line, small shaft distances."""

import random
from dataclasses import replace
from fractions import Fraction as F
from math import acos, degrees

import naive_mounting as naive
import numpy as np
import pytest
from quadrants import LAYOUTS, made_up_set, plain
from slow import some

from gearsearch.mounting.judge import Judge
from gearsearch.shop.brackets.slots import SlotLine, Slots
from gearsearch.shop.gears import Kind
from gearsearch.shop.pool import pool_of
from gearsearch.shop.quadrant import Obstacle
from gearsearch.shop.shop import Shop
from gearsearch.shop.trains import Train

OPEN = {
    "swing_deg": (F(-180), F(180)),
    "reach_mm": (F(1, 10), F(2000)),
    "nut_radius_mm": dict.fromkeys(("first", "stud", "last"), F(1, 10)),
    "studs": 3,
}


# where the slow way finds a place
FAR_OUT = [
    *(("slot", seed) for seed in (136, 492, 520, 592, 911, 918, 1198, 1610, 2208, 2420, 2734)),
    *(("plate", seed) for seed in (2, 57, 65, 90, 136, 138, 164, 188, 191, 211, 265, 281)),
]


def test_of_two_mirror_images_that_will_do_the_upper_is_told():
    """There is more room below: the swing goes to −90° there, and to +60° above."""
    shop = plain((36, 48, 100, 100), shaft_distance_mm=(F(140), F(165)), swing_deg=(F(-90), F(60)), studs=1)
    judged = Judge(shop, pool_of(shop), shop.route()).place(Train.parse("36/(100)/48"))
    assert judged.mounts == "yes"
    assert 0 < judged.placement.studs[0].swing_deg < 60


@pytest.mark.parametrize("side", [-1, 1])
@pytest.mark.parametrize("seed", range(20))
def test_where_neither_mirror_image_is_inside_the_swing_the_nearer_counts(seed, side):
    """Nothing but the swing is in the way, on one side of the line; the order that fails by least is told."""
    rng = random.Random(seed)
    gears = rng.sample(range(20, 90), 4)
    swing = sorted((F(side * 150), F(side * 160)))
    shop = plain(gears, **{**OPEN, "shaft_distance_mm": (F(150),) * 2, "swing_deg": tuple(swing)})
    box = pool_of(shop)
    judge = Judge(shop, box, shop.route())
    best = judge.best(np.array([[0, 1, 2, 3]]), "right")
    margins = {}
    for _, pairs, _, _ in naive.arrangements(box, [0, 1], [2, 3], [0]):
        margin = naive.Drawing(shop, box, pairs).room()[0]
        if margin > -1000:
            margins[box.train([p[0] for p in pairs], [p[2] for p in pairs], [[], []])] = margin
    assert not best.mounts[0]
    if margins:
        assert margins[judge.train(best, 0)] == pytest.approx(max(margins.values()), abs=1e-6)


def stands(drawing, judged):
    """Whether the gap of a placement is one that the slow way finds too, in the same place."""
    points = {wheel.shaft: (wheel.x_mm, wheel.y_mm) for wheel in judged.placement.wheels}
    return any(
        all(
            abs(a - b) < 1e-6
            for shaft, point in zip(drawing.from_pivot, place[3], strict=True)
            for a, b in zip(points[shaft], point, strict=True)
        )
        for place in drawing.best()[2]
    )


def unlike_meshes(seed):
    """Three pairs of which the second stands much farther apart than the last, on a plate; and where they can close."""
    rng = random.Random(seed)
    small, large = rng.sample(range(16, 30), 4), rng.sample(range(70, 110), 2)
    teeth = [*small, *large]
    first, between, last = (F(3, 4) * (a + b) for a, b in ((small[0], small[1]), large, (small[2], small[3])))
    distance = F(rng.uniform(float(first), float(between - last)) + 5)
    text = f"{small[0]}/{small[1]} {large[0]}/{large[1]} {small[2]}/{small[3]}"
    cosine = (distance**2 + first**2 - (between - last) ** 2) / (2 * distance * first)
    return teeth, Train.parse(text), distance, degrees(acos(max(-1.0, min(1.0, float(cosine)))))


@pytest.mark.parametrize("more", [0, 1])
@pytest.mark.parametrize("seed", range(30))
def test_on_a_plate_no_stud_is_put_where_its_gears_do_not_mesh(seed, more):
    """The swing leaves the first stud only places from which the other two meshes cannot bridge the rest of the way."""
    teeth, train, distance, least = unlike_meshes(seed)
    assert least > 4
    given = {**OPEN, "layout": "plate", "shaft_distance_mm": (distance,) * 2}
    for ends in ((F(2 + more - least), F(least - 2)), (F(-180), F(180))):
        shop = plain(teeth, **{**given, "swing_deg": ends})
        box = pool_of(shop)
        judged = Judge(shop, box, shop.route()).place(train)
        assert ends[1] == 180 or judged.mounts == "no"
        if judged.mounts == "yes":
            sizes = [(box.number("", p.driver), (), box.number("", p.driven)) for p in train.pairs]
            assert stands(naive.Drawing(shop, box, sizes), judged)


@pytest.mark.parametrize("folded", [False, True])
@pytest.mark.parametrize("part", some(range(8), 3))
def test_on_a_plate_studs_may_stand_in_one_line_with_the_shafts(part, folded):
    """Stretched out, or folded back on the longest mesh: to the last bit, where a cosine may come out beyond 1."""
    found = 0
    for seed in range(40 * part, 40 * part + 40):
        rng = random.Random(seed)
        a, b, c, d, e, f = rng.sample(range(16, 60), 6)
        if folded:
            c, d = c + 100, d + 100
        module = rng.choice([F(3, 2), F(127, 100), F(127, 60)])  # the last two are no binary fractions
        centres = [module * total / 2 for total in (a + b, c + d, e + f)]
        distance = centres[1] - centres[0] - centres[2] if folded else sum(centres)
        if distance <= 0:
            continue
        shop = plain((a, b, c, d, e, f), **{**OPEN, "layout": "plate", "shaft_distance_mm": (distance,) * 2})
        shop = replace(shop, gears=(replace(shop.gears[0], kind=Kind(module)),))
        box = pool_of(shop)
        pairs = [(box.number("", driver), (), box.number("", driven)) for driver, driven in ((a, b), (c, d), (e, f))]
        judged = Judge(shop, box, shop.route()).place(Train.parse(f"{a}/{b} {c}/{d} {e}/{f}"))
        drawing = naive.Drawing(shop, box, pairs)
        expected = drawing.room()[0] >= -1e-9
        assert (judged.mounts == "yes") == expected, (seed, judged.why)
        found += expected
    assert found > 3 or folded  # folded back, some gears always foul


def close_together(seed, layout):
    """A train of three pairs on shafts close together, its box, and by how much the slow way says it mounts."""
    rng = random.Random(seed)
    teeth = [*rng.sample(range(16, 40), 4), *rng.sample(range(60, 110), 2)]
    nuts = dict.fromkeys(("first", "stud", "last"), F(4))
    near = {"shaft_distance_mm": (F(rng.randint(12, 60)),) * 2, "nut_radius_mm": nuts, "planes": 3}
    shop = plain(teeth, **{**OPEN, "layout": layout, **near})
    drivers, driven = made_up_set(rng, pool_of(shop), 3)
    order = tuple(zip(drivers, [()] * 3, driven, strict=True))
    return shop, [*drivers, *driven], naive.Drawing(shop, pool_of(shop), order).room()[0]


@pytest.mark.parametrize(("layout", "seed"), some(FAR_OUT[::-1], 8))
def test_where_the_shafts_are_close_together_a_far_stud_still_has_its_room(layout, seed):
    """Studs out beyond the other shaft, farther from it than the shafts are from each other."""
    shop, sizes, margin = close_together(seed, layout)
    assert margin > 0
    assert Judge(shop, pool_of(shop), shop.route()).best(np.array([sizes]), "either").mounts[0]


def test_the_rule_of_thumb_asks_nothing_of_an_idler_in_the_second_pair():
    """60 + 16 > 14 + 15 and 14 + 20 > 16 + 15; between 14 and 60 no gear of 20 could stand on a stud as a pair."""
    shop = Shop("Millrace", "mm", plain((12,)).machine, plain((14, 16, 20, 60, 60)).gears)
    for hand in ("right", "left"):
        judged = Judge(shop, pool_of(shop), shop.route()).place(Train.parse("60/16 14/(20)/60"))
        assert judged.mounts == "rule", (hand, judged.why)


@pytest.mark.parametrize("layout", LAYOUTS)
@pytest.mark.parametrize("seed", range(24))
def test_each_train_of_many_is_judged_as_if_it_were_alone_where_the_head_can_be_moved(seed, layout):
    """Trains with few studs after trains with many, beside castings."""
    rng = random.Random(seed)
    blocks = tuple(
        Obstacle(F(rng.randint(-40, 160)), F(rng.randint(-120, 120)), F(rng.randint(4, 20)))
        for _ in range(rng.choice([0, 1, 2]))
    )
    teeth = rng.sample(range(20, 70), 6)
    distance = F(rng.randint(80, 150))
    shop = plain(teeth, layout=layout, studs=3, shaft_distance_mm=(distance, distance + 6), obstacles=blocks)
    judge = Judge(shop, pool_of(shop), shop.route())
    drawn = [made_up_set(rng, judge.pool, pairs) for pairs in (2, 2, 2, 2)]
    rows = [[*a, *b] for a, b in filter(None, drawn)]
    together = judge.best(np.array(rows, np.int64), "either")
    for number, row in enumerate(rows):
        alone = judge.best(np.array([row], np.int64), "either")
        for name in ("mounts", "idler_count", "clearance_um", "drivers", "driven", "idlers", "idler_pairs"):
            assert np.array_equal(getattr(alone, name)[0], getattr(together, name)[number]), (name, number)


CLOSE = {**OPEN, "studs": 4, "nut_radius_mm": {"first": F(1, 2), "last": F(1, 2), "stud": F(3)}}


@pytest.mark.parametrize(
    ("text", "given"),
    [
        # on a plate, both studs with gears larger than the shafts are apart
        ("20/80 21/81 82/22", {"layout": "plate", "shaft_distance_mm": (F(35),) * 2, "planes": 3}),
        ("22/82 81/21 80/20", {"layout": "plate", "shaft_distance_mm": (F(35),) * 2, "planes": 3}),
        # in a slot that swings behind the pivot, the other shaft with a gear that reaches almost to it
        ("12/(15)/(14)/53 54/130", {"shaft_distance_mm": (F(101),) * 2, "swing_deg": (F(-100), F(100))}),
    ],
)
def test_room_between_shafts_is_not_taken_for_room_at_a_stud(text, given):
    """A stud is farther from a shaft than the shafts are from each other, and its gears need that."""
    train = Train.parse(text)
    shop = plain([*train.drivers, *train.driven, *train.idlers], **{**CLOSE, **given})
    box = pool_of(shop)
    sizes = [box.number("", count) for count in (*train.drivers, *train.driven)]
    pairs = [
        (
            box.number("", pair.driver),
            tuple(box.number("", count) for count in pair.idlers),
            box.number("", pair.driven),
        )
        for pair in train.pairs
    ]
    drawing = naive.Drawing(shop, box, pairs)
    assert drawing.room()[0] > 0
    judge = Judge(shop, box, shop.route())
    for ask in (judge.orders, judge.best):
        assert ask(np.array([sizes]), "either").mounts[0]


def line(start, end, studs, centre=None):
    return SlotLine(*((F(x), F(y)) for x, y in (start, end)), studs, centre and (F(centre[0]), F(centre[1])))


ALONG, ASIDE = line((40, 0), (190, 0), 2), line((0, 40), (0, 190), 2)
ON_THE_PIVOT = {
    "two slots that point at the pivot": Slots(lines=(ALONG, ASIDE)),
    "a slot and its other half": Slots(lines=(ALONG, line((-40, 0), (-190, 0), 1))),
    "an arc of a circle through the pivot": Slots(lines=(line((50, 50), (10, 30), 2, (50, 0)), ASIDE)),
    "a slot across the pivot": Slots(lines=(line((-100, 0), (190, 0), 3),)),
    "an arc across the pivot": Slots(lines=(line((10, 30), (10, -30), 3, (50, 0)),)),
}


@pytest.mark.parametrize("apart", [48, 75, 100])
@pytest.mark.parametrize("bracket", ["plate", *ON_THE_PIVOT])
def test_a_stud_that_comes_to_the_pivot_or_the_other_shaft_is_no_place_and_no_warning(bracket, apart):
    """All pairs mesh at 75 mm, so the second stud can come back to the pivot; the plate swings from 0° on."""
    teeth = (40, 60, 30, 70, 44, 56)
    given = {**OPEN, "layout": "plate", "swing_deg": (F(0), F(90)), "planes": 3, "shaft_distance_mm": (F(apart),) * 2}
    shop = plain(teeth, **given)
    if bracket != "plate":
        quadrant = replace(shop.quadrant, bracket=ON_THE_PIVOT[bracket], swing_deg=(F(-180), F(180)))
        shop = replace(shop, quadrant=quadrant)
    box = pool_of(shop)
    judge = Judge(shop, box, shop.route())
    every = judge.every(np.array([box.number("", count) for count in (*teeth[::2], *teeth[1::2])]), "either")
    assert not any("nan" in judged.why for judged in every)
    for judged in [*every[:2], every[-1]]:
        pairs = [(box.number("", pair.driver), (), box.number("", pair.driven)) for pair in judged.train.pairs]
        drawing = naive.Drawing(shop, box, pairs)
        _, gap, places = drawing.best()
        assert (judged.mounts, judge.place(judged.train).why) == ("yes" if places else "no", judged.why)
        assert not places or abs(judged.clearance_mm - gap) < 1e-3
