"""Tolerances as intervals of leads. All lengths are along the axis unless they are said to be around it."""

from __future__ import annotations

import re
from abc import ABC, abstractmethod
from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from typing import ClassVar

from ..base import require
from ..base.errors import GearsearchError
from ..base.pattern import Pattern
from ..base.register import Register
from ..base.units import LONGEST_TEXT, parse_angle, parse_length, parse_share, shown, text_of_length, text_of_share

Interval = tuple[Fraction, Fraction]
NO_END = 10**9  # times the wanted lead: the longest lead of an interval without end
# Where no tolerance says better, an error beyond the first is marked, and one beyond the second is no answer.
DOUBTFUL, HOPELESS = Fraction(1, 1000), Fraction(1, 100)

HALF = Fraction(1, 2)  # half of the whole tells no part from another: chosen here, no source
# An inch mark is one where the drift is below this share of its length: so few seconds of arc no work can be turned to.
_SURELY_INCHES = Fraction(1, 100)

_EITHER_SIDE = Pattern(r"(?:±|\+\s*/\s*-|\+-)\s*")
_OVER = Pattern(r"(.*\S)\s+(?:over|per)\s+(.*)", re.IGNORECASE)
_IN = Pattern(r"(.*[^\s0-9.¼-¾⅐-⅞]\.?)\s+in\s+([0-9.].*)", re.IGNORECASE)  # behind a number "in" is the inch
EACH = Pattern(r"(.*[^\s0-9.¼-¾⅐-⅞]\.?)(?:\s*/\s*|\s+per\s+)([a-zµ\"]+)\.?", re.IGNORECASE)
_FRACTION = Pattern(r"[^a-zµμ\"”″]*[/⁄¼-¾⅐-⅞]\s*[0-9]*\s*", re.IGNORECASE)
INCH_MARK, _BARE_M = Pattern(r'\s*["”“″]'), re.compile(r"[^a-zµμ°'′]*(?:[0-9.]\s*m\b[^a-zµμ°'′]*)+")
AROUND = Pattern(r"(.*\S)\s+around", re.IGNORECASE)
HELIX = Pattern(r"(.*\S)\s*\bhelix(?:\s+angle)?", re.IGNORECASE)
SHARE = Pattern(r"\s*(ppm|%|percent)$", re.IGNORECASE)
_ANGLE = Pattern(r"[°'′]|(?<![a-z])(?:d|deg\w*|(?:arc ?)?min\w*|s|(?:arc ?)?sec(?:ond)?s?|turns?)$|[0-9]m$")
_SIGNED = r"([+-])\s*([0-9.]+(?:/[0-9]+)?)"
_TWO_SIDES = Pattern(rf"{_SIGNED}\s*([^/+-]*?)\s*/?\s*{_SIGNED}\s*(.*)")


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


class ToleranceForm(ABC):
    """A form of tolerance: how it is written, the leads it allows, and what it measures.

    A module in ``work/tolerances`` with one subclass is all that it takes to have another. ``example`` is how it is
    written, for messages and help; ``rank`` is its turn in reading a text, ``told`` that in being told; ``by_diameter``
    says what it is where it means nothing without a diameter; ``or_seconds`` whether an inch mark in it could be one of
    seconds of arc; ``on_a_cam`` whether a cam, which is no helix, has such a tolerance; ``grows`` whether what it
    measures grows with the length of the cut.
    """

    name: ClassVar[str]
    example: ClassVar[str]
    rank: ClassVar[int]
    told: ClassVar[int] = 9
    by_diameter: ClassVar[str] = ""
    or_seconds: ClassVar[bool] = False
    on_a_cam: ClassVar[bool] = True
    grows: ClassVar[bool] = False

    def __init_subclass__(cls) -> None:
        if "name" in vars(cls):
            TOLERANCES.enter(cls.name, cls())

    @abstractmethod
    def reads(self, bare: str, unit: str, text: str) -> Reading | None:
        """What a text in plain marks tells; None where it is of another form. Raises GearsearchError for a doubt."""

    @abstractmethod
    def interval(self, tolerance: Tolerance, wanted_mm: Fraction, diameter_mm: Fraction | None) -> Interval:
        """Shortest and longest lead that will do [mm]."""

    def rate(
        self, tolerance: Tolerance, wanted_mm: Fraction, lead_mm: Fraction, diameter_mm: Fraction | None
    ) -> Fraction:
        """What it measures for each mm of the cut, where that grows with the cut."""
        raise NotImplementedError(self.name)

    def slip(self, _: Tolerance) -> tuple[Fraction, str] | None:
        """From which size on it is a slip, whatever the lead, and that size in words."""
        return None


TOLERANCES: Register[ToleranceForm] = Register(f"{__package__}.tolerances")


def in_proportion(tolerance: Tolerance, wanted_mm: Fraction, whole: Fraction) -> Interval:
    """The leads [mm] as far off as the tolerance is of a whole."""
    less, more = tolerance.less / whole, tolerance.more / whole
    return wanted_mm * max(1 - less, Fraction(0)), wanted_mm * (1 + more)


