"""Exact quantities: reading lengths, pitches, angles and ratios as drawings and machine plates write them.

A length is a ``Fraction`` in millimetres; an inch is 127/5 mm exactly (the international inch of 1959, from memory).
"""

from __future__ import annotations

import math
import numbers
import re
import unicodedata
from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction

from .errors import UnitError
from .pattern import Pattern

INCH_MM = Fraction(127, 5)
UNIT_MM = {"mm": Fraction(1), "in": INCH_MM}
OTHER_UNIT = {"mm": "in", "in": "mm"}
PAPERS_MM = {"A4": (210.0, 297.0), "Letter": (215.9, 279.4)}  # width and height; drawn on, so floats will do
# π cut after 50 decimals (from memory; checked against mpmath in the tests)
PI = Fraction(314159265358979323846264338327950288419716939937510, 10**50)

LEAST_MM, GREATEST_MM = Fraction(1, 10**6), Fraction(10**9)
LEAST_RATIO, GREATEST_RATIO = Fraction(1, 10**9), Fraction(10**9)
LEAST_DEG, GREATEST_DEG = Fraction(1, 10**9), Fraction(10**6)
LONGEST_TEXT = 1000  # long enough for an exact lead with π in it, short enough to be read at once
LONGEST_SHOWN = 60

Value = str | int | float | Decimal | Fraction

_LENGTH_UNITS = {
    "mm": Fraction(1),
    "cm": Fraction(10),
    "m": Fraction(1000),
    "µm": Fraction(1, 1000),
    "um": Fraction(1, 1000),
    "in": INCH_MM,
    "inch": INCH_MM,
    "inches": INCH_MM,
    "ins": INCH_MM,
    '"': INCH_MM,
    "thou": INCH_MM / 1000,
    "millimetre": Fraction(1),
    "millimetres": Fraction(1),
    "millimeter": Fraction(1),
    "millimeters": Fraction(1),
}
_PER_INCH = Pattern(
    r"t\.?p\.?i|(?:th?|thds?|threads?|turns?)? ?(?:/|per|to (?:the|an|one)) ?(?:1 ?)?(?:inch|in|\")",
)
_DEGREES = "°|degrees?|degs?|d"
_MINUTES, _SECONDS = "'|(?:arc ?)?(?:minutes?|mins?)|m", '"|(?:arc ?)?(?:seconds?|secs?)|s'
_ANGLE_UNITS = (
    (Pattern(_DEGREES), Fraction(1)),
    (Pattern(_MINUTES), Fraction(1, 60)),
    (Pattern(_SECONDS), Fraction(1, 3600)),
    (Pattern("turns?|revs?|revolutions?"), Fraction(360)),
)
_SHARES = {"%": 100, "percent": 100, "ppm": 10**6}
_MARKS = str.maketrans(
    {"″": '"', "”": '"', "“": '"', "′": "'", "’": "'", "‘": "'", "º": "°", "˚": "°", "−": "-", "–": "-", "μ": "µ"}
)
_DECIMAL = r"(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)"
_AMOUNT = Pattern(
    r"(?P<sign>[+-]?)\s*(?:(?:(?P<whole>[0-9]+)(?:\s+|-))?(?P<num>[0-9]+)\s*/\s*(?P<den>[0-9]+)"
    rf"|(?P<number>{_DECIMAL})(?:e(?P<power>[+-]?[0-9]+))?)"
)
_SEXAGESIMAL = Pattern(
    rf"(?P<sign>[+-]?)\s*(?:(?P<deg>[0-9]+)\s*(?:{_DEGREES})\s*)?"
    rf"(?:(?P<min>{_DECIMAL})\s*(?:{_MINUTES}|(?(deg)$|(?!)))\s*)?"  # the last mark may lack: 17°45, 17°45'30
    rf"(?:(?P<sec>{_DECIMAL})\s*(?:{_SECONDS}|(?(min)$|(?!))))?"
)
_NOT_FINITE = Pattern(r"[+-]?\s*(?:nan|inf|infinity|∞)\b|[+-]?∞")
_LENGTHS = "give 0.000001 mm to 1 000 000 000 mm"


