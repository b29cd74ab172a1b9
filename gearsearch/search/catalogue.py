"""The catalogue of trains: every train of one gear pool, by its ratio.

The ratio of a train is the product of its driven gears over the product of its drivers; leads, hands and mounting are
put on by who asks. Trains are found by joining halves (``halves``): for each half of drivers the driven halves whose
product lies in the window stand one beside the other, so that two binary searches find them.

Windows of floats are half open, low ≤ ratio < high, as driven ≥ drivers × low and driven < drivers × high compare in
float64: windows that share an edge part the trains exactly. Windows of fractions are closed and exact.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cached_property
from math import log, sqrt
from typing import TYPE_CHECKING

from ..shop.counting import count_trains, reach
from ..shop.gear_names import GearName
from ..shop.pool import GearPool, needed

if TYPE_CHECKING:
    from ..base.arrays import Floats, Ints
    from ..shop.train_columns import Trains
    from .halves import Halves

# By what share a window is widened at each end before its trains are decided exactly. The end as a float, its widening
# and the products that are compared are each rounded once, by less than 1.2e-16: together less than a twentieth.
EDGE = 1e-14
SURE = 1e-12  # relative; farther than this from an edge a float decides
_HAIR = 4e-15  # relative; no train may be so near to an edge between two slices
_MOST_IN_A_RING = 100_000  # trains
_NARROWEST = Fraction(1, 10**14)  # no ring is narrower, however many trains share one ratio
_AT_ONCE = 1_000_000  # trains joined at once; bounds the memory
_IN_CACHE = 1 << 15  # windows times halves looked at together: so few that they stay in the processor's cache


@dataclass(frozen=True, slots=True)
class ByRatio:
    """Trains put together by their exact ratio.

    Parameters
    ----------
    ratios : the ratios, each once
    trains : their trains; the column ``asked`` holds the place of each one's ratio
    """

    ratios: list[Fraction]
    trains: Trains

    def take(self, places: list[int]) -> ByRatio:
        """Some of the ratios, in this order, and their trains in the same."""
        import numpy as np

        new = np.full(len(self.ratios), -1, np.int64)
        new[places] = np.arange(len(places))
        asked = new[self.trains.asked]
        rows = np.argsort(asked, kind="stable")
        rows = rows[asked[rows] >= 0]
        return ByRatio([self.ratios[at] for at in places], replace(self.trains.take(rows), asked=asked[rows]))

    def part(self, start: int, stop: int) -> ByRatio:
        """The ratios from one place up to another, of trains that stand in the order of their ratios."""
        first, last = self.trains.asked.searchsorted([start, stop])
        trains = self.trains.take(slice(first, last))
        return ByRatio(self.ratios[start:stop], replace(trains, asked=trains.asked - start))


class Catalogue:
    """Every train of a gear pool with some numbers of pairs.

    Parameters
    ----------
    pool : the gears
    pairs : the numbers of pairs, each at least 1; those that the pool makes no train of are left out
    use : gears that every train must have as driver or driven gear, as ``Terms`` has them
    least : the least ratio; None: as small as there is
    compiled : whether to load compiled loops, for who asks for thousands of windows

    What lists trains raises GearsearchError when the halves would not fit in memory or a product could pass 2**53;
    counts and reach raise nothing. Neither they nor ``reach`` go by ``use`` and ``least``.
    Cost of a window: about the number of halves (the square root of the number of trains) and its trains.
    """

    def __init__(
        self,
        pool: GearPool,
        pairs: Iterable[int],
        use: tuple[GearName, ...] = (),
        least: Fraction | None = None,
        compiled: bool = False,
    ) -> None:
        self.pool = pool
        self._asked = tuple(pairs)
        self._use = use
        self._least = least
        self._compiled = compiled

    @cached_property
    def counts(self) -> dict[int, int]:
        """How many trains there are of each number of pairs of which there are any."""
        return {number: count for number in self._asked if (count := count_trains(self.pool, number))}

    @property
    def pairs(self) -> tuple[int, ...]:
        """The numbers of pairs of which there are trains."""
        return tuple(self.counts)

    @property
    def count(self) -> int:
        """How many trains there are."""
        return sum(self.counts.values())

    @cached_property
    def reach(self) -> tuple[Fraction, Fraction] | None:
        """Smallest and greatest ratio; None where there is no train."""
        ends = [end for pairs in self.counts for end in reach(self.pool, pairs)]
        return (min(ends), max(ends)) if ends else None

    def of_pairs(self, pairs: Iterable[int]) -> Catalogue:
        """The same with only some of the numbers of pairs."""
        some = sorted(set(pairs) & self.counts.keys())
        return Catalogue(self.pool, some, self._use, self._least, self._compiled)

    @cached_property
    def _sides(self) -> list[tuple[int, Halves, Halves]]:
        """Number of pairs, halves of drivers, and the halves of driven gears that they may be joined with."""
        from .halves import joinable

        return [(pairs, *sides) for pairs in self.counts for sides in joinable(self.pool, pairs)]

    def prepare(self) -> None:
        """Make the halves now. Raises GearsearchError where there are too many."""
        _ = self._sides

    def window(self, low: Fraction, high: Fraction) -> Trains:
        """Every train with low ≤ ratio ≤ high, decided exactly."""
        return self._decided(self._spans([_widened(low, high)]), low, high)

    def _decided(self, spans: Iterable[_Span], low: Fraction, high: Fraction) -> Trains:
        """The trains of a widened window that lie in [low, high]."""
        trains = self._listed(spans)
        return trains.take(self._inside(trains, max(low, self._least or low), high))

    def _inside(self, trains: Trains, low: Fraction, high: Fraction) -> Ints:
        """The rows of the trains whose ratio lies in [low, high]; those near an end are decided by fractions."""
        import numpy as np

        ratio = trains.driven_product / trains.drivers_product
        keep = (ratio > float(low) * (1 + SURE)) & (ratio < float(high) * (1 - SURE))
        for row in np.flatnonzero(~keep).tolist():
            keep[row] = low <= Fraction(int(trains.driven_product[row]), int(trains.drivers_product[row])) <= high
        return np.flatnonzero(keep)

    def between(self, low: float, high: float) -> Trains:
        """Every train with low ≤ ratio < high, by number of pairs, in no useful order within one."""
        return self._listed(self._spans([(low, high)]))

    def between_each(self, windows: Sequence[tuple[float, float]]) -> Trains:
        """The trains of several windows as of ``between``."""
        return self._listed(self._spans(windows))

    def _spans(self, windows: Sequence[tuple[float, float]]) -> Iterator[_Span]:
        """Where the trains with low ≤ ratio < high are, for each window."""
        import numpy as np

        for pairs, drivers, driven in self._sides:
            lot = max(1, _IN_CACHE // max(1, len(drivers)))
            for start in range(0, len(windows), lot):
                first, after = (
                    self._below(drivers, driven, edges) for edges in np.array(windows[start : start + lot]).T
                )
                yield _Span(pairs, drivers, driven, first, (after - first).clip(0))

    def _listed(self, spans: Iterable[_Span]) -> Trains:
        """The trains of some spans."""
        from ..shop.train_columns import Trains

        parts = [
            self._columns(span.pairs, span.drivers.gears[drivers], span.driven.gears[driven])
            for span in spans
            for drivers, driven in span.rows()
        ]
        trains = Trains.joined(parts or [Trains.none(max(self.counts, default=1))])
        return self._with_use(trains) if self._use else trains

    def _columns(self, pairs: int, drivers: Ints, driven: Ints) -> Trains:
        import numpy as np

        from ..shop.train_columns import NO_GEAR, Trains

        teeth, most = np.array(self.pool.teeth, np.int64), max(self.counts)
        products = teeth[drivers].prod(axis=1), teeth[driven].prod(axis=1)
        if pairs < most:
            none = np.full((len(drivers), most - pairs), NO_GEAR)
            drivers, driven = (np.concatenate([side, none], axis=1) for side in (drivers, driven))
        return Trains(np.full(len(drivers), pairs), drivers, driven, *products)

    def _with_use(self, trains: Trains) -> Trains:
        """The trains that have every gear that must be used."""
        import numpy as np

        gears = np.concatenate([trains.drivers, trains.driven], axis=1)
        keep = np.ones(len(trains), np.bool_)
        for sizes, times in needed(self.pool, self._use):
            keep &= np.isin(gears, sizes).sum(axis=1) >= times
        return trains.take(keep)

    def count_between(self, low: float, high: float) -> int:
        """How many trains have low ≤ ratio < high, before any gear that must be used."""
        return sum(span.count() for span in self._spans([(low, high)]))

    def below(self, edge: float) -> int:
        """About how many trains have a ratio below an edge; those that take a gear more often than owned count too."""
        import numpy as np

        if self._loop is None:
            edges = np.array([edge])
            return sum(int(self._below(drivers, driven, edges).sum()) for _, drivers, driven in self._sides)
        none = np.empty(0, np.int64)
        return sum(self._loop(driven.product, drivers.product, edge, none) for _, drivers, driven in self._sides)

    def _below(self, drivers: Halves, driven: Halves, edges: Floats) -> Ints:
        """How many driven halves make a ratio below an edge: for each edge, with each half of drivers."""
        import numpy as np

        if self._loop is None:
            return np.searchsorted(driven.product, np.multiply.outer(edges, drivers.product))
        found = np.empty((len(edges), len(drivers)), np.int64)
        for edge, row in zip(edges, found, strict=True):
            self._loop(driven.product, drivers.product, edge, row)
        return found

    @cached_property
    def _loop(self) -> Callable[[Floats, Floats, float, Ints], int] | None:
        if not self._compiled:
            return None
        from .kernels import below

        return below

    def stream(
        self, low: float, high: float, most: int, *, falling: bool = False
    ) -> Iterator[tuple[float, float, int]]:
        """The window low ≤ ratio < high as windows of about ``most`` trains at most, ascending, or falling.

        Each with about how many trains it holds. No train lies on an edge between two of them, so that one ratio is
        never in two. Each is found when it is asked for: of a million none is held.
        """
        todo = [(low, self.below(low), high, self.below(high))]
        while todo:
            low, before, high, after = todo.pop()
            if after - before <= most or high / low < 1 + 1e-9:
                yield low, high, after - before
                continue
            middle = self.clean_edge(sqrt(low * high))
            count = self.below(middle)
            halves = [(middle, count, high, after), (low, before, middle, count)]
            todo += halves[::-1] if falling else halves

    def clean_edge(self, edge: float) -> float:
        """An edge that no ratio touches: trains of one ratio must not fall on both its sides."""
        while self.below(edge * (1 - _HAIR)) != self.below(edge * (1 + _HAIR)):
            edge *= 1 + 3 * _HAIR
        return edge

    def nearest(self, wanted: Fraction, count: int, inverse: bool = False) -> Iterator[ByRatio]:
        """Every train, nearest first: by |ratio / wanted − 1|, then the smaller ratio, in rings that grow.

        Parameters
        ----------
        wanted : the wanted ratio
        count : about how many ratios are looked for; the first ring is likely to hold a few times as many trains
        inverse : go by 1 / ratio and 1 / wanted in all this, as for leads that the drivers lengthen

        Each ring holds every train inside it, and the next begins where it ends: so the order is that of the full
        list, however early the caller stops, and no more than a ring is held at a time.
        """
        if self.reach is None:
            return
        rings = _Rings.about(wanted, self.reach, inverse)
        spread = log(float(self.reach[1] / self.reach[0])) + 1
        width = Fraction(min(0.5, 3 * count * spread / self.count)).limit_denominator(10**12)
        inner = Fraction(-1)
        while inner < rings.whole:
            trains, outer = self._ring(rings, inner, min(rings.whole, width))
            yield rings.ordered(by_ratio(trains), inner, outer)
            inner, width = outer, outer * 4

    def _ring(self, rings: _Rings, inner: Fraction, outer: Fraction) -> tuple[Trains, Fraction]:
        """The trains of a ring, and how far it goes: not so far that it holds more trains than memory is meant to.

        A hair's breadth may hold more.
        """
        from ..shop.train_columns import Trains

        least = max(inner, Fraction(0))
        while True:
            windows = rings.windows(inner, outer)
            spans = [list(self._spans([_widened(*ends)])) for ends in windows]
            whole = [span for side in spans for span in side]
            few = sum(span.about for span in whole) <= _MOST_IN_A_RING
            if few or outer - least <= _NARROWEST or sum(span.count() for span in whole) <= _MOST_IN_A_RING:
                found = [self._decided(side, *ends) for side, ends in zip(spans, windows, strict=True)]
                return Trains.joined([Trains.none(max(self.counts)), *found]), outer
            outer = (least + (outer - least) / 2).limit_denominator(10**15)


@dataclass(frozen=True, slots=True)
class _Rings:
    """The rings about a wanted value, which is a ratio or its inverse.

    Parameters
    ----------
    wanted : the wanted value
    ends : smallest and greatest value there is
    inverse : whether values are inverse ratios
    """

    wanted: Fraction
    ends: tuple[Fraction, Fraction]
    inverse: bool

    @classmethod
    def about(cls, ratio: Fraction, reach: tuple[Fraction, Fraction], inverse: bool) -> _Rings:
        """The rings about a wanted ratio."""
        low, high = (1 / reach[1], 1 / reach[0]) if inverse else reach
        return cls(1 / ratio if inverse else ratio, (low, high), inverse)

    @property
    def whole(self) -> Fraction:
        """How far off the farthest train is."""
        return max(map(self.off, self.ends))

    def off(self, value: Fraction) -> Fraction:
        """How far off a value is, as a share of the wanted one."""
        return abs(value / self.wanted - 1)

    def windows(self, inner: Fraction, outer: Fraction) -> list[tuple[Fraction, Fraction]]:
        """The windows of ratios that are from ``inner`` to ``outer`` off, below and above."""
        low, high = self.wanted * (1 - outer), self.wanted * (1 + outer)
        inside = self.wanted * (1 - inner), self.wanted * (1 + inner)
        values = [(low, high)] if inner <= 0 else [(low, inside[0]), (inside[1], high)]
        held = [(max(low, self.ends[0]), min(high, self.ends[1])) for low, high in values]
        held = [(low, high) for low, high in held if low <= high]
        return [(1 / high, 1 / low) for low, high in held] if self.inverse else held

    def ordered(self, found: ByRatio, inner: Fraction, outer: Fraction) -> ByRatio:
        """The ratios that are above ``inner`` and up to ``outer`` off, nearest first."""
        values = [1 / ratio if self.inverse else ratio for ratio in found.ratios]
        keys = [(self.off(value), value) for value in values]
        order = sorted((at for at, key in enumerate(keys) if inner < key[0] <= outer), key=keys.__getitem__)
        return found.take(order)


def by_ratio(trains: Trains) -> ByRatio:
    """The trains put together by their exact ratio, in no useful order."""
    import numpy as np

    common = np.gcd(trains.driven_product, trains.drivers_product)
    driven, drivers = trains.driven_product // common, trains.drivers_product // common
    order = np.lexsort((driven, drivers))
    changes = (np.diff(driven[order], prepend=0) != 0) | (np.diff(drivers[order], prepend=0) != 0)
    asked = np.empty(len(trains), np.int64)
    asked[order] = np.cumsum(changes) - 1
    first = order[changes]
    ratios = [Fraction(*ratio) for ratio in zip(driven[first].tolist(), drivers[first].tolist(), strict=True)]
    return ByRatio(ratios, replace(trains, asked=asked))


@dataclass(frozen=True, slots=True)
class _Span:
    """For each window and each half of drivers, the driven halves, side by side, that make a ratio in it.

    Parameters
    ----------
    pairs, drivers, driven : the halves
    first, many : int64 (W, H), the first such driven half, and how many they are
    """

    pairs: int
    drivers: Halves
    driven: Halves
    first: Ints
    many: Ints

    @property
    def about(self) -> int:
        """How many trains these are, those that take a gear more often than it is owned among them."""
        return int(self.many.sum())

    def count(self) -> int:
        """How many trains these are."""
        return sum(len(drivers) for drivers, _ in self.rows())

    def rows(self) -> Iterator[tuple[Ints, Ints]]:
        """The trains, as rows of drivers and of driven, in lots."""
        import numpy as np

        rows = np.flatnonzero(self.many)
        if not len(rows):
            return
        first, many = self.first.ravel()[rows], self.many.ravel()[rows]
        rows %= len(self.drivers)
        done = np.concatenate([[0], np.cumsum(many)])
        start = 0
        while start < len(rows):
            stop = max(start + 1, int(np.searchsorted(done, done[start] + _AT_ONCE, side="right")) - 1)
            drivers = np.repeat(rows[start:stop], many[start:stop])
            before = done[start:stop] - done[start]
            driven = np.arange(len(drivers)) - np.repeat(before - first[start:stop], many[start:stop])
            apart = ((self.drivers.as_drivers[drivers] & self.driven.as_driven[driven]) == 0).all(axis=1)
            yield drivers[apart], driven[apart]
            start = stop


def _widened(low: Fraction, high: Fraction) -> tuple[float, float]:
    return float(low) * (1 - EDGE), float(high) * (1 + EDGE)
