"""Words placed in a picture where they cover nothing that is there already."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, replace
from math import hypot

from .marks import Box, Mark, Point, Round, Stroke, Words, arrowhead, between, line, overlap

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

    def take_line(self, mark: Mark) -> None:
        """The same of a straight line and of words; other strokes and rounds are passed over."""
        for part in self._parts(mark):
            self.take(part)

    def cost(self, mark: Mark) -> float:
        """How much of what is taken a mark would cover [mm²]."""
        box = mark.box(self.paper)
        return sum(weight * overlap(box, taken) for taken, weight in self._taken)

    def _parts(self, mark: Mark) -> Iterator[Mark]:
        """Words as they are; of a straight line a row of small rounds, for its box would cover far more than it."""
        if isinstance(mark, Words):
            yield mark
        elif isinstance(mark, Stroke) and len(mark.points) == 2:
            (a, b), step = mark.points, 2.5 * self.paper
            pieces = max(1, round(hypot(b[0] - a[0], b[1] - a[1]) / step))
            yield from (Round(between(a, b, i / pieces), step / 2) for i in range(pieces + 1))

    def put(self, words: Words, places: Iterable[Place], rim: Round) -> Iterator[Mark]:
        """Words at the first place that covers nothing, else where they cover least.

        Parameters
        ----------
        words : what to put
        places : where it may stand, the best first, whether a leader must show what it belongs to, and what speaks
            against the place besides [mm² covered]
        rim : the round it belongs to, on which a leader of the same stroke ends
        """
        best: tuple[float, Words, Stroke | None] | None = None
        for at, led, against in places:
            there, leader = replace(words, at=at), _leader(at, rim) if led else None
            cost = self.cost(there) + against
            cost += 0.0 if leader is None else sum(map(self.cost, self._parts(leader)))
            if best is None or cost < best[0]:
                best = cost, there, leader
            if cost == 0:
                break
        assert best is not None
        _, there, leader = best
        self.take(there)
        if leader is not None:
            self.take_line(leader)
            (x0, y0), (x1, y1) = leader.points
            yield from (leader, arrowhead((x1, y1), (x1 - x0, y1 - y0), 1.4 * self.paper))
        yield there


def _leader(at: Point, rim: Round) -> Stroke:
    """From words straight toward the middle of a round, or away from it, to its rim."""
    x, y = at[0] - rim.at[0], at[1] - rim.at[1]
    share = rim.radius / hypot(x, y)
    return line(at, (rim.at[0] + share * x, rim.at[1] + share * y), stroke=rim.stroke, weight=0.5, name="leader")
