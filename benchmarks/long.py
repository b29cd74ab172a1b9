"""What long work gains from every core and from a cluster, and what the longest chart costs: time, memory, bytes.

Run it with ``python benchmarks/long.py``, on an idle machine; ``python benchmarks/long.py speed`` (or ``cluster``,
``eight``) runs one part. The part ``cluster`` needs ``.[cluster]``. Equality is proved before anything is timed.
"""

from __future__ import annotations

import os
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from concurrent.futures import Executor, ProcessPoolExecutor, ThreadPoolExecutor
from contextlib import contextmanager
from dataclasses import replace
from fractions import Fraction
from multiprocessing import get_context
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "tests"))
sys.path.insert(0, str(Path(__file__).parent))

from extend import CANDIDATES, MORE, needs_of, shop_of
from search import shop_with

from gearsearch.base.cluster import Cluster
from gearsearch.base.sharing import Crew
from gearsearch.charts.best import BestTrains
from gearsearch.charts.making import Chart
from gearsearch.charts.rows import LeadRows, by_train
from gearsearch.extend.add import best_gears
from gearsearch.output.chart_files import write_chart
from gearsearch.search.terms import Terms
from gearsearch.shop.reader import demo_shop
from gearsearch.shop.shop import Shop

SIX = Terms(pairs=(3, 3))
PART = 4  # one slice of so many of the six-gear chart
CORES = os.cpu_count() or 1
PORT = 48_786
WINDOWS = 20
ONE = ThreadPoolExecutor(1)


def six_gears(executor: Executor | None) -> list[bytes]:
    """One slice of four of the six-gear chart of 31 gears, both hands, on the demo shop's quadrant."""
    source = BestTrains(shop_with(31), SIX, crew=Crew(executor))
    slices = list(source.slices(*source.reach_mm, source.most_at_once))[::PART]
    return [rows.num.tobytes() for rows in source.share("six gears", source.window, slices)]


def two_gears(executor: Executor | None) -> list[object]:
    """Two gears of 113 for 50 leads within 20 ppm, 31 gears, one to three pairs."""
    shop = shop_of((*demo_shop().gears[0].teeth, *MORE), quadrant=True)
    terms = Terms(pairs=(1, 3), hand="right")
    return [gain.gears for gain in best_gears(shop, needs_of(50, 20), terms, CANDIDATES, 2, crew=Crew(executor)).gains]


def speed() -> None:
    """One thread, a thread for each core, a process, and a process for each core."""
    work: tuple[Callable[[Executor | None], object], ...] = (six_gears, two_gears)
    for each in work:
        with ThreadPoolExecutor(1) as one, _processes(1) as alone, _processes(CORES) as many:
            ways = {"1 thread": one, f"{CORES} threads": None, "1 process": alone, f"{CORES} processes": many}
            for executor in ways.values():  # the workers have what they need, and have compiled
                each(executor)
            found = {name: _timed(each, executor) for name, executor in ways.items()}
        assert all(row[0] == found["1 thread"][0] for row in found.values())
        first = found["1 thread"][1]
        for name, (_, took, busy) in found.items():
            spent = " + ".join(f"{seconds:.2f}" for seconds in busy)
            print(f"{each.__name__}: {name}: {took:.1f} s, {first / took:.2f} times; processors {spent} s", flush=True)
        busiest = [busy[0] + max(busy[1:]) for name, (*_, busy) in found.items() if "process" in name]
        print(f"{each.__name__}: by the busiest processor, {busiest[0] / busiest[1]:.2f} times on {CORES} cores")


def _processes(count: int) -> ProcessPoolExecutor:
    return ProcessPoolExecutor(count, get_context("spawn"))


def _timed(work: Callable[[Executor | None], object], executor: Executor | None) -> tuple[object, float, list[float]]:
    """What the work gives, its seconds, and those of the processors: of this process, then of each worker."""
    workers = list(executor._processes) if isinstance(executor, ProcessPoolExecutor) else []
    before, start = [time.process_time(), *map(_spent, workers)], time.perf_counter()
    result = work(executor)
    took, after = time.perf_counter() - start, [time.process_time(), *map(_spent, workers)]
    return result, took, [b - a for a, b in zip(before, after, strict=True)]


def _spent(process: int) -> float:
    """Seconds of the processors that another process has used; Linux alone tells."""
    words = Path(f"/proc/{process}/stat").read_text().rpartition(")")[2].split()
    return (int(words[11]) + int(words[12])) / os.sysconf("SC_CLK_TCK")


