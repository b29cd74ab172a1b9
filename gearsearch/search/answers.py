"""What is asked of the search and what it answers: requests, leads, fits."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from functools import partial
from typing import TYPE_CHECKING, Any

from ..base import require
from ..base.errors import GearsearchError
from ..base.units import GREATEST_RATIO, LEAST_RATIO, shown
from ..shop.machine import Route
from ..shop.shop import Shop
from ..shop.trains import HANDS, MOST_PAIRS, Train
from ..work.leads import HOW_WANTED, WantedLead
from ..work.tolerance import DOUBTFUL, HOPELESS, Tolerance

if TYPE_CHECKING:
    from ..mounting.judge import Judge, Placement, Verdict
    from ..shop.train_columns import Trains

ORDERS = ("closest", "easiest")
MOUNTING = ("must", "show", "skip")
MOST_ANSWERS = 1000
PAIRS_TO_GIVE = f"give 1 to {MOST_PAIRS} pairs, as in --pairs 3 (at most) or --pairs 2-3"


@dataclass(frozen=True, slots=True)
class Request:
    """What is asked of the search.

    Parameters
    ----------
    wanted_mm : wanted lead [mm]
    route : name of the route; None for the shop's first
    hand : ``right``, ``left`` or ``either``
    pairs : (least, most) pairs of a train, 1 to 4
    count : how many answers, 1 to 1000
    order : ``closest`` by error, or ``easiest``: fewest gears among those inside the tolerance
    mounting : ``must`` (only trains that mount), ``show`` (others too, with the reason), ``skip`` (not judged);
        None: ``must`` where the shop file has a quadrant to judge by, else ``show``
    use : tooth counts that every train must have as driver or driven
    without : tooth counts in use elsewhere, one gear for each time a count is named
    greatest_pair_ratio : no pair may step more than this, up or down; 1 or more
    greatest_step_up : the last shaft may turn at most this many times as fast as the first
    starts : the count of the gear by whose teeth the work is indexed must be a multiple of this: on a mill the last, by
        the route straight on the spindle, on a lathe the first
    tolerance_mm : (shortest, longest) lead that will do [mm], with the wanted lead between them
    cam_mm : rise of a cam in one turn [mm], where the head may be tilted for it; None where that would not help

    Raises GearsearchError for what cannot be searched for, and for a number that is neither int nor Fraction.
    """

    wanted_mm: Fraction
    route: str | None = None
    hand: str = "either"
    pairs: tuple[int, int] = (1, 2)
    count: int = 10
    order: str = "closest"
    mounting: str | None = None
    use: tuple[int, ...] = ()
    without: tuple[int, ...] = ()
    greatest_pair_ratio: Fraction | None = None
    greatest_step_up: Fraction | None = None
    starts: int = 1
    tolerance_mm: tuple[Fraction, Fraction] | None = None
    cam_mm: Fraction | None = None

    @classmethod
    def of(cls, shop: Shop, wanted: WantedLead, tolerance: Tolerance | None = None, **terms: Any) -> Request:
        """The request for a wanted lead on a shop's machine, with all that follows from the two.

        Parameters
        ----------
        shop : whose machine
        wanted : the lead, its starts, and whether a cam may be meant
        tolerance : what the lead on the work may be off; None: not known
        terms : the other parameters of the class: ``route``, ``hand``, ``pairs``, ``count``, ``order`` and so on

        By a route straight on the head spindle, several starts are indexed by the teeth of the last gear, whose count
        must then be a multiple of them (Practical Treatise on Milling and Milling Machines, Brown & Sharpe, 1914,
        p. 63). Raises GearsearchError as the class, for a route that is not there, and as ``WantedLead.geared``.
        """
        require.instance(wanted, WantedLead, "wanted lead", HOW_WANTED, given=True)
        route, machine = shop.route(terms.get("route")), shop.machine
        return cls(
            wanted.lead_mm,
            starts=route.multiple(wanted.starts) if machine.by_teeth(route, shop.dividing) else 1,
            tolerance_mm=None if tolerance is None else wanted.geared(tolerance),
            cam_mm=wanted.work_lead_mm if machine.has_head and wanted.may_be_cam else None,
            **terms,
        )

    def tilts_to(self, lead_mm: Fraction) -> bool:
        """Whether the head is tilted for a cam, and can be tilted so that gears of that lead make it exact."""
        return self.cam_mm is not None and self.cam_mm < self.wanted_mm and self.cam_mm <= lead_mm

    @property
    def limits(self) -> list[str]:
        """What keeps trains out that the gears could make, in words."""
        named = {
            "greatest step-up": self.greatest_step_up,
            "greatest pair ratio": self.greatest_pair_ratio,
            "without": " ".join(map(str, self.without)),
            "use": " ".join(map(str, self.use)),
        }
        return [f"{name} {value}" for name, value in named.items() if value]

    def __post_init__(self) -> None:
        self._check_numbers()
        keep = partial(object.__setattr__, self)
        keep("pairs", pairs_of(self.pairs))
        keep("count", require.whole(self.count, MOST_ANSWERS, "answers"))
        keep("starts", require.whole(self.starts, None, "starts"))
        keep("use", require.whole_numbers(self.use, "gears to use"))
        keep("without", require.whole_numbers(self.without, "gears to do without"))
        require.one_of(self.hand, (*HANDS, "either"), "the hand")
        require.one_of(self.order, ORDERS, "the order")
        if self.mounting is not None:
            require.one_of(self.mounting, MOUNTING, "mounting")

    def _check_numbers(self) -> None:
        ratios = {"greatest_pair_ratio": "greatest ratio in one pair", "greatest_step_up": "greatest step-up"}
        require.kept_exact(self, wanted_mm="lead", cam_mm="rise of a cam", **ratios)
        require.above_zero({"rise of a cam": self.cam_mm})
        _require(self.wanted_mm > 0, f"a lead of {self.wanted_mm} mm", "give a lead longer than zero")
        step, step_up = self.greatest_pair_ratio, self.greatest_step_up
        _require(step is None or step >= 1, f"a greatest ratio in one pair of {step}", "give 1 or more, as in 4 or 4:1")
        able = step_up is None or LEAST_RATIO <= step_up <= GREATEST_RATIO
        _require(able, f"a greatest step-up of {shown(step_up)}", "give 0.000000001 to 1 000 000 000")
        if self.tolerance_mm is not None:
            low, high = require.two(self.tolerance_mm, "leads that will do")
            named = {"shortest lead that will do": low, "longest lead that will do": high}
            low, high = require.exact(named, given=True)
            require.holds(low, high, self.wanted_mm)
            object.__setattr__(self, "tolerance_mm", (low, high))


def pairs_of(pairs: object) -> tuple[int, int]:
    """(least, most) pairs of a train, as given. Raises GearsearchError unless they are whole numbers from 1 to 4."""
    return require.span(pairs, MOST_PAIRS, "pairs of a train", "{} pairs cannot be searched for", PAIRS_TO_GIVE)


@dataclass(frozen=True, slots=True)
class Solution:
    """One answer: the best train of one lead.

    Parameters
    ----------
    train : its gears in power order, idlers included
    lead_mm : lead it cuts [mm], exact
    error : lead / wanted − 1, exact
    hand : hand it cuts; None where the shop file does not say which
    route : name of the route
    mounts : ``yes`` (by the quadrant's geometry), ``rule`` (by the rule of thumb only), ``no``, ``unknown``
    why : the reason of a no, or what limits a yes
    clearance_mm : tightest gap [mm], None where no geometry was judged
    placement : where each stud goes, where geometry was judged
    same_lead : how many other gear sets give exactly this lead, before mounting is judged
    within : whether the lead is inside the tolerance; None without one
    """

    train: Train
    lead_mm: Fraction
    error: Fraction
    hand: str | None
    route: str
    mounts: str
    why: str = ""
    clearance_mm: float | None = None
    placement: Placement | None = None
    same_lead: int = 0
    within: bool | None = None

    @classmethod
    def of(
        cls,
        judged: Verdict,
        lead_mm: Fraction,
        wanted_mm: Fraction | None,
        route: str,
        interval_mm: tuple[Fraction, Fraction] | None = None,
    ) -> Solution:
        """The answer for a train as it was judged, with no error where no lead is wanted."""
        return cls(
            train=judged.train,
            lead_mm=lead_mm,
            error=Fraction(0) if wanted_mm is None else lead_mm / wanted_mm - 1,
            hand=judged.hand,
            route=route,
            mounts=judged.mounts,
            why=judged.why,
            clearance_mm=judged.clearance_mm,
            placement=judged.placement,
            within=None if interval_mm is None else interval_mm[0] <= lead_mm <= interval_mm[1],
        )

    @property
    def error_mm(self) -> Fraction:
        """Lead minus wanted lead [mm], exact."""
        return self.lead_mm * self.error / (1 + self.error)

    @property
    def is_off(self) -> bool:
        """Whether the lead is more than 0.1 % off, where no tolerance says what will do: it is then marked."""
        return self.within is None and abs(self.error) > DOUBTFUL

    @property
    def is_far(self) -> bool:
        """Whether the lead is more than 1 % off, where no tolerance says what will do: then it is no answer."""
        return self.within is None and abs(self.error) > HOPELESS

    @property
    def step_up(self) -> Fraction:
        """Turns of the last shaft for one of the first; below 1 the train steps down."""
        return 1 / self.train.ratio


@dataclass(frozen=True, slots=True)
class Answer:
    """What the search found.

    Parameters
    ----------
    request : what was asked
    shop : whose gears
    route : by which route
    searched : how many trains the box makes; every one was considered
    fits : the answers, best first
    reach_mm : shortest and longest lead [mm] of the box with so many pairs, before mounting; None: no train at all
    notes : what else the machinist should know, one sentence each
    """

    request: Request
    shop: Shop
    route: Route
    searched: int
    fits: tuple[Solution, ...]
    reach_mm: tuple[Fraction, Fraction] | None
    notes: tuple[str, ...] = ()

    @property
    def found(self) -> bool:
        """Whether a train qualifies: one that mounts or is not known not to, inside the tolerance if there is one.

        Where there is none, a lead that is more than 1 % off does not qualify.
        """
        return any(fit.mounts != "no" and fit.within is not False and not self.is_far(fit) for fit in self.fits)

    def is_off(self, fit: Solution) -> bool:
        """Whether an answer is marked as far off: ``Solution.is_off``, and no tilt of the head takes it up."""
        return fit.is_off and not self.request.tilts_to(fit.lead_mm)

    def is_far(self, fit: Solution) -> bool:
        """Whether an answer is too far off to be one: ``Solution.is_far``, and no tilt of the head takes it up."""
        return fit.is_far and not self.request.tilts_to(fit.lead_mm)

    def _repr_html_(self) -> str:
        from ..output.fits import answer_html

        return answer_html(self)


@dataclass(frozen=True, slots=True)
class Lead:
    """One reachable lead with every gear set that gives it.

    Parameters
    ----------
    lead_mm, error : the lead [mm] and its error, exact
    ratio : product of driven over product of drivers, exact
    sets : for each number of pairs, the size numbers of its gear sets, drivers then driven
    """

    lead_mm: Fraction
    error: Fraction
    ratio: Fraction
    sets: dict[int, list[tuple[int, ...]]]

    @property
    def gear_sets(self) -> int:
        """How many gear sets give this lead."""
        return sum(map(len, self.sets.values()))

    def first_set(self) -> tuple[tuple[int, ...], tuple[int, ...]]:
        """Drivers and driven, as size numbers, of one gear set of the fewest gears."""
        pairs = min(self.sets)
        row = min(self.sets[pairs])
        return row[:pairs], row[pairs:]


@dataclass(frozen=True, slots=True)
class Choice:
    """The train chosen for a lead, still as a row of the judge's arrays.

    Parameters
    ----------
    judge, best, row : where the train stands
    mounts : whether it does
    key : its place in the total order: fails, gears, idlers, −clearance [µm], then tooth counts in power order
    """

    judge: Judge
    best: Trains
    row: int
    mounts: bool
    key: tuple[int, ...]

    @property
    def ease(self) -> tuple[int, ...]:
        """What ``easiest`` goes by: mounting, gears, idlers, clearance."""
        return self.key[:4]

    @property
    def train(self) -> Train:
        """The train in power order, with its idlers."""
        return self.judge.train(self.best, self.row)


def _require(holds: bool, given: str, remedy: str) -> None:
    if not holds:
        raise GearsearchError(f"{given} cannot be searched for", remedy)
