"""A lathe's chasing dial: where the half nuts may close again, so that the tool falls into the groove it has cut.

The half nuts close at every thread of the lead screw, so the carriage can only slip by whole pitches of the lead screw
against where it would be had they stayed closed. The tool is in its groove again where that slip is a whole number of
leads of the thread. While the nuts are open the dial's wheel counts the slip, one tooth for each pitch; while they are
closed it stands still.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction

from ..base import require

MOST_TEETH, MOST_MARKS, MOST_SCREW_STARTS = 1000, 100, 12
MOST_TURNS = 4  # that anyone counts without losing count, with the spindle turning; common practice, no source


@dataclass(frozen=True, slots=True)
class Dial:
    """A chasing dial.

    Parameters
    ----------
    teeth : of its wheel, which runs in the lead screw; several where one wheel is put on for another
    marks : lines on its face, evenly spaced and numbered from 1
    screw_starts : threads side by side on the lead screw; the half nuts close on every one

    Raises GearsearchError for what is no number of teeth (1 to 1000), marks (1 to 100) or starts (1 to 12).
    """

    teeth: int | tuple[int, ...]
    marks: int
    screw_starts: int = 1

    def __post_init__(self) -> None:
        given = self.teeth if isinstance(self.teeth, tuple) and self.teeth else (self.teeth,)
        wheels = tuple(require.whole(teeth, MOST_TEETH, "teeth of the dial's wheel") for teeth in given)
        object.__setattr__(self, "teeth", wheels if isinstance(self.teeth, tuple) else wheels[0])
        object.__setattr__(self, "marks", require.whole(self.marks, MOST_MARKS, "marks on the dial"))
        starts = require.whole(self.screw_starts, MOST_SCREW_STARTS, "starts of the lead screw")
        object.__setattr__(self, "screw_starts", starts)

    @property
    def wheels(self) -> tuple[int, ...]:
        """The teeth of each wheel that can be put on."""
        return self.teeth if isinstance(self.teeth, tuple) else (self.teeth,)

    def rule(self, screw_lead_mm: Fraction, lead_mm: Fraction) -> DialRule:
        """Which marks will do for a thread, with the wheel that makes it easiest.

        Parameters
        ----------
        screw_lead_mm : travel for one turn of the lead screw [mm]
        lead_mm : lead that the gears cut [mm]; of a thread of several starts, all of them

        Raises UnitError for what is no exact length above zero.

        >>> Dial(16, 8).rule(Fraction("25.4") / 8, Fraction("25.4") / 13).marks
        (1, 5)
        """
        back = return_by(screw_lead_mm, lead_mm, self.screw_starts)
        passed = back.screw_threads * self.marks
        return min((DialRule(self, back, passed // math.gcd(teeth, passed), teeth) for teeth in self.wheels), key=_ease)


@dataclass(frozen=True, slots=True)
class Return:
    """The least distance that brings half nuts and tool into their threads together.

    Parameters
    ----------
    distance_mm : how far the carriage goes back, or any multiple of it, with the spindle at rest
    screw_threads : the same in threads of the lead screw
    grooves : and in leads of the thread that is cut
    """

    distance_mm: Fraction
    screw_threads: int
    grooves: int


def return_by(screw_lead_mm: Fraction, lead_mm: Fraction, screw_starts: int = 1) -> Return:
    """How far the carriage goes back to a stop on a lathe without a dial: the nuts opened at the end of the cut with
    the spindle at rest, the carriage brought to the stop by hand, the nuts closed.

    Parameters
    ----------
    screw_lead_mm : travel for one turn of the lead screw [mm]
    lead_mm : lead that the gears cut [mm]
    screw_starts : threads side by side on the lead screw

    Raises UnitError for what is no exact length above zero. Source of the method: Franklin D. Jones, Turning and
    Boring, Industrial Press, 1914, on returning the carriage by hand; the number is the least common multiple.
    """
    named = {"lead of the lead screw": screw_lead_mm, "lead": lead_mm}
    screw, lead = require.above_zero(named, given=True)
    pitch = screw / screw_starts
    shared = pitch / lead
    return Return(pitch * shared.denominator, shared.denominator, shared.numerator)


@dataclass(frozen=True, slots=True)
class DialRule:
    """Where on the dial the half nuts may close again for one thread.

    Parameters
    ----------
    dial : the dial
    back : least slip of the carriage that keeps the tool in its groove
    step : marks from one that will do to the next, however many turns of the dial that is
    teeth : of the wheel that is on
    """

    dial: Dial
    back: Return
    step: int
    teeth: int

    @property
    def code(self) -> str:
        """What kind of rule it is.

        ``anywhere``: wherever the nuts close; ``any-mark``; ``marks``: only some, named in ``marks``; ``same-mark``;
        ``count``: only by counting marks from where the nuts opened; ``never``: keep them closed and reverse.
        """
        if self.back.screw_threads == 1:
            return "anywhere"
        if self.step == self.dial.marks:
            return "same-mark"
        if self.dial.marks % self.step == 0:
            return "any-mark" if self.step == 1 else "marks"
        return "count" if self.step <= MOST_TURNS * self.dial.marks else "never"

    @property
    def marks(self) -> tuple[int, ...]:
        """The marks that will do by their number alone, if the first cut began at mark 1; empty where none does.

        Begun at another mark, as many marks on.
        """
        return tuple(range(1, self.dial.marks + 1, self.step)) if self.dial.marks % self.step == 0 else ()

    @property
    def turns(self) -> int:
        """Turns of the dial after which the same mark will do."""
        return math.lcm(self.step, self.dial.marks) // self.dial.marks

    @property
    def text(self) -> str:
        """The rule in one sentence."""
        swapped = len(self.dial.wheels) > 1 and self.code not in ("anywhere", "never")
        return (f"with the wheel of {self.teeth} teeth, " if swapped else "") + _WORDS[self.code](self)

    @property
    def short(self) -> str:
        """The rule in a word or two, for a table; behind it the wheel, where there are several."""
        swapped = len(self.dial.wheels) > 1 and self.code not in ("anywhere", "never")
        return self._shortly + (f" ({self.teeth}T)" if swapped else "")

    @property
    def _shortly(self) -> str:
        if self.code == "marks":
            return f"every {_ordinal(self.step)}" if len(self.marks) > 3 else ", ".join(map(str, self.marks))
        return {"anywhere": "anywhere", "any-mark": "any mark", "same-mark": "same mark", "never": "closed"}.get(
            self.code, f"count {self.step}"
        )

    def next_start(self, starts: int) -> int | None:
        """Marks to pass for the next groove of a thread of several starts, without touching the gears.

        Parameters
        ----------
        starts : threads side by side, 2 or more

        The same number again and again comes to every start once. None where no mark within four turns does it.
        Raises GearsearchError for one start.
        """
        starts = require.whole(starts, 1000, "starts", least=2)
        per_mark = Fraction(self.teeth, self.dial.marks)
        per_thread = Fraction(self.back.grooves * starts, self.back.screw_threads)  # starts to one screw thread
        for marks in range(1, min(self.step, MOST_TURNS * self.dial.marks + 1)):
            slip = marks * per_mark
            moved = slip * per_thread
            if slip.denominator == moved.denominator == 1 and math.gcd(int(moved), starts) == 1:
                return marks
        return None

    def wander_mm(self, error: Fraction) -> Fraction:
        """How far the tool stands off its groove after one turn of the dial with the nuts open [mm].

        Parameters
        ----------
        error : relative error of the lead that is cut, where this rule is that of the wanted lead: cut / wanted - 1

        Above zero where the grooves are too far apart. It grows with every turn; reversing with the nuts closed has
        none.
        """
        (error,) = require.exact({"error": error}, given=True)
        return self.back.distance_mm / self.back.screw_threads * self.teeth * error


_EASE = ("anywhere", "any-mark", "marks", "same-mark", "count", "never")


def _ease(rule: DialRule) -> tuple[int, int]:
    """The easier rule is the lesser, the wheel that is named first among equals."""
    return _EASE.index(rule.code), rule.step


def _of_marks(rule: DialRule) -> str:
    *first, last = map(str, rule.marks)
    numbers = f"{', '.join(first)} and {last}"
    if rule.step == 2 and rule.dial.marks > 4:
        return f"every 2nd mark: {numbers} if you began at 1"
    return f"marks {numbers} only, if you began at 1"


def _of_count(rule: DialRule) -> str:
    turns, rest = divmod(rule.step, rule.dial.marks)
    if not rest:
        return f"the same mark after {turns} turns of the dial, counted from where the nuts opened"
    same = f"the same mark after {rule.turns} turn{'' if rule.turns == 1 else 's'}"
    return f"every {_ordinal(rule.step)} mark counted from where the nuts opened; {same} of the dial"


def _ordinal(number: int) -> str:
    ending = {1: "st", 2: "nd", 3: "rd"}.get(number % 10, "th") if number % 100 not in (11, 12, 13) else "th"
    return f"{number}{ending}"


_WORDS: dict[str, Callable[[DialRule], str]] = {
    "anywhere": lambda _: "close the half nuts anywhere",
    "any-mark": lambda _: "any mark",
    "marks": _of_marks,
    "same-mark": lambda _: "the same mark only",
    "count": _of_count,
    "never": lambda _: "never open the half nuts: reverse the lathe",
}
