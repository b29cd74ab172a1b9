"""The best train of each lead, for each hand: what all charts are made of."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import replace
from fractions import Fraction
from functools import cached_property
from math import factorial, prod
from operator import itemgetter
from typing import TypeVar

import numpy as np

from ..base.arrays import Floats, Ints
from ..base.errors import GearsearchError
from ..base.kept import Kept
from ..base.sharing import HERE, Crew, Remade
from ..base.units import text_of_length
from ..mounting.arrangements import orders_of
from ..mounting.judge import Judge
from ..search import kernels
from ..search.catalogue import EDGE, Catalogue
from ..search.choice import best_of_each, keep, no_trains
from ..search.terms import Terms
from ..shop.pool import pool_of
from ..shop.shop import Shop
from ..shop.train_columns import Trains
from ..shop.trains import HANDS
from .rows import LeadRows, ease

SLICE_TRAINS = 200_000  # trains judged at once; bounds the memory
_SLICE_ORDERS = 2_500_000  # orders of their gears judged at once; bounds how long Ctrl-C waits
_FULL = 2**53
T = TypeVar("T")
Window = tuple[float, float, int]  # least and greatest ratio, and about how many trains are between them


class BestTrains(Remade):
    """The best train of each lead that a shop's gears can give, for each hand.

    Parameters
    ----------
    shop : whose gears
    terms : route, hand, pairs, mounting and gears left out; ``either`` hand stands for both
    catalogue : all trains, where another way of the same shop and terms has listed them
    crew : who does the work

    The order is that of ``best_of_each``. Raises GearsearchError where the gears make no train, their exact leads would
    not fit into 64 bits, or a hand is asked for and the shop file does not say which one the route cuts.
    """

    def __init__(self, shop: Shop, terms: Terms, catalogue: Catalogue | None = None, crew: Crew = HERE) -> None:
        self.shop = shop
        self.crew = crew
        self.kept: Kept | None = None  # while its slices are kept beside the file that is made of them
        self.terms = terms = terms.of_many_leads("a chart")
        self.route = shop.route(terms.route)
        self.drive = shop.drive(self.route)
        self.pool = catalogue.pool if catalogue else pool_of(shop, terms.without)
        least, most = terms.pairs
        self.catalogue = catalogue or Catalogue(self.pool, range(least, most + 1), compiled=True)
        if not self.catalogue.count:
            raise GearsearchError(
                f"the gears of {shop.name} make no train of {_pairs(terms)} pairs",
                "ask for fewer pairs, or add gears that mesh with each other",
            )
        self.most_pairs = max(self.catalogue.pairs)
        self.route.fewest_studs(self.most_pairs, terms.hand)
        self.catalogue.prepare()
        self._check_exact()

    def made_from(self) -> tuple[type[BestTrains], tuple[Shop, Terms]]:
        """The shop and the terms are enough."""
        return BestTrains, (self.shop, self.terms)

    @property
    def hands(self) -> tuple[str, ...]:
        """The hands to chart; ``either`` alone where the shop file does not say which is cut, or a lever turns it."""
        if self.terms.hand != "either":
            return (self.terms.hand,)
        return ("either",) if self.route.hand_with_one_stud in (None, "either") else HANDS

    @cached_property
    def judge(self) -> Judge:
        """What says whether an arrangement mounts."""
        return Judge.asked(self.shop, self.pool, self.route, self.terms.mounting)

    @property
    def word(self) -> str:
        """What a train that is charted is said to do: ``yes``, ``rule`` or ``unknown``."""
        return {"geometry": "yes", "rule": "rule", "skip": "unknown"}[self.judge.mode]

    @cached_property
    def reach_mm(self) -> tuple[Fraction, Fraction]:
        """Shortest and longest lead [mm], before mounting."""
        assert self.catalogue.reach is not None
        return self.drive.leads_mm(*self.catalogue.reach)

    def leads(self, low_mm: Fraction | None = None, high_mm: Fraction | None = None) -> Iterator[LeadRows]:
        """Every lead in [low_mm, high_mm] for which a train will do, ascending, slice by slice.

        Parameters
        ----------
        low_mm, high_mm : both included; None for the whole reach

        Memory: some slices of about 200 000 trains; never the whole answer.
        """
        low, high = self._reached(low_mm, high_mm)
        for leads in self._shared("every lead", self.window, low, high, self.most_at_once):
            yield from _inside(leads, low, high)

    def arrangements(self, low_mm: Fraction | None = None, high_mm: Fraction | None = None) -> Iterator[LeadRows]:
        """Every order of every gear set that mounts for one hand at least, each with its best idlers.

        Parameters
        ----------
        low_mm, high_mm : as ``leads``

        By lead, then ease and tooth counts. Memory as ``leads``.
        """
        low, high = self._reached(low_mm, high_mm)
        most = max(1, SLICE_TRAINS // factorial(self.most_pairs) ** 2)
        for rows in self._shared("every arrangement", self._arranged, low, high, most):
            yield from _inside(rows, low, high)

    def _reached(self, low_mm: Fraction | None, high_mm: Fraction | None) -> tuple[Fraction, Fraction]:
        """What of a window of leads [mm] can be reached; the first above the second where that is nothing."""
        shortest, longest = self.reach_mm
        return max(low_mm or shortest, shortest), min(high_mm or longest, longest)

    @property
    def most_at_once(self) -> int:
        """How many trains are judged at once: as many as memory bears, and as many as take well under a second."""
        if self.judge.mode != "geometry":
            return SLICE_TRAINS
        orders = factorial(self.most_pairs) ** 2 * len(self.hands)
        return min(SLICE_TRAINS, max(1000, _SLICE_ORDERS // orders))

    def share(
        self,
        what: str,
        task: Callable[[T], LeadRows],
        items: Iterable[T],
        weight: Callable[[T], float] = lambda _: 1,
        total: float | None = None,
    ) -> Iterator[LeadRows]:
        """What a task makes of each item, in order, as ``Crew.share``; finished ones are kept where asked."""
        log = self.kept.log(self.nothing()) if self.kept else None
        yield from self.crew.share(what, task, items, weight, total, log)

    def _shared(
        self, what: str, task: Callable[[Window], LeadRows], low_mm: Fraction, high_mm: Fraction, most: int
    ) -> Iterator[LeadRows]:
        """What a task makes of each slice of the leads, in order."""
        if low_mm > high_mm:
            return
        ends = self._ratios(low_mm, high_mm)
        trains = self.catalogue.below(ends[1]) - self.catalogue.below(ends[0])
        yield from self.share(what, task, self.slices(low_mm, high_mm, most), itemgetter(2), trains)

    def slices(self, low_mm: Fraction, high_mm: Fraction, most: int = SLICE_TRAINS) -> Iterator[Window]:
        """Windows of driven / drivers of about ``most`` trains at most, by ascending lead, that hold [low_mm, high_mm].

        Each with about how many trains it holds. No train lies on an edge between two of them, so that one lead is
        never in two.
        """
        yield from self.catalogue.stream(*self._ratios(low_mm, high_mm), most, falling=self.drive.is_inverse)

    def _ratios(self, low_mm: Fraction, high_mm: Fraction) -> tuple[float, float]:
        """The window of driven / drivers that holds some leads."""
        least, greatest = self.drive.ratios(low_mm, high_mm)
        return float(least) * (1 - EDGE), float(greatest) * (1 + EDGE)

    def window(self, ends: Window) -> LeadRows:
        """The leads of one window of ratios, as ``slices`` gives them."""
        return self.windows([ends[:2]])

    def windows(self, many: Sequence[tuple[float, float]]) -> LeadRows:
        """The leads of several windows that have no train in common, judged together."""
        found = self._may_be_judged.between_each(many)
        if not len(found):
            return self.nothing()
        asked, first = _numbered(found)
        found = replace(found, asked=asked)
        hands = {hand: best_of_each(self.judge, found, hand, len(first), self.most_pairs) for hand in self.hands}
        return self._useful(found.drivers_product[first], found.driven_product[first], hands)

    def nothing(self) -> LeadRows:
        """No leads, for the same hands."""
        none = np.empty(0, np.int64)
        return LeadRows(none, none, np.empty(0), {hand: no_trains(0, self.most_pairs, hand) for hand in self.hands})

    def _useful(self, drivers: Ints, driven: Ints, hands: dict[str, Trains]) -> LeadRows:
        """The leads for which a train will do, ascending."""
        num, den = self._exact(driven, drivers)
        leads = LeadRows(num, den, _quotient(num, den), hands)
        useful = np.logical_or.reduce([trains.mounts for trains in hands.values()])
        return leads.take(ascending(leads, np.flatnonzero(useful)))

    def _arranged(self, ends: Window) -> LeadRows:
        """The rows of one window for ``arrangements``."""
        trains = self._may_be_judged.between(*ends[:2])
        parts = [
            self._arranged_by(trains.take(trains.pairs == pairs).gears(pairs), pairs)
            for pairs in self._may_be_judged.pairs
        ]
        leads = LeadRows.joined([self.nothing(), *parts])
        first = next(iter(leads.hands.values()))
        gears = np.concatenate([first.drivers, first.driven], axis=1)
        leads = leads.take(ascending(leads, np.lexsort([*gears.T[::-1], *reversed(ease(leads))])))
        return replace(leads, own={hand: trains.mounts for hand, trains in leads.hands.items()})

    def _arranged_by(self, gears: Ints, pairs: int) -> LeadRows:
        sets = np.unique(gears[:, orders_of(pairs)].reshape(-1, 2 * pairs), axis=0)
        teeth = np.array(self.pool.teeth, np.int64)[sets]
        hands = {hand: self._as_given(sets, hand) for hand in self.hands}
        return self._useful(teeth[:, :pairs].prod(axis=1), teeth[:, pairs:].prod(axis=1), hands)

    def _as_given(self, sets: Ints, hand: str) -> Trains:
        arranged, trains = self.judge.orders(sets, hand), no_trains(len(sets), self.most_pairs, hand)
        rows = np.flatnonzero(arranged.mounts)
        keep(self.judge, arranged, rows, trains, rows)
        trains.drivers[:, : arranged.drivers.shape[1]] = arranged.drivers
        trains.driven[:, : arranged.driven.shape[1]] = arranged.driven
        return trains

    def may_mount(self, hand: str) -> bool:
        """Whether a train of that hand could mount at all."""
        return any(self._may_mount(pairs, hand) for pairs in self.catalogue.pairs)

    def _may_mount(self, pairs: int, hand: str) -> bool:
        return self.shop.may_mount(self.route, pairs, hand) or self.terms.mounting != "must"

    @cached_property
    def _may_be_judged(self) -> Catalogue:
        """Without the trains of more studs than the quadrant takes, for every hand."""
        return self.catalogue.of_pairs(
            pairs for pairs in self.catalogue.pairs if any(self._may_mount(pairs, hand) for hand in self.hands)
        )

    def _exact(self, driven: Ints, drivers: Ints) -> tuple[Ints, Ints]:
        """The exact lead of each ratio, in lowest terms."""
        base = self.drive.lead_of_machine_mm
        over, under = self.drive.machine.lead_sides(driven, drivers)
        common = np.gcd(over, under)
        over, under = over // common, under // common
        a, b = np.gcd(over, base.denominator), np.gcd(under, base.numerator)
        return over // a * (base.numerator // b), under // b * (base.denominator // a)

    def _check_exact(self) -> None:
        teeth = sorted(
            (count for count, times in zip(self.pool.teeth, self.pool.available, strict=True) for _ in range(times)),
            reverse=True,
        )
        base = self.drive.lead_of_machine_mm
        greatest = prod(teeth[: self.most_pairs]) * max(base.numerator, base.denominator)
        if greatest >= 2**63:
            raise GearsearchError(
                f"with a lead of the machine of {text_of_length(base)} the exact leads of {self.most_pairs} pairs "
                "have more digits than a chart holds",
                "use fewer pairs, or give the screw lead and the route's ratio with fewer digits",
            )


def _pairs(terms: Terms) -> str:
    least, most = terms.pairs
    return f"{least}" if least == most else f"{least} to {most}"


def _numbered(trains: Trains) -> tuple[Ints, Ints]:
    """For each train the number of its ratio, and for each number its first train."""
    driven, drivers = trains.driven_product, trains.drivers_product
    asked, first = np.empty_like(driven), np.empty_like(driven)
    numbers = kernels.number((driven / drivers).view(np.int64), driven, drivers, asked, first)
    return asked, first[:numbers]


def _quotient(num: Ints, den: Ints) -> Floats:
    """num / den, rounded once."""
    rounded = num / den
    for row in np.flatnonzero(np.maximum(num, den) >= _FULL):
        rounded[row] = float(Fraction(int(num[row]), int(den[row])))
    return rounded


def ascending(leads: LeadRows, rows: Ints) -> Ints:
    """The rows by ascending lead, exactly: leads that round to one float are parted by their fractions."""
    rows = rows[np.argsort(leads.lead_mm[rows], kind="stable")]
    values = leads.lead_mm[rows]
    same = np.flatnonzero(values[1:] == values[:-1])
    done = -1
    for start in same.tolist():
        if start >= done:
            done = start + int(np.searchsorted(values[start:], values[start], side="right"))
            rows[start:done] = sorted(rows[start:done].tolist(), key=leads.lead)
    return rows


def _inside(leads: LeadRows, low: Fraction, high: Fraction) -> Iterator[LeadRows]:
    """The leads in [low, high], decided exactly at the ends, if there are any."""
    first, last = 0, len(leads)
    while first < last and leads.lead(first) < low:
        first += 1
    while last > first and leads.lead(last - 1) > high:
        last -= 1
    if last > first:
        yield leads.take(slice(first, last))
