"""What a shop file comes to: leads of the machine, trains the gears make, leads they reach, and what to look at."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import asdict, dataclass
from fractions import Fraction

from ..base.document import Block, Document, Item
from ..base.facts import Column, Note, Record, Table
from ..base.showing import Pictured
from ..base.units import OTHER_UNIT, format_both, format_length, format_ppm, spaced
from .counting import count_trains, shortest_and_longest
from .gear_tables import plain
from .gears import PLACES, GearSet
from .machine import Route
from .pool import pool_of
from .quadrant import Quadrant
from .shop import Shop
from .trains import MOST_PAIRS

KEYS = (
    *("route", "lever", "lead_of_machine_mm", "lead_of_machine_exact", "hand_with_one_stud", "pairs", "trains"),
    *("shortest_mm", "shortest_exact", "longest_mm", "longest_exact"),
)
_INCH_PRIME = 127  # 1 in = 127/5 mm: what a gear must divide out to cross between inch and metric exactly


@dataclass(frozen=True, slots=True)
class Reach:
    """What trains of so many pairs give on one route.

    Parameters
    ----------
    route : the route
    pairs : pairs of gears in the train
    trains : how many trains there are, whether they mount or not
    leads_mm : shortest and longest lead [mm]; None where there is no train
    """

    route: Route
    pairs: int
    trains: int
    leads_mm: tuple[Fraction, Fraction] | None


@dataclass(frozen=True, slots=True, repr=False)
class Overview(Pictured):
    """A shop with everything derived from it.

    Parameters
    ----------
    shop : the shop
    reaches : for every route, trains of 1 to 4 pairs
    notes : how the figures are to be taken
    warnings : what is missing or of no use in the shop file
    """

    shop: Shop
    reaches: tuple[Reach, ...]
    notes: tuple[Note, ...]
    warnings: tuple[Note, ...]

    keys = KEYS

    def rows(self) -> Iterator[Record]:
        """One row for each route and number of pairs, for programs."""
        for reach in self.reaches:
            yield {
                "route": reach.route.name,
                "lever": reach.route.lever or None,
                **_route_record(self, reach.route),
                **_reach_record(reach),
            }

    def record(self) -> Record:
        """The overview for programs; the keys are stable."""
        shop = self.shop
        return {
            "name": shop.name,
            "demo": shop.is_demo,
            "source": shop.source,
            "units": shop.units,
            "machine": {
                "kind": shop.machine.kind,
                "screw_lead_mm": float(shop.machine.screw_lead_mm),
                "screw_lead_exact": str(shop.machine.screw_lead_mm),
                "screw_accuracy_ppm": _float(shop.machine.screw_accuracy, 1_000_000),
                "backlash_mm": _float(shop.machine.backlash_mm),
                "dial": shop.machine.dial and asdict(shop.machine.dial),
            },
            "gears": [_gear_record(gears) for gears in shop.gears],
            "routes": [_route_record(self, route) for route in shop.machine.routes],
            "quadrant": shop.has_geometry,
            "notes": [note.record() for note in self.notes],
            "warnings": [note.record() for note in self.warnings],
        }

    def table(self) -> Table:
        """What trains of so many pairs reach."""
        return Table.of(_REACH, [(reach, self.shop) for reach in self.reaches])

    def document(self) -> Document:
        """The overview for people."""
        shop = self.shop
        routes = Table.of(_ROUTE, [(shop, route) for route in shop.machine.routes])
        blocks = (
            Block(lines=tuple(line for gears in shop.gears for line in _gear_lines(shop, gears))),
            Block(table=routes),
            Block(table=self.table()),
            Block(lines=tuple(note.text for note in self.notes)),
        )
        title = "warnings:" if self.warnings else "warnings: none"
        warned = Block(title, items=tuple(Item(note.text) for note in self.warnings))
        lines = (_machine_line(shop), _quadrant_line(shop.quadrant, shop.units))
        return Document(shop.heading, lines, blocks=(*blocks, warned))


def overview(shop: Shop) -> Overview:
    """Everything that follows from a shop file, without a search."""
    counts = {pairs: count_trains(pool_of(shop), pairs) for pairs in range(1, MOST_PAIRS + 1)}
    reaches = tuple(
        Reach(route, pairs, trains, shortest_and_longest(shop, route, pairs) if trains else None)
        for route in shop.machine.routes
        for pairs, trains in counts.items()
    )
    return Overview(shop, reaches, tuple(_notes(shop)), tuple(_warnings(shop)))


def _notes(shop: Shop) -> Iterator[Note]:
    yield Note(
        "not-judged",
        "trains and leads are counted from the gears alone; whether a train mounts is judged by the search",
    )
    yield from _short_of_studs(shop)
    if any(gears.joined for gears in shop.gears):
        yield Note("joined-as-loose", "the two gears of a joined piece are counted here as if they were loose")


def _warnings(shop: Shop) -> list[Note]:
    return [
        *(_no_hand(route) for route in shop.machine.routes if route.hand_with_one_stud is None),
        *two_ratios(shop, *shop.machine.routes),
        *_crossing(shop),
        *(_alone(gears) for gears in shop.gears if gears.available().total() == 1),
        *_misfits(shop),
        *_unmeasured(shop),
    ]


def _hand(route: Route) -> str:
    known = route.hand_with_one_stud or "not yet found"
    return "either, by a lever" if known == "either" else known


def _no_hand(route: Route) -> Note:
    return Note(
        "hand-not-known",
        f"route {route.label}: the hand is not yet found, so no answer can say right or left; put on any train with "
        "one stud, turn by hand, and write hand_with_one_stud",
    )


def _crossing(shop: Shop) -> list[Note]:
    """A box without 127 in it cannot cross between inch and metric."""
    if any(teeth % _INCH_PRIME == 0 for gears in shop.gears for teeth in gears.available()):
        return []
    inch = shop.machine.screw_lead_mm.numerator % _INCH_PRIME == 0
    screw, other = ("an inch", "millimetres") if inch else ("a metric", "inches")
    text = f"there is no gear of {_INCH_PRIME} teeth: with {screw} screw no lead in round {other} can be exact"
    return [Note("no-crossing", text)]


def _alone(gears: GearSet) -> Note:
    (teeth,) = gears.available()
    return Note("alone", f"the {teeth} is the only gear of {gears.kind.label}: it can mesh with nothing")


def _misfits(shop: Shop) -> list[Note]:
    return [
        Note("goes-nowhere", f"the {teeth} of {gears.kind.label} fits nowhere: look at only_on, smallest and largest")
        for gears in shop.gears
        for teeth in sorted(gears.available())
        if not any(shop.allows(gears.kind.tag, teeth, place) for place in PLACES)
    ]


def not_held(shop: Shop, gears: GearSet) -> list[int]:
    """The tooth counts that no place on the quadrant has room for: at each of them a gear strikes the next nut.

    Only what a rule shows is told: that the others mount in some train is left to the search.
    """
    return [teeth for teeth in sorted(gears.available()) if not any(_has_room(shop, gears, teeth))]


def _has_room(shop: Shop, gears: GearSet, teeth: int) -> Iterator[bool]:
    """For each place of a gear, whether its tips would clear the nut of the nearest shaft as far off as may be."""
    quadrant, tag = shop.quadrant, gears.kind.tag
    if quadrant is None or quadrant.shaft_distance_mm is None:
        yield True
        return
    needed = gears.kind.outside_diameter_mm(teeth) / 2 + quadrant.clearance_mm
    for place, other in (("first", "last"), ("last", "first")):
        room = quadrant.shaft_distance_mm[1] - quadrant.nut_radius_mm.get(other, 0)
        yield shop.allows(tag, teeth, place) and needed <= room
    room = quadrant.bracket.reach_mm[1] - quadrant.nut_radius_mm.get(quadrant.pivot, 0)
    yield quadrant.bracket.takes > 0 and shop.allows(tag, teeth, "stud") and needed <= room


def _short_of_studs(shop: Shop) -> Iterator[Note]:
    """Which numbers of pairs have no train on the quadrant, for want of studs."""
    if shop.has_geometry and shop.quadrant is not None:
        most = shop.quadrant.bracket.takes + 1
        for pairs in range(most + 1, MOST_PAIRS + 1):
            why = f"it needs {pairs - 1} studs and the quadrant takes {most - 1}"
            yield Note("few-studs", f"no train of {pairs} pairs goes on the quadrant: {why}")


def _unmeasured(shop: Shop) -> Iterator[Note]:
    if not shop.has_geometry:
        yield Note(
            "no-quadrant",
            "the quadrant is not measured: whether a train mounts is judged by the rule of thumb only; "
            "gearsearch shop measure says what to measure",
        )
    if shop.machine.screw_accuracy is None:
        yield Note("no-accuracy", "screw_accuracy is not given: no answer can say where a smaller error gains nothing")
    if shop.dividing is None and shop.machine.has_head:
        yield Note("no-dividing", "there is no [dividing] table: gearsearch divide cannot be used")


def machine_lines(shop: Shop, *routes: Route) -> Iterator[str]:
    """The lead of the machine by each route, in words; all positions of a lever in one line."""
    for name in dict.fromkeys(route.name for route in routes):
        ways = [route for route in routes if route.name == name]
        leads = [format_both(shop.drive(way).lead_of_machine_mm, shop.units) for way in ways]
        if len(ways) == 1:
            yield f"route {ways[0].label}: lead of the machine {leads[0]}"
        else:
            by_lever = ", ".join(f"{way.lever} {lead}" for way, lead in zip(ways, leads, strict=True))
            yield f"route {name}: lead of the machine by lever: {by_lever}"


def two_ratios(shop: Shop, *routes: Route) -> tuple[Note, ...]:
    """The doubt about the ratios of these routes, where there is one."""
    doubts = (shop.machine.ratio_doubt(route, shop.dividing) for route in routes)
    return tuple(Note("two-ratios", doubt) for doubt in doubts if doubt)


def _machine_line(shop: Shop) -> str:
    machine = shop.machine
    parts = [f"{machine.kind}: {machine.screw} {format_both(machine.screw_lead_mm, shop.units)} a turn"]
    if machine.screw_accuracy is not None:
        parts.append(f"accurate to {format_ppm(machine.screw_accuracy).lstrip('+')}")
    if machine.backlash_mm is not None:
        parts.append(f"backlash {format_both(machine.backlash_mm, shop.units)}")
    if machine.dial is not None:
        wheels = " or ".join(map(str, machine.dial.wheels))
        parts.append(f"chasing dial of {machine.dial.marks} marks on a wheel of {wheels} teeth")
    return ", ".join(parts)


def _quadrant_line(quadrant: Quadrant | None, unit: str) -> str:
    if quadrant is None or quadrant.shaft_distance_mm is None:
        return "quadrant: not measured"
    least, most = quadrant.shaft_distance_mm
    apart = format_both(least, unit) + (f" to {format_both(most, unit)}" if most > least else "")
    studs = "1 stud" if quadrant.bracket.takes == 1 else f"up to {quadrant.bracket.takes} studs"
    return (
        f"quadrant: {quadrant.bracket.called} swinging round the {quadrant.pivot} shaft, {studs}, shafts {apart} apart"
    )


def _gear_lines(shop: Shop, gears: GearSet) -> list[str]:
    tag = f", written @{gears.kind.tag}" if gears.kind.tag else ""
    count = gears.available().total()
    lines = [f"{count} {'gear' if count == 1 else 'gears'} of {gears.kind.label}{tag}"]
    if gears.teeth:
        lines.append(f"  loose: {' '.join(map(str, gears.teeth))}")
    if gears.joined:
        lines.append(f"  joined: {', '.join(f'{a} with {b}' for a, b in gears.joined)}")
    lines += [f"  fixed on the {place} shaft: {teeth}" for place, teeth in gears.fixed.items()]
    if held_not := not_held(shop, gears):
        lines.append(f"  too large for the quadrant, wherever they go: {' '.join(map(str, held_not))}")
    for teeth, places in sorted(gears.only_on.items()):
        lines.append(f"  the {teeth} only on: {', '.join(place for place in PLACES if place in places)}")
    return lines


def _gear_record(gears: GearSet) -> Record:
    return {
        "kind": gears.kind.label,
        "tag": gears.kind.tag,
        "module_mm": float(gears.kind.module_mm),
        "pressure_angle_deg": float(gears.kind.pressure_angle_deg),
        "count": gears.available().total(),
        "teeth": list(gears.teeth),
        "joined": [list(piece) for piece in gears.joined],
        "fixed": dict(gears.fixed),
        "only_on": {str(teeth): sorted(places) for teeth, places in sorted(gears.only_on.items())},
    }


def _route_record(view: Overview, route: Route) -> Record:
    lead = view.shop.drive(route).lead_of_machine_mm
    return {
        "name": route.name,
        "lever": route.lever or None,
        "ratio": float(route.ratio),
        "lead_of_machine_mm": float(lead),
        "lead_of_machine_exact": str(lead),
        "hand_with_one_stud": route.hand_with_one_stud,
        "step_up_warning": _float(route.step_up_warning),
        "trains": [_reach_record(reach) for reach in view.reaches if reach.route == route],
    }


def _reach_record(reach: Reach) -> Record:
    shortest, longest = reach.leads_mm or (None, None)
    return {
        "pairs": reach.pairs,
        "trains": reach.trains,
        "shortest_mm": _float(shortest),
        "shortest_exact": None if shortest is None else str(shortest),
        "longest_mm": _float(longest),
        "longest_exact": None if longest is None else str(longest),
    }


def _float(number: Fraction | None, times: int = 1) -> float | None:
    return None if number is None else float(number * times)


def _lead_of_machine(row: tuple[Shop, Route]) -> str:
    shop, route = row
    return format_both(shop.drive(route).lead_of_machine_mm, shop.units)


def _step_up(row: tuple[Shop, Route]) -> str:
    most = row[1].step_up_warning
    return "none" if most is None else f"above {plain(most)}"


_ROUTE: tuple[Column[tuple[Shop, Route]], ...] = (
    Column("", "route", cell=lambda row: row[1].label),
    Column("", "ratio", cell=lambda row: plain(row[1].ratio)),
    Column("", "lead of the machine", cell=_lead_of_machine),
    Column("", "hand with one stud", cell=lambda row: _hand(row[1])),
    Column("", "step-up warning", cell=_step_up, weight=2),
)
Reached = tuple[Reach, Shop]


def _end(place: int, *, own: bool) -> Callable[[Reached], str]:
    """A cell of the shortest or the longest lead, in the shop's own unit or in the other."""

    def cell(row: Reached) -> str:
        reach, unit = row[0], row[1].units
        shown = unit if own else OTHER_UNIT[unit]
        return "" if reach.leads_mm is None else format_length(reach.leads_mm[place], shown)

    return cell


def _on_the_quadrant(row: Reached) -> str:
    """That so many pairs need more studs than the quadrant takes; empty where they do not."""
    (reach, shop) = row
    short = shop.has_geometry and shop.quadrant is not None and reach.pairs - 1 > shop.quadrant.bracket.takes
    return f"no: {reach.pairs - 1} studs" if short else ""


_REACH: tuple[Column[Reached], ...] = (
    Column("", "route", cell=lambda row: row[0].route.label),
    Column("", "pairs", cell=lambda row: str(row[0].pairs), right=True),
    Column("", "trains", cell=lambda row: spaced(row[0].trains), right=True),
    Column("", "shortest lead", cell=_end(0, own=True), right=True),
    Column("", "or", cell=_end(0, own=False), weight=1, right=True),
    Column("", "longest lead", cell=_end(1, own=True), right=True),
    Column("", "or", cell=_end(1, own=False), weight=1, right=True),
    Column("", "quadrant", cell=_on_the_quadrant),
)
