"""Two gears that must mesh, from what a drawing says of them: one place for typed options and for Python."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from fractions import Fraction

from ..base import require
from ..base.errors import GearsearchError
from ..base.units import Value, parse_length
from ..work.asking import gear_forms
from ..work.form import Form, Given
from ..work.tolerance import Tolerance
from .meshing import HelicalPair, hands_of, helix_at_distance


def pair_of(
    unit: str,
    teeth: tuple[int, int],
    *,
    helix_angle: Value | Sequence[Value] | None = None,
    centre_distance: Value | None = None,
    shafts: str = "parallel",
    hand: str = "either",
    mate_hand: str | None = None,
    face: Value | None = None,
    tolerance: str | None = None,
    **size: Value | None,
) -> HelicalPair:
    """The two gears.

    Parameters
    ----------
    unit : ``mm`` or ``in``, for a length without one
    teeth : of both gears
    helix_angle : from the axis [degrees], one or two
    centre_distance : in place of the helix angle, which then follows from it
    shafts : ``parallel`` or ``crossed``
    hand, mate_hand : of the first gear and of the second
    face : common face width
    tolerance : how far each lead may be off
    size : of the teeth of both, by one of the forms of a helical gear: ``gear_module=2``

    Raises GearsearchError unless size of the teeth and helix angle are told in just one way.
    """
    teeth = require.two(teeth, "teeth of both gears")
    form = _form_of(size)
    centre = None if centre_distance is None else parse_length(centre_distance, unit, "--centre-distance")
    if (helix_angle is None) == (centre is None):
        which = "neither is given" if centre is None else "both are given"
        raise GearsearchError(
            f"a helical pair needs its helix angle, or the centre distance that tells it, and {which}",
            "give one of the two, as in --helix-angle 20 or --centre-distance 2.75in",
        )
    angles = [*_each(helix_angle)]
    if centre is not None:
        angles = [helix_at_distance(_normal_module(form, size), teeth, centre)]
    first, second = (
        form.part(Given({**size, "teeth": count, "helix_angle": angle})).gear
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
        tolerance=None if tolerance is None else Tolerance.parse(tolerance, unit),
    )


def _form_of(size: Mapping[str, Value | None]) -> Form:
    given = [form for form in gear_forms() if size.get(form.name) is not None]
    if len(given) != 1:
        told = " and ".join(form.options[0].typed for form in given)
        ways = " or ".join(f"{form.options[0].typed} {form.options[0].example}" for form in gear_forms())
        raise GearsearchError(
            f"the teeth of both gears need one size, and {f'{told} are' if told else 'none is'} given",
            f"give just one, as in {ways}",
            code="one-size",
        )
    return given[0]


def _each(angles: Value | Sequence[Value] | None) -> Sequence[Value]:
    if angles is None:
        return []
    each = angles if isinstance(angles, Sequence) and not isinstance(angles, str) else [angles]
    return each if len(each) == 1 else require.two(each, "helix angles of both gears")


def _normal_module(form: Form, size: Mapping[str, Value | None]) -> Fraction:
    """Normal module of both gears [mm]. Raises GearsearchError where it hangs on the helix angle."""
    one, other = (form.part(Given({**size, "teeth": 1, "helix_angle": angle})).gear for angle in (30, 45))
    assert one is not None
    assert other is not None
    if one.normal_module_mm != other.normal_module_mm:
        raise GearsearchError(
            "gears of a transverse module stand as far apart at every helix angle, so no centre distance tells it",
            "give --helix-angle 20 in place of --centre-distance",
            code="distance-tells-nothing",
        )
    return one.normal_module_mm
