"""The search for one part: the leads that the gears reach, nearest first, each with its best train."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cached_property
from typing import TYPE_CHECKING

from ..base.errors import GearsearchError
from ..base.progress import Progress
from ..base.units import format_length, spaced
from ..shop.pool import GearPool, needed, pool_of
from ..shop.shop import Shop
from ..work.part import Part
from .catalogue import ByRatio, Catalogue, by_ratio
from .solution import Solution
from .terms import Terms, multiple_of

if TYPE_CHECKING:
    from ..mounting.judge import Judge, Verdict
    from ..shop.train_columns import Trains

_MOST_HELD = 400_000  # trains; some 1.5 kB each
_BATCH = 16  # how many leads are judged at first; doubled each time
_MOST_TRIED = 500  # leads, where one that serves is enough


@dataclass(frozen=True)
class Candidate:
    """A lead that the gears reach, with the best of its trains.

    Parameters
    ----------
    lead_mm, error : the lead [mm] and its error, exact
    gear_sets : how many gear sets give just this lead, whether they mount or not
    trains, row, pool : where the train stands
    """

    lead_mm: Fraction
    error: Fraction
    gear_sets: int
    trains: Trains
    row: int
    pool: GearPool

    @property
    def ease(self) -> tuple[int, ...]:
        """What ``easiest`` goes by: mounting, gears, idlers, clearance."""
        return self.key[:4]

    @cached_property
    def key(self) -> tuple[int, ...]:
        """Its place in the total order: fails, gears, idlers, −clearance [µm], then tooth counts in power order."""
        train = self.trains.train(self.pool, self.row)
        places = [at for at, pair in enumerate(train.pairs) for _ in pair.idlers]
        kinds = [self.pool.tags.index(pair.kind) for pair in train.pairs]
        ease = not self.trains.mounts[self.row], train.gears, len(train.idlers)
        clearance = int(self.trains.clearance_um[self.row])
        return (*map(int, ease), -clearance, *train.drivers, *train.driven, *train.idlers, *places, *kinds)


class Search:
    """The search for one part: what there is, near which lead, and the judging of it.

    Parameters
    ----------
    shop, part, terms : whose gears, for what, and how trains may be made
    """

    def __init__(self, shop: Shop, part: Part, terms: Terms) -> None:
        self.shop = shop
        self.part = part
        self.terms = terms
        self.route = shop.route(terms.route)
        self.drive = shop.drive(self.route)
        self.pool = pool_of(shop, terms.without, multiple_of(shop, part, terms), terms.greatest_pair_ratio)
        needed(self.pool, terms.use)  # which says what is not there to use
        least, most = terms.pairs
        step_up = terms.greatest_step_up
        self._all = Catalogue(self.pool, range(least, most + 1), terms.use, 1 / step_up if step_up else None)

    @property
    def searched(self) -> int:
        """How many trains the gears make."""
        return self._all.count

    @cached_property
    def catalogue(self) -> Catalogue:
        """The trains of all numbers of pairs that, where they must mount, the quadrant holds."""
        return self._all.of_pairs(filter(self._may_mount, self._all.pairs))

    def _may_mount(self, pairs: int) -> bool:
        return self.shop.may_mount(self.route, pairs, self.terms.hand) or self.mounting != "must"

    @cached_property
    def judge(self) -> Judge:
        """What says whether an arrangement mounts."""
        from ..mounting.judge import Judge

        return Judge.asked(self.shop, self.pool, self.route, self.mounting)

    @property
    def mounting(self) -> str:
        """How mounting is taken: as asked, else must where there is geometry to judge by."""
        return self.terms.mounting or ("must" if self.shop.has_geometry else "show")

    @cached_property
    def reach_mm(self) -> tuple[Fraction, Fraction] | None:
        """Shortest and longest lead [mm] of the gears, before mounting."""
        return None if self._all.reach is None else self.drive.leads_mm(*self._all.reach)

    @property
    def reaches(self) -> bool:
        """Whether the wanted lead lies between the shortest and the longest lead of the gears."""
        return self.reach_mm is not None and self.reach_mm[0] <= self.part.lead_mm <= self.reach_mm[1]

    @property
    def end_mm(self) -> tuple[bool, Fraction]:
        """Whether the wanted lead is too short, and the end of the reach on its side [mm]; there must be a reach."""
        assert self.reach_mm is not None
        shortest, longest = self.reach_mm
        short = self.part.lead_mm < shortest
        return short, shortest if short else longest

    def leads(self, low_mm: Fraction, high_mm: Fraction) -> ByRatio:
        """Every lead in [low_mm, high_mm], both ends included, nearest to the wanted lead first.

        Raises GearsearchError where more trains lie there than memory is meant to hold.
        """
        low, high = self.drive.ratios(low_mm, high_mm)
        count = self.catalogue.count_between(float(low), float(high))
        if count > _MOST_HELD:
            unit = self.shop.units
            raise GearsearchError(
                f"{spaced(count)} trains lie from {format_length(low_mm, unit)} to {format_length(high_mm, unit)}, "
                f"more than the {spaced(_MOST_HELD)} that are looked through at once",
                "narrow the tolerance, or use fewer pairs",
                code="too-many-trains",
            )
        found = by_ratio(self.catalogue.window(low, high))
        leads = [self.drive.lead_mm(ratio) for ratio in found.ratios]
        return found.take(sorted(range(len(leads)), key=lambda at: (abs(self._error(leads[at])), leads[at])))

    def _error(self, lead_mm: Fraction) -> Fraction:
        return lead_mm / self.part.lead_mm - 1

    def nearest(self) -> Iterator[ByRatio]:
        """Every lead of the gears, nearest to the wanted lead first, in lots that grow."""
        if self.reach_mm is None:
            return
        wanted = self.drive.ratio(self.part.lead_mm)
        whole, past = max(abs(self._error(end)) for end in self.reach_mm), 0.0
        with Progress(f"{self.route.label}: trains tried outward from the wanted lead", float(whole)) as progress:
            for ring in self.catalogue.nearest(wanted, self.terms.count, self.drive.is_inverse):
                if past:
                    progress.step(past)
                yield from _growing(ring)
                if ring.ratios:
                    past = float(abs(self._error(self.drive.lead_mm(ring.ratios[-1]))))

    def closest(self, count: int, beyond: tuple[Fraction, Fraction] | None = None) -> list[Solution]:
        """The first so many answers by error; leads inside ``beyond`` are left out.

        One answer for each lead; of two leads equally far off the shorter comes first. Which of its trains stands for a
        lead is told by ``Candidate.key``: of equal gears and idlers the one with most room, then by tooth counts.
        """
        solutions: list[Solution] = []
        for found in self.nearest():
            for candidate in self.candidates(self._outside(found, *beyond) if beyond else found):
                if candidate is not None:
                    solutions.append(self.solution(candidate))
                if len(solutions) == count:
                    return solutions
        return solutions

    def nearest_inside(self, low_mm: Fraction, high_mm: Fraction) -> Solution | None:
        """The nearest lead in [low_mm, high_mm] with a train that mounts, among the 500 nearest; None without one.

        Raises GearsearchError as ``leads``.
        """
        for lot in _growing(self.leads(low_mm, high_mm).part(0, _MOST_TRIED)):
            for candidate in filter(None, self.candidates(lot)):
                return self.solution(candidate)
        return None

    def nearest_in_reach(self) -> tuple[Solution | None, int]:
        """The nearest lead with a train that will do, among 500 or a few more, and how many leads were tried."""
        tried = 0
        for found in self.nearest():
            for candidate in filter(None, self.candidates(found)):
                return self.solution(candidate), tried + len(found.ratios)
            tried += len(found.ratios)
            if tried >= _MOST_TRIED:
                break
        return None, tried

    def _outside(self, found: ByRatio, low_mm: Fraction, high_mm: Fraction) -> ByRatio:
        leads = enumerate(map(self.drive.lead_mm, found.ratios))
        return found.take([at for at, lead in leads if not low_mm <= lead <= high_mm])

    def easiest(self, count: int, tolerance_mm: tuple[Fraction, Fraction]) -> list[Solution]:
        """The first so many answers by ease among the leads inside the tolerance, then the closest outside it.

        Ease: fewest gears, fewest idlers, most clearance in whole µm, and only then the error.
        """
        low, high = tolerance_mm
        farthest = max(abs(self._error(end)) for end in tolerance_mm)
        first: list[Candidate] = []
        for found in self.nearest():
            leads = [self.drive.lead_mm(ratio) for ratio in found.ratios]
            inside = found.take([at for at, lead in enumerate(leads) if low <= lead <= high])
            first += filter(None, self.candidates(inside))
            first = sorted(first, key=lambda row: (row.ease, abs(row.error), row.key))[:count]
            if abs(self._error(leads[-1])) > farthest:
                break
        solutions = [self.solution(candidate) for candidate in first]
        return (solutions + self.closest(count, beyond=tolerance_mm))[:count]

    def candidates(self, found: ByRatio) -> list[Candidate | None]:
        """The best train of each lead: one that mounts if any does, of the fewest gears; None where none will do."""
        if not found.ratios:
            return []
        import numpy as np

        from .choice import best_of_each

        leads, most = len(found.ratios), max(self.catalogue.pairs)
        best = best_of_each(self.judge, found.trains, self.terms.hand, leads, most, others=self.mounting == "show")
        sets = np.bincount(found.trains.asked, minlength=leads).tolist()
        return [
            self._candidate(ratio, sets[at], best, at) if best.pairs[at] else None
            for at, ratio in enumerate(found.ratios)
        ]

    def _candidate(self, ratio: Fraction, sets: int, best: Trains, row: int) -> Candidate:
        lead_mm = self.drive.lead_mm(ratio)
        return Candidate(lead_mm, self._error(lead_mm), sets, best, row, self.pool)

    def arrangements(self, found: ByRatio) -> list[Solution]:
        """Every order of every gear set of one lead, each with its best idlers, those that mount first."""
        ((lead_mm, trains),) = zip(map(self.drive.lead_mm, found.ratios), [found.trains], strict=True)
        seen: dict[tuple[object, ...], Verdict] = {}
        for pairs in self.catalogue.pairs:
            for gears in trains.take(trains.pairs == pairs).gears(pairs):
                for judged in self.judge.every(gears, self.terms.hand):
                    kinds = tuple(pair.kind for pair in judged.train.pairs)
                    seen.setdefault((judged.train.drivers, judged.train.driven, kinds), judged)
        solutions = [self._solution(lead_mm, len(trains), judged) for judged in seen.values()]
        return sorted(solutions, key=lambda each: (each.mounts == "no", each.train.gears, len(each.train.idlers)))

    def solution(self, candidate: Candidate) -> Solution:
        """The answer for a candidate, its train judged in full."""
        judged = self.judge.judged(candidate.trains, candidate.row)
        return self._solution(candidate.lead_mm, candidate.gear_sets, judged)

    def _solution(self, lead_mm: Fraction, gear_sets: int, judged: Verdict) -> Solution:
        solution = Solution.of(judged, lead_mm, self.part.lead_mm, self.route, self.part.interval_mm)
        return replace(solution, same_lead=gear_sets - 1)


def _growing(found: ByRatio) -> Iterator[ByRatio]:
    """The same leads in lots of growing length, so that a caller who stops early has judged few."""
    start, size = 0, _BATCH
    while start < len(found.ratios):
        yield found.part(start, start + size)
        start, size = start + size, size * 2
