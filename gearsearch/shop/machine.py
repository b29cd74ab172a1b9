"""The machine whose screw and work a train connects, and the routes by which the train reaches the work."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from ..base import require
from ..base.errors import GearsearchError
from .trains import HANDS, hand_of

KINDS_OF_MACHINE = ("mill", "lathe")
HANDS_WITH_ONE_STUD = (*HANDS, "either")
_BEYOND_ANY_RATIO = Fraction(10**30)


@dataclass(frozen=True, slots=True)
class Route:
    """One way the train reaches the work.

    Parameters
    ----------
    name : as the shop calls it
    ratio : mill: turns of the train's last shaft for one turn of the work; lathe: turns of the train's first
        shaft for one turn of the spindle
    hand_with_one_stud : hand cut with one stud between the shafts, found by turning by hand; None: not yet found;
        ``either``: a lever reverses the train, whatever its studs
    step_up_warning : warn when the last shaft of the train turns more than this many times as fast as the first; the
        route's own ratio is not in it

    Raises GearsearchError for a number that is not exact or not above zero, and for a hand that is not known.
    """

    name: str
    ratio: Fraction
    hand_with_one_stud: str | None = None
    step_up_warning: Fraction | None = None

    def __post_init__(self) -> None:
        require.text(self.name, "the name of a route")
        require.keep(self, require.above_zero, "ratio")
        require.keep(self, require.above_zero, "step_up_warning", given=False)
        if self.hand_with_one_stud is not None:
            require.one_of(self.hand_with_one_stud, HANDS_WITH_ONE_STUD, "hand_with_one_stud")

    def fewest_studs(self, pairs: int, hand: str) -> int:
        """The fewest studs of a train of so many pairs: one less than pairs, one more where the hand takes an idler.

        Parameters
        ----------
        pairs : at least 1
        hand : ``right``, ``left`` or ``either``

        Raises GearsearchError where a hand is asked for and the shop file does not say which one the route cuts.
        """
        if hand == "either":
            return pairs - 1
        if self.hand_with_one_stud is None:
            raise GearsearchError(
                f"the shop file does not say which hand the route {self.name} cuts",
                "put on a train with one stud, turn it through by hand once, and write the hand as hand_with_one_stud",
            )
        return pairs - 1 + (hand_of(pairs - 1, self.hand_with_one_stud, hand) != hand)

    def multiple(self, starts: int) -> int:
        """What the count of the gear that indexes the starts by its teeth must be a multiple of.

        From one start to the next it goes on by teeth × its turns for one of the work / starts, which must be whole: a
        lathe's first driver, and a mill's last gear where the worm is out of mesh.
        """
        return (starts / self.ratio).numerator


@dataclass(frozen=True, slots=True)
class Machine:
    """The machine whose screw and work the train connects.

    Parameters
    ----------
    kind : ``mill`` (the table screw drives the work) or ``lathe`` (the spindle drives the lead screw)
    screw_lead_mm : travel for one turn of the screw [mm]
    routes : at least one; the first is the default
    screw_accuracy : relative error of the screw (1/10000 is 100 ppm), None where not measured
    backlash_mm : lost motion of the table at its dial [mm], None where not measured

    Raises GearsearchError for another kind of machine, a number that is not exact or below what it can be, and no
    route, or two of one name.
    """

    kind: str
    screw_lead_mm: Fraction
    routes: tuple[Route, ...]
    screw_accuracy: Fraction | None = None
    backlash_mm: Fraction | None = None

    def __post_init__(self) -> None:
        require.one_of(self.kind, KINDS_OF_MACHINE, "the kind of machine")
        require.keep(self, require.above_zero, "screw_lead_mm")
        require.keep(self, require.not_below_zero, "screw_accuracy", "backlash_mm", given=False)
        for route in self.routes:
            require.instance(route, Route, "route of a machine", "make it with Route(name, ratio)", given=True)
        names = [route.name for route in self.routes]
        if not names:
            raise GearsearchError("a machine without a route drives nothing", "give at least one Route")
        if len(set(names)) < len(names):
            raise GearsearchError(f"two routes of {', '.join(names)} have one name", "give each its own")


@dataclass(frozen=True, slots=True)
class Drive:
    """A machine driven by one of its routes: the lead that a ratio of change gears cuts, and the other way round.

    Parameters
    ----------
    kind : ``mill`` or ``lathe``
    lead_of_machine_mm : lead with 1:1 gears [mm]: screw lead × route ratio

    A ratio is the product of the driven over the product of the drivers, exact or float. Mill: lead of the machine ×
    ratio (Practical Treatise on Milling and Milling Machines, Brown & Sharpe, 1914, p. 62). Lathe: lead of the
    machine / ratio.
    """

    kind: str
    lead_of_machine_mm: Fraction

    def __post_init__(self) -> None:
        require.one_of(self.kind, KINDS_OF_MACHINE, "the kind of machine")
        require.keep(self, require.above_zero, "lead_of_machine_mm")

    @property
    def is_mill(self) -> bool:
        """Whether a greater ratio gives a longer lead."""
        return self.kind == "mill"

    def lead_mm(self, ratio: Fraction) -> Fraction:
        """The lead [mm] of a ratio."""
        return self.lead_of_machine_mm * ratio if self.is_mill else self.lead_of_machine_mm / ratio

    def ratio(self, lead_mm: Fraction) -> Fraction:
        """The ratio of a lead [mm]."""
        return lead_mm / self.lead_of_machine_mm if self.is_mill else self.lead_of_machine_mm / lead_mm

    def ratios(self, low_mm: Fraction, high_mm: Fraction) -> tuple[Fraction, Fraction]:
        """The least and the greatest ratio of a window of leads [mm], whose lower end may be zero."""
        if self.is_mill:
            return self.ratio(low_mm), self.ratio(high_mm)
        return self.ratio(high_mm), self.ratio(low_mm) if low_mm else _BEYOND_ANY_RATIO

    def leads_mm(self, low: Fraction, high: Fraction) -> tuple[Fraction, Fraction]:
        """The shortest and the longest lead [mm] of a window of ratios, both above zero."""
        shortest, longest = sorted((self.lead_mm(low), self.lead_mm(high)))
        return shortest, longest
