"""Dividing with only some of the head's circles, and without gears that are in use elsewhere."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace

from ..base import require
from ..base.errors import GearsearchError
from ..shop.gear_names import GearName, gear_names, parts_of, pieces_left, taken
from ..shop.pool import pool_of
from ..shop.shop import Shop
from .answer import Divided
from .indexing import head_of


@dataclass(frozen=True, slots=True)
class AtHand:
    """What there is to divide with.

    Parameters
    ----------
    circles : index circles to use, by their holes; empty for all of the head's
    without : gears in use elsewhere, as ``Terms`` has them

    Raises GearsearchError for what are no whole numbers.
    """

    circles: tuple[int, ...] = ()
    without: tuple[GearName, ...] = ()

    def __post_init__(self) -> None:
        object.__setattr__(self, "circles", require.whole_numbers(self.circles, "circles to use"))
        object.__setattr__(self, "without", gear_names(self.without, "gears to do without", pieces=True))

    def shop(self, shop: Shop) -> Shop:
        """A shop with no more than that.

        Raises GearsearchError for a circle that the head does not have, for a gear that is not there, and where
        circles are named without a dividing head.
        """
        head = head_of(shop) if self.circles else None
        if head is not None:
            for holes in self.circles:
                if holes not in head.circles:
                    owned = ", ".join(map(str, head.circles))
                    raise GearsearchError(f"there is no circle of {holes} holes", f"circles of the head: {owned}")
            sides = (tuple(holes for holes in side if holes in self.circles) for side in head.plates)
            head = replace(head, plates=tuple(side for side in sides if side))
        pool_of(shop, self.without)  # which says what is not there to do without
        left = Counter(self.without)
        rest = [[teeth for teeth in each.teeth if not taken(left, teeth, each.kind.tag, 1)] for each in shop.gears]
        joined = [pieces_left(each.joined, each.kind.tag, left) for each in shop.gears]
        gears = tuple(
            replace(each, teeth=tuple(teeth), joined=pieces)
            for each, teeth, pieces in zip(shop.gears, rest, joined, strict=True)
        )
        return replace(shop, gears=gears, dividing=head or shop.dividing)

    def told(self, answer: Divided) -> Divided:
        """The answer with what it was limited to, told before what was asked."""
        said = []
        if self.circles:
            said.append(f"only the circle{'s' * (len(self.circles) > 1)} of {_listed(self.circles)} holes")
        if self.without:
            said.append(f"without the gears of {_listed(self.without)} teeth, in use elsewhere")
        *before, asked = answer.heading
        return replace(answer, heading=(*before, *said, asked))


def _listed(names: tuple[GearName, ...]) -> str:
    *some, last = map(str, sorted(names, key=parts_of))
    return f"{', '.join(some)} and {last}" if some else last
