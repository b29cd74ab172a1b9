"""Which gears of a train come from joined pieces, and which partners of theirs hang idle."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import product

from ..shop.shop import Shop
from ..shop.trains import Train
from .placement import Placement

_Gear = tuple[str, int]  # kind tag, tooth count


@dataclass(frozen=True, slots=True)
class Piece:
    """A joined piece on a shaft of a train.

    Parameters
    ----------
    kind : the tag of its kind of tooth
    teeth : tooth counts of its two gears
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
    wheels = list(shafts(train))
    ways = [way for way in product(*(_options(shop, gears) for gears in wheels)) if _affords(shop, wheels, way)]
    if placement is not None:
        idle = {wheel.shaft: wheel for wheel in placement.wheels if wheel.role == "idle"}
        told = {shaft: wheel.teeth for shaft, wheel in idle.items()}
        ways = [way for way in ways if told == {n: p.idle for n, p in enumerate(way) if p and p.idle is not None}]
    best = min(ways, key=_pieces_used, default=())
    taken = {shaft: piece for shaft, piece in enumerate(best) if piece is not None}
    if placement is None:
        return taken
    planes = {shaft: wheel.plane for shaft, wheel in idle.items()}
    return {n: Piece(piece.kind, piece.teeth, piece.idle, planes.get(n)) for n, piece in taken.items()}


def shafts(train: Train) -> Iterator[tuple[_Gear, ...]]:
    """The gears on each shaft in power order, driven before driver."""
    here: tuple[_Gear, ...] = ()
    for pair in train.pairs:
        yield *here, (pair.kind, pair.driver)
        yield from (((pair.kind, idler),) for idler in pair.idlers)
        here = ((pair.kind, pair.driven),)
    yield here


def _options(shop: Shop, gears: tuple[_Gear, ...]) -> list[Piece | None]:
    """Ways to take the gears of a shaft: loose or fixed (None), or a joined piece."""
    found: list[Piece | None] = [None]
    for kind in {kind for kind, _ in gears}:
        teeth = [count for tag, count in gears if tag == kind]
        for a, b in dict.fromkeys(shop.gear_set(kind).joined):
            if len(gears) == 2:
                found += [Piece(kind, (a, b))] if sorted(teeth) == sorted((a, b)) else []
            else:
                found += [Piece(kind, (a, b), other) for gear, other in {(a, b), (b, a)} if gear == teeth[0]]
    return found


def _affords(shop: Shop, on: list[tuple[_Gear, ...]], way: tuple[Piece | None, ...]) -> bool:
    """Whether the shop has the joined pieces and the loose and fixed gears of a way."""
    for gears in shop.gears:
        tag, has, loose = gears.kind.tag, Counter(gears.joined), Counter(gears.teeth)
        used = Counter(piece.teeth for piece in way if piece is not None and piece.kind == tag)
        ends = {0: gears.fixed.get("first"), len(on) - 1: gears.fixed.get("last")}
        needed = Counter(
            teeth
            for shaft, (wheels, piece) in enumerate(zip(on, way, strict=True))
            for kind, teeth in wheels
            if piece is None and kind == tag and ends.get(shaft) != teeth
        )
        if not (used <= has and needed <= loose):
            return False
    return True


def _pieces_used(way: tuple[Piece | None, ...]) -> tuple[int, int]:
    taken = [piece for piece in way if piece is not None]
    return sum(piece.idle is not None for piece in taken), len(taken)
