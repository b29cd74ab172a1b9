"""Marks of a picture as SVG to stand in a page, in the page's own colours and printed to scale; without matplotlib."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from html import escape

from ...search.checked import CheckResult
from .marks import Mark, Round, Stroke, Words, box_of
from .papers import POINT_MM
from .picture import DASHES, fitting, kept, placed, seen_from, strokes, with_distances

_ROOM_MM = (186.0, 170.0)  # of a page of A4 within its margins
_BESIDE_MM = (105.0, 90.0)
_STYLE = (
    "<style>.gearsearch svg{stroke:currentColor;max-width:100%;height:auto;font-family:sans-serif}"
    ".gearsearch text{stroke:none;fill:currentColor}"
    ".gearsearch .ground{stroke:none;fill:var(--jp-layout-color0,white)}</style>"
)
_HATCH = (
    '<defs><pattern id="hatch" width="{0}" height="{0}" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">'
    '<line y2="{0}" stroke-width="{1}"/></pattern></defs>'
)


def train_svg(checked: CheckResult) -> Iterator[str]:
    """The train to scale as a figure of HTML, with the lines by which its studs are set; nothing without its place."""
    if checked.fit.placement is None:
        return
    placement, quadrant, names = placed(checked)
    view = with_distances(placement, quadrant, names, _ROOM_MM)
    marks = view.marks()
    said = ", ".join(f"{wheel.teeth} {wheel.role} on {names.shaft(wheel.shaft)}" for wheel in view.wheels)
    lines = [f"scale 1 : {view.paper:g} where it is printed at 100 %", *seen_from(placement, quadrant)]
    lines += strokes(placement, quadrant, names)
    caption = "".join(f"<li>{escape(line)}</li>" for line in lines)
    yield f"<figure>{svg(marks, kept(marks), view.paper, said)}<figcaption><ul>{caption}</ul></figcaption></figure>"


def small_svg(checked: CheckResult) -> str:
    """The train to scale alone, with its own style: what stands beside a table in a notebook."""
    view = fitting(*placed(checked), _BESIDE_MM, brief=True)
    marks = view.marks()
    return f'<div class="gearsearch">{_STYLE}{svg(marks, kept(marks), view.paper, str(checked.fit.train))}</div>'


def svg(marks: list[Mark], shown: list[Mark], paper: float, said: str) -> str:
    """Marks in the machine's own millimetres as an SVG element.

    Parameters
    ----------
    marks, shown : all marks, and those that must not be cut off
    paper : how many millimetres one millimetre of the paper shows
    said : what a reader who cannot see it is told
    """
    (x0, y0), (x1, y1) = box_of(shown, paper)
    rim = 1.5 * paper
    wide, high = x1 - x0 + 2 * rim, y1 - y0 + 2 * rim
    box = f"{x0 - rim:.3f} {-y1 - rim:.3f} {wide:.3f} {high:.3f}"
    hatch = _HATCH.format(f"{2 * paper:.3f}", f"{0.2 * paper:.3f}")
    drawn = "".join(part for mark in marks for part in _drawn(mark, paper))
    return (
        f'<svg class="scale" width="{wide / paper:.3f}mm" viewBox="{box}" role="img" '
        f'aria-label="The train to scale: {escape(said)}">{hatch}{drawn}</svg>'
    )


def _drawn(mark: Mark, paper: float) -> Iterator[str]:
    if isinstance(mark, Words):
        yield from _words(mark, paper)
        return
    style = _style(mark, paper)
    if isinstance(mark, Round):
        x, y = mark.at
        place = f'cx="{x:.3f}" cy="{-y:.3f}" r="{mark.radius:.3f}"'
        if mark.fill is not None or mark.hatched:
            yield f'<circle {place} class="ground"/>'
        yield f"<circle {place} {style}/>"
    else:
        points = " ".join(f"{x:.3f},{-y:.3f}" for x, y in mark.points)
        yield f'<poly{"gon" if mark.closed else "line"} points="{points}" {style}/>'


def _style(mark: Round | Stroke, paper: float) -> str:
    point = POINT_MM * paper
    parts = [f'stroke-width="{mark.weight * point:.3f}"']
    if mark.stroke in DASHES:
        parts.append(f'stroke-dasharray="{" ".join(f"{length * point:.3f}" for length in DASHES[mark.stroke])}"')
    if isinstance(mark, Round) and mark.hatched:
        parts.append('fill="url(#hatch)"')
    elif mark.fill is None:
        parts.append('fill="none"')
    else:
        parts.append(f'fill="currentColor" fill-opacity="{1 - mark.fill:.2f}"')
    return " ".join(parts)


def _words(mark: Words, paper: float) -> Iterator[str]:
    """Words on the ground of the page, the second line under the first, both about the middle."""
    x, y = mark.at
    (left, low), (right, high) = replace(mark, turned=0.0).box(paper)
    turn = f' transform="rotate({-mark.turned:.2f} {x:.3f} {-y:.3f})"' if mark.turned else ""
    yield f"<g{turn}>"
    yield f'<rect class="ground" x="{left:.3f}" y="{-high:.3f}" width="{right - left:.3f}" height="{high - low:.3f}"/>'
    for text, size, bold, middle in mark.lines(paper):
        weight = ' font-weight="bold"' if bold else ""
        yield (
            f'<text x="{x:.3f}" y="{-middle:.3f}" font-size="{size * POINT_MM * paper:.3f}" text-anchor="middle" '
            f'dominant-baseline="central"{weight}>{escape(text)}</text>'
        )
    yield "</g>"
