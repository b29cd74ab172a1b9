"""The leads of a list, the ways to the work they are cut by, and which of them a pool of gears covers.

A lead is covered by a train inside its tolerance that mounts; the closest such train is found among all there are.
Each lead is asked for once by each way, as its ratio there is another: trains tell in ``asked`` the number of the ask.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cached_property
from math import lcm
from typing import TYPE_CHECKING

import numpy as np

from ..base import require
from ..base.arrays import Bools, Floats, Ints
from ..base.errors import GearsearchError
from ..base.sharing import HERE, Crew, Remade
from ..base.units import shown, spaced
from ..search.catalogue import EDGE, SURE, Catalogue
from ..search.solution import Solution
from ..search.terms import Terms
from ..shop.machine import Route
from ..shop.pool import GearPool, pool_of
from ..shop.shop import Shop
from ..shop.train_columns import Trains
from ..work.part import HOW_TO_MAKE, Part
from .joining import pays

if TYPE_CHECKING:
    from ..mounting.judge import Judge

Gear = tuple[str, int]  # tag of the kind of tooth, tooth count
NEAR = 1e-14  # trains nearer to each other than this are told apart by fractions
MOST_TRAINS = 5_000_000
_MOST_TEETH = 2**53  # from where on the loops would not hold the count itself
FIRST = 16  # how many trains of each lead are judged at first; four times as many in each round
ENOUGH = 200  # trains looked at first for each lead; eight times as many in each round


@dataclass(frozen=True, slots=True)
class Closest:
    """The closest trains of one lead that mount.

    Parameters
    ----------
    off : |lead / wanted − 1|, exact
    sets : number of the ask, and of the gears, drivers then driven, of every gear set just so far off that mounts
    """

    off: Fraction
    sets: tuple[tuple[int, tuple[int, ...]], ...]


@dataclass(frozen=True, slots=True)
class Ask:
    """A lead of the list by one way to the work.

    Parameters
    ----------
    lead : its place in the list
    route, hand : the way, and the hand that is cut
    wanted, edges : the ratio of the wanted lead, and those of the ends of its tolerance
    """

    lead: int
    route: Route
    hand: str
    wanted: Fraction
    edges: tuple[Fraction, Fraction]

    @classmethod
    def each(cls, shop: Shop, terms: Terms, lead: int, need: Part) -> Iterator[Ask]:
        """A lead by every way that the terms stand for, in the order of the shop file."""
        for way in (own := terms.for_part(need, shop)).each_way(shop):
            route = shop.route(way.route)
            drive = shop.drive(route)
            yield cls(lead, route, own.hand, drive.ratio(need.lead_mm), drive.ratios(*need.allowed_mm))

    @property
    def cuts(self) -> tuple[str | None, str]:
        """What the way has to do with whether a train mounts: asks in which that is alike are judged together."""
        return self.route.hand_with_one_stud, self.hand


class WantedLeads(Remade):
    """A list of leads, the ways to cut them by, and every gear in question, numbered once for all pools.

    Parameters
    ----------
    shop : the shop
    needs : the leads that matter, at least one
    terms : how trains may be built
    candidates : gears that could be had, as (tag of the kind of tooth, tooth count)
    crew : who does the work

    Raises GearsearchError for an empty list, for gears that are none, and as ``pool_of`` and ``Terms.for_part``.
    """

    def __init__(
        self, shop: Shop, needs: Iterable[Part], terms: Terms, candidates: Iterable[Gear] = (), crew: Crew = HERE
    ) -> None:
        self.shop = shop
        self.crew = crew
        needs = tuple(needs)
        require.instance(terms, Terms, "terms", "give Terms()", given=True)
        self.terms = terms = terms.of_many_leads("a gear to add")
        terms.for_each(needs, shop)  # refused all at once
        for need in needs:
            require.instance(need, Part, "part that matters", HOW_TO_MAKE, given=True)
        self.needs = _each_once(needs)
        if not self.needs:
            raise GearsearchError("the list of leads is empty", "give at least one lead that matters")
        self.asks = [ask for lead, need in enumerate(self.needs) for ask in Ask.each(shop, terms, lead, need)]
        self.lead_of = np.array([ask.lead for ask in self.asks])
        taken = {ask.route for ask in self.asks}
        self.routes = tuple(route for route in shop.machine.routes if route in taken)
        self._drive = shop.drive(self.routes[0])  # for what is alike by all ways
        chosen = sorted({_gear(gear) for gear in candidates})
        self.pool = _numbered(shop, terms, chosen)
        self.candidates = tuple(sorted(self.pool.number(tag, teeth) for tag, teeth in chosen))
        self._wanted = np.array([float(ask.wanted) for ask in self.asks])

    def made_from(self) -> tuple[type[WantedLeads], tuple[Shop, tuple[Part, ...], Terms, tuple[Gear, ...]]]:
        """What was asked for is enough."""
        return WantedLeads, (self.shop, self.needs, self.terms, tuple(map(self.gear, self.candidates)))

    def __len__(self) -> int:
        return len(self.needs)

    @property
    def pairs(self) -> range:
        """The numbers of pairs that trains may have."""
        return range(self.terms.pairs[0], self.terms.pairs[1] + 1)

    def gear(self, number: int) -> Gear:
        """A gear by its number."""
        return self.pool.tags[self.pool.kind[number]], self.pool.teeth[number]

    def with_gears(self, pool: GearPool, gears: Iterable[int], times: int = 1) -> GearPool:
        """The pool with gears added."""
        loose = list(pool.loose)
        for gear in gears:
            loose[gear] += times
        return replace(pool, loose=tuple(loose))

    def judges(self, pool: GearPool) -> Judges:
        """What says whether a pool's trains mount, each by the way of its ask."""
        return Judges(self, pool)

    def asks_of(self, lead: int) -> list[int]:
        """The numbers of the asks for a lead."""
        numbers: list[int] = np.flatnonzero(self.lead_of == lead).tolist()
        return numbers

    def half_width(self, lead: int) -> float:
        """How far the farther end of a lead's tolerance is from the wanted lead, as a share."""
        wanted, (low, high) = self.needs[lead].lead_mm, self.needs[lead].allowed_mm
        return float(max(wanted - low, high - wanted) / wanted)

    def within(self, ask: int, share: float) -> tuple[float, float]:
        """The part of an ask's window that is off the wanted lead by no more than a share, widened for float."""
        low, high = self._whole_windows[ask].tolist()
        wanted, past = self._wanted[ask], share * (1 + EDGE) + EDGE
        least, greatest = self._drive.around(wanted, past)
        return max(low, least), min(high, greatest)

    @cached_property
    def cuts_of(self) -> Ints:
        """A number for each ask, alike where it is alike whether a train mounts."""
        kinds = list(dict.fromkeys(ask.cuts for ask in self.asks))
        return np.array([kinds.index(ask.cuts) for ask in self.asks])

    @cached_property
    def may_be_exact(self) -> Bools:
        """For each ask whether a train may have its ratio: none has where no gear's teeth have one of its primes."""
        most = lcm(*self.pool.teeth) ** self.terms.pairs[1]
        return np.array([most % ask.wanted.numerator == most % ask.wanted.denominator == 0 for ask in self.asks])

    def windows(self, exact: Bools) -> Floats:
        """For each ask the window of ratios, widened for float; only the exact ratio where ``exact`` of its lead is."""
        return np.where(exact[self.lead_of, np.newaxis], self._exact_windows, self._whole_windows)

    @cached_property
    def _whole_windows(self) -> Floats:
        return self._float_edges * (1 - EDGE, 1 + EDGE)

    @cached_property
    def _exact_windows(self) -> Floats:
        return self._wanted[:, np.newaxis] * (1 - EDGE, 1 + EDGE)

    def inside(self, trains: Trains, only_exact: Bools | None = None) -> Trains:
        """The trains that really lie in the window of their ask, each with how far off its lead is.

        Parameters
        ----------
        trains : ``asked`` holds the number of the ask
        only_exact : one for each lead: whether nothing but its exact ratio will do

        Those near an edge are decided by fractions.
        """
        asked, ratio = trains.asked, trains.driven_product / trains.drivers_product
        low, high = self._float_edges[asked].T
        exact_only = np.zeros(len(trains), np.bool_) if only_exact is None else only_exact[self.lead_of[asked]]
        keep = (ratio > low * (1 + SURE)) & (ratio < high * (1 - SURE)) & ~exact_only
        near = (ratio >= low * (1 - SURE)) & (ratio <= high * (1 + SURE)) & ~keep
        near &= ~exact_only | (abs(ratio / self._wanted[asked] - 1) < SURE)
        rows = np.flatnonzero(near)
        for (number, num, den), alike in _alike_in_ratio(trains, rows).items():
            ask = self.asks[number]
            edge = (ask.wanted, ask.wanted) if exact_only[alike[0]] else ask.edges
            keep[alike] = edge[0] <= Fraction(num, den) <= edge[1]
        return replace(trains, off=self._off(asked, ratio)).take(np.flatnonzero(keep))

    @cached_property
    def _float_edges(self) -> Floats:
        return np.array([(float(low), float(high)) for low, high in (ask.edges for ask in self.asks)])

    def _off(self, asked: Ints, ratio: Floats) -> Floats:
        off: Floats = abs(self._drive.lead_share(ratio, self._wanted[asked]) - 1)
        return off

    def near(self, catalogue: Catalogue, ask: int, share: float, *, exact: bool = False) -> Trains:
        """The trains of a catalogue that serve an ask and are off the wanted lead by no more than about a share."""
        low, high = self.within(ask, share)
        trains = catalogue.between(low, float(np.nextafter(high, np.inf)))
        trains = replace(trains, asked=np.full(len(trains), ask))
        return self.inside(trains, np.full(len(self), exact))

    def closest(self, trains: Trains, pool: GearPool) -> tuple[dict[int, Closest], Trains]:
        """The closest of some trains that mount with a pool, for each lead, and those nearer that do not mount."""
        waiting = _Waiting(trains, self.lead_of[trains.asked])
        waiting.settle(self.judges(pool))
        of_lead: dict[int, list[tuple[Fraction, list[int]]]] = {}
        for (number, num, den), rows in _alike_in_ratio(trains, waiting.winners()).items():
            ask = self.asks[number]
            off = abs(self._drive.lead_share(Fraction(num, den), ask.wanted) - 1)
            of_lead.setdefault(ask.lead, []).append((off, rows))
        closest: dict[int, Closest] = {}
        for lead, found in of_lead.items():
            off = min(off for off, _ in found)
            nearest = sorted(row for each, rows in found if each == off for row in rows)
            sets = tuple((int(trains.asked[row]), tuple(trains.gears_of(row))) for row in nearest)
            closest[lead] = Closest(off, sets)
        return closest, waiting.failed()

    def solutions(self, pool: GearPool, closest: dict[int, Closest]) -> dict[int, Solution]:
        """For each lead the first of its closest trains, judged in full.

        Of trains equally near, by one way: the shorter lead, then the fewest gears, idlers, the most clearance, the
        tooth counts, as the search orders them; of the ways, as ``search.routes`` does, the fewest gears, idlers, then
        the way that stands first, then the shorter lead.
        """
        judges = self.judges(pool)
        first: dict[int, tuple[tuple[object, ...], Trains, int]] = {}
        for asks, gears in _alike(self, closest):
            arranged = judges.best(gears, asks[0])
            for row, (ask, key) in enumerate(zip(asks, self._keys(pool, arranged, asks), strict=True)):
                if ask not in first or key < first[ask][0]:
                    first[ask] = key, arranged, row
        of_lead: dict[int, list[int]] = {}
        for ask in sorted(first):
            of_lead.setdefault(self.asks[ask].lead, []).append(ask)

        def over_ways(ask: int) -> tuple[object, ...]:
            lead_mm, pairs, idlers, *_ = first[ask][0]
            return pairs, idlers, self.routes.index(self.asks[ask].route), lead_mm

        best = {lead: min(asks, key=over_ways) for lead, asks in sorted(of_lead.items())}
        return {lead: self._solution(judges, ask, *first[ask][1:]) for lead, ask in best.items()}

    def _keys(self, pool: GearPool, trains: Trains, asks: Sequence[int]) -> Iterator[tuple[object, ...]]:
        """Where each arrangement stands in the order: lead [mm], pairs, idlers, and what parts those alike in these."""
        teeth = np.array(pool.teeth, np.int64)
        leads_mm: dict[tuple[int, int, int], Fraction] = {}
        over, under = _lowest_terms(*(teeth[gears].prod(axis=1) for gears in (trains.driven, trains.drivers)))
        for ask, num, den, key in zip(asks, over, under, trains.order_keys(pool).tolist(), strict=True):
            if (ask, num, den) not in leads_mm:
                leads_mm[ask, num, den] = self.shop.drive(self.asks[ask].route).lead_mm(Fraction(num, den))
            yield leads_mm[ask, num, den], trains.drivers.shape[1], *key

    def _solution(self, judges: Judges, ask: int, arranged: Trains, row: int) -> Solution:
        need, route = self.needs[self.asks[ask].lead], self.asks[ask].route
        judge = judges.by(route)
        train = judge.train(arranged, row)
        return Solution.of(judge.place(train), self.shop.lead(train, route), need.lead_mm, route, need.allowed_mm)


