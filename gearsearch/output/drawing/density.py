"""How densely a saved chart covers the leads: how far the nearest lead can be, and how many there are."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from math import ceil, floor, log10
from pathlib import Path
from typing import TYPE_CHECKING

from ...base.errors import GearsearchError
from ...base.units import UNIT_MM, format_length
from ...charts.columns import facts_of
from ...charts.making import Chart
from ...charts.saved import TRAINS, facts_in, open_chart, table_in, title_in, unit_of
from . import papers

if TYPE_CHECKING:
    import pyarrow as pa
    from matplotlib.axes import Axes
    from matplotlib.axis import Axis
    from matplotlib.figure import Figure

    from ...base.arrays import Floats

_HEIGHT_MM = 150.0
_FEWEST_STEPS, _MOST_STEPS, _LEADS_A_STEP = 12, 120, 8
_EVEN = 2.0  # from this much between shortest and longest on, leads are drawn by their logarithms
_DIGITS = ((1,), (1, 2, 5), (1, 1.5, 2, 3, 4, 5, 7))  # of figures at an axis, the next where there are too few
_FEWEST_FIGURES, _MOST_FIGURES = 4, 12
_STROKES = {"right": "-", "left": (0, (4, 1.5)), "": "-"}


@dataclass(frozen=True, slots=True)
class Density:
    """The leads of a saved chart, for each hand.

    Parameters
    ----------
    facts : what the file says of itself
    leads_mm : for ``right`` and ``left``, or for an empty name where the chart does not say, every lead that has a
        train which mounts or was not judged: float64, ascending [mm]
    """

    facts: dict[str, str]
    leads_mm: dict[str, Floats]

    @property
    def ends_mm(self) -> tuple[float, float]:
        """The shortest and the longest lead of all."""
        ends = [(leads[0], leads[-1]) for leads in self.leads_mm.values()]
        return float(min(end[0] for end in ends)), float(max(end[1] for end in ends))

    @property
    def is_wide(self) -> bool:
        """Whether leads differ so much that they are drawn by their logarithms."""
        low, high = self.ends_mm
        return high > _EVEN * low

    def steps(self) -> Floats:
        """Ends of equal steps from the shortest to the longest lead; of their logarithms where they differ much."""
        import numpy as np

        low, high = self.ends_mm
        most = max(map(len, self.leads_mm.values()))
        count = min(_MOST_STEPS, max(_FEWEST_STEPS, most // _LEADS_A_STEP))
        return (np.geomspace if self.is_wide else np.linspace)(low, high, count + 1)


def density_of(path: str | Path) -> Density:
    """The leads of a chart that ``gearsearch chart every`` wrote as Parquet.

    Raises GearsearchError for another file, for another kind of chart, and where no hand has two leads.
    """
    file = open_chart(path)
    facts = facts_in(file)
    _refuse_others(facts["gearsearch_chart"], str(path))
    names = [name for name in file.schema_arrow.names if name == "mounts" or name.startswith("mounts_")]
    return _density(facts, table_in(path, file, columns=["lead_mm", *names]), str(path))


def _refuse_others(kind: str, name: str) -> None:
    if kind != "every":
        raise GearsearchError(
            f"{name} is a chart of a {kind}; only one of every lead can be plotted",
            "make one: gearsearch chart every --out leads.parquet",
        )


def _density(facts: dict[str, str], table: pa.Table, name: str) -> Density:
    import numpy as np

    leads = table["lead_mm"].to_numpy()
    found = {}
    for column in table.column_names:
        if column == "mounts" or column.startswith("mounts_"):
            there = np.unique(leads[[word in TRAINS for word in table[column].to_pylist()]])
            if len(there) > 1:
                found[column.removeprefix("mounts").lstrip("_")] = there
    if not found:
        raise GearsearchError(f"{name} has fewer than two leads", "chart a wider range")
    return Density(facts, found)


def plot_saved(path: str | Path, unit: str, ax: Axes | None = None) -> Axes:
    """Plot a saved chart into some axes, or on a sheet of its own, in the unit of its shop; see ``Charted.plot``."""
    return _plot(density_of(path), unit_of(path) or unit, ax)


def plot_chart(chart: Chart, table: pa.Table, ax: Axes | None = None) -> Axes:
    """Plot a chart with its rows; see ``Charted.plot``."""
    _refuse_others(chart.kind, "it")
    return _plot(_density(facts_of(chart, "", ""), table, "the chart"), chart.source.shop.units, ax)


def _plot(density: Density, unit: str, ax: Axes | None) -> Axes:
    with papers.drawing():
        if ax is None:
            return density_figure(density, unit).axes[-2]
        _draw_farthest(ax, density, unit)
        ax.set_xlabel(f"lead [{unit}]")
    return ax


def farthest(leads_mm: Floats, steps: Floats) -> Floats:
    """For each step, how far off the nearest lead can be of a wanted one in it, as a share of the wanted one.

    Parameters
    ----------
    leads_mm : float64, ascending [mm]
    steps : (S + 1,) ends of the steps, ascending [mm]

    The wanted lead that stands worst is the middle between its neighbours.
    Returns float64 (S,), nan where a step has no part between the shortest and the longest lead.
    """
    import numpy as np

    below, above = leads_mm[:-1], leads_mm[1:]
    worst = (above - below) / (above + below)
    found = np.full(len(steps) - 1, np.nan)
    for step, (low, high) in enumerate(pairwise(steps)):
        first = max(0, np.searchsorted(leads_mm, low, "right") - 1)
        last = np.searchsorted(leads_mm, high, "left")
        if last > first and len(worst[first:last]):
            found[step] = worst[first:last].max()
    return found


def density_figure(density: Density, unit: str, paper: str = "A4") -> Figure:
    """A sheet with two plots over the lead: how far off the nearest lead can be, and how many leads there are.

    Parameters
    ----------
    density : what ``density_of`` read
    unit : ``mm`` or ``in``, for the leads
    paper : ``A4`` or ``Letter``; the sheet is as wide as it
    """
    width = papers.size_mm(paper)[0]
    figure, page = papers.blank(width, _HEIGHT_MM)
    margin, across = papers.MARGIN_MM, width - 2 * papers.MARGIN_MM - 18
    heading = title_in(density.facts)
    page.text(margin, _HEIGHT_MM - margin, heading, fontsize=11, weight="bold", va="top", wrap=True)
    page.text(margin, _HEIGHT_MM - margin - 10, _words(density, unit), fontsize=8.5, va="top", linespacing=1.4)
    upper = papers.inset(figure, margin + 16, 68, across, 46)
    lower = papers.inset(figure, margin + 16, 24, across, 38)
    _draw(upper, lower, density, unit)
    return figure


def _draw(upper: Axes, lower: Axes, density: Density, unit: str) -> None:
    import numpy as np
    from matplotlib.ticker import MaxNLocator

    _draw_farthest(upper, density, unit)
    steps = density.steps()
    for hand, leads in density.leads_mm.items():
        _stairs(lower, np.histogram(leads, steps)[0], steps / float(UNIT_MM[unit]), hand)
    lower.yaxis.set_major_locator(MaxNLocator("auto", steps=[1, 2, 2.5, 5, 10], integer=True))
    lower.set(ylabel="leads in a step", xlabel=f"lead [{unit}]", ylim=(0, None))
    _span_leads(lower, density, unit)
    upper.tick_params(axis="x", which="both", labelbottom=False)


def _draw_farthest(axes: Axes, density: Density, unit: str) -> None:
    steps = density.steps()
    for hand, leads in density.leads_mm.items():
        _stairs(axes, farthest(leads, steps) * 100, steps / float(UNIT_MM[unit]), hand)
    axes.set_ylabel("farthest off [%]")
    _span_leads(axes, density, unit)
    if density.is_wide:
        axes.set_yscale("log")
    else:
        axes.set_ylim(0, None)
    _say_plainly(axes.yaxis)


def _span_leads(axes: Axes, density: Density, unit: str) -> None:
    """The leads across, by their logarithms where they differ much."""
    steps = density.steps() / float(UNIT_MM[unit])
    axes.set(xlim=(steps[0], steps[-1]), xscale="log" if density.is_wide else "linear")
    axes.grid(which="major", color="0.8", lw=0.4)
    _say_plainly(axes.xaxis)


def _stairs(axes: Axes, heights: Floats, edges: Floats, hand: str) -> None:
    axes.stairs(heights, edges, baseline=None, label=hand, color="black", lw=1.3, ls=_STROKES[hand])


def _say_plainly(axis: Axis) -> None:
    """Round figures at an axis as they are said, 20 or 0.5, no powers."""
    from matplotlib.ticker import FixedLocator, FuncFormatter, NullLocator

    figures = round_figures(*axis.get_view_interval(), wide=axis.get_scale() == "log")
    axis.set_major_locator(FixedLocator(figures))
    axis.set_minor_locator(NullLocator())
    axis.set_major_formatter(FuncFormatter(lambda value, _: f"{value:.9f}".rstrip("0").rstrip(".")))
    axis.set_tick_params(labelsize=8.5)


def round_figures(low: float, high: float, *, wide: bool) -> list[float]:
    """From four to a dozen round figures between two that differ.

    Parameters
    ----------
    low, high : the least and the greatest, above zero where ``wide``
    wide : whether they stand by their logarithms: then powers of ten, else 1, 2, 5, else more between them
    """
    powers = range(floor(log10(low)), ceil(log10(high)) + 1) if wide else range(0)
    for digits in _DIGITS:
        found = [each for power in powers for digit in digits if low <= (each := float(f"{digit}e{power}")) <= high]
        if len(found) >= _FEWEST_FIGURES:
            return found[:: ceil(len(found) / _MOST_FIGURES)]
    least = (high - low) / _FEWEST_FIGURES
    size = 10.0 ** floor(log10(least))
    step = max(share * size for share in (1, 2, 2.5, 5) if share * size <= least)
    return [step * count for count in range(ceil(low / step - 1e-9), floor(high / step + 1e-9) + 1)]


def _words(density: Density, unit: str) -> str:
    lines = []
    for hand, leads in density.leads_mm.items():
        widest = ((leads[1:] - leads[:-1]) / leads[:-1]).argmax()
        ends = [format_length(Fraction(leads[widest + next_]), unit) for next_ in (0, 1)]
        name = f"{hand} hand: " if hand else ""
        stroke = {"right": " (drawn out)", "left": " (dashed)", "": ""}[hand] if len(density.leads_mm) > 1 else ""
        lines.append(f"{name}{len(leads)} leads{stroke}; the widest gap is from {ends[0]} to {ends[1]}")
    lines.append("upper plot: how far off the nearest lead of the chart can be, as a share of the lead that is wanted")
    return "\n".join(lines)
