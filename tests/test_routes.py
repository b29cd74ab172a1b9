"""Every route at once: one ranked answer, equal to the merge of single routes; and what is said of a better route."""

import json
import random
from dataclasses import replace
from fractions import Fraction

import pytest
from commands import code_of, run
from refusals import refused
from shops import mill

from gearsearch.search.check import check
from gearsearch.search.find import find
from gearsearch.search.terms import Terms
from gearsearch.shop.gears import GearSet, Kind
from gearsearch.shop.machine import MACHINES, Route
from gearsearch.shop.reader import demo_shop
from gearsearch.shop.shop import Shop
from gearsearch.shop.trains import Train
from gearsearch.work.part import Part


def made_up(rng):
    """A mill or a lathe of two to four ways, some of them levers of one route."""
    teeth = tuple(sorted(rng.choices(range(12, 60), k=rng.randint(3, 7))))
    hand = rng.choice(["right", "left", "either"])
    ratios = rng.sample([Fraction(1, 4), Fraction(1, 2), Fraction(1), Fraction(4, 3), Fraction(2), Fraction(40)], 4)
    levers = rng.randint(0, 3)
    ways = [Route("box", ratio, hand, lever=name) for name, ratio in zip("ABC"[:levers], ratios, strict=False)]
    ways += [Route("worm", ratios[3], rng.choice(["right", "left"]), Fraction(4))]
    ways += [Route("other", Fraction(3, 2), "left")] if rng.random() < 0.5 or len(ways) < 2 else []
    screw = rng.choice([Fraction(5), Fraction(6), Fraction(127, 20)])
    return Shop(
        "Made up", "mm", MACHINES[rng.choice(["mill", "lathe"])](screw, tuple(ways)), (GearSet(Kind(2), teeth),)
    )


def asked_of(rng, shop):
    """A part near what the ways reach, and terms."""
    lead = shop.drive(rng.choice(shop.machine.routes)).lead_of_machine_mm * Fraction(rng.randint(20, 300), 100)
    terms = Terms(
        hand=rng.choice(["right", "left", "either"]),
        pairs=(1, rng.randint(1, 2)),
        count=rng.randint(1, 8),
        mounting=rng.choice(["must", "skip", "show"]),
    )
    return Part(lead), terms


def merged(shop, part, terms, names):
    """The answers of single ways, put into one order."""
    rows = []
    for place, name in enumerate(names):
        for fit in find(shop, part, replace(terms, route=name, count=1000)).fits:
            rows.append((abs(fit.error), fit.train.gears, len(fit.train.idlers), place, fit.lead_mm, str(fit.train)))
    return sorted(rows)[: terms.count]


def told(answer, names):
    """The same of an answer over several ways."""
    return [
        (
            abs(fit.error),
            fit.train.gears,
            len(fit.train.idlers),
            names.index(fit.way.call),
            fit.lead_mm,
            str(fit.train),
        )
        for fit in answer.fits
    ]


def compare(seeds):
    """Every route, and the first with all its levers, against the merge of the single ways."""
    for seed in seeds:
        rng = random.Random(seed)
        shop = made_up(rng)
        part, terms = asked_of(rng, shop)
        calls = [route.call for route in shop.machine.routes]
        assert told(find(shop, part, replace(terms, route="any")), calls) == merged(shop, part, terms, calls), seed
        first = [route.call for route in shop.machine.routes if route.name == shop.machine.routes[0].name]
        assert told(find(shop, part, terms), first) == merged(shop, part, terms, first), seed


def test_every_route_is_the_merge_of_single_routes():
    compare(range(16))


@pytest.mark.slow
@pytest.mark.parametrize("first", range(1000, 2000, 50))
def test_every_route_is_the_merge_of_single_routes_on_a_thousand_shops(first):
    compare(range(first, first + 50))


@pytest.mark.parametrize("order", ["closest", "easiest"])
def test_the_first_answers_of_every_route_are_those_of_the_full_list(order):
    shop = demo_shop()
    part, terms = Part(Fraction(93)), Terms(route="any", count=40, order=order)
    full = find(shop, part, terms).fits
    for count in (1, 2, 3, 7, 20):
        assert find(shop, part, replace(terms, count=count)).fits == full[:count]


