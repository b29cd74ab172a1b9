"""Compiled loops of the mounting: where studs can stand, what fouls, and which arrangement of a train is best.

Arrays in, arrays out; no raise. Lengths in mm, angles in radians. Gears stand in power order; the geometry counts
shafts from the pivot ("positions"): 0 is the pivot, n + 1 the other shaft, on the x axis.

A *margin* is by how much the worst condition is kept (negative: broken). A *gap* is the room between a gear and
what it must clear, before the required clearance is taken off. A *value* orders verdicts: the gap where every
condition is kept, else the margin less ``OFFSET``.

Every function here takes the same arrays of numbers, and a few choices that are None where a shop does not need
them; what is then not used is not compiled:

========= ============ =======================================================================================
f         (5800,)      lengths and angles: quadrant, state of the judge, and by position (see the names below)
w         (400,)       whole numbers: quadrant, the meshes of the chain at hand
sizes     (S, 12)      the gears, by tooth count and then kind of tooth
pitch     (S,)         their pitch radii
tip       (S,)         their radii over the tips; the module is tip − pitch
geometry  None or 1    None: by the rule of thumb, or not judged
free      None or 1    None: the shaft distance is fixed, the layout is a slot, and nothing stands in the way
joined    None or 1    None: no joined pieces
many      None or 1    None: so few trains that short cuts are not worth their compiling
========= ============ =======================================================================================

The functions are few and long because each costs a good part of a second to compile.
"""
# mypy: disable-error-code="no-any-return"

from __future__ import annotations

from math import acos, atan2, cos, inf, nan, pi, sin, sqrt

import numpy as np
from numpy.typing import NDArray

from ..base.compiled import compiled

Ints = NDArray[np.int64]
Rows = NDArray[np.int32]
Floats = NDArray[np.float64]

EPS = 1e-9  # mm; far below what can be made, far above the last bit
OFFSET = 1e6
HOPELESS = -2 * OFFSET  # the value of more studs than there are
NOTHING_NEAR = 1e6  # gap [mm] where nothing can foul
ABSENT = -1e9
RULE_TEETH = 15
GOLDEN = (sqrt(5.0) - 1) / 2
BETWEEN = 4  # places judged from one mark to the next
DISTANCES = 16  # shaft distances sampled for a plate
CLOSE = 3.0  # mm; by how much a sample may fail and still be climbed from
SHAFTS, PIECES = 10, 16  # what the arrays have room for

# f: the quadrant, the state of the judge, and by position
SHORTEST, LONGEST, NEAREST, FARTHEST, SWING_LOW, SWING_HIGH, CLEARANCE = range(7)
NUT_PIVOT, NUT_STUD, NUT_FAR, LEAST_IDLER, MOST_IDLER = range(7, 12)
MARGIN, GAP, FLOOR, BEST, BEST_GAP, BEST_DISTANCE = range(12, 18)
CENTRE, RAY, X, Y, BEST_X, BEST_Y, WIDEST = range(20, 90, SHAFTS)  # RAY: centre distances added up from the pivot
RADIUS = 90  # (position, plane): tip radius of what stands there
NEED = 120  # (position, position): how far apart they must be
RISES, BLOCK, MARKS, TICKS, VALUES = 220, 240, 300, 900, 3350  # BLOCK: obstacles as x, y, radius
FLOATS = 5800

# w: the quadrant, and by position or mesh from the pivot; of a mesh, NEAR is the gear on the pivot's side
PIVOT_LAST, PLATE, STUDS, PLANES, FIXED_FIRST, FIXED_LAST, RULED, BLOCKS, JOINED = range(9)
ZIGZAG = 10  # the plane of each pair
NEAR, FAR, PLANE, IDLE, IDLE_PLANE, KEPT_IDLE, KEPT_PLANE, OPTIONS, DIGIT, PICK = range(20, 120, SHAFTS)
TIGHT = 120  # by pair: whether it must take an idler
PIECE = 130  # joined pieces as size, size, how many
OPTION = 180  # (shaft, option): joined piece, idle partner, its plane
WHOLES = OPTION + SHAFTS * 3 * (2 * PIECES + 1)

# sizes
TEETH, KIND, LEFT, LOOSE, LEAST_MATE, MOST_MATE = range(6)
ON, IDLE_ON = 6, 9  # may stand on first shaft, stud, last shaft; and as the idle partner in a joined piece
# Where a gear is fixed no other is ON its shaft, and it counts among those LEFT, as every train takes it.

# a row of the answer: found (1 mounts, 0 the least bad, −1 nothing could be judged) …; from GEARS on drivers, driven,
# idlers, and the pairs these stand in, padded with −1
FOUND, IDLERS, CLEARANCE_UM, GEARS = range(4)


