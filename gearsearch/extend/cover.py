"""Which parts of a box cover a list of leads, and the smallest that does."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from ..base.arrays import Ints
from ..base.progress import Progress
from ..shop.pool import GearPool
from .coverage import Rows, Setting
from .hitting import Hitting
from .kernels import Bools
from .owned import Owned

Bits = NDArray[np.uint64]
Counts = tuple[int, ...]  # how many loose gears of each size are kept


@dataclass(slots=True)
class _Ways:
    """The trains that serve one lead with the whole box.

    Parameters
    ----------
    sure : uint64 (T, words), gears that suffice, for trains known to mount with just these
    asked : trains that mount with the whole box, by number of pairs, but need judging with fewer gears
    uses : uint64 (T, words), gears of those trains, for each number of pairs
    refused : gears known not to do

    Gears are packed as bits: a bit for each gear of the box, equal ones in a row, of which the first are taken first.
    """

    sure: Bits
    asked: dict[int, Ints]
    uses: dict[int, Bits]
    refused: list[Bits]


class Cover:
    """Answers whether a part of a box covers what the whole box covers.

    Parameters
    ----------
    setting : the leads and the machine
    box : the whole box

    A train that mounts with no idler needs its own gears and no others, so that counting decides. A train that
    takes an idler, or gears of joined pieces, is judged anew with the gears kept. More gears never spoil a train,
    so what a set refuses every part of it refuses too.
    """

    def __init__(self, setting: Setting, box: GearPool) -> None:
        self._setting = setting
        self._whole = box
        self.sizes = tuple(size for size, count in enumerate(box.loose) if count)
        self._uses = np.zeros(len(box.teeth))
        self._ways = self._find_ways()
        self._least_used = sorted(self.sizes, key=lambda size: (round(float(self._uses[size]), 9), size))
        self.covered = tuple(sorted(self._ways))

    def box(self, kept: Counts) -> GearPool:
        """The box with only these loose gears."""
        return replace(self._whole, loose=kept)

    def lost(self, size: int) -> tuple[int, ...]:
        """Places of the leads lost without one gear of a size."""
        kept = list(self._whole.loose)
        kept[size] -= 1
        return self.missing(tuple(kept))

    def missing(self, kept: Counts) -> tuple[int, ...]:
        """Places of the leads that these gears do not cover, of those the whole box covers."""
        return tuple(need for need in self.covered if not self.serves(need, kept))

    def serves(self, need: int, kept: Counts) -> bool:
        """Whether these gears make a train for a lead that is inside tolerance and mounts."""
        ways, have = self._ways[need], self._packed(np.array([kept], np.int64))[0]
        if _within(ways.sure, have).any():
            return True
        if not ways.asked or any(_within(have, bits) for bits in ways.refused):
            return False
        judge = self._setting.judge(self.box(kept))
        for pairs, sizes in ways.asked.items():
            fitting = np.flatnonzero(_within(ways.uses[pairs], have))
            best = judge.best(sizes[fitting], self._setting.terms.hand) if len(fitting) else None
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
        judge = self._setting.judge(self._whole)
        ways: dict[int, _Ways] = {}
        for pairs, rows in Owned(self._setting, self._whole).all().items():
            if not len(rows):
                continue
            best = judge.best(rows.sizes, self._setting.terms.hand)
            for need in np.unique(rows.need[best.mounts]).tolist():
                here = best.mounts & (rows.need == need)
                alone = here & (best.idler_count == 0) & (not self._whole.joined)
                self._add(ways.setdefault(need, self._no_way()), pairs, rows, (alone, here & ~alone))
        return ways

    def _no_way(self) -> _Ways:
        return _Ways(self._packed(np.empty((0, len(self._whole.teeth)), np.int64)), {}, {}, [])

    def _add(self, ways: _Ways, pairs: int, rows: Rows, which: tuple[Bools, Bools]) -> None:
        alone, asked = which
        self._tally(rows.sizes[alone | asked])
        uses = self._packed(self._taken(rows.sizes[alone]))
        ways.sure = np.unique(np.concatenate([ways.sure, uses]), axis=0)
        if asked.any():
            ways.asked[pairs], ways.uses[pairs] = rows.sizes[asked], self._packed(self._taken(rows.sizes[asked]))

    def _tally(self, sizes: Ints) -> None:
        """Add to each size the share of these trains that take it."""
        self._uses += (self._taken(sizes) > 0).mean(axis=0)

    def smallest(self, rounds: int) -> tuple[Counts, int]:
        """A small set that covers what the whole box covers, and the least number of gears any such set has."""
        best = self.thin()
        hitting, least = Hitting(self._whole.loose), 0
        with Progress("proving the smallest set", rounds) as progress:
            for turn in range(rounds):
                progress.step(turn)
                trial, least = hitting.fewest(sum(best))
                if trial is None or least >= sum(best):
                    return best, least
                missing = self.missing(trial)
                if not missing:
                    return trial, least
                for need in missing:
                    hitting.require(self._grown(trial, need))
        return best, least

    def thin(self) -> Counts:
        """A small set: the box thinned, then thinned again without one gear of the best so far, while that helps."""
        best = self._thinned(self._whole.loose, self.sizes)
        tried: set[Counts] = set()
        while best not in tried:
            tried.add(best)
            others = [self._thinned(start, _absent_first(best, start)) for start in self._with_one_less(best)]
            best = min([best, *others], key=lambda kept: (sum(kept), kept))
        return best

    def _with_one_less(self, kept: Counts) -> Iterator[Counts]:
        """The whole box less one gear of a set, for each that can be done without."""
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

    def _grown(self, kept: Counts, need: int) -> Counts:
        """The set with gears put in, as long as it does not serve a lead."""
        counts = list(kept)
        for size in self._least_used:
            while counts[size] < self._whole.loose[size]:
                counts[size] += 1
                if self.serves(need, tuple(counts)):
                    counts[size] -= 1
                    break
        return tuple(counts)


def _within(some: Bits, all_of: Bits) -> Bools:
    """Whether all gears of one set, or of each of several, are in another."""
    inside: Bools = ((some & ~all_of) == 0).all(axis=-1)
    return inside


def _absent_first(kept: Counts, start: Counts) -> tuple[int, ...]:
    return tuple(size for size, count in enumerate(start) if count and not kept[size])
