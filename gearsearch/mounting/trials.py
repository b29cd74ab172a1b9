"""The best arrangement of each train set: all listed, tried, and put in the documented order."""

from __future__ import annotations

import os
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ..base.arrays import Bools, Floats, Ints
from ..shop.pool import GearPool
from ..shop.shop import Shop
from ..shop.train_columns import NO_GEAR
from ..shop.trains import Train
from . import rule
from .arrangements import Arrangements, Batch, orders_of
from .chains import EPS
from .gears import Gears
from .geometry import Geometry
from .joining import Joining
from .reading import Reading, read
from .shape import Shape
from .standing import BROKEN, FAILS

_AT_ONCE = 1 << 15  # arrangements; so few that they stay in the processor's cache
_SETS = (0, 1, 8, 2**62)  # how many sets of an owner are tried before the others
_ROUNDS = (0, 1, 4, 16, 2**62)  # and how many of the most promising arrangements
_MORE = 16  # times as many sets of an owner at once, once the first of them has ruled most arrangements out
_FAR_BELOW = 10**15
_Valued = tuple[Floats, Ints, Ints, Ints]  # value, owner, gears and places of idlers, by arrangement


@dataclass(frozen=True, slots=True)
class Tried:
    """The best arrangement of each set, as arrays of one row a set.

    Parameters
    ----------
    value : its gap [mm]; its margin less ``FAILS`` where it does not mount; minus infinity where none could be tried
    gears : (T, 2p) gear numbers of drivers and driven in power order
    sizes, places : (T, most) its idlers and the pairs they stand in, padded with −1
    """

    value: Floats
    gears: Ints
    sizes: Ints
    places: Ints

    @classmethod
    def none(cls, sets: Ints, idlers: range) -> Tried:
        """Nothing tried yet with some numbers of idlers."""
        padded = np.full((len(sets), max(1, idlers.start, idlers.stop - 1)), NO_GEAR)
        return cls(np.full(len(sets), -np.inf), sets.copy(), padded, padded.copy())

    @property
    def mounts(self) -> Bools:
        """Which of them mount."""
        return self.value > BROKEN


@dataclass(frozen=True, slots=True)
class _Contest:
    """Sets that compete: which rows of the answer they are for, and how they are tried; see ``Trials.best``."""

    sets: Ints
    owner: Ints
    tried: Tried
    as_given: bool
    reasons: bool
    any_will_do: bool


