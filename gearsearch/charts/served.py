"""Which leads of a list or a grid have no train, and by which other route some of them have one."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction
from typing import TYPE_CHECKING

from ..base.errors import GearsearchError
from ..base.facts import Note
from ..base.units import decimals, text_of_length
from ..search.next_steps import serving_mm
from ..search.routes import other_routes
from ..search.terms import Terms
from ..shop.shop import Shop
from ..work.part import Part
from ..work.tolerance import HOPELESS

if TYPE_CHECKING:
    from .making import Chart

_MOST_TRIED = 1000  # leads by another route
_LONGEST = 20  # letters of a lead that is typed again


def lacking(chart: Chart) -> list[int]:
    """The numbers of the leads of a list or a grid whose row is a dash: none is within 1 %, nor inside a tolerance."""
    served: set[int] = set()
    for rows in chart.rows if chart.items else ():
        inside = rows.more.get("within", [None] * len(rows))
        for row, (item, within) in enumerate(zip(rows.more["item"].tolist(), inside, strict=True)):
            wanted = rows.more["wanted"][row]
            if item not in served and (within or abs(rows.lead(row) - wanted) <= HOPELESS * wanted):
                served.add(item)
    return [item for item in range(chart.items) if item not in served]


def notes_of(chart: Chart) -> Iterator[Note]:
    """How many leads have no train, and the other route that has one for most of them; nothing where all have one."""
    missing = lacking(chart)
    if chart.part_of is None or not missing:
        return
    what = "cells" if chart.kind == "grid" else "leads"
    near = f"within {decimals(100 * HOPELESS, 0)} %" if chart.has_dashes else "inside the tolerance"
    yield Note("no-train", f"no train {near} for {len(missing)} of {chart.items} {what}")
    parts = [chart.part_of(item) for item in missing[:_MOST_TRIED]]
    shop, terms = chart.source.shop, chart.source.terms
    helped = {other.route: _served_by(shop, other, parts) for other in other_routes(shop, terms, chart.routes)}
    best = max(helped, key=lambda route: helped[route], default=None)
    if best is not None and helped[best]:
        cost = shop.machine.cost(shop.ways(best)[0], shop.dividing)
        asked, way = (best, "that route") if len(missing) == chart.items else ("any", best)  # the other leads have one
        least = "at least " if len(parts) < len(missing) else ""
        which = "all" if helped[best] == len(missing) else f"{least}{helped[best]}"
        by = f" ({cost} by {way})" if cost else ""
        yield Note("other-route", f"add --route {asked}: a train for {which} of them{by}")
        return
    lead = text_of_length(parts[0].lead_mm, shop.units).replace(" ", "")
    if chart.has_dashes and len(lead) <= _LONGEST:
        yield Note("ask-find", f"what would help: gearsearch find --lead {lead}, with the options of this chart")


def _served_by(shop: Shop, terms: Terms, parts: Sequence[Part]) -> int:
    """How many of some leads have a train that serves by another route; none where it cannot be asked for."""
    from .ways import hands_of, nearest_of, of_hands, sources_of

    try:
        sources = sources_of(shop, terms)
        hands = hands_of(sources, parts)
    except GearsearchError:  # hands that are not known alike
        return 0
    middles = [sum(serving_mm(part), Fraction(0)) / 2 for part in parts]  # the nearest to it serves if any does
    found = nearest_of(sources, middles, 1)
    if found is None or (found := of_hands(found, hands)) is None:
        return 0
    served: set[int] = set()
    for row, item in enumerate(found.more["item"].tolist()):
        low, high = serving_mm(parts[item])
        if low <= found.lead(row) <= high:
            served.add(item)
    return len(served)
