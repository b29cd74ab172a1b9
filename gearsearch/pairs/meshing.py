"""How two helical gears mesh: the leads they need, and what the leads really cut do to angles and centre distance."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from fractions import Fraction

from ..base import require
from ..base.errors import GearsearchError
from ..base.units import PI, cos_deg, degrees, format_angle, format_length, sin_deg, text_of_length
from ..shop.trains import HANDS, other_hand
from ..work.helix import HelicalGear
from ..work.part import Part
from ..work.tolerance import Tolerance

SHAFTS = ("parallel", "crossed")


@dataclass(frozen=True, slots=True)
class HelicalPair:
    """Two helical gears that must mesh.

    Parameters
    ----------
    first, second : the gears, of one normal module
    hands : hand of each, ``right`` or ``left``; on parallel shafts ``either`` may stand for both
    shafts : ``parallel`` (one helix angle, opposite hands) or ``crossed``
    face_mm : common face width [mm], parallel shafts only; None where not given
    fixed_mm : centre distance that the helix angle was worked out from [mm], parallel shafts only; None where the
        angle was given and the distance follows
    tolerance : how far each lead may be off; None: a fifth of a percent, or as little more as it takes
    parts : both gears as parts of that tolerance, worked out

    Raises GearsearchError for gears that cannot mesh, and a tolerance that such a part cannot have.
    """

    first: HelicalGear
    second: HelicalGear
    hands: tuple[str, str] = ("either", "either")
    shafts: str = "parallel"
    face_mm: Fraction | None = None
    fixed_mm: Fraction | None = None
    tolerance: Tolerance | None = None
    parts: tuple[Part, Part] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        require.one_of(self.shafts, SHAFTS, "position of the shafts")
        if self.first.normal_module_mm != self.second.normal_module_mm:
            raise GearsearchError(
                "two gears of different normal module do not mesh",
                "give one normal module for both, as in --gear-module 2",
                code="modules-differ",
            )
        require.kept_exact(self, face_mm="face width", fixed_mm="centre distance")
        require.above_zero({"face width": self.face_mm, "centre distance": self.fixed_mm})
        for hand in require.two(self.hands, "hands"):
            require.one_of(hand, (*HANDS, "either"), "the hand")
        if self.shafts == "parallel":
            self._check_parallel()
        else:
            self._check_crossed()
        first, second = (
            Part(gear.lead_mm, diameter_mm=gear.pitch_diameter_mm, gear=gear, tolerance=self.tolerance)
            for gear in self.gears
        )
        object.__setattr__(self, "parts", (first, second))

    def _check_parallel(self) -> None:
        if self.first.helix_angle_deg != self.second.helix_angle_deg:
            raise GearsearchError(
                f"helix angles {format_angle(self.first.helix_angle_deg)} and "
                f"{format_angle(self.second.helix_angle_deg)} do not mesh on parallel shafts",
                "give one helix angle for both gears, or add --shafts crossed",
            )
        if tuple(self.hands) not in (("either", "either"), HANDS, HANDS[::-1]):
            raise GearsearchError(
                f"hands {self.hands[0]} and {self.hands[1]} do not mesh on parallel shafts",
                "give opposite hands, as in --hand left --mate-hand right, or add --shafts crossed",
            )

    def _check_crossed(self) -> None:
        if self.fixed_mm is not None:
            raise GearsearchError(
                "a centre distance does not tell the two helix angles of crossed shafts",
                "leave --centre-distance out and give both angles, as in --helix-angle 45,45; the distance follows",
            )
        if "either" in self.hands:
            raise GearsearchError(
                "crossed shafts need the hand of each gear", "give both: --hand right --mate-hand left"
            )
        if self.shaft_angle_deg == 0:
            raise GearsearchError(
                "equal helix angles of opposite hands make the shafts parallel",
                "add --shafts parallel, or change a hand or an angle",
            )
        if self.face_mm is not None:
            raise GearsearchError(
                "a face width tells nothing on crossed shafts, where the teeth touch in a point", "leave --face out"
            )

    @property
    def gears(self) -> tuple[HelicalGear, HelicalGear]:
        """Both gears."""
        return self.first, self.second

    @property
    def settings(self) -> tuple[tuple[str, str], ...]:
        """The hands to try, for first and second gear."""
        return (HANDS, (HANDS[1], HANDS[0])) if self.hands[0] == "either" else (self.hands,)

    @property
    def turn(self) -> int:
        """+1 where the shaft angle is the sum of the helix angles (equal hands), −1 where it is their difference."""
        return 1 if self.hands[0] == self.hands[1] and self.shafts == "crossed" else -1

    @property
    def shaft_angle_deg(self) -> Fraction:
        """Angle between the shafts [degrees]: sum of the helix angles for equal hands, else their difference.

        From memory; any book on gearing has it.
        """
        return abs(self.first.helix_angle_deg + self.turn * self.second.helix_angle_deg)

    @property
    def centre_distance_mm(self) -> Fraction:
        """The fixed one, else half the sum of the pitch diameters [mm]; cosines through floats."""
        return self.fixed_mm or (self.first.pitch_diameter_mm + self.second.pitch_diameter_mm) / 2

    def meshing(self, leads_mm: tuple[Fraction, Fraction]) -> Meshing:
        """How the gears mesh with these leads [mm].

        Raises GearsearchError for a lead too short for teeth of this module: less than π × module × teeth.
        """
        first, second = require.two(leads_mm, "leads of both gears")
        first, second = require.above_zero({"lead of gear 1": first, "lead of gear 2": second}, given=True)
        leads_mm = first, second
        sines = [shortest_lead_mm(gear) / lead for gear, lead in zip(self.gears, leads_mm, strict=True)]
        if max(sines) >= 1:
            raise GearsearchError(
                "a lead is too short for the teeth of its gear: less than π × normal module × teeth",
                "give a longer lead",
            )
        parallel = self.shafts == "parallel"
        return _parallel(self, leads_mm, sines) if parallel else _crossed(self, leads_mm, sines)


def helix_at_distance(normal_module_mm: Fraction, teeth: tuple[int, int], centre_mm: Fraction) -> Fraction:
    """The helix angle [degrees] at which two gears on parallel shafts stand so far apart: cos β = m (z₁ + z₂) / (2 a).

    Parameters
    ----------
    normal_module_mm : of both gears [mm]
    teeth : of each gear
    centre_mm : centre distance a [mm]

    Taken by way of tan² β = (2a / (m (z₁ + z₂)))² − 1, exact but for root and arc tangent, so that a small angle
    loses no digits. Raises GearsearchError for a distance not above that of spur gears and for no exact numbers.
    Limits: no profile shift. Common practice, no source.
    """
    named = {"normal module": normal_module_mm, "centre distance": centre_mm}
    normal_module_mm, centre_mm = require.above_zero(named, given=True)
    spur = normal_module_mm * sum(require.whole_numbers(teeth, "teeth of each gear")) / 2
    if centre_mm <= spur:
        raise GearsearchError(
            f"helical gears of {teeth[0]} and {teeth[1]} teeth stand farther apart than spur gears of their size, "
            f"which take {_both(spur)}, and a centre distance of {_both(centre_mm)} is given",
            "give a greater --centre-distance, or fewer or smaller teeth",
        )
    return degrees(math.atan(math.sqrt((centre_mm / spur) ** 2 - 1)))


def _both(mm: Fraction) -> str:
    return f"{text_of_length(mm)} ({format_length(mm, 'in')})"


@dataclass(frozen=True, slots=True)
class Meshing:
    """How two gears mesh with the leads they were really cut with; the cutter keeps the normal module.

    Parameters
    ----------
    helix_angles_deg : helix angle of each gear at its pitch diameter [degrees]
    pitch_diameters_mm : the diameters that roll on each other [mm]
    outside_diameters_mm : over the tips of full-depth teeth [mm]: own pitch diameter + 2 normal modules
    centre_distance_mm : centre distance that goes with these leads [mm], also where another is fixed
    shaft_angle_deg : angle between the shafts that goes with these leads [degrees]; 0 where parallel
    mismatch_deg : how much larger the first gear's helix angle is than its mate's [degrees]; on crossed shafts, how
        much larger the shaft angle is than wanted
    mismatch_um : the same across the common face, around the pitch circle [µm]; None without a face width
    shared_deg : how much larger than drawn the helix angles are on the average [degrees]

    Angles, sines and roots are floats'; a mismatch of zero is exact.
    """

    helix_angles_deg: tuple[Fraction, Fraction]
    pitch_diameters_mm: tuple[Fraction, Fraction]
    outside_diameters_mm: tuple[Fraction, Fraction]
    centre_distance_mm: Fraction
    shaft_angle_deg: Fraction
    mismatch_deg: Fraction
    mismatch_um: Fraction | None
    shared_deg: Fraction


def shortest_lead_mm(gear: HelicalGear) -> Fraction:
    """The lead [mm] that no helical gear of this module and tooth count can have, nor a shorter one: π m z."""
    return PI * gear.normal_module_mm * gear.teeth


def _own_diameters(pair: HelicalPair, sines: list[Fraction]) -> tuple[Fraction, Fraction]:
    """Pitch diameters of two gears that keep the normal module: normal module × teeth / cos β, sin β = π m z / lead."""
    first, second = (
        gear.normal_module_mm * gear.teeth / Fraction(math.sqrt(1 - sine * sine))
        for gear, sine in zip(pair.gears, sines, strict=True)
    )
    return first, second


def _parallel(pair: HelicalPair, leads_mm: tuple[Fraction, Fraction], sines: list[Fraction]) -> Meshing:
    """Parallel shafts: the angles are those at the circles that roll on each other, which the tooth counts part.

    tan β₁ − tan β₂ = 2π a / (z₁ + z₂) · (z₁/L₁ − z₂/L₂), a the centre distance, the fixed
    one where there is one; so leads in the ratio of the teeth
    give one helix angle. Worked out here; checked against mpmath in the tests.
    """
    own = _own_diameters(pair, sines)
    centre = (own[0] + own[1]) / 2
    rolling = pair.fixed_mm or centre
    teeth = pair.first.teeth, pair.second.teeth
    around = 2 * PI * rolling / sum(teeth)
    slopes = tuple(around * z / lead for z, lead in zip(teeth, leads_mm, strict=True))
    apart = around * (teeth[0] / leads_mm[0] - teeth[1] / leads_mm[1])
    first, second = (degrees(math.atan(slope)) for slope in slopes)
    return Meshing(
        helix_angles_deg=(first, second),
        pitch_diameters_mm=(2 * rolling * teeth[0] / sum(teeth), 2 * rolling * teeth[1] / sum(teeth)),
        outside_diameters_mm=_outside(pair, own),
        centre_distance_mm=centre,
        shaft_angle_deg=Fraction(0),
        mismatch_deg=degrees(math.atan(apart / (1 + slopes[0] * slopes[1]))),
        mismatch_um=None if pair.face_mm is None else 1000 * pair.face_mm * apart,
        shared_deg=(first + second) / 2 - pair.first.helix_angle_deg,
    )


def _crossed(pair: HelicalPair, leads_mm: tuple[Fraction, Fraction], sines: list[Fraction]) -> Meshing:
    """Crossed shafts: each gear has the angle of its own normal module; the shafts take up what is over."""
    own = _own_diameters(pair, sines)
    changes = [angle_change(gear, lead) for gear, lead in zip(pair.gears, leads_mm, strict=True)]
    first, second = (gear.helix_angle_deg + change for gear, change in zip(pair.gears, changes, strict=True))
    larger = shaft_change(pair, changes[0], changes[1])
    return Meshing(
        helix_angles_deg=(first, second),
        pitch_diameters_mm=own,
        outside_diameters_mm=_outside(pair, own),
        centre_distance_mm=(own[0] + own[1]) / 2,
        shaft_angle_deg=pair.shaft_angle_deg + larger,
        mismatch_deg=larger,
        mismatch_um=None,
        shared_deg=(changes[0] + changes[1]) / 2,
    )


def _outside(pair: HelicalPair, own: tuple[Fraction, Fraction]) -> tuple[Fraction, Fraction]:
    depth = 2 * pair.first.normal_module_mm
    return own[0] + depth, own[1] + depth


def angle_change(gear: HelicalGear, lead_mm: Fraction) -> Fraction:
    """How much larger the helix angle is that a lead [mm] gives a gear of this normal module [degrees].

    sin(β′ − β) = (sin²β′ − sin²β) / (sin β′ cos β + sin β cos β′) with sin β′ = sin β · wanted lead / lead, which
    loses no digits however near the two leads are. Limits: the lead must be longer than π × module × teeth.
    """
    sine = sin_deg(gear.helix_angle_deg)
    other = sine * gear.lead_mm / lead_mm
    cosine, other_cosine = cos_deg(gear.helix_angle_deg), Fraction(math.sqrt(1 - other * other))
    return degrees(math.asin((other - sine) * (other + sine) / (other * cosine + sine * other_cosine)))


def shaft_change(pair: HelicalPair, first_deg: Fraction, second_deg: Fraction) -> Fraction:
    """How much larger the shaft angle becomes when the helix angles grow by so much [degrees]."""
    change = first_deg + pair.turn * second_deg
    return change if pair.turn > 0 or pair.first.helix_angle_deg > pair.second.helix_angle_deg else -change


def hands_of(first: str, mate: str | None, shafts: str) -> tuple[str, str]:
    """The hands of a pair from what was said of each; on parallel shafts the mate has the other hand."""
    if shafts == "parallel" and mate is None:
        return (first, first) if first == "either" else (first, other_hand(first))
    if shafts == "parallel" and first == "either" and mate is not None:
        return other_hand(mate), mate
    return first, mate or "either"
