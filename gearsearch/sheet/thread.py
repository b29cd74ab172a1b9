"""The thread on the sheet of a lathe: what to turn and bore to, how deep, with which tool, at which angle."""

from __future__ import annotations

from collections.abc import Iterator

from ..base.document import Block, strong
from ..base.facts import Heading, Table
from ..base.sources import numbered
from ..base.units import decimals
from ..work.profiles import Figure, Profile, profile_of
from .job import Job

_HEADINGS = (Heading("figure"), Heading("size", right=True), Heading("from", 2))


def the_thread(job: Job) -> Block | None:
    """The figures of the thread that was named; None on a mill, without a name, and for a name that tells no form."""
    wanted, machine = job.checked.wanted, job.checked.shop.machine
    if wanted is None or wanted.thread is None or not machine.counts_threads:
        return None
    profile = profile_of(wanted.thread, wanted.starts)
    if profile is None:
        return None
    table = Table(_HEADINGS, tuple(_row(figure, job) for figure in profile.figures))
    return Block("The thread", lines=tuple(_lines(profile)), table=table)


def _lines(profile: Profile) -> Iterator[str]:
    form = profile.form
    yield f"{strong(profile.thread.name)}: {form.title}. Basic sizes, without tolerance, by {profile.standards}"
    if form.note:
        yield form.note
    if profile.thread.taper:
        yield profile.where


def _row(figure: Figure, job: Job) -> tuple[str, ...]:
    """A figure of the thread, and the number of its source where that is not the standard."""
    told = job.dialled if figure.at_machine else job.length
    size = f"{decimals(figure.value, 3)}°" if figure.unit == "deg" else told(figure.value)
    return figure.name, size, numbered(figure.note) if figure.note else ""
