"""What ``divide`` answers: which way of spacing the work is taken, and what must be known with it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace
from fractions import Fraction
from math import floor

from ..base import require
from ..base.errors import GearsearchError
from ..base.facts import Note
from ..base.units import format_angle, mixed, significant
from ..mounting.placement import placement_lines
from ..shop.head import MOST_HOLES, Dividing
from ..shop.machine import Route
from ..shop.shop import Shop
from ..shop.trains import Train
from . import ramps
from .answer import Divided
from .differential import ROUTE, Differential, NamesOfHead, differentials, nearest_differentials
from .indexing import (
    MOST_DIVISIONS,
    Combined,
    Movement,
    Spacing,
    Step,
    crank_turns,
    crank_turns_of_angle,
    error_words,
    head_of,
    nearest_combined,
    spacings,
)
from .places import least_off_deg
from .teeth import ByTeeth, opening

ONE_WAY = Note("one-way", "come up to every hole the same way; if you overshoot, back off and come up again")
COUNT_FIRST = Note(
    "count-first", "scribe every division lightly on the blank first, and count the marks before the first cut"
)
ARMS = Note("arms", "the sector arms span one hole more than the spaces moved: the pin's own hole is counted")
_COMBINED = Note(
    "combined",
    "combined movements are easily miscounted, so mark every division: the back pin stands in the second circle and "
    "locks the plate while the crank goes by the first; then plate and crank turn together by the second, counted at "
    "the back pin; arms that count both are set again each time",
)
_BACK = Note(
    "back",
    "after each movement back go well past the hole and come up to it forwards, as for the first cut: else the "
    "backlash of the worm is in the spacing (common practice, no source)",
)
ONLY_NEAREST = Note("only-nearest", "no circle is exact: these are the nearest")
_BY_TWO = Note("two-circles", "no single circle is exact, two together are; the nearest on one circle stand below")
_NEARER_BY_TWO = Note(
    "only-nearest", "no circle is exact: two together come nearest; the nearest on one circle stand below"
)
_RULE = "checked by the rule of thumb alone, which doesn't check reach"
_GEARED = (
    Note(
        "gears-from-spindle",
        "gears are named from the spindle (the first driver) to the plate; plate lock out, or nothing turns",
    ),
    Note(
        "idlers",
        "idlers turn the plate the right way and may be of any size that reaches; turn the crank by hand and look",
    ),
)
_NO_GEARS = Note("no-differential", "this head can't be geared differentially: the shop file says differential = false")
_NO_HELIX = Note("no-helix", "you can't cut a helix while indexing differentially")


def of_divisions(shop: Shop, divisions: int, count: int = 5, *, nearest: bool = False) -> Divided:
    """Divisions of the whole turn: plain, else differential with the shop's own gears, else the nearest plain.

    Parameters
    ----------
    shop : its head and its gears
    divisions : 1 to 100 000
    count : how many ways at the most, 1 to 1000
    nearest : where no way is exact, also look for the differential trains that come nearest

    A head that cannot be geared differentially is answered by plain and combined movements alone.
    Raises GearsearchError for divisions or a count out of range, without a dividing head, and where the nearest trains
    are asked of a head that takes none.
    """
    turns = crank_turns(head_of(shop), divisions)
    heading = (*head_lines(shop), f"{counted(divisions, 'division')}: {_turns(turns)} of the crank for each")
    found = _ways(shop, turns, divisions, count)
    if not head_of(shop).differential:
        if nearest:
            raise GearsearchError("this head takes no gears, so there are no nearest trains", _NO_GEARS.text)
        return _of_spacings(shop, heading, found, *([] if found[0].exact else [_NO_GEARS]))
    if isinstance(found[0].step, Movement) and found[0].exact:
        return _of_spacings(shop, heading, found)
    answers = differentials(shop, divisions, count=count)
    if any(answer.mounts != "no" for answer in answers):
        return _of_differentials(shop, heading, answers, found[0])
    if found[0].exact:
        return _of_spacings(shop, heading, found)
    near = nearest_differentials(shop, divisions, count=count) if nearest else []
    if near:
        return _of_differentials(shop, heading, near, found[0])
    return _of_spacings(shop, heading, found, *_without_gears(answers, divisions, nearest))


def of_angle(shop: Shop, angle_deg: Fraction, repeats: int = 1, count: int = 5) -> Divided:
    """Spaces of one angle: exact or nearest circle and holes, and what builds up over the repeats.

    Parameters
    ----------
    shop : whose head turns the work
    angle_deg : the angle of one space [degrees], exact, above 0° and up to 360°
    repeats : how many such spaces are cut, 1 to 100 000
    count : how many ways at the most, 1 to 1000

    Returns the ways, exact ones first, else the nearest. Raises GearsearchError for an angle, repeats or a count out of
    range, for an angle that is neither int nor Fraction, and without a dividing head.
    """
    turns = crank_turns_of_angle(head_of(shop), angle_deg)
    heading = (*head_lines(shop), f"an angle of {format_angle(angle_deg)}: {_turns(turns)} of the crank")
    return _of_spacings(shop, heading, _ways(shop, turns, repeats, count))


def while_geared(shop: Shop, starts: int, route: str, train: Train | None, count: int = 5) -> Divided:
    """Starts or flutes while the head is geared for a helix: plain indexing, or by the teeth of the last gear.

    With the worm in the train only plain indexing is left: the plate turns with the train, and a head geared for
    a helix cannot be geared differentially (Brown & Sharpe 1914, p. 55). Straight on the spindle the worm is out
    of mesh, and the last gear is advanced by teeth / starts (same, p. 63); by gears to the spindle, by as many times
    more as it turns oftener.

    Parameters
    ----------
    shop : a mill with a dividing head
    starts : how many starts or flutes
    route : name of the route that the helix is geared by
    train : the train that is on; needed for a route without the worm
    count : how many ways at the most

    Raises GearsearchError for what is impossible, with the reason.
    """
    require.instance(train, Train, "train", "read it with Train.parse('72/24')")
    way = shop.route(route)
    machine = shop.machine
    if not machine.has_head:
        raise GearsearchError(
            f"{shop.name} is a {machine.kind}, and its starts are not indexed by a dividing head",
            f"advance the {machine.work_gear} by its teeth × its turns for one of the {machine.work} / starts, here × "
            f"{way.ratio} / {starts}, with the train out of mesh",
        )
    starts = require.whole(starts, MOST_DIVISIONS, "starts")
    if not machine.by_teeth(way, shop.dividing):
        return _by_crank(shop, starts, way, count)
    if train is None:
        raise GearsearchError(
            f"by the route {route} the starts are indexed by the teeth of the last gear, and no train is given",
            "give it with --train, as in --train 72/24",
        )
    return _by_teeth(shop, starts, way, shop.tagged(train))


def _by_crank(shop: Shop, starts: int, route: Route, count: int) -> Divided:
    head = head_of(shop)
    found = spacings(head, crank_turns(head, starts), starts, count)
    if not found[0].exact:
        raise GearsearchError(
            f"no circle of this head divides {starts}, and a head geared for a helix cannot be geared differentially "
            "too",
            "; ".join(
                [
                    _circle_for(found[0]),
                    f"the nearest here is {_told(found[0])}",
                    *(f"gearsearch divide {starts} --table: {words}" for words in _by_table(head, found[0])),
                ]
            ),
        )
    heading = (
        *head_lines(shop),
        f"{counted(starts, 'start')} while geared by the route {route.label}: plain indexing only",
    )
    notes = [
        Note(
            "plate-unlocked", "leave the plate unlocked while cutting; index by pulling the pin, with the train at rest"
        )
    ]
    if route.ratio != head.ratio and not shop.machine.ratio_doubt(route, head):
        doubt = (
            f"the route's ratio {mixed(route.ratio)}:1 is not the head's: see that the crank turns the work "
            f"{mixed(head.ratio)}:1"
        )
        notes.append(Note("other-ratio", doubt))
    return _of_spacings(shop, heading, found, *notes)


def _by_teeth(shop: Shop, starts: int, route: Route, train: Train) -> Divided:
    machine, gear = shop.machine, shop.machine.work_gear
    teeth = machine.work_teeth(train)
    around = teeth * machine.work_turns(route)  # teeth that go by in a turn of the work
    if (around / starts).denominator > 1:
        good = ", ".join(str(n) for n in range(2, floor(around) + 1) if (around / n).denominator == 1)
        is_fixed = any(gears.fixed.get(machine.work_side) == teeth for gears in shop.gears)
        multiple = machine.multiple(route, starts)
        yours = sorted({owned for gears in shop.gears for owned in gears.teeth if owned % multiple == 0})
        which = f": {' or '.join(map(str, yours))}" if yours else ", which this box has not"
        other = f"take a {gear} whose count is a multiple of {multiple}{which}"
        raise GearsearchError(
            f"{starts} starts cannot be indexed by the {teeth} teeth of the {gear} of {train}",
            f"{f'the {teeth} cannot come off' if is_fixed else other}; {teeth} teeth index {good or 'none'}",
        )
    advance = int(around / starts)
    how = (
        "straight on the spindle"
        if route.ratio == 1
        else f"which turns the work {mixed(route.ratio)}:1 without the worm"
    )
    heading = (shop.heading, f"{counted(starts, 'start')} while geared by the route {route.label}, {how}")
    opened = opening(shop, route, train, advance)
    notes = (
        Note(
            "by-teeth",
            f"{opened.mark}; {opened.turn}, and do so {counted(starts, 'time')} in all: "
            "the work has then gone round once",
        ),
        Note("table-still", "do not move the table while gears are out of mesh"),
        COUNT_FIRST,
    )
    return Divided(heading, (ByTeeth(teeth, advance, opened),), notes, exact=True)


def of_ramp(
    shop: Shop,
    ramp: ramps.Ramp,
    diameter_mm: Fraction | None = None,
    face_deg: Fraction | None = None,
) -> Divided:
    """The numbered table of a stepped ramp or ratchet.

    Parameters
    ----------
    shop : whose head turns the work
    ramp : its lead and its steps
    diameter_mm, face_deg : where an undercut tooth is measured [mm] and how far its face leans [degrees]; both or none

    Raises GearsearchError as ``ramps.table`` and ``ramps.tooth_depth_mm``.
    """
    if (diameter_mm is None) != (face_deg is None):
        raise GearsearchError(
            "the depth of an undercut tooth needs its face angle and its diameter",
            "give --undercut and --diameter, or none",
        )
    steps = ramps.table(shop, ramp)
    worst = max(abs(step.off_deg) for step in steps)
    heading = (
        *head_lines(shop),
        f"{counted(ramp.steps, 'step')} of {format_angle(ramp.step_deg)}, {format_angle(ramp.total_deg)} in all, "
        f"on the {steps[0].crank.circle} circle",
    )
    notes = (
        *ramps.notes(shop, ramp, diameter_mm, face_deg),
        Note(
            "from-the-start",
            "turns and holes: from the step before; in all, hole, angle, along the axis: counted from the start, "
            "from the exact total, so that rounding never builds up",
        ),
        Note(
            "error",
            "every step is exact" if worst == 0 else f"no hole is more than {significant(60 * worst, 2)}′ off",
        ),
        *ramps.changing_holes(steps),
        ONE_WAY,
        COUNT_FIRST,
    )
    return Divided(heading, tuple(steps), notes, worst == 0, shop.units)


def head_lines(shop: Shop) -> tuple[str, ...]:
    """Whose shop, what speaks against its head, and what a turn of the crank is."""
    head = head_of(shop)
    degrees, machine = format_angle(360 / head.ratio), shop.machine
    doubts = (f"!! {doubt}" for route in machine.routes if (doubt := machine.ratio_doubt(route, head)))
    ratio = f"dividing head {mixed(head.ratio)}:1, one turn of the crank is {degrees} of the work"
    return shop.heading, *doubts, ratio


def counted(number: int, thing: str) -> str:
    """So many of a thing, in words: ``1 division``."""
    return f"{number} {thing}{'' if number == 1 else 's'}"


def _circle_for(spacing: Spacing) -> str:
    """Which circle would be exact, in words."""
    return f"a circle of {spacing.wanted.denominator} holes, or of a multiple, would be exact"


def _by_table(head: Dividing, nearest: Spacing) -> Iterator[str]:
    """That nothing builds up where every place is counted from the total, with how near it comes; else nothing."""
    off = least_off_deg(head, nearest.wanted * nearest.degrees_a_turn, nearest.repeats)
    if off is not None and off < abs(nearest.built_up_deg):
        yield f"counted from the exact total, no place is more than {significant(60 * off, 2)}′ off"


def _told(spacing: Spacing) -> str:
    return f"{spacing.step}: {error_words(spacing.error_deg, spacing.repeats)}"


def _turns(turns: Fraction) -> str:
    return f"{mixed(turns)} turn{'' if turns <= 1 else 's'}"


def _ways(shop: Shop, turns: Fraction, repeats: int, count: int) -> list[Spacing]:
    """Plain ways; where none is exact a combined one that comes nearer stands before them."""
    found = spacings(head_of(shop), turns, repeats, count)
    if found[0].exact:
        return found
    combined = nearest_combined(head_of(shop), turns, repeats)
    if combined is None or abs(combined.error_deg) >= abs(found[0].error_deg):
        return found
    return [combined, *found]


def combined_notes(steps: Iterable[Step]) -> list[Note]:
    """What must be known of those movements that take two circles."""
    combined = [step for step in steps if isinstance(step, Combined)]
    return [_COMBINED] * bool(combined) + [_BACK] * any(step.back for step in combined)


def _of_spacings(shop: Shop, heading: tuple[str, ...], found: list[Spacing], *more: Note) -> Divided:
    notes = [*more]
    plain = found[-1]
    if not isinstance(found[0].step, Movement):
        notes.insert(0, _BY_TWO if found[0].exact else _NEARER_BY_TWO)
    elif not found[0].exact:
        notes.insert(0, ONLY_NEAREST)
    if not found[0].exact:
        notes += [Note("ask-table", f"--table: {words}") for words in _by_table(head_of(shop), found[0])]
    notes += combined_notes([spacing.step for spacing in found])
    if not plain.exact and plain.wanted.denominator <= MOST_HOLES:
        notes.append(Note("circle-needed", _circle_for(plain)))
    notes += [*_arms(found), ONE_WAY, COUNT_FIRST]
    return Divided(heading, tuple(found), tuple(notes), any(spacing.exact for spacing in found))


def _arms(found: list[Spacing]) -> tuple[Note, ...]:
    """How the sector arms are set, where any way counts holes."""
    whole = all(isinstance(way.step, Movement) and not way.step.holes for way in found)
    return () if whole else (ARMS,)


def _placed(shop: Shop, first: Differential) -> Note:
    assert first.placement is not None
    lines = placement_lines(first.placement, NamesOfHead(shop, ROUTE, first.train.studs))
    return Note("placed", f"{first.train}: " + "; ".join([*lines, first.placement.tightest]))


def _without_gears(answers: list[Differential], divisions: int, nearest: bool) -> list[Note]:
    """What became of the differential trains where only the nearest plain movement is left."""
    said = Note(
        "no-train", f"{divisions} divisions by differential indexing: no train of 1 or 2 pairs of these gears is exact"
    )
    if answers:
        worst = answers[0]
        said = Note(
            "no-clearance",
            f"the gears {worst.train} with {worst.movement} would be exact, but do not clear: {worst.why}",
        )
    more = Note("ask-nearest", "add --nearest for the differential trains that come nearest")
    return [said] if nearest else [said, more]


def _of_differentials(shop: Shop, heading: tuple[str, ...], answers: list[Differential], plain: Spacing) -> Divided:
    exact = answers[0].exact
    first = "with these gears each is" if exact else "nor is any train of these gears: these are the nearest"
    nearer = not exact and abs(plain.built_up_deg) < abs(answers[0].built_up_deg)
    notes = (
        Note("by-gears" if exact else "only-nearest", f"no hole circle is exact alone; {first}"),
        *_GEARED,
        *_judged(shop, answers[0]),
        Note(
            "nearer-without-gears" if nearer else "without-gears",
            f"without gears{'' if plain.exact else ' the nearest is'} {_told(plain)}",
        ),
        _NO_HELIX,
        ARMS,
        ONE_WAY,
        COUNT_FIRST,
    )
    return Divided(heading, tuple(answers), notes, exact)


def _judged(shop: Shop, first: Differential) -> list[Note]:
    """What the mounting was judged by, and what was not; where the studs of the first set-up go."""
    head = head_of(shop)
    if head.has_geometry:
        return [] if first.placement is None else [_placed(replace(shop, quadrant=head.quadrant), first)]
    quadrant = "; the quadrant of the shop file is that between table and head, not that between spindle and plate"
    said = [Note("rule", _RULE + (quadrant if shop.quadrant is not None else ""))]
    if any(gears.only_on for gears in shop.gears):
        bores = 'bores: "first" is read as the spindle here, "last" as the plate; see that the gears go on'
        said.append(Note("bores", bores))
    return said
