"""Tolerances as intervals of leads. All lengths are along the axis unless they are said to be around it."""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction

from ..base import require
from ..base.errors import GearsearchError
from ..base.units import (
    LONGEST_TEXT,
    PI,
    format_both,
    parse_angle,
    parse_length,
    parse_share,
    radians,
    shown,
    text_of_length,
    text_of_share,
)
from .helix import lead_at

Interval = tuple[Fraction, Fraction]
FORMS = (
    "0.05mm, +0.1/-0mm, 200ppm, 0.1%, 0.5mm/m, '0.02mm over 60mm', '0.1deg over 60mm', '0.05mm around over 60mm' "
    "or '0.05deg helix'"
)
NO_END = 10**9  # times the wanted lead: the longest lead of an interval without end
# Where no tolerance says better, an error beyond the first is marked, and one beyond the second is no answer.
DOUBTFUL, HOPELESS = Fraction(1, 1000), Fraction(1, 100)

_EITHER_SIDE = re.compile(r"(?:±|\+\s*/\s*-|\+-)\s*")
_OVER = re.compile(r"(.*\S)\s+(?:over|per)\s+(.*)", re.IGNORECASE)
_IN = re.compile(r"(.*[^\s0-9.¼-¾⅐-⅞]\.?)\s+in\s+([0-9.].*)", re.IGNORECASE)  # behind a number "in" is the inch
_EACH = re.compile(r"(.*[^\s0-9.¼-¾⅐-⅞]\.?)(?:\s*/\s*|\s+per\s+)([a-zµ\"]+)\.?", re.IGNORECASE)
_FRACTION = re.compile(r"[^a-zµμ\"”″]*[/⁄¼-¾⅐-⅞]\s*[0-9]*\s*", re.IGNORECASE)
_INCH_MARK, _BARE_M = re.compile(r'\s*["”“″]'), re.compile(r"[^a-zµμ°'′]*(?:[0-9.]\s*m\b[^a-zµμ°'′]*)+")
_AROUND = re.compile(r"(.*\S)\s+around", re.IGNORECASE)
_HELIX = re.compile(r"(.*\S)\s*\bhelix(?:\s+angle)?", re.IGNORECASE)
_SHARE = re.compile(r"\s*(ppm|%|percent)$", re.IGNORECASE)
_ANGLE = re.compile(r"[°'′]|(?<![a-z])(?:d|deg\w*|(?:arc ?)?min\w*|s|(?:arc ?)?sec(?:ond)?s?|turns?)$|[0-9]m$")
_SIGNED = r"([+-])\s*([0-9.]+(?:/[0-9]+)?)"
_TWO_SIDES = re.compile(rf"{_SIGNED}\s*([^/+-]*?)\s*/?\s*{_SIGNED}\s*(.*)")

# So large, a tolerance is a slip: in its unit, or the size itself for how far it may be off. Half of the whole tells no
# part from another; helix angles themselves begin at some 10° (both chosen here, no source).
_HALF, _SLIP_HELIX_DEG = Fraction(1, 2), Fraction(10)
# An inch mark is one where the drift is below this share of its length: so few seconds of arc no work can be turned to.
_SURELY_INCHES = Fraction(1, 100)


