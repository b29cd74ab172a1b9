"""Writing a way to divide to a file, as its ending says."""

from __future__ import annotations

import re
from dataclasses import replace

from ..base.document import Document
from ..base.facts import Table
from ..base.files import ending_of, replacing, write_text
from ..dividing.answer import Divided
from .written import written

ENDINGS = (".md", ".pdf", ".csv", ".json")


def write_divided(divided: Divided, name: str, paper: str = "A4", *, overwrite: bool = False) -> None:
    """Write an answer of ``divide``; see ``Divided.save``."""
    ending = ending_of(name, ENDINGS)
    if ending != ".pdf":
        write_text(name, written(divided, ending[1:]), overwrite=overwrite)
        return
    from .drawing import papers
    from .drawing.document_pages import document_pages

    said = on_paper(divided)
    with papers.drawing(), replacing(name, overwrite=overwrite) as draft:
        papers.save(document_pages(said, paper), draft, ending, said.title)


def on_paper(divided: Divided) -> Document:
    """All there is to say of an answer; steps and cuts without the minutes behind the degrees of an angle."""
    said = divided.document()
    if not divided.in_order:
        return said
    return replace(
        said, blocks=tuple(replace(block, table=block.table and _without(block.table)) for block in said.blocks)
    )


def _without(table: Table) -> Table:
    rows = tuple(tuple(re.sub(r" \(.*\)", "", cell) for cell in row) for row in table.rows)
    return Table(table.headings, rows)