def _alike(leads: WantedLeads, closest: dict[int, Closest]) -> Iterator[tuple[list[int], Ints]]:
    """The asks of gear sets, and the sets, in lots judged together: of so many pairs, of asks that cut alike."""
    lots: dict[tuple[object, ...], list[tuple[int, tuple[int, ...]]]] = {}
    for ask, gears in (each for near in closest.values() for each in near.sets):
        lots.setdefault((len(gears), *leads.asks[ask].cuts), []).append((ask, gears))
    for lot in lots.values():
        yield [ask for ask, _ in lot], np.array([gears for _, gears in lot], np.int64)


class Judges:
    """Says of a pool's trains whether they mount, each by the way of its ask; asks that cut alike are judged together.

    Parameters
    ----------
    leads, pool : whose asks, and the gears
    """

    def __init__(self, leads: WantedLeads, pool: GearPool) -> None:
        self._leads, self._pool = leads, pool
        self._made: dict[Route, Judge] = {}

    def by(self, route: Route) -> Judge:
        """The judge for a way."""
        from ..mounting.judge import Judge

        if route not in self._made:
            self._made[route] = Judge.asked(self._leads.shop, self._pool, route, self._leads.terms.mounting)
        return self._made[route]

    def best(self, gears: Ints, ask: int) -> Trains:
        """The best arrangement of each gear set, for an ask or another that cuts as it does."""
        alike = self._alike(ask)
        return self.by(alike.route).best(gears, alike.hand)

    def _alike(self, ask: int) -> Ask:
        """The first of the asks that cut as one does, so that one judge serves all of them."""
        return next(each for each in self._leads.asks if each.cuts == self._leads.asks[ask].cuts)

    def lots(self, trains: Trains, rows: Ints) -> Iterator[tuple[Ints, int, int]]:
        """Of some rows of trains those that are judged together, one of their asks, and their number of pairs."""
        lots = trains.pairs[rows] * len(self._leads.asks) + self._leads.cuts_of[trains.asked[rows]]
        for lot in np.unique(lots).tolist():
            some = rows[lots == lot]
            yield some, int(trains.asked[some[0]]), int(trains.pairs[some[0]])

    def mounting(self, trains: Trains, rows: Ints | None = None) -> Bools:
        """Which of some trains mount; those of rows not asked about are said not to."""
        mounts = np.zeros(len(trains), np.bool_)
        for some, ask, pairs in self.lots(trains, np.arange(len(trains)) if rows is None else rows):
            alike = self._alike(ask)
            mounts[some] = self.by(alike.route).mounting(trains.gears(pairs, some), alike.hand)
        return mounts


