"""The nearest leads of many wanted leads at once, for lists and grids: narrow windows, merged and widened as needed."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from math import log

import numpy as np

from .parallel import shared
from .survey import Leads, Survey

_BINS = 1024
_HOPED = 24  # trains in the first window for each answer; most do not mount
_WIDER = 4
_BLOCK_MM = 10**15  # beyond every lead there is


@dataclass(frozen=True, slots=True)
class Found:
    """Some of the answers.

    Parameters
    ----------
    item, rank : for each lead the number of the wanted lead and its rank there, from 1
    leads : the leads
    """

    item: np.ndarray
    rank: np.ndarray
    leads: Leads


class Nearest:
    """Finds the nearest leads of each of many wanted leads for which a train will do.

    Parameters
    ----------
    survey : whose gears
    wanted_mm : the wanted leads [mm], in any order
    count : how many leads for each

    Of two leads equally far off the shorter comes first. A window that holds the answers of an item holds every
    lead nearer than they are, so the order is that of the full list.
    """

    def __init__(self, survey: Survey, wanted_mm: Sequence[Fraction], count: int) -> None:
        self.survey = survey
        self.wanted_mm = wanted_mm
        self.count = count

    def answer(self) -> Found | None:
        """The answers by item, then rank; None where there is none at all."""
        parts = list(self._parts())
        if not parts:
            return None
        item, rank = (np.concatenate([getattr(part, name) for part in parts]) for name in ("item", "rank"))
        order = np.lexsort([rank, item])
        return Found(item[order], rank[order], Leads.joined(part.leads for part in parts).take(order))

    def _parts(self) -> Iterator[Found]:
        widths = {item: self._first_width(wanted) for item, wanted in enumerate(self.wanted_mm)}
        while widths:
            again: dict[int, Fraction] = {}
            for leads, items in self._runs(widths):
                found, short = self._settle(leads, items, widths)
                again.update({item: widths[item] * _WIDER for item in short})
                if found is not None:
                    yield found
            widths = again

    def _runs(self, widths: dict[int, Fraction]) -> Iterator[tuple[Leads | None, list[int]]]:
        """Windows that overlap are taken together: their leads, and their items."""
        runs = list(self._merged(widths))
        windows = [slices for low, high, _ in runs for slices in [self._slices(low, high)]]
        flat = [window for slices in windows for window in slices]
        swept = shared("the nearest leads", self.survey.window, flat)
        for (_, _, items), slices in zip(runs, windows, strict=True):
            parts = [next(swept) for _ in slices]
            yield (Leads.joined(parts) if parts else None), items
        next(swept, None)

    def _merged(self, widths: dict[int, Fraction]) -> Iterator[tuple[Fraction, Fraction, list[int]]]:
        spans = sorted((*self._span(item, width), item) for item, width in widths.items())
        start, stop = spans[0][:2]
        items: list[int] = []
        for low, high, item in spans:
            if low > stop:
                yield start, stop, items
                start, stop, items = low, high, []
            stop = max(stop, high)
            items.append(item)
        yield start, stop, items

    def _span(self, item: int, width: Fraction) -> tuple[Fraction, Fraction]:
        wanted = self.wanted_mm[item]
        return max(wanted * (1 - width), Fraction(0)), wanted * (1 + width)

    def _slices(self, low: Fraction, high: Fraction) -> list[tuple[float, float]]:
        shortest, longest = self.survey.reach_mm
        low, high = max(low, shortest), min(high, longest)
        return self.survey.slices(low, high) if low <= high else []

    def _settle(
        self, leads: Leads | None, items: list[int], widths: dict[int, Fraction]
    ) -> tuple[Found | None, list[int]]:
        """The answers of the items that the leads of their run settle, and the items that need wider windows."""
        short, chosen = [], []
        for item in items:
            rows = [] if leads is None else self._nearest(leads, self.wanted_mm[item])
            if self._is_settled(leads, rows, item, widths[item]):
                chosen += [(item, rank, row) for rank, row in enumerate(rows, 1)]
            else:
                short.append(item)
        if leads is None or not chosen:
            return None, short
        item, rank, row = np.array(chosen).T
        return Found(item, rank, leads.take(row)), short

    def _is_settled(self, leads: Leads | None, rows: list[int], item: int, width: Fraction) -> bool:
        low, high = self._span(item, width)
        if low <= self.survey.reach_mm[0] and high >= self.survey.reach_mm[1]:
            return True
        return leads is not None and len(rows) == self.count and low <= leads.lead(rows[-1]) <= high

    def _nearest(self, leads: Leads, wanted: Fraction) -> list[int]:
        """The rows of the nearest leads, nearest first; compared exactly."""
        above = int(np.searchsorted(leads.lead_mm, float(wanted)))
        while above > 0 and leads.lead(above - 1) >= wanted:
            above -= 1
        while above < len(leads) and leads.lead(above) < wanted:
            above += 1
        below, rows = above - 1, list[int]()
        while len(rows) < self.count and (below >= 0 or above < len(leads)):
            short = wanted - leads.lead(below) if below >= 0 else Fraction(_BLOCK_MM)
            long = leads.lead(above) - wanted if above < len(leads) else Fraction(_BLOCK_MM)
            if short <= long:
                rows.append(below)
                below -= 1
            else:
                rows.append(above)
                above += 1
        return rows

    def _first_width(self, wanted: Fraction) -> Fraction:
        """A window about the wanted lead that holds some trains for each answer, by how thick they lie there."""
        edges, thick = self._thickness
        spot = min(max(float(wanted), edges[0]), edges[-1])
        density = max(float(np.interp(log(spot), np.log(edges[:-1]), thick)), 1.0)
        nearest_end = min(self.survey.reach_mm, key=lambda end: abs(end - wanted))
        outside = not self.survey.reach_mm[0] <= wanted <= self.survey.reach_mm[1]
        away = abs(nearest_end / wanted - 1) if outside else Fraction(0)
        return away + Fraction(min(0.5, max(1e-11, _HOPED * self.count / density / 2))).limit_denominator(10**12)

    @cached_property
    def _thickness(self) -> tuple[np.ndarray, np.ndarray]:
        """Leads [mm] at even steps of their logarithm, and the trains for each unit of it from there to the next."""
        shortest, longest = (float(end) for end in self.survey.reach_mm)
        edges = np.geomspace(shortest, max(longest, shortest * (1 + 1e-9)), _BINS + 1)
        base = float(self.survey.base)
        mill = self.survey.shop.machine.kind == "mill"
        counts = np.array([self.survey.below(edge / base if mill else base / edge) for edge in edges])
        return edges, np.abs(np.diff(counts)) / np.diff(np.log(edges))
