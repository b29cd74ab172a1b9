"""Charts as printable Markdown: pages of a table that read as plain text and print in black and white."""

from __future__ import annotations

import re
import textwrap
from abc import ABC, abstractmethod
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import TYPE_CHECKING, Any, TextIO

from ..base import require
from ..base.errors import GearsearchError
from ..base.units import PAPERS_MM, decimals, format_both, format_length
from ..charts.columns import gear_set
from ..charts.lead_cells import LEAD_DIGITS, UNITS, number, places_apart, threads_per_inch
from ..charts.making import Chart
from ..charts.rows import LeadRows
from ..mounting.placement import gap_words
from ..work.tolerance import DOUBTFUL, HOPELESS
from .page_tables import Cells, PageTable, fitted, left_out

if TYPE_CHECKING:
    from ..shop.train_columns import Trains

WIDTH = 100
LONGEST_GROUP = 12  # rows that no page parts
# LeadRows of a table that fit on a page at the type size below, tried out in print: (upright, landscape).
_ROWS = {"A4": (58, 32), "Letter": (54, 34)}
_IDLER = {"right": "idler R", "left": "idler L", "either": "idler"}
_SPECIAL = re.compile(r"([\\`*_<>\[\]|])")
_SAFETY = (
    "this chart proves nothing: isolate the machine while gears are changed, guard them, turn the whole travel by hand "
    "first, and keep to the machine's manual"
)
_JUDGED = {
    "geometry": "every train mounts on the shop's quadrant",
    "rule": "trains pass the rule of thumb only: A + B > C + 15 and C + D > B + 15",
    "skip": "mounting was not judged: try before you trust",
}


@dataclass(frozen=True, slots=True)
class Paper:
    """The paper a chart is printed on.

    Parameters
    ----------
    size : ``A4`` or ``Letter``
    landscape : broad side up
    rows : rows of the table on a page; None for as many as fit
    """

    size: str = "A4"
    landscape: bool = False
    rows: int | None = None

    def __post_init__(self) -> None:
        require.one_of(self.size, PAPERS_MM, "the paper")
        if self.rows is not None and not 5 <= self.rows <= 1000:
            raise GearsearchError(f"a page cannot have {self.rows} rows", "give 5 to 1000 rows")

    @property
    def table_rows(self) -> int:
        """LeadRows of the table on a page."""
        return self.rows or _ROWS[self.size][self.landscape]

    def style(self, rows: int) -> str:
        """How it prints: the size of the type, a heavy line below so many rows (0: none), a page for each part."""
        turned = "landscape" if self.landscape else "portrait"
        size, line = (10.5, 4.7) if self.landscape else (8.5, 4.2)
        heavy = f"tr:nth-child({rows}n) td {{ border-bottom-width: 1.2pt }}\n" if rows else ""
        return (
            f"<style>@page {{ size: {self.size} {turned}; margin: 11mm }}\n"
            f"body {{ font: {size}pt sans-serif; margin: 0; max-width: none }}\n"
            "h2 { font-size: 11pt; margin: 0 0 1mm } ul, p { margin: 0 0 1.5mm; padding-left: 4mm }\n"
            "table { border-collapse: collapse } th { font-weight: bold }\n"
            f"th, td {{ border: 0.5pt solid #000; padding: 0 1.5mm; font: {size}pt/{line}mm monospace }}\n"
            f"{heavy}"
            "hr { break-after: page; visibility: hidden; margin: 0; height: 0 }</style>\n"
        )


