"""Spacing the work with the dividing head: index circles, angles, combined movements; exact, or how far off.

The crank is turned whole turns and some holes of one circle. With the ratio V of the head (crank turns for one
turn of the work), N divisions need V / N crank turns each, and an angle of a degrees needs V a / 360.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from itertools import combinations

from ..base import require
from ..base.errors import GearsearchError
from ..base.units import format_angle, significant, text_of_angle
from ..shop.head import Dividing
from ..shop.shop import Shop

MOST_DIVISIONS = 100_000
MOST_REPEATS = 100_000
MOST_WAYS = 1000


@dataclass(frozen=True, slots=True)
class Movement:
    """Turns of the crank and holes of one circle.

    Parameters
    ----------
    turns : whole turns of the crank
    holes : spaces moved on beyond them, below ``circle``
    circle : holes in the circle; 0 for whole turns alone, where any circle serves
    """

    turns: int
    holes: int = 0
    circle: int = 0

    @property
    def crank_turns(self) -> Fraction:
        """Turns of the crank, exact."""
        return Fraction(self.turns) + (Fraction(self.holes, self.circle) if self.circle else 0)

    @property
    def sector(self) -> int:
        """Holes the sector arms span, the one the pin stands in counted too; 0 where no hole is counted."""
        return self.holes + 1 if self.holes else 0

    @property
    def order(self) -> tuple[int, int]:
        """Handiest first: the fewest holes to span, then the circle of most holes."""
        return self.holes, -self.circle

    @property
    def on_its_circle(self) -> str:
        """The movement in words where the circle is known from elsewhere."""
        turns = f"{self.turns} turn{'' if self.turns == 1 else 's'}" if self.turns or not self.holes else ""
        holes = f"{self.holes} hole{'' if self.holes == 1 else 's'}" if self.holes else ""
        return " and ".join(part for part in (turns, holes) if part)

    def __str__(self) -> str:
        return f"{self.on_its_circle} of the {self.circle} circle" if self.holes else self.on_its_circle


@dataclass(frozen=True, slots=True)
class Combined:
    """Two movements on two circles of one plate side, the second in the other direction where ``back`` is true."""

    first: Movement
    second: Movement
    back: bool

    @property
    def crank_turns(self) -> Fraction:
        """Turns of the crank against the head, both movements together, exact."""
        second = self.second.crank_turns
        return self.first.crank_turns + (-second if self.back else second)

    def __str__(self) -> str:
        way = "back" if self.back else "on"
        return f"{self.first}, then {self.second} {way} with the plate"


Step = Movement | Combined


@dataclass(frozen=True, slots=True)
class Spacing:
    """One way of spacing the work, and how far off it is.

    Parameters
    ----------
    step : what to do with the crank for one space
    wanted : crank turns that one space needs, exact
    degrees_a_turn : degrees of the work for one crank turn
    repeats : how many spaces are cut, over which the error builds up
    """

    step: Step
    wanted: Fraction
    degrees_a_turn: Fraction
    repeats: int

    @property
    def exact(self) -> bool:
        """Whether the space is exact."""
        return self.step.crank_turns == self.wanted

    @property
    def error_deg(self) -> Fraction:
        """Error of one space [degrees], exact; plus is too far."""
        return (self.step.crank_turns - self.wanted) * self.degrees_a_turn

    @property
    def built_up_deg(self) -> Fraction:
        """Error after all spaces [degrees], exact."""
        return self.error_deg * self.repeats


def head_of(shop: Shop) -> Dividing:
    """The shop's dividing head. Raises GearsearchError where the shop file has none."""
    if shop.dividing is None:
        raise GearsearchError(f"{shop.name} has no dividing head", "add a [dividing] table to the shop file")
    return shop.dividing


def crank_turns(head: Dividing, divisions: int) -> Fraction:
    """Crank turns for one of N divisions, exact.

    Raises GearsearchError for what is not a whole number, and outside 1 to 100 000 divisions.
    """
    return head.ratio / require.whole(divisions, MOST_DIVISIONS, "divisions")


def crank_turns_of_angle(head: Dividing, angle_deg: Fraction) -> Fraction:
    """Crank turns for an angle of the work [degrees], exact.

    Raises GearsearchError outside 0° to 360°, and for what is neither int nor Fraction.
    """
    (angle_deg,) = require.exact({"angle": angle_deg}, given=True)
    if not 0 < angle_deg <= 360:
        raise GearsearchError(
            f"a space of {text_of_angle(angle_deg)} cannot be set off on the work",
            "give an angle above 0° and up to 360°",
        )
    return head.ratio * angle_deg / 360