@dataclass(frozen=True, slots=True)
class Tolerance:
    """How far a lead may be off, in one of the forms that drawings and common sense use.

    Parameters
    ----------
    form : ``lead`` (a length of lead), ``share`` (of the lead), ``drift`` (along the axis over a length),
        ``turn`` (an angle of the work over a length), ``around`` (a length around the work over a length of cut)
        or ``helix`` (a change of the helix angle)
    less, more : how far below and how far above, in mm, as a share, or in degrees; both zero or above. They are
        sides of what is measured: a work that turns more, and a larger helix angle, have the SHORTER lead
    over_mm : the length a drift, a turn or a distance around belongs to [mm]
    text : as it was given

    Raises GearsearchError for another form, for sides that are no exact numbers or below zero, and unless ``over_mm``
    is there for just the three forms that belong to a length.
    """

    form: str
    less: Fraction
    more: Fraction
    over_mm: Fraction | None = None
    text: str = ""

    def __post_init__(self) -> None:
        require.one_of(self.form, ALL_FORMS, "form of tolerance")
        sides = {"less": "lower side of a tolerance", "more": "upper side of a tolerance"}
        require.kept_exact(self, **sides, over_mm="length of a tolerance")
        require.not_below_zero({what: getattr(self, name) for name, what in sides.items()})
        require.above_zero({"length of a tolerance": self.over_mm})
        if self.grows != (self.over_mm is not None):
            trouble = "needs the length it belongs to" if self.grows else "belongs to no length"
            growing = ", ".join(name for name, form in ALL_FORMS.items() if form.rate)
            raise GearsearchError(f"a tolerance of the form {self.form} {trouble}", f"give over_mm for just: {growing}")

    @classmethod
    def parse(cls, text: str, unit: str = "mm") -> Tolerance:
        """Read a tolerance.

        Parameters
        ----------
        text : ``0.05 mm``, ``±0.05 mm``, ``+0.1/-0 mm``, ``200 ppm``, ``0.1 %``, ``0.02 mm over 60 mm``,
            ``0.1° over 60 mm``, ``0.05 mm around over 60 mm``, ``0.05° helix``, ``0.5 mm/m`` (a share); each may have
            two sides
        unit : ``mm`` or ``in``, for a length without one

        Raises GearsearchError for anything else, for one side alone (``+0.1mm``), for a fraction without a unit
        (``1/1000``), for an inch mark that could be seconds of arc (``30" over 60 mm``) and metres that could be
        minutes (``3m over 60mm``), for a tolerance of nothing on both sides, and for one to which no part is made:
        from half of the lead, of the length of a drift or of a turn, or 10° of helix angle.
        """
        bare = _bare(require.text(text, "tolerance"))
        if (each := _EACH.fullmatch(bare)) and not _is_angle(each[1]):
            return cls._of("share", each[1], _rate(unit, each[2]), None, text)
        if over := _OVER.fullmatch(bare) or _IN.fullmatch(bare):
            length = parse_length(over[2], unit, "length of the tolerance")
            _refuse_metres(over[1], text)
            if around := _AROUND.fullmatch(over[1]):
                return cls._of("around", around[1], _length(unit), length, text)
            form, read = ("turn", _angle) if _is_angle(over[1]) else ("drift", _length(unit))
            return cls._of(form, over[1], read, length, text)
        if helix := _HELIX.fullmatch(bare):
            return cls._of("helix", helix[1], _angle, None, text)
        if _SHARE.search(bare):
            return cls._of("share", bare, _share, None, text)
        _refuse_metres(bare, text)
        if _is_angle(bare):
            raise GearsearchError(
                f"tolerance {shown(text)} is an angle, but of what", "write '0.1deg over 60mm' or '0.05deg helix'"
            )
        return cls._of("lead", bare, _lead(unit), None, text)

    @classmethod
    def _of(
        cls, form: str, amount: str, read: Callable[[str], Fraction], over_mm: Fraction | None, text: str
    ) -> Tolerance:
        less, more = _sides(amount, read, text)
        if less == more == 0:
            raise GearsearchError(f"tolerance {shown(text)} allows nothing", f"write it as in {FORMS}")
        made = cls(form, less, more, over_mm, text)
        made._refuse_seconds(amount)
        if (slip := ALL_FORMS[form].slip) is not None:
            made._refuse_slip(*slip(made))
        return made

    def _refuse_seconds(self, amount: str) -> None:
        mark = _INCH_MARK.search(amount) and ALL_FORMS[self.form].or_seconds
        if mark and max(self.less, self.more) >= _SURELY_INCHES * (self.over_mm or 1):
            inches, seconds = (_INCH_MARK.sub(name, amount) for name in (" in", "s"))
            over = "" if self.over_mm else " over a length"
            raise GearsearchError(
                f"tolerance {shown(self.text)} could be in inches or in seconds of arc",
                f"write {seconds}{over} for seconds of arc, or {inches} for inches",
            )

    def _refuse_slip(self, limit: Fraction, words: str) -> None:
        if max(self.less, self.more) >= limit:
            raise GearsearchError(
                f"tolerance {shown(self.text)} is {words} or more, to which no part is made",
                f"give how far off it may be, as in {FORMS}",
            )

    @property
    def grows(self) -> bool:
        """Whether what it measures grows with the length of the cut."""
        return ALL_FORMS[self.form].rate is not None

    @property
    def suits_a_cam(self) -> bool:
        """Whether a cam, which is no helix, can have such a tolerance."""
        return ALL_FORMS[self.form].on_a_cam

    def interval(self, wanted_mm: Fraction, diameter_mm: Fraction | None = None) -> Interval:
        """Shortest and longest lead that will do [mm]; exact, but for the tangent of a helix angle (a float's).

        Parameters
        ----------
        wanted_mm : wanted lead [mm]
        diameter_mm : the diameter of a helix angle or of a distance around [mm]

        Raises GearsearchError for these two without a diameter, for half of the wanted lead or half way round the work,
        and for a lead or a diameter that is no exact number above zero. A turn is measured as
        360 ℓ (1/lead − 1/wanted): a long lead turns too little, so the interval reaches farther on the long side;
        without end (``NO_END`` times the wanted lead) where the whole turn over the length is inside it.
        """
        (wanted_mm,) = require.above_zero({"lead": wanted_mm}, given=True)
        (across,) = require.above_zero({"diameter": diameter_mm})
        return ALL_FORMS[self.form].interval(self, wanted_mm, across)

    def _at(self, diameter_mm: Fraction | None) -> Fraction:
        if diameter_mm is None:
            what = ALL_FORMS[self.form].by_diameter
            raise GearsearchError(
                f"tolerance {shown(self.text)} is {what}, which means nothing without its diameter",
                "give it too, as in --diameter 50mm",
            )
        return diameter_mm


