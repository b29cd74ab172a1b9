"""Writing a chart to one or several files at once, each whole or not at all."""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import ExitStack, suppress
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Protocol, TextIO

from ..base import require
from ..base.errors import GearsearchError
from ..base.files import check_all_writable, ending_of, legible, replacing_all
from ..base.kept import kept_beside
from ..charts.columns import SavedColumns, facts_of
from ..charts.legend import shop_of
from ..charts.making import Chart
from ..charts.served import notes_of
from .columnar import CsvChart, ParquetChart
from .markdown_pages import MarkdownPages
from .pages import ChartPages
from .paper import Paper
from .screen_pages import ScreenPages

if TYPE_CHECKING:
    from ..charts.rows import LeadRows

ENDINGS = (".parquet", ".md", ".pdf", ".csv", ".html")


@dataclass(frozen=True, slots=True)
class Imprint:
    """What a written chart says besides its rows.

    Parameters
    ----------
    command : the command that made it
    date : as the user gave it; empty for none. The clock is never asked
    paper : of a chart to print
    """

    command: str = ""
    date: str = ""
    paper: Paper = field(default_factory=Paper)

    def __post_init__(self) -> None:
        object.__setattr__(self, "command", legible(self.command))
        object.__setattr__(self, "date", require.line(self.date, "date"))


def check_outs(outs: Sequence[str | Path], *, overwrite: bool = False) -> list[Path]:
    """The files to write, refused before any work where their ending or their place will not do."""
    if not outs:
        raise GearsearchError(
            "a chart needs a file to go to, and none is given", "name one as in --out leads.parquet or --out leads.md"
        )
    for out in outs:
        ending_of(out, ENDINGS)
    paths = [Path(out) for out in outs]
    if any(path.suffix.lower() == ".pdf" for path in paths):
        from .drawing import papers

        with papers.drawing():  # refused now where the drawing library is missing
            pass
    check_all_writable(paths, overwrite=overwrite)
    return paths


def write_chart(
    chart: Chart,
    outs: Sequence[str | Path],
    imprint: Imprint | None = None,
    *,
    overwrite: bool = False,
    resume: bool = False,
) -> int:
    """Write a chart as Parquet, Markdown, PDF, CSV and a pocket chart, by the endings of the files, in one pass.

    Parameters
    ----------
    chart : its rows are worked out as they are written, and never all held
    outs : files ending in ``.parquet``, ``.md``, ``.pdf`` (with the extra ``draw``), ``.csv`` or ``.html``
    imprint : command, date and paper
    overwrite : replace files that are there
    resume : go on with the slices that a run of the same chart, which was broken off, has kept beside the first file

    Returns how many rows were written. Same chart, same bytes, with one version of the libraries. When anything
    fails, and on Ctrl-C, every file is what it was before, within the limits of ``files.replacing_all``; what took more
    than some seconds is kept to go on with.
    Raises GearsearchError for an unknown ending, a file that is there, and one that cannot be written.
    """
    paths = check_outs(outs, overwrite=overwrite)
    if any(path.suffix.lower() == ".html" for path in paths):
        from .pocket.writing import check_kind

        check_kind(chart)
    with kept_beside(paths[0], chart.work, overwrite=overwrite, resume=resume) as kept, chart.keeping(kept):
        return _write(chart, paths, imprint or Imprint(), overwrite=overwrite)


def _write(chart: Chart, paths: list[Path], imprint: Imprint, *, overwrite: bool) -> int:
    count = 0
    with replacing_all(paths, overwrite=overwrite) as drafts, ExitStack() as stack:
        writers = [_writer(stack, chart, *files, imprint) for files in zip(paths, drafts, strict=True)]
        try:
            for rows in chart.rows:
                count += len(rows)
                for writer in writers:
                    writer.add(rows)
        except BaseException:
            for writer in writers:
                with suppress(Exception):  # the files are thrown away; what is open must be closed before
                    writer.close()
            raise
        for writer in writers:
            writer.close()
    return count


def print_chart(chart: Chart, stream: TextIO, command: str, date: str = "") -> int:
    """Print a chart as text, as wide as the terminal, and which leads have no train; give how many rows it has."""
    screen, count, imprint = ScreenPages(stream), 0, Imprint(command, date)
    writer = ChartPages(chart, screen, imprint.command, imprint.date)
    for rows in chart.rows:
        count += len(rows)
        writer.add(rows)
    writer.close()
    screen.say([note.text for note in notes_of(chart)])
    return count


class Writer(Protocol):
    """Takes the rows of a chart as they come."""

    def add(self, rows: LeadRows) -> None:
        """Take some more rows."""

    def close(self) -> None:
        """Write what is left; nothing may be added after."""


def _writer(stack: ExitStack, chart: Chart, path: Path, draft: Path, imprint: Imprint) -> Writer:
    if path.suffix.lower() == ".parquet":
        columns = SavedColumns(chart, facts_of(chart, imprint.command, imprint.date))
        return ParquetChart(stack.enter_context(draft.open("wb")), columns)
    if path.suffix.lower() == ".pdf":
        from .drawing import papers
        from .drawing.chart_pages import PrintedPages

        stack.enter_context(papers.drawing())
        title = f"{chart.title}, {shop_of(chart)}"
        paper = PrintedPages(draft, imprint.paper, title, in_strips=chart.kind != "grid")
        return ChartPages(chart, paper, imprint.command, imprint.date)
    if path.suffix.lower() == ".html":
        from .pocket.writing import PocketChart

        return PocketChart(chart, draft, imprint.command, imprint.date)
    stream = stack.enter_context(draft.open("w", encoding="utf-8", newline="\n"))
    if path.suffix.lower() == ".md":
        group = 2 if chart.kind == "grid" else 5
        return ChartPages(chart, MarkdownPages(stream, imprint.paper, group), imprint.command, imprint.date)
    return CsvChart(stream, SavedColumns(chart, {}))
