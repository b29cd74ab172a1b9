"""Indexing again, slow and obvious: every circle, hole and gear is tried. Shares no code with the package."""

from fractions import Fraction
from itertools import combinations, pairwise, permutations, product
from math import prod


def exact(circles, turns):
    """Every (turns, holes, circle) on one circle that is exactly so many crank turns."""
    if turns == int(turns):
        return [(int(turns), 0, 0)]
    return [
        (whole, holes, circle)
        for circle in circles
        for whole in [int(turns)]
        for holes in range(1, circle)
        if whole + Fraction(holes, circle) == turns
    ]


def least_error(circles, turns):
    """The least error in crank turns that any whole number of holes of any circle gives, at least one hole."""
    return min(
        abs(Fraction(holes, circle) - turns) for circle in circles for holes in range(1, int((turns + 2) * circle) + 1)
    )


def least_combined_error(sides, turns):
    """The least error in crank turns of two movements on two circles of one side, the second on or back."""
    return min(
        abs(Fraction(m, a) + sign * Fraction(n, b) - turns)
        for side in sides
        for a in side
        for b in side
        if a != b
        for n in range(1, b)
        for m in range(1, int((turns + 2) * a) + 1)
        if m % a
        for sign in (1, -1)
    )


def holes_near(ratio, divisions, circle, greatest):
    """Every count of holes for which the plate turns at most so often, found by counting up from one hole."""
    holes = 0
    while (holes + 1) * divisions <= (ratio + greatest) * circle:
        holes += 1
        if abs(ratio - divisions * Fraction(holes, circle)) <= greatest:
            yield holes


def set_ups(teeth, circles, ratio, divisions):
    """Every differential set-up, best first: (x, turns, holes, circle, drivers, driven, idlers), and those ruled out.

    One kind of tooth, loose gears. Drivers and driven are sorted; ``idlers`` is how many there are.
    """
    greatest = Fraction(max(teeth), min(teeth)) ** 2
    movements = {}
    for circle in circles:
        for holes in holes_near(ratio, divisions, circle, greatest):
            crank = Fraction(holes, circle)
            whole = int(crank)
            part = holes - whole * circle
            way = (part, -circle, whole) if part else (0, 0, whole)
            movements[crank] = min(movements.get(crank, way), way)
    mounting, ruled_out = {}, set()
    for crank, (holes, circle, turns) in movements.items():
        plate = ratio - divisions * crank
        if plate == 0:
            continue
        for drivers, driven, rest in _gear_sets(teeth):
            if Fraction(prod(drivers), prod(driven)) != abs(plate):
                continue
            idlers = {(1, True): 1, (1, False): 2, (2, True): 0, (2, False): 1}[len(drivers), plate > 0]
            row = (plate, turns, holes, -circle, drivers, driven, idlers)
            if _clears_somehow(drivers, driven, rest, idlers):
                mounting[row] = (2 * len(drivers), idlers, abs(plate), (holes, circle), drivers, driven)
            else:
                ruled_out.add(row[:-1])
    return sorted(mounting, key=mounting.get), ruled_out


def _gear_sets(teeth):
    found = set()
    for pairs in (1, 2):
        for drivers in combinations(range(len(teeth)), pairs):
            left = [i for i in range(len(teeth)) if i not in drivers]
            for driven in combinations(left, pairs):
                rest = tuple(sorted(teeth[i] for i in left if i not in driven))
                found.add((tuple(sorted(teeth[i] for i in drivers)), tuple(sorted(teeth[i] for i in driven)), rest))
    return found


def _clears_somehow(drivers, driven, rest, idlers):
    return any(
        _clears(a, b, between)
        for a in permutations(drivers)
        for b in permutations(driven)
        for taken in permutations(rest, idlers)
        for places in product(range(len(a)), repeat=idlers)
        for between in [[[i for i, place in zip(taken, places, strict=True) if place == p] for p in range(len(a))]]
    )


def _clears(drivers, driven, between):
    """The rule of thumb: a gear on the stud of two must clear the shafts beside it by what 15 teeth stand for."""
    if len(drivers) == 1:
        return True
    before = (drivers[0], *between[0])[-1]
    beyond = (*between[1], driven[1])[0]
    return before + driven[0] > drivers[1] + 15 and drivers[1] + beyond > driven[0] + 15


def least_built_up(teeth, circles, ratio, divisions):
    """The least error [degrees] after all divisions of any train that clears, on any movement but the exact plain."""
    plates = {}
    for drivers, driven, rest in _gear_sets(teeth):
        for way, idlers in ((1, (1, 0)[len(drivers) - 1]), (-1, (2, 1)[len(drivers) - 1])):
            plate = way * Fraction(prod(drivers), prod(driven))
            if plate not in plates and plate < ratio and _clears_somehow(drivers, driven, rest, idlers):
                plates[plate] = True
    return min(
        (
            abs(360 * (divisions * Fraction(holes, circle) / (ratio - plate) - 1))
            for circle in circles
            for holes in range(1, int(3 * ratio * circle / divisions) + 3)
            for wanted in [ratio - divisions * Fraction(holes, circle)]
            for plate in plates
            if plate * wanted > 0
        ),
        default=None,
    )


def table(ratio, circles, step_deg, count):
    """(circle, holes from the start after each step, greatest error [degrees]) by trying every circle and hole."""
    best = None
    for circle in sorted(circles):
        a_hole = Fraction(360) / ratio / circle
        totals, hole = [], 0
        for number in range(count + 1):
            while abs((hole + 1) * a_hole - number * step_deg) < abs(hole * a_hole - number * step_deg):
                hole += 1
            totals.append(hole)
        worst = max(abs(total * a_hole - number * step_deg) for number, total in enumerate(totals))
        if best is None or worst < best[2]:
            best = circle, totals, worst
    return best


def ascending(total, count, least=1):
    """Every row of so many whole numbers, each larger than the last, that make a total."""
    if count == 1:
        return [[total]] if total >= least else []
    return [
        [first, *rest]
        for first in range(least, total // count + 1)
        for rest in ascending(total - first, count - 1, first + 1)
    ]


def unequal(ratio, circles, teeth, difference_deg, paired):
    """(greatest miss of a difference [degrees], circle) of the best row of spaces that all differ, every row tried."""
    found = []
    for circle in circles:
        around = ratio * circle / (2 if paired else 1)
        if around != int(around):
            continue
        a_hole = Fraction(360) / ratio / circle
        for row in ascending(int(around), teeth // 2 if paired else teeth):
            misses = [abs((b - a) * a_hole - difference_deg) for a, b in pairwise(row)]
            found.append((max(misses), circle))
    return min(found, default=None)
