"""The train in plain characters: every gear in its plane, every mesh under it, keyed gears joined."""

from dataclasses import replace

import pytest
from shops import DEMO_TEETH, mill

from gearsearch.search.check import check
from gearsearch.sheet.stacked import stacked
from gearsearch.shop.quadrant import Quadrant
from gearsearch.shop.reader import demo_shop
from gearsearch.shop.trains import Train


def lines(train, shop=None):
    return stacked(check(shop or demo_shop(), Train.parse(train)))


def test_an_idler_stands_in_the_plane_of_its_pair():
    assert lines("86/(44)/52 64/127") == [
        "                    plane 1       plane 2   | in mesh   = keyed together",
        "table screw            86",
        "                       |",
        "stud 1                (44)",
        "                       |",
        "stud 2                 52 ========== 64",
        "                                     |",
        "last shaft (worm)                   127",
    ]


def test_with_two_planes_the_third_pair_comes_back_to_the_first():
    assert lines("72/24 80/44 30/20")[-4:] == [
        "                                     |",
        "stud 2                 30 ========== 44",
        "                       |",
        "last shaft (worm)      20",
    ]


def test_with_three_planes_the_third_pair_goes_on():
    demo = demo_shop()
    shop = replace(demo, quadrant=replace(demo.quadrant, planes=3))
    assert lines("72/24 80/44 30/20", shop)[-3:] == [
        "stud 2                               44 ========== 30",
        "                                                   |",
        "last shaft (worm)                                  20",
    ]


@pytest.mark.parametrize("quadrant", [None, Quadrant(None)])
def test_without_a_quadrant_two_planes_are_drawn(quadrant):
    assert "plane 2" in lines("72/24 80/44", mill(DEMO_TEETH, quadrant=quadrant))[0]


def test_a_single_pair_has_one_plane():
    assert lines("40/72")[0].split() == ["plane", "1", "|", "in", "mesh", "=", "keyed", "together"]
