"""What a sheet is made of: blocks of items to do or to know, tables, and how they read as Markdown."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from dataclasses import dataclass

WIDTH = 100
_PAGE_BREAK = '<div style="break-before: page"></div>\n\n'


@dataclass(frozen=True, slots=True)
class Item:
    """Something to do, or to know.

    Parameters
    ----------
    text : what it says; figures to be read at arm's length stand between two pairs of stars: ``**93.0 mm**``
    tick : whether it is something to do, with a box to tick
    """

    text: str
    tick: bool = False

    @property
    def plain(self) -> str:
        """The text without stars."""
        return self.text.replace("**", "")


@dataclass(frozen=True, slots=True)
class Table:
    """Rows of cells, all of them text; the last column may be left empty to be filled in."""

    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True, slots=True)
class Block:
    """A part of the sheet.

    Parameters
    ----------
    title : its heading
    items : in the order in which they are done
    plain : lines of plain characters that stand before them, as a picture
    table : rows that stand after them
    own_page : whether it begins a page
    """

    title: str
    items: tuple[Item, ...] = ()
    plain: tuple[str, ...] = ()
    table: Table | None = None
    own_page: bool = False


def do(text: str) -> Item:
    """Something to do, as a sentence: it begins large and ends in a full stop, or in a line to fill in."""
    return Item(_sentence(text), tick=True)


def know(text: str) -> Item:
    """Something to know, likewise."""
    return Item(_sentence(text))


def to_measure(text: str) -> str:
    """A text with a line to write on what was measured."""
    return f"{text}. Measured {'_' * 14}"


def _sentence(text: str) -> str:
    first = len(text) - len(text.lstrip("*"))
    text = text[:first] + text[first : first + 1].upper() + text[first + 1 :]
    return text if text.endswith((".", "_")) else f"{text}."


def block_markdown(block: Block) -> str:
    """A block as Markdown that reads as plain text too, at most 100 columns wide."""
    parts = [f"## {block.title}", "\n".join(f"    {line}" for line in block.plain)]
    parts += ["\n".join(map(_bullet, block.items)), "" if block.table is None else _table_markdown(block.table)]
    text = "\n\n".join(part for part in parts if part)
    return _PAGE_BREAK + text if block.own_page else text


def _bullet(item: Item) -> str:
    return wrapped(f"- [ ] {item.text}", "      ") if item.tick else wrapped(f"- {item.text}", "  ")


def wrapped(text: str, indent: str = "") -> str:
    """A text in lines of at most 100 columns, all but the first indented."""
    return textwrap.fill(text, WIDTH, subsequent_indent=indent, break_long_words=False, break_on_hyphens=False)


def _table_markdown(table: Table) -> str:
    rows: Sequence[Sequence[str]] = (table.heads, *table.rows)
    widths = [max(len(row[column]) for row in rows) for column in range(len(table.heads))]
    lines = [_row(row, widths) for row in rows]
    return "\n".join([lines[0], "|" + "|".join("-" * (width + 2) for width in widths) + "|", *lines[1:]])


def _row(cells: Sequence[str], widths: Sequence[int]) -> str:
    return "| " + " | ".join(cell.ljust(width) for cell, width in zip(cells, widths, strict=True)) + " |"
