"""The set-up sheet: everything at the machine, in the order in which it is done."""

from __future__ import annotations

from dataclasses import replace

from ..base.units import decimals, format_both, format_ppm
from . import proving, steps
from .block import WIDTH, Block, Item, block_markdown, wrapped
from .choosing import Chosen, choose
from .job import Job

__all__ = [
    "CAUTIONS",
    "PICTURES",
    "Chosen",
    "Job",
    "blocks",
    "cautions",
    "choose",
    "lead_line",
    "markdown",
    "stops_of",
]

PICTURES = "This page with the train to scale: gearsearch sheet … --out sheet.pdf (needs gearsearch[draw])"
CAUTIONS = (
    "Isolate the machine while gears are changed or meshed; guard the gears before it runs again.",
    "Index-plate lock OUT and spindle clamp OFF before any feed is engaged, or gears and worm break.",
    "Turn the whole travel by hand first: watch gears, cutter, tailstock, arbor, hoses; set the stops.",
    "Cutter withdrawn before every return; back past the start, lost motion taken up the same way.",
    "No rapid traverse while geared. Stepped up beyond the route's limit: by hand, from the fast side.",
    "Keep hair, sleeves and rags away from open gears.",
    "The machine's manual, local rules and qualified people come before this sheet.",
)
_ON_A_LATHE = (
    "Chuck key out, spindle lock OFF, back gear and reverse as the manual says before the drive is engaged.",
    "Turn the whole length by hand first: watch gears, tool, chuck, carriage, steady, tailstock.",
    "Tool withdrawn before every return; back past the start, lost motion taken up the same way.",
    "Lowest spindle speed, above all where the lead screw turns faster than the spindle.",
)


_SAID = {"does not mount": "DOES NOT MOUNT", "wrong hand": "CUTS THE WRONG HAND"}


def cautions(kind: str) -> tuple[str, ...]:
    """What every sheet carries, for a ``mill`` or a ``lathe``; they defer to manual, rules and qualified people."""
    return CAUTIONS if kind == "mill" else (CAUTIONS[0], *_ON_A_LATHE, *CAUTIONS[5:])


def blocks(job: Job) -> list[Block]:
    """The sheet's parts in the order in which they are needed, those that are done numbered; cautions last of the page.

    The numbered table of divisions, where there is one, stands after them on a page of its own.
    """
    ordered = (steps.putting_on(job), steps.setting_the_machine(job), proving.proving(job), steps.cutting_it(job))
    index = steps.indexing(job)
    doing = [*ordered, index] if index else [*ordered]
    numbered = [replace(block, title=f"{number}. {block.title}") for number, block in enumerate(doing, 1)]
    warned = Block("Cautions", tuple(Item(text) for text in cautions(job.checked.shop.machine.kind)))
    parts = (steps.what_is_cut(job), *numbered, steps.error_of(job), warned, steps.dividing_table(job))
    return [part for part in parts if part is not None and (part.items or part.table or part.plain)]


def markdown(job: Job) -> str:
    """The sheet as Markdown that reads as plain text too, at most 100 columns wide."""
    page = [block for block in blocks(job) if not block.own_page]
    further = [block for block in blocks(job) if block.own_page]
    parts = [
        _heading(job),
        *map(_stop, stops_of(job)),
        *map(block_markdown, page),
        _to_fill_in(),
        PICTURES,
        *map(block_markdown, further),
    ]
    return "\n\n".join(parts) + "\n"


def _stop(reason: str) -> str:
    """A heading, which Markdown keeps to one line, with the reason in heavy letters under it."""
    what, _, why = reason.partition(": ")
    return f"## !!  {what}\n\n" + wrapped(f"**{why}**")


def _heading(job: Job) -> str:
    checked = job.checked
    title = f"# {checked.fit.train}   {lead_line(job)}"
    return "\n\n".join(
        [
            title if len(title) <= WIDTH else f"# {checked.fit.train}\n\n# {lead_line(job)}",
            wrapped(f"{checked.shop.heading}, route {checked.route.name}"),
            f"Date: {job.date or '_' * 24}   By: {'_' * 24}",
        ]
    )


def lead_line(job: Job) -> str:
    """What the train cuts, in a line: its lead, which a tilted head makes shorter on the work, and its hand."""
    fit, wanted = job.checked.fit, job.checked.wanted
    name = "geared lead" if wanted is not None and wanted.tilt_deg is not None else "lead"
    hand = f"{fit.hand} hand" if fit.hand else "hand not known"
    return f"{name} {format_both(fit.lead_mm, job.unit)}, {hand}"


def stops_of(job: Job) -> list[str]:
    """What speaks against the set-up, to be said first and large."""
    fit, wanted = job.checked.fit, job.checked.wanted
    reasons = []
    if fit.mounts == "no":
        other = job.checked.alternative
        instead = f" The same gears as {other.train} do." if other is not None else ""
        reasons.append(f"THIS TRAIN {_SAID[job.checked.fault]}: {fit.why}.{instead}")
    if fit.within is False and wanted is not None:
        off, lead = format_ppm(fit.error), format_both(wanted.lead_mm, job.checked.shop.units)
        reasons.append(f"OUTSIDE THE TOLERANCE: {off} off the wanted {lead}.")
    tooth = job.checked.tooth
    if tooth is not None and tooth.within is False:
        slope = f"{decimals(tooth.slope_um, 2)} µm of helix slope, {tooth.allowed_um} µm allowed"
        reasons.append(f"OUTSIDE ACCURACY CLASS {tooth.accuracy}: {slope}.")
    if job.checked.is_off:
        reasons.append(_off(job))
    if fit.mounts in ("rule", "unknown"):
        judged = "judged by the rule of thumb alone" if fit.mounts == "rule" else "not judged"
        reasons.append(f"MOUNTING NOT PROVED: {judged}. Try the gears on before anything else.")
    doubt = job.checked.shop.ratio_doubt(job.checked.route)
    if doubt:
        reasons.append(f"TWO RATIOS OF ONE HEAD: {doubt}.")
    if job.indexing is not None and job.indexing.why_not:
        reasons.append(
            f"THE {job.divided.upper()} CANNOT BE INDEXED SO: {job.indexing.why_not}. What will do is told below."
        )
    return reasons


def _off(job: Job) -> str:
    """That the lead is farther off than is passed over in silence, where no tolerance says what will do."""
    off, figures = format_ppm(job.checked.fit.error), job.checked.figures
    if job.checked.fit.is_far:
        return f"NOT THE WANTED LEAD: {off} off, and no tolerance was given."
    drift = None if figures is None else figures.drift_mm
    over = (
        "" if drift is None or job.length_mm is None else f", {job.length(abs(drift))} over {job.length(job.length_mm)}"
    )
    return f"OFF: {off} from the wanted lead{over}. No tolerance was given."


def _to_fill_in() -> str:
    line = "_" * 22
    return f"Measured lead: {line}   Tried on: {line}   Works: [ ] yes  [ ] no\n\nNotes: {'_' * 90}\n\n{'_' * 97}"
