"""Any answer written down in any form: the one thing that a command needs of this package. A writer is
imported when it writes, so that a table on the terminal waits for none of the others."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Sequence
from importlib.resources import files
from typing import Protocol

from ..base import require
from ..base.document import Document
from ..base.facts import Record

SCHEMA = 1  # of the records; it changes where a key goes or means something else


class Answer(Protocol):
    """What every answer offers its writers."""

    @property
    def keys(self) -> Sequence[str]:
        """The columns of its rows, in order."""

    def rows(self) -> Iterable[Mapping[str, object]]:
        """Flat rows of plain values, for CSV."""

    def record(self) -> Record:
        """All of it in plain types, exact fractions as text."""

    def document(self) -> Document:
        """All of it for people."""


def written(answer: Answer, form: str, full: bool = True) -> str:
    """The answer as text for a terminal (``table``), ``json``, ``csv``, Markdown (``md``) or ``html``.

    Parameters
    ----------
    answer, form : what is written, and how
    full : whether the text for a terminal has the details too; the other forms always do
    """
    match form:
        case "json":
            from .records import json_text

            return json_text(for_programs(answer))
        case "csv":
            from .records import csv_text

            return csv_text(answer.keys, answer.rows())
        case "md":
            from .markdown import markdown

            return markdown(answer.document())
        case "html":
            from .html import html

            return html(answer.document())
        case _:
            from .text import text

            document = answer.document()
            return text(document if full else document.in_short())


def for_programs(answer: Answer) -> Record:
    """The record of an answer as it goes out, with the number of its schema."""
    return {"schema": SCHEMA} | answer.record()


def schema(kind: str) -> Record:
    """The JSON Schema of one kind of answer: what ``to_dict()`` gives, and its command with ``--format json``.

    Parameters
    ----------
    kind : ``find``, ``check``, ``sheet``, ``divide``, ``pair``, ``extend``, ``spare``, ``design``, ``shop``,
        ``extend_shops`` and ``design_shops`` for several shops, ``chart`` or ``look``, of which the command gives the
        ``leads`` alone

    Raises GearsearchError for another. The files stand in the package's folder ``schemas``.

    >>> import gearsearch as gs
    >>> gs.schema("find")["properties"]["searched"]["type"]
    'integer'
    """
    folder = files("gearsearch") / "schemas"
    kinds = sorted(each.name.removesuffix(".json") for each in folder.iterdir())
    require.one_of(kind, kinds, "the kind of answer")
    found: Record = json.loads((folder / f"{kind}.json").read_text("utf-8"))
    return found
