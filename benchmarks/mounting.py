"""How fast mounting is judged: equality with the slow, obvious version first, then arrangements per second.

``python benchmarks/mounting.py [SECONDS] [FOLDER ...]`` gives each measurement about that many seconds (3 without it).
Whole commands are timed in processes of their own, the first time with nothing kept from earlier runs, in this tree
and in each folder that is named: an older one, to compare. Seconds are those of the clock, and of all cores together.
"""

from __future__ import annotations

import os
import random
import resource
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
from gearsearch.shop.reader import DEMO_TEXT
from gearsearch.shop.shop import Shop

TEETH = (20, 22, 24, 24, 26, 27, 28, 30, 32, 33, 35, 36, 38, 40, 42, 44, 46, 48, 50, 52)
TEETH += (54, 56, 60, 64, 70, 72, 80, 86, 90, 100, 127)
SEED = 20261125
SLOTS = """
[[quadrant.slot]]
from = ["40 mm", "0 mm"]
to = ["190 mm", "0 mm"]
studs = 1
[[quadrant.slot]]
from = ["60 mm", "25 mm"]
to = ["10 mm", "75 mm"]
centre = ["0 mm", "15 mm"]
studs = 1
"""
MOVED = ('shaft_distance = "150 mm"', 'shaft_distance = ["140 mm", "170 mm"]')
BRACKETS = {
    "slot": (),
    "slot, head moves 30 mm": (MOVED,),
    "plate": (('"slot"', '"plate"'),),
    "plate, head moves 30 mm": (MOVED, ('"slot"', '"plate"')),
    "straight and curved slot": (
        ("layout = ", "# "),
        ("studs  = 2", "# "),
        ("reach  = ", "# "),
        ("[dividing]", SLOTS + "[dividing]"),
    ),
}


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
    slots = np.repeat(np.arange(len(judge.pool.teeth)), judge.pool.loose)
    return np.array([rng.choice(slots, 2 * pairs, replace=False) for _ in range(count)], np.int64)


def prove_equal() -> int:
    """Compare with the slow version on small boxes; exit at the first that differs. Returns how many were compared."""
    rng = random.Random(SEED)
    compared = 0
    for _ in range(60):
        shop = plain(rng.sample(TEETH, 7), studs=rng.choice([1, 2, 3]), pivot=rng.choice(["first", "last"]))
        judge = Judge(shop, pool_of(shop), shop.route())
        row = rng.sample(range(len(judge.pool.teeth)), 4)
        for hand in ("right", "left"):
            expected = naive.best(shop, judge.pool, shop.route(), row[:2], row[2:], hand)
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


def shop_files(folder: Path) -> Iterator[tuple[str, Path]]:
    """The demo shop with one bracket after another."""
    for number, (name, changes) in enumerate(BRACKETS.items()):
        text = DEMO_TEXT
        for old, new in changes:
            text = text.replace(old, new, 1)
        file = folder / f"shop{number}.toml"
        file.write_text(text, encoding="utf-8")
        yield name, file


def command(tree: Path, cache: Path, *args: str) -> tuple[float, float] | None:
    """Seconds by the clock, and of all cores, of one command in a process of its own; None where it fails."""
    kept = {**os.environ, "NUMBA_CACHE_DIR": str(cache), "PYTHONPATH": str(tree)}
    before, started = resource.getrusage(resource.RUSAGE_CHILDREN), time.perf_counter()
    done = subprocess.run([sys.executable, *args], env=kept, cwd=tree, capture_output=True, check=False)
    took, after = time.perf_counter() - started, resource.getrusage(resource.RUSAGE_CHILDREN)
    cores = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
    return (took, cores) if done.returncode == 0 else None


def whole_commands(trees: list[Path]) -> None:
    """Time find and a chart for every bracket in every tree, the first time ever and once more."""
    with tempfile.TemporaryDirectory() as made:
        folder = Path(made)
        files = dict(shop_files(folder))
        for tree in trees:
            print(f"{tree}\n  {'import numba':32} {told(command(tree, folder / 'none', '-c', 'import numba'))}")
            for number, (name, file) in enumerate(files.items()):
                cache = folder / f"{tree.name}{number}"
                find = ("-m", "gearsearch", "find", "--lead", "412.5", "--hand", "left", "--shop", str(file))
                first, later = command(tree, cache, *find), command(tree, cache, *find)
                print(f"  {name:32} find: first {told(first)}, later {told(later)}")
                ends = ("--from", "100mm", "--to", "500mm", "--out", str(folder / "out.csv"), "--overwrite")
                chart = ("-m", "gearsearch", "chart", "every", "--shop", str(file), *ends)
                command(tree, cache, *chart)  # compiles what is compiled
                print(f"  {'':32} chart, 100 to 500 mm: {told(command(tree, cache, *chart))}")


def told(took: tuple[float, float] | None) -> str:
    """Seconds in words."""
    return "cannot" if took is None else f"{took[0]:6.2f} s ({took[1]:6.2f} s of the cores)"


def main(seconds: float = 3.0, *others: str) -> None:
    """Prove equality, then measure and print."""
    print(f"equal to the slow version in {prove_equal()} comparisons")
    slow = naive_rate(seconds)
    print(f"the slow version: {slow:,.0f} arrangements a second".replace(",", " "))
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
    whole_commands([Path(__file__).parents[1], *map(Path, others)])
    print("numbers vary with what else the machine does")


if __name__ == "__main__":
    main(*map(float, sys.argv[1:2]), *sys.argv[2:])
