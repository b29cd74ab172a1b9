"""Against trains whose fitting is published: Brown & Sharpe 1914 p. 62, and a lathe owner's on softsolder.com."""

from fractions import Fraction as F

import numpy as np
import pytest
from published_values import published, rounds_to
from quadrants import plain
from shops import CLASSIC_TEETH

from gearsearch.mounting.judge import Judge
from gearsearch.shop.gears import GearSet, Kind
from gearsearch.shop.machine import Route
from gearsearch.shop.machines.lathe import Lathe
from gearsearch.shop.pool import pool_of
from gearsearch.shop.shop import Shop
from gearsearch.shop.trains import Pair, Train

BOOK = published("brown_sharpe_1914")
POST = published("softsolder_mounting")
CASES = {row["case"]: row for row in BOOK["arrangement"]}


def head():
    """The classic gears on a bracket of plausible size: shafts 6 in apart, nuts of 1 in, one stud or two in a slot.

    The book gives no sizes; 12 per inch is the pitch of its gears from memory.
    """
    shop = plain(
        CLASSIC_TEETH,
        shaft_distance_mm=(F(762, 5), F(762, 5)),
        reach_mm=(F(40), F(200)),
        nut_radius_mm=dict.fromkeys(("first", "stud", "last"), F(127, 10)),
    )
    return Shop(shop.name, "mm", shop.machine, (GearSet(Kind(F(127, 60)), CLASSIC_TEETH),), shop.quadrant)


def of_the_book(row):
    """The train of a row."""
    return Train(tuple(Pair(a, b) for a, b in zip(row["drivers"], row["driven"], strict=True)))


def lathe(distance=F(95)):
    """A small lathe with a slotted bracket, its sizes made up; module 1."""
    shop = plain(
        (21, 28, 50, 60, 80, 81),
        kind="lathe",
        shaft_distance_mm=(distance, distance),
        reach_mm=(F(20), F(120)),
        nut_radius_mm=dict.fromkeys(("first", "stud", "last"), F(8)),
    )
    machine = Lathe(F(127, 80), (Route("spindle", F(1), "right"),))
    return Shop(shop.name, "mm", machine, (GearSet(Kind(F(1)), shop.gears[0].teeth),), shop.quadrant)


def of_the_post(row):
    """The train of a row."""
    a, b, c, d = row["gears"]
    return Train((Pair(a, b), Pair(c, d)))


@pytest.mark.parametrize(
    ("case", "why"),
    [
        ("MT01", "tightest "),
        ("MT02", "the 100 on stud 1 fouls the nut of the table screw by "),
        ("MT03", "the 48 on stud 1 fouls the nut of the last shaft (worm) by "),
        ("MT04", "the 100 on stud 1 fouls the nut of the table screw by "),
    ],
)
def test_by_geometry_just_the_arrangement_found_by_actual_test_mounts(case, why):
    row = CASES[case]
    shop = head()
    judged = Judge(shop, pool_of(shop), shop.route()).place(of_the_book(row))
    assert judged.mounts == ("yes" if row["mounts"] else "no"), (BOOK["title"], row, judged)
    assert judged.why.startswith(why), (BOOK["title"], row, judged)


@pytest.mark.parametrize("row", BOOK["arrangement"], ids=lambda row: row["case"])
def test_by_the_rule_of_thumb_just_the_arrangement_found_by_actual_test_mounts(row):
    shop = head()
    judged = Judge(shop, pool_of(shop), shop.route(), "rule").place(of_the_book(row))
    assert judged.mounts == ("rule" if row["mounts"] else "no"), (BOOK["title"], row, judged)


def test_gears_too_small_to_reach_for_one_hand_can_be_used_for_the_other():
    """P. 62: because the reversing gear is then needed, and fills the gap. The book names no train; this is ours."""
    shop = head()
    judge = Judge(shop, pool_of(shop), shop.route())
    gears = np.array([[judge.pool.number("", teeth) for teeth in (24, 32, 24, 28)]])
    right, left = (judge.judged(judge.best(gears, hand), 0) for hand in ("right", "left"))
    assert right.mounts == "no"
    assert right.why == "does not reach: 114.3 mm of 152.4 mm"
    assert (left.mounts, left.hand, len(left.train.idlers)) == ("yes", "left", 1)


@pytest.mark.parametrize("row", POST["train"], ids=lambda row: row["case"])
def test_a_lathe_owners_trains_cut_the_pitch_and_fit_as_he_found(row):
    shop, train = lathe(), of_the_post(row)
    box, route = pool_of(shop), shop.route()
    assert rounds_to(shop.lead(train, route), row["printed"]), (POST["title"], row)
    by_rule = Judge(shop, box, route, "rule").place(train)
    assert by_rule.mounts == ("rule" if row["mounts"] else "no"), (POST["title"], row, by_rule)
    judged = Judge(shop, box, route).place(train)
    assert judged.mounts == ("yes" if row["mounts"] else "no"), (POST["title"], row, judged)
    if row["case"] == "SS01":
        assert judged.why == "the 81 on stud 1 fouls the nut of the first shaft (spindle side) by 9.0 mm"
