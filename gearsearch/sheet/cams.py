"""What stands on the set-up sheet of a cam only: its rise, the tilt, what setting it wrong does, the cut."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from math import ceil, floor

from ..base.document import Item, strong
from ..base.sources import noted
from ..base.units import decimals, format_angle, format_ppm
from ..search.proof import move
from ..work.part import Part
from ..work.tilt import STEEPEST_TILT_DEG, tilt_for
from . import cutting
from .items import do, know, to_measure
from .job import Job

_WRONG = ((Fraction(1, 10), "0.1°"), (Fraction(1, 60), "1′"))


def rise(job: Job) -> Iterator[Item]:
    """How far the cam rises, and the tilt that was asked for where that to set is another one."""
    height, wanted, asked = _rise_mm(job), job.checked.wanted, job.asked_tilt_deg
    assert wanted is not None
    if height is not None:
        turn = format_angle(360 * _turns(job, height))
        yield know(f"Rise {job.told(height)}, square to the axis; over it the work turns {turn}")
    if asked is not None and wanted.tilt_deg is not None and format_angle(asked) != format_angle(wanted.tilt_deg):
        yield know(f"{format_angle(asked)} was asked; with these gears set {strong(format_angle(wanted.tilt_deg))}")


def _rise_mm(job: Job) -> Fraction | None:
    """The rise that is cut [mm]: the length of the cut, which lies square to the axis, else that the lead came from."""
    return job.length_mm or (job.checked.wanted.rise_mm if job.checked.wanted else None)


def _turns(job: Job, height: Fraction) -> Fraction:
    """Turns of the work over a rise, free of the last digits of the sine, through which a tilted lead went."""
    return (height / job.lead_mm).limit_denominator(10**9)


def tilt(job: Job, wanted: Part) -> Iterator[Item]:
    """The one angle to set, and what setting it wrong does."""
    assert wanted.tilt_deg is not None
    geared = job.checked.fit.lead_mm
    if job.checked.tilt_deg is None:
        yield know(f"{strong('No tilt serves')}: this train gives {job.length(geared)}, less than the work needs.")
        return
    sine = decimals(wanted.work_lead_mm / geared, 5)
    yield do(
        f"Head {strong('and')} cutter tilted {strong(format_angle(wanted.tilt_deg))} from the table, both axes "
        f"parallel: sine = lead on the work / lead of this train = {sine} {noted('treatise')}"
    )
    if wanted.tilt_deg > STEEPEST_TILT_DEG:
        yield know(f"{strong(f'A tilt above {STEEPEST_TILT_DEG}° is avoided')} {noted('treatise')}")


def error(job: Job, wanted: Part) -> Iterator[Item]:
    """With the tilt that is told there is none but that of setting it."""
    assert wanted.tilt_deg is not None
    yield know("None from the gears: at the tilt above the lead is exact")
    height = _rise_mm(job)
    for wrong, words in _WRONG:
        off = -cutting.tilt_change_mm(job.checked.fit.lead_mm, wanted.tilt_deg, -wrong)
        share = off / wanted.work_lead_mm
        over = "" if height is None else f", {strong(job.length(share * height))} in the rise of {job.length(height)}"
        yield know(f"Set {words} too low, the lead comes {job.length(off)} short ({format_ppm(-share)}){over}")
    yield from _window(job, wanted)


def _window(job: Job, wanted: Part) -> Iterator[Item]:
    """The tilts between which the lead on the work is inside the tolerance, rounded inward where there is room."""
    geared = job.checked.fit.lead_mm
    if job.checked.interval_mm is None:
        return
    low, high = (lead * wanted.work_lead_mm / wanted.lead_mm for lead in job.checked.interval_mm)
    ends = [tilt_for(min(lead, geared), geared) for lead in (low, high)]
    inward = [Fraction(round_to(1000 * end), 1000) for round_to, end in zip((ceil, floor), ends, strict=True)]
    least, most = map(format_angle, inward if inward[0] <= inward[1] else ends)
    yield know(f"Inside the tolerance from a tilt of {least} to {most}")


def proving(job: Job) -> Iterator[Item]:
    """The rise, to be measured before the first cut, and which way round it goes."""
    height, checked = _rise_mm(job), job.checked
    if height is not None:
        step = move(checked.shop, checked.route, checked.fit.lead_mm, _turns(job, height), by_travel=True)
        yield do(to_measure(f"The whole rise of {strong(job.length(height))}: {step.words(checked.shop, job.dialled)}"))
    yield do(
        "Cutter just clear, turn the whole rise by hand: what comes under the cutter as the table brings the work "
        "nearer is cut lower and lower. See by the drawing that the cam falls that way round, and by how much."
    )


def cutting_it(job: Job, wanted: Part) -> Iterator[Item]:
    """Cutter length, feed and backlash of a tilted head, where the table goes the geared lead for one rise."""
    lead, geared, backlash = wanted.work_lead_mm, job.checked.fit.lead_mm, job.checked.shop.machine.backlash_mm
    if job.checked.tilt_deg is None:
        return
    yield do(_cutter_length(job, cutting.slide_mm(lead, geared)))
    if wanted.diameter_mm is not None and job.checked.route.takes_power(job.checked.fit.step_up):
        yield know(cutting.feed_words(cutting.cam_feed_factor(lead, geared, wanted.diameter_mm), "outline"))
    if backlash is not None:
        yield know(
            f"{job.length(backlash)} of backlash puts the rise {strong(job.length(backlash * lead / geared))} out: "
            "take it up the same way before every cut."
        )


def _cutter_length(job: Job, slide_mm: float) -> str:
    """How long the cutter's edge must be: the work slides along it while its whole thickness is being cut."""
    height = _rise_mm(job)
    if height is None:
        return (
            f"Cutter's edge at least as long as the cam is thick and {strong(job.length(slide_mm))} more for each turn "
            "that is cut: so far the work slides along it"
        )
    over = float(_turns(job, height)) * slide_mm
    return (
        f"Cutter's edge at least as long as the cam is thick and {strong(job.length(over))} more: so far the work "
        f"slides along it over the rise of {job.length(height)}, {job.length(slide_mm)} in a whole turn"
    )
