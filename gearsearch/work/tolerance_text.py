"""How tolerances are written: what all forms share in reading them."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction

from ..base.errors import GearsearchError
from ..base.units import LONGEST_TEXT, parse_angle, parse_length, parse_share, shown, text_of_length, text_of_share

_EITHER_SIDE = re.compile(r"(?:±|\+\s*/\s*-|\+-)\s*")
_OVER = re.compile(r"(.*\S)\s+(?:over|per)\s+(.*)", re.IGNORECASE)
_IN = re.compile(r"(.*[^\s0-9.¼-¾⅐-⅞]\.?)\s+in\s+([0-9.].*)", re.IGNORECASE)  # behind a number "in" is the inch
EACH = re.compile(r"(.*[^\s0-9.¼-¾⅐-⅞]\.?)(?:\s*/\s*|\s+per\s+)([a-zµ\"]+)\.?", re.IGNORECASE)
_FRACTION = re.compile(r"[^a-zµμ\"”″]*[/⁄¼-¾⅐-⅞]\s*[0-9]*\s*", re.IGNORECASE)
INCH_MARK, _BARE_M = re.compile(r'\s*["”“″]'), re.compile(r"[^a-zµμ°'′]*(?:[0-9.]\s*m\b[^a-zµμ°'′]*)+")
AROUND = re.compile(r"(.*\S)\s+around", re.IGNORECASE)
HELIX = re.compile(r"(.*\S)\s*\bhelix(?:\s+angle)?", re.IGNORECASE)
SHARE = re.compile(r"\s*(ppm|%|percent)$", re.IGNORECASE)
_ANGLE = re.compile(r"[°'′]|(?<![a-z])(?:d|deg\w*|(?:arc ?)?min\w*|s|(?:arc ?)?sec(?:ond)?s?|turns?)$|[0-9]m$")
_SIGNED = r"([+-])\s*([0-9.]+(?:/[0-9]+)?)"
_TWO_SIDES = re.compile(rf"{_SIGNED}\s*([^/+-]*?)\s*/?\s*{_SIGNED}\s*(.*)")


@dataclass(frozen=True, slots=True)
class Reading:
    """What a text tells of a tolerance.

    Parameters
    ----------
    form : name of its form
    amount : how far off, one side or two, as typed
    read : reads a side
    over_mm : the length it belongs to [mm]
    """

    form: str
    amount: str
    read: Callable[[str], Fraction]
    over_mm: Fraction | None = None


def spellings() -> str:
    """How every form is written, for messages and help."""
    from .tolerance import TOLERANCES

    *first, last = (form.example for form in sorted(TOLERANCES.values(), key=lambda form: form.told))
    return f"{', '.join(first)} or {last}"


def bare_text(text: str) -> str:
    """The text in plain marks, without the sign for both sides alike."""
    if len(text) > LONGEST_TEXT:
        raise GearsearchError(f"tolerance {shown(text)} cannot be read", f"write it as in {spellings()}")
    plain = text.replace("−", "-").replace("–", "-").replace("''", '"').strip()
    both = _EITHER_SIDE.match(plain)
    return plain[both.end() :] if both else plain


def refuse_metres(amount: str, text: str) -> None:
    """Raise GearsearchError for a bare m, which is a minute among angles and a metre among lengths."""
    if _BARE_M.fullmatch(amount.lower()):
        minutes = re.sub("(?i)m", " min", amount.replace(" ", ""))
        raise GearsearchError(
            f"tolerance {shown(text)} could be in minutes of arc or in metres",
            f"write {minutes} for minutes of arc; for a length give it in mm, as in 0.02mm",
        )


def is_angle(text: str) -> bool:
    """Whether an amount is one of an angle."""
    return _ANGLE.search(text.strip().lower()) is not None


def sides(amount: str, read: Callable[[str], Fraction], text: str) -> tuple[Fraction, Fraction]:
    """How far below and above: an amount for both alike, or one for each with its sign, in either order."""
    two = _TWO_SIDES.fullmatch(amount)
    if two and two[1] != two[4]:
        sides = {two[1]: (two[2], two[3] or two[6]), two[4]: (two[5], two[6] or two[3])}
        less, more = (_or_nothing(read, f"{number}{tail}", number) for number, tail in (sides["-"], sides["+"]))
        return less, more
    if amount[:1] in ("+", "-"):
        raise GearsearchError(
            f"tolerance {shown(text)} does not say how far off on the other side",
            "write both sides, as in +0.1/-0mm, or 0.1mm for both alike",
        )
    both = read(amount)
    return both, both


def angle(text: str) -> Fraction:
    """An angle [degrees]. Raises GearsearchError for what is none."""
    try:
        return parse_angle(text, "tolerance")
    except GearsearchError as error:
        raise GearsearchError(error.message, f"write it as in {spellings()}") from None


def length(unit: str) -> Callable[[str], Fraction]:
    """Reads a length [mm]."""

    def read(text: str) -> Fraction:
        try:
            return parse_length(text, unit, "tolerance")
        except GearsearchError as error:
            raise GearsearchError(error.message, f"write it as in {spellings()}") from None

    return read


def rate(unit: str, each: str) -> Callable[[str], Fraction]:
    """Reads a length for each of another unit, as a share."""
    one, read = parse_length(f"1 {each}", unit, "length of the tolerance"), length(unit)
    return lambda text: read(text) / one


def lead(unit: str) -> Callable[[str], Fraction]:
    """Reads a length of lead; a fraction without a unit is refused, as many mean a share by it: 1 in 1000."""
    read = length(unit)

    def parse(text: str) -> Fraction:
        size = read(text)
        if _FRACTION.fullmatch(text):
            share, length = parse_length(text), f"{text_of_length(size, unit)} for the length"
            raise GearsearchError(
                f"tolerance {shown(text)} could be a share of the lead or a length",
                f"write {text_of_share(share)} for the share, or {length}"
                if share < Fraction(1, 2)
                else f"write {length}",
            )
        return size

    return parse


def share(text: str) -> Fraction:
    """A share, as in 0.1 %. Raises GearsearchError for what is none."""
    try:
        return parse_share(text, "tolerance")
    except GearsearchError as error:
        raise GearsearchError(error.message, f"write it as in {spellings()}") from None


def _or_nothing(read: Callable[[str], Fraction], text: str, number: str) -> Fraction:
    return Fraction(0) if re.fullmatch(r"0+\.?0*|\.0+", number) else read(text)


def over_a_length(bare: str, unit: str, text: str) -> tuple[str, Fraction] | None:
    """An amount and the length [mm] it is over; None where there is none. Raises GearsearchError for a bare m."""
    over = _OVER.fullmatch(bare) or _IN.fullmatch(bare)
    if over is None:
        return None
    size = parse_length(over[2], unit, "length of the tolerance")
    refuse_metres(over[1], text)
    return over[1], size
