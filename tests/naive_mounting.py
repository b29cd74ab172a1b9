"""Mounting the slow and obvious way: every arrangement listed, every place of the definition tried.

Shares no code with the package; shops and boxes are read as plain data.
"""

import math
from collections import Counter
from fractions import Fraction
from itertools import combinations_with_replacement, pairwise, permutations, product
from math import ceil, floor, inf

import mpmath

SLACK = 1e-9  # mm
UNSURE = 1e-6  # mm; a margin so near to deciding is worked out to 40 digits


def studs_of(pairs):
    """How many studs a train of (driver, idlers, driven) has."""
    return len(pairs) - 1 + sum(len(idlers) for _, idlers, _ in pairs)


def hand_of(studs, with_one_stud, wanted="either"):
    """The hand a train cuts; None where the machine's hand is not known. A lever makes it the wanted one."""
    if with_one_stud == "either":
        return wanted
    if with_one_stud is None:
        return None
    other = {"right": "left", "left": "right"}[with_one_stud]
    return with_one_stud if studs % 2 == 1 else other


def shafts_of(pairs, planes):
    """For each shaft its gears as [size, plane, mesh before or None, mesh after or None]."""
    zigzag = list(range(planes)) + list(range(planes - 2, 0, -1))
    shafts = [[]]
    mesh = 0
    for number, (driver, idlers, driven) in enumerate(pairs):
        plane = zigzag[number % len(zigzag)]
        shafts[-1].append([driver, plane, None, mesh])
        for idler in idlers:
            shafts.append([[idler, plane, mesh, mesh + 1]])
            mesh += 1
        shafts.append([[driven, plane, mesh, None]])
        mesh += 1
    return shafts


def place_of(shaft, shafts):
    """0 for the first shaft, 1 for a stud, 2 for the last."""
    return 0 if shaft == 0 else 2 if shaft == len(shafts) - 1 else 1


def ways(shop, box, pairs, planes):
    """Every way to take the gears from the box: for each, the idle partners as (shaft, size, plane)."""
    shafts = shafts_of(pairs, planes or 2)
    found = []

    def go(shaft, loose, pieces, idle):
        if shaft == len(shafts):
            found.append(tuple(idle))
            return
        gears = [gear[0] for gear in shafts[shaft]]
        place = place_of(shaft, shafts)
        fixed = {0: box.fixed_first, 2: box.fixed_last}.get(place, -1)
        if fixed >= 0:
            if gears == [fixed]:
                go(shaft + 1, loose, pieces, idle)
            return
        less = loose - Counter(gears)
        if not Counter(gears) - loose:
            go(shaft + 1, less, pieces, idle)
        for k, (a, b, _) in enumerate(box.joined):
            if pieces[k] == 0:
                continue
            fewer = (*pieces[:k], pieces[k] - 1, *pieces[k + 1 :])
            if sorted(gears) == sorted((a, b)):
                go(shaft + 1, loose, fewer, idle)
            for used, partner in {(a, b), (b, a)}:
                if gears != [used]:
                    continue
                tag, teeth = box.tags[box.kind[partner]], box.teeth[partner]
                if not shop.allows(tag, teeth, ("first", "stud", "last")[place]):
                    continue
                plane = shafts[shaft][0][1]
                beside = [0] if planes is None else [q for q in (plane - 1, plane + 1) if 0 <= q < planes]
                for q in beside:
                    go(shaft + 1, loose, fewer, [*idle, (shaft, partner, q)])

    loose = Counter({size: count for size, count in enumerate(box.loose) if count})
    go(0, loose, tuple(count for _, _, count in box.joined), [])
    return found