class Serving:
    """The trains of one pool that are inside the tolerances of the leads, whether they mount or not.

    Parameters
    ----------
    leads, pool : for which leads, from which gears

    Raises GearsearchError when more trains are inside the tolerances than memory is planned for.
    """

    def __init__(self, leads: WantedLeads, pool: GearPool) -> None:
        self._leads = leads
        self._pool = pool
        self._catalogue = Catalogue(pool, leads.pairs, compiled=pays())
        self._counts = [self._count(lead) for lead in range(len(leads))]
        if sum(self._counts) > MOST_TRAINS:
            raise GearsearchError(
                f"{spaced(sum(self._counts))} trains lie inside the tolerances of the list; at most "
                f"{spaced(MOST_TRAINS)} can be judged",
                "give tighter tolerances or fewer leads, or allow fewer --pairs",
            )

    def _count(self, lead: int) -> int:
        width = self._leads.half_width(lead)
        windows = [self._leads.within(ask, width) for ask in self._leads.asks_of(lead)]
        return sum(self._catalogue.count_between(low, float(np.nextafter(high, np.inf))) for low, high in windows)

    def all(self) -> Trains:
        """Every train that would serve a lead."""
        return self._within({lead: self._leads.half_width(lead) for lead in range(len(self._leads))})

    def closest(self) -> tuple[dict[int, Closest], Trains]:
        """The closest trains that mount for each lead, and the trains that are nearer but do not mount.

        Each lead is searched in a window that grows on both sides alike until it holds a train that mounts: then no
        nearer one is outside.
        """
        half_width = self._leads.half_width
        shares = {n: half_width(n) * min(1.0, ENOUGH / count) for n, count in enumerate(self._counts) if count}
        closest: dict[int, Closest] = {}
        failed: list[Trains] = [self._within({})]
        while shares:
            found, nearer = self._leads.closest(self._within(shares), self._pool)
            closest |= found
            done = [lead for lead, share in shares.items() if lead in found or share >= half_width(lead)]
            failed.append(nearer.take(np.isin(self._leads.lead_of[nearer.asked], done)))
            shares = {lead: min(half_width(lead), share * 8) for lead, share in shares.items() if lead not in done}
        return closest, Trains.joined(failed)

    def _within(self, shares: dict[int, float]) -> Trains:
        asks = [(ask, share) for lead, share in shares.items() for ask in self._leads.asks_of(lead)]
        lots = [self._leads.near(self._catalogue, ask, share) for ask, share in asks]
        return Trains.joined([no_trains(self._leads), *lots])


