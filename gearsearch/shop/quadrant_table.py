"""The ``[quadrant]`` table of a shop file: where studs can stand, and what gears must clear."""

from __future__ import annotations

from fractions import Fraction

from . import fields
from .bracket import BRACKETS, Bracket
from .brackets.slots import Slots
from .fields import Reader, Table, Wrong, shown
from .gear_tables import TEETH
from .gears import ENDS, LEAST_TEETH, MOST_TEETH, PLACES
from .quadrant import (
    LEAST_PLANES,
    MOST_OBSTACLES,
    MOST_PLANES,
    Limit,
    Obstacle,
    Quadrant,
)

_GEOMETRY = (
    "shaft_distance",
    "pivot",
    "layout",
    *dict.fromkeys(key for kind in BRACKETS.values() for key in kind.keys),
    "swing",
    "planes",
    "nut_radius",
    "clearance",
    "obstacles",
)
KEYS = (*_GEOMETRY, "smallest", "largest")
_LAYOUTS = {name: kind for name, kind in BRACKETS.items() if kind.named_by_layout}
_MOST_LIKELY = max(_LAYOUTS.values(), key=lambda kind: kind.most_in_file)  # what is read on where the layout is wrong
_NONE, _ONE = Fraction(0), Fraction(1)
MOST_RANGE_MM = 500  # over which a head can be moved


def read_quadrant(table: Table, unit: str) -> Quadrant:
    """The quadrant as its table has it.

    Parameters
    ----------
    table : the table
    unit : unit of a bare length, ``mm`` or ``in``

    Without ``shaft_distance`` only ``smallest`` and ``largest`` may stand in it: no geometry can then be judged.
    """
    smallest, largest = _limits(table, "smallest", unit), _limits(table, "largest", unit)
    _check_limits(table, smallest, largest)
    if not any(key in table for key in _GEOMETRY):
        if table.sound and not smallest and not largest:
            table.note("", "this table is empty; fill it in, or leave it out: then only the rule of thumb is used")
        return Quadrant(None, smallest=smallest, largest=largest)
    quadrant = Quadrant(
        shaft_distance_mm=table.need("shaft_distance", _distance(unit), (_ONE, _ONE)),
        pivot=table.need("pivot", fields.choice(*ENDS), ENDS[0]),
        bracket=_bracket(table, unit),
        swing_deg=table.need("swing", fields.two(fields.angle(-180, 180), ascending=True), (_NONE, _NONE)),
        planes=table.get("planes", _planes(), 2),
        nut_radius_mm=_nuts(table, unit),
        clearance_mm=table.get("clearance", fields.length(unit, "0 mm", "20 mm", '"0.5 mm"'), Fraction(1, 2)),
        smallest=smallest,
        largest=largest,
        obstacles=_obstacles(table, unit),
    )
    if table.sound:
        _check_geometry(table, quadrant)
    return quadrant


def _bracket(table: Table, unit: str) -> Bracket:
    """What carries the studs: slots with tables of their own, else what the layout says."""
    for kind in BRACKETS.values():
        if not kind.named_by_layout and any(key in table for key in kind.keys):
            return kind.read(table, unit)
    return BRACKETS[table.need("layout", fields.choice(*_LAYOUTS), _MOST_LIKELY.layout)].read(table, unit)


def _distance(unit: str) -> Reader[tuple[Fraction, Fraction]]:
    """One length where the shafts stand fast, two where one of them can be moved."""
    one = fields.length(unit, "10 mm", "3000 mm", '"150 mm"')
    two = fields.two(one, ascending=True)

    def parse(value: object) -> tuple[Fraction, Fraction]:
        if isinstance(value, list):
            least, most = two.parse(value)
            if most - least > MOST_RANGE_MM:
                raise Wrong(f"{shown(value[0])} to {shown(value[1])} is more than {MOST_RANGE_MM} mm")
            return least, most
        fixed = one.parse(value)
        return fixed, fixed

    return Reader(f'{one.allowed}, or two where the head can be moved, as in ["140 mm", "170 mm"]', parse)


def _planes() -> Reader[int]:
    reader = fields.whole(LEAST_PLANES, MOST_PLANES)

    def parse(value: object) -> int:
        if value == 1 and not isinstance(value, bool):
            raise Wrong("1 takes no train of two pairs (for simple trains alone, write 2 and search with --pairs 1)")
        return reader.parse(value)

    return Reader("2 or 3", parse)


def _nuts(table: Table, unit: str) -> dict[str, Fraction]:
    radius = fields.length(unit, "1 mm", "300 mm", '{ first = "12 mm", last = "12 mm", stud = "10 mm" }')
    if "nut_radius" not in table:
        table.need("nut_radius", radius, _NONE)
        return {}
    inner = table.inner("nut_radius", PLACES)
    return {place: inner.need(place, radius, _NONE) for place in PLACES}


def _limits(table: Table, key: str, unit: str) -> dict[str, Limit]:
    inner = table.inner(key, PLACES)
    read = {place: inner.get(place, _limit(unit), None) for place in PLACES if place in inner}
    return {place: limit for place, limit in read.items() if limit is not None}


