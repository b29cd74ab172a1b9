"""What answers are made of before anybody writes them down: notes, columns, tables of text."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Generic, TypeVar

R = TypeVar("R")
Record = dict[str, object]  # what programs get: plain values by their names, records and lists of records inside it
STAYS = 5  # from this weight on a column is never left out
SPARED = 1  # the weight of what another column tells too, as a length in the other unit: left out without a word


@dataclass(frozen=True, slots=True)
class Note:
    """Something a person should know of an answer.

    Parameters
    ----------
    code : stable name for programs and tests: ``wrong-hand``
    text : one sentence for people, in the shop's unit
    """

    code: str
    text: str

    def __str__(self) -> str:
        return self.text

    def record(self) -> dict[str, str]:
        """The note for programs."""
        return {"code": self.code, "text": self.text}


@dataclass(frozen=True, slots=True)
class Column(Generic[R]):
    """One column of an answer, for programs, for people, or both.

    Parameters
    ----------
    name : key in JSON and CSV; empty: people alone see it
    short : heading for people; empty: programs alone get it
    value : of a row: the plain value that programs get
    cell : of a row: the text that people see; empty where there is nothing to say
    unit : of the value; empty where it has none
    weight : where a table is too wide the lightest column goes first; from ``STAYS`` on it stays
    right : whether people's cells end in line, as numbers do
    about : of the first row: the heading in place of ``short``, where it hangs on what was asked
    """

    name: str
    short: str
    value: Callable[[R], object] | None = None
    cell: Callable[[R], str] | None = None
    unit: str = ""
    weight: int = STAYS
    right: bool = False
    about: Callable[[R], str] | None = None

    def heading(self, rows: Sequence[R]) -> Heading:
        """Its heading over some rows, one at least."""
        return Heading(self.about(rows[0]) if self.about else self.short, self.weight, self.right)


@dataclass(frozen=True, slots=True)
class Heading:
    """A column of a table for people: its heading, weight and side; see ``Column``."""

    short: str
    weight: int = STAYS
    right: bool = False


@dataclass(frozen=True, slots=True)
class Table:
    """Rows of text for people; every row has a cell for each heading."""

    headings: tuple[Heading, ...]
    rows: tuple[tuple[str, ...], ...]

    @property
    def sizes(self) -> list[int]:
        """Letters of the widest cell of each column, its heading included."""
        columns = zip((heading.short for heading in self.headings), *self.rows, strict=True)
        return [max(map(len, column)) for column in columns]

    def without(self, place: int) -> Table:
        """The same without one column."""
        return self.part([each for each in range(len(self.headings)) if each != place])

    def part(self, places: Sequence[int]) -> Table:
        """Some of its columns."""
        rows = tuple(tuple(row[place] for place in places) for row in self.rows)
        return Table(tuple(self.headings[place] for place in places), rows)

    @classmethod
    def of(cls, columns: Iterable[Column[R]], rows: Sequence[R]) -> Table:
        """The columns that people see, those left out in which no row has anything to say."""
        shown = [(column, [column.cell(row) for row in rows]) for column in columns if column.short and column.cell]
        used = [(column, cells) for column, cells in shown if any(cells)]
        headings = tuple(column.heading(rows) for column, _ in used)
        return cls(headings, tuple(zip(*(cells for _, cells in used), strict=True)))


def record(columns: Iterable[Column[R]], row: R) -> Record:
    """What programs get of a row, by the names of its columns."""
    return {column.name: column.value(row) for column in columns if column.name and column.value}
