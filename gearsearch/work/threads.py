"""Threads as drawings call them: by pitch, by threads per inch, or by name."""

from __future__ import annotations

import re
from fractions import Fraction

from ..base.errors import UnitError
from ..base.units import INCH_MM, parse_length, parse_pitch, shown

_NUMBER = r"[0-9]+(?:\.[0-9]+)?"
# M12x1.75, M12x1.75-6g, Tr 40x14(P7), M16xPh3P1.5: ISO 261, 965 and 2904; from memory
_METRIC_SIZE = rf"(?:m|tr) ?(?P<size>{_NUMBER})"
_METRIC = re.compile(
    rf"{_METRIC_SIZE} ?[x×*] ?(?:(?P<pitch>{_NUMBER})|(?:ph ?)?(?P<lead>{_NUMBER}) ?\(?p ?(?P<apart>{_NUMBER})\)?)"
    r"(?: ?- ?(?:[0-9][a-h]){1,2})?"
)
# 1/2-13, 1/2-13 UNC-2A, #10-32, No. 10-32, 1-5 ACME, 1/2-14 NPT, G1/2-14, 1/2-12 BSW: ASME B1.1, B1.5, B1.20.1,
# ISO 228-1, BS 84 and BS 93; from memory
_NUMBERED = rf"(?:#|no\.?) ?(?P<number>{_NUMBER})"
_SIZE = rf"(?:{_NUMBER}|(?:[0-9]+[ -])?[0-9]+/[0-9]+)"
_PIPE = rf"(?:g|r[cp]?) ?{_SIZE}"
_SERIES = "(?:un[a-z]{0,2}|acme|npt|bs[wfp]|bsp[pt]|ba|whit(?:worth)?)"
_INCH = re.compile(
    rf"(?:{_NUMBERED}|(?P<pipe>{_PIPE})|(?P<size>{_SIZE}))-(?P<tpi>{_NUMBER})"
    rf"(?: ?(?P<series>{_SERIES}))?(?: ?- ?[1-5][abcg])?",
)
_PIPE_SERIES = ("npt", "bsp", "bspp", "bspt")  # named by the bore, so that their sizes are no diameters
# Whoever names a thread beyond these meant something else: the length of a screw, or a metric thread. Standard threads
# have pitches up to 36 % of the diameter (Tr 22x8), and unified ones diameters up to 6 in (ASME B1.1); from memory.
_COARSEST, _FEWEST_PER_INCH = Fraction(1, 2), 2
_LARGEST_IN, _FEWEST_BEYOND = 6, 8
_FRACTION = re.compile(r"(?:[0-9]+[ -]?)?(?:[0-9]+[/⁄][0-9]+|[¼-¾⅐-⅞])")
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
    unit : ``mm`` or ``in``, for a number that stands alone; in inches none may, as it could be threads, inches or
        mm, and a fraction never

    Raises UnitError for what is none of these, for a name that tells the hand, for one that tells no pitch, and for a
    pitch that no thread of that name has: half the diameter or more, fewer than 2 threads per inch, or, without a
    series, a size above 6 in with fewer than 8.
    """
    called = " ".join(text.split())
    if found := _named(called):
        return *found, f"{called}, "
    if _FRACTION.fullmatch(called) or (unit == "in" and re.fullmatch(r"[0-9 ./]+", called)):
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
        return _inch_pitch(inch, called), None
    metric = _METRIC.fullmatch(name)
    if metric is None:
        for size, remedy in _NO_PITCH:
            if re.fullmatch(size, name):
                raise UnitError(f"thread {shown(called)} names no pitch", remedy)
        return None
    pitch = parse_pitch(f"{metric['pitch'] or metric['apart']} mm", what="thread")
    if pitch >= _COARSEST * Fraction(metric["size"]):
        raise UnitError(
            f"thread {shown(called)} would have a pitch of half its diameter or more",
            "write the pitch behind the size, as in M12x1.75, and not a length; several starts as in Tr 40x14(P7)",
        )
    if metric["pitch"]:
        return pitch, None
    starts = parse_pitch(f"{metric['lead']} mm", what="thread") / pitch
    if starts.denominator != 1:
        raise UnitError(
            f"thread {shown(called)} has a lead of {metric['lead']}, which is no multiple of its pitch",
            "write lead and pitch as in Tr 40x14(P7), which has two starts",
        )
    return pitch, int(starts)


def _inch_pitch(name: re.Match[str], called: str) -> Fraction:
    """Pitch [mm] of a thread named by size and threads per inch, if a thread of that name can have it."""
    told, per_inch = name["tpi"], Fraction(name["tpi"])
    pitch, size = parse_pitch(f"{told} tpi", what="thread"), _diameter_in(name)
    trouble = None
    if per_inch < _FEWEST_PER_INCH:
        trouble = f"have {told} to the inch"
    elif size is not None and pitch >= _COARSEST * size * INCH_MM:
        trouble = "have a pitch of half its diameter or more"
    elif size is not None and size > _LARGEST_IN and per_inch < _FEWEST_BEYOND and not name["series"]:
        trouble = f"be {name['size']} inches thick, with {told} to the inch"
    if trouble is None:
        return pitch
    is_metric = re.fullmatch(_NUMBER, str(name["size"])) and per_inch < _COARSEST * Fraction(name["size"])
    metric = f"M{name['size']}x{told} for a metric thread, or " if is_metric else ""
    raise UnitError(f"thread {shown(called)} would {trouble}", f"write {metric}the pitch alone, as in {told} tpi")


def _diameter_in(name: re.Match[str]) -> Fraction | None:
    """Diameter of an inch thread by its name [in], numbered sizes as ASME B1.1 (from memory); None for a pipe's."""
    if name["pipe"] or name["series"] in _PIPE_SERIES:
        return None
    number = "0" if set(str(name["size"])) == {"0"} else name["number"]  # 0-80 is a #0
    if number:
        return Fraction("0.060") + Fraction("0.013") * Fraction(number)
    return parse_length(name["size"], "in", "thread") / INCH_MM


def _is_length(text: str, unit: str) -> bool:
    try:
        parse_length(text, unit)
    except UnitError:
        return False
    return True
