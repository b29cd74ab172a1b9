"""The best train for each of many wanted leads at once, as a table: one sweep of the nearest leads."""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction
from typing import TYPE_CHECKING, Any

from ..base.errors import GearsearchError
from ..base.facts import Record
from ..base.units import parse_length
from ..search.terms import Terms
from ..shop.shop import Shop

if TYPE_CHECKING:
    import pandas as pd

    from .best import BestTrains
    from .rows import LeadRows

MOST_LEADS = 1_000_000
_COLUMNS = ("wanted_mm", "train", "drivers", "driven", "idlers", "lead_mm", "error_mm", "error_ppm", "hand", "mounts")
_EXACT = ("wanted_exact", "lead_exact")


def best_trains(shop: Shop, leads_mm: Iterable[Any], terms: Terms, *, exact: bool = False) -> pd.DataFrame:
    """The nearest train for each wanted lead, one row each, in their order and under their index.

    Parameters
    ----------
    shop, terms : whose gears, and how trains may be made, as for charts
    leads_mm : wanted leads [mm]: numbers, an array or a Series; a float is taken as the decimal it prints
    exact : also the columns ``wanted_exact`` and ``lead_exact`` of ``Fraction`` [mm]

    Of two leads equally far off the shorter one; of one lead's trains the easiest, as in charts; the right hand before
    the left. Where no train will do a row holds the wanted lead alone. Raises GearsearchError for what is no length.
    """
    import numpy as np
    import pandas as pd

    from .best import BestTrains
    from .nearest import Nearest
    from .rows import by_train

    index = leads_mm.index if isinstance(leads_mm, pd.Series) else None
    wanted = [parse_length(lead, "mm", "wanted lead") for lead in getattr(leads_mm, "tolist", lambda: leads_mm)()]
    if not 1 <= len(wanted) <= MOST_LEADS:
        raise GearsearchError(f"{len(wanted)} leads are asked for", f"give 1 to {MOST_LEADS} leads")
    source = BestTrains(shop, terms)
    found = Nearest(source, wanted, 1).answer()
    names = [*_COLUMNS, *(_EXACT if exact else ())]
    rows: list[Record] = [{"wanted_mm": float(lead), "wanted_exact": lead} for lead in wanted]
    if found is not None:
        first = by_train(found, {"item": found.more["item"], "rank": found.more["rank"]})
        items, places = np.unique(first.more["item"], return_index=True)  # by item, then rank, then hand
        for item, row in zip(items.tolist(), places.tolist(), strict=True):
            rows[item] |= _told(source, first, row, wanted[item])
    return pd.DataFrame(rows, columns=names, index=index)


def _told(source: BestTrains, rows: LeadRows, row: int, wanted: Fraction) -> Record:
    hand = next(hand for hand, own in rows.own.items() if own[row] and rows.hands[hand].pairs[row] > 0)
    lead, train = rows.lead(row), rows.hands[hand].train(source.pool, row)
    return {
        "train": str(train),
        "drivers": list(train.drivers),
        "driven": list(train.driven),
        "idlers": list(train.idlers),
        "lead_mm": float(lead),
        "lead_exact": lead,
        "error_mm": float(lead - wanted),
        "error_ppm": float((lead / wanted - 1) * 1_000_000),
        "hand": None if hand == "either" else hand,
        "mounts": source.word,
    }
