"""Will it mount, and for which hand: every order of a train's gears and every idler, judged by the quadrant."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from itertools import permutations

import numpy as np

from ..base.arrays import Bools, Ints
from ..base.errors import GearsearchError
from ..base.units import format_length
from ..shop.bracket import MOST_STUDS
from ..shop.machine import Route
from ..shop.pool import GearPool
from ..shop.shop import Shop
from ..shop.train_columns import Trains
from ..shop.trains import HANDS, MOST_PAIRS, Train, hand_of
from .placement import Names, Placement, Stud, Verdict, Wheel
from .places import Places, places_of
from .reading import Reading
from .reasons import Arrangement, Reasons
from .trials import Trials, Tried, clearance_um

__all__ = ["Judge", "Placement", "Places", "Stud", "Verdict", "Wheel"]

MODES = ("auto", "geometry", "rule", "skip")
_NO_PIECES = (
    "the joined pieces can't go on like this: a piece is used with both gears on one stud, or with one alone on the "
    "first shaft, on the last, or as an idler, and its partner needs a gear plane beside it"
)


class Judge:
    """Says which arrangements of a train mount, on one shop's quadrant with one pool of gears.

    Parameters
    ----------
    shop : its quadrant and machine
    pool : the gears to be had
    route : the way of the train, for its hand and its names
    mode : ``geometry``, ``rule`` (the rule of thumb), ``skip`` (gaps are not judged, but the gears owned, where each
        may stand, and the hand are), or ``auto``: geometry where the shop file has a quadrant to judge by, else the
        rule
    names : makes what the shafts are called in reasons, from shop, route and how many studs there are

    Of several arrangements the best is that with the fewest idlers; then with the greatest clearance in whole
    micrometres; then with the least tooth counts of drivers, driven and idlers in power order; then with its idlers
    in the foremost pairs. By the rule of thumb no clearance is known, and any idler that reaches will do.

    Raises GearsearchError for what cannot be judged: geometry without a shaft distance, more than 16 kinds of joined
    pieces.
    Limits of validity: full-depth external spur gears; shafts, nuts and obstacles are round and pass through every
    plane; a gear is as wide as a plane.
    """

    def __init__(
        self, shop: Shop, pool: GearPool, route: Route, mode: str = "auto", names: type[Names] = Names
    ) -> None:
        _require(mode in MODES, f"mounting cannot be judged by {mode!r}", f"use one of: {', '.join(MODES)}")
        _require(
            shop.has_geometry or mode != "geometry",
            "there is no shaft distance to judge the mounting by",
            "add [quadrant] with shaft_distance to the shop file, or go by the rule of thumb",
        )
        self.shop = shop
        self.pool = pool
        self.route = route
        self.mode = ("geometry" if shop.has_geometry else "rule") if mode == "auto" else mode
        self._names = names
        self._trials = Trials.of(shop, pool, self.mode)

    @classmethod
    def asked(cls, shop: Shop, pool: GearPool, route: Route, mounting: str | None) -> Judge:
        """The judge for how mounting is taken in a request: not at all with ``skip``, else as well as the shop lets."""
        return cls(shop, pool, route, "skip" if mounting == "skip" else "auto")

    @property
    def plain(self) -> bool:
        """Whether of trains of one lead and as many gears that with the least tooth counts is best, unjudged."""
        return self._trials.plain

    def best(self, sizes: Ints, hand: str) -> Trains:
        """The best arrangement of each train set; where none mounts, its gears in some order.

        Parameters
        ----------
        sizes : (T, 2p) gear numbers of p drivers, then of p driven gears, each side in any order
        hand : ``right``, ``left`` or ``either``. The two hands have no arrangement in common, so asking for one
            after the other costs no more than asking for both at once.

        Raises GearsearchError when a hand is asked for and the shop file does not say which hand the route cuts.
        Cost: about 0.2 µs for each order of each set, with studs in a slot at a fixed shaft distance.
        """
        return self._arranged(self._in_order(sizes), hand)

    def best_of_each(self, sizes: Ints, asked: Ints, hand: str) -> Trains:
        """The best arrangement of all train sets of each lead, one row a lead, by ascending number of the lead.

        Parameters
        ----------
        sizes, hand : as ``best`` takes them
        asked : for each set the number of its lead

        Raises GearsearchError as ``best`` does. Cost: a fraction of that of ``best``, where a lead has many sets.
        """
        order = np.argsort(asked, kind="stable")
        leads, owner = np.unique(asked[order], return_inverse=True)
        return replace(self._arranged(self._in_order(sizes[order]), hand, owner=owner), asked=leads)

    def mounting(self, sizes: Ints, hand: str) -> Bools:
        """Whether any arrangement of each train set mounts; quicker than ``best``, which takes and raises the same."""
        return self._trials.best(sizes, self._idlers(sizes, hand), any_will_do=True).mounts

    def orders(self, sets: Ints, hand: str) -> Trains:
        """As ``best``, but with the gears of each row in just the order they are given in.

        Parameters
        ----------
        sets : (T, 2p) gear numbers of p drivers, then of p driven gears, in power order
        hand : ``right``, ``left`` or ``either``

        Raises GearsearchError as ``best`` does.
        """
        return self._arranged(sets, hand, as_given=True)

    def train(self, best: Trains, row: int) -> Train:
        """The arrangement of a row as a train; where none mounts, the least bad one."""
        best, row = self._row(best, row)
        return best.train(self.pool, row)

    def judged(self, best: Trains, row: int) -> Verdict:
        """The verdict on the arrangement of a row; where none mounts, on the least bad one."""
        return self._judged(*self._row(best, row))

    def every(self, sizes: Ints, hand: str) -> list[Verdict]:
        """Every order of the gears of one train set, each with its best idlers, those that mount first.

        Parameters
        ----------
        sizes : (2p,) gear numbers of p drivers, then of p driven gears
        hand : ``right``, ``left`` or ``either``

        Raises GearsearchError as ``best`` does.
        """
        orders = np.array(list(self._orders([int(size) for size in sizes])), np.int64).reshape(-1, len(sizes))
        best = self._arranged(orders, hand, as_given=True, reasons=True)
        verdicts = [self._judged(best, row) for row in range(len(best))]
        places = [tuple(row) for row in best.idler_pairs.tolist()]
        keys = [
            (judged.mounts == "no", len(judged.train.idlers), -int(clearance), judged.train.order, place)
            for judged, clearance, place in zip(verdicts, best.clearance_um, places, strict=True)
        ]
        return [verdicts[row] for row in sorted(range(len(best)), key=keys.__getitem__)]

    def place(self, train: Train) -> Verdict:
        """The verdict on one arrangement exactly as given, idlers and all.

        Raises GearsearchError for a gear that the pool has not.
        """
        train = self.shop.tagged(train)
        hand = hand_of(train.studs, self.route.hand_with_one_stud)
        arrangement = self._arrangement(train)
        why = arrangement.ruled_out()
        if not why and train.studs > MOST_STUDS:
            why = f"it needs {train.studs} studs; no more than {MOST_STUDS} are judged"
        reading = None if why else self._trials.read(train)
        if reading is None:
            return Verdict(train, hand, "no", why or self._pieces_do_not_fit(arrangement))
        return self._verdict(arrangement, reading, hand)

    def places(self, trains: Trains) -> Places:
        """Where trains stand that ``best`` or ``orders`` arranged, as ``place`` says it of each. Only by geometry."""
        return places_of(self._trials, trains)

    def _verdict(self, arrangement: Arrangement, reading: Reading | bool, hand: str | None) -> Verdict:
        train = arrangement.train
        if self.mode == "skip":
            return Verdict(train, hand, "unknown", "not judged")
        if isinstance(reading, bool):
            said = f"by the rule of thumb only{self._limit_of_the_rule(train)}"
            return Verdict(train, hand, *(("rule", said) if reading else ("no", arrangement.by_rule())))
        reasons = Reasons(arrangement.names, self.pool, reading)
        if not reading.mounts:
            return Verdict(train, hand, "no", reasons.why_not())
        placement = reasons.placement()
        return Verdict(train, hand, "yes", placement.tightest, placement.clearance_mm, placement)

    def _pieces_do_not_fit(self, arrangement: Arrangement) -> str:
        """Why joined pieces do not allow an arrangement: an idle partner that may not hang there, or no way at all."""
        barred = self._trials.barred_partner(arrangement.train)
        if barred is None:
            return _NO_PIECES
        gear, partner, shaft = barred
        teeth = self.pool.teeth
        return (
            f"the {teeth[partner]} that is joined to the {teeth[gear]} may not go on {arrangement.names.shaft(shaft)}, "
            "where it would hang idle"
        )

    def _limit_of_the_rule(self, train: Train) -> str:
        """What the rule of thumb leaves open where it is kept."""
        if train.idlers:
            return "; use any idler that reaches"
        if train.studs:
            return ""
        apart = self.shop.gear_set(train.pairs[0].kind).kind.module_mm * sum(t for _, t in train.wheels) / 2
        return f"; without a stud it goes on only where the shafts stand {format_length(apart, self.shop.units)} apart"

    def _arranged(
        self, sets: Ints, hand: str, *, owner: Ints | None = None, as_given: bool = False, reasons: bool = False
    ) -> Trains:
        """What ``Trials.best`` gives for a hand."""
        idlers = self._idlers(sets, hand)
        return _as_trains(self._trials.best(sets, idlers, owner=owner, as_given=as_given, reasons=reasons), hand)

    def _in_order(self, sets: Ints) -> Ints:
        """Each side of the sets by tooth count, then kind of tooth: the order that is shown where nothing mounts."""
        half, sizes = sets.shape[1] // 2, range(len(self.pool.teeth))
        by_teeth = np.array(sorted(sizes, key=lambda size: (self.pool.teeth[size], self.pool.kind[size])), np.int64)
        ranks = np.argsort(by_teeth)[sets]
        ordered: Ints = by_teeth[np.concatenate([np.sort(ranks[:, :half]), np.sort(ranks[:, half:])], axis=1)]
        return ordered

    def _row(self, best: Trains, row: int) -> tuple[Trains, int]:
        """The row itself, or its least bad arrangement as a block of one row."""
        if best.mounts[row]:
            return best, row
        given = np.array([best.gears_of(row)], np.int64)
        sets, idlers = self._in_order(given), self._idlers(given, best.hand)
        tried = self._trials.best(sets, idlers, reasons=True)
        if tried.value[0] == -np.inf:  # nothing could be tried: what joined pieces rule out, or any order, shows why
            listed = self._trials.listed(sets, idlers.start)
            tried.gears[0] = self._any_order(given[0].tolist()) if listed is None else listed.gears[: sets.shape[1], 0]
            if listed is not None:
                tried.sizes[0, : idlers.start] = listed.gears[sets.shape[1] :, 0]
                tried.places[0, : idlers.start] = listed.shape.places
        return _as_trains(tried, best.hand), 0

    def _any_order(self, sizes: list[int]) -> tuple[int, ...]:
        """An order that nothing rules out, else any."""
        pairs = len(sizes) // 2
        orders = list(self._orders(sizes)) or [tuple(sizes)]
        trains = [self._arrangement(self.pool.train(order[:pairs], order[pairs:])) for order in orders]
        allowed = [not train.ruled_out() for train in trains]
        return orders[allowed.index(True) if any(allowed) else 0]

    def _judged(self, best: Trains, row: int) -> Verdict:
        train = best.train(self.pool, row)
        cuts = hand_of(train.studs, self.route.hand_with_one_stud, best.hand)
        if best.mounts[row] or best.hand in ("either", cuts):
            return replace(self.place(train), hand=cuts)
        arrangement = self._arrangement(train)
        return Verdict(train, best.hand, "no", arrangement.ruled_out() or arrangement.names.no_idler)

    def _arrangement(self, train: Train) -> Arrangement:
        return Arrangement(self._names(self.shop, self.route, train.studs), self.pool, train)

    def _orders(self, sizes: list[int]) -> Iterator[tuple[int, ...]]:
        """Every order of drivers and of driven gears in which only gears of one kind of tooth mesh."""
        half = len(sizes) // 2
        for drivers in sorted(set(permutations(sizes[:half]))):
            for driven in sorted(set(permutations(sizes[half:]))):
                if all(self.pool.kind[a] == self.pool.kind[b] for a, b in zip(drivers, driven, strict=True)):
                    yield *drivers, *driven

    def _idlers(self, sets: Ints, hand: str) -> range:
        """The numbers of idlers that give the hand and that there may be room for."""
        pairs = sets.shape[1] // 2
        _require(
            1 <= pairs <= MOST_PAIRS, f"a train of {pairs} pairs cannot be judged", f"give 1 to {MOST_PAIRS} pairs"
        )
        _require(hand in (*HANDS, "either"), f"the hand {hand!r} is not known", "use right, left or either")
        least = self.route.fewest_studs(pairs, hand) - (pairs - 1)
        any_number = "either" in (hand, self.route.hand_with_one_stud)
        step = 1 if any_number else 2
        if self.mode == "geometry":
            assert self.shop.quadrant is not None
            return range(least, max(least, self.shop.quadrant.bracket.takes - (pairs - 1) + 1), step)
        return range(least, 2 if any_number else least + 1, step)


def _require(holds: bool, given: str, remedy: str) -> None:
    if not holds:
        raise GearsearchError(given, remedy)


def _as_trains(tried: Tried, hand: str) -> Trains:
    """What was tried for a hand, as trains."""
    pairs, mounts = tried.gears.shape[1] // 2, tried.mounts
    return Trains(
        pairs=np.full(len(mounts), pairs),
        drivers=tried.gears[:, :pairs],
        driven=tried.gears[:, pairs:],
        mounts=mounts,
        idlers=tried.sizes,
        idler_pairs=tried.places,
        clearance_um=clearance_um(np.where(mounts, tried.value, 0.0)),
        hand=hand,
    )
