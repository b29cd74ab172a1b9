"""Where many trains stand at once: just where each stands alone."""

import random

import numpy as np
import pytest
from made_up_brackets import made_up_case
from quadrants import LAYOUTS, made_up_pieces, made_up_set, made_up_shop

from gearsearch.mounting.judge import Judge
from gearsearch.shop.pool import pool_of


def stands(placement):
    """Studs, shaft distances, slots, swing and idle partners of a train that was placed alone."""
    idle = sorted((wheel.teeth, wheel.shaft, wheel.plane) for wheel in placement.wheels if wheel.role == "idle")
    studs = [(stud.x_mm, stud.y_mm) for stud in placement.studs]
    head = placement.shaft_distance_mm, *placement.heads_mm
    return studs, head, [stud.slot or 0 for stud in placement.studs], placement.bracket_swing_deg or 0.0, idle


def drawn_of(shop, rng):
    """Train sets of one and of two pairs, as rows of gear numbers."""
    box = pool_of(shop)
    for pairs in (1, 2):
        drawn = [each for each in (made_up_set(rng, box, pairs) for _ in range(12)) if each]
        yield np.array([[*a, *b] for a, b in drawn], np.int64).reshape(-1, 2 * pairs)


def hold_to_place(shop, all_sets):
    """How many trains stood, each held against the same train placed alone."""
    judge, held = Judge(shop, pool_of(shop), shop.route()), 0
    for sets in all_sets:
        for hand in ("right", "left") if len(sets) else ():
            best = judge.best(sets, hand)
            places = judge.places(best)
            for row in np.flatnonzero(best.mounts).tolist():
                studs, head, slots, swing, idle = stands(judge.place(best.train(judge.pool, row)).placement)
                found = np.column_stack([places.x_mm[row], places.y_mm[row]])
                assert found[: len(studs)].ravel().tolist() == pytest.approx(np.ravel(studs), abs=1e-9)
                assert np.isnan(found[len(studs) :]).all()
                assert [places.head_mm[row], *places.heads_mm[row]] == pytest.approx(head, abs=1e-9)
                assert places.slot[row].tolist()[: len(studs)] == slots
                assert not slots or not slots[0] or places.swing_deg[row] == pytest.approx(swing, abs=1e-9)
                told = zip(places.idle[row], places.idle_shaft[row], places.idle_plane[row], strict=True)
                assert sorted((judge.pool.teeth[a], b, c) for a, b, c in told if a >= 0) == idle
                held += 1
    return held


@pytest.mark.parametrize("layout", LAYOUTS)
def test_trains_stand_together_just_where_each_stands_alone(layout):
    held = 0
    for seed in range(12):
        rng = random.Random(seed)
        shop = made_up_shop(rng, most=7, layouts=(layout,), free=True)
        held += hold_to_place(shop, drawn_of(shop, rng))
    assert held > 40


def test_trains_of_joined_pieces_too():
    held = 0
    for seed in range(30):
        rng = random.Random(seed)
        shop = made_up_pieces(rng)
        held += hold_to_place(shop, drawn_of(shop, rng))
    assert held > 40


def test_trains_in_several_slots_and_on_plates_too():
    held = 0
    for seed in range(250):
        case = made_up_case(random.Random(seed))
        if case is not None:
            shop, train = case
            box = pool_of(shop)
            gears = [box.number(pair[3], pair[end]) for end in (0, 2) for pair in train]
            held += hold_to_place(shop, [np.array([gears])] if len(train) < 4 else [])
    assert held > 40
