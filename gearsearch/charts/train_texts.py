"""The trains of many rows as text, all at once: what ``str(train)`` gives of each."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import pyarrow as pa

    from ..base.arrays import Bools, Integers
    from ..shop.pool import GearPool
    from ..shop.train_columns import Trains


def trains_of(trains: Trains, pool: GearPool, *, idlers: bool = True, mask: Bools | None = None) -> pa.Array:
    """One text for each row, as an Arrow array.

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
