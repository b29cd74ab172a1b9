"""The lathe: the spindle drives the lead screw."""

from __future__ import annotations

from typing import TypeVar

from ..machine import Machine, Route

T = TypeVar("T")


class Lathe(Machine):
    """A lathe with change gears; lead = lead of the machine × drivers / driven."""

    __slots__ = ()
    kind = "lathe"
    screw = "lead screw"
    work = "spindle"
    first_shaft = "the first shaft (spindle side)"
    work_side = "first"
    work_shaft = "the first shaft"
    work_gear = "first driver"
    divisions = "starts"
    has_head = False
    has_cutter = False
    when_stepped_up = "to be turned by hand, motor isolated"
    counts_threads = True

    def lead_sides(self, driven: T, drivers: T) -> tuple[T, T]:
        """The lead grows with the drivers, which turn the screw."""
        return drivers, driven

    def last_shaft(self, route: Route) -> str:
        """The lead screw, whatever the route."""
        return "the lead screw"
