"""The shop: its machine, routes, gears, quadrant and dividing head, as ``shopfile`` reads them."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Any

from ..base import require
from ..base.errors import GearsearchError
from ..base.require import is_whole
from ..base.units import shown, text_of_angle
from .trains import HANDS, Pair, Train, hand_of

UNITS = ("mm", "in")
KINDS_OF_MACHINE = ("mill", "lathe")
HANDS_WITH_ONE_STUD = (*HANDS, "either")
PLACES = ("first", "stud", "last")
ENDS = ("first", "last")  # the two shafts of the machine; a quadrant swings round one of them
LAYOUTS = ("slot", "plate")
LEAST_TEETH, MOST_TEETH = 4, 2000  # of a change gear
LEAST_PRESSURE_DEG, MOST_PRESSURE_DEG = 10, 30  # of a kind of tooth
LEAST_HOLES, MOST_HOLES = 2, 1000  # of an index circle
MOST_STUDS, MOST_STUDS_ON_A_PLATE = 8, 2  # what the mounting's loops have room for; so too the next two
LEAST_PLANES, MOST_PLANES = 2, 3
MOST_OBSTACLES, MOST_PIECES = 16, 16  # obstacles, and kinds of joined pieces
Limit = int | Fraction  # a whole number counts teeth, a Fraction is an outside diameter in mm


def _hold(thing: object, check: Callable[..., tuple[Fraction | None, ...]], *names: str, given: bool = True) -> None:
    """Keep numbers of a frozen object, by the names of its fields, as fractions, once they are checked."""
    values = check({name: getattr(thing, name) for name in names}, given=given)
    for name, value in zip(names, values, strict=True):
        object.__setattr__(thing, name, value)


def _hold_span(thing: object, name: str, *, least: int, most: int | None = None) -> None:
    """Keep a least and a greatest number as fractions, once they are checked."""
    span = getattr(thing, name)
    if not isinstance(span, tuple) or len(span) != 2:
        raise GearsearchError(f"{name} {shown(span)} is no least with a greatest", "give two numbers as a tuple")
    low, high = require.exact({f"the least {name}": span[0], f"the greatest {name}": span[1]}, given=True)
    if not least <= low <= high or (most is not None and high > most):
        given = f"{name} from {shown(low)} to {shown(high)} cannot be"
        within = f"not below {least}" if most is None else f"within {least} and {most}"
        raise GearsearchError(given, f"give the smaller first, both {within}")
    object.__setattr__(thing, name, (low, high))


def _by_place(thing: object, name: str, places: tuple[str, ...] = PLACES) -> Iterator[tuple[str, str, Any]]:
    """Place, what its value is called, and the value, of a field that has one for some places."""
    for place, value in getattr(thing, name).items():
        require.one_of(place, places, f"the place in {name}")
        yield place, f"{name}, {place},", value


def _limit(size: object, what: str) -> Limit:
    """A limit on a gear as it is kept: a whole number stays one, for it counts teeth."""
    (limit,) = require.above_zero({what: size}, given=True)
    return int(limit) if is_whole(size) else limit


def _teeth(count: object) -> int:
    return require.whole(count, MOST_TEETH, "teeth", LEAST_TEETH)


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of tooth; only gears of one kind mesh.

    Parameters
    ----------
    module_mm : module [mm], exact
    pressure_angle_deg : pressure angle [degrees], ``LEAST_PRESSURE_DEG`` to ``MOST_PRESSURE_DEG``
    tag : what the notation adds to a pair (``m1.5``, ``dp20``); empty where the shop has one kind
    label : the same for people: ``module 1.5 mm, 20°``

    Raises GearsearchError for a number that is not exact or out of range, and for a tag or label that is no text.
    """

    module_mm: Fraction
    pressure_angle_deg: Fraction = Fraction(20)
    tag: str = ""
    label: str = ""

    def __post_init__(self) -> None:
        _hold(self, require.above_zero, "module_mm", "pressure_angle_deg")
        if not LEAST_PRESSURE_DEG <= self.pressure_angle_deg <= MOST_PRESSURE_DEG:
            raise GearsearchError(
                f"a pressure angle of {text_of_angle(self.pressure_angle_deg)} is none of change gears",
                f"give one from {LEAST_PRESSURE_DEG} to {MOST_PRESSURE_DEG} degrees",
            )
        require.text(self.tag, "the tag of a kind of tooth")
        require.text(self.label, "the label of a kind of tooth")

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

    Raises GearsearchError for a tooth count out of ``LEAST_TEETH`` to ``MOST_TEETH``, and a place that is not known.
    """

    kind: Kind
    teeth: tuple[int, ...] = ()
    joined: tuple[tuple[int, int], ...] = ()
    fixed: dict[str, int] = field(default_factory=dict)
    only_on: dict[int, frozenset[str]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        require.instance(self.kind, Kind, "kind of tooth", "make it with Kind(module_mm)", given=True)
        object.__setattr__(self, "teeth", tuple(map(_teeth, self.teeth)))
        object.__setattr__(self, "joined", tuple(map(_piece, self.joined)))
        fixed = {place: _teeth(count) for place, _, count in _by_place(self, "fixed", ENDS)}
        object.__setattr__(self, "fixed", fixed)
        object.__setattr__(self, "only_on", {_teeth(count): _places(on) for count, on in self.only_on.items()})

    def available(self) -> Counter[int]:
        """How many of each tooth count there are at most: loose, in joined pieces, and fixed."""
        return Counter([*self.teeth, *(t for piece in self.joined for t in piece), *self.fixed.values()])


def _piece(gears: tuple[int, ...]) -> tuple[int, int]:
    if len(gears) != 2:
        raise GearsearchError(
            f"a joined piece of {len(gears)} gears cannot be", "give pieces of two, as in ((30, 60),)"
        )
    return _teeth(gears[0]), _teeth(gears[1])


def _places(allowed: frozenset[str]) -> frozenset[str]:
    if not set(allowed) <= set(PLACES):
        raise GearsearchError(
            f"only_on {shown(allowed)} is no set of places", f"give some of {', '.join(PLACES)}, as in {{'first'}}"
        )
    return frozenset(allowed)


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

    Raises GearsearchError for a number that is not exact or not above zero, and for a hand that is not known.
    """

    name: str
    ratio: Fraction
    hand_with_one_stud: str | None = None
    step_up_warning: Fraction | None = None

    def __post_init__(self) -> None:
        require.text(self.name, "the name of a route")
        _hold(self, require.above_zero, "ratio")
        _hold(self, require.above_zero, "step_up_warning", given=False)
        if self.hand_with_one_stud is not None:
            require.one_of(self.hand_with_one_stud, HANDS_WITH_ONE_STUD, "hand_with_one_stud")

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

    Raises GearsearchError for another kind of machine, a number that is not exact or below what it can be, and no
    route, or two of one name.
    """

    kind: str
    screw_lead_mm: Fraction
    routes: tuple[Route, ...]
    screw_accuracy: Fraction | None = None
    backlash_mm: Fraction | None = None

    def __post_init__(self) -> None:
        require.one_of(self.kind, KINDS_OF_MACHINE, "the kind of machine")
        _hold(self, require.above_zero, "screw_lead_mm")
        _hold(self, require.not_below_zero, "screw_accuracy", "backlash_mm", given=False)
        for route in self.routes:
            require.instance(route, Route, "route of a machine", "make it with Route(name, ratio)", given=True)
        names = [route.name for route in self.routes]
        if not names:
            raise GearsearchError("a machine without a route drives nothing", "give at least one Route")
        if len(set(names)) < len(names):
            raise GearsearchError(f"two routes of {', '.join(names)} have one name", "give each its own")


@dataclass(frozen=True, slots=True)
class Obstacle:
    """A casting in the way: a round of ``radius_mm`` at (x, y) [mm] from the pivot, x toward the other shaft."""

    x_mm: Fraction
    y_mm: Fraction
    radius_mm: Fraction

    def __post_init__(self) -> None:
        _hold(self, require.exact, "x_mm", "y_mm")
        _hold(self, require.above_zero, "radius_mm")


@dataclass(frozen=True, slots=True)
class Quadrant:
    """Where studs can stand and what gears must clear; lengths in mm, angles in degrees.

    Parameters
    ----------
    shaft_distance_mm : (least, greatest) distance of first and last shaft, equal when fixed; None when the file
        gives only ``smallest`` and ``largest``: then there is no geometry, only the rule of thumb
    pivot : the shaft it swings round, one of ``ENDS``
    layout : ``slot`` (all studs on one ray from the pivot) or ``plate`` (studs anywhere in reach)
    studs : how many studs it has, 0 to ``MOST_STUDS``; see ``takes``
    reach_mm : nearest and farthest a stud can stand from the pivot
    swing_deg : least and greatest angle of the ray (or of each stud) from the line pivot → other shaft, within ±180
    planes : gear planes side by side, 2 or 3
    nut_radius_mm : for first, stud and last: what another shaft's gear must clear
    clearance_mm : least gap allowed
    smallest, largest : limits on the gear at first, stud or last; an int counts teeth, a Fraction is an
        outside diameter [mm]
    obstacles : castings in the way, at most ``MOST_OBSTACLES``

    Raises GearsearchError for words that are not known, and for numbers that are not exact or out of range.
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

    def __post_init__(self) -> None:
        require.one_of(self.pivot, ENDS, "the pivot")
        require.one_of(self.layout, LAYOUTS, "the layout")
        self._hold_numbers()
        self._hold_lengths()
        for block in self.obstacles:
            require.instance(block, Obstacle, "obstacle", "make it with Obstacle(x_mm, y_mm, radius_mm)", given=True)
        if len(self.obstacles) > MOST_OBSTACLES:
            raise GearsearchError(
                f"{len(self.obstacles)} obstacles cannot be judged",
                f"give at most {MOST_OBSTACLES}: draw one circle round several",
            )

    def _hold_numbers(self) -> None:
        object.__setattr__(self, "studs", require.whole(self.studs, MOST_STUDS, "studs", 0))
        object.__setattr__(self, "planes", require.whole(self.planes, MOST_PLANES, "gear planes", LEAST_PLANES))
        for name in ("smallest", "largest"):
            limits = {place: _limit(limit, what) for place, what, limit in _by_place(self, name)}
            object.__setattr__(self, name, limits)

    def _hold_lengths(self) -> None:
        if self.shaft_distance_mm is not None:
            _hold_span(self, "shaft_distance_mm", least=0)
            require.above_zero({"shaft_distance_mm": self.shaft_distance_mm[0]})
        _hold_span(self, "reach_mm", least=0)
        _hold_span(self, "swing_deg", least=-180, most=180)
        _hold(self, require.not_below_zero, "clearance_mm")
        nuts = {what: nut for _, what, nut in _by_place(self, "nut_radius_mm")}
        radii = require.not_below_zero(nuts, given=True)
        object.__setattr__(self, "nut_radius_mm", dict(zip(self.nut_radius_mm, radii, strict=True)))

    @property
    def takes(self) -> int:
        """How many studs a train on it may have: on a plate no more than two are judged."""
        return min(self.studs, MOST_STUDS_ON_A_PLATE) if self.layout == "plate" else self.studs

    @property
    def same_both_ways(self) -> bool:
        """Whether what fits at a plus swing fits at the same minus swing too: equal limits, no casting to one side."""
        low, high = self.swing_deg
        return low == -high and all(block.y_mm == 0 for block in self.obstacles)


