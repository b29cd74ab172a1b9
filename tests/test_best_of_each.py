"""The best train of each lead, its sets tried together: the same as the best of each set, put in order."""

import random

import numpy as np
import pytest
from quadrants import LAYOUTS, made_up_box, made_up_set, made_up_shop
from slow import some

from gearsearch.mounting import trials
from gearsearch.mounting.judge import Judge


@pytest.mark.parametrize("layout", LAYOUTS)
@pytest.mark.parametrize("seed", some(range(30), 10))
def test_sets_of_one_lead_are_tried_together_and_the_first_in_order_is_kept(seed, layout, monkeypatch):
    rng = random.Random(seed)
    shop = made_up_shop(rng, kinds=rng.choice([1, 2]), most=8, layouts=(layout,), free=seed % 2 == 0)
    judge = Judge(shop, made_up_box(rng, shop), shop.route(), rng.choice(["geometry", "geometry", "rule", "skip"]))
    for pairs in (1, 2, 3):
        drawn = [made_up_set(rng, judge.pool, pairs) for _ in range(12)]
        sets = np.array([[*a, *b] for a, b in filter(None, drawn)], np.int64).reshape(-1, 2 * pairs)
        if not len(sets):
            continue
        asked = np.array([rng.randrange(0, 9, 2) for _ in sets])
        for hand in ("right", "left", "either"):
            alone = judge.best(sets, hand)
            keys = alone.order_keys(judge.pool).tolist()
            for at_once in (1, 1 << 15):
                with monkeypatch.context() as patch:
                    patch.setattr(trials, "_AT_ONCE", at_once)
                    together = judge.best_of_each(sets, asked, hand)
                assert together.asked.tolist() == sorted(set(asked.tolist()))
                for row, lead in enumerate(together.asked):
                    mounting = [keys[n] for n in np.flatnonzero((asked == lead) & alone.mounts)]
                    assert bool(together.mounts[row]) == bool(mounting)
                    if mounting:
                        assert together.order_keys(judge.pool)[row].tolist() == min(mounting)
