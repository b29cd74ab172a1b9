"""Chasing dials: against a lathe turned by hand on paper, and against printed rules."""

import math
import random
from fractions import Fraction

import naive_dial
import pytest
from hypothesis import given
from hypothesis import strategies as st
from published_values import published
from slow import in_lots

from gearsearch.base.errors import GearsearchError
from gearsearch.base.units import INCH_MM, PI, parse_pitch
from gearsearch.shop.dial import MOST_TURNS, Dial, return_by

PRINTED = published("chasing_dials")
SCREWS = [INCH_MM / n for n in (2, 4, 5, 6, 8, 10, 12, 16)] + [
    Fraction(n, 4) for n in (4, 6, 8, 10, 12, 16, 20, 24, 32)
]
PITCHES = [INCH_MM / n for n in (*range(3, 33), Fraction(9, 2), Fraction(23, 2), 40, 80)] + [
    Fraction(n, 20) for n in (5, 7, 8, 9, 10, 12, 14, 15, 16, 20, 25, 30, 35, 40, 50, 60, 70, 80)
]


def lathes(count=500):
    return list(drawn(count))


def drawn(count):
    draw = random.Random(1914)
    for _ in range(count):
        starts = draw.choice((1, 1, 1, 2, 3, 4))
        yield (
            draw.choice(SCREWS),
            draw.choice((1, 1, 1, 2, 3)),
            draw.randint(8, 64),
            draw.randint(1, 16),
            draw.choice(PITCHES) * starts,
            starts,
        )


@in_lots([(lathe,) for lathe in lathes()], quick=4)
def test_the_tool_falls_into_its_groove_at_the_marks_of_the_rule_and_at_no_others(lathe):
    pitch, screw_starts, teeth, marks, lead, _ = lathe
    rule = Dial(teeth, marks, screw_starts).rule(pitch * screw_starts, lead)
    tried = list(naive_dial.tried_marks(pitch, screw_starts, teeth, marks, lead))
    assert [count for count, (_, good) in enumerate(tried, 1) if good] == list(
        range(rule.step, len(tried) + 1, rule.step)
    )
    seen = {number: [good for mark, good in tried if mark == number] for number in range(1, marks + 1)}
    always = tuple(number for number, results in seen.items() if results and all(results))
    if len(tried) >= rule.step * marks:
        assert rule.marks == always
    if rule.code in ("any-mark", "same-mark", "marks"):
        assert always == rule.marks != ()
    if rule.code == "count":
        assert always == ()
        assert seen[1][: rule.turns] == ([False] * (rule.turns - 1) + [True])[: len(seen[1])]
    if rule.code == "never":
        assert not any(good for _, good in tried[: MOST_TURNS * marks])
    found = naive_dial.returns(pitch, lead)
    assert found[:1] == [rule.back.screw_threads][: len(found)]
    assert rule.back.distance_mm == rule.back.screw_threads * pitch == rule.back.grooves * lead
    if rule.code == "anywhere":
        assert found[:3] == [1, 2, 3]


@in_lots([(lathe,) for lathe in lathes() if lathe[-1] > 1])
def test_the_marks_to_the_next_start_come_to_every_start_once(lathe):
    pitch, screw_starts, teeth, marks, lead, starts = lathe
    rule = Dial(teeth, marks, screw_starts).rule(pitch * screw_starts, lead)
    step = rule.next_start(starts)
    places = [(n * Fraction(teeth, marks) * pitch / (lead / starts)) for n in range(1, MOST_TURNS * marks + 1)]
    closes = [(n * Fraction(teeth, marks)).denominator == 1 for n in range(1, MOST_TURNS * marks + 1)]
    if step is None:
        good = [p for p, c in zip(places, closes, strict=True) if c and p.denominator == 1]
        assert all(math.gcd(int(place), starts) > 1 for place in good)
        return
    visited = {n * places[step - 1] % starts for n in range(starts)}
    assert closes[step - 1]
    assert visited == set(range(starts))


