"""The rows of a chart as people read them: a line each, with the digits that tell its lead from those beside it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import TYPE_CHECKING

from ..base.facts import STAYS, Heading, Table
from ..base.units import INCH_MM, UNIT_MM, decimal, decimals, format_length
from ..mounting.placement import gap_words
from ..shop.trains import Pair
from ..work.limits import mark
from ..work.tolerance import DOUBTFUL, HOPELESS
from .columns import clearance_um
from .lead_cells import LEAD_DIGITS, UNITS, number, places_apart, threads_per_inch

if TYPE_CHECKING:
    from ..base.arrays import Bools
    from ..shop.train_columns import Trains
    from .making import Chart
    from .rows import LeadRows

Cells = dict[str, str]  # of a line, by the headings of their columns
GRID_LINES = ("train", "lead")  # of a diameter
GridCells = dict[tuple[int, int], tuple[str, str]]  # by the numbers of diameter and angle
_IDLER = {"right": "idler R", "left": "idler L"}  # where a line has both
_CLEAR = {"right": "clear R", "left": "clear L"}  # where a line has both; the legend tells the unit
_THREADS, _GAPS = 1, 4  # weights: what a narrow page does without first
_TRAINS = {"right": ("right hand", "error R"), "left": ("left hand", "error L")}  # of a list for both hands
_WANTED = ("lead", "pitch")  # of a list
NAMES = 22  # letters of the names on a line
_FEW = 8  # a pitch is told as threads per inch where they are a whole number of parts as coarse as this


@dataclass(frozen=True, slots=True)
class Line:
    """A row of a page, whose lead is printed once it is known which leads stand beside it.

    Parameters
    ----------
    lead_mm : the lead [mm]
    cells : those behind the lead, by the heading of their column
    name : in a list, the cell before the lead
    starts : of the thread
    bare : whether it goes on with the names of the line above, and tells no lead
    """

    lead_mm: Fraction
    cells: Cells
    name: str = ""
    starts: int = 1
    bare: bool = False


def lines_of(chart: Chart, rows: LeadRows, letters: int = NAMES) -> Iterator[Line]:
    """The lines that rows take on a page; of a list with about so many letters of names on each."""
    yield from _list_lines(chart, rows, letters) if chart.kind == "list" else _lead_lines(chart, rows)


def _lead_lines(chart: Chart, rows: LeadRows) -> Iterator[Line]:
    """Of a chart of every lead: a line a row."""
    source, gears, shop = chart.source, rows.gears, chart.source.shop
    gaps = {hand: clearance_um(rows, hand) for hand in rows.hands}
    for row in range(len(rows)):
        train = gears.train(source.pool, row)
        cells = _way_cells(rows, row) | {
            f"mesh {mesh + 1}": _mesh(train.pairs[mesh]) if mesh < len(train.pairs) else ""
            for mesh in range(source.most_pairs)
        }
        for hand, chosen in rows.hands.items():
            cells[_idler_of(chart, hand)] = _idlers(chart, chosen, rows.own[hand], row)
        if source.judge.mode == "geometry":
            cells |= {clear_of(chart, hand): _clear(int(gap[row]), shop.units) for hand, gap in gaps.items()}
        yield Line(rows.lead(row), cells | {"tried": ""})


def _list_lines(chart: Chart, rows: LeadRows, letters: int) -> Iterator[Line]:
    """Of a list: a line for each size, those of one lead and one answer together, their names broken."""
    lines: dict[tuple[object, ...], list[str]] = {}
    kept: dict[tuple[object, ...], Line] = {}
    for place, line in enumerate(_item_lines(chart, rows)):
        cells = tuple(line.cells.items())
        same: tuple[object, ...] = (line.lead_mm, line.starts, cells, place if chart.shown > 1 else 0)
        lines.setdefault(same, []).append(line.name)
        kept.setdefault(same, line)
    for same, names in lines.items():
        first, *more = _broken(names, letters)
        yield replace(kept[same], name=first)
        yield from (Line(kept[same].lead_mm, {}, name, bare=True) for name in more)


def _broken(names: list[str], letters: int) -> Iterator[str]:
    """Names in lines of so many letters, a longer name by itself."""
    line = names[0]
    for place, name in enumerate(names[1:], 2):
        if len(f"{line}, {name}" + "," * (place < len(names))) > letters:
            yield f"{line},"
            line = name
        else:
            line = f"{line}, {name}"
    yield line


def _item_lines(chart: Chart, rows: LeadRows) -> Iterator[Line]:
    """A line for each item of a list, or as many as its leads that are shown."""
    more = rows.more
    found: dict[tuple[int, str], list[int]] = {}
    for row, item in enumerate(more["item"].tolist()):
        for hand, chosen in rows.hands.items():
            if rows.own[hand][row] and chosen.pairs[row] > 0:
                found.setdefault((item, hand), []).append(row)
    of_item: dict[int, list[int]] = {}
    for row, item in enumerate(more["item"].tolist()):
        of_item.setdefault(item, []).append(row)
    for item, (row, *_) in of_item.items():
        name = " ".join(more["name"][row].split())
        for place in range(chart.shown):
            best = {hand: found.get((item, hand), [])[place : place + 1] for hand in rows.hands}
            cells: Cells = {}
            for hand, one in best.items():
                if one or (rows.hands[hand].pairs[of_item[item]] >= 0).all():  # else the other hand alone is asked for
                    cells |= _train_cells(chart, rows, hand, one)
            if place and set(cells.values()) <= {"", "-"}:
                break
            told = next((one[0] for one in best.values() if one), row)
            if chart.source.shop.machine.dial:
                cells["dial"] = _dial(chart, rows, {hand: one[0] for hand, one in best.items() if one})
            cells = _way_cells(rows, told) | _change_cells(rows, told) | cells | {"tried": ""}
            starts = int(more["starts"][row]) if "starts" in more else 1
            yield Line(more["wanted"][row], cells, name if place == 0 else "", starts)


def _dial(chart: Chart, rows: LeadRows, row_of: dict[str, int]) -> str:
    """Where the half nuts may close, for each hand where the two differ."""
    machine = chart.source.shop.machine
    assert machine.dial is not None
    rules = {hand: machine.dial.rule(machine.screw_lead_mm, rows.lead(row)).short for hand, row in row_of.items()}
    if len(set(rules.values())) > 1:
        return ", ".join(f"{hand[0].upper()}: {rule}" for hand, rule in rules.items())
    return next(iter(rules.values()), "")


def _train_cells(chart: Chart, rows: LeadRows, hand: str, chosen: list[int]) -> Cells:
    """The train of one hand with its idlers, and its error; a dash for a lead that is hopelessly far off."""
    names, unit = _train_names(chart, hand), chart.source.shop.units
    if not chosen:
        return dict.fromkeys(names, "") | {names[0]: "-"}
    (row,) = chosen
    wanted = rows.more["wanted"][row]
    error, within = rows.lead(row) - wanted, rows.more["within"][row]
    if abs(error) > HOPELESS * wanted and not within:
        return dict.fromkeys(names, "") | {names[0]: "-"}
    off = "exact" if error == 0 else format_length(error, unit, signed=True).removesuffix(f" {unit}")
    verdict = mark(within is None and abs(error) > DOUBTFUL * wanted, within)
    way = "" if len(rows.hands) == 1 or "way" not in rows.more else f" {chart.routes[int(rows.more['way'][row])].call}"
    return {names[0]: f"{rows.hands[hand].train(chart.source.pool, row)}{way}", names[1]: off + verdict}


def _train_names(chart: Chart, hand: str) -> tuple[str, str]:
    """The headings of a list's train and of its error."""
    return _TRAINS[hand] if len(chart.source.hands) == 2 else ("train", f"error, {chart.source.shop.units}")