class PagedChart(ABC):
    """A chart being parted into pages, which a kind of paper writes.

    Parameters
    ----------
    chart : what
    paper : how it is laid out
    command, date : for the heading; the date as the user gave it, or empty
    """

    width = WIDTH

    def __init__(self, chart: Chart, paper: Paper, command: str, date: str) -> None:
        self.chart = chart
        self.paper = paper
        self._date = date
        self._page = 0
        self._waiting: list[Cells] = []
        self._held: list[Line] = []  # until it is known which lead comes after
        self._lead_above: Fraction | None = None
        self._grid: list[LeadRows] = []
        self.facts = heading_facts(chart, command, date)
        self._room = self.first_room()

    def add(self, rows: LeadRows) -> None:
        """Take some more rows; whole pages are written at once."""
        if self.chart.kind == "grid":
            self._grid.append(rows)
            return
        for group in _together(self.chart, rows):
            self._place(group[0].lead_mm)
            self._held = group

    def _place(self, lead_below: Fraction | None) -> None:
        """Put what was held on a page: a lead between two others, or an item of a list, which has only its own."""
        if not self._held:
            return
        beside = [] if self.chart.kind == "list" else [self._lead_above, lead_below]
        cells = cells_of(self.chart, self._held, [lead for lead in beside if lead is not None])
        for first in range(0, len(cells), LONGEST_GROUP):
            self._put(cells[first : first + LONGEST_GROUP])
        self._lead_above, self._held = self._held[-1].lead_mm, []

    def _put(self, group: list[Cells]) -> None:
        """Put rows on a page that takes them all; whole pages are written at once."""
        if not self._page and not self._waiting:
            self.begin(group)
        if self._waiting and len(self._waiting) + len(group) > self._room:
            self._next_page([self._waiting])
            self._waiting = []
        self._waiting += group

    def close(self) -> None:
        """Write the last page."""
        self._place(None)
        if self._grid:
            from .grid_pages import grid_pages

            rows = LeadRows.joined(self._grid)
            _, (first, *_) = next(grid_pages(self.chart, rows, self.width, (len(rows), len(rows)), HOPELESS))
            self.begin(first)
            room = self._room, self.paper.table_rows
            for hand, page in grid_pages(self.chart, rows, self.width, room, HOPELESS):
                self._next_page(page, "" if hand == "either" else f"{hand} hand")
        elif self._waiting or not self._page:
            self._next_page([self._waiting])

    def _next_page(self, tables: list[list[Cells]], hand: str = "") -> None:
        self._page += 1
        laid_out = [fitted(self.shown(rows), self.width) for rows in tables]
        title = page_title(self.chart, self._page, self._date, hand, left_out(laid_out[0], tables[0]))
        self.write_page(title, [] if self._page > 1 else self.facts, laid_out)
        self._room = self.paper.table_rows

    def first_room(self) -> int:
        """LeadRows of the table on the first page, under what is said of the chart."""
        return max(5, self.paper.table_rows - len(list(_bullets(self.facts))))

    def set_rows(self, count: int) -> None:
        """Lay out so many rows on a page from the first page on."""
        self.paper = replace(self.paper, rows=count)
        self._room = self.first_room()

    def begin(self, rows: list[Cells]) -> None:  # noqa: B027 - only paper that can choose its type has to
        """Called with the first rows, before any page."""

    def shown(self, rows: list[Cells]) -> list[Cells]:
        """LeadRows as this paper writes their cells, to be measured so."""
        return rows

    @abstractmethod
    def write_page(self, title: str, facts: list[str], tables: list[PageTable]) -> None:
        """Write a page: its title, what is said of the chart (on the first), and the tables."""


class MarkdownChart(PagedChart):
    """A chart written as pages of Markdown.

    Parameters
    ----------
    stream : where to
    chart, paper, command, date : as ``PagedChart``
    """

    def __init__(self, stream: TextIO, chart: Chart, paper: Paper, command: str, date: str) -> None:
        super().__init__(chart, paper, command, date)
        self._stream = stream
        stream.write(paper.style({"every": 5, "grid": 3}.get(chart.kind, 0)))
        self._parting = "\n"

    def shown(self, rows: list[Cells]) -> list[Cells]:
        """As ``PagedChart``; no cell is taken for a mark of Markdown."""
        return [{name: escaped(cell) for name, cell in row.items()} for row in rows]

    def write_page(self, title: str, facts: list[str], tables: list[PageTable]) -> None:
        """As ``PagedChart``."""
        said = "\n".join(_bullets(facts)) + "\n\n" if facts else ""
        self._stream.write(f"{self._parting}## {escaped(title)}\n\n{said}" + "\n".join(map(markdown, tables)))
        self._parting = "\n---\n\n"