@compiled
def attempt(n: int, distance: float, angle: float, side: int, f: Floats, w: Ints, free: int | None) -> float:
    """Judge one position, keep it if it is the best so far, and return its value.

    Parameters
    ----------
    n : studs
    distance : shaft distance
    angle : of the first stud of a plate, from the line of the shafts
    side : slot: which mirror image, 0 for the one inside the swing; plate: on which side of the line from the first
        stud to the far shaft the second stands
    """
    nearest = n + 1  # positions whose distances were not settled with the gears
    if free is not None and w[PLATE] and n == 2:
        nearest = 2
        first, between, last = f[CENTRE], f[CENTRE + 1], f[CENTRE + 2]
        x, y = first * cos(angle), first * sin(angle)
        across, up = distance - x, -y
        away = max(EPS, sqrt(across * across + up * up))
        along = (away * away + between * between - last * last) / (2 * away)
        along = max(-between, min(between, along))
        aside = side * sqrt(between * between - along * along)
        turn = atan2(y, x)
        room = first * min(turn - f[SWING_LOW], f[SWING_HIGH] - turn)
        f[X + 1], f[Y + 1] = x, y
        x, y = x + (along * across - aside * up) / away, y + (along * up + aside * across) / away
        f[X + 2], f[Y + 2] = x, y
        stands = sqrt(x * x + y * y)
        turn = atan2(y, x)
        room = min(room, stands * min(turn - f[SWING_LOW], f[SWING_HIGH] - turn))
        room = min(room, stands - f[NEAREST], f[FARTHEST] - stands)
    else:
        stands, last = f[RAY + n], f[CENTRE + n]
        x = (distance * distance + stands * stands - last * last) / (2 * distance)
        x = max(-stands, min(stands, x))
        y = sqrt(stands * stands - x * x)
        turn = atan2(y, x)
        room = stands * min(turn - f[SWING_LOW], f[SWING_HIGH] - turn)
        if side < 0 or (side == 0 and room < -EPS):
            below = stands * min(-turn - f[SWING_LOW], f[SWING_HIGH] + turn)
            if side < 0 or below > room:
                room, y = below, -y
        for stud in range(1, n + 1):
            part = f[RAY + stud] / stands
            f[X + stud], f[Y + stud] = x * part, y * part
    f[X + n + 1] = distance
    f[Y + n + 1] = 0.0
    gap = f[GAP]
    if free is None:
        for i in range(1, n):
            across, up = distance - f[X + i], f[Y + i]
            gap = min(gap, sqrt(across * across + up * up) - f[NEED + SHAFTS * i + n + 1])
    else:
        for i in range(n):
            for j in range(max(i + 2, nearest), n + 2):
                across, up = f[X + j] - f[X + i], f[Y + j] - f[Y + i]
                gap = min(gap, sqrt(across * across + up * up) - f[NEED + SHAFTS * i + j])
        for o in range(BLOCK, BLOCK + 3 * w[BLOCKS], 3):
            for i in range(n + 2):
                across, up = f[o] - f[X + i], f[o + 1] - f[Y + i]
                gap = min(gap, sqrt(across * across + up * up) - f[o + 2] - f[WIDEST + i])
    margin = min(f[MARGIN], room, gap - f[CLEARANCE])
    value = gap if margin >= -EPS else margin - OFFSET
    if value > f[BEST]:
        f[BEST] = value
        f[BEST_GAP] = gap
        f[BEST_DISTANCE] = distance
        if free is not None:
            for i in range(n + 2):
                f[BEST_X + i] = f[X + i]
                f[BEST_Y + i] = f[Y + i]
    return value


@compiled
def mark(f: Floats, count: int, at: float, low: float, high: float) -> int:
    """Add, in order, a place where a condition may begin or cease to hold; return how many there are."""
    if not low < at < high:
        return count
    slot = MARKS + count
    while slot > MARKS and f[slot - 1] > at:
        f[slot] = f[slot - 1]
        slot -= 1
    f[slot] = at
    return count + 1


@compiled
def corner(near: float, far: float, opposite: float) -> float:
    """Angle between two sides of a triangle by the cosine rule; nan where the three do not make one."""
    cosine = (near * near + far * far - opposite * opposite) / max(EPS, 2 * near * far)
    return acos(cosine) if -1 <= cosine <= 1 else nan


@compiled
def mark_ray(f: Floats, n: int, count: int, angle: float, low: float, high: float) -> int:
    """Mark the shaft distances at which the ray of a slot stands at an angle."""
    stands, last = f[RAY + n], f[CENTRE + n]
    along = sqrt(max(0.0, last * last - (stands * sin(angle)) ** 2))
    count = mark(f, count, stands * cos(angle) - along, low, high)
    return mark(f, count, stands * cos(angle) + along, low, high)


