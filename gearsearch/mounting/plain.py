"""The best arrangement of train sets where nothing needs judging: any gear anywhere, and no gap asked for."""

from __future__ import annotations

import numpy as np

from ..base.arrays import Ints
from ..shop.trains import hand_of
from .judge import BestArrangements, Judge

_NO_GEAR = -1


def best_unjudged(judge: Judge, sizes: Ints, hand: str) -> BestArrangements:
    """What ``Judge.best`` gives, written down without trying every order of the gears.

    Parameters
    ----------
    judge : of mode ``skip``, with a box of one kind of tooth, all loose, each allowed anywhere, at any ratio
    sizes : (T, 2p) size numbers of p drivers, then of p driven gears, each side ascending
    hand : ``right``, ``left`` or ``either``

    The least tooth counts in power order are the ascending ones; where the hand needs an idler, it is the smallest
    gear left over, in the first pair. Raises GearsearchError as ``Judge.best`` does.
    """
    known = judge.route.hand_with_one_stud
    if hand != "either" and known is None:
        return judge.best(sizes, hand)
    pairs, idlers = sizes.shape[1] // 2, np.full((len(sizes), 1), _NO_GEAR)
    needs = hand != "either" and hand_of(pairs - 1, known, hand) != hand
    if needs:
        idlers[:, 0] = _least_left(sizes, judge.box.available)
    found = (idlers[:, 0] != _NO_GEAR) | (not needs)
    return BestArrangements(
        found=found,
        idlers=np.full(len(sizes), int(needs)),
        clearance_um=np.zeros(len(sizes), np.int64),
        drivers=sizes[:, :pairs],
        driven=sizes[:, pairs:],
        idler_sizes=idlers,
        idler_places=np.where(idlers == _NO_GEAR, _NO_GEAR, 0),
        hand=hand,
    )


def _least_left(sizes: Ints, available: tuple[int, ...]) -> Ints:
    """For each train set the smallest gear that it leaves over, or −1."""
    least = np.full(len(sizes), _NO_GEAR)
    rest = np.arange(len(sizes))
    for size, owned in enumerate(available):
        if not len(rest):
            break
        left = (sizes[rest] == size).sum(axis=1) < owned
        least[rest[left]] = size
        rest = rest[~left]
    return least
