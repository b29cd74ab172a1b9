"""The best trains for a wanted lead: every train there is, nearest first, until enough of them will do."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction
from functools import cached_property
from math import asin, degrees, floor, log
from typing import TYPE_CHECKING

from ..base import require
from ..base.errors import GearsearchError
from ..base.progress import Progress
from ..base.units import decimals, format_both, format_length, format_ppm, spaced
from ..shop.counting import count_trains, reach
from ..shop.factors import lacking_factors
from ..shop.pool import pool_of, require_in_box
from ..shop.shop import Shop
from ..shop.trains import MOST_PAIRS
from ..work.part import HOW_TO_MAKE, Part
from .answers import Answer, Choice, Lead, Solution
from .catalogue import EDGE, Catalogue, by_ratio
from .terms import Terms, cam_mm, multiple_of

if TYPE_CHECKING:
    from ..mounting.judge import Judge, Verdict

_MOST_IN_A_RING = 100_000  # trains
_MOST_HELD = 400_000  # trains; some 1.5 kB each
_FACTORED = 10**6  # a ratio of larger numbers is hardly meant to be made exactly
_LARGEST_GEAR = 150  # teeth of a change gear that could be had
_HAIR = Fraction(1, 10**14)  # no ring is narrower, however many trains share one lead
_BATCH = 16  # how many leads are judged at first; doubled each time


class Search:
    """The search for one part: windows, candidate leads, and the judging of each.

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
        self.box = pool_of(shop, terms.without, multiple_of(shop, part, terms), terms.greatest_pair_ratio)
        require_in_box(self.box, terms.use)
        self.counts = {p: count_trains(self.box, p) for p in range(terms.pairs[0], terms.pairs[1] + 1)}

    @cached_property
    def catalogue(self) -> Catalogue:
        """The trains of all numbers of pairs that the gears can make and, where they must mount, the quadrant hold."""
        return Catalogue(self.box, filter(self._may_mount, self.counts), self.terms.use)

    def _may_mount(self, pairs: int) -> bool:
        """Whether trains of so many pairs are looked for: where they must mount, only those that could at all."""
        return self.shop.may_mount(self.route, pairs, self.terms.hand) or self.mounting != "must"

    @cached_property
    def judge(self) -> Judge:
        """What says whether an arrangement mounts."""
        from ..mounting.judge import Judge

        return Judge.asked(self.shop, self.box, self.route, self.mounting)

    @property
    def mounting(self) -> str:
        """How mounting is taken: as asked, else must where there is geometry to judge by."""
        return self.terms.mounting or ("must" if self.shop.has_geometry else "show")

    @cached_property
    def reach_mm(self) -> tuple[Fraction, Fraction] | None:
        """Shortest and longest lead [mm] of the box, before mounting."""
        ends = [reach(self.box, pairs) for pairs, count in self.counts.items() if count]
        ratios = [ratio for low, high in ends for ratio in (low, high)]
        leads = [self.drive.lead_mm(ratio) for ratio in ratios]
        return (min(leads), max(leads)) if leads else None

    @property
    def reaches(self) -> bool:
        """Whether the wanted lead lies between the shortest and the longest lead of the box."""
        return self.reach_mm is not None and self.reach_mm[0] <= self.part.lead_mm <= self.reach_mm[1]

    def leads(self, low_mm: Fraction, high_mm: Fraction) -> list[Lead]:
        """Every lead in [low_mm, high_mm], both ends included, nearest to the wanted lead first.

        Raises GearsearchError where more trains lie there than memory is meant to hold.
        """
        count = self._count((low_mm, high_mm))
        if count > _MOST_HELD:
            unit = self.shop.units
            raise GearsearchError(
                f"{spaced(count)} trains lie from {format_length(low_mm, unit)} to {format_length(high_mm, unit)}, "
                f"more than the {spaced(_MOST_HELD)} that are looked through at once",
                "narrow the tolerance, or use fewer pairs",
            )
        return self._leads(low_mm, high_mm)

    def _count(self, *windows_mm: tuple[Fraction, Fraction]) -> int:
        """How many trains lie in some windows of leads."""
        return sum(self.catalogue.count_between(*self._ratios(*window)) for window in windows_mm)

    def _leads(self, low_mm: Fraction, high_mm: Fraction) -> list[Lead]:
        trains = self.catalogue.between(*self._ratios(low_mm, high_mm))
        found = by_ratio(trains)
        sets: list[dict[int, list[tuple[int, ...]]]] = [{} for _ in found.ratios]
        for pairs in self.catalogue.pairs:
            here = trains.pairs == pairs
            for at, row in zip(found.trains.asked[here].tolist(), trains.take(here).gears(pairs).tolist(), strict=True):
                sets[at].setdefault(pairs, []).append(tuple(row))
        leads = [self._lead_of(ratio, each) for ratio, each in zip(found.ratios, sets, strict=True)]
        inside = [lead for lead in leads if low_mm <= lead.lead_mm <= high_mm and self._steps_up_enough(lead)]
        return sorted(inside, key=lambda lead: (abs(lead.error), lead.lead_mm))

    def _lead_of(self, ratio: Fraction, sets: dict[int, list[tuple[int, ...]]]) -> Lead:
        lead = self.drive.lead_mm(ratio)
        return Lead(lead, lead / self.part.lead_mm - 1, ratio, sets)

    def _ratios(self, low_mm: Fraction, high_mm: Fraction) -> tuple[float, float]:
        """The window of driven / drivers for a window of leads, widened so that no edge is lost."""
        low, high = self.drive.ratios(low_mm, high_mm)
        if self.terms.greatest_step_up:
            low = max(low, 1 / self.terms.greatest_step_up)
        return float(low) * (1 - EDGE), float(high) * (1 + EDGE)

    def _steps_up_enough(self, lead: Lead) -> bool:
        limit = self.terms.greatest_step_up
        return limit is None or 1 / lead.ratio <= limit

    def nearest(self) -> Iterator[list[Lead]]:
        """Every lead of the box, nearest to the wanted lead first, in lists that grow.

        Each ring round the wanted lead holds every train inside it, and the next begins where it ends: so the order
        is that of the full list, however early the caller stops, and no more than a ring is held at a time.
        """
        if self.reach_mm is None:
            return
        wanted, (shortest, longest) = self.part.lead_mm, self.reach_mm
        whole = max(abs(shortest / wanted - 1), abs(longest / wanted - 1))
        inner, width = Fraction(-1), min(whole, self._first_width())
        with Progress(f"{self.route.name}: trains tried outward from the wanted lead", float(whole)) as progress:
            while True:
                outer = self._narrowed(inner, min(whole, width))
                yield from _growing(self._ring(inner, outer))
                if outer >= whole:
                    return
                inner, width = outer, outer * 4
                progress.step(float(outer))

    def _ring(self, inner: Fraction, outer: Fraction) -> list[Lead]:
        """Every lead whose error is above ``inner`` and up to ``outer``, either way, nearest first."""
        found = [lead for window in self._sides(inner, outer) for lead in self._leads(*window)]
        ring = [lead for lead in found if inner < abs(lead.error) <= outer]
        return sorted(ring, key=lambda lead: (abs(lead.error), lead.lead_mm))

    def _sides(self, inner: Fraction, outer: Fraction) -> list[tuple[Fraction, Fraction]]:
        wanted = self.part.lead_mm
        low, high = wanted * max(1 - outer, Fraction(0)), wanted * (1 + outer)
        if inner <= 0:
            return [(low, high)]
        below = [(low, wanted * (1 - inner))] if inner < 1 else []
        return [*below, (wanted * (1 + inner), high)]

    def _first_width(self) -> Fraction:
        """A ring likely to hold a few times as many trains as are asked for, if leads were evenly spread."""
        assert self.reach_mm is not None
        spread = log(float(self.reach_mm[1] / self.reach_mm[0])) + 1
        share = 3 * self.terms.count / max(1, sum(self.counts.values()))
        return Fraction(min(0.5, share * spread)).limit_denominator(10**12)

    def _narrowed(self, inner: Fraction, outer: Fraction) -> Fraction:
        """A ring of at most so many trains as are well held in memory, unless a hair's breadth holds more."""
        least = max(inner, Fraction(0))
        while outer - least > _HAIR:
            if self._count(*self._sides(inner, outer)) <= _MOST_IN_A_RING:
                break
            outer = (least + (outer - least) / 2).limit_denominator(10**15)
        return outer

    def closest(self, beyond: tuple[Fraction, Fraction] | None = None) -> list[Solution]:
        """The first answers by error; leads inside ``beyond`` are left out."""
        fits: list[Solution] = []
        for leads in self.nearest():
            if beyond:
                leads = [lead for lead in leads if not beyond[0] <= lead.lead_mm <= beyond[1]]
            for lead, choice in zip(leads, self.choices(leads), strict=True):
                if choice is not None:
                    fits.append(self.fit(lead, choice))
                if len(fits) == self.terms.count:
                    return fits
        return fits

    def easiest(self, tolerance_mm: tuple[Fraction, Fraction]) -> list[Solution]:
        """The first answers by ease among the leads inside the tolerance, then the closest outside it."""
        low, high = tolerance_mm
        farthest = max(abs(end / self.part.lead_mm - 1) for end in tolerance_mm)
        first: list[tuple[Lead, Choice]] = []
        for leads in self.nearest():
            inside = [lead for lead in leads if low <= lead.lead_mm <= high]
            chosen = zip(inside, self.choices(inside), strict=True)
            first += [(lead, choice) for lead, choice in chosen if choice is not None]
            first = sorted(first, key=lambda row: (row[1].ease, abs(row[0].error), row[1].key))[: self.terms.count]
            if abs(leads[-1].error) > farthest:
                break
        fits = [self.fit(lead, choice) for lead, choice in first]
        return (fits + self.closest(beyond=tolerance_mm))[: self.terms.count]

    def choices(self, leads: list[Lead]) -> list[Choice | None]:
        """The best train of each lead: one that mounts if any does, of the fewest gears; None where none will do."""
        chosen: list[Choice | None] = [None] * len(leads)
        for pairs in self.counts:
            self._choose(leads, chosen, pairs)
        if self.mounting == "show":
            return chosen
        return [choice if choice and choice.mounts else None for choice in chosen]

    def _choose(self, leads: list[Lead], chosen: list[Choice | None], pairs: int) -> None:
        """Judge the gear sets of so many pairs for the leads that still lack a train that mounts."""
        rows: list[tuple[int, ...]] = []
        owners: list[int] = []
        for number, lead in enumerate(leads):
            so_far = chosen[number]
            if so_far is None or not so_far.mounts:
                sets = lead.sets.get(pairs, [])
                rows.extend(sets)
                owners.extend([number] * len(sets))
        if rows:
            for owner, choice in zip(*self._best_of_each(rows, owners), strict=True):
                if chosen[owner] is None or choice.mounts:
                    chosen[owner] = choice

    def _best_of_each(self, rows: list[tuple[int, ...]], owners: list[int]) -> tuple[list[int], list[Choice]]:
        """For each owner, the first of its gear sets in the total order: mounting, idlers, clearance, tooth counts."""
        import numpy as np

        best = self.judge.best(np.array(rows, np.int64), self.terms.hand)
        keys = np.column_stack([owners, ~best.mounts, best.order_keys(self.box)])
        order = np.lexsort(keys.T[::-1])
        owner = np.array(owners)[order]
        winners = order[np.append(True, owner[1:] != owner[:-1])]
        choices = [
            Choice(self.judge, best, row, bool(best.mounts[row]), (key[1], rows_gears, *key[2:]))
            for row, key, rows_gears in zip(
                winners.tolist(), keys[winners].tolist(), [len(rows[0])] * len(winners), strict=True
            )
        ]
        return np.array(owners)[winners].tolist(), choices

    def arrangements(self, lead: Lead) -> list[Solution]:
        """Every order of every gear set of a lead, each with its best idlers, those that mount first."""
        import numpy as np

        seen: dict[tuple[object, ...], Verdict] = {}
        for _, sets in sorted(lead.sets.items()):
            for row in sets:
                for judged in self.judge.every(np.array(row, np.int64), self.terms.hand):
                    kinds = tuple(pair.kind for pair in judged.train.pairs)
                    seen.setdefault((judged.train.drivers, judged.train.driven, kinds), judged)
        fits = [self._fit(lead, judged) for judged in seen.values()]
        return sorted(fits, key=lambda fit: (fit.mounts == "no", fit.train.gears, len(fit.train.idlers)))

    def fit(self, lead: Lead, choice: Choice) -> Solution:
        """The answer for a lead and the train chosen for it, judged in full."""
        return self._fit(lead, choice.judge.judged(choice.best, choice.row))

    def _fit(self, lead: Lead, judged: Verdict) -> Solution:
        fit = Solution.of(judged, lead.lead_mm, self.part.lead_mm, self.route.name, self.part.interval_mm)
        return replace(fit, same_lead=lead.gear_sets - 1)


