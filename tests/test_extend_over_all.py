"""Gears for several machines at once: those that bring most over all of them, as the slow way finds them."""

import json
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import naive
import naive_extend
import pytest
from commands import run
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from shops import allowed, mill

import gearsearch as gs
from gearsearch.base.errors import GearsearchError
from gearsearch.extend.boxes import alike
from gearsearch.shop.gears import GearSet, Kind
from gearsearch.shop.reader import DEMO_TEXT
from gearsearch.work.part import Part

ASKED = {"tolerance": "500 ppm", "hand": "right"}
LEADS = ["190 mm", "235 mm", "310 mm", "365 mm", "437 mm"]


@pytest.fixture
def annex():
    return gs.demo().with_gears([20, 24, 28, 32, 36, 40, 48, 56, 64, 72, 86, 100])


def rule(shop, mounting):
    modules = [gears.kind.module_mm for gears in shop.gears]
    return (lambda *_: True) if mounting == "skip" else lambda *row: naive.clears_by_rule(*row, modules)


@st.composite
def boxes(draw):
    """Two or three mills, of one module or of two, with few gears each."""
    made = []
    for number in range(draw(st.integers(2, 3))):
        modules = draw(st.sampled_from([(1,), (2,), (1, 2), (2, 1)]))
        teeth = [tuple(sorted(draw(st.lists(st.integers(14, 40), min_size=2, max_size=4)))) for _ in modules]
        tags = [f"m{module}" if len(modules) > 1 else "" for module in modules]
        sets = [GearSet(Kind(Fraction(m), tag=tag), own) for m, tag, own in zip(modules, tags, teeth, strict=True)]
        made.append(replace(mill((20, 30)), name=f"shop {number}", source=f"{number}.toml", gears=tuple(sets)))
    return made


@given(boxes(), st.data(), st.sampled_from([1, 2]), st.sampled_from(["must", "skip"]))
@settings(deadline=None, max_examples=25, suppress_health_check=[HealthCheck.too_slow])
def test_the_best_gears_over_all_are_those_of_the_slow_way(shops, data, gears, mounting):
    more = data.draw(st.lists(st.integers(12, 40), min_size=1, max_size=3, unique=True))
    wanted = data.draw(st.lists(st.integers(50, 900), min_size=1, max_size=3, unique=True))
    needs = [
        Part(Fraction(w), name=f"{w}", tolerance=allowed(Fraction(w), (Fraction(w - 5), Fraction(w + 5))))
        for w in wanted
    ]
    advice = gs.Workshop(shops[0]).extend.also(*map(gs.Workshop, shops[1:]))(
        needs, add=gears, sizes=more, mounting=mounting, pairs=1, hand="right", count=1000
    )
    kinds = {tag: key for shop in alike(shops) for tag, key in tags_of(shop)}
    found = [
        (gain.gained, gain.exact, gain.worst, tuple(sorted((*kinds[tag], teeth) for tag, teeth in gain.each[0].gears)))
        for gain in advice.gains
    ]
    candidates = [(*kind, teeth) for kind in set(kinds.values()) for teeth in more]
    terms = advice.each[0].terms
    slow = naive_extend.best_over_all(shops, needs, terms, candidates, gears, [rule(shop, mounting) for shop in shops])
    assert [row[:3] for row in found] == [row[:3] for row in slow]
    assert sorted(found) == sorted(slow)


def tags_of(shop):
    return [(gears.kind.tag, (gears.kind.module_mm, gears.kind.pressure_angle_deg)) for gears in shop.gears]


def test_several_shops_are_the_sum_of_single_ones(annex):
    shop = gs.demo()
    both = shop.extend.also(annex)(LEADS, sizes=range(25, 71), count=1000, **ASKED)
    single = [box.extend(LEADS, sizes=range(25, 71), count=1000, **ASKED) for box in (shop, annex)]
    gained = [{gain.gears: len(gain.gained) for gain in advice.gains} for advice in single]
    for gain in both.gains:
        gears = gain.each[0].gears
        assert gain.gained == sum(of.get(gears, 0) for of in gained)
    assert both.gains[0].gained == max(sum(of.get(gears, 0) for of in gained) for gears in {*gained[0], *gained[1]})
    assert [advice.covered for advice in both.each] == [advice.covered for advice in single]
    assert [advice.owned for advice in both.each] == [advice.owned for advice in single]