@contextmanager
def machines() -> Iterator[str]:
    """A scheduler and a worker for each core, on this machine."""
    with tempfile.TemporaryDirectory() as folder:

        def start(kind: str, *words: str) -> subprocess.Popen[bytes]:
            command = [sys.executable, "-m", f"distributed.cli.dask_{kind}", *words, "--no-dashboard"]
            paths = os.pathsep.join([str(Path(__file__).parents[1]), *sys.path[:2]])
            quiet = subprocess.DEVNULL
            return subprocess.Popen(
                command, cwd=folder, env=os.environ | {"PYTHONPATH": paths}, stdout=quiet, stderr=quiet
            )

        address = f"127.0.0.1:{PORT}"
        started = [start("scheduler", "--host", "127.0.0.1", "--port", str(PORT))]
        started += [start("worker", address, "--nthreads", "1", "--no-nanny") for _ in range(CORES)]
        try:
            yield address
        finally:
            for process in reversed(started):
                process.kill()
                process.wait()


def nothing(item: int) -> int:
    """The least that a slice can be."""
    return item


def cluster() -> None:
    """What a slice costs more on a cluster than here."""
    with machines() as address, Cluster(address) as executor:
        while executor.hands() < CORES:
            time.sleep(1)
            executor._counted = 0.0
        six_gears(executor)
        source = BestTrains(shop_with(31), SIX, crew=Crew(executor))
        slices = list(source.slices(*source.reach_mm, source.most_at_once))[::PART]
        rows = source.window(slices[0])
        size = sum(array.nbytes for array in rows.arrays().values())
        start = time.perf_counter()
        for item in range(200):
            executor.submit(nothing, item).result()
        empty = (time.perf_counter() - start) / 200
        with _processes(CORES) as pool:
            six_gears(pool)
            here, there = _timed(six_gears, pool), _timed(six_gears, executor)
        assert here[0] == there[0]
        print(f"an empty slice there and back: {1e3 * empty:.1f} ms; a slice's leads: {size / 1e3:.0f} kB")
        for name, (_, took, _) in (("processes here", here), ("workers of the cluster", there)):
            print(
                f"six gears, {len(slices)} slices, {CORES} {name}: {took:.2f} s, {1e3 * took / len(slices):.1f} ms each"
            )
        print(f"a slice costs {1e3 * (there[1] - here[1]) / len(slices):+.1f} ms more on the cluster")


def eight() -> None:
    """The eight-gear chart of 40 gears from slices all along it: core hours, bytes, workers for ten hours."""
    for mounting, most in (("skip", 100_000), ("must", 20_000)):
        source = BestTrains(_with_studs(shop_with(40), 3), Terms(pairs=(4, 4), mounting=mounting), crew=Crew(ONE))
        windows = [_window(source, Fraction(2 * place + 1, 2 * WINDOWS), most) for place in range(WINDOWS)]
        source.windows(windows[:1])  # compiled, and the halves made
        trains = sum(source.catalogue.count_between(*ends) for ends in windows)
        before = time.process_time()
        parts = [
            source.window(each) for ends in windows for each in source.catalogue.stream(*ends, source.most_at_once)
        ]
        size, rows = _size(source, parts)
        work = time.process_time() - before
        whole = source.catalogue.count
        hours, peak = work / trains * whole / 3600, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
        print(
            f"eight gears of 40, three studs, mounting {mounting}: {trains:,} of {whole:,} trains, {rows:,} rows, ",
            end="",
        )
        print(f"{work:.1f} s of the processors: {hours:.1f} core hours, {size / trains * whole / 1e9:.1f} GB, ", end="")
        print(f"{hours / 10:.1f} workers for ten hours; at most {peak:.0f} MiB", flush=True)


def _window(source: BestTrains, share: Fraction, most: int) -> tuple[float, float]:
    """A window of about so many trains, with this share of all trains below it."""
    low, high = source._ratios(*source.reach_mm)
    whole, start = source.catalogue.below(high), low
    for edge in (share * whole, share * whole + most):
        low, high = start, source._ratios(*source.reach_mm)[1]
        for _ in range(60):
            middle = (low * high) ** 0.5
            low, high = (middle, high) if source.catalogue.below(middle) < edge else (low, middle)
        start, found = source.catalogue.clean_edge(low), start
    return found, start


def _size(source: BestTrains, parts: list[LeadRows]) -> tuple[int, int]:
    """How many bytes the rows take in a Parquet file, and how many they are."""
    with tempfile.TemporaryDirectory() as folder:
        chart = Chart((source,), "every", "slices", (), lambda: map(by_train, parts))
        rows = write_chart(chart, [Path(folder) / "rows.parquet"])
        write_chart(replace(chart, make=lambda: iter(())), [Path(folder) / "none.parquet"])
        sizes = [(Path(folder) / name).stat().st_size for name in ("rows.parquet", "none.parquet")]
    return sizes[0] - sizes[1], rows


def _with_studs(shop: Shop, studs: int) -> Shop:
    assert shop.quadrant is not None
    return replace(shop, quadrant=replace(shop.quadrant, bracket=replace(shop.quadrant.bracket, studs=studs)))


PARTS: dict[str, Callable[[], None]] = {part.__name__: part for part in (speed, cluster, eight)}

if __name__ == "__main__":
    print(f"{CORES} cores")
    for name in sys.argv[1:] or PARTS:
        PARTS[name]()
