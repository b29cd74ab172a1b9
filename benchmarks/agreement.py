"""Whether search, chart and the slow, obvious version agree, on thousands of random shops; every figure recomputed.

``python benchmarks/agreement.py [SHOPS] [SECONDS]`` (10 000 shops, an hour). The seed is fixed: the same shops come
every time. Every 500 shops a line says how far it is. It ends with exit code 1 at the first disagreement, and prints
the shop.
"""

from __future__ import annotations

import dataclasses
import random
import sys
import time
from collections import Counter
from fractions import Fraction
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "tests"))

import naive
import naive_charts
import numpy as np

from gearsearch.base.errors import GearsearchError
from gearsearch.charts.best import BestTrains
from gearsearch.charts.rows import LeadRows
from gearsearch.search.check import check
from gearsearch.search.find import find
from gearsearch.search.terms import Terms
from gearsearch.shop.gears import GearSet, Kind
from gearsearch.shop.machine import MACHINES, Route
from gearsearch.shop.quadrant import Quadrant
from gearsearch.shop.shop import Shop
from gearsearch.shop.trains import Pair, Train
from gearsearch.work.asking import part
from gearsearch.work.part import Part

SEED = 20261125
KINDS = (Kind(Fraction(3, 2), tag="m1.5", label="module 1.5 mm"), Kind(Fraction(2), tag="m2", label="module 2 mm"))