def _limit(unit: str) -> Reader[Limit]:
    """A tooth count, or an outside diameter; which of the two must be plain to see."""
    diameter = fields.length(unit, "1 mm", "3000 mm", '"120 mm"')

    def parse(value: object) -> Limit:
        if isinstance(value, int):
            return TEETH.parse(value)
        if not isinstance(value, str) or value.strip().replace(".", "").isdecimal():
            raise Wrong(f"{shown(value)} could be teeth or a length")
        return diameter.parse(value)

    return Reader(
        f"teeth as a whole number without quotes, from {LEAST_TEETH} to {MOST_TEETH}, "
        'or an outside diameter as in "120 mm"',
        parse,
    )


def _obstacles(table: Table, unit: str) -> tuple[Obstacle, ...]:
    values = table.values.get("obstacles", [])
    if not isinstance(values, list):
        table.note(
            "obstacles", f'{shown(values)} is not a list; allowed: [{{ at = ["80 mm", "-20 mm"], radius = "15 mm" }}]'
        )
        return ()
    if len(values) > MOST_OBSTACLES:
        table.note(
            "obstacles", f"{len(values)} of them; allowed: at most {MOST_OBSTACLES}, so draw one circle round several"
        )
    return tuple(_obstacle(table, n, value, unit) for n, value in enumerate(values, 1))[:MOST_OBSTACLES]


def _obstacle(table: Table, number: int, value: object, unit: str) -> Obstacle:
    inner = Table(value, f"{table.place}, obstacles no. {number}", table.problems, ("at", "radius"))
    place = fields.two(fields.length(unit, "-5000 mm", "5000 mm", '["80 mm", "-20 mm"]'))
    x, y = inner.need("at", place, (_NONE, _NONE))
    return Obstacle(x, y, inner.need("radius", fields.length(unit, "0.1 mm", "1000 mm", '"15 mm"'), _ONE))


def _check_limits(table: Table, smallest: dict[str, Limit], largest: dict[str, Limit]) -> None:
    for place in PLACES:
        least, most = smallest.get(place), largest.get(place)
        if least and most and isinstance(least, int) == isinstance(most, int) and least > most:
            given = [shown(table.values[key][place]) for key in ("smallest", "largest")]
            table.note(
                f"smallest, {place}",
                f"{given[0]} is more than largest, {place}, which is {given[1]}, so no gear could go there; "
                "give the smaller first",
            )


def _check_geometry(table: Table, quadrant: Quadrant) -> None:
    """What is possible key by key and yet contradicts another key."""
    assert quadrant.shaft_distance_mm is not None
    nuts = quadrant.nut_radius_mm
    if quadrant.shaft_distance_mm[0] <= nuts["first"] + nuts["last"]:
        given = table.values["shaft_distance"]
        given = given[0] if isinstance(given, list) else given
        table.note(
            "shaft_distance",
            f"{shown(given)} is not more than the nut radii of both shafts together; measure from centre to centre",
        )
    if isinstance(quadrant.bracket, Slots):
        _check_slots(table, quadrant.bracket, quadrant)
    elif quadrant.bracket.reach_mm[1] <= nuts[quadrant.pivot]:
        table.note(
            "reach",
            f"a stud so near would stand in the nut of the {quadrant.pivot} shaft, the pivot; measure from its centre",
        )
    for number, obstacle in enumerate(quadrant.obstacles, 1):
        shaft = _covered(obstacle, quadrant)
        if shaft:
            table.note(
                f"obstacles no. {number}",
                f"stands on the {shaft} shaft; measure at from the pivot, "
                "first toward the other shaft, then square to it",
            )


def _check_slots(table: Table, bracket: Slots, quadrant: Quadrant) -> None:
    nut, slots = quadrant.nut_radius_mm[quadrant.pivot], f"[[{table.place.strip('[]')}.slot]]"
    for number, line in enumerate(bracket.lines, 1):
        if line.nearest_mm <= nut:
            table.problems.append(
                f"{slots} no. {number}: a stud in it could stand {line.nearest_mm:.1f} mm from the pivot, in the nut "
                f"of the {quadrant.pivot} shaft; measure from the pivot's centre to the centre of a stud"
            )


def _covered(obstacle: Obstacle, quadrant: Quadrant) -> str | None:
    """The shaft whose nut lies inside or across the obstacle, wherever the other shaft is moved to."""
    assert quadrant.shaft_distance_mm is not None
    other = "last" if quadrant.pivot == "first" else "first"
    places = {quadrant.pivot: (_NONE,), other: quadrant.shaft_distance_mm}
    for shaft, positions in places.items():
        least = obstacle.radius_mm + quadrant.nut_radius_mm[shaft]
        # distance to a point that moves along a line is greatest at one of the line's ends
        if all((obstacle.x_mm - x) ** 2 + obstacle.y_mm**2 < least**2 for x in positions):
            return shaft
    return None