_WITHOUT = re.compile(r"\b(no|non|not|without|out|off)\b|disengag")  # a worm, in the name of a route
_FEW = 4  # a route of less than a quarter of the worm's ratio is hardly a slip of the pen for it
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

    def __post_init__(self) -> None:
        require.one_of(self.kind, KINDS_OF_MACHINE, "the kind of machine")
        _hold(self, require.above_zero, "lead_of_machine_mm")

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
    """The dividing head: crank turns for one turn of the work, and the index circles by plate side.

    Raises GearsearchError for a ratio that is not exact or not above zero, for no circle at all, and for one that has
    no whole number of holes, ``LEAST_HOLES`` to ``MOST_HOLES``.
    """

    ratio: Fraction
    plates: tuple[tuple[int, ...], ...]

    def __post_init__(self) -> None:
        _hold(self, require.above_zero, "ratio")
        plates = tuple(tuple(map(_holes, plate)) for plate in self.plates)
        if not any(plates):
            raise GearsearchError("a dividing head without an index circle cannot divide", "give at least one circle")
        object.__setattr__(self, "plates", plates)

    @property
    def circles(self) -> tuple[int, ...]:
        """Every circle there is, ascending, each once."""
        return tuple(sorted({holes for plate in self.plates for holes in plate}))


