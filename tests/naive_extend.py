"""Gears to add, gears to spare and sets from scratch, slow and obvious: every choice is made and searched anew.

Shares no code with the package; stands on ``naive``. A need is anything with wanted_mm, low_mm and high_mm.
"""

from dataclasses import replace
from fractions import Fraction
from itertools import combinations, combinations_with_replacement

import naive


def with_gears(shop, added):
    """The shop with gears (kind number, teeth) added to its loose ones."""
    sets = list(shop.gears)
    for kind, teeth in added:
        sets[kind] = replace(sets[kind], teeth=tuple(sorted((*sets[kind].teeth, teeth))))
    return replace(shop, gears=tuple(sets))


def with_only(shop, kept):
    """The shop with these loose gears (kind number, teeth) in place of its own."""
    bare = replace(shop, gears=tuple(replace(gears, teeth=()) for gears in shop.gears))
    return with_gears(bare, kept)


def loose_gears(shop):
    """Every loose gear as (kind number, teeth), one entry each."""
    return [(kind, teeth) for kind, gears in enumerate(shop.gears) for teeth in gears.teeth]


def closest(shop, needs, terms, passes):
    """For each need the least |error| of a train inside the tolerance that mounts, by any of the ways, or None.

    ``passes(a, b, idlers)`` judges an arrangement.
    """
    first = shop.machine.routes[0].name
    routes = [route for route in shop.machine.routes if terms.route == "any" or route.name == first]
    leads = [(route, naive.every_lead(shop, route, *terms.pairs)) for route in routes]
    return [_closest(shop, need, terms, leads, passes) for need in needs]


def _closest(shop, need, terms, leads, passes):
    low, high = need.allowed_mm
    inside = [(abs(lead / need.lead_mm - 1), way, lead) for way, (_, found) in enumerate(leads) for lead in found]
    hand = need.thread.hand if need.thread and need.thread.hand else terms.hand
    for off, way, lead in sorted(row for row in inside if low <= row[2] <= high):
        route, found = leads[way]
        if any(mounts(shop, route, train, hand, passes) for train in found[lead]):
            return off
    return None


def mounts(shop, route, train, hand, passes):
    """Whether any arrangement of a gear set passes."""
    return any(passes(*row) for row in naive.arrangements(shop, route, train, hand))


def best_gears(shop, needs, terms, candidates, gears, passes):
    """(gained, exact, worst, gears added) of every choice of gears, best first.

    Choices that bring nothing are left out, and two gears that bring no more than the best single one.
    """
    tags = [gears.kind.tag for gears in shop.gears]
    before = closest(shop, needs, terms, passes)
    scores = {}
    for count in range(1, gears + 1):
        for added in combinations_with_replacement(sorted(candidates), count):
            scores[added] = _score(before, closest(with_gears(shop, added), needs, terms, passes))
    single = max((len(score[0]), len(score[1])) for added, score in scores.items() if len(added) == 1)
    rows = []
    for added, (gained, exact, worst) in scores.items():
        value = (len(gained), len(exact))
        if len(added) == gears and value > (single if gears == 2 else (0, 0)):
            rows.append((-value[0], -value[1], worst, tuple((tags[k], t) for k, t in added), gained, exact))
    return [(gained, exact, worst, added) for _, _, worst, added, gained, exact in sorted(rows)]


def best_over_all(shops, needs, terms, candidates, gears, passes):
    """(leads gained, made exact, worst, gears added) of every choice of gears for several shops, best first.

    Gears are (module, pressure angle, teeth); a shop without that kind of tooth gets none. ``passes`` is one for each.
    """
    before = [closest(shop, needs, terms, each) for shop, each in zip(shops, passes, strict=True)]
    scores = {}
    for count in range(1, gears + 1):
        for added in combinations_with_replacement(sorted(candidates), count):
            scored = [
                _score(old, closest(with_gears(shop, _fitting(shop, added)), needs, terms, each))
                for shop, old, each in zip(shops, before, passes, strict=True)
            ]
            gained, exact = (sum(len(score[part]) for score in scored) for part in (0, 1))
            scores[added] = -gained, -exact, max(score[2] for score in scored), added
    single = min(score[:2] for added, score in scores.items() if len(added) == 1)
    most = single if gears == 2 else (0, 0)
    rows = sorted(score for added, score in scores.items() if len(added) == gears and score[:2] < most)
    return [(-gained, -exact, worst, added) for gained, exact, worst, added in rows]


def _fitting(shop, added):
    kinds = [(gears.kind.module_mm, gears.kind.pressure_angle_deg) for gears in shop.gears]
    return [(kinds.index((module, angle)), teeth) for module, angle, teeth in added if (module, angle) in kinds]


def _score(before, after):
    gained = tuple(n for n, (old, new) in enumerate(zip(before, after, strict=True)) if old is None and new is not None)
    exact = tuple(n for n, (old, new) in enumerate(zip(before, after, strict=True)) if old != 0 and new == 0)
    return gained, exact, max((after[n] for n in gained), default=Fraction(0))


def covered(shop, needs, terms, passes):
    """Places of the needs a shop covers."""
    return {n for n, miss in enumerate(closest(shop, needs, terms, passes)) if miss is not None}


def spare(shop, needs, terms, passes):
    """For each loose gear (kind number, teeth): the needs lost without one of it."""
    whole = covered(shop, needs, terms, passes)
    lost = {}
    for gear in sorted(set(loose_gears(shop))):
        rest = loose_gears(shop)
        rest.remove(gear)
        lost[gear] = tuple(sorted(whole - covered(with_only(shop, rest), needs, terms, passes)))
    return lost


def smallest_cover(shop, needs, terms, passes):
    """How many loose gears the smallest subset has that covers whatever the whole box covers."""
    whole = covered(shop, needs, terms, passes)
    gears = loose_gears(shop)
    for count in range(len(gears) + 1):
        for kept in combinations(gears, count):
            if covered(with_only(shop, kept), needs, terms, passes) == whole:
                return count
    raise AssertionError("the whole box covers what it covers")


def best_design(shop, needs, terms, candidates, size, copies, passes):
    """(leads covered, leads exact) of the best set of so many gears, from every set there is."""
    stock = [gear for gear in sorted(candidates) for _ in range(copies)]
    best = (0, 0)
    for kept in set(combinations(stock, size)):
        misses = closest(with_only(shop, kept), needs, terms, passes)
        best = max(best, (sum(m is not None for m in misses), sum(m == 0 for m in misses)))
    return best