@compiled
def mark_slot(n: int, f: Floats, w: Ints, low: float, high: float) -> int:
    """Mark the shaft distances at which a condition on a slot may begin or cease to hold; return how many."""
    stands, last, clearance = f[RAY + n], f[CENTRE + n], f[CLEARANCE]
    count = mark(f, 0, sqrt(max(0.0, stands * stands - last * last)), low, high)
    count = mark_ray(f, n, count, f[SWING_LOW], low, high)
    count = mark_ray(f, n, count, f[SWING_HIGH], low, high)
    count = mark(f, count, f[NEED + n + 1] + clearance, low, high)
    for stud in range(1, n):
        out = f[RAY + stud]
        least = max(0.0, f[NEED + SHAFTS * stud + n + 1] + clearance)
        square = least * least - out * out + (stands * stands - last * last) * out / stands
        count = mark(f, count, sqrt(max(0.0, square / (1 - out / stands))), low, high)
    for o in range(BLOCK, BLOCK + 3 * w[BLOCKS], 3):
        x, y = f[o], f[o + 1]
        far, angle = sqrt(x * x + y * y), atan2(y, x)
        count = mark_ray(f, n, count, angle, low, high)
        for stud in range(1, n + 1):
            beside = corner(f[RAY + stud], far, f[WIDEST + stud] + f[o + 2] + clearance)
            count = mark_ray(f, n, count, angle - beside, low, high)
            count = mark_ray(f, n, count, angle + beside, low, high)
        before = sqrt(max(0.0, (f[WIDEST + n + 1] + f[o + 2] + clearance) ** 2 - y * y))
        count = mark(f, count, x - before, low, high)
        count = mark(f, count, x, low, high)
        count = mark(f, count, x + before, low, high)
    return count


@compiled
def mark_stud(f: Floats, count: int, x: float, y: float, low: float, high: float) -> int:
    """Mark the angles of the first stud of a plate at which the second stands at a point."""
    angle = atan2(y, x)
    between = corner(f[CENTRE], sqrt(x * x + y * y), f[CENTRE + 1])
    for turn in range(-1, 2):  # the same angle, within half a turn of zero
        count = mark(f, count, angle - between + 2 * pi * turn, low, high)
        count = mark(f, count, angle + between + 2 * pi * turn, low, high)
    return count


@compiled
def mark_reach(f: Floats, count: int, distance: float, far: float, low: float, high: float) -> int:
    """Mark the angles of the first stud of a plate at which the second stands ``far`` from the pivot."""
    angle = corner(distance, far, f[CENTRE + 2])
    count = mark_stud(f, count, far * cos(angle), far * sin(angle), low, high)
    return mark_stud(f, count, far * cos(angle), -far * sin(angle), low, high)


@compiled
def mark_swing(f: Floats, count: int, distance: float, angle: float, low: float, high: float) -> int:
    """Mark the angles of the first stud of a plate at which it or the second stands at an end of the swing."""
    count = mark(f, count, angle, low, high)
    along = sqrt(max(0.0, f[CENTRE + 2] ** 2 - (distance * sin(angle)) ** 2))
    for way in range(-1, 2, 2):
        far = distance * cos(angle) + way * along
        count = mark_stud(f, count, far * cos(angle), far * sin(angle), low, high)
    return count


@compiled
def mark_plate(f: Floats, w: Ints, distance: float, low: float, high: float) -> int:
    """Mark the angles of the first stud of a plate at which a condition may begin or cease to hold."""
    first, last, clearance = f[CENTRE], f[CENTRE + 2], f[CLEARANCE]
    away = corner(distance, first, f[NEED + SHAFTS + 3] + clearance)
    count = mark(f, 0, away, low, high)
    count = mark(f, count, -away, low, high)
    count = mark_reach(f, count, distance, f[NEED + 2] + clearance, low, high)
    count = mark_reach(f, count, distance, f[NEAREST], low, high)
    count = mark_reach(f, count, distance, f[FARTHEST], low, high)
    count = mark_swing(f, count, distance, f[SWING_LOW], low, high)
    count = mark_swing(f, count, distance, f[SWING_HIGH], low, high)
    for o in range(BLOCK, BLOCK + 3 * w[BLOCKS], 3):
        x, y = f[o], f[o + 1]
        angle = atan2(y, x)
        beside = corner(first, sqrt(x * x + y * y), f[WIDEST + 1] + f[o + 2] + clearance)
        for turn in range(-1, 2):
            count = mark(f, count, angle - beside + 2 * pi * turn, low, high)
            count = mark(f, count, angle + beside + 2 * pi * turn, low, high)
        x -= distance
        angle = atan2(y, x)
        beside = corner(last, sqrt(x * x + y * y), f[WIDEST + 2] + f[o + 2] + clearance)
        for way in range(-1, 2, 2):
            leans = angle + way * beside
            count = mark_stud(f, count, distance + last * cos(leans), last * sin(leans), low, high)
    return count


@compiled
def at_tick(n: int, distance: float, side: int, low: float, high: float, tick: float, f: Floats, w: Ints) -> float:
    """Judge the position at a tick in [0, 1] of a line; ticks crowd at the ends, where studs come into line."""
    along = low + (high - low) * (1 - cos(pi * tick)) / 2
    if w[PLATE] and n == 2:
        return attempt(n, distance, along, side, f, w, 1)
    return attempt(n, along, 0.0, side, f, w, 1)


