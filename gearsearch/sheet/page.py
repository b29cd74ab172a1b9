"""The set-up sheet: everything at the machine, in the order in which it is done.

The part's figures are those of the wanted lead; what the machine is set to, and what it does, are those of the lead
that the train cuts. Where the two differ the sheet says so. The template to wrap round is a figure of the part, so that
a trial cut with a wrong train shows against it.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from ..base.document import Block, Document, Item, strong
from ..base.facts import Note
from ..base.units import decimals, format_both, format_ppm
from . import proving, steps
from .choosing import ChosenTrain, choose
from .cutting import tooth_depth_mm
from .job import Job
from .thread import the_thread

__all__ = [
    "ChosenTrain",
    "Job",
    "blocks",
    "choose",
    "document",
    "in_words",
    "lead_line",
    "stops_of",
]

_TRIED = ("Tried on", "Works: yes / no", "Notes")
_PICTURES = Item(
    "This page with the train to scale: gearsearch sheet … --out sheet.html for a phone or tablet, --out sheet.pdf for "
    "paper (needs matplotlib)."
)
_SAID = {"does not mount": "DOES NOT MOUNT", "wrong hand": "CUTS THE WRONG HAND"}


def document(job: Job) -> Document:
    """The whole sheet: what speaks against the set-up, then the parts in the order of the work."""
    checked = job.checked
    heading = (strong(lead_line(job)), f"{checked.shop.heading}, route {checked.route.label}")
    date = (f"Date: {job.date}",) if job.date else ()
    return Document(str(checked.fit.train), heading + date, tuple(stops_of(job)), tuple(blocks(job)))


def in_words(job: Job) -> Document:
    """The sheet without its pictures, with how to come by them."""
    said = document(job)
    return replace(said, blocks=(*said.blocks, Block(items=(_PICTURES,), own_page=True)))


def blocks(job: Job) -> list[Block]:
    """The sheet's parts in the order in which they are needed, those that are done numbered; then the cautions.

    What is not needed there follows: what the error does, the cutter of a gear, the numbered table of divisions.
    """
    ordered = (steps.putting_on(job), steps.setting_the_machine(job), proving.proving(job), steps.cutting_it(job))
    index = steps.indexing(job)
    doing = [*ordered, index] if index else [*ordered]
    numbered = [replace(block, title=f"{number}. {block.title}") for number, block in enumerate(doing, 1)]
    warned = Block("Cautions", items=tuple(Item(text) for text in job.checked.shop.machine.cautions()))
    by_hand = Block(fields=((*([] if job.date else ["Date"]), "By", "Measured lead"), _TRIED))
    parts = (
        steps.what_is_cut(job),
        the_thread(job),
        *numbered,
        warned,
        by_hand,
        steps.dividing_table(job),
        steps.error_of(job),
        proving.worked_out(job),
        steps.the_gear(job),
    )
    return [part for part in parts if part is not None and (part.items or part.table or part.diagram or part.fields)]


def lead_line(job: Job) -> str:
    """What the train cuts, in a line: its lead, which a tilted head makes shorter on the work, and its hand."""
    fit, wanted = job.checked.fit, job.checked.wanted
    name = "geared lead" if wanted is not None and wanted.tilt_deg is not None else "lead"
    hand = f"{fit.hand} hand" if fit.hand else "hand not known"
    return f"{name} {job.length(fit.lead_mm)}, {hand}"


def stops_of(job: Job) -> list[Note]:
    """What speaks against the set-up, to be said first and large: ``WHAT: why``."""
    fit, wanted = job.checked.fit, job.checked.wanted
    reasons = []
    if fit.mounts == "no":
        other = job.checked.alternative
        right = "mount" if job.checked.fault == "does not mount" else "cut the other hand"
        instead = f" The same gears {right} as {other.train}." if other is not None else ""
        code = job.checked.fault.replace(" ", "-")
        reasons.append(Note(code, f"THIS TRAIN {_SAID[job.checked.fault]}: {fit.why}.{instead}"))
    if fit.within is False and wanted is not None:
        off, lead = format_ppm(fit.error), format_both(wanted.lead_mm, job.checked.shop.units)
        reasons.append(Note("outside-tolerance", f"OUTSIDE THE TOLERANCE: {off} off the wanted {lead}."))
    tooth = job.checked.tooth
    if tooth is not None and tooth.within is False:
        slope = f"{decimals(tooth.slope_um, 2)} µm of helix slope, {tooth.allowed_um} µm allowed"
        reasons.append(Note("outside-accuracy-class", f"OUTSIDE ACCURACY CLASS {tooth.accuracy}: {slope}."))
    if job.checked.is_off:
        reasons.append(Note("off", _off(job)))
    if wanted is not None and wanted.gear is not None and job.depth_mm is not None:
        teeth = tooth_depth_mm(wanted.gear)
        if job.depth_mm > teeth:
            deep = f"{job.dialled(job.depth_mm)}, and full-depth teeth have {job.dialled(teeth)}"
            reasons.append(Note("deeper-than-teeth", f"DEEPER THAN THE TEETH: {deep}."))
    return [*reasons, *_unproved(job)]


def _unproved(job: Job) -> Iterator[Note]:
    """What nobody has proved, and what cannot be indexed."""
    fit, shop = job.checked.fit, job.checked.shop
    doubt = shop.machine.ratio_doubt(job.checked.route, shop.dividing)
    if fit.mounts in ("rule", "unknown"):
        judged = "judged by the rule of thumb alone" if fit.mounts == "rule" else "not judged"
        text = f"MOUNTING NOT PROVED: {judged}. Try the gears on before anything else."
        yield Note("mounting-not-proved", text)
    if doubt:
        yield Note("two-ratios", f"TWO RATIOS OF ONE HEAD: {doubt}.")
    if job.indexing is not None and job.indexing.why_not:
        reason = f"{job.indexing.why_not}. See below for what works."
        yield Note("cannot-be-indexed", f"THE {job.divided.upper()} CANNOT BE INDEXED THIS WAY: {reason}")


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
