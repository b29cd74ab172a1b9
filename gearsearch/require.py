"""What a value given to a library call must be, said before anything is done with it."""

from __future__ import annotations

import numbers
from collections.abc import Collection, Mapping, Sequence
from fractions import Fraction
from itertools import pairwise

from .errors import GearsearchError, UnitError
from .units import shown


def exact(values: Mapping[str, object], *, optional: bool = True) -> None:
    """Raise UnitError for a value, by its name, that is neither int nor Fraction, such as a float.

    None may stand where the values are ``optional``.
    """
    for what, value in values.items():
        if value is None and optional:
            continue
        if isinstance(value, bool) or not isinstance(value, (int, Fraction)):
            raise UnitError(
                f"{what} {shown(value)} ({type(value).__name__}) is no exact number",
                "give an int or a Fraction, as parse_length('412.5 mm') makes",
            )


def above_zero(values: Mapping[str, Fraction | int | None], *, optional: bool = True) -> None:
    """Raise UnitError for a value, by its name, that is no exact number or not above zero; None as in ``exact``."""
    exact(values, optional=optional)
    for what, value in values.items():
        if value is not None and value <= 0:
            raise UnitError(f"{what} {shown(value)} is not above zero", "give one above zero")


def ascending(values: Sequence[Fraction | int], what: str) -> None:
    """Raise GearsearchError where one of several exact values is not above the one before; ``what`` names them."""
    for first, second in pairwise(values):
        if second <= first:
            raise GearsearchError(
                f"{what} {shown(second)} stands behind {shown(first)}", "give each once, in ascending order"
            )


def not_below_zero(values: Mapping[str, Fraction | int | None], *, optional: bool = True) -> None:
    """Raise UnitError for a value, by its name, that is no exact number or below zero; None as in ``exact``."""
    exact(values, optional=optional)
    for what, value in values.items():
        if value is not None and value < 0:
            raise UnitError(f"{what} {shown(value)} is below zero", "give zero or more")


def whole(value: object, most: int, what: str, least: int = 1) -> int:
    """The value as an int. Raises GearsearchError unless it is whole and from ``least`` to ``most``.

    ``what`` names what it counts. A whole number of another library, such as numpy's, is taken; a bool is not.
    """
    number = int(value) if isinstance(value, numbers.Integral) and not isinstance(value, bool) else None
    if number is None or not least <= number <= most:
        raise GearsearchError(f"{shown(value)} is no number of {what}", f"give a whole number from {least} to {most}")
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
