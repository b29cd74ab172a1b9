"""From which end a train is turned: the fast one, as a train that steps up can bind."""

from __future__ import annotations

from collections.abc import Iterator

from ..check import Checked, decimal
from ..mounting.placement import Names


def turning(checked: Checked) -> Iterator[str]:
    """How the train steps and what it is turned by, as sentences; what matters most between two pairs of stars.

    Up to the route's ``step_up_warning`` the table's own feed will do on a mill; beyond it the train is turned by hand
    from its fast side. On a lathe the spindle turns it whatever the train, so its speed is what is told.
    """
    return _on_a_mill(checked) if checked.shop.machine.kind == "mill" else _on_a_lathe(checked)


def _on_a_mill(checked: Checked) -> Iterator[str]:
    step, limit = checked.fit.step_up, checked.route.step_up_warning
    names = Names(checked.shop, checked.route, checked.fit.train.studs)
    first, last = names.shaft(0), names.shaft(names.studs + 1)
    if step == 1:
        yield "first and last shaft turn equally fast"
    elif step < 1:
        yield f"turn it by **{first}**: the train steps down {decimal(1 / step)} : 1"
    elif checked.takes_power_feed:
        yield (
            f"the train steps up 1 : {decimal(step)}: power feed from **{first}** will do; by hand it is easier from "
            f"**{last}**, the fast side"
        )
    else:
        yield f"turn it by **{last}**, the fast side: the train steps up 1 : {decimal(step)}"
    if step > 1 and limit is None:
        yield f"the shop file names no step_up_warning for this route, so no power feed from {first} is advised"
    if limit is not None and checked.warns_of_step_up:
        yield (
            f"**STEP-UP BEYOND {decimal(limit)}**, at which this route warns: no power feed from {first}; by hand, "
            f"from {last}"
        )


def _on_a_lathe(checked: Checked) -> Iterator[str]:
    step, limit = checked.fit.step_up, checked.route.step_up_warning
    if step <= 1:
        yield f"the spindle turns **{decimal(1 / step)} times** as fast as the lead screw"
    else:
        yield f"the lead screw turns **{decimal(step)} times** as fast as the spindle: lowest speed"
    if limit is not None and checked.warns_of_step_up:
        yield (
            f"**STEP-UP BEYOND {decimal(limit)}**, at which this route warns: motor isolated, turn by hand, from the "
            "lead screw where it can be"
        )
