"""Stepped ramps and ratchets along a helix: a numbered table of what to turn and how far to move."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from .dividing import Movement, head_of
from .errors import GearsearchError
from .shop import Shop
from .units import PI, decimals, format_angle, format_both, format_length, tan_deg

MOST_STEPS = 10_000
MOST_TURNS = 1_000


@dataclass(frozen=True, slots=True)
class Ramp:
    """A ramp cut in equal steps.

    Parameters
    ----------
    lead_mm : lead of the helix that the steps follow [mm]
    step_deg : angle of the work for one step [degrees]
    steps : how many steps
    """

    lead_mm: Fraction
    step_deg: Fraction
    steps: int

    def __post_init__(self) -> None:
        if not 1 <= self.steps <= MOST_STEPS:
            raise GearsearchError(f"{self.steps} steps", f"give a whole number from 1 to {MOST_STEPS}")
        if self.step_deg <= 0:
            raise GearsearchError(f"steps of {float(self.step_deg):g}°", "give an angle above 0°")
        if self.total_deg > 360 * MOST_TURNS:
            raise GearsearchError(
                f"{self.steps} steps of {float(self.step_deg):g}° overrun the helix: {float(self.total_deg):g}°",
                f"give steps that stay within {MOST_TURNS} turns",
            )

    @property
    def step_mm(self) -> Fraction:
        """Move along the axis for one step [mm]: lead × angle / 360, exact."""
        return self.lead_mm * self.step_deg / 360

    @property
    def total_deg(self) -> Fraction:
        """Angle of all steps together [degrees]."""
        return self.step_deg * self.steps


@dataclass(frozen=True, slots=True)
class RampStep:
    """One line of the table; angle and move are counted from the start, so that rounding never builds up.

    Parameters
    ----------
    number : 1 for the first
    angle_deg, move_mm : where the step should stand, from the start [degrees], [mm], exact
    crank : turns and holes of one circle from the last step to this
    crank_total : the same from the start
    off_deg : how far the holes put it from where it should stand [degrees], exact
    """

    number: int
    angle_deg: Fraction
    move_mm: Fraction
    crank: Movement
    crank_total: Movement
    off_deg: Fraction


def ramp_of_total(lead_mm: Fraction, steps: int, total_deg: Fraction) -> Ramp:
    """A ramp of so many equal steps over a total angle. Raises GearsearchError as ``Ramp``."""
    if steps < 1:
        raise GearsearchError(f"{steps} steps", f"give a whole number from 1 to {MOST_STEPS}")
    return Ramp(lead_mm, total_deg / steps, steps)


def lead_of_steps(rise_mm: Fraction, step_deg: Fraction) -> Fraction:
    """Lead [mm] of a ramp that rises so much along the axis for each step: 360 × rise / angle."""
    if step_deg <= 0:
        raise GearsearchError(f"steps of {float(step_deg):g}°", "give an angle above 0°")
    return 360 * rise_mm / step_deg


def best_circle(shop: Shop, ramp: Ramp) -> int:
    """The circle whose holes come nearest to the steps: least greatest error, then the fewest holes."""
    return min(head_of(shop).circles, key=lambda circle: (_worst(shop, ramp, circle), circle))


def _worst(shop: Shop, ramp: Ramp, circle: int) -> Fraction:
    return max(abs(step.off_deg) for step in table(shop, ramp, circle))


def table(shop: Shop, ramp: Ramp, circle: int | None = None) -> Iterator[RampStep]:
    """Every step of a ramp, each from the exact running total.

    Parameters
    ----------
    shop : whose dividing head turns the work
    ramp : lead, angle and number of steps
    circle : the index circle; None for the best

    Raises GearsearchError for a circle that the head does not have.
    """
    head = head_of(shop)
    holes_in = circle or best_circle(shop, ramp)
    if holes_in not in head.circles:
        circles = ", ".join(map(str, head.circles))
        raise GearsearchError(f"there is no circle of {holes_in} holes", f"circles of the head: {circles}")
    before = 0
    for number in range(1, ramp.steps + 1):
        angle = ramp.step_deg * number
        holes = round(head.ratio * angle / 360 * holes_in)
        off = Fraction(holes, holes_in) * 360 / head.ratio - angle
        yield RampStep(
            number,
            angle,
            ramp.step_mm * number,
            Movement(*divmod(holes - before, holes_in), holes_in),
            Movement(*divmod(holes, holes_in), holes_in),
            off,
        )
        before = holes


def tooth_depth_mm(ramp: Ramp, diameter_mm: Fraction, face_deg: Fraction) -> Fraction:
    """Depth of an undercut ratchet tooth on the end of a tube, along the axis [mm].

    The back of the tooth follows the helix; its face leans by an angle from the axis, undercut where it is above
    zero. The point of the next tooth then overhangs by depth × tan(face), so that
    depth = step × around / (around − step × tan(face)), around = π d × angle / 360. Worked out here.

    Parameters
    ----------
    ramp : the steps
    diameter_mm : diameter at which the tooth is measured [mm]
    face_deg : lean of the face from the axis [degrees], above −60 and below 60; plus undercuts

    Raises GearsearchError where the face is so undercut that the tooth would have no end.
    """
    if not -60 < face_deg < 60:
        raise GearsearchError(f"a face angle of {float(face_deg):g}°", "give an angle above -60° and below 60°")
    around = PI * diameter_mm * ramp.step_deg / 360
    slope = tan_deg(face_deg) if face_deg >= 0 else -tan_deg(-face_deg)
    rest = around - ramp.step_mm * slope
    if rest <= 0:
        raise GearsearchError(
            f"a face undercut by {float(face_deg):g}° never meets the back of a tooth of this lead",
            "give a smaller face angle or a larger diameter",
        )
    return ramp.step_mm * around / rest


def notes(shop: Shop, ramp: Ramp, diameter_mm: Fraction | None, face_deg: Fraction | None) -> Iterator[str]:
    """What must not be confused: the step along the axis, and the depth of an undercut tooth."""
    unit = shop.units
    yield (
        f"each step moves {format_both(ramp.step_mm, unit)} ALONG THE AXIS: lead "
        f"{format_length(ramp.lead_mm, unit)} × {format_angle(ramp.step_deg)} / 360°"
    )
    if diameter_mm is None or face_deg is None:
        yield "the depth of an undercut tooth is another number: give --diameter and --face for it"
        return
    depth = tooth_depth_mm(ramp, diameter_mm, face_deg)
    yield (
        f"the DEPTH of a tooth with its face undercut by {format_angle(face_deg)} is another number: "
        f"{format_length(depth, unit)} at diameter {format_length(diameter_mm, unit)}, "
        f"{decimals(100 * (depth / ramp.step_mm - 1), 1)} % more than the step"
    )


def rows(shop: Shop, ramp: Ramp, circle: int | None = None) -> list[dict[str, str]]:
    """The table for people, a column left empty to cross off."""
    unit = shop.units
    return [
        {
            "step": str(step.number),
            "turn the crank": str(step.crank),
            "from the start": str(step.crank_total),
            "angle": format_angle(step.angle_deg),
            "along the axis": format_length(step.move_mm, unit),
            "off": "exact" if step.off_deg == 0 else f"{float(60 * step.off_deg):+.2f}′",
            "done": "[ ]",
        }
        for step in table(shop, ramp, circle)
    ]
