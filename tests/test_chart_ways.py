"""Charts over every route, and over every lever of a gearbox: equal to the merge of those of single ways."""

import json
import random
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pytest
from commands import run
from refusals import refused
from slow import some
from test_gearbox import LATHE
from test_routes import made_up

from gearsearch.base.errors import GearsearchError
from gearsearch.charts import making
from gearsearch.charts.lines import cells_of, lines_of
from gearsearch.charts.rows import LeadRows
from gearsearch.output.pages import page_title
from gearsearch.search.terms import Terms
from gearsearch.shop.reader import demo_shop, load_shop
from gearsearch.work.asking import part_of_text
from gearsearch.work.lists import LeadList
from gearsearch.work.part import Part


def all_rows(chart):
    """The rows of a chart in one piece; None where there are none."""
    parts = list(chart.rows)
    return LeadRows.joined(parts) if parts else None


def told(chart, hand):
    """(lead, way, train) of every row for a hand."""
    rows = all_rows(chart)
    if rows is None:
        return []
    calls = [f"{a}:{b}" if b else a for a, b in zip(rows.more["route"], rows.more["lever"], strict=True)]
    return [
        (rows.lead(row), call, str(rows.hands[hand].train(chart.source.pool, row))) for row, call in enumerate(calls)
    ]


def alone(chart, hand):
    """(lead, train) of every row of a chart of one way."""
    rows = all_rows(chart)
    return (
        []
        if rows is None
        else [(rows.lead(row), str(rows.hands[hand].train(chart.source.pool, row))) for row in range(len(rows))]
    )


@pytest.mark.parametrize("seed", some(range(25), 8))
def test_every_lead_of_several_ways_is_the_merge_of_single_ways(seed):
    rng = random.Random(seed)
    shop = made_up(rng)
    terms = Terms(hand=rng.choice(["right", "left"]), mounting=rng.choice(["must", "skip"]))
    ways = [route.call for route in shop.machine.routes]
    single = [alone(making.every(shop, replace(terms, route=way)), terms.hand) for way in ways]
    expected = sorted((lead, place, train) for place, rows in enumerate(single) for lead, train in rows)
    found = told(making.every(shop, replace(terms, route="any")), terms.hand)
    assert [(lead, ways.index(way), train) for lead, way, train in found] == expected


def test_slices_of_several_ways_are_merged_in_order(monkeypatch):
    from gearsearch.charts import best

    monkeypatch.setattr(best, "SLICE_TRAINS", 40)
    shop = made_up(random.Random(7))
    terms = Terms(hand="right", mounting="skip", route="any")
    rows = all_rows(making.every(shop, terms))
    leads = [rows.lead(row) for row in range(len(rows))]
    assert leads == sorted(leads)
    monkeypatch.undo()
    assert len(all_rows(making.every(shop, terms))) == len(rows)


@pytest.mark.parametrize("seed", some(range(25), 8))
def test_the_nearest_of_several_ways_are_the_merge_of_single_ways(seed):
    rng = random.Random(seed)
    shop = made_up(rng)
    terms, count = Terms(hand=rng.choice(["right", "left"]), mounting="skip"), rng.randint(1, 4)
    base = shop.drive(shop.machine.routes[0]).lead_of_machine_mm
    items = tuple(Part(base * Fraction(rng.randint(10, 300), 100), name=str(n)) for n in range(5))
    wanted = LeadList("made up", "made up", items)
    ways = [route.call for route in shop.machine.routes]
    rows = all_rows(making.of_list(shop, replace(terms, route="any"), wanted, count))
    chosen = {}
    for place, way in enumerate(ways):
        one = all_rows(making.of_list(shop, replace(terms, route=way), wanted, 1000))
        trains = one.hands[terms.hand]
        for row, item in enumerate(one.more["item"].tolist()):
            lead, idlers = one.lead(row), int(trains.idler_count[row])
            key = abs(lead - items[item].lead_mm), int(trains.pairs[row]), idlers, place, lead
            chosen.setdefault(item, []).append(key)
    expected = [(item, *key) for item, keys in sorted(chosen.items()) for key in sorted(keys)[:count]]
    found = []
    for row, item in enumerate(rows.more["item"].tolist()):
        trains, lead = rows.hands[terms.hand], rows.lead(row)
        call = f"{rows.more['route'][row]}:{rows.more['lever'][row]}".rstrip(":")
        size = int(trains.pairs[row]), int(trains.idler_count[row])
        found.append((item, abs(lead - items[item].lead_mm), *size, ways.index(call), lead))
    assert found == expected


def test_both_hands_have_their_own_nearest_by_any_route():
    shop = demo_shop()
    wanted = LeadList("one", "one", (Part(Fraction(93), name="a"),))
    both = all_rows(making.of_list(shop, Terms(route="any"), wanted, 2))
    for hand in ("right", "left"):
        one = all_rows(making.of_list(shop, Terms(route="any", hand=hand), wanted, 2))
        leads = [one.lead(row) for row in range(len(one))]
        mine = [row for row in range(len(both)) if both.own[hand][row] and both.hands[hand].pairs[row] > 0]
        assert [both.lead(row) for row in mine] == leads