def page_title(chart: Chart, page: int, date: str, hand: str = "", absent: str = "") -> str:
    """The heading of a page: the hand where the whole page is of one, shop, what it is, date, page, absent columns."""
    said = [f"{chart.source.shop.name}: {chart.title}", *([date] if date else [])]
    line = (f"{hand.upper()}, " if hand else "") + ", ".join(said)
    last = f"page {page}" + (f" (no room: {absent})" if absent else "")
    most = WIDTH - len("## , ") - len(last) - (len(escaped(line)) - len(line))
    return f"{line}, {last}" if len(line) <= most else f"{line[:most]}… {last}"


def heading_facts(chart: Chart, command: str, date: str) -> list[str]:
    """What the first page says of the chart, a line each."""
    source, shop = chart.source, chart.source.shop
    machine_lead = format_both(source.drive.lead_of_machine_mm, shop.units)
    lever = source.route.hand_with_one_stud == "either"
    unknown = "hand not known: the shop file does not say which hand the route cuts"
    hands = {"either": "either hand, set by the reversing lever" if lever else unknown}
    pairs = " and ".join(map(str, source.catalogue.pairs))
    facts = [
        f"{shop.machine.kind}, route {source.route.name}: lead of the machine {machine_lead}; "
        f"{hands.get(source.hands[0]) or 'hand: ' + ' and '.join(source.hands)}",
        f"gears: {gear_set(chart)}",
        f"{source.catalogue.count:,} trains of ".replace(",", " ")
        + f"{pairs} pairs searched, all there are; {_JUDGED[source.judge.mode]}",
        *chart.facts,
        *_legend(chart),
        _SAFETY,
        f"made by: {command}" + (f", {date}" if date else ""),
    ]
    return [fact for fact in facts if fact]


def _legend(chart: Chart) -> Iterator[str]:
    yield f"mesh 1 is at {chart.source.shop.machine.first_shaft}; each mesh is written driver/driven, in power order"
    if chart.kind == "grid":
        hands = "; each hand has pages of its own" if len(chart.source.hands) == 2 else ""
        off = f"OFF = more than {decimals(100 * DOUBTFUL, 1)} % off"
        none = f"- = no train within {decimals(100 * HOPELESS, 0)} % of the lead"
        yield f"a gear in brackets is an idler; {off}; {none}{hands}"
        return
    if chart.source.hands != ("either",):
        yield "idler R, idler L: none = that hand takes no idler, 72 in 1 = a 72 in mesh 1, - = does not mount"
    if len(chart.source.hands) == 2:
        yield "blank = another row has the train for this hand"
    if chart.kind == "list":
        share = decimals(100 * DOUBTFUL, 1)
        yield "error: lead less wanted lead; ok or OUT: inside or outside the tolerance"
        yield f"OFF: no tolerance was given, and the lead is more than {share} % off"
        if chart.source.shop.machine.counts_threads:
            yield "tpi: threads per inch, every start of the thread counted"


def _bullets(facts: list[str]) -> Iterator[str]:
    for fact in facts:
        yield from textwrap.wrap(f"- {escaped(fact)}", WIDTH, subsequent_indent="  ", break_long_words=True)


def escaped(text: str) -> str:
    """A text that Markdown prints as it is."""
    return _SPECIAL.sub(r"\\\1", " ".join(text.split()))


