"""The shop: its machine, routes, gears, quadrant and dividing head, as ``shopfile`` reads them."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from fractions import Fraction

from .errors import GearsearchError
from .trains import Pair, Train, hand_of

PLACES = ("first", "stud", "last")
MOST_OBSTACLES, MOST_PIECES = 16, 16  # obstacles, and kinds of joined pieces: what the mounting's loops have room for
Limit = int | Fraction  # a whole number counts teeth, a Fraction is an outside diameter in mm


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of tooth; only gears of one kind mesh.

    Parameters
    ----------
    module_mm : module [mm], exact
    pressure_angle_deg : pressure angle [degrees]
    tag : what the notation adds to a pair (``m1.5``, ``dp20``); empty where the shop has one kind
    label : the same for people: ``module 1.5 mm, 20°``
    """

    module_mm: Fraction
    pressure_angle_deg: Fraction = Fraction(20)
    tag: str = ""
    label: str = ""

    def outside_diameter_mm(self, teeth: int) -> Fraction:
        """Diameter over the tips of a full-depth gear [mm]: module × (teeth + 2)."""
        return self.module_mm * (teeth + 2)


@dataclass(frozen=True, slots=True)
class GearSet:
    """The owned gears of one kind of tooth.

    Parameters
    ----------
    kind : their kind of tooth
    teeth : loose gears, ascending; a repeat is a second gear
    joined : gears that come as one piece, as (a, b); each pair is a piece of its own, not among ``teeth``.
        A piece serves with both gears on one stud that carries a driven and a driver, or with one gear alone,
        the other idle, on the first shaft, on the last shaft or as an idler.
    fixed : gears that cannot come off: ``{"first": 40}``; every train then has it there. Not among ``teeth``.
    only_on : tooth count to the places (first, stud, last) its bore allows; absent means anywhere
    """

    kind: Kind
    teeth: tuple[int, ...] = ()
    joined: tuple[tuple[int, int], ...] = ()
    fixed: dict[str, int] = field(default_factory=dict)
    only_on: dict[int, frozenset[str]] = field(default_factory=dict)

    def available(self) -> Counter[int]:
        """How many of each tooth count there are at most: loose, in joined pieces, and fixed."""
        return Counter([*self.teeth, *(t for piece in self.joined for t in piece), *self.fixed.values()])


@dataclass(frozen=True, slots=True)
class Route:
    """One way the train reaches the work.

    Parameters
    ----------
    name : as the shop calls it
    ratio : mill: turns of the train's last shaft for one turn of the work; lathe: turns of the train's first
        shaft for one turn of the spindle
    hand_with_one_stud : hand cut with one stud between the shafts, found by turning by hand; None: not yet found;
        ``either``: a lever reverses the train, whatever its studs
    step_up_warning : warn when the last shaft of the train turns more than this many times as fast as the first; the
        route's own ratio is not in it
    """

    name: str
    ratio: Fraction
    hand_with_one_stud: str | None = None
    step_up_warning: Fraction | None = None

    def fewest_studs(self, pairs: int, hand: str) -> int:
        """The fewest studs of a train of so many pairs: one less than pairs, one more where the hand takes an idler.

        Parameters
        ----------
        pairs : at least 1
        hand : ``right``, ``left`` or ``either``

        Raises GearsearchError where a hand is asked for and the shop file does not say which one the route cuts.
        """
        if hand == "either":
            return pairs - 1
        if self.hand_with_one_stud is None:
            raise GearsearchError(
                f"the shop file does not say which hand the route {self.name} cuts",
                "put on a train with one stud, turn it through by hand once, and write the hand as hand_with_one_stud",
            )
        return pairs - 1 + (hand_of(pairs - 1, self.hand_with_one_stud, hand) != hand)

    def multiple(self, starts: int) -> int:
        """What the count of the gear that indexes the starts by its teeth must be a multiple of.

        From one start to the next it goes on by teeth × its turns for one of the work / starts, which must be whole: a
        lathe's first driver, and a mill's last gear where the worm is out of mesh.
        """
        return (starts / self.ratio).numerator


@dataclass(frozen=True, slots=True)
class Machine:
    """The machine whose screw and work the train connects.

    Parameters
    ----------
    kind : ``mill`` (the table screw drives the work) or ``lathe`` (the spindle drives the lead screw)
    screw_lead_mm : travel for one turn of the screw [mm]
    routes : at least one; the first is the default
    screw_accuracy : relative error of the screw (1/10000 is 100 ppm), None where not measured
    backlash_mm : lost motion of the table at its dial [mm], None where not measured
    """

    kind: str
    screw_lead_mm: Fraction
    routes: tuple[Route, ...]
    screw_accuracy: Fraction | None = None
    backlash_mm: Fraction | None = None


