"""What a slip at the box would have given: one wrong gear, or the whole train turned about."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, replace
from fractions import Fraction

from ..shop.machine import Route
from ..shop.shop import Shop
from ..shop.trains import Pair, Train


@dataclass(frozen=True, slots=True)
class Slip:
    """What one wrong gear would have given: ``put_on`` in the place of ``meant``.

    Parameters
    ----------
    meant, put_on : tooth counts
    place : ``driver`` or ``driven``
    lead_mm : lead of the train with the wrong gear [mm], exact
    in_the_box : whether such a gear is left in the box; else only a miscounted one could have been put on
    """

    meant: int
    put_on: int
    place: str
    lead_mm: Fraction
    in_the_box: bool = False


def slips_of(shop: Shop, route: Route, train: Train) -> Iterator[Slip]:
    """What each single wrong gear would have given: a tooth fewer or more, and its neighbours in the box.

    Parameters
    ----------
    shop, route : whose gears, by which route
    train : the train as meant, every pair with the tag of its kind of tooth

    The neighbours are the next smaller and the next larger tooth count of the same kind that are left over. In power
    order, each gear's slips ascending. Idlers change no lead and are left out; so are gears fixed on their shafts.
    """
    left = {gears.kind.tag: gears.available() for gears in shop.gears}
    for kind, teeth in train.wheels:
        left[kind][teeth] -= 1
    fixed = {(end, gears.kind.tag) for gears in shop.gears for end in gears.fixed}
    for number, pair in enumerate(train.pairs):
        for place, meant in (("driver", pair.driver), ("driven", pair.driven)):
            end = {(0, "driver"): "first", (len(train.pairs) - 1, "driven"): "last"}.get((number, place), "stud")
            if (end, pair.kind) in fixed:
                continue
            for put_on, in_the_box in _wrong(meant, left[pair.kind]):
                other = replace(pair, driver=put_on) if place == "driver" else replace(pair, driven=put_on)
                wrong = Train((*train.pairs[:number], other, *train.pairs[number + 1 :]))
                yield Slip(meant, put_on, place, shop.lead(wrong, route), in_the_box)


def turned_about_mm(shop: Shop, route: Route, train: Train) -> Fraction:
    """Lead [mm] of the train turned about, every driver in the place of the gear it drives."""
    pairs = tuple(Pair(pair.driven, pair.driver, pair.idlers, pair.kind) for pair in train.pairs)
    return shop.lead(Train(pairs), route)


def _wrong(meant: int, left: Counter[int]) -> list[tuple[int, bool]]:
    """The counts that may be put on for the one meant, ascending, and whether each is left in the box."""
    box = sorted(teeth for teeth, count in left.items() if count > 0)
    smaller, larger = [t for t in box if t < meant][-1:], [t for t in box if t > meant][:1]
    counts = {meant + 1, *smaller, *larger} | ({meant - 1} if meant > 1 else set())
    return [(teeth, teeth in box) for teeth in sorted(counts)]
