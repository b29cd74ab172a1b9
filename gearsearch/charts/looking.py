"""Looking a lead up in a saved chart: its neighbours, read from the few row groups that can hold them."""

from __future__ import annotations

import csv
import io
import json
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import Any

from ..errors import GearsearchError
from ..mounting.placement import gap_words
from ..trains import Pair, Train
from ..units import format_both, format_length, format_ppm
from .tables import facts_in, open_chart

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
    """

    lead_mm: Fraction
    wanted_mm: Fraction
    train: Train
    hand: str
    mounts: str
    clearance_mm: float | None

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


def neighbours(path: str | Path, wanted_mm: Fraction, near: int = 10) -> list[Neighbour]:
    """The trains of the leads of a saved chart that lie nearest to a lead, by ascending lead.

    Parameters
    ----------
    path : a Parquet file that ``gearsearch chart`` wrote
    wanted_mm : the lead to look up [mm]
    near : how many leads

    A lead has a train for each hand that mounts. Nearness is exact; of two leads equally far off the shorter is
    taken. Only the row groups about the lead are read, where the chart is one of every lead.
    Raises GearsearchError for a file that is no chart, and unless 1 to 1000 leads are asked for.
    """
    if not 1 <= near <= MOST_NEAR:
        raise GearsearchError(f"{near} is no number of leads to look for", f"ask for 1 to {MOST_NEAR} leads")
    file = open_chart(path)
    rows = _rows_about(file, wanted_mm, near)
    found: dict[Fraction, list[dict[str, Any]]] = {}
    for row in rows:
        found.setdefault(Fraction(row["lead_num"], row["lead_den"]), []).append(row)
    nearest = sorted(found, key=lambda lead: (abs(lead - wanted_mm), lead))[:near]
    trains = (hit for lead in sorted(nearest) for row in found[lead] for hit in _trains(row, lead, wanted_mm))
    return list(dict.fromkeys(trains))


def as_text(path: str | Path, found: list[Neighbour], unit: str = "mm") -> str:
    """The neighbours as a table for people."""
    from tabulate import tabulate

    facts = facts_in(open_chart(path))
    heading = [f"{facts['shop']}, route {facts['route']}: {facts['title']}"]
    heading += [f"date: {facts['date']}"] if "date" in facts else []
    cells = [
        {
            "lead": format_both(hit.lead_mm, unit),
            "off": "exact" if hit.error == 0 else format_length(hit.lead_mm - hit.wanted_mm, unit, signed=True),
            "relative": format_ppm(hit.error),
            "train": str(hit.train),
            "hand": hit.hand or "not known",
            "mounts": {"rule": "by the rule of thumb", "unknown": "not judged"}.get(hit.mounts, hit.mounts),
            "clear": "" if hit.clearance_mm is None else gap_words(hit.clearance_mm, "mm"),
        }
        for hit in found
    ]
    if not cells:
        return "\n".join([*heading, "", "the chart is empty"]) + "\n"
    return "\n".join([*heading, "", tabulate(cells, headers="keys", tablefmt="simple", disable_numparse=True)]) + "\n"


def as_json(found: list[Neighbour]) -> str:
    """The neighbours as JSON."""
    return json.dumps([hit.record() for hit in found], indent=2, ensure_ascii=False) + "\n"


def as_csv(found: list[Neighbour]) -> str:
    """The neighbours as CSV; idlers are parted by blanks."""
    text = io.StringIO()
    writer = csv.DictWriter(text, KEYS, lineterminator="\n")
    writer.writeheader()
    for hit in found:
        writer.writerow(hit.record() | {"idlers": " ".join(map(str, hit.train.idlers))})
    return text.getvalue()


def _rows_about(file: Any, wanted_mm: Fraction, near: int) -> list[dict[str, Any]]:
    """Rows that hold the nearest leads: those of every row group, or of the few that can."""
    groups = list(range(file.num_row_groups))
    if facts_in(file)["gearsearch_chart"] == "every" and groups:
        groups = _groups_about(file, float(wanted_mm), near)
    rows: list[dict[str, Any]] = file.read_row_groups(groups).to_pylist() if groups else []
    return rows


def _groups_about(file: Any, wanted_mm: float, near: int) -> list[int]:
    """The row groups at the lead, and on each side as many as hold the neighbours asked for.

    A lead has at most two rows in a chart of the best trains; in one of all arrangements a group may hold few
    leads, and then more groups are read.
    """
    ends = [file.metadata.row_group(group).column(0).statistics for group in range(file.num_row_groups)]
    if any(end is None or not end.has_min_max for end in ends):
        return list(range(len(ends)))
    at = next((group for group, end in enumerate(ends) if end.max >= wanted_mm), len(ends) - 1)
    first, last = at, at
    while first > 0 and _leads_in(file, first, at, below=wanted_mm) <= near:
        first -= 1
    while last < len(ends) - 1 and _leads_in(file, at, last, above=wanted_mm) <= near:
        last += 1
    return list(range(first, last + 1))


def _leads_in(file: Any, first: int, last: int, below: float = float("inf"), above: float = 0.0) -> int:
    """How many different leads stand in some row groups on one side of a lead."""
    import pyarrow.compute as pc

    leads = file.read_row_groups(list(range(first, last + 1)), columns=["lead_mm"])["lead_mm"]
    inside = pc.and_(pc.less_equal(leads, below), pc.greater_equal(leads, above))
    return len(leads.filter(inside).unique())


def _trains(row: dict[str, Any], lead_mm: Fraction, wanted_mm: Fraction) -> list[Neighbour]:
    found = []
    for end in ("_right", "_left", ""):
        mounts = row.get(f"mounts{end}")
        if mounts is not None and mounts != "no":
            train = _train(row, end)
            found.append(Neighbour(lead_mm, wanted_mm, train, end.lstrip("_"), mounts, row["clearance_mm"]))
    return found


def _train(row: dict[str, Any], end: str) -> Train:
    drivers, driven = row["drivers"], row["driven"]
    between: list[list[int]] = [[] for _ in drivers]
    for idler, place in zip(row[f"idlers{end}"], row[f"idler_pairs{end}"], strict=True):
        between[place - 1].append(idler)
    kinds = row.get("kinds") or [""] * len(drivers)
    return Train(
        tuple(Pair(a, b, tuple(c), kind) for a, b, c, kind in zip(drivers, driven, between, kinds, strict=True))
    )
