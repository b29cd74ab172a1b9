"""What the search for a pair answers: two trains at a time, and how well the two gears will mesh."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING, Any

from ..base.document import Block, Document
from ..base.facts import Column, Note, Record, Table
from ..base.showing import Answering
from ..base.units import (
    OTHER_UNIT,
    decimals,
    format_angle,
    format_both,
    format_length,
    significant,
    spaced,
)
from ..search.answers import asked_way
from ..search.solution import Solution
from ..search.solutions import FAR_OFF, clear_in_short, mounts_in_short, pairs_words, solution_record
from ..shop.machine import Route
from ..shop.overview import machine_lines, two_ratios
from ..shop.shop import Shop
from ..work.figures import helix_words
from ..work.helix import HelicalGear
from ..work.limits import Limits, mark
from ..work.spans import CUTTERS_DEG, span_note, span_of, span_words
from .meshing import HelicalPair, Meshing

if TYPE_CHECKING:
    from .request import PairRequest

KEYS = (
    *("angle", "rank", "exact", "mismatch_exact", "mismatch_minutes", "mismatch_um", "shared_error_ppm"),
    *("shared_minutes", "helix_angle_1_deg", "helix_angle_2_deg", "shaft_angle_deg", "centre_distance_mm"),
    *("train_1", "lead_1_mm", "lead_1_exact", "hand_1", "mounts_1"),
    *("train_2", "lead_2_mm", "lead_2_exact", "hand_2", "mounts_2", "route", "lever"),
)


@dataclass(frozen=True, slots=True)
class PairFit:
    """One answer: a train for each gear.

    Parameters
    ----------
    first, second : the trains of the two gears, each for its own hand
    mismatch : how far the leads are from the ratio of the teeth, exact and never below zero: the greater over the
        smaller of lead₁/z₁ and lead₂/z₂, less 1; on crossed shafts None, where the shaft angle is what counts
    shared : the error both share: the mean of the two errors, exact
    meshing : the angles and the centre distance that go with the leads
    """

    first: Solution
    second: Solution
    mismatch: Fraction | None
    shared: Fraction
    meshing: Meshing

    @property
    def fits(self) -> tuple[Solution, Solution]:
        """Both trains."""
        return self.first, self.second

    @property
    def exact(self) -> bool:
        """Whether the leads are in the exact ratio of the teeth, so that both gears have one helix angle."""
        return self.mismatch == 0

    @property
    def mounts(self) -> bool:
        """Whether both trains mount, or are not known not to."""
        return "no" not in (self.first.mounts, self.second.mounts)


@dataclass(frozen=True, slots=True, repr=False)
class PairAnswer(Answering):
    """What the search for a pair found.

    Parameters
    ----------
    request, shop, routes : what was asked, whose gears, by which ways
    searched : how many trains the box makes, by each of these ways; every one was considered for either gear
    fits : the answers for the angle as drawn, best first: least mismatch, then least shared error, then the fewest
        gears and idlers of both trains, then the most clearance, then the tooth counts
    moved : exact pairs with the helix angle moved, easiest first: fewest gears, fewest idlers, least move, most
        clearance, tooth counts; whether their leads are inside the tolerance is told against the angle as drawn
    windows_mm : shortest and longest lead searched for each gear [mm]
    notes : what else the machinist should know
    """

    request: PairRequest
    shop: Shop
    routes: tuple[Route, ...]
    searched: int
    fits: tuple[PairFit, ...]
    moved: tuple[PairFit, ...]
    windows_mm: tuple[tuple[Fraction, Fraction], tuple[Fraction, Fraction]]
    notes: tuple[Note, ...] = ()

    @property
    def found(self) -> bool:
        """Whether there is a pair of trains that mount."""
        return any(fit.mounts for fit in (*self.fits, *self.moved))

    keys = KEYS

    def rows(self) -> Iterator[Record]:
        """One row for each pair of trains; ``angle`` says whether the helix angle is as drawn or moved."""
        for angle, fits in (("drawn", self.fits), ("moved", self.moved)):
            for rank, fit in enumerate(fits, 1):
                yield {"angle": angle, "rank": rank} | _row(self.shop, fit)

    def record(self) -> Record:
        """The whole answer for programs; the keys are stable."""
        pair = self.request.pair
        return {
            "pair": _pair_record(pair),
            "shop": self.shop.name,
            "demo": self.shop.is_demo,
            **asked_way(self.routes),
            "searched": self.searched,
            "windows_mm": [[float(low), float(high)] for low, high in self.windows_mm],
            "fits": [fit_record(self.shop, fit) for fit in self.fits],
            "moved": [fit_record(self.shop, fit) for fit in self.moved],
            "notes": [note.record() for note in self.notes],
        }

    def table(self) -> Table:
        """The trains for the helix angle as drawn, two rows a pair."""
        return Table.of(_DRAWN if self.request.pair.fixed_mm is None else _FIXED, list(self._lines(self.fits)))

    def table_moved(self) -> Table:
        """The exact pairs with the helix angle moved, likewise."""
        return Table.of(_MOVED, list(self._lines(self.moved)))

    def _lines(self, fits: tuple[PairFit, ...]) -> Iterator[Line]:
        for number, fit in enumerate(fits, 1):
            yield from (Line(self, number, fit, place) for place in (0, 1))

    def document(self) -> Document:
        """The answer for people."""
        wanted, *more = _describe(self)
        searched = f"{spaced(self.searched)} trains of {pairs_words(self.request.terms.pairs)} checked for each gear"
        how = (self.shop.heading, *machine_lines(self.shop, *self.routes), f"all {searched}")
        blocks = []
        if self.fits:
            asked = "at this centre distance" if self.request.pair.fixed_mm else "for the helix angle as drawn"
            blocks.append(Block(f"{asked}, least mismatch first:", table=self.table()))
        if self.moved:
            title = "exact pairs with the helix angle moved, easiest first:"
            blocks.append(Block(title, table=self.table_moved()))
            blocks.append(Block(lines=("the blanks change with the angle: turn them to these outside diameters",)))
        refusals = (
            f"{number}, gear {place}: no, {train.why}"
            for number, fit in enumerate(self.fits, 1)
            for place, train in enumerate(fit.fits, 1)
            if train.mounts == "no"
        )
        blocks += [Block(lines=tuple(refusals)), Block(lines=how)]
        off = (FAR_OFF,) if any(train.is_off for fit in self.fits for train in fit.fits) else ()
        notes = (*self.notes, *_spans(self), *off)
        return Document(wanted, tuple(more), two_ratios(self.shop, *self.routes), tuple(blocks), notes)


@dataclass(frozen=True, slots=True)
class Line:
    """A train of a pair as a table has it.

    Parameters
    ----------
    answer : what it stands in
    number : of the pair, from 1
    pair_fit : both trains
    place : 0 for the first gear, 1 for the second
    """

    answer: PairAnswer
    number: int
    pair_fit: PairFit
    place: int

    @property
    def unit(self) -> str:
        """The shop's unit."""
        return self.answer.shop.units

    @property
    def fit(self) -> Solution:
        """The train."""
        return self.pair_fit.fits[self.place]

    @property
    def way(self) -> str:
        """The way that both trains go by; empty where there is but one."""
        return self.fit.way.label if len(self.answer.routes) > 1 else ""

    def once(self, words: str) -> str:
        """What is told of both trains, on the first one's line."""
        return "" if self.place else words