@dataclass(frozen=True, slots=True)
class _Asked:
    """What is being read, for the messages: its name, the value as given, how to write it, and its range."""

    what: str
    value: object
    example: str
    limits: str

    def error(self, code: str, trouble: str, remedy: str = "") -> UnitError:
        return UnitError(f"{self.what} {shown(self.value)}{trouble}", remedy or self.example, code=code)

    def unreadable(self) -> UnitError:
        return self.error("unreadable", " cannot be read")

    def absurd(self) -> UnitError:
        return self.error("out-of-limits", " is not of a size that can be made", self.limits)


def parse_length(value: Value, unit: str = "mm", what: str = "length") -> Fraction:
    """A length as a drawing writes it.

    Parameters
    ----------
    value : ``412.5 mm``, ``412.5`` (in ``unit``), ``3 3/8 in``, ``1-1/4 in``, ``0.25"``, ``⅜ in``
    unit : ``mm`` or ``in``, for a number that stands alone
    what : what it is, for the message

    Returns millimetres, exact; a float is taken as the decimal it prints. Raises UnitError for what is no length,
    for a decimal comma (``1,500`` could be either), for zero or less, and outside 0.000001 mm to 1 000 000 000 mm.
    """
    asked = _asked_length(value, unit, what)
    amount, name = _read(asked)
    if _PER_INCH.fullmatch(name):
        raise asked.error(
            "wrong-unit", " is a pitch, not a length", "give a length as in 412.5 mm; a thread goes with --thread"
        )
    return _length(amount, name or unit, asked)


def parse_pitch(value: Value, unit: str = "mm", what: str = "pitch") -> Fraction:
    """A pitch, as a length or as threads per inch.

    Parameters
    ----------
    value : as ``parse_length``, or ``13 tpi``, ``4 1/2 threads per inch``, ``11½ threads to the inch``
    unit, what : as ``parse_length``

    Returns millimetres for one thread, exact. Raises UnitError as ``parse_length``.
    """
    asked = replace(
        _asked_length(value, unit, what), example=f"write it as in 1.5 mm, 1/4 in or 13 tpi ({unit} without a unit)"
    )
    amount, name = _read(asked)
    if not _PER_INCH.fullmatch(name):
        return _length(amount, name or unit, asked)
    if amount <= 0:
        raise asked.error("not-above-zero", ": there must be more than zero threads per inch")
    return _length(1 / amount, "in", asked)


def parse_angle(value: Value, what: str = "angle") -> Fraction:
    """An angle in degrees, from decimal degrees or degrees, minutes and seconds.

    Parameters
    ----------
    value : ``17.75``, ``17.75°``, ``17°45'``, ``17d45m30s``, ``17d45``, ``17 deg 45 min``, ``540'``,
        ``3 arcmin``, ``0.29 turns``
    what : what it is, for the message

    Returns degrees, exact, of either sign. Raises UnitError for what is no angle, beyond 1 000 000 degrees, and below
    0.000000001 degrees for what is not zero.
    """
    asked = _Asked(what, value, "write it as in 17.75, 17°45' or 17d45m", "give 0.000000001 to 1 000 000 degrees")
    degrees = _degrees(_clean(value, asked), asked) if isinstance(value, str) else _number(asked)
    if abs(degrees) > GREATEST_DEG:
        raise asked.error("out-of-limits", " is beyond 1 000 000 degrees", asked.limits)
    if 0 < abs(degrees) < LEAST_DEG:
        raise asked.error(
            "out-of-limits", " is less than 0.000000001 degrees, too little to be set or measured", asked.limits
        )
    return degrees


def parse_ratio(value: Value, what: str = "ratio") -> Fraction:
    """A ratio as a plate writes it.

    Parameters
    ----------
    value : ``40``, ``40:1``, ``40 to 1``, ``3/2``, ``1.5``
    what : what it is, for the message

    Returns it exact. Raises UnitError for what is no ratio, for zero or less, and outside 1/10⁹ to 10⁹.
    """
    asked = _Asked(what, value, "write it as in 40, 40:1, 3/2 or 1.5", "give 0.000000001 to 1 000 000 000")
    if isinstance(value, str):
        parts = re.split(r"\s*(?::|\bto\b)\s*", _clean(value, asked))
        first, second = (_plain(parts[0], asked), _plain(parts[1], asked) if len(parts) > 1 else Fraction(1))
        if len(parts) > 2 or second == 0:
            raise asked.error("unreadable", " is not a ratio")
        ratio = first / second
    else:
        ratio = _number(asked)
    if not LEAST_RATIO <= ratio <= GREATEST_RATIO:
        remedy = asked.limits if ratio > 0 else asked.example
        raise asked.error("out-of-limits", " is not a ratio above zero that a machine can have", remedy)
    return ratio


