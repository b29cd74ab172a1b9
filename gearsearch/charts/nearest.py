"""The nearest leads of many wanted leads at once, for lists and grids: narrow windows, merged and widened as needed."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import replace
from fractions import Fraction
from functools import cached_property
from itertools import pairwise
from math import inf

import numpy as np

from ..search.catalogue import EDGE
from ..shop.train_columns import NO_GEAR, Trains
from .best import BestTrains, ascending
from .rows import NOT_TOLD, LeadRows

_BINS = 1024
_HOPED = 24  # trains in the first window for each answer; most do not mount
_WIDER = 4
_FAR = Fraction(10**15)  # beyond every lead there is
_HEM = 100 * EDGE  # wider, for ends that are then moved by some hairs, off every train (``Catalogue.clean_edge``)
_SLACK = 2  # leads looked at beyond the count on either side, which floats may have put out of order
_MOST_WINDOWS = 256  # judged together

Span = tuple[float, float]
_Answer = tuple[int, int, int, set[str]]  # item, rank, row, hands


class Nearest:
    """Finds the nearest leads of each of many wanted leads for which a train will do.

    Parameters
    ----------
    source : whose gears
    wanted_mm : the wanted leads [mm], in any order
    count : how many leads for each

    Each hand is answered on its own: it has its leads, or all its trains were judged; a lead that is the answer of
    one hand only comes without the other hand's train. Of two leads equally far off the shorter comes first. Every
    lead nearer than an answer was judged, so the order is that of the full list. No train is judged twice.
    """

    def __init__(self, source: BestTrains, wanted_mm: Sequence[Fraction], count: int) -> None:
        self.source = source
        self.wanted_mm = wanted_mm
        self.count = count
        self._hands = [hand for hand in source.hands if source.may_mount(hand)]
        self._judged: list[Span] = []  # windows of driven / drivers, ascending, apart
        self._covers: dict[Span, tuple[Fraction, Fraction]] = {}  # some of the same, as leads [mm]
        self._rough_mm = np.array([float(wanted) for wanted in wanted_mm])
        self._ratios = [float(source.drive.ratio(wanted)) for wanted in wanted_mm]
        self._reach_mm = float(source.reach_mm[0]), float(source.reach_mm[1])
        self._ends = [float(end) for end in source.drive.ratios(*source.reach_mm)]
        self._leads = source.nothing()  # every lead in them
        self._served: dict[str, tuple[np.ndarray, np.ndarray]] = {}  # for each hand, its rows and leads [mm]

    def answer(self) -> LeadRows | None:
        """The answers by item, then rank; None where there is none at all.

        The columns ``item`` and ``rank`` hold the number of the wanted lead, and the lead's rank there, from 1.
        """
        parts = list(self._parts())
        if not parts:
            return None
        whole = LeadRows.joined(parts)
        return whole.take(np.lexsort([whole.more["rank"], whole.more["item"]]))

    def _parts(self) -> Iterator[LeadRows]:
        widths = dict(enumerate(self._first_widths()))
        while widths and self._hands:
            self._judge(widths)
            again: dict[int, float] = {}
            chosen: list[_Answer] = []
            for item, width in widths.items():
                nearest = {hand: self._nearest(hand, self.wanted_mm[item]) for hand in self._hands}
                if self._is_settled(item, nearest):
                    chosen += self._ranked(item, nearest)
                else:
                    again[item] = self._wider(item, width, nearest)
            if chosen:
                yield self._found(chosen)
            widths = again

    def _judge(self, widths: dict[int, float]) -> None:
        """Judge what no window held so far."""
        gaps = self._gaps(_merged([self._span(item, width) for item, width in widths.items()]))
        windows = [part for gap in gaps for part in self.source.catalogue.stream(*gap, self.source.most_at_once)]
        batches = _batches(windows, self.source.most_at_once)
        parts = self.source.share("the nearest leads", self.source.windows, batches)
        leads = LeadRows.joined([self._leads, *filter(len, parts)])
        self._leads = leads.take(ascending(leads, np.arange(len(leads))))
        self._judged = _merged([*self._judged, *gaps])
        for hand in self._hands:
            rows = np.flatnonzero(self._leads.hands[hand].pairs > 0)
            self._served[hand] = rows, self._leads.lead_mm[rows]

    def _span(self, item: int, width: float) -> Span:
        """The window of driven / drivers of an item, as far as there are trains; its width reaches that far."""
        wanted, (shortest, longest) = self._rough_mm[item], self._reach_mm
        shares = max(1 - width, shortest / wanted), min(1 + width, longest / wanted)
        low, high = sorted(self._ratios[item] * self.source.drive.lead_share(share, 1.0) for share in shares)
        return low * (1 - _HEM), high * (1 + _HEM)

    def _gaps(self, spans: list[Span]) -> list[Span]:
        """What of the spans was not judged yet, with edges that no train lies on."""
        starts, stops = [low for low, _ in self._judged], [high for _, high in self._judged]
        gaps = []
        for low, high in spans:
            at = bisect_right(stops, low)
            low = stops[at] if at < len(starts) and starts[at] <= low else self.source.catalogue.clean_edge(low)
            while low < high:
                at = bisect_right(stops, low)
                following = starts[at] if at < len(starts) else inf
                stop = following if following <= high else min(self.source.catalogue.clean_edge(high), following)
                if low < stop:
                    gaps.append((low, stop))
                low = stops[at] if at < len(starts) else inf
        return gaps

    def _cover(self, item: int) -> tuple[Fraction, Fraction] | None:
        """The leads [mm] about an item between which every train was judged; far beyond where none is left."""
        spot = min(max(self._ratios[item], self._ends[0]), self._ends[1])
        at = bisect_right(self._judged, (spot, inf)) - 1
        if at < 0 or self._judged[at][1] <= spot:
            return None
        span = self._judged[at]
        if span not in self._covers:
            self._covers[span] = self._lead_ends(span)
        return self._covers[span]

    def _lead_ends(self, span: Span) -> tuple[Fraction, Fraction]:
        low, high = self.source.drive.leads_mm(*(Fraction(end) for end in span))
        shortest, longest = self.source.reach_mm
        return -_FAR if low < shortest else low, _FAR if high > longest else high

    def _is_settled(self, item: int, nearest: dict[str, list[int]]) -> bool:
        """Whether every hand has its answers, or all its trains were judged."""
        cover = self._cover(item)
        if cover is None:
            return False
        if cover == (-_FAR, _FAR):
            return True
        wanted = self.wanted_mm[item]
        reach = min(wanted - cover[0], cover[1] - wanted)
        return all(len(rows) == self.count and self._away(item, rows[-1]) <= reach for rows in nearest.values())

    def _away(self, item: int, row: int) -> Fraction:
        return abs(self._leads.lead(row) - self.wanted_mm[item])

    def _wider(self, item: int, width: float, nearest: dict[str, list[int]]) -> float:
        """The width to go on with: what the answers known so far need, if that is less than a good deal more."""
        if all(len(rows) == self.count for rows in nearest.values()):
            farthest = max(self._away(item, rows[-1]) for rows in nearest.values())
            needed = float(farthest / self.wanted_mm[item]) * (1 + 1e-6)
            if width < needed < width * _WIDER:
                return needed
        return width * _WIDER

    def _nearest(self, hand: str, wanted: Fraction) -> list[int]:
        """The rows of the nearest leads of a hand, nearest first; compared exactly."""
        rows, lead_mm = self._served[hand]
        middle = int(np.searchsorted(lead_mm, float(wanted)))
        near = slice(max(0, middle - self.count - _SLACK), middle + self.count + _SLACK)
        rough = sorted(zip(np.abs(lead_mm[near] - float(wanted)).tolist(), rows[near].tolist(), strict=True))
        hair = _HEM * (float(wanted) + (rough[-1][0] if rough else 0.0))
        first = rough[: self.count + 1]
        if all(other[0] - one[0] > hair for one, other in pairwise(first)):
            return [row for _, row in first[: self.count]]
        leads = {row: self._leads.lead(row) for _, row in rough}
        return sorted(leads, key=lambda row: (abs(leads[row] - wanted), leads[row]))[: self.count]

    def _ranked(self, item: int, nearest: dict[str, list[int]]) -> Iterator[_Answer]:
        """The leads of an item, nearest first, each with the hands whose answer it is."""
        rows = sorted(
            {row for found in nearest.values() for row in found}, key=lambda row: (self._away(item, row), row)
        )
        for rank, row in enumerate(rows, 1):
            yield item, rank, row, {hand for hand, found in nearest.items() if row in found}

    def _found(self, chosen: list[_Answer]) -> LeadRows:
        item, rank, row = np.array([answer[:3] for answer in chosen]).T
        leads = self._leads.take(row)
        for hand, trains in leads.hands.items():
            blank(trains, np.array([hand not in hands for *_, hands in chosen]))
        return replace(leads, more={"item": item, "rank": rank})

    def _first_widths(self) -> list[float]:
        """For each wanted lead a window with some trains for each answer, by how thick they lie there."""
        edges, thick = self._thickness
        nearest = self._rough_mm.clip(edges[0], edges[-1])
        density = np.interp(np.log(nearest), np.log(edges[:-1]), thick).clip(1.0)
        hoped = (_HOPED * self.count / density / 2).clip(1e-11, 0.5)
        widths: list[float] = (np.abs(nearest / self._rough_mm - 1) + hoped).tolist()
        return widths

    @cached_property
    def _thickness(self) -> tuple[np.ndarray, np.ndarray]:
        """Leads [mm] at even steps of their logarithm, and the trains for each unit of it from there to the next."""
        shortest, longest = self._reach_mm
        edges = np.geomspace(shortest, max(longest, shortest * (1 + 1e-9)), _BINS + 1)
        counts = np.array(
            [self.source.catalogue.below(float(self.source.drive.ratio(Fraction(edge)))) for edge in edges]
        )
        return edges, np.abs(np.diff(counts)) / np.diff(np.log(edges))


def blank(trains: Trains, rows: np.ndarray) -> None:
    """Tell no longer what trains some rows have; that they have one stays known."""
    rows = rows & (trains.pairs > 0)
    trains.pairs[rows] = NOT_TOLD
    for column in (trains.drivers, trains.driven, trains.idlers, trains.idler_pairs):
        column[rows] = NO_GEAR
    trains.clearance_um[rows] = -1


def _merged(spans: list[Span]) -> list[Span]:
    """The same windows in order, those that touch made one."""
    merged: list[Span] = []
    for low, high in sorted(spans):
        if merged and low <= merged[-1][1]:
            merged[-1] = merged[-1][0], max(merged[-1][1], high)
        else:
            merged.append((low, high))
    return merged


def _batches(windows: list[tuple[float, float, int]], most: int) -> list[list[Span]]:
    """Windows to be judged together: about so many trains, and not too many windows."""
    batches: list[list[Span]] = []
    trains = 0
    for low, high, count in windows:
        if not batches or trains + count > most or len(batches[-1]) == _MOST_WINDOWS:
            batches.append([])
            trains = 0
        batches[-1].append((low, high))
        trains += count
    return batches
