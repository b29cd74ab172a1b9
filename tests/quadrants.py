"""Quadrants, shops and trains made up at random for the tests of the mounting."""

from fractions import Fraction as F

from gearsearch.shop.bracket import BRACKETS
from gearsearch.shop.gears import GearSet, Kind
from gearsearch.shop.machine import MACHINES, Route
from gearsearch.shop.machines.mill import Mill
from gearsearch.shop.pool import pool_of
from gearsearch.shop.quadrant import Obstacle, Quadrant
from gearsearch.shop.shop import Shop

LAYOUTS = tuple(name for name, kind in BRACKETS.items() if kind.named_by_layout)
KINDS = (Kind(F(3, 2), F(20), "m1.5", "module 1.5 mm"), Kind(F(2), F(20), "m2", "module 2 mm"))
NUTS = {"first": F(12), "last": F(12), "stud": F(10)}


def plain(teeth, hand="right", kind="mill", units="mm", route="worm", **quadrant):
    """A shop with one kind of tooth and a quadrant of 150 mm with two studs in a slot, or as given."""
    given = {
        "shaft_distance_mm": (F(150), F(150)),
        "swing_deg": (F(-75), F(75)),
        "nut_radius_mm": NUTS,
        **quadrant,
    }
    kind_of_bracket = BRACKETS[given.pop("layout", "slot")]
    given["bracket"] = kind_of_bracket(given.pop("studs", 2), given.pop("reach_mm", (F(40), F(190))))
    machine = MACHINES[kind](F(6), (Route(route, F(60), hand),))
    return Shop("Millrace", units, machine, (GearSet(Kind(F(3, 2)), tuple(sorted(teeth))),), Quadrant(**given))


def made_up_quadrant(rng, layouts=("slot",), free=False, most_studs=3):
    """A quadrant on which some trains mount and some do not."""
    distance = F(rng.randint(60, 160))
    layout = rng.choice(layouts)
    low = F(rng.choice([-180, -90, -75, -30, 0, 10]))
    high = F(rng.choice([x for x in (180, 90, 75, 40, 20) if x > low]))
    blocks = tuple(
        Obstacle(F(rng.randint(-40, 160)), F(rng.randint(-120, 120)), F(rng.randint(2, 20)))
        for _ in range(rng.choice([0, 0, 1, 2]) if free else 0)
    )
    return Quadrant(
        shaft_distance_mm=(distance, distance + (F(rng.randint(1, 30)) if free and rng.random() < 0.7 else 0)),
        pivot=rng.choice(["first", "last"]),
        bracket=BRACKETS[layout](
            rng.randint(1, 2 if layout == "plate" else most_studs),
            (F(rng.randint(10, 50)), F(rng.randint(100, 220))),
        ),
        swing_deg=(low, high),
        planes=rng.choice([2, 3]),
        nut_radius_mm={place: F(rng.randint(4, 14)) for place in ("first", "stud", "last")},
        clearance_mm=F(rng.choice([0, 1, 2]), 2),
        obstacles=blocks,
    )


def made_up_gears(rng, kinds=1, most=8, odd_gears=True):
    """Gears with repeats, and some joined, fixed or bored for one place."""
    sets = []
    taken = set()
    for kind in (Kind(F(3, 2)),) if kinds == 1 else KINDS[:kinds]:
        teeth = sorted(rng.choice(range(16, 62, 2)) for _ in range(rng.randint(3, most)))
        joined, fixed, only_on = [], {}, {}
        if odd_gears and rng.random() < 0.5:
            joined = [tuple(rng.sample(range(16, 62, 2), 2)) for _ in range(rng.randint(1, 2))]
        if odd_gears and rng.random() < 0.3:
            place = rng.choice([p for p in ("first", "last") if p not in taken] or ["first"])
            if place not in taken:
                taken.add(place)
                fixed = {place: rng.choice(range(16, 62, 2))}
        if odd_gears and rng.random() < 0.3:
            only_on = {rng.choice(teeth): frozenset(rng.sample(["first", "stud", "last"], rng.randint(1, 2)))}
        sets.append(GearSet(kind, tuple(teeth), tuple(joined), fixed, only_on))
    return tuple(sets)


def made_up_pieces(rng):
    """A shop of a few loose gears and as many joined pieces, some bored for one place, some beside a fixed gear."""
    teeth = range(16, 62, 2)
    joined = [tuple(sorted(rng.choices(teeth, k=2))) for _ in range(rng.randint(1, 3))]
    joined += joined[:1] * rng.choice([0, 0, 1])
    loose = sorted(rng.choices(teeth, k=rng.randint(1, 4)))
    bored = {rng.choice([*loose, *joined[0]]): frozenset(rng.sample(["first", "stud", "last"], rng.randint(1, 2)))}
    fixed = {rng.choice(["first", "last"]): rng.choice([14, *teeth])} if rng.random() < 0.4 else {}
    gears = GearSet(Kind(F(3, 2)), tuple(loose), tuple(joined), fixed, bored if rng.random() < 0.5 else {})
    machine = Mill(F(6), (Route("worm", F(60), rng.choice(["right", "left"])),))
    return Shop("Millrace", "mm", machine, (gears,), made_up_quadrant(rng))


def made_up_shop(rng, kinds=1, most=8, odd_gears=True, **quadrant):
    """A shop with made-up gears and a made-up quadrant."""
    machine = Mill(F(6), (Route("worm", F(60), rng.choice(["right", "left"])),))
    gears = made_up_gears(rng, kinds, most, odd_gears)
    return Shop("Millrace", "mm", machine, gears, made_up_quadrant(rng, **quadrant))


def made_up_box(rng, shop):
    """The box of a shop, sometimes with a greatest pair ratio or a number of starts."""
    ratio = F(rng.choice([2, 3])) if rng.random() < 0.2 else None
    return pool_of(shop, starts=rng.choice([1, 1, 1, 2]), greatest_pair_ratio=ratio)


def made_up_set(rng, box, pairs):
    """Drivers and driven of a train set with kinds that can mesh, by gear number; None if the draw has none."""
    slots = [size for size, count in enumerate(box.available) for _ in range(count)]
    drivers = rng.sample(slots, pairs) if len(slots) >= 2 * pairs else []
    left = list(slots)
    driven = []
    for size in drivers:
        left.remove(size)
    for size in drivers:
        fitting = [other for other in left if box.kind[other] == box.kind[size]]
        if not fitting:
            return None
        driven.append(rng.choice(fitting))
        left.remove(driven[-1])
    return (drivers, driven) if drivers else None