def test_one_shop_as_several_is_that_shop():
    one = gs.demo().extend.also()(LEADS, sizes=range(25, 71), **ASKED)
    assert one.each[0] == gs.demo().extend(LEADS, sizes=range(25, 71), **ASKED)


def test_a_set_for_several_machines_does_as_well_as_the_slow_best():
    """Every set is tried where they are few."""
    shops = [mill((20, 30)), replace(mill((20, 30), Fraction(5)), source="other.toml")]
    needs = [Part(Fraction(w), tolerance=allowed(Fraction(w), (Fraction(w - 5), Fraction(w + 5)))) for w in (150, 240)]
    one, two = map(gs.Workshop, shops)
    made = one.extend.also(two).design(needs, 2, copies=1, sizes=[20, 24, 30, 32, 40], mounting="skip", pairs=1)
    terms, passes = made.each[0].terms, lambda *_: True
    stock = [(0, teeth) for teeth in (20, 24, 30, 32, 40)]
    best = (0, 0)
    for a, one in enumerate(stock):
        for other in stock[a + 1 :]:
            misses = [
                miss
                for shop in shops
                for miss in naive_extend.closest(naive_extend.with_only(shop, [one, other]), needs, terms, passes)
            ]
            best = max(best, (sum(miss is not None for miss in misses), sum(miss == 0 for miss in misses)))
    assert (made.record()["covered"], made.record()["exact"]) == best
    assert made.each[0].proved
    assert made.each[0].gears == made.each[1].gears


def test_the_command_says_both_and_each(annex, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    Path("a.toml").write_text(DEMO_TEXT, encoding="utf-8")
    old = DEMO_TEXT[DEMO_TEXT.index("\nteeth = [") :].split("]")[0]
    new = "\nteeth = [20, 24, 28, 32, 36, 40, 48, 56, 64, 72, 86, 100"
    Path("b.toml").write_text(
        DEMO_TEXT.replace(old, new).replace("Millrace workshop", "Millrace annex"), encoding="utf-8"
    )
    words = ["extend", "--shop", "a.toml", "--shop", "b.toml", "--hand", "right", "--sizes", "25:70"]
    words += [word for lead in LEADS for word in ("--lead", lead)]
    code, said = run(*words)
    assert code == 0
    both = gs.demo().extend.also(annex)(LEADS, sizes=range(25, 71), **ASKED)
    record = json.loads(run(*words, "--format", "json")[1])
    assert [gain["gained"] for gain in record["gains"]] == [gain.gained for gain in both.gains]
    assert [shop["shop"] for shop in record["shops"]] == ["Millrace workshop", "Millrace annex"]
    assert "Millrace annex" in said
    assert run(*words, "--format", "csv")[1].startswith("shop,")
    few = [word if word != "25:70" else "30:36" for word in words]
    assert json.loads(run(*few, "--design", "2", "--format", "json")[1])["proved"]


def test_kinds_of_tooth_are_told_apart_over_all_shops():
    one = mill((20, 30))
    other = replace(one, gears=(GearSet(Kind(Fraction(7)), (20, 30)),), source="other.toml")
    first, second = alike([one, other])
    tags = first.gears[0].kind.tag, second.gears[0].kind.tag
    assert tags[0] != tags[1]
    angled = replace(one, gears=(GearSet(Kind(one.gears[0].kind.module_mm, Fraction(14)), (20, 30)),))
    tags = [shop.gears[0].kind.tag for shop in alike([one, angled])]
    assert tags[0] != tags[1]
    assert alike([one, replace(one, name="x")])[0].gears == one.gears
    with pytest.raises(GearsearchError) as caught:
        alike([one, one])
    assert caught.value.code == "shop-twice"
