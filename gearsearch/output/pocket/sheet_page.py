"""A set-up sheet as one HTML file for the phone or tablet at the machine: boxes to tick, lines to fill in, the picture.

All of it is there without a script; the script keeps what is ticked and filled in on the device.
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterator
from html import escape
from itertools import count

from ...base.document import Block, Document, Item, plain
from ...sheet.page import Job, document
from ..drawing.svg import train_svg
from ..html import marked, table
from .page import filled

_LINE = re.compile(r"\.? Measured _{4,}|_{4,}")  # to be filled in
_SHARED = {"Measured lead": "measured", "Notes": "notes"}  # kept as the pocket chart keeps them
_NUMBER = ' class="number"'


def sheet_page(job: Job, command: str = "") -> str:
    """The whole page of a sheet.

    Parameters
    ----------
    job : what it is of
    command : what was typed to make it; empty for nothing said of it
    """
    said = document(job).keyed()
    heading = "".join(f"<p>{marked(line)}</p>" for line in said.heading)
    made = f"<p>made by: <code>{escape(command)}</code></p>" if command else ""
    texts = {
        "title": escape(said.title),
        "heading": f"{heading}<p>{escape(_judged(job))}</p>",
        "made": made,
        "key": escape(_key(job, said)),
        "against": "".join(f'<p class="warn" role="alert">{marked(note.text)}</p>' for note in said.against),
        "blocks": "\n".join(_Parts(job).of(said)),
    }
    return filled("sheet.html", ("notes.js", "sheet.js"), texts)


def _judged(job: Job) -> str:
    """What is known of whether the train mounts."""
    fit, by = job.checked.fit, "the shop's quadrant" if job.checked.shop.has_geometry else "the rule of thumb"
    if fit.mounts == "yes":
        return f"mounts on {by}"
    if fit.mounts == "no":
        return job.checked.fault if job.checked.fault == "wrong hand" else f"{job.checked.fault}, judged by {by}"
    if fit.mounts == "unknown":
        return "mounting not judged"
    return (
        "mounting judged by the rule of thumb only" if fit.train.studs else "mounts at one distance of the shafts only"
    )


def _key(job: Job, said: Document) -> str:
    """What the notes belong to: another date is the same sheet, another word is not."""
    checked = job.checked
    words = [said.heading[0], *((block.title, block.lines, block.items, block.table) for block in said.blocks)]
    digest = hashlib.sha256(repr(words).encode()).hexdigest()[:12]
    return " | ".join([checked.shop.name, checked.route.call, said.title, checked.fit.hand or "either", digest])


class _Parts:
    """Writes the blocks of a sheet, its boxes and lines numbered through."""

    def __init__(self, job: Job) -> None:
        self._job = job
        self._numbers = count()

    def of(self, said: Document) -> Iterator[str]:
        """Every block as a section; the picture stands where the train is put on."""
        for block in said.blocks:
            title = f"<h2>{marked(block.title)}</h2>" if block.title else ""
            yield f"<section>{title}{''.join(self._block(block))}</section>"

    def _block(self, block: Block) -> Iterator[str]:
        yield from (f"<p>{marked(line.strip())}</p>" for line in block.lines)
        if block.diagram:
            yield from train_svg(self._job.checked)
            yield f'<pre class="wide">{escape(chr(10).join(block.diagram))}</pre>'
        if block.items:
            ticks = ' class="ticks"' if any(item.tick for item in block.items) else ""
            yield f"<ul{ticks}>{''.join(map(self._item, block.items))}</ul>"
        if block.table is not None:
            yield f'<div class="wide">{table(block.table, _NUMBER)}</div>'
        if block.fields:
            lines = (self._field(label) for labels in block.fields for label in labels)
            yield f'<div class="fields">{"".join(lines)}</div>'

    def _item(self, item: Item) -> str:
        text, number = marked(_LINE.sub("", item.text)), next(self._numbers)
        if item.tick:
            box = f'<input type="checkbox" data-keep="tick {number}">'
            text = f'<label class="tick">{box}<span>{text}</span></label>'
        line = self._field("Measured", f"measured {number}") if _LINE.search(item.text) else ""
        return f"<li{'' if item.tick else ' class=know'}>{text}{line}</li>"

    @staticmethod
    def _field(label: str, name: str = "") -> str:
        kept = escape(name or _SHARED.get(label, label))
        line = f'<input type="text" data-keep="{kept}">'
        if label == "Notes":
            line = f'<textarea rows="3" data-keep="{kept}"></textarea>'
        return f'<label class="field"><span>{escape(plain(label))}</span>{line}</label>'
