"""How many trains a shop's gears make, and how short and how long a lead they reach; nothing is listed or searched."""

from __future__ import annotations

from fractions import Fraction

from ..base.errors import GearsearchError
from . import counting
from .machine import Route
from .pool import pool_of
from .shop import Shop


def count_trains(shop: Shop, pairs: int) -> int:
    """How many trains of that many pairs the shop's gears make.

    Parameters
    ----------
    shop : whose gears
    pairs : pairs of gears in the train, 1 or more

    A train here is a set of drivers with a set of driven gears, as many of each kind of tooth among the one as
    among the other: the orders they can stand in, and idlers, are not counted. Gears that cannot come off are in
    every train. Limits: the two gears of a joined piece count as if they were loose, and whether a train mounts
    is not asked.
    """
    return counting.count_trains(pool_of(shop), pairs)


def shortest_and_longest(shop: Shop, route: Route, pairs: int) -> tuple[Fraction, Fraction]:
    """Shortest and longest lead [mm] of trains of that many pairs, exact; limits as for ``count_trains``.

    Parameters
    ----------
    shop, route : whose gears, and by which way to the work
    pairs : pairs of gears in the train, 1 or more

    Raises GearsearchError where the gears make no train of that many pairs.
    """
    pool = pool_of(shop)
    if not counting.count_trains(pool, pairs):
        raise GearsearchError(
            f"the gears of {shop.name} make no train of {pairs} pairs",
            "ask for fewer pairs, or add gears that mesh",
            code="no-train",
        )
    return shop.drive(route).leads_mm(*counting.reach(pool, pairs))
