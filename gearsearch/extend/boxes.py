"""Several machines with their boxes of gears, and the gears that could be had for all of them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from fractions import Fraction

from ..base.errors import GearsearchError
from ..base.sharing import HERE, Crew, Remade
from ..base.units import INCH_MM
from ..shop.gears import Kind
from ..shop.pool import GearPool
from ..shop.shop import Shop
from .wanted import Gear, WantedLeads

Set = tuple[int, ...]  # numbers of gears, ascending


class Boxes(Remade):
    """The leads that matter on each machine, and every gear that could be had, numbered once for all of them.

    Parameters
    ----------
    each : the leads on each machine, at least one
    crew : who does the work

    A gear serves on every machine that has its kind of tooth.
    """

    def __init__(self, each: Sequence[WantedLeads], crew: Crew = HERE) -> None:
        self.each = tuple(each)
        self.crew = crew
        self.gears: tuple[Gear, ...] = tuple(
            dict.fromkeys(leads.gear(number) for leads in self.each for number in leads.candidates)
        )
        known = [{leads.gear(number): number for number in leads.candidates} for leads in self.each]
        self._numbers = [[numbers.get(gear) for gear in self.gears] for numbers in known]

    def made_from(self) -> tuple[type[Boxes], tuple[tuple[WantedLeads, ...]]]:
        """The leads on each machine are enough."""
        return Boxes, (self.each,)

    @property
    def candidates(self) -> Set:
        """The numbers of all gears that could be had."""
        return tuple(range(len(self.gears)))

    def teeth(self, gears: Iterable[int]) -> int:
        """The teeth of some gears in all."""
        return sum(self.gears[gear][1] for gear in gears)

    def numbers(self, box: int, gears: Iterable[int]) -> Set:
        """The numbers of some gears in one machine's pool; those of other kinds of tooth are left out."""
        numbers = (self._numbers[box][gear] for gear in gears)
        return tuple(number for number in numbers if number is not None)

    def gear_of(self, box: int, number: int) -> int:
        """The number here of a gear by its number in one machine's pool."""
        return self.gears.index(self.each[box].gear(number))

    def pools(self, chosen: Iterable[int] = ()) -> list[GearPool]:
        """The pool of each machine, with gears added."""
        gears = tuple(chosen)
        return [leads.with_gears(leads.pool, self.numbers(box, gears)) for box, leads in enumerate(self.each)]


def alike(shops: Sequence[Shop]) -> tuple[Shop, ...]:
    """The shops with their kinds of tooth tagged alike, so that a gear of one is told from a gear of another.

    Raises GearsearchError for none, and for one shop named twice.
    """
    if not shops:
        raise GearsearchError("there is no shop", "name one at least")
    twice = next((shop for at, shop in enumerate(shops) if shop in shops[:at]), None)
    if twice is not None:
        raise GearsearchError(f"{twice.heading} is named twice", "name each shop once", code="shop-twice")
    if len(shops) == 1:
        return tuple(shops)
    kinds = {(gears.kind.module_mm, gears.kind.pressure_angle_deg) for shop in shops for gears in shop.gears}
    return tuple(
        replace(
            shop,
            gears=tuple(replace(gears, kind=replace(gears.kind, tag=_tag(gears.kind, kinds))) for gears in shop.gears),
        )
        for shop in shops
    )


def _tag(kind: Kind, kinds: set[tuple[Fraction, Fraction]]) -> str:
    """What tells a kind of tooth from others: its pitch, and its angle where several have that."""
    if len(kinds) == 1:
        return ""
    shared = sum(module == kind.module_mm for module, _ in kinds) > 1
    dp = INCH_MM / kind.module_mm
    pitch = f"dp{_plain(dp)}" if dp.denominator == 1 else f"m{_plain(kind.module_mm)}"
    return f"{pitch}a{_plain(kind.pressure_angle_deg)}" if shared else pitch


def _plain(number: Fraction) -> str:
    return f"{float(number):.10g}"
