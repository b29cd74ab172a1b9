"""The fewest changes of gears over a list: proved by brute force, and what stands on the chart."""

import random
import re
from dataclasses import replace
from fractions import Fraction
from itertools import combinations
from pathlib import Path

import pytest
from commands import run
from slow import in_lots, some
from test_chart_ways import a_lathe
from test_gearbox import LATHE
from test_routes import made_up

from gearsearch.base.errors import GearsearchError
from gearsearch.charts import cover
from gearsearch.charts.changes import fewest_changes
from gearsearch.charts.cover import fewest
from gearsearch.charts.rows import LeadRows
from gearsearch.search.find import find
from gearsearch.search.terms import Terms
from gearsearch.shop.reader import read_shop
from gearsearch.work.asking import part_of_text
from gearsearch.work.lists import LeadList
from gearsearch.work.part import Part
from gearsearch.work.tolerance import Tolerance


def least(sets):
    """How many sets it takes, every choice tried."""
    sets = [set(items) for items in sets]
    whole = set().union(*sets) if sets else set()
    for count in range(len(sets) + 1):
        if any(set().union(*chosen) == whole for chosen in combinations(sets, count)):
            return count
    raise AssertionError


@in_lots(range(300))
def test_the_fewest_sets_are_those_of_brute_force(seed):
    rng = random.Random(seed)
    sets = [rng.sample(range(10), rng.randint(0, 4)) for _ in range(rng.randint(0, 12))]
    masks = [sum(1 << item for item in items) for items in sets]
    chosen, proved = fewest(masks)
    union = 0
    for place in chosen:
        union |= masks[place]
    assert union == sum({1 << item for items in sets for item in items})
    assert (len(chosen), proved) == (least(sets), True)


def test_what_is_not_proved_is_not_told_as_proved(monkeypatch):
    monkeypatch.setattr(cover, "_MOST_STEPS", 1)
    rng = random.Random(5)
    masks = [sum(1 << item for item in rng.sample(range(40), 4)) for _ in range(200)]
    chosen, proved = fewest(masks)
    assert not proved
    union = 0
    for place in chosen:
        union |= masks[place]
    assert union == (1 << 40) - 1


def trains_by_find(shop, parts, terms):
    """Which items each train serves, by a search for each item and each way."""
    serves = {}
    for item, part in enumerate(parts):
        for route in shop.ways(terms.route):
            for fit in find(shop, part, replace(terms, route=route.call, count=1000, mounting="must")).fits:
                if fit.within:
                    serves.setdefault(str(fit.train), set()).add(item)
    return serves


@pytest.mark.parametrize("seed", some(range(20), 6))
def test_the_fewest_changes_are_those_of_brute_force_on_small_lists(seed):
    rng = random.Random(seed)
    shop = made_up(rng)
    base = shop.drive(shop.machine.routes[0]).lead_of_machine_mm
    share = Tolerance.parse(rng.choice(["1%", "4%"]))
    sizes = [base * Fraction(rng.randint(20, 200), 100) for _ in range(rng.randint(1, 5))]
    parts = tuple(Part(size, name=f"no. {n}", tolerance=share) for n, size in enumerate(sizes))
    terms = Terms(route="any", hand=rng.choice(["right", "left"]))
    chart = fewest_changes(shop, terms, LeadList("small", "small", parts))
    serves = trains_by_find(shop, parts, terms)
    rows = list(chart.rows)
    if not serves:
        assert rows == []
        return
    (rows,) = rows
    assert max(rows.more["change"]) == least(serves.values())
    assert set(rows.more["item"].tolist()) == set().union(*serves.values())
    assert all(rows.more["within"])
    of_change = {}
    for row, change in enumerate(rows.more["change"].tolist()):
        train = str(rows.hands[terms.hand].train(chart.source.pool, row))
        assert of_change.setdefault(change, train) == train
        assert rows.more["item"][row] in serves[train]
        call = f"{rows.more['route'][row]}:{rows.more['lever'][row]}".rstrip(":")
        ratio = rows.hands[terms.hand].train(chart.source.pool, row).ratio
        assert shop.drive(shop.route(call)).lead_mm(ratio) == rows.lead(row)
    assert rows.more["change"].tolist() == sorted(rows.more["change"].tolist())
    assert any("proved" in fact for fact in chart.facts)


def test_a_lever_keeps_one_train_on_for_several_threads():
    shop = read_shop(LATHE, "lathe.toml")
    parts = tuple(Part(size, name=str(size)) for size in (Fraction(3, 2), Fraction(3), Fraction(4)))
    chart = fewest_changes(shop, Terms(), LeadList("three", "three", parts), Tolerance.parse("1ppm"))
    rows = LeadRows.joined(list(chart.rows))
    assert rows.more["change"].tolist() == [1, 1, 1]
    assert rows.more["lever"].tolist() == ["B", "A", "C"]


def test_the_chart_on_the_wall_tells_when_to_change(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    Path("shop.toml").write_text(LATHE, encoding="utf-8")
    words = ("chart", "list", "iso-261", "--fewest-changes", "--tolerance", "0.1%")
    assert run(*words, "--out", "a.md", "--out", "a.csv", "--out", "a.parquet")[0] == 0
    text = Path("a.md").read_text(encoding="utf-8")
    assert re.search(r"\| PUT ON 1 +\| \S+ mm pitch +\| +[\d.]+ \|", text)
    assert "wanted |" not in text
    assert "stay on" in text
    assert "proved: no fewer changes are possible" in " ".join(text.split())
    assert "--fewest-changes" in text
    assert ",change," in Path("a.csv").read_text(encoding="utf-8").splitlines()[0]


@pytest.mark.parametrize(
    ("more", "named"),
    [((), "--tolerance"), (("--tolerance", "1%", "--count", "5"), "--count")],
)
def test_what_cannot_be_asked_with_fewest_changes_is_refused(more, named, tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    assert run("chart", "list", "iso-261", "--fewest-changes", *more, "--out", "a.md") == (2, "")
    assert named in capsys.readouterr().err
    assert not Path("a.md").exists()


def test_a_list_without_tolerances_is_refused_by_the_library_too():
    parts = (Part(Fraction(3), name="three"),)
    with pytest.raises(GearsearchError, match="three"):
        fewest_changes(read_shop(LATHE, "lathe.toml"), Terms(), LeadList("one", "one", parts))


def test_a_list_that_nothing_serves_is_an_empty_chart():
    parts = (Part(Fraction(10**6), name="far"),)
    chart = fewest_changes(read_shop(LATHE, "x"), Terms(), LeadList("one", "one", parts), Tolerance.parse("1%"))
    assert list(chart.rows) == []
    assert any("far" in fact for fact in chart.facts)


def test_a_thread_named_with_its_hand_is_served_by_trains_of_that_hand_alone():
    wanted = LeadList("some", "some", tuple(part_of_text(name) for name in ("M12 LH", "M12")))
    (rows,) = fewest_changes(a_lathe("right"), Terms(), wanted, Tolerance.parse("0.1%")).rows
    hands = [[hand for hand, trains in rows.hands.items() if trains.pairs[row] > 0] for row in range(len(rows))]
    assert hands == [["left"], ["left"]]  # one train serves both
