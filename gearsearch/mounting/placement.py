"""Where the gears of a train stand: wheels and studs, and the names and figures they are told by."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from math import floor

from ..base.units import INCH_MM, UNIT_MM, decimals
from ..shop.machine import Route
from ..shop.shop import Shop
from ..shop.trains import Train

JUDGEMENT = {"yes": "yes", "rule": "by the rule of thumb", "no": "no", "unknown": "not judged"}  # of a train, in words
TWO_ON_A_PLATE = "on a plate the stud farther along is tried at every whole millimetre from the pivot and at each limit"
_FLOATS_MM = 1e-6


@dataclass(frozen=True, slots=True)
class Wheel:
    """One gear where it stands.

    Parameters
    ----------
    teeth, kind : tooth count, and the tag of its kind of tooth
    role : ``driver``, ``driven``, ``idler``, or ``idle`` for the unused partner in a joined piece
    shaft : 0 for the first shaft, then the studs in power order, then the last shaft
    plane : gear plane, from 0
    x_mm, y_mm : its centre [mm] from the pivot, x toward the other shaft
    pitch_radius_mm, tip_radius_mm : radii of the pitch circle and over the tips [mm]
    """

    teeth: int
    kind: str
    role: str
    shaft: int
    plane: int
    x_mm: float
    y_mm: float
    pitch_radius_mm: float
    tip_radius_mm: float


@dataclass(frozen=True, slots=True)
class Stud:
    """One stud, and how to set it with a rule.

    Parameters
    ----------
    number : from 1, in power order
    gears : tooth counts on it, driven before driver; an idler once
    idle : tooth count of the unused partner of a joined piece on it, or None
    from_pivot_mm : distance from the pivot [mm]
    swing_deg : angle from the line pivot → other shaft [degrees]; positive is toward positive y
    slot : the slot it stands in, from 1 in the order of the shop file; None on a plate
    to_previous_mm, to_next_mm : distance from the shaft before and after it in power order [mm]
    x_mm, y_mm : its centre [mm] from the pivot, x toward the other shaft
    """

    number: int
    gears: tuple[int, ...]
    idle: int | None
    from_pivot_mm: float
    swing_deg: float
    to_previous_mm: float
    to_next_mm: float
    x_mm: float
    y_mm: float
    slot: int | None = None


@dataclass(frozen=True, slots=True)
class Placement:
    """Where everything of a train that mounts stands.

    Parameters
    ----------
    pivot : the shaft at the origin, ``first`` or ``last``
    shaft_distance_mm : distance of first and last shaft to set [mm]
    bracket_swing_deg : how far the bracket swings from the line pivot → other shaft [degrees], its x axis along its
        main slot; None without a stud, and on a plate with two
    heads_mm : least and greatest shaft distance [mm] at which the same train still mounts in the same slots, of those
        that were tried; equal where the head cannot be moved
    head_step_mm : at how many millimetres the head was tried; None where it cannot be moved, or two gears alone set it
    studs : in power order
    wheels : every gear, in power order
    clearance_mm : the smallest gap [mm] between a gear and what it must clear; None where nothing is near
    tightest : where that is, in words
    """

    pivot: str
    shaft_distance_mm: float
    studs: tuple[Stud, ...]
    wheels: tuple[Wheel, ...]
    clearance_mm: float | None
    tightest: str
    bracket_swing_deg: float | None
    heads_mm: tuple[float, float]
    head_step_mm: float | None


@dataclass(frozen=True, slots=True)
class Verdict:
    """The verdict on one arrangement of a train.

    Parameters
    ----------
    train : its gears in power order, idlers included
    hand : hand it cuts; None where the shop file does not say which
    mounts : ``yes`` by the quadrant's geometry, ``rule`` by the rule of thumb only, ``no``, or ``unknown``
    why : of a no: gear, shaft and number; of a yes: where it is tightest
    clearance_mm : the smallest gap [mm]; None where no geometry was judged or nothing is near
    placement : where each stud goes; only with a yes
    """

    train: Train
    hand: str | None
    mounts: str
    why: str = ""
    clearance_mm: float | None = None
    placement: Placement | None = None


@dataclass(frozen=True, slots=True)
class Names:
    """What the shafts and gears of a train are called on this machine; one that calls them otherwise inherits from it.

    Parameters
    ----------
    shop, route : the machine and the way its train goes
    studs : how many studs the train has
    """

    shop: Shop
    route: Route
    studs: int

    def shaft(self, number: int) -> str:
        """The shaft of that number in power order."""
        if number == 0:
            return self.shop.machine.first_shaft
        if number <= self.studs:
            return f"stud {number}"
        return self.shop.machine.last_shaft(self.route)

    @property
    def no_idler(self) -> str:
        """That no gear is left for the idler which the way of turning takes."""
        return "no gear is left over that could turn the hand as an idler"

    def wheel(self, wheel: Wheel) -> str:
        """A gear and the shaft it is on."""
        tag = f"@{wheel.kind}" if len(self.shop.gears) > 1 else ""
        idle = "idle " if wheel.role == "idle" else ""
        return f"the {idle}{wheel.teeth}{tag} on {self.shaft(wheel.shaft)}"

    def length(self, mm: float, finer: int = 0) -> str:
        """A length in the shop's unit, to a tenth of a millimetre or a hundredth of an inch, finer where small.

        A millionth of a millimetre is the floats', and not counted: a half is rounded to even, whatever they make of
        it.
        """
        mm = round(mm, 6)
        inch = self.shop.units == "in"
        value, digits = (mm / float(INCH_MM), 2 + finer) if inch else (mm, 1 + finer)
        if abs(value) < 2 * 10.0**-digits:
            digits += 2
        return f"{value:.{digits}f} {self.shop.units if inch else 'mm'}"


def gap_words(mm: float, unit: str, finer: int = 0) -> str:
    """A clearance in the shop's unit, rounded DOWN, so that none is printed larger than it is.

    To a tenth of a millimetre or a hundredth of an inch, ``finer`` decimals more, two more where it is small; from
    whole micrometres, which the loops count by too. A millionth of a millimetre is the floats', and not counted.
    """
    exact = Fraction(floor((mm + _FLOATS_MM) * 1000), 1000) / UNIT_MM[unit]
    digits = (2 if unit == "in" else 1) + finer
    if exact * 10**digits < 2:
        digits += 2
    return f"{decimals(Fraction(floor(exact * 10**digits), 10**digits), digits)} {unit}"


def placement_lines(placement: Placement, names: Names) -> list[str]:
    """Where to set each stud, as one would with a rule, the bracket and the head."""
    pivot = 0 if placement.pivot == "first" else names.studs + 1
    bracket = None if names.shop.quadrant is None else names.shop.quadrant.bracket
    slots = bracket is not None and not bracket.named_by_layout
    lines = []
    for stud in placement.studs:
        near = [(stud.number - 1, stud.to_previous_mm), (stud.number + 1, stud.to_next_mm)]
        to = ", ".join(f"{names.length(mm)} from {names.shaft(shaft)}" for shaft, mm in near if shaft != pivot)
        where = f"in slot {stud.slot}" if slots else f"swing {stud.swing_deg:+.1f}°"
        lines.append(
            f"stud {stud.number} with {' and '.join(map(str, stud.gears))}: {names.length(stud.from_pivot_mm)} from "
            f"{names.shaft(pivot)} (the pivot), {to}; {where}"
        )
    if slots and placement.bracket_swing_deg is not None:
        lines.append(f"bracket swung {placement.bracket_swing_deg:+.1f}° from the line of the shafts")
    idle = [wheel for wheel in placement.wheels if wheel.role == "idle"]
    lines += [f"{names.wheel(wheel)}, of a joined piece, in plane {wheel.plane + 1}" for wheel in idle]
    if bracket is not None and not bracket.swings_whole and len(placement.studs) > 1:
        lines.append(TWO_ON_A_PLATE)
    return [*lines, _head_line(placement, names)]


def _head_line(placement: Placement, names: Names) -> str:
    """How far apart the shafts stand; of a head that can be moved, how far it may be off."""
    apart = f"shafts {names.length(placement.shaft_distance_mm)} apart"
    if placement.head_step_mm is None:
        return apart
    low, high = map(names.length, placement.heads_mm)
    tried = f"head tried at every {names.length(placement.head_step_mm)}"
    if low == high:
        return f"set the head: {apart}; at the next places tried it no longer mounts ({tried})"
    return f"set the head: {apart}; it mounts from {low} to {high} ({tried})"