def _growing(leads: list[Lead]) -> Iterator[list[Lead]]:
    """The same leads in lists of growing length, so that a caller who stops early has judged few."""
    start, size = 0, _BATCH
    while start < len(leads):
        yield leads[start : start + size]
        start, size = start + size, size * 2


def find(shop: Shop, part: Part, terms: Terms | None = None) -> Answer:
    """The best trains for a wanted lead, from every train the shop's gears can make.

    Parameters
    ----------
    shop : whose gears
    part : what is to be cut
    terms : how its train may be made; None: as ``Terms()``

    Returns the answers in the documented order (see ``Search.closest`` and ``Search.easiest``), one for each
    lead. A limit of k answers is always the first k of the full list.
    Raises GearsearchError for a request that cannot be.
    Limits of validity: external spur gears, one train between two shafts, at most four pairs.
    """
    require.instance(part, Part, "part", HOW_TO_MAKE, given=True)
    require.instance(terms, Terms, "terms", "give Terms(hand='right')")
    search = Search(shop, part, terms := (terms or Terms()).for_part(part))
    notes: list[str] = []
    fits: list[Solution] = []
    if search.reach_mm is None:
        notes.append(_no_train(search))
    elif not search.reaches:
        notes.extend(out_of_reach(search))
    else:
        easy = _easy_window(search, notes) if terms.order == "easiest" else None
        fits = search.easiest(easy) if easy else search.closest()
        notes.extend(remarks(search, fits))
    answer = Answer(shop, part, terms, search.route, sum(search.counts.values()), tuple(fits), search.reach_mm)
    return replace(answer, notes=(*_far_off(answer), *notes))


