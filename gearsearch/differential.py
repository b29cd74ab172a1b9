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

from .answers import Lead
from .box import Box, box_of
from .dividing import Movement, crank_turns, head_of
from .errors import GearsearchError
from .shop import Route, Shop
from .trains import Pair, Train

GREATEST_PLATE_RATIO = 8
JUDGED = (
    "judged by the rule of thumb alone: the quadrant of the shop file is that between table and head, "
    "not that between spindle and plate"
)


@dataclass(frozen=True, slots=True)
class Differential:
    """One differential set-up.

    Parameters
    ----------
    divisions : N
    movement : what to do with the crank for each division, against the turning plate
    plate_turns : x, turns of the plate for one turn of the spindle, exact; below zero against the crank
    train : from the spindle (first driver) to the plate (last driven), idlers included
    mounts : ``rule`` or ``no``, by the rule of thumb
    why : the reason of a no
    """

    divisions: int
    movement: Movement
    plate_turns: Fraction
    train: Train
    mounts: str
    why: str

    @property
    def plate_way(self) -> str:
        """Which way the plate turns, in words."""
        return "with the crank" if self.plate_turns > 0 else "against the crank"

    @property
    def order(self) -> tuple[object, ...]:
        """Mounting, fewest gears, fewest idlers, the slower plate, the handier movement, then the tooth counts."""
        gears = self.train.gears, len(self.train.idlers)
        return (self.mounts == "no", *gears, abs(self.plate_turns), self.movement.order, self.train.order)


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
    """Set-ups that give N divisions exactly with the shop's own gears, in their total order.

    Parameters
    ----------
    shop : its gears and its dividing head
    divisions : N
    pairs : least and most pairs of a train, within 1 to 2
    count : how many answers

    Raises GearsearchError for divisions out of range and without a dividing head.
    Limits: the plate turns at most eight times as fast or as slow as the spindle.
    """
    if not 1 <= pairs[0] <= pairs[1] <= 2:
        raise GearsearchError(f"pairs from {pairs[0]} to {pairs[1]}", "a differential train has 1 or 2 pairs")
    head = head_of(shop)
    finder = _Finder(shop, pairs)
    found: list[Differential] = []
    for movement in movements_near(shop, crank_turns(head, divisions)):
        plate = plate_turns(head.ratio, divisions, movement)
        if Fraction(1, GREATEST_PLATE_RATIO) <= abs(plate) <= GREATEST_PLATE_RATIO:
            found += [
                Differential(divisions, movement, plate, *judged) for judged in finder.trains(1 / abs(plate), plate)
            ]
    return sorted(found, key=lambda answer: answer.order)[:count]


def movements_near(shop: Shop, turns: Fraction) -> Iterator[Movement]:
    """For each circle the movements a few holes to either side of so many crank turns, each ratio once."""
    seen: set[Fraction] = set()
    for circle in sorted(head_of(shop).circles):
        middle = round(turns * circle)
        for holes in range(max(1, middle - 8), middle + 9):
            movement = Movement(*divmod(holes, circle), circle)
            if movement.crank_turns not in seen:
                seen.add(movement.crank_turns)
                yield movement if movement.holes else Movement(movement.turns)


class _Finder:
    """Finds trains of an exact ratio with the search's own sweep, and gives each the idlers its direction needs."""

    def __init__(self, shop: Shop, pairs: tuple[int, int]) -> None:
        from .mounting import Judge
        from .search import Search

        route = Route("differential", Fraction(1))
        machine = replace(shop.machine, kind="mill", screw_lead_mm=Fraction(1), routes=(route,))
        free = tuple(replace(gears, fixed={}, only_on={}) for gears in shop.gears)
        self.shop = replace(shop, machine=machine, quadrant=None, gears=free)
        self.box: Box = box_of(self.shop)
        self.judge = Judge(self.shop, self.box, route, "rule")
        self.pairs = pairs
        self.Search = Search

    def trains(self, ratio: Fraction, plate: Fraction) -> Iterator[tuple[Train, str, str]]:
        """The best arrangement of each gear set whose driven / drivers is exactly this, with its verdict."""
        from .answers import Request

        search = self.Search(self.shop, Request(ratio, pairs=self.pairs))
        for lead in search.leads(ratio, ratio):
            yield from self._arranged(lead, plate)

    def _arranged(self, lead: Lead, plate: Fraction) -> Iterator[tuple[Train, str, str]]:
        import numpy as np

        for pairs, sets in lead.sets.items():
            for sizes in sets:
                for judged in self.judge.every(np.array(sizes, np.int64), "either"):
                    train = self._with_idlers(judged.train, studs_for(plate, pairs))
                    if not judged.train.idlers and train is not None:
                        yield train, judged.mounts, judged.why
                        break

    def _with_idlers(self, train: Train, studs: int) -> Train | None:
        """The train with its idlers put in the last mesh, the smallest left over; any size that reaches will do."""
        wanted = studs - train.studs
        left = self._left_over(train)
        if wanted < 0 or len(left) < wanted:
            return None
        last = train.pairs[-1]
        idlers = tuple(sorted(left)[:wanted])
        return Train((*train.pairs[:-1], Pair(last.driver, last.driven, idlers, last.kind)))

    def _left_over(self, train: Train) -> list[int]:
        tag = train.pairs[-1].kind
        owned = self.shop.gear_set(tag).available()
        for kind, teeth in train.wheels:
            owned[teeth] -= kind == tag
        return list(owned.elements())