def _spans(answer: PairAnswer) -> Iterator[Note]:
    """What proves the depth of each gear's teeth, at the helix angle wanted."""
    pair, unit = answer.request.pair, answer.shop.units
    told = [(number, span_words(gear, unit, pair.face_mm)) for number, gear, _ in _gears(pair)]
    for number, words in told:
        if words:
            yield Note("span", f"gear {number}: {words}")
    if any(words for _, words in told):
        yield Note("span-too-long", span_note(pair.first.normal_module_mm, unit))


def _describe(answer: PairAnswer) -> list[str]:
    """Lines that say which pair is wanted."""
    pair, unit = answer.request.pair, answer.shop.units
    apart = f"centre distance {format_both(pair.centre_distance_mm, unit)}"
    if pair.shafts == "parallel":
        shafts = f"parallel shafts, {apart}{'' if pair.fixed_mm is None else ' as given'}"
    else:
        shafts = f"shafts crossed at {format_angle(pair.shaft_angle_deg)}, {apart}"
    face = "" if pair.face_mm is None else f", common face {format_both(pair.face_mm, unit)}"
    return [
        f"wanted: a helical pair of {pair.first.module_words}, {shafts}{face}",
        *_angle_line(pair),
        *(_gear_line(number, gear, hand, unit) for number, gear, hand in _gears(pair)),
    ]


