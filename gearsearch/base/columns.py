"""Columns of one length held together: the one way to take some of their rows, and to put several lots together."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import fields
from functools import cache
from typing import TYPE_CHECKING, Any, Self

if TYPE_CHECKING:
    from .arrays import Bools, Integers

    Rows = Integers | Bools | slice | list[int]  # rows of a lot: their numbers, a mask or a slice


class Columns:
    """The base of a dataclass whose fields are columns of one length.

    A field holds an array of numpy, other ``Columns``, a dict of either by name, a word for all rows, or None where
    nobody filled it. The first of them is filled.
    """

    __slots__ = ()

    def __len__(self) -> int:
        return len(next(iter(self._columns())))

    def _columns(self) -> Iterable[Any]:
        return [getattr(self, name) for name in _names(type(self))]  # type: ignore[arg-type]

    def take(self, rows: Rows) -> Self:
        """Some of the rows: their numbers, a mask or a slice."""
        return type(self)(*(_taken(column, rows) for column in self._columns()))

    @classmethod
    def joined(cls, parts: Iterable[Self]) -> Self:
        """Several lots, one after another; at least one. All have the same columns filled.

        Columns of two dimensions become as wide as the widest, padded with −1.
        """
        parts = list(parts)
        if len(parts) == 1:
            return parts[0]
        return cls(*(_joined(columns) for columns in zip(*(part._columns() for part in parts), strict=True)))

    def arrays(self) -> dict[str, Any]:
        """Every array that is filled, by its name; those inside columns and dicts by a path: ``hands/right``."""
        return dict(_arrays("", dict(zip(_names(type(self)), self._columns(), strict=True))))  # type: ignore[arg-type]

    def of_arrays(self, arrays: Mapping[str, Any]) -> Self:
        """Columns like these with other arrays, named as ``arrays`` names them; words stay those of these."""
        names = _names(type(self))  # type: ignore[arg-type]
        columns = (_of_arrays(column, name, arrays) for name, column in zip(names, self._columns(), strict=True))
        return type(self)(*columns)


def _arrays(path: str, columns: Mapping[str, Any]) -> Iterator[tuple[str, Any]]:
    for name, column in columns.items():
        if isinstance(column, Columns):
            inner = zip(_names(type(column)), column._columns(), strict=True)  # type: ignore[arg-type]
            yield from _arrays(f"{path}{name}/", dict(inner))
        elif isinstance(column, dict):
            yield from _arrays(f"{path}{name}/", column)
        elif column is not None and not isinstance(column, str):
            yield f"{path}{name}", column


def _of_arrays(column: Any, path: str, arrays: Mapping[str, Any]) -> Any:
    if isinstance(column, Columns):
        inner = {name.removeprefix(f"{path}/"): array for name, array in arrays.items() if name.startswith(f"{path}/")}
        return column.of_arrays(inner)
    if isinstance(column, dict):
        inside = [name.removeprefix(f"{path}/") for name in arrays if name.startswith(f"{path}/")]
        keys = dict.fromkeys(name.partition("/")[0] for name in inside)
        return {key: _of_arrays(column.get(key), f"{path}/{key}", arrays) for key in keys}
    return column if isinstance(column, str) else arrays.get(path)


@cache
def _names(kind: Any) -> list[str]:
    return [field.name for field in fields(kind)]


def _taken(column: Any, rows: Rows) -> object:
    if isinstance(column, Columns):
        return column.take(rows)
    if isinstance(column, dict):
        return {name: _taken(values, rows) for name, values in column.items()}
    return column if column is None or isinstance(column, str) else column[rows]


def _joined(columns: tuple[Any, ...]) -> object:
    first = columns[0]
    if isinstance(first, Columns):
        return type(first).joined(columns)
    if isinstance(first, dict):
        return {name: _joined(tuple(column[name] for column in columns)) for name in first}
    if first is None or isinstance(first, str):
        return first
    import numpy as np

    if first.ndim == 2 and len({column.shape[1] for column in columns}) > 1:
        whole = np.full((sum(map(len, columns)), max(column.shape[1] for column in columns)), -1, first.dtype)
        start = 0
        for column in columns:
            whole[start : start + len(column), : column.shape[1]] = column
            start += len(column)
        return whole
    return np.concatenate(columns)
