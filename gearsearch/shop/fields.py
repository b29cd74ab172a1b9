"""One table of a shop file, read key by key; a mistake is noted, not raised, so that all of them show at once."""

from __future__ import annotations

import difflib
import re
from collections.abc import Callable, Iterable
from contextlib import suppress
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Any, Generic, TypeVar

from ..base.errors import UnitError
from ..base.units import parse_angle, parse_length, parse_pitch, parse_ratio

Number = str | int | Decimal
T = TypeVar("T")
D = TypeVar("D")
_MOST_SHOWN = 40
_MOST_DIGITS = 30  # beyond this many places before or after the point a number is refused unread


class Wrong(Exception):
    """A value that will not do; the text says why, with the value in it."""


@dataclass(frozen=True, slots=True)
class Reader(Generic[T]):
    """How one value is read.

    Parameters
    ----------
    allowed : what may stand there, in words; printed with every mistake
    parse : gives the value, or raises ``Wrong``
    """

    allowed: str
    parse: Callable[[object], T]


class Table:
    """The keys of one table; misspelt and misplaced ones are noted as soon as it is made.

    Parameters
    ----------
    values : what the file has there; anything but a table is itself noted as a mistake
    place : the table as the user knows it: ``[machine]``, ``[[gears]] no. 2``
    problems : the list that every mistake is added to
    known : the keys there are
    homes : keys of other tables, with the table where each belongs
    """

    def __init__(
        self,
        values: object,
        place: str,
        problems: list[str],
        known: tuple[str, ...],
        homes: dict[str, str] | None = None,
    ) -> None:
        self.place = place
        self.known = known
        self.problems = problems
        self._begun = len(problems)
        self.misspelt: set[str] = set()
        self.values: dict[str, Any] = values if isinstance(values, dict) else {}
        if not isinstance(values, dict):
            self.note("", f"{shown(values)} is not a table; allowed: a table with {', '.join(known) or 'its keys'}")
            self.misspelt.update(known)
        for key, value in self.values.items():
            if key not in known:
                self.note(*self._unknown(key, value, homes or {}))

    @property
    def sound(self) -> bool:
        """Whether no mistake has been noted since this table was begun."""
        return len(self.problems) == self._begun

    def __contains__(self, key: str) -> bool:
        return key in self.values

    def note(self, key: str, text: str) -> None:
        """Add one mistake, named by table and key."""
        named = ", ".join(part for part in (self.place, key) if part)
        self.problems.append(f"{named}: {text}")

    def need(self, key: str, reader: Reader[T], stand_in: T) -> T:
        """The value of a key that must be there; after a mistake, the stand-in."""
        if key not in self.values:
            if key not in self.misspelt:
                self.note(key, f"missing; give {reader.allowed}")
            return stand_in
        return self.get(key, reader, stand_in)

    def get(self, key: str, reader: Reader[T], default: D) -> T | D:
        """The value of a key that may be left out."""
        if key not in self.values:
            return default
        read: T | D = self._read(key, self.values[key], reader, default)
        return read

    def items(self, key: str, reader: Reader[T], *, least: int = 1) -> tuple[T, ...]:
        """Every value of a list, each mistake named by its number, counted from 1; empty where there is no list."""
        values = self.values.get(key, [])
        if not isinstance(values, list) or (key in self.values and len(values) < least):
            what = "an empty list" if values == [] else f"{shown(values)} is not a list"
            self.note(key, f"{what}; allowed: a list in square brackets, each {reader.allowed}")
            return ()
        marked = object()
        read = [self._read(f"{key} no. {n}", value, reader, marked) for n, value in enumerate(values, 1)]
        return tuple(value for value in read if value is not marked)

    def inner(self, key: str, known: tuple[str, ...]) -> Table:
        """A table written in the line of a key; empty where the key is left out."""
        return Table(self.values.get(key, {}), f"{self.place}, {key}", self.problems, known)

    def _read(self, name: str, value: object, reader: Reader[T], default: object) -> Any:
        try:
            return reader.parse(value)
        except Wrong as wrong:
            self.note(name, f"{wrong}; allowed: {reader.allowed}")
        return default

    def _unknown(self, key: str, value: object, homes: dict[str, str]) -> tuple[str, str]:
        """The name of a key that is not known, and what was likely meant."""
        is_table = not self.place and isinstance(value, (dict, list))
        what, form = ("table", "[{}]") if is_table else ("key", "{}")
        name = form.format(plain_key(key))
        if key in homes:
            return name, f"this {what} has no place here; it belongs to {homes[key]}"
        near = nearest(key, self.known)
        if near:
            self.misspelt.add(near)
            return name, f"there is no such {what}; did you mean {form.format(near)}?"
        return name, f"there is no such {what}; allowed: {', '.join(self.known)}"


