"""The one writer of CSV and the one writer of JSON: what programs get of any answer."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Iterable, Mapping, Sequence
from typing import TextIO


def json_text(record: object) -> str:
    """A record of plain types as JSON: ASCII, two blanks for each level, a line's end at the end."""
    return json.dumps(record, indent=2) + "\n"


def csv_text(keys: Sequence[str], rows: Iterable[Mapping[str, object]]) -> str:
    """Rows as CSV under their keys.

    Parameters
    ----------
    keys : the columns, in order; a row may have more keys than these, and lack some
    rows : plain values: truth becomes true or false, None an empty cell, a list its parts with blanks between
    """
    out = io.StringIO()
    write_csv(out, keys, rows)
    return out.getvalue()


def write_csv(out: TextIO, keys: Sequence[str], rows: Iterable[Mapping[str, object]]) -> None:
    """The same into a file, row by row, for what is too long to be held."""
    CsvRows(out, keys).add([row.get(key) for key in keys] for row in rows)


class CsvRows:
    """Rows of plain values being written as CSV under their keys, as they come."""

    def __init__(self, out: TextIO, keys: Sequence[str]) -> None:
        self._writer = csv.writer(out, lineterminator="\n")
        self._writer.writerow(keys)

    def add(self, rows: Iterable[Iterable[object]]) -> None:
        """Write some more rows, each with a value for every key."""
        self._writer.writerows(map(_cell, row) for row in rows)


def _cell(value: object) -> object:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, list | tuple):
        return " ".join(map(str, value))
    return "" if value is None else value
