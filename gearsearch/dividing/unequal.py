"""Spaces that differ, for the teeth of reamers and cutters: they chatter less than equal ones.

Each space is wider than the last by about the same angle. With opposite teeth paired the row goes round twice, half a
turn each time, so that the diameter can be measured over two teeth; else it goes round once. From memory: hand reamers
of 8 teeth have 42°, 44°, 46° and 48°, twice round.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from math import ceil, floor

from ..base import require
from ..base.errors import GearsearchError
from ..base.units import decimals, text_of_angle
from ..shop.head import Dividing
from .indexing import MOST_DIVISIONS


def unequal_holes(head: Dividing, teeth: int, difference_deg: Fraction, *, paired: bool) -> tuple[int, list[int]]:
    """The circle, and the holes of it from each tooth to the next round the whole turn.

    Parameters
    ----------
    head : its ratio and circles
    teeth : how many, at least 2
    difference_deg : by about how much each space is wider than the last [degrees]
    paired : whether every tooth has one exactly opposite

    All spaces of a row differ, by whole holes; where these do not come out even the widest ones are a hole wider. The
    circle is that on which no difference is farther from the wanted one, then that of the fewest holes.
    Raises GearsearchError for numbers out of range, an odd number of teeth that is to be paired, a difference that
    would leave the narrowest space less than half of an equal one, and where no circle has room.
    """
    teeth = require.whole(teeth, MOST_DIVISIONS, "teeth", 2)
    (difference_deg,) = require.exact({"difference of two spaces": difference_deg}, given=True)
    row = _in_a_row(teeth, paired)
    _refuse_too_different(teeth, row, difference_deg)
    wanted = difference_deg / 360
    found = list(_rows(head, row, wanted, 2 if paired else 1))
    if not found:
        raise GearsearchError(
            f"no circle of this head has holes for {row} spaces that all differ",
            "take fewer teeth" + (", or --unpaired" if paired and any(_rows(head, teeth, wanted, 1)) else ""),
        )
    _, circle, more, narrowest = min(found)
    holes = _holes(head, circle, row, 2 if paired else 1, more, narrowest)
    return circle, holes * (2 if paired else 1)


def _in_a_row(teeth: int, paired: bool) -> int:
    """How many spaces come before the row begins again."""
    if paired and teeth % 2:
        raise GearsearchError(f"{teeth} teeth cannot be paired", "give an even number, or leave them unpaired")
    if paired and teeth == 2:
        raise GearsearchError("two teeth that stand opposite are 180° apart", "give 4 or more, or --unpaired")
    return teeth // 2 if paired else teeth


def _refuse_too_different(teeth: int, row: int, difference_deg: Fraction) -> None:
    most = Fraction(360, teeth) / (row - 1)
    if not 0 < difference_deg <= most:
        raise GearsearchError(
            f"{teeth} spaces cannot differ by {text_of_angle(difference_deg)} each",
            f"give an angle above 0° and up to {decimals(Fraction(floor(most * 1000), 1000), 3)}°: the narrowest "
            "space is then half of an equal one",
            code="out-of-range",
        )


def _rows(head: Dividing, row: int, wanted: Fraction, rounds: int) -> Iterator[tuple[Fraction, int, int, int]]:
    """(farthest difference in turns of the work, circle, holes more, narrowest) of every circle with room."""
    for circle in head.circles:
        around = head.ratio * circle / rounds
        if around.denominator > 1:
            continue
        in_holes = wanted * head.ratio * circle
        for more in sorted({max(1, floor(in_holes)), max(1, ceil(in_holes))}):
            narrowest, wider = divmod(int(around) - more * row * (row - 1) // 2, row)
            if narrowest >= 1:
                steps = {more + 1} if wider else {more}
                steps |= {more} if row > 2 else set()
                off = max(abs(each - in_holes) for each in steps)
                yield off / (head.ratio * circle), circle, more, narrowest


def _holes(head: Dividing, circle: int, row: int, rounds: int, more: int, narrowest: int) -> list[int]:
    holes = [narrowest + more * place for place in range(row)]
    wider = int(head.ratio * circle / rounds) - sum(holes)
    return [count + (place >= row - wider) for place, count in enumerate(holes)]