class _Waiting:
    """Trains waiting to be judged, nearest first for each lead; judged until the closest that mounts is certain."""

    def __init__(self, trains: Trains, lead: Ints) -> None:
        self._trains, self._lead = trains, lead
        order = np.lexsort((trains.off, lead))
        leads = lead[order]
        self._rank = np.empty(len(order), np.int64)
        self._rank[order] = np.arange(len(order)) - np.searchsorted(leads, leads)
        self._verdict = np.full(len(order), -1, np.int8)  # −1 not judged, 0 does not mount, 1 mounts
        self._limit = np.full(int(leads[-1]) + 1 if len(order) else 0, np.inf)  # by lead: nearest that mounts

    def settle(self, judges: Judges) -> None:
        """Judge until for each lead the closest train that mounts is known, or none is."""
        size = FIRST
        while True:
            is_open = np.isinf(self._limit[self._lead])
            here = np.flatnonzero((self._verdict < 0) & (self._rank < size) & is_open)
            if not len(here):
                break
            self._judge(here, judges)
            size *= 4
        self._judge(np.flatnonzero((self._verdict < 0) & self._in_band()), judges)

    def _judge(self, rows: Ints, judges: Judges) -> None:
        self._verdict[rows] = judges.mounting(self._trains, rows)[rows]
        mounts = rows[self._verdict[rows] == 1]
        np.minimum.at(self._limit, self._lead[mounts], self._trains.off[mounts])

    def _in_band(self) -> Bools:
        band: Bools = self._trains.off <= self._limit[self._lead] + NEAR
        return band

    def winners(self) -> Ints:
        """The rows of every train that may be the closest of its lead."""
        return np.flatnonzero((self._verdict == 1) & self._in_band())

    def failed(self) -> Trains:
        """The trains that do not mount, of those nearer than the closest that does."""
        return self._trains.take((self._verdict == 0) & self._in_band())


