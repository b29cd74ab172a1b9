"""Stepped ramps and ratchets along a helix: a numbered table of what to turn and how far to move."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from ..base import require
from ..base.errors import GearsearchError
from ..base.facts import Note
from ..base.units import PI, decimals, format_angle, format_both, format_length, tan_deg, text_of_angle, text_of_length
from ..shop.shop import Shop
from .indexing import head_of
from .places import Place, best_circle, equal_totals, places_of, refuse_staying

MOST_STEPS = 10_000
MOST_TURNS = 1_000


@dataclass(frozen=True, slots=True)
class Ramp:
    """A ramp cut in equal steps.

    Parameters
    ----------
    lead_mm : lead of the helix that the steps follow [mm]
    step_deg : angle of the work for one step [degrees]
    steps : how many steps, 1 to 10 000
    length_mm : length of the helix along the axis [mm], which the steps may not overrun; None: not known

    Raises GearsearchError for steps that cannot be, and for steps that overrun the helix or 1000 turns.
    """

    lead_mm: Fraction
    step_deg: Fraction
    steps: int
    length_mm: Fraction | None = None

    def __post_init__(self) -> None:
        object.__setattr__(self, "steps", require.whole(self.steps, MOST_STEPS, "steps"))
        require.kept_exact(self, lead_mm="lead", step_deg="angle of a step", length_mm="length of the helix")
        require.above_zero({"length of the helix": self.length_mm})
        if self.lead_mm <= 0:
            raise GearsearchError(
                f"a ramp cannot have a lead of {text_of_length(self.lead_mm)}", "give a lead longer than zero"
            )
        if not 0 < self.step_deg <= 360:
            raise _no_step(self.step_deg)
        if self.total_deg > 360 * MOST_TURNS:
            raise GearsearchError(
                f"{self.steps} steps of {text_of_angle(self.step_deg)} make {text_of_angle(self.total_deg)}, more than "
                f"{MOST_TURNS} turns",
                "take fewer or smaller steps",
            )
        if self.length_mm is not None and self.step_mm * self.steps > self.length_mm:
            raise GearsearchError(
                f"{self.steps} steps of {format_both(self.step_mm)} overrun the helix: they take "
                f"{format_both(self.step_mm * self.steps)}, and it is {format_both(self.length_mm)} long",
                f"at most {self.length_mm // self.step_mm} such steps fit",
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
class RampStep(Place):
    """One line of the table, a ``Place`` along the helix.

    Parameters
    ----------
    move_mm : where the step should stand along the axis, from the start [mm], exact
    """

    move_mm: Fraction


def step_of_total(total_deg: Fraction, steps: int) -> Fraction:
    """Angle of one of so many equal steps over a total angle [degrees]. Raises GearsearchError for no steps."""
    (total_deg,) = require.exact({"angle of all steps": total_deg}, given=True)
    return total_deg / require.whole(steps, MOST_STEPS, "steps")


def lead_of_steps(rise_mm: Fraction, step_deg: Fraction) -> Fraction:
    """Lead [mm] of a ramp that rises so much along the axis for each step: 360 × rise / angle.

    Parameters
    ----------
    rise_mm : rise for one step [mm], above zero
    step_deg : angle of one step [degrees], above zero

    Raises GearsearchError for what is not an exact number, or not above zero.
    """
    (step_deg,) = require.exact({"angle of a step": step_deg}, given=True)
    (rise_mm,) = require.above_zero({"rise of a step": rise_mm}, given=True)
    if step_deg <= 0:
        raise _no_step(step_deg)
    return 360 * rise_mm / step_deg


def _no_step(step_deg: Fraction) -> GearsearchError:
    return GearsearchError(f"a step cannot be {text_of_angle(step_deg)}", "give an angle above 0° and up to 360°")


def table(shop: Shop, ramp: Ramp) -> list[RampStep]:
    """Every step of a ramp on the circle that comes nearest, each from the exact running total.

    Parameters
    ----------
    shop : whose dividing head turns the work
    ramp : lead, angle and number of steps

    A total half way between two holes goes to the even one.
    Raises GearsearchError for steps so small that the pin would stay in its hole.
    """
    head = head_of(shop)
    circle = best_circle(head, ramp.step_deg, ramp.steps)
    totals = equal_totals(head, ramp.step_deg, ramp.steps, circle)
    refuse_staying(head, ramp.step_deg, circle, totals, "step")
    angles = [ramp.step_deg * number for number in range(ramp.steps + 1)]
    _, *places = places_of(head, circle, angles, totals)
    return [
        RampStep(
            place.number, place.angle_deg, place.crank, place.crank_total, place.off_deg, ramp.step_mm * place.number
        )
        for place in places
    ]


def changing_holes(steps: list[RampStep]) -> Iterator[Note]:
    """A caution where the crank's movement is not the same for every step."""
    if len({step.crank for step in steps}) > 1:
        yield Note(
            "changing-holes",
            "the holes change from step to step: set the sector arms again, and check by the count from the start",
        )


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

    Raises GearsearchError out of those limits, for what is not an exact number, and where the face is so undercut that
    the tooth would have no end.
    """
    face_deg, diameter_mm = require.exact({"face angle": face_deg, "diameter": diameter_mm}, given=True)
    if not -60 < face_deg < 60:
        raise GearsearchError(
            f"a face cannot lean by {text_of_angle(face_deg)}", "give an angle above -60° and below 60°"
        )
    if diameter_mm <= 0:
        raise GearsearchError(
            f"a tooth cannot be measured at a diameter of {text_of_length(diameter_mm)}",
            "give a diameter larger than zero",
        )
    around = PI * diameter_mm * ramp.step_deg / 360
    slope = tan_deg(face_deg) if face_deg >= 0 else -tan_deg(-face_deg)
    rest = around - ramp.step_mm * slope
    if rest <= 0:
        raise GearsearchError(
            f"a face undercut by {text_of_angle(face_deg)} never meets the back of a tooth of this lead",
            "give a smaller face angle or a larger diameter",
        )
    return ramp.step_mm * around / rest


def notes(shop: Shop, ramp: Ramp, diameter_mm: Fraction | None, face_deg: Fraction | None) -> Iterator[Note]:
    """What must not be confused: the step along the axis, and the depth of an undercut tooth."""
    unit = shop.units
    yield Note(
        "along-the-axis",
        f"each step moves {format_both(ramp.step_mm, unit)} ALONG THE AXIS: lead "
        f"{format_length(ramp.lead_mm, unit)} × {format_angle(ramp.step_deg)} / 360°",
    )
    if diameter_mm is None or face_deg is None:
        yield Note(
            "ask-depth", "the DEPTH of an undercut tooth is a different figure: give --diameter and --undercut for it"
        )
        return
    depth = tooth_depth_mm(ramp, diameter_mm, face_deg)
    leans = "undercut" if face_deg > 0 else "leaning back"
    more = decimals(100 * abs(depth / ramp.step_mm - 1), 1)
    than = f"{more} % {'more' if face_deg > 0 else 'less'} than the step" if face_deg else "the same as the step"
    yield Note(
        "depth",
        f"the DEPTH of a tooth with its face {leans} by {format_angle(abs(face_deg))} is another number: "
        f"{format_both(depth, unit)} at diameter {format_length(diameter_mm, unit)}, {than}"
        if face_deg
        else f"the DEPTH of a tooth with a straight face is {than}: {format_both(depth, unit)}",
    )
