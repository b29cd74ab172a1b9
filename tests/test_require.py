"""Whole numbers of numpy are taken wherever exact ones are, and none of them is kept or reckoned with."""

import dataclasses
from fractions import Fraction

import numpy as np
import pytest
from refusals import refused

from gearsearch.base import require
from gearsearch.charts import making as charts
from gearsearch.charts.looking import look_up
from gearsearch.dividing.indexing import crank_turns_of_angle, spacings
from gearsearch.dividing.ramps import lead_of_steps, step_of_total
from gearsearch.output.chart_files import Imprint, write_chart
from gearsearch.pairs.meshing import HelicalPair, helix_at_distance
from gearsearch.search.terms import Terms
from gearsearch.shop.brackets.slot import Slot
from gearsearch.shop.gears import Kind
from gearsearch.shop.head import Dividing
from gearsearch.shop.machine import Drive, Route
from gearsearch.shop.machines.mill import Mill
from gearsearch.shop.quadrant import Obstacle, Quadrant
from gearsearch.shop.reader import demo_shop
from gearsearch.shop.trains import Pair, Train
from gearsearch.work.accuracy import iso_helix_slope_um
from gearsearch.work.figures import Figures, error_in_words, longest_cut_mm
from gearsearch.work.helix import HelicalGear, helix_angle, helix_change
from gearsearch.work.part import Blank, Part
from gearsearch.work.spans import span_of
from gearsearch.work.tilt import tilt_for
from gearsearch.work.tolerance import Tolerance

HUGE = 2**62  # twice this is no longer a number of 64 bits
GEAR = HelicalGear(2, 20, 20)
AROUND = Tolerance.parse("0.05mm around over 60mm")


@pytest.mark.parametrize(
    "call",
    [
        lambda n: Route("worm", n(60), step_up_warning=n(4)),
        lambda n: Mill(n(6), (Route("worm", 60),), n(1), n(0)),
        lambda n: Kind(n(2), n(20)),
        lambda n: Obstacle(n(80), n(-20), n(15)),
        lambda n: Quadrant(
            (n(150), n(150)), bracket=Slot(2, (n(40), n(190))), swing_deg=(n(-20), n(20)), clearance_mm=n(1)
        ),
        lambda n: Slot(2, (n(40), n(190))),
        lambda n: Quadrant(None, nut_radius_mm={"first": n(12)}, smallest={"first": n(24)}, largest={"last": n(99)}),
        lambda n: Drive(Mill(n(HUGE), (Route("worm", 1),)), Route("worm", n(1))).lead_mm(Fraction(7)),
        lambda n: Dividing(n(40), ((n(15),),)),
        lambda n: Blank(length_mm=n(60), diameter_mm=n(50)),
        lambda n: Terms(greatest_step_up=n(4), greatest_pair_ratio=n(4)),
        lambda n: HelicalGear(n(2), n(20), n(20)).lead_mm,
        lambda n: Part(n(412), "", diameter_mm=n(50), tilt_deg=n(30), rise_mm=n(9)),
        lambda n: Tolerance("share", n(0), n(1)),
        lambda n: AROUND.interval(n(HUGE), n(HUGE)),
        lambda n: longest_cut_mm(AROUND, n(HUGE), n(HUGE - 1), n(HUGE)),
        lambda n: helix_angle(n(HUGE), n(HUGE)),
        lambda n: helix_change(n(HUGE), n(HUGE - 1), n(HUGE)),
        lambda n: tilt_for(n(HUGE - 1), n(HUGE)),
        lambda n: Figures(n(412), n(413), n(60), n(50)).around_mm,
        lambda n: Figures(Fraction(412), Fraction(413)).helix_slope_um(n(20), n(HUGE)),
        lambda n: error_in_words(Figures(n(412), n(413), n(60), n(50)), "in"),
        lambda n: iso_helix_slope_um(n(50), n(20), 6),
        lambda n: span_of(GEAR, n(20)),
        lambda n: HelicalPair(GEAR, GEAR, ("right", "left"), face_mm=n(20)).meshing((n(500), n(500))),
        lambda n: helix_at_distance(n(2), (20, 20), n(42)),
        lambda n: lead_of_steps(n(HUGE), n(7)),
        lambda n: step_of_total(n(90), 7),
        lambda n: crank_turns_of_angle(Dividing(40, ((15,),)), n(90)),
        lambda n: spacings(Dividing(40, ((15,),)), n(40), 1),
        lambda n: Train((Pair(n(48), n(36), (n(40),)),)).ratio / 10**30,
        lambda n: charts.grid(demo_shop(), Terms(), [n(10), n(11)], [n(20), n(21)]).sides,
        lambda n: charts.every(demo_shop(), Terms(), (n(400), n(401)), n(1)).title,
    ],
)
def test_whole_numbers_of_numpy_give_what_those_of_python_give_and_are_not_kept(call):
    found = call(np.int64)
    assert found == call(int)
    assert list(kept_of_numpy(found)) == []


def kept_of_numpy(value):
    """Each number of numpy in an answer, also as a part of a Fraction."""
    if dataclasses.is_dataclass(value):
        value = [getattr(value, field.name) for field in dataclasses.fields(value)]
    if isinstance(value, dict):
        value = [*value, *value.values()]
    if isinstance(value, Fraction):
        value = value.numerator, value.denominator
    if isinstance(value, tuple | list):
        for part in value:
            yield from kept_of_numpy(part)
    elif isinstance(value, np.generic):
        yield value


def test_a_limit_of_numpy_counts_teeth_and_one_that_is_a_fraction_is_a_diameter():
    quadrant = Quadrant(None, smallest={"first": np.int64(24)}, largest={"last": Fraction(24)})
    assert type(quadrant.smallest["first"]) is int
    assert type(quadrant.largest["last"]) is Fraction


def test_a_lead_of_numpy_is_looked_up(tmp_path):
    file = tmp_path / "grid.parquet"
    chart = charts.grid(demo_shop(), Terms(hand="right"), np.arange(10, 13), np.arange(20, 22))
    assert write_chart(chart, [file], Imprint("")) == 6
    found = look_up(file, np.int64(412))
    assert (found, list(kept_of_numpy(found.wanted_mm))) == (look_up(file, 412), [])


@pytest.mark.parametrize("value", [True, np.True_, 1.0, np.float64(1), "1", 1j])
def test_what_is_inexact_or_no_number_is_refused(value):
    with refused("not-exact"):
        require.exact({"lead": value})
