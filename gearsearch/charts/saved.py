"""Saved charts read back: Parquet, whole or a few row groups at a time, and CSV."""

from __future__ import annotations

import csv
import os
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

from ..base.errors import GearsearchError
from ..base.facts import Record
from .legend import DEMO

if TYPE_CHECKING:
    import pandas as pd
    import pyarrow as pa
    import pyarrow.parquet as pq

ENDS = ("_right", "_left", "")  # of the columns of each hand; the last where the chart does not say which
_FACTS = ("title", "shop", "route")  # said of every chart
_NEEDED = {"lead_mm": "float", "lead_num": "int", "lead_den": "int", "drivers": "ints", "driven": "ints"}
_OF_A_HAND = {"idlers": "ints", "idler_pairs": "ints", "mounts": "text"}
_FLOATS = ("clearance_mm", "clearance_right_mm", "clearance_left_mm", "threads_per_inch")  # each may be lacking
TRAINS = ("yes", "rule", "unknown")  # of the column mounts, where a hand has the train
_NAME_ONE = "name a .parquet file that gearsearch chart has written"
_NAME_CSV = "name a .parquet or .csv file that gearsearch chart has written"
_FOR_PEOPLE = (
    "a .md or .pdf chart is for people: write one to search beside it, as in --out leads.parquet, and name that"
)


def read_chart(path: str | Path) -> pd.DataFrame:
    """A saved chart as a pandas DataFrame; units stand in the names of its columns.

    Parameters
    ----------
    path : a Parquet file that ``gearsearch chart`` wrote

    What the file says of itself is in ``attrs``. The exact lead is ``lead_num`` / ``lead_den`` mm.
    Raises GearsearchError for a file that is not such a chart, and for a damaged one.
    """
    file = open_chart(path)
    frame: pd.DataFrame = table_in(path, file).to_pandas()
    frame.attrs.update(facts_in(file))
    return frame


def open_chart(path: str | Path) -> pq.ParquetFile:
    """A saved chart as a ``pyarrow.parquet.ParquetFile`` that has every column and fact a chart needs.

    Raises GearsearchError for what is not one.
    """
    import pyarrow as pa
    import pyarrow.parquet as pq

    try:
        file = pq.ParquetFile(pa.OSFile(os.fsencode(path)))
    except FileNotFoundError:
        raise GearsearchError(f"there is no chart {path}", _NAME_ONE) from None
    except PermissionError:
        raise _forbidden(path) from None
    except (pa.ArrowException, OSError, UnicodeDecodeError) as error:
        remedy = _FOR_PEOPLE if Path(path).suffix.lower() in (".md", ".pdf") else _NAME_ONE
        raise GearsearchError(f"{path} is not a chart: {_reason(str(error))}", remedy) from None
    if "gearsearch_chart" not in facts_in(file):
        raise GearsearchError(f"{path} is a Parquet file, but no chart", _NAME_ONE)
    lacking = [f"it does not say its {name}" for name in _FACTS if name not in facts_in(file)]
    lacking += _lacking({field.name: _kind(field.type) for field in file.schema_arrow})
    if lacking:
        raise _damaged(path, lacking[0])
    return file


def unit_of(path: str | Path) -> str | None:
    """The unit of the shop that a chart was made for, ``mm`` or ``in``; None where it does not say, as in CSV.

    Raises GearsearchError for what is no chart.
    """
    if Path(path).suffix.lower() == ".csv":
        return None
    unit = facts_in(open_chart(path)).get("shop_units")
    return unit if unit in ("mm", "in") else None


def facts_in(file: pq.ParquetFile) -> dict[str, str]:
    """What a chart's file says of itself."""
    found = file.schema_arrow.metadata or {}
    return {key.decode(errors="replace"): value.decode(errors="replace") for key, value in found.items()}


def title_in(facts: dict[str, str]) -> str:
    """Whose chart it is and what it holds, from what its file says of itself."""
    demo = DEMO if "demo" in facts else ""
    return f"{facts['shop']}{demo}, route {facts['route']}: {facts['title']}"


def table_in(
    path: str | Path, file: pq.ParquetFile, groups: list[int] | None = None, columns: list[str] | None = None
) -> pa.Table:
    """Some row groups of an opened chart, or all, as an Arrow table. Raises GearsearchError where they are damaged."""
    import pyarrow as pa

    try:
        table = file.read(columns=columns) if groups is None else file.read_row_groups(groups, columns=columns)
        table.validate(full=True)  # else text that is none is found only where it is used
        return table
    except (pa.ArrowException, OSError):
        raise _damaged(path, "its rows cannot be read") from None


def rows_in(path: str | Path, file: pq.ParquetFile, groups: list[int]) -> list[Record]:
    """The rows of some row groups, by the names of their columns. Raises GearsearchError where one is damaged."""
    rows = table_in(path, file, groups).to_pylist() if groups else []
    return list(_sound(path, (("a row", row) for row in rows), dict))


