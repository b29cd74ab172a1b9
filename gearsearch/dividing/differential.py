"""Differential indexing: the plate itself is turned by gears from the head's spindle, so that any number comes out.

With N divisions wanted, H holes in the circle, n of them taken and V the ratio of the head, the plate must turn
x = (H V − N n) / H times for one turn of the spindle: with the crank where x is above zero, against it where it is
below. |x| = drivers / driven of the train from the spindle to the plate (Practical Treatise on Milling and Milling
Machines, Brown & Sharpe, 1914, pp. 55-57).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cached_property
from math import ceil, floor
from typing import TYPE_CHECKING

from ..base import require
from ..mounting.placement import Names, Placement
from ..search.catalogue import Catalogue
from ..shop import counting
from ..shop.head import Dividing
from ..shop.machine import Route
from ..shop.pool import pool_of
from ..shop.shop import Shop
from ..shop.trains import Pair, Train, hand_of
from .indexing import MOST_WAYS, Movement, crank_turns, head_of

if TYPE_CHECKING:
    from ..base.arrays import Ints
    from ..mounting.judge import Judge, Verdict
    from ..shop.train_columns import Trains

_WITH, _AGAINST = "right", "left"  # the plate's two ways, in the search's words for what an odd and an even train turns
_FIRST = 10  # about how many ratios are looked for at first
ROUTE = Route("plate", Fraction(1), hand_with_one_stud=_WITH)


class NamesOfHead(Names):
    """What the shafts of a dividing head are called."""

    __slots__ = ()

    def shaft(self, number: int) -> str:
        """The shaft of that number from the spindle on."""
        if number == 0:
            return "the spindle"
        return f"stud {number}" if number <= self.studs else "the plate"

    @property
    def no_idler(self) -> str:
        """That no gear is left for the idler which the plate's way takes."""
        return "no gear is left over that could turn the plate the other way as an idler"


@dataclass(frozen=True, slots=True)
class Differential:
    """One differential set-up.

    Parameters
    ----------
    divisions : N
    head_ratio : V, crank turns for one turn of the work
    movement : what to do with the crank for each division, against the turning plate
    wanted_turns : x, turns of the plate for one turn of the spindle that make it exact; below zero against the crank
    train : from the spindle (first driver) to the plate (last driven), idlers included
    mounts : ``yes`` or ``no`` by the bracket between spindle and plate where that is measured, else ``rule`` or ``no``
    why : the reason of a no
    placement : where each stud goes, by the bracket
    """

    divisions: int
    head_ratio: Fraction
    movement: Movement
    wanted_turns: Fraction
    train: Train
    mounts: str
    why: str = ""
    placement: Placement | None = None

    @property
    def plate_turns(self) -> Fraction:
        """Turns of the plate for one turn of the spindle with this train, exact; below zero against the crank."""
        size = 1 / self.train.ratio
        return size if self.wanted_turns > 0 else -size

    @property
    def plate_way(self) -> str:
        """Which way the plate turns, in words."""
        return "with the crank" if self.wanted_turns > 0 else "against the crank"

    @property
    def exact(self) -> bool:
        """Whether the train turns the plate just as much as N asks."""
        return self.plate_turns == self.wanted_turns

    @property
    def built_up_deg(self) -> Fraction:
        """Error after all N divisions [degrees], exact; plus is too far.

        One division turns the spindle by movement / (V − x) turns, the plate's own part of the way taken off.
        """
        return _built_up_deg(self.head_ratio, self.wanted_turns, self.plate_turns)

    @property
    def error_deg(self) -> Fraction:
        """Error of one division [degrees], exact; plus is too far."""
        return self.built_up_deg / self.divisions

    @property
    def order(self) -> tuple[object, ...]:
        """Mounting, fewest gears, fewest idlers, the slower plate, the handier movement, then the least gears."""
        train = self.train
        kinds = tuple(pair.kind for pair in train.pairs)
        gears = tuple(sorted(train.drivers)), tuple(sorted(train.driven))
        speed = abs(self.plate_turns)
        return (self.mounts == "no", train.gears, len(train.idlers), speed, self.movement.order, gears, kinds)


def plate_turns(ratio: Fraction, divisions: int, movement: Movement) -> Fraction:
    """Turns of the plate for one turn of the spindle, exact: V − N × crank turns a division."""
    return ratio - divisions * movement.crank_turns


def studs_for(plate: Fraction, pairs: int) -> int:
    """How many studs stand between spindle and plate: one where the plate turns with the crank, two where against.

    So simple trains need one idler or two, compound trains none or one. On heads built like the classic one;
    partly from memory: ``Practical Treatise``, pp. 55-57, prints the simple train with one idler for x > 0 and
    the compound with one for x < 0. Others may need one idler more: turn by hand and look at the plate.
    """
    studs = 1 if plate > 0 else 2
    return max(studs, pairs - 1)


