"""The tilted head: how far it stands from the table for a cam or a short lead."""

from __future__ import annotations

import math
from fractions import Fraction

from ..base import require
from ..base.errors import GearsearchError
from ..base.units import Value, degrees, format_length, shown

STEEPEST_TILT_DEG = 80  # angles above are avoided: Brown & Sharpe 1914, pp. 180-182, 249


def no_tilt(tilt: Value) -> GearsearchError:
    """The refusal of an angle that no head is tilted to."""
    return GearsearchError(
        f"tilt {shown(tilt)} is not above 0° and up to 90°", "give the head's angle from the table, as in --tilt 30"
    )


def tilt_for(lead_on_work_mm: Fraction, geared_lead_mm: Fraction) -> Fraction:
    """Tilt of the head [degrees] that makes the lead on the work from a longer geared lead: sin α = lead / geared.

    Parameters
    ----------
    lead_on_work_mm : lead the part needs [mm], above zero
    geared_lead_mm : lead that the gears give with the head at 90° [mm]

    Raises GearsearchError where the geared lead is the shorter, and for what is neither int nor Fraction. The arc sine
    is a float's.
    Source: Brown & Sharpe 1914, pp. 180-181.
    """
    named = {"lead on the work": lead_on_work_mm, "geared lead": geared_lead_mm}
    lead_on_work_mm, geared_lead_mm = require.exact(named, given=True)
    if not 0 < lead_on_work_mm <= geared_lead_mm:
        on_work, geared = format_length(lead_on_work_mm), format_length(geared_lead_mm)
        raise GearsearchError(
            f"no tilt makes {on_work} from a geared lead of {geared}",
            "gear for a lead at least as long as that on the work",
            code="no-tilt",
        )
    sine = lead_on_work_mm / geared_lead_mm
    if sine == 1:
        return Fraction(90)
    return degrees(math.atan2(float(sine), math.sqrt((1 - sine) * (1 + sine))))  # asin loses digits near 90°
