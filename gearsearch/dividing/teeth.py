"""Indexing by the teeth of a change gear: which mesh is opened for it, how, and how far the work goes on there.

The gear on the work's side, a mill's last and a lathe's first driver, goes on by its teeth × its turns for one of the
work / starts. Its own mesh is opened where the quadrant swings round the other shaft. A quadrant that swings round the
shaft of that very gear keeps its mesh and opens the one at the far shaft: there the gear on the last stud goes on by as
many teeth as the train makes of it, which must be whole. Common practice, no source; worked out here.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from math import acos, degrees, hypot, prod
from typing import TYPE_CHECKING

from ..base.errors import GearsearchError
from ..base.units import decimals
from ..shop.machine import Route
from ..shop.pool import pool_of
from ..shop.quadrant import Quadrant
from ..shop.shop import Shop
from ..shop.trains import Train

if TYPE_CHECKING:
    from ..mounting.placement import Placement


@dataclass(frozen=True, slots=True)
class Opening:
    """The mesh that is opened to go from one start to the next.

    Parameters
    ----------
    gear, advance : the gear that goes on there, by its tooth count, and by how many teeth
    mark : what to mark and how to bring it out of mesh, in words
    turn : how far to turn the spindle meanwhile, and how to mesh again, in words
    """

    gear: int
    advance: int
    mark: str
    turn: str


@dataclass(frozen=True, slots=True)
class ByTeeth:
    """Indexing by the teeth of the last gear, exact.

    Parameters
    ----------
    last_gear, advance : its tooth count, and by how many of its teeth the work goes on from one start to the next
    opening : the mesh that is opened for it, which need not be its own
    """

    last_gear: int
    advance: int
    opening: Opening


@dataclass(frozen=True, slots=True)
class _Ends:
    """The shaft on the work's side and the far one: the gear on each, and what they are called."""

    near: int
    far: int
    on_near: str
    on_far: str
    near_shaft: str


def opening(shop: Shop, route: Route, train: Train, advance: int) -> Opening:
    """How a start is gone on by so many teeth of the gear on the work's side: a mill's last, a lathe's first driver.

    Parameters
    ----------
    shop, route, train : whose machine and quadrant, and what is geared on it
    advance : teeth of that gear from one start to the next, at least 1

    Raises GearsearchError where its mesh cannot be opened by itself, and a start is no whole teeth at the one that can.
    Limits: how a plate, a quadrant that is not described, or one too near its stop, comes apart is left to who stands
    before it.
    """
    ends, quadrant = _ends(shop, route, train), shop.quadrant
    turn = f"turn the spindle on by {told(advance, ends.near)} of the {ends.near}"
    if not train.studs:
        fixed = {teeth for gears in shop.gears for teeth in gears.fixed.values()}
        loose = " or the ".join(str(teeth) for teeth in (ends.near, ends.far) if teeth not in fixed)
        how = f"draw the {loose} along its shaft, still on its key," if loose else "bring them apart"
        mark = f"mark the mesh of the two gears; {how} until they are out of mesh"
        return Opening(ends.near, advance, mark, f"{turn}, mesh again")
    if quadrant is None or not _swings_clear(shop, quadrant, route, train):
        return Opening(ends.near, advance, *_with_care(ends, turn))
    if quadrant.pivot != ends.near_shaft:
        mark = f"mark the mesh of the {ends.near} on {ends.on_near}; swing the quadrant back until it is out of mesh"
        return Opening(ends.near, advance, f"{mark}, and clamp it there", f"{turn}, mesh again")
    return _at_the_far_shaft(shop, train, advance, ends)


def _ends(shop: Shop, route: Route, train: Train) -> _Ends:
    first, last = train.drivers[0], train.driven[-1]
    machine = shop.machine
    if machine.work_side == "last":
        return _Ends(last, first, machine.work_shaft, machine.first_shaft, "last")
    return _Ends(first, last, machine.work_shaft, machine.last_shaft(route), "first")


