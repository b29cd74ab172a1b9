"""What the search answers: solutions, and all that goes with them."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

from ..shop.machine import Route
from ..shop.shop import Shop
from ..shop.trains import Train
from ..work.part import Part
from ..work.tolerance import DOUBTFUL, HOPELESS
from .terms import Terms

if TYPE_CHECKING:
    from ..mounting.judge import Placement, Verdict


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
    shop : whose gears
    part : what is to be cut
    terms : how its train may be made
    route : by which route
    searched : how many trains the box makes; every one was considered
    fits : the answers, best first
    reach_mm : shortest and longest lead [mm] of the box with so many pairs, before mounting; None: no train at all
    notes : what else the machinist should know, one sentence each
    """

    shop: Shop
    part: Part
    terms: Terms
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
        return fit.is_off and not self.part.tilts_to(fit.lead_mm)

    def is_far(self, fit: Solution) -> bool:
        """Whether an answer is too far off to be one: ``Solution.is_far``, and no tilt of the head takes it up."""
        return fit.is_far and not self.part.tilts_to(fit.lead_mm)

    def _repr_html_(self) -> str:
        from ..output.fits import answer_html

        return answer_html(self)
