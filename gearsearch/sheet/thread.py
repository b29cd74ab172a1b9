"""The thread on the sheet of a lathe: what to turn and bore to, how deep, with which tool, at which angle."""

from __future__ import annotations

from ..base.document import Block, strong
from ..base.facts import Heading, Table
from ..base.units import decimals
from ..work.profiles import Figure, Profile, profile_of
from .job import Job

_HEADINGS = (Heading("figure"), Heading("size", right=True), Heading("note", 2))


def the_thread(job: Job) -> Block | None:
    """The figures of the thread that was named; None on a mill, without a name, and for a name that tells no form."""
    wanted, machine = job.checked.wanted, job.checked.shop.machine
    if wanted is None or wanted.thread is None or not machine.counts_threads:
        return None
    profile = profile_of(wanted.thread, wanted.starts)
    if profile is None:
        return None
    sources = list(dict.fromkeys(figure.source for figure in profile.figures))
    rows = tuple(_row(figure, sources.index(figure.source) + 1, job) for figure in profile.figures)
    return Block("The thread", lines=tuple(_lines(profile, sources)), table=Table(_HEADINGS, rows))


def _lines(profile: Profile, sources: list[str]) -> list[str]:
    form = profile.form
    notes = ", ".join(f"{number}: {source}" for number, source in enumerate(sources, 1))
    lines = [f"{strong(profile.thread.name)}: {form.title}. Basic sizes, without tolerance; notes {notes}"]
    if form.note:
        lines.append(form.note)
    if profile.thread.taper:
        lines.append(profile.where)
    return lines


def _row(figure: Figure, note: int, job: Job) -> tuple[str, ...]:
    if figure.unit == "deg":
        return figure.name, f"{decimals(figure.value, 3)}°", str(note)
    told = job.dialled if figure.at_machine else job.length
    return figure.name, told(figure.value), str(note)
