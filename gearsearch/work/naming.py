"""Threads by name, as drawings and people write them: ``M10``, ``Tr 40x14(P7) LH``, ``1/2-13 UNC-2A``, ``2BA``."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cache

from ..base.errors import UnitError
from ..base.facts import Record
from ..base.pattern import Pattern
from ..base.units import INCH_MM, decimal, parse_length, parse_pitch, shown
from .series import Series, StandardThread, all_series, number_in, series_of

# Designations as ISO 261, 965-1 and 2904, ISO 228-1 and 7-1, BS 84, BS 93, ASME B1.1, B1.5 and B1.20.1 have them;
# from memory
_NUMBER = r"[0-9]+(?:\.[0-9]+)?"
_HAND = Pattern(r"(.*[0-9a-z)\"])[\s,-]*?(?:(l|r)h|\s*-?\s*\b(left|right)(?:[\s-]?hand(?:ed)?)?)")
_METRIC_FIT = r"(?:\s*-\s*(?:[0-9][a-h]){1,2}(?:\s*/\s*(?:[0-9][a-h]){1,2})?)?"
_METRIC = Pattern(
    rf"(?P<word>mf|mc|m|tr)\s*(?P<size>{_NUMBER})"
    rf"(?:\s*[x*-]\s*(?:(?P<pitch>{_NUMBER})|(?:ph\s*)?(?P<lead>{_NUMBER})\s*\(?\s*p\s*(?P<apart>{_NUMBER})\s*\)?)"
    rf"(?:\s*mm)?)?(?:\s+(?P<grade>fine|coarse))?{_METRIC_FIT}"
)
_INCH_SIZE = rf"(?:#|no\.?)\s*[0-9]{{1,3}}|[0-9]+[\s-][0-9]+/[0-9]+|[0-9]+/[0-9]+|{_NUMBER}"
_INCH_PITCH = rf"\s*(?P<sign>[-x*])\s*(?P<pitch>[0-9]+\s[0-9]+/[0-9]+|{_NUMBER})(?:\s*tpi)?"
_INCH_FIT = r"(?:(?:\s*-\s*|\s+)[1-5][abcg](?:\s*/\s*[1-5][abcg])?|(?<=[0-9\"])\s*-?\s*[ab])?"
_UNIFIED = ("unc", "unf", "unef")
_SPECIAL = ("un", "uns", "unr", "unj", "unjc", "unjf", "unjef")  # unified, or near it, of any size and pitch
_WHITWORTH = ("whitworth", "whit")  # of any size and pitch where BSW has none
_LONGEST = 60  # no name is as long
_HANDS = {"l": "left", "r": "right"}
# Whoever names a thread beyond these meant something else: the length of a screw, or a metric thread. Standard threads
# have pitches up to 36 % of the diameter (Tr 22x8), and unified ones diameters up to 6 in (ASME B1.1); from memory.
_COARSEST, _FEWEST_PER_INCH = Fraction(1, 2), 2
_LARGEST_IN, _FEWEST_BEYOND = 6, 8


@dataclass(frozen=True, slots=True)
class NamedThread:
    """A thread read from its name.

    Parameters
    ----------
    name : as it was typed
    pitch_mm : from thread to thread [mm]
    major_mm : basic major diameter [mm]; of a taper thread as its table says
    form : of its profile, see ``profiles``; empty where the name does not tell it
    row : of the table of its series; None for a special thread
    starts : threads side by side; None where the name does not say
    hand : ``right`` or ``left``; None where the name does not say
    taper : of the diameter on the length; 0 for a parallel thread
    """

    name: str
    pitch_mm: Fraction
    major_mm: Fraction
    form: str = ""
    row: StandardThread | None = None
    starts: int | None = None
    hand: str | None = None
    taper: Fraction = Fraction(0)

    @property
    def lead_mm(self) -> Fraction:
        """Its lead [mm], of one start where the name does not say."""
        return self.pitch_mm * (self.starts or 1)

    @property
    def unit(self) -> str:
        """The unit it is named by, ``mm`` or ``in``."""
        names = [self.row.series] if self.row else [each.name for each in all_series() if each.form == self.form]
        return "mm" if names and series_of(names[0]).unit == "mm" else "in"

    @property
    def told(self) -> str:
        """Its name, its pitch as it is named, and its standard."""
        several = (self.starts or 1) > 1  # which the row of the table does not tell
        inch, name = self.unit == "in", self.row.name if self.row and not several else self.name
        pitch = f"{decimal(INCH_MM / self.pitch_mm)} threads per inch" if inch else f"pitch {decimal(self.pitch_mm)} mm"
        return ", ".join(filter(None, (name, pitch, self.standard)))

    @property
    def standard(self) -> str:
        """The standard that has its size and pitch; empty for a special thread."""
        return series_of(self.row.series).standard if self.row else ""

    def record(self) -> Record:
        """What the name tells, for programs: the pitch in mm and exact, the standard and where the row was read."""
        row = self.row
        return {
            "name": row.name if row else self.name,
            "pitch_mm": float(self.pitch_mm),
            "pitch_exact": str(self.pitch_mm),
            "starts": self.starts,
            "hand": self.hand,
            "major_mm": float(self.major_mm),
            "taper": str(self.taper) if self.taper else None,
            "series": row.series if row else None,
            "standard": self.standard or None,
            "source": row.source if row else None,
        }


def read_name(text: str) -> NamedThread | None:
    """A thread by its name; None for a text that is no name of a thread, such as a length or ``13 tpi``.

    Parameters
    ----------
    text : ``M10``, ``M10x1``, ``Tr 40x14(P7) LH``, ``1/2-13``, ``#10-24``, ``1/4 BSF``, ``2BA``, ``G1/2``, ``1/2 NPT``

    Raises UnitError for a name that leaves the pitch open, with those there are; for a size that its series has not,
    with the two nearest; for a pitch that its series has not at that size; and for a pitch of half the diameter or
    more, or of fewer than 2 threads to the inch.

    >>> read_name("10-32 unf").row.name
    '#10-32 UNF'
    """
    typed = " ".join(text.split())
    if len(typed) > _LONGEST:
        return None
    name, hand = _hand_of(_plain(typed))
    if metric := _METRIC.fullmatch(name):
        return replace(_of_metric(metric, typed), hand=hand)
    if (inch := _inch().fullmatch(name)) is None:
        return None
    thread = _of_inches(inch, typed)
    return thread and replace(thread, hand=hand)


def _plain(typed: str) -> str:
    """A name in small letters, with one sign for each thing: fractions, dashes, inch marks, times signs."""
    spread = re.sub(r"([0-9])([¼-¾⅐-⅞])", r"\1 \2", typed)
    plain = unicodedata.normalize("NFKC", spread).replace("×", "x").replace("⁄", "/").replace("''", '"').lower()
    signs = re.sub("[″”“]|′′", '"', re.sub("[−–—‐‑]", "-", plain))
    return re.sub(r"\b(?:[a-z]\.){2,}", lambda found: found[0].replace(".", ""), signs)  # B.S.W., L.H.


def _hand_of(name: str) -> tuple[str, str | None]:
    found = _HAND.fullmatch(name)
    return (found[1].strip(" ,-"), _HANDS[(found[2] or found[3])[0]]) if found else (name, None)


def _standard(row: StandardThread, typed: str, word: str = "") -> NamedThread:
    series = series_of(row.series)
    taper = Fraction(0) if word in map(str.lower, series.parallel) else series.taper
    return NamedThread(typed, row.pitch_mm, row.major_mm, series.form, row, taper=taper)


def _of_metric(found: re.Match[str], typed: str) -> NamedThread:
    families = [series for series in all_series() if found["word"] in map(str.lower, series.before)]
    size, told = found["size"], found["pitch"] or found["apart"]
    if told is None:
        graded = [series for series in families if series.name.endswith(f"-{found['grade']}")] or families
        return _standard(_only(graded, size, typed), typed)
    pitch = parse_pitch(f"{told} mm", what="thread")
    if pitch >= _COARSEST * Fraction(size):
        raise UnitError(
            f"thread {shown(typed)} would have a pitch of half its diameter or more",
            "write the pitch behind the size, as in M12x1.75, and not a length; several starts as in Tr 40x14(P7)",
        )
    rows = [row for series in families for row in series.of_size(size) if row.pitch_mm == pitch]
    special = NamedThread(typed, pitch, parse_length(f"{size} mm", what="thread"), families[0].form)
    return replace(_standard(rows[0], typed) if rows else special, starts=_starts(found, pitch, typed))


def _starts(found: re.Match[str], pitch: Fraction, typed: str) -> int | None:
    if found["pitch"]:
        return None
    starts = parse_pitch(f"{found['lead']} mm", what="thread") / pitch
    if starts.denominator != 1:
        raise UnitError(
            f"thread {shown(typed)} has a lead of {found['lead']}, which is no multiple of its pitch",
            "write lead and pitch as in Tr 40x14(P7), which has two starts",
        )
    return int(starts)


def _only(families: list[Series], size: str, typed: str) -> StandardThread:
    """The one thread of a size: of the first series if it has it once, as M10 is coarse."""
    first = families[0].of_size(size)
    if len(first) == 1:
        return first[0]
    rows = [row for series in families for row in series.of_size(size)]
    if not rows:
        raise _no_size(families[0], size, typed)
    raise _open_pitch(rows, typed)


def _open_pitch(rows: Iterable[StandardThread], typed: str) -> UnitError:
    names = [row.name for row in rows]
    return UnitError(f"thread {shown(typed)} leaves its pitch open", f"write {_either(names)}")


def _no_size(series: Series, size: str, typed: str) -> UnitError:
    near = " and ".join(series.size_name(row.size) for row in series.nearest(size))
    pitch = f"{series.size_name(size)}x1.5" if series.open and series.unit == "mm" else "12 tpi or 0.8 mm"
    return UnitError(
        f"thread {shown(typed)}: {series.standard} has no {series.size_name(size)}",
        f"the nearest sizes are {near}; for another thread give its pitch, as in {pitch}",
    )


def _either(names: list[str]) -> str:
    *first, last = names
    return f"{', '.join(first)} or {last}" if first else last


@cache
def _inch() -> re.Pattern[str]:
    series = [each for each in all_series() if "M" not in each.before and "Tr" not in each.before]
    before, after = (
        "|".join(sorted((word.lower() for each in series for word in of(each)), key=len, reverse=True))
        for of in (lambda each: each.before, lambda each: (*each.after, *_SPECIAL, *_WHITWORTH))
    )
    return re.compile(
        rf"(?:(?P<before>{before})\s*)?(?P<size>{_INCH_SIZE})(?:\s*(?:\"|in\b\.?|inch\b))?(?:{_INCH_PITCH})?"
        rf"(?:\s*-?\s*(?P<after>{after}))?{_INCH_FIT}"
    )


def _of_inches(found: re.Match[str], typed: str) -> NamedThread | None:
    """A thread by a size in inches or a number; None where that could be a length or a bare fraction."""
    size = re.sub(r"^(?:#|no\.?)\s*", "#", found["size"])
    told = sum(map(Fraction, found["pitch"].split()), Fraction(0)) if found["pitch"] else None
    word = found["after"] or found["before"] or ""
    if not word and (found["sign"] or "-") != "-":
        return None
    if not word or word in _SPECIAL:
        return _unified(size, told, word, typed)
    series = _series_of_word(word)
    if found["before"] and _series_of_word(found["before"]) is not series:
        return None
    sizes = [size.lstrip("#")] if series.name == "ba" else _sizes(size, series)
    rows = [row for each in sizes for row in series.of_size(each)]
    fitting = [row for row in rows if told in (None, Fraction(row.pitch))]
    if fitting:
        return _standard(fitting[0], typed, found["before"] or word)
    if told is not None and (series.open or word in _WHITWORTH):
        return _special(size, told, series.form, word, typed)
    if rows and told is not None:
        raise _other_pitch(rows[0], size, told, typed)
    raise _no_size(series, size, typed)


def _series_of_word(word: str) -> Series:
    if word in _WHITWORTH:
        return series_of("bsw")
    return next(each for each in all_series() if word in map(str.lower, (*each.before, *each.after)))


def _sizes(size: str, series: Series) -> list[str]:
    """A size as typed, and as a number where it may be one: 10 UNF is #10, as UNF has no 10 inches."""
    if not size.isdigit() or series.form != "unified":
        return [size]
    return [f"#{size}"] if set(size) == {"0"} else [size, f"#{size}"]


