"""One arrangement of a train, judged as it is and put into words: what rules it out, what fouls, where it stands."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from math import atan2, degrees, hypot
from typing import TYPE_CHECKING

from ..shop.pool import GearPool
from ..shop.quadrant import Quadrant
from ..shop.shop import Shop
from ..shop.trains import Pair, Train
from .placement import Chain, Names, Placement, Stud, Wheel, gap_words, gaps, worst

if TYPE_CHECKING:
    from .arrays import Reading

RULE_TEETH = 15  # ``kernels`` has the same
_Place = tuple[str, int, int, str]  # kind tag, tooth count, shaft, role


@dataclass(frozen=True, slots=True)
class Arrangement:
    """A train in power order with its idlers, on one machine.

    Parameters
    ----------
    names : what its shafts are called
    box : the gears to be had
    train : the train, every pair with the tag of its kind of tooth
    """

    names: Names
    box: GearPool
    train: Train

    @property
    def shop(self) -> Shop:
        """The shop whose machine it is."""
        return self.names.shop

    def places(self) -> Iterator[_Place]:
        """Every gear with its shaft, in power order; an idler once."""
        shaft = 0
        for pair in self.train.pairs:
            yield pair.kind, pair.driver, shaft, "driver"
            for idler in pair.idlers:
                shaft += 1
                yield pair.kind, idler, shaft, "idler"
            shaft += 1
            yield pair.kind, pair.driven, shaft, "driven"

    def sizes(self) -> tuple[list[int], list[int], list[int]]:
        """Size numbers of drivers and driven, of idlers, and the pairs these stand in."""
        size = self.box.size
        gears = [size(pair.kind, getattr(pair, end)) for end in ("driver", "driven") for pair in self.train.pairs]
        idlers = [(size(pair.kind, i), place) for place, pair in enumerate(self.train.pairs) for i in pair.idlers]
        return gears, [i for i, _ in idlers], [place for _, place in idlers]

    def ruled_out(self) -> str:
        """What rules it out before its gaps are judged: gears not to be had or not allowed there; empty if nothing."""
        for reason in (self._fixed(), self._not_allowed(), self._steps_too_far(), self._too_few()):
            if reason:
                return reason
        return ""

    def _fixed(self) -> str:
        ends = {0: self.box.fixed_first, self.train.studs + 1: self.box.fixed_last}
        for kind, teeth, shaft, _ in self.places():
            fixed = ends.get(shaft, -1)
            if fixed >= 0 and self.box.size(kind, teeth) != fixed:
                return f"the {self.box.teeth[fixed]} cannot come off {self.names.shaft(shaft)}"
        return ""

    def _not_allowed(self) -> str:
        last = self.train.studs + 1
        for kind, teeth, shaft, _ in self.places():
            place = 0 if shaft == 0 else 2 if shaft == last else 1
            if not self.box.allowed[self.box.size(kind, teeth)][place]:
                return f"the {teeth} may not go on {self.names.shaft(shaft)}"
        return ""

    def _steps_too_far(self) -> str:
        limit = self.box.greatest_pair_ratio
        for pair in self.train.pairs:
            step = Fraction(max(pair.driver, pair.driven), min(pair.driver, pair.driven))
            if limit is not None and step > limit:
                return f"the pair {pair} steps by {float(step):.2f}:1; at most {float(limit):.2f}:1 is asked"
        return ""

    def _too_few(self) -> str:
        ends = {0: self.box.fixed_first, self.train.studs + 1: self.box.fixed_last}
        needed = Counter(
            self.box.size(kind, teeth) for kind, teeth, shaft, _ in self.places() if ends.get(shaft, -1) < 0
        )
        for size, count in sorted(needed.items()):
            has = self.box.loose[size] + sum((size == a) * n + (size == b) * n for a, b, n in self.box.joined)
            if count > has:
                fixed = " besides the fixed one" if size in ends.values() else ""
                return f"the box has {has or 'none'} of the {self.box.teeth[size]}{fixed}; this train needs {count}"
        return ""

    def by_rule(self) -> str:
        """What breaks the rule of thumb most, in its own figures; empty where it is kept."""
        found = []
        stud = 0
        for pair, after in pairwise(self.train.pairs):
            stud += 1 + len(pair.idlers)
            before, beyond = (pair.driver, *pair.idlers)[-1], (*after.idlers, after.driven)[0]
            found.append(self._breach((before, pair.driven, pair), (after.driver, after), stud, stud - 1))
            found.append(self._breach((after.driver, beyond, after), (pair.driven, pair), stud, stud + 1))
        room, why = min(found, default=(1, ""))
        return why if room <= 0 else ""

    def _breach(self, mesh: tuple[int, int, Pair], gear: tuple[int, Pair], stud: int, shaft: int) -> tuple[float, str]:
        """How much room the rule leaves between a gear on a stud and a neighbouring shaft [mm], with the words."""
        (a, b, pair), (teeth, other) = mesh, gear
        module, own = (self.shop.gear_set(kind).kind.module_mm for kind in (pair.kind, other.kind))
        nut = RULE_TEETH * max(module, own)
        room = (a + b) * module - teeth * own - nut
        why = f"{a} + {b} = {a + b} is not more than {teeth} + {RULE_TEETH} = {teeth + RULE_TEETH}"
        if module != own:
            length = self.names.length
            why = f"{length(float(room + nut))} of diameter are left, and more than {length(float(nut))} are asked"
        foul = f"the {teeth} on {self.names.shaft(stud)} fouls {self.names.shaft(shaft)}"
        return float(room), f"by the rule of thumb {foul}: {why}"

    def why_not(self, quadrant: Quadrant, reading: Reading) -> str:
        """What keeps it from mounting, with gear, shaft and number: the worst condition of the least bad position."""
        studs = self.train.studs
        if studs > quadrant.takes:
            return f"it needs {studs} stud{'s' if studs > 1 else ''}; the quadrant takes {quadrant.takes}"
        wheels = self.wheels(quadrant, reading)
        chain = Chain(self.names, quadrant, wheels, reading.centres_mm)
        conditions = list(chain.lengths())
        points = list(reading.points_mm[1:-1])
        points = points if quadrant.pivot == "first" else points[::-1]
        if reading.stands:
            conditions += chain.reaches([hypot(x, y) for x, y in points])
            conditions += chain.swings(points)
            asked = float(quadrant.clearance_mm)
            conditions += [(gap.mm - asked, gap.foul(self.names, asked)) for gap in gaps(quadrant, wheels)]
        else:
            conditions += chain.reaches(_cumulated(reading.centres_mm, quadrant.layout))
        return worst(iter(conditions))[1]

    def wheels(self, quadrant: Quadrant, reading: Reading) -> tuple[Wheel, ...]:
        """Every gear where it stands, idle partners included, in power order."""
        modules = {gears.kind.tag: float(gears.kind.module_mm) for gears in self.shop.gears}
        planes = _planes(self.train, quadrant.planes)
        found = []
        for kind, teeth, shaft, role in self.places():
            plane = planes[shaft - (role == "driven")]
            found.append(_wheel(teeth, kind, modules[kind], role, shaft, plane, reading.points_mm[shaft]))
        for shaft, (size, plane) in enumerate(reading.idle):
            if size >= 0:
                kind = self.box.tags[self.box.kind[size]]
                teeth = self.box.teeth[size]
                found.append(_wheel(teeth, kind, modules[kind], "idle", shaft, plane, reading.points_mm[shaft]))
        return tuple(sorted(found, key=lambda wheel: (wheel.shaft, wheel.role == "driver", wheel.role == "idle")))

    def placement(self, quadrant: Quadrant, reading: Reading) -> Placement:
        """Where everything goes, for an arrangement that mounts."""
        wheels = self.wheels(quadrant, reading)
        tightest = min(gaps(quadrant, wheels), key=lambda gap: gap.mm, default=None)
        words = "nothing stands near"
        if tightest is not None:
            words = f"tightest {gap_words(tightest.mm, self.shop.units)} {tightest.between(self.names)}"
        studs = tuple(_stud(shaft, wheels, reading.points_mm) for shaft in range(1, self.train.studs + 1))
        clearance = None if tightest is None else reading.gap_mm
        return Placement(quadrant.pivot, reading.shaft_distance_mm, studs, wheels, clearance, words)


def _wheel(
    teeth: int, kind: str, module: float, role: str, shaft: int, plane: int, point: tuple[float, float]
) -> Wheel:
    return Wheel(teeth, kind, role, shaft, plane, *point, module * teeth / 2, module * (teeth + 2) / 2)


def _stud(shaft: int, wheels: tuple[Wheel, ...], points: tuple[tuple[float, float], ...]) -> Stud:
    here = [wheel for wheel in wheels if wheel.shaft == shaft]
    idle = next((wheel.teeth for wheel in here if wheel.role == "idle"), None)
    x, y = points[shaft]
    before, after = points[shaft - 1], points[shaft + 1]
    return Stud(
        number=shaft,
        gears=tuple(wheel.teeth for wheel in here if wheel.role != "idle"),
        idle=idle,
        from_pivot_mm=hypot(x, y),
        swing_deg=degrees(atan2(y, x)),
        to_previous_mm=hypot(x - before[0], y - before[1]),
        to_next_mm=hypot(x - after[0], y - after[1]),
        x_mm=x,
        y_mm=y,
    )


def _planes(train: Train, planes: int) -> list[int]:
    """The plane of each mesh in power order, going back and forth: 0 1 0 1, or 0 1 2 1 0."""
    back_and_forth = [*range(planes), *range(planes - 2, 0, -1)]
    return [
        back_and_forth[number % len(back_and_forth)]
        for number, pair in enumerate(train.pairs)
        for _ in range(len(pair.idlers) + 1)
    ]


def _cumulated(centres: tuple[float, ...], layout: str) -> list[float]:
    """How far from the pivot the studs of a slot stand, whatever the shafts; on a plate only the first is known."""
    count = len(centres) - 1 if layout == "slot" else min(1, len(centres) - 1)
    return [sum(centres[: i + 1]) for i in range(count)]
