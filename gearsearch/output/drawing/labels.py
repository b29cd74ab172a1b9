"""Words placed in a picture where they cover no other words, no rim and nothing that is drawn solid.

The rule, for each in its turn: of the places offered, in their order, the first that is free and whose leader crosses
no words is taken; where several lines may be crossed, the place with the fewest. A place is free where the words, with
a little room around, lie on no other words, on no solid round, on no leader or dimension line, and across no rim.
Places are offered ever farther out; words for which there is none are left out: those beside the picture say it too.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, replace
from itertools import pairwise
from math import ceil, cos, hypot, radians, sin

from .marks import Box, Mark, Point, Round, Stroke, Words, arrowhead, between, distances, line, overlap

Place = tuple[Point, bool, float]
_ROOM = 0.6  # about words [mm of paper]


@dataclass(slots=True)
class Labels:
    """What of a picture is taken.

    Parameters
    ----------
    paper : how many of the picture's millimetres one millimetre of the paper shows
    """

    paper: float
    _boxes: list[Box] = field(default_factory=list)
    _solids: list[Round] = field(default_factory=list)
    _rims: list[Round] = field(default_factory=list)
    _lines: list[Stroke] = field(default_factory=list)
    _soft: list[Stroke] = field(default_factory=list)

    def take(self, mark: Mark, *, soft: bool = False) -> None:
        """Count a mark as taken: words, a rim, a solid round or a line; a soft line may be covered where need be."""
        if isinstance(mark, Words):
            self._boxes += parts(mark, self.paper)
        elif isinstance(mark, Round):
            (self._rims if mark.fill is None else self._solids).append(mark)
        else:
            (self._soft if soft else self._lines).append(mark)

    def is_free(self, words: Words) -> bool:
        """Whether words cover nothing that they must not."""
        return all(self._is_free(_grown(box, _ROOM * self.paper)) for box in parts(words, self.paper))

    def _is_free(self, box: Box) -> bool:
        if any(overlap(box, other) for other in self._boxes):
            return False
        if any(distances(box, solid.at)[0] < solid.radius for solid in self._solids):
            return False
        for rim in self._rims:
            near, far = distances(box, rim.at)
            if near < rim.radius < far:
                return False
        return not any(_crosses(stroke, box) for stroke in self._lines)

    def is_clear(self, stroke: Stroke) -> bool:
        """Whether a line crosses no words."""
        return not any(_crosses(stroke, box) for box in self._boxes)

    def crossed(self, words: Words) -> int:
        """How many soft lines words would cover."""
        boxes = parts(words, self.paper)
        return sum(any(_crosses(stroke, box) for box in boxes) for stroke in self._soft)

    def put(self, words: Words, places: Iterable[Place], rim: Round) -> Iterator[Mark]:
        """Words at the best place that is free.

        Parameters
        ----------
        words : what to put
        places : where it may stand, the best first, whether a leader must show what it belongs to, and what speaks
            against the place besides [soft lines]
        rim : the round it belongs to, on which a leader of the same stroke ends
        """
        best: tuple[float, Words, Stroke | None] | None = None
        for at, led, against in places:
            there, leader = replace(words, at=at), _leader(at, rim) if led else None
            if not self.is_free(there) or (leader is not None and not self.is_clear(leader)):
                continue
            cost = self.crossed(there) + against
            if best is None or cost < best[0]:
                best = cost, there, leader
            if cost == 0:
                break
        if best is None:
            return
        _, there, leader = best
        self.take(there)
        if leader is not None:
            self.take(leader)
            (x0, y0), (x1, y1) = leader.points
            yield from (leader, arrowhead((x1, y1), (x1 - x0, y1 - y0), 1.4 * self.paper))
        yield there


def parts(words: Words, paper: float) -> list[Box]:
    """What words cover: one box where they lie level, else a row of boxes along them."""
    if words.turned % 180 == 0:
        return [words.box(paper)]
    wide, high = words.size_mm(paper)
    count = max(1, ceil(wide / high))
    c, s = cos(radians(words.turned)), sin(radians(words.turned))
    step = (wide - high) / 2
    ends = [(words.at[0] + side * step * c, words.at[1] + side * step * s) for side in (-1, 1)]
    half = high * (abs(c) + abs(s)) / 2
    middles = [between(ends[0], ends[1], i / max(1, count - 1)) for i in range(count)]
    return [((x - half, y - half), (x + half, y + half)) for x, y in middles]


def _grown(box: Box, by: float) -> Box:
    (x0, y0), (x1, y1) = box
    return (x0 - by, y0 - by), (x1 + by, y1 + by)


def _crosses(stroke: Stroke, box: Box) -> bool:
    """Whether a line goes through a box; most of its parts lie wholly to one side."""
    (left, low), (right, high) = box
    return any(
        (a[0] > left or b[0] > left)
        and (a[0] < right or b[0] < right)
        and (a[1] > low or b[1] > low)
        and (a[1] < high or b[1] < high)
        and _cuts(a, b, box)
        for a, b in pairwise(stroke.points)
    )


def _cuts(a: Point, b: Point, box: Box) -> bool:
    """Whether what lies between two points goes through a box: what the sides of the box leave of it is not empty."""
    first, last = 0.0, 1.0
    for axis in (0, 1):
        begin, along = a[axis], b[axis] - a[axis]
        low, high = box[0][axis], box[1][axis]
        if along == 0:
            if not low < begin < high:
                return False
            continue
        enter, leave = sorted(((low - begin) / along, (high - begin) / along))
        first, last = max(first, enter), min(last, leave)
    return first < last


def _leader(at: Point, rim: Round) -> Stroke:
    """From words straight toward the middle of a round, or away from it, to its rim."""
    x, y = at[0] - rim.at[0], at[1] - rim.at[1]
    share = rim.radius / hypot(x, y)
    return line(at, (rim.at[0] + share * x, rim.at[1] + share * y), stroke=rim.stroke, weight=0.5, name="leader")
