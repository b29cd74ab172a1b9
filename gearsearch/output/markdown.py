"""Any document as Markdown that reads as plain text too."""

from __future__ import annotations

import re
from collections.abc import Iterator

from ..base.document import Block, Document, Item, plain, spans
from ..base.facts import Table
from .tables import filled, fitted, stacked, tabulated, to_write_on

WIDTH = 100  # columns of a page
PAGE_BREAK = '<div style="break-before: page"></div>'
_SPECIAL = re.compile(r"_{4,}|([\\`*_<>|]|\](?=[(\[:]))")  # a line to write on and a bracket alone are no marks
GAP, AROUND = 3, 4  # letters between two cells and at both ends of a row


def markdown(document: Document, width: int = WIDTH) -> str:
    """The document as Markdown, with a title in one line.

    Parameters
    ----------
    document : what it says
    width : letters of every other line at most
    """
    return "\n\n".join(part for part in _parts(document.keyed(), width) if part) + "\n"


def _parts(document: Document, width: int) -> Iterator[str]:
    yield f"# {escaped(document.title)}" if document.title else ""
    yield bullets(document.heading, width)
    for note in document.against:
        what, _, why = plain(note.text).partition(": ")
        yield f"## !! {escaped(what)}"
        yield "\n".join(filled(f"**{escaped(why)}**", width)) if why else ""
    for block in document.first_blocks:
        yield from _block(block, width)
    yield bullets(tuple(note.text for note in document.notes), width)
    if document.own_pages:
        yield PAGE_BREAK
    for block in document.own_pages:
        yield from _block(block, width)


def _block(block: Block, width: int) -> Iterator[str]:
    yield f"## {escaped(block.title)}" if block.title else ""
    yield bullets(block.lines, width)
    yield "\n".join(f"    {line}" for line in block.diagram)
    yield "\n".join(_item(item, width) for item in block.items)
    yield "" if block.table is None else table(block.table, width)
    yield from (to_write_on(labels, width) for labels in block.fields)


def bullets(lines: tuple[str, ...], width: int = WIDTH) -> str:
    """Lines as a list; one with blanks in front stands under the one above it."""
    return "\n".join(_bullet(line, width) for line in lines)


def _bullet(line: str, width: int) -> str:
    front = line[: len(line) - len(line.lstrip(" "))]
    return "\n".join(filled(f"{front}- {marked(line.lstrip(' '))}", width, "  "))


def _item(item: Item, width: int) -> str:
    mark = "- [ ] " if item.tick else "- "
    return "\n".join(filled(mark + marked(item.text), width, " " * len(mark)))


def marked(text: str) -> str:
    """A text with what is strong in it between stars, and all else as it stands."""
    if not _SPECIAL.search(text) and text == plain(text):  # most cells of a long chart
        return text
    return "".join(f"**{escaped(part)}**" if heavy else escaped(part) for part, heavy in spans(text))


def escaped(text: str) -> str:
    """A text in one line that Markdown leaves as it is."""
    return _SPECIAL.sub(lambda found: f"\\{found[1]}" if found[1] else found[0], " ".join(text.split(" ")))


def table(rows: Table, width: int = WIDTH) -> str:
    """A table as Markdown, as narrow as its cells; one that is too wide does without its light columns.

    Where that is not enough its rows are a list, each cell told by its heading.
    """
    told = safe(rows)
    fits = fitted(told, width, GAP, AROUND)
    return "\n".join(stacked_list(told, width)) if fits is None else ruled(fits)


def safe(rows: Table) -> Table:
    """A table whose cells Markdown leaves as they are."""
    return Table(rows.headings, tuple(tuple(map(marked, row)) for row in rows.rows))


def ruled(table: Table) -> str:
    """A table of safe cells as Markdown, however broad it is."""
    rule, head, rows = tabulated(table, "pipe")
    return "\n".join([head, rule, *rows])


def stacked_list(rows: Table, width: int) -> Iterator[str]:
    """Each row as an entry of a list."""
    for row in rows.rows:
        first, *more = stacked(Table(rows.headings, (row,)), width - 2)
        yield f"- {first}"
        yield from (f"  {line}" for line in more)
