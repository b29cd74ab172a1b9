"""The shop: its machine, gears, quadrant and dividing head, as ``reader`` reads them."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from fractions import Fraction

from ..base import require
from ..base.errors import GearsearchError
from .gears import PLACES, GearSet, Kind
from .head import Dividing
from .machine import ANY_ROUTE, Drive, Machine, Route
from .quadrant import Limit, Quadrant
from .trains import Pair, Train

UNITS = ("mm", "in")


DEMO_SAID = "the built-in demo shop"


@dataclass(frozen=True, slots=True)
class Shop:
    """Everything the search knows about a shop.

    Parameters
    ----------
    name, units : the shop's name; ``mm`` or ``in`` for printing
    machine, gears, quadrant, dividing : see their classes
    source : the file it was read from, as the user named it; empty for the demo shop

    Raises GearsearchError for units that are not known, for a part of another class, and where two kinds of tooth have
    one tag, or two gears are fixed on one shaft.
    """

    name: str
    units: str
    machine: Machine
    gears: tuple[GearSet, ...]
    quadrant: Quadrant | None = None
    dividing: Dividing | None = None
    source: str = ""

    def __post_init__(self) -> None:
        require.text(self.name, "the name of a shop")
        require.text(self.source, "the name of a shop file")
        require.one_of(self.units, UNITS, "the unit")
        self._check_parts()
        tags = [gears.kind.tag for gears in self.gears]
        if len(set(tags)) < len(tags):
            raise GearsearchError("two kinds of tooth have one tag", "give each Kind its own, as in 'm1.5' and 'dp20'")
        fixed = [place for gears in self.gears for place in gears.fixed]
        if len(set(fixed)) < len(fixed):
            raise GearsearchError("two gears are fixed on one shaft", "give one for each shaft at most")

    def _check_parts(self) -> None:
        require.instance(
            self.machine, Machine, "machine of a shop", "make it as Mill(screw_lead_mm, routes)", given=True
        )
        for gears in self.gears:
            require.instance(gears, GearSet, "set of gears", "make it with GearSet(kind, teeth)", given=True)
        require.instance(self.quadrant, Quadrant, "quadrant of a shop", "give a Quadrant(…), or None for none")
        require.instance(self.dividing, Dividing, "dividing head of a shop", "give a Dividing(…), or None for none")

    @property
    def is_demo(self) -> bool:
        """True for the demo shop built into the package."""
        return not self.source

    @property
    def heading(self) -> str:
        """Whose shop an answer is for, and where it was read from: the first line of what is printed."""
        origin = self.source or f"{DEMO_SAID}; name your own with --shop"
        return f"{self.name} ({origin})"

    @property
    def has_geometry(self) -> bool:
        """Whether the quadrant is measured, so that trains are tried on it; else only the rule of thumb is left."""
        return self.quadrant is not None and self.quadrant.shaft_distance_mm is not None

    def ways(self, name: str | None = None) -> tuple[Route, ...]:
        """Every way that a name stands for, in the order of the shop file.

        Parameters
        ----------
        name : a route, for all positions of its lever; a position, as ``gearbox:B``; ``any`` for every way there is;
            None for the first route

        Raises GearsearchError naming the routes there are.
        """
        routes = self.machine.routes
        if name == ANY_ROUTE:
            return routes
        wanted = routes[0].name if name is None else name
        if found := tuple(route for route in routes if wanted in (route.name, route.call)):
            return found
        same = tuple(route.call for route in routes if route.lever and wanted.startswith(f"{route.name}:"))
        names = ", ".join(same or dict.fromkeys(route.name for route in routes))
        raise GearsearchError(
            f"there is no route {name!r} in {self.name}", f"use one of: {names}", code="no-such-route"
        )

    def route(self, name: str | None = None) -> Route:
        """The one way of that name, or the first. Raises GearsearchError as ``ways``, and where there are several."""
        first, *others = self.ways(name)
        if others:
            calls = ", ".join(route.call for route in (first, *others))
            raise GearsearchError(
                "this goes by one route, and one position of its lever, at a time",
                f"name one of: {calls}",
                code="one-route",
            )
        return first

    def may_mount(self, route: Route, pairs: int, hand: str) -> bool:
        """Whether any train of so many pairs could mount: whether the quadrant takes the fewest studs that it needs.

        Parameters
        ----------
        route, pairs, hand : as in ``Route.fewest_studs``, whose errors are raised; without geometry any may
        """
        studs = route.fewest_studs(pairs, hand)
        return not self.has_geometry or self.quadrant is None or studs <= self.quadrant.bracket.takes

    def drive(self, route: Route) -> Drive:
        """The machine driven by a route: how leads and ratios of change gears answer to each other."""
        return Drive(self.machine, route)

    def lead(self, train: Train, route: Route) -> Fraction:
        """Lead that a train cuts by a route [mm], exact; formulas and sources at the class of the machine."""
        return self.drive(route).lead_mm(train.ratio)

    def gear_set(self, tag: str) -> GearSet:
        """The gears of the kind with that tag. Raises GearsearchError naming the tags there are."""
        for gears in self.gears:
            if gears.kind.tag == tag:
                return gears
        tags = ", ".join(gears.kind.tag for gears in self.gears if gears.kind.tag)
        remedy = f"use one of: {tags}" if tags else "leave the kind out: the shop has only one"
        raise GearsearchError(f"there is no kind of tooth {tag!r} in {self.name}", remedy, code="no-such-kind")

    def allows(self, tag: str, teeth: int, place: str) -> bool:
        """Whether a gear may go on the first shaft, a stud or the last shaft, by bore and by the shaft's limits."""
        gears = self.gear_set(tag)
        if place not in gears.only_on.get(teeth, PLACES):
            return False
        if self.quadrant is None:
            return True
        return not _beyond(gears.kind, teeth, self.quadrant.smallest.get(place), below=True) and not _beyond(
            gears.kind, teeth, self.quadrant.largest.get(place), below=False
        )

    def tagged(self, train: Train) -> Train:
        """The train with the kind of tooth of every pair named, found from the gears owned.

        Raises GearsearchError when a pair without a tag could be of several kinds.
        """
        return Train(tuple(self._tagged_pair(pair) for pair in train.pairs))

    def _tagged_pair(self, pair: Pair) -> Pair:
        if pair.kind or len(self.gears) == 1:
            self.gear_set(pair.kind)
            return pair
        teeth = Counter((pair.driver, pair.driven, *pair.idlers))
        tags = [gears.kind.tag for gears in self.gears if teeth <= gears.available()]
        if len(tags) == 1:
            return Pair(pair.driver, pair.driven, pair.idlers, tags[0])
        if tags:
            choices = " or ".join(f"{pair}@{tag}" for tag in tags)
            raise GearsearchError(
                f"the pair {pair} could be of several kinds of tooth", f"write {choices}", code="which-kind"
            )
        known = ", ".join(f"{gears.kind.tag} ({gears.kind.label})" for gears in self.gears)
        raise GearsearchError(
            f"no one kind of tooth has all gears of the pair {pair}", f"kinds owned: {known}", code="which-kind"
        )


def _beyond(kind: Kind, teeth: int, limit: Limit | None, *, below: bool) -> bool:
    if limit is None:
        return False
    size = Fraction(teeth) if isinstance(limit, int) else kind.outside_diameter_mm(teeth)
    return size < limit if below else size > limit
