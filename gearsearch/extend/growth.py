"""What a box gains with gears added, lead by lead: only trains that need the added gears are looked at.

A gear can bring a lead in two ways: as driver or driven of a train, or as the idler that lets a train of the old
gears mount. Trains that do not mount with the old gears are kept for the second way where they would mount with
every gear that could be had; all others can never mount and are dropped.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from itertools import combinations_with_replacement

import numpy as np

from ..base.arrays import Floats
from ..base.sharing import shared
from ..shop.pool import GearPool
from .added import AddedTrains
from .coverage import Best, Pool, Rows, Setting, merged
from .kernels import Bools
from .owned import Owned

_NEAR = 1e-14  # float misses nearer than this to each other are told apart by fractions


@dataclass(frozen=True, slots=True)
class Outcome:
    """What some added gears bring.

    Parameters
    ----------
    added : their size numbers
    best : the closest trains that mount, for each lead newly inside tolerance or newly exact
    hopeful : trains with these gears that do not mount, but might with more gears to serve as idlers
    """

    added: tuple[int, ...]
    best: dict[int, Best]
    hopeful: Pool


@dataclass(frozen=True, slots=True)
class Score:
    """How an outcome is ranked: leads gained, leads made exact, greatest miss among those gained, gears."""

    gained: tuple[int, ...]
    exact: tuple[int, ...]
    worst: Fraction
    added: tuple[int, ...]

    @property
    def order(self) -> tuple[int, int, Fraction, tuple[int, ...]]:
        """Best first."""
        return -len(self.gained), -len(self.exact), self.worst, self.added


class Growth:
    """A box, what it covers, and what it would with gears added.

    Parameters
    ----------
    setting : the leads, the machine and the gears that could be had
    box : the gears owned
    most : how many gears are added at once at most, 1 or 2
    candidates : size numbers of the gears that may be added; None for all that could be had
    """

    def __init__(
        self, setting: Setting, box: GearPool, most: int = 1, candidates: tuple[int, ...] | None = None
    ) -> None:
        self.setting = setting
        self.box = box
        self.most = most
        self.candidates = setting.candidates if candidates is None else candidates
        self._added = [AddedTrains(box, p) for p in range(setting.terms.pairs[0], setting.terms.pairs[1] + 1)]
        self.best, failed = Owned(setting, box).closest()
        self.covered = _marked(len(setting.needs), self.best)
        self.exact = _marked(len(setting.needs), (need for need, best in self.best.items() if best.miss == 0))
        self._hopeful = self._still_hopeful(failed)

    @cached_property
    def _everything(self) -> GearPool:
        """The box with as many of every gear that could be had as may be added."""
        return self.setting.with_gears(self.box, self.candidates, self.most)

    def _still_hopeful(self, failed: Pool) -> Pool:
        """Of trains that do not mount: those that would serve a lead not yet served so well, and could mount."""
        wanted = {p: self._unserved(rows) for p, rows in failed.items()}
        judge = self.setting.judge(self._everything)
        return {
            p: rows.take(np.flatnonzero(judge.best(rows.sizes, self.setting.terms.hand).mounts))
            for p, rows in wanted.items()
            if len(rows)
        }

    def _unserved(self, rows: Rows) -> Rows:
        kept = rows.take(np.flatnonzero(~self.exact[rows.need]))
        return self.setting.rows(kept.need, kept.sizes, kept.drivers, kept.driven, self.covered)

    def new_trains(self, added: tuple[int, ...]) -> Pool:
        """The trains that need all the added gears and serve a lead not yet served so well."""
        needs = np.flatnonzero(~self.exact)
        windows = self.setting.windows(self.covered.tolist())[needs]
        pool: Pool = {}
        for trains in self._added:
            found = trains.trains(added, windows)
            pool[trains.pairs] = self.setting.rows(
                needs[found.window], found.sizes, found.drivers, found.driven, self.covered
            )
        return pool

    def single(self, size: int) -> Outcome:
        """What one more gear of a size brings."""
        box = self.setting.with_gears(self.box, (size,))
        best, failed = self.setting.closest(merged(self.new_trains((size,)), self._hopeful), box)
        if self.most == 1:
            return Outcome((size,), best, {})
        with_it = {p: rows.take(np.flatnonzero(self._uses(rows, size))) for p, rows in failed.items()}
        return Outcome((size,), best, self._still_hopeful(with_it))

    def _uses(self, rows: Rows, size: int) -> Bools:
        """Which trains take more gears of a size than the box has."""
        many: Bools = (rows.sizes == size).sum(axis=1) > self.box.available[size]
        return many

    def singles(self) -> list[Outcome]:
        """What each gear that could be had brings by itself."""
        return list(shared("trying one gear more", self.single, self.candidates))

    def score(self, outcome: Outcome) -> Score:
        """How the outcome is ranked."""
        gained = tuple(sorted(need for need in outcome.best if not self.covered[need]))
        exact = tuple(sorted(n for n, best in outcome.best.items() if best.miss == 0 and not self.exact[n]))
        worst = max((outcome.best[need].miss for need in gained), default=Fraction(0))
        return Score(gained, exact, worst, outcome.added)

    def pairs(
        self, singles: list[Outcome], count: int, once: frozenset[int] = frozenset()
    ) -> list[tuple[Score, Outcome]]:
        """The best pairs of gears, and all that tie with the last of them; each better than the best gear alone.

        Sizes in ``once`` are not added twice.
        Pairs are judged in the order of what they could bring at best, until no other could come among the first.
        """
        alone = {outcome.added[0]: outcome for outcome in singles}
        scores = {size: self.score(outcome) for size, outcome in alone.items()}
        found: list[tuple[Score, Outcome]] = []
        single = min((score.order[:2] for score in scores.values()), default=(0, 0))
        weighed = self._hopes(alone, scores, once)
        hopes = sorted((h for h in weighed if (-h[0], -h[1]) < single), key=lambda h: (-h[0], -h[1], h[2]))
        outcomes = shared("trying two gears more", lambda hope: self.pair(alone, hope[2]), hopes)
        for (gained, exact, _), outcome in zip(hopes, outcomes, strict=False):
            if len(found) >= count and (-gained, -exact) > found[count - 1][0].order[:2]:
                break
            score = self.score(outcome)
            if score.order[:2] < single:
                found.append((score, outcome))
                found.sort(key=lambda row: row[0].order)
        outcomes.close()
        return found

    def _hopes(
        self, alone: dict[int, Outcome], scores: dict[int, Score], once: frozenset[int]
    ) -> list[tuple[int, int, tuple[int, ...]]]:
        """For each pair: how many leads it could gain and make exact at most."""
        twice = combinations_with_replacement(sorted(alone), 2)
        pairs = [pair for pair in twice if pair[0] != pair[1] or pair[0] not in once]
        most = shared("weighing two gears more", lambda pair: self._hope(alone, scores, pair), pairs)
        return [(*hope, pair) for hope, pair in zip(most, pairs, strict=True)]

    def _hope(self, alone: dict[int, Outcome], scores: dict[int, Score], pair: tuple[int, ...]) -> tuple[int, int]:
        served, exact = self.covered.copy(), self.exact.copy()
        for size in pair:
            served[list(scores[size].gained)] = True
            exact[list(scores[size].exact)] = True
        for outcome in (self._hopeful, *(alone[size].hopeful for size in set(pair))):
            for rows in outcome.values():
                served[rows.need] = True
                exact[rows.need[rows.miss < _NEAR]] = True
        everywhere = np.zeros(len(served), np.bool_)
        self._touch(pair, self.setting.windows(everywhere.tolist()), served)
        self._touch(pair, self.setting.windows((~everywhere).tolist()), exact)
        return int(served.sum() - self.covered.sum()), int(exact.sum() - self.exact.sum())

    def _touch(self, pair: tuple[int, ...], windows: Floats, marks: Bools) -> None:
        for trains in self._added:
            trains.touched(pair, windows, marks)

    def pair(self, alone: dict[int, Outcome], pair: tuple[int, ...]) -> Outcome:
        """What two more gears bring together."""
        outcomes = [alone[size] for size in sorted(set(pair))]
        best: dict[int, Best] = {}
        for outcome in outcomes:
            better(best, outcome.best)
        pool = merged(self.new_trains(pair), self._hopeful, *(outcome.hopeful for outcome in outcomes))
        limit = np.full(len(self.covered), np.inf)
        for need, so_far in best.items():
            limit[need] = float(so_far.miss) + _NEAR
        wanted = {p: rows.take(np.flatnonzero(rows.miss <= limit[rows.need])) for p, rows in pool.items()}
        found, _ = self.setting.closest(wanted, self.setting.with_gears(self.box, pair))
        better(best, found)
        return Outcome(pair, best, {})


def better(best: dict[int, Best], more: dict[int, Best]) -> None:
    """Take over what is nearer; gear sets that are as near are kept side by side."""
    for need, other in more.items():
        so_far = best.get(need)
        if so_far is None or other.miss < so_far.miss:
            best[need] = other
        elif other.miss == so_far.miss:
            best[need] = Best(other.miss, tuple(dict.fromkeys((*so_far.sets, *other.sets))))


def _marked(length: int, places: Iterator[int] | dict[int, Best]) -> Bools:
    marks = np.zeros(length, np.bool_)
    marks[list(places)] = True
    return marks