def may_stand(box, pairs):
    """Whether every gear is allowed where it stands, the fixed gears are there, and no pair steps too far."""
    shafts = shafts_of(pairs, 2)
    for shaft, gears in enumerate(shafts):
        for gear in gears:
            if not box.allowed[gear[0]][place_of(shaft, shafts)]:
                return False
    if box.fixed_first >= 0 and pairs[0][0] != box.fixed_first:
        return False
    if box.fixed_last >= 0 and pairs[-1][2] != box.fixed_last:
        return False
    for driver, idlers, driven in pairs:
        if len({box.kind[size] for size in (driver, *idlers, driven)}) > 1:
            return False
        a, b = box.teeth[driver], box.teeth[driven]
        limit = box.greatest_pair_ratio
        if limit is not None and (a > limit * b or b > limit * a):
            return False
    return True


class Rack:
    """A bracket as plain numbers: slots as (from, to, centre or None, studs) in its own frame, or a plate's reach.

    The definition of a place. A stud stands its centre distance from the shaft before it, counted from the pivot, where
    that circle cuts a slot; in a bracket of one straight slot that points at the pivot, always the place farther out.
    The last centre distance and the shaft distance close a triangle with pivot and last stud, in two mirror images:
    that gives the swing. A head that can be moved is tried at every 0.5 mm and at both ends. A plate takes one stud
    anywhere on the line to it; of two studs the second stands at every whole millimetre from the pivot at which both
    triangles close, and where a limit begins: at the ends of what closes and of the reach, where either stud meets an
    end of the swing, and where the second just clears the pivot or the first the other shaft. Its head is tried at
    every 5 mm and at both ends.
    """

    def __init__(self, slots=None, plate=None, studs=0):
        self.slots = slots
        self.plate = plate
        self.takes = studs if plate else sum(slot[3] for slot in slots)

    @classmethod
    def of(cls, q):
        """The bracket of a shop's quadrant."""
        bracket = q.bracket
        if bracket.layout == "plate":
            return cls(plate=tuple(bracket.reach_mm), studs=min(bracket.studs, 2))
        if bracket.layout == "slots":
            return cls([(line.start_mm, line.end_mm, line.centre_mm, line.studs) for line in bracket.lines])
        near, far = bracket.reach_mm
        return cls([((near, 0), (far, 0), None, bracket.studs)])

    @property
    def radial(self):
        """Whether it is one straight slot that points at the pivot."""
        if self.plate or len(self.slots) > 1 or self.slots[0][2] is not None:
            return False
        (x0, y0), (x1, y1) = self.slots[0][:2]
        return x0 * y1 == y0 * x1 and x0 * x1 + y0 * y1 >= 0


