"""What a quadrant carries its studs in; each kind of bracket is a class of its own."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import ClassVar, Self

from ..base import require
from ..base.errors import GearsearchError
from ..base.register import Register
from . import fields
from .fields import Reader, Table

MOST_STUDS = 8  # what the judge of mounting has room for


@dataclass(frozen=True, slots=True)
class Bracket:
    """Where studs can stand, seen from the pivot.

    Parameters
    ----------
    studs : how many studs it has, 0 to ``MOST_STUDS``; see ``takes``
    reach_mm : nearest and farthest a stud can stand from the pivot [mm]

    Raises GearsearchError for a bracket of no kind, and for numbers that are not exact or out of range.

    A kind is a module in ``brackets`` with a class that has the names below; its ``layout`` is what the shop file calls
    it, unless tables of its own say what it is. The judge of mounting takes one that ``swings_whole`` for a slot along
    the line from the pivot unless it has ``lines`` of its own, any other for a plate.
    """

    layout: ClassVar[str]
    keys: ClassVar[tuple[str, ...]] = ("studs", "reach")  # what the shop file says of it
    most_studs: ClassVar[int] = MOST_STUDS  # that a train on it is judged with
    most_in_file: ClassVar[int]  # studs that the shop file may give it
    swings_whole: ClassVar[bool]  # whether its studs keep their places in it, so that it swings with all of them
    holds: ClassVar[str]  # what of it a stud stands in
    named_by_layout: ClassVar[bool] = True  # whether the shop file names it by layout; else a table of its own is there
    alike_mirrored: ClassVar[bool] = True  # whether it holds studs alike on both sides of the line pivot → other shaft

    studs: int = 2
    reach_mm: tuple[Fraction, Fraction] = (Fraction(0), Fraction(10000))

    def __init_subclass__(cls) -> None:
        if "layout" in vars(cls):
            BRACKETS.enter(cls.layout, cls)

    def __new__(cls, *_: object, **__: object) -> Bracket:
        """Refuse what is no kind of bracket in a sentence."""
        if cls is Bracket:
            named = [kind.__name__ for kind in BRACKETS.values() if kind.named_by_layout]
            kinds = " or ".join(f"{name}(studs, reach_mm)" for name in named)
            raise GearsearchError("a bracket is always of some kind", f"make it with {kinds}")
        return object.__new__(cls)

    def __post_init__(self) -> None:
        object.__setattr__(self, "studs", require.whole(self.studs, MOST_STUDS, "studs", 0))
        require.keep_span(self, "reach_mm", least=0)

    @property
    def called(self) -> str:
        """What it is, in words."""
        return self.layout

    @property
    def takes(self) -> int:
        """How many studs a train on it may have."""
        return min(self.studs, self.most_studs)

    @classmethod
    def read(cls, table: Table, unit: str) -> Self:
        """The bracket as the table of the quadrant has it; ``unit`` is that of a bare length."""
        return cls(table.need("studs", cls.studs_in_file(table), 1), table.need("reach", _reach(unit), (_NONE, _NONE)))

    @classmethod
    def studs_in_file(cls, table: Table) -> Reader[int]:
        """How many studs the shop file may give it."""
        reader, layout = fields.whole(1, cls.most_in_file), table.values.get("layout")
        allowed = f"{reader.allowed} where the layout is {fields.shown(layout)}" if layout else reader.allowed
        return Reader(allowed, reader.parse)


BRACKETS: Register[type[Bracket]] = Register(f"{__package__}.brackets")
_NONE = Fraction(0)


def _reach(unit: str) -> Reader[tuple[Fraction, Fraction]]:
    pair = fields.two(fields.length(unit, "0 mm", "5000 mm", '["40 mm", "190 mm"]'), ascending=True)
    allowed = 'the nearest and the farthest, lengths from 0 mm to 5000 mm, as in reach = ["40 mm", "190 mm"]'
    return Reader(allowed, pair.parse)