def _holes(count: object) -> int:
    return require.whole(count, MOST_HOLES, "holes in a circle", LEAST_HOLES)


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
        require.instance(self.machine, Machine, "machine of a shop", "make it with Machine(kind, …)", given=True)
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

    def may_mount(self, route: Route, pairs: int, hand: str) -> bool:
        """Whether any train of so many pairs could mount: whether the quadrant takes the fewest studs that it needs.

        Parameters
        ----------
        route, pairs, hand : as in ``Route.fewest_studs``, whose errors are raised; without geometry any may
        """
        studs = route.fewest_studs(pairs, hand)
        return not self.has_geometry or self.quadrant is None or studs <= self.quadrant.takes

    def through_worm(self, route: Route) -> bool | None:
        """Whether a route of a mill goes through the head's worm, not straight to its spindle; None: it cannot be told.

        The route's name may say so (``worm``, or ``spindle``, ``direct``, ``no worm``, ``worm out``), and its ratio
        where that is the head's own, or 1; where these say nothing, or one thing and the other, it cannot be told.
        """
        name = route.name.lower()
        own = self.dividing is not None and route.ratio == self.dividing.ratio
        without = "worm" in name and _WITHOUT.search(name) is not None
        worm = own or ("worm" in name and not without)
        spindle = without or "spindle" in name or "direct" in name or route.ratio == 1
        return None if worm == spindle else worm

    def by_teeth(self, route: Route) -> bool:
        """Whether starts are indexed by the teeth of the last gear: a mill's route goes to the spindle without worm."""
        return self.machine.kind == "mill" and (route.ratio == 1 or self.through_worm(route) is False)

    def ratio_doubt(self, route: Route) -> str:
        """That a route through the worm, or what may be one, has another ratio than the dividing head; else empty.

        No doubt where any route has the head's own ratio, nor of a route of few turns that is not said to have the worm
        in it: other gears lead to the spindle there.
        """
        head = self.dividing
        if head is None or self.machine.kind != "mill" or head.ratio in {each.ratio for each in self.machine.routes}:
            return ""
        through = self.through_worm(route)
        if through is False or (through is None and route.ratio * _FEW < head.ratio):
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
