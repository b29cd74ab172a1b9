"""Tables of every place of the work: hole by hole, and in degrees for the dial of a rotary table."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from itertools import accumulate, pairwise

from ..base import require
from ..base.errors import GearsearchError
from ..base.facts import Note
from ..base.units import format_angle, mixed, significant
from ..shop.shop import Shop
from .answer import Divided
from .divided import COUNT_FIRST, ONE_WAY, combined_notes, counted, head_lines, of_divisions
from .indexing import (
    MOST_DIVISIONS,
    MOST_REPEATS,
    Combined,
    crank_turns,
    crank_turns_of_angle,
    head_of,
    nearest_combined,
)
from .places import (
    MOST_PLACES,
    Cut,
    Place,
    best_circle,
    cuts_of,
    equal_totals,
    places_by_two,
    places_of,
    refuse_staying,
)
from .telling import to_do
from .unequal import unequal_holes

_EXACT = Note("error", "every place is exact")
_FAR = Fraction(1, 10)  # of the difference that was asked for


def table_of_divisions(shop: Shop, divisions: int) -> Divided:
    """Every place of so many divisions of the whole turn, each from the exact running total.

    On the handiest circle that is exact, else by two circles that are exact together, else on the nearest circle.

    Parameters
    ----------
    shop : its head
    divisions : 1 to 10 000

    Raises GearsearchError for divisions out of range, without a dividing head, and for divisions so small that the pin
    would stay in its hole.
    """
    crank_turns(head_of(shop), require.whole(divisions, MOST_DIVISIONS, "divisions"))
    told = _equal(shop, Fraction(360, divisions), divisions, counted(divisions, "division"))
    return told if told.exact else replace(told, notes=(told.notes[0], _instead(shop, divisions), *told.notes[1:]))


def _instead(shop: Shop, divisions: int) -> Note:
    """The exact way of so many divisions where no hole circle is, for a page that hangs by the head."""
    found = of_divisions(shop, divisions)
    if not found.exact:
        return Note("no-exact-way", "no exact way was found with this head and its gears")
    return Note("exact-way", f"Exact instead: {to_do(found.ways[0])}. All of it: the same without --table")


def table_of_angle(shop: Shop, angle_deg: Fraction, repeats: int = 1) -> Divided:
    """Every place of so many spaces of one angle, each from the exact running total; as ``table_of_divisions``.

    Parameters
    ----------
    shop : its head
    angle_deg : the angle of one space [degrees], exact, above 0° and up to 360°
    repeats : how many such spaces, 1 to 10 000

    Raises GearsearchError as ``of_angle`` and ``table_of_divisions``.
    """
    crank_turns_of_angle(head_of(shop), angle_deg)
    repeats = require.whole(repeats, MOST_REPEATS, "repeats")
    return _equal(shop, Fraction(angle_deg), repeats, f"{counted(repeats, 'space')} of {format_angle(angle_deg)}")


def _equal(shop: Shop, step_deg: Fraction, count: int, what: str) -> Divided:
    if count > MOST_PLACES:
        raise GearsearchError(
            f"a table of {count} places is too long", f"give at most {MOST_PLACES}", code="out-of-range"
        )
    head = head_of(shop)
    circle, turns = best_circle(head, step_deg, count), head.ratio * step_deg / 360
    two = None if (turns * circle).denominator == 1 else nearest_combined(head, turns, count)
    if two is not None and two.exact and isinstance(two.step, Combined):
        return _by_two(shop, what, two.step, places_by_two(two.step, step_deg, count))
    totals = equal_totals(head, step_deg, count, circle)
    refuse_staying(head, step_deg, circle, totals, "space")
    angles = [step_deg * number for number in range(count + 1)]
    cuts = cuts_of(head, places_of(head, circle, angles, totals), equal=True)
    worst = max(abs(cut.off_deg) for cut in cuts)
    off = f"NOT EXACT: the nearest circle only, no place is more than {significant(60 * worst, 2)}′ off"
    error = _EXACT if worst == 0 else Note("only-nearest", off)
    uneven = len({cut.crank for cut in cuts[1:]}) > 1
    told = "the holes change: set the arms again, and check by the count from cut 1"
    notes = (error, *([Note("changing-holes", told)] if uneven else []))
    return _table(shop, f"{what} on the {circle} circle{', the nearest' if worst else ''}", cuts, notes)


def _by_two(shop: Shop, what: str, step: Combined, places: list[Place]) -> Divided:
    """Every place by two circles that are exact together."""
    cuts = cuts_of(head_of(shop), places, equal=True, by_two=step)
    told = (
        f"then: crank and plate together by so many holes of the {step.second.circle} circle, "
        f"{'back' if step.back else 'on'}; in all, hole: of the crank on the plate; "
        "back pin: its hole of that circle, counted that way from cut 1"
    )
    asked = f"{what} on the {step.first.circle} and the {step.second.circle} circle"
    return _table(shop, asked, cuts, (_EXACT, Note("second-circle", told), *combined_notes([step])))


def unequal_table(shop: Shop, teeth: int, difference_deg: Fraction, *, paired: bool | None = None) -> Divided:
    """Teeth of a reamer or cutter at spaces that differ, exact to the holes, their sum 360°.

    Parameters
    ----------
    shop : its head
    teeth : how many, 2 to 10 000
    difference_deg : by about how much each space is wider than the last [degrees], exact
    paired : whether each tooth has one exactly opposite; None: where their number is even

    Raises GearsearchError as ``unequal.unequal_holes`` and without a dividing head.
    """
    head = head_of(shop)
    teeth = require.whole(teeth, MOST_PLACES, "teeth", 2)
    pairs = teeth % 2 == 0 if paired is None else paired
    circle, holes = unequal_holes(head, teeth, difference_deg, paired=pairs)
    totals = [0, *accumulate(holes)]
    a_hole = 360 / head.ratio / circle
    places = places_of(head, circle, [total * a_hole for total in totals], totals)
    cuts = cuts_of(head, places, equal=False)
    row = holes[: teeth // 2] if pairs else holes
    opposite = "opposite teeth paired" if pairs else "no teeth paired"
    what = f"{teeth} teeth at spaces that differ by about {format_angle(difference_deg)}, {opposite}"
    return _table(shop, f"{what}, on the {circle} circle", cuts, _of_the_row(row, a_hole, difference_deg, pairs))


def _of_the_row(row: list[int], a_hole: Fraction, difference_deg: Fraction, paired: bool) -> tuple[Note, ...]:
    """What the spaces are and how they differ."""
    differences = sorted({(after - before) * a_hole for before, after in pairwise(row)})
    each = " or ".join(map(format_angle, differences))
    twice = ", twice round" if paired else ""
    notes = [
        Note("sum", "exact to the holes: the spaces make 360° in all"),
        Note(
            "spaces",
            f"spaces from {format_angle(row[0] * a_hole)} to {format_angle(row[-1] * a_hole)}{twice}, each wider than "
            f"the last by {each}",
        ),
    ]
    if max(abs(each - difference_deg) for each in differences) > _FAR * difference_deg:
        notes.append(
            Note(
                "coarse-holes", f"no circle of this head comes nearer to differences of {format_angle(difference_deg)}"
            )
        )
    return tuple(notes)


def _table(shop: Shop, asked: str, cuts: list[Cut], notes: tuple[Note, ...]) -> Divided:
    head = head_of(shop)
    how = (
        Note(
            "columns",
            "turns and holes: from the cut before; in all, hole: counted from cut 1, from the exact total, so that "
            "rounding never builds up",
        ),
        Note(
            "dial",
            f"dial: turns of the handwheel and what its dial reads, for a rotary table of {mixed(head.ratio)}:1, to "
            "the nearest second of the exact angle",
        ),
    )
    exact = all(cut.off_deg == 0 for cut in cuts)
    heading = (*head_lines(shop), asked)
    return Divided(heading, tuple(cuts), (*notes, *how, ONE_WAY, COUNT_FIRST), exact, shop.units)
