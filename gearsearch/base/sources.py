"""Where a figure on a printout comes from: a number there; here and in the README.md of the room sheet its meaning."""

from __future__ import annotations

NOTES = {
    "practice": "common practice in the trade, no source",
    "memory": "from memory, no page was read for it",
    "treatise": "Practical Treatise on Milling and Milling Machines, 1914, pp. 180-182 and 249",
    "here": "worked out for this program, and checked by its tests in three dimensions",
    "sizes": "each size with the page it was read on, or from memory, in the .toml files of gearsearch/work",
}


def noted(name: str) -> str:
    """The number that stands on a printout for a source: ``(note 1)``. Raises ValueError for a name that is none."""
    return f"(note {[*NOTES].index(name) + 1})"