KINDS = {"anywhere": 1, "any_mark": 1, "every_2nd": 2, "every_4th": 4, "same_mark": 8}


@pytest.mark.parametrize(
    ("source", "screw", "teeth", "kind", "thread"),
    [
        (name, screw, teeth, kind, thread)
        for name, table in PRINTED.items()
        for screw, teeth in [(table["screw"], table["teeth"])] + [("8 tpi", 32)] * (name == "gearhead_manual")
        for kind in (*KINDS, "not_by_mark")
        for thread in table.get(kind, ())
    ],
)
def test_a_printed_rule(source, screw, teeth, kind, thread):
    rule = Dial(teeth, PRINTED[source]["marks"]).rule(parse_pitch(screw), parse_pitch(thread))
    told = (PRINTED[source], thread)
    if kind == "not_by_mark":
        assert rule.marks == (), told
    else:
        assert KINDS[kind] % rule.step == 0, told  # a rule may be stricter than it need be, never laxer
    if kind == "anywhere" and screw == PRINTED[source]["screw"]:
        assert rule.code == "anywhere", told
    elif kind in KINDS:
        assert rule.step == KINDS[kind] or rule.code == "anywhere", told


@pytest.mark.parametrize(
    ("dial", "screw", "thread", "code", "text"),
    [
        (Dial(32, 8), "8 tpi", "16 tpi", "anywhere", "close the half nuts anywhere"),
        (Dial(32, 8), "8 tpi", "10 tpi", "any-mark", "any mark"),
        (Dial(32, 8), "8 tpi", "13 tpi", "marks", "every 2nd mark: 1, 3, 5 and 7 if you began at 1"),
        (Dial(16, 4), "4 tpi", "3 1/2 tpi", "marks", "marks 1 and 3 only, if you began at 1"),
        (Dial(32, 8), "8 tpi", "11 1/4 tpi", "same-mark", "the same mark only"),
        (Dial(14, 1), "3 mm", "1.75 mm", "same-mark", "the same mark only"),
        (
            Dial(32, 8),
            "8 tpi",
            "2 7/8 tpi",
            "count",
            "the same mark after 2 turns of the dial, counted from where the nuts opened",
        ),
        (
            Dial(16, 8),
            "3 mm",
            "1.25 mm",
            "count",
            "every 5th mark counted from where the nuts opened; the same mark after 5 turns of the dial",
        ),
        (
            Dial(32, 8),
            "8 tpi",
            "1.5 mm",
            "count",
            "every 15th mark counted from where the nuts opened; the same mark after 15 turns of the dial",
        ),
        (Dial(32, 8), "8 tpi", "1.75 mm", "never", "never open the half nuts: reverse the lathe"),
    ],
)
def test_a_rule_in_words(dial, screw, thread, code, text):
    rule = dial.rule(parse_pitch(screw), parse_pitch(thread))
    assert (rule.code, rule.text) == (code, text)


def test_a_worm_of_any_module_is_never_caught():
    rule = Dial(32, 8).rule(INCH_MM / 8, PI * Fraction(3, 2))
    assert rule.code == "never"
    assert rule.back.distance_mm > 10**9


def test_a_lead_that_is_a_little_off_wanders_with_every_turn_of_the_dial():
    """Four inches of slip at 100 ppm: 0.0004 in, the distance by which so many grooves miss as many leads."""
    wanted = INCH_MM / 10
    rule = Dial(32, 8).rule(INCH_MM / 8, wanted)
    cut = wanted * (1 + Fraction(1, 10**4))
    assert rule.wander_mm(cut / wanted - 1) == 40 * (cut - wanted) == INCH_MM * Fraction(4, 10**4)


