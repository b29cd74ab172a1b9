"""How fast charts are made, beside the plain version on a small box, and at full size: time, memory, growth.

Run it with ``python benchmarks/charts.py``. Equality with ``tests/naive_charts.py`` is proved before anything is timed.
Each full-size run is a process of its own, so that its peak memory is its own.
"""

from __future__ import annotations

import os
import platform
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "tests"))
sys.path.insert(0, str(Path(__file__).parent))

import naive_charts
import numpy as np
from search import shop_with
from shops import mill

from gearsearch.charts import making as charts
from gearsearch.charts.best import BestTrains
from gearsearch.charts.many import best_trains
from gearsearch.charts.rows import LeadRows
from gearsearch.output.chart_files import write_chart
from gearsearch.search.terms import Terms
from gearsearch.shop.reader import demo_shop

SIX = Terms(pairs=(3, 3))
EIGHT = Terms(pairs=(4, 4), mounting="skip")
SMALL = (20, 24, 24, 28, 30, 36, 40, 48, 56, 64, 72, 86)
DIAMETERS = [Fraction(size) for size in range(5, 125)]
ANGLES = [Fraction(angle, 5) for angle in range(50, 200)]


def against_plain() -> None:
    """Equal rows on a small box, then both timed on it."""
    shop, terms = mill(SMALL), Terms(pairs=(2, 2), mounting="skip", hand="right")
    start = time.perf_counter()
    plain = naive_charts.every(shop, shop.route(), (2, 2), "right")
    slow = time.perf_counter() - start
    source = BestTrains(shop, terms)
    leads = LeadRows.joined(list(source.leads()))
    ours = [(leads.lead(row), leads.hands["right"].train(source.pool, row)) for row in range(len(leads))]
    assert [(lead, train.drivers, train.driven, train.idlers) for lead, train in ours] == [
        (lead, tuple(t for _, t in a), tuple(t for _, t in b), tuple(gear[1] for _, gear in idlers))
        for lead, (a, b, idlers) in plain
    ]
    start = time.perf_counter()
    LeadRows.joined(list(BestTrains(shop, terms).leads()))
    fast = time.perf_counter() - start
    print(
        f"{len(SMALL)} gears, {len(plain)} four-gear leads, rows equal: plain {slow:.2f} s, ours {1e3 * fast:.1f} ms, ",
        end="",
    )
    print(f"{slow / fast:,.0f} times as fast")


def six_gears() -> int:
    """Every lead of 31 gears, six-gear trains, both hands, on the demo shop's quadrant, written to Parquet."""
    return _written(charts.every(shop_with(31), SIX))


def six_gears_three_studs() -> int:
    """The same with a third stud, so that trains with an idler mount as well."""
    shop = shop_with(31)
    assert shop.quadrant is not None
    return _written(
        charts.every(
            replace(shop, quadrant=replace(shop.quadrant, bracket=replace(shop.quadrant.bracket, studs=3))), SIX
        )
    )


def sample() -> int:
    """Every fortieth slice of six-gear charts, with two studs and with three: what the whole would take."""
    shop = shop_with(31)
    assert shop.quadrant is not None
    for studs in (2, 3):
        bracket = replace(shop.quadrant.bracket, studs=studs)
        source = BestTrains(replace(shop, quadrant=replace(shop.quadrant, bracket=bracket)), SIX)
        slices = list(source.slices(*source.reach_mm, source.most_at_once))[::40]
        trains, before = sum(source.catalogue.count_between(*ends[:2]) for ends in slices), time.process_time()
        leads = sum(len(source.window(ends)) for ends in slices)
        work = time.process_time() - before
        print(
            f"six gears, {studs} studs: {trains:,} trains, {leads:,} leads in {work:.1f} s of the processors, ", end=""
        )
        print(f"so about {work * source.catalogue.count / trains:.0f} s for all {source.catalogue.count:,}", flush=True)
    return 0


def eight_gears() -> int:
    """Every lead of 30 gears, eight-gear trains, both hands, mounting skipped, written to Parquet."""
    return _written(charts.every(shop_with(30), EIGHT))


def small_grid() -> int:
    """A grid of 18 000 cells, the demo shop, both hands, 1 or 2 pairs, written to Parquet."""
    return _written(charts.grid(demo_shop(), Terms(), DIAMETERS, ANGLES))


def one_hand_grid() -> int:
    """The same for one hand."""
    return _written(charts.grid(demo_shop(), Terms(hand="right"), DIAMETERS, ANGLES))


def large_grid() -> int:
    """A grid of 18 000 cells, 30 gears, the hand without idlers, 1 to 3 pairs, written to Parquet."""
    return _written(charts.grid(shop_with(30), Terms(hand="left", pairs=(1, 3)), DIAMETERS, ANGLES))


def many_leads() -> int:
    """The best train for each of 10 000 leads, 31 gears, 1 to 3 pairs, right hand, as a DataFrame."""
    wanted = np.round(np.random.default_rng(7).uniform(20, 3000, 10_000), 3)
    return len(best_trains(shop_with(31), wanted, Terms(hand="right", pairs=(1, 3))))


def growth() -> int:
    """Time against trains: a straight line."""
    for gears in (16, 20, 24, 28, 31):
        source = BestTrains(shop_with(gears), SIX)
        start = time.perf_counter()
        leads = sum(len(part) for part in source.leads())
        took = time.perf_counter() - start
        print(f"  {gears} gears: {source.catalogue.count:>12,} trains, {leads:>9,} leads, {took:6.2f} s, ", end="")
        print(f"{1e6 * took / source.catalogue.count:.2f} µs a train", flush=True)
    return 0


def _written(chart: charts.Chart) -> int:
    with tempfile.TemporaryDirectory() as folder:
        return write_chart(chart, [Path(folder) / "chart.parquet"])


RUNS: dict[str, Callable[[], int]] = {
    run.__name__: run
    for run in (sample, many_leads, small_grid, one_hand_grid, large_grid, six_gears, eight_gears, growth)
}
LONG: dict[str, Callable[[], int]] = {"six_gears_three_studs": six_gears_three_studs}


def _run(name: str) -> None:
    """One run in this process: warm the compiled loops first, then time and memory."""
    list(BestTrains(mill(SMALL), Terms(mounting="skip", pairs=(1, 3))).leads())
    np.concatenate([part.num for part in BestTrains(demo_shop(), Terms()).leads()])
    start = time.perf_counter()
    before = time.process_time()
    rows = (RUNS | LONG)[name]()
    took, work = time.perf_counter() - start, time.process_time() - before
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    if rows:
        print(
            f"{name}: {rows:,} rows in {took:.1f} s ({work:.1f} s of the processors), at most {peak:.0f} MiB",
            flush=True,
        )


if __name__ == "__main__":
    if len(sys.argv) > 1:
        _run(sys.argv[1])
    else:
        print(f"{os.cpu_count()} cores, Python {platform.python_version()}, numpy {np.__version__}")
        against_plain()
        for name in RUNS:
            subprocess.run([sys.executable, __file__, name], check=True)
