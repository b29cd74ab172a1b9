"""The milling machine: the table screw drives the work through a dividing head."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, TypeVar

from ..machine import Machine, Route

if TYPE_CHECKING:
    from ..head import Dividing

T = TypeVar("T")
_WITHOUT = re.compile(r"\b(no|non|not|without|out|off)\b|disengag")  # a worm, in the name of a route
_FEW = 4  # a route of less than a quarter of the worm's ratio is hardly a slip of the pen for it


class Mill(Machine):
    """A milling machine; lead = lead of the machine × driven / drivers.

    Source: Practical Treatise on Milling and Milling Machines, Brown & Sharpe, 1914, p. 62.
    """

    __slots__ = ()
    kind = "mill"
    screw = "table screw"
    work = "work"
    first_shaft = "the table screw"
    work_side = "last"
    work_shaft = "the spindle's side"
    work_gear = "last gear"
    divisions = "divisions"
    has_head = True
    has_cutter = True
    when_stepped_up = "to be turned from the fast side and never in rapid"
    counts_threads = False

    def lead_sides(self, driven: T, drivers: T) -> tuple[T, T]:
        """The lead grows with the driven gears."""
        return driven, drivers

    def last_shaft(self, route: Route) -> str:
        """The worm shaft, or the spindle of the head, as the route goes."""
        return f"the last shaft ({route.name})"

    def through_worm(self, route: Route, head: Dividing | None) -> bool | None:
        """Whether a route goes through the head's worm, not straight to its spindle; None: it cannot be told.

        The route's name may say so (``worm``, or ``spindle``, ``direct``, ``no worm``, ``worm out``), and its ratio
        where that is the head's own, or 1; where these say nothing, or one thing and the other, it cannot be told.
        """
        name = route.name.lower()
        own = head is not None and route.ratio == head.ratio
        without = "worm" in name and _WITHOUT.search(name) is not None
        worm = own or ("worm" in name and not without)
        spindle = without or "spindle" in name or "direct" in name or route.ratio == 1
        return None if worm == spindle else worm

    def by_teeth(self, route: Route, head: Dividing | None) -> bool:
        """The crank turns nothing where the route goes to the spindle without the worm."""
        return route.ratio == 1 or self.through_worm(route, head) is False

    def ratio_doubt(self, route: Route, head: Dividing | None) -> str:
        """That a route through the worm, or what may be one, has another ratio than the dividing head; else empty.

        No doubt where any route has the head's own ratio, nor of a route of few turns that is not said to have the worm
        in it: other gears lead to the spindle there.
        """
        if head is None or head.ratio in {each.ratio for each in self.routes}:
            return ""
        through = self.through_worm(route, head)
        if through is False or (through is None and route.ratio * _FEW < head.ratio):
            return ""
        return (
            f"route {route.name} turns the work {route.ratio}:1 and [dividing] says {head.ratio}:1: unless other gears "
            "stand between, one of the two is wrong, and every lead or every division with it; count the turns of the "
            "crank for one of the work"
        )