def end_rows_in(path: str | Path, file: pq.ParquetFile) -> list[Record]:
    """The first and the last row of an opened chart. Raises GearsearchError where one is damaged."""
    first, last = (table_in(path, file, [group]) for group in (0, file.num_row_groups - 1))
    rows = [*first.slice(0, 1).to_pylist(), *last.slice(len(last) - 1).to_pylist()]
    return list(_sound(path, (("a row", row) for row in rows), dict))


def csv_rows(path: str | Path) -> list[Record]:
    """The rows of a chart that was saved as CSV, as ``rows_in`` gives those of the same chart.

    Raises GearsearchError for what is no such file, and for a row that no chart has.
    """
    try:
        with Path(path).open(encoding="utf-8-sig", newline="") as stream:
            lines = csv.DictReader(stream, strict=True)
            if lacking := _lacking(dict.fromkeys(lines.fieldnames or ())):
                raise GearsearchError(f"{path} is a CSV file, but no chart: {lacking[0]}", _NAME_CSV)
            return list(_sound(path, ((f"line {lines.line_num}", line) for line in lines), _typed))
    except FileNotFoundError:
        raise GearsearchError(f"there is no chart {path}", _NAME_CSV) from None
    except PermissionError:
        raise _forbidden(path) from None
    except (OSError, UnicodeDecodeError, csv.Error) as error:
        reason = "it is not UTF-8 text" if isinstance(error, UnicodeDecodeError) else _reason(str(error))
        raise GearsearchError(f"{path} is not a chart: {reason}", _NAME_CSV) from None


def _sound(
    path: str | Path, rows: Iterable[tuple[str, dict[str, Any]]], read: Callable[[dict[str, Any]], dict[str, Any]]
) -> Iterator[Record]:
    """The rows as they are read. Raises GearsearchError at the first that cannot be one of a chart."""
    for place, cells in rows:
        try:
            row = read(cells)
            is_sound = _is_sound(row)
        except (TypeError, ValueError, KeyError, AttributeError):
            is_sound = False
        if not is_sound:
            raise _damaged(path, f"{place} does not hold a train with its lead")
        yield row


def _is_sound(row: dict[str, Any]) -> bool:
    """Whether a row holds a lead and a train, each idler in one of its pairs."""
    pairs = len(row["drivers"])
    gears = [*row["drivers"], *row["driven"]]
    for end in ENDS:
        if (word := row.get(f"mounts{end}")) not in (None, "no", "not asked"):
            idlers, places = row[f"idlers{end}"], row[f"idler_pairs{end}"]
            if word not in TRAINS or len(idlers) != len(places) or not all(1 <= place <= pairs for place in places):
                return False
            gears += idlers
    kinds = row.get("kinds") or [""] * pairs
    return pairs == len(row["driven"]) == len(kinds) > 0 and min(row["lead_num"], row["lead_den"], *gears) >= 1


def _typed(cells: dict[str, str]) -> Record:
    """A row of text as Parquet has it. Raises ValueError or TypeError where it cannot be."""
    row: Record = {name: int(cells[name]) for name in ("lead_num", "lead_den")}
    lists = [name for name in cells if name in ("drivers", "driven") or name.startswith("idler")]
    row |= {name: [int(teeth) for teeth in cells[name].split()] for name in lists}
    row |= {name: cells[name] or None for name in cells if name.startswith("mounts")}
    return row | {
        **{name: float(cells[name]) if cells.get(name) else None for name in _FLOATS},
        "kinds": cells.get("kinds", "").split(),
    }


def _lacking(kinds: dict[str, str | None]) -> list[str]:
    """Which columns of a chart are not among these, or hold something else; what is not known to be else is None."""
    ends = [end for end in ENDS if f"mounts{end}" in kinds] or [ENDS[-1]]
    needed = _NEEDED | {"clearance_mm": "float"}
    needed |= {f"{name}{end}": kind for end in ends for name, kind in _OF_A_HAND.items()}
    absent = [f"it has no column {name}" for name in needed if name not in kinds]
    return absent + [
        f"its column {name} holds something else" for name in needed if kinds.get(name) not in (None, needed[name])
    ]


def _kind(pa_type: pa.DataType) -> str | None:
    """What a column holds, in one word; None for nothing but nulls."""
    import pyarrow.types as types

    if types.is_null(pa_type):
        return None
    if types.is_list(pa_type) or types.is_large_list(pa_type):
        return f"{_kind(pa_type.value_type)}s"
    tests = {"int": types.is_integer, "float": types.is_floating, "text": types.is_string}
    return next((word for word, is_one in tests.items() if is_one(pa_type)), "other")


def _damaged(path: str | Path, how: str) -> GearsearchError:
    return GearsearchError(f"{path} is a damaged chart: {how}", "write it again with gearsearch chart")


def _forbidden(path: str | Path) -> GearsearchError:
    remedy = "name a file you may read, in a folder you may enter"
    return GearsearchError(f"{path} cannot be read: permission denied", remedy)


def _reason(said: str) -> str:
    """Why a file cannot be opened, in words of our own where the library's would be hard to read."""
    if "directory" in said:
        return "it is a folder"
    if "codec" in said:
        return "it is damaged"
    return "it is no Parquet file, or a damaged one" if "magic" in said else said.splitlines()[0].split(". ")[0][:80]
