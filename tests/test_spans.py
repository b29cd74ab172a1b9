"""The span over some teeth: against the involute itself, point by point, and the spur gear's known figures."""

from fractions import Fraction

import mpmath
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gearsearch.base.document import plain
from gearsearch.work.helix import HelicalGear
from gearsearch.work.spans import deeper, span_note, span_of, span_words

TWENTY, FOURTEEN = Fraction(20), Fraction(29, 2)


def tooth_by_tooth(gear, pressure_deg, teeth):
    """Span over so many teeth [mm] found on the flanks themselves, in the transverse plane and along the base helix.

    Judge: two opposite involutes start from the base circle where half a tooth at the pitch circle and its involute
    put them. The common normal of the outermost two is a chord of the base tangent: found as the length of the
    tangent between points of both flanks whose normals lie in one line, then turned square to the teeth.
    """
    module, z = mpmath.mpf(gear.normal_module_mm.numerator) / gear.normal_module_mm.denominator, gear.teeth
    beta = mpmath.radians(mpmath.mpf(gear.helix_angle_deg.numerator) / gear.helix_angle_deg.denominator)
    alpha = mpmath.radians(mpmath.mpf(pressure_deg.numerator) / pressure_deg.denominator)
    transverse = mpmath.atan(mpmath.tan(alpha) / mpmath.cos(beta))
    base = module * z / mpmath.cos(beta) / 2 * mpmath.cos(transverse)

    def flank(start, turn, roll):
        """A point of an involute that leaves the base circle at an angle, unrolled either way."""
        at = start + turn * roll
        return mpmath.matrix(
            [
                base * (mpmath.cos(at) + turn * roll * mpmath.sin(at)),
                base * (mpmath.sin(at) - turn * roll * mpmath.cos(at)),
            ]
        )

    half = mpmath.pi / (2 * z) + mpmath.tan(transverse) - transverse
    last = 2 * mpmath.pi * (teeth - 1) / z
    middle = (last) / 2
    # by symmetry the tangent that both touch has its foot half way between them
    right, left = flank(-half, 1, middle + half), flank(last + half, -1, middle + half)
    across = left - right
    normal = mpmath.matrix([-mpmath.sin(middle), mpmath.cos(middle)])
    chord = mpmath.norm(across)
    assert (
        abs(abs((across.T * normal)[0]) - chord) < mpmath.mpf(10) ** -30
    )  # along the tangent, so square to both flanks
    base_helix = mpmath.atan(mpmath.tan(beta) * mpmath.cos(transverse))
    return chord * mpmath.cos(base_helix), chord * mpmath.cos(base_helix) * mpmath.sin(base_helix)


@given(
    st.fractions(Fraction(1, 2), 8, max_denominator=20),
    st.integers(14, 160),
    st.fractions(1, 50, max_denominator=30),
    st.sampled_from([TWENTY, FOURTEEN]),
)
@settings(deadline=None, max_examples=60)
def test_the_span_is_that_of_the_involutes_themselves(module, teeth, helix, pressure):
    gear = HelicalGear(module, teeth, helix)
    span = span_of(gear, pressure)
    assert span is not None
    with mpmath.workdps(50):
        length, face = tooth_by_tooth(gear, pressure, span.teeth)
        assert abs(length - mpmath.mpf(span.span_mm.numerator) / span.span_mm.denominator) < 1e-10
        assert abs(face - mpmath.mpf(span.face_mm.numerator) / span.face_mm.denominator) < 1e-10


@given(st.integers(14, 160), st.fractions(1, 50, max_denominator=30), st.sampled_from([TWENTY, FOURTEEN]))
@settings(deadline=None, max_examples=60)
def test_no_other_number_of_teeth_is_touched_nearer_the_pitch_cylinder(teeth, helix, pressure):
    gear = HelicalGear(Fraction(1), teeth, helix)
    span = span_of(gear, pressure)
    with mpmath.workdps(50):
        alpha, beta = mpmath.radians(float(pressure)), mpmath.radians(float(helix))
        transverse = mpmath.atan(mpmath.tan(alpha) / mpmath.cos(beta))
        base_helix = mpmath.atan(mpmath.tan(beta) * mpmath.cos(transverse))
        radius = teeth / mpmath.cos(beta) / 2
        wanted = 2 * radius * mpmath.sin(transverse)  # between places on the pitch circle, seen along the axis

        def off(number):
            return abs(tooth_by_tooth(gear, pressure, number)[0] * mpmath.cos(base_helix) - wanted)

        near = [number for number in (span.teeth - 1, span.teeth + 1) if number >= 2]
        assert all(off(span.teeth) <= off(number) + mpmath.mpf(10) ** -12 for number in near)


@pytest.mark.parametrize(("teeth", "over", "span"), [(20, 3, "7.6604"), (40, 5, "13.8448"), (100, 12, "35.3501")])
def test_without_a_helix_it_is_the_span_of_a_spur_gear(teeth, over, span):
    """Module 1, 20°: tables of base tangent lengths give these (from memory)."""
    found = span_of(HelicalGear(Fraction(1), teeth, Fraction(1, 10**6)), TWENTY)
    assert found.teeth == over
    assert f"{float(found.span_mm):.4f}" == span
    assert found.face_mm < Fraction(1, 10**5)


def test_a_gear_whose_jaws_would_pass_the_tips_has_no_span():
    assert span_of(HelicalGear(Fraction(2), 3, Fraction(10)), FOURTEEN) is None
    assert span_words(HelicalGear(Fraction(2), 3, Fraction(10)), "mm") == ""


def test_cut_so_much_deeper_the_span_is_right():
    """A rack moved in by h makes the tooth 2 h tan αn thinner on its pitch line, and the span that times cos αn."""
    for pressure in (TWENTY, FOURTEEN):
        alpha = mpmath.radians(float(pressure))
        assert abs(float(deeper(pressure)) - 1 / (2 * mpmath.tan(alpha) * mpmath.cos(alpha))) < 1e-12


def test_the_words_name_both_cutters_the_face_and_the_play():
    gear = HelicalGear(Fraction(2), 24, Fraction(15))
    twenty, fourteen = span_of(gear, TWENTY), span_of(gear, FOURTEEN)
    words = plain(span_words(gear, "mm", Fraction(25)))
    assert f"with a 20° cutter {twenty.teeth} teeth {float(twenty.span_mm):.3f} mm (" in words
    assert f"with a 14½° cutter {fourteen.teeth} teeth {float(fourteen.span_mm):.3f} mm (" in words
    assert words.endswith(f"face needed {float(max(twenty.face_mm, fourteen.face_mm)):.3f} mm")
    assert span_note(Fraction(2), "mm") == (
        "Span too big? Deepen by 1.46 × (20°), 2.00 × (14½°) the excess. The span is without play: "
        "take 0.040 mm off each for that, 0.02 modules (note 1); the span itself (note 2)"
    )


def test_a_face_too_narrow_for_the_jaws_is_said():
    gear = HelicalGear(Fraction(2), 60, Fraction(40))
    least = min(span_of(gear, TWENTY).face_mm, span_of(gear, FOURTEEN).face_mm)
    words = span_words(gear, "mm", Fraction(10))
    assert words == f"the face is too narrow to measure a span: it needs at least {float(least):.3f} mm"
    one = span_words(gear, "mm", least)
    assert one.count("cutter") == 1