def exact_movements(head: Dividing, turns: Fraction) -> list[Movement]:
    """Every movement on one circle that is exactly so many crank turns, the handiest first.

    Handiest: the fewest holes to span between the sector arms, so the fewest to miscount. A larger circle divides
    an error of its holes' places finer; take it where the work asks for that. Common practice, no source.
    """
    whole, part = divmod(turns, 1)
    if part == 0:
        return [Movement(int(whole))]
    found = [
        Movement(int(whole), int(part * circle), circle) for circle in head.circles if (part * circle).denominator == 1
    ]
    return sorted(found, key=lambda movement: movement.order)


def nearest_movements(head: Dividing, turns: Fraction) -> list[Movement]:
    """For each circle the movement nearest to so many crank turns, nearest first, then the handiest.

    A movement of nothing is no movement; it is left out.
    """
    found = []
    for circle in head.circles:
        holes = max(1, round(turns * circle))
        whole, rest = divmod(holes, circle)
        found.append(Movement(whole, rest, circle) if rest else Movement(whole))
    return sorted(set(found), key=lambda movement: (abs(movement.crank_turns - turns), movement.order))


def combined_movements(head: Dividing, turns: Fraction) -> Iterator[Combined]:
    """For each two circles of one plate side, and either direction of the second, the combination nearest.

    The crank moves on one circle, then crank and plate together on the other, held by the back pin: so both
    circles must be on one side of one plate. From memory; common practice.
    """
    for side in head.plates:
        for a, b in combinations(sorted(side), 2):
            for first, second in ((a, b), (b, a)):
                yield from _combined(turns, first, second)


def _combined(turns: Fraction, first: int, second: int) -> Iterator[Combined]:
    """The nearest sum and the nearest difference of two circles, of the fewest holes on the second."""
    for back in (False, True):
        best: tuple[Fraction, int, Combined] | None = None
        for holes in range(1, second):
            rest = turns + Fraction(holes, second) if back else turns - Fraction(holes, second)
            count = round(rest * first)
            if count < 1 or count % first == 0:
                continue
            step = Combined(Movement(*divmod(count, first), first), Movement(0, holes, second), back)
            key = abs(step.crank_turns - turns), holes
            if best is None or key < best[:2]:
                best = *key, step
        if best is not None:
            yield best[2]


def spacings(head: Dividing, turns: Fraction, repeats: int, count: int = 5) -> list[Spacing]:
    """Ways of spacing by plain indexing: the exact ones, the handiest first, else the nearest on one circle.

    Parameters
    ----------
    head : the dividing head
    turns : crank turns that one space needs
    repeats : how many spaces are cut
    count : how many ways

    Raises GearsearchError for repeats outside 1 to 100 000, a count outside 1 to 1000, and turns that are no exact
    number above zero.
    """
    (turns,) = require.above_zero({"turns of the crank": turns}, given=True)
    repeats = require.whole(repeats, MOST_REPEATS, "repeats")
    count = require.whole(count, MOST_WAYS, "ways")
    steps = exact_movements(head, turns) or nearest_movements(head, turns)
    return [Spacing(step, turns, 360 / head.ratio, repeats) for step in steps[:count]]


def nearest_combined(head: Dividing, turns: Fraction, repeats: int) -> Spacing | None:
    """The nearest combined movement, of the fewest holes; None where no plate side has two circles."""
    best = min(
        combined_movements(head, turns),
        key=lambda step: (
            abs(step.crank_turns - turns),
            step.first.holes + step.second.holes,
            step.first.circle,
            step.second.circle,
            step.back,
        ),
        default=None,
    )
    return None if best is None else Spacing(best, turns, 360 / head.ratio, repeats)


def error_words(error_deg: Fraction, repeats: int) -> str:
    """How far off a space is, in words, and what that comes to after the repeats; never zero unless it is."""
    if error_deg == 0:
        return "exact"
    side = "too far" if error_deg > 0 else "too short"
    once = f"{significant(abs(error_deg) * 60, 3)}′ {side}"
    return once if repeats == 1 else f"{once} each time, {format_angle(abs(error_deg) * repeats)} after {repeats}"