def _lead_interval(tolerance: Tolerance, wanted_mm: Fraction, _: Fraction | None) -> Interval:
    tolerance._refuse_slip(_HALF * wanted_mm, f"half of the lead, which is {format_both(wanted_mm)},")
    return _in_proportion(tolerance, wanted_mm, wanted_mm)


def _share_interval(tolerance: Tolerance, wanted_mm: Fraction, _: Fraction | None) -> Interval:
    return _in_proportion(tolerance, wanted_mm, Fraction(1))


def _drift_interval(tolerance: Tolerance, wanted_mm: Fraction, _: Fraction | None) -> Interval:
    return _in_proportion(tolerance, wanted_mm, _length_of(tolerance))


def _in_proportion(tolerance: Tolerance, wanted_mm: Fraction, whole: Fraction) -> Interval:
    less, more = tolerance.less / whole, tolerance.more / whole
    return wanted_mm * max(1 - less, Fraction(0)), wanted_mm * (1 + more)


def _turn_interval(tolerance: Tolerance, wanted_mm: Fraction, _: Fraction | None) -> Interval:
    return _turned(tolerance, wanted_mm, Fraction(360))


def _around_interval(tolerance: Tolerance, wanted_mm: Fraction, diameter_mm: Fraction | None) -> Interval:
    around = PI * tolerance._at(diameter_mm)
    tolerance._refuse_slip(_HALF * around, "half way round the work")
    return _turned(tolerance, wanted_mm, around)


def _turned(tolerance: Tolerance, wanted_mm: Fraction, around: Fraction) -> Interval:
    turn = around * _length_of(tolerance) / wanted_mm
    longest = wanted_mm * turn / (turn - tolerance.less) if turn > tolerance.less else wanted_mm * NO_END
    return wanted_mm * turn / (turn + tolerance.more), min(longest, wanted_mm * NO_END)


def _helix_interval(tolerance: Tolerance, wanted_mm: Fraction, diameter_mm: Fraction | None) -> Interval:
    diameter = tolerance._at(diameter_mm)
    angle = math.atan2(float(PI * diameter), float(wanted_mm))
    largest, smallest = angle + radians(tolerance.more), angle - radians(tolerance.less)
    low = lead_at(largest, diameter) if largest < math.pi / 2 else Fraction(0)
    high = lead_at(smallest, diameter) if smallest > 0 else wanted_mm * NO_END
    low = wanted_mm if tolerance.more == 0 else min(low, wanted_mm)
    high = wanted_mm if tolerance.less == 0 else max(high, wanted_mm)
    return low, min(high, wanted_mm * NO_END)


def _length_of(tolerance: Tolerance) -> Fraction:
    assert tolerance.over_mm is not None
    return tolerance.over_mm


def _drift_rate(_tolerance: Tolerance, wanted_mm: Fraction, lead_mm: Fraction, _: Fraction | None) -> Fraction:
    return lead_mm / wanted_mm - 1


def _turn_rate(_tolerance: Tolerance, wanted_mm: Fraction, lead_mm: Fraction, _: Fraction | None) -> Fraction:
    return 360 * (1 / lead_mm - 1 / wanted_mm)


def _around_rate(
    tolerance: Tolerance, wanted_mm: Fraction, lead_mm: Fraction, diameter_mm: Fraction | None
) -> Fraction:
    return PI * tolerance._at(diameter_mm) * (1 / lead_mm - 1 / wanted_mm)


@dataclass(frozen=True, slots=True)
class _Form:
    """All that sets a form of tolerance apart; none of it has a usual value, so that none is forgotten.

    Parameters
    ----------
    interval : of a tolerance, a wanted lead [mm] and a diameter [mm]: shortest and longest lead that will do [mm]
    rate : of a tolerance, the wanted lead, the lead that is cut and a diameter [mm]: what it measures for each mm of
        the cut; None where that does not grow with the cut
    slip : from which size on it is a slip, whatever the lead, and that size in words; None where only ``interval`` can
        tell, which then does
    by_diameter : what it is, in words, where it means nothing without a diameter; else empty
    or_seconds : whether an inch mark in it could be one of seconds of arc
    on_a_cam : whether a cam, which is no helix, has such a tolerance
    """

    interval: Callable[[Tolerance, Fraction, Fraction | None], Interval]
    rate: Callable[[Tolerance, Fraction, Fraction, Fraction | None], Fraction] | None
    slip: Callable[[Tolerance], tuple[Fraction, str]] | None
    by_diameter: str
    or_seconds: bool
    on_a_cam: bool