def cells_of(chart: Chart, lines: list[Line], beside: Iterable[Fraction] = ()) -> list[Cells]:
    """The cells of each line, by the heading of their column.

    Parameters
    ----------
    chart : theirs
    lines : of one lead, or of a list
    beside : leads of other lines that these must be told apart from [mm]
    """
    if chart.kind == "list":
        return list(_cells_of_list(chart, lines))
    shop = chart.source.shop
    threads = shop.machine.counts_threads
    digits = LEAD_DIGITS[threads]
    leads = [*beside, *(line.lead_mm for line in lines)]
    places = {unit: places_apart(leads, unit, digits) for unit in UNITS[shop.units]}
    rows = []
    for line in lines:
        row = {f"lead, {unit}": number(line.lead_mm, unit, places[unit], digits) for unit in places}
        if threads:
            row["tpi"] = threads_per_inch(line.lead_mm, line.starts)
        rows.append(row | line.cells)
    return rows


def _cells_of_list(chart: Chart, lines: list[Line]) -> Iterator[Cells]:
    """The same of a list: the wanted lead as its threads are named, in one unit for all."""
    unit, threads = chart.source.shop.units, chart.source.shop.machine.counts_threads
    tpi = (threads or bool(chart.read_from)) and all(_threads(line) is not None for line in lines)
    plain = threads and all(line.starts == 1 for line in lines)
    wanted = f"{_WANTED[plain]}, {unit}"
    leads = [line.lead_mm for line in lines]
    for line, lead in zip(lines, _wanted(leads, unit), strict=True):
        told = {}
        if not line.bare:
            told["tpi" if tpi else wanted] = decimal(line.starts * INCH_MM / line.lead_mm) if tpi else lead
        yield {"name": line.name} | told | line.cells


def _wanted(leads_mm: list[Fraction], unit: str) -> list[str]:
    """Wanted leads as bare numbers: as exact as they are where four decimals do it, else with those that part them."""
    leads = [lead / UNIT_MM[unit] for lead in leads_mm]
    for places in range(5):
        if all((lead * 10**places).denominator == 1 for lead in leads):
            return [decimals(lead, places) for lead in leads]
    places = places_apart(leads_mm, unit, 1)
    return [number(lead, unit, places, 1) for lead in leads_mm]


