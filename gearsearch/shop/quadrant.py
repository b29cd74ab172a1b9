"""The quadrant: where its studs can stand, and what gears must clear."""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction

from ..base import require
from ..base.errors import GearsearchError
from ..base.require import is_whole
from .bracket import Bracket
from .brackets.slot import Slot
from .gears import ENDS, by_place

LEAST_PLANES, MOST_PLANES = 2, 3
MOST_OBSTACLES = 16
Limit = int | Fraction  # a whole number counts teeth, a Fraction is an outside diameter in mm


@dataclass(frozen=True, slots=True)
class Obstacle:
    """A casting in the way: a round of ``radius_mm`` at (x, y) [mm] from the pivot, x toward the other shaft."""

    x_mm: Fraction
    y_mm: Fraction
    radius_mm: Fraction

    def __post_init__(self) -> None:
        require.keep(self, require.exact, "x_mm", "y_mm")
        require.keep(self, require.above_zero, "radius_mm")


@dataclass(frozen=True, slots=True)
class Quadrant:
    """Where studs can stand and what gears must clear; lengths in mm, angles in degrees.

    Parameters
    ----------
    shaft_distance_mm : (least, greatest) distance of first and last shaft, equal when fixed; None when the file
        gives only ``smallest`` and ``largest``: then there is no geometry, only the rule of thumb
    pivot : the shaft it swings round, one of ``ENDS``
    bracket : what carries the studs
    swing_deg : least and greatest angle of the bracket (or of each stud) from the line pivot → other shaft, within ±180
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
    bracket: Bracket = field(default_factory=Slot)
    swing_deg: tuple[Fraction, Fraction] = (Fraction(-180), Fraction(180))
    planes: int = 2
    nut_radius_mm: dict[str, Fraction] = field(default_factory=dict)
    clearance_mm: Fraction = Fraction(1, 2)
    smallest: dict[str, Limit] = field(default_factory=dict)
    largest: dict[str, Limit] = field(default_factory=dict)
    obstacles: tuple[Obstacle, ...] = ()

    def __post_init__(self) -> None:
        require.one_of(self.pivot, ENDS, "the pivot")
        require.instance(self.bracket, Bracket, "bracket of a quadrant", "make it as Slot(studs, reach_mm)", given=True)
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
        object.__setattr__(self, "planes", require.whole(self.planes, MOST_PLANES, "gear planes", LEAST_PLANES))
        for name in ("smallest", "largest"):
            limits = {place: _limit(limit, what) for place, what, limit in by_place(self, name)}
            object.__setattr__(self, name, limits)

    def _hold_lengths(self) -> None:
        if self.shaft_distance_mm is not None:
            require.keep_span(self, "shaft_distance_mm", least=0)
            require.above_zero({"shaft_distance_mm": self.shaft_distance_mm[0]})
        require.keep_span(self, "swing_deg", least=-180, most=180)
        require.keep(self, require.not_below_zero, "clearance_mm")
        nuts = {what: nut for _, what, nut in by_place(self, "nut_radius_mm")}
        radii = require.not_below_zero(nuts, given=True)
        object.__setattr__(self, "nut_radius_mm", dict(zip(self.nut_radius_mm, radii, strict=True)))

    @property
    def same_both_ways(self) -> bool:
        """Whether what fits at a plus swing fits at the same minus swing too: equal limits, no casting to one side."""
        low, high = self.swing_deg
        return self.bracket.alike_mirrored and low == -high and all(block.y_mm == 0 for block in self.obstacles)


def _limit(size: object, what: str) -> Limit:
    """A limit on a gear as it is kept: a whole number stays one, for it counts teeth."""
    (limit,) = require.above_zero({what: size}, given=True)
    return int(limit) if is_whole(size) else limit