def remarks(search: Search, fits: list[Solution]) -> Iterator[str]:
    """What the machinist should know of the answers, beyond the table."""
    terms, route = search.terms, search.route
    if not fits:
        yield (
            f"none of these trains mounts for the {terms.hand} hand on this quadrant: --mounting show tells why"
            if terms.hand != "either"
            else "none of these trains mounts on this quadrant: --mounting show tells why"
        )
        return
    if route.hand_with_one_stud is None:
        yield "the hand is not known: turn a train through by hand once and write hand_with_one_stud into the shop file"
    elif route.hand_with_one_stud == "either":
        way = "" if terms.hand == "either" else f": set it for the {terms.hand}"
        yield f"the reversing lever sets the hand{way}"
    elif terms.hand == "either":
        yield "no hand was asked for, each answer tells the hand it cuts: add --hand right or --hand left"
    if search.part.interval_mm is not None and not any(fit.within for fit in fits):
        yield "no train that qualifies is inside the tolerance; these are the closest"
    yield from _why_not_exact(search, fits)
    yield from _screw_floor(search, fits)
    limit = route.step_up_warning
    fierce = [str(number) for number, fit in enumerate(fits, 1) if route.warns_of(fit.step_up)]
    if fierce and limit is not None:
        which, way = ", ".join(fierce), search.shop.machine.when_stepped_up
        yield f"step-up beyond {decimals(limit, 1)}, {way}: no. {which}"


