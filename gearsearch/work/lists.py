"""Lists of wanted leads: the standard lists that come with the package, and the user's own as CSV."""

from __future__ import annotations

import csv
import io
import os
import re
import sys
import tomllib
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from difflib import get_close_matches
from functools import cache
from importlib import resources
from itertools import zip_longest
from pathlib import Path
from typing import Any

from ..base import require
from ..base.errors import GearsearchError
from ..base.files import legible
from ..base.units import shown
from .asking import part, part_of_text, spellings
from .part import Part
from .series import all_series, series_names, series_of
from .tolerance import Tolerance
from .tolerance import spellings as tolerance_spellings

COLUMNS = ("name", "wanted", "tolerance")
_ONE_MORE = "one cell more than the heading has; write decimals with a point, and text with commas in double quotes"
_MOST_SHOWN = 10
# a number with a comma of decimals, not one that may be of thousands
_COMMA = re.compile(r"(?<![0-9,.])(0(?=,)|[0-9]+(?=,(?![0-9]{3}(?![0-9])))),([0-9]+)(?![0-9,.])")


@dataclass(frozen=True, slots=True)
class LeadList:
    """Wanted leads in the order of the list.

    Parameters
    ----------
    name : of a standard list, or the file as the user named it
    title : what it holds, in words
    items : its parts, each with its name, its tolerance where the list says one, and its source
    """

    name: str
    title: str
    items: tuple[Part, ...]

    @property
    def sources(self) -> tuple[str, ...]:
        """Every source, each once, in the order of the list."""
        return tuple(dict.fromkeys(item.source for item in self.items if item.source))


def standard_names() -> tuple[str, ...]:
    """The names of the standard lists."""
    return tuple(_tables())


def load_list(name: str | os.PathLike[str], unit: str = "mm", starts: Iterable[int] = (1,)) -> LeadList:
    """A list of wanted leads, by the name of a standard list or from a CSV file.

    Parameters
    ----------
    name : ``iso-261``, ``unc`` and so on (see ``standard_names``), or a file with the columns name, wanted, tolerance;
        ``-`` for what comes in by stdin
    unit : ``mm`` or ``in``, for a length that stands alone in a file
    starts : for a standard list, the numbers of starts to take each value by; a file gives its own

    Raises GearsearchError for a list that is neither, and for a file with mistakes: each with its line and column.
    """
    name = require.path(name, "list")
    if name.lower() in _tables():
        return standard_list(name.lower(), starts)
    path = Path(name)
    if name == "-" or _is_file(path):
        if require.whole_numbers(starts, "numbers of starts") != (1,):
            raise GearsearchError(
                f"{name} gives the starts of each lead itself", "write 'x 2 starts' behind the wanted value"
            )
        return read_list(sys.stdin.read().removeprefix("\ufeff") if name == "-" else _text_of(path), name, unit)
    if "/" in name or ("." in name[-5:] and name.lower().endswith((".csv", ".txt", ".tsv"))):
        raise GearsearchError(
            f"the list {name} cannot be read: there is no such file",
            "name a CSV file that is there",
            code="no-such-list",
        )
    raise _no_list(name, "name a CSV file, or one of")


def _no_list(name: str, remedy: str) -> GearsearchError:
    near = get_close_matches(name, standard_names(), 1)
    hint = f"did you mean {near[0]}? " if near else ""
    return GearsearchError(f"there is no list {shown(name)}", f"{hint}{remedy}: {', '.join(standard_names())}")


def standard_list(name: str, starts: Iterable[int] = (1,)) -> LeadList:
    """A standard list with its sources; each value once for each number of starts.

    Parameters
    ----------
    name : one of ``standard_names()``
    starts : the numbers of starts to take each value by

    Raises GearsearchError for an unknown name, and outside 1 to 1000 starts.
    """
    if require.text(name, "list") not in _tables():
        raise _no_list(name, "use one of")
    starts = require.whole_numbers(starts, "numbers of starts")
    table = _tables()[name]
    items = [
        part(**_values_of(table, value), starts=n, name=label if n == 1 else f"{label}, {n} starts", source=source)
        for label, value, source in _values(name)
        for n in starts
    ]
    items.sort(key=lambda item: (item.starts, item.lead_mm))
    return LeadList(name, table["title"], tuple(items))


