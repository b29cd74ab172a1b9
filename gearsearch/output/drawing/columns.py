"""The columns of a table on paper: how wide each is, figures to the right with their decimal points in line."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil

from ...base.document import plain, uncut
from ...base.facts import Heading, Table
from .papers import Width

CELL_MM = 3.0  # by which a column is wider than its cells
_LEFT_MM = 1.0  # of it before them
_TRIES = 40


@dataclass(frozen=True, slots=True)
class Columns:
    """How a table is set.

    Parameters
    ----------
    widths : of its columns [mm]
    behind : of those of figures, room behind the decimal point [mm]; None: their text begins at the left
    whole : whether no figure had to be broken between its words
    """

    widths: tuple[float, ...]
    behind: tuple[float | None, ...]
    whole: bool

    @property
    def wide(self) -> float:
        """All of them side by side [mm]."""
        return sum(self.widths)

    def indent(self, place: int, wide: float, after: float) -> float:
        """How far in from its left side a line of a cell begins [mm].

        Parameters
        ----------
        place : of the column
        wide : of the line [mm]
        after : of what stands behind the line's decimal point [mm]; 0 without one: it ends with the column
        """
        behind = self.behind[place]
        if behind is None:
            return _LEFT_MM
        return self.widths[place] - CELL_MM + _LEFT_MM - (behind - after if after else 0.0) - wide


def columns_of(table: Table, width: Width, size: float, room: float) -> Columns:
    """The columns of a table.

    Parameters
    ----------
    table : its cells
    width, size : how wide a text is [mm], and the type [points]
    room : for all of them [mm]

    Where the cells have no room side by side, heads are broken, then text, the widest column first, and figures
    between their words where that takes fewer lines; where the widest words alone have no room, nor have the columns.
    """
    cells = list(zip(*table.rows, strict=True)) or [()] * len(table.headings)
    measured = [_Measured.of(head, own, width, size) for head, own in zip(table.headings, cells, strict=True)]
    widths, whole = _widths(measured, room)
    behind = (each.figures and (each.figures if whole else each.parted)[1] for each in measured)
    return Columns(tuple(widths), tuple(behind), whole)


def behind_point(text: str) -> str:
    """What stands behind the decimal point of a figure, with the point: its unit too; empty where it has none."""
    _, point, after = text.partition(".")
    return point + after


@dataclass(frozen=True, slots=True)
class _Measured:
    """How wide what stands in a column is [mm].

    Parameters
    ----------
    head : the whole of it, and its widest word
    words : the widest of the cells
    cells : each
    figures : room before the decimal point and behind it, of whole cells; None for a column of text
    parted : the same of cells broken between their words
    """

    head: tuple[float, float]
    words: float
    cells: tuple[float, ...]
    figures: tuple[float, float] | None
    parted: tuple[float, float]

    @classmethod
    def of(cls, head: Heading, cells: Sequence[str], width: Width, size: float) -> _Measured:
        """A column's measures."""

        def wide(text: str) -> float:
            return width(text, size, False)

        def around_point(texts: Sequence[str]) -> tuple[float, float]:
            before = [wide(text.partition(".")[0]) for text in texts if "." in text]
            behind = max((wide(behind_point(text)) for text in texts), default=0.0)
            whole = [wide(text) - behind for text in texts if "." not in text]
            return max([*before, *whole], default=0.0), behind

        texts = [plain(cell) for cell in cells]
        words = [word for text in texts for word in uncut(text).split(" ")]
        return cls(
            (width(head.short, size, True), max(width(word, size, True) for word in head.short.split() or [""])),
            max(map(wide, words), default=0.0),
            tuple(map(wide, texts)),
            around_point(texts) if head.right else None,
            around_point(words),
        )

    def needs(self, *, head_whole: bool = False, words: bool = False, parted: bool = False) -> float:
        """Its width with the head whole or broken, text broken to its widest word, figures parted or not."""
        text = self.words if words else max(self.cells, default=0.0)
        body = text if self.figures is None else sum(self.parted if parted else self.figures)
        return CELL_MM + max(body, self.head[0 if head_whole else 1])

    def lines(self, row: int, wide: float) -> int:
        """About how many lines one of its cells takes in so much room."""
        return max(1, ceil(self.cells[row] / (wide - CELL_MM) - 1e-6))


def _widths(columns: Sequence[_Measured], room: float) -> tuple[list[float], bool]:
    """How wide each is, and whether all figures are whole."""
    widest, widths = ([each.needs(head_whole=whole) for each in columns] for whole in (True, False))
    more, spare = sum(widest) - sum(widths), room - sum(widths)
    if spare >= 0:
        share = min(1.0, spare / more) if more else 0.0
        return [low + share * (high - low) for low, high in zip(widths, widest, strict=True)], True
    whole, parted = (_with_text_broken(columns, room, parted=parted) for parted in (False, True))
    fits = sum(whole) <= room + 1e-6 and _high(columns, whole) <= _high(columns, parted)
    return (whole, True) if fits else (parted, False)


def _with_text_broken(columns: Sequence[_Measured], room: float, *, parted: bool) -> list[float]:
    """Widths in the room: of figures what they need, the widest columns of text narrowed first, none below a word."""
    most, least = ([each.needs(parted=parted, words=words) for each in columns] for words in (False, True))

    def capped(cap: float) -> list[float]:
        return [max(low, min(wide, cap)) for low, wide in zip(least, most, strict=True)]

    low, high = 0.0, max(most)
    for _ in range(_TRIES):
        middle = (low + high) / 2
        low, high = (middle, high) if sum(capped(middle)) <= room else (low, middle)
    return capped(low)


def _high(columns: Sequence[_Measured], widths: Sequence[float]) -> int:
    """About how many lines the rows take in such widths."""
    rows = range(len(columns[0].cells))
    return sum(max(each.lines(row, wide) for each, wide in zip(columns, widths, strict=True)) for row in rows)