@compiled
def walk(n: int, distance: float, side: int, low: float, high: float, marks: int, f: Floats, w: Ints) -> None:
    """Judge a line of positions: at each mark, at places between, and by golden section at the top of each rise.

    Between two marks no condition begins or ceases to hold, so no window that would do is missed, however narrow.
    """
    ticks = 0
    f[TICKS] = 0.0
    for m in range(marks + 1):
        before = f[TICKS + ticks]
        after = acos(1 - 2 * (f[MARKS + m] - low) / (high - low)) / pi if m < marks else 1.0
        for step in range(1, BETWEEN + 1):
            ticks += 1
            f[TICKS + ticks] = before + (after - before) * step / BETWEEN
    for k in range(ticks + 1):
        f[VALUES + k] = at_tick(n, distance, side, low, high, f[TICKS + k], f, w)
    # Where nothing will do, the least bad is wanted only if the caller asked; over a range of shaft distances, only
    # if it is so near that a window may hide beside it.
    lost = f[FLOOR] < -OFFSET / 2 - 1
    if w[PLATE] and f[SHORTEST] < f[LONGEST]:
        lost = f[BEST] > -OFFSET - CLOSE
    lost = lost and f[BEST] < -OFFSET / 2
    for k in range(ticks + 1):
        i, j, here = max(0, k - 1), min(ticks, k + 1), f[VALUES + k]
        if here < f[VALUES + i] or here < f[VALUES + j] or (here < -OFFSET / 2 and not lost):
            continue
        a, d = f[TICKS + i], f[TICKS + j]
        b, c = d - GOLDEN * (d - a), a + GOLDEN * (d - a)
        value_b = at_tick(n, distance, side, low, high, b, f, w)
        value_c = at_tick(n, distance, side, low, high, c, f, w)
        for _ in range(45):
            if f[BEST] >= f[GAP] - EPS:  # the tightest gap is one that no position changes
                return
            if value_b >= value_c:
                c, d, value_c = b, c, value_b
                b = d - GOLDEN * (d - a)
                value_b = at_tick(n, distance, side, low, high, b, f, w)
            else:
                a, b, value_b = b, c, value_c
                c = a + GOLDEN * (d - a)
                value_c = at_tick(n, distance, side, low, high, c, f, w)


@compiled
def search_slot(n: int, f: Floats, w: Ints) -> None:
    """The best position of studs in a slot, over the shaft distances there are and both mirror images."""
    stands, last = f[RAY + n], f[CENTRE + n]
    low, high = max(f[SHORTEST], abs(stands - last)), min(f[LONGEST], stands + last)
    for image in range(2 if w[BLOCKS] else 1):
        side = 1 - 2 * image if w[BLOCKS] else 0
        attempt(n, high, 0.0, side, f, w, 1)
        if high - low > EPS and f[BEST] < f[GAP] - EPS:
            walk(n, 0.0, side, low, high, mark_slot(n, f, w, low, high), f, w)


@compiled
def search_plate(distance: float, f: Floats, w: Ints) -> float:
    """The best position of two studs on a plate at one shaft distance; returns its value."""
    f[BEST] = -inf
    first, between, last = f[CENTRE], f[CENTRE + 1], f[CENTRE + 2]
    square, double = distance * distance + first * first, 2 * distance * first
    low = acos(max(-1.0, min(1.0, (square - (between - last) ** 2) / double)))
    high = acos(max(-1.0, min(1.0, (square - (between + last) ** 2) / double)))
    high = max(low, high)
    for image in range(2 if w[BLOCKS] or abs(f[SWING_LOW] + f[SWING_HIGH]) > EPS else 1):
        a, b = (-high, -low) if image else (low, high)
        marks = mark_plate(f, w, distance, a, b)
        for side in range(-1, 2, 2):
            if f[BEST] < f[GAP] - EPS:
                walk(2, distance, side, a, b, marks, f, w)
    return f[BEST]


