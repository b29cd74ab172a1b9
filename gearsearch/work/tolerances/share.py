"""A share of the lead."""

from __future__ import annotations

from fractions import Fraction

from ..tolerance import (
    EACH,
    HALF,
    SHARE,
    Interval,
    Reading,
    Tolerance,
    ToleranceForm,
    in_proportion,
    is_angle,
    rate,
    share,
)


class Share(ToleranceForm):
    """How far the lead may be off as a share of it: ``0.1%``, ``200ppm``, ``0.5mm/m``."""

    name = "share"
    example = "200ppm, 0.1%, 0.5mm/m"
    rank, told = 0, 1
    or_seconds = True

    def reads(self, bare: str, unit: str, _: str) -> Reading | None:
        """A share, or a length for each of another unit."""
        if (each := EACH.fullmatch(bare)) and not is_angle(each[1]):
            return Reading("share", each[1], rate(unit, each[2]))
        return Reading("share", bare, share) if SHARE.search(bare) else None

    def interval(self, tolerance: Tolerance, wanted_mm: Fraction, _: Fraction | None) -> Interval:
        """As far off as the share."""
        return in_proportion(tolerance, wanted_mm, Fraction(1))

    def slip(self, _: Tolerance) -> tuple[Fraction, str]:
        """Half of the lead."""
        return HALF, "half of the lead"