@dataclass(frozen=True, slots=True)
class Obstacle:
    """A casting in the way: a round of ``radius_mm`` at (x, y) [mm] from the pivot, x toward the other shaft."""

    x_mm: Fraction
    y_mm: Fraction
    radius_mm: Fraction


@dataclass(frozen=True, slots=True)
class Quadrant:
    """Where studs can stand and what gears must clear; lengths in mm, angles in degrees.

    Parameters
    ----------
    shaft_distance_mm : (least, greatest) distance of first and last shaft, equal when fixed; None when the file
        gives only ``smallest`` and ``largest``: then there is no geometry, only the rule of thumb
    pivot : the shaft it swings round, ``first`` or ``last``
    layout : ``slot`` (all studs on one ray from the pivot) or ``plate`` (studs anywhere in reach)
    studs : how many studs it takes at most
    reach_mm : nearest and farthest a stud can stand from the pivot
    swing_deg : least and greatest angle of the ray (or of each stud) from the line pivot → other shaft
    planes : gear planes side by side
    nut_radius_mm : for first, stud and last: what another shaft's gear must clear
    clearance_mm : least gap allowed
    smallest, largest : limits on the gear at first, stud or last; an int counts teeth, a Fraction is an
        outside diameter [mm]
    obstacles : castings in the way
    """

    shaft_distance_mm: tuple[Fraction, Fraction] | None
    pivot: str = "first"
    layout: str = "slot"
    studs: int = 2
    reach_mm: tuple[Fraction, Fraction] = (Fraction(0), Fraction(10000))
    swing_deg: tuple[Fraction, Fraction] = (Fraction(-180), Fraction(180))
    planes: int = 2
    nut_radius_mm: dict[str, Fraction] = field(default_factory=dict)
    clearance_mm: Fraction = Fraction(1, 2)
    smallest: dict[str, Limit] = field(default_factory=dict)
    largest: dict[str, Limit] = field(default_factory=dict)
    obstacles: tuple[Obstacle, ...] = ()

    @property
    def same_both_ways(self) -> bool:
        """Whether what fits at a plus swing fits at the same minus swing too: equal limits, no casting to one side."""
        low, high = self.swing_deg
        return low == -high and all(block.y_mm == 0 for block in self.obstacles)


_BEYOND_ANY_RATIO = Fraction(10**30)


@dataclass(frozen=True, slots=True)
class Drive:
    """A machine driven by one of its routes: the lead that a ratio of change gears cuts, and the other way round.

    Parameters
    ----------
    kind : ``mill`` or ``lathe``
    lead_of_machine_mm : lead with 1:1 gears [mm]: screw lead × route ratio

    A ratio is the product of the driven over the product of the drivers, exact or float. Mill: lead of the machine ×
    ratio (Practical Treatise on Milling and Milling Machines, Brown & Sharpe, 1914, p. 62). Lathe: lead of the
    machine / ratio.
    """

    kind: str
    lead_of_machine_mm: Fraction

    @property
    def is_mill(self) -> bool:
        """Whether a greater ratio gives a longer lead."""
        return self.kind == "mill"

    def lead_mm(self, ratio: Fraction) -> Fraction:
        """The lead [mm] of a ratio."""
        return self.lead_of_machine_mm * ratio if self.is_mill else self.lead_of_machine_mm / ratio

    def ratio(self, lead_mm: Fraction) -> Fraction:
        """The ratio of a lead [mm]."""
        return lead_mm / self.lead_of_machine_mm if self.is_mill else self.lead_of_machine_mm / lead_mm

    def ratios(self, low_mm: Fraction, high_mm: Fraction) -> tuple[Fraction, Fraction]:
        """The least and the greatest ratio of a window of leads [mm], whose lower end may be zero."""
        if self.is_mill:
            return self.ratio(low_mm), self.ratio(high_mm)
        return self.ratio(high_mm), self.ratio(low_mm) if low_mm else _BEYOND_ANY_RATIO

    def leads_mm(self, low: Fraction, high: Fraction) -> tuple[Fraction, Fraction]:
        """The shortest and the longest lead [mm] of a window of ratios, both above zero."""
        shortest, longest = sorted((self.lead_mm(low), self.lead_mm(high)))
        return shortest, longest