def read_list(text: str, where: str, unit: str = "mm") -> LeadList:
    """A list from the text of a CSV file: a heading ``name,wanted,tolerance``, then a line for each lead.

    Parameters
    ----------
    text : the file; the tolerance may be left empty, or its column out. Its cells are parted as its heading is: by
        commas, or by semicolons or tabs, and then a decimal comma is taken for a point
    where : what the file is called, for messages
    unit : ``mm`` or ``in``, for a length that stands alone

    Raises GearsearchError with every mistake, by line and column.
    """
    parting = _parting(text)
    rows = csv.reader(io.StringIO(text), strict=True, skipinitialspace=True, delimiter=parting)
    problems: list[str] = []
    try:
        heading = [cell.strip().lower() for cell in next(rows, [])]
        _check_heading(heading, where)
        told = rows if parting == "," else _Pointed(rows, heading)
        read = _items(told, heading, unit, problems)
        items = [replace(item, found_at=f"{where}: {item.found_at}") for item in read if item is not None]
    except csv.Error as error:
        raise GearsearchError(
            f"{where}: line {rows.line_num}: {error}",
            "put text with commas in double quotes",
            code="wrong-list",
        ) from None
    if problems:
        raise GearsearchError(all_problems(problems, where), _forms(problems), code="wrong-list")
    if not items:
        raise GearsearchError(
            f"{where}: no lead below the heading", "write a line for each lead: M10,1.5 mm,0.1%", code="empty-list"
        )
    return LeadList(legible(where), legible(where), tuple(items))


def _parting(text: str) -> str:
    """What stands between the cells, by the heading: a comma, or the semicolon or tab of a table saved elsewhere."""
    heading = text.lstrip().partition("\n")[0]
    return next((mark for mark in ";\t" if mark in heading and "," not in heading), ",")


class _Pointed:
    """Rows whose decimals may have a comma, with a point instead; ``1,500`` may be a thousand and stays as it is."""

    def __init__(self, rows: Any, heading: list[str]) -> None:
        self._rows, self._names = rows, [column == "name" for column in heading]

    def __iter__(self) -> Iterator[list[str]]:
        return self

    def __next__(self) -> list[str]:
        cells = zip_longest(next(self._rows), self._names, fillvalue="")
        return [str(cell) if is_name else _COMMA.sub(r"\1.\2", str(cell)) for cell, is_name in cells]

    @property
    def line_num(self) -> int:
        """The line that was read last."""
        return int(self._rows.line_num)


def _items(rows: Iterator[list[str]], heading: list[str], unit: str, problems: list[str]) -> Iterator[Part | None]:
    line = getattr(rows, "line_num", 1)
    for row in rows:
        first, line = line + 1, getattr(rows, "line_num", line + 1)
        cells = [cell.strip() for cell in row]
        if not any(cells) or cells[0].startswith("# "):
            continue
        if len(cells) > len(heading):
            problems.append(f"line {first}, column {len(heading) + 1}: {_ONE_MORE}")
            continue
        yield _item(dict(zip(heading, cells, strict=False)), f"line {first}", unit, problems)


def _item(row: dict[str, str], line: str, unit: str, problems: list[str]) -> Part | None:
    column = "wanted"
    try:
        made = part_of_text(row.get("wanted", ""), unit, row.get("name") or row["wanted"])
        column = "tolerance"
        tolerance = Tolerance.parse(row["tolerance"], unit) if row.get("tolerance") else None
        return replace(made, tolerance=tolerance, found_at=f"{line}, column wanted")
    except GearsearchError as error:
        problems.append(f"{line}, column {column}: {error.message}")
        return None


