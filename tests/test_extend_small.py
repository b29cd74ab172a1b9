"""The loops of ``extend`` where the room they are given does not do, on boxes of a few gears."""

from dataclasses import replace

import naive
import naive_extend
import numpy as np
import pytest
from shops import mill

from gearsearch.extend import joining
from gearsearch.extend.new_trains import NewTrains
from gearsearch.shop.pool import pool_of

TEETH, ADDED = (20, 24, 28, 32, 36), 26


def added_trains(pairs):
    """What finds the trains that need a gear more, and the gear number of that gear."""
    wide = pool_of(naive_extend.with_gears(mill(TEETH), [(0, ADDED)]))
    size = wide.teeth.index(ADDED)
    loose = tuple(count - (number == size) for number, count in enumerate(wide.loose))
    return NewTrains(replace(wide, loose=loose), pairs), size, wide.teeth


@pytest.mark.parametrize("looked", [0, 10**9], ids=["numpy", "compiled"])
@pytest.mark.parametrize("pairs", [1, 2])
def test_more_trains_than_there_was_room_for_are_listed_all_the_same(pairs, looked, monkeypatch):
    """The same window many times over: each time its trains are those of the slow search."""
    monkeypatch.setattr(joining.looked, "places", looked)
    trains, size, teeth = added_trains(pairs)
    times = 1100 // 4
    found = trains.trains((size,), np.array([[0.5, 2.0]] * times))
    grown = naive_extend.with_gears(mill(TEETH), [(0, ADDED)])
    expected = {
        (tuple(t for _, t in a), tuple(t for _, t in b))
        for a, b in naive.train_sets(grown, pairs) - naive.train_sets(mill(TEETH), pairs)
        if naive.ratio(a, b) * 2 >= 1 and naive.ratio(a, b) <= 2
    }
    assert len(found) == times * len(expected) > 1024
    rows = {}
    for window, sizes in zip(found.asked.tolist(), found.gears(pairs).tolist(), strict=True):
        told = [teeth[number] for number in sizes]
        rows.setdefault(window, set()).add((tuple(told[:pairs]), tuple(told[pairs:])))
    assert rows == dict.fromkeys(range(times), expected)
    assert found.driven_product.tolist() == [
        np.prod([teeth[n] for n in row[pairs:]]) for row in found.gears(pairs).tolist()
    ]


@pytest.mark.parametrize("looked", [0, 10**9], ids=["numpy", "compiled"])
def test_a_window_holds_the_train_at_both_its_ends(looked, monkeypatch):
    monkeypatch.setattr(joining.looked, "places", looked)
    trains, size, _ = added_trains(1)
    assert len(trains.trains((size,), np.array([[26 / 20, 26 / 20]])).gears(1)) == 1
