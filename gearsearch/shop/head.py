"""The dividing head: its ratio and its index circles."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from ..base import require
from ..base.errors import GearsearchError
from ..base.units import shown
from .quadrant import Quadrant

LEAST_HOLES, MOST_HOLES = 2, 1000  # of an index circle


@dataclass(frozen=True, slots=True)
class Dividing:
    """The dividing head: crank turns for one turn of the work, and the index circles by plate side.

    ``differential`` says whether the plate can be turned by gears from the spindle; ``quadrant`` is the bracket between
    spindle (its first shaft) and plate (its last), None where that is not measured.

    Raises GearsearchError for a ratio that is not exact or not above zero, for no circle at all, and for one that has
    no whole number of holes, ``LEAST_HOLES`` to ``MOST_HOLES``.
    """

    ratio: Fraction
    plates: tuple[tuple[int, ...], ...]
    differential: bool = True
    quadrant: Quadrant | None = None

    def __post_init__(self) -> None:
        require.keep(self, require.above_zero, "ratio")
        plates = tuple(tuple(map(_holes, plate)) for plate in self.plates)
        if not any(plates):
            raise GearsearchError("a dividing head without an index circle cannot divide", "give at least one circle")
        object.__setattr__(self, "plates", plates)
        if not isinstance(self.differential, bool):
            raise GearsearchError(
                f"whether a head can be geared differentially cannot be {shown(self.differential)}",
                "give True or False",
            )
        require.instance(self.quadrant, Quadrant, "quadrant of a dividing head", "give a Quadrant(…), or None for none")

    @property
    def has_geometry(self) -> bool:
        """Whether differential trains are tried on a measured bracket; else only the rule of thumb is left."""
        return self.quadrant is not None and self.quadrant.shaft_distance_mm is not None

    @property
    def circles(self) -> tuple[int, ...]:
        """Every circle there is, ascending, each once."""
        return tuple(sorted({holes for plate in self.plates for holes in plate}))


def _holes(count: object) -> int:
    return require.whole(count, MOST_HOLES, "holes in a circle", LEAST_HOLES)