def plain_key(key: str) -> str:
    """A key as it can be printed: in one line, and not too long."""
    return shown(key)[1:-1]


def nearest(word: str, known: Iterable[str]) -> str | None:
    """The known word most like this one, or None when none is at all like it."""
    plain = word.lower().replace("-", "_").replace(" ", "_")
    found = difflib.get_close_matches(plain, list(known), n=1, cutoff=0.6)
    return found[0] if found else None


def shown(value: object) -> str:
    """A value as it stands in the file, cut short where it is long."""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, dict):
        return "a table"
    if isinstance(value, list):
        return "an empty list" if not value else "a list"
    if isinstance(value, int) and value.bit_length() > 100:
        return "a number of more than 30 digits"
    text = f'"{value}"' if isinstance(value, str) else str(value)
    text = "".join(letter if letter.isprintable() else "?" for letter in text)
    return text if len(text) <= _MOST_SHOWN else text[: _MOST_SHOWN - 2] + "…" + text[-1]


def whole(least: int, most: int) -> Reader[int]:
    """A whole number from least to most."""

    def parse(value: object) -> int:
        if isinstance(value, bool) or not isinstance(value, int):
            raise Wrong(f"{shown(value)} is not a whole number")
        _inside(value, least, most, shown(value))
        return value

    return Reader(f"a whole number from {least} to {most}", parse)


def _yes_or_no(value: object) -> bool:
    if not isinstance(value, bool):
        raise Wrong(f"{shown(value)} is neither true nor false")
    return value


yes_or_no = Reader("true or false, without quotes", _yes_or_no)


def text(what: str, most: int = 60) -> Reader[str]:
    """A text in one line, not empty."""

    def parse(value: object) -> str:
        if not isinstance(value, str):
            raise Wrong(f"{shown(value)} is not a text in quotes")
        plain = value.strip()
        if not plain or len(plain) > most or not plain.isprintable():
            raise Wrong(f"{shown(value)} will not do")
        return plain

    return Reader(f"{what}, 1 to {most} letters in quotes", parse)


def choice(*options: str) -> Reader[str]:
    """One of these words."""

    def parse(value: object) -> str:
        if value in options:
            return str(value)
        near = nearest(value, options) if isinstance(value, str) else None
        raise Wrong(f"{shown(value)} is not known" + (f", did you mean {shown(near)}?" if near else ""))

    quoted = [shown(option) for option in options]
    return Reader(" or ".join([", ".join(quoted[:-1]), quoted[-1]] if len(quoted) > 1 else quoted), parse)


def length(unit: str, least: str, most: str, example: str) -> Reader[Fraction]:
    """A length in mm, from least to most; ``unit`` is that of a bare number."""

    def parse(value: object) -> Fraction:
        return _measured(value, lambda number: parse_length(number, unit, ""), least, most)

    return Reader(f"a length from {least} to {most}, as in {example}", parse)


