"""Gears as people name them: 60 for any gear of 60 teeth, 60@m2 for one of a kind of tooth where there are several."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable

from ..base.errors import GearsearchError
from ..base.require import is_whole
from ..base.units import shown

GearName = int | str
_OF_A_KIND = re.compile(r"([0-9]{1,9})@([\w.]+)")


def gear_names(value: object, what: str) -> tuple[GearName, ...]:
    """Gears as they are named: ints, or texts such as ``60@m2``.

    Parameters
    ----------
    value : any number of them
    what : what they are for, for the message

    Raises GearsearchError for anything else.
    """
    names = tuple(value) if isinstance(value, Iterable) and not isinstance(value, str) else (None,)
    if not all(is_whole(name) or (isinstance(name, str) and _OF_A_KIND.fullmatch(name)) for name in names):
        raise GearsearchError(
            f"{what}: {shown(value)} is no list of gears",
            "give them in a list, as in [40] or ['40@m2']",
            code="not-whole",
        )
    return tuple(name if isinstance(name, str) else int(name) for name in names)


def parts_of(name: GearName) -> tuple[int, str]:
    """The tooth count of a named gear, and its kind of tooth; empty for any kind."""
    if isinstance(name, int):
        return name, ""
    teeth, _, kind = name.partition("@")
    return int(teeth), kind


def taken(missing: Counter[GearName], teeth: int, kind: str, owned: int) -> int:
    """How many of the gears of one size are among those missing, of which they are counted off.

    Those named with their kind go first: for the others a gear of another kind may be left.
    """
    gone = 0
    for name in (f"{teeth}@{kind}", teeth):
        some = min(owned - gone, missing[name])
        missing[name] -= some
        gone += some
    return gone