@dataclass(frozen=True, slots=True)
class Trials:
    """Tries arrangements of the gears of a pool.

    Parameters
    ----------
    gears : the pool
    geometry : the bracket to judge by; None for the rule of thumb or no judging
    ruled : whether the rule of thumb is kept to, where there is no geometry
    """

    gears: Gears
    geometry: Geometry | None
    ruled: bool

    @classmethod
    def of(cls, shop: Shop, pool: GearPool, mode: str) -> Trials:
        """What tries arrangements by ``geometry``, ``rule`` or ``skip``."""
        quadrant = shop.quadrant if mode == "geometry" else None
        gears = Gears.of(shop, pool)
        geometry = None if quadrant is None else Geometry.of(quadrant, gears)
        return cls(gears, geometry, mode == "rule")

    @property
    def arrangements(self) -> Arrangements:
        """What lists them."""
        return Arrangements(self.gears, self.geometry, self.ruled)

    def ways(self, shape: Shape, gears: Ints) -> list[tuple[Shape, Ints, Ints]]:
        """The ways to take arrangements from loose gears and joined pieces: shape, gears, and the row of each."""
        if not self.gears.pool.joined:
            return [(shape, gears, np.arange(gears.shape[1]))]
        return list(Joining(self.gears, self.geometry is not None).ways(shape, gears))

    @property
    def plain(self) -> bool:
        """Whether tooth counts alone decide among trains of as many gears: any may go anywhere, no gap is asked for."""
        return self.geometry is None and not self.ruled and not self.gears.pool.joined and self.gears.anywhere

    def best(
        self,
        sets: Ints,
        idlers: range,
        *,
        owner: Ints | None = None,
        as_given: bool = False,
        reasons: bool = False,
        any_will_do: bool = False,
    ) -> Tried:
        """The best arrangement of each set, or of all sets of each owner.

        Parameters
        ----------
        sets : (T, 2p) gear numbers of drivers, then driven
        idlers : the numbers of idlers to try, ascending
        owner : for each set the row of the answer that it competes for, ascending, none left out; None: each its own
        as_given : only the order that each set is given in
        reasons : whether a set of which nothing mounts is to give its least bad arrangement
        any_will_do : only the value of some arrangement that mounts is wanted
        """
        if owner is None and self.plain:
            return self._untried(sets, idlers)
        owner = np.arange(len(sets)) if owner is None else owner
        if reasons and not idlers:
            idlers = range(idlers.start, idlers.start + 1)
        tried = Tried.none(sets[np.flatnonzero(np.diff(owner, prepend=-1))], idlers)
        contest = _Contest(sets, owner, tried, as_given, reasons, any_will_do)
        for count in idlers:
            left = np.flatnonzero(contest.tried.value[owner] < BROKEN)
            step = self._at_once(sets.shape[1] // 2, count, as_given=as_given)
            cores = os.cpu_count() or 1
            parts = _parts(left, owner, max(step, min(_MORE * step, len(left) // (4 * cores))))
            if len(parts) == 1:
                self._try_part(contest, count, parts[0], step)
            elif parts:
                with ThreadPoolExecutor(cores) as crew:
                    for task in [crew.submit(self._try_part, contest, count, part, step) for part in parts]:
                        task.result()
        return contest.tried

    def _untried(self, sets: Ints, idlers: range) -> Tried:
        """The best where all is ``plain``: each set as it is given, by tooth count, with the smallest gear left over
        as its idler, where it needs one, in the first pair.
        """
        tried, rest = Tried.none(sets, idlers), np.flatnonzero(self.gears.enough(sets.T))
        if not idlers.start:
            tried.value[rest] = 0
            return tried
        for size in self.gears.by_pitch:
            left = (sets[rest] == size).sum(axis=1) < self.gears.has[size]
            tried.value[rest[left]], tried.sizes[rest[left], 0], tried.places[rest[left], 0] = 0, size, 0
            rest = rest[~left]
        return tried

    def _at_once(self, pairs: int, idlers: int, *, as_given: bool) -> int:
        """How many sets are tried together."""
        orders = 1 if as_given else len(orders_of(pairs))
        choices = self.arrangements.idlers_each
        many: int = orders * choices ** max(0, idlers - 1) * (max(1, choices // 4) if idlers else 1)
        return max(1, _AT_ONCE // many)

    def _try_part(self, contest: _Contest, idlers: int, rows: Ints, step: int) -> None:
        """Try some of the sets, of each owner a few first: what these give rules most of the others out."""
        if len(rows) <= step:
            self._try(contest, idlers, rows)
            return
        owner = contest.owner[rows]
        rank = np.arange(len(rows)) - np.searchsorted(owner, owner)
        for low, high in pairwise(_SETS):
            some = rows[(rank >= low) & (rank < high)]
            for start in range(0, len(some), step):
                self._try(contest, idlers, some[start : start + step])
            step *= _MORE if low == 0 else 1

    def _try(self, contest: _Contest, idlers: int, rows: Ints) -> None:
        """Try some of the sets with so many idlers, and keep what is better."""
        tried = contest.tried
        owners, owner = np.unique(contest.owner[rows], return_inverse=True)
        found = tried.value[owners] > BROKEN
        least = np.where(found, np.floor((tried.value[owners] + EPS) * 1000) / 1000, -np.inf)
        valued = [self._found_before(tried, owners, np.flatnonzero(found), idlers)] if found.any() else []
        valued += list(self._valued(contest, rows, owner, least, idlers))
        if contest.any_will_do:
            for value, of, *_ in valued:
                tried.value[owners[of]] = value
            return
        if not valued:
            return
        value, of = (np.concatenate([each[at] for each in valued]) for at in (0, 1))
        gears, places = (np.concatenate([each[at] for each in valued], axis=1) for at in (2, 3))
        first = self._first(value, of, gears, places)
        first = first[value[first] > tried.value[owners[of[first]]] + EPS] if contest.reasons else first
        into, pairs2 = owners[of[first]], contest.sets.shape[1]
        tried.value[into] = value[first]
        tried.gears[into] = gears[:pairs2, first].T
        tried.sizes[into[:, np.newaxis], np.arange(idlers)] = gears[pairs2:, first].T
        tried.places[into[:, np.newaxis], np.arange(idlers)] = places[:, first].T

    @staticmethod
    def _found_before(tried: Tried, owners: Ints, found: Ints, idlers: int) -> _Valued:
        """What was the best of some owners before, with as many idlers."""
        rows = owners[found]
        gears = np.concatenate([tried.gears[rows], tried.sizes[rows, :idlers]], axis=1)
        return tried.value[rows], found, gears.T, tried.places[rows, :idlers].T

    def _valued(self, contest: _Contest, rows: Ints, owner: Ints, least: Floats, idlers: int) -> Iterator[_Valued]:
        """Arrangements with their values and owners; only those that could be the best of their owner."""
        reasons = contest.reasons
        lister = replace(self.arrangements, every=reasons)
        listed = lister.listed(contest.sets[rows], owner, idlers, as_given=contest.as_given, least=least)
        for batch in listed if reasons else self._promising_first(listed, least):
            value = self.values(batch, None if reasons else least)
            good = np.flatnonzero(value > (-np.inf if reasons else BROKEN))
            enough = np.inf if contest.any_will_do else np.floor((value[good] + EPS) * 1000) / 1000
            np.maximum.at(least, batch.owner[good], enough)
            if not (reasons or contest.any_will_do):
                good = good[value[good] >= least[batch.owner[good]] - EPS]
            if len(good):
                places = np.array(batch.shape.places, np.int64)[:, np.newaxis]
                yield value[good], batch.owner[good], batch.gears[:, good], np.repeat(places, len(good), axis=1)

    def _promising_first(self, listed: Iterator[Batch], least: Floats) -> Iterator[Batch]:
        """The same arrangements in rounds, those that may have most room first, without those that can win no more."""
        batches = []
        for batch in listed:
            if self.geometry is None or not self.geometry.costly(batch.shape):
                yield batch  # the next is listed when this has shown what it must beat
            else:
                batches.append(batch)
        if self.geometry is None or not batches:
            return
        most = [self.geometry.at_most(batch.shape, batch.gears) for batch in batches]
        owner = np.concatenate([batch.owner for batch in batches])
        order = np.lexsort([-np.concatenate(most), owner])
        begins = np.flatnonzero(np.concatenate([[True], owner[order][1:] != owner[order][:-1]]))
        rank = np.empty(len(owner), np.int64)
        rank[order] = np.arange(len(owner)) - np.repeat(begins, np.diff([*begins, len(owner)]))
        ranks = np.split(rank, np.cumsum([len(batch.owner) for batch in batches])[:-1])
        for low, high in pairwise(_ROUNDS):
            for batch, room, place in zip(batches, most, ranks, strict=True):
                asked = np.maximum(least[batch.owner], self.geometry.limits.clearance) - EPS
                rows = np.flatnonzero((place >= low) & (place < high) & (room >= asked))
                if len(rows):
                    yield Batch(batch.shape, batch.gears[:, rows], batch.owner[rows])

    def _first(self, value: Floats, owner: Ints, gears: Ints, places: Ints) -> Ints:
        """Of each owner's arrangements the first in the documented order."""
        um = np.where(value > BROKEN, clearance_um(value), np.floor((value + FAILS) / EPS / 4) - _FAR_BELOW)
        rows, owners = _greatest(np.arange(len(owner)), um, owner), len(np.unique(owner))
        teeth, kind = self.gears.teeth, self.gears.kind
        keys = [*((teeth, column) for column in gears), *((None, column) for column in places)]
        for of, column in (*keys, *((kind, column) for column in gears)):
            if len(rows) == owners:
                break
            rows = _greatest(rows, -(column if of is None else of[column]), owner)
        rows = rows[np.argsort(owner[rows], kind="stable")]
        chosen: Ints = rows[np.diff(owner[rows], prepend=-1) > 0]
        return chosen

    def values(self, batch: Batch, least: Floats | None) -> Floats:
        """The value of each arrangement of a batch; least by owner as in ``Geometry.values``."""
        if not self.gears.pool.joined:
            return self._values(batch, least)
        values = np.full(len(batch.owner), -np.inf)
        for shape, gears, row in self.ways(batch.shape, batch.gears):
            way = Batch(shape, gears, batch.owner[row])
            np.maximum.at(values, row, self._values(way, least))
        return values

    def _values(self, batch: Batch, least: Floats | None) -> Floats:
        if self.geometry is None:
            if not self.ruled:
                return np.zeros(len(batch.owner))
            margin = rule.margins(batch.shape, batch.gears, self.gears)
            return np.where(margin == 0, 0.0, margin - FAILS)
        asked = None if least is None else least[batch.owner]
        return self.geometry.values(batch.shape, batch.gears, asked)

    def alone(self, train: Train) -> Batch:
        """One arrangement as it is, every pair with the tag of its kind of tooth."""
        number, pairs = self.gears.pool.number, train.pairs
        gears = [number(pair.kind, getattr(pair, end)) for end in ("driver", "driven") for pair in pairs]
        idlers = [(number(pair.kind, idler), place) for place, pair in enumerate(pairs) for idler in pair.idlers]
        shape = self.arrangements.shape(len(pairs), tuple(place for _, place in idlers))
        columns = np.array([*gears, *(idler for idler, _ in idlers)], np.int64)[:, np.newaxis]
        return Batch(shape, columns, np.zeros(1, np.int64))

    def read(self, train: Train) -> Reading | bool | None:
        """One arrangement as it is, without geometry whether the rule of thumb is kept.

        None where the joined pieces do not allow it.
        """
        one = self.alone(train)
        if self.geometry is None:
            value = self.values(one, None)[0]
            return None if value == -np.inf else bool(value > BROKEN)
        best: Reading | None = None
        for shape, found, row in self.ways(one.shape, one.gears):
            for way in range(len(row)):
                reading = read(self.geometry, shape, found[:, [way]])
                if best is None or reading.value > best.value + EPS:
                    best = reading
        return best

    def listed(self, sets: Ints, idlers: int) -> Batch | None:
        """Arrangements that would be tried first if there were no joined pieces; None: there are none."""
        lister = replace(self.arrangements, every=True)
        batches = lister.listed(sets, np.arange(len(sets)), idlers, as_given=False)
        return next((batch for batch in batches if len(batch.owner)), None)

    def barred_partner(self, train: Train) -> tuple[int, int, int] | None:
        """A gear, the idle partner it is joined to, and the shaft in power order that this may not hang on.

        None where the joined pieces could not serve even if every partner might hang anywhere.
        """
        hangs, one = self.gears.hangs, self.alone(train)
        free = replace(self, gears=replace(self.gears, hangs=np.ones_like(hangs)))
        for shape, found, _ in free.ways(one.shape, one.gears):
            for column in range(shape.idle_from, len(shape.seats)):
                at = shape.seats[column].shaft
                if not hangs[found[column, 0], shape.place(at)]:
                    return int(found[shape.at(at)[0], 0]), int(found[column, 0]), shape.in_power_order(at)
        return None


def _parts(rows: Ints, owner: Ints, step: int) -> list[Ints]:
    """Some sets in parts of about ``step`` at least, those of one owner together."""
    starts = np.searchsorted(owner[rows], owner[rows[::step]])
    return [part for part in np.split(rows, np.unique(starts)[1:]) if len(part)]


def _greatest(rows: Ints, key: NDArray[Any], owner: Ints) -> Ints:
    """Of some rows those whose key is the greatest of their owner."""
    key, owner = key[rows], owner[rows]
    most = np.full(owner.max() + 1, np.iinfo(np.int64).min).astype(key.dtype)
    np.maximum.at(most, owner, key)
    greatest: Ints = rows[key == most[owner]]
    return greatest


def clearance_um(value: Floats) -> Ints:
    """Gaps [mm] in whole micrometres, rounded down."""
    um: Ints = np.floor((value + EPS) * 1000).astype(np.int64)
    return um
