"""The search again, slow and obvious: every physical gear is picked up and put down. Shares no code with the package.

It reads the fields of the shop's objects, never their methods. A gear is (kind number, teeth, piece), where
``piece`` is ``"loose"``, ``"first"`` or ``"last"`` (fixed there), or the number of a joined piece.
"""

from fractions import Fraction
from itertools import combinations, pairwise, permutations, product
from math import prod


def gears_of(shop, without=()):
    """Every physical gear of the box, one entry each."""
    missing = list(without)
    gears = []
    pieces = 0
    for kind, owned in enumerate(shop.gears):
        for teeth in owned.teeth:
            if teeth in missing:
                missing.remove(teeth)
            else:
                gears.append((kind, teeth, "loose"))
        for piece in owned.joined:
            named = [
                name for name in missing if str(name).split("+") in ([str(t) for t in p] for p in permutations(piece))
            ]
            if named:
                missing.remove(named[0])
                continue
            gears.extend((kind, teeth, pieces) for teeth in piece)
            pieces += 1
        gears.extend((kind, teeth, place) for place, teeth in owned.fixed.items())
    return gears


def train_sets(shop, pairs, without=()):
    """Every train as (drivers, driven): two sorted tuples of (kind, teeth)."""
    gears = gears_of(shop, without)
    numbered = list(enumerate(gears))
    found = set()
    for drivers in combinations(numbered, pairs):
        rest = [gear for gear in numbered if gear not in drivers]
        for driven in combinations(rest, pairs):
            if _fixed_in_place(gears, drivers, driven):
                a = tuple(sorted(gear[:2] for _, gear in drivers))
                b = tuple(sorted(gear[:2] for _, gear in driven))
                if sorted(kind for kind, _ in a) == sorted(kind for kind, _ in b):
                    found.add((a, b))
    return found


def _fixed_in_place(gears, drivers, driven):
    pieces_a = [gear[2] for _, gear in drivers]
    pieces_b = [gear[2] for _, gear in driven]
    here = [gear[2] for gear in gears]
    return (
        "last" not in pieces_a
        and "first" not in pieces_b
        and ("first" in pieces_a) == ("first" in here)
        and ("last" in pieces_b) == ("last" in here)
    )


def ratio(drivers, driven):
    """Product of driven over product of drivers, exact."""
    return Fraction(prod(t for _, t in driven), prod(t for _, t in drivers))


def lead(shop, route, drivers, driven):
    """The lead of a train [mm], exact."""
    value = ratio(drivers, driven)
    base = shop.machine.screw_lead_mm * route.ratio
    return base * value if shop.machine.kind == "mill" else base / value


def arrangements(shop, route, train_set, hand, limits=None):
    """Every arrangement of a train set for a hand, with no idler or one, as the total order sorts them.

    Yields (drivers, driven, idlers) with gears (kind, teeth) in power order; idlers as ((mesh, gear), ...).
    ``limits`` may hold ``without``, ``starts`` and ``greatest_pair_ratio``.
    """
    limits = limits or {}
    drivers, driven = train_set
    box = gears_of(shop, limits.get("without", ()))
    found = set()
    for a in set(permutations(drivers)):
        for b in set(permutations(driven)):
            if not _pairs_work(a, b, limits.get("greatest_pair_ratio")):
                continue
            for idlers in _idler_choices(box, a):
                studs = len(a) - 1 + len(idlers)
                if (
                    _cuts(route, studs, hand)
                    and _places_allow(shop, a, b, idlers, limits.get("starts", 1))
                    and _box_holds(shop, box, a, b, idlers)
                ):
                    found.add((a, b, idlers))
    return sorted(found, key=lambda row: (len(row[2]), *_order(row)))


def _order(row):
    a, b, idlers = row
    return (
        [t for _, t in a],
        [t for _, t in b],
        [gear[1] for _, gear in idlers],
        [mesh for mesh, _ in idlers],
        [k for k, _ in a],
    )


def _pairs_work(a, b, greatest):
    for (kind_a, teeth_a), (kind_b, teeth_b) in zip(a, b, strict=True):
        if kind_a != kind_b:
            return False
        step = max(Fraction(teeth_a, teeth_b), Fraction(teeth_b, teeth_a))
        if greatest is not None and step > greatest:
            return False
    return True


def _idler_choices(box, drivers):
    yield ()
    for mesh, (kind, _) in enumerate(drivers):
        for gear in {gear[:2] for gear in box}:
            if gear[0] == kind:
                yield ((mesh, gear),)


def _cuts(route, studs, hand):
    if "either" in (hand, route.hand_with_one_stud):
        return True
    odd = studs % 2 == 1
    return (route.hand_with_one_stud == hand) == odd


