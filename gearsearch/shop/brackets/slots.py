"""A bracket with slots anywhere: straight or curved, through the pivot or not, one or several."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from math import atan2, hypot, pi

from ...base import require
from ...base.errors import GearsearchError
from .. import fields
from ..bracket import Bracket
from ..fields import Reader, Table

Point = tuple[Fraction, Fraction]

MOST_SLOTS = 4
OFF_CIRCLE_MM = 1  # by how much the ends of an arc may differ in distance from its centre: what a rule can tell
_ORIGIN: Point = (Fraction(0), Fraction(0))


@dataclass(frozen=True, slots=True)
class SlotLine:
    """The line that a stud's centre can stand on in one slot, in the bracket's own frame: the pivot at the origin.

    Parameters
    ----------
    start_mm, end_mm : (x, y) of its two ends [mm]
    studs : how many studs it takes
    centre_mm : of a curved slot the centre of its circle; it goes from start to end counter-clockwise. None: straight

    Raises GearsearchError for a slot of no length, for no stud, for numbers that are not exact, and for an arc whose
    ends differ by more than ``OFF_CIRCLE_MM`` in their distance from its centre.
    """

    start_mm: Point
    end_mm: Point
    studs: int
    centre_mm: Point | None = None

    def __post_init__(self) -> None:
        for name in ("start_mm", "end_mm", "centre_mm"):
            point = getattr(self, name)
            if point is not None:
                exact = require.exact({f"x of {name}": point[0], f"y of {name}": point[1]}, given=True)
                object.__setattr__(self, name, exact)
        object.__setattr__(self, "studs", require.whole(self.studs, Slots.most_in_file, "studs in a slot"))
        if self.start_mm == self.end_mm:
            raise GearsearchError(
                "a slot whose two ends are one point has no length", "give the centre of a stud at each"
            )
        if self.centre_mm is not None:
            near, far = self.radii_mm
            if not near or not far or abs(near - far) > OFF_CIRCLE_MM:
                raise GearsearchError(
                    f"the ends of the arc stand {near:.2f} mm and {far:.2f} mm from its centre",
                    f"measure again: the two may differ by {OFF_CIRCLE_MM} mm at most",
                )

    @property
    def radii_mm(self) -> tuple[float, float]:
        """How far the two ends of an arc are from its centre."""
        assert self.centre_mm is not None
        x, y = map(float, self.centre_mm)
        return hypot(self.start_mm[0] - x, self.start_mm[1] - y), hypot(self.end_mm[0] - x, self.end_mm[1] - y)

    @property
    def radial(self) -> bool:
        """Whether it is straight and points at the pivot, which lies beyond one of its ends."""
        (x0, y0), (x1, y1) = self.start_mm, self.end_mm
        return self.centre_mm is None and x0 * y1 == y0 * x1 and x0 * x1 + y0 * y1 >= 0

    @property
    def nearest_mm(self) -> float:
        """How near to the pivot it comes."""
        (x0, y0), (x1, y1) = (tuple(map(float, end)) for end in (self.start_mm, self.end_mm))
        ends = min(hypot(x0, y0), hypot(x1, y1))
        if self.centre_mm is None:
            along = -(x0 * (x1 - x0) + y0 * (y1 - y0)) / ((x1 - x0) ** 2 + (y1 - y0) ** 2)
            return abs(x0 * y1 - y0 * x1) / hypot(x1 - x0, y1 - y0) if 0 < along < 1 else ends
        x, y = map(float, self.centre_mm)
        begin = atan2(y0 - y, x0 - x)
        turn, to_pivot = ((atan2(*at) - begin) % (2 * pi) for at in ((y1 - y, x1 - x), (-y, -x)))
        return abs(hypot(x, y) - sum(self.radii_mm) / 2) if to_pivot < turn else ends

    @property
    def farthest_mm(self) -> float:
        """How far from the pivot its farther end is; an arc may bulge beyond."""
        return max(hypot(*self.start_mm), hypot(*self.end_mm))


@dataclass(frozen=True, slots=True)
class Slots(Bracket):
    """Each slot takes some studs; all swing together.

    Parameters
    ----------
    lines : its slots; ``studs`` and ``reach_mm`` follow from them

    Raises GearsearchError for no slot or more than ``MOST_SLOTS``.
    """

    layout = "slots"
    keys = ("slot",)
    most_in_file = 3
    swings_whole = True
    holds = "slot"
    named_by_layout = False
    alike_mirrored = False

    lines: tuple[SlotLine, ...] = ()

    def __post_init__(self) -> None:
        if not 1 <= len(self.lines) <= MOST_SLOTS:
            raise GearsearchError(f"a bracket of {len(self.lines)} slots cannot be judged", f"give 1 to {MOST_SLOTS}")
        for line in self.lines:
            require.instance(line, SlotLine, "slot", "make it with SlotLine(start_mm, end_mm, studs)", given=True)
        near, far = min(line.nearest_mm for line in self.lines), max(line.farthest_mm for line in self.lines)
        object.__setattr__(self, "studs", sum(line.studs for line in self.lines))
        object.__setattr__(self, "reach_mm", (Fraction(round(near * 1000), 1000), Fraction(round(far * 1000), 1000)))
        Bracket.__post_init__(self)

    @property
    def called(self) -> str:
        """What it is, in words."""
        curved = sum(line.centre_mm is not None for line in self.lines)
        slots = "1 slot" if len(self.lines) == 1 else f"{len(self.lines)} slots"
        return f"bracket with {slots}{f' ({curved} curved)' if curved else ''}"

    @classmethod
    def read(cls, table: Table, unit: str) -> Slots:
        """The bracket as the ``[[quadrant.slot]]`` tables have it; ``unit`` is that of a bare length."""
        for key in ("layout", "studs", "reach"):
            if key in table:
                table.note(key, "the [[quadrant.slot]] tables say this already; take this line out")
        values = table.values["slot"]
        tables = values if isinstance(values, list) else []
        if not tables or not all(isinstance(value, dict) for value in tables):
            table.note("slot", "write [[quadrant.slot]] with double brackets, a table for each slot")
            return cls(lines=(_ANY,))
        if len(tables) > MOST_SLOTS:
            table.note("slot", f"{len(tables)} of them; at most {MOST_SLOTS} are judged")
        lines = [_line(table, number, value, unit) for number, value in enumerate(tables[:MOST_SLOTS], 1)]
        studs = sum(line.studs for line in lines)
        if studs > cls.most_in_file:
            table.note("slot", f"the slots take {studs} studs together; at most {cls.most_in_file} are judged")
        return cls(lines=tuple(lines))


_ANY = SlotLine(_ORIGIN, (Fraction(1), Fraction(0)), 1)  # stands for a slot that cannot be read


def _line(quadrant: Table, number: int, value: object, unit: str) -> SlotLine:
    place = f"[[{quadrant.place.strip('[]')}.slot]] no. {number}"
    table = Table(value, place, quadrant.problems, ("from", "to", "centre", "studs"))
    point = _point(unit)
    start, end = table.need("from", point, _ANY.start_mm), table.need("to", point, _ANY.end_mm)
    studs = table.need("studs", fields.whole(1, Slots.most_in_file), 1)
    centre = table.get("centre", point, None)
    if not table.sound:
        return _ANY
    try:
        return SlotLine(start, end, studs, centre)
    except GearsearchError as error:
        table.note("from, to" if centre is None else "centre", f"{error.message}; {error.remedy}")
        return _ANY


def _point(unit: str) -> Reader[Point]:
    pair = fields.two(fields.length(unit, "-5000 mm", "5000 mm", '["40 mm", "0 mm"]'))
    return Reader('x and y from the pivot, lengths from -5000 mm to 5000 mm, as in ["40 mm", "0 mm"]', pair.parse)
