"""Limits as they are printed: never wider than they are, and with digits enough to tell from them what they judge."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction

from ..base.units import OTHER_UNIT, UNIT_MM, decimals, format_length, format_ppm, places, ppm_grid
from .tolerance import DOUBTFUL, Interval, open_ended

OFF = f"OFF: more than {decimals(100 * DOUBTFUL, 1)} % off"
MOST_MORE = 6  # digits more than usual; what lies still nearer to a limit is printed like it

Grid = Callable[[Fraction], tuple[Fraction, int]]  # the unit that a value is printed in, and how many decimals of it


@dataclass(frozen=True, slots=True)
class _Scale:
    """Two ends and what lies between them, as they are printed.

    Parameters
    ----------
    ends : the lowest and the highest that will do
    middle : what is wanted; where it alone will do it is printed like any value
    grid, end_grid : of a value, and of an end
    """

    ends: Interval
    middle: Fraction
    grid: Grid
    end_grid: Grid

    def printed_ends(self, more: int) -> Interval:
        """Both ends as printed with so many digits more: the lower rounded up, the upper down."""
        low, high = (
            _rounded(end, self.end_grid(end), more, round if self.ends[0] == self.ends[1] else inward)
            for end, inward in zip(self.ends, (math.ceil, math.floor), strict=True)
        )
        return low, high

    def end_digits(self, more: int) -> tuple[int, int]:
        """How many digits more each end is printed with: none where they would all be zeros."""
        usual, fine = self.printed_ends(0), self.printed_ends(more)
        low, high = (0 if one == other else more for one, other in zip(usual, fine, strict=True))
        return low, high

    def more_for(self, value: Fraction) -> int:
        """How many digits more than usual it takes to see on which side of both ends a value is."""
        return next((more for more in range(MOST_MORE) if self._is_seen(value, more)), MOST_MORE)

    def _is_seen(self, value: Fraction, more: int) -> bool:
        seen = _rounded(value, self.grid(value), more, round)
        pairs = zip(self.ends, self.printed_ends(more), strict=True)
        return all((value > end) - (value < end) == (seen > printed) - (seen < printed) for end, printed in pairs)


def _rounded(value: Fraction, grid: tuple[Fraction, int], more: int, to_whole: Callable[[Fraction], int]) -> Fraction:
    unit, digits = grid
    steps: int = 10 ** (digits + more)  # in a unit
    return to_whole(value / unit * steps) * unit / steps


@dataclass(frozen=True, slots=True)
class Limits:
    """The leads that will do, and leads held against them, as printed: none stands on the wrong side.

    Parameters
    ----------
    interval_mm : shortest and longest geared lead that will do [mm]; None: as far off as goes unmarked
    wanted_mm : the geared lead that is wanted [mm]
    leads_mm : the leads held against them [mm]
    unit : ``mm`` or ``in``
    what : what they are called: those of gears, where a tilted head cuts a shorter lead
    """

    interval_mm: Interval | None
    wanted_mm: Fraction
    leads_mm: tuple[Fraction, ...] = ()
    unit: str = "mm"
    what: str = "lead"

    @property
    def words(self) -> str:
        """The leads that will do, in words, with how far they are from the wanted one."""
        shortest, longest = open_ended(self._ends, self.wanted_mm)
        low, high = self._printed
        if longest is None:
            return f"acceptable {self.what}: {low} or longer" if shortest else f"any {self.what} is acceptable"
        if not shortest:
            return f"acceptable {self.what}: up to {high}"
        return f"acceptable {self.what}: {self.span} ({self.sides})"

    @property
    def span(self) -> str:
        """The shortest and the longest, in words."""
        low, high = self._printed
        return f"{low.removesuffix(f' {self.unit}')} to {high}"

    @property
    def sides(self) -> str:
        """How far below and above the wanted lead they reach, in words."""
        more = max((self._errors.more_for(self._error(lead)) for lead in self.leads_mm), default=0)
        ends = zip(self._errors.printed_ends(more), self._errors.end_digits(more), strict=True)
        return " to ".join(format_ppm(end, digits) for end, digits in ends)

    @property
    def share(self) -> str:
        """The same before the name of the wanted lead: ``within 500.0 ppm of``, or both sides where they differ."""
        low, high = map(self._error, self._ends)
        return f"within {self.sides.rpartition('+')[2]} of" if -low == high else f"{self.sides} off"

    def lead(self, lead_mm: Fraction) -> str:
        """A lead held against them, in both units."""
        return f"{self.length(lead_mm)} ({format_length(lead_mm, OTHER_UNIT[self.unit])})"

    def length(self, lead_mm: Fraction) -> str:
        """The same in their own unit alone."""
        more = self._leads.more_for(lead_mm)
        return format_length(lead_mm, self.unit, self._grid(lead_mm)[1] + more)

    def relative(self, lead_mm: Fraction) -> str:
        """How far a lead held against them is from the wanted one, with its sign."""
        error = self._error(lead_mm)
        return format_ppm(error, self._errors.more_for(error))

    @property
    def _ends(self) -> Interval:
        return self.interval_mm or (self.wanted_mm * (1 - DOUBTFUL), self.wanted_mm * (1 + DOUBTFUL))

    @property
    def _printed(self) -> tuple[str, str]:
        leads, more = self._leads, max(map(self._leads.more_for, self.leads_mm), default=0)
        ends = zip(self._ends, leads.printed_ends(more), leads.end_digits(more), strict=True)
        low, high = (
            format_length(printed, self.unit, self._end_grid(end)[1] + digits) for end, printed, digits in ends
        )
        return low, high

    @property
    def _leads(self) -> _Scale:
        return _Scale(self._ends, self.wanted_mm, self._grid, self._end_grid)

    @property
    def _errors(self) -> _Scale:
        low, high = map(self._error, self._ends)
        return _Scale((low, high), Fraction(0), ppm_grid, ppm_grid)

    def _error(self, lead_mm: Fraction) -> Fraction:
        return lead_mm / self.wanted_mm - 1

    def _grid(self, mm: Fraction) -> tuple[Fraction, int]:
        return _grid(mm, self.unit)

    def _end_grid(self, mm: Fraction) -> tuple[Fraction, int]:
        """An end has decimals enough to tell it from the wanted lead."""
        size, digits = self._grid(mm)
        if mm == self.wanted_mm == _rounded(mm, (size, digits), 0, round):
            return size, digits
        shortest, longest = self._ends
        return size, max(digits, self._grid(mm - self.wanted_mm or longest - shortest)[1])


def mark(off: bool, within: bool | None) -> str:
    """What stands behind an error: whether it is marked as far off, else whether it is inside the tolerance."""
    return " OFF" if off else {None: "", True: " ok", False: " OUT"}[within]


def at_most(mm: Fraction, unit: str = "mm") -> str:
    """A length that is a limit, rounded down."""
    size, digits = _grid(mm, unit)
    return format_length(_rounded(mm, (size, digits), 0, math.floor), unit, digits)


def _grid(mm: Fraction, unit: str) -> tuple[Fraction, int]:
    """The unit that a length is printed in [mm], and how many decimals of it."""
    return UNIT_MM[unit], places(mm / UNIT_MM[unit], 4 if unit == "in" else 3)
