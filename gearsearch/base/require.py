"""What a value given to a library call must be, said before anything is done with it."""

from __future__ import annotations

import dataclasses
import numbers
import os
import re
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from fractions import Fraction
from itertools import pairwise
from typing import Any, Literal, TypeGuard, overload

from .errors import GearsearchError, UnitError
from .units import shown


@overload
def exact(values: Mapping[str, object], *, given: Literal[True]) -> tuple[Fraction, ...]: ...
@overload
def exact(values: Mapping[str, object], *, given: bool = False) -> tuple[Fraction | None, ...]: ...
def exact(values: Mapping[str, object], *, given: bool = False) -> tuple[Fraction | None, ...]:
    """The values as Fractions to reckon with. Raises UnitError, by its name, for one that is inexact, such as a float.

    Whole numbers of another library, such as numpy's, are taken; a bool is not. None may stand for what is not known,
    unless all must be ``given``.
    """
    return tuple(None if value is None and not given else _fraction(value, what) for what, value in values.items())


def _fraction(value: object, what: str) -> Fraction:
    if isinstance(value, bool) or not isinstance(value, numbers.Rational):
        raise UnitError(
            f"{what} {shown(value)} ({type(value).__name__}) is not an exact number",
            "use an int or a Fraction, as parse_length('412.5 mm') gives",
            code="not-exact",
        )
    return Fraction(int(value.numerator), int(value.denominator))  # a Fraction of numpy's parts would overflow


@overload
def above_zero(values: Mapping[str, object], *, given: Literal[True]) -> tuple[Fraction, ...]: ...
@overload
def above_zero(values: Mapping[str, object], *, given: bool = False) -> tuple[Fraction | None, ...]: ...
def above_zero(values: Mapping[str, object], *, given: bool = False) -> tuple[Fraction | None, ...]:
    """As ``exact``; raises UnitError also for a value that is not above zero."""
    found = exact(values, given=given)
    for what, value in zip(values, found, strict=True):
        if value is not None and value <= 0:
            raise UnitError(f"{what} {shown(value)} is not above zero", "give one above zero", code="not-above-zero")
    return found


def not_below_zero(values: Mapping[str, object], *, given: bool = False) -> tuple[Fraction | None, ...]:
    """As ``exact``; raises UnitError also for a value below zero."""
    found = exact(values, given=given)
    for what, value in zip(values, found, strict=True):
        if value is not None and value < 0:
            raise UnitError(f"{what} {shown(value)} is below zero", "give zero or more", code="below-zero")
    return found


def ascending(values: Sequence[Fraction | int], what: str) -> None:
    """Raise GearsearchError where one of several exact values is not above the one before; ``what`` names them."""
    for first, second in pairwise(values):
        if second <= first:
            raise GearsearchError(
                f"{what} {shown(second)} stands behind {shown(first)}",
                "give each once, in ascending order",
                code="not-ascending",
            )


def kept_exact(of: Any, **named: str) -> None:
    """Keep fields of a frozen dataclass, each named in words, as Fractions, so that none divides by another to a float.

    Raises UnitError as ``exact``; None may stand in a field where it does without being given.
    """
    usual = {field.name: field.default for field in dataclasses.fields(of)}
    for name, what in named.items():
        (value,) = exact({what: getattr(of, name)}, given=usual[name] is not None)
        object.__setattr__(of, name, value)


def two(value: object, what: str) -> tuple[Any, Any]:
    """The two values of a pair such as (1, 2). Raises GearsearchError for what is none; ``what`` names it."""
    if not isinstance(value, (tuple, list)) or len(value) != 2:
        raise GearsearchError(
            f"{what}: {shown(value)} is no pair", "give two in brackets, as in (1, 2)", code="not-a-pair"
        )
    return value[0], value[1]


def span(value: object, most: int, what: str, said: str, remedy: str) -> tuple[int, int]:
    """The two whole numbers of a span from least to most, within 1 to ``most``; ``what`` names it.

    Raises GearsearchError for what is none, in words that have ``{}`` where the span stands.
    """
    ends = two(value, what)
    if not all(map(is_whole, ends)) or not 1 <= ends[0] <= ends[1] <= most:
        raise GearsearchError(said.format(" to ".join(map(shown, ends))), remedy, code="out-of-range")
    return int(ends[0]), int(ends[1])


def whole_numbers(value: object, what: str) -> tuple[int, ...]:
    """Whole numbers as ints, whatever holds them. Raises GearsearchError for others; ``what`` names them."""
    counts = tuple(value) if isinstance(value, Iterable) and not isinstance(value, str) else (None,)
    if not all(map(is_whole, counts)):
        raise GearsearchError(
            f"{what}: {shown(value)} is no list of whole numbers", "give them as in (40, 24)", code="not-whole"
        )
    return tuple(map(int, counts))


