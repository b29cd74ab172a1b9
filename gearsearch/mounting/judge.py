"""Will it mount, and for which hand: every order of a train's gears and every idler, judged by the quadrant."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from functools import lru_cache
from itertools import permutations
from typing import TYPE_CHECKING

from ..base.errors import GearsearchError
from ..base.units import format_length
from ..shop.machine import Route
from ..shop.pool import GearPool
from ..shop.quadrant import MOST_STUDS
from ..shop.shop import Shop
from ..shop.train_columns import Trains
from ..shop.trains import HANDS, MOST_PAIRS, Train, hand_of
from .arrangement import Arrangement
from .placement import Names, Placement, Stud, Verdict, Wheel

if TYPE_CHECKING:
    from . import kernels
    from .arrays import Reading

__all__ = ["Judge", "Placement", "Stud", "Verdict", "Wheel"]

MODES = ("auto", "geometry", "rule", "skip")
_NO_PIECES = (
    "the joined pieces cannot be put so: a piece serves with both gears on one stud, or with one alone on the first "
    "shaft, on the last, or as an idler, and its partner needs a gear plane beside it"
)


class Judge:
    """Says which arrangements of a train mount, on one shop's quadrant with one box of gears.

    Parameters
    ----------
    shop : its quadrant and machine
    box : the gears to be had
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

    def __init__(self, shop: Shop, box: GearPool, route: Route, mode: str = "auto", names: type[Names] = Names) -> None:
        _require(mode in MODES, f"mounting cannot be judged by {mode!r}", f"use one of: {', '.join(MODES)}")
        _require(
            shop.has_geometry or mode != "geometry",
            "there is no shaft distance to judge the mounting by",
            "add [quadrant] with shaft_distance to the shop file, or go by the rule of thumb",
        )
        from .arrays import Arrays

        self.shop = shop
        self.box = box
        self.route = route
        self.mode = ("geometry" if shop.has_geometry else "rule") if mode == "auto" else mode
        self._names = names
        self._arrays = Arrays.of(shop, box, self.mode)

    @classmethod
    def asked(cls, shop: Shop, box: GearPool, route: Route, mounting: str | None) -> Judge:
        """The judge for how mounting is taken in a request: not at all with ``skip``, else as well as the shop lets."""
        return cls(shop, box, route, "skip" if mounting == "skip" else "auto")

    def best(self, sizes: kernels.Ints, hand: str) -> Trains:
        """The best arrangement of each train set; where none mounts, its gears in some order.

        Parameters
        ----------
        sizes : (T, 2p) size numbers of p drivers, then of p driven gears, each side in any order
        hand : ``right``, ``left`` or ``either``. The two hands have no arrangement in common, so asking for one
            after the other costs no more than asking for both at once.

        Raises GearsearchError when a hand is asked for and the shop file does not say which hand the route cuts.
        Cost: 50 to 100 ns for each order of each set, with studs in a slot at a fixed shaft distance.
        """
        return self._best(sizes, hand, reasons=False)

    def orders(self, sets: kernels.Ints, hand: str) -> Trains:
        """As ``best``, but with the gears of each row in just the order they are given in.

        Parameters
        ----------
        sets : (T, 2p) size numbers of p drivers, then of p driven gears, in power order
        hand : ``right``, ``left`` or ``either``

        Raises GearsearchError as ``best`` does.
        """
        return self._best(sets, hand, reasons=False, as_given=True)

    def train(self, best: Trains, row: int) -> Train:
        """The arrangement of a row as a train; where none mounts, the least bad one."""
        best, row = self._row(best, row)
        return best.train(self.box, row)

    def judged(self, best: Trains, row: int) -> Verdict:
        """The verdict on the arrangement of a row; where none mounts, on the least bad one."""
        return self._judged(*self._row(best, row))

    def every(self, sizes: kernels.Ints, hand: str) -> list[Verdict]:
        """Every order of the gears of one train set, each with its best idlers, those that mount first.

        Parameters
        ----------
        sizes : (2p,) size numbers of p drivers, then of p driven gears
        hand : ``right``, ``left`` or ``either``

        Raises GearsearchError as ``best`` does.
        """
        import numpy as np

        orders = np.array(list(self._orders([int(size) for size in sizes])), np.int64).reshape(-1, len(sizes))
        best = self._best(orders, hand, reasons=True, as_given=True)
        verdicts = [self._judged(best, row) for row in range(len(best))]
        places = [tuple(row) for row in best.idler_pairs.tolist()]
        keys = [
            (judged.mounts == "no", len(judged.train.idlers), -int(clearance), judged.train.order, place)
            for judged, clearance, place in zip(verdicts, best.clearance_um, places, strict=True)
        ]
        return [verdicts[row] for row in sorted(range(len(best)), key=keys.__getitem__)]

    def place(self, train: Train) -> Verdict:
        """The verdict on one arrangement exactly as given, idlers and all.

        Raises GearsearchError for a gear that the box has not.
        """
        train = self.shop.tagged(train)
        hand = hand_of(train.studs, self.route.hand_with_one_stud)
        arrangement = self._arrangement(train)
        why = arrangement.ruled_out()
        if not why and train.studs > MOST_STUDS:
            why = f"it needs {train.studs} studs; no more than {MOST_STUDS} are judged"
        reading = None if why else self._arrays.read(*arrangement.sizes())
        if reading is None:
            return Verdict(train, hand, "no", why or _NO_PIECES)
        return self._verdict(arrangement, reading, hand)

    def _verdict(self, arrangement: Arrangement, reading: Reading, hand: str | None) -> Verdict:
        train = arrangement.train
        if self.mode == "skip":
            return Verdict(train, hand, "unknown", "not judged")
        if self.mode == "rule":
            said = f"by the rule of thumb only{self._limit_of_the_rule(train)}"
            return Verdict(train, hand, *(("rule", said) if reading.mounts else ("no", arrangement.by_rule())))
        assert self.shop.quadrant is not None
        if not reading.mounts:
            return Verdict(train, hand, "no", arrangement.why_not(self.shop.quadrant, reading))
        placement = arrangement.placement(self.shop.quadrant, reading)
        return Verdict(train, hand, "yes", placement.tightest, placement.clearance_mm, placement)

    def _limit_of_the_rule(self, train: Train) -> str:
        """What the rule of thumb leaves open where it is kept."""
        if train.idlers:
            return "; any idler that reaches will do"
        if train.studs:
            return ""
        apart = self.shop.gear_set(train.pairs[0].kind).kind.module_mm * sum(t for _, t in train.wheels) / 2
        return f"; without a stud it goes on only where the shafts stand {format_length(apart, self.shop.units)} apart"

    def _best(self, sets: kernels.Ints, hand: str, *, reasons: bool, as_given: bool = False) -> Trains:
        pairs = sets.shape[1] // 2
        idlers = self._idlers(pairs, hand)
        orders = _orders(pairs)[: 1 if as_given else None]
        return _arranged(self._arrays.judge(sets, orders, idlers, reasons), pairs, hand)

    def _row(self, best: Trains, row: int) -> tuple[Trains, int]:
        """The row itself, or its least bad arrangement as a block of one row."""
        import numpy as np

        from .kernels import FOUND, GEARS

        if best.mounts[row]:
            return best, row
        pairs = int(best.pairs[row])
        sizes = [int(size) for size in (*best.drivers[row, :pairs], *best.driven[row, :pairs])]
        sets = np.array([sizes], np.int64)
        rows = self._arrays.judge(sets, _orders(pairs), self._idlers(pairs, best.hand), True)
        if rows[0, FOUND] < 0:  # nothing could be judged: an order that is not ruled out, or any, shows why
            orders = list(self._orders(sizes)) or [tuple(sizes)]
            trains = [self._arrangement(self.box.train(order[:pairs], order[pairs:])) for order in orders]
            allowed = [not train.ruled_out() for train in trains]
            rows[0, GEARS : GEARS + 2 * pairs] = orders[allowed.index(True) if any(allowed) else 0]
        return _arranged(rows, pairs, best.hand), 0

    def _judged(self, best: Trains, row: int) -> Verdict:
        train = best.train(self.box, row)
        cuts = hand_of(train.studs, self.route.hand_with_one_stud, best.hand)
        if best.mounts[row] or best.hand in ("either", cuts):
            return replace(self.place(train), hand=cuts)
        arrangement = self._arrangement(train)
        return Verdict(train, best.hand, "no", arrangement.ruled_out() or arrangement.names.no_idler)

    def _arrangement(self, train: Train) -> Arrangement:
        return Arrangement(self._names(self.shop, self.route, train.studs), self.box, train)

    def _orders(self, sizes: list[int]) -> Iterator[tuple[int, ...]]:
        """Every order of drivers and of driven gears in which only gears of one kind of tooth mesh."""
        half = len(sizes) // 2
        for drivers in sorted(set(permutations(sizes[:half]))):
            for driven in sorted(set(permutations(sizes[half:]))):
                if all(self.box.kind[a] == self.box.kind[b] for a, b in zip(drivers, driven, strict=True)):
                    yield *drivers, *driven

    def _idlers(self, pairs: int, hand: str) -> tuple[int, int, int]:
        """Least, step and most of the numbers of idlers that give the hand."""
        _require(
            1 <= pairs <= MOST_PAIRS, f"a train of {pairs} pairs cannot be judged", f"give 1 to {MOST_PAIRS} pairs"
        )
        _require(hand in (*HANDS, "either"), f"the hand {hand!r} is not known", "use right, left or either")
        least = self.route.fewest_studs(pairs, hand) - (pairs - 1)
        any_number = "either" in (hand, self.route.hand_with_one_stud)
        step = 1 if any_number else 2
        if self.mode == "geometry":
            return least, step, self._arrays.studs - (pairs - 1)
        return least, step, 1 if any_number else least


def _require(holds: bool, given: str, remedy: str) -> None:
    if not holds:
        raise GearsearchError(given, remedy)


def _arranged(rows: kernels.Rows, pairs: int, hand: str) -> Trains:
    """The trains of a block of rows as the loops write them."""
    import numpy as np

    from .kernels import CLEARANCE_UM, FOUND, GEARS

    driven, sizes = GEARS + pairs, GEARS + 2 * pairs
    places = (rows.shape[1] + sizes) // 2
    return Trains(
        pairs=np.full(len(rows), pairs),
        drivers=rows[:, GEARS:driven],
        driven=rows[:, driven:sizes],
        mounts=rows[:, FOUND] == 1,
        idlers=rows[:, sizes:places],
        idler_pairs=rows[:, places:],
        clearance_um=rows[:, CLEARANCE_UM],
        hand=hand,
    )


@lru_cache(maxsize=8)
def _orders(pairs: int) -> kernels.Ints:
    import numpy as np

    return np.array(list(permutations(range(pairs))), np.int64)
