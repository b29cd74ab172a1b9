"""Threads as drawings call them: by pitch, by threads per inch, or by name.

In a shop of inches a bare number is no thread: 13 could be threads per inch, and 1.5 millimetres.
"""

from __future__ import annotations

import re
from fractions import Fraction

from ..base.errors import UnitError
from ..base.units import parse_length, parse_pitch, shown
from .naming import NamedThread, read_name

_FRACTION = re.compile(r"(?:[0-9]+[ -]?)?(?:[0-9]+[/⁄][0-9]+|[¼-¾⅐-⅞])")
_FORMS = (
    "write it as in 1.5mm, 13 tpi, M12, 2BA, M12x1.75 or 1/2-13; where it has several starts, the pitch with --starts"
)


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
