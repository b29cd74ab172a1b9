"""Where a figure on a printout comes from: a number there, and what it means beside it."""

from __future__ import annotations

import re
from collections.abc import Iterable

NOTES = {
    "practice": "common practice in the trade, no source",
    "memory": "from memory, no page was read for it",
    "treatise": "Practical Treatise on Milling and Milling Machines, 1914, pp. 180-182 and 249",
    "here": "worked out for this program, and checked by its tests in three dimensions",
    "sizes": "each size with the page it was read on, or from memory, in the .toml files of gearsearch/work",
    "geometry": "by geometry, from the sizes of the standard",
}
_NUMBER = re.compile(r"\bnote (\d+)\b")


def noted(name: str) -> str:
    """The number that stands on a printout for a source: ``(note 1)``. Raises ValueError for a name that is none."""
    return f"({numbered(name)})"


def numbered(name: str) -> str:
    """The same in a column of its own: ``note 1``."""
    return f"note {[*NOTES].index(name) + 1}"


def meaning(name: str) -> str:
    """What a source is, with its number."""
    return f"{NOTES[name]} {noted(name)}"


def meanings(texts: Iterable[str]) -> list[str]:
    """What the numbers in some texts stand for, each once, in their order."""
    found = {int(number) for text in texts for number in _NUMBER.findall(text)}
    return [f"note {number}: {said}" for number, said in enumerate(NOTES.values(), 1) if number in found]
