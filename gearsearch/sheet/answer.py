"""The set-up sheet as an answer: for people its page, for programs the judgement of its train."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from ..base.document import Document
from ..base.facts import Record
from ..base.showing import Pictured, from_above
from ..base.spelling import spelled
from .job import Job
from .page import in_words, stops_of

Picture = Literal["train", "template", "error", "coverage"]


@dataclass(frozen=True, slots=True, repr=False)
class Sheet(Pictured):
    """Everything at the machine for one train, in the order in which it is done.

    Parameters
    ----------
    job : the train as it was judged, and what is cut with it
    command : what was typed to make it, for the head of a page; empty for nothing said of it
    """

    job: Job
    command: str = ""

    @property
    def keys(self) -> Sequence[str]:
        """As of the judgement of the train."""
        return self.job.checked.keys

    @property
    def ready(self) -> bool:
        """Whether nothing speaks against the set-up."""
        return not self.job.against

    def rows(self) -> Iterator[Record]:
        """One row, that of the judgement of the train."""
        yield from self.job.checked.rows()

    def record(self) -> Record:
        """The judgement of the train, how it was chosen, and what speaks against the set-up."""
        against = [note.record() for note in stops_of(self.job)]
        return self.job.checked.record() | {"chosen": self.job.how_chosen, "stops": against}

    def document(self) -> Document:
        """The sheet for people."""
        return in_words(self.job)

    @spelled
    def save(
        self,
        *files: str | Path,
        paper: Literal["A4", "Letter"] = "A4",
        picture: Picture | None = None,
        overwrite: bool = False,
    ) -> None:
        """Write the sheet (``.md``, ``.html``, or ``.pdf`` with its pictures) or one picture.

        Parameters
        ----------
        files : each is written as its ending says, all in one go
        paper : of a page
        picture : which one picture; None: the whole sheet in a ``.pdf``, else the train
        overwrite : replace files that are there

        ``.html`` is for a phone or tablet at the machine; a picture is ``.svg``, ``.png`` or ``.pdf``.
        Raises GearsearchError for another ending, and for a file that is there already unless ``overwrite``.
        """
        from_above("output.sheet_files", "write_sheet")(
            self.job, [str(file) for file in files], paper, picture, command=self.command, overwrite=overwrite
        )
