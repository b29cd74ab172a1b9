"""A bracket that takes studs anywhere in reach."""

from __future__ import annotations

from ..bracket import Bracket


class Plate(Bracket):
    """Each stud stands at an angle of its own; no more than two are judged."""

    __slots__ = ()
    layout = "plate"
    most_studs = 2
    most_in_file = 2
    swings_whole = False
    holds = "reach"
