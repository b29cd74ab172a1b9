"""The span over some teeth of a helical gear, measured square to the teeth: what proves their depth."""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction

from ..base import require
from ..base.document import strong
from ..base.sources import noted
from ..base.units import decimals, format_both, format_length, radians, sin_deg
from .helix import HelicalGear

CUTTERS_DEG = (Fraction(20), Fraction(29, 2))  # pressure angles that form cutters are made for
PLAY = Fraction(1, 50)  # modules taken off each gear's span for play: common practice, no source


@dataclass(frozen=True, slots=True)
class Span:
    """A span to measure.

    Parameters
    ----------
    teeth : over how many teeth, 2 or more
    span_mm : base tangent length of teeth without play [mm]
    face_mm : least width of the face on which both jaws still touch a tooth [mm]
    """

    teeth: int
    span_mm: Fraction
    face_mm: Fraction


def span_of(gear: HelicalGear, pressure_deg: Fraction) -> Span | None:
    """The span over so many teeth that the jaws touch nearest the pitch cylinder; None where they would pass the tips.

    Parameters
    ----------
    gear : full-depth teeth without profile shift
    pressure_deg : pressure angle αn of its cutter, square to the tooth [degrees]

    W = mn cos αn (π (k − ½) + z inv αt), tan αt = tan αn / cos β; k = ½ + z (tan αt / cos² βb − inv αt) / π rounded,
    sin βb = sin β cos αn; least face W sin βb. Functions of angles through floats. From memory; checked against the
    involute itself in the tests. Limits: not for teeth so few that they are undercut down to where the jaws touch.
    """
    (pressure_deg,) = require.above_zero({"pressure angle": pressure_deg}, given=True)
    alpha, beta, z = radians(pressure_deg), radians(gear.helix_angle_deg), gear.teeth
    transverse = math.atan(math.tan(alpha) / math.cos(beta))
    involute = math.tan(transverse) - transverse
    sine = math.sin(beta) * math.cos(alpha)
    best = 0.5 + z * (math.tan(transverse) / (1 - sine * sine) - involute) / math.pi
    teeth = max(2, round(best))
    module = float(gear.normal_module_mm)
    span = module * math.cos(alpha) * (math.pi * (teeth - 0.5) + z * involute)
    radius = module * z / math.cos(beta) / 2
    touching = math.hypot(radius * math.cos(transverse), span * math.sqrt(1 - sine * sine) / 2)
    if touching >= radius + module:
        return None
    return Span(teeth, Fraction(span), Fraction(span * sine))


def deeper(pressure_deg: Fraction) -> Fraction:
    """How much deeper to cut for each unit that a span is too long: 1 / (2 sin αn). From memory."""
    return 1 / (2 * sin_deg(pressure_deg))


def span_words(gear: HelicalGear, unit: str, face_mm: Fraction | None = None) -> str:
    """What to measure for either cutter, what to set is strong; empty where nothing can be.

    Parameters
    ----------
    gear : the gear
    unit : the unit lengths are printed in
    face_mm : width of its face [mm], where it is known
    """
    spans = [(angle, span) for angle in CUTTERS_DEG if (span := span_of(gear, angle)) is not None]
    if not spans:
        return ""
    wide = [(angle, span) for angle, span in spans if face_mm is None or face_mm >= span.face_mm]
    if not wide:
        least = min(span.face_mm for _, span in spans)
        return f"the face is too narrow to measure a span: it needs at least {format_length(least, unit)}"
    told = [
        f"with a {_named(angle)} cutter {strong(f'{span.teeth} teeth {format_both(span.span_mm, unit)}')}"
        for angle, span in wide
    ]
    least = max(span.face_mm for _, span in wide)
    return (
        f"prove the depth by the span square to the teeth: {', '.join(told)}; face needed {format_length(least, unit)}"
    )


def span_note(normal_module_mm: Fraction, unit: str) -> str:
    """What to do about a span that is too long, and about play."""
    depths = ", ".join(f"{decimals(deeper(angle), 2)} × ({_named(angle)})" for angle in CUTTERS_DEG)
    return (
        f"Span too big? Deepen by {depths} the excess. The span is without play: take "
        f"{format_length(PLAY * normal_module_mm, unit)} off each for that, 0.02 modules "
        f"{noted('practice')}; the span itself {noted('memory')}"
    )


def _named(angle: Fraction) -> str:
    return str(float(angle)).replace(".0", "").replace(".5", "½") + "°"
