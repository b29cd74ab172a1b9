"""The columns of a saved chart as an Arrow schema and tables, and what its file says of itself."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from .. import __version__
from ..base.facts import Record
from ..base.units import INCH_MM, text_of_length
from ..shop.trains import HANDS
from .making import Chart

if TYPE_CHECKING:
    import pyarrow as pa

    from ..base.arrays import Bools, Integers, Ints
    from ..shop.dial import Dial
    from ..shop.pool import GearPool
    from ..shop.train_columns import Trains
    from .rows import LeadRows

FORMAT = "1"  # of a saved chart; it changes where a column goes or means something else
NOT_ASKED = "not asked"  # of a hand that the chart is not of
_ABOUT = {
    "lead_mm": "lead, rounded to a float",
    "lead_num": "numerator of the exact lead in mm, lowest terms",
    "lead_den": "denominator of the exact lead in mm",
    "threads_per_inch": "threads per inch: starts × 25.4 mm / lead; 1 start but where a list says more",
    "dial": "where on the chasing dial the half nuts may close again for this lead, begun at mark 1",
    "train": "the train as it is typed, 80/44 48/100, with the idlers of the chart's one hand",
    "train_of_both": "the train as it is typed, 80/44 48/100, without its idlers: train_right and train_left have them",
    "train_of_a_hand": "the train as it is typed, with the idlers of this hand; null: none, or in another row",
    "drivers": "tooth counts of the drivers, in power order",
    "driven": "tooth counts of the driven gears, in power order",
    "idlers": "tooth counts of the idlers, in power order; empty list: none needed",
    "idler_pairs": "the pair each idler stands in, from 1",
    "mounts": "yes (by the quadrant), rule (by the rule of thumb), unknown (not judged), no (no train of this lead "
    "does), not asked (the chart is not of this hand); null: another row has the train for this hand",
    "gears": "how many gears set the ratio, idlers not counted",
    "clearance_mm": "tightest gap, the smaller of both hands, rounded down to 0.001; null: not judged, or nothing near",
    "clearance_of_a_hand": "tightest gap of the train with the idlers of this hand, likewise",
    "kinds": "tag of the kind of tooth of each pair",
}


@dataclass(frozen=True, slots=True)
class SavedColumns:
    """The columns of one chart, as an Arrow schema and as tables of rows.

    Parameters
    ----------
    chart : whose columns
    facts : what stands in the file's metadata
    """

    chart: Chart
    facts: dict[str, str]

    @property
    def _suffixes(self) -> dict[str, str]:
        """For each hand, what its columns end in."""
        hands = {hand: f"_{hand}" for hand in HANDS}
        return {**hands, "either": ""} if "either" in self.chart.source.hands else hands

    @property
    def _both(self) -> tuple[str, ...]:
        """The hands of a chart that has both, whose trains differ in their idlers."""
        hands = self.chart.source.hands
        return tuple(hands) if len(hands) > 1 else ()

    @property
    def sorted_by(self) -> tuple[str, ...]:
        """The columns by which the rows ascend; none for a list, which keeps its own order."""
        sides = tuple(column.name for column in self.chart.columns[:2])
        return {"every": ("lead_mm",), "grid": (*sides, "rank")}.get(self.chart.kind, ())

    @property
    def _counts_threads(self) -> bool:
        return self.chart.source.shop.machine.counts_threads

    @property
    def _dial(self) -> Dial | None:
        return self.chart.source.shop.machine.dial if self.chart.kind == "list" else None

    @property
    def _tagged(self) -> bool:
        return len(self.chart.source.pool.tags) > 1

    def schema(self) -> pa.Schema:
        """The Arrow schema, declared once: types, which columns are never empty, what each holds and in what unit."""
        import pyarrow as pa

        counts = pa.list_(pa.field("item", pa.int16(), nullable=False))
        kinds = {"text": pa.string(), "float": pa.float64(), "int": pa.int64(), "bool": pa.bool_()}
        ends = list(self._suffixes.values())
        fields = [
            pa.field("lead_mm", pa.float64(), nullable=False),
            *(pa.field(name, pa.int64(), nullable=False) for name in ("lead_num", "lead_den")),
            *([pa.field("threads_per_inch", pa.float64(), nullable=False)] if self._counts_threads else []),
            *([pa.field("dial", pa.string(), nullable=False)] if self._dial else []),
            *(pa.field(name, counts, nullable=False) for name in ("drivers", "driven")),
            *(pa.field(f"idlers{end}", counts) for end in ends),
            *(pa.field(f"mounts{end}", pa.string()) for end in ends),
            pa.field("gears", pa.int16(), nullable=False),
            pa.field("clearance_mm", pa.float64()),
            *(pa.field(column.name, kinds[column.kind], column.empty) for column in self.chart.all_columns),
            *(pa.field(f"idler_pairs{end}", counts) for end in ends),
        ]
        if self._tagged:
            fields.append(pa.field("kinds", pa.list_(pa.field("item", pa.string(), nullable=False)), nullable=False))
        fields += [pa.field(f"clearance{end}_mm", pa.float64()) for end in ends if end]
        fields += [pa.field("train", pa.string(), nullable=False)]
        fields += [pa.field(f"train_{hand}", pa.string()) for hand in self._both]
        about = {column.name: column.about for column in self.chart.all_columns}
        about |= {"train": _ABOUT["train_of_both"]} if self._both else {}
        described = [field.with_metadata(_field_facts(field.name, about)) for field in fields]
        return pa.schema(described, metadata=self.facts)

    def table(self, rows: LeadRows) -> pa.Table:
        """The rows as an Arrow table of that schema."""
        import numpy as np
        import pyarrow as pa

        gears, pool, schema = rows.gears, self.chart.source.pool, self.schema()
        teeth = np.array([*pool.teeth, 0], np.int16)
        columns = {
            "lead_mm": pa.array(rows.lead_mm),
            "lead_num": pa.array(rows.num),
            "lead_den": pa.array(rows.den),
            "train": trains_of(gears, pool, idlers=not self._both),
            "drivers": _lists(gears.drivers, teeth),
            "driven": _lists(gears.driven, teeth),
            "gears": pa.array((2 * gears.pairs).astype(np.int16)),
            "clearance_mm": _gaps(rows.clearance_um),
        }
        for hand, end in self._suffixes.items():
            columns |= self._hand_columns(rows, hand, end, teeth)
        for column in self.chart.all_columns:
            columns[column.name] = pa.array(rows.more[column.name], schema.field(column.name).type)
        if self._counts_threads:
            starts = rows.more["starts"].tolist() if "starts" in rows.more else [1] * len(rows)
            threads = [float(n * INCH_MM / rows.lead(row)) for row, n in enumerate(starts)]
            columns["threads_per_inch"] = pa.array(threads, pa.float64())
        if self._dial:
            screw = self.chart.source.shop.machine.screw_lead_mm
            columns["dial"] = pa.array([self._dial.rule(screw, rows.lead(row)).short for row in range(len(rows))])
        if self._tagged:
            tags = np.array([*(pool.tags[kind] for kind in pool.kind), ""], object)
            columns["kinds"] = _lists(gears.drivers, tags)
        return pa.Table.from_arrays([columns[name] for name in schema.names], schema=schema)

    def _hand_columns(self, rows: LeadRows, hand: str, end: str, teeth: Integers) -> Record:
        import numpy as np
        import pyarrow as pa

        chosen, pool = rows.hands.get(hand), self.chart.source.pool
        if chosen is None:
            empty = pa.nulls(len(rows), pa.list_(pa.field("item", pa.int16(), nullable=False)))
            word = None if "either" in self.chart.source.hands else NOT_ASKED
            untold = {f"mounts{end}": pa.array([word] * len(rows), pa.string())}
            untold |= {f"clearance{end}_mm": pa.nulls(len(rows), pa.float64())}
            return {f"idlers{end}": empty, f"idler_pairs{end}": empty} | untold
        there = chosen.pairs > 0
        serves = there & rows.own[hand]
        words = np.where(there, self.chart.source.word, "no").astype(object)
        pair_numbers = np.append(np.arange(1, 10), 0).astype(np.int16)
        return {
            f"idlers{end}": _lists(chosen.idlers, teeth, serves),
            f"idler_pairs{end}": _lists(chosen.idler_pairs, pair_numbers, serves),
            f"mounts{end}": pa.array(words, pa.string(), mask=(there & ~serves) | (chosen.pairs < 0)),
            **({f"clearance{end}_mm": _gaps(clearance_um(rows, hand))} if end else {}),
            **({f"train{end}": trains_of(chosen, pool, mask=serves)} if self._both else {}),
        }


def facts_of(chart: Chart, command: str, date: str) -> dict[str, str]:
    """What a chart's file says of itself: shop, machine, terms, units, the command, and the date if one was given."""
    source, shop = chart.source, chart.source.shop
    bases = [each.drive.lead_of_machine_mm for each in chart.sources]
    facts = {
        "gearsearch_chart": chart.kind,
        "gearsearch_format": FORMAT,
        "gearsearch_version": __version__,
        "title": "; ".join((chart.title, *chart.facts, *(f"source: {source}" for source in chart.read_from))),
        "shop": shop.name,
        "shop_units": shop.units,
        "route": ", ".join(route.call for route in chart.routes),
        "machine_lead_mm": ", ".join(text_of_length(base).removesuffix(" mm") for base in bases),
        "machine_kind": shop.machine.kind,
        "hands": " ".join(source.hands),
        "pairs": " ".join(map(str, source.catalogue.pairs)),
        "trains": str(source.catalogue.count),
        "gear_set": gear_set(chart),
        "mounting": source.judge.mode,
        "units": "lengths in mm, angles in degrees, errors in mm and parts in a million",
        "command": command,
    }
    return facts | ({"demo": "true"} if shop.is_demo else {}) | ({"date": date} if date else {})


