"""Gears named with their kind of tooth, 60@m2, where a shop has several: to be used, and to do without."""

from collections import Counter
from dataclasses import replace
from fractions import Fraction

import pytest
from commands import code_of
from hypothesis import given, settings
from hypothesis import strategies as st
from refusals import refused
from shops import mill

from gearsearch.dividing.at_hand import AtHand
from gearsearch.search.find import find
from gearsearch.search.terms import Terms
from gearsearch.shop.gears import GearSet, Kind
from gearsearch.shop.pool import pool_of
from gearsearch.work.part import Part

KINDS = (Kind(Fraction(3, 2), tag="m1.5"), Kind(Fraction(2), tag="m2"))
SHOP = replace(mill((20, 30)), gears=(GearSet(KINDS[0], (20, 30, 40, 40)), GearSet(KINDS[1], (24, 30, 40, 48))))
OWNED = [(teeth, gears.kind.tag) for gears in SHOP.gears for teeth in gears.teeth]
SKIP = Terms(pairs=(1, 2), mounting="skip", count=1000)
NAMES = st.sampled_from([20, 24, 30, 40, "30@m2", "40@m2", "40@m1.5", "24@m2", "48@m2"])


def can_be(names, gears):
    """Whether each name can be given a gear of its own: every way tried."""
    if not names:
        return True
    (teeth, _, kind), rest = str(names[0]).partition("@"), names[1:]
    places = [n for n, gear in enumerate(gears) if gear[0] == int(teeth) and kind in ("", gear[1])]
    return any(can_be(rest, gears[:n] + gears[n + 1 :]) for n in places)


def all_sets():
    """Drivers and driven of every train that is told, as gears with their kinds."""
    return [fit.train for fit in find(SHOP, Part(Fraction(360)), SKIP).fits]


@given(st.lists(NAMES, min_size=1, max_size=3))
@settings(deadline=None, max_examples=40)
def test_every_train_has_the_gears_that_were_named_and_no_other_is_left_out(names):
    if not can_be(names, OWNED):
        with refused("gear-not-owned"):
            find(SHOP, Part(Fraction(360)), replace(SKIP, use=names))
        return
    found = {str(fit.train) for fit in find(SHOP, Part(Fraction(360)), replace(SKIP, use=names)).fits}
    wheels = {
        str(train): [(teeth, pair.kind) for pair in train.pairs for teeth in (pair.driver, pair.driven)]
        for train in all_sets()
    }
    assert all(can_be(names, wheels[train]) for train in found if train in wheels)
    assert {train for train, gears in wheels.items() if can_be(names, gears)} <= found


@given(st.lists(NAMES, min_size=1, max_size=4))
@settings(deadline=None, max_examples=60)
def test_gears_in_use_elsewhere_are_gone_of_their_own_kind_first(names):
    if not can_be(names, OWNED):
        with refused("no-such-gear"):
            pool_of(SHOP, names)
        return
    left = Counter()
    box = pool_of(SHOP, names)
    for number, count in enumerate(box.loose):
        left[box.teeth[number], box.tags[box.kind[number]]] = count
    gone = Counter(OWNED) - left
    assert sum(gone.values()) == len(names)
    assert can_be(names, list(gone.elements()))
    rest = AtHand(without=tuple(names)).shop(SHOP)
    assert Counter((teeth, gears.kind.tag) for gears in rest.gears for teeth in gears.teeth) == +left


@pytest.mark.parametrize(("name", "code"), [("60@x", "no-such-kind"), ("20@m2", "no-such-gear")])
def test_a_gear_of_a_kind_that_is_not_there_is_refused(name, code):
    asked = ((replace(SKIP, use=(name,)), "gear-not-owned"), (replace(SKIP, without=(name,)), code))
    for terms, told in asked:
        with refused(told, name.partition("@")[2]):
            find(SHOP, Part(Fraction(360)), terms)


@pytest.mark.parametrize("bad", ["60@", "@m2", "m2", "", 1.5])
def test_what_names_no_gear_is_refused(bad):
    for name in ("use", "without"):
        with refused("not-whole"):
            Terms(**{name: (bad,)})


def test_the_command_takes_what_is_printed():
    assert code_of("find", "--lead", "412.5", "--use", "60@m2") == 2  # the demo has one kind of tooth
    assert code_of("find", "--lead", "412.5", "--use", "80,44") == 0
