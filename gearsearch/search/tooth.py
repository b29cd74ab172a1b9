"""What the error of the lead does to a helical tooth, against ISO 1328-1, in words."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ..base.document import strong
from ..base.units import significant
from ..work.accuracy import ISO_COVERS

if TYPE_CHECKING:
    from .check import ToothSlope


def tooth_slope(tooth: ToothSlope) -> Iterator[str]:
    """The slope over the face and the classes it passes, as sentences; what matters most is strong."""
    passes = "none of the classes" if tooth.passes is None else f"class {tooth.passes} and coarser"
    yield (
        f"helix slope over the face: {significant(tooth.slope_um, 2)} µm{_which_way(tooth)}; by the lead alone it "
        f"passes {passes} of ISO 1328-1:2013 (formula from memory)"
    )
    if tooth.within is not None:
        verdict = "inside" if tooth.within else strong("OUTSIDE")
        yield f"class {tooth.accuracy} allows {tooth.allowed_um} µm: {verdict}"
    if not tooth.covered:
        yield f"beyond what the standard covers (from memory): {ISO_COVERS}"


def _which_way(tooth: ToothSlope) -> str:
    """What the sign means: plus is a lead too long, whose helix angle is too small."""
    if tooth.slope_um == 0:
        return ""
    return " (+: helix angle too small)" if tooth.slope_um > 0 else " (-: helix angle too large)"
