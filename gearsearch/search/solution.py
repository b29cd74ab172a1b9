"""One answer of the search: the best train of one lead, as it was judged."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

from ..shop.machine import Route
from ..shop.trains import Train
from ..work.tolerance import DOUBTFUL, HOPELESS

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
    way : the route, and the position of its lever, by which it reaches the work
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
    way: Route
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
        way: Route,
        interval_mm: tuple[Fraction, Fraction] | None = None,
    ) -> Solution:
        """The answer for a train as it was judged, with no error where no lead is wanted."""
        return cls(
            train=judged.train,
            lead_mm=lead_mm,
            error=Fraction(0) if wanted_mm is None else lead_mm / wanted_mm - 1,
            hand=judged.hand,
            way=way,
            mounts=judged.mounts,
            why=judged.why,
            clearance_mm=judged.clearance_mm,
            placement=judged.placement,
            within=None if interval_mm is None else interval_mm[0] <= lead_mm <= interval_mm[1],
        )

    @property
    def route(self) -> str:
        """Name of the route."""
        return self.way.name

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
