"""The best arrangement of each train set: all listed, tried, and put in the documented order."""

from __future__ import annotations

import os
from collections.abc import Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ..shop.pool import GearPool
from ..shop.shop import Shop
from . import rule
from .arrangements import Arrangements, Batch, orders_of
from .chains import EPS, Floats, Ints
from .gears import Gears
from .geometry import HOPELESS, Geometry, Reading
from .joining import Joining
from .shape import Places, Shape, shape_of
from .standing import FAILS

_AT_ONCE = 1 << 15  # arrangements; so few that they stay in the processor's cache
_SETS = (0, 1, 8, 2**62)  # how many sets of an owner are tried before the others
_ROUNDS = (0, 1, 4, 16, 2**62)  # and how many of the most promising arrangements
_MORE = 16  # times as many sets of an owner at once, once the first of them has ruled most arrangements out
_NONE = -1
_FAR_BELOW = 10**15
_Valued = tuple[Floats, Ints, Ints, Ints]  # value, owner, gears and places of idlers, by arrangement


@dataclass(frozen=True, slots=True)
class Tried:
    """The best arrangement of each set, as arrays of one row a set.

    Parameters
    ----------
    value : its gap [mm]; its margin less ``FAILS`` where it does not mount; minus infinity where none could be tried
    idlers : how many it takes
    gears : (T, 2p) gear numbers of drivers and driven in power order
    sizes, places : (T, most) its idlers and the pairs they stand in, padded with −1
    """

    value: Floats
    idlers: Ints
    gears: Ints
    sizes: Ints
    places: Ints

    @classmethod
    def none(cls, sets: Ints, least: int, most: int) -> Tried:
        """Nothing tried yet."""
        rows = len(sets)
        padded = np.full((rows, max(1, most)), _NONE)
        return cls(np.full(rows, -np.inf), np.full(rows, least), sets.copy(), padded, padded.copy())


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
    arrangements, joining : what lists them, and what takes them from joined pieces where there are any
    """

    gears: Gears
    geometry: Geometry | None
    ruled: bool
    arrangements: Arrangements
    joining: Joining | None

    @classmethod
    def of(cls, shop: Shop, pool: GearPool, mode: str) -> Trials:
        """What tries arrangements by ``geometry``, ``rule`` or ``skip``."""
        gears = Gears.of(shop, pool)
        quadrant = shop.quadrant if mode == "geometry" else None
        geometry = None if quadrant is None else Geometry.of(quadrant)
        planes = 2 if quadrant is None else quadrant.planes
        pivot_last = quadrant is not None and quadrant.pivot == "last"
        bounds = None if geometry is None else geometry.bounds
        joining = Joining(gears, None if quadrant is None else planes, pivot_last) if pool.joined else None
        smallest, ruled = geometry is None and joining is None, mode == "rule"
        arrangements = Arrangements(gears, planes, pivot_last, bounds, smallest, ruled)
        return cls(gears, geometry, ruled, arrangements, joining)

    def best(
        self,
        sets: Ints,
        idlers: range,
        width: int,
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
        width : how many idlers the answer has room for
        owner : for each set the row of the answer that it competes for, ascending, none left out; None: each its own
        as_given : only the order that each set is given in
        reasons : whether a set of which nothing mounts is to give its least bad arrangement
        any_will_do : only the value of some arrangement that mounts is wanted
        """
        owner = np.arange(len(sets)) if owner is None else owner
        first = np.flatnonzero(np.diff(owner, prepend=-1))
        contest = _Contest(sets, owner, Tried.none(sets[first], idlers.start, width), as_given, reasons, any_will_do)
        for count in idlers:
            left = np.flatnonzero(contest.tried.value[owner] < -FAILS / 2)
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
        found = tried.value[owners] > -FAILS / 2
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
        tried.value[into], tried.idlers[into] = value[first], idlers
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
        lister = self._lists_all if reasons else self.arrangements
        listed = lister.listed(contest.sets[rows], owner, idlers, as_given=contest.as_given, least=least)
        for batch in listed if reasons else self._promising_first(listed, least):
            value = self.values(batch, None if reasons else least)
            good = np.flatnonzero(value > (-np.inf if reasons else -FAILS / 2))
            enough = np.inf if contest.any_will_do else np.floor((value[good] + EPS) * 1000) / 1000
            np.maximum.at(least, batch.owner[good], enough)
            if not (reasons or contest.any_will_do):
                good = good[value[good] >= least[batch.owner[good]] - EPS]
            if len(good):
                places = np.array(batch.places, np.int64)[:, np.newaxis]
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
        most = [self.geometry.at_most(batch.shape, batch.gears, self.gears.sizes) for batch in batches]
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
                    yield Batch(batch.shape, batch.places, batch.gears[:, rows], batch.owner[rows])

    @property
    def _lists_all(self) -> Arrangements:
        lister = self.arrangements
        return Arrangements(lister.gears, lister.planes, lister.pivot_last, None)

    def _first(self, value: Floats, owner: Ints, gears: Ints, places: Ints) -> Ints:
        """Of each owner's arrangements the first in the documented order."""
        um = np.where(value > -FAILS / 2, clearance_um(value), np.floor((value + FAILS) / EPS / 4) - _FAR_BELOW)
        rows, owners = _greatest(np.arange(len(owner)), um, owner), len(np.unique(owner))
        teeth, kind = self.gears.sizes.teeth, self.gears.sizes.kind
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
        if self.joining is None:
            return self._values(batch, least)
        values = np.full(len(batch.owner), -np.inf)
        for shape, gears, row in self.joining.ways(batch.places, batch.shape, batch.gears):
            way = Batch(shape, batch.places, gears, batch.owner[row])
            np.maximum.at(values, row, self._values(way, least))
        return values

    def _values(self, batch: Batch, least: Floats | None) -> Floats:
        if self.geometry is None:
            return self._by_rule(batch) if self.ruled else np.zeros(len(batch.owner))
        asked = None if least is None else least[batch.owner]
        return self.geometry.values(batch.shape, batch.gears, self.gears.sizes, asked)

    def _by_rule(self, batch: Batch) -> Floats:
        """0 where the rule of thumb is kept, else the margin [mm] by which it is not, less ``FAILS``."""
        margin = rule.margins(batch.shape, batch.gears, self.gears.sizes)
        return np.where(margin == 0, 0.0, margin - FAILS)

    def read(self, gears: Sequence[int], idlers: Sequence[int], places: Sequence[int]) -> Reading | bool | None:
        """One arrangement as it is; None where the joined pieces do not allow it.

        Without geometry whether the rule of thumb is kept.

        Parameters
        ----------
        gears : gear numbers of drivers, then driven, in power order
        idlers, places : their gear numbers, and the pairs they stand in, ascending
        """
        at = tuple(places)
        shape, columns = self._alone(gears, idlers, places)
        ways = [(shape, columns)]
        if self.joining is not None:
            ways = [(shape, one) for shape, found, _ in self.joining.ways(at, shape, columns) for one in _single(found)]
        if self.geometry is None:
            batches = [Batch(shape, at, one, np.zeros(1, np.int64)) for shape, one in ways]
            return any(self._values(batch, None)[0] > -FAILS / 2 for batch in batches) if batches else None
        best: Reading | None = None
        for shape, one in ways:
            reading = self.geometry.read(shape, one, self.gears.sizes)
            if best is None or reading.value > best.value + EPS:
                best = reading
        return best

    def listed(self, sets: Ints, idlers: int) -> tuple[Ints, Ints, Places] | None:
        """The first arrangement that would be tried if there were no joined pieces: gears, idlers and their places."""
        for batch in self._lists_all.listed(sets, np.arange(len(sets)), idlers, as_given=False):
            if len(batch.owner):
                pairs2 = sets.shape[1]
                return batch.gears[:pairs2, 0], batch.gears[pairs2:, 0], batch.places
        return None

    def barred_partner(
        self, gears: Sequence[int], idlers: Sequence[int], places: Sequence[int]
    ) -> tuple[int, int, int] | None:
        """A gear, the idle partner it is joined to, and the shaft in power order that this may not hang on.

        None where the joined pieces could not serve even if every partner might hang anywhere.
        """
        if self.joining is None:
            return None
        hangs = self.joining.gears.hangs
        free = replace(self.joining, gears=replace(self.joining.gears, hangs=np.ones_like(hangs)))
        shape, columns = self._alone(gears, idlers, places)
        for with_idle, found, _ in free.ways(tuple(places), shape, columns):
            for column in range(with_idle.idle_from, len(with_idle.seats)):
                at = with_idle.seats[column].shaft
                place = 1 if 1 <= at <= shape.studs else 2 if (at == 0) == self.joining.pivot_last else 0
                if not hangs[found[column, 0], place]:
                    shaft = shape.studs + 1 - at if self.joining.pivot_last else at
                    return int(found[shape.at(at)[0], 0]), int(found[column, 0]), shaft
        return None

    def _alone(self, gears: Sequence[int], idlers: Sequence[int], places: Sequence[int]) -> tuple[Shape, Ints]:
        lister = self.arrangements
        shape = shape_of(len(gears) // 2, tuple(places), lister.planes, pivot_last=lister.pivot_last)
        return shape, np.array([*gears, *idlers], np.int64)[:, np.newaxis]


def _single(gears: Ints) -> Iterator[Ints]:
    return (gears[:, row : row + 1] for row in range(gears.shape[1]))


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


__all__ = ["HOPELESS", "Reading", "Trials", "Tried", "clearance_um"]