def grid(low, high, step):
    """Whole multiples of a step in a range, and its ends, as fractions."""
    first, last = -(-low // step), high // step
    return sorted({low, high, *(step * k for k in range(int(first), int(last) + 1))})


class Drawing:
    """One arrangement with its idle partners, tried at every place of the definition.

    Points are (x, y) from the pivot, x toward the other shaft. Numbers are floats; where one could decide wrongly, all
    is done again with 40 digits.
    """

    def __init__(self, shop, box, pairs, idle=(), rack=None):
        self.q = shop.quadrant
        self.rack = rack or Rack.of(self.q)
        self.module = [shop.gears[kind].kind.module_mm for kind in box.kind]
        self.teeth = box.teeth
        self.shafts = shafts_of(pairs, self.q.planes)
        for shaft, size, plane in idle:
            self.shafts[shaft].append([size, plane, None, None])
        self.n = len(self.shafts) - 2
        self.nut = [
            self.q.nut_radius_mm[("first", "stud", "last")[place_of(i, self.shafts)]] for i in range(self.n + 2)
        ]
        self.centres = []
        for mesh in range(self.n + 1):
            a, b = (
                next(g[0] for g in self.shafts[shaft] if g[end] == mesh) for shaft, end in ((mesh, 3), (mesh + 1, 2))
            )
            self.centres.append(self.module[a] * (self.teeth[a] + self.teeth[b]) / 2)
        self.from_pivot = range(self.n + 2)  # the shaft in power order at each place from the pivot
        if self.q.pivot == "last":
            self.centres.reverse()
            self.from_pivot = self.from_pivot[::-1]

    def tip(self, size):
        """Radius over the tips."""
        return self.module[size] * (self.teeth[size] + 2) / 2

    def gaps(self, points, m):
        """Every gap of the drawing; points counted from the pivot."""
        at = dict(zip(self.from_pivot, points, strict=True))

        def apart(a, b):
            return m.hypot(a[0] - b[0], a[1] - b[1])

        everything = [(shaft, gear) for shaft, gears in enumerate(self.shafts) for gear in gears]
        for shaft, (size, plane, before, after) in everything:
            meshing = {shaft}
            if before is not None:
                meshing.add(shaft - 1)
            if after is not None:
                meshing.add(shaft + 1)
            for other in range(self.n + 2):
                if other not in meshing:
                    yield apart(at[shaft], at[other]) - m.number(self.tip(size) + self.nut[other])
            for elsewhere, (size2, plane2, before2, after2) in everything:
                shares = {x for x in (before, after) if x is not None} & {x for x in (before2, after2) if x is not None}
                if elsewhere > shaft and plane2 == plane and not shares:
                    yield apart(at[shaft], at[elsewhere]) - m.number(self.tip(size) + self.tip(size2))
            for block in self.q.obstacles:
                there = m.number(block.x_mm), m.number(block.y_mm)
                yield apart(at[shaft], there) - m.number(self.tip(size) + block.radius_mm)

    def tried(self, m):
        """Every place as (margin, gap, head, points): the worst margin with gaps counted, and the tightest gap."""
        for head, points, margins in self.places(m):
            gap = min(self.gaps(points, m), default=m.number(10**6))
            yield min([gap - m.number(self.q.clearance_mm), *margins]), gap, head, points

    def places(self, m):
        """Every place there is, with the margins of slots, reach and swing."""
        shortest, longest = self.q.shaft_distance_mm
        if self.n == 0:
            head = max(shortest, min(longest, self.centres[0]))
            size = self.shafts[0][0][0]
            off = min(self.centres[0] - shortest, longest - self.centres[0]) + self.module[size] / 10
            yield head, [(m.number(0), m.number(0)), (m.number(head), m.number(0))], [m.number(off)]
        elif self.n > self.rack.takes:
            return
        elif self.rack.plate and self.n == 2:
            for head in grid(shortest, longest, Fraction(5)):
                yield from self.on_the_plate(head, m)
        else:
            for studs, margins in self.in_slots(m):
                for head in grid(shortest, longest, Fraction(1, 2)):
                    yield from self.swung(head, studs, margins, m)

    def in_slots(self, m):
        """Every way to put the studs into slots, in the bracket's frame, with margins."""
        rack = self.rack
        slots = rack.slots or [((rack.plate[0], 0), (rack.plate[1], 0), None, 1)]
        outward = Rack(slots).radial
        ways = [([(m.number(0), m.number(0))], [], [])]
        for stud in range(self.n):
            more = []
            for points, margins, used in ways:
                for number, slot in enumerate(slots):
                    if used.count(number) < slot[3]:
                        cuts = list(cut(points[-1], m.number(self.centres[stud]), slot, m))
                        for point, margin in [max(cuts, key=lambda cut: along(cut[0], slot))] if outward else cuts:
                            more.append(([*points, point], [*margins, margin], [*used, number]))
            ways = more
        return [(points, margins) for points, margins, _ in ways]

    def swung(self, head, studs, margins, m):
        """The places of studs in their slots at one shaft distance: both mirror images, where the triangle closes."""
        stands, last, away = m.hypot(*studs[-1]), m.number(self.centres[-1]), m.number(head)
        if stands + last < away - SLACK or abs(stands - last) > away + SLACK or stands < SLACK:
            return
        angle = m.acos((away**2 + stands**2 - last**2) / (2 * away * stands))
        low, high = (m.number(degrees) * m.pi / 180 for degrees in self.q.swing_deg)
        for side in (1, -1):
            swing = side * angle - m.atan2(studs[-1][1], studs[-1][0])
            swing -= 2 * m.pi * m.floor((swing + m.pi) / (2 * m.pi))
            room = stands * max(min(turn - low, high - turn) for turn in (swing, swing + 2 * m.pi, swing - 2 * m.pi))
            c, s = m.cos(swing), m.sin(swing)
            points = [(x * c - y * s, x * s + y * c) for x, y in studs]
            yield head, [*points, (away, m.number(0))], [*margins, room]

    def on_the_plate(self, head, m):
        """The places of two studs on a plate at one shaft distance."""
        near, far = self.rack.plate
        first, between, last = self.centres
        least, most = max(abs(first - between), abs(head - last)), min(first + between, head + last)
        ends = max(least, near), min(most, far)
        if ends[0] > ends[1] + Fraction(SLACK):
            return
        pivot, stud = self.shafts[self.from_pivot[0]], self.shafts[self.from_pivot[2]]
        needs = [self.tip(gear[0]) + self.nut[self.from_pivot[2]] for gear in pivot]
        needs += [self.tip(gear[0]) + self.nut[self.from_pivot[0]] for gear in stud]
        needs += [self.tip(a[0]) + self.tip(b[0]) for a in pivot for b in stud if a[1] == b[1]]
        low, high = (m.number(degrees) * m.pi / 180 for degrees in self.q.swing_deg)
        tried = [*map(m.number, ends), m.number(max(needs) + self.q.clearance_mm), *self.at_limits(head, low, high, m)]
        tried += map(m.number, range(ceil(ends[0]), floor(ends[1]) + 1))
        for distance in tried:
            if not m.number(ends[0]) <= distance <= m.number(ends[1]) or not distance:
                continue
            p, c, d = distance, m.number(first), m.number(head)
            turn = m.acos((d**2 + p**2 - m.number(last) ** 2) / (2 * d * p))
            lean = m.acos((c**2 + p**2 - m.number(between) ** 2) / (2 * c * p))
            for side, way in product((1, -1), (1, -1)):
                two, one = side * turn, side * turn + way * lean
                one -= 2 * m.pi * m.floor((one + m.pi) / (2 * m.pi))
                points = [
                    (p * 0, p * 0),
                    (c * m.cos(one), c * m.sin(one)),
                    (p * m.cos(two), p * m.sin(two)),
                    (d, p * 0),
                ]
                margins = [c - m.number(near), m.number(far) - c, p - m.number(near), m.number(far) - p]
                margins += [c * (one - low), c * (high - one), p * (two - low), p * (high - two)]
                yield head, points, margins

    def at_limits(self, head, low, high, m):
        """How far from the pivot the second stud of a plate stands where a stud meets an end of the swing or clears.

        Found by the law of sines and by circles that cut; some of them may be out of reach.
        """
        c, b, a, d = (m.number(value) for value in (*self.centres, head))
        for angle in (low, high):
            if abs(d * m.sin(angle)) <= a:
                root = m.sqrt(a**2 - (d * m.sin(angle)) ** 2)
                yield from (d * m.cos(angle) + root, d * m.cos(angle) - root)
        stud, far = self.shafts[self.from_pivot[1]], self.shafts[self.from_pivot[3]]
        needs = [self.tip(gear[0]) + self.nut[self.from_pivot[3]] for gear in stud]
        needs += [self.tip(gear[0]) + self.nut[self.from_pivot[1]] for gear in far]
        needs += [self.tip(x[0]) + self.tip(y[0]) for x in stud for y in far if x[1] == y[1]]
        away = m.number(max(needs) + self.q.clearance_mm)
        angles = [low, high]
        if abs(c - d) <= away <= c + d:
            angles.append(m.acos((c**2 + d**2 - away**2) / (2 * c * d)))
        for angle in angles:
            x, y = c * m.cos(angle), c * m.sin(angle)
            apart = m.hypot(d - x, y)
            if apart and abs(b - a) <= apart <= b + a:
                lean, line = m.acos((b**2 + apart**2 - a**2) / (2 * b * apart)), m.atan2(-y, d - x)
                for way in (1, -1):
                    yield m.hypot(x + b * m.cos(line + way * lean), y + b * m.sin(line + way * lean))

    def best(self):
        """(margin, gap, best places): the greatest gap of the places that keep every condition, each as ``tried``."""
        with mpmath.workdps(40):
            for m in (Floats, Digits):
                tried = list(self.tried(m))
                if m is Digits or not any(abs(margin + SLACK) < UNSURE for margin, *_ in tried):
                    break
            good = [each for each in tried if each[0] >= -SLACK]
            if not good:
                return max((each[0] for each in tried), default=-inf), -inf, []
            gap = max(each[1] for each in good)
            near = [each for each in good if each[1] >= gap - 2 * SLACK]
            return min(each[0] for each in near), float(gap), near

    def room(self):
        """(margin, gap) of the best place."""
        return self.best()[:2]

    def takes(self):
        """How many studs the quadrant takes."""
        return self.rack.takes


class Floats:
    """Numbers as floats."""

    number, hypot, atan2, cos, sin, pi, floor = float, math.hypot, math.atan2, math.cos, math.sin, math.pi, math.floor

    @staticmethod
    def acos(cosine):
        """The angle; a hair beyond 1 is taken as 1."""
        return math.acos(max(-1.0, min(1.0, cosine)))

    @staticmethod
    def sqrt(square):
        """The root; a hair below 0 is taken as 0."""
        return math.sqrt(max(0.0, square))


class Digits:
    """Numbers of 40 digits."""

    hypot, atan2, cos, sin, pi, floor = mpmath.hypot, mpmath.atan2, mpmath.cos, mpmath.sin, mpmath.pi, mpmath.floor

    @staticmethod
    def number(value):
        """A fraction or whole number to 40 digits."""
        exact = Fraction(value)
        return mpmath.mpf(exact.numerator) / exact.denominator

    @staticmethod
    def acos(cosine):
        """The angle; a hair beyond 1 is taken as 1."""
        return mpmath.acos(max(mpmath.mpf(-1), min(mpmath.mpf(1), cosine)))

    @staticmethod
    def sqrt(square):
        """The root; a hair below 0 is taken as 0."""
        return mpmath.sqrt(max(mpmath.mpf(0), square))


def cut(point, away, slot, m):
    """Where a circle round a point cuts a slot's line, with the margin of being inside it; the farther along first."""
    start, end, centre, _ = slot
    (x, y), (x0, y0) = point, (m.number(part) for part in start)
    if centre is None:
        dx, dy = m.number(end[0]) - x0, m.number(end[1]) - y0
        a, b, c = dx * dx + dy * dy, dx * (x0 - x) + dy * (y0 - y), (x0 - x) ** 2 + (y0 - y) ** 2 - away**2
        if b * b - a * c < -SLACK * a:
            return
        for root in (m.sqrt(b * b - a * c), -m.sqrt(b * b - a * c)):
            t = (root - b) / a
            yield (x0 + t * dx, y0 + t * dy), min(t, 1 - t) * m.sqrt(a)
        return
    mx, my = (m.number(part) for part in centre)
    radius = (m.hypot(x0 - mx, y0 - my) + m.hypot(m.number(end[0]) - mx, m.number(end[1]) - my)) / 2
    far = m.hypot(x - mx, y - my)
    if far < 1e-6 or far > radius + away + SLACK or far < abs(radius - away) - SLACK:
        return
    lean = m.acos((far**2 + radius**2 - away**2) / (2 * far * radius))
    begin = m.atan2(y0 - my, x0 - mx)
    span = full(m.atan2(m.number(end[1]) - my, m.number(end[0]) - mx) - begin, m)
    for way in (1, -1):
        angle = m.atan2(y - my, x - mx) + way * lean
        along = full(angle - begin, m)
        margin = max(min(turn, span - turn) for turn in (along, along - 2 * m.pi))
        yield (mx + radius * m.cos(angle), my + radius * m.sin(angle)), radius * margin


def along(point, slot):
    """How far out a point is in the direction of a slot that points at the pivot, times the length of that."""
    x, y = max(slot[:2], key=lambda end: end[0] ** 2 + end[1] ** 2)
    return point[0] * float(x) + point[1] * float(y)


def full(angle, m):
    """An angle brought into [0, 2π)."""
    return angle - 2 * m.pi * m.floor(angle / (2 * m.pi))


def by_rule(shop, box, pairs):
    """Whether the rule of thumb is kept at every stud that carries a driven and a driver."""
    for (driver, idlers, x), (y, after, driven) in pairwise(pairs):
        w, z = (driver, *idlers)[-1], (*after, driven)[0]
        m1, m2 = (shop.gears[box.kind[size]].kind.module_mm for size in (x, y))
        teeth = box.teeth
        if not (teeth[w] + teeth[x]) * m1 > teeth[y] * m2 + 15 * max(m1, m2):
            return False
        if not (teeth[y] + teeth[z]) * m2 > teeth[x] * m1 + 15 * max(m1, m2):
            return False
    return True


def verdict(shop, box, pairs, mode):
    """The clearance of an arrangement in whole µm, or None where it does not mount."""
    if not may_stand(box, pairs):
        return None
    quadrant = shop.quadrant if mode == "geometry" else None
    partners = ways(shop, box, pairs, quadrant.planes if quadrant else None)
    if not partners:
        return None
    if mode == "skip":
        return 0
    if mode == "rule":
        return 0 if by_rule(shop, box, pairs) else None
    best = None
    for idle in partners:
        drawing = Drawing(shop, box, pairs, idle)
        if drawing.n > drawing.takes():
            return None
        margin, gap = drawing.room()
        if margin >= -SLACK:
            clearance = floor((gap + SLACK) * 1000)
            best = clearance if best is None else max(best, clearance)
    return best


def arrangements(box, drivers, driven, counts):
    """Every arrangement of a train set with so many idlers as (idlers, pairs, places)."""
    pairs = len(drivers)
    sizes = range(len(box.teeth))
    for count in counts:
        for over in sorted(set(permutations(drivers))):
            for under in sorted(set(permutations(driven))):
                for places in combinations_with_replacement(range(pairs), count):
                    for idlers in product(sizes, repeat=count):
                        between = [
                            tuple(i for i, at in zip(idlers, places, strict=True) if at == k) for k in range(pairs)
                        ]
                        yield count, tuple(zip(over, between, under, strict=True)), places, idlers


def counts_for(shop, route, pairs, hand, mode):
    """The numbers of idlers that may be tried for a hand."""
    most = shop.quadrant.bracket.studs - (pairs - 1) if mode == "geometry" else 1
    if mode == "geometry" and shop.quadrant.bracket.layout == "plate":
        most = min(shop.quadrant.bracket.studs, 2) - (pairs - 1)
    counts = [c for c in range(most + 1) if hand in ("either", hand_of(pairs - 1 + c, route.hand_with_one_stud, hand))]
    return counts if mode == "geometry" else counts[:2]


def best(shop, box, route, drivers, driven, hand, mode="geometry"):
    """The best arrangement of a train set in the documented order, as (idlers, −clearance, teeth, …), or None."""
    found = []
    counts = counts_for(shop, route, len(drivers), hand, mode)
    for count, pairs, places, idlers in arrangements(box, drivers, driven, counts):
        clearance = verdict(shop, box, pairs, mode)
        if clearance is not None:
            over, under = [p[0] for p in pairs], [p[2] for p in pairs]
            teeth = tuple(box.teeth[size] for size in (*over, *under, *idlers))
            found.append((count, -clearance, teeth, places, (*over, *under, *idlers), pairs))
    return min(found, default=None)
