"""The gears a shop owns: kinds of tooth, loose gears, joined pieces, fixed gears, and where each may go."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from fractions import Fraction

from ..base import require
from ..base.errors import GearsearchError
from ..base.units import shown, text_of_angle

PLACES = ("first", "stud", "last")
ENDS = ("first", "last")  # the two shafts of the machine; a quadrant swings round one of them
LEAST_TEETH, MOST_TEETH = 4, 2000  # of a change gear
LEAST_PRESSURE_DEG, MOST_PRESSURE_DEG = 10, 30  # of a kind of tooth
MOST_PIECES = 16  # kinds of joined pieces: what the mounting's loops have room for


def by_place(thing: object, name: str, places: tuple[str, ...] = PLACES) -> Iterator[tuple[str, str, object]]:
    """Place, what its value is called, and the value, of a field that has one for some places."""
    for place, value in getattr(thing, name).items():
        require.one_of(place, places, f"the place in {name}")
        yield place, f"{name}, {place},", value


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
        require.keep(self, require.above_zero, "module_mm", "pressure_angle_deg")
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
        fixed = {place: _teeth(count) for place, _, count in by_place(self, "fixed", ENDS)}
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
