"""Against Jones, Turning and Boring, 1914: the translating gear for metric leads on an inch screw."""

from fractions import Fraction

import pytest
from published_values import published, rounds_to
from shops import allowed
from slow import some

from gearsearch.base.units import parse_length, parse_pitch
from gearsearch.extend.add import best_gears
from gearsearch.search.terms import Terms
from gearsearch.shop.gears import GearSet, Kind
from gearsearch.shop.machine import Route
from gearsearch.shop.machines.lathe import Lathe
from gearsearch.shop.shop import Shop
from gearsearch.shop.trains import Train
from gearsearch.work.part import Part

BOOK = published("jones_1914_translating")
TRANSLATING = BOOK["translating_gear"]
PITCHES = ("0.5", "0.75", "1", "1.25", "1.5", "1.75", "2", "2.5", "3", "3.5", "4", "4.5", "5", "5.5", "6")
FIVES = tuple(range(20, 125, 5))
TENS = (20, 30, 40, 50, 60, 70, 80, 90, 100, 120)


def lathe(teeth, screw="6 tpi"):
    """A lathe with an inch screw and these gears."""
    gears = (GearSet(Kind(Fraction(3, 2)), tuple(teeth)),)
    return Shop("Lathe", "mm", Lathe(parse_pitch(screw), (Route("spindle", Fraction(1), "right"),)), gears)


def metric(share):
    """Metric pitches, each with a tolerance of so large a share."""
    leads = [(text, Fraction(text)) for text in PITCHES]
    return [
        Part(lead, name=text, tolerance=allowed(lead, (lead * (1 - share), lead * (1 + share)))) for text, lead in leads
    ]


def test_the_printed_train_gives_its_lead_exactly():
    row = BOOK["example"]
    shop = lathe((row["driver"], row["driven"]), row["screw"])
    lead = shop.lead(Train.parse(f"{row['driver']}/{row['driven']}"), shop.route())
    assert lead == parse_length(row["lead"]), (BOOK["title"], row)


def test_the_translating_gear_is_the_first_whole_number_of_teeth():
    assert min(n for n in range(1, 1000) if n % Fraction(127, 5) == 0) == TRANSLATING, BOOK["title"]


@pytest.mark.parametrize("most", some([2, 3]))
def test_the_translating_gear_and_its_multiples_alone_make_metric_leads_exact_on_an_inch_screw(most):
    advice = best_gears(
        lathe(FIVES), metric(Fraction(0)), Terms(pairs=(1, most)), [("", teeth) for teeth in range(15, 256)], count=1000
    )
    assert advice.covered == 0
    assert sorted(gain.gears[0][1] for gain in advice.gains) == [TRANSLATING, 2 * TRANSLATING], BOOK["title"]
    assert all(TRANSLATING in fit.train.driven for fit in advice.gains[0].fits)
    assert advice.gains[0].gears == (("", TRANSLATING),)
    assert len(advice.gains[0].exact) == len(PITCHES)


def test_no_other_single_gear_makes_them_exact_whatever_the_screw():
    for screw in ("4 tpi", "5 tpi", "8 tpi", "10 tpi"):
        needs, candidates = metric(Fraction(0)), [("", teeth) for teeth in range(15, 201)]
        advice = best_gears(lathe(FIVES, screw), needs, Terms(), candidates)
        assert {gain.gears for gain in advice.gains} == {(("", TRANSLATING),)}, (BOOK["title"], screw)


def test_the_printed_train_is_the_one_found():
    row = BOOK["example"]
    needs = [Part(Fraction(3), name="3 mm", tolerance=allowed(Fraction(3), (Fraction(3), Fraction(3))))]
    advice = best_gears(lathe(FIVES, row["screw"]), needs, Terms(pairs=(1, 1)), [("", TRANSLATING)])
    assert str(advice.gains[0].fits[0].train) == f"{row['driver']}/{row['driven']}", (BOOK["title"], row)


@pytest.mark.parametrize("row", BOOK["near_miss"], ids=lambda row: f"{row['driver']}/{row['driven']}")
def test_a_near_miss_has_its_usual_error(row):
    error = Fraction(row["driver"], row["driven"]) / Fraction(127, 100) - 1
    assert rounds_to(error * 10**6, row["ppm"]), row


def test_near_misses_are_valued_below_the_translating_gear_and_by_their_errors():
    """63 with an 80 of the box, and 37 with 47, bring fewer leads, none of them exactly, at their usual errors."""
    needs, shop = metric(Fraction(3, 10_000)), lathe(TENS)
    advice = best_gears(shop, needs, Terms(), [("", teeth) for teeth in (37, 47, 63, TRANSLATING)])
    assert [gain.gears for gain in advice.gains] == [(("", TRANSLATING),), (("", 63),)]
    exact, near = advice.gains
    assert len(exact.gained) == len(exact.exact) == len(PITCHES) - 1  # 5.5 needs a factor of 11 besides
    assert set(near.gained) < set(exact.gained)
    assert (exact.worst, near.exact) == (0, ())
    assert near.worst == Fraction(63, 80) * Fraction(127, 100) - 1
    both = best_gears(shop, needs, Terms(), [("", 37), ("", 47)], gears=2)
    assert [gain.gears for gain in both.gains] == [(("", 37), ("", 47))]
    assert both.gains[0].worst == 1 - Fraction(37, 47) * Fraction(127, 100)
    assert both.gains[0].exact == ()


def test_a_tolerance_below_the_near_miss_leaves_the_translating_gear_alone():
    advice = best_gears(lathe(TENS), metric(Fraction(1, 10_000)), Terms(), [("", 63), ("", 127)])
    assert [gain.gears for gain in advice.gains] == [(("", TRANSLATING),)]
