"""The train in plain characters: shafts from top to bottom in power order, gear planes side by side."""

from __future__ import annotations

from collections.abc import Iterator

from ..mounting.placement import Names
from ..search.checked import CheckResult

_COLUMN, NARROW = 14, 10  # characters
Wheels = dict[int, str]  # plane to what is written there


def stacked(checked: CheckResult) -> list[str]:
    """Each shaft on a line with its gears, each in its plane: ``|`` where two mesh, ``=`` where two are keyed together.

    Parameters
    ----------
    checked : the train; it need not mount
    """
    heads, *rows = in_planes(checked)
    return [f"{heads}   | in mesh   = keyed together", *rows]


def in_planes(checked: CheckResult, column: int = _COLUMN) -> list[str]:
    """The same without saying what the marks mean; ``column`` characters for each plane, ``NARROW`` or more."""
    names = Names(checked.shop, checked.route, checked.fit.train.studs)
    shafts = list(_with_idle(checked, list(_shafts(checked))))
    labels = [names.shaft(number).removeprefix("the ") for number in range(len(shafts))]
    width, planes = max(map(len, labels)), 1 + max(plane for _, wheels in shafts for plane in wheels)
    heads = "".join(f"{f'plane {plane + 1}':^{column}}" for plane in range(planes))
    rows = [f"{'':{width}}{heads}".rstrip()]
    for label, (mesh, wheels) in zip(labels, shafts, strict=True):
        rows.append(f"{label:<{width}}{_row(wheels, planes, column)}".rstrip())
        if mesh is not None:
            rows.append(f"{'':{width}}{_row({mesh: '|'}, planes, column)}".rstrip())
    return rows


def _shafts(checked: CheckResult) -> Iterator[tuple[int | None, Wheels]]:
    """For each shaft in power order the plane of the mesh that follows, and its gears by plane."""
    planes = checked.shop.quadrant.planes if checked.shop.quadrant else 2
    back_and_forth = [*range(planes), *range(planes - 2, 0, -1)]
    wheels: Wheels = {}
    for number, pair in enumerate(checked.fit.train.pairs):
        plane = back_and_forth[number % len(back_and_forth)]
        yield plane, {**wheels, plane: str(pair.driver)}
        for idler in pair.idlers:
            yield plane, {plane: f"({idler})"}
        wheels = {plane: str(pair.driven)}
    yield None, wheels


def _with_idle(checked: CheckResult, shafts: list[tuple[int | None, Wheels]]) -> Iterator[tuple[int | None, Wheels]]:
    """The same with the partners in joined pieces that hang idle, where their planes are known."""
    hanging = [] if checked.fit.placement is None else [w for w in checked.fit.placement.wheels if w.role == "idle"]
    for number, (mesh, wheels) in enumerate(shafts):
        yield mesh, wheels | {wheel.plane: f"{wheel.teeth} idle" for wheel in hanging if wheel.shaft == number}


def _row(wheels: Wheels, planes: int, column: int) -> str:
    cells = [f"{wheels.get(plane, ''):^{column}}" for plane in range(planes)]
    text = "".join(cells)
    if len(wheels) == 2:
        left, right = sorted(wheels)
        start = left * column + len(cells[left].rstrip()) + 1
        end = right * column + len(cells[right]) - len(cells[right].lstrip()) - 1
        text = text[:start] + "=" * (end - start) + text[end:]
    return text
