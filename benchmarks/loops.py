"""Each compiled loop beside the same in numpy, on the calls that charts and advice on gears really make.

``python benchmarks/loops.py`` proves first that both give the same, then prints seconds and the factor of each in one
table. A loop that is not at least twice as fast as numpy is to go.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np

sys.path.insert(0, str(Path(__file__).parent))

from charts import SIX, shop_with
from extend import CANDIDATES, MORE, needs_of, shop_of

from gearsearch.charts.best import BestTrains
from gearsearch.extend import joining
from gearsearch.extend import kernels as extending
from gearsearch.extend.add import best_gears
from gearsearch.search import kernels as searching
from gearsearch.search.terms import Terms
from gearsearch.shop.reader import demo_shop

MOST_CALLS = 60
Call = tuple[Any, ...]


def below(over: Any, under: Any, edge: float, found: Any) -> int:
    """``search.kernels.below`` in numpy."""
    first = np.searchsorted(over, under * edge)
    found[:] = first[: len(found)]
    return int(first.sum())


def number(_bits: Any, driven: Any, drivers: Any, owner: Any, first: Any) -> int:
    """``search.kernels.number`` in numpy; numbers may come in another order."""
    common = np.gcd(driven, drivers)
    ratios = (driven // common) * 2**31 + drivers // common
    _, firsts, owner[:] = np.unique(ratios, return_index=True, return_inverse=True)
    first[: len(firsts)] = firsts
    return len(firsts)


def first_of_each(owner: Any, keys: Any, best: Any) -> None:
    """``search.kernels.first_of_each`` in numpy."""
    order = np.lexsort([*keys.T[::-1], owner])
    begins = order[np.flatnonzero(np.diff(owner[order], prepend=-1))]
    best[owner[begins]] = begins


def joined(*given: Any) -> Any:
    """Every window, row of few and row of many that ``extend.kernels.join`` finds, in its order."""
    joining.looked.places = -(10**12)
    return joining.join(*given)


def join(*call: Any) -> int:
    """``extend.kernels.join`` in numpy."""
    *given, out = call
    found = joined(*given)
    out[: len(found)] = found[: len(out)]
    return len(found)


def touch(*call: Any) -> None:
    """``extend.kernels.touch`` in numpy."""
    *given, hit = call
    hit[joined(*given)[:, 0]] = True


LOOPS: dict[str, tuple[Any, Callable[..., Any]]] = {
    "below": (searching, below),
    "number": (searching, number),
    "first_of_each": (searching, first_of_each),
    "join": (extending, join),
    "touch": (extending, touch),
}


@contextmanager
def recorded() -> Iterator[dict[str, list[Call]]]:
    """The calls of each loop while this lasts, some of them, each as it was given."""
    calls: dict[str, list[Call]] = {name: [] for name in LOOPS}
    kept = {name: getattr(module, name) for name, (module, _) in LOOPS.items()}

    def listening(name: str) -> Callable[..., Any]:
        def called(*call: Any) -> Any:
            if len(calls[name]) < MOST_CALLS:
                calls[name].append(copied(call))
            return kept[name](*call)

        return called

    for name, (module, _) in LOOPS.items():
        setattr(module, name, listening(name))
    try:
        yield calls
    finally:
        for name, (module, _) in LOOPS.items():
            setattr(module, name, kept[name])


def copied(call: Call) -> Call:
    """A call whose arrays are its own."""
    return tuple(each.copy() if isinstance(each, np.ndarray) else each for each in call)


def work() -> None:
    """Some slices of charts of 31 gears, one gear more for 50 leads, and two gears more for 10."""
    for terms in (SIX, replace(SIX, mounting="skip"), replace(SIX, pairs=(2, 3))):
        source = BestTrains(shop_with(31), terms)
        slices = list(source.slices(*source.reach_mm, source.most_at_once))
        for ends in slices[:: len(slices) // 5]:
            source.window(ends)
    joining.looked.places = 10**12  # compiled loops from the first call on
    shop = shop_of((*demo_shop().gears[0].teeth, *MORE), quadrant=False)
    best_gears(shop, needs_of(50, 20), Terms(pairs=(1, 3), hand="right"), CANDIDATES[::4], 1)
    best_gears(shop, needs_of(10, 20), Terms(pairs=(1, 2), hand="right"), CANDIDATES[::20], 2)


def timed(function: Callable[..., Any], calls: list[Call]) -> tuple[float, list[Any]]:
    """Least seconds of the processor for all the calls, and what they gave and wrote into their last array."""
    least, given = np.inf, []
    for _ in range(5):
        own = [copied(call) for call in calls]
        start = time.process_time()
        given = [function(*call) for call in own]
        least = min(least, time.process_time() - start)
    return least, [(result, call[-1]) for result, call in zip(given, own, strict=True)]


def main() -> None:
    """Print the table; exit at the first loop that gives something else."""
    with recorded() as calls:
        work()
    print(f"{'loop':15}{'calls':>6}{'compiled':>12}{'numpy':>12}{'factor':>8}")
    for name, (module, plain) in LOOPS.items():
        compiled, ours = timed(getattr(module, name), calls[name])
        took, theirs = timed(plain, calls[name])
        for (a, left), (b, right) in zip(ours, theirs, strict=True):
            rows = slice(None) if name in ("below", "first_of_each", "touch") else slice(0, min(a, len(left)))
            same = np.sort(left[rows], axis=0), np.sort(right[rows], axis=0)
            if a != b or not np.array_equal(*same):
                sys.exit(f"{name}: numpy gives something else")
        print(f"{name:15}{len(calls[name]):6}{compiled * 1e3:9.2f} ms{took * 1e3:9.2f} ms{took / compiled:8.1f}")


if __name__ == "__main__":
    main()
