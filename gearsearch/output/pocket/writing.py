"""A chart being written as a pocket chart: rows are gathered, packed, and put into the page with a plain table."""

from __future__ import annotations

from html import escape
from pathlib import Path
from typing import TYPE_CHECKING

from ...base.errors import GearsearchError
from ...base.units import spaced
from ...charts.legend import heading_facts, judged_by, shop_of
from ...charts.lines import cells_of, lines_of, table_of
from ...charts.rows import LeadRows
from ..html import table
from ..pages import NO_TRAIN
from .about import about, routes_in_short
from .packed import catching_of, columns_of, packed
from .page import data, filled, listed

if TYPE_CHECKING:
    from ...charts.making import Chart

MOST_LEADS = 250_000  # rows that a tablet opens in a few seconds
_PLAIN_ROWS = 500  # of the table that a browser sees which cannot run the script


class PocketChart:
    """Takes the rows of a chart as they come, and writes the page at the end.

    Parameters
    ----------
    chart : of every lead, or of a list
    draft : the file
    command, date : for the heading

    Raises GearsearchError for a grid, and for more rows than a tablet bears.
    """

    def __init__(self, chart: Chart, draft: Path, command: str, date: str) -> None:
        self._chart, self._draft, self._command, self._date = chart, draft, command, date
        self._parts: list[LeadRows] = []
        self._count = 0

    def add(self, rows: LeadRows) -> None:
        """Take some more rows."""
        self._parts.append(rows)
        self._count += len(rows)
        if self._count > MOST_LEADS:
            self._parts, self._count = [], 0  # so that the page that is thrown away takes no time
            raise GearsearchError(
                f"the chart has more than {spaced(MOST_LEADS)} rows, too many for a page on a tablet",
                "keep the easiest of each step with --thin 0.01%, or part of the leads with --from and --to",
                code="too-many-rows",
            )

    def close(self) -> None:
        """Write the page."""
        rows = LeadRows.joined(self._parts) if self._count else None
        self._draft.write_text(page(self._chart, rows, self._command, self._date), encoding="utf-8", newline="\n")


def check_kind(chart: Chart) -> None:
    """Raise GearsearchError for a chart that no page can look up."""
    if chart.kind not in ("every", "list"):
        raise GearsearchError(
            f"a {chart.kind} cannot be written as .html",
            "write gearsearch chart every --out leads.html: it looks up any angle at any diameter",
            code="no-grid",
        )


def page(chart: Chart, rows: LeadRows | None, command: str, date: str) -> str:
    """The whole page of a chart.

    Parameters
    ----------
    chart, rows : the rows, all of them; None where the chart is empty
    command, date : for the heading
    """
    shop = chart.source.shop
    catching = list(dict.fromkeys(catching_of(chart, rows))) if rows is not None else []
    columns = columns_of(chart, rows, catching) if rows is not None else []
    text, size = packed(columns)
    known = about(chart, rows, command)
    known |= {
        "rows": 0 if rows is None else len(rows),
        "bytes": size,
        "columns": [each[:2] for each in columns],
        "catching": catching,
    }
    said, plain = _plain(chart, rows)
    heading = " · ".join(filter(None, [shop_of(chart), f"route {routes_in_short(chart)}", date]))
    texts = {
        "title": escape(f"{shop_of(chart)}: {chart.title}"),
        "heading": escape(heading),
        "judged": escape(judged_by(chart)),
        "command": escape(command),
        "inches": " selected" if shop.units == "in" else "",
        "facts": listed([chart.title, *heading_facts(chart, command, date)]),
        "plain_said": said,
        "plain": plain,
    }
    return filled("page.html", ("notes.js", "pocket.js"), texts | {"about": data(known), "rows": text})


def _plain(chart: Chart, rows: LeadRows | None) -> tuple[str, str]:
    """What is said above the plain table, and the table: some of the rows where there are many."""
    if rows is None:
        return "The chart is empty.", table(NO_TRAIN, _NUMBER)
    step = -(-len(rows) // _PLAIN_ROWS)
    some = rows.take(slice(None, None, step)) if chart.kind == "every" else rows.take(slice(0, _PLAIN_ROWS))
    said = "This browser cannot run the page, so here is a plain table"
    if len(some) < len(rows):
        which = f"every {step}th row" if chart.kind == "every" else f"the first {len(some)} rows"
        said += f" of {which} of {spaced(len(rows))}; a browser of 2020 or later shows all"
    return f"{said}.", table(table_of(chart, cells_of(chart, list(lines_of(chart, some)))), _NUMBER)


_NUMBER = ' class="number"'