@dataclass(frozen=True, slots=True)
class Line:
    """A row of a page, whose lead is printed once it is known which leads stand beside it.

    Parameters
    ----------
    lead_mm : the lead [mm]
    cells : those behind the lead, by the heading of their column
    name : in a list, the cell before the lead; empty but where the row says what is wanted
    starts : of the thread
    """

    lead_mm: Fraction
    cells: Cells
    name: str = ""
    starts: int = 1


def lines_of(chart: Chart, rows: LeadRows) -> Iterator[Line]:
    """The lines that rows take on a page."""
    source, gears, clearance = chart.source, rows.gears, rows.clearance_um
    for row in range(len(rows)):
        if chart.kind == "list":
            yield from _wanted_line(rows, row)
        train = gears.train(source.pool, row)
        cells = {
            f"mesh {mesh + 1}": _mesh(train.pairs[mesh]) if mesh < len(train.pairs) else ""
            for mesh in range(source.most_pairs)
        }
        for hand, chosen in rows.hands.items():
            cells[_IDLER[hand]] = _idlers(chart, chosen, rows.own[hand], row)
        if source.judge.mode == "geometry":
            cells[f"clear, {source.shop.units}"] = _clear(int(clearance[row]), source.shop.units)
        if chart.kind == "list":
            cells |= _error_cells(chart, rows, row)
        yield Line(rows.lead(row), cells | {"tried": ""}, starts=_starts(rows, row))


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


def _starts(rows: LeadRows, row: int) -> int:
    return int(rows.more["starts"][row]) if "starts" in rows.more else 1


def _clear(um: int, unit: str) -> str:
    """A clearance as a bare number in a unit; empty where none was judged or near."""
    if um < 0:
        return ""
    return gap_words(um / 1000, unit).removesuffix(f" {unit}")


def _mesh(pair: Any) -> str:
    return f"{pair.driver}/{pair.driven}" + (f"@{pair.kind}" if pair.kind else "")


def _idlers(chart: Chart, chosen: Trains, own: Any, row: int) -> str:
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


def _together(chart: Chart, rows: LeadRows) -> Iterator[list[Line]]:
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


def _wanted_line(rows: LeadRows, row: int) -> Iterator[Line]:
    """Above the first row of an item of a list, a line that says what is wanted."""
    more = rows.more
    before = None if row == 0 else (more["rank"][row - 1], more["item"][row - 1])
    if more["rank"][row] == 1 and before != (1, more["item"][row]):
        name = " ".join(more["name"][row].split())
        yield Line(more["wanted"][row], {"mesh 1": "wanted"}, name, _starts(rows, row))


def _error_cells(chart: Chart, rows: LeadRows, row: int) -> Cells:
    unit, wanted = chart.source.shop.units, rows.more["wanted"][row]
    error = rows.lead(row) - wanted
    ppm = error / wanted * 10**6
    off = "exact" if error == 0 else format_length(error, unit, signed=True).removesuffix(f" {unit}")
    size = f"{'+' if ppm > 0 else ''}{decimals(ppm, 0 if abs(ppm) >= 10 else 1)}"
    doubtful = " OFF" if abs(ppm) > 10**6 * DOUBTFUL else ""
    verdict = {None: doubtful, True: " ok", False: " OUT"}[rows.more["within"][row]]
    return {f"error, {unit}": off + verdict, "ppm": size if abs(ppm) < 100_000 else "far"}


def markdown(table: PageTable) -> str:
    """A table as Markdown, as narrow as its cells; tabulate would widen each heading by two."""
    if not table.rows:
        return f"{table.names[0]}\n"
    lines = [f"| {' | '.join(cells)} |" for cells in table.aligned()]
    rules = ("-" * (size + 1) for size in table.sizes)
    rule = "|".join(f"{dashes}:" if right else f":{dashes}" for dashes, right in zip(rules, table.right, strict=True))
    return "\n".join([lines[0], f"|{rule}|", *lines[1:]]) + "\n"
