"""The dividing head: its ratio and its index circles."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from ..base import require
from ..base.errors import GearsearchError
from ..base.units import shown

LEAST_HOLES, MOST_HOLES = 2, 1000  # of an index circle


@dataclass(frozen=True, slots=True)
class Dividing:
    """The dividing head: crank turns for one turn of the work, and the index circles by plate side.

    ``differential`` says whether the plate can be turned by gears from the spindle.

    Raises GearsearchError for a ratio that is not exact or not above zero, for no circle at all, and for one that has
    no whole number of holes, ``LEAST_HOLES`` to ``MOST_HOLES``.
    """

    ratio: Fraction
    plates: tuple[tuple[int, ...], ...]
    differential: bool = True

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

    @property
    def circles(self) -> tuple[int, ...]:
        """Every circle there is, ascending, each once."""
        return tuple(sorted({holes for plate in self.plates for holes in plate}))


def _holes(count: object) -> int:
    return require.whole(count, MOST_HOLES, "holes in a circle", LEAST_HOLES)
