"""From which end a train is turned: the fast one, as a train that steps up can bind."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from typing import TYPE_CHECKING

from ..base.document import strong
from ..base.units import decimal
from ..mounting.placement import Names

if TYPE_CHECKING:
    from .check import CheckResult


def turning(checked: CheckResult) -> Iterator[str]:
    """How the train steps and what it is turned by, as sentences; what matters most is strong.

    Up to the route's ``step_up_warning`` the table's own feed will do on a mill; beyond it the train is turned by hand
    from its fast side. On a lathe the spindle turns it whatever the train, so its speed is what is told, with the
    route's ratio in it; what ``step_up_warning`` warns of is the train alone on either machine: it is the loose gears
    that bind, and the gears of the route are the machine's own.
    """
    return _on_a_mill(checked) if checked.shop.machine.kind == "mill" else _on_a_lathe(checked)


def _on_a_mill(checked: CheckResult) -> Iterator[str]:
    step, limit = checked.fit.step_up, checked.route.step_up_warning
    names = Names(checked.shop, checked.route, checked.fit.train.studs)
    first, last = names.shaft(0), names.shaft(names.studs + 1)
    if _is_even(step):
        yield f"first and last shaft turn {_equally(step)} fast"
    elif step < 1:
        yield f"turn it by {strong(first)}: the train steps down {decimal(1 / step)} : 1"
    elif checked.takes_power_feed:
        yield (
            f"the train steps up 1 : {decimal(step)}: power feed from {strong(first)} will do; by hand it is easier "
            f"from {strong(last)}, the fast side"
        )
    else:
        yield f"turn it by {strong(last)}, the fast side: the train steps up 1 : {decimal(step)}"
    if step > 1 and limit is None:
        yield f"the shop file names no step_up_warning for this route, so no power feed from {first} is advised"
    if limit is not None and checked.warns_of_step_up:
        yield (
            f"{strong(f'STEP-UP BEYOND {decimal(limit)}')}, at which this route warns: no power feed from {first}; by "
            f"hand, from {last}"
        )


def _on_a_lathe(checked: CheckResult) -> Iterator[str]:
    """The speeds are those of spindle and lead screw, the route's ratio between them; the warning is the train's."""
    step, limit = checked.fit.step_up, checked.route.step_up_warning
    speed = step * checked.route.ratio
    if _is_even(speed):
        yield f"spindle and lead screw turn {_equally(speed)} fast"
    elif speed < 1:
        yield f"the spindle turns {strong(f'{decimal(1 / speed)} times')} as fast as the lead screw"
    else:
        yield f"the lead screw turns {strong(f'{decimal(speed)} times')} as fast as the spindle: lowest speed"
    if limit is not None and checked.warns_of_step_up:
        yield (
            f"{strong(f'STEP-UP BEYOND {decimal(limit)}')}, at which this route warns: the train itself steps up "
            f"1 : {decimal(step)}; motor isolated, turn by hand, from the lead screw where it can be"
        )


def _is_even(speed: Fraction) -> bool:
    """Whether it would read as 1, which is no step worth a figure."""
    return decimal(max(speed, 1 / speed)) == "1"


def _equally(speed: Fraction) -> str:
    return "equally" if speed == 1 else "as good as equally"
