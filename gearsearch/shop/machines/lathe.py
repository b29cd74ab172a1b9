"""The lathe: the spindle drives the lead screw."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from typing import TYPE_CHECKING, TypeVar

from ...base.document import strong
from ...base.units import decimal, format_both
from ..dial import Return, return_by
from ..machine import Machine, Route, equally, is_even

if TYPE_CHECKING:
    from ..head import Dividing

T = TypeVar("T")
_FARTHEST_MM = 1000  # that a carriage goes back to a stop; common practice, no source


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
    own_cautions = (
        "Chuck key out, spindle lock OFF, back gear and reverse as the manual says before the drive is engaged.",
        "Turn the whole length by hand first: watch gears, tool, chuck, carriage, steady, tailstock.",
        "Tool withdrawn before every return; back past the start, backlash taken up the same way.",
        "Lowest spindle speed, above all where the lead screw turns faster than the spindle.",
    )
    first_cut = (
        "First cut light: measure the pitch over as many threads as there are. Tool withdrawn before the return."
    )
    has_head = False
    has_cutter = False
    when_stepped_up = "to be turned by hand, motor isolated"
    counts_threads = True
    has_dial = True

    def lead_sides(self, driven: T, drivers: T) -> tuple[T, T]:
        """The lead grows with the drivers, which turn the screw."""
        return drivers, driven

    def work_turns(self, route: Route) -> Fraction:
        """A gearbox stands behind the train: with levers the first driver turns as the spindle does."""
        return Fraction(1) if route.lever else route.ratio

    def last_shaft(self, route: Route) -> str:
        """The lead screw, or the shaft into the gearbox that drives it."""
        return "the shaft into the gearbox" if route.lever else "the lead screw"

    def engaging(self, route: Route, head: Dividing | None) -> str:
        """The half nuts."""
        return "Half nuts closed until the thread is done; they may open before only as the rule for this thread says."

    def catching(self, lead_mm: Fraction, starts: int, unit: str) -> Iterator[str]:
        """By the chasing dial; without one by reversing, or by a stop where the carriage need not go far."""
        if self.dial is None:
            yield _without_a_dial(return_by(self.screw_lead_mm, lead_mm), unit)
            return
        rule = self.dial.rule(self.screw_lead_mm, lead_mm)
        yield f"chasing dial, half nuts: {strong(rule.text)}"
        if starts > 1 and rule.code != "never" and (marks := rule.next_start(starts)):
            yield f"{marks} {'mark' if marks == 1 else 'marks'} on, the tool falls where the next start goes"

    def turning(self, route: Route, step_up: Fraction) -> Iterator[str]:
        """The spindle turns the train whatever it is: its speed is told, with the route's ratio in it."""
        speed, limit = step_up * route.ratio, route.step_up_warning
        if is_even(speed):
            yield f"spindle and lead screw turn {equally(speed)} fast"
        elif speed < 1:
            yield f"the spindle turns {strong(f'{decimal(1 / speed)} times')} as fast as the lead screw"
        else:
            yield f"the lead screw turns {strong(f'{decimal(speed)} times')} as fast as the spindle: lowest speed"
        if limit is not None and route.warns_of(step_up):
            yield (
                f"{strong(f'STEP-UP BEYOND {decimal(limit)}')}, at which this route warns: the train itself steps up "
                f"1 : {decimal(step_up)}; motor isolated, turn by hand, from the lead screw where it can be"
            )

    def hand_test(self, route: Route, hand: str | None) -> str:
        """The tool moves along the work."""
        rule = "with the top of the work coming toward you the tool must go"
        if hand is None:
            return f"Hand: {rule} toward the headstock for a right-hand thread, away from it for a left-hand one."
        way = strong("TOWARD the headstock" if hand == "right" else "AWAY FROM the headstock")
        start = "; each cut begins at the headstock end" if hand == "left" else ""
        return f"{strong(f'{hand} hand')}: {rule} {way}{start}. If not, {route.turns_the_hand}."


def _without_a_dial(back: Return, unit: str) -> str:
    if back.screw_threads == 1:
        return f"half nuts: {strong('close them anywhere')}, the tool finds its groove"
    if back.distance_mm > _FARTHEST_MM:
        return f"half nuts: {strong('never open them')}: reverse the lathe"
    return (
        f"half nuts: {strong('keep them closed')} and reverse; or, with the spindle at rest, open them, bring the "
        f"carriage back {strong(format_both(back.distance_mm, unit))} or a multiple of it to a stop, and close them"
    )
