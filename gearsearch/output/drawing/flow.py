"""Words set line after line down pages, heavy ones among them, with boxes to tick, tables and lines to write on.

Two libraries for PDF pages were tried on the set-up sheet instead. The words look the same and take fewer lines, but
neither takes a figure of the drawing library as it is drawn: train, error and template, which are written as ``.svg``
and ``.png`` too, would have to be drawn a second time.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from itertools import zip_longest
from typing import Any

from ...base.document import Block, Item, cut, spans, uncut
from ...base.facts import Table
from . import papers
from .columns import CELL_MM, Columns, behind_point, columns_of
from .papers import POINT_MM, Width, measure

LINE = 1.22  # height of a line for the size of its type
FIELD_MM = 8.0  # from one line to write on to the next
_TIGHT = 1.13  # the same of words that are to stand on one page
_WRITE_MM = 15.0  # least length of a line to write on
_FOOT_MM = -2.0  # words may go so much below the margin, down to the foot
_STRIP = 24  # rows that are not parted into strips
_TOGETHER, _TITLE_LINES = 3, 3  # rows that stay under their head, and room for a title above them
_BESIDE_MM = 8.0  # between two columns of rows of a table
_GAP_MM = 6.0  # between two columns of a page
_INDENT_MM = 5.5  # of what stands behind a box or a dot
_WHOLE, _KEPT = 8, 14  # lines of an item that no column parts; of what is not needed at the machine, with its title
Piece = tuple[str, bool]  # text, and whether it is heavy
Word = tuple[Piece, ...]  # pieces that are not parted


def broken(lines: list[str], width: float, size: float, hanging: str = "") -> list[str]:
    """Lines broken to a width [mm] in a size of type, what does not go into the first set in by some blanks."""
    wide = measure()
    broken = []
    for line in lines:
        first, *words = uncut(line).split(" ")
        broken.append(first)
        for word in words:
            longer = f"{broken[-1]} {word}"
            if wide(longer, size, False) <= width:
                broken[-1] = longer
            else:
                broken.append(hanging + word)
    return [cut(line) for line in broken]


def words_of(text: str, *, bold: bool = False) -> Iterator[Word]:
    """The words of a text, what is strong in it heavy."""
    word: list[Piece] = []
    for part, strong in spans(uncut(text)):
        for place, piece in enumerate(part.split(" ")):
            if place and word:
                yield tuple(word)
                word = []
            if piece:
                word.append((cut(piece), bold or strong))
    if word:
        yield tuple(word)


def _is_blank(word: Word) -> bool:
    """Whether a word is a line to write on."""
    return not "".join(text for text, _ in word).strip("_")


@lru_cache(2000)  # a page is filled a dozen times until its columns are even
def _broken(width: Width, text: str, size: float, room: float, bold: bool) -> list[list[Word]]:
    """The lines of a text; a line to write on stays with its word."""
    lines: list[list[Word]] = [[]]
    used, space = 0.0, _space(width, size)
    words = list(words_of(text, bold=bold))
    for word, after in zip_longest(words, words[1:]):
        wide = _wide(width, word, size)
        kept = space + _WRITE_MM if after and _is_blank(after) else 0.0
        if lines[-1] and used + space + wide + kept > room:
            lines.append([])
            used = 0.0
        used += wide + (space if lines[-1] else 0.0)
        lines[-1].append(word)
    return lines


def _wide(width: Width, word: Word, size: float) -> float:
    return _WRITE_MM if _is_blank(word) else sum(width(text, size, heavy) for text, heavy in word)


def _space(width: Width, size: float) -> float:
    return width("n n", size, False) - 2 * width("n", size, False)


class _Unprinted:
    """A page on which nothing is drawn, to see how many pages are needed."""

    def __init__(self) -> None:
        self.axes = [self]

    def text(self, *_: object, **__: object) -> None:
        """Draw nothing."""

    plot = add_patch = text


@dataclass(frozen=True, slots=True)
class Frame:
    """A part of a page that is filled from above [mm]."""

    left: float
    low: float
    width: float
    top: float


@dataclass(slots=True)
class Flow:
    """Pages that are filled from above, in one size of type, in one column or in several side by side.

    Parameters
    ----------
    paper, size : name of the paper, and the type [points]
    width : how wide a text is [mm], by text, size and heaviness
    only_counting : whether pages are only counted, not drawn
    kept : how much of the foot of each page is kept free [mm], by its number from 0
    row : height of a row of a table for that of a line
    keeps_whole : whether no column parts a short block of those that stand after all else
    crowded : whether a table so far had no room for its figures
    figures : the pages so far
    y : how high on the last page the next line begins [mm]
    """

    paper: str
    size: float
    width: Width
    only_counting: bool = False
    kept: dict[int, float] = field(default_factory=dict)
    row: float = 1.35
    keeps_whole: bool = True
    crowded: bool = False
    figures: list[Any] = field(default_factory=list)
    y: float = 0.0
    _columns: int = 1
    _frame: Frame = Frame(0.0, 0.0, 0.0, 0.0)
    _waiting: list[Frame] = field(default_factory=list)
    _lowest: float = 0.0

    @property
    def room(self) -> float:
        """Width of a column [mm]."""
        across = papers.size_mm(self.paper)[0] - 2 * papers.MARGIN_MM
        return (across - _GAP_MM * (self._columns - 1)) / self._columns

    @property
    def left(self) -> float:
        """Where the column that is being filled begins [mm]."""
        return self._frame.left

    @property
    def page(self) -> Any:
        """The page that is being filled."""
        return self.figures[-1].axes[0]

    @property
    def line_mm(self) -> float:
        """Height of a line [mm]."""
        return self.size * _TIGHT * POINT_MM

    @property
    def lowest(self) -> float:
        """How far down the last page is filled in any of its columns [mm]."""
        return min(self._lowest, self.y)

    def new_page(self) -> None:
        """Begin a page."""
        wide, high = papers.size_mm(self.paper)
        self.figures.append(_Unprinted() if self.only_counting else papers.blank(wide, high)[0])
        self.parted(self._columns, high - papers.MARGIN_MM)

    def parted(self, columns: int, top: float | None = None) -> None:
        """From here on, or from so high [mm], the page has so many columns side by side."""
        if not self.figures:
            self.new_page()
        self._columns = columns
        top = self.y if top is None else top
        low = papers.MARGIN_MM + _FOOT_MM + self.kept.get(len(self.figures) - 1, 0.0)
        lefts = [papers.MARGIN_MM + number * (self.room + _GAP_MM) for number in range(columns)]
        self._frame, *self._waiting = [Frame(left, low, self.room, top) for left in lefts]
        self.y = self._lowest = top

    def go_on(self) -> None:
        """Go on in the next column, on a new page where there is none."""
        if not self._waiting:
            self.new_page()
            return
        self._lowest = self.lowest
        self._frame = self._waiting.pop(0)
        self.y = self._frame.top

    def left_mm(self) -> float:
        """How much of the column is left [mm]."""
        return self.y - self._frame.low if self.figures else 0.0

    def need(self, height: float) -> None:
        """Begin a column where this one has not so much room left [mm], and another where that one is cut short."""
        if self.left_mm() < height:
            self.go_on()
        while self.left_mm() < height and self.kept.get(len(self.figures) - 1):
            self.go_on()

    def words(self, text: str, size: float, indent: float = 0.0, *, bold: bool = False, aside: float = 0.0) -> None:
        """A paragraph, broken where it must be, so far in from the left and from the right [mm]."""
        for line in self.broken(text, size, self.room - indent - aside, bold=bold):
            step = size * _TIGHT * POINT_MM
            self.need(step)
            self.y -= step
            self._set(line, size, self.left + indent, self.y + 0.3 * step)

    def broken(self, text: str, size: float, room: float, *, bold: bool = False) -> list[list[Word]]:
        """The lines of a text, none wider than the room [mm] unless one word alone is."""
        return _broken(self.width, text, size, room, bold)

    def _set(self, line: Sequence[Word], size: float, x: float, y: float) -> None:
        """One line: pieces of one weight are set together."""
        if line and _is_blank(line[-1]):
            self._set(line[:-1], size, x, y)
            begin = x + sum(_wide(self.width, word, size) + _space(self.width, size) for word in line[:-1]) + 1
            end = min(begin + 3 * _WRITE_MM, self.left + self.room)
            self.page.plot([begin, end], [y - 0.6] * 2, color="black", lw=0.6)
            return
        pieces: list[list[Any]] = []
        for number, word in enumerate(line):
            for place, (text, heavy) in enumerate(word):
                gap = " " if number and place == 0 else ""
                if pieces and pieces[-1][1] == heavy:
                    pieces[-1][0] += gap + text
                else:
                    pieces.append([text, heavy, bool(gap)])
        for number, (text, heavy, gap) in enumerate(pieces):
            x += _space(self.width, size) if gap and number else 0.0
            weight = "bold" if heavy else "normal"
            self.page.text(x, y, text, fontsize=size, weight=weight, va="baseline")
            x += self.width(text, size, heavy)

    def item(self, item: Item) -> None:
        """Something to do, with a box to tick, or to know, after a dot; parted only where it is long."""
        from matplotlib.patches import Rectangle

        self.need(self.line_mm * self._whole(item.text))
        side = 0.62 * self.size * POINT_MM
        low, page = self.y - 0.82 * self.line_mm, self.page
        if item.tick:
            page.add_patch(Rectangle((self.left, low), 1.25 * side, 1.25 * side, fill=False, lw=0.9))
        else:
            page.plot(self.left + 0.7 * side, low + 0.65 * side, marker="o", ms=1.8, color="black")
        self.words(item.text, self.size, _INDENT_MM)

    def _whole(self, text: str) -> int:
        """Lines of an item that no column parts."""
        return min(_WHOLE, len(self.broken(text, self.size, self.room - _INDENT_MM)))

    def plain(self, rows: Sequence[str]) -> None:
        """Lines of plain characters, each as wide as the others, in heavy type."""
        if not rows:
            return
        size = min(self.size, (self.room - 3) / (0.603 * POINT_MM * max(map(len, rows))))
        step = size * 1.2 * POINT_MM
        self.need(step * len(rows))
        for row in rows:
            self.y -= step
            style = {"family": "monospace", "weight": "bold"}
            self.page.text(self.left + 3, self.y + 0.3 * step, row, fontsize=size, **style)
        self.y -= 1.0

    def title(self, text: str, kept: Sequence[Item] = (), table: Table | None = None) -> None:
        """A title under a rule across the column; kept with the items or table that follow, or with two lines."""
        lines = min(_KEPT, sum(self._whole(item.text) for item in kept))
        self.need((2 + max(2, lines)) * self.line_mm)
        if table is not None:
            self.need(_TITLE_LINES * self.line_mm + self._begun_mm(table))
        self.y -= 0.25 * self.size * POINT_MM
        left = self.left
        self.page.plot([left, left + self.room], [self.y, self.y], color="black", lw=0.9)
        self.y -= 0.5
        self.words(text, 1.12 * self.size, bold=True)

    def boxed(self, text: str) -> None:
        """A warning, large, in a heavy frame."""
        from matplotlib.patches import Rectangle

        size = 1.6 * self.size
        lines = len(self.broken(text, size, self.room - 8, bold=True))
        height = lines * size * _TIGHT * POINT_MM + 3
        self.need(height + 3)
        self.y -= 1.5
        low = self.y - height
        self.page.add_patch(Rectangle((self.left, low), self.room, height, fill=False, lw=2.6))
        self.y -= 1.2
        self.words(text, size, 4.0, bold=True, aside=4.0)
        self.y = low - 1.5

    def at_right(self, lines: Sequence[str], top: float, low: float, size: float) -> None:
        """Heavy lines that end at the right margin, between two heights [mm]."""
        step = (top - low) / len(lines)
        right = self.left + self.room
        for number, line in enumerate(lines):
            y = top - (number + 0.5) * step
            self.page.text(right, y, line, fontsize=size, weight="bold", ha="right", va="center")

    def write_on(self, fields: Sequence[Sequence[str]]) -> None:
        """Rows of labels at the foot of the page, each with a line to write on, below all that flows."""
        low = papers.MARGIN_MM + FIELD_MM * len(fields)
        for labels in fields:
            low -= FIELD_MM
            each = self.room / len(labels)
            for number, label in enumerate(labels):
                left = self.left + number * each
                self.page.text(left, low, label, fontsize=self.size, va="baseline")
                begin = left + self.width(label, self.size, False) + 2
                self.page.plot([begin, left + each - 3], [low - 0.6] * 2, color="black", lw=0.6)

    def block(self, block: Block) -> None:
        """A part of a document: title, lines, diagram, what is done or known, table; nothing where it is empty."""
        words = (*block.lines, *block.diagram)
        if not (words or block.items or block.table):
            return
        if block.title:
            kept = () if words else block.items if block.own_page and self.keeps_whole else block.items[:1]
            self.title(block.title, kept, None if words or block.items else block.table)
        for line in block.lines:
            self.words(line.strip(), self.size, 4.0 * line.startswith(" "))
        self.plain(block.diagram)
        for item in block.items:
            self.item(item)
        if block.table is not None:
            self.table(block.table)

    def table(self, table: Table) -> None:
        """A table, its head over every column of rows; as many columns of rows side by side as there is room for."""
        columns = columns_of(table, self.width, self.size, self.room)
        self.crowded = self.crowded or not columns.whole
        beside = max(1, int((self.room + _BESIDE_MM) / (columns.wide + _BESIDE_MM)))
        head = self._row([heading.short for heading in table.headings], columns, bold=True)
        rows = [self._row(row, columns) for row in table.rows]
        while rows:
            self.need(self._high([head, *rows[:_TOGETHER]]))
            top, room, count = self.y, self.left_mm(), max(_STRIP, -(-len(rows) // beside))
            for number in range(beside):
                high = 0
                while high < min(count, len(rows)) and (not high or self._high([head, *rows[: high + 1]]) <= room):
                    high += 1
                part, rows = rows[:high], rows[high:]
                if part:
                    left = self.left + number * (columns.wide + _BESIDE_MM)
                    self.y = min(self.y, self._put_rows([head, *part], columns, left, top))
        self.y -= 1.0

    def _begun_mm(self, table: Table) -> float:
        """How high the head of a table is with the rows that stay under it [mm]."""
        columns = columns_of(table, self.width, self.size, self.room)
        head = self._row([heading.short for heading in table.headings], columns, bold=True)
        return self._high([head, *(self._row(row, columns) for row in table.rows[:_TOGETHER])])

    def _row(self, cells: Sequence[str], columns: Columns, *, bold: bool = False) -> list[list[list[Word]]]:
        """The lines of every cell of a row."""
        return [
            self.broken(cell, self.size, wide - CELL_MM + 1e-6, bold=bold)
            for cell, wide in zip(cells, columns.widths, strict=True)
        ]

    def _high(self, rows: Sequence[list[list[list[Word]]]]) -> float:
        """How high rows are [mm]."""
        return sum(self.line_mm * (max(map(len, row)) + self.row - 1) for row in rows)

    def _indent(self, columns: Columns, place: int, line: list[Word]) -> float:
        """How far in a line of a cell begins [mm]."""
        text = " ".join("".join(piece for piece, _ in word) for word in line)
        wide = sum(_wide(self.width, word, self.size) for word in line) + _space(self.width, self.size) * (
            len(line) - 1
        )
        return columns.indent(place, wide, self.width(behind_point(text), self.size, False))

    def _put_rows(self, rows: Sequence[list[list[list[Word]]]], columns: Columns, left: float, y: float) -> float:
        """Rows from so high downward [mm], a line under each; returns where they end."""
        for number, row in enumerate(rows):
            low = y - self._high([row])
            x = left
            for column, cell in enumerate(row):
                for place, line in enumerate(cell):
                    at = y - (place + 0.5 + self.row / 2) * self.line_mm + 0.3 * self.line_mm
                    self._set(line, self.size, x + self._indent(columns, column, line), at)
                x += columns.widths[column]
            self.page.plot([left, x], [low, low], color="black", lw=0.4 if number and number % 5 else 0.9)
            y = low
        return y
