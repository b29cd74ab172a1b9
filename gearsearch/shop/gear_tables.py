"""The ``[[gears]]`` tables of a shop file: which gears there are, of which kinds of tooth, and where each may go."""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import dataclass, replace
from fractions import Fraction

from ..base.units import INCH_MM
from . import fields
from .fields import Reader, Table, Wrong, shown
from .gears import (
    ENDS,
    LEAST_PRESSURE_DEG,
    LEAST_TEETH,
    MOST_PIECES,
    MOST_PRESSURE_DEG,
    MOST_TEETH,
    PLACES,
    GearSet,
    Kind,
)

KEYS = ("module", "diametral_pitch", "pressure_angle", "teeth", "joined", "fixed", "only_on")
MOST_GEARS = 2000
TEETH = fields.whole(LEAST_TEETH, MOST_TEETH)
_USUAL_ANGLE = Fraction(20)
_TOO_ALIKE = Fraction(1, 100_000)  # kinds whose modules differ by less than this part are one kind


@dataclass(slots=True)
class _Draft:
    """One table as read, with what the kinds are named by, and how many gears it has, misread ones included."""

    table: Table
    pitch: str
    label: str
    gears: GearSet
    count: int


def read_gears(tables: list[Table], unit: str, problems: list[str]) -> tuple[GearSet, ...]:
    """The gears of every ``[[gears]]`` table, kinds tagged where there are several.

    Parameters
    ----------
    tables : the tables, in the file's order
    unit : unit of a bare length, ``mm`` or ``in``
    problems : the list that mistakes are added to
    """
    begun = len(problems)
    drafts = [_draft(table, unit, several=len(tables) > 1) for table in tables]
    if len(problems) == begun:
        _check_kinds(drafts)
        _check_fixed(drafts)
        _check_counts(drafts, problems)
    return tuple(replace(draft.gears, kind=_tagged(draft, drafts)) for draft in drafts)


def _draft(table: Table, unit: str, *, several: bool) -> _Draft:
    module_mm, pitch, label = _pitch(table, unit)
    angle = fields.angle(LEAST_PRESSURE_DEG, MOST_PRESSURE_DEG)
    if several:
        # a gear of 14.5° runs badly with one of 20°, so with several kinds it is never assumed
        pressure_angle = table.need("pressure_angle", angle, _USUAL_ANGLE)
    else:
        pressure_angle = table.get("pressure_angle", angle, _USUAL_ANGLE)
    teeth, joined, fixed = table.items("teeth", TEETH, least=0), table.items("joined", fields.two(TEETH)), _fixed(table)
    gears = GearSet(
        kind=Kind(module_mm, pressure_angle),
        teeth=tuple(sorted(teeth)),
        joined=joined,
        fixed={place: count for place, count in fixed.items() if count is not None},
    )
    if table.sound and not gears.available():
        table.note("teeth", f"there is no gear in this table; give {TEETH.allowed} for each gear, as in [24, 24, 40]")
    gears = replace(gears, only_on=_only_on(table, gears))
    count = len(teeth) + 2 * len(joined) + len(fixed)
    return _Draft(table, pitch, f"{label}, {plain(pressure_angle)}°", gears, count)


def _pitch(table: Table, unit: str) -> tuple[Fraction, str, str]:
    """Module in mm, and the kind's pitch for tag and label."""
    both = [key for key in ("module", "diametral_pitch") if key in table]
    if len(both) == 2:
        table.note("diametral_pitch", "is given as well as module; allowed: one of the two")
    if "diametral_pitch" in table:
        pitch = table.get("diametral_pitch", fields.ratio(Fraction(1), 200, "diametral_pitch = 20"), Fraction(20))
        return INCH_MM / pitch, f"dp{plain(pitch)}", f"diametral pitch {plain(pitch)}"
    example = 'module = "1.5 mm", or else diametral_pitch = 20'
    module_mm = table.need("module", fields.length(unit, "0.1 mm", "25 mm", example), Fraction(1))
    return module_mm, f"m{plain(module_mm)}", f"module {plain(module_mm)} mm"


def _fixed(table: Table) -> dict[str, int | None]:
    """The gear fixed on each shaft that has one; None where it is misread."""
    inner = table.inner("fixed", ENDS)
    return {place: inner.get(place, TEETH, None) for place in ENDS if place in inner}


