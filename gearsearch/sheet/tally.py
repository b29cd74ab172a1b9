"""The divisions of a job, numbered and to be ticked off: where crank and pin stand for each."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from ..base.errors import GearsearchError
from ..base.facts import Heading, Table
from ..base.units import decimals
from ..dividing.indexing import Movement, crank_turns, exact_movements
from ..dividing.teeth import opening, told
from ..search.checked import CheckResult

FEWEST_ROWS, MOST_ROWS = 4, 150


@dataclass(frozen=True, slots=True)
class Tally:
    """Every division in the order in which it is cut.

    Parameters
    ----------
    title : what is divided, and how
    table : a row for each division; the last column is left empty for a tick
    """

    title: str
    table: Table


def tally_of(checked: CheckResult) -> Tally | None:
    """The divisions of a job that is indexed exactly while geared; None for few, for too many, and where none is exact.

    Through the worm the crank moves the same turns and holes each time, and the pin's hole of the circle tells
    whether one was miscounted: it comes back to the first after the last. Whole turns are counted up. Straight on
    the spindle the last gear moves on by teeth / divisions.
    """
    divisions, shop = checked.wanted.divisions if checked.wanted else 1, checked.shop
    if not FEWEST_ROWS <= divisions <= MOST_ROWS or not shop.machine.has_head:
        return None
    if shop.machine.by_teeth(checked.route, shop.dividing):
        return _by_teeth(divisions, checked)
    head = shop.dividing
    if head is None:
        return None
    exact = exact_movements(head, crank_turns(head, divisions))
    return _by_crank(divisions, exact[0]) if exact else None


def _by_crank(divisions: int, move: Movement) -> Tally:
    rows = []
    for number in range(divisions + 1):
        place = number * move.holes % move.circle if move.circle else number * move.turns
        name = str(number + 1) if number < divisions else "1 again"
        rows.append((name, _angle(number, divisions), str(place), ""))
    head = f"pin in hole of the {move.circle}" if move.circle else "turns in all"
    return Tally(f"{divisions} divisions, {move} each time", _table(head, rows))


def _by_teeth(divisions: int, checked: CheckResult) -> Tally | None:
    """By the gear that turns with the work, whichever mesh is opened."""
    train = checked.fit.train
    teeth = checked.shop.machine.work_teeth(train)
    advance = teeth * checked.shop.machine.work_turns(checked.route) / divisions
    if advance.denominator > 1:
        return None
    try:
        opening(checked.shop, checked.route, train, int(advance))
    except GearsearchError:
        return None
    names = [*map(str, range(1, divisions + 1)), "1 again"]
    rows = [(name, _angle(n, divisions), str(n * advance), "") for n, name in enumerate(names)]
    gear = checked.shop.machine.work_gear
    title = f"{divisions} divisions, the {gear}, {teeth}, on by {told(int(advance), teeth)} each time"
    return Tally(title, _table("teeth from the mark", rows))


def _table(place: str, rows: Sequence[tuple[str, ...]]) -> Table:
    figures = (Heading(short, right=True) for short in ("no.", "from the first", place))
    return Table((*figures, Heading("cut")), tuple(rows))


def _angle(number: int, divisions: int) -> str:
    return f"{decimals(Fraction(360 * number, divisions), 3)}°"
