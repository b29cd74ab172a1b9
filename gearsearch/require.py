"""What a value given to a library call must be, said before anything is done with it."""

from __future__ import annotations

import numbers
from collections.abc import Collection, Mapping
from fractions import Fraction
from typing import Any

from .errors import GearsearchError, UnitError
from .units import shown


def exact(values: Mapping[str, object], *, given: bool = False) -> None:
    """Raise UnitError for a value, by its name, that is neither int nor Fraction, such as a float.

    None may stand for what is not known, unless all must be ``given``.
    """
    for what, value in values.items():
        if value is None and not given:
            continue
        if isinstance(value, bool) or not isinstance(value, (int, Fraction)):
            raise UnitError(
                f"{what} {shown(value)} ({type(value).__name__}) is no exact number",
                "give an int or a Fraction, as parse_length('412.5 mm') makes",
            )


def above_zero(values: Mapping[str, Fraction | int | None], *, given: bool = False) -> None:
    """Raise UnitError for a value, by its name, that is no exact number, as ``exact``, or not above zero."""
    exact(values, given=given)
    for what, value in values.items():
        if value is not None and value <= 0:
            raise UnitError(f"{what} {shown(value)} is not above zero", "give one above zero")


def kept_exact(of: object, **fields: str) -> None:
    """Keep fields of a frozen dataclass, each named in words, as Fractions, so that none divides by another to a float.

    Raises UnitError as ``exact``; None may stand.
    """
    exact({what: getattr(of, field) for field, what in fields.items()})
    for field in fields:
        value = getattr(of, field)
        if isinstance(value, int):
            object.__setattr__(of, field, Fraction(value))


def not_below_zero(values: Mapping[str, Fraction | int]) -> None:
    """Raise UnitError for a value, by its name, that is no exact number or below zero."""
    exact(values, given=True)
    for what, value in values.items():
        if value < 0:
            raise UnitError(f"{what} {shown(value)} is below zero", "give zero or more")


def holds(low_mm: Fraction, high_mm: Fraction, wanted_mm: Fraction, whose: str = "") -> None:
    """Raise GearsearchError unless leads from ``low_mm`` to ``high_mm`` hold the wanted one; ``whose`` names it."""
    if not 0 <= low_mm <= wanted_mm <= high_mm:
        raise GearsearchError(
            f"{whose}leads from {shown(low_mm)} to {shown(high_mm)} mm do not hold the wanted lead",
            "give a tolerance of zero or more",
        )


def two(value: object, what: str) -> tuple[Any, Any]:
    """The two values of a pair such as (1, 2). Raises GearsearchError for what is none; ``what`` names it."""
    if not isinstance(value, (tuple, list)) or len(value) != 2:
        raise GearsearchError(f"{what} {shown(value)} are not two numbers", "give two, as in (1, 2)")
    return value[0], value[1]


def whole(value: object, most: int | None, what: str, least: int = 1) -> int:
    """The value as an int. Raises GearsearchError unless it is whole and from ``least`` to ``most``; None: no limit.

    ``what`` names what it counts. A whole number of another library, such as numpy's, is taken; a bool is not.
    """
    number = int(value) if isinstance(value, numbers.Integral) and not isinstance(value, bool) else None
    if number is None or number < least or (most is not None and number > most):
        upward = "on" if most is None else f"to {most}"
        raise GearsearchError(f"{shown(value)} is no number of {what}", f"give a whole number from {least} {upward}")
    return number


def one_of(value: object, choices: Collection[str], what: str) -> None:
    """Raise GearsearchError unless the value is one of some words; ``what`` names it."""
    if not isinstance(value, str) or value not in choices:
        *first, last = choices
        raise GearsearchError(f"{what} {shown(value)} is not known", f"use {', '.join(first)} or {last}")


def text(value: object, what: str) -> str:
    """The value, where it is a text; else raises GearsearchError."""
    if not isinstance(value, str):
        raise GearsearchError(f"{what} {shown(value)} ({type(value).__name__}) is no text", "give it as it is typed")
    return value
