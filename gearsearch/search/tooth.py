"""What the error of the lead does to a helical tooth, against ISO 1328-1, in words."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from ..base.document import strong
from ..base.sources import noted
from ..base.units import significant
from ..work.accuracy import ISO_COVERS


@dataclass(frozen=True, slots=True)
class ToothSlope:
    """Helix slope of a helical tooth over its face width.

    Parameters
    ----------
    slope_um : deviation over the face [µm], signed; plus leans less than wanted
    allowed_um : tolerance of the class asked for [µm], ISO 1328-1:2013 by a formula from memory
    accuracy : the class asked for; None: none was
    passes : the finest class it would pass; None: not even the coarsest
    covered : whether the standard covers a gear of this size, from memory
    """

    slope_um: Fraction
    allowed_um: float | None
    accuracy: int | None
    passes: int | None
    covered: bool = True

    @property
    def within(self) -> bool | None:
        """Whether it is inside the class asked for; None where none was."""
        return None if self.allowed_um is None else abs(self.slope_um) <= Fraction(self.allowed_um)


def tooth_slope(tooth: ToothSlope) -> Iterator[str]:
    """The slope over the face and the classes it passes, as sentences; what matters most is strong."""
    passes = "none of the classes" if tooth.passes is None else f"class {tooth.passes} and coarser"
    yield (
        f"helix slope over the face: {significant(tooth.slope_um, 2)} µm{_which_way(tooth)}; by the lead alone it "
        f"passes {passes} of ISO 1328-1:2013 {noted('memory')}"
    )
    if tooth.within is not None:
        verdict = "inside" if tooth.within else strong("OUTSIDE")
        yield f"class {tooth.accuracy} allows {tooth.allowed_um} µm: {verdict}"
    if not tooth.covered:
        yield f"beyond what the standard covers {noted('memory')}: {ISO_COVERS}"


def _which_way(tooth: ToothSlope) -> str:
    """What the sign means: plus is a lead too long, whose helix angle is too small."""
    if tooth.slope_um == 0:
        return ""
    return " (+: helix angle too small)" if tooth.slope_um > 0 else " (-: helix angle too large)"
