"""Writing a way to divide to a file, as its ending says."""

from __future__ import annotations

from ..base.errors import GearsearchError
from ..base.files import replacing, write_text
from ..dividing.answer import Divided
from .written import written

_ENDINGS = (".md", ".pdf", ".csv", ".json")


def ending_of(name: str) -> str:
    """The ending that says what is written. Raises GearsearchError for others."""
    for ending in _ENDINGS:
        if name.lower().endswith(ending):
            return ending
    raise GearsearchError(
        f"{name} has none of the endings that can be written", "end the name in .md, .pdf, .csv or .json"
    )


def write_divided(divided: Divided, name: str, paper: str = "A4", *, overwrite: bool = False) -> None:
    """Write an answer of ``divide``; see ``Divided.save``."""
    ending = ending_of(name)
    if ending != ".pdf":
        write_text(name, written(divided, ending[1:]), overwrite=overwrite)
        return
    from .drawing import papers
    from .drawing.divide_pages import divide_pages

    with papers.drawing(), replacing(name, overwrite=overwrite) as draft:
        papers.save(divide_pages(divided, paper), draft, ending)
