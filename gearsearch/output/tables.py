"""The one drawer of tables in plain characters: as wide as there is room, and never wrapped or cut."""

from __future__ import annotations

import re
import shutil
import textwrap
from collections.abc import Iterator, Sequence

from ..base.document import cut, uncut
from ..base.facts import SPARED, STAYS, Table

NO_TERMINAL = 80  # columns where the answer goes to no terminal
GAP = 2  # letters between two columns
_WRITING = 100  # letters beyond which nobody needs a longer line to write on


def terminal_width() -> int:
    """Columns of the terminal; 80 where there is none."""
    return shutil.get_terminal_size((NO_TERMINAL, 24)).columns


def drawn(table: Table, width: int) -> list[str]:
    """The lines of a table.

    Parameters
    ----------
    table : its cells
    width : letters there is room for

    A table that is too wide does without its light columns, the lightest first and of equals the last, and names them
    under it, but for those of ``SPARED`` weight. Where that is not enough, the cells of one column are broken if few of
    them are so long; else what all rows say alike is said once under it; else a row takes several lines; where one
    column alone is too wide every cell is told by its heading.
    """
    heavy = [place for place, heading in enumerate(table.headings) if heading.weight >= STAYS]
    kept = fitted(table, width, GAP) or _with_cells_broken(table.part(heavy), width)
    if _wide(kept, GAP) > width:
        kept = _with_cells_broken(_without_alike(kept, width), width)
    folds = list(_folds(kept, width))
    if any(indent + _wide(fold, GAP) > width for indent, fold in folds):
        return list(stacked(table, width))
    gone = [place for place, each in enumerate(table.headings) if each.weight > SPARED and each not in kept.headings]
    alike = [f"{table.headings[place].short} {table.rows[0][place]}" for place in gone if place in heavy]
    missing = [table.headings[place].short for place in gone if place not in heavy]
    said = [("in every row", alike), ("no room for", missing)]
    told = [line for what, of in said if of for line in filled(f"{what}: {', '.join(of)}", width, "  ")]
    rules, heads, rows = zip(*(_set_in(indent, *tabulated(fold, "simple")) for indent, fold in folds), strict=True)
    lines = [line for row in zip(*rows, strict=True) for line in row if line.strip()]
    return [*heads, max(rules, key=len), *lines, *told]


def _without_alike(table: Table, width: int) -> Table:
    """The table without as many of the columns that say the same in all rows, the last first, as it is too wide."""
    for place in reversed(range(1, len(table.headings))):
        cells = {row[place] for row in table.rows}
        if _wide(table, GAP) > width and len(table.rows) > 1 and len(cells) == 1 and all(cells):
            table = table.without(place)
    return table


def _with_cells_broken(table: Table, width: int) -> Table:
    """The table with the long cells of one column broken behind their commas, where that makes it fit.

    Of the columns of text the one of which the fewest cells are so long; as it is where that is half of them or more.
    """
    over, sizes = _wide(table, GAP) - width, table.sizes
    if over <= 0 or not table.rows:
        return table
    broken = [
        [_at_commas(row[place], max(sizes[place] - over, 1)) for row in table.rows]
        for place, heading in enumerate(table.headings)
        if not heading.right
    ]
    places = [place for place, heading in enumerate(table.headings) if not heading.right]
    fits = [
        (sum(len(lines) > 1 for lines in cells), place, cells)
        for place, cells in zip(places, broken, strict=True)
        if max(len(table.headings[place].short), *(len(line) for lines in cells for line in lines))
        <= sizes[place] - over
    ]
    if not fits:
        return table
    count, place, cells = min(fits)
    return _expanded(table, place, cells) if 2 * count < len(table.rows) else table


def _at_commas(cell: str, width: int) -> list[str]:
    """A cell in lines that break behind its commas alone: two names, never one name or one train."""
    return [cut(line) for line in filled(re.sub("(?<!,) ", "\xa0", cell), width)]


def _expanded(table: Table, place: int, cells: list[list[str]]) -> Table:
    """The table with further rows for what one column's cells are broken into."""
    rows = []
    for row, (first, *more) in zip(table.rows, cells, strict=True):
        rows.append((*row[:place], first, *row[place + 1 :]))
        rows += [tuple(line if at == place else "" for at in range(len(row))) for line in more]
    return Table(table.headings, tuple(rows))


