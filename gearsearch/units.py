"""Exact quantities: reading lengths, pitches, angles and ratios as drawings and machine plates write them.

A length is a ``Fraction`` in millimetres; an inch is 127/5 mm exactly (the international inch of 1959, from memory).
"""

from __future__ import annotations

import math
import re
import unicodedata
from decimal import Decimal
from fractions import Fraction

from .errors import UnitError

INCH_MM = Fraction(127, 5)
# π to 50 decimals (from memory; checked against mpmath in the tests)
PI = Fraction(314159265358979323846264338327950288419716939937510, 10**50)

LEAST_MM, GREATEST_MM = Fraction(1, 10**6), Fraction(10**9)
LEAST_RATIO, GREATEST_RATIO = Fraction(1, 10**9), Fraction(10**9)
LONGEST_TEXT = 60

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
_PER_INCH = {"tpi", "threads per inch", "thread per inch", "threads/in", "threads/inch", "turns per inch", "per inch"}
_PER_INCH |= {"/in", "/inch", "t.p.i.", "turns/in", "turns/inch"}
_MARKS = str.maketrans(
    {"″": '"', "”": '"', "“": '"', "′": "'", "’": "'", "‘": "'", "º": "°", "−": "-", "–": "-", "μ": "µ"}
)
_NUMBER = r"(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)(?:e[+-]?[0-9]{1,3})?"
_AMOUNT = re.compile(
    rf"(?P<sign>[+-]?)\s*(?:(?:(?P<whole>[0-9]+)(?:\s+|-|\s*(?=[¼-¾⅐-⅞])))?(?P<num>[0-9]+)\s*/\s*(?P<den>[0-9]+)|(?P<number>{_NUMBER}))"
)
_ANGLE = re.compile(
    rf"(?P<sign>[+-]?)\s*(?:(?P<deg>{_NUMBER})\s*(?:°|degrees?|degs?|d)\s*)?"
    rf"(?:(?P<min>{_NUMBER})\s*(?:'|minutes?|mins?|m)\s*)?"
    rf"(?:(?P<sec>{_NUMBER})\s*(?:\"|''|seconds?|secs?|s)\s*)?",
)


def parse_length(value: Value, unit: str = "mm", what: str = "length") -> Fraction:
    """A length as a drawing writes it.

    Parameters
    ----------
    value : ``412.5 mm``, ``412.5`` (in ``unit``), ``3 3/8 in``, ``1-1/4 in``, ``0.25"``, ``⅜ in``
    unit : ``mm`` or ``in``, for a number that stands alone
    what : what it is, for the message

    Returns millimetres, exact. Raises UnitError for what is no length, for a length of zero or less, and outside
    0.000001 mm to 1 000 000 000 mm.
    """
    amount, name = _amount_and_unit(
        value, what, f"write it as in 412.5 mm, 3 3/8 in or 0.25 in ({unit} without a unit)"
    )
    factor = _LENGTH_UNITS.get(name or unit)
    if factor is None:
        raise UnitError(f"{what} {shown(value)}: {name!r} is not a unit of length", "use mm or in")
    return _within(amount * factor, LEAST_MM, GREATEST_MM, what, value)


def parse_pitch(value: Value, unit: str = "mm", what: str = "pitch") -> Fraction:
    """A pitch, as a length or as threads per inch.

    Parameters
    ----------
    value : as ``parse_length``, or ``13 tpi``, ``4 1/2 threads per inch``
    unit, what : as ``parse_length``

    Returns millimetres for one thread, exact. Raises UnitError as ``parse_length``.
    """
    remedy = f"write it as in 1.5 mm, 1/4 in or 13 tpi ({unit} without a unit)"
    amount, name = _amount_and_unit(value, what, remedy)
    if name not in _PER_INCH:
        return parse_length(value, unit, what)
    if amount <= 0:
        raise UnitError(f"{what} {shown(value)}: there must be more than zero threads per inch", remedy)
    return _within(INCH_MM / amount, LEAST_MM, GREATEST_MM, what, value)


