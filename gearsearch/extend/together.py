"""What gears added to several boxes bring to all of them: every gear, or every pair of gears, tried and ranked."""

from __future__ import annotations

from bisect import insort
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from fractions import Fraction
from itertools import combinations_with_replacement

import numpy as np

from ..base.arrays import Bools
from ..base.sharing import Remade
from ..search.solution import Solution
from .boxes import Boxes, Set
from .gains import Gains, Outcome

Pair = tuple[int, int]


@dataclass(frozen=True, slots=True)
class Brought:
    """What some added gears bring.

    Parameters
    ----------
    added : their numbers
    each : what they bring to each box
    """

    added: Set
    each: tuple[Outcome, ...]


@dataclass(frozen=True, slots=True)
class Score:
    """How what is brought is ranked: leads gained, leads made exact, how far off the farthest gained is, gears.

    Leads of several boxes are counted one after another.
    """

    gained: int
    exact: int
    worst: Fraction
    added: Set

    @property
    def order(self) -> tuple[int, int, Fraction, Set]:
        """Best first."""
        return -self.gained, -self.exact, self.worst, self.added


Ranked = list[tuple[Score, Brought]]


class Together(Remade):
    """Boxes, what they cover, and what they would with gears added to each of them.

    Parameters
    ----------
    boxes : the machines and the gears that could be had
    chosen : gears that every box has besides its own
    most : how many gears are added at once at most, 1 or 2
    candidates : numbers of the gears that may be added; None for all that could be had
    """

    def __init__(self, boxes: Boxes, chosen: Set = (), most: int = 1, candidates: Set | None = None) -> None:
        self.boxes = boxes
        self.candidates = boxes.candidates if candidates is None else candidates
        self._chosen, self._most = chosen, most
        self.each = [
            Gains(leads, pool, most, boxes.numbers(box, self.candidates))
            for box, (leads, pool) in enumerate(zip(boxes.each, boxes.pools(chosen), strict=True))
        ]

    def made_from(self) -> tuple[type[Together], tuple[Boxes, Set, int, Set]]:
        """What the boxes cover is worked out again."""
        return Together, (self.boxes, self._chosen, self._most, self.candidates)

    def singles(self) -> list[Brought]:
        """What each gear that could be had brings by itself."""
        return list(self.boxes.crew.share("trying one gear more", self.single, self.candidates))

    def single(self, gear: int) -> Brought:
        """What one more gear brings."""
        numbers = (self.boxes.numbers(box, (gear,)) for box in range(len(self.each)))
        each = (
            gains.single(*number) if number else gains.nothing()
            for gains, number in zip(self.each, numbers, strict=True)
        )
        return Brought((gear,), tuple(each))

    def fits(self, asked: tuple[int, Brought]) -> tuple[Solution, ...]:
        """The first of the closest trains for each lead that is gained or made exact on one machine, in their order."""
        box, brought = asked
        gains, outcome = self.each[box], brought.each[box]
        pool = gains.leads.with_gears(gains.pool, self.boxes.numbers(box, brought.added))
        leads = {*gains.gained(outcome), *gains.made_exact(outcome)}
        return tuple(gains.leads.solutions(pool, {lead: outcome.closest[lead] for lead in leads}).values())

    def score(self, brought: Brought) -> Score:
        """How it is ranked."""
        rows = list(zip(self.each, brought.each, strict=True))
        gained = [outcome.closest[lead].off for gains, outcome in rows for lead in gains.gained(outcome)]
        exact = sum(len(gains.made_exact(outcome)) for gains, outcome in rows)
        return Score(len(gained), exact, max(gained, default=Fraction(0)), brought.added)

    def ranked(self, rows: Iterable[Brought]) -> Ranked:
        """Those that bring anything, best first."""
        scored = ((self.score(brought), brought) for brought in rows)
        return sorted((row for row in scored if row[0].gained or row[0].exact), key=lambda row: row[0].order)

    def pairs(self, singles: list[Brought], count: int, once: frozenset[int] = frozenset()) -> Ranked:
        """The best pairs of gears, and all that tie with the last of them; each better than the best gear alone.

        Gears in ``once`` are not added twice.
        Pairs are judged in the order of what they could bring at best, until no other could come among the first.
        """
        alone = {brought.added[0]: brought for brought in singles}
        single = min((self.score(brought).order[:2] for brought in singles), default=(0, 0))
        weighed = self._hopes(alone, once)
        hopes = sorted((h for h in weighed if (-h[0], -h[1]) < single), key=lambda h: (-h[0], -h[1], h[2]))
        asked = ((pair, [alone[gear] for gear in sorted(set(pair))]) for *_, pair in hopes)
        outcomes = self.boxes.crew.share("trying two gears more", self.pair, asked, total=len(hopes))
        found: Ranked = []
        for (gained, exact, _), brought in zip(hopes, outcomes, strict=False):
            if len(found) >= count and (-gained, -exact) > found[count - 1][0].order[:2]:
                break
            score = self.score(brought)
            if score.order[:2] < single:
                insort(found, (score, brought), key=lambda row: row[0].order)
        outcomes.close()
        return found

    def _hopes(self, alone: dict[int, Brought], once: frozenset[int]) -> Iterator[tuple[int, int, Pair]]:
        """For each pair: how many leads it could gain and make exact at most."""
        twice = combinations_with_replacement(sorted(alone), 2)
        pairs = [pair for pair in twice if pair[0] != pair[1] or pair[0] not in once]
        marks = {gear: self._marks(brought) for gear, brought in alone.items()}
        asked = [(pair, marks[pair[0]] | marks[pair[1]]) for pair in pairs]
        most = self.boxes.crew.share("weighing two gears more", self.hope, asked)
        return ((*hope, pair) for hope, pair in zip(most, pairs, strict=True))

    def _marks(self, brought: Brought) -> Bools:
        """Of the leads of all boxes: those that are inside tolerance, and those that are exact, or might be."""
        marks = [gains.marks(outcome) for gains, outcome in zip(self.each, brought.each, strict=True)]
        return np.concatenate([np.stack(both) for both in marks], axis=1)

    def hope(self, asked: tuple[Pair, Bools]) -> tuple[int, int]:
        """How many leads a pair could gain and make exact at most, from what each of its gears could."""
        pair, marks = asked
        served = exact = start = 0
        for box, gains in enumerate(self.each):
            stop = start + len(gains.covered)
            here, numbers = marks[:, start:stop].copy(), self.boxes.numbers(box, pair)
            if len(numbers) == 2:
                gains.hope(numbers, here)
            served += int(here[0].sum() - gains.covered.sum())
            exact += int(here[1].sum() - gains.exact.sum())
            start = stop
        return served, exact

    def pair(self, asked: tuple[Pair, list[Brought]]) -> Brought:
        """What two more gears bring together, from what each of them brings."""
        pair, alone = asked
        each = []
        for box, gains in enumerate(self.each):
            numbers = self.boxes.numbers(box, pair)
            known = [brought.each[box] for brought in alone if self.boxes.numbers(box, brought.added)]
            each.append(gains.pair(numbers, known) if len(numbers) == 2 else (known or [gains.nothing()])[0])
        return Brought(pair, tuple(each))
