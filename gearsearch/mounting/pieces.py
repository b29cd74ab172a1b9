"""Which gears of a train come from joined pieces, and which partners of theirs hang idle."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from ..base.errors import GearsearchError
from ..shop.pool import pool_of
from ..shop.shop import Shop
from ..shop.trains import Train
from .joining import Joining
from .placement import Placement
from .trials import Trials

_Gear = tuple[str, int]  # kind tag, tooth count


@dataclass(frozen=True, slots=True)
class Piece:
    """A joined piece on a shaft of a train.

    Parameters
    ----------
    kind : the tag of its kind of tooth
    teeth : tooth counts of its two gears, the smaller first
    idle : tooth count of the one that only hangs there; None where both work
    plane : gear plane of the idle one, from 0; None where no place was judged
    """

    kind: str
    teeth: tuple[int, int]
    idle: int | None = None
    plane: int | None = None


def pieces_of(shop: Shop, train: Train, placement: Placement | None = None) -> dict[int, Piece]:
    """The joined piece on each shaft that takes one, by its number in power order; loose gears are taken first.

    Parameters
    ----------
    shop : whose gears
    train : in power order, every pair tagged where the shop has several kinds of tooth
    placement : where it stands, with the idle partners that were judged; without it the fewest are taken

    Empty where the shop's loose gears make the train, and where its gears do not.
    """
    pool = pool_of(shop)
    trials = Trials.of(shop, pool, "rule" if placement is None else "geometry")
    try:
        one = trials.alone(train)
    except GearsearchError:  # a gear that the shop has not
        return {}
    order = [one.shape.in_power_order(shaft) for shaft in range(one.shape.studs + 2)]
    choice = Joining(trials.gears, placement is not None).taken(one.shape, one.gears).choice[:, order]
    if placement is not None:
        hangs = np.full((2, len(order), 1), -1)
        for wheel in placement.wheels:
            if wheel.role == "idle":
                hangs[:, wheel.shaft, 0] = pool.number(wheel.kind, wheel.teeth), wheel.plane
        choice = choice[..., (choice[1:] == hangs).all(axis=(0, 1))]
    on, kinds = list(shafts(train)), choice[0]
    idle = (kinds >= 0) & np.array([[len(gears) == 1] for gears in on])
    best = np.lexsort([*kinds[::-1], (kinds >= 0).sum(axis=0), idle.sum(axis=0)])[:1]
    taken = {}
    for shaft, (kind, _, plane) in enumerate(choice[..., best[0]].T.tolist() if len(best) else ()):
        if kind >= 0:
            a, b, _ = pool.joined[kind]
            tag, teeth = on[shaft][0]
            partner = pool.teeth[a if pool.number(tag, teeth) == b else b] if len(on[shaft]) == 1 else None
            taken[shaft] = Piece(tag, (pool.teeth[a], pool.teeth[b]), partner, plane if plane >= 0 else None)
    return taken


def shafts(train: Train) -> Iterator[tuple[_Gear, ...]]:
    """The gears on each shaft in power order, driven before driver."""
    here: tuple[_Gear, ...] = ()
    for pair in train.pairs:
        yield *here, (pair.kind, pair.driver)
        yield from (((pair.kind, idler),) for idler in pair.idlers)
        here = ((pair.kind, pair.driven),)
    yield here
