"""Any document as text for a terminal: no marks of any kind, and no line longer than there is room for."""

from __future__ import annotations

from collections.abc import Iterator

from ..base.document import Block, Document, plain
from .tables import drawn, filled, terminal_width, to_write_on


def text(document: Document, width: int | None = None) -> str:
    """The document as text.

    Parameters
    ----------
    document : what it says
    width : letters of a line; None: as many as the terminal has, 80 where there is none
    """
    room = width or terminal_width()
    parts = [list(part) for part in _parts(document.keyed(), room)]
    return "\n\n".join("\n".join(part) for part in parts if part) + "\n"


def _parts(document: Document, width: int) -> Iterator[Iterator[str]]:
    """What stands with an empty line between."""
    against = [f"!! {note}" for note in document.against]
    title = [document.title] if document.title else []
    yield _filled([*against, *title, *document.heading], width)
    for block in document.first_blocks:
        yield _block(block, width)
    yield _filled([f"- {note}" for note in document.notes], width)
    for block in document.own_pages:
        yield _block(block, width)


def _filled(lines: list[str] | tuple[str, ...], width: int) -> Iterator[str]:
    for line in lines:
        yield from filled(plain(line), width, "  ")


def _block(block: Block, width: int) -> Iterator[str]:
    if block.title:
        yield from filled(plain(block.title), width)
    yield from _filled(block.lines, width)
    yield from block.diagram
    for item in block.items:
        mark = "[ ] " if item.tick else "- "
        yield from filled(mark + plain(item.text), width, " " * len(mark))
    if block.table is not None:
        yield from drawn(block.table, width)
    yield from (to_write_on(labels, width) for labels in block.fields)