def _far_off(answer: Answer) -> Iterator[str]:
    """That even the nearest is no answer, with what may be in the way."""
    terms = answer.terms
    best = min(answer.fits, key=lambda fit: abs(fit.error), default=None)
    if best is not None and answer.is_far(best):
        more = f"more pairs may come nearer: --pairs {terms.pairs[1] + 1}" if terms.pairs[1] < MOST_PAIRS else ""
        way = f"what was asked may be in the way: {', '.join(terms.limits)}" if terms.limits else more
        off = f"not the wanted lead: even the nearest is {format_ppm(best.error)} off, and no tolerance was given"
        yield f"{off}; {way}" if way else off


def _why_not_exact(search: Search, fits: list[Solution]) -> Iterator[str]:
    """Which factor the gears lack for the lead, where the error matters and one such gear could be bought or made."""
    ratio = search.drive.ratio(search.part.lead_mm)
    if (
        abs(fits[0].error) <= (search.shop.machine.screw_accuracy or 0)
        or max(ratio.numerator, ratio.denominator) > _FACTORED
    ):
        return
    lacking = lacking_factors(search.shop, ratio)
    if lacking and max(lacking) <= _LARGEST_GEAR:
        factors = " and ".join(map(str, lacking))
        yield (
            f"no train can be exact: this lead needs gears with the factor{'s' if len(lacking) > 1 else ''} {factors}, "
            "and there is none in the box; gearsearch extend says what one more gear would do"
        )