def _angle_line(pair: HelicalPair) -> Iterator[str]:
    """Where the helix angle comes from, where the distance was given."""
    if pair.fixed_mm is not None:
        cosine = pair.first.normal_module_mm * (pair.first.teeth + pair.second.teeth) / (2 * pair.fixed_mm)
        yield (
            f"  cosine of the helix angle = normal module × ({pair.first.teeth} + {pair.second.teeth}) / twice the "
            f"centre distance = {decimals(cosine, 6)}"
        )


def _gears(pair: HelicalPair) -> Iterator[tuple[int, HelicalGear, str]]:
    yield 1, pair.first, pair.hands[0]
    yield 2, pair.second, pair.hands[1]


def _gear_line(number: int, gear: HelicalGear, hand: str, unit: str) -> str:
    hand = "either hand" if hand == "either" else f"{hand} hand"
    return (
        f"  gear {number}: {gear.teeth} teeth, {hand}, lead {format_both(gear.lead_mm, unit)}, "
        f"helix angle {format_angle(gear.helix_angle_deg)} at pitch diameter "
        f"{format_both(gear.pitch_diameter_mm, unit)}"
    )


def mismatch_words(fit: PairFit) -> str:
    """The mismatch for people: none, or minutes, and µm across the face where there is one."""
    if fit.exact:
        return "none"
    minutes = abs(fit.meshing.mismatch_deg) * 60
    said = f"{significant(minutes, 2)}′"
    if fit.meshing.mismatch_um is not None:
        said += f", {significant(abs(fit.meshing.mismatch_um), 2)} µm"
    return said


def _pair_record(pair: HelicalPair) -> Record:
    return {
        "normal_module_mm": float(pair.first.normal_module_mm),
        "shafts": pair.shafts,
        "shaft_angle_deg": float(pair.shaft_angle_deg),
        "centre_distance_mm": float(pair.centre_distance_mm),
        "centre_distance_fixed": pair.fixed_mm is not None,
        "face_mm": None if pair.face_mm is None else float(pair.face_mm),
        "gears": [_gear_record(gear, hand) for _, gear, hand in _gears(pair)],
    }


def _gear_record(gear: HelicalGear, hand: str) -> Record:
    return {
        "teeth": gear.teeth,
        "hand": hand,
        "helix_angle_deg": float(gear.helix_angle_deg),
        "pitch_diameter_mm": float(gear.pitch_diameter_mm),
        "lead_mm": float(gear.lead_mm),
        "lead_exact": str(gear.lead_mm),
        "spans": [
            {
                "pressure_angle_deg": float(angle),
                "teeth": span.teeth,
                "span_mm": float(span.span_mm),
                "least_face_mm": float(span.face_mm),
            }
            for angle in CUTTERS_DEG
            if (span := span_of(gear, angle)) is not None
        ],
    }


def fit_record(shop: Shop, fit: PairFit) -> dict[str, Any]:
    """One pair of trains for programs; the keys are stable."""
    meshing = fit.meshing
    return {
        "exact": fit.exact,
        "mismatch_exact": None if fit.mismatch is None else str(fit.mismatch),
        "mismatch_minutes": float(meshing.mismatch_deg * 60),
        "mismatch_um": None if meshing.mismatch_um is None else float(meshing.mismatch_um),
        "shared_error_exact": str(fit.shared),
        "shared_error_ppm": float(fit.shared * 1_000_000),
        "shared_minutes": float(meshing.shared_deg * 60),
        "helix_angles_deg": [float(angle) for angle in meshing.helix_angles_deg],
        "shaft_angle_deg": float(meshing.shaft_angle_deg),
        "pitch_diameters_mm": [float(diameter) for diameter in meshing.pitch_diameters_mm],
        "outside_diameters_mm": [float(diameter) for diameter in meshing.outside_diameters_mm],
        "centre_distance_mm": float(meshing.centre_distance_mm),
        "first": solution_record(shop, fit.first),
        "second": solution_record(shop, fit.second),
    }