def parse_angle(value: Value, what: str = "angle") -> Fraction:
    """An angle in degrees, from decimal degrees or degrees, minutes and seconds.

    Parameters
    ----------
    value : ``17.75``, ``17.75°``, ``17°45'``, ``17d45m30s``, ``17 deg 45 min``, ``540'``
    what : what it is, for the message

    Returns degrees, exact, of either sign. Raises UnitError for what is no angle and beyond 1 000 000 degrees.
    """
    remedy = "write it as in 17.75, 17°45' or 17d45m"
    if not isinstance(value, str):
        degrees = _number(value, what, remedy)
    else:
        degrees = _angle_of(_clean(value, what, remedy), value, what, remedy)
    if abs(degrees) > 10**6:
        raise UnitError(f"{what} {shown(value)} is beyond 1 000 000 degrees", remedy)
    return degrees


def parse_ratio(value: Value, what: str = "ratio") -> Fraction:
    """A ratio as a plate writes it.

    Parameters
    ----------
    value : ``40``, ``40:1``, ``40 to 1``, ``3/2``, ``1.5``
    what : what it is, for the message

    Returns it exact. Raises UnitError for what is no ratio, zero or less, or outside 1/10⁹ to 10⁹.
    """
    remedy = "write it as in 40, 40:1, 3/2 or 1.5"
    if isinstance(value, str):
        text = re.sub(r"\s*(?::|\bto\b)\s*", ":", _clean(value, what, remedy))
        parts = [_plain(part, value, what, remedy) for part in text.split(":")]
        if len(parts) > 2 or (len(parts) == 2 and parts[1] == 0):
            raise UnitError(f"{what} {shown(value)} is not a ratio", remedy)
        ratio = parts[0] / parts[1] if len(parts) == 2 else parts[0]
    else:
        ratio = _number(value, what, remedy)
    if not LEAST_RATIO <= ratio <= GREATEST_RATIO:
        raise UnitError(f"{what} {shown(value)} is not a ratio above zero that a machine can have", remedy)
    return ratio


def shown(value: object) -> str:
    """A value as the user gave it, cut short where it would flood the message."""
    try:
        text = repr(value) if isinstance(value, str) else str(value)
    except ValueError:  # an int of more digits than Python prints
        text = "a number of thousands of digits"
    return text if len(text) <= LONGEST_TEXT else text[: LONGEST_TEXT - 1] + "…"


def _amount_and_unit(value: Value, what: str, remedy: str) -> tuple[Fraction, str]:
    if not isinstance(value, str):
        return _number(value, what, remedy), ""
    text = _clean(value, what, remedy)
    match = _AMOUNT.match(text)
    if match is None:
        raise _unreadable(value, what, remedy)
    return _fraction_of(match, value, what, remedy), " ".join(text[match.end() :].split())


def _plain(text: str, value: Value, what: str, remedy: str) -> Fraction:
    match = _AMOUNT.fullmatch(text.strip())
    if match is None:
        raise _unreadable(value, what, remedy)
    return _fraction_of(match, value, what, remedy)


def _fraction_of(match: re.Match[str], value: Value, what: str, remedy: str) -> Fraction:
    if match["number"]:
        amount = Fraction(match["number"])
    else:
        if int(match["den"]) == 0:
            raise UnitError(f"{what} {shown(value)} divides by zero", remedy)
        amount = int(match["whole"] or 0) + Fraction(int(match["num"]), int(match["den"]))
    return -amount if match["sign"] == "-" else amount


def _angle_of(text: str, value: Value, what: str, remedy: str) -> Fraction:
    plain = _AMOUNT.fullmatch(re.sub(r"\s*(?:°|degrees?|degs?|d)$", "", text))
    if plain:
        return _fraction_of(plain, value, what, remedy)
    match = _ANGLE.fullmatch(text)
    if match is None or not any(match[part] for part in ("deg", "min", "sec")):
        raise _unreadable(value, what, remedy)
    degrees, minutes, seconds = (Fraction(match[part] or 0) for part in ("deg", "min", "sec"))
    if match["deg"] and (minutes >= 60 or seconds >= 60):
        raise UnitError(f"{what} {shown(value)} has 60 or more minutes or seconds", remedy)
    angle = degrees + minutes / 60 + seconds / 3600
    return -angle if match["sign"] == "-" else angle


def _clean(value: str, what: str, remedy: str) -> str:
    if len(value) > LONGEST_TEXT:
        raise _unreadable(value, what, remedy)
    spread = re.sub(r"([0-9])([¼-¾⅐-⅞])", r"\1 \2", value)
    text = "".join(unicodedata.normalize("NFKC", c) if c in "¼½¾" or "⅐" <= c <= "⅞" else c for c in spread)
    text = " ".join(text.replace("⁄", "/").translate(_MARKS).split()).lower()
    if "," in text:
        raise UnitError(
            f"{what} {shown(value)} has a comma", "write decimals with a point and thousands without a mark"
        )
    return text


