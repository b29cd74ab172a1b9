"""The rows of a chart as columns of whole numbers, packed into text that stands in a page.

A column of one kind of number is written byte by byte: first the lowest byte of every row, then the next. Alike bytes
stand together so, and pack to a third. Columns follow each other; all is packed by deflate and written in base64.
"""

from __future__ import annotations

import base64
import zlib
from collections.abc import Iterator
from fractions import Fraction
from typing import TYPE_CHECKING

import numpy as np

from ...base.arrays import Bools, Floats, Integers, Ints
from ...base.document import plain
from ...charts.columns import clearance_um
from ...shop.train_columns import NO_GEAR

if TYPE_CHECKING:
    from ...charts.making import Chart
    from ...charts.rows import LeadRows
    from ...shop.train_columns import Trains

KINDS = {"u8": "<u1", "u16": "<u2", "i32": "<i4", "i64": "<i8"}
STEPS_IN_MM = 100_000  # places stand to a hundredth of a micrometre, and the swing to as much of a degree
NONE, HERE, ELSEWHERE = range(3)  # no train for a hand, this row's, or one that another row has or nobody told
Column = tuple[str, str, Integers | list[int]]  # name, kind of number, values
Catching = tuple[str, tuple[str, ...]]  # where the half nuts may close: in a word, and in sentences


def columns_of(chart: Chart, rows: LeadRows, catching: list[Catching]) -> list[Column]:
    """Every column of the rows; ``catching``: the ways there are for the tool to come back, each once."""
    gears = rows.gears
    columns: list[Column] = [
        ("lead_num", "i64", rows.num),
        ("lead_den", "i64", rows.den),
        ("pairs", "u8", gears.pairs),
    ]
    for pair in range(gears.drivers.shape[1]):
        columns.append((f"driver{pair}", "u16", gears.drivers[:, pair] + 1))
        columns.append((f"driven{pair}", "u16", gears.driven[:, pair] + 1))
    if "starts" in rows.more:
        columns.append(("starts", "i32", rows.more["starts"]))
    if "way" in rows.more:
        columns.append(("way", "u8", rows.more["way"]))
    if "change" in rows.more:
        columns.append(("change", "u16", rows.more["change"]))
        columns.append(("item", "u16", items_of(rows)[1]))
    if catching:
        numbers = {text: number for number, text in enumerate(catching, 1)}
        columns.append(("catching", "u16", [numbers[text] for text in catching_of(chart, rows)]))
    for hand, trains in rows.hands.items():
        serves = (trains.pairs > 0) & rows.own[hand]
        columns += _of_a_hand(rows, hand, trains, serves)
        if chart.source.judge.mode == "geometry":
            columns += _stands(chart, hand, trains, serves)
    return columns


def items_of(rows: LeadRows) -> tuple[list[tuple[str, Fraction]], list[int]]:
    """The wanted leads of a list, each once, with their names [mm], and for each row the number of its own."""
    named = list(zip(rows.more["name"].tolist(), rows.more["wanted"].tolist(), strict=True))
    items = list(dict.fromkeys(named))
    places = {item: place for place, item in enumerate(items)}
    return items, [places[item] for item in named]


def catching_of(chart: Chart, rows: LeadRows) -> list[Catching]:
    """How the tool comes back into the groove of each row of a list: in a word, and in sentences; empty on a mill."""
    shop = chart.source.shop
    if chart.kind != "list" or not shop.machine.has_dial:
        return []
    starts = rows.more["starts"].tolist()
    told: dict[tuple[Fraction, int], Catching] = {}
    for row, count in enumerate(starts):
        lead = rows.lead(row)
        if (lead, count) not in told:
            dial, lines = shop.machine.dial, shop.machine.catching(lead, count, shop.units)
            short = dial.rule(shop.machine.screw_lead_mm, lead).short if dial else ""
            told[lead, count] = short, tuple(map(plain, lines))
    return [told[rows.lead(row), count] for row, count in enumerate(starts)]


def moves(chart: Chart) -> bool:
    """Whether the shaft distance can be set."""
    quadrant = chart.source.shop.quadrant
    ends = None if quadrant is None else quadrant.shaft_distance_mm
    return ends is not None and ends[0] != ends[1]


def packed(columns: list[Column]) -> tuple[str, int]:
    """The columns as text, and how many bytes they are unpacked."""
    parts = []
    for _, kind, values in columns:
        array = np.ascontiguousarray(values, dtype=KINDS[kind])
        parts.append(array.view(np.uint8).reshape(len(array), -1).T.tobytes())
    whole = b"".join(parts)
    deflate = zlib.compressobj(9, zlib.DEFLATED, -15)
    return base64.b64encode(deflate.compress(whole) + deflate.flush()).decode(), len(whole)


def _of_a_hand(rows: LeadRows, hand: str, trains: Trains, serves: Bools) -> Iterator[Column]:
    yield f"state_{hand}", "u8", np.where(serves, HERE, np.where(trains.pairs == 0, NONE, ELSEWHERE))
    yield f"clear_{hand}", "i32", clearance_um(rows, hand)
    for idler in _used(trains.idlers, serves):
        yield f"idler{idler}_{hand}", "u16", _of_those(trains.idlers[:, idler], serves)
        yield f"idler_pair{idler}_{hand}", "u8", _of_those(trains.idler_pairs[:, idler], serves)


def _stands(chart: Chart, hand: str, trains: Trains, serves: Bools) -> Iterator[Column]:
    """Where the studs stand, how far apart the shafts, and which partners of joined pieces hang idle."""
    mine = np.flatnonzero(serves)
    places = chart.source.judge.places(trains.take(mine))
    for stud in range(places.x_mm.shape[1]):
        for axis, mm in (("x", places.x_mm), ("y", places.y_mm)):
            yield f"{axis}{stud}_{hand}", "i32", _spread(mine, len(serves), _steps(mm[:, stud]))
        if (places.slot[:, stud] > 1).any():
            yield f"slot{stud}_{hand}", "u8", _spread(mine, len(serves), places.slot[:, stud])
    yield f"swing_{hand}", "i32", _spread(mine, len(serves), _steps(places.swing_deg))
    if moves(chart):
        for name, mm in zip(("head", "least", "most"), (places.head_mm, *places.heads_mm.T), strict=True):
            yield f"{name}_{hand}", "i32", _spread(mine, len(serves), _steps(mm))
    for number in _used(places.idle, places.idle[:, 0] >= NO_GEAR):
        for name, kind in (("idle", "u16"), ("idle_shaft", "u8"), ("idle_plane", "u8")):
            yield f"{name}{number}_{hand}", kind, _spread(mine, len(serves), getattr(places, name)[:, number] + 1)


def _used(numbers: Integers, rows: Bools) -> Iterator[int]:
    """Which of several columns have a number in any of the rows."""
    return (place for place in range(numbers.shape[1]) if (numbers[rows, place] != NO_GEAR).any())


def _of_those(numbers: Integers, rows: Bools) -> Integers:
    """Numbers from 1, and 0 where there is none or the row is none of those."""
    return np.where(rows, numbers + 1, 0)


def _steps(mm: Floats) -> Ints:
    return np.rint(np.nan_to_num(mm) * STEPS_IN_MM).astype(np.int64)


def _spread(rows: Integers, count: int, values: Integers) -> Integers:
    whole = np.zeros(count, np.int64)
    whole[rows] = values
    return whole