def differentials(shop: Shop, divisions: int, pairs: tuple[int, int] = (1, 2), count: int = 5) -> list[Differential]:
    """Set-ups that give N divisions exactly with the shop's own gears, the best of each movement first.

    Parameters
    ----------
    shop : its gears and its dividing head
    divisions : N
    pairs : least and most pairs of a train, within 1 to 2
    count : how many answers, 1 to 1000

    The order: the best set-up of each movement first, then all others, each lot by ``Differential.order``; so that
    the first rows are different circles and ratios, and not many trains of one. Each set of gears stands once for
    each movement, in its best order; those that the rule of thumb rules out come last, with the reason. Every
    movement whose plate the gears can turn is tried, on every circle.
    Raises GearsearchError for divisions out of range and without a dividing head.
    Limits: one side of the plate at a time; the rule of thumb says nothing of reach between spindle and plate.
    """
    finder = _finder(shop, pairs, count)
    first: dict[Movement, Differential] = {}
    others: list[Differential] = []
    ruled_out: list[Differential] = []
    for pairs_used, plate, movement in finder.candidates(divisions):
        for answer in finder.set_ups(divisions, pairs_used, plate, movement):
            if answer.mounts == "no":
                ruled_out.append(answer)
            elif first.setdefault(movement, answer) is not answer:
                others.append(answer)
            if movement in first and len(others) >= count:
                break  # what is left of this movement would come after all that is asked for
        if len(first) == count:
            break
    return [*first.values(), *others, *sorted(ruled_out, key=lambda answer: answer.order)][:count]


def nearest_differentials(
    shop: Shop, divisions: int, pairs: tuple[int, int] = (1, 2), count: int = 5
) -> list[Differential]:
    """Set-ups that come nearest to N divisions, least error first, then in the order of ``differentials``.

    Parameters as in ``differentials``. For each movement the nearest train that clears to either side is one answer;
    of the movements that ask more of the plate than the gears can, only the next one on each circle may be nearest.
    Raises GearsearchError as ``differentials`` does.
    """
    finder = _finder(shop, pairs, count)
    first: list[Differential] = []
    for plate, movement in finder.movements(divisions, beyond=1):
        farthest = abs(first[-1].built_up_deg) if len(first) == count else None
        found = [finder.answer(divisions, movement, plate, judged) for judged in finder.nearest(plate, farthest)]
        able = [answer for answer in found if answer.plate_turns < answer.head_ratio]
        first = sorted([*first, *able], key=lambda answer: (abs(answer.built_up_deg), answer.order))[:count]
    return first


def _built_up_deg(ratio: Fraction, wanted: Fraction, plate: Fraction) -> Fraction:
    """Error of one turn of the work [degrees] where the plate turns so, and not as wanted."""
    return 360 * (plate - wanted) / (ratio - plate)


def movements_within(head: Dividing, divisions: int, greatest: Fraction, beyond: int = 0) -> Iterator[Movement]:
    """Every movement for which the plate must turn at most so many times, either way; the same way of the crank once.

    ``beyond`` is how many holes more are taken to either side on every circle. Of equal movements on several circles
    the handiest is taken: the one of the fewest holes.
    """
    seen: set[Fraction] = set()
    for circle in head.circles:
        low = max(1, ceil(circle * (head.ratio - greatest) / divisions) - beyond)
        for holes in range(low, floor(circle * (head.ratio + greatest) / divisions) + beyond + 1):
            turns, rest = divmod(holes, circle)
            movement = Movement(turns, rest, circle) if rest else Movement(turns)
            if movement.crank_turns not in seen:
                seen.add(movement.crank_turns)
                yield movement


def _finder(shop: Shop, pairs: tuple[int, int], count: int) -> _Finder:
    pairs = require.span(pairs, 2, "pairs of a train", "a differential train cannot have {} pairs", "give 1 or 2 pairs")
    require.whole(count, MOST_WAYS, "ways")
    return _Finder(shop, head_of(shop), pairs)


