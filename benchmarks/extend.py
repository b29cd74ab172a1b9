"""How fast advice on gears is, beside the plain itertools + Fraction version on the same work, in one run.

Run it with ``python benchmarks/extend.py``. Equality with ``tests/naive_extend.py`` is proved before anything is timed.
Goals: one gear of 113 for 50 leads on 31 gears and three pairs in 5 s; two gears in 120 s.
"""

from __future__ import annotations

import os
import random
import sys
import time
from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).parents[1] / "tests"))

import naive
import naive_extend
from shops import allowed

from gearsearch.extend.add import Advice, best_gears
from gearsearch.extend.scratch import design
from gearsearch.extend.spare import spare_gears
from gearsearch.search.terms import Terms
from gearsearch.shop.gears import GearSet, Kind
from gearsearch.shop.reader import demo_shop
from gearsearch.shop.shop import Shop
from gearsearch.work.part import Part

MORE = (21, 25, 27, 33, 35, 38, 42, 45, 50, 55, 63, 70)
CANDIDATES = [("", teeth) for teeth in range(15, 128)]
SEED = 20


def shop_of(teeth: tuple[int, ...], quadrant: bool) -> Shop:
    """The demo shop with these gears, with its quadrant or with none to judge by."""
    demo = demo_shop()
    return replace(
        demo, gears=(GearSet(Kind(Fraction(3, 2)), tuple(sorted(teeth))),), quadrant=demo.quadrant if quadrant else None
    )


def needs_of(count: int, ppm: int) -> list[Part]:
    """So many leads from 10 mm to 4 m, spread evenly by their logarithm, each with this tolerance."""
    draw = random.Random(SEED)
    share = Fraction(ppm, 10**6)
    leads = [Fraction(round(100 * 10 ** draw.uniform(1, 3.6)), 100) for _ in range(count)]
    return [
        Part(lead, name=f"{float(lead)}", tolerance=allowed(lead, (lead * (1 - share), lead * (1 + share))))
        for lead in leads
    ]


def timed(work: Callable[[], Any]) -> tuple[Any, float]:
    """What the work gives, and its seconds."""
    start = time.perf_counter()
    answer = work()
    return answer, time.perf_counter() - start


def timed_with_load(work: Callable[[], Any]) -> tuple[Any, str]:
    """What the work gives, and its seconds: by the clock, and those both cores spent on it."""
    cpu = time.process_time()
    answer, took = timed(work)
    return answer, f"{took:.2f} s ({time.process_time() - cpu:.2f} s of processor time)"


def plain(shop: Shop, needs: list[Part], terms: Terms, candidates: list[tuple[str, int]], gears: int) -> list[Any]:
    """The plain version under the rule of thumb."""
    modules = [owned.kind.module_mm for owned in shop.gears]
    passes = lambda a, b, idlers: naive.clears_by_rule(a, b, idlers, modules)  # noqa: E731
    return naive_extend.best_gears(shop, needs, terms, [(0, teeth) for _, teeth in candidates], gears, passes)


def rows(advice: Advice) -> list[Any]:
    """The advice in the form of the plain version."""
    return [(gain.gained, gain.exact, gain.worst, gain.gears) for gain in advice.gains]


def prove_equality() -> None:
    """The same rows as the plain version on a small box, for one gear and for two, and both timed."""
    shop, needs = shop_of((24, 28, 32, 40, 44, 48, 56, 64), quadrant=False), needs_of(50, 3_000)
    for gears, candidates in ((1, CANDIDATES[5:45:4]), (2, CANDIDATES[5:45:8])):
        for hand in ("right", "left"):
            terms = Terms(hand=hand)
            best_gears(shop, needs, terms, candidates, gears, 1000)
            ours, took = timed(lambda a=(needs, terms, candidates, gears, 1000): best_gears(shop, *a))
            theirs, plainly = timed(lambda a=(needs, terms, candidates, gears): plain(shop, *a))
            assert rows(ours) == theirs, (gears, hand)
            print(
                f"equal to tests/naive_extend.py: {gears} of {len(candidates)} gears, {hand} hand, {len(theirs)} rows; "
                f"plain {plainly:.1f} s, ours {took:.3f} s, {plainly / took:.0f} times as fast"
            )


def at_full_size() -> None:
    """One gear of 113, and two, for 50 leads on 31 gears, one to three pairs."""
    for quadrant in (True, False):
        shop = shop_of((*demo_shop().gears[0].teeth, *MORE), quadrant)
        for ppm in (20, 200):
            needs = needs_of(50, ppm)
            for gears, goal in ((1, 5), (2, 120)):
                terms = Terms(pairs=(1, 3), hand="right")
                advice, took = timed_with_load(lambda a=(shop, needs, terms, CANDIDATES, gears): best_gears(*a))
                judged = "the quadrant" if quadrant else "the rule of thumb"
                print(
                    f"{gears} of 113 gears, 50 leads within {ppm} ppm, 31 gears, 1 to 3 pairs, mounting by {judged}: "
                    f"{took}, goal {goal} s; {advice.covered} leads covered, the best adds "
                    f"{len(advice.gains[0].gained)}"
                )


def other_advice() -> None:
    """Gears to spare, the smallest set, and sets from scratch."""
    shop = shop_of((*demo_shop().gears[0].teeth, *MORE), quadrant=True)
    for leads, pairs in ((50, 2), (20, 3)):
        needs, terms = needs_of(leads, 200), Terms(pairs=(1, pairs), hand="right")
        spare, took = timed(lambda a=(needs, terms): spare_gears(shop, *a))
        proof = "proved" if spare.proved else f"at least {spare.least} proved"
        print(
            f"gears to spare, {leads} leads, 31 gears, 1 to {pairs} pairs: {took:.2f} s; {len(spare.covered)} leads "
            f"covered by {len(spare.smallest)} gears, {proof}"
        )
    for gears, leads in ((6, 7), (10, 20)):
        needs, terms = needs_of(leads, 500), Terms(hand="right")
        made, took = timed(lambda a=(needs, terms, CANDIDATES, gears): design(shop, *a))
        print(
            f"a set of {gears} gears for {leads} leads within 500 ppm: {took:.1f} s; {made.covered} covered, at most "
            f"{made.bound.most_covered} by any set"
        )


if __name__ == "__main__":
    print(f"{os.cpu_count()} cores")
    prove_equality()
    at_full_size()
    other_advice()
