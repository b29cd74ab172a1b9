"""Gears as people name them: 60 for any gear of 60 teeth, 60@m2 for one of a kind of tooth where there are several.

A joined piece is named by both its gears: 60+30, 60+30@m2.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable

from ..base.errors import GearsearchError
from ..base.require import is_whole
from ..base.units import shown

GearName = int | str
_OF_A_KIND = re.compile(r"([0-9]{1,9})@([\w.]+)")
_PIECE = re.compile(r"([0-9]{1,9})\+([0-9]{1,9})(?:@([\w.]+))?")


def gear_names(value: object, what: str, *, pieces: bool = False) -> tuple[GearName, ...]:
    """Gears as they are named: ints, or texts such as ``60@m2``.

    Parameters
    ----------
    value : any number of them
    what : what they are for, for the message
    pieces : whether joined pieces may be among them, as ``60+30``

    Raises GearsearchError for anything else.
    """
    names = tuple(value) if isinstance(value, Iterable) and not isinstance(value, str) else (None,)
    texts = [name for name in names if not is_whole(name)]
    if not all(isinstance(name, str) and (_OF_A_KIND.fullmatch(name) or (pieces and is_piece(name))) for name in texts):
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
    return int(teeth.partition("+")[0]), kind


def is_piece(name: GearName) -> bool:
    """Whether a name is that of a joined piece, ``60+30``."""
    return isinstance(name, str) and _PIECE.fullmatch(name) is not None


def pieces_left(
    joined: Iterable[tuple[int, int]], kind: str, missing: Counter[GearName]
) -> tuple[tuple[int, int], ...]:
    """The joined pieces of one kind of tooth without those missing, which are counted off."""
    left = []
    for piece in joined:
        names = [name for name in missing if missing[name] and _is_of(name, piece, kind)]
        if names:
            missing[max(names, key=lambda name: "@" in str(name))] -= 1  # as in ``taken``
        else:
            left.append(piece)
    return tuple(left)


def _is_of(name: GearName, piece: tuple[int, int], kind: str) -> bool:
    """Whether a name is that of a joined piece of a kind of tooth, its gears in either order."""
    found = _PIECE.fullmatch(str(name))
    if found is None or found[3] not in (None, kind):
        return False
    return sorted(piece) == sorted((int(found[1]), int(found[2])))


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
