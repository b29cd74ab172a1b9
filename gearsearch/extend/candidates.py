"""The gears that could be had, as they are named for ``extend``."""

from __future__ import annotations

from collections.abc import Iterable

from ..base import require
from ..base.errors import GearsearchError
from ..base.units import shown

Gear = tuple[str, int]  # tag of the kind of tooth, tooth count
MOST_TEETH = 2**53  # from where on the loops would not hold the count itself


def candidates_of(gears: Iterable[Gear]) -> list[Gear]:
    """Each gear once, ascending. Raises GearsearchError for what is no tag with a whole number of teeth."""
    return sorted({_gear(gear) for gear in gears})


def _gear(gear: object) -> Gear:
    if not isinstance(gear, tuple) or len(gear) != 2 or not isinstance(gear[0], str):
        raise GearsearchError(
            f"a gear cannot be {shown(gear)}", "give its kind of tooth with its teeth, as in ('', 57) or ('m2', 57)"
        )
    return gear[0], require.whole(gear[1], MOST_TEETH, "teeth")
