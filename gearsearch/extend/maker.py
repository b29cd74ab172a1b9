"""How a set of gears for a list of leads is put together: all sets tried, or the best gear each time and exchanges."""

from __future__ import annotations

from collections import Counter
from itertools import combinations
from math import comb

from ..base.sharing import shared
from ..shop.pool import GearPool
from .bound import near_trains
from .coverage import Setting
from .growth import Growth
from .owned import Owned

Set = tuple[int, ...]  # size numbers, ascending
MOST_TRIED = 500  # up to so many sets every one is tried
STARTS = 6  # how many sets are begun, of which the best is kept


class Maker:
    """Makes sets of gears for a list and compares them; see ``design`` for the order and the method.

    Parameters
    ----------
    setting : the leads, the machine and the gears that could be had; its box holds no loose gear
    gears : how many gears a set may have
    copies : how many equal ones
    """

    def __init__(self, setting: Setting, gears: int, copies: int) -> None:
        self._setting = setting
        self._gears = gears
        self._copies = copies
        self._known: dict[Set, tuple[int, int]] = {}

    def best(self) -> tuple[Set, bool]:
        """The best set that was found, without gears that bring nothing, and whether every set was tried."""
        stock = sorted(self._setting.candidates * self._copies)
        every = comb(len(stock), self._gears) <= MOST_TRIED
        if every:
            tried = sorted(set(combinations(stock, self._gears)))
            chosen = min(shared("trying every set", self._placed, tried))[-1]
        else:
            chosen = min(map(self._improved, self._starts()), key=self._placed)
        return self._bare(chosen), every

    def _box(self, chosen: Set) -> GearPool:
        return self._setting.with_gears(self._setting.box, chosen)

    def _value(self, chosen: Set) -> tuple[int, int]:
        """How many leads the set covers, and how many exactly."""
        if chosen not in self._known:
            box = self._box(chosen)
            best, _ = Owned(self._setting, box).closest()
            self._known[chosen] = len(best), sum(found.miss == 0 for found in best.values())
        return self._known[chosen]

    def _placed(self, chosen: Set) -> tuple[int, int, int, Set]:
        """What sets are compared by, the best first, and the set itself."""
        covered, exact = self._value(chosen)
        return -covered, -exact, sum(self._setting.box.teeth[size] for size in chosen), chosen

    def _bare(self, chosen: Set) -> Set:
        """The set without gears that bring nothing, the largest taken out first."""
        for size in sorted(set(chosen), key=lambda size: -self._setting.box.teeth[size]):
            while size in chosen and self._value(_less(chosen, size)) == self._value(chosen):
                chosen = _less(chosen, size)
        return chosen

    def _growth(self, chosen: Set, most: int) -> Growth:
        allowed = tuple(size for size in self._setting.candidates if chosen.count(size) < self._copies)
        return Growth(self._setting, self._box(chosen), most, allowed)

    def _improved(self, start: Set) -> Set:
        """A set gathered, then exchanged and filled up again while that helps."""
        chosen = self._gathered(start)
        while True:
            trial = self._gathered(self._exchanged(chosen))
            if self._placed(trial) >= self._placed(chosen):
                return chosen
            chosen = trial

    def _starts(self) -> list[Set]:
        """What sets are begun from: nothing, and the first few pairs of gears that bring most."""
        growth = self._growth((), 2)
        once = frozenset(growth.candidates if self._copies == 1 else ())
        pairs = growth.pairs(growth.singles(), STARTS, once)
        return [(), *(score.added for score, _ in pairs[1:STARTS])]

    def _gathered(self, chosen: Set) -> Set:
        """The set filled up, each time with what brings most; short where nothing brings anything."""
        while len(chosen) < self._gears:
            more = self._one(chosen) or self._two(chosen) or self._train(chosen)
            if not more:
                break
            chosen = tuple(sorted((*chosen, *more)))
        return chosen

    def _one(self, chosen: Set) -> Set:
        growth = self._growth(chosen, 1)
        scores = sorted(map(growth.score, growth.singles()), key=lambda score: score.order)
        return scores[0].added if scores and (scores[0].gained or scores[0].exact) else ()

    def _two(self, chosen: Set) -> Set:
        if len(chosen) + 2 > self._gears:
            return ()
        growth = self._growth(chosen, 2)
        once = frozenset(size for size in growth.candidates if chosen.count(size) + 2 > self._copies)
        pairs = growth.pairs(growth.singles(), 1, once)
        return pairs[0][0].added if pairs else ()

    def _train(self, chosen: Set) -> Set:
        """The fewest gears more that make a whole train for a lead that the set does not cover."""
        setting, box = self._setting, self._box(chosen)
        plenty = setting.with_gears(setting.box, setting.candidates, self._copies)
        covered, _ = Owned(setting, box).closest()
        missing = (need for need in range(len(setting.needs)) if need not in covered)
        trains = (train for need in missing for train in near_trains(setting, plenty, need))
        lacking = (_lacking(train, box.available) for train in trains)
        few = [more for more in lacking if 0 < len(more) <= self._gears - len(chosen)]
        return min(few, key=lambda more: (len(more), more), default=())

    def _exchanged(self, chosen: Set) -> Set:
        """The set with gears exchanged one for one, the best exchange each time, as long as that helps."""
        while True:
            rests = [_less(chosen, size) for size in sorted(set(chosen))]
            refilled = (tuple(sorted((*rest, *self._one(rest)))) for rest in rests)
            better = min(refilled, default=chosen, key=self._placed)
            if self._placed(better) >= self._placed(chosen):
                return chosen
            chosen = better


def _less(chosen: Set, size: int) -> Set:
    place = chosen.index(size)
    return chosen[:place] + chosen[place + 1 :]


def _lacking(train: Set, available: tuple[int, ...]) -> Set:
    """The gears of a train that a box has not got."""
    return tuple(size for size, count in sorted(Counter(train).items()) for _ in range(count - available[size]))
