"""Joined pieces in a train: which gears come from one, which partner hangs idle, and what the sheet says of it."""

from collections import Counter
from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from refusals import refused
from shops import mill

from gearsearch.dividing.at_hand import AtHand
from gearsearch.mounting.pieces import Piece, pieces_of, shafts
from gearsearch.mounting.placement import Names, placement_lines
from gearsearch.output.text import text
from gearsearch.search.check import check
from gearsearch.search.find import find
from gearsearch.search.terms import Terms
from gearsearch.sheet.page import Job, choose, document
from gearsearch.shop.brackets.plate import Plate
from gearsearch.shop.gears import GearSet, Kind
from gearsearch.shop.pool import pool_of
from gearsearch.shop.quadrant import Quadrant
from gearsearch.shop.reader import demo_shop
from gearsearch.shop.trains import Pair, Train
from gearsearch.work.asking import part

PLATE = Quadrant((Fraction(200), Fraction(200)), bracket=Plate(), nut_radius_mm={"stud": Fraction(10)})
LOOSE = (20, 30, 40, 45, 50, 60, 80, 127)


def shop(loose=LOOSE, joined=((120, 127),), quadrant=None, **more):
    return replace(mill((20,), quadrant=quadrant), gears=(GearSet(Kind(Fraction(3, 2)), loose, joined, **more),))


def pieces(train, shop, *, placed=False):
    checked = check(shop, Train.parse(train))
    assert checked.fit.mounts in ("yes", "rule")
    return pieces_of(shop, checked.fit.train, checked.fit.placement if placed else None)


def said(train, shop):
    return " ".join(text(document(Job(check(shop, Train.parse(train))))).split())


@pytest.mark.parametrize(
    ("train", "found"),
    [
        ("40/(127)/120", {2: Piece("", (120, 127), 127)}),
        ("40/120 127/80", {1: Piece("", (120, 127))}),
        ("40/(120)/60", {1: Piece("", (120, 127), 127)}),
        ("40/127", {}),
        ("120/(40)/127", {0: Piece("", (120, 127), 127)}),
    ],
)
def test_loose_gears_are_taken_first_and_a_piece_where_they_do_not_do(train, found):
    assert pieces(train, shop()) == found


def test_a_fixed_gear_is_taken_from_neither():
    fixed = shop((20, 30, 60), ((40, 30),), fixed={"first": 40})
    assert pieces("40/60", fixed) == {}
    assert pieces("40/(30)/60", fixed) == {}
    bare = shop((20, 60), ((40, 30),), fixed={"first": 40})
    assert pieces("40/(30)/60", bare) == {1: Piece("", (30, 40), 40)}


def test_where_it_stands_the_idle_partner_has_its_plane():
    placed = pieces("40/(127)/120", shop(quadrant=PLATE), placed=True)
    assert placed == {2: Piece("", (120, 127), 127, 1)}


@given(st.lists(st.sampled_from([20, 24, 30, 36]), min_size=2, max_size=5), st.data())
def test_a_train_that_the_box_makes_is_shared_out_among_its_gears(loose, data):
    joined = data.draw(st.lists(st.sampled_from([(20, 30), (24, 36), (30, 30), (36, 20)]), max_size=2))
    box = shop(tuple(sorted(loose)), tuple(joined))
    every = list(box.gears[0].available().elements())
    gears = data.draw(st.permutations(every).map(lambda row: row[:4]))
    if len(gears) < 4:
        return
    checked = check(box, Train((Pair(gears[0], gears[1]), Pair(gears[2], gears[3]))))
    if checked.fit.mounts == "no" and "joined" in checked.fit.why:
        assert pieces_of(box, checked.fit.train) == {}
        return
    found = pieces_of(box, checked.fit.train)
    used = Counter(piece.teeth for piece in found.values())
    rest = Counter(t for n, wheels in enumerate(shafts(checked.fit.train)) if n not in found for _, t in wheels)
    assert used <= Counter(map(tuple, map(sorted, joined)))
    assert rest <= Counter(loose)