def _screw_floor(search: Search, fits: list[Solution]) -> Iterator[str]:
    """Below the accuracy of the screw a smaller error is worth nothing: say so, and point at the easiest train."""
    accuracy = search.shop.machine.screw_accuracy
    inside = [n for n, fit in enumerate(fits) if accuracy is not None and abs(fit.error) < accuracy]
    if accuracy is None or len(inside) < 2:
        return
    easiest = min(inside, key=lambda n: (fits[n].train.gears, len(fits[n].train.idlers), -(fits[n].clearance_mm or 0)))
    numbers = ", ".join(str(n + 1) for n in inside)
    yield (
        f"no. {numbers} are nearer than the screw itself is true ({decimals(accuracy * 10**6, 0)} ppm), where a "
        f"smaller error is worth nothing: of these no. {easiest + 1} is the easiest"
    )


def with_every_arrangement(answer: Answer) -> Answer:
    """The same answer with, in place of its fits, every arrangement of the first fit's lead.

    Each order of the gears of each gear set stands once, with its best idlers and its verdict; those that mount
    come first, then the fewest gears and idlers.
    """
    if not answer.fits:
        return answer
    search = Search(answer.shop, answer.part, answer.terms)
    lead_mm = answer.fits[0].lead_mm
    fits = [fit for lead in search.leads(lead_mm, lead_mm) for fit in search.arrangements(lead)]
    return replace(answer, fits=tuple(fits))


def _easy_window(search: Search, notes: list[str]) -> tuple[Fraction, Fraction]:
    """The tolerance asked for, or what the table screw itself can hold."""
    part, accuracy = search.part, search.shop.machine.screw_accuracy
    if part.interval_mm is not None:
        return part.interval_mm
    if accuracy is None:
        raise GearsearchError(
            "the easiest train is one inside a tolerance, and none is given",
            "add one, as in --tolerance 0.1%, or measure the screw and put screw_accuracy into the shop file",
        )
    notes.append("no tolerance was given: the easiest trains are those inside the screw's own accuracy")
    return part.lead_mm * (1 - accuracy), part.lead_mm * (1 + accuracy)


def _no_train(search: Search) -> str:
    least, most = search.terms.pairs
    pairs = f"{least}" if least == most else f"{least} to {most}"
    return f"the box makes no train of {pairs} pairs: too few gears that mesh with each other"


def out_of_reach(search: Search) -> list[str]:
    """Why no train of this box gives the wanted lead, the nearest it reaches, and what would help."""
    assert search.reach_mm is not None
    wanted, unit, (shortest, longest) = search.part.lead_mm, search.shop.units, search.reach_mm
    short = wanted < shortest
    end = shortest if short else longest
    bare = Search(search.shop, search.part, replace(search.terms, use=(), greatest_step_up=None, mounting="skip"))
    train = search.box.train(*bare.leads(end, end)[0].first_set())
    said = [
        f"out of reach: the {'shortest' if short else 'longest'} lead of this box by the route "
        f"{search.route.name} is {format_both(end, unit)}, by {train}",
        *_other_routes(search),
        *_more_pairs(search),
    ]
    cam = cam_mm(search.shop, search.part)
    sine = 0.0 if cam is None else min(1.0, float(cam / shortest))
    tilt = floor(100 * degrees(asin(sine))) / 100  # rounded up, it would not be reached
    if short and cam is not None and tilt >= 1:
        said.append(
            f"for a cam: a geared lead of {format_both(shortest, unit)} with the head tilted {tilt:.2f}° from the "
            f"table rises {format_both(cam, unit)} in a turn: ask again with --tilt {tilt:.2f}"
        )
    return said


def _other_routes(search: Search) -> Iterator[str]:
    for route in search.shop.machine.routes:
        other = Search(search.shop, search.part, replace(search.terms, route=route.name))
        if route != search.route and other.reaches:
            yield f"the route {route.name} reaches it: add --route {route.name}"


def _more_pairs(search: Search) -> Iterator[str]:
    least, most = search.terms.pairs
    for pairs in range(most + 1, MOST_PAIRS + 1):
        if Search(search.shop, search.part, replace(search.terms, pairs=(least, pairs))).reaches:
            yield f"{pairs} pairs reach it: add --pairs {pairs}"
            return
