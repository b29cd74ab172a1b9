"""Places of the work on one circle, each from the exact running total, so that rounding never builds up."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

from ..base.errors import GearsearchError
from ..base.units import decimals, text_of_angle
from ..shop.head import Dividing
from .indexing import Combined, Movement

MOST_PLACES = 10_000  # of a table


@dataclass(frozen=True, slots=True)
class Place:
    """Where the work stands after so many moves.

    Parameters
    ----------
    number : moves from the start; 0 at the start
    angle_deg : where it should stand, from the start [degrees], exact
    crank : turns and holes of one circle from the place before
    crank_total : the same from the start
    off_deg : how far the holes put it from where it should stand [degrees], exact
    """

    number: int
    angle_deg: Fraction
    crank: Movement
    crank_total: Movement
    off_deg: Fraction


@dataclass(frozen=True, slots=True)
class Cut(Place):
    """One line of a table of cuts, the first at the start.

    Parameters
    ----------
    name : ``1`` for the first; ``1 again`` where the work has gone round
    a_turn_deg : degrees of the work for a turn of the handwheel or crank, exact
    space_deg : from the cut before [degrees], exact; None where all spaces are equal, and for the first
    by_two : the movement of each cut where it takes two circles; ``crank`` and ``crank_total`` are of the first
    """

    name: str
    a_turn_deg: Fraction
    space_deg: Fraction | None = None
    by_two: Combined | None = None

    @property
    def back_pin(self) -> int | None:
        """The hole of the second circle that the back pin stands in, counted the way the plate is turned."""
        return None if self.by_two is None else self.number * self.by_two.second.holes % self.by_two.second.circle

    @property
    def dial(self) -> tuple[int, Fraction]:
        """The angle as a handwheel has it: whole turns, and what its dial reads [degrees], exact."""
        turns, rest = divmod(self.angle_deg, self.a_turn_deg)
        return int(turns), rest

    @property
    def dial_to_a_second(self) -> tuple[int, Fraction]:
        """The same to the nearest second; never as much as a whole turn."""
        turns, rest = self.dial
        seconds = Fraction(round(3600 * rest), 3600)
        return (turns + 1, Fraction(0)) if seconds >= self.a_turn_deg else (turns, seconds)


def cuts_of(head: Dividing, places: list[Place], *, equal: bool, by_two: Combined | None = None) -> list[Cut]:
    """The places as cuts: each with its name and with what the dial of a handwheel reads."""
    cuts = []
    for before, place in pairwise([places[0], *places]):
        again = place.number > 0 and place.angle_deg % 360 == 0
        space = None if equal or not place.number else place.angle_deg - before.angle_deg
        name = "1 again" if again else str(place.number + 1)
        made = place.number, place.angle_deg, place.crank, place.crank_total, place.off_deg
        cuts.append(Cut(*made, name, 360 / head.ratio, space, by_two))
    return cuts


def best_circle(head: Dividing, step_deg: Fraction, count: int) -> int:
    """The circle whose holes come nearest to so many equal steps: least greatest error, then the fewest holes.

    A circle on which the pin would stay in its hole is half a step off or more, so any other comes before it.
    """
    return min(head.circles, key=lambda circle: (_worst(head.ratio, step_deg, count, circle), circle))


def _worst(ratio: Fraction, step_deg: Fraction, count: int, circle: int) -> Fraction:
    """The greatest error of any step in turns of the crank, by whole numbers: 10 000 steps on 18 circles are many."""
    holes = ratio * step_deg / 360 * circle
    whole, rest = holes.denominator, holes.numerator % holes.denominator
    most = max(min(k * rest % whole, -k * rest % whole) for k in range(1, min(count, whole) + 1))
    return Fraction(most, whole * circle)


def spaces_a_step(head: Dividing, step_deg: Fraction, circle: int) -> Fraction:
    """How many spaces of a circle the crank moves for an angle of the work, exact."""
    return head.ratio * step_deg / 360 * circle


def equal_totals(head: Dividing, step_deg: Fraction, count: int, circle: int) -> list[int]:
    """Holes from the start after none, one … all of so many equal steps; half way between two goes to the even one."""
    spaces = spaces_a_step(head, step_deg, circle)
    return [round(spaces * number) for number in range(count + 1)]


def least_off_deg(head: Dividing, step_deg: Fraction, count: int) -> Fraction | None:
    """How far off a place of so many equal steps is at the most on the nearest circle [degrees].

    None where they are too many for a table, or the pin would stay in its hole.
    """
    if count > MOST_PLACES:
        return None
    circle = best_circle(head, step_deg, count)
    totals = equal_totals(head, step_deg, count, circle)
    stays = any(before == after for before, after in pairwise(totals))
    return None if stays else 360 / head.ratio * _worst(head.ratio, step_deg, count, circle)


def places_by_two(step: Combined, step_deg: Fraction, count: int) -> list[Place]:
    """The places of so many equal steps by two circles that are exact together; the crank's are of the first."""
    circle = step.first.circle
    holes = step.first.turns * circle + step.first.holes
    return [
        Place(
            number,
            step_deg * number,
            step.first if number else Movement(0, 0, circle),
            Movement(*divmod(number * holes, circle), circle),
            Fraction(0),
        )
        for number in range(count + 1)
    ]


def refuse_staying(head: Dividing, step_deg: Fraction, circle: int, totals: list[int], what: str) -> None:
    """Raise GearsearchError where the pin would stay in its hole."""
    stays = next((number for number, pair in enumerate(pairwise(totals), 1) if pair[0] == pair[1]), None)
    if stays is not None:
        raise GearsearchError(
            f"{what} {stays} would leave the pin in its hole: a {what} of {text_of_angle(step_deg)} is "
            f"{decimals(spaces_a_step(head, step_deg, circle), 3)} spaces of the {circle} circle",
            f"take larger {what}s, or a circle of more holes",
        )


def places_of(head: Dividing, circle: int, angles_deg: Iterable[Fraction], totals: list[int]) -> list[Place]:
    """The places of so many holes from the start, and how far each is off.

    Parameters
    ----------
    head : which turns the work
    circle : whose holes are counted
    angles_deg : where the work should stand [degrees], exact, the start first
    totals : holes from the start, none first
    """
    a_hole = 360 / head.ratio / circle
    moved = [0, *(after - before for before, after in pairwise(totals))]
    return [
        Place(
            number,
            angle,
            Movement(*divmod(move, circle), circle),
            Movement(*divmod(total, circle), circle),
            total * a_hole - angle,
        )
        for number, (angle, move, total) in enumerate(zip(angles_deg, moved, totals, strict=True))
    ]