class _Finder:
    """The trains from the head's spindle to its plate: plate turns are drivers over driven.

    The table screw takes no part: a gear that cannot come off it is not to be had, and one that cannot come off the
    worm shaft is on the plate's. What is judged by is the head's own bracket, where it is measured: the quadrant of the
    shop is the one between table and head.
    """

    def __init__(self, shop: Shop, head: Dividing, pairs: tuple[int, int]) -> None:
        gears = tuple(
            replace(owned, fixed={place: teeth for place, teeth in owned.fixed.items() if place == "last"})
            for owned in shop.gears
        )
        self.shop = replace(shop, quadrant=head.quadrant, gears=gears)
        self.head = head
        self.pool = pool_of(self.shop)
        self.catalogue = Catalogue(self.pool, range(pairs[0], pairs[1] + 1))

    @cached_property
    def judge(self) -> Judge:
        """What says whether an arrangement mounts, or clears by the rule of thumb."""
        from ..mounting.judge import Judge

        return Judge(self.shop, self.pool, ROUTE, "auto", NamesOfHead)

    def movements(self, divisions: int, beyond: int = 0) -> list[tuple[Fraction, Movement]]:
        """(plate turns, movement) of every movement whose plate the gears can turn, and so many holes beyond."""
        crank_turns(self.head, divisions)
        if self.catalogue.reach is None:
            return []
        found = movements_within(self.head, divisions, 1 / self.catalogue.reach[0], beyond)
        plates = [(plate_turns(self.head.ratio, divisions, movement), movement) for movement in found]
        return [(plate, movement) for plate, movement in plates if plate]

    def candidates(self, divisions: int) -> list[tuple[int, Fraction, Movement]]:
        """(pairs, plate turns, movement) of everything within reach of the gears, in the total order."""
        reach = {pairs: counting.reach(self.pool, pairs) for pairs in self.catalogue.pairs}
        found = [
            (pairs, plate, movement)
            for plate, movement in self.movements(divisions)
            for pairs, (low, high) in reach.items()
            if low <= 1 / abs(plate) <= high
        ]
        return sorted(found, key=lambda row: (row[0], studs_for(row[1], row[0]), abs(row[1]), row[2].order))

    def nearest(self, plate: Fraction, farthest_deg: Fraction | None) -> Iterator[Verdict]:
        """The nearest train that clears to either side of so many plate turns, the first of its ratio.

        Where there is a farthest error, what comes after it on both sides is not looked for.
        """
        wanted = 1 / abs(plate)
        sides = {True, False}
        for ring in self.catalogue.nearest(wanted, _FIRST):
            for place, ratio in enumerate(ring.ratios):
                off = abs(ratio / wanted - 1)
                if farthest_deg is not None and self._least_error_deg(plate, off) > farthest_deg:
                    return
                side = ratio > wanted
                judged = self._first(ring.trains.take(ring.trains.asked == place), plate) if side in sides else None
                if judged is not None:
                    yield judged
                    sides -= {side}
                if not sides:
                    return

    def _least_error_deg(self, plate: Fraction, off: Fraction) -> Fraction:
        """The lesser error of two trains whose ratio is so much off, one to either side: it grows with ``off``."""
        plates = [plate / (1 + side) for side in (off, -off) if side > -1]
        return min(abs(_built_up_deg(self.head.ratio, plate, turns)) for turns in plates if turns < self.head.ratio)

    def _first(self, trains: Trains, plate: Fraction) -> Verdict | None:
        """The first train of one ratio, of the fewest gears, that the rule of thumb does not rule out."""
        for pairs in sorted(set(trains.pairs.tolist())):
            for judged in self.judged(trains.take(trains.pairs == pairs).gears(pairs), plate):
                if judged.mounts != "no":
                    return judged
        return None

    def judged(self, gears: Ints, plate: Fraction) -> Iterator[Verdict]:
        """The best arrangement of each gear set of a ratio, those that clear first, then the least gears."""
        pairs = gears.shape[1] // 2
        # a simple train without an idler would turn the plate against the crank too, but not reach it: it takes two
        two_idlers = pairs == 1 and plate < 0 and not self.head.has_geometry
        hand = _WITH if two_idlers else hand_of(studs_for(plate, pairs), _WITH)
        best = self.judge.best(gears, hand or _AGAINST)
        for row in sorted(range(len(best)), key=lambda row: self._order(best, row)):
            judged = self.judge.judged(best, row)
            yield self._with_second_idler(judged) if two_idlers and judged.mounts != "no" else judged

    def _order(self, best: Trains, row: int) -> tuple[object, ...]:
        drivers, driven = best.drivers[row].tolist(), best.driven[row].tolist()
        teeth = [sorted(self.pool.teeth[size] for size in sizes) for sizes in (drivers, driven)]
        return not best.mounts[row], teeth, [self.pool.kind[size] for size in drivers]

    def _with_second_idler(self, judged: Verdict) -> Verdict:
        """The simple train with one more idler, the smallest that is left over and may go on a stud."""
        (pair,) = judged.train.pairs
        for kind, teeth in sorted(zip(self.pool.kind, self.pool.teeth, strict=True)):
            if self.pool.tags[kind] == pair.kind:
                longer = self.judge.place(Train((Pair(pair.driver, pair.driven, (*pair.idlers, teeth), pair.kind),)))
                if longer.mounts != "no":
                    return longer
        return replace(judged, mounts="no", why="no gear is left over for the second idler")

    def set_ups(self, divisions: int, pairs: int, plate: Fraction, movement: Movement) -> Iterator[Differential]:
        """Every set-up of so many pairs that turns the plate just so, those that clear first."""
        wanted = 1 / abs(plate)
        trains = self.catalogue.of_pairs([pairs]).window(wanted, wanted)
        for judged in self.judged(trains.gears(pairs), plate) if len(trains) else ():
            yield self.answer(divisions, movement, plate, judged)

    def answer(self, divisions: int, movement: Movement, plate: Fraction, judged: Verdict) -> Differential:
        """The set-up, with the reason of a no."""
        why = judged.why if judged.mounts == "no" else ""
        found = divisions, self.head.ratio, movement, plate, judged.train, judged.mounts, why
        return Differential(*found, judged.placement)