def _check_heading(heading: list[str], where: str) -> None:
    if {"lead_num", "lead_den"} <= set(heading):
        raise GearsearchError(
            f"{where} is a chart that gearsearch chart has written, and no list of wanted leads",
            f"look leads up in it, as in gearsearch chart look {where} --lead 412mm; a list has the heading "
            f"{','.join(COLUMNS)}",
            code="wrong-list",
        )
    for number, column in enumerate(heading, 1):
        if column not in COLUMNS or column in heading[: number - 1]:
            trouble = (
                f"the column {shown(column)} stands twice" if column in COLUMNS else f"{shown(column)} is no column"
            )
            raise GearsearchError(
                f"{where}: line 1, column {number}: {trouble}",
                f"begin the file with the heading {','.join(COLUMNS)}",
                code="wrong-list",
            )
    if "wanted" not in heading:
        raise GearsearchError(
            f"{where}: line 1: there is no column wanted",
            f"begin the file with the heading {','.join(COLUMNS)}",
            code="wrong-list",
        )


def _forms(problems: list[str]) -> str:
    """How to write what was wrong: wanted leads, tolerances, or both."""
    wanted, tolerances = (any(f"column {name}:" in problem for problem in problems) for name in ("wanted", "tolerance"))
    forms = [spellings()] * wanted + [f"write a tolerance as in {tolerance_spellings()}"] * tolerances
    return "; ".join(forms) or f"write each line as {','.join(COLUMNS)}"


def all_problems(problems: list[str], where: str = "") -> str:
    """Mistakes one under the other, with the file they are in where they don't name it themselves."""
    more = [f"  and {len(problems) - _MOST_SHOWN} more"] if len(problems) > _MOST_SHOWN else []
    begin = f"{where}: " if where else ""
    if len(problems) == 1:
        return f"{begin}{problems[0]}"
    lines = [f"  {problem}" for problem in problems[:_MOST_SHOWN]]
    return "\n".join([f"{begin}{len(problems)} mistakes", *lines, *more])


def _is_file(path: Path) -> bool:
    try:
        return path.is_file()
    except OSError:  # a name too long to be one
        return False


def _text_of(path: Path) -> str:
    try:
        return path.read_text(encoding="utf-8-sig")
    except UnicodeDecodeError as error:
        raise GearsearchError(
            f"{path}: byte {error.start + 1} is not UTF-8 text", "save the list as UTF-8", code="unreadable"
        ) from None
    except OSError as error:
        raise GearsearchError(
            f"{path} cannot be read: {(error.strerror or str(error)).lower()}",
            "name a file you may read",
            code="unreadable",
        ) from None


@cache
def _tables() -> dict[str, dict[str, Any]]:
    text = resources.files(__package__).joinpath("standards.toml").read_text(encoding="utf-8")
    lists = {table["name"]: table for table in tomllib.loads(text)["lists"]}
    series = {each.name: {"title": each.title, "kind": "pitch", "unit": each.unit} for each in all_series()}
    return lists | series


def _values(name: str) -> Iterator[tuple[str, str, str]]:
    """Label, value and source of every value of a standard list."""
    table = _tables()[name]
    if name in series_names():
        yield from ((row.name, row.pitch, row.source) for row in series_of(name).in_order)
        return
    rows = [row for series in table.get("of", ()) for row in series_of(series).threads]
    sources = {row.pitch: row.source for row in reversed(rows)}
    sources |= {value: part["source"] for part in table.get("parts", ()) for value in part["values"]}
    yield from ((table["label"].format(value), value, source) for value, source in sources.items())


def _values_of(table: dict[str, Any], value: str) -> dict[str, str]:
    """A value of a standard list as that of a form of wanted lead."""
    forms = {"module": "worm_module", "dp": "worm_dp"}
    form = forms.get(table["kind"], "thread")
    return {form: f"{value} {table['unit']}" if form == "thread" else value}