@compiled
def search_plates(f: Floats, w: Ints) -> None:
    """The best position of two studs on a plate, over the shaft distances there are.

    The best of each distance changes smoothly with it, but for kinks: it is sampled, and each rise climbed by
    golden section.
    """
    longest = max(f[CENTRE], f[CENTRE + 1], f[CENTRE + 2])
    low, high = max(f[SHORTEST], 2 * longest - f[RAY + 3]), min(f[LONGEST], f[RAY + 3])
    at, best = high, search_plate(high, f, w)
    if high - low <= EPS or best >= f[GAP] - EPS:
        return
    top = best
    for k in range(DISTANCES + 1):
        f[RISES + k] = search_plate(low + (high - low) * k / DISTANCES, f, w)
        top = max(top, f[RISES + k])
    for k in range(DISTANCES + 1):
        i, j, here = max(0, k - 1), min(DISTANCES, k + 1), f[RISES + k]
        if here < f[RISES + i] or here < f[RISES + j]:
            continue
        if here < -OFFSET / 2 and (top > -OFFSET / 2 or here < -OFFSET - CLOSE):
            continue
        a, d = low + (high - low) * i / DISTANCES, low + (high - low) * j / DISTANCES
        b, c = d - GOLDEN * (d - a), a + GOLDEN * (d - a)
        value_b, value_c = search_plate(b, f, w), search_plate(c, f, w)
        for _ in range(30):
            if value_b >= value_c:
                c, d, value_c = b, c, value_b
                b = d - GOLDEN * (d - a)
                value_b = search_plate(b, f, w)
            else:
                a, b, value_b = b, c, value_c
                c = a + GOLDEN * (d - a)
                value_c = search_plate(c, f, w)
        if max(here, value_b, value_c) > best:
            best = max(here, value_b, value_c)
            at = low + (high - low) * k / DISTANCES if best == here else b if best == value_b else c
    search_plate(at, f, w)


@compiled
def search_positions(n: int, f: Floats, w: Ints) -> None:
    """The position with the most room, where more than the two mirror images of one are open."""
    if w[PLATE] and n == 2:
        search_plates(f, w)
    else:
        search_slot(n, f, w)


@compiled
def evaluate(
    n: int,
    floor: float,
    f: Floats,
    w: Ints,
    pitch: Floats,
    tip: Floats,
    geometry: int | None,
    free: int | None,
    joined: int | None,
) -> float:
    """Value of the chain; anything below ``floor`` may come back as minus infinity.

    By the rule of thumb, or not judged, every value is 0 or a margin in mm.
    """
    f[BEST] = -inf
    if geometry is None:
        margin = 0.0
        for stud in range(1, n + 1):
            if w[RULED] and w[PLANE + stud - 1] != w[PLANE + stud]:
                near, far = w[FAR + stud - 1], w[NEAR + stud]
                nut = RULE_TEETH * max(tip[near] - pitch[near], tip[far] - pitch[far]) / 2
                before, after = pitch[w[NEAR + stud - 1]], pitch[w[FAR + stud]]
                larger = pitch[far] - pitch[near]
                room = min(before - larger, after + larger) - nut
                margin = min(margin, room - 2 * EPS)  # the rule asks for more, not for as much
        f[BEST] = 0.0 if margin >= -EPS else margin - OFFSET
        return f[BEST]
    if n > w[STUDS]:
        f[BEST] = HOPELESS
        return HOPELESS
    plate = w[PLATE] and n == 2
    longest = 0.0
    total = 0.0
    stands = 0.0
    for i in range(n + 1):
        centre = pitch[w[NEAR + i]] + pitch[w[FAR + i]]
        stands = total
        total += centre
        f[CENTRE + i] = centre
        f[RAY + i + 1] = total
        longest = max(longest, centre)
    if n == 0:
        margin = min(total - f[SHORTEST], f[LONGEST] - total) + (tip[w[NEAR]] - pitch[w[NEAR]]) / 10
    else:
        farthest = f[CENTRE] if plate else stands
        longest = longest if plate else max(stands, f[CENTRE + n])
        closes = min(total - f[SHORTEST], f[LONGEST] - (2 * longest - total))
        margin = min(closes, f[CENTRE] - f[NEAREST], f[FARTHEST] - farthest)
        if margin < -EPS and margin - OFFSET < floor:
            return -inf
        if closes < -EPS:
            f[BEST] = margin - OFFSET
            f[BEST_GAP] = -inf
            return f[BEST]
    for i in range(RADIUS, RADIUS + 3 * (n + 2)):
        f[i] = ABSENT
    for i in range(n + 1):
        at = RADIUS + 3 * i + w[PLANE + i]
        f[at] = tip[w[NEAR + i]]
        f[at + 3] = tip[w[FAR + i]]
    if joined is not None:
        for i in range(n + 2):
            if w[IDLE + i] >= 0:
                f[RADIUS + 3 * i + w[IDLE_PLANE + i]] = tip[w[IDLE + i]]
    gap = NOTHING_NEAR
    most = inf  # no position can have more room than this
    for i in range(n + 1):
        nut = f[NUT_STUD] if i else f[NUT_PIVOT]
        for j in range(i + 1, n + 2):
            other = f[NUT_STUD] if j <= n else f[NUT_FAR]
            need = ABSENT
            for plane in range(w[PLANES]):
                if j > i + 1 or plane != w[PLANE + i]:  # neighbours mesh in one plane
                    a, b = f[RADIUS + 3 * i + plane], f[RADIUS + 3 * j + plane]
                    need = max(need, a + max(other, b), b + nut)
            f[NEED + SHAFTS * i + j] = need
            if j == i + 1 or (j <= n and not plate):
                gap = min(gap, f[RAY + j] - f[RAY + i] - need)
            elif i == 0 and j == n + 1:
                most = min(most, f[LONGEST] - need)
                if f[LONGEST] == f[SHORTEST]:
                    gap = min(gap, f[LONGEST] - need)
            elif plate:  # two sides of a triangle bound the third
                most = min(most, min(f[RAY + j] - f[RAY + i], f[LONGEST] + f[CENTRE + 2 - 2 * i]) - need)
    most = min(most, gap)
    if (most if most >= f[CLEARANCE] - EPS else most - f[CLEARANCE] - OFFSET) < floor:
        return -inf
    f[MARGIN] = margin
    f[GAP] = gap
    f[FLOOR] = floor
    if free is not None:
        for i in range(n + 2):
            widest = RADIUS + 3 * i
            f[WIDEST + i] = max(f[widest], f[widest + 1], f[widest + 2])
    if n and free is not None:
        search_positions(n, f, w)
    else:
        attempt(n, f[LONGEST] if n else max(f[SHORTEST], min(total, f[LONGEST])), 0.0, 0, f, w, free)
    return f[BEST]