def _swings_clear(shop: Shop, quadrant: Quadrant, route: Route, train: Train) -> bool:
    """Whether the quadrant can swing until the tips at the far shaft are clear: two modules farther than they mesh.

    Where the train is not known to stand on the quadrant, its swing is taken to do if it has any.
    """
    low, high = map(float, quadrant.swing_deg)
    if quadrant.shaft_distance_mm is None or not quadrant.bracket.swings_whole or low == high:
        return False
    placement = _placement(shop, route, train)
    if placement is None:
        return True
    stud = placement.studs[-1 if placement.pivot == "first" else 0]
    end = train.pairs[-1 if placement.pivot == "first" else 0]
    apart, out = placement.shaft_distance_mm, stud.from_pivot_mm
    meshed = hypot(stud.x_mm - apart, stud.y_mm)
    clear = meshed + 2 * float(shop.gear_set(end.kind).kind.module_mm)
    cosine = (out**2 + apart**2 - clear**2) / (2 * out * apart)
    if cosine < -1:
        return False
    swung = degrees(acos(cosine))
    beside = (placement.bracket_swing_deg or 0.0) - stud.swing_deg  # of the bracket's own line from the stud's
    return (stud.swing_deg >= 0 and swung + beside <= high) or (stud.swing_deg <= 0 and -swung + beside >= low)


def _placement(shop: Shop, route: Route, train: Train) -> Placement | None:
    from ..mounting.judge import Judge

    try:
        return Judge.asked(shop, pool_of(shop), route, "must").place(train).placement
    except GearsearchError:  # gears that the shop has not
        return None


def _with_care(ends: _Ends, turn: str) -> tuple[str, str]:
    mark = (
        f"mark the mesh of the {ends.near} on {ends.on_near} and open it; if another mesh opens with it, mark that too "
        "before, and let no gear on a stud turn"
    )
    return mark, f"{turn}, mesh again, every other mesh at its mark"


def _at_the_far_shaft(shop: Shop, train: Train, advance: int, ends: _Ends) -> Opening:
    """The quadrant swings round the shaft of the gear itself."""
    gear, there = _neighbour(shop, train), advance * _ratio_there(shop, train)
    why = f"the quadrant swings round the shaft of the {ends.near}, so its mesh stays"
    if there.denominator == 1:
        mark = f"{why}: mark that of the {ends.far} on {ends.on_far}; swing the quadrant back until it is out of mesh"
        turn = f"turn the spindle until the {gear} that meshes there has gone on by {told(int(there), gear)}"
        return Opening(gear, int(there), f"{mark}, and clamp it", f"{turn} ({advance} of the {ends.near}), mesh again")
    if train.studs == 1:
        mark = (
            f"{why}: mark both meshes; swing the quadrant back until the {ends.far} on {ends.on_far} is out of mesh, "
            f"then slide the stud until the {ends.near} is free too; let nothing on the stud turn while it is"
        )
        turn = f"turn the spindle on by {told(advance, ends.near)} of the {ends.near}, slide and swing back"
        return Opening(ends.near, advance, mark, f"{turn}, the {ends.far} to its own mark")
    raise GearsearchError(
        f"{why}; at the {ends.far} on {ends.on_far}, which can be opened, a start is {decimals(there, 3)} teeth of the "
        f"{gear}",
        "take a train with one stud, or of one pair, or one in which those teeth come out whole",
    )


def _neighbour(shop: Shop, train: Train) -> int:
    """The gear on a stud that meshes at the far shaft."""
    if shop.machine.work_side == "last":
        return (*train.pairs[0].idlers, train.pairs[0].driven)[0]
    return (train.pairs[-1].driver, *train.pairs[-1].idlers)[-1]


def _ratio_there(shop: Shop, train: Train) -> Fraction:
    """Teeth that go by at the far shaft for one at the gear on the work's side; idlers pass on as many as they get."""
    if shop.machine.work_side == "last":
        return Fraction(prod(train.driven[:-1]), prod(train.drivers[1:]))
    return Fraction(prod(train.drivers[1:]), prod(train.driven[:-1]))


def told(advance: int, gear: int) -> str:
    """So many teeth of a gear, in words: whole turns apart."""
    turns, teeth = divmod(advance, gear)
    words = [f"{turns} turn{'s' * (turns > 1)}"] * (turns > 0) + [f"{teeth} {'tooth' if teeth == 1 else 'teeth'}"] * (
        teeth > 0
    )
    return " and ".join(words)
