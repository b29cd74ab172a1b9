"""The machine whose screw and work a train connects, and the routes by which the train reaches the work."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from fractions import Fraction
from math import inf
from typing import TYPE_CHECKING, ClassVar, TypeVar

from ..base import require
from ..base.errors import GearsearchError
from ..base.register import Register
from ..base.units import decimal
from .dial import Dial
from .trains import HANDS, Train, hand_of

if TYPE_CHECKING:
    from .head import Dividing

T = TypeVar("T")

HANDS_WITH_ONE_STUD = (*HANDS, "either")
ANY_ROUTE = "any"  # stands for every route of a shop
_BEYOND_ANY_RATIO = Fraction(10**30)


@dataclass(frozen=True, slots=True)
class Route:
    """One way the train reaches the work: a route of the shop file or, where a gearbox is in it, one of its levers.

    Parameters
    ----------
    name : as the shop calls it
    ratio : mill: turns of the train's last shaft for one turn of the work; lathe: turns of the train's first
        shaft for one turn of the spindle
    hand_with_one_stud : hand cut with one stud between the shafts, found by turning by hand; None: not yet found;
        ``either``: a lever reverses the train, whatever its studs
    step_up_warning : warn when the last shaft of the train turns more than this many times as fast as the first; the
        route's own ratio is not in it
    lever : the position of the gearbox's lever that gives this ratio; empty where the route has none

    Raises GearsearchError for a number that is not exact or not above zero, and for a hand that is not known.
    """

    name: str
    ratio: Fraction
    hand_with_one_stud: str | None = None
    step_up_warning: Fraction | None = None
    lever: str = ""

    def __post_init__(self) -> None:
        require.text(self.name, "the name of a route")
        if self.lever:
            require.text(self.lever, "the position of a lever")
        if self.name == ANY_ROUTE:
            raise GearsearchError(
                f"a route cannot be called {ANY_ROUTE}", "that word asks for every route", code="reserved-name"
            )
        require.keep(self, require.above_zero, "ratio")
        require.keep(self, require.above_zero, "step_up_warning", given=False)
        if self.hand_with_one_stud is not None:
            require.one_of(self.hand_with_one_stud, HANDS_WITH_ONE_STUD, "hand_with_one_stud")

    def is_like(self, other: Route) -> bool:
        """Whether it differs from another in the position of the lever alone, or in nothing."""
        return replace(self, lever="") == replace(other, lever="")

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
                code="hand-not-known",
            )
        return pairs - 1 + (hand_of(pairs - 1, self.hand_with_one_stud, hand) != hand)

    @property
    def call(self) -> str:
        """What names this way alone when it is asked for: ``worm``, ``gearbox:B``."""
        return f"{self.name}:{self.lever}" if self.lever else self.name

    @property
    def label(self) -> str:
        """What people read: ``worm``, ``gearbox, lever B``."""
        return f"{self.name}, lever {self.lever}" if self.lever else self.name

    @property
    def has_lever(self) -> bool:
        """Whether a lever of the machine reverses the train."""
        return self.hand_with_one_stud == "either"

    @property
    def turns_the_hand(self) -> str:
        """What makes the other hand of a train that is on."""
        return "turn the reversing lever" if self.has_lever else "one idler more or fewer turns the hand"

    def warns_of(self, step_up: Fraction) -> bool:
        """Whether the last shaft turns faster, by more than the route's warning, than the first."""
        return self.step_up_warning is not None and step_up > self.step_up_warning

    def takes_power(self, step_up: Fraction) -> bool:
        """Whether the first shaft may drive the train under power: it steps up by no more than is warned of."""
        return step_up <= max(Fraction(1), self.step_up_warning or Fraction(1))