def _lowest_terms(driven: Ints, drivers: Ints) -> tuple[list[int], list[int]]:
    """Ratios of products, as whole numbers in lowest terms."""
    common = np.gcd(driven, drivers)
    return (driven // common).tolist(), (drivers // common).tolist()


def _alike_in_ratio(trains: Trains, rows: Ints) -> dict[tuple[int, int, int], list[int]]:
    """Rows of trains, ascending, by the number of their ask and their ratio in lowest terms."""
    alike: dict[tuple[int, int, int], list[int]] = {}
    ratios = _lowest_terms(trains.driven_product[rows], trains.drivers_product[rows])
    for row, *ratio in zip(rows.tolist(), trains.asked[rows].tolist(), *ratios, strict=True):
        alike.setdefault(tuple(ratio), []).append(row)
    return alike


def no_trains(leads: WantedLeads) -> Trains:
    """No trains for the leads, with every column that others have."""
    none = Trains.none(max(leads.pairs))
    return replace(none, asked=np.empty(0, np.int64), off=np.empty(0))


def _each_once(needs: Iterable[Part]) -> tuple[Part, ...]:
    """Parts of one lead, tolerance and hand as one, with all their names: what one train brings counts once."""
    alike: dict[tuple[object, ...], list[Part]] = {}
    for need in needs:
        alike.setdefault((need.lead_mm, need.allowed_mm, need.thread and need.thread.hand), []).append(need)
    return tuple(
        replace(first, name=", ".join(dict.fromkeys(need.title for need in (first, *more)))) if more else first
        for first, *more in alike.values()
    )


def _gear(gear: object) -> Gear:
    if not isinstance(gear, tuple) or len(gear) != 2 or not isinstance(gear[0], str):
        raise GearsearchError(
            f"a gear cannot be {shown(gear)}", "give its kind of tooth with its teeth, as in ('', 57) or ('m2', 57)"
        )
    return gear[0], require.whole(gear[1], _MOST_TEETH, "teeth")


def _numbered(shop: Shop, terms: Terms, candidates: list[Gear]) -> GearPool:
    """The shop's gears, and those that could be had, of which it has none."""
    pool_of(shop, terms.without)  # so that a gear to do without is looked for among those owned
    sets = list(shop.gears)
    for number, gears in enumerate(sets):
        more = [teeth for tag, teeth in candidates if tag == gears.kind.tag]
        sets[number] = replace(gears, teeth=tuple(sorted((*gears.teeth, *more))))
    for tag, _ in candidates:
        shop.gear_set(tag)
    wide = pool_of(replace(shop, gears=tuple(sets)), terms.without)
    loose = list(wide.loose)
    for tag, teeth in candidates:
        loose[wide.number(tag, teeth)] -= 1
    return replace(wide, loose=tuple(loose))