def gear_set(chart: Chart) -> str:
    """The gears of the trains, as one text: ``20 24, joined 40+80, fixed on the last shaft 36``."""
    pool = chart.source.pool
    return "; ".join(
        " ".join([*([f"{tag}:"] if tag else []), ", ".join(_gears_of(pool, number))])
        for number, tag in enumerate(pool.tags)
    )


def _gears_of(pool: GearPool, kind: int) -> Iterator[str]:
    """The loose, the joined and the fixed gears of one kind of tooth."""
    numbered = [(number, teeth) for number, teeth in enumerate(pool.teeth) if pool.kind[number] == kind]
    loose = [str(teeth) for number, teeth in numbered for _ in range(pool.loose[number])]
    joined = [
        f"{pool.teeth[a]}+{pool.teeth[b]}" for a, b, count in pool.joined if pool.kind[a] == kind for _ in range(count)
    ]
    if loose:
        yield " ".join(loose)
    if joined:
        yield f"joined {' '.join(joined)}"
    for place, fixed in (("first", pool.fixed_first), ("last", pool.fixed_last)):
        if fixed >= 0 and pool.kind[fixed] == kind:
            yield f"fixed on the {place} shaft {pool.teeth[fixed]}"


def _field_facts(name: str, about: dict[str, str]) -> dict[str, str]:
    plain = re.sub("_(right|left)$", "", name)
    plain = "clearance_of_a_hand" if re.fullmatch("clearance_(right|left)_mm", name) else plain
    plain = "train_of_a_hand" if re.fullmatch("train_(right|left)", name) else plain
    unit = {"mm": "mm", "deg": "degrees", "ppm": "parts in a million"}.get(name.rsplit("_", 1)[-1], "")
    words = {"about": about.get(name) or _ABOUT[plain]}
    return words | ({"unit": unit} if unit else {})


