"""Mounting the slow and obvious way: every arrangement listed, every position drawn as complex numbers.

Shares no code with the package; shops and boxes are read as plain data.
"""

import cmath
from collections import Counter
from itertools import combinations_with_replacement, pairwise, permutations, product
from math import acos, cos, floor, inf, pi, radians, sin

SLACK = 1e-9


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


class Drawing:
    """One arrangement with its idle partners, ready to be put at positions.

    Points are complex numbers in power order, the pivot at zero, the other shaft on the real axis.
    """

    def __init__(self, shop, box, pairs, idle=()):
        self.q = shop.quadrant
        self.module = [float(shop.gears[kind].kind.module_mm) for kind in box.kind]
        self.teeth = box.teeth
        self.shafts = shafts_of(pairs, self.q.planes)
        for shaft, size, plane in idle:
            self.shafts[shaft].append([size, plane, None, None])
        self.n = len(self.shafts) - 2
        self.centres = []
        for mesh in range(self.n + 1):
            a, b = (
                next(g[0] for g in self.shafts[shaft] if g[end] == mesh) for shaft, end in ((mesh, 3), (mesh + 1, 2))
            )
            self.centres.append(self.module[a] * (self.teeth[a] + self.teeth[b]) / 2)
        self.nut = [
            float(self.q.nut_radius_mm[("first", "stud", "last")[place_of(i, self.shafts)]]) for i in range(self.n + 2)
        ]

    def tip(self, size):
        """Radius over the tips."""
        return self.module[size] * (self.teeth[size] + 2) / 2

    def gaps(self, points):
        """Every gap of the drawing."""
        found = []
        everything = [(shaft, gear) for shaft, gears in enumerate(self.shafts) for gear in gears]
        for shaft, (size, plane, before, after) in everything:
            meshing = {shaft}
            if before is not None:
                meshing.add(shaft - 1)
            if after is not None:
                meshing.add(shaft + 1)
            for other in range(self.n + 2):
                if other not in meshing:
                    found.append(abs(points[shaft] - points[other]) - self.tip(size) - self.nut[other])
            for elsewhere, (size2, plane2, before2, after2) in everything:
                shares = {m for m in (before, after) if m is not None} & {m for m in (before2, after2) if m is not None}
                if elsewhere > shaft and plane2 == plane and not shares:
                    found.append(abs(points[shaft] - points[elsewhere]) - self.tip(size) - self.tip(size2))
            for block in self.q.obstacles:
                at = complex(float(block.x_mm), float(block.y_mm))
                found.append(abs(points[shaft] - at) - self.tip(size) - float(block.radius_mm))
        return found

    def margin(self, points):
        """By how much the worst condition is kept at a position, and the tightest gap."""
        low, high = (radians(float(angle)) for angle in self.q.swing_deg)
        nearest, farthest = map(float, self.q.reach_mm)
        kept = []
        for stud in points[1:-1]:
            kept += [abs(stud) - nearest, farthest - abs(stud)]
            kept += [abs(stud) * (cmath.phase(stud) - low), abs(stud) * (high - cmath.phase(stud))]
        if self.n == 0:
            shortest, longest = map(float, self.q.shaft_distance_mm)
            size = self.shafts[0][0][0]
            kept.append(min(self.centres[0] - shortest, longest - self.centres[0]) + 0.1 * self.module[size])
        gap = min(self.gaps(points), default=inf)
        return min([gap - float(self.q.clearance_mm), *kept]), gap

    def in_power_order(self, points):
        """Points counted from the pivot, put in power order."""
        return points if self.q.pivot == "first" else points[::-1]

    def on_the_ray(self, distance):
        """Both positions of studs in a slot at one shaft distance; none where the chain does not close."""
        centres = self.centres if self.q.pivot == "first" else self.centres[::-1]
        if self.n == 0:
            return [self.in_power_order([0j, complex(distance)])]
        stands, last = sum(centres[:-1]), centres[-1]
        cosine = (distance**2 + stands**2 - last**2) / (2 * distance * stands)
        if abs(cosine) > 1 + SLACK / 50:
            return []
        angle = acos(max(-1.0, min(1.0, cosine)))
        found = []
        for turn in (angle, -angle):
            rays = [sum(centres[:i]) * complex(cos(turn), sin(turn)) for i in range(1, self.n + 1)]
            found.append(self.in_power_order([0j, *rays, complex(distance)]))
        return found

    def on_the_plate(self, distance, angle):
        """The positions of two studs on a plate, the one next to the pivot at an angle."""
        c = self.centres if self.q.pivot == "first" else self.centres[::-1]
        one = c[0] * complex(cos(angle), sin(angle))
        line = distance - one
        away = abs(line)
        if away < 1e-6 or abs((away**2 + c[1] ** 2 - c[2] ** 2) / (2 * away * c[1])) > 1:
            return []
        lean = acos((away**2 + c[1] ** 2 - c[2] ** 2) / (2 * away * c[1]))
        two = [one + c[1] * line / away * cmath.exp(1j * way * lean) for way in (1, -1)]
        return [self.in_power_order([0j, one, point, complex(distance)]) for point in two]

    def fixed(self):
        """(margin, gap) of the best position where the shaft distance is fixed and the studs stand on a ray."""
        shortest, longest = map(float, self.q.shaft_distance_mm)
        distance = longest if self.n else max(shortest, min(longest, self.centres[0]))
        return best_of(self.margin(points) for points in self.on_the_ray(distance))

    def takes(self):
        """How many studs the quadrant takes."""
        return min(self.q.studs, 2) if self.q.layout == "plate" else self.q.studs

    def swept(self, steps=4000):
        """(margin, gap) of the best position found by a dense sweep over whatever is free."""
        shortest, longest = map(float, self.q.shaft_distance_mm)
        if self.n == 0:
            return self.fixed()
        if self.q.layout == "slot" or self.n == 1:
            count = steps if shortest < longest else 1
            return best_of(
                self.margin(points)
                for k in range(count + 1)
                for points in self.on_the_ray(shortest + (longest - shortest) * k / count)
            )
        count = 30 if shortest < longest else 1
        return best_of(
            self.margin(points)
            for k in range(count + 1 if shortest < longest else 1)
            for turn in range(steps // count + 1)
            for points in self.on_the_plate(
                shortest + (longest - shortest) * k / count, -pi + 2 * pi * turn / (steps // count)
            )
        )


def best_of(verdicts):
    """The best (margin, gap): the greatest gap among those whose conditions hold, else the greatest margin."""
    best = (-inf, -inf)
    for margin, gap in verdicts:
        good, was_good = margin >= -SLACK, best[0] >= -SLACK
        if (good, gap if good else margin) > (was_good, best[1] if was_good else best[0]):
            best = margin, gap
    return best


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


def verdict(shop, box, pairs, mode, judge=Drawing.fixed):
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
        margin, gap = judge(drawing)
        if margin >= -SLACK:
            clearance = 10**9 if gap == inf else floor((gap + SLACK) * 1000)
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
    most = shop.quadrant.studs - (pairs - 1) if mode == "geometry" else 1
    if mode == "geometry" and shop.quadrant.layout == "plate":
        most = min(shop.quadrant.studs, 2) - (pairs - 1)
    counts = [c for c in range(most + 1) if hand in ("either", hand_of(pairs - 1 + c, route.hand_with_one_stud, hand))]
    return counts if mode == "geometry" else counts[:2]


def best(shop, box, route, drivers, driven, hand, mode="geometry", judge=Drawing.fixed):
    """The best arrangement of a train set in the documented order, as (idlers, −clearance, teeth, …), or None."""
    found = []
    counts = counts_for(shop, route, len(drivers), hand, mode)
    for count, pairs, places, idlers in arrangements(box, drivers, driven, counts):
        clearance = verdict(shop, box, pairs, mode, judge)
        if clearance is not None:
            over, under = [p[0] for p in pairs], [p[2] for p in pairs]
            teeth = tuple(box.teeth[size] for size in (*over, *under, *idlers))
            found.append((count, -clearance, teeth, places, (*over, *under, *idlers), pairs))
    return min(found, default=None)
