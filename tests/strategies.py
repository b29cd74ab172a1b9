"""Shops made up for tests by hypothesis."""

from fractions import Fraction

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from slow import some

from gearsearch.shop.gears import GearSet, Kind
from gearsearch.shop.machine import MACHINES, Route
from gearsearch.shop.quadrant import Quadrant
from gearsearch.shop.shop import Shop

KINDS = (
    Kind(Fraction(3, 2), Fraction(20), "m1.5", "module 1.5 mm"),
    Kind(Fraction(2), Fraction(20), "m2", "module 2 mm"),
)
few_teeth = st.integers(12, 40)


def drawn(*strategies, quick, slow):
    """Try a test on that many values of the strategies every day, and as a slow test on more."""

    def decorated(test):
        @pytest.mark.parametrize("examples", some([quick, slow]))
        def run(examples):
            settings(max_examples=examples, suppress_health_check=list(HealthCheck))(given(*strategies)(test))()

        run.__name__, run.__doc__ = test.__name__, test.__doc__
        return run

    return decorated


@st.composite
def gear_sets(draw, tag_kinds=KINDS, most=7):
    """One or two kinds of tooth with repeats, joined pieces, fixed gears and gears bored for one place."""
    kinds = list(tag_kinds[: draw(st.integers(1, 2))])
    if len(kinds) == 1:
        kinds = [Kind(Fraction(3, 2))]
    sets, fixed_left = [], ["first", "last"]
    for kind in kinds:
        teeth = sorted(draw(st.lists(few_teeth, min_size=1, max_size=most // len(kinds))))
        joined = tuple(draw(st.lists(st.tuples(few_teeth, few_teeth), max_size=1)))
        fixed = {}
        if fixed_left and draw(st.integers(0, 4)) == 0:
            fixed[fixed_left.pop(draw(st.integers(0, len(fixed_left) - 1)))] = draw(few_teeth)
        only_on = {}
        if draw(st.integers(0, 4)) == 0:
            only_on[draw(st.sampled_from(teeth))] = frozenset({draw(st.sampled_from(["first", "stud", "last"]))})
        sets.append(GearSet(kind, tuple(teeth), joined, fixed, only_on))
    return tuple(sets)


@st.composite
def shops(draw, most=7):
    """A mill or a lathe with a made-up box, without geometry to judge by."""
    ratio = draw(st.sampled_from([Fraction(40), Fraction(60), Fraction(1), Fraction(72, 5)]))
    route = Route("worm", ratio, draw(st.sampled_from(["right", "left"])))
    screw = draw(st.sampled_from([Fraction(5), Fraction(6), Fraction(127, 20), Fraction(127, 30)]))
    machine = MACHINES[draw(st.sampled_from(["mill", "lathe"]))](screw, (route,))
    smallest = {"first": draw(st.integers(12, 20))} if draw(st.integers(0, 4)) == 0 else {}
    largest = {"last": Fraction(draw(st.integers(40, 70)))} if draw(st.integers(0, 4)) == 0 else {}
    quadrant = Quadrant(None, smallest=smallest, largest=largest) if smallest or largest else None
    return Shop("Made up", "mm", machine, draw(gear_sets(most=most)), quadrant)