def test_the_sheet_says_one_piece_and_which_gear_hangs_idle_where():
    idle = said("40/(127)/120", shop())
    assert "120 on the last shaft (worm) (one piece with a 127, which hangs idle beside it)." in idle
    assert "Stud 1 with the loose 127 as an idler." in idle
    assert "Stud 1 with 120 and 127, one piece." in said("40/120 127/80", shop())
    assert "keyed" not in said("40/120 127/80", shop()).replace("= keyed together", "")
    both = shop((*LOOSE, 120))
    assert "Stud 1 with the loose 120 and, keyed to it, the loose 127." in said("40/120 127/80", both)
    assert "Stud 1 with 120 as an idler (one piece with a 127, which hangs idle beside it)." in said(
        "40/(120)/60", shop()
    )
    assert "Stud 1 with 50 and, keyed to it, 45." in said("40/50 45/80", shop())


def test_with_a_quadrant_the_idle_gear_is_named_with_its_plane():
    box = shop(quadrant=PLATE)
    text = said("40/(127)/120", box)
    assert "(one piece with a 127, which hangs idle in plane 2); shafts 200.0 mm apart." in text
    assert "120 ======= 127 idle" in text
    fit = check(box, Train.parse("40/(127)/120")).fit
    lines = placement_lines(fit.placement, Names(box, box.route(), 1))
    assert "the idle 127 on the last shaft (worm), of a joined piece, in plane 2" in lines


def test_a_gear_that_cannot_come_off_is_no_loose_one_though_a_piece_has_its_count():
    made = shop()
    fixed = replace(made, gears=(replace(made.gears[0], fixed={"first": 120}),))
    assert "isolated. The fixed 120 on the table screw, 80 on the last shaft" in said("120/(40)/80", fixed)


def test_a_hand_that_was_not_asked_for_is_told_with_the_train_that_was_chosen():
    wanted = part(lead="412.5")
    made = demo_shop()
    assert "no hand was asked for" in choose(made, wanted).how
    assert "hand" not in choose(made, wanted, Terms(hand="left")).how
    lever = replace(made.route(), hand_with_one_stud="either")
    made = replace(made, machine=replace(made.machine, routes=(lever,)))
    assert "hand" not in choose(made, wanted).how


def test_a_gear_of_a_joined_piece_cannot_be_left_out_alone_and_it_is_said_which_piece():
    box = shop((20, 24, 36), ((60, 30),))
    with refused("joined-gear", "--without 60+30"):
        pool_of(box, (30,))
    with refused("no-such-gear", "31"):
        pool_of(box, (31,))
    assert pool_of(shop((20, 24, 30, 36), ((60, 30),)), (30,)).available.count(1) == 5


def test_a_piece_left_out_mounts_nowhere_and_a_shop_without_it_answers_alike():
    whole, less = shop(quadrant=PLATE), shop(quadrant=PLATE, joined=())
    for name in ("120+127", "127+120"):
        left = find(whole, part(lead="825 mm"), Terms(without=(name,), count=12))
        assert [fit.train for fit in left.fits] == [fit.train for fit in find(less, left.part, Terms(count=12)).fits]
    assert AtHand(without=("127+120",)).shop(whole).gears == less.gears
    with refused("no-such-gear", "120+126", "120+127"):
        pool_of(whole, ("120+126",))
    with refused("no-such-gear", "120+127"):
        pool_of(whole, ("120+127", "120+127"))
    with refused("not-whole", "gears to use"):
        Terms(use=("120+127",))


@pytest.mark.parametrize("names", [("60+30", "60+30@m1.5"), ("60+30@m1.5", "60+30")])
def test_a_piece_named_with_its_kind_of_tooth_is_taken_first_whatever_the_order(names):
    """As with loose gears: the other name then stands for the piece of the other kind."""
    kinds = (Kind(Fraction(3, 2), tag="m1.5"), Kind(Fraction(127, 80), tag="dp16"))
    both = replace(mill((20,)), gears=tuple(GearSet(kind, (20, 24), ((60, 30),)) for kind in kinds))
    assert [each.joined for each in AtHand(without=names).shop(both).gears] == [(), ()]
    assert [each.joined for each in AtHand(without=("60+30@m1.5",)).shop(both).gears] == [(), ((60, 30),)]


def test_a_piece_of_one_kind_is_left_out_by_its_name():
    kinds = Kind(Fraction(2), tag="m2"), Kind(Fraction(3), tag="m3")
    box = replace(mill((20,)), gears=tuple(GearSet(kind, (20, 40), ((30, 60),)) for kind in kinds))
    less = pool_of(box, ("60+30@m3",))
    assert [less.kind[gear] for gear, *_ in less.joined] == [0]
    with refused("no-such-gear"):
        pool_of(shop((20, 24, 30, 36), ((60, 30),)), (30, 30))
