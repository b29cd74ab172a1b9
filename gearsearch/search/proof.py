"""How a train's lead is proved by hand before the cut: the arithmetic, and moves that a table can make."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from math import prod

from ..base.document import plain, strong
from ..base.units import INCH_MM, decimal, format_angle, format_both, format_length, text_of_length
from ..shop.machine import Route
from ..shop.shop import Shop
from ..shop.trains import Train

MOST_TRAVEL_MM = Fraction(500)  # of a small mill's table, about
_ROUND_MM = {"mm": Fraction(100), "in": 4 * INCH_MM}  # a travel that is easily set
_ABOUT = Fraction(5, 4)
_HOLES = 100  # of an index circle, about
_WHOLE, _PARTS = (10, 5, 4, 3, 2), (2, 4, 5, 10, 20, 40, 100)


@dataclass(frozen=True, slots=True)
class Move:
    """A move to be made by hand with the train on, and measured.

    Parameters
    ----------
    turns : of the work, on a lathe of the spindle
    travel_mm : of the table, on a lathe of the carriage [mm]
    screw_turns : of the table screw or lead screw
    crank_turns : of the dividing head's crank; None where it stands still, or is not in the shop file
    by_travel : whether the travel is what is set, and the turn what is measured
    is_ramp : whether the turns are the arc of a ramp
    """

    turns: Fraction
    travel_mm: Fraction
    screw_turns: Fraction
    crank_turns: Fraction | None
    by_travel: bool = False
    is_ramp: bool = False

    def words(self, shop: Shop, length: Callable[[Fraction], str] | None = None) -> str:
        """The move with what is to be set first, that strong; the travel as ``length`` tells it, else in both units."""
        work = shop.machine.work
        crank = "" if self.crank_turns is None else f", {_mixed(self.crank_turns)} of the crank"
        travel = strong(length(self.travel_mm) if length else format_both(self.travel_mm, shop.units))
        gone = f"{travel} of travel, {_turns(self.screw_turns)} of the screw{crank}"
        if self.by_travel:
            return f"{gone}: the {work} turns {strong(format_angle(360 * self.turns))}"
        if self.is_ramp:
            return f"the whole ramp, {strong(format_angle(360 * self.turns))} of the {work}: {gone}"
        turned = f"{self.turns} turn{'' if self.turns <= 1 else 's'}"
        return f"{strong(turned)} of the {work}: {gone}"


def move(shop: Shop, route: Route, lead_mm: Fraction, turns: Fraction, *, by_travel: bool = False) -> Move:
    """The move of so many turns of the work with a train of that lead on.

    Parameters
    ----------
    shop, route : whose machine, and how the train reaches the work
    lead_mm : lead of the train [mm]
    turns : of the work
    by_travel : whether the travel is what is set
    """
    travel, head = turns * lead_mm, shop.dividing
    by_crank = shop.machine.through_worm(route, head)
    crank = turns * head.ratio if head is not None and by_crank else None
    return Move(turns, travel, travel / shop.machine.screw_lead_mm, crank, by_travel)


def moves(
    shop: Shop,
    route: Route,
    lead_mm: Fraction,
    length_mm: Fraction | None = None,
    arc_deg: Fraction | None = None,
) -> list[Move]:
    """Moves that prove a lead and that a table can make: about the length of the cut, where one is known.

    Parameters
    ----------
    shop, route : whose machine, and how the train reaches the work
    lead_mm : lead of the train [mm]
    length_mm : axial length of the cut [mm]
    arc_deg : arc of the work over a ramp [degrees]: the whole ramp is then the first move

    One turn of the work and several, where they are short enough; else part of a turn. Where these are long, a
    round travel too, which is sooner gone. Without a length 500 mm are taken for what a table can go (common
    practice, no source), but for several turns no more than about that round travel, as the crank turns many times
    for each.
    """
    easy = _ROUND_MM[shop.units]
    room = MOST_TRAVEL_MM if length_mm is None else min(MOST_TRAVEL_MM, _ABOUT * max(length_mm, easy))
    several = room if length_mm is not None else _ABOUT * easy
    shares = [Fraction(n) for n in _WHOLE if n * lead_mm <= several][:1]
    if lead_mm <= room:
        shares.insert(0, Fraction(1))
    else:
        shares = [Fraction(1, n) for n in _PARTS if lead_mm / n <= room][:1]
    found = [move(shop, route, lead_mm, turns) for turns in shares]
    if len(found) < 2 and not (found and found[0].travel_mm <= _ABOUT * easy):
        found.append(move(shop, route, lead_mm, easy / lead_mm, by_travel=True))
    if arc_deg is None:
        return found
    ramp = replace(move(shop, route, lead_mm, arc_deg / 360), is_ramp=True)
    return [ramp, *(step for step in found if step.turns != ramp.turns)]


def too_long(shop: Shop, lead_mm: Fraction, proved: list[Move]) -> str:
    """The travel of one turn of the work as a fact, where it is no move to be made; else empty."""
    if any(step.turns >= 1 for step in proved):
        return ""
    travel = format_both(lead_mm, shop.units)
    return f"one whole turn of the {shop.machine.work} takes {travel} of travel: a part of it is enough"


def proof(
    shop: Shop, route: Route, train: Train, length_mm: Fraction | None = None, arc_deg: Fraction | None = None
) -> Iterator[str]:
    """The arithmetic to prove the lead of a train by hand, and the moves to make, as lines.

    Parameters
    ----------
    shop, route, train : whose machine and which train on it
    length_mm : axial length of the cut [mm]
    arc_deg : arc of the work over a ramp [degrees]
    """
    machine = shop.machine
    names, sides = machine.lead_sides("driven", "drivers"), machine.lead_sides(train.driven, train.drivers)
    base, lead, unit = shop.drive(route).lead_of_machine_mm, shop.lead(train, route), shop.units
    screw, whole, rounded = (
        exact_length(shop.machine.screw_lead_mm, unit),
        exact_length(base, unit),
        _rounded(base, unit),
    )
    yield "; ".join(
        f"{name} {' × '.join(map(str, side))} = {prod(side)}" for name, side in zip(names, sides, strict=True)
    )
    yield (
        f"screw lead {screw} × route {exact_ratio(route.ratio)} = lead of the machine {whole}{rounded}; × "
        f"{prod(sides[0])} / {prod(sides[1])} = {format_length(lead, unit)}"
    )
    steps = moves(shop, route, lead, length_mm, arc_deg)
    yield from filter(None, [too_long(shop, lead, steps)])
    yield from (plain(step.words(shop)) for step in steps)


def exact_length(mm: Fraction, unit: str) -> str:
    """A length to be multiplied: in the usual decimals where it is exact, else ``25.4/7 mm``, ``1/7 in``.

    Parameters
    ----------
    mm : length [mm]
    unit : ``mm`` or ``in``
    """
    inches = mm / INCH_MM
    value, printed = inches if unit == "in" else mm, format_length(mm, unit)
    text, metric = text_of_length(mm, unit), text_of_length(mm).removesuffix(" mm")
    if Fraction(printed.partition(" ")[0]) == value:
        return printed
    if "/" in text and unit == "mm" and inches.denominator < value.denominator:
        return f"{text_of_length(inches.numerator * INCH_MM).removesuffix(' mm')}/{inches.denominator} mm"
    if "/" in text and unit == "in" and "/" not in metric:
        return f"{metric}/25.4 in"
    return text


def exact_ratio(ratio: Fraction) -> str:
    """A ratio to be multiplied: a decimal of four places where it is all of it, else a fraction."""
    return decimal(ratio) if Fraction(decimal(ratio)) == ratio else str(ratio)


def _rounded(mm: Fraction, unit: str) -> str:
    """The usual decimals behind a length that was told as a fraction."""
    return f" ({format_length(mm, unit)})" if "/" in exact_length(mm, unit) else ""


def _mixed(count: Fraction) -> str:
    """Turns of the crank: with the part that a circle of holes gives, where no decimal is exact."""
    whole, part = divmod(count, 1)
    if Fraction(decimal(count)) == count or part.denominator > _HOLES:
        return _turns(count)
    return f"{whole} {part} turns" if whole else f"{part} turn"


def _turns(count: Fraction) -> str:
    return f"{decimal(count)} turn{'' if count == 1 else 's'}"
