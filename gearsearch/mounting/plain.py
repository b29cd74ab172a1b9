"""The best arrangement of train sets where nothing needs judging: any gear anywhere, and no gap asked for."""

from __future__ import annotations

import numpy as np

from ..base.arrays import Ints
from ..shop.train_columns import NO_GEAR, Trains
from ..shop.trains import hand_of
from .judge import Judge


def is_plain(judge: Judge) -> bool:
    """Whether all that decides among the trains of one lead and one number of pairs is their tooth counts.

    Then the others need not be judged: any gear may stand anywhere, no gap is asked for, and of equally many gears
    equally many are left to be idlers.
    """
    pool = judge.pool
    limited = pool.greatest_pair_ratio is not None or len(pool.tags) > 1
    restricted = pool.joined or max(pool.fixed_first, pool.fixed_last) >= 0 or limited
    return judge.mode == "skip" and not restricted and all(all(places) for places in pool.allowed)


def best_unjudged(judge: Judge, sizes: Ints, hand: str) -> Trains:
    """What ``Judge.best`` gives, written down without trying every order of the gears.

    Parameters
    ----------
    judge : one that ``is_plain``
    sizes : (T, 2p) gear numbers of p drivers, then of p driven gears, each side ascending
    hand : ``right``, ``left`` or ``either``

    The least tooth counts in power order are the ascending ones; where the hand needs an idler, it is the smallest
    gear left over, in the first pair. Raises GearsearchError as ``Judge.best`` does.
    """
    known = judge.route.hand_with_one_stud
    if hand != "either" and known is None:
        return judge.best(sizes, hand)
    pairs, idlers = sizes.shape[1] // 2, np.full((len(sizes), 1), NO_GEAR)
    needs = hand != "either" and hand_of(pairs - 1, known, hand) != hand
    if needs:
        idlers[:, 0] = _least_left(sizes, judge.pool.available)
    return Trains(
        pairs=np.full(len(sizes), pairs),
        drivers=sizes[:, :pairs],
        driven=sizes[:, pairs:],
        mounts=(idlers[:, 0] != NO_GEAR) | (not needs),
        idlers=idlers,
        idler_pairs=np.where(idlers == NO_GEAR, NO_GEAR, 0),
        clearance_um=np.zeros(len(sizes), np.int64),
        hand=hand,
    )


def _least_left(sizes: Ints, available: tuple[int, ...]) -> Ints:
    """For each train set the smallest gear that it leaves over, or −1."""
    least = np.full(len(sizes), NO_GEAR)
    rest = np.arange(len(sizes))
    for size, owned in enumerate(available):
        if not len(rest):
            break
        left = (sizes[rest] == size).sum(axis=1) < owned
        least[rest[left]] = size
        rest = rest[~left]
    return least
