"""The milling machine: the table screw drives the work through a dividing head."""

from __future__ import annotations

import re
from collections.abc import Iterator
from fractions import Fraction
from typing import TYPE_CHECKING, TypeVar

from ...base.document import strong
from ...base.units import decimal, mixed
from ..machine import Machine, Route, equally, is_even

if TYPE_CHECKING:
    from ..head import Dividing

T = TypeVar("T")
_WITHOUT = re.compile(r"\b(no|non|not|without|out|off)\b|disengag")  # a worm, in the name of a route
_OUT, _IN, _OFF = map(strong, ("OUT", "IN", "OFF"))
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
    own_cautions = (
        "Index-plate lock OUT and spindle clamp OFF before any feed is engaged, or gears and worm break.",
        "Turn the whole travel by hand first: watch gears, cutter, tailstock, arbor, hoses; set the stops.",
        "Cutter withdrawn before every return; back past the start, backlash taken up the same way.",
        "No rapid traverse while geared. Stepped up beyond the route's limit: by hand, from the fast side.",
    )
    first_cut = (
        "First cut light. Feed against the cutter's rotation unless backlash is taken out of the screw. Cutter "
        "withdrawn before the return."
    )
    has_head = True
    has_cutter = True
    when_stepped_up = "to be turned from the fast side and never in rapid"
    counts_threads = False
    has_dial = False

    def lead_sides(self, driven: T, drivers: T) -> tuple[T, T]:
        """The lead grows with the driven gears."""
        return driven, drivers

    def last_shaft(self, route: Route) -> str:
        """The worm shaft, or the spindle of the head, as the route goes."""
        return f"the last shaft ({route.label})"

    def engaging(self, route: Route, head: Dividing | None) -> str:
        """Lock, pin, worm and clamp of the head."""
        worm = self.through_worm(route, head)
        if worm:
            return f"Index-plate lock {_OUT}, index pin {_IN}, worm {_IN} mesh, spindle clamp {_OFF}."
        if worm is None:
            return (
                f"Spindle clamp {_OFF}. Whether this route goes through the worm is not known from the shop file. If "
                f"it does: worm {_IN} mesh, index pin {_IN}, index-plate lock {_OUT}. If its gears drive the spindle "
                f"without the worm: worm {_OUT} of mesh."
            )
        where = "is on the head's spindle itself" if route.ratio == 1 else "drives the head's spindle without the worm"
        return f"Worm {_OUT} of mesh, spindle clamp {_OFF}: the last gear {where}."

    def turning(self, route: Route, step_up: Fraction) -> Iterator[str]:
        """From the fast side by hand; the table's own feed will do up to the route's ``step_up_warning``."""
        first, last, limit = self.first_shaft, self.last_shaft(route), route.step_up_warning
        if is_even(step_up):
            yield f"first and last shaft turn {equally(step_up)} fast"
        elif step_up < 1:
            yield f"turn it by {strong(first)}: the train steps down {decimal(1 / step_up)} : 1"
        elif route.takes_power(step_up):
            yield (
                f"the train steps up 1 : {decimal(step_up)}: use power feed from {strong(first)}; by hand it is "
                f"easier from {strong(last)}, the fast side"
            )
        else:
            yield f"turn it by {strong(last)}, the fast side: the train steps up 1 : {decimal(step_up)}"
        if step_up > 1 and limit is None:
            yield f"don't use power feed from {first}: the shop file gives no step_up_warning for this route"
        if limit is not None and route.warns_of(step_up):
            yield (
                f"{strong(f'STEP-UP BEYOND {decimal(limit)}')}, at which this route warns: no power feed from {first}; "
                f"by hand, from {last}"
            )

    def hand_test(self, route: Route, hand: str | None) -> str:
        """The work moves past the cutter."""
        rule = "looking along the work from either end, it must turn"
        if hand is None:
            return (
                f"Hand: {'set by the reversing lever' if route.has_lever else 'not known from the shop file'}. "
                f"{rule[0].upper()}{rule[1:]} clockwise as it moves away from you for a right-hand helix, "
                "anticlockwise for a left-hand one."
            )
        way = strong("CLOCKWISE" if hand == "right" else "ANTICLOCKWISE")
        return f"{strong(f'{hand} hand')}: {rule} {way} as it moves away from you. If not, {route.turns_the_hand}."

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

    def cost(self, route: Route, head: Dividing | None) -> str:
        """Without the worm the crank indexes nothing."""
        return "no crank indexing" if self.by_teeth(route, head) else ""

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
            f"route {route.label} turns the work {mixed(route.ratio)}:1 and [dividing] says {mixed(head.ratio)}:1: "
            "unless other gears stand between, one of the two is wrong, and every lead or every division with it; "
            "count the turns of the crank for one of the work"
        )