def _number(value: Value, what: str, remedy: str) -> Fraction:
    if isinstance(value, bool | str) or not isinstance(value, int | float | Decimal | Fraction):
        raise UnitError(f"{what} {shown(value)} is not a number or a text", remedy)
    if isinstance(value, float | Decimal):
        size = abs(float(value))
        if not 0 <= size <= 1e30 or 0 < size < 1e-30:
            raise UnitError(f"{what} {shown(value)} is not a number of a size that can be made", remedy)
        return Fraction(str(value))
    return Fraction(value)


def _within(amount: Fraction, least: Fraction, most: Fraction, what: str, value: Value) -> Fraction:
    if amount <= 0:
        raise UnitError(f"{what} {shown(value)} is not above zero", "give a length longer than zero")
    if not least <= amount <= most:
        raise UnitError(
            f"{what} {shown(value)} is not of a size that can be made", "give 0.000001 mm to 1 000 000 000 mm"
        )
    return amount


def _unreadable(value: Value, what: str, remedy: str) -> UnitError:
    return UnitError(f"{what} {shown(value)} cannot be read", remedy)


def tan_deg(angle: Fraction) -> Fraction:
    """Tangent of an angle in degrees, through a float: relative error below 1e-15 from 0° to 90°, exact at 45°."""
    if angle == 45:
        return Fraction(1)
    if 45 < angle < 90:
        return 1 / _small_tan(90 - angle)
    return _small_tan(angle)


def _small_tan(angle: Fraction) -> Fraction:
    return Fraction(math.tan(radians(angle)))


def sin_deg(angle: Fraction) -> Fraction:
    """Sine of an angle in degrees, through a float: relative error below 1e-15 from 0° to 90°; exact at 30° and 90°."""
    if angle == 30:
        return Fraction(1, 2)
    if angle > 45:
        return Fraction(math.cos(radians(90 - angle)))
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


def format_length(mm: Fraction, unit: str = "mm", digits: int | None = None, signed: bool = False) -> str:
    """A length in one unit: ``412.500 mm`` (3 decimals) or ``16.2402 in`` (4), more where it would read as zero."""
    value = mm / INCH_MM if unit == "in" else mm
    places = digits if digits is not None else _places(value, 4 if unit == "in" else 3)
    text = decimals(value, places)
    return f"{'+' if signed and value > 0 else ''}{text} {unit}"


def _places(value: Fraction, usual: int) -> int:
    places = usual
    while value and places < 9 and round(abs(value) * 10**places) < 10:
        places += 1
    return places


def format_both(mm: Fraction, unit: str = "mm") -> str:
    """A length in the shop's unit with the other in brackets: ``412.500 mm (16.2402 in)``."""
    other = "in" if unit == "mm" else "mm"
    return f"{format_length(mm, unit)} ({format_length(mm, other)})"


def format_angle(angle: Fraction) -> str:
    """An angle in decimals and in degrees, minutes and seconds: ``17.750° (17°45′00″)``."""
    seconds = round(abs(angle) * 3600)
    sign = "-" if angle < 0 and seconds else ""
    whole = f"{sign}{seconds // 3600}°{seconds // 60 % 60:02d}′{seconds % 60:02d}″"
    return f"{decimals(angle, 3)}° ({whole})"


def format_ppm(error: Fraction) -> str:
    """A relative error with its sign: parts in a million below 1000 of them, else percent."""
    sign = "+" if error > 0 else ""
    if abs(error) < Fraction(1, 1000):
        return f"{sign}{decimals(error * 10**6, 1 if abs(error) >= Fraction(1, 10**6) else 3)} ppm"
    return f"{sign}{decimals(error * 100, 3)} %"


def text_of_length(mm: Fraction, unit: str = "mm") -> str:
    """A length that ``parse_length`` reads back exactly: a decimal where one is exact, else a fraction."""
    return f"{_exact(mm / INCH_MM if unit == 'in' else mm)} {unit}"


def text_of_angle(angle: Fraction) -> str:
    """An angle that ``parse_angle`` reads back exactly."""
    return f"{_exact(angle)}°"


def text_of_ratio(ratio: Fraction) -> str:
    """A ratio that ``parse_ratio`` reads back exactly."""
    return f"{ratio.numerator}:{ratio.denominator}"


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
