"""Words placed in a picture where they cover nothing that is there already."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, replace
from math import hypot

from .marks import Box, Mark, Point, Round, Stroke, Words, line, overlap

Place = tuple[Point, bool, float]


@dataclass(slots=True)
class Labels:
    """What of a picture is taken.

    Parameters
    ----------
    paper : how many of the picture's millimetres one millimetre of the paper shows
    """

    paper: float
    _taken: list[tuple[Box, float]] = field(default_factory=list)

    def take(self, mark: Mark, weight: float = 1.0) -> None:
        """Count what a mark covers as taken; the less its weight, the rather it is covered."""
        self._taken.append((mark.box(self.paper), weight))

    def cost(self, mark: Mark) -> float:
        """How much of what is taken a mark would cover [mm²]."""
        box = mark.box(self.paper)
        return sum(weight * overlap(box, taken) for taken, weight in self._taken)

    def put(self, words: Words, places: Iterable[Place], rim: Round) -> Iterator[Mark]:
        """Words at the first place that covers nothing, else where they cover least.

        Parameters
        ----------
        words : what to put
        places : where it may stand, the best first, whether a leader must show what it belongs to, and what speaks
            against the place besides [mm² covered]
        rim : the round it belongs to, on which a leader ends
        """
        best: tuple[float, Words, bool] | None = None
        for at, led, against in places:
            there = replace(words, at=at)
            cost = self.cost(there) + against
            if best is None or cost < best[0]:
                best = cost, there, led
            if cost == 0:
                break
        assert best is not None
        _, there, led = best
        self.take(there)
        if led:
            yield _leader(there.at, rim)
        yield there


def _leader(at: Point, rim: Round) -> Stroke:
    x, y = at[0] - rim.at[0], at[1] - rim.at[1]
    share = rim.radius / hypot(x, y)
    return line(at, (rim.at[0] + share * x, rim.at[1] + share * y), weight=0.5)