ALL_FORMS = {
    "lead": _Form(_lead_interval, rate=None, slip=None, by_diameter="", or_seconds=False, on_a_cam=True),
    "share": _Form(
        _share_interval,
        rate=None,
        slip=lambda _: (_HALF, "half of the lead"),
        by_diameter="",
        or_seconds=True,
        on_a_cam=True,
    ),
    "drift": _Form(
        _drift_interval,
        rate=_drift_rate,
        slip=lambda tolerance: (_HALF * _length_of(tolerance), "half of its length"),
        by_diameter="",
        or_seconds=True,
        on_a_cam=True,
    ),
    "turn": _Form(
        _turn_interval,
        rate=_turn_rate,
        slip=lambda _: (360 * _HALF, "half a turn"),
        by_diameter="",
        or_seconds=False,
        on_a_cam=True,
    ),
    "around": _Form(
        _around_interval,
        rate=_around_rate,
        slip=None,
        by_diameter="measured around the work",
        or_seconds=False,
        on_a_cam=True,
    ),
    "helix": _Form(
        _helix_interval,
        rate=None,
        slip=lambda _: (_SLIP_HELIX_DEG, f"{_SLIP_HELIX_DEG}°"),
        by_diameter="a helix angle",
        or_seconds=False,
        on_a_cam=False,
    ),
}


def _bare(text: str) -> str:
    """The text in plain marks, without the sign for both sides alike."""
    if len(text) > LONGEST_TEXT:
        raise GearsearchError(f"tolerance {shown(text)} cannot be read", f"write it as in {FORMS}")
    plain = text.replace("−", "-").replace("–", "-").replace("''", '"').strip()
    both = _EITHER_SIDE.match(plain)
    return plain[both.end() :] if both else plain


def _refuse_metres(amount: str, text: str) -> None:
    """Raise GearsearchError for a bare m, which is a minute among angles and a metre among lengths."""
    if _BARE_M.fullmatch(amount.lower()):
        minutes = re.sub("(?i)m", " min", amount.replace(" ", ""))
        raise GearsearchError(
            f"tolerance {shown(text)} could be in minutes of arc or in metres",
            f"write {minutes} for minutes of arc; for a length give it in mm, as in 0.02mm",
        )


def _is_angle(text: str) -> bool:
    return _ANGLE.search(text.strip().lower()) is not None


def _sides(amount: str, read: Callable[[str], Fraction], text: str) -> Interval:
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


def _angle(text: str) -> Fraction:
    try:
        return parse_angle(text, "tolerance")
    except GearsearchError as error:
        raise GearsearchError(error.message, f"write it as in {FORMS}") from None


def _length(unit: str) -> Callable[[str], Fraction]:
    def read(text: str) -> Fraction:
        try:
            return parse_length(text, unit, "tolerance")
        except GearsearchError as error:
            raise GearsearchError(error.message, f"write it as in {FORMS}") from None

    return read


def _rate(unit: str, each: str) -> Callable[[str], Fraction]:
    """Reads a length for each of another unit, as a share."""
    one, read = parse_length(f"1 {each}", unit, "length of the tolerance"), _length(unit)
    return lambda text: read(text) / one


def _lead(unit: str) -> Callable[[str], Fraction]:
    """Reads a length of lead; a fraction without a unit is refused, as many mean a share by it: 1 in 1000."""
    read = _length(unit)

    def parse(text: str) -> Fraction:
        size = read(text)
        if _FRACTION.fullmatch(text):
            share, length = parse_length(text), f"{text_of_length(size, unit)} for the length"
            raise GearsearchError(
                f"tolerance {shown(text)} could be a share of the lead or a length",
                f"write {text_of_share(share)} for the share, or {length}" if share < _HALF else f"write {length}",
            )
        return size

    return parse


def _share(text: str) -> Fraction:
    try:
        return parse_share(text, "tolerance")
    except GearsearchError as error:
        raise GearsearchError(error.message, f"write it as in {FORMS}") from None


def _or_nothing(read: Callable[[str], Fraction], text: str, number: str) -> Fraction:
    return Fraction(0) if re.fullmatch(r"0+\.?0*|\.0+", number) else read(text)


def open_ended(interval_mm: Interval, wanted_mm: Fraction) -> tuple[Fraction, Fraction | None]:
    """Shortest and longest lead that will do [mm], with None for a longest without end."""
    low, high = interval_mm
    return low, None if high >= NO_END * wanted_mm else high
