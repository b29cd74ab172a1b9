"""How many trains a box makes, and how short and how long a lead they reach: nothing is listed or searched."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from fractions import Fraction
from functools import lru_cache

from ..base.errors import GearsearchError
from .machine import Route
from .pool import GearPool, pool_of
from .shop import Shop

_Table = dict[tuple[int, int], int]
_Best = dict[tuple[int, int], Fraction]
_Better = Callable[[Fraction, Fraction], Fraction]


@lru_cache(maxsize=256)
def count_trains(pool: GearPool, pairs: int) -> int:
    """How many trains of that many pairs the box makes, as sets of drivers and sets of driven gears.

    Two trains with the same drivers and the same driven gears are one, in whatever order they stand, and with whatever
    idlers; gears that cannot come off are in every train. Gears in joined pieces count as if they were loose; which
    arrangements a piece allows is judged with the mounting.
    """
    ways: list[int] = [1] + [0] * pairs
    for kind in range(len(pool.tags)):
        table = _counts(pool, kind, pairs)
        here = [table.get((p, p), 0) for p in range(pairs + 1)]
        ways = [sum(ways[p - q] * here[q] for q in range(p + 1)) for p in range(pairs + 1)]
    return ways[pairs]


@lru_cache(maxsize=256)
def reach(pool: GearPool, pairs: int) -> tuple[Fraction, Fraction]:
    """Smallest and greatest product of driven over product of drivers; call only where there is a train."""
    low: dict[int, Fraction] = {0: Fraction(1)}
    high = dict(low)
    for kind in range(len(pool.tags)):
        least, most = _extremes(pool, kind, pairs, min), _extremes(pool, kind, pairs, max)
        low, high = _join(low, least, pairs, min), _join(high, most, pairs, max)
    return low[pairs], high[pairs]


def shortest_and_longest(shop: Shop, route: Route, pairs: int) -> tuple[Fraction, Fraction]:
    """Shortest and longest lead [mm] of trains of that many pairs, exact; limits as for ``count_trains``.

    Parameters
    ----------
    shop, route : whose gears, and by which way to the work
    pairs : pairs of gears in the train, 1 or more

    Raises GearsearchError where the gears make no train of that many pairs.
    """
    pool = pool_of(shop)
    if not count_trains(pool, pairs):
        raise GearsearchError(
            f"the gears of {shop.name} make no train of {pairs} pairs",
            "ask for fewer pairs, or add gears that mesh",
            code="no-train",
        )
    return shop.drive(route).leads_mm(*reach(pool, pairs))


def _counts(pool: GearPool, kind: int, pairs: int) -> _Table:
    table: _Table = {(0, 0): 1}
    for size in _sizes(pool, kind):
        grown: _Table = {}
        uses = list(_uses(pool, size, pairs))
        for (a, b), ways in table.items():
            for more_a, more_b in uses:
                key = a + more_a, b + more_b
                if max(key) <= pairs:
                    grown[key] = grown.get(key, 0) + ways
        table = grown
    return table


def _extremes(pool: GearPool, kind: int, pairs: int, better: _Better) -> dict[int, Fraction]:
    """For each number of pairs of this kind, the extreme ratio; only the largest and smallest gears can give it."""
    table: _Best = {(0, 0): Fraction(1)}
    for size in _ends(pool, kind, pairs):
        grown: _Best = {}
        uses = list(_uses(pool, size, pairs))
        for (a, b), ratio in table.items():
            for more_a, more_b in uses:
                key = a + more_a, b + more_b
                if max(key) <= pairs:
                    value = ratio * Fraction(pool.teeth[size]) ** (more_b - more_a)
                    grown[key] = better(grown.get(key, value), value)
        table = grown
    return {a: ratio for (a, b), ratio in table.items() if a == b}


def _join(far: dict[int, Fraction], here: dict[int, Fraction], pairs: int, better: _Better) -> dict[int, Fraction]:
    joined: dict[int, Fraction] = {}
    for p, ratio in far.items():
        for q, other in here.items():
            if p + q <= pairs:
                value = ratio * other
                joined[p + q] = better(joined.get(p + q, value), value)
    return joined


def _sizes(pool: GearPool, kind: int) -> list[int]:
    return [size for size, number in enumerate(pool.kind) if number == kind]


def _ends(pool: GearPool, kind: int, pairs: int) -> list[int]:
    sizes = [size for size in _sizes(pool, kind) if pool.available[size]]
    fixed = [size for size in sizes if size in (pool.fixed_first, pool.fixed_last)]
    return sorted({*sizes[: 2 * pairs], *sizes[-2 * pairs :], *fixed})


def _uses(pool: GearPool, size: int, pairs: int) -> Iterator[tuple[int, int]]:
    """How often a size may stand among the drivers and among the driven gears."""
    first, last = int(size == pool.fixed_first), int(size == pool.fixed_last)
    most = min(pool.available[size], 2 * pairs)
    for a in range(first, min(most, pairs) + 1):
        for b in range(last, min(most - a, pairs) + 1):
            yield a, b
