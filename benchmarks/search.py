"""How fast the search is, beside the plain itertools + Fraction version on the same work, in one run.

Run it with ``python benchmarks/search.py``. Equality with ``tests/naive.py`` is proved before anything is timed.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction
from itertools import combinations, islice
from math import comb, prod
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "tests"))

import naive

from gearsearch.search.catalogue import Catalogue
from gearsearch.search.find import find
from gearsearch.search.halves import halves_of
from gearsearch.search.terms import Terms
from gearsearch.shop.counting import count_trains
from gearsearch.shop.gears import GearSet, Kind
from gearsearch.shop.pool import pool_of
from gearsearch.shop.reader import demo_shop
from gearsearch.shop.shop import Shop
from gearsearch.work.part import Part

WANTED = Fraction(825, 2)
SIZES = [*range(20, 41), 42, 44, 45, 46, 48, 50, 52, 54, 55, 56, 58, 60, 64, 68, 72, 75, 80, 100, 127]


def shop_with(gears: int) -> Shop:
    """The demo shop with so many gears, the 24 owned twice."""
    teeth = tuple(sorted([24, *[SIZES[i * len(SIZES) // (gears - 1)] for i in range(gears - 1)]]))
    return replace(demo_shop(), gears=(GearSet(Kind(Fraction(3, 2)), teeth),))


def timed(work: Callable[[], object], least: float = 0.3) -> float:
    """Seconds for one call: the best of as many as fit into ``least`` seconds, at least one."""
    best, spent = float("inf"), 0.0
    while spent < least:
        start = time.perf_counter()
        work()
        took = time.perf_counter() - start
        best, spent = min(best, took), spent + took
    return best


def prove_equality() -> None:
    """The search and the plain version give the same rows on small boxes."""
    for gears, pairs in ((7, (1, 2)), (8, (1, 2)), (9, (2, 2))):
        shop = shop_with(gears)
        request = (Part(WANTED), Terms(hand="right", pairs=pairs, count=20, mounting="skip"))
        ours = [(fit.lead_mm, fit.train.drivers, fit.train.driven) for fit in find(shop, *request).fits]
        plain = [
            (lead, tuple(t for _, t in a), tuple(t for _, t in b))
            for lead, a, b, _ in naive.find(shop, shop.route(), *request)
        ]
        assert ours == plain, (gears, pairs)
    print("equal to tests/naive.py, row for row, on 7, 8 and 9 gears")


def plain_search(teeth: tuple[int, ...], wanted: Fraction, share: int) -> tuple[int, float]:
    """The plain version: every third choice of drivers is skipped down to 1 in ``share``; trains seen, seconds."""
    start, seen, best = time.perf_counter(), 0, []
    numbered = list(enumerate(teeth))
    for drivers in islice(combinations(numbered, 3), 0, None, share):
        rest = [gear for gear in numbered if gear not in drivers]
        below = prod(t for _, t in drivers)
        for driven in combinations(rest, 3):
            error = abs(Fraction(prod(t for _, t in driven), below) / wanted - 1)
            best = sorted([*best, error])[:10] if len(best) < 10 or error < best[-1] else best
            seen += 1
    return seen, time.perf_counter() - start


def against_plain() -> None:
    """31 gears, three pairs: the plain version on a stated share of the work, ours on all of it."""
    shop, share = shop_with(31), 100
    request = (Part(WANTED), Terms(hand="either", pairs=(3, 3), mounting="skip"))
    seen, took = plain_search(shop.gears[0].teeth, WANTED / 360, share)
    whole = took * comb(31, 3) * comb(28, 3) / seen
    find(shop, *request)
    halves_of.cache_clear()
    cold = timed(lambda: (halves_of.cache_clear(), find(shop, *request)))
    ours = timed(lambda: find(shop, *request))
    print(f"plain: {seen:,} of {comb(31, 3) * comb(28, 3):,} choices in {took:.1f} s, so {whole:.0f} s for all")
    print(f"ours: all in {1e3 * cold:.2f} ms, halves made anew; {1e3 * ours:.2f} ms with them at hand")
    print(f"so {whole / cold:,.0f} times as fast (halves made anew)")


def in_process() -> None:
    """find with mounting, inside a running process."""
    for pairs in ((1, 2), (1, 3), (1, 4)):
        request = (Part(WANTED), Terms(hand="right", pairs=pairs))
        shop = shop_with(31)
        find(shop, *request)
        took = timed(lambda shop=shop, request=request: find(shop, *request))
        before = time.process_time()
        for _ in range(20):
            fits = find(shop, *request).fits
        work = (time.process_time() - before) / 20
        print(f"find, 31 gears, 1 to {pairs[1]} pairs, {len(fits)} answers that mount: {1e3 * took:.2f} ms, ", end="")
        print(f"{1e3 * work:.2f} ms of the processor")


def growth() -> None:
    """How the cost of one window grows with gears and pairs."""
    print(f"{'gears':>6} {'pairs':>6} {'trains':>16} {'halves':>9} {'make halves':>12} {'one window':>11}")
    for gears in (10, 20, 30, 40):
        for pairs in (1, 2, 3, 4):
            box = pool_of(shop_with(gears))
            halves = sum(map(len, halves_of(box, pairs, -1).values()))
            make = timed(lambda box=box, pairs=pairs: (halves_of.cache_clear(), halves_of(box, pairs, -1)))
            catalogue = Catalogue(box, [pairs])
            window = timed(lambda catalogue=catalogue: catalogue.between(1.14583333, 1.14583334))
            print(
                f"{gears:6} {pairs:6} {count_trains(box, pairs):16,} {halves:9,} {1e3 * make:9.2f} ms "
                f"{1e3 * window:8.3f} ms"
            )


def processes() -> None:
    """Whole processes: the first ever (compiling), then warm, without a cache, and commands that need no kernel."""
    with tempfile.TemporaryDirectory() as cache:
        commands = {
            "find, first run ever": ["find", "--lead", "412.5", "--hand", "right"],
            "find, warm": ["find", "--lead", "412.5", "--hand", "right"],
            "find, warm, 1 to 3 pairs": ["find", "--lead", "412.5", "--hand", "right", "--pairs", "3"],
            "--help": ["--help"],
            "shop show": ["shop", "show"],
        }
        for name, words in commands.items():
            runs = 1 if "first" in name else 7
            took = sorted(_process(words, {"NUMBA_CACHE_DIR": cache}) for _ in range(runs))[runs // 2]
            print(f"gearsearch {name}: {took:.3f} s")


def _process(words: list[str], more: dict[str, str]) -> float:
    start = time.perf_counter()
    subprocess.run(
        [sys.executable, "-m", "gearsearch", *words], check=True, capture_output=True, env={**os.environ, **more}
    )
    return time.perf_counter() - start


if __name__ == "__main__":
    prove_equality()
    against_plain()
    in_process()
    growth()
    processes()
