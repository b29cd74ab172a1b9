"""The rows of a chart as people read them: a line each, with the digits that tell its lead from those beside it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

from ..base.facts import STAYS, Heading, Table
from ..base.units import decimals, format_length
from ..mounting.placement import gap_words
from ..shop.trains import Pair
from ..work.tolerance import DOUBTFUL
from .columns import clearance_um
from .lead_cells import LEAD_DIGITS, UNITS, number, places_apart, threads_per_inch

if TYPE_CHECKING:
    from ..base.arrays import Bools
    from ..shop.train_columns import Trains
    from .making import Chart
    from .rows import LeadRows

Cells = dict[str, str]  # of a line, by the headings of their columns
_IDLER = {"right": "idler R", "left": "idler L", "either": "idler"}
_CLEAR = {"right": "clear R", "left": "clear L"}  # where a line has both; the legend tells the unit
_THREADS, _PPM, _OTHER_UNIT, _GAPS = 1, 2, 3, 4  # weights: what a narrow page does without first


@dataclass(frozen=True, slots=True)
class Line:
    """A row of a page, whose lead is printed once it is known which leads stand beside it.

    Parameters
    ----------
    lead_mm : the lead [mm]
    cells : those behind the lead, by the heading of their column
    name : in a list, the cell before the lead; empty where a row above says what is wanted
    starts : of the thread
    """

    lead_mm: Fraction
    cells: Cells
    name: str = ""
    starts: int = 1


def lines_of(chart: Chart, rows: LeadRows) -> Iterator[Line]:
    """The lines that rows take on a page."""
    source, gears, shop = chart.source, rows.gears, chart.source.shop
    gaps = {hand: clearance_um(rows, hand) for hand in rows.hands}
    for row in range(len(rows)):
        alone = "change" in rows.more  # each item has one row, which tells its name too
        if chart.kind == "list" and not alone:
            yield from _wanted_line(rows, row)
        train = gears.train(source.pool, row)
        cells = (
            _way_cells(rows, row)
            | _change_cells(rows, row)
            | {
                f"mesh {mesh + 1}": _mesh(train.pairs[mesh]) if mesh < len(train.pairs) else ""
                for mesh in range(source.most_pairs)
            }
        )
        for hand, chosen in rows.hands.items():
            cells[_IDLER[hand]] = _idlers(chart, chosen, rows.own[hand], row)
        if source.judge.mode == "geometry":
            cells |= {clear_of(chart, hand): _clear(int(gap[row]), shop.units) for hand, gap in gaps.items()}
        if chart.kind == "list":
            cells |= _error_cells(chart, rows, row)
            if shop.machine.dial:
                cells["dial"] = shop.machine.dial.rule(shop.machine.screw_lead_mm, rows.lead(row)).short
        name = _name(rows, row) if alone else ""
        yield Line(rows.lead(row), cells | {"tried": ""}, name, _starts(rows, row))


def cells_of(chart: Chart, lines: list[Line], beside: Iterable[Fraction] = ()) -> list[Cells]:
    """The cells of each line, by the heading of their column.

    Parameters
    ----------
    chart : theirs
    lines : of one lead, or of one item of a list; its leads have the digits that tell them apart
    beside : leads of other lines that these must be told apart from [mm]
    """
    shop = chart.source.shop
    threads = shop.machine.counts_threads
    digits = LEAD_DIGITS[threads]
    leads = [*beside, *(line.lead_mm for line in lines if not line.name)]
    places = {unit: places_apart(leads, unit, digits) for unit in UNITS[shop.units]}
    rows = []
    for line in lines:
        row = {"name": line.name} if chart.kind == "list" else {}
        row |= {f"lead, {unit}": number(line.lead_mm, unit, places[unit], digits) for unit in places}
        if threads:
            row["tpi"] = threads_per_inch(line.lead_mm, line.starts)
        rows.append(row | line.cells)
    return rows


def table_of(chart: Chart, lines: list[Cells]) -> Table:
    """Lines as a table of all the columns that such a chart has."""
    headings = tuple(headings_of(chart))
    return Table(headings, tuple(tuple(cells.get(heading.short, "") for heading in headings) for cells in lines))


def headings_of(chart: Chart) -> Iterator[Heading]:
    """The columns of a chart of every lead, or of a list, from the left."""
    source, (own, other) = chart.source, UNITS[chart.source.shop.units]
    if chart.kind == "list":
        yield Heading("name")
    yield Heading(f"lead, {own}", right=True)
    yield Heading(f"lead, {other}", _OTHER_UNIT, right=True)
    if source.shop.machine.counts_threads:
        yield Heading("tpi", _THREADS if own == "mm" else STAYS, right=True)
    if any(column.name == "change" for column in chart.columns):
        yield Heading("gears")
    if len({route.name for route in chart.routes}) > 1:
        yield Heading("route")
    if len(chart.routes) > 1 and any(route.lever for route in chart.routes):
        yield Heading("lever")
    yield from (Heading(f"mesh {mesh + 1}") for mesh in range(source.most_pairs))
    yield from (Heading(_IDLER[hand]) for hand in source.hands)
    if source.judge.mode == "geometry":
        yield from (Heading(clear_of(chart, hand), _GAPS, right=True) for hand in source.hands)
    if chart.kind == "list":
        yield Heading(f"error, {own}", right=True)
        yield Heading("ppm", _PPM, right=True)
        if source.shop.machine.dial:
            yield Heading("dial")
    yield Heading("tried")


def clear_of(chart: Chart, hand: str) -> str:
    """The heading of the clearance of a hand."""
    return _CLEAR[hand] if len(chart.source.hands) == 2 else f"clear, {chart.source.shop.units}"


def groups_of(chart: Chart, rows: LeadRows) -> Iterator[list[Line]]:
    """The lines of one item of a list, or of one lead, which no page should part."""
    group: list[Line] = []
    for line in lines_of(chart, rows):
        begins = line.name if chart.kind == "list" else group and line.lead_mm != group[0].lead_mm
        if group and begins:
            yield group
            group = []
        group.append(line)
    if group:
        yield group


def _change_cells(rows: LeadRows, row: int) -> Cells:
    """Whether another train is put on for a row, where the rows stand train by train."""
    if "change" not in rows.more:
        return {}
    change = rows.more["change"]
    return {"gears": "stay on" if row and change[row] == change[row - 1] else f"PUT ON {change[row]}"}


def _way_cells(rows: LeadRows, row: int) -> Cells:
    return {name: rows.more[name][row] for name in ("route", "lever") if name in rows.more}


def _starts(rows: LeadRows, row: int) -> int:
    return int(rows.more["starts"][row]) if "starts" in rows.more else 1


def _clear(um: int, unit: str) -> str:
    """A clearance as a bare number in a unit; empty where none was judged or near."""
    if um < 0:
        return ""
    return gap_words(um / 1000, unit).removesuffix(f" {unit}")


def _mesh(pair: Pair) -> str:
    return f"{pair.driver}/{pair.driven}" + (f"@{pair.kind}" if pair.kind else "")


def _idlers(chart: Chart, chosen: Trains, own: Bools, row: int) -> str:
    if not chosen.pairs[row]:
        return "-"
    if not own[row] or chosen.pairs[row] < 0:
        return ""
    teeth = chart.source.pool.teeth
    meshes: dict[int, list[str]] = {}
    for size, place in zip(chosen.idlers[row].tolist(), chosen.idler_pairs[row].tolist(), strict=True):
        if size >= 0:
            meshes.setdefault(place + 1, []).append(str(teeth[size]))
    return ", ".join(f"{' '.join(sizes)} in {mesh}" for mesh, sizes in meshes.items()) or "none"


def _wanted_line(rows: LeadRows, row: int) -> Iterator[Line]:
    """Above the first row of an item of a list, a line that says what is wanted."""
    more = rows.more
    before = None if row == 0 else (more["rank"][row - 1], more["item"][row - 1])
    if more["rank"][row] == 1 and before != (1, more["item"][row]):
        yield Line(more["wanted"][row], {"mesh 1": "wanted"}, _name(rows, row), _starts(rows, row))


def _name(rows: LeadRows, row: int) -> str:
    return " ".join(rows.more["name"][row].split())


def _error_cells(chart: Chart, rows: LeadRows, row: int) -> Cells:
    unit, wanted = chart.source.shop.units, rows.more["wanted"][row]
    error = rows.lead(row) - wanted
    ppm = error / wanted * 10**6
    off = "exact" if error == 0 else format_length(error, unit, signed=True).removesuffix(f" {unit}")
    size = f"{'+' if ppm > 0 else ''}{decimals(ppm, 0 if abs(ppm) >= 10 else 1)}"
    doubtful = " OFF" if abs(ppm) > 10**6 * DOUBTFUL else ""
    verdict = {None: doubtful, True: " ok", False: " OUT"}[rows.more["within"][row]]
    return {f"error, {unit}": off + verdict, "ppm": size if abs(ppm) < 100_000 else "far"}
