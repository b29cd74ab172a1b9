"""Counting trains the slow way: every gear is put on in every order, from the first shaft to the last.

Shares no code with the package. A gear is (kind number, teeth, where), ``where`` being ``first`` or ``last`` for one
that cannot come off that shaft, else empty; joined pieces are taken apart.
"""

from fractions import Fraction
from itertools import permutations
from math import prod


def gears_of(shop):
    """Every physical gear."""
    gears = []
    for kind, owned in enumerate(shop.gears):
        gears += [(kind, teeth, "") for teeth in owned.teeth]
        gears += [(kind, teeth, "") for piece in owned.joined for teeth in piece]
        gears += [(kind, teeth, place) for place, teeth in owned.fixed.items()]
    return gears


def trains(shop, pairs):
    """Every train of so many pairs, as (drivers, driven), each sorted: in whatever order, it is one train."""
    gears = gears_of(shop)
    fixed = {gear[2]: gear for gear in gears if gear[2]}
    found = set()
    for row in permutations(gears, 2 * pairs):
        drivers, driven = row[0::2], row[1::2]
        meshes = all(a[0] == b[0] for a, b in zip(drivers, driven, strict=True))
        first, last = fixed.get("first", drivers[0]), fixed.get("last", driven[-1])
        stays = drivers[0] == first and driven[-1] == last and sum(1 for gear in row if gear[2]) == len(fixed)
        if meshes and stays:
            found.add((tuple(sorted(gear[:2] for gear in drivers)), tuple(sorted(gear[:2] for gear in driven))))
    return found


def leads(shop, route, pairs):
    """The lead [mm] of every train of so many pairs."""
    base = shop.machine.screw_lead_mm * route.ratio
    for drivers, driven in trains(shop, pairs):
        ratio = Fraction(prod(teeth for _, teeth in driven), prod(teeth for _, teeth in drivers))
        yield base * ratio if shop.machine.kind == "mill" else base / ratio
