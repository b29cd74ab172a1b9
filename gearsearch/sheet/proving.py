"""The proof by hand on the set-up sheet: moves to make and measure, and the test of hand."""

from __future__ import annotations

from collections.abc import Iterator

from ..base.document import Block, Item, strong
from ..base.units import format_both
from ..search.proof import Move, exact_length, exact_ratio, moves, too_long
from . import cams
from .items import do, know, to_measure
from .job import Job


def proving(job: Job) -> Block:
    """The lead by moves of the table, then the hand."""
    return Block("Prove it by hand", items=tuple(_proving(job)))


def _proving(job: Job) -> Iterator[Item]:
    shop, route = job.checked.shop, job.checked.route
    for step in _moves(job):
        yield do(to_measure(step.words(shop, job.dialled)))
    yield do(shop.machine.hand_test(route, job.hand))
    if job.is_cam:
        yield from cams.proving(job)
    else:
        yield do("Scribe a light line over the whole length; measure it and look at its hand before the first cut.")


def worked_out(job: Job) -> Block:
    """The lead by its arithmetic, and a turn of the work that no table makes, to be gone through at the desk."""
    shop, lead = job.checked.shop, job.checked.fit.lead_mm
    told = [_product(job), too_long(shop, lead, _moves(job))]
    return Block("The lead worked out", items=tuple(map(know, filter(None, told))), own_page=True)


def _moves(job: Job) -> list[Move]:
    """The moves that prove the lead."""
    wanted = job.checked.wanted
    arc = None if wanted is None or job.is_cam else wanted.arc_deg
    length = None if job.is_cam else job.length_mm
    return moves(job.checked.shop, job.checked.route, job.checked.fit.lead_mm, length, arc)


def _product(job: Job) -> str:
    """The arithmetic of the lead, to be checked against the gears that are on."""
    checked, train = job.checked, job.checked.fit.train
    machine = checked.shop.machine
    over, under = machine.lead_sides(train.driven, train.drivers)
    above, below = " × ".join(map(str, over)), " × ".join(map(str, under))
    below = f"({below})" if len(under) > 1 else below
    words = " / ".join(machine.lead_sides("driven", "drivers"))
    route = "" if checked.route.ratio == 1 else f" × route {exact_ratio(checked.route.ratio)}"
    screw = exact_length(machine.screw_lead_mm, job.unit)
    return f"Screw {screw}{route} × {words} {above} / {below} = {strong(format_both(checked.fit.lead_mm, job.unit))}"