def test_without_a_dial_the_carriage_goes_back_by_what_both_threads_divide():
    assert return_by(INCH_MM / 8, INCH_MM / 13).distance_mm == INCH_MM
    assert return_by(Fraction(6), Fraction(5, 4)).distance_mm == 30
    assert return_by(Fraction(6), Fraction(5), 2).distance_mm == 15
    metric = return_by(INCH_MM / 8, Fraction(3, 2))
    assert (metric.distance_mm, metric.screw_threads, metric.grooves) == (Fraction(381, 2), 60, 127)


@given(
    st.fractions(Fraction(1, 100), 100, max_denominator=400),
    st.fractions(Fraction(1, 100), 1000, max_denominator=400),
    st.integers(1, 1000),
    st.integers(1, 100),
)
def test_a_rule_holds_for_any_screw_and_thread(pitch, lead, teeth, marks):
    rule = Dial(teeth, marks).rule(pitch, lead)
    slip = Fraction(rule.step * teeth, marks)
    assert slip.denominator == 1
    assert (slip * pitch / lead).denominator == 1
    assert rule.turns * marks % rule.step == 0
    assert all((mark - 1) % rule.step == 0 for mark in rule.marks)
    assert rule.text


NO_DIALS = [(0, 8), (32, 0), (-1, 8), (32.0, 8), (True, 8), ("32", 8), (32, 101), (1001, 8), (None, 8)]


@pytest.mark.parametrize(("teeth", "marks"), [*NO_DIALS, ((), 8), ((14, 0), 8), ([14], 8)])
def test_a_dial_of_no_teeth_or_marks_is_refused(teeth, marks):
    with pytest.raises(GearsearchError, match="is no number of"):
        Dial(teeth, marks)
    with pytest.raises(GearsearchError, match="is no number of starts"):
        Dial(32, 8, 0)


@pytest.mark.parametrize(("pitch", "lead"), [(3.0, Fraction(1)), (Fraction(3), 0), (-1, 1), ("3 mm", 1), (None, 1)])
def test_a_pitch_or_lead_that_is_not_exact_or_not_above_zero_is_refused(pitch, lead):
    with pytest.raises(GearsearchError):
        Dial(32, 8).rule(pitch, lead)


@pytest.mark.parametrize("starts", [1, 0, 1.5, None, 1001])
def test_one_start_has_no_next(starts):
    with pytest.raises(GearsearchError, match="is no number of starts"):
        Dial(32, 8).rule(INCH_MM / 8, INCH_MM / 4).next_start(starts)


@in_lots([(lathe,) for lathe in lathes()[:100]])
def test_of_several_wheels_the_easiest_is_put_on(lathe):
    pitch, screw_starts, teeth, marks, lead, _ = lathe
    wheels = (teeth, teeth + 1, teeth + 5)
    rule = Dial(wheels, marks, screw_starts).rule(pitch * screw_starts, lead)
    alone = {count: Dial(count, marks, screw_starts).rule(pitch * screw_starts, lead) for count in wheels}
    best = alone[rule.teeth]
    assert (rule.code, rule.step, rule.marks, rule.turns) == (best.code, best.step, best.marks, best.turns)
    order = ("anywhere", "any-mark", "marks", "same-mark", "count", "never")
    assert all(order.index(rule.code) <= order.index(other.code) for other in alone.values())


def test_a_metric_dial_of_three_wheels_names_the_one_to_put_on():
    """A 3 mm screw: 1.75 mm falls in every 7 threads, 1.25 mm every 5; 14 and 15 teeth hold these, 16 neither."""
    dial = Dial((14, 15, 16), 1)
    assert dial.rule(Fraction(3), Fraction(7, 4)).text == "with the wheel of 14 teeth, the same mark only"
    assert dial.rule(Fraction(3), Fraction(5, 4)).short == "same mark (15T)"
    assert dial.rule(Fraction(3), Fraction(3, 2)).text == "close the half nuts anywhere"
    assert dial.wheels == (14, 15, 16)
    assert Dial(14, 1).wheels == (14,)
