"""The chart of a gearbox: the fewest changes of gears for the leads of a list, each train kept on while it serves."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction

import numpy as np

from ..base.errors import GearsearchError
from ..base.sharing import HERE, Crew
from ..base.units import format_both
from ..search.terms import Terms
from ..shop.shop import Shop
from ..work.lists import LeadList
from ..work.part import Part
from ..work.tolerance import Tolerance
from .best import BestTrains
from .cover import fewest
from .making import LIST_COLUMNS, Chart, Column, list_rows, parts_of
from .nearest import blank
from .rows import LeadRows
from .ways import WAY, hands_of, sources_of

CHANGE = Column("change", "int", "number of the train to put on; gears are changed where it changes")
_MOST_SERVING = 300_000  # leads inside the tolerances, of all ways and items
_MOST_NAMED = 8


@dataclass(frozen=True, slots=True)
class _Serves:
    """A train for one item by one way: how far off it is, and where it stands."""

    off: Fraction
    way: int
    rows: LeadRows
    row: int
    hand: str


@dataclass(slots=True)
class _Train:
    """A train that may be kept on, with the items it serves, each by the way that is nearest."""

    name: str
    ease: tuple[int, int]
    serves: dict[int, _Serves] = field(default_factory=dict)

    @property
    def items(self) -> int:
        return sum(1 << item for item in self.serves)

    def worth(self, items: Iterable[int]) -> tuple[object, ...]:
        """Its place among the trains for some items: by all their errors, gears, idlers, then its gears in words."""
        return sum(self.serves[item].off for item in items), *self.ease, self.name


def fewest_changes(
    shop: Shop,
    terms: Terms,
    wanted: LeadList,
    tolerance: Tolerance | None = None,
    length_mm: Fraction | None = None,
    crew: Crew = HERE,
) -> Chart:
    """The fewest trains that serve every lead of a list, and which lead is cut with which train and lever.

    Parameters
    ----------
    shop, terms : whose gears, and how trains may be built; several ways, as levers, let one train serve many leads
    wanted : the list
    tolerance : for items without one of their own
    length_mm : axial length of the cut, for the error over it [mm]
    crew : who does the work

    A train serves a lead where it is inside its tolerance by one of the ways. The number of trains is proved to be
    the least where the heading says so. Of as few the nearest are taken; where two of them serve a lead, the nearer.
    A thread that is named with its hand is cut with that hand alone. Raises GearsearchError as ``ways.hands_of``, for
    an item without a tolerance, and where too many trains are inside the tolerances.
    """
    items = parts_of(wanted, tolerance, length_mm)
    sources = sources_of(shop, terms, crew)
    trains = _trains(sources, items)
    chosen, proved = fewest([train.items for train in trains])
    groups = _groups([trains[place] for place in chosen], trains)
    facts = [
        f"fewest changes of gears: {_many(len(groups), 'train')} for {_many(sum(map(len, groups.values())), 'lead')}, "
        + ("proved: no fewer changes are possible" if proved else "NOT PROVED: fewer may be possible"),
        *_lacking(items, groups),
        *([] if tolerance is None else [f"tolerance where the list gives none: {tolerance.text}"]),
        *([] if length_mm is None else [f"length of the cut: {format_both(length_mm, shop.units)}"]),
    ]
    title = f"{wanted.title}, fewest changes of gears"
    found = _rows(groups)
    return Chart(
        sources,
        "list",
        title,
        tuple(facts),
        lambda: iter([list_rows(sources, items, found)] if found is not None else []),
        (CHANGE, *LIST_COLUMNS),
        read_from=wanted.sources,
        items=len(items),
        part_of=items.__getitem__,
    )


def _many(count: int, what: str) -> str:
    return f"{count} {what}{'' if count == 1 else 's'}"


def _lacking(items: Sequence[Part], groups: dict[str, dict[int, _Serves]]) -> Iterator[str]:
    served = {item for group in groups.values() for item in group}
    names = [part.title for item, part in enumerate(items) if item not in served]
    if names:
        more = f" and {len(names) - _MOST_NAMED} more" if len(names) > _MOST_NAMED else ""
        yield f"NO TRAIN inside the tolerance: {', '.join(names[:_MOST_NAMED])}{more}"


def _trains(sources: Sequence[BestTrains], items: Sequence[Part]) -> list[_Train]:
    """Every train that serves an item, the nearest and easiest first."""
    trains: dict[str, _Train] = {}
    count = 0
    for item, (part, hand) in enumerate(zip(items, hands_of(sources, items), strict=True)):
        low, high = part.allowed_mm
        for way, source in enumerate(sources):
            for rows in source.leads(low, high):
                count += len(rows)
                if count > _MOST_SERVING:
                    raise GearsearchError(
                        f"more than {_MOST_SERVING} leads are inside the tolerances of the list",
                        "give tighter tolerances or fewer leads, or allow fewer --pairs",
                    )
                for serves in _serving(rows, way, part.lead_mm, hand):
                    _enter(trains, source, item, serves)
    return sorted(trains.values(), key=lambda train: train.worth(train.serves))


def _serving(rows: LeadRows, way: int, wanted_mm: Fraction, cut: str) -> Iterator[_Serves]:
    """Every train that serves a lead that is cut with a hand, ``either`` standing for both."""
    for hand, trains in rows.hands.items():
        if "either" not in (hand, cut) and hand != cut:
            continue
        for row in np.flatnonzero(trains.pairs > 0).tolist():
            yield _Serves(abs(rows.lead(row) / wanted_mm - 1), way, rows, row, hand)


def _enter(trains: dict[str, _Train], source: BestTrains, item: int, serves: _Serves) -> None:
    made = serves.rows.hands[serves.hand].train(source.pool, serves.row)
    train = trains.setdefault(str(made), _Train(str(made), (made.gears, len(made.idlers))))
    known = train.serves.get(item)
    if known is None or (serves.off, serves.way) < (known.off, known.way):
        train.serves[item] = serves


def _groups(chosen: list[_Train], trains: list[_Train]) -> dict[str, dict[int, _Serves]]:
    """What each train is kept on for: every item with the nearest of the chosen trains, then the nearest such train."""
    mine: dict[str, list[int]] = {train.name: [] for train in chosen}
    for item in sorted({item for train in chosen for item in train.serves}):
        able = [train for train in chosen if item in train.serves]
        mine[min(able, key=lambda train: (train.serves[item].off, train.ease, train.name)).name].append(item)
    groups: dict[str, dict[int, _Serves]] = {}
    for served in filter(None, mine.values()):
        able = [train for train in trains if all(item in train.serves for item in served)]
        best = min(able, key=lambda train: train.worth(served))
        groups.setdefault(best.name, {}).update({item: best.serves[item] for item in served})
    return groups


def _rows(groups: dict[str, dict[int, _Serves]]) -> LeadRows | None:
    """A row for each item, train by train, the one with the shortest lead first."""
    parts = []
    ordered = sorted(groups.values(), key=lambda group: min(each.rows.lead(each.row) for each in group.values()))
    for change, group in enumerate(ordered, 1):
        for item, each in group.items():
            row = each.rows.take(np.array([each.row]))
            for hand, trains in row.hands.items():
                blank(trains, np.array([hand != each.hand]))
            numbers = {WAY: each.way, "item": item, "rank": 1, "change": change}
            parts.append(replace(row, more={name: np.array([number]) for name, number in numbers.items()}))
    return LeadRows.joined(parts) if parts else None
