"""Looking a lead up in a saved chart: its neighbours, read from the few row groups that can hold them."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from pathlib import Path
from typing import Any

from ..base import require
from ..base.units import INCH_MM, decimals, format_both, format_length
from ..mounting.placement import gap_words
from ..output.lead_cells import LATHE_DIGITS, MILL_DIGITS, UNITS, number, places_apart, threads_per_inch
from ..shop.trains import Pair, Train
from ..work.limits import Limits
from ..work.tolerance import DOUBTFUL, HOPELESS
from .saved import ENDS, csv_rows, end_rows_in, facts_in, open_chart, rows_in, table_in

MOST_NEAR = 1000
KEYS = ("lead_mm", "lead_exact", "error_mm", "error_ppm", "train", "hand", "idlers", "mounts", "gears", "clearance_mm")


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
    """

    lead_mm: Fraction
    wanted_mm: Fraction
    train: Train
    hand: str
    mounts: str
    clearance_mm: float | None
    starts: int | None = None

    @property
    def error(self) -> Fraction:
        """lead / wanted − 1, exact."""
        return self.lead_mm / self.wanted_mm - 1

    def record(self) -> dict[str, Any]:
        """For programs; the keys are stable."""
        values = (
            float(self.lead_mm),
            str(self.lead_mm),
            float(self.lead_mm - self.wanted_mm),
            float(self.error * 1_000_000),
            str(self.train),
            self.hand,
            list(self.train.idlers),
            self.mounts,
            self.train.gears,
            self.clearance_mm,
        )
        return dict(zip(KEYS, values, strict=True))


@dataclass(frozen=True, slots=True)
class Found:
    """What a saved chart holds about a lead.

    Parameters
    ----------
    path : the chart, as it was named
    facts : what it says of itself; nothing where it was saved as CSV
    wanted_mm : the lead that was looked up [mm]
    ends_mm : the shortest and the longest lead of the chart [mm]; None where it is empty
    hits : the trains of the leads that lie nearest, by ascending lead
    """

    path: str | Path
    facts: dict[str, str]
    wanted_mm: Fraction
    ends_mm: tuple[Fraction, Fraction] | None
    hits: tuple[Neighbour, ...]

    @property
    def is_near(self) -> bool:
        """Whether a lead of the chart is as near as any answer must be."""
        return any(abs(hit.error) <= HOPELESS for hit in self.hits)

    def remarks(self, unit: str) -> Iterator[str]:
        """What is to be known before the neighbours are read, a line each."""
        if self.ends_mm is None:
            yield "the chart is empty"
            return
        shortest, longest = self.ends_mm
        if not shortest <= self.wanted_mm <= longest:
            yield (
                f"OUTSIDE this chart: its leads go from {format_both(shortest, unit)} to {format_both(longest, unit)}, "
                f"and {format_both(self.wanted_mm, unit)} was asked for"
            )
        if not self.is_near:
            yield f"no lead of this chart is within {decimals(100 * HOPELESS, 0)} % of the one asked for"


def look_up(path: str | Path, wanted_mm: Fraction, near: int = 10) -> Found:
    """The trains of the leads of a saved chart that lie nearest to a lead.

    Parameters
    ----------
    path : a Parquet or CSV file that ``gearsearch chart`` wrote
    wanted_mm : the lead to look up [mm]
    near : how many leads, 1 to 1000

    A lead has a train for each hand that mounts. Nearness is exact; of two leads equally far off the shorter is
    taken. Only the row groups about the lead are read, where the chart is one of every lead saved as Parquet.
    Raises GearsearchError for a file that is no chart or a damaged one, unless 1 to 1000 leads are asked for, and for a
    lead that is no exact number above zero.
    """
    (wanted_mm,) = require.above_zero({"lead": wanted_mm}, given=True)
    near = require.whole(near, MOST_NEAR, "leads to look for")
    facts, rows, ends = _read(path, wanted_mm, near)
    found: dict[Fraction, list[dict[str, Any]]] = {}
    for row in rows:
        found.setdefault(_lead(row), []).append(row)
    ends = [*ends, *found]
    nearest = sorted(found, key=lambda lead: (abs(lead - wanted_mm), lead))[:near]
    trains = (hit for lead in sorted(nearest) for row in found[lead] for hit in _trains(row, lead, wanted_mm))
    return Found(path, facts, wanted_mm, (min(ends), max(ends)) if ends else None, tuple(dict.fromkeys(trains)))


