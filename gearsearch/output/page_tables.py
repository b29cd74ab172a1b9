"""The tables of a chart's pages: which columns a page has room for, and how wide they are."""

from __future__ import annotations

from dataclasses import dataclass

_OTHER, _PITCH = "the lead in the other unit", "threads per inch in a metric shop"
# What a page that is too narrow does without, and how many letters of a name it keeps (None: all), tried in turn.
_SPARED: tuple[tuple[tuple[str, ...], int | None], ...] = (
    ((), None),
    ((_PITCH,), None),
    ((_PITCH, "ppm"), None),
    ((_PITCH, "ppm", "clear"), None),
    ((_PITCH, "ppm", "clear"), 16),
    ((_PITCH, "clear", _OTHER), 16),
    ((_PITCH, "ppm", "clear", _OTHER), 16),
    ((_PITCH, "ppm", "clear", _OTHER), 8),
)
_FIGURES = ("lead", "tpi", "error", "ppm", "clear", "diameter")
Cells = dict[str, str]  # of a row, by the headings of their columns


@dataclass(frozen=True, slots=True)
class PageTable:
    """A table as a page has it; how it is drawn is the page's.

    Parameters
    ----------
    names : the headings
    rows : the cells of each row, one for each heading
    """

    names: list[str]
    rows: list[list[str]]

    @property
    def sizes(self) -> list[int]:
        """Letters of the widest cell of each column, its heading included."""
        return [max(map(len, column)) for column in zip(self.names, *self.rows, strict=True)]

    @property
    def right(self) -> list[bool]:
        """Whether each column holds figures, which stand to the right."""
        return [name.startswith(_FIGURES) for name in self.names]

    def aligned(self) -> list[list[str]]:
        """The headings and the rows, each cell as wide as its column."""
        sides = [(size, str.rjust if right else str.ljust) for size, right in zip(self.sizes, self.right, strict=True)]
        return [
            [set_to(cell, size) for cell, (size, set_to) in zip(cells, sides, strict=True)]
            for cells in (self.names, *self.rows)
        ]


NO_TRAIN = PageTable(["no train will do"], [])


def fitted(rows: list[Cells], width: int) -> PageTable:
    """A table so many letters wide: some columns are left out, and names are cut."""
    every = _headings(rows)
    own, *other = [name for name in every if name.startswith("lead")] or [""]
    named = {_OTHER: other, _PITCH: ["tpi"] if own == "lead, mm" else []}
    table = NO_TRAIN
    for absent, least in _SPARED if rows else ():
        spared = [name for part in absent for name in named.get(part, [part])]
        names = [name for name in every if not name.startswith(tuple(spared))]
        table = _with_names_cut(_table(names, rows), width, least)
        if _letters(table) <= width:
            break
    return table


def left_out(table: PageTable, rows: list[Cells]) -> str:
    """The columns of rows that are not in their table, in words."""
    return "; ".join(name for name in _headings(rows) if name not in table.names)


def _table(names: list[str], rows: list[Cells]) -> PageTable:
    return PageTable(names, [[row.get(name, "") for name in names] for row in rows])


def _headings(rows: list[Cells]) -> list[str]:
    """What the columns are called; a row that says what is wanted has fewer than the others."""
    names = {name for row in rows[:2] for name in row}
    return sorted(names, key=list(rows[-1]).index) if rows else []


def _letters(table: PageTable) -> int:
    """How wide a table is as text: its widest cells, each with a blank on either side and a line after it."""
    return sum(size + 3 for size in table.sizes) + 1


def _with_names_cut(table: PageTable, width: int, least: int | None) -> PageTable:
    """Names cut so that a table is so wide, but of so many letters at least; None: of all."""
    over = _letters(table) - width
    if over <= 0 or least is None or "name" not in table.names:
        return table
    column = table.names.index("name")
    most = max(least, table.sizes[column] - over)
    cut = [[*row[:column], _cut(row[column], most), *row[column + 1 :]] for row in table.rows]
    return PageTable(table.names, cut)


def _cut(name: str, most: int) -> str:
    return name if len(name) <= most else name[: most - 1].rstrip("\\") + "…"
