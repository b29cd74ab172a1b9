"""Any document as HTML for a notebook: real tables, and nothing that runs."""

from __future__ import annotations

from collections.abc import Iterator
from html import escape

from ..base.document import Block, Document, spans, uncut
from ..base.facts import Table
from .tables import to_write_on

# a notebook's own style would set all cells to the right, and break them
_NUMBER = ' style="text-align:right;white-space:nowrap"'
_TEXT = ' style="text-align:left;white-space:nowrap"'


def html(document: Document) -> str:
    """The document as HTML."""
    return "\n".join(_parts(document.keyed()))


def _parts(document: Document) -> Iterator[str]:
    for note in document.against:
        yield f"<p><b>!! {marked(note.text)}</b></p>"
    if document.title:
        yield f"<h3>{marked(document.title)}</h3>"
    yield from _lines(document.heading)
    for block in document.first_blocks:
        yield from _block(block)
    yield from _list([note.text for note in document.notes])
    for block in document.own_pages:
        yield from _block(block)


def _block(block: Block) -> Iterator[str]:
    if block.title:
        yield f"<h4>{marked(block.title)}</h4>"
    yield from _lines(block.lines)
    if block.diagram:
        yield f'<pre style="font-family:monospace">{escape(chr(10).join(block.diagram))}</pre>'
    yield from _list([f"☐ {item.text}" if item.tick else item.text for item in block.items])
    if block.table is not None:
        yield table(block.table, _NUMBER, _TEXT)
    yield from (f"<p>{escape(to_write_on(labels, 100))}</p>" for labels in block.fields)


def _lines(lines: tuple[str, ...]) -> Iterator[str]:
    if lines:
        yield f"<p>{'<br>'.join(map(marked, lines))}</p>"


def _list(texts: list[str]) -> Iterator[str]:
    if texts:
        yield f"<ul>{''.join(f'<li>{marked(text)}</li>' for text in texts)}</ul>"


def table(rows: Table, number: str, text: str = "") -> str:
    """A table as HTML; ``number`` is what its tags say where cells end in line, ``text`` where they begin so."""
    sides = [number if heading.right else text for heading in rows.headings]
    head = "".join(f"<th{side}>{escape(each.short)}</th>" for each, side in zip(rows.headings, sides, strict=True))
    body = "".join(
        "<tr>" + "".join(f"<td{side}>{marked(cell)}</td>" for cell, side in zip(row, sides, strict=True)) + "</tr>"
        for row in rows.rows
    )
    return f"<table><thead><tr>{head}</tr></thead><tbody>{body}</tbody></table>"


def marked(text: str) -> str:
    """A text with what is strong in bold; a browser parts no number from its unit."""
    parts = ((escape(part), heavy) for part, heavy in spans(uncut(text)))
    return "".join(f"<b>{part}</b>" if heavy else part for part, heavy in parts)