def _places_allow(shop, a, b, idlers, starts):
    uses = [(a[0], "first"), (b[-1], "last")]
    uses += [(gear, "stud") for gear in (*a[1:], *b[:-1])]
    uses += [(gear, "stud") for _, gear in idlers]
    indexing = b[-1] if shop.machine.kind == "mill" else a[0]
    return indexing[1] % starts == 0 and all(_goes_on(shop, gear, place) for gear, place in uses)


def _goes_on(shop, gear, place):
    kind, teeth = gear
    owned = shop.gears[kind]
    if teeth in owned.only_on and place not in owned.only_on[teeth]:
        return False
    for limits, sign in ((shop.quadrant and shop.quadrant.smallest, 1), (shop.quadrant and shop.quadrant.largest, -1)):
        limit = (limits or {}).get(place)
        if limit is not None:
            size = teeth if isinstance(limit, int) else owned.kind.module_mm * (teeth + 2)
            if sign * size < sign * limit:
                return False
    return True


def _box_holds(shop, box, a, b, idlers):
    """Whether physical gears can be dealt out to every place of the arrangement, each used once."""
    places = [("first", a[0]), ("last", b[-1])]
    places += [(("stud", k), gear) for k, gear in enumerate(a[1:])]
    places += [(("stud", k), gear) for k, gear in enumerate(b[:-1])]
    places += [(("idler", k), gear) for k, (_, gear) in enumerate(idlers)]
    options = [[n for n, gear in enumerate(box) if gear[:2] == wanted] for _, wanted in places]
    return any(_dealt_fairly(shop, box, places, dealt) for dealt in product(*options) if len(set(dealt)) == len(dealt))


def _dealt_fairly(shop, box, places, dealt):
    here = {place: [] for place, _ in places}
    for (place, _), number in zip(places, dealt, strict=True):
        here[place].append(box[number][2])
    used = [piece for pieces in here.values() for piece in pieces]
    for place in ("first", "last"):
        fixed = any(gear[2] == place for gear in box)
        if fixed != (place in here[place]) or used.count(place) > fixed:
            return False
    for place, pieces in here.items():
        for piece in pieces:
            if isinstance(piece, int) and not _joined_piece_serves(shop, box, place, pieces, used, piece):
                return False
    return True


def _joined_piece_serves(shop, box, place, pieces, used, piece):
    """Both its gears on one stud; or one of them alone on an end shaft or as an idler, where both may go."""
    if isinstance(place, tuple) and place[0] == "stud":
        return pieces == [piece, piece]
    name = "stud" if isinstance(place, tuple) else place
    both = [gear for gear in box if gear[2] == piece and type(gear[2]) is int]
    return used.count(piece) == 1 and all(_goes_on(shop, gear[:2], name) for gear in both)


def clears_by_rule(a, b, idlers, modules):
    """A + B > C + 15 and C + D > B + 15 on every stud with two gears; in teeth, or in mm where modules differ."""
    chain = []
    for mesh, (driver, driven) in enumerate(zip(a, b, strict=True)):
        chain.append([driver, *(gear for m, gear in idlers if m == mesh), driven])
    for before, after in pairwise(chain):
        w, x, y, z = before[-2], before[-1], after[0], after[1]
        mx, my = modules[x[0]], modules[y[0]]
        margin = 15 * max(mx, my)
        if not (w[1] + x[1]) * mx > y[1] * my + margin or not (y[1] + z[1]) * my > x[1] * mx + margin:
            return False
    return True


def every_lead(shop, route, least, most, without=()):
    """Every lead [mm] with the train sets that give it."""
    leads = {}
    for pairs in range(least, most + 1):
        for train_set in train_sets(shop, pairs, without):
            leads.setdefault(lead(shop, route, *train_set), []).append(train_set)
    return leads


def find(shop, route, part, terms, judged=None):
    """The first answers of a request that is not judged by geometry: (lead, gears, idlers, drivers, driven) rows.

    ``judged(a, b, idlers)`` says whether an arrangement passes; None lets all pass.
    """
    limits = {
        "without": terms.without,
        "starts": terms.multiple or 1,
        "greatest_pair_ratio": terms.greatest_pair_ratio,
    }
    rows = []
    for value, sets in every_lead(shop, route, *terms.pairs, terms.without).items():
        best = None
        for train_set in sets:
            if not _used(train_set, terms.use) or not _steps_up_little(train_set, terms.greatest_step_up):
                continue
            for row in arrangements(shop, route, train_set, terms.hand, limits):
                if judged is None or judged(*row):
                    key = (len(row[0]), len(row[2]), *_order(row))
                    best = min(best, (key, row)) if best else (key, row)
        if best:
            rows.append((abs(value / part.lead_mm - 1), value, best[1]))
    rows.sort(key=lambda row: row[:2])
    return [(value, *row) for _, value, row in rows[: terms.count]]


def _used(train_set, use):
    teeth = [t for _, t in (*train_set[0], *train_set[1])]
    return all(teeth.count(t) >= use.count(t) for t in use)


def _steps_up_little(train_set, limit):
    return limit is None or 1 / ratio(*train_set) <= limit
