"""Writing a set-up sheet and its pictures to one or several files, all of them or none."""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import nullcontext
from typing import TYPE_CHECKING

from ..base.files import ending_of, replacing_all
from ..sheet.page import Job, in_words, lead_line
from .markdown import markdown
from .pocket.sheet_page import sheet_page

if TYPE_CHECKING:
    from matplotlib.figure import Figure

ENDINGS = (".md", ".html", ".svg", ".png", ".pdf")
_IN_WORDS = (".md", ".html")


def write_sheet(
    job: Job,
    names: Sequence[str],
    paper: str = "A4",
    picture: str | None = None,
    *,
    command: str = "",
    overwrite: bool = False,
) -> None:
    """Write every file, all of them or none; the pictures are drawn before.

    Parameters
    ----------
    job : what the sheet is of
    names : files ending in ``.md`` (the sheet), ``.html`` (the sheet for a phone or tablet, with the train to scale),
        ``.pdf`` (the sheet with its pictures, or one picture), ``.svg`` or ``.png`` (one picture)
    paper : ``A4`` or ``Letter``
    picture : ``train``, ``template``, ``error`` or ``coverage``; None: the whole sheet, or the train
    command : what was typed to make it, for the page for a phone; empty for nothing said of it
    overwrite : replace files that are there

    Raises GearsearchError for another ending, a file that is there, and one that cannot be written.
    """
    from .drawing import papers

    endings = {name: ending_of(name, ENDINGS) for name in names}
    drawn = [name for name in names if endings[name] not in _IN_WORDS]
    with papers.drawing() if drawn else nullcontext():
        figures = {name: _figures(job, endings[name], paper, picture) for name in drawn}
        with replacing_all(names, overwrite=overwrite) as drafts:
            for name, draft in zip(names, drafts, strict=True):
                if name in figures:
                    papers.save(figures[name], draft, endings[name], f"{job.checked.fit.train}, {lead_line(job)}")
                else:
                    page = sheet_page(job, command) if endings[name] == ".html" else markdown(in_words(job))
                    draft.write_text(page, encoding="utf-8", newline="\n")


def _figures(job: Job, ending: str, paper: str, picture: str | None) -> list[Figure]:
    """The whole sheet for a .pdf, unless one picture is asked for; the others hold one picture."""
    from .drawing import papers, sheet_pages

    if picture is None and ending == ".pdf":
        return sheet_pages.pages(job, paper)
    figures = _picture(job, ending, paper, picture)
    for figure in figures if job.checked.shop.is_demo else ():
        papers.say_at_foot(figure, papers.DEMO)
    return figures


def _picture(job: Job, ending: str, paper: str, picture: str | None) -> list[Figure]:
    """One picture, on as many sheets as it takes."""
    from .drawing import plots, tiles
    from .drawing.picture import train_figure

    checked, unit = job.checked, job.checked.shop.units
    if picture == "template":
        template = tiles.template_of(job)
        if ending == ".pdf":
            return tiles.template_tiles(template, paper, unit)
        return [tiles.template_sheet(template, unit)]
    if picture == "error":
        return [plots.error_figure(checked, paper)]
    if picture == "coverage":
        lead = checked.wanted.lead_mm if checked.wanted else checked.fit.lead_mm
        around = plots.coverage_of(checked.shop, checked.route, lead, checked.terms.pairs)
        return [plots.coverage_figure(checked.shop, checked.route, around, paper)]
    return [train_figure(checked, paper)]