def parse_share(value: str, what: str = "share") -> Fraction:
    """A share, in percent or parts in a million.

    Parameters
    ----------
    value : ``0.1 %``, ``200 ppm``, ``1/2 percent``
    what : what it is, for the message

    Returns it exact: 1/1000 for 0.1 %. Raises UnitError for what is no share (a number alone could be one or a
    percentage), for zero or less, and outside 1/10⁹ to 10⁹ of its unit.
    """
    asked = _Asked(what, value, "write it as in 0.1% or 200ppm", "give 0.000000001 to 1 000 000 000 percent or ppm")
    amount, name = _amount(_clean(value, asked), asked)
    if name not in _SHARES:
        raise asked.unreadable()
    if amount <= 0:
        raise asked.error("not-above-zero", " is not a share above zero")
    if not LEAST_RATIO <= amount <= GREATEST_RATIO:
        raise asked.absurd()
    return amount / _SHARES[name]


def shown(value: object) -> str:
    """A value as the user gave it, cut short where it would flood the message."""
    try:
        text = repr(value) if isinstance(value, str) else str(value)
    except ValueError:  # an int of more digits than Python prints
        text = "a number of thousands of digits"
    return text if len(text) <= LONGEST_SHOWN else text[: LONGEST_SHOWN - 1] + "…"


def _asked_length(value: Value, unit: str, what: str) -> _Asked:
    return _Asked(what, value, f"write it as in 412.5 mm, 3 3/8 in or 0.25 in ({unit} without a unit)", _LENGTHS)


def _length(amount: Fraction, unit: str, asked: _Asked) -> Fraction:
    factor = _LENGTH_UNITS.get(unit)
    if factor is None:
        raise (
            asked.error("wrong-unit", f": {unit!r} is not a unit of length", "use mm or in")
            if unit.isalpha()
            else asked.unreadable()
        )
    if amount <= 0:
        raise asked.error("not-above-zero", " is not above zero", "give a length longer than zero")
    if not LEAST_MM <= amount * factor <= GREATEST_MM:
        raise asked.absurd()
    return amount * factor


def _read(asked: _Asked) -> tuple[Fraction, str]:
    """The amount, and the unit behind it as it was written, empty where there is none."""
    if not isinstance(asked.value, str):
        return _number(asked), ""
    return _amount(_clean(asked.value, asked), asked)


def _amount(text: str, asked: _Asked) -> tuple[Fraction, str]:
    match = _AMOUNT.match(text)
    if match is None:
        raise asked.unreadable()
    return _fraction_of(match, asked), text[match.end() :].strip().rstrip(".")


def _plain(text: str, asked: _Asked) -> Fraction:
    amount, name = _amount(text, asked)
    if name:
        raise asked.unreadable()
    return amount


def _fraction_of(match: re.Match[str], asked: _Asked) -> Fraction:
    if match["number"]:
        power = match["power"] or "0"
        if len(power) > 4:  # 10 to this power would take long to work out
            raise asked.absurd()
        amount = Fraction(match["number"]) * Fraction(10) ** int(power)
    else:
        if int(match["den"]) == 0:
            raise asked.error("unreadable", " divides by zero")
        amount = int(match["whole"] or 0) + Fraction(int(match["num"]), int(match["den"]))
    return -amount if match["sign"] == "-" else amount


def _degrees(text: str, asked: _Asked) -> Fraction:
    match = _SEXAGESIMAL.fullmatch(text)
    if match is None or not (match["deg"] or match["min"] or match["sec"]):
        amount, name = _amount(text, asked)
        factor = next((factor for unit, factor in _ANGLE_UNITS if unit.fullmatch(name or "°")), None)
        if factor is None:
            raise asked.unreadable()
        return amount * factor
    degrees, minutes, seconds = (Fraction(match[part] or 0) for part in ("deg", "min", "sec"))
    if match["sec"] and minutes.denominator != 1:
        raise asked.unreadable()
    if (match["deg"] and minutes >= 60) or ((match["deg"] or match["min"]) and seconds >= 60):
        raise asked.error("unreadable", " has 60 or more minutes or seconds")
    angle = degrees + minutes / 60 + seconds / 3600
    return -angle if match["sign"] == "-" else angle