def turned(tolerance: Tolerance, wanted_mm: Fraction, around: Fraction) -> Interval:
    """The leads [mm] by which the work turns as far off as the tolerance, of which ``around`` is the whole turn."""
    turn = around * tolerance.length_mm / wanted_mm
    longest = wanted_mm * turn / (turn - tolerance.less) if turn > tolerance.less else wanted_mm * NO_END
    return wanted_mm * turn / (turn + tolerance.more), min(longest, wanted_mm * NO_END)


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
        require.one_of(self.form, tuple(TOLERANCES), "form of tolerance")
        sides = {"less": "lower side of a tolerance", "more": "upper side of a tolerance"}
        require.kept_exact(self, **sides, over_mm="length of a tolerance")
        require.not_below_zero({what: getattr(self, name) for name, what in sides.items()})
        require.above_zero({"length of a tolerance": self.over_mm})
        if self.grows != (self.over_mm is not None):
            trouble = "needs the length it belongs to" if self.grows else "belongs to no length"
            growing = ", ".join(name for name, form in TOLERANCES.items() if form.grows)
            raise GearsearchError(
                f"a tolerance of the form {self.form} {trouble}", f"give over_mm for just: {growing}", code="tolerance"
            )

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
        if not isinstance(text, str):
            raise GearsearchError(
                f"tolerance {shown(text)} ({type(text).__name__}) is no text",
                f"give it as in {spellings()}",
                code="wrong-type",
            )
        bare = bare_text(text)
        readings = (form.reads(bare, unit, text) for form in sorted(TOLERANCES.values(), key=lambda form: form.rank))
        return cls._of(next(reading for reading in readings if reading is not None), text)

    @classmethod
    def _of(cls, reading: Reading, text: str) -> Tolerance:
        less, more = sides(reading.amount, reading.read, text)
        if less == more == 0:
            raise GearsearchError(
                f"tolerance {shown(text)} allows nothing", f"write it as in {spellings()}", code="tolerance"
            )
        made = cls(reading.form, less, more, reading.over_mm, text)
        made._refuse_seconds(reading.amount)
        if (slip := made.kind.slip(made)) is not None:
            made.refuse_slip(*slip)
        return made

    @property
    def kind(self) -> ToleranceForm:
        """What sets its form apart."""
        return TOLERANCES[self.form]

    def _refuse_seconds(self, amount: str) -> None:
        mark = INCH_MARK.search(amount) and self.kind.or_seconds
        if mark and max(self.less, self.more) >= _SURELY_INCHES * (self.over_mm or 1):
            inches, seconds = (INCH_MARK.sub(name, amount) for name in (" in", "s"))
            over = "" if self.over_mm else " over a length"
            raise GearsearchError(
                f"tolerance {shown(self.text)} could be in inches or in seconds of arc",
                f"write {seconds}{over} for seconds of arc, or {inches} for inches",
                code="which-unit",
            )

    def refuse_slip(self, limit: Fraction, words: str) -> None:
        """Raise GearsearchError for a tolerance from ``limit`` on, which is ``words``: so large, it is a slip."""
        if max(self.less, self.more) >= limit:
            raise GearsearchError(
                f"tolerance {shown(self.text)} is {words} or more, to which no part is made",
                f"give how far off it may be, as in {spellings()}",
                code="tolerance",
            )

    @property
    def length_mm(self) -> Fraction:
        """The length it belongs to [mm], where its form has one."""
        assert self.over_mm is not None
        return self.over_mm

    @property
    def grows(self) -> bool:
        """Whether what it measures grows with the length of the cut."""
        return self.kind.grows

    @property
    def suits_a_cam(self) -> bool:
        """Whether a cam, which is no helix, can have such a tolerance."""
        return self.kind.on_a_cam

    def interval(self, wanted_mm: Fraction, diameter_mm: Fraction | None = None) -> Interval:
        """Shortest and longest lead that will do [mm]; exact, but for the tangent of a helix angle (a float's).

        Parameters
        ----------
        wanted_mm : wanted lead [mm]
        diameter_mm : the diameter of a helix angle or of a distance around [mm]

        Raises GearsearchError for these two without a diameter, for half of the wanted lead or half way round the work,
        and for a lead or a diameter that is not an exact number above zero. A turn is measured as
        360 ℓ (1/lead − 1/wanted): a long lead turns too little, so the interval reaches farther on the long side;
        without end (``NO_END`` times the wanted lead) where the whole turn over the length is inside it.
        """
        (wanted_mm,) = require.above_zero({"lead": wanted_mm}, given=True)
        (across,) = require.above_zero({"diameter": diameter_mm})
        return self.kind.interval(self, wanted_mm, across)

    def at(self, diameter_mm: Fraction | None) -> Fraction:
        """The diameter [mm] that it needs. Raises GearsearchError without one."""
        if diameter_mm is None:
            what = self.kind.by_diameter
            raise GearsearchError(
                f"tolerance {shown(self.text)} is {what}, which means nothing without its diameter",
                "give it too, as in --diameter 50mm",
                code="no-diameter",
            )
        return diameter_mm


def open_ended(interval_mm: Interval, wanted_mm: Fraction) -> tuple[Fraction, Fraction | None]:
    """Shortest and longest lead that will do [mm], with None for a longest without end."""
    low, high = interval_mm
    return low, None if high >= NO_END * wanted_mm else high


def spellings() -> str:
    """How every form is written, for messages and help."""
    *first, last = (form.example for form in sorted(TOLERANCES.values(), key=lambda form: form.told))
    return f"{', '.join(first)} or {last}"


def bare_text(text: str) -> str:
    """The text in plain marks, without the sign for both sides alike."""
    if len(text) > LONGEST_TEXT:
        raise GearsearchError(
            f"tolerance {shown(text)} cannot be read", f"write it as in {spellings()}", code="tolerance"
        )
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
            code="which-unit",
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
            code="tolerance",
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
                code="tolerance",
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