def _folds(table: Table, width: int) -> Iterator[tuple[int, Table]]:
    """The parts of a table that stand under each other, each with how far it is set in: by the first column."""
    sizes, indent, places = table.sizes, 0, list[int]()
    for place, size in enumerate(sizes):
        if places and indent + sum(sizes[each] + GAP for each in places) + size > width:
            yield indent, table.part(places)
            indent, places = sizes[0] + GAP, []
        places.append(place)
    yield indent, table.part(places)


def _set_in(indent: int, rule: str, head: str, rows: list[str]) -> tuple[str, str, list[str]]:
    """The lines of a part of a table, set in."""
    front = " " * indent
    return front + rule, front + head, [front + row for row in rows]


def _wide(table: Table, gap: int) -> int:
    """Letters of a line."""
    return sum(table.sizes) + gap * (len(table.headings) - 1)


def fitted(table: Table, width: int, gap: int, around: int = 0) -> Table | None:
    """The table without as many light columns as must go for it to fit; None where those that stay are too wide.

    Parameters
    ----------
    table : its cells
    width : letters there is room for
    gap : letters between two columns
    around : letters at both ends together
    """
    while _wide(table, gap) + around > width:
        light = [(heading.weight, -place) for place, heading in enumerate(table.headings) if heading.weight < STAYS]
        if not light:
            return None
        weight, last = min(light)  # all that another column tells too goes at once
        gone = [-place for each, place in light if each == weight == SPARED] or [-last]
        table = table.part([place for place in range(len(table.headings)) if place not in gone])
    return table


def aligned(table: Table) -> Table:
    """A table whose numbers have their decimal points in line: blanks behind those with fewer letters after it."""
    columns = list(zip(*table.rows, strict=True))
    for place, heading in enumerate(table.headings):
        if heading.right and columns:
            after = [len(cell) - cell.find(".") if "." in cell else 0 for cell in columns[place]]
            columns[place] = tuple(
                cell + " " * (max(after) - own) if own else cell
                for cell, own in zip(columns[place], after, strict=True)
            )
    return Table(table.headings, tuple(zip(*columns, strict=True)))


def tabulated(table: Table, style: str) -> tuple[str, str, list[str]]:
    """The rule, the headings and the rows of a table, each cell as wide as its column.

    Parameters
    ----------
    table : its cells
    style : ``simple`` or ``pipe``, as ``tabulate`` names them
    """
    from tabulate import tabulate

    head = [heading.short for heading in table.headings]
    sides = ["right" if heading.right else "left" for heading in table.headings]
    # the headings go in as a row: as headings each would be given two letters more than it needs
    drawn = tabulate(
        [head, *table.rows],
        tablefmt=style,
        disable_numparse=True,
        colalign=sides,
        missingval="",
        preserve_whitespace=True,  # decimal points stand in line by the blanks behind figures
    )
    rule, headings, *rows = drawn.split("\n")
    return rule, headings, rows[: len(table.rows)]


def stacked(table: Table, width: int) -> Iterator[str]:
    """Each row as lines of its own: the first cell, then the others by their headings, as many to a line as fit."""
    names = [heading.short for heading in table.headings]
    for row in table.rows:
        told = [f"{name} {cell}".strip() for name, cell in zip(names, row, strict=True) if cell]
        yield from _flowing(told, width)


def _flowing(pieces: list[str], width: int) -> Iterator[str]:
    """Pieces side by side, a piece that is alone too long broken between its words."""
    line, indent = "", ""
    for piece in pieces:
        longer = f"{line}; {piece}" if line.strip() else f"{indent}{piece}"
        if line.strip() and len(longer) + 1 > width:
            yield line
            longer = f"{indent}{piece}"
        if len(longer) > width:
            *whole, longer = filled(longer, width, "  ")
            yield from whole
        line, indent = longer, "  "
    yield line


def to_write_on(labels: Sequence[str], width: int) -> str:
    """Labels side by side, each with a line to write on."""
    room = min(width, _WRITING) // len(labels)
    return "".join(f"{label}: {'_' * max(4, room - len(label) - 4)}  " for label in labels).rstrip()


def filled(text: str, width: int, later: str = "") -> list[str]:
    """A text in lines of so many letters, all but the first set in; its blanks in front stay, and numbers whole."""
    front = text[: len(text) - len(text.lstrip(" "))]
    lines = textwrap.wrap(
        uncut(text.lstrip(" ")),
        width,
        initial_indent=front,
        subsequent_indent=front + later,
        break_long_words=False,
        break_on_hyphens=False,
    )
    return [cut(line) for line in lines] or [""]