def _clean(value: object, asked: _Asked) -> str:
    if not isinstance(value, str) or len(value) > LONGEST_TEXT:
        raise asked.unreadable()
    spread = re.sub(r"([0-9])([¼-¾⅐-⅞])", r"\1 \2", value)
    text = "".join(unicodedata.normalize("NFKC", c) if "¼" <= c <= "¾" or "⅐" <= c <= "⅞" else c for c in spread)
    text = " ".join(text.replace("⁄", "/").translate(_MARKS).replace("''", '"').split()).lower()
    if "," in text:
        raise asked.error("comma", " has a comma", "write decimals with a point and thousands without a mark")
    if _NOT_FINITE.match(text):
        raise asked.absurd()
    return text


def _number(asked: _Asked) -> Fraction:
    value = asked.value
    if isinstance(value, numbers.Rational) and not isinstance(value, bool):
        number = Fraction(int(value.numerator), int(value.denominator))
        if max(abs(number.numerator), number.denominator).bit_length() > 4 * LONGEST_TEXT:
            raise asked.absurd()
        return number
    if isinstance(value, Decimal):
        if not value.is_finite() or abs(value.adjusted()) > 999 or len(value.as_tuple().digits) > LONGEST_TEXT:
            raise asked.absurd()
        return Fraction(value)
    if isinstance(value, numbers.Real) and not isinstance(value, bool):
        if not math.isfinite(value):
            raise asked.absurd()
        return Fraction(str(value))
    raise asked.error("unreadable", " is not a number or a text")


def tan_deg(angle: Fraction) -> Fraction:
    """Tangent of an angle in degrees: a float's, taken as it is. Relative error below 1e-15 above 0° and below 90°.

    Exact only at 0° and 45°. Raises UnitError at 90°, which has none.
    """
    if angle == 90:
        raise UnitError("90° has no tangent", "give an angle below 90°", code="out-of-limits")
    if angle == 45:
        return Fraction(1)
    if 45 < angle < 90:
        return 1 / _small_tan(90 - angle)
    return _small_tan(angle)


def _small_tan(angle: Fraction) -> Fraction:
    return Fraction(math.tan(radians(angle)))


def sin_deg(angle: Fraction) -> Fraction:
    """Sine of an angle in degrees: a float's, taken as it is. Relative error below 1e-15 from 0° to 90°.

    Exact only at 0°, 30° and 90°.
    """
    if angle == 30:
        return Fraction(1, 2)
    return Fraction(math.sin(radians(angle)))


def cos_deg(angle: Fraction) -> Fraction:
    """Cosine of an angle in degrees, as the sine of what it lacks of 90°."""
    return sin_deg(90 - abs(angle))


def radians(angle: Fraction) -> float:
    """Degrees to radians, rounded once."""
    return float(angle * PI / 180)


def degrees(angle: float) -> Fraction:
    """Radians, as a float gives them, to degrees."""
    return Fraction(angle) * 180 / PI


def decimals(value: Fraction, digits: int) -> str:
    """A number with so many decimals, rounded half to even from the exact value; never with an exponent."""
    scaled = round(value * 10**digits)
    whole, part = divmod(abs(scaled), 10**digits)
    sign = "-" if scaled < 0 else ""
    return f"{sign}{whole}.{part:0{digits}d}" if digits else f"{sign}{whole}"


def spaced(number: int) -> str:
    """A whole number with its thousands set apart."""
    return f"{number:,}".replace(",", " ")


def places(value: Fraction, usual: int) -> int:
    """How many decimals show a number: the usual, and more until two digits of it are seen, if it is not zero."""
    needed = usual
    while value and round(abs(value) * 10**needed) < 10:
        needed += 1
    return needed


def significant(value: Fraction, usual: int) -> str:
    """A number with the usual decimals, and more where it would read as zero and is not: ``0.000033`` for 4."""
    return decimals(value, places(value, usual))