@dataclass(frozen=True, slots=True)
class Machine(ABC):
    """The machine whose screw and work the train connects; each kind of machine is a class of its own.

    Parameters
    ----------
    screw_lead_mm : travel for one turn of the screw [mm]
    routes : at least one; the first is the default
    screw_accuracy : relative error of the screw (1/10000 is 100 ppm), None where not measured
    backlash_mm : backlash of the table at its dial [mm], None where not measured
    dial : the chasing dial of a machine that can have one, None without

    Raises GearsearchError for a machine of no kind, a number that is not exact or below what it can be, and no route,
    or two of one name; for a dial on a machine that has none.

    A kind is a module in ``machines`` with a class that has the names below and the methods that are abstract here;
    its ``kind`` is what the shop file calls it.
    """

    kind: ClassVar[str]
    screw: ClassVar[str]  # what its screw is called
    work: ClassVar[str]  # what turns once in a lead
    first_shaft: ClassVar[str]  # the shaft of the first driver
    work_side: ClassVar[str]  # the end of the train whose gear turns with the work: ``first`` or ``last``
    work_shaft: ClassVar[str]  # where that gear is
    work_gear: ClassVar[str]  # which gear of the train that is
    divisions: ClassVar[str]  # what stands side by side on the work
    own_cautions: ClassVar[tuple[str, ...]]  # what a sheet warns of beside what it warns of on every machine
    first_cut: ClassVar[str]
    has_head: ClassVar[bool]  # whether the work is on a dividing head, that can be cranked and tilted
    has_cutter: ClassVar[bool]  # whether a milling cutter cuts, and the table is swung and fed for it
    when_stepped_up: ClassVar[str]  # how a train is turned that steps up beyond what its route warns of
    counts_threads: ClassVar[bool]  # whether leads are printed as threads per inch too
    has_dial: ClassVar[bool]  # whether half nuts close on its screw, by a chasing dial where there is one

    screw_lead_mm: Fraction
    routes: tuple[Route, ...]
    screw_accuracy: Fraction | None = None
    backlash_mm: Fraction | None = None
    dial: Dial | None = None

    def __init_subclass__(cls) -> None:
        if "kind" in vars(cls):
            MACHINES.enter(cls.kind, cls)

    def __new__(cls, *_: object, **__: object) -> Machine:
        """Refuse what is no kind of machine in a sentence."""
        if cls is Machine:
            kinds = " or ".join(f"{kind.__name__}(screw_lead_mm, routes)" for kind in MACHINES.values())
            raise GearsearchError("a machine is always of some kind", f"make it with {kinds}")
        return object.__new__(cls)

    def __post_init__(self) -> None:
        require.keep(self, require.above_zero, "screw_lead_mm")
        require.keep(self, require.not_below_zero, "screw_accuracy", "backlash_mm", given=False)
        require.instance(self.dial, Dial, "dial", "make it with Dial(teeth, marks)")
        if self.dial and not self.has_dial:
            raise GearsearchError(f"a {self.kind} has no chasing dial", "leave it out")
        for route in self.routes:
            require.instance(route, Route, "route of a machine", "make it with Route(name, ratio)", given=True)
        self._check_names()

    def _check_names(self) -> None:
        names = [route.call for route in self.routes]
        if not names:
            raise GearsearchError("a machine without a route drives nothing", "give at least one Route")
        plain = {route.name for route in self.routes if route.lever}
        if len(set(names)) < len(names) or plain & set(names):
            raise GearsearchError(f"two routes of {', '.join(names)} have one name", "give each its own")

    @abstractmethod
    def lead_sides(self, driven: T, drivers: T) -> tuple[T, T]:
        """What the lead is multiplied by, and what it is divided by, of the driven gears and the drivers."""

    @classmethod
    def cautions(cls) -> tuple[str, ...]:
        """What every sheet carries; they defer to the manual, to local rules and to qualified people."""
        return (_ISOLATE, *cls.own_cautions, *_AT_LAST)

    def work_turns(self, route: Route) -> Fraction:
        """Turns of the gear that turns with the work for one turn of the work."""
        return route.ratio

    def multiple(self, route: Route, starts: int) -> int:
        """What the count of the gear that indexes the starts by its teeth must be a multiple of.

        From one start to the next it goes on by teeth × its turns for one of the work / starts, which must be whole: a
        lathe's first driver, and a mill's last gear where the worm is out of mesh.
        """
        return (starts / self.work_turns(route)).numerator

    def cost(self, route: Route, head: Dividing | None) -> str:
        """What a route takes away that another of the machine has, in a few words; empty where nothing."""
        return ""

    def work_teeth(self, train: Train) -> int:
        """The teeth of the gear that turns with the work."""
        return train.drivers[0] if self.work_side == "first" else train.driven[-1]

    @abstractmethod
    def last_shaft(self, route: Route) -> str:
        """What the shaft of the last driven gear is called."""

    @abstractmethod
    def engaging(self, route: Route, head: Dividing | None) -> str:
        """What is put in and taken out of mesh, locked and set free before the train is turned."""

    @abstractmethod
    def turning(self, route: Route, step_up: Fraction) -> Iterator[str]:
        """How the train steps and what it is turned by, as sentences; what matters most is strong.

        Parameters
        ----------
        route : the route; what its ``step_up_warning`` warns of is the train alone: the loose gears bind, and those of
            the route are the machine's own
        step_up : turns of the train's last shaft for one of its first
        """

    @abstractmethod
    def hand_test(self, route: Route, hand: str | None) -> str:
        """How the hand is seen before the first cut; None where it is not known, or left to the reversing lever."""

    def catching(self, lead_mm: Fraction, starts: int, unit: str) -> Iterator[str]:
        """How the tool comes back into its groove for the next cut, as sentences; none where nothing is opened for it.

        Parameters
        ----------
        lead_mm : lead that is cut [mm], of all starts
        starts : threads side by side
        unit : ``mm`` or ``in``, in which a distance is told first
        """
        return iter(())

    def through_worm(self, route: Route, head: Dividing | None) -> bool | None:
        """Whether a route goes through the worm of the head; None: it cannot be told."""
        return False

    def by_teeth(self, route: Route, head: Dividing | None) -> bool:
        """Whether starts are indexed by the teeth of ``work_gear``, and in no other way."""
        return False

    def ratio_doubt(self, route: Route, head: Dividing | None) -> str:
        """What makes the route's ratio doubtful beside that of the dividing head; empty where nothing does."""
        return ""