def _row(shop: Shop, fit: PairFit) -> Record:
    """One pair of trains in a flat row."""
    row = fit_record(shop, fit)
    row |= {"route": row["first"]["route"], "lever": row["first"]["lever"]}
    for number, gear in ((1, "first"), (2, "second")):
        row[f"helix_angle_{number}_deg"] = row["helix_angles_deg"][number - 1]
        for key in ("train", "lead_mm", "lead_exact", "hand", "mounts"):
            name = key.replace("lead_", f"lead_{number}_") if key.startswith("lead_") else f"{key}_{number}"
            row[name] = row[gear][key]
    return row


def _move(line: Line) -> str:
    move = line.pair_fit.meshing.centre_distance_mm - line.answer.request.pair.centre_distance_mm
    return line.once("unchanged" if move == 0 else format_length(move, line.unit, signed=True))


def _distance(line: Line) -> str:
    return line.once(f"{format_length(line.pair_fit.meshing.centre_distance_mm, line.unit)}, {_move(line)}")


def _outside(line: Line) -> str:
    return format_length(line.pair_fit.meshing.outside_diameters_mm[line.place], line.unit)


def _error(line: Line) -> str:
    """How far a lead is off as a share, marked as in every list."""
    if line.fit.error == 0:
        return "exact"
    part = line.answer.request.pair.parts[line.place]
    share = Limits(part.interval_mm, part.lead_mm).relative(line.fit.lead_mm)
    return share + mark(line.fit.is_off, line.fit.within)


_NUMBER: Column[Line] = Column("", "no.", cell=lambda line: line.once(str(line.number)), right=True)
_TRAIN: tuple[Column[Line], ...] = (
    _NUMBER,
    Column("", "gear", cell=lambda line: str(line.place + 1)),
    Column("", "hand", cell=lambda line: line.fit.hand or "not known"),
    Column("", "train", cell=lambda line: str(line.fit.train)),
    Column("", "route", cell=lambda line: line.once(line.way)),
    Column("", "lead", cell=lambda line: format_length(line.fit.lead_mm, line.unit), weight=4, right=True),
    Column("", "or", cell=lambda line: format_length(line.fit.lead_mm, OTHER_UNIT[line.unit]), weight=1, right=True),
)
_ERROR: tuple[Column[Line], ...] = (
    Column("", "error", cell=_error),
    Column("", "mismatch", cell=lambda line: line.once(mismatch_words(line.pair_fit))),
)
_ANGLES: tuple[Column[Line], ...] = (
    Column("", "both angles", cell=lambda line: line.once(helix_words(line.pair_fit.meshing.shared_deg)), weight=2),
    Column(
        "",
        "helix angle",
        cell=lambda line: f"{decimals(line.pair_fit.meshing.helix_angles_deg[line.place], 4)}°",
        weight=3,
    ),
)
_APART: Column[Line] = Column("", "centre distance", cell=_distance, weight=2)
_SUITS: Column[Line] = Column("", "distance off", cell=_move)  # what suits the trains, less the fixed one
_MOUNTS: Column[Line] = Column("", "mounts", cell=lambda line: mounts_in_short(line.fit))
_CLEAR: Column[Line] = Column("", "clear", cell=lambda line: clear_in_short(line.fit, line.unit), weight=3, right=True)
_DRAWN = (*_TRAIN, *_ERROR, *_ANGLES, _APART, _MOUNTS, _CLEAR)
_FIXED = (*_TRAIN, *_ERROR, *_ANGLES, _SUITS, _MOUNTS, _CLEAR)
_MOVED = (*_TRAIN, *_ANGLES, _APART, Column("", "outside diameter", cell=_outside), _MOUNTS, _CLEAR)
