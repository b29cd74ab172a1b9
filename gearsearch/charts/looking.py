"""Looking a lead up in a saved chart: its neighbours, read from the few row groups that can hold them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING, Any

from ..base import require
from ..base.document import Block, Document
from ..base.facts import Column, Note, Record, Table, record
from ..base.showing import Answering
from ..base.units import INCH_MM, decimals, format_both, format_length
from ..mounting.placement import JUDGEMENT, gap_words
from ..shop.trains import Pair, Train
from ..work.limits import OFF, Limits, mark
from ..work.tolerance import DOUBTFUL, HOPELESS
from .lead_cells import LEAD_DIGITS, in_both_units, threads_per_inch
from .saved import ENDS, TRAINS, csv_rows, end_rows_in, facts_in, open_chart, rows_in, table_in, title_in

if TYPE_CHECKING:
    import pyarrow.parquet as pq

MOST_NEAR = 1000


@dataclass(frozen=True, slots=True)
class Neighbour:
    """One train of a saved chart.

    Parameters
    ----------
    lead_mm : its lead [mm], exact
    wanted_mm : the lead it was looked up for [mm]
    train : with the idlers of its hand
    hand : ``right``, ``left``, or empty where the chart does not say
    mounts : as in the chart
    clearance_mm : as in the chart; None where it does not say
    starts : of the thread, on a lathe; None on a mill
    route, lever : by which way, where the chart has several; else empty
    """

    lead_mm: Fraction
    wanted_mm: Fraction
    train: Train
    hand: str
    mounts: str
    clearance_mm: float | None
    starts: int | None = None
    route: str = ""
    lever: str = ""

    @property
    def error(self) -> Fraction:
        """lead / wanted − 1, exact."""
        return self.lead_mm / self.wanted_mm - 1

    def record(self) -> Record:
        """For programs; the keys are stable."""
        return record(_VALUES, self)


@dataclass(frozen=True, slots=True, repr=False)
class LookedUp(Answering):
    """What a saved chart holds about a lead.

    Parameters
    ----------
    path : the chart, as it was named
    facts : what it says of itself; nothing where it was saved as CSV
    wanted_mm : the lead that was looked up [mm]
    ends_mm : the shortest and the longest lead of the chart [mm]; None where it is empty
    hits : the trains of the leads that lie nearest, by ascending lead
    unit : ``mm`` or ``in``, for people
    """

    path: str | Path
    facts: dict[str, str]
    wanted_mm: Fraction
    ends_mm: tuple[Fraction, Fraction] | None
    hits: tuple[Neighbour, ...]
    unit: str = "mm"

    @property
    def is_near(self) -> bool:
        """Whether a lead of the chart is as near as any answer must be."""
        return any(abs(hit.error) <= HOPELESS for hit in self.hits)

    @property
    def keys(self) -> Sequence[str]:
        """What each row has for programs."""
        return KEYS

    def rows(self) -> list[Record]:
        """The neighbours for programs."""
        return [hit.record() for hit in self.hits]

    def record(self) -> Record:
        """All of it for programs."""
        notes = [note.record() for note in self.notes]
        return {"chart": str(self.path), "wanted_mm": float(self.wanted_mm), "leads": self.rows(), "notes": notes}

    def table(self) -> Table:
        """The neighbours for people."""
        digits = LEAD_DIGITS[bool(self.hits) and self.hits[0].starts is not None]
        leads = in_both_units([hit.lead_mm for hit in self.hits], self.unit, digits)
        return Table.of(_COLUMNS, [(hit, lead, self.unit) for hit, lead in zip(self.hits, leads, strict=True)])

    def document(self) -> Document:
        """All of it for people."""
        asked = f"wanted: {format_both(self.wanted_mm, self.unit)}"
        said = tuple(note.text for note in self.notes if note.code != "off")
        marks = tuple(note for note in self.notes if note.code == "off")
        blocks = (Block(table=self.table()),) if self.hits else ()
        date = (f"date: {self.facts['date']}",) if "date" in self.facts else ()
        return Document(self._title, (*date, asked, *said), blocks=blocks, notes=marks)

    @property
    def _title(self) -> str:
        facts = self.facts
        if not facts:
            return f"{self.path}: a chart saved as CSV, which does not say for what shop, route and gears it was made"
        return title_in(facts)

    @property
    def notes(self) -> tuple[Note, ...]:
        """What is to be known of the neighbours."""
        return tuple(self._notes())

    def _notes(self) -> Iterator[Note]:
        unit = self.unit
        if self.ends_mm is None:
            yield Note("empty-chart", "the chart is empty")
            return
        shortest, longest = self.ends_mm
        if not shortest <= self.wanted_mm <= longest:
            ends = f"{format_both(shortest, unit)} to {format_both(longest, unit)}"
            yield Note("outside", f"OUTSIDE this chart, which goes from {ends}")
        if not self.is_near:
            share = decimals(100 * HOPELESS, 0)
            yield Note("none-near", f"no lead in this chart is within {share} % of the wanted one")
        if any(map(_is_off, self.hits)):
            yield Note("off", OFF)


def look_up(path: str | Path, wanted_mm: Fraction, near: int = 10, unit: str = "mm") -> LookedUp:
    """The trains of the leads of a saved chart that lie nearest to a lead.

    Parameters
    ----------
    path : a Parquet or CSV file that ``gearsearch chart`` wrote
    wanted_mm : the lead to look up [mm]
    near : how many leads, 1 to 1000
    unit : ``mm`` or ``in``, in which people read it

    A lead has a train for each hand that mounts. Nearness is exact; of two leads equally far off the shorter is
    taken. Only the row groups about the lead are read, where the chart is one of every lead saved as Parquet.
    Raises GearsearchError for a file that is no chart or a damaged one, unless 1 to 1000 leads are asked for, and for a
    lead that is not an exact number above zero.
    """
    (wanted_mm,) = require.above_zero({"lead": wanted_mm}, given=True)
    near = require.whole(near, MOST_NEAR, "leads to look for")
    facts, rows, ends = _read(path, wanted_mm, near)
    found: dict[Fraction, list[Record]] = {}
    for row in rows:
        found.setdefault(_lead(row), []).append(row)
    ends = [*ends, *found]
    nearest = sorted(found, key=lambda lead: (abs(lead - wanted_mm), lead))[:near]
    trains = (hit for lead in sorted(nearest) for row in found[lead] for hit in _trains(row, lead, wanted_mm))
    reach = (min(ends), max(ends)) if ends else None
    return LookedUp(path, facts, wanted_mm, reach, tuple(dict.fromkeys(trains)), unit)


_VALUES: tuple[Column[Neighbour], ...] = (
    Column("lead_mm", "", lambda hit: float(hit.lead_mm)),
    Column("lead_exact", "", lambda hit: str(hit.lead_mm)),
    Column("error_mm", "", lambda hit: float(hit.lead_mm - hit.wanted_mm)),
    Column("error_ppm", "", lambda hit: float(hit.error * 1_000_000)),
    Column("train", "", lambda hit: str(hit.train)),
    Column("hand", "", lambda hit: hit.hand),
    Column("idlers", "", lambda hit: list(hit.train.idlers)),
    Column("mounts", "", lambda hit: hit.mounts),
    Column("gears", "", lambda hit: hit.train.gears),
    Column("clearance_mm", "", lambda hit: hit.clearance_mm),
    Column("route", "", lambda hit: hit.route or None),
    Column("lever", "", lambda hit: hit.lever or None),
)
KEYS = tuple(column.name for column in _VALUES)
_Row = tuple[Neighbour, tuple[str, str], str]  # with its lead in both units, and the unit for people


def _off(row: _Row) -> str:
    hit, _, unit = row
    return "exact" if hit.error == 0 else format_length(hit.lead_mm - hit.wanted_mm, unit, signed=True)


def _threads(row: _Row) -> str:
    hit = row[0]
    return "" if hit.starts is None else threads_per_inch(hit.lead_mm, hit.starts)


def _relative(row: _Row) -> str:
    hit = row[0]
    return Limits(None, hit.wanted_mm).relative(hit.lead_mm) + mark(_is_off(hit), None)


def _clear(row: _Row) -> str:
    hit, _, unit = row
    return "" if hit.clearance_mm is None else gap_words(hit.clearance_mm, unit)


_COLUMNS: tuple[Column[_Row], ...] = (
    Column("", "lead", cell=lambda row: row[1][0], right=True),
    Column("", "or", cell=lambda row: row[1][1], weight=1, right=True),
    Column("", "tpi", cell=_threads, weight=4, right=True),
    Column("", "off", cell=_off, right=True),
    Column("", "relative", cell=_relative, weight=3, right=True),
    Column("", "train", cell=lambda row: str(row[0].train)),
    Column("", "hand", cell=lambda row: row[0].hand or "not known"),
    Column("", "route", cell=lambda row: row[0].route),
    Column("", "lever", cell=lambda row: row[0].lever),
    Column("", "mounts", cell=lambda row: JUDGEMENT[row[0].mounts]),
    Column("", "clear", cell=_clear, weight=2, right=True),
)


def _is_off(hit: Neighbour) -> bool:
    return abs(hit.error) > DOUBTFUL


def _read(path: str | Path, wanted_mm: Fraction, near: int) -> tuple[dict[str, str], list[Record], list[Fraction]]:
    """What a chart says of itself, the rows that hold the nearest leads, and its first and last lead beside them."""
    if Path(path).suffix.lower() == ".csv":
        return {}, csv_rows(path), []
    file = open_chart(path)
    facts = facts_in(file)
    groups = every = list(range(file.num_row_groups))
    if facts["gearsearch_chart"] == "every" and groups:
        groups = _groups_about(path, file, float(wanted_mm), near)
    ends = [] if groups == every else [_lead(row) for row in end_rows_in(path, file)]
    return facts, rows_in(path, file, groups), ends


def _lead(row: dict[str, Any]) -> Fraction:
    return Fraction(row["lead_num"], row["lead_den"])


def _groups_about(path: str | Path, file: pq.ParquetFile, wanted_mm: float, near: int) -> list[int]:
    """The row groups at the lead, and on each side as many as hold the neighbours asked for.

    A lead has at most two rows in a chart of the best trains; in one of all arrangements a group may hold few
    leads, and then more groups are read. So are all where a file does not keep the ends of its groups, in order.
    """
    first_is_lead = file.schema_arrow.names[0] == "lead_mm"
    ends = [file.metadata.row_group(group).column(0).statistics for group in range(file.num_row_groups)]
    if not first_is_lead or any(end is None or not end.has_min_max for end in ends):
        return list(range(len(ends)))
    if any(below.max > above.min for below, above in pairwise(ends)):
        return list(range(len(ends)))
    at = next((group for group, end in enumerate(ends) if end.max >= wanted_mm), len(ends) - 1)
    first, last = at, at
    while first > 0 and _leads_in(path, file, range(first, at + 1), below=wanted_mm) <= near:
        first -= 1
    while last < len(ends) - 1 and _leads_in(path, file, range(at, last + 1), above=wanted_mm) <= near:
        last += 1
    return list(range(first, last + 1))


def _leads_in(
    path: str | Path, file: pq.ParquetFile, groups: range, below: float = float("inf"), above: float = 0.0
) -> int:
    """How many different leads stand in some row groups on one side of a lead."""
    import pyarrow.compute as pc

    leads = table_in(path, file, list(groups), ["lead_mm"])["lead_mm"]
    inside = pc.and_(pc.less_equal(leads, below), pc.greater_equal(leads, above))
    return len(leads.filter(inside).unique())


def _trains(row: dict[str, Any], lead_mm: Fraction, wanted_mm: Fraction) -> list[Neighbour]:
    found = []
    for end in ENDS:
        mounts = row.get(f"mounts{end}")
        if mounts in TRAINS:
            train = _train(row, end)
            hand = end.lstrip("_")
            clear = row.get(f"clearance{end}_mm") if f"clearance{end}_mm" in row else row["clearance_mm"]
            way = row.get("route") or "", row.get("lever") or ""
            found.append(Neighbour(lead_mm, wanted_mm, train, hand, mounts, clear, _starts(row, lead_mm), *way))
    return found


def _starts(row: dict[str, Any], lead_mm: Fraction) -> int | None:
    threads = row.get("threads_per_inch")
    return None if threads is None else round(Fraction(threads) * lead_mm / INCH_MM)


def _train(row: dict[str, Any], end: str) -> Train:
    drivers, driven = row["drivers"], row["driven"]
    between: list[list[int]] = [[] for _ in drivers]
    for idler, place in zip(row[f"idlers{end}"], row[f"idler_pairs{end}"], strict=True):
        between[place - 1].append(idler)
    kinds = row.get("kinds") or [""] * len(drivers)
    return Train(
        tuple(Pair(a, b, tuple(c), kind) for a, b, c, kind in zip(drivers, driven, between, kinds, strict=True))
    )