def test_a_saved_chart_names_route_and_lever(tmp_path, monkeypatch):
    import pyarrow.parquet as pq

    monkeypatch.chdir(tmp_path)
    Path("shop.toml").write_text(LATHE, encoding="utf-8")
    words = ("chart", "list", "iso-261", "--route", "any", "--count", "1")
    assert run(*words, "--out", "a.parquet", "--out", "a.csv", "--out", "a.md")[0] == 0
    table = pq.read_table("a.parquet")
    assert set(table["lever"].to_pylist()) <= {"A", "B", "C", ""}
    assert set(table["route"].to_pylist()) <= {"gearbox", "plain"}
    assert ",route,lever," in Path("a.csv").read_text(encoding="utf-8").splitlines()[0]
    text = Path("a.md").read_text(encoding="utf-8")
    assert "gearbox: lead of the machine by lever: A 6.000 mm" in text
    assert "| route" in text
    found = json.loads(run("chart", "look", "a.parquet", "--lead", "1.5mm", "--count", "1", "--format", "json")[1])
    assert found[0]["lever"] in {"A", "B", "C"}
    assert run("chart", "every", "--from", "3mm", "--to", "3.1mm", "--thin", "1%", "--out", "e.md")[0] == 0
    assert "lever" in Path("e.md").read_text(encoding="utf-8")
    assert run("chart", "grid", "--diameters", "10", "--helix-angles", "85", "--out", "g.md")[0] == 0
    assert "gearbox:" in Path("g.md").read_text(encoding="utf-8")


def test_ways_whose_hands_are_not_known_alike_are_charted_for_one_hand():
    shop = demo_shop()
    ways = (shop.machine.routes[0], replace(shop.machine.routes[1], hand_with_one_stud="either"))
    shop = replace(shop, machine=replace(shop.machine, routes=ways))
    with refused("hands-differ", "worm", "spindle"):
        making.every(shop, Terms(route="any"))
    assert making.every(shop, Terms(route="any", hand="left")).routes == ways


@pytest.mark.parametrize("route", ["gearbox", "gearbox:B", "any"])
def test_a_list_answers_a_thread_named_with_its_hand_for_that_hand_alone(route):
    shop = a_lathe("right")
    items = [part_of_text(name, name=name) for name in ("M12 LH", "M12", "Tr 20x4 RH")]
    rows = all_rows(making.of_list(shop, Terms(route=route), LeadList("some", "some", tuple(items)), 2))
    for part in items:
        mine = rows.take([row for row, name in enumerate(rows.more["name"]) if name == part.name])
        ranks = sorted(set(mine.more["rank"].tolist()))
        assert ranks == list(range(1, len(ranks) + 1))
        wanted = LeadList("one", "one", (replace(part, thread=None),))
        for hand in ("right", "left"):
            served = mine.own[hand] & (mine.hands[hand].pairs > 0)
            leads = [mine.lead(row) for row in range(len(mine)) if served[row]]
            alone = all_rows(making.of_list(shop, Terms(route=route, hand=hand), wanted, 2))
            asked = part.thread.hand in (None, hand)
            assert leads == [alone.lead(row) for row in range(len(alone)) if asked]


def a_lathe(hand):
    shop = load_shop(str(Path(__file__).parent.parent / "tables" / "lathe.toml"))
    routes = tuple(replace(route, hand_with_one_stud=hand) for route in shop.machine.routes)
    return replace(shop, machine=replace(shop.machine, routes=routes))


@pytest.mark.parametrize(
    ("known", "asked", "named"),
    [(None, "either", "does not say which hand"), ("right", "right", "is of the left hand")],
)
def test_a_list_with_a_hand_is_refused_where_the_route_s_is_not_known_or_another_is_asked_for(known, asked, named):
    wanted = LeadList("one", "one", (part_of_text("M12 LH"),))
    with pytest.raises(GearsearchError, match=named):
        making.of_list(a_lathe(known), Terms(hand=asked), wanted)


def test_on_paper_a_list_leaves_the_hand_blank_that_is_not_asked_for_and_tells_the_dial_of_each_hand():
    shop = a_lathe("right")
    items = tuple(part_of_text(name, name=name) for name in ("M12 LH", "M12"))
    chart = making.of_list(shop, Terms(route="gearbox:A"), LeadList("some.csv", "some.csv", items), 1)
    cells = cells_of(chart, list(lines_of(chart, all_rows(chart))))
    assert [(row["name"], "right hand" in row, "left hand" in row) for row in cells] == [
        ("M12 LH", False, True),
        ("M12", True, True),
    ]
    assert page_title(chart).startswith("some.csv")
    assert page_title(replace(chart, title="unified threads (ASME B1.1, UNC)")).startswith("Unified")
    odd = (Part(Fraction("1.7"), name="odd"),)
    chart = making.of_list(shop, Terms(route="gearbox:A", pairs=(1, 1)), LeadList("odd", "odd", odd), 1)
    rows = all_rows(chart)
    (line,) = cells_of(chart, list(lines_of(chart, rows)))
    leads = {hand: rows.lead(int((trains.pairs > 0).argmax())) for hand, trains in rows.hands.items()}
    rules = {hand: shop.machine.dial.rule(shop.machine.screw_lead_mm, lead).short for hand, lead in leads.items()}
    assert all(rule in line["dial"] for rule in rules.values())
