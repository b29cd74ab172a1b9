"""How fast mounting is judged: equality with the slow, obvious version first, then arrangements per second.

``python benchmarks/mounting.py [SECONDS]`` gives each measurement about that many seconds (3 without it). The first
run compiles; what that takes is measured in a process of its own with an empty cache.
"""

from __future__ import annotations

import os
import random
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction as F
from itertools import permutations
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1] / "tests"))

import naive_mounting as naive
from quadrants import plain

from gearsearch.mounting.judge import Judge
from gearsearch.shop.brackets.plate import Plate
from gearsearch.shop.pool import pool_of
from gearsearch.shop.shop import Shop

TEETH = (20, 22, 24, 24, 26, 27, 28, 30, 32, 33, 35, 36, 38, 40, 42, 44, 46, 48, 50, 52)
TEETH += (54, 56, 60, 64, 70, 72, 80, 86, 90, 100, 127)
SEED = 20261125
COLD = """
import time
from gearsearch.shop.pool import pool_of
from gearsearch.shop.reader import demo_shop
import numpy as np
from numba import njit
njit(lambda x: x + 1)(1)  # what the first loop of any kind costs
started = time.perf_counter()
from gearsearch.mounting.judge import Judge
shop = demo_shop()
judge = Judge(shop, pool_of(shop), shop.route())
best = judge.best(np.array([[0, 1, 2, 3]]), "right")
judge.judged(best, 0)
print(time.perf_counter() - started)
"""


def shops() -> Iterator[tuple[str, Shop, int]]:
    """Quadrants to measure on, with how many train sets make a fair sample."""
    shop = plain(TEETH)
    assert shop.quadrant is not None
    quadrant = shop.quadrant
    yield "slot, 2 studs, shafts fixed", shop, 200_000
    yield (
        "slot, 3 studs, shafts fixed",
        replace(shop, quadrant=replace(quadrant, bracket=replace(quadrant.bracket, studs=3))),
        20_000,
    )
    moved = replace(quadrant, shaft_distance_mm=(F(150), F(165)))
    yield "slot, 2 studs, head moves 15 mm", replace(shop, quadrant=moved), 20_000
    yield (
        "plate, 2 studs, shafts fixed",
        replace(shop, quadrant=replace(quadrant, bracket=Plate(2, quadrant.bracket.reach_mm))),
        20_000,
    )
    yield (
        "plate, 2 studs, head moves 15 mm",
        replace(shop, quadrant=replace(moved, bracket=Plate(2, moved.bracket.reach_mm))),
        500,
    )
    yield "rule of thumb", replace(shop, quadrant=None), 200_000


def sets_of(judge: Judge, pairs: int, count: int) -> np.ndarray:
    """Train sets drawn at random; the same every time."""
    rng = np.random.default_rng(SEED)
    slots = np.repeat(np.arange(len(judge.box.teeth)), judge.box.loose)
    return np.array([rng.choice(slots, 2 * pairs, replace=False) for _ in range(count)], np.int64)


def prove_equal() -> int:
    """Compare with the slow version on small boxes; exit at the first that differs. Returns how many were compared."""
    rng = random.Random(SEED)
    compared = 0
    for _ in range(60):
        shop = plain(rng.sample(TEETH, 7), studs=rng.choice([1, 2, 3]), pivot=rng.choice(["first", "last"]))
        judge = Judge(shop, pool_of(shop), shop.route())
        row = rng.sample(range(len(judge.box.teeth)), 4)
        for hand in ("right", "left"):
            expected = naive.best(shop, judge.box, shop.route(), row[:2], row[2:], hand)
            best = judge.best(np.array([row]), hand)
            got = (int(best.idler_count[0]), -int(best.clearance_um[0])) if best.mounts[0] else None
            if got != (expected and expected[:2]):
                sys.exit(f"differs from the slow version: {row} {hand}: {got} and not {expected}")
            compared += 1
    return compared


def rate(judge: Judge, sets: np.ndarray, hand: str, seconds: float) -> tuple[float, float]:
    """Seconds for one pass over the sets, and the share of sets that mount."""
    found = judge.best(sets, hand).mounts
    passes = 0
    started = time.perf_counter()
    while passes == 0 or time.perf_counter() - started < seconds:
        judge.best(sets, hand)
        passes += 1
    return (time.perf_counter() - started) / passes, float(found.mean())


def naive_rate(seconds: float) -> float:
    """Arrangements a second of the slow version, by geometry in a slot."""
    shop = plain(TEETH)
    box = pool_of(shop)
    rng = random.Random(SEED)
    judged, started = 0, time.perf_counter()
    while time.perf_counter() - started < seconds:
        row = rng.sample(range(len(box.teeth)), 6)
        for driven in permutations(row[3:]):
            pairs = tuple(zip(row[:3], ((), (), ()), driven, strict=True))
            naive.verdict(shop, box, pairs, "geometry")
            judged += 1
    return judged / (time.perf_counter() - started)


def compile_seconds() -> float:
    """What the loops of the demo shop take to compile, in a process of its own with nothing kept."""
    with tempfile.TemporaryDirectory() as folder:
        kept = {**os.environ, "NUMBA_CACHE_DIR": folder}
        done = subprocess.run([sys.executable, "-c", COLD], env=kept, capture_output=True, text=True, check=True)
    return float(done.stdout)


def main(seconds: float = 3.0) -> None:
    """Prove equality, then measure and print."""
    print(f"equal to the slow version in {prove_equal()} comparisons")
    slow = naive_rate(seconds)
    print(f"the slow version: {slow:,.0f} arrangements a second".replace(",", " "))
    print(f"compiling for the demo shop, once: {compile_seconds():.1f} s")
    for name, shop, count in shops():
        judge = Judge(shop, pool_of(shop), shop.route())
        for pairs, orders in ((2, 4), (3, 36)):
            sets = sets_of(judge, pairs, max(500, count // (1 if pairs == 2 else 2)))
            for hand in ("right", "left"):
                took, share = rate(judge, sets, hand, seconds / 4)
                line = f"{name:33} {2 * pairs} gears, {hand:5} hand: {took / len(sets) * 1e6:8.2f} µs a train set"
                line += f", {share:4.0%} mount"
                if "2 studs" in name and share and (pairs == 2) == (hand == "right"):  # no idlers: orders are all
                    per_second = len(sets) * orders / took
                    line += f"; {per_second / 1e6:6.2f} million arrangements a second, {per_second / slow:6.0f} x"
                print(line)
    judge = Judge(plain(TEETH), pool_of(plain(TEETH)), plain(TEETH).route())
    one = sets_of(judge, 2, 1)
    print(f"one small call: {rate(judge, one, 'right', seconds / 4)[0] * 1e6:.0f} µs")
    print("both cores are shared between the rows of a call; numbers vary with what else the machine does")


if __name__ == "__main__":
    main(*map(float, sys.argv[1:]))