def clearance_um(rows: LeadRows, hand: str) -> Ints:
    """The tightest gap of each row with the idlers of one hand [µm]; −1 where none was judged or near."""
    import numpy as np

    chosen = rows.hands[hand]
    told = rows.own[hand] & (chosen.pairs > 0) & (chosen.clearance_um < 10**9)
    return np.where(told, chosen.clearance_um, -1)


def _gaps(um: Ints) -> pa.Array:
    """Gaps [mm] from whole micrometres, those below zero null."""
    import numpy as np
    import pyarrow as pa

    return pa.array(np.maximum(um, 0) / 1000, mask=um < 0)


def _lists(sizes: Integers, values: Integers, mask: Bools | None = None) -> pa.Array:
    """One list for each row: the values of its sizes that are not −1; null where the mask is off."""
    import numpy as np
    import pyarrow as pa

    used = sizes >= 0
    if mask is not None:
        used &= mask[:, np.newaxis]
    offsets = np.concatenate([[0], np.cumsum(used.sum(axis=1))]).astype(np.int32)
    flat = values[sizes[used]]
    kind = pa.string() if flat.dtype == object else pa.int16()
    item = pa.list_(pa.field("item", kind, nullable=False))
    absent = None if mask is None else pa.array(~mask)
    return pa.ListArray.from_arrays(pa.array(offsets), pa.array(flat, kind), type=item, mask=absent)


def trains_of(trains: Trains, pool: GearPool, *, idlers: bool = True, mask: Bools | None = None) -> pa.Array:
    """The trains of many rows as text, all at once, as an Arrow array: what ``str(train)`` gives of each.

    Parameters
    ----------
    trains : drivers, driven gears and idlers of each row
    pool : the gears they stand for
    idlers : whether the idlers are told
    mask : (N,) bool, off where a row has no train; None: every row has one
    """
    import numpy as np
    import pyarrow as pa
    import pyarrow.compute as pc

    plain = _texts([str(teeth) for teeth in pool.teeth])
    tagged = _texts([f"{teeth}@{pool.tags[kind]}" for teeth, kind in zip(pool.teeth, pool.kind, strict=True)])
    tagged = tagged if len(pool.tags) > 1 else plain
    bracketed = _texts([f"({teeth})/" for teeth in pool.teeth])
    parts: list[pa.Array] = []
    for pair in range(trains.drivers.shape[1]):
        there = np.where(trains.drivers[:, pair] < 0, -1, 0)
        gap, slash = (_taken(_texts([mark]), there) for mark in " /")
        parts += [*([gap] if pair else []), _taken(plain, trains.drivers[:, pair]), slash]
        if idlers:
            between = np.where(trains.idler_pairs == pair, trains.idlers, -1)
            parts += [_taken(bracketed, between[:, place]) for place in range(between.shape[1])]
        parts.append(_taken(tagged, trains.driven[:, pair]))
    told = pc.binary_join_element_wise(*parts, "")
    return told if mask is None else pc.if_else(pa.array(mask), told, None)


def _texts(texts: list[str]) -> pa.Array:
    """Texts to take from by number, with an empty one behind them for what is not there."""
    import pyarrow as pa

    return pa.array([*texts, ""], pa.string())


def _taken(texts: pa.Array, numbers: Integers) -> pa.Array:
    import numpy as np
    import pyarrow as pa

    return texts.take(pa.array(np.where(numbers < 0, len(texts) - 1, numbers)))
