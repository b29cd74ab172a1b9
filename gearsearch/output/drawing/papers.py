"""Paper to draw on in millimetres, and the same bytes each time it is saved; with the optional extra ``draw``."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

from ...base import require, units
from ...base.errors import GearsearchError

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

ENDINGS = (".svg", ".png", ".pdf"), "a picture can have"
PAPERS_MM = units.PAPERS_MM
MARGIN_MM = 10.0
INCH_MM = float(units.INCH_MM)
POINT_MM = INCH_MM / 72  # the printer's point, in which type is measured
FOOT_PT = 9.0  # type at the foot of a sheet [points]
DEMO = "DEMO SHOP, NOT YOUR MACHINE"
_DOTS_PER_INCH = 150
Width = Callable[[str, float, bool], float]
NO_DATES: dict[str, dict[str, str | None]] = {
    ".pdf": {"CreationDate": None, "ModDate": None, "Creator": "gearsearch", "Producer": None},
    ".svg": {"Date": None, "Creator": None},
    ".png": {"Software": None},
}


@contextmanager
def drawing() -> Iterator[None]:
    """Draw with matplotlib's own defaults, whatever the user has set, and leave the user's settings as they were.

    Raises GearsearchError where matplotlib is missing.
    """
    try:
        import matplotlib as mpl
    except ImportError:
        raise GearsearchError(
            "pictures and .pdf files need matplotlib, which is not installed",
            "install it with python -m pip install matplotlib",
            code="no-matplotlib",
        ) from None
    with mpl.rc_context():
        mpl.rcdefaults()
        mpl.rcParams.update({"svg.hashsalt": "gearsearch", "svg.fonttype": "none", "hatch.linewidth": 0.5})
        mpl.rcParams["text.parse_math"] = False  # a shop may have a $ in its name
        yield


@cache
def measure() -> Width:
    """How wide a text is [mm], as printed: a function of text, size [points] and heaviness."""
    from matplotlib.font_manager import FontProperties
    from matplotlib.textpath import text_to_path

    known: dict[tuple[str, bool], float] = {}

    def width(text: str, size: float, bold: bool) -> float:
        if (text, bold) not in known:
            font = FontProperties(size=100, weight="bold" if bold else "normal")
            known[text, bold] = float(text_to_path.get_text_width_height_descent(text, font, ismath=False)[0])
        return known[text, bold] / 100 * size * POINT_MM

    return width


def size_mm(paper: str) -> tuple[float, float]:
    """Width and height of a paper. Raises GearsearchError for a name that is not known."""
    require.one_of(paper, PAPERS_MM, "the paper")
    return PAPERS_MM[paper]


def blank(width_mm: float, height_mm: float) -> tuple[Figure, Axes]:
    """An empty sheet: its figure, and axes over all of it that count millimetres from its lower left corner."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    figure = Figure(figsize=(width_mm / INCH_MM, height_mm / INCH_MM), dpi=_DOTS_PER_INCH)
    FigureCanvasAgg(figure)
    axes = figure.add_axes((0, 0, 1, 1))
    axes.set(xlim=(0, width_mm), ylim=(0, height_mm), autoscale_on=False)
    axes.axis("off")
    return figure, axes


def inset(figure: Figure, left_mm: float, bottom_mm: float, width_mm: float, height_mm: float) -> Axes:
    """Axes over a part of a sheet, given in millimetres from its lower left corner."""
    across, up = (side * INCH_MM for side in figure.get_size_inches())
    return figure.add_axes((left_mm / across, bottom_mm / up, width_mm / across, height_mm / up))


def say_at_foot(figure: Figure, text: str) -> None:
    """Print a line at the foot of a sheet, at the right."""
    right = figure.get_size_inches()[0] * INCH_MM - MARGIN_MM
    figure.axes[0].text(right, 4.5, text, fontsize=FOOT_PT, ha="right", va="center")


def save(figures: Sequence[Figure], target: Path, ending: str, title: str = "") -> None:
    """Write sheets to a file, at their own size: as many as there are to a ``.pdf``, one to the others."""
    metadata = NO_DATES[ending] | ({"Title": title} if title else {})
    if ending == ".pdf":
        from matplotlib.backends.backend_pdf import PdfPages

        with PdfPages(target, metadata=metadata) as pages:
            for figure in figures:
                pages.savefig(figure)
        return
    (figure,) = figures
    figure.savefig(target, format=ending[1:], dpi=_DOTS_PER_INCH, metadata=metadata)