def decimal(value: Fraction) -> str:
    """A number to four decimals, without trailing zeros."""
    return decimals(value, 4).rstrip("0").rstrip(".")


def format_length(mm: Fraction, unit: str = "mm", digits: int | None = None, signed: bool = False) -> str:
    """A length in one unit: ``412.500 mm`` (3 decimals) or ``16.2402 in`` (4), more where it would read as zero.

    Parameters
    ----------
    mm : the length [mm]
    unit : ``mm`` or ``in``, in which it is printed
    digits : decimals; None: as many as above
    signed : whether a plus stands before a length above zero

    Rounded once, from the exact value, half to even.
    """
    value, usual = mm / UNIT_MM[unit], 4 if unit == "in" else 3
    text = significant(value, usual) if digits is None else decimals(value, digits)
    return f"{'+' if signed and value > 0 else ''}{text} {unit}"


def format_both(mm: Fraction, unit: str = "mm", digits: int | None = None) -> str:
    """A length in the shop's unit with the other in brackets: ``412.500 mm (16.2402 in)``.

    Parameters
    ----------
    mm : the length [mm]
    unit : ``mm`` or ``in``: the one that stands first
    digits : decimals of the first; None: as ``format_length``, as the other always is
    """
    return f"{format_length(mm, unit, digits)} ({format_length(mm, OTHER_UNIT[unit])})"


def format_angle(angle: Fraction) -> str:
    """An angle in decimals and in degrees, minutes and seconds: ``17.750° (17°45′00″)``.

    Three decimals and whole seconds, and more of both where the angle would read as 0° or 90° and is neither.
    """
    from_square = 90 - abs(angle)
    digits = max(places(angle, 3), places(from_square, 3))
    seconds = round(abs(angle) * 3600 * 10 ** (digits - 3))
    minutes, rest = divmod(seconds, 60 * 10 ** (digits - 3))
    tail = decimals(Fraction(rest, 10 ** (digits - 3)), digits - 3).zfill(2 if digits == 3 else digits)
    sign = "-" if angle < 0 and seconds else ""
    return f"{decimals(angle, digits)}° ({sign}{minutes // 60}°{minutes % 60:02d}′{tail}″)"


def format_ppm(error: Fraction, more: int = 0) -> str:
    """A relative error with its sign: ``+12.3 ppm`` below 1000 parts in a million, else percent: ``-1.000 %``.

    Digits are added where it would read as zero and is not, and as many ``more``; zero itself is ``0 ppm``.
    """
    if error == 0:
        return "0 ppm"
    size, digits = ppm_grid(error)
    unit = "%" if size == Fraction(1, 100) else "ppm"
    return f"{'+' if error > 0 else '-'}{decimals(abs(error) / size, digits + more)} {unit}"


def ppm_grid(error: Fraction) -> tuple[Fraction, int]:
    """The unit that ``format_ppm`` prints an error in, as a share, and how many decimals of it."""
    if abs(error) >= Fraction(1, 1000):
        return Fraction(1, 100), 3
    parts = abs(error) * 10**6
    return Fraction(1, 10**6), places(parts, 1 if parts >= 1 else 3)


def mixed(value: Fraction) -> str:
    """A number as a whole one and a part: ``2 6/7``."""
    whole, part = divmod(value, 1)
    return f"{whole} {part}" if whole and part else str(value)


def text_of_length(mm: Fraction, unit: str = "mm") -> str:
    """A length that ``parse_length`` reads back exactly: a decimal where one is exact, else a fraction."""
    return f"{_exact(mm / UNIT_MM[unit])} {unit}"


def text_of_angle(angle: Fraction) -> str:
    """An angle that ``parse_angle`` reads back exactly."""
    return f"{_exact(angle)}°"


def text_of_share(share: Fraction) -> str:
    """A share that ``parse_share`` reads back exactly, in percent."""
    return f"{_exact(100 * share)}%"


def _exact(value: Fraction) -> str:
    rest, places = value.denominator, 0
    for prime in (2, 5):
        power = 0
        while rest % prime == 0:
            rest, power = rest // prime, power + 1
        places = max(places, power)
    if rest == 1 and places <= 18:
        return decimals(value, places)
    return f"{value.numerator}/{value.denominator}"
