"""The picture of an answer: into somebody's axes, on a sheet of its own, or beside its table in a notebook."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from ..base.errors import GearsearchError
from ..base.units import INCH_MM
from ..search.answers import Answer
from ..search.check import check
from ..search.checked import CheckResult
from ..shop.overview import Overview

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure


def plot(answer: object, ax: Axes | None = None) -> Axes:
    """The picture of an answer in some axes, or on a sheet of its own; see ``Pictured.plot``."""
    from .drawing import papers

    with papers.drawing():
        if ax is None:
            return _figure(answer).axes[-1]
        from .drawing.bracket_view import draw_bracket
        from .drawing.picture import draw_view

        box, inch = ax.get_window_extent(), float(INCH_MM)
        room = box.width / ax.figure.dpi * inch, box.height / ax.figure.dpi * inch
        if isinstance(answer, Overview):
            draw_bracket(ax, answer.shop, room)
        else:
            draw_view(ax, _checked(answer), room)
    return ax


def for_notebook(answer: Any, page: str) -> str:
    """A page as HTML with the picture of its train beside it, under it where there is no room; alone without one."""
    from .drawing.svg import small_svg

    alone = isinstance(answer, Overview) or (isinstance(answer, Answer) and not answer.fits)
    if alone or (checked := _checked(answer)).fit.placement is None:
        return page
    row = "display:flex;flex-wrap:wrap;gap:1em 2em;align-items:flex-start"
    return f'<div style="{row}"><div style="flex:1 1 36em;min-width:min-content">{page}</div>{small_svg(checked)}</div>'


def _figure(answer: object) -> Figure:
    from .drawing.bracket_view import bracket_figure
    from .drawing.picture import train_figure

    return bracket_figure(answer.shop) if isinstance(answer, Overview) else train_figure(_checked(answer))


def _checked(answer: Any) -> CheckResult:
    """The train that is drawn: the one that was judged, the one on a sheet, or the first of those found."""
    if isinstance(answer, CheckResult):
        return answer
    if isinstance(answer, Answer):
        if not answer.fits:
            raise GearsearchError("no train was found, so there is none to draw", "ask for a lead that can be reached")
        return check(answer.shop, answer.fits[0].train, answer.part, answer.terms)
    checked: CheckResult = answer.job.checked
    return checked