def screw_lead(unit: str, least: str, most: str, example: str) -> Reader[Fraction]:
    """Travel for one turn in mm, also written as threads per inch."""

    def parse(value: object) -> Fraction:
        return _measured(value, lambda number: parse_pitch(number, unit, ""), least, most)

    return Reader(f"a travel from {least} to {most} for one turn, as in {example}", parse)


def angle(least: int, most: int) -> Reader[Fraction]:
    """An angle in degrees, from least to most."""

    def parse(value: object) -> Fraction:
        read = _quantity(value, lambda number: parse_angle(number, ""))
        _inside(read, Fraction(least), Fraction(most), shown(value))
        return read

    return Reader(f"an angle from {least} to {most} degrees", parse)


def ratio(least: Fraction, most: int, example: str) -> Reader[Fraction]:
    """A ratio above zero, as a number, ``60:1`` or ``3/2``."""

    def parse(value: object) -> Fraction:
        read = _quantity(value, lambda number: parse_ratio(number, ""))
        _inside(read, least, Fraction(most), shown(value))
        return read

    return Reader(f"a ratio from {least} to {most}, as in {example}", parse)


def two(reader: Reader[T], *, ascending: bool = False) -> Reader[tuple[T, T]]:
    """A list of exactly two values, the smaller first where they must ascend."""

    def parse(value: object) -> tuple[T, T]:
        if not isinstance(value, list) or len(value) != 2:
            count = f"a list of {len(value)}" if isinstance(value, list) else shown(value)
            raise Wrong(f"{count} is not a list of two")
        first, second = reader.parse(value[0]), reader.parse(value[1])
        if ascending and first > second:  # type: ignore[operator]
            raise Wrong(f"{shown(value[0])} is more than {shown(value[1])}, the first must be the smaller")
        return first, second

    return Reader(f"two in square brackets, each {reader.allowed}", parse)


def _measured(value: object, parse: Callable[[Number], Fraction], least: str, most: str) -> Fraction:
    read = _quantity(value, lambda number: _signed(number, parse))
    _inside(read, _signed(least, parse), _signed(most, parse), shown(value))
    return read


def _signed(value: Number, parse: Callable[[Number], Fraction]) -> Fraction:
    """A length that may be zero or negative, by a parser of lengths above zero."""
    if not isinstance(value, str):
        return (parse(value) if value > 0 else -parse(-value)) if value else Fraction(0)
    sign, amount = re.match(r"\s*([-−+]?)(.*)", value, re.DOTALL).groups()  # type: ignore[union-attr]
    zero = re.match(r"\s*0+(?:\.0*)?(?![\d./])", amount)
    if zero:
        with suppress(UnitError):  # what is wrong with it is told of the value as it stands
            parse("1" + amount[zero.end() :])  # its unit must be one all the same
            return Fraction(0)
    return parse(amount) * (1 if sign in ("", "+") else -1)


def _quantity(value: object, parse: Callable[[Number], Fraction]) -> Fraction:
    if isinstance(value, bool) or not isinstance(value, (str, int, Decimal)):
        raise Wrong(f"{shown(value)} is not a number or a text in quotes")
    _refuse_absurd(value)
    try:
        return parse(value)
    except UnitError as error:
        raise Wrong(error.message.strip()) from None


def _refuse_absurd(value: Number) -> None:
    """Refuse a number whose exact fraction would fill the memory, before it is made."""
    if isinstance(value, Decimal):
        if not value.is_finite():
            raise Wrong(f"{shown(value)} is not a number")
        if (value and abs(value.adjusted()) > _MOST_DIGITS) or len(value.as_tuple().digits) > _MOST_DIGITS:
            raise Wrong(f"{shown(value)} is too {'large' if value.adjusted() > 0 else 'small'}")
    if isinstance(value, int) and value.bit_length() > 100:
        raise Wrong(f"{shown(value)} is too large")


def _inside(value: Any, least: Any, most: Any, given: str) -> None:
    if value < least:
        raise Wrong(f"{given} is too small")
    if value > most:
        raise Wrong(f"{given} is too large")
