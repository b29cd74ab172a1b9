"""Every lead in a window with the best train for each hand: what all charts are made of."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, fields
from fractions import Fraction
from functools import cached_property
from itertools import permutations
from math import factorial, prod
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ..base.errors import GearsearchError
from ..base.sharing import shared
from ..base.units import text_of_length
from ..mounting.judge import BestArrangements, Judge
from ..mounting.plain import best_unjudged
from ..search.catalogue import EDGE, Catalogue
from ..search.needs import Terms
from ..shop.pool import GearPool, pool_of
from ..shop.shop import Shop
from ..shop.train_columns import Trains
from ..shop.trains import HANDS
from . import kernels
from .rows import Rows, ease

Small = NDArray[np.int16]
Ints = kernels.Ints

SLICE_TRAINS = 200_000  # trains judged at once; bounds the memory
_SLICE_ORDERS = 2_500_000  # orders of their gears judged at once; bounds how long Ctrl-C waits
MOST_IDLERS = 8
NO_TRAIN, NOT_TOLD = 0, -1
_FULL = 2**53
_HAIR = 4e-15  # relative; no train may be so near to an edge between two slices


@dataclass(frozen=True, slots=True)
class Chosen:
    """The best train of each lead for one hand, as arrays of one row a lead.

    Parameters
    ----------
    pairs : how many pairs it has; 0 where no train will do, −1 where the chart does not tell
    drivers, driven : (N, most) size numbers in power order, padded with −1
    idlers, places : (N, 8) size numbers, and the pair each stands in; padded with −1
    clearance_um : tightest gap [µm]; −1 where it was not judged, 10**9 where nothing is near
    """

    pairs: Small
    drivers: Small
    driven: Small
    idlers: Small
    places: Small
    clearance_um: NDArray[np.int32]

    @classmethod
    def none(cls, leads: int, most: int) -> Chosen:
        """No train for any lead yet."""
        gears, idlers = np.full((leads, most), -1, np.int16), np.full((leads, MOST_IDLERS), -1, np.int16)
        clearance = np.full(leads, -1, np.int32)
        return cls(np.zeros(leads, np.int16), gears, gears.copy(), idlers, idlers.copy(), clearance)

    def take(self, rows: Any) -> Chosen:
        """The same for some of the leads."""
        return Chosen(*(getattr(self, column.name)[rows] for column in fields(self)))

    def clear(self, rows: Any) -> None:
        """Take the trains of some of the leads away; that there are any is not denied."""
        rows = rows & (self.pairs > NO_TRAIN)
        self.pairs[rows] = NOT_TOLD
        for column in (self.drivers, self.driven, self.idlers, self.places, self.clearance_um):
            column[rows] = -1

    @classmethod
    def joined(cls, parts: Iterable[Chosen]) -> Chosen:
        """Several one after another."""
        parts = list(parts)
        return cls(*(np.concatenate([getattr(part, column.name) for part in parts]) for column in fields(cls)))

    @property
    def idler_count(self) -> Small:
        """How many idlers each train has."""
        count: Small = (self.idlers >= 0).sum(axis=1).astype(np.int16)
        return count


@dataclass(frozen=True, slots=True)
class Leads:
    """Leads in ascending order, each with its best train for each hand.

    Parameters
    ----------
    num, den : (N,) the lead [mm], exact and in lowest terms
    lead_mm : (N,) the same, rounded
    hands : for each hand that was asked for, the trains; the one key ``either`` where no hand is known
    """

    num: Ints
    den: Ints
    lead_mm: kernels.Floats
    hands: dict[str, Chosen]

    def __len__(self) -> int:
        return len(self.num)

    def lead(self, row: int) -> Fraction:
        """The lead of a row [mm], exact."""
        return Fraction(int(self.num[row]), int(self.den[row]))

    def take(self, rows: Any) -> Leads:
        """Some of the leads."""
        hands = {hand: chosen.take(rows) for hand, chosen in self.hands.items()}
        return Leads(self.num[rows], self.den[rows], self.lead_mm[rows], hands)

    @classmethod
    def joined(cls, parts: Iterable[Leads]) -> Leads:
        """Several one after another."""
        parts = list(parts)
        return cls(
            np.concatenate([part.num for part in parts]),
            np.concatenate([part.den for part in parts]),
            np.concatenate([part.lead_mm for part in parts]),
            {hand: Chosen.joined(part.hands[hand] for part in parts) for hand in parts[0].hands},
        )


class Survey:
    """All that a shop's gears can give, window by window.

    Parameters
    ----------
    shop : whose gears
    terms : route, hand, pairs, mounting and gears left out; ``either`` hand stands for both

    Of the trains of one lead the best for a hand is the first in the documented order: mounting, fewest gears,
    fewest idlers, most clearance, then the tooth counts in power order.
    Raises GearsearchError where the gears make no train, their exact leads would not fit into 64 bits, or a hand is
    asked for and the shop file does not say which one the route cuts.
    """

    def __init__(self, shop: Shop, terms: Terms) -> None:
        self.shop = shop
        self.terms = terms
        self.route = shop.route(terms.route)
        self.drive = shop.drive(self.route)
        self.box: GearPool = pool_of(shop, terms.without)
        least, most = terms.pairs
        self.catalogue = Catalogue(self.box, range(least, most + 1))
        if not self.catalogue.count:
            raise GearsearchError(
                f"the gears of {shop.name} make no train of {_pairs(terms)} pairs",
                "ask for fewer pairs, or add gears that mesh with each other",
            )
        self.most_pairs = max(self.catalogue.pairs)
        self.route.fewest_studs(self.most_pairs, terms.hand)
        self.catalogue.prepare()
        self._check_exact()

    @property
    def hands(self) -> tuple[str, ...]:
        """The hands to chart; ``either`` alone where the shop file does not say which is cut, or a lever turns it."""
        if self.terms.hand != "either":
            return (self.terms.hand,)
        return ("either",) if self.route.hand_with_one_stud in (None, "either") else HANDS

    @property
    def trains(self) -> int:
        """How many trains there are in all."""
        return self.catalogue.count

    @cached_property
    def judge(self) -> Judge:
        """What says whether an arrangement mounts."""
        return Judge.asked(self.shop, self.box, self.route, self.terms.mounting)

    @property
    def word(self) -> str:
        """What a train that is charted is said to do: ``yes``, ``rule`` or ``unknown``."""
        return {"geometry": "yes", "rule": "rule", "skip": "unknown"}[self.judge.mode]

    @cached_property
    def reach_mm(self) -> tuple[Fraction, Fraction]:
        """Shortest and longest lead [mm], before mounting."""
        assert self.catalogue.reach is not None
        return self.drive.leads_mm(*self.catalogue.reach)

    def leads(self, low_mm: Fraction | None = None, high_mm: Fraction | None = None) -> Iterator[Leads]:
        """Every lead in [low_mm, high_mm] for which a train will do, ascending, slice by slice.

        Parameters
        ----------
        low_mm, high_mm : both included; None for the whole reach

        Memory: some slices of about 200 000 trains; never the whole answer.
        """
        shortest, longest = self.reach_mm
        low, high = max(low_mm or shortest, shortest), min(high_mm or longest, longest)
        if low > high:
            return
        slices = self.slices(low, high, self.most_at_once)
        for leads in shared("every lead", self.window, slices):
            inside = _inside(leads, low, high)
            if inside.stop > inside.start:
                yield leads.take(inside)

    def arrangements(self, low_mm: Fraction | None = None, high_mm: Fraction | None = None) -> Iterator[Rows]:
        """Every order of every gear set that mounts for one hand at least, each with its best idlers.

        Parameters
        ----------
        low_mm, high_mm : as ``leads``

        By lead, then ease and tooth counts. Memory as ``leads``.
        """
        shortest, longest = self.reach_mm
        low, high = max(low_mm or shortest, shortest), min(high_mm or longest, longest)
        if low > high:
            return
        most = max(1, SLICE_TRAINS // factorial(self.most_pairs) ** 2)
        for rows in shared("every arrangement", self._arranged, self.slices(low, high, most)):
            inside = _inside(rows.leads, low, high)
            if inside.stop > inside.start:
                yield rows.take(inside)

    @property
    def most_at_once(self) -> int:
        """How many trains are judged at once: as many as memory bears, and as many as take well under a second."""
        if self.judge.mode != "geometry":
            return SLICE_TRAINS
        orders = factorial(self.most_pairs) ** 2 * len(self.hands)
        return min(SLICE_TRAINS, max(1000, _SLICE_ORDERS // orders))

    def slices(self, low_mm: Fraction, high_mm: Fraction, most: int = SLICE_TRAINS) -> list[tuple[float, float]]:
        """Windows of driven / drivers of about ``most`` trains at most, by ascending lead, that hold [low_mm, high_mm].

        No train lies on an edge between two of them, so that one lead is never in two.
        """
        least, greatest = self.drive.ratios(low_mm, high_mm)
        parts = self.catalogue.stream(float(least) * (1 - EDGE), float(greatest) * (1 + EDGE), most)
        done = [(low, high) for low, high, _ in parts]
        return done if self.drive.is_mill else done[::-1]

    def window(self, ends: tuple[float, float]) -> Leads:
        """The leads of one window of driven / drivers, ends taken as the sweep takes them."""
        return self.windows([ends])

    def windows(self, many: Sequence[tuple[float, float]]) -> Leads:
        """The leads of several windows that have no train in common, judged together."""
        found = Trains.joined(self._may_be_judged.between(*ends) for ends in many)
        if not len(found):
            return self.nothing()
        owner, first = _numbered(found.driven_product, found.drivers_product)
        num, den = self._exact(found.driven_product[first], found.drivers_product[first])
        lead_mm = _quotient(num, den)
        hands = {hand: self._chosen(hand, found, owner, len(first)) for hand in self.hands}
        leads = Leads(num, den, lead_mm, hands)
        useful = np.logical_or.reduce([chosen.pairs > NO_TRAIN for chosen in hands.values()])
        return leads.take(ascending(leads, np.flatnonzero(useful)))

    def nothing(self) -> Leads:
        """No leads, for the same hands."""
        none = np.empty(0, np.int64)
        return Leads(none, none, np.empty(0), {hand: Chosen.none(0, self.most_pairs) for hand in self.hands})

    def _arranged(self, ends: tuple[float, float]) -> Rows:
        """The rows of one window for ``arrangements``."""
        trains = self._may_be_judged.between(*ends)
        parts = [
            self._arranged_by(trains.take(trains.pairs == pairs).gears(pairs), pairs)
            for pairs in self._may_be_judged.pairs
        ]
        leads = Leads.joined([self.nothing(), *parts])
        gears = [chosen for hand in leads.hands.values() for chosen in (hand.drivers, hand.driven)]
        order = np.lexsort([*np.concatenate(gears[:2], axis=1).T[::-1], *reversed(ease(leads))])
        leads = leads.take(ascending(leads, order))
        return Rows(leads, {hand: chosen.pairs > NO_TRAIN for hand, chosen in leads.hands.items()})

    def _arranged_by(self, gears: Ints, pairs: int) -> Leads:
        orders = [[*a, *(pairs + i for i in b)] for a in permutations(range(pairs)) for b in permutations(range(pairs))]
        sets = np.unique(gears[:, orders].reshape(-1, 2 * pairs), axis=0)
        teeth = np.array(self.box.teeth, np.int64)[sets]
        num, den = self._exact(teeth[:, pairs:].prod(axis=1), teeth[:, :pairs].prod(axis=1))
        hands = {hand: self._as_given(sets, hand) for hand in self.hands}
        useful = np.logical_or.reduce([chosen.pairs > NO_TRAIN for chosen in hands.values()])
        return Leads(num, den, _quotient(num, den), hands).take(np.flatnonzero(useful))

    def _as_given(self, sets: Ints, hand: str) -> Chosen:
        best = self.judge.orders(sets, hand)
        chosen, rows = Chosen.none(len(sets), self.most_pairs), np.flatnonzero(best.found)
        _keep(best, rows, rows, chosen, judged=self.judge.mode == "geometry")
        chosen.drivers[:, : best.drivers.shape[1]] = best.drivers
        chosen.driven[:, : best.driven.shape[1]] = best.driven
        return chosen

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

    def _chosen(self, hand: str, found: Trains, owner: Ints, leads: int) -> Chosen:
        chosen = Chosen.none(leads, self.most_pairs)
        for pairs in self._may_be_judged.pairs:
            rows = np.flatnonzero((found.pairs == pairs) & (chosen.pairs[owner] == NO_TRAIN))
            if len(rows):
                self._choose(hand, found.take(rows).gears(pairs), owner[rows], chosen)
        return chosen

    def _choose(self, hand: str, sizes: Ints, owner: Ints, chosen: Chosen) -> None:
        """Judge the train sets of so many pairs, and keep the best of each lead that has none yet."""
        if self._is_plain:
            rows = _firsts(owner, sizes, len(chosen.pairs))
            sizes, owner = sizes[rows], owner[rows]
            best = best_unjudged(self.judge, sizes, hand)
        else:
            best = self.judge.best(sizes, hand)
        mounts = np.flatnonzero(best.found)
        rows = mounts[_firsts(owner[mounts], best.order_keys(self.box)[mounts], len(chosen.pairs))]
        _keep(best, rows, owner[rows], chosen, judged=self.judge.mode == "geometry")

    @cached_property
    def _is_plain(self) -> bool:
        """Whether all that decides among the trains of one lead and one number of pairs is their tooth counts.

        Then the others need not be judged: any gear may stand anywhere, no gap is asked for, and of equally many
        gears equally many are left to be idlers.
        """
        box = self.box
        limited = box.greatest_pair_ratio is not None or len(box.tags) > 1
        restricted = box.joined or max(box.fixed_first, box.fixed_last) >= 0 or limited
        return self.judge.mode == "skip" and not restricted and all(all(places) for places in box.allowed)

    def _exact(self, driven: Ints, drivers: Ints) -> tuple[Ints, Ints]:
        """The exact lead of each ratio, in lowest terms."""
        base = self.drive.lead_of_machine_mm
        over, under = (driven, drivers) if self.drive.is_mill else (drivers, driven)
        common = np.gcd(over, under)
        over, under = over // common, under // common
        a, b = np.gcd(over, base.denominator), np.gcd(under, base.numerator)
        return over // a * (base.numerator // b), under // b * (base.denominator // a)

    def _check_exact(self) -> None:
        teeth = sorted(
            (count for count, times in zip(self.box.teeth, self.box.available, strict=True) for _ in range(times)),
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


def _numbered(driven: Ints, drivers: Ints) -> tuple[Ints, Ints]:
    """For each train the number of its ratio, and for each number its first train."""
    owner, first = np.empty_like(driven), np.empty_like(driven)
    numbers = kernels.number((driven / drivers).view(np.int64), driven, drivers, owner, first)
    return owner, first[:numbers]


def _firsts(owner: Ints, keys: Ints, owners: int) -> Ints:
    """The rows that are the first of their owner by their keys."""
    best = np.full(owners, -1, np.int64)
    kernels.first_of_each(owner, np.ascontiguousarray(keys), best)
    rows: Ints = best[best >= 0]
    return rows


def _keep(best: BestArrangements, rows: Ints, owners: Ints, chosen: Chosen, *, judged: bool) -> None:
    pairs, idlers = best.drivers.shape[1], best.idler_sizes.shape[1]
    chosen.pairs[owners] = pairs
    chosen.drivers[owners, :pairs] = best.drivers[rows]
    chosen.driven[owners, :pairs] = best.driven[rows]
    chosen.idlers[owners, :idlers] = best.idler_sizes[rows]
    chosen.places[owners, :idlers] = best.idler_places[rows]
    if judged:
        chosen.clearance_um[owners] = best.clearance_um[rows]


def _quotient(num: Ints, den: Ints) -> kernels.Floats:
    """num / den, rounded once."""
    rounded = num / den
    for row in np.flatnonzero(np.maximum(num, den) >= _FULL):
        rounded[row] = float(Fraction(int(num[row]), int(den[row])))
    return rounded


def ascending(leads: Leads, rows: Ints) -> Ints:
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


def _inside(leads: Leads, low: Fraction, high: Fraction) -> slice:
    """The leads in [low, high], decided exactly at the ends."""
    first, last = 0, len(leads)
    while first < last and leads.lead(first) < low:
        first += 1
    while last > first and leads.lead(last - 1) > high:
        last -= 1
    return slice(first, last)
