"""Series of standard threads: every size with its pitches, diameter, standard and source, from one file of data."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from functools import cache, cached_property
from importlib import resources
from typing import Any

from ..base.errors import GearsearchError
from ..base.units import INCH_MM, parse_length, shown

NUMBER_0_IN, NUMBER_STEP_IN = (
    Fraction("0.060"),
    Fraction("0.013"),
)  # diameters of numbered sizes: ASME B1.1, from memory


@dataclass(frozen=True, slots=True)
class StandardThread:
    """One size of a series with one of its pitches.

    Parameters
    ----------
    series : name of its series: ``unc``
    size : as the standard writes it, without letters: ``1/2``, ``#10``, ``12``
    pitch : as the standard writes it, in mm or in threads per inch: ``13``
    pitch_mm : the pitch [mm]
    major_mm : basic major diameter [mm]; of a taper thread as its source says
    source : where the row was read; "from memory" in it where no page was
    """

    series: str
    size: str
    pitch: str
    pitch_mm: Fraction
    major_mm: Fraction
    source: str

    @property
    def name(self) -> str:
        """What it is called: ``M10x1``, ``1/2-13 UNC``, ``2BA``."""
        return series_of(self.series).called.format(size=self.size, pitch=self.pitch)


@dataclass(frozen=True)
class Series:
    """A series of standard threads.

    Parameters
    ----------
    name : of its list for charts: ``iso-metric-coarse``
    title : what it is, for people
    standard : that has it
    form : of its profile, see ``profiles``
    unit : of its pitches: ``mm`` or ``tpi``
    called : how a thread is named, from ``{size}`` and ``{pitch}``
    before, after : letters and words before a size, or behind it, as the trade writes them
    parallel : those of them that name the parallel thread of a taper series
    open : whether a thread of this form may have a pitch or size that is not in the series
    taper : of the diameter on the length; 0 for a parallel thread
    parts : the rows as the file has them: sizes with their pitches in one text, and where they were read
    """

    name: str
    title: str
    standard: str
    form: str
    unit: str
    called: str
    before: tuple[str, ...]
    after: tuple[str, ...]
    parallel: tuple[str, ...]
    open: bool
    taper: Fraction
    parts: tuple[dict[str, str], ...]

    @cached_property
    def threads(self) -> tuple[StandardThread, ...]:
        """Every size with every pitch, in the order of the file."""
        return tuple(row for part in self.parts for row in self._rows(part["source"], part["sizes"]))

    def _rows(self, source: str, sizes: str) -> Iterator[StandardThread]:
        of_length = "in" if self.unit == "tpi" else "mm"
        for text in sizes.split():
            size, pitches, *diameter = text.split(":")
            numbered = number_in(size[1:]) * INCH_MM if size.startswith("#") else None
            major = numbered or parse_length(diameter[0] if diameter else size, of_length)
            for pitch in pitches.split(","):
                length = INCH_MM / Fraction(pitch) if self.unit == "tpi" else Fraction(pitch)
                yield StandardThread(self.name, size, pitch, length, major, source)

    @property
    def in_order(self) -> tuple[StandardThread, ...]:
        """Its threads by size, the coarser first."""
        return tuple(sorted(self.threads, key=lambda row: (self.place(row.size), -row.pitch_mm)))

    def of_size(self, size: str) -> tuple[StandardThread, ...]:
        """The threads of one size, with the pitch to prefer first; none where the series has no such size.

        Parameters
        ----------
        size : ``1/2``, ``0.5``, ``#10``, ``12``

        Raises UnitError for what is no size.
        """
        wanted = self.place(size)
        return tuple(row for row in self.threads if self.place(row.size) == wanted)

    def nearest(self, size: str) -> tuple[StandardThread, ...]:
        """A thread of each of the two sizes nearest to one that the series has not, the smaller first."""
        wanted, one_each = self.place(size), {self.place(row.size): row for row in reversed(self.threads)}
        near = sorted(one_each, key=lambda place: (abs(place - wanted), place))[:2]
        return tuple(one_each[place] for place in sorted(near))

    def size_name(self, size: str) -> str:
        """A size without its pitch, as the trade writes it: ``Tr 20``, ``1/2 UNC``."""
        return re.sub(r"[-x]\{pitch\}", "", self.called).format(size=size)

    def place(self, size: str) -> Fraction:
        """Where a size stands among the others: its number, or its size in inches."""
        if size.startswith("#"):
            return number_in(size[1:])
        if self.unit == "tpi":
            return parse_length(size, "in", "thread") / INCH_MM
        return Fraction(size) if re.fullmatch(r"[0-9.]+", size) else parse_length(size, "mm", "thread")


def number_in(number: str) -> Fraction:
    """Diameter of a numbered size [in]: 0.060 + 0.013 for each; 00 and 000 go on below 0 (ASME B1.1, from memory)."""
    return NUMBER_0_IN + NUMBER_STEP_IN * (int(number) or 1 - len(number))


def all_series() -> tuple[Series, ...]:
    """Every series, in the order of the file."""
    return tuple(_tables().values())


def series_names() -> tuple[str, ...]:
    """The names of the series."""
    return tuple(_tables())


def series_of(name: str) -> Series:
    """The series of a name; raises GearsearchError where there is none."""
    if name not in _tables():
        raise GearsearchError(
            f"there is no series {shown(name)}", f"use one of {', '.join(_tables())}", code="no-such-series"
        )
    return _tables()[name]


@cache
def _tables() -> dict[str, Series]:
    text = resources.files(__package__).joinpath("series.toml").read_text(encoding="utf-8")
    return {table["name"]: _series(table) for table in tomllib.loads(text)["series"]}


def _series(table: dict[str, Any]) -> Series:
    given: dict[str, Any] = {key: table[key] for key in ("name", "title", "standard", "form", "unit", "called")}
    given |= {key: tuple(table.get(key, ())) for key in ("before", "after", "parallel", "parts")}
    return Series(**given, open=table.get("open", False), taper=Fraction(table.get("taper", 0)))
