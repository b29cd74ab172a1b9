"""Loose gears as Python gives them: tooth counts one by one, a table, or a file."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Union, cast

from ..base import require
from ..base.errors import GearsearchError
from ..base.units import shown
from .shop import Shop

if TYPE_CHECKING:
    import pandas as pd

GearList = Union[Iterable[int], "pd.DataFrame", str, os.PathLike[str]]
_REMEDY = "give a table with a column teeth and, where there are several equal gears, one count"


def teeth_of(gears: GearList) -> tuple[int, ...]:
    """The tooth count of each gear of a list; see ``Workshop.with_gears``.

    Raises GearsearchError for a single number, a table without a column ``teeth``, and a file that cannot be read.
    """
    if isinstance(gears, str | os.PathLike):
        return _of_table(_read(Path(gears)), str(gears))
    if not isinstance(gears, Iterable):
        raise GearsearchError(f"{gears!r} is no list of tooth counts", f"write it as in [{gears}]", code="wrong-type")
    return _of_table(cast("pd.DataFrame", gears), "the table") if hasattr(gears, "columns") else tuple(gears)


def _read(path: Path) -> pd.DataFrame:
    import pandas as pd

    try:
        header = path.read_text(encoding="utf-8-sig").partition("\n")[0]
        parted = next((mark for mark in ";\t" if mark in header), ",")
        return pd.read_csv(path, sep=parted, encoding="utf-8-sig", skipinitialspace=True).dropna(how="all")
    except FileNotFoundError:
        raise GearsearchError(f"there is no list of gears {shown(str(path))}", f"{_REMEDY}, or [40, 60]") from None
    except (OSError, ValueError) as error:
        reason = str(error).splitlines()[0]
        raise GearsearchError(f"{path} cannot be read as a list of gears: {reason}", _REMEDY) from None


def _of_table(table: pd.DataFrame, name: str) -> tuple[int, ...]:
    columns = {str(column).strip().lower(): column for column in table.columns}
    if "teeth" not in columns:
        there = ", ".join(map(str, table.columns))
        raise GearsearchError(f"{name} has no column teeth, but {there or 'none'}", _REMEDY, code="no-column")
    sizes = table[columns["teeth"]]
    for row, empty in enumerate(sizes.isna().tolist(), 1):
        if empty:
            remedy = "give it, or take the row out"
            raise GearsearchError(f"{name}: row {row} has no tooth count", remedy, code="no-teeth")
    teeth = sizes.tolist()
    counts = table[columns["count"]].fillna(1).tolist() if "count" in columns else [1] * len(teeth)
    return tuple(each for size, count in zip(teeth, counts, strict=True) for each in [_whole(size)] * _copies(count))


def _whole(value: object) -> int:
    """A count, as a column with gaps has it too; what is none is refused where all are checked."""
    return int(value) if isinstance(value, float) and value.is_integer() else value  # type: ignore[return-value]


def _copies(count: object) -> int:
    copies = _whole(count)
    if not isinstance(copies, int) or not 0 <= copies <= 100:
        raise GearsearchError(f"{shown(count)} is no count of equal gears", "give 0 to 100", code="out-of-range")
    return copies


def with_changed(shop: Shop, change: Callable[[tuple[int, ...]], tuple[int, ...]], kind: str | None) -> Shop:
    """A shop with its loose gears of one kind of tooth changed; kind None: it has only one.

    Raises GearsearchError where it has several and none is named, and for what are no tooth counts.
    """
    if kind is None and len(shop.gears) > 1:
        tags = ", ".join(gears.kind.tag for gears in shop.gears)
        raise GearsearchError("the shop has several kinds of tooth, and none is named", f"name one with kind: {tags}")
    changed = shop.gears[0] if kind is None else shop.gear_set(kind)
    teeth = tuple(sorted(require.whole_numbers(change(changed.teeth), "gears")))
    return replace(shop, gears=tuple(replace(each, teeth=teeth) if each is changed else each for each in shop.gears))
