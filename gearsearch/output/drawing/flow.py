"""Words set line after line down pages, heavy ones among them, with boxes to tick, tables and lines to write on."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from itertools import zip_longest
from typing import Any

from ...base.document import Item, spans
from ...base.facts import Heading, Table
from . import papers
from .papers import POINT_MM

LINE = 1.22  # height of a line for the size of its type
_TIGHT = 1.17  # the same of words that are to stand on one page
_STRONG = 1.08  # how much larger heavy words among others are set
_WRITE_MM = 15.0  # least length of a line to write on
_FOOT_MM = -2.0  # words may go so much below the margin, down to the foot
_ROW = 1.35  # height of a row of a table for that of a line
_STRIP = 24  # rows that are not parted into strips
_BESIDE_MM = 8.0  # between two columns of a table
Width = Callable[[str, float, bool], float]
Piece = tuple[str, bool]  # text, and whether it is heavy
Word = tuple[Piece, ...]  # pieces that are not parted


def measure() -> Width:
    """How wide a text is [mm], as printed: a function of text, size [points] and heaviness."""
    from matplotlib.font_manager import FontProperties
    from matplotlib.textpath import text_to_path

    known: dict[Piece, float] = {}

    def width(text: str, size: float, bold: bool) -> float:
        if (text, bold) not in known:
            font = FontProperties(size=100, weight="bold" if bold else "normal")
            known[text, bold] = float(text_to_path.get_text_width_height_descent(text, font, ismath=False)[0])
        return known[text, bold] / 100 * size * POINT_MM

    return width


def words_of(text: str, *, bold: bool = False) -> Iterator[Word]:
    """The words of a text, what is strong in it heavy."""
    word: list[Piece] = []
    for part, strong in spans(text):
        for place, piece in enumerate(part.split(" ")):
            if place and word:
                yield tuple(word)
                word = []
            if piece:
                word.append((piece, bold or strong))
    if word:
        yield tuple(word)


def _is_blank(word: Word) -> bool:
    """Whether a word is a line to write on."""
    return not "".join(text for text, _ in word).strip("_")


class _Unprinted:
    """A page on which nothing is drawn, to see how many pages are needed."""

    def __init__(self) -> None:
        self.axes = [self]

    def text(self, *_: Any, **__: Any) -> None:
        """Draw nothing."""

    plot = add_patch = text


@dataclass(slots=True)
class Flow:
    """Pages that are filled from above, in one size of type.

    Parameters
    ----------
    paper, size : name of the paper, and the type [points]
    width : how wide a text is [mm], by text, size and heaviness
    only_counting : whether pages are only counted, not drawn
    figures : the pages so far
    y : how high on the last page the next line begins [mm]
    """

    paper: str
    size: float
    width: Width
    only_counting: bool = False
    figures: list[Any] = field(default_factory=list)
    y: float = 0.0

    @property
    def room(self) -> float:
        """Width between the margins [mm]."""
        return papers.size_mm(self.paper)[0] - 2 * papers.MARGIN_MM

    @property
    def page(self) -> Any:
        """The page that is being filled."""
        return self.figures[-1].axes[0]

    @property
    def line_mm(self) -> float:
        """Height of a line [mm]."""
        return self.size * _TIGHT * POINT_MM

    def new_page(self) -> None:
        """Begin a page."""
        wide, high = papers.size_mm(self.paper)
        self.figures.append(_Unprinted() if self.only_counting else papers.blank(wide, high)[0])
        self.y = high - papers.MARGIN_MM

    def left_mm(self) -> float:
        """How much of the page is left [mm]."""
        return self.y - papers.MARGIN_MM - _FOOT_MM if self.figures else 0.0

    def need(self, height: float) -> None:
        """Begin a page where this one has not so much room left [mm]."""
        if self.left_mm() < height:
            self.new_page()

    def words(self, text: str, size: float, indent: float = 0.0, *, bold: bool = False) -> None:
        """A paragraph, broken where it must be."""
        for line in self.broken(text, size, self.room - indent, bold=bold):
            step = size * _TIGHT * POINT_MM
            self.need(step)
            self.y -= step
            self._set(line, size, papers.MARGIN_MM + indent, self.y + 0.3 * step)

    def broken(self, text: str, size: float, room: float, *, bold: bool = False) -> list[list[Word]]:
        """The lines of a text, none wider than the room [mm] unless one word alone is."""
        lines: list[list[Word]] = [[]]
        used = 0.0
        words = list(words_of(text, bold=bold))
        for word, after in zip_longest(words, words[1:]):
            wide = self._wide(word, size, bold)
            kept = self._space(size) + _WRITE_MM if after and _is_blank(after) else 0.0  # a line stays with its word
            if lines[-1] and used + self._space(size) + wide + kept > room:
                lines.append([])
                used = 0.0
            used += wide + (self._space(size) if lines[-1] else 0.0)
            lines[-1].append(word)
        return lines

    def _wide(self, word: Word, size: float, whole: bool) -> float:
        if _is_blank(word):
            return _WRITE_MM
        return sum(self.width(text, self._size(size, heavy and not whole), heavy) for text, heavy in word)

    def _long(self, line: Sequence[Word], size: float) -> float:
        return sum(self._wide(word, size, False) + self._space(size) for word in line)

    @staticmethod
    def _size(size: float, strong: bool) -> float:
        return size * _STRONG if strong else size

    def _space(self, size: float) -> float:
        return self.width("n n", size, False) - 2 * self.width("n", size, False)

    def _set(self, line: Sequence[Word], size: float, x: float, y: float) -> None:
        """One line: pieces of one weight are set together."""
        if line and _is_blank(line[-1]):
            self._set(line[:-1], size, x, y)
            begin = x + self._long(line[:-1], size) + 1
            end = min(begin + 3 * _WRITE_MM, papers.MARGIN_MM + self.room)
            self.page.plot([begin, end], [y - 0.6] * 2, color="black", lw=0.6)
            return
        whole = all(heavy for word in line for _, heavy in word)
        pieces: list[list[Any]] = []
        for number, word in enumerate(line):
            for place, (text, heavy) in enumerate(word):
                gap = " " if number and place == 0 else ""
                if pieces and pieces[-1][1] == heavy:
                    pieces[-1][0] += gap + text
                else:
                    pieces.append([text, heavy, bool(gap)])
        for number, (text, heavy, gap) in enumerate(pieces):
            x += self._space(size) if gap and number else 0.0
            type_ = self._size(size, heavy and not whole)
            weight = "bold" if heavy else "normal"
            self.page.text(x, y, text, fontsize=type_, weight=weight, va="baseline")
            x += self.width(text, type_, heavy)

    def item(self, item: Item) -> None:
        """Something to do, with a box to tick, or to know, after a dot; not parted from its first line."""
        from matplotlib.patches import Rectangle

        self.need(self.line_mm)
        side = 0.62 * self.size * POINT_MM
        low, page = self.y - 0.82 * self.line_mm, self.page
        if item.tick:
            page.add_patch(Rectangle((papers.MARGIN_MM, low), 1.25 * side, 1.25 * side, fill=False, lw=0.9))
        else:
            page.plot(papers.MARGIN_MM + 0.7 * side, low + 0.65 * side, marker="o", ms=1.8, color="black")
        self.words(item.text, self.size, 5.0)
        self.y -= 0.06 * self.size * POINT_MM

    def plain(self, rows: Sequence[str]) -> None:
        """Lines of plain characters, each as wide as the others, in heavy type."""
        if not rows:
            return
        size = min(self.size, self.room / (0.603 * POINT_MM * max(map(len, rows))))
        step = size * 1.2 * POINT_MM
        self.need(step * len(rows))
        for row in rows:
            self.y -= step
            style = {"family": "monospace", "weight": "bold"}
            self.page.text(papers.MARGIN_MM + 3, self.y + 0.3 * step, row, fontsize=size, **style)
        self.y -= 1.0

    def title(self, text: str) -> None:
        """A title under a rule across the page; kept with the two lines that follow."""
        self.need(4 * self.line_mm)
        self.y -= 0.25 * self.size * POINT_MM
        left = papers.MARGIN_MM
        self.page.plot([left, left + self.room], [self.y, self.y], color="black", lw=0.9)
        self.y -= 0.5
        self.words(text, 1.18 * self.size, bold=True)

    def boxed(self, text: str) -> None:
        """A warning, large, in a heavy frame."""
        from matplotlib.patches import Rectangle

        size = 1.6 * self.size
        lines = len(self.broken(text, size, self.room - 4, bold=True))
        height = lines * size * _TIGHT * POINT_MM + 3
        self.need(height + 3)
        self.y -= 1.5
        low = self.y - height
        self.page.add_patch(Rectangle((papers.MARGIN_MM, low), self.room, height, fill=False, lw=2.6))
        self.y -= 1.2
        self.words(text, size, 4.0, bold=True)
        self.y = low - 1.5

    def ruled(self, *labels: str) -> None:
        """Labels with a line to write on after each, side by side."""
        self.need(8.5)
        self.y -= 8.0
        each = self.room / len(labels)
        for number, label in enumerate(labels):
            left = papers.MARGIN_MM + number * each
            self.page.text(left, self.y, label, fontsize=self.size, va="baseline")
            begin = left + self.width(label, self.size, False) + 2
            self.page.plot([begin, left + each - 3], [self.y - 0.6] * 2, color="black", lw=0.6)

    def table_width(self, table: Table) -> float:
        """How wide a table is [mm]."""
        return sum(self._column_widths(table))

    def _column_widths(self, table: Table) -> list[float]:
        rows = ([heading.short for heading in table.headings], *table.rows)
        return [
            3 + max(self.width(row[column], self.size, head == 0) for head, row in enumerate(rows))
            for column in range(len(table.headings))
        ]

    def table(self, table: Table) -> None:
        """A table, its head over every column of rows; as many columns of rows side by side as there is room for."""
        widths = self._column_widths(table)
        step = _ROW * self.line_mm
        beside = max(1, int((self.room + _BESIDE_MM) / (sum(widths) + _BESIDE_MM)))
        rows = list(table.rows)
        while rows:
            self.need(4 * step)
            high = min(int(self.left_mm() / step) - 1, max(_STRIP, -(-len(rows) // beside)), len(rows))
            for number in range(beside):
                part, rows = rows[:high], rows[high:]
                left = papers.MARGIN_MM + number * (sum(widths) + _BESIDE_MM)
                self._rows(table.headings, part, widths, left)
            self.y -= (high + 1) * step

    def _rows(self, headings: Sequence[Heading], rows: list[Any], widths: list[float], left: float) -> None:
        if not rows:
            return
        step, y = _ROW * self.line_mm, self.y
        for number, row in enumerate(([heading.short for heading in headings], *rows)):
            y -= step
            x = left
            for cell, wide in zip(row, widths, strict=True):
                weight = "normal" if number else "bold"
                self.page.text(x + 1, y + 0.3 * step, cell, fontsize=self.size, weight=weight, va="baseline")
                x += wide
            self.page.plot([left, x], [y, y], color="black", lw=0.4 if number else 0.9)
