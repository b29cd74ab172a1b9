"""A bracket with one straight slot that points at the pivot."""

from __future__ import annotations

from ..bracket import Bracket


class Slot(Bracket):
    """All studs stand on one line from the pivot, which swings as a whole."""

    __slots__ = ()
    layout = "slot"
    most_in_file = 3
    swings_whole = True
    holds = "slot"
