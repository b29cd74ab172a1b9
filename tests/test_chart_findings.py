"""Charts where the two hands differ, where nothing needs judging, and where items lie far from any train."""

from fractions import Fraction

import numpy as np
import pytest
from shops import mill

from gearsearch.chart_rows import thinned
from gearsearch.errors import GearsearchError
from gearsearch.halves import Sweeper
from gearsearch.needs import Terms
from gearsearch.plain import best_unjudged
from gearsearch.shopfile import demo_shop
from gearsearch.survey import Leads, Survey
from gearsearch.trains import HANDS

STEP = Fraction(1, 1000)


def _all(stream):
    return Leads.joined(list(stream))


def _of_hand(leads, hand):
    return [leads.lead(row) for row in np.flatnonzero(leads.hands[hand].pairs)]


@pytest.mark.parametrize("hand", HANDS)
def test_a_thinned_chart_keeps_a_train_of_each_hand_within_a_step_of_every_lead_of_that_hand(hand):
    whole = _all(Survey(demo_shop(), Terms()).leads())
    kept = _of_hand(_all(thinned(iter([whole]), STEP)), hand)
    floats = np.array([float(lead) for lead in kept])
    wanted = _of_hand(whole, hand)
    above = np.searchsorted(floats, [float(lead) for lead in wanted])
    near = [kept[max(0, at - 1) : at + 2] for at in above.tolist()]
    far = [lead for lead, others in zip(wanted, near, strict=True) if all(abs(o / lead - 1) > STEP for o in others)]
    assert far == []
    assert len(kept) < len(whole) * 3 / 4


def test_thinning_does_not_depend_on_where_the_slices_end():
    whole = _all(Survey(demo_shop(), Terms()).leads())
    parts = [whole.take(slice(start, start + 1000)) for start in range(0, len(whole), 1000)]
    once, sliced = _all(thinned(iter([whole]), STEP)), _all(thinned(iter(parts), STEP))
    assert once.num.tolist() == sliced.num.tolist()
    assert once.hands["left"].drivers.tolist() == sliced.hands["left"].drivers.tolist()


BOXES = {
    "single gears": (20, 24, 25, 30, 36, 40, 48),
    "gears owned twice": (20, 20, 24, 24, 30, 36, 36, 40),
    "no gear left over": (20, 24, 24, 30, 36, 40),
    "only twins": (24, 24, 24, 36, 36, 36, 48),
}


@pytest.mark.parametrize("teeth", BOXES.values(), ids=BOXES)
@pytest.mark.parametrize("pairs", [1, 2, 3])
@pytest.mark.parametrize("hand", [*HANDS, "either"])
def test_trains_that_need_no_judging_are_arranged_as_judging_would_arrange_them(teeth, pairs, hand):
    survey = Survey(mill(teeth), Terms(mounting="skip", pairs=(pairs, pairs)))
    sizes = Sweeper(survey.box, pairs).trains(0, float("inf")).sizes
    direct, judged = best_unjudged(survey.judge, sizes, hand), survey.judge.best(sizes, hand)
    found = judged.found
    assert len(found)
    assert direct.found.tolist() == found.tolist()
    for name in ("idlers", "drivers", "driven", "idler_sizes", "idler_places"):
        assert getattr(direct, name)[found].tolist() == getattr(judged, name)[found].tolist(), name


def test_a_box_without_a_gear_to_spare_gives_only_the_hand_that_needs_no_idler():
    survey = Survey(mill(BOXES["no gear left over"]), Terms(mounting="skip", pairs=(3, 3)))
    sizes = survey.sweepers[0].trains(0, float("inf")).sizes
    assert [best_unjudged(survey.judge, sizes, hand).found.any() for hand in HANDS] == [False, True]


def test_a_hand_cannot_be_charted_where_the_shop_file_does_not_know_it():
    survey = Survey(mill((24, 36, 48), hand=None), Terms(mounting="skip", pairs=(1, 1)))
    with pytest.raises(GearsearchError, match="does not say which hand"):
        best_unjudged(survey.judge, np.array([[0, 1]]), "right")