_ISOLATE = "Isolate the machine while gears are changed or meshed; guard the gears before it runs again."
_AT_LAST = (
    "Keep hair, sleeves and rags away from open gears.",
    "The machine's manual, local rules and qualified people come before this sheet.",
)
MACHINES: Register[type[Machine]] = Register(f"{__package__}.machines")


@dataclass(frozen=True, slots=True)
class Drive:
    """A machine driven by one of its routes: the lead that a ratio of change gears cuts, and the other way round.

    Parameters
    ----------
    machine, route : the machine and its route
    lead_of_machine_mm : lead with 1:1 gears [mm]: screw lead × route ratio

    A ratio is the product of the driven over the product of the drivers; formulas and sources are those of the
    machine's kind.
    """

    machine: Machine
    route: Route
    lead_of_machine_mm: Fraction = field(init=False)

    def __post_init__(self) -> None:
        require.instance(self.machine, Machine, "machine of a drive", "give that of a shop", given=True)
        require.instance(self.route, Route, "route of a drive", "give one of the machine's", given=True)
        object.__setattr__(self, "lead_of_machine_mm", self.machine.screw_lead_mm * self.route.ratio)

    def lead_mm(self, ratio: Fraction) -> Fraction:
        """The lead [mm] of a ratio."""
        over, under = self.machine.lead_sides(ratio, Fraction(1))
        lead_mm = self.lead_of_machine_mm * over
        return lead_mm if under == 1 else lead_mm / under

    def ratio(self, lead_mm: Fraction) -> Fraction:
        """The ratio of a lead [mm]."""
        over, under = self.machine.lead_sides(lead_mm, self.lead_of_machine_mm)
        return over / under

    def ratios(self, low_mm: Fraction, high_mm: Fraction) -> tuple[Fraction, Fraction]:
        """The least and the greatest ratio of a window of leads [mm], whose lower end may be zero."""
        ends = [self.machine.lead_sides(lead, self.lead_of_machine_mm) for lead in (low_mm, high_mm)]
        least, greatest = sorted(over / under if under else _BEYOND_ANY_RATIO for over, under in ends)
        return least, greatest

    def leads_mm(self, low: Fraction, high: Fraction) -> tuple[Fraction, Fraction]:
        """The shortest and the longest lead [mm] of a window of ratios, both above zero."""
        shortest, longest = sorted((self.lead_mm(low), self.lead_mm(high)))
        return shortest, longest

    @property
    def is_inverse(self) -> bool:
        """Whether the lead falls as the ratio rises."""
        return self.machine.lead_sides(1, 0) == (0, 1)

    def lead_share(self, ratio: T, wanted: T) -> T:
        """The lead of a ratio over that of another, exact or in floats, as they are given."""
        over, under = self.machine.lead_sides(ratio, wanted)
        return over / under  # type: ignore[operator,no-any-return]

    def around(self, ratio: float, share: float) -> tuple[float, float]:
        """The ratios whose leads miss that of a ratio by no more than a share of it; the greatest may be infinite."""
        ends = [self.machine.lead_sides(part, 1.0) for part in (1 - share, 1 + share)]
        low, high = sorted(ratio * over / under if under > 0 else inf for over, under in ends)
        return low, high


def is_even(speed: Fraction) -> bool:
    """Whether a ratio of speeds would read as 1, which is no step worth a figure."""
    return decimal(max(speed, 1 / speed)) == "1"


def equally(speed: Fraction) -> str:
    """How alike two speeds are that read as equal."""
    return "equally" if speed == 1 else "as good as equally"