def _unified(size: str, told: Fraction | None, word: str, typed: str) -> NamedThread | None:
    """A thread without a series, or of a special one: that of the unified series with its threads per inch, if any."""
    families = [series_of(name) for name in _UNIFIED]
    rows = [row for series in families for each in _sizes(size, series) for row in series.of_size(each)]
    if told is None:
        if not word and not size.startswith("#"):
            return None
        if rows:
            raise _open_pitch(rows, typed)
        raise UnitError(f"thread {shown(typed)} names no pitch", "add the threads per inch, as in 1/2-13 or #10-32")
    if word.startswith("unj"):  # its root is another
        return _special(size, told, "", word, typed)
    for row in rows:
        if Fraction(row.pitch) == told:
            return _standard(row, typed)
    return _special(size, told, "unified" if word else "", word, typed)


def _special(size: str, told: Fraction, form: str, word: str, typed: str) -> NamedThread:
    """A thread of a size and a pitch that no table has, if any thread could have them."""
    pitch, inches = parse_pitch(f"{told} tpi", what="thread"), _inches(size)
    per_inch = _decimal(told)
    trouble = None
    if told < _FEWEST_PER_INCH:
        trouble = f"have {per_inch} to the inch"
    elif pitch >= _COARSEST * inches * INCH_MM:
        trouble = "have a pitch of half its diameter or more"
    elif inches > _LARGEST_IN and told < _FEWEST_BEYOND and not word:
        trouble = f"be {size} inches thick, with {per_inch} to the inch"
    if trouble is None:
        return NamedThread(typed, pitch, inches * INCH_MM, form)
    is_metric = re.fullmatch(_NUMBER, size) and told < _COARSEST * Fraction(size)
    metric = f"M{size}x{per_inch} for a metric thread, or " if is_metric else ""
    raise UnitError(f"thread {shown(typed)} would {trouble}", f"write {metric}the pitch alone, as in {per_inch} tpi")


def _inches(size: str) -> Fraction:
    if size.startswith("#") or set(size) == {"0"}:  # 0-80 is a #0
        return number_in(size.lstrip("#"))
    return parse_length(size, "in", "thread") / INCH_MM


def _decimal(number: Fraction) -> str:
    return f"{float(number):g}"


def _other_pitch(row: StandardThread, size: str, told: Fraction, typed: str) -> UnitError:
    series = series_of(row.series)
    other = {"unified": f"{size}-{_decimal(told)} UNS", "whitworth": f"{size}-{_decimal(told)} Whit"}.get(series.form)
    alone = f"{_decimal(told)} {series.unit}"
    special = other if other and not series.name.startswith("bsp") else f"the pitch alone, as in {alone}"
    unit = "threads per inch" if series.unit == "tpi" else "mm pitch"
    return UnitError(
        f"thread {shown(typed)}: {series.size_name(row.size)} has {row.pitch} {unit}",
        f"write {row.name}, or for a special thread {special}",
    )
