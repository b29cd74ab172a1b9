"""The trains of one box for the leads of a list: all of them, or the closest that mount."""

from __future__ import annotations

import numpy as np

from ..base.errors import GearsearchError
from ..base.units import spaced
from ..search.catalogue import Catalogue
from ..shop.pool import GearPool
from .coverage import Best, Pool, Rows, Setting, joined, merged

MOST_TRAINS = 5_000_000
ENOUGH = 200  # trains looked at first for each lead; eight times as many in each round


class Owned:
    """The trains that a box has for the leads of a list, mounting or not.

    Parameters
    ----------
    setting : the leads and the machine
    box : the gears

    Raises GearsearchError when more trains are inside the tolerances than memory is planned for.
    """

    def __init__(self, setting: Setting, box: GearPool) -> None:
        self._setting = setting
        self._box = box
        least, most = setting.terms.pairs
        self._catalogue = Catalogue(box, range(least, most + 1))
        self._counts = [self._count(need) for need in range(len(setting.needs))]
        if sum(self._counts) > MOST_TRAINS:
            raise GearsearchError(
                f"{spaced(sum(self._counts))} trains lie inside the tolerances of the list; at most "
                f"{spaced(MOST_TRAINS)} can be judged",
                "give tighter tolerances or fewer leads, or allow fewer --pairs",
            )

    def _count(self, need: int) -> int:
        low, high = self._setting.within(need, self._setting.half_width(need))
        return self._catalogue.count_between(low, float(np.nextafter(high, np.inf)))

    def all(self) -> Pool:
        """Every train that would serve a lead."""
        whole = {need: self._setting.half_width(need) for need in range(len(self._counts))}
        return self._within(whole)

    def closest(self) -> tuple[dict[int, Best], Pool]:
        """The closest trains that mount for each lead, and the trains that come before but do not mount.

        Each lead is searched in a window that grows on both sides alike until it holds a train that mounts: then no
        nearer one is outside.
        """
        half_width = self._setting.half_width
        shares = {n: half_width(n) * min(1.0, ENOUGH / count) for n, count in enumerate(self._counts) if count}
        best: dict[int, Best] = {}
        failed: list[Pool] = []
        while shares:
            found, nearer = self._setting.closest(self._within(shares), self._box)
            best |= found
            done = {need for need, share in shares.items() if need in found or share >= half_width(need)}
            failed.append({p: _of_needs(rows, done) for p, rows in nearer.items()})
            shares = {need: min(half_width(need), share * 8) for need, share in shares.items() if need not in done}
        return best, merged(*failed)

    def _within(self, shares: dict[int, float]) -> Pool:
        lots = [self._near(need, share) for need, share in shares.items()]
        return {pairs: joined([lot[pairs] for lot in lots], pairs) for pairs in self._catalogue.pairs}

    def _near(self, need: int, share: float) -> Pool:
        low, high = self._setting.within(need, share)
        trains = self._catalogue.between(low, float(np.nextafter(high, np.inf)))
        none = np.zeros(len(self._counts), np.bool_)
        return {pairs: self._setting.rows_of(trains, pairs, need, none) for pairs in self._catalogue.pairs}


def _of_needs(rows: Rows, needs: set[int]) -> Rows:
    return rows.take(np.flatnonzero(np.isin(rows.need, list(needs))))
