"""The proof by hand on the set-up sheet: moves to make and measure, and the test of hand."""

from __future__ import annotations

from collections.abc import Iterator

from ..base.document import Block, Item, strong
from ..search.proof import exact_length, exact_ratio, moves, too_long
from . import cams
from .items import do, know, to_measure
from .job import Job


def proving(job: Job) -> Block:
    """The lead by its arithmetic and by moves of the table, then the hand."""
    return Block("Prove it by hand", items=tuple(_proving(job)))


def _proving(job: Job) -> Iterator[Item]:
    shop, route, lead = job.checked.shop, job.checked.route, job.checked.fit.lead_mm
    yield know(_product(job))
    steps = moves(shop, route, lead, None if job.is_cam else job.length_mm)
    if long := too_long(shop, lead, steps):
        yield know(long)
    for step in steps:
        yield do(to_measure(step.words(shop)))
    yield do(_hand(job))
    if job.is_cam:
        yield from cams.proving(job)
    else:
        yield do("Scribe a light line over the whole length; measure it and look at its hand before the first cut.")


def _product(job: Job) -> str:
    """The arithmetic of the lead, to be checked against the gears that are on."""
    checked, train = job.checked, job.checked.fit.train
    over, under = (train.driven, train.drivers) if job.is_mill else (train.drivers, train.driven)
    above, below = " × ".join(map(str, over)), " × ".join(map(str, under))
    below = f"({below})" if len(under) > 1 else below
    words = "driven / drivers" if job.is_mill else "drivers / driven"
    route = "" if checked.route.ratio == 1 else f" × route {exact_ratio(checked.route.ratio)}"
    screw = exact_length(checked.shop.machine.screw_lead_mm, job.unit)
    return f"Screw {screw}{route} × {words} {above} / {below} = {strong(job.length(checked.fit.lead_mm))}"


def _hand(job: Job) -> str:
    """The test of hand; on a mill the work moves, on a lathe the tool."""
    hand = job.hand
    if not job.is_mill:
        way = {"right": "TOWARD the headstock", "left": "AWAY FROM the headstock"}.get(hand or "")
        rule = "with the top of the work coming toward you the tool must go"
        if way is None:
            return f"Hand: {rule} toward the headstock for a right-hand thread, away from it for a left-hand one."
        start = "; each cut begins at the headstock end" if hand == "left" else ""
        return f"{strong(f'{hand} hand')}: {rule} {strong(way)}{start}. If not, {_turns_the_hand(job)}."
    rule = "looking along the work from either end, it must turn"
    if hand is None:
        return (
            f"Hand: {'set by the reversing lever' if job.has_lever else 'not known from the shop file'}. "
            f"{rule[0].upper()}{rule[1:]} clockwise as it moves away from you for a right-hand helix, anticlockwise "
            "for a left-hand one."
        )
    way = "CLOCKWISE" if hand == "right" else "ANTICLOCKWISE"
    return f"{strong(f'{hand} hand')}: {rule} {strong(way)} as it moves away from you. If not, {_turns_the_hand(job)}."


def _turns_the_hand(job: Job) -> str:
    return "turn the reversing lever" if job.has_lever else "one idler more or fewer turns the hand"
