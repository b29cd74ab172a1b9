"""Pairs of trains for two meshing gears, slow and obvious: every lead of one against every lead of the other.

Shares no code with the package; stands on ``naive``.
"""

from fractions import Fraction

import naive

OTHER = {"right": "left", "left": "right"}


def best_trains(shop, route, hand, pairs, window, passes):
    """Every lead in a window with its best train for a hand: {lead: (pairs, idlers, teeth in power order, row)}."""
    chosen = {}
    for lead, sets in naive.every_lead(shop, route, *pairs).items():
        if window[0] <= lead <= window[1]:
            rows = [row for train in sets for row in naive.arrangements(shop, route, train, hand) if passes(*row)]
            ranked = sorted((_key(row), row) for row in rows)
            if ranked:
                chosen[lead] = ranked[0]
    return chosen


def _key(row):
    drivers, driven, idlers = row
    teeth = [t for _, t in drivers] + [t for _, t in driven] + ([g[1] for _, g in idlers] or [0])
    return 2 * len(drivers), len(idlers), tuple(teeth)


def every_pair(shop, gears, hands, pairs, windows, passes):
    """Every pair of leads as (mismatch, shared error, gears, idlers, teeth, leads); ``gears`` are (lead, teeth)."""
    route = shop.machine.routes[0]
    ways = [("right", "left"), ("left", "right")] if hands == "either" else [(hands, OTHER[hands])]
    best = {}
    for way in ways:
        first, second = (
            best_trains(shop, route, hand, pairs, window, passes) for hand, window in zip(way, windows, strict=True)
        )
        for a, (key_a, _) in first.items():
            for b, (key_b, _) in second.items():
                ratio = (a / gears[0][1]) / (b / gears[1][1])
                shared = (a / gears[0][0] + b / gears[1][0]) / 2 - 1
                row = (
                    max(ratio, 1 / ratio) - 1,
                    abs(shared),
                    key_a[0] + key_b[0],
                    key_a[1] + key_b[1],
                    (key_a[2], key_b[2]),
                    (a, b),
                )
                best[a, b] = min(best.get((a, b), row), row)
    return list(best.values())


def nearest_pairs(shop, gears, hands, pairs, windows, passes):
    """All pairs of leads, least mismatch first."""
    return sorted(every_pair(shop, gears, hands, pairs, windows, passes))


def exact_pairs(shop, gears, hands, pairs, windows, passes):
    """The exact pairs, easiest first: gears, idlers, least change of lead, teeth."""
    exact = [row for row in every_pair(shop, gears, hands, pairs, windows, passes) if row[0] == Fraction(0)]
    return sorted(exact, key=lambda row: (row[2], row[3], row[1], row[4]))