def as_text(found: Found, unit: str = "mm") -> str:
    """The neighbours as a table for people."""
    from tabulate import tabulate

    said = [*_heading(found), f"asked for: {format_both(found.wanted_mm, unit)}", *found.remarks(unit)]
    if not found.hits:
        return "\n".join(said) + "\n"
    leads = _leads([hit.lead_mm for hit in found.hits], unit, found.hits[0].starts is not None)
    cells = [{"lead": lead} | _cells(hit, unit) for hit, lead in zip(found.hits, leads, strict=True)]
    text = "\n".join([*said, "", tabulate(cells, headers="keys", tablefmt="simple", disable_numparse=True)]) + "\n"
    share = decimals(100 * DOUBTFUL, 1)
    return text + (f"\nOFF: more than {share} % off\n" if any(_is_off(hit) for hit in found.hits) else "")


def _heading(found: Found) -> list[str]:
    facts = found.facts
    if not facts:
        return [f"{found.path}: a chart saved as CSV, which does not say for what shop, route and gears it was made"]
    date = [f"date: {facts['date']}"] if "date" in facts else []
    return [f"{facts['shop']}, route {facts['route']}: {facts['title']}", *date]


def _leads(leads_mm: list[Fraction], unit: str, is_lathe: bool) -> Iterator[str]:
    """Leads in both units, the shop's first, with the digits that tell them apart."""
    digits = LATHE_DIGITS if is_lathe else MILL_DIGITS
    texts = []
    for one in UNITS[unit]:
        places = places_apart(leads_mm, one, digits)
        texts.append([f"{number(lead, one, places, digits)} {one}" for lead in leads_mm])
    yield from (f"{own} ({other})" for own, other in zip(*texts, strict=True))


def _cells(hit: Neighbour, unit: str) -> dict[str, str]:
    off = "exact" if hit.error == 0 else format_length(hit.lead_mm - hit.wanted_mm, unit, signed=True)
    return {
        **({} if hit.starts is None else {"tpi": threads_per_inch(hit.lead_mm, hit.starts)}),
        "off": off,
        "relative": Limits(None, hit.wanted_mm).relative(hit.lead_mm) + " OFF" * _is_off(hit),
        "train": str(hit.train),
        "hand": hit.hand or "not known",
        "mounts": {"rule": "by the rule of thumb", "unknown": "not judged"}.get(hit.mounts, hit.mounts),
        "clear": "" if hit.clearance_mm is None else gap_words(hit.clearance_mm, unit),
    }


def _is_off(hit: Neighbour) -> bool:
    return abs(hit.error) > DOUBTFUL


def as_json(found: Found) -> str:
    """The neighbours as JSON."""
    return json.dumps([hit.record() for hit in found.hits], indent=2, ensure_ascii=False) + "\n"


def as_csv(found: Found) -> str:
    """The neighbours as CSV; idlers are parted by blanks."""
    text = io.StringIO()
    writer = csv.DictWriter(text, KEYS, lineterminator="\n")
    writer.writeheader()
    for hit in found.hits:
        writer.writerow(hit.record() | {"idlers": " ".join(map(str, hit.train.idlers))})
    return text.getvalue()


def _read(
    path: str | Path, wanted_mm: Fraction, near: int
) -> tuple[dict[str, str], list[dict[str, Any]], list[Fraction]]:
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


def _groups_about(path: str | Path, file: Any, wanted_mm: float, near: int) -> list[int]:
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


def _leads_in(path: str | Path, file: Any, groups: range, below: float = float("inf"), above: float = 0.0) -> int:
    """How many different leads stand in some row groups on one side of a lead."""
    import pyarrow.compute as pc

    leads = table_in(path, file, list(groups), ["lead_mm"])["lead_mm"]
    inside = pc.and_(pc.less_equal(leads, below), pc.greater_equal(leads, above))
    return len(leads.filter(inside).unique())


def _trains(row: dict[str, Any], lead_mm: Fraction, wanted_mm: Fraction) -> list[Neighbour]:
    found = []
    for end in ENDS:
        mounts = row.get(f"mounts{end}")
        if mounts is not None and mounts != "no":
            train = _train(row, end)
            hand, clear = end.lstrip("_"), row["clearance_mm"]
            found.append(Neighbour(lead_mm, wanted_mm, train, hand, mounts, clear, _starts(row, lead_mm)))
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
