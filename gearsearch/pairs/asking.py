"""Two gears that must mesh, from what a drawing says of them: one place for typed options and for Python."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from ..base.errors import GearsearchError
from ..base.units import Value, parse_length
from ..work.asking import part
from .meshing import HelicalPair, hands_of, helix_at_distance


def pair_of(
    unit: str,
    teeth: tuple[int, int],
    *,
    gear_module: Value | None = None,
    gear_dp: Value | None = None,
    helix_angle: Value | Sequence[Value] | None = None,
    centre_distance: Value | None = None,
    shafts: str = "parallel",
    hand: str = "either",
    mate_hand: str | None = None,
    face: Value | None = None,
) -> HelicalPair:
    """The two gears.

    Parameters
    ----------
    unit : ``mm`` or ``in``, for a length without one
    teeth : of both gears
    gear_module, gear_dp : normal module [mm] or normal diametral pitch [1/in] of both; one of the two
    helix_angle : from the axis [degrees], one or two
    centre_distance : in place of the helix angle, which then follows from it
    shafts : ``parallel`` or ``crossed``
    hand, mate_hand : of the first gear and of the second
    face : common face width

    Raises GearsearchError unless module and helix angle are told in just one way.
    """
    if (gear_module is None) == (gear_dp is None):
        given = "none is given" if gear_module is None else "both are given"
        raise GearsearchError(
            f"a gear needs either a normal module or a normal diametral pitch, and {given}",
            "give one of the two, as in --gear-module 2 or --gear-dp 12",
        )
    centre = None if centre_distance is None else parse_length(centre_distance, unit, "--centre-distance")
    if (helix_angle is None) == (centre is None):
        given = "neither is given" if centre is None else "both are given"
        raise GearsearchError(
            f"a helical pair needs its helix angle, or the centre distance that tells it, and {given}",
            "give one of the two, as in --helix-angle 20 or --centre-distance 2.75in",
        )
    angles = [*_each(helix_angle)]
    if centre is not None:
        angles = [helix_at_distance(_normal_module(gear_module, gear_dp), teeth, centre)]
    first, second = (
        part(teeth=count, helix_angle=angle, gear_module=gear_module, gear_dp=gear_dp).gear
        for count, angle in zip(teeth, angles * (3 - len(angles)), strict=True)
    )
    assert first is not None
    assert second is not None
    return HelicalPair(
        first,
        second,
        hands=hands_of(hand, mate_hand, shafts),
        shafts=shafts,
        face_mm=None if face is None else parse_length(face, unit, "--face"),
        fixed_mm=centre,
    )


def _each(angles: Value | Sequence[Value] | None) -> Sequence[Value]:
    if angles is None:
        return []
    return angles if isinstance(angles, Sequence) and not isinstance(angles, str) else [angles]


def _normal_module(gear_module: Value | None, gear_dp: Value | None) -> Fraction:
    """Normal module of both gears [mm]; it hangs on no helix angle."""
    made = part(teeth=1, helix_angle=45, gear_module=gear_module, gear_dp=gear_dp)
    assert made.gear is not None
    return made.gear.normal_module_mm