@compiled
def list_options(n: int, shaft: int, w: Ints, sizes: Ints, geometry: int | None) -> None:
    """The ways to take the gears of a shaft: option 0 is loose or fixed, the others are joined pieces."""
    at = OPTION + shaft * 3 * (2 * PIECES + 1)
    w[at], w[at + 1], w[at + 2], w[OPTIONS + shaft] = -1, -1, 0, 1
    place = 1 if 1 <= shaft <= n else 0 if (shaft == 0) != w[PIVOT_LAST] else 2
    if place != 1 and w[FIXED_FIRST + place // 2] >= 0:
        return
    gear = w[FAR + shaft - 1] if shaft else w[NEAR]
    plane = w[PLANE + min(shaft, n)]
    compound = place == 1 and w[PLANE + shaft - 1] != plane
    for k in range(w[JOINED]):
        for turn in range(1 if w[PIECE + 3 * k] == w[PIECE + 3 * k + 1] else 2):
            partner = w[PIECE + 3 * k + 1 - turn]
            if w[PIECE + 3 * k + turn] != gear or (compound and partner != w[NEAR + shaft]):
                continue
            if not compound and not sizes[partner, IDLE_ON + place]:
                continue
            for beside in range(plane - 1, plane + 2, 2):
                here = compound or geometry is None
                if beside == plane + 1 if here else 0 <= beside < w[PLANES]:
                    at += 3
                    w[at], w[at + 1], w[at + 2] = k, -1 if compound else partner, beside
                    w[OPTIONS + shaft] += 1


@compiled
def affords(n: int, w: Ints, sizes: Ints) -> bool:
    """Whether the box has the loose gears and the joined pieces of the chosen options."""
    for k in range(w[JOINED]):
        used = 0
        for shaft in range(n + 2):
            used += w[OPTION + 3 * (shaft * (2 * PIECES + 1) + w[DIGIT + shaft])] == k
        if used > w[PIECE + 3 * k + 2]:
            return False
    for gear in range(2 * n + 2):
        size = w[NEAR + gear] if gear <= n else w[FAR + gear - n - 1]
        used = 0
        for shaft in range(n + 2):
            if w[DIGIT + shaft]:
                continue
            if shaft and w[FAR + shaft - 1] == size:
                used += not (shaft == n + 1 and w[FIXED_LAST - w[PIVOT_LAST]] >= 0)
            if shaft <= n and w[NEAR + shaft] == size:
                idler = shaft > 0 and w[PLANE + shaft - 1] == w[PLANE + shaft]
                used += not (idler or (shaft == 0 and w[FIXED_FIRST + w[PIVOT_LAST]] >= 0))
        if used > sizes[size, LOOSE]:
            return False
    return True


@compiled
def judge_joined(
    n: int,
    floor: float,
    f: Floats,
    w: Ints,
    sizes: Ints,
    pitch: Floats,
    tip: Floats,
    geometry: int | None,
    free: int | None,
) -> float:
    """Value of the chain over every way to take its gears from loose gears and joined pieces.

    A piece serves with both gears on one stud that carries a driven and a driver, or with one alone, the other idle
    in a neighbouring plane, on the first shaft, the last, or as an idler. Minus infinity where the box cannot make it.
    """
    for shaft in range(n + 2):
        list_options(n, shaft, w, sizes, geometry)
        w[DIGIT + shaft] = 0
    best = -inf
    shaft = 0
    while shaft < n + 2:
        if affords(n, w, sizes):
            partners = 0
            for shaft in range(n + 2):
                at = OPTION + 3 * (shaft * (2 * PIECES + 1) + w[DIGIT + shaft])
                w[IDLE + shaft], w[IDLE_PLANE + shaft] = w[at + 1], w[at + 2]
                partners += w[at + 1] >= 0
            value = evaluate(n, max(floor, best), f, w, pitch, tip, geometry, free, 1)
            if value > best:
                best = value
                for shaft in range(n + 2):
                    w[KEPT_IDLE + shaft], w[KEPT_PLANE + shaft] = w[IDLE + shaft], w[IDLE_PLANE + shaft]
            if partners == 0:  # a partner only adds to what can foul
                break
        shaft = 0
        while shaft < n + 2:  # the next choice of options
            w[DIGIT + shaft] += 1
            if w[DIGIT + shaft] < w[OPTIONS + shaft]:
                break
            w[DIGIT + shaft] = 0
            shaft += 1
    if floor == -inf < best:  # leave the best behind, for whoever wants to read it
        for shaft in range(n + 2):
            w[IDLE + shaft], w[IDLE_PLANE + shaft] = w[KEPT_IDLE + shaft], w[KEPT_PLANE + shaft]
        evaluate(n, -inf, f, w, pitch, tip, geometry, free, 1)
    for shaft in range(n + 2):
        w[IDLE + shaft] = -1
    return best


@compiled
def judge_rows(
    sets: Ints,
    perms: Ints,
    idlers: tuple[int, int, int],
    given: bool,
    reasons: bool,
    mine: Rows,
    rows: Rows,
    f: Floats,
    w: Ints,
    sizes: Ints,
    pitch: Floats,
    tip: Floats,
    geometry: int | None,
    free: int | None,
    joined: int | None,
    many: int | None,
) -> None:
    """The best arrangement of each train set.

    The best is that with the fewest idlers; then with the greatest clearance; then, in power order, with the least
    tooth counts of drivers, driven gears and idlers, places of these, and kinds of tooth.

    Parameters
    ----------
    sets : (T, 2p) size numbers of p drivers, then of p driven, each side ascending
    perms : every order of p things, in lexicographic order
    idlers : least, step and most to try
    given : take the idlers in ``mine``, and no others
    reasons : whether a train that does not mount is to leave its least bad arrangement
    mine : (W,) room for the arrangement at hand, laid out as a row, −1 wherever nothing is given
    rows : (T, W) receives the answer; to begin with −1 everywhere
    many : None for few rows, where passing over hopeless orders and idlers early is not worth its compiling
    """
    pairs, count = perms.shape[1], sizes.shape[0]
    idlers_at = GEARS + 2 * pairs
    places_at = (rows.shape[1] + idlers_at) // 2
    least, step, most = idlers
    orders = perms.shape[0] * perms.shape[0]
    pivot_last = w[PIVOT_LAST]
    mixed = False
    for i in range(count):
        mixed |= sizes[i, KIND] != sizes[0, KIND]
    for t in range(sets.shape[0]):
        row = rows[t]
        row[FOUND] = -1
        row[CLEARANCE_UM] = 0
        row[IDLERS] = least
        best = -inf if reasons else -OFFSET / 2
        for i in range(2 * pairs):
            row[GEARS + i] = sets[t, i]
            sizes[sets[t, i], LEFT] -= 1
        enough = True
        for i in range(2 * pairs):
            enough &= sizes[sets[t, i], LEFT] >= 0
        order = 0
        wanted = least
        slack = 0.0
        depth = -1
        total = 0.0
        while enough:
            if depth < 0:  # the next order, or the next number of idlers
                if order == orders:
                    order = 0
                    wanted += step
                    if row[FOUND] > 0:
                        break
                if wanted > most or best == HOPELESS or (geometry is None and row[FOUND] > 0 and not mixed):
                    break  # where no clearance is known, the first order that will do is the best
                slack = EPS - min(0.0, best + OFFSET)  # what fails by more is not even the least bad
                a, b = order // perms.shape[0], order % perms.shape[0]
                order += 1
                total = 0.0
                fits = True
                for i in range(pairs):
                    driver, driven = sets[t, perms[a, i]], sets[t, pairs + perms[b, i]]
                    mine[GEARS + i] = driver
                    mine[GEARS + pairs + i] = driven
                    total += pitch[driver] + pitch[driven]
                    teeth = sizes[driven, TEETH]
                    fits &= (sizes[driver, LEAST_MATE] <= teeth) & (teeth <= sizes[driver, MOST_MATE])
                    fits &= sizes[driver, KIND] == sizes[driven, KIND]
                    fits &= sizes[driver, ON + min(i, 1)] + sizes[driven, ON + max(1, i + 3 - pairs)] == 2
                if many is not None and geometry is not None:
                    # A pair without idlers keeps its centre distance: where that leaves too little room for the
                    # other gears of its two shafts, it must take an idler.
                    room = row[CLEARANCE_UM] / 1000 - EPS if row[FOUND] > 0 else f[CLEARANCE] - slack
                    tight = 0
                    for i in range(pairs):
                        centre = pitch[mine[GEARS + i]] + pitch[mine[GEARS + pairs + i]]
                        must = False
                        if i:
                            nut = f[NUT_STUD] if i < pairs - 1 else f[NUT_PIVOT if pivot_last else NUT_FAR]
                            must |= centre - tip[mine[GEARS + pairs + i - 1]] - nut < room
                        if i < pairs - 1:
                            nut = f[NUT_STUD] if i else f[NUT_FAR if pivot_last else NUT_PIVOT]
                            must |= centre - tip[mine[GEARS + i + 1]] - nut < room
                        w[TIGHT + i] = must
                        tight += must
                    fits &= tight <= wanted
                if fits:
                    w[PICK] = -1
                    depth = wanted if given else 0
                continue
            done = depth == wanted
            if not done:
                w[PICK + depth] += 1
                pair, size = w[PICK + depth] // count, w[PICK + depth] % count
                done = pair == pairs
                if not done and sizes[size, LEFT] > 0:
                    longer = total + 2 * pitch[size]
                    fits = (sizes[size, KIND] == sizes[mine[GEARS + pair], KIND]) & (sizes[size, ON + 1] > 0)
                    if many is not None and geometry is not None and fits:
                        rest = wanted - 1 - depth
                        fits = longer + rest * f[MOST_IDLER] >= f[SHORTEST] - slack
                        for i in range(pairs):
                            bare = (i < pair) | ((i > pair) & (rest == 0))
                            for d in range(depth):
                                bare &= mine[places_at + d] != i
                            fits &= not (bare & (w[TIGHT + i] > 0))
                        # How far out the last stud stands at the least. An idler yet to come adds all of its
                        # diameter, and takes off at most half of it where it meshes with the last gear.
                        if not w[PLATE] or pairs + wanted == 2:
                            if pivot_last:
                                end, other = mine[GEARS], mine[GEARS + pairs]
                                if depth and mine[places_at] == 0:
                                    other = mine[idlers_at]
                                elif depth == 0 and pair == 0:
                                    other = size
                            else:
                                end, other = mine[idlers_at - 1], mine[GEARS + pairs - 1]
                                if pair == pairs - 1:
                                    other = size
                            last = pitch[end] + pitch[other]
                            stands = longer + rest * f[LEAST_IDLER] - last
                            if stands > f[FARTHEST] + slack or stands - last > f[LONGEST] + slack:
                                w[PICK + depth] = pair * count + count - 1  # later sizes are larger
                                fits = False
                    if fits:
                        mine[idlers_at + depth] = size
                        mine[places_at + depth] = pair
                        sizes[size, LEFT] -= 1
                        total = longer
                        depth += 1
                        w[PICK + depth] = pair * count - 1
            else:
                n = pairs - 1 + wanted
                used = 0
                here = mine[GEARS]
                for mesh in range(n + 1):
                    pair = mesh - used
                    before = here
                    if used < wanted and mine[places_at + used] == pair:
                        here = mine[idlers_at + used]
                        after = here
                        used += 1
                    else:
                        after = mine[GEARS + pairs + pair]
                        here = mine[GEARS + min(pair + 1, pairs - 1)]
                    at = n - mesh if pivot_last else mesh
                    w[NEAR + at] = after if pivot_last else before
                    w[FAR + at] = before if pivot_last else after
                    w[PLANE + at] = w[ZIGZAG + pair]
                floor = row[CLEARANCE_UM] / 1000 - 2 * EPS if row[FOUND] > 0 else best
                if joined is None:
                    value = evaluate(n, floor, f, w, pitch, tip, geometry, free, None)
                else:
                    value = judge_joined(n, floor, f, w, sizes, pitch, tip, geometry, free)
                good = value > -OFFSET / 2
                clearance = int((value + EPS) * 1000) if good else 0
                better = (value > best + EPS) & (row[FOUND] <= 0)
                if good and row[FOUND] > 0:
                    first = clearance - row[CLEARANCE_UM]
                    for kinds in range(2):  # all tooth counts first, then kinds of tooth
                        for i in range(GEARS, row.shape[0]):
                            there, here = row[i], mine[i]
                            if kinds == 0 and i < places_at:
                                there, here = sizes[there, TEETH], sizes[here, TEETH]
                            if first == 0:
                                first = there - here
                    better = first > 0
                if better:
                    best = value
                    for i in range(GEARS, row.shape[0]):
                        row[i] = mine[i]
                    row[FOUND] = good
                    row[CLEARANCE_UM] = clearance
                    row[IDLERS] = wanted
                if best == HOPELESS:  # no choice of idlers makes room for so many studs
                    for d in range(wanted):
                        w[PICK + d] = pairs * count - 1
            if done:
                depth = -1 if given else depth - 1
                if depth >= 0:
                    size = mine[idlers_at + depth]
                    mine[idlers_at + depth] = -1
                    mine[places_at + depth] = -1
                    sizes[size, LEFT] += 1
                    total -= 2 * pitch[size]
        for i in range(2 * pairs):
            sizes[sets[t, i], LEFT] += 1