@dataclass(frozen=True, slots=True)
class Dividing:
    """The dividing head: crank turns for one turn of the work, and the index circles by plate side."""

    ratio: Fraction
    plates: tuple[tuple[int, ...], ...]

    @property
    def circles(self) -> tuple[int, ...]:
        """Every circle there is, ascending, each once."""
        return tuple(sorted({holes for plate in self.plates for holes in plate}))


@dataclass(frozen=True, slots=True)
class Shop:
    """Everything the search knows about a shop.

    Parameters
    ----------
    name, units : the shop's name; ``mm`` or ``in`` for printing
    machine, gears, quadrant, dividing : see their classes
    source : the file it was read from, as the user named it; empty for the demo shop
    """

    name: str
    units: str
    machine: Machine
    gears: tuple[GearSet, ...]
    quadrant: Quadrant | None = None
    dividing: Dividing | None = None
    source: str = ""

    @property
    def is_demo(self) -> bool:
        """True for the demo shop built into the package."""
        return not self.source

    @property
    def heading(self) -> str:
        """Whose shop an answer is for, and where it was read from: the first line of what is printed."""
        origin = self.source or "the built-in demo shop; name your own with --shop"
        return f"{self.name} ({origin})"

    @property
    def has_geometry(self) -> bool:
        """Whether the quadrant is measured, so that trains are tried on it; else only the rule of thumb is left."""
        return self.quadrant is not None and self.quadrant.shaft_distance_mm is not None

    def route(self, name: str | None = None) -> Route:
        """The route of that name, or the default one. Raises GearsearchError naming the routes there are."""
        if name is None:
            return self.machine.routes[0]
        for route in self.machine.routes:
            if route.name == name:
                return route
        names = ", ".join(route.name for route in self.machine.routes)
        raise GearsearchError(f"there is no route {name!r} in {self.name}", f"use one of: {names}")

    def through_worm(self, route: Route) -> bool | None:
        """Whether a route of a mill goes through the head's worm, not straight to its spindle; None: it cannot be told.

        The route's name may say so (``worm``, or ``spindle`` or ``direct``), and its ratio where that is the head's
        own, or 1; where these say nothing, or one thing and the other, it cannot be told.
        """
        name = route.name.lower()
        own = self.dividing is not None and route.ratio == self.dividing.ratio
        worm, spindle = "worm" in name or own, "spindle" in name or "direct" in name or route.ratio == 1
        return None if worm == spindle else worm

    def ratio_doubt(self, route: Route) -> str:
        """That a route through the worm has another ratio than the dividing head; empty where it has not."""
        head = self.dividing
        if head is None or route.ratio == head.ratio or self.machine.kind != "mill" or not self.through_worm(route):
            return ""
        return (
            f"route {route.name} turns the work {route.ratio}:1 and [dividing] says {head.ratio}:1: unless other gears "
            "stand between, one of the two is wrong, and every lead or every division with it; count the turns of the "
            "crank for one of the work"
        )

    def drive(self, route: Route) -> Drive:
        """The machine driven by a route: how leads and ratios of change gears answer to each other."""
        return Drive(self.machine.kind, self.machine.screw_lead_mm * route.ratio)

    def lead(self, train: Train, route: Route) -> Fraction:
        """Lead that a train cuts by a route [mm], exact; formulas and sources at ``Drive``."""
        return self.drive(route).lead_mm(train.ratio)

    def gear_set(self, tag: str) -> GearSet:
        """The gears of the kind with that tag. Raises GearsearchError naming the tags there are."""
        for gears in self.gears:
            if gears.kind.tag == tag:
                return gears
        tags = ", ".join(gears.kind.tag for gears in self.gears if gears.kind.tag)
        remedy = f"use one of: {tags}" if tags else "leave the kind out: the shop has only one"
        raise GearsearchError(f"there is no kind of tooth {tag!r} in {self.name}", remedy)

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
            raise GearsearchError(f"the pair {pair} could be of several kinds of tooth", f"write {choices}")
        known = ", ".join(f"{gears.kind.tag} ({gears.kind.label})" for gears in self.gears)
        raise GearsearchError(f"no one kind of tooth has all gears of the pair {pair}", f"kinds owned: {known}")


def _beyond(kind: Kind, teeth: int, limit: Limit | None, *, below: bool) -> bool:
    if limit is None:
        return False
    size = Fraction(teeth) if isinstance(limit, int) else kind.outside_diameter_mm(teeth)
    return size < limit if below else size > limit