def whole(value: object, most: int | None, what: str, least: int = 1) -> int:
    """The value as an int. Raises GearsearchError unless it is whole and from ``least`` to ``most``; None: no limit.

    ``what`` names what it counts. A whole number of another library, such as numpy's, is taken; a bool is not.
    """
    if not is_whole(value) or value < least or (most is not None and value > most):
        upward = "on" if most is None else f"to {most}"
        raise GearsearchError(
            f"{shown(value)} is no number of {what}", f"give a whole number from {least} {upward}", code="out-of-range"
        )
    return int(value)


def typed_whole(text: str, name: str, example: str = "3") -> int:
    """A whole number as typed, in digits; how great it may be is for whoever counts with it.

    Raises GearsearchError for anything else, naming the option and how it is written.
    """
    if re.fullmatch(r"[+-]?[0-9]{1,300}", text.strip()) is None:
        raise GearsearchError(
            f"{name} {text[:40]!r} is not a whole number", f"write it as in {name} {example}", code="not-whole"
        )
    return int(text)


def is_whole(value: object) -> TypeGuard[int]:
    """Whether a value is a whole number, be it of another library such as numpy; a bool is none."""
    return isinstance(value, numbers.Integral) and not isinstance(value, bool)


def one_of(value: object, choices: Collection[str], what: str) -> None:
    """Raise GearsearchError unless the value is one of some words; ``what`` names it."""
    if not isinstance(value, str) or value not in choices:
        *first, last = choices
        raise GearsearchError(
            f"{what} {shown(value)} is not known", f"use {', '.join(first)} or {last}", code="unknown-word"
        )


def instance(value: object, kind: type, what: str, remedy: str, *, given: bool = False) -> None:
    """Raise GearsearchError for a value, named by ``what``, that is not of a class; None as in ``exact``."""
    if (given or value is not None) and not isinstance(value, kind):
        raise GearsearchError(
            f"{what} {shown(value)} ({type(value).__name__}) is no {kind.__name__}", remedy, code="wrong-type"
        )


def text(value: object, what: str) -> str:
    """The value, where it is a text; else raises GearsearchError."""
    if not isinstance(value, str):
        raise GearsearchError(
            f"{what} {shown(value)} ({type(value).__name__}) is no text", "give it as it is typed", code="wrong-type"
        )
    return value


def line(value: object, what: str) -> str:
    """A text of one line that can be printed; of what is no text in it each byte becomes ``?``."""
    told = text(value, what).encode("utf-8", "replace").decode()
    if not told.isprintable():
        raise GearsearchError(
            f"{what} {shown(told)} holds a character that cannot be printed", "write it in letters", code="unprintable"
        )
    return told


def path(value: object, what: str) -> str:
    """The name of a file, given as a text or as a path; raises GearsearchError for anything else."""
    return text(os.fspath(value) if isinstance(value, os.PathLike) else value, what)


def keep(thing: object, check: Callable[..., tuple[Fraction | None, ...]], *names: str, given: bool = True) -> None:
    """Keep numbers of a frozen object, by the names of its fields, as fractions, once they are checked."""
    values = check({name: getattr(thing, name) for name in names}, given=given)
    for name, value in zip(names, values, strict=True):
        object.__setattr__(thing, name, value)


def keep_span(thing: object, name: str, *, least: int, most: int | None = None) -> None:
    """Keep a least and a greatest number as fractions, once they are checked."""
    span = getattr(thing, name)
    if not isinstance(span, tuple) or len(span) != 2:
        raise GearsearchError(f"{name} {shown(span)} is no least with a greatest", "give two numbers as a tuple")
    low, high = exact({f"the least {name}": span[0], f"the greatest {name}": span[1]}, given=True)
    if not least <= low <= high or (most is not None and high > most):
        given = f"{name} from {shown(low)} to {shown(high)} cannot be"
        within = f"not below {least}" if most is None else f"within {least} and {most}"
        raise GearsearchError(given, f"give the smaller first, both {within}")
    object.__setattr__(thing, name, (low, high))


def none_idle(given: Mapping[str, bool], without: str, remedy: str) -> None:
    """Raise GearsearchError, of the code ``idle-option``, for what is given and would change nothing.

    Parameters
    ----------
    given : by the names of parameters: whether each is given
    without : why they change nothing, in words that follow "does nothing"
    remedy : what would make them do something
    """
    for name, is_given in given.items():
        if is_given:
            option = "--" + name.replace("_", "-")
            raise GearsearchError(
                f"{option} does nothing {without}", f"{remedy}, or leave {option} out", code="idle-option"
            )
