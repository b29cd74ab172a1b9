"""The lead of a thread: starts × pitch, as drawings call it: by pitch, by threads per inch, or by name.

In a shop of inches a bare number is no thread: 13 could be threads per inch, and 1.5 millimetres.
"""

from __future__ import annotations

import re
from fractions import Fraction

from ...base.errors import UnitError
from ...base.units import format_both, parse_length, parse_pitch, shown
from ..form import DIAMETER, STARTS, Form, Given, Option
from ..naming import NamedThread, read_name
from ..part import Part

_THREAD = Option("thread", "P", "thread: M12, 1/2-13, 2BA, G1/2, '13 tpi' or 1.5mm, with --starts", "1.5mm")
_FRACTION = re.compile(r"(?:[0-9]+[ -]?)?(?:[0-9]+[/⁄][0-9]+|[¼-¾⅐-⅞])")
_FORMS = (
    "write it as in 1.5mm, 13 tpi, M12, 2BA, M12x1.75 or 1/2-13; where it has several starts, the pitch with --starts"
)
_PITCH = re.compile(r"tpi|thread|per\s+in", re.IGNORECASE)


class Thread(Form):
    """Starts × pitch, by the pitch (``1.5mm``), threads per inch (``13 tpi``) or a name (``Tr 40x14(P7) LH``)."""

    name = "thread"
    options = (_THREAD, DIAMETER, STARTS)
    gives = "a thread"
    row = '`--thread M12`, `1/2-13`, `2BA`, `"Tr 40x14(P7) LH"`, `"13 tpi"`, or `1.5mm --starts 2`'
    example = "13 tpi, M12x1.75"
    pattern = re.compile(r"(?P<thread>.+)")
    rank = 4

    def reads(self, text: str) -> dict[str, str | None] | None:
        """A text that is a thread's name, or says that it is one."""
        return {"thread": text} if _PITCH.search(text) or read_name(text) else None

    def part(self, given: Given) -> Part:
        """The lead of the thread. Raises UnitError as ``read_thread``, and for other starts than the name's own."""
        pitch = given.value(_THREAD, "no thread is given")
        if isinstance(pitch, str):
            size, named, thread = read_thread(pitch, given.unit)
        else:
            size, named, thread = parse_pitch(pitch, given.unit, "thread"), "", None
        own = thread and thread.starts
        if own is not None and "starts" in given and own != given.starts:
            have = f"{own} start{'' if own == 1 else 's'}"
            raise UnitError(f"thread {shown(pitch)} has {have}, and {given.starts} are given", "leave --starts out")
        count = own or given.starts
        how = f"a thread of {named}pitch {format_both(size, given.unit)}"
        if thread is None or thread.row is None:
            return Part(size * count, how, starts=count, thread=thread)
        return Part(size * count, f"{how}, {thread.standard}", starts=count, thread=thread, source=thread.row.source)


def read_thread(text: str, unit: str = "mm") -> tuple[Fraction, str, NamedThread | None]:
    """A thread as typed: its pitch [mm], what it is called, if not by a length, and what its name tells, if it has one.

    Parameters
    ----------
    text : ``1.5 mm``, ``13 tpi``, or a name: ``M12``, ``Tr 40x14(P7)``, ``1/2-13 UNC``, ``2BA``, ``G1/2``
    unit : ``mm`` or ``in``, for a number that stands alone; in inches none may, as it could be threads, inches or
        mm, and a fraction never

    Raises UnitError for what is none of these, and as ``naming.read_name``.
    """
    called = " ".join(text.split())
    if thread := read_name(text):
        return thread.pitch_mm, f"{called}, ", thread
    if _FRACTION.fullmatch(called) or (unit == "in" and re.fullmatch(r"[0-9 ./]+", called)):
        raise UnitError(f"thread {shown(text)} has no unit", f"write {called} tpi, {called} mm or {called} in")
    try:
        pitch = parse_pitch(text, unit, "thread")
    except UnitError as error:
        raise UnitError(error.message, error.remedy if "comma" in error.message else _FORMS) from None
    return pitch, "" if _is_length(text, unit) else f"{called}, ", None


def _is_length(text: str, unit: str) -> bool:
    try:
        parse_length(text, unit)
    except UnitError:
        return False
    return True
