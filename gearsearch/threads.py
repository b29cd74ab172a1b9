"""Threads as drawings call them: by pitch, by threads per inch, or by name."""

from __future__ import annotations

import re
from fractions import Fraction

from .errors import UnitError
from .units import parse_length, parse_pitch, shown

_NUMBER = r"[0-9]+(?:\.[0-9]+)?"
# M12x1.75, M12x1.75-6g, Tr 40x14(P7), M16xPh3P1.5: ISO 261, 965 and 2904; from memory
_METRIC_SIZE = rf"(?:m|tr) ?{_NUMBER}"
_METRIC = re.compile(
    rf"{_METRIC_SIZE} ?[x×*] ?(?:(?P<pitch>{_NUMBER})|(?:ph ?)?(?P<lead>{_NUMBER}) ?\(?p ?(?P<apart>{_NUMBER})\)?)"
    r"(?: ?- ?(?:[0-9][a-h]){1,2})?"
)
# 1/2-13, 1/2-13 UNC-2A, #10-32, No. 10-32, 1-5 ACME, 1/2-14 NPT, G1/2-14, 1/2-12 BSW: ASME B1.1, B1.5, B1.20.1,
# ISO 228-1, BS 84 and BS 93; from memory
_NUMBERED = rf"(?:#|no\.?) ?{_NUMBER}"
_SIZE = rf"(?:{_NUMBER}|(?:[0-9]+[ -])?[0-9]+/[0-9]+)"
_PIPE = rf"(?:g|r[cp]?) ?{_SIZE}"
_SERIES = "(?:un[a-z]{0,2}|acme|npt|bs[wfp]|bsp[pt]|ba|whit(?:worth)?)"
_INCH = re.compile(
    rf"(?:{_NUMBERED}|{_PIPE}|{_SIZE})-(?P<tpi>{_NUMBER})(?: ?{_SERIES})?(?: ?- ?[1-5][abcg])?",
)
_NO_PITCH = (
    (_METRIC_SIZE, "add it, as in M12x1.75"),
    (
        rf"{_NUMBERED}|{_PIPE}|{_SIZE} ?-? ?{_SERIES}",
        "look it up, and give the threads per inch or the pitch, as in 12 tpi or 0.81mm",
    ),
)
_HANDS = {"l": "left", "r": "right"}
_FORMS = "write it as in 1.5mm, 13 tpi, M12x1.75 or 1/2-13; where it has several starts, the pitch with --starts"


def read_thread(text: str, unit: str = "mm") -> tuple[Fraction, int | None, str]:
    """A thread as typed: its pitch [mm], its starts where it tells them, and what it is called, if not by a length.

    Parameters
    ----------
    text : ``1.5 mm``, ``13 tpi``, ``M12x1.75``, ``Tr 40x14(P7)``, ``1/2-13 UNC``, ``No. 10-32``, ``G1/2-14``
    unit : ``mm`` or ``in``, for a number that stands alone; in inches none may, as it could be threads, inches or mm

    Raises UnitError for what is none of these, for a name that tells the hand, and for one that tells no pitch.
    """
    called = " ".join(text.split())
    if found := _named(called):
        return *found, f"{called}, "
    if unit == "in" and re.fullmatch(r"[0-9 ./]+", called):
        raise UnitError(f"thread {shown(text)} has no unit", f"write {called} tpi, {called} mm or {called} in")
    try:
        pitch = parse_pitch(text, unit, "thread")
    except UnitError as error:
        raise UnitError(error.message, error.remedy if "comma" in error.message else _FORMS) from None
    return pitch, None, "" if _is_length(text, unit) else f"{called}, "


def is_name(text: str) -> bool:
    """Whether a text is the name of a thread, such as ``M12x1.75`` or ``1/2-13``."""
    return _named(" ".join(text.split())) is not None


def _named(called: str) -> tuple[Fraction, int | None] | None:
    """Pitch [mm] of a thread by its name, and its starts where it tells them; None for any other text."""
    name = called.lower()
    if handed := re.fullmatch(r"(.*[0-9a-z)])[ -]+[lr]h", name):
        if _named(handed[1]):
            raise UnitError(
                f"thread {shown(called)} tells its hand", f"write it without, and --hand {_HANDS[name[-2]]}"
            )
        return None
    if inch := _INCH.fullmatch(name):
        return parse_pitch(f"{inch['tpi']} tpi", what="thread"), None
    metric = _METRIC.fullmatch(name)
    if metric is None:
        for size, remedy in _NO_PITCH:
            if re.fullmatch(size, name):
                raise UnitError(f"thread {shown(called)} names no pitch", remedy)
        return None
    if metric["pitch"]:
        return parse_pitch(f"{metric['pitch']} mm", what="thread"), None
    lead, pitch = (parse_pitch(f"{metric[part]} mm", what="thread") for part in ("lead", "apart"))
    starts = lead / pitch
    if starts.denominator != 1:
        raise UnitError(
            f"thread {shown(called)} has a lead of {metric['lead']}, which is no multiple of its pitch",
            "write lead and pitch as in Tr 40x14(P7), which has two starts",
        )
    return pitch, int(starts)


def _is_length(text: str, unit: str) -> bool:
    try:
        parse_length(text, unit)
    except UnitError:
        return False
    return True