def _threads(line: Line) -> Fraction | None:
    """Threads per inch where they are a plain number, as an inch thread is named."""
    threads = line.starts * INCH_MM / line.lead_mm
    return threads if threads.denominator <= _FEW else None


def table_of(chart: Chart, lines: list[Cells]) -> Table:
    """Lines as a table of all the columns that such a chart has."""
    headings = tuple(headings_of(chart, lines))
    return Table(headings, tuple(tuple(cells.get(heading.short, "") for heading in headings) for cells in lines))


def headings_of(chart: Chart, lines: list[Cells]) -> Iterator[Heading]:
    """The columns of a chart of every lead, or of a list, from the left."""
    source, own = chart.source, chart.source.shop.units
    if chart.kind == "list":
        yield from _headings_of_list(chart, lines)
        return
    yield Heading(f"lead, {own}", right=True)
    if source.shop.machine.counts_threads:
        yield Heading("tpi", _THREADS if own == "mm" else STAYS, right=True)
    yield from _way_headings(chart)
    yield from (Heading(f"mesh {mesh + 1}") for mesh in range(source.most_pairs))
    yield from (Heading(_idler_of(chart, hand)) for hand in source.hands)
    if source.judge.mode == "geometry":
        yield from (Heading(clear_of(chart, hand), _GAPS, right=True) for hand in source.hands)
    yield Heading("tried")


def _headings_of_list(chart: Chart, lines: list[Cells]) -> Iterator[Heading]:
    if any(column.name == "change" for column in chart.columns):
        yield Heading("gears")
    yield Heading("name")
    yield Heading(
        next(name for line in lines for name in line if name == "tpi" or name.startswith(_WANTED)), right=True
    )
    if len(chart.source.hands) == 1:
        yield from _way_headings(chart)
    for hand in chart.source.hands:
        train, error = _train_names(chart, hand)
        yield Heading(train)
        yield Heading(error, right=True)
    if chart.source.shop.machine.dial:
        yield Heading("dial")
    yield Heading("tried")


def _way_headings(chart: Chart) -> Iterator[Heading]:
    if len({route.name for route in chart.routes}) > 1:
        yield Heading("route")
    if len(chart.routes) > 1 and any(route.lever for route in chart.routes):
        yield Heading("lever")


def _idler_of(chart: Chart, hand: str) -> str:
    """The heading of the idlers of a hand."""
    return _IDLER[hand] if len(chart.source.hands) == 2 else "idler"


def clear_of(chart: Chart, hand: str) -> str:
    """The heading of the clearance of a hand."""
    return _CLEAR[hand] if len(chart.source.hands) == 2 else f"clear, {chart.source.shop.units}"


def groups_of(chart: Chart, rows: LeadRows, letters: int = NAMES) -> Iterator[list[Line]]:
    """The lines of one item of a list, or of one lead, which no page should part."""
    group: list[Line] = []
    for line in lines_of(chart, rows, letters):
        begins = not line.bare and line.name if chart.kind == "list" else group and line.lead_mm != group[0].lead_mm
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


def grid_cells(chart: Chart, rows: LeadRows, hand: str, farthest: Fraction) -> GridCells:
    """Train and lead of each cell for one hand, by the numbers of diameter and angle; the angle where it is off.

    A cell without a train whose lead is off by no more than ``farthest`` is left out.
    """
    more, angles, chosen = rows.more, len(chart.sides[1]), rows.hands[hand]
    shop = chart.source.shop
    digits = LEAD_DIGITS[shop.machine.counts_threads]
    cells: GridCells = {}
    for row in sorted(range(len(rows)), key=lambda row: -int(more["rank"][row])):  # the nearest last, to stay
        lead, wanted = rows.lead(row), more["wanted"][row]
        if abs(lead - wanted) <= wanted * farthest and chosen.pairs[row] > 0 and rows.own[hand][row]:
            place = divmod(int(more["item"][row]), angles)
            off = f" ({decimals(more['given'][row], 3)}°)" if abs(lead - wanted) > wanted * DOUBTFUL else ""
            told = number(lead, shop.units, 0, digits) + off
            way = f" {chart.routes[int(more['way'][row])].call}" if "way" in more else ""
            cells[place] = f"{chosen.train(chart.source.pool, row)}{way}", told
    return cells


def grid_table(chart: Chart, cells: GridCells, diameters: range, angles: range) -> Table:
    """Some diameters, two lines each, for some angles side by side."""
    unit = chart.source.shop.units
    named = [decimals(chart.sides[1][angle], 3).rstrip("0").rstrip(".") + "°" for angle in angles]
    headings = (Heading(f"diameter, {unit}", right=True), *map(Heading, named))
    rows = []
    for row in diameters:
        size = decimals(chart.sides[0][row] / UNIT_MM[unit], 3)
        for part in range(len(GRID_LINES)):
            told = (cells.get((row, angle), ("-", ""))[part] for angle in angles)
            rows.append((size if part == 0 else "", *told))
    return Table(headings, tuple(rows))
