"""Which parts of a pool of gears cover a list of leads, and the smallest that does."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from ..base.arrays import Bools, Ints
from ..base.progress import Progress
from ..search.halves import Bits
from ..shop.pool import GearPool
from .wanted import Serving, WantedLeads

Counts = tuple[int, ...]  # how many loose gears of each size are kept


MOST_STEPS = 100_000  # of all searches together


@dataclass(slots=True)
class _Ways:
    """The trains that serve one lead with the whole pool.

    Parameters
    ----------
    sure : uint64 (T, words), gears that suffice, for trains known to mount with just these
    asked : trains that mount with the whole pool, but lead judging with fewer gears, by one of their asks and the
        number of pairs
    uses : uint64 (T, words), gears of those trains, likewise
    refused : gears known not to do

    Gears are packed as bits: a bit for each gear of the pool, equal ones in a row, of which the first are taken first.
    """

    sure: Bits
    asked: dict[tuple[int, int], Ints]
    uses: dict[tuple[int, int], Bits]
    refused: list[Bits]


class PartsOfPool:
    """Answers whether a part of a pool of gears covers what the whole pool covers.

    Parameters
    ----------
    leads : the leads and the machine
    whole : all the gears

    A train that mounts with no idler needs its own gears and no others, so that counting decides. A train that
    takes an idler, or gears of joined pieces, is judged anew with the gears kept. More gears never spoil a train,
    so what a set refuses every part of it refuses too.
    """

    def __init__(self, leads: WantedLeads, whole: GearPool) -> None:
        self._leads = leads
        self._whole = whole
        self.sizes = tuple(size for size, count in enumerate(whole.loose) if count)
        self._uses = np.zeros(len(whole.teeth))
        self._ways = self._find_ways()
        self._least_used = sorted(self.sizes, key=lambda size: (round(float(self._uses[size]), 9), size))
        self.covered = tuple(sorted(self._ways))

    def pool(self, kept: Counts) -> GearPool:
        """The pool with only these loose gears."""
        return replace(self._whole, loose=kept)

    def lost(self, size: int) -> tuple[int, ...]:
        """Places of the leads lost without one gear of a size."""
        kept = list(self._whole.loose)
        kept[size] -= 1
        return self.missing(tuple(kept))

    def missing(self, kept: Counts) -> tuple[int, ...]:
        """Places of the leads that these gears do not cover, of those the whole pool covers."""
        return tuple(lead for lead in self.covered if not self.serves(lead, kept))

    def serves(self, lead: int, kept: Counts) -> bool:
        """Whether these gears make a train for a lead that is inside tolerance and mounts."""
        ways, have = self._ways[lead], self._packed(np.array([kept], np.int64))[0]
        if _within(ways.sure, have).any():
            return True
        if not ways.asked or any(_within(have, bits) for bits in ways.refused):
            return False
        judges = self._leads.judges(self.pool(kept))
        for key, sizes in ways.asked.items():
            fitting = np.flatnonzero(_within(ways.uses[key], have))
            best = judges.best(sizes[fitting], key[0]) if len(fitting) else None
            if best is not None and best.mounts.any():
                first = int(np.argmax(best.mounts))
                ways.sure = np.concatenate([ways.sure, self._enough(have, sizes[fitting[first]], best.idlers[first])])
                return True
        ways.refused.append(have)
        return False

    def _enough(self, have: Bits, sizes: Ints, idlers: Ints) -> Bits:
        """Gears that suffice for a train that mounts with those at hand; with joined pieces that is not known."""
        if self._whole.joined:
            return have[None, :]
        return self._packed(self._taken(np.concatenate([sizes, idlers[idlers >= 0]])[None, :]))

    def _taken(self, sizes: Ints) -> Ints:
        """How many loose gears of each size trains take at least, one row for each row of sizes."""
        taken = np.zeros((len(sizes), len(self._whole.teeth)), np.int64)
        np.add.at(taken, (np.arange(len(sizes))[:, None], sizes), 1)
        least: Ints = np.maximum(taken - self._fixed, 0)
        return least

    def _packed(self, counts: Ints) -> Bits:
        """Counts of gears by size as bits, row by row."""
        places = np.repeat(np.arange(len(self._whole.teeth)), self._whole.loose)
        copy = np.arange(len(places)) - np.searchsorted(places, places)
        bits = np.zeros((len(counts), -(-max(len(places), 1) // 64) * 64), np.uint8)
        bits[:, : len(places)] = copy < counts[:, places]
        packed: Bits = np.packbits(bits, axis=1).view(np.uint64)
        return packed

    @cached_property
    def _fixed(self) -> Ints:
        """How many gears of each size a train has without taking a loose one, at most."""
        given: Ints = np.array(self._whole.available, np.int64) - np.array(self._whole.loose, np.int64)
        return given

    def _find_ways(self) -> dict[int, _Ways]:
        judges = self._leads.judges(self._whole)
        ways: dict[int, _Ways] = {}
        trains = Serving(self._leads, self._whole).all()
        for rows, ask, pairs in judges.lots(trains, np.arange(len(trains))):
            gears, leads = trains.take(rows).gears(pairs), self._leads.lead_of[trains.asked[rows]]
            best = judges.best(gears, ask)
            for lead in np.unique(leads[best.mounts]).tolist():
                here = best.mounts & (leads == lead)
                alone = here & (best.idler_count == 0) & (not self._whole.joined)
                self._add(ways.setdefault(lead, self._no_way()), (ask, pairs), gears[alone], gears[here & ~alone])
        return ways

    def _no_way(self) -> _Ways:
        return _Ways(self._packed(np.empty((0, len(self._whole.teeth)), np.int64)), {}, {}, [])

    def _add(self, ways: _Ways, key: tuple[int, int], alone: Ints, asked: Ints) -> None:
        """Add trains that mount alone, and those that lead judging with fewer gears."""
        self._uses += (self._taken(np.concatenate([alone, asked])) > 0).mean(axis=0)
        ways.sure = np.unique(np.concatenate([ways.sure, self._packed(self._taken(alone))]), axis=0)
        if len(asked):
            ways.asked[key], ways.uses[key] = asked, self._packed(self._taken(asked))

    def smallest(self, rounds: int) -> tuple[Counts, int]:
        """A small set that covers what the whole pool covers, and the least number of gears any such set has."""
        best = self.thin()
        must_keep, least = MustKeep(self._whole.loose), 0
        with Progress("proving the smallest set", rounds) as progress:
            for turn in range(rounds):
                progress.step(turn)
                trial, least = must_keep.fewest(sum(best))
                if trial is None or least >= sum(best):
                    return best, least
                missing = self.missing(trial)
                if not missing:
                    return trial, least
                for lead in missing:
                    must_keep.require(self._grown(trial, lead))
        return best, least

    def thin(self) -> Counts:
        """A small set: the pool thinned, then thinned again without one gear of the best so far, while that helps."""
        best = self._thinned(self._whole.loose, self.sizes)
        tried: set[Counts] = set()
        while best not in tried:
            tried.add(best)
            others = [
                self._thinned(start, tuple(size for size, count in enumerate(start) if count and not best[size]))
                for start in self._with_one_less(best)
            ]
            best = min([best, *others], key=lambda kept: (sum(kept), kept))
        return best

    def _with_one_less(self, kept: Counts) -> Iterator[Counts]:
        """The whole pool less one gear of a set, for each that can be done without."""
        for size in self.sizes:
            start = tuple(count - (other == size) for other, count in enumerate(self._whole.loose))
            if kept[size] and not self.missing(start):
                yield start

    def _thinned(self, kept: Counts, first: tuple[int, ...]) -> Counts:
        """The set with gears taken out as long as no lead is lost; of ``first`` the least used first, then the rest."""
        counts = list(kept)
        for size in sorted(self.sizes, key=lambda size: (size not in first, self._least_used.index(size))):
            while counts[size]:
                counts[size] -= 1
                if self.missing(tuple(counts)):
                    counts[size] += 1
                    break
        return tuple(counts)

    def _grown(self, kept: Counts, lead: int) -> Counts:
        """The set with gears put in, as long as it does not serve a lead."""
        counts = list(kept)
        for size in self._least_used:
            while counts[size] < self._whole.loose[size]:
                counts[size] += 1
                if self.serves(lead, tuple(counts)):
                    counts[size] -= 1
                    break
        return tuple(counts)


def _within(some: Bits, all_of: Bits) -> Bools:
    """Whether all gears of one set, or of each of several, are in another."""
    inside: Bools = ((some & ~all_of) == 0).all(axis=-1)
    return inside


class MustKeep:
    """Choices of gears, of each of which at least one must be kept.

    Parameters
    ----------
    owned : how many gears of each size there are

    A choice is made by a set that will not do: what does must have more gears of at least one size.
    """

    def __init__(self, owned: tuple[int, ...]) -> None:
        self._owned = owned
        self._bits: dict[tuple[int, int], int] = {}
        self._below: dict[int, int] = {}
        for size, count in enumerate(owned):
            bits = 0
            for copy in range(1, count + 1):
                bits |= 1 << len(self._bits)
                self._bits[size, copy] = 1 << len(self._bits)
                self._below[self._bits[size, copy]] = bits
        self._choices: set[int] = set()
        self._least = 0
        self._steps = MOST_STEPS

    def require(self, refused: tuple[int, ...]) -> None:
        """Note a set that will not do, given as how many gears of each size it has."""
        choice = sum(
            self._bits[size, have + 1]
            for size, (have, owned) in enumerate(zip(refused, self._owned, strict=True))
            if have < owned
        )
        if not any(choice & other == other for other in self._choices):
            self._choices = {other for other in self._choices if choice & other != choice} | {choice}

    def fewest(self, below: int) -> tuple[tuple[int, ...] | None, int]:
        """The fewest gears that meet every choice, and a number that no such set falls short of.

        Parameters
        ----------
        below : sets of so many gears or more are of no use

        None instead of a set when there is none of fewer gears than ``below``, or when the search was cut short;
        then the number is what was proved before.
        """
        search = _Search(sorted(self._choices, key=lambda choice: (choice.bit_count(), choice)), self._below, below)
        search.steps = self._steps
        search.go(0, 0)
        self._steps = search.steps
        if search.steps < 0:
            return None, self._least
        self._least = below if search.found is None else search.found.bit_count()
        return (None if search.found is None else self._counts(search.found)), self._least

    def _counts(self, mask: int) -> tuple[int, ...]:
        return tuple(
            sum(bool(mask & self._bits[size, copy]) for copy in range(1, count + 1))
            for size, count in enumerate(self._owned)
        )


class _Search:
    """Branch and bound over the choices, from the narrowest on."""

    def __init__(self, choices: list[int], below: dict[int, int], limit: int) -> None:
        self._choices = choices
        self._below = below
        self._limit = limit
        self.found: int | None = None
        self.steps = 0

    def go(self, kept: int, barred: int) -> None:
        """Try every way to meet the choices still open with what is not barred."""
        self.steps -= 1
        if self.steps < 0:
            return
        open_choices = [choice & ~barred for choice in self._choices if not choice & kept]
        if not open_choices:
            self._limit, self.found = kept.bit_count(), kept
            return
        if 0 in open_choices or kept.bit_count() + _apart(open_choices) >= self._limit:
            return
        narrowest = min(open_choices, key=lambda choice: (choice.bit_count(), choice))
        for option in _bits_of(narrowest):
            more = kept | self._below[option]
            if more.bit_count() < self._limit:
                self.go(more, barred)
            barred |= option


def _apart(choices: list[int]) -> int:
    """How many choices have nothing in common, taken greedily: each needs a gear of its own."""
    taken = count = 0
    for choice in sorted(choices, key=int.bit_count):
        if not choice & taken:
            taken |= choice
            count += 1
    return count


def _bits_of(mask: int) -> list[int]:
    bits = []
    while mask:
        bits.append(mask & -mask)
        mask &= mask - 1
    return bits