def _only_on(table: Table, gears: GearSet) -> dict[int, frozenset[str]]:
    values = table.values.get("only_on", {})
    if not isinstance(values, dict):
        table.note("only_on", f'{shown(values)} is not a table; allowed: a table such as {{ 127 = ["first"] }}')
        return {}
    owned = sorted(gears.available()) if table.sound else None
    inner = Table(values, f"{table.place}, only_on", table.problems, tuple(values))
    read = {
        int(key): frozenset(inner.items(key, _place_of(int(key), gears)))
        for key in inner.values
        if _is_owned(key, owned, inner)
    }
    return read if table.sound else {}


def _is_owned(key: str, owned: list[int] | None, inner: Table) -> bool:
    """Whether the key is the tooth count of a gear of this table; any count will do where its gears are not known."""
    counts = re.fullmatch("[1-9][0-9]{0,4}", key)
    if counts and (owned is None or int(key) in owned):
        return True
    listed = ", ".join(map(str, owned or ())) or TEETH.allowed
    inner.note(key, f"there is no gear of {key[:20]} teeth in this table; allowed: {listed}")
    return False


def _place_of(teeth: int, gears: GearSet) -> Reader[str]:
    """A place; for a gear that is fixed somewhere the place where it is."""
    places = fields.choice(*PLACES)
    stuck = next((place for place, count in gears.fixed.items() if count == teeth), None)

    def parse(value: object) -> str:
        place = places.parse(value)
        if stuck and place != stuck and gears.available()[teeth] == 1:
            raise Wrong(f"{shown(place)} cannot be, the {teeth} is fixed on the {stuck} shaft")
        return place

    return Reader(places.allowed, parse)


def _check_kinds(drafts: list[_Draft]) -> None:
    for number, draft in enumerate(drafts):
        for earlier, other in enumerate(drafts[:number], 1):
            if _alike(draft.gears.kind, other.gears.kind):
                draft.table.note("", f"{draft.label} is the same kind of tooth as no. {earlier}; put them in one table")


def _alike(one: Kind, other: Kind) -> bool:
    apart = abs(one.module_mm / other.module_mm - 1)
    return apart < _TOO_ALIKE and abs(one.pressure_angle_deg - other.pressure_angle_deg) < Fraction(1, 100)


def _check_fixed(drafts: list[_Draft]) -> None:
    seen: dict[str, int] = {}
    for number, draft in enumerate(drafts, 1):
        for place, teeth in draft.gears.fixed.items():
            if place in seen:
                draft.table.note(
                    "fixed",
                    f"{place} = {teeth}, but no. {seen[place]} has a gear fixed there already; take one of the two out",
                )
            seen.setdefault(place, number)
            if draft.count < 2:
                draft.table.note(
                    "fixed",
                    f"the {teeth} fixed on the {place} shaft can mesh with nothing; add a gear of {draft.label}",
                )


def _check_counts(drafts: list[_Draft], problems: list[str]) -> None:
    owned = [draft.count for draft in drafts]
    if owned and max(owned) < 2:
        problems.append(
            f"[[gears]]: {'one gear makes' if sum(owned) == 1 else 'gears of different kinds make'} no pair; "
            "give at least two gears of one kind of tooth"
        )
    if sum(owned) > MOST_GEARS:
        problems.append(f"[[gears]]: {sum(owned)} gears in all; allowed: at most {MOST_GEARS}")
    pieces = sum(len({tuple(sorted(piece)) for piece in draft.gears.joined}) for draft in drafts)
    if pieces > MOST_PIECES:
        problems.append(f"[[gears]]: {pieces} kinds of joined pieces in all; allowed: at most {MOST_PIECES}")


def _tagged(draft: _Draft, drafts: list[_Draft]) -> Kind:
    """The kind with its tag: none where it is the only one, the pressure angle too where pitches are shared."""
    kind = draft.gears.kind
    pitches = Counter(other.pitch for other in drafts)
    tag = draft.pitch if len(drafts) > 1 else ""
    if pitches[draft.pitch] > 1:
        tag += f"a{plain(kind.pressure_angle_deg)}"
    return replace(kind, tag=tag, label=draft.label)


def plain(number: Fraction) -> str:
    """A number with six figures at the most."""
    return f"{float(number):.6g}"