def test_a_better_route_is_told_once_and_is_true():
    code, out = run("find", "--lead", "14mm", "--format", "json")
    record = json.loads(out)
    (note,) = [note for note in record["notes"] if note["code"] == "better-route"]
    assert code == 1
    assert "--route spindle" in note["text"]
    again = json.loads(run("find", "--lead", "14mm", "--route", "spindle", "--format", "json")[1])
    assert again["fits"][0]["error_ppm"] == 0
    assert again["fits"][0]["train"] in note["text"]
    assert not any(note["code"] == "better-route" for note in again["notes"])


@pytest.mark.parametrize(
    "words", [("--lead", "412.5mm"), ("--lead", "450mm", "--tolerance", "1%"), ("--lead", "14mm", "--route", "worm")]
)
def test_no_better_route_is_told_where_the_first_serves_or_was_asked_for(words):
    record = json.loads(run("find", *words, "--format", "json")[1])
    assert not any(note["code"] == "better-route" for note in record["notes"])


def test_an_answer_names_its_route_and_what_the_route_costs():
    record = json.loads(run("find", "--lead", "14mm", "--route", "any", "--format", "json")[1])
    first = record["fits"][0]
    assert (record["route"], first["route"], first["lever"]) == ("any", "spindle", None)
    assert first["route_cost"] == "no crank indexing"
    assert any(note["code"] == "route-cost" for note in record["notes"])
    page = run("find", "--lead", "14mm", "--route", "any")[1]
    assert "route worm" in page
    assert "route spindle" in page


def test_a_route_whose_hand_is_not_known_is_left_out_where_a_hand_is_asked_for():
    shop = mill((24, 32, 48, 56, 100))
    ways = (*shop.machine.routes, Route("spindle", 1))
    shop = replace(shop, machine=replace(shop.machine, routes=ways))
    answer = find(shop, Part(Fraction(14)), Terms(route="any", hand="right", mounting="skip"))
    assert {fit.route for fit in answer.fits} <= {"worm"}
    assert "route-left-out" in {note.code for note in answer.notes}
    assert {fit.route for fit in find(shop, Part(Fraction(14)), Terms(route="any", mounting="skip")).fits} == {
        "spindle"
    }


def test_check_takes_the_route_by_which_the_train_is_nearest():
    shop, train = demo_shop(), Train.parse("24/(60)/56")
    checked = check(shop, train, Part(Fraction(14)), Terms(route="any"))
    assert (checked.route.name, checked.fit.error) == ("spindle", 0)
    assert [other.route.name for other in checked.others] == ["worm"]
    assert checked.record()["other_routes"][0]["lead_mm"] == 840
    plain = check(shop, train, Part(Fraction(14)))
    assert [note.code for note in plain.notes] == ["better-route"]
    assert plain.route.name == "worm"
    right = check(shop, train, Part(Fraction(14)), Terms(route="any", hand="left"))
    assert right.passes


def test_a_sheet_is_made_for_the_best_of_all_routes():
    code, out = run("sheet", "--lead", "14mm", "--route", "any", "--hand", "left")
    assert code == 0
    assert "Worm OUT of mesh" in out
    code, typed = run("sheet", "24/(60)/56", "--lead", "14mm", "--route", "any", "--hand", "left")
    assert code == 0
    assert "Worm OUT of mesh" in typed
    assert "--route spindle" in run("sheet", "--lead", "14mm")[1]


@pytest.mark.parametrize(
    ("lead", "code"),
    [("100000mm", "out-of-reach"), ("0.0001mm", "out-of-reach")],
)
def test_a_lead_that_no_route_reaches_is_told_for_each(lead, code):
    record = json.loads(run("find", "--lead", lead, "--route", "any", "--format", "json")[1])
    assert sum(note["code"] == code for note in record["notes"]) == 2


def test_a_route_that_is_not_there_or_stands_for_several_is_refused():
    with refused("no-such-route", "'belt'", "worm, spindle"):
        find(demo_shop(), Part(Fraction(14)), Terms(route="belt"))
    with refused("one-route", "worm, spindle"):
        demo_shop().route("any")
    with refused("reserved-name", "any"):
        Route("any", Fraction(1))


def test_all_arrangements_are_those_of_the_best_route():
    out = run("find", "--lead", "14mm", "--route", "any", "--all-arrangements", "--format", "json")[1]
    fits = json.loads(out)["fits"]
    assert len(fits) > 1
    assert {fit["route"] for fit in fits} == {"spindle"}
    assert {fit["lead_exact"] for fit in fits} == {"14"}
    assert code_of("find", "--lead", "14mm", "--route", "any", "--all-arrangements") == 0
