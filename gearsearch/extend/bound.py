"""What no set of gears could pass: the leads that trains of the gears in question reach, however many of each."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from ..base.errors import GearsearchError
from ..search.catalogue import Catalogue
from ..shop.pool import GearPool
from .coverage import Best, Rows, Setting

if TYPE_CHECKING:
    from ..mounting.judge import Judge

JUDGED = 64  # trains judged for one lead before it is left as not ruled out
_NARROW = 1e-9  # relative width of the first window


@dataclass(frozen=True, slots=True)
class Bound:
    """What the gears that could be had would do without limit to their number, the gears owned included.

    Parameters
    ----------
    covered : places of the leads for which a train inside tolerance was found that mounts
    exact : places of the leads for which an exact one was found that mounts
    maybe_covered, maybe_exact : places of the leads for which there are such trains, but none of those judged mounts

    No set of these gears covers more leads than are in ``covered`` and ``maybe_covered`` together.
    """

    covered: tuple[int, ...]
    exact: tuple[int, ...]
    maybe_covered: tuple[int, ...] = ()
    maybe_exact: tuple[int, ...] = ()

    @property
    def most_covered(self) -> int:
        """At most so many leads can be brought inside tolerance."""
        return len(self.covered) + len(self.maybe_covered)

    @property
    def most_exact(self) -> int:
        """At most so many leads can be met exactly."""
        return len(self.exact) + len(self.maybe_exact)


def unlimited(setting: Setting, box: GearPool, best: dict[int, Best]) -> Bound:
    """The bound for a box that may gain any number of the gears that could be had.

    Parameters
    ----------
    setting : the leads, the machine and the gears that could be had
    box : the gears owned
    best : what they cover already
    """
    plenty = setting.with_gears(box, setting.candidates, 2 * setting.terms.pairs[1])
    reach = _Reach(setting, plenty)
    needs = range(len(setting.needs))
    exact = {n: "yes" if n in best and best[n].miss == 0 else reach.ask(n, only_exact=True) for n in needs}
    inside = {n: "yes" if n in best or exact[n] == "yes" else reach.ask(n, only_exact=False) for n in needs}
    return Bound(*(tuple(n for n in needs if said[n] == word) for word in ("yes", "maybe") for said in (inside, exact)))


def near_trains(setting: Setting, box: GearPool, need: int) -> list[tuple[int, ...]]:
    """Some trains of a box that would serve a lead and mount, from the nearest few: size numbers of their gears."""
    return _Reach(setting, box).trains(need)


class _Reach:
    """Whether a box with gears in plenty has a train that mounts; maybe, where too many would need judging."""

    def __init__(self, setting: Setting, box: GearPool) -> None:
        self._setting = setting
        self._judge: Judge = setting.judge(box)
        self._catalogues: list[Catalogue | None] = []
        for pairs in range(setting.terms.pairs[0], setting.terms.pairs[1] + 1):
            catalogue = Catalogue(box, [pairs])
            try:
                catalogue.prepare()
                self._catalogues.append(catalogue)
            except GearsearchError:  # too many halves: trains of so many pairs are not ruled out
                self._catalogues.append(None)

    def ask(self, need: int, *, only_exact: bool) -> str:
        """The answer for one lead."""
        answer = "no"
        for catalogue in self._catalogues:
            here = "maybe" if catalogue is None else self._ask(catalogue, need, only_exact)
            if here == "yes":
                return here
            answer = here if here == "maybe" else answer
        return answer

    def _ask(self, catalogue: Catalogue, need: int, only_exact: bool) -> str:
        """For trains of one number of pairs: the nearest few, from a window that grows until it holds them."""
        for low, high, whole in self._windows(need, only_exact):
            rows = self._rows(catalogue, need, low, high, only_exact)
            if whole or len(rows) >= JUDGED:
                mounting = self._mounting(rows)
                return "yes" if mounting else "no" if whole and len(rows) <= JUDGED else "maybe"
        return "no"

    def trains(self, need: int) -> list[tuple[int, ...]]:
        """The nearest trains for a lead that mount."""
        found: list[tuple[int, ...]] = []
        for catalogue in filter(None, self._catalogues):
            for low, high, whole in self._windows(need, only_exact=False):
                rows = self._rows(catalogue, need, low, high, only_exact=False)
                if whole or len(rows) >= JUDGED:
                    found += self._mounting(rows)
                    break
        return found

    def _mounting(self, rows: Rows) -> list[tuple[int, ...]]:
        """Of the nearest trains, those that mount."""
        nearest = rows.sizes[np.argsort(rows.miss, kind="stable")[:JUDGED]]
        if not len(nearest):
            return []
        found = self._judge.best(nearest, self._setting.terms.hand).mounts
        return [tuple(row) for row in nearest[found].tolist()]

    def _windows(self, need: int, only_exact: bool) -> Iterator[tuple[float, float, bool]]:
        exact = [only_exact] * len(self._setting.needs)
        low, high = self._setting.windows(exact)[need].tolist()
        wanted, width = float(self._setting.wanted[need]), _NARROW
        while wanted * (1 - width) > low or wanted * (1 + width) < high:
            yield max(low, wanted * (1 - width)), min(high, wanted * (1 + width)), False
            width *= 8
        yield low, high, True

    def _rows(self, catalogue: Catalogue, need: int, low: float, high: float, only_exact: bool) -> Rows:
        trains = catalogue.between(low, float(np.nextafter(high, np.inf)))
        exact = np.full(len(self._setting.needs), only_exact)
        (pairs,) = catalogue.pairs
        return self._setting.rows_of(trains, pairs, need, exact)
