"""A page before it is set: titles, things to do and to know, tables; ``output`` alone turns it into text or paper."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace

from .facts import Note, Table
from .sources import meanings

_STRONG, _WEAK = "\x02", "\x03"  # no text anybody types holds these
_UNCUT = re.compile(  # thousands, a whole number with its fraction (a train's pairs may be parted) or unit, a ratio
    r"\b\d{1,3}(?: \d{3}){1,3}\b(?!/)|(?<![/.\d])\d+ (?=\d+/\d+\b)|(?<=\d) (?=(?:mm|in|µm|ppm|tpi|%)(?!\w))"
    r"|(?<=\d) : (?=\d)"
)


def strong(text: object) -> str:
    """A figure or word that is to be seen from afar; ``spans`` and ``plain`` read it back."""
    return f"{_STRONG}{text}{_WEAK}"


def plain(text: str) -> str:
    """The text without what makes parts of it strong."""
    return text.replace(_STRONG, "").replace(_WEAK, "")


def spans(text: str) -> list[tuple[str, bool]]:
    """The parts of a text, each with whether it is strong."""
    found = []
    for part in text.split(_STRONG):
        heavy, parted, rest = part.rpartition(_WEAK) if _WEAK in part else ("", "", part)
        found += [(heavy, True)] * bool(parted) + [(rest, False)]
    return [(part, heavy) for part, heavy in found if part]


def uncut(text: str) -> str:
    """The text with no-break spaces in numbers, and between a number and its unit; ``cut`` turns them back.

    Of ``19 211 trains`` cut at the line's end a reader would take 211.
    """
    return _UNCUT.sub(lambda match: match[0].replace(" ", "\xa0"), text)


def cut(text: str) -> str:
    """The text with plain spaces, once it stands in lines."""
    return text.replace("\xa0", " ")


@dataclass(frozen=True, slots=True)
class Item:
    """Something to do, with a box to tick, or to know; ``drawn`` where a picture of the train says it too."""

    text: str
    tick: bool = False
    drawn: bool = False


@dataclass(frozen=True, slots=True)
class Block:
    """A part of a page.

    Parameters
    ----------
    title : its heading; empty for none
    lines : sentences that stand first, each on a line of its own; two blanks before one put it under the one above
    items : in the order in which they are done
    diagram : lines of plain characters that stand before the items, as a picture
    table : rows that stand after them
    fields : rows of labels, each with a line to write on, that stand last
    own_page : whether it stands after all else, where there are pages on a further one
    detail : what it is called where it is left out of a short answer; empty for what always stands
    brief : the table in a short answer; None: the same
    """

    title: str = ""
    lines: tuple[str, ...] = ()
    items: tuple[Item, ...] = ()
    diagram: tuple[str, ...] = ()
    table: Table | None = None
    fields: tuple[tuple[str, ...], ...] = ()
    own_page: bool = False
    detail: str = ""
    brief: Table | None = None

    def keyed(self) -> Block:
        """The same with what the numbers of sources in it mean."""
        cells = (cell for row in self.table.rows for cell in row) if self.table else ()
        said = meanings([self.title, *self.lines, *(item.text for item in self.items), *cells])
        return replace(self, items=(*self.items, *(Item(f"N{text[1:]}.") for text in said))) if said else self


@dataclass(frozen=True, slots=True)
class Document:
    """All that stands on the pages of one answer.

    Parameters
    ----------
    title : its first line
    heading : lines under it: whose shop, which route, what was asked; a strong one is large
    against : what speaks against it, said first and large: ``WHAT: why``
    blocks : its parts, in order
    notes : what else to know, before what has a page of its own
    brief : those of the notes that a short answer has; None: all
    """

    title: str
    heading: tuple[str, ...] = ()
    against: tuple[Note, ...] = ()
    blocks: tuple[Block, ...] = ()
    notes: tuple[Note, ...] = ()
    brief: tuple[Note, ...] | None = None

    @property
    def first_blocks(self) -> tuple[Block, ...]:
        """Those that stand before the notes."""
        return tuple(block for block in self.blocks if not block.own_page)

    @property
    def own_pages(self) -> tuple[Block, ...]:
        """Those that stand after all else."""
        return tuple(block for block in self.blocks if block.own_page)

    def keyed(self) -> Document:
        """The same with what the numbers of sources mean, in each part that has one."""
        said = meanings([*self.heading, *(note.text for note in (*self.against, *self.notes))])
        notes = (*self.notes, *(Note("source", text) for text in said))
        return replace(self, blocks=tuple(block.keyed() for block in self.blocks), notes=notes)

    def in_short(self) -> Document:
        """The same without the details, and with a note that says what is left out."""
        left_out = dict.fromkeys(block.detail for block in self.blocks if block.detail)
        notes = self.notes if self.brief is None else self.brief
        fewer = len(self.notes) - len(notes)
        said = [f"to see {' and '.join(left_out)}"] if left_out else []
        said += [f"for {fewer} more note{'s' * (fewer > 1)}"] if fewer else []
        blocks = tuple(replace(each, table=each.brief or each.table) for each in self.blocks if not each.detail)
        more = [Note("full", f"add --full {', and '.join(said)}")] if said else []
        return replace(self, blocks=blocks, notes=(*notes, *more))
