"""Plots: the error along the cut against what is allowed, and how densely the gears cover the leads."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

from ...base.errors import GearsearchError
from ...base.units import UNIT_MM, format_length, format_ppm
from ...search.checked import CheckResult
from ...shop.machine import Route
from ...shop.shop import Shop
from . import papers

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

Box = tuple[float, float, float, float]  # left, bottom, width, height [mm]
_HEIGHT_MM = 110.0
_BARS = 48
_NEAR = Fraction(1, 5)  # how far to both sides of the wanted lead the leads are looked at


def error_figure(checked: CheckResult, paper: str = "A4") -> Figure:
    """A sheet with the error along the cut.

    Raises GearsearchError without a wanted lead or a length of the cut.
    """
    width = papers.size_mm(paper)[0]
    figure, _ = papers.blank(width, _HEIGHT_MM)
    margin = papers.MARGIN_MM
    draw_error(figure, (margin, margin, width - 2 * margin, _HEIGHT_MM - 2 * margin), checked)
    return figure


def draw_error(figure: Figure, box: Box, checked: CheckResult) -> None:
    """Draw into a part of a sheet how far the groove drifts off along the axis, and the band that is allowed.

    Parameters
    ----------
    figure : sheet made by ``papers.blank``
    box : left, bottom, width, height of the part [mm]
    checked : the train as ``check`` judged it
    """
    figures = checked.figures
    if figures is None or figures.length_mm is None:
        raise GearsearchError(
            "the error along the cut needs a wanted lead and the length of the cut", "give --lead and --length"
        )
    left, bottom, width, height = box
    unit = checked.shop.units
    part = float(UNIT_MM[unit])
    length = float(figures.length_mm) / part
    ends = _ends(checked)
    page, axes = figure.axes[0], papers.inset(figure, left + 18, bottom + 12, width - 20, height - 32)
    page.text(left, bottom + height, "How far off along the cut", fontsize=13, weight="bold", va="top")
    page.text(left, bottom + height - 6.5, _verdict(checked), fontsize=9.5, va="top", linespacing=1.4)
    for name, style in (("screw", ":"), ("allowed", "--")):
        for share in ends.get(name, ()):
            axes.plot([0, length], [0, float(share) * length], color="black", lw=1.1, ls=style)
    if "allowed" in ends:
        low, high = (float(share) * length for share in ends["allowed"])
        axes.fill_between([0, length], [0, low], [0, high], facecolor="none", edgecolor="0.75", hatch="///", lw=0)
    axes.plot([0, length], [0, float(figures.error) * length], color="black", lw=2.6)
    axes.axhline(0, color="black", lw=0.5)
    axes.set(xlim=(0, length), xlabel=f"along the axis from the start of the cut [{unit}]")
    axes.set_ylabel(f"too long is up [{unit}]")
    _named_ends(axes, length, {**ends, "this train": (figures.error,)})


def _ends(checked: CheckResult) -> dict[str, tuple[Fraction, ...]]:
    """Drift for each millimetre of cut: of the allowed band, and of the screw itself."""
    found: dict[str, tuple[Fraction, ...]] = {}
    accuracy = checked.shop.machine.screw_accuracy
    if accuracy is not None:
        found["screw"] = (-accuracy, accuracy)
    if checked.interval_mm is not None and checked.wanted is not None:
        wanted = checked.wanted.lead_mm
        low, high = (lead / wanted - 1 for lead in checked.interval_mm)
        found["allowed"] = (low, min(high, -10 * low if low else high))  # a band without end on the long side is cut
    return found


def _named_ends(axes: Axes, length: float, ends: dict[str, tuple[Fraction, ...]]) -> None:
    """The name of each line at its end; two that fall together share a place."""
    places: dict[float, list[str]] = {}
    low, high = axes.get_ylim()
    for name, shares in ends.items():
        for share in shares:
            at = float(share) * length
            near = next((place for place in places if abs(place - at) < 0.09 * (high - low)), at)
            names = places.setdefault(near, [])
            names += [name] if name not in names else []
    for place, names in places.items():
        text = {"this train": "THIS TRAIN"}
        words = ", ".join(text.get(name, name) for name in names)
        axes.annotate(
            words,
            (length, place),
            (-4, 0),
            textcoords="offset points",
            ha="right",
            va="center",
            fontsize=9,
            bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.8},
        )


def _verdict(checked: CheckResult) -> str:
    figures, unit = checked.figures, checked.shop.units
    assert figures is not None
    assert figures.length_mm is not None
    over = format_length(figures.length_mm, unit)
    if figures.error == 0:
        off = f"the lead is exact; cut {over} long"
    else:
        off = f"{format_length(figures.error * figures.length_mm, unit, signed=True)} over {over} of cut"
        assert checked.limits is not None
        off += f" ({checked.limits.relative(checked.fit.lead_mm)})"
    within = {None: "", True: "; INSIDE the tolerance, hatched", False: "; OUTSIDE the tolerance, hatched"}
    dots = "\ndotted: what the screw itself holds" if checked.shop.machine.screw_accuracy is not None else ""
    return off + within[checked.fit.within] + dots


@dataclass(frozen=True, slots=True)
class Coverage:
    """How densely a gear set covers the leads around a wanted one.

    Parameters
    ----------
    leads_mm : every reachable lead in the window, ascending [mm]; mounting is not judged
    window_mm : (shortest, longest) lead looked at [mm]
    wanted_mm : the wanted lead [mm]
    """

    leads_mm: tuple[Fraction, ...]
    window_mm: tuple[Fraction, Fraction]
    wanted_mm: Fraction

    @property
    def widest(self) -> tuple[Fraction, Fraction]:
        """The two neighbouring leads that stand farthest apart, as a share of the lower [mm]."""
        pairs = zip(self.leads_mm, self.leads_mm[1:], strict=False)
        return max(pairs, key=lambda pair: (pair[1] / pair[0], -pair[0]))

    @property
    def around_wanted(self) -> tuple[Fraction | None, Fraction | None]:
        """The nearest lead at or below the wanted one, and the nearest above it [mm]; None where there is none."""
        below = [lead for lead in self.leads_mm if lead <= self.wanted_mm]
        above = [lead for lead in self.leads_mm if lead > self.wanted_mm]
        return (below[-1] if below else None), (above[0] if above else None)


def coverage_of(shop: Shop, route: Route, wanted_mm: Fraction, pairs: tuple[int, int] = (1, 2)) -> Coverage:
    """Every lead that the gears give within a fifth of a wanted one, whether it mounts or not.

    Parameters
    ----------
    shop, route : whose gears, and which way
    wanted_mm : the lead looked around [mm]
    pairs : (least, most) pairs of a train

    Raises GearsearchError where there are fewer than two leads there.
    """
    from ...search.search import Search
    from ...search.terms import Terms
    from ...work.part import Part

    low, high = wanted_mm * (1 - _NEAR), wanted_mm * (1 + _NEAR)
    search = Search(shop, Part(wanted_mm), Terms(route=route.call, pairs=pairs, mounting="skip"))
    leads = tuple(sorted(map(search.drive.lead_mm, search.leads(low, high).ratios)))
    if len(leads) < 2:
        raise GearsearchError(
            f"the gears give {len(leads)} leads from {format_length(low, shop.units)} to "
            f"{format_length(high, shop.units)}: too few to plot",
            "ask for a lead that they reach, or for more pairs",
        )
    return Coverage(leads, (low, high), wanted_mm)


def coverage_figure(shop: Shop, route: Route, coverage: Coverage, paper: str = "A4") -> Figure:
    """A sheet with the leads that the gears give around the wanted one: a stroke each, and how many to each bar."""
    width = papers.size_mm(paper)[0]
    figure, page = papers.blank(width, _HEIGHT_MM)
    margin, unit = papers.MARGIN_MM, shop.units
    part = float(UNIT_MM[unit])
    leads = [float(lead) / part for lead in coverage.leads_mm]
    low, high = (float(end) / part for end in coverage.window_mm)
    heading = f"Leads of {shop.name} by route {route.label} around {format_length(coverage.wanted_mm, unit)}"
    page.text(margin, _HEIGHT_MM - margin, heading, fontsize=13, weight="bold", va="top")
    page.text(
        margin, _HEIGHT_MM - margin - 6.5, _coverage_words(coverage, unit), fontsize=8.5, va="top", linespacing=1.4
    )
    bars = papers.inset(figure, margin + 14, margin + 26, width - 2 * margin - 16, _HEIGHT_MM - 2 * margin - 46)
    bars.hist(leads, bins=_BARS, range=(low, high), facecolor="0.8", edgecolor="black", lw=0.6)
    bars.set(xlim=(low, high), ylabel="leads to a bar", xticklabels=[])
    strokes = papers.inset(figure, margin + 14, margin + 10, width - 2 * margin - 16, 14)
    strokes.vlines(leads, 0, 1, color="black", lw=0.25)
    strokes.set(xlim=(low, high), ylim=(0, 1), yticks=[], xlabel=f"lead [{unit}]")
    for axes in (bars, strokes):
        axes.axvline(float(coverage.wanted_mm) / part, color="black", lw=1.6, ls=(0, (4, 2)))
    return figure


def _coverage_words(coverage: Coverage, unit: str) -> str:
    below, above = coverage.around_wanted
    near = [
        f"{format_length(lead, unit)} ({format_ppm(lead / coverage.wanted_mm - 1)})" for lead in (below, above) if lead
    ]
    wide = coverage.widest
    gap = f"{format_length(wide[0], unit)} to {format_length(wide[1], unit)} ({format_ppm(wide[1] / wide[0] - 1)[1:]})"
    return (
        f"{len(coverage.leads_mm)} different leads, mounting not judged; dashed: the wanted one; widest gap {gap}\n"
        f"nearest {' and '.join(near)}"
    )