def random_shop(rng: random.Random) -> Shop:
    """A mill or a lathe with repeats, kinds of tooth, joined and fixed gears, and limits of its shafts."""
    kinds = [Kind(Fraction(3, 2))] if rng.random() < 0.7 else list(KINDS)
    fixed_left = ["first", "last"]
    sets = []
    for kind in kinds:
        teeth = tuple(sorted(rng.choices(range(12, 40), k=rng.randint(1, 7 // len(kinds)))))
        joined = ((rng.randint(12, 40), rng.randint(12, 40)),) if rng.random() < 0.2 else ()
        fixed = {fixed_left.pop(): rng.randint(12, 40)} if fixed_left and rng.random() < 0.15 else {}
        place = rng.choice(["first", "stud", "last"])
        only_on = {rng.choice(teeth): frozenset({place})} if rng.random() < 0.15 else {}
        sets.append(GearSet(kind, teeth, joined, fixed, only_on))
    route = Route("worm", Fraction(rng.choice([1, 40, 60, 72])), rng.choice(["right", "left"]))
    screw = rng.choice([Fraction(5), Fraction(6), Fraction(127, 20), Fraction(127, 30)])
    quadrant = Quadrant(None, smallest={"first": rng.randint(12, 20)}) if rng.random() < 0.15 else None
    return Shop("Random", "mm", MACHINES[rng.choice(["mill", "lathe"])](screw, (route,)), tuple(sets), quadrant)


def random_request(rng: random.Random, shop: Shop) -> tuple[Part, Terms]:
    """A request near what the shop can reach."""
    base = shop.drive(shop.route()).lead_of_machine_mm
    most = rng.choices([1, 2, 3, 4], [4, 10, 2, 1])[0]
    return (
        Part(base * Fraction(rng.randint(20, 200), 100)),
        Terms(
            hand=rng.choice(["right", "left", "either"]),
            pairs=(rng.randint(1, most), most) if most < 4 else (4, 4),
            count=rng.randint(1, 12),
            mounting=rng.choice(["must", "skip"]),
            greatest_step_up=rng.choice([None, None, None, Fraction(3, 2)]),
            greatest_pair_ratio=rng.choice([None, None, None, Fraction(2)]),
            multiple=rng.choice([1, 1, 1, 2]),
            without=some_gears(rng, shop),
        ),
    )


def some_gears(rng: random.Random, shop: Shop) -> tuple[int, ...]:
    """Gears in use elsewhere: mostly none, else some of the smallest or of any."""
    loose = sorted(teeth for gears in shop.gears for teeth in gears.teeth)
    count = rng.choice([0, 0, 0, 1, 2, 4])
    return tuple(loose[:count] if rng.random() < 0.5 else rng.sample(loose, min(count, len(loose))))


def less(shop: Shop, without: tuple[int, ...]) -> Shop:
    """The shop without some loose gears, of the first kind of tooth that has one."""
    sets = [(gears, list(gears.teeth)) for gears in shop.gears]
    for teeth in without:
        next(left for _, left in sets if teeth in left).remove(teeth)
    return dataclasses.replace(shop, gears=tuple(dataclasses.replace(gears, teeth=tuple(left)) for gears, left in sets))


def within_reach(rng: random.Random, shop: Shop, request: tuple[Part, Terms]) -> tuple[Part, Terms] | None:
    """The request, for a lead between the shortest and the longest the gears reach; None where they reach none."""
    reach = find(shop, *request).reach_mm
    if reach is None:
        return None
    at = Fraction(rng.randint(0, 1000), 1000)
    return dataclasses.replace(request[0], lead_mm=reach[0] + (reach[1] - reach[0]) * at**2), request[1]


def rows_agree(shop: Shop, request: tuple[Part, Terms]) -> bool:
    """Whether search and naive give the same rows."""
    answer = find(shop, *request)
    modules = [gears.kind.module_mm for gears in shop.gears]
    tags = [gears.kind.tag for gears in shop.gears]

    def passes(a: object, b: object, idlers: object) -> bool:
        return bool(naive.clears_by_rule(a, b, idlers, modules))

    plain = [
        (lead, *(tuple(t for _, t in side) for side in (a, b)), tuple(g[1] for _, g in idlers), [tags[k] for k, _ in a])
        for lead, a, b, idlers in naive.find(
            shop, shop.route(), *request, passes if request[1].mounting == "must" else None
        )
    ]
    ours = [
        (fit.lead_mm, fit.train.drivers, fit.train.driven, fit.train.idlers, [pair.kind for pair in fit.train.pairs])
        for fit in answer.fits
    ]
    return ours == plain


def charts_agree(shop: Shop, hand: str, mounting: str, without: tuple[int, ...]) -> bool:
    """Whether the chart of every lead of up to two pairs has the leads and trains of the slow chart."""
    modules = [gears.kind.module_mm for gears in shop.gears]

    def passes(a: object, b: object, idlers: object) -> bool:
        return bool(naive.clears_by_rule(a, b, idlers, modules))

    left = less(shop, without)
    slow = naive_charts.every(left, shop.route(), (1, 2), hand, passes if mounting == "must" else None)
    plain = [
        (lead, *(tuple(t for _, t in side) for side in (a, b)), tuple(g[1] for _, g in idlers))
        for lead, (a, b, idlers) in slow
    ]
    try:
        source = BestTrains(shop, Terms(mounting=mounting, without=without))
    except GearsearchError:  # no train at all
        return plain == []
    blocks = list(source.leads())
    charted = LeadRows.joined(blocks) if blocks else None
    rows = [] if charted is None else np.flatnonzero(charted.hands[hand].pairs > 0)
    trains = [] if charted is None else [charted.hands[hand].train(source.pool, row) for row in rows]
    ours = (
        [
            (charted.lead(row), train.drivers, train.driven, train.idlers)
            for row, train in zip(rows, trains, strict=True)
        ]
        if charted is not None
        else []
    )
    return ours == plain


def random_train(rng: random.Random, shop: Shop) -> Train:
    """Some gears of a shop in any order, each used no more often than owned."""
    gears = rng.choice([g for g in shop.gears if len(g.teeth) >= 2] or [GearSet(shop.gears[0].kind, (20, 30))])
    taken = rng.sample(gears.teeth, 2 * rng.randint(1, min(2, len(gears.teeth) // 2)))
    return Train(tuple(Pair(a, b, (), gears.kind.tag) for a, b in zip(taken[::2], taken[1::2], strict=True)))


def figures_agree(rng: random.Random, shop: Shop) -> bool:
    """Whether a train survives printing and reading, and every figure of its check is what fractions say."""
    train = random_train(rng, shop)
    if Train.parse(str(train)) != train:
        return False
    owned = Counter(t for gears in shop.gears if gears.kind.tag == train.pairs[0].kind for t in gears.teeth)
    if Counter(t for _, t in train.wheels) - owned:
        return True
    wanted = Fraction(rng.randint(1000, 900000), 1000)
    checked = check(shop, train, part(lead=wanted))
    lead = shop.machine.screw_lead_mm * shop.route().ratio
    for pair in train.pairs:
        step = Fraction(pair.driven, pair.driver)
        lead *= step if shop.machine.kind == "mill" else 1 / step
    fit = checked.fit
    return fit.lead_mm == lead and fit.error == lead / wanted - 1 and checked.travel_mm[10] == 10 * lead


def main() -> int:
    shops = int(sys.argv[1]) if len(sys.argv) > 1 else 10_000
    seconds = float(sys.argv[2]) if len(sys.argv) > 2 else 3600.0
    rng, start = random.Random(SEED), time.monotonic()
    tried: Counter[str] = Counter()
    for number in range(shops):
        shop = random_shop(rng)
        request = random_request(rng, shop)
        near = within_reach(rng, shop, request)
        hand, mounting = rng.choice(["right", "left"]), rng.choice(["must", "skip"])
        if not (rows_agree(shop, near or request) and figures_agree(rng, shop)):
            print(f"DISAGREEMENT at shop {number}: {shop}\n{near or request}")
            return 1
        if not charts_agree(shop, hand, mounting, request[1].without):
            print(
                f"DISAGREEMENT of the chart at shop {number}: {shop}\n{hand}, {mounting}, without {request[1].without}"
            )
            return 1
        tried[f"{request[1].pairs[1]} pairs" if near else "no train"] += 1
        if (number + 1) % 500 == 0:
            print(f"{number + 1} shops agree, {time.monotonic() - start:.0f} s", file=sys.stderr, flush=True)
        if time.monotonic() - start > seconds:
            break
    kinds = ", ".join(f"{name} {count}" for name, count in sorted(tried.items()))
    print(f"{sum(tried.values())} random shops, as many charts and trains, 0 disagreements, seed {SEED}: {kinds}")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
