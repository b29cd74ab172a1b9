"""Why a train does not go on, or where it is tightest, in words: what rules it out, and what the judge found."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from itertools import chain, pairwise
from math import atan2, degrees, hypot

from ..shop.brackets.slots import Slots
from ..shop.pool import GearPool
from ..shop.quadrant import Quadrant
from ..shop.trains import Pair, Train
from .bracket import HEAD_STEP_MM
from .chains import EPS
from .placement import Names, Placement, Stud, Wheel, gap_words
from .plates import PLATE_HEAD_STEP_MM
from .reading import Reading
from .rule import RULE_TEETH

_ROLES = ("driver", "driven", "idler", "idle")


@dataclass(frozen=True, slots=True)
class Arrangement:
    """A train in power order with its idlers, on one machine, before any place of it is tried.

    Parameters
    ----------
    names : what its shafts are called
    pool : the gears to be had
    train : the train, every pair with the tag of its kind of tooth
    """

    names: Names
    pool: GearPool
    train: Train

    def ruled_out(self) -> str:
        """What rules it out before its gaps are judged: gears not to be had or not allowed there; empty if nothing."""
        ends = {0: self.pool.fixed_first, self.train.studs + 1: self.pool.fixed_last}
        gears = list(self._gears())
        return next(chain(self._misplaced(gears, ends), self._steps_too_far(), self._too_few(gears, ends)), "")

    def _gears(self) -> Iterator[tuple[int, int]]:
        """The number of every gear with its shaft, in power order."""
        shaft = 0
        for pair in self.train.pairs:
            for step, teeth in enumerate((pair.driver, *pair.idlers, pair.driven)):
                yield self.pool.number(pair.kind, teeth), shaft + step
            shaft += 1 + len(pair.idlers)

    def _misplaced(self, gears: list[tuple[int, int]], ends: dict[int, int]) -> Iterator[str]:
        pool, places = self.pool, dict(zip(ends, (0, 2), strict=True))
        for size, shaft in gears:
            if ends.get(shaft, -1) not in (-1, size):
                yield f"the {pool.teeth[ends[shaft]]} cannot come off {self.names.shaft(shaft)}"
        for size, shaft in gears:
            if not pool.allowed[size][places.get(shaft, 1)]:
                yield f"the {pool.teeth[size]} may not go on {self.names.shaft(shaft)}"

    def _steps_too_far(self) -> Iterator[str]:
        limit = self.pool.greatest_pair_ratio
        for pair in self.train.pairs:
            step = Fraction(max(pair.driver, pair.driven), min(pair.driver, pair.driven))
            if limit is not None and step > limit:
                yield f"the pair {pair} steps by {float(step):.2f}:1; at most {float(limit):.2f}:1 is asked"

    def _too_few(self, gears: list[tuple[int, int]], ends: dict[int, int]) -> Iterator[str]:
        needed = Counter(size for size, shaft in gears if ends.get(shaft, -1) < 0)
        for size, count in sorted(needed.items()):
            has = self.pool.loose[size] + sum((size == a) * n + (size == b) * n for a, b, n in self.pool.joined)
            if count > has:
                fixed = " besides the fixed one" if size in ends.values() else ""
                yield f"the box has {has or 'none'} of the {self.pool.teeth[size]}{fixed}; this train needs {count}"

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
        module, own = (self.names.shop.gear_set(kind).kind.module_mm for kind in (pair.kind, other.kind))
        nut = RULE_TEETH * max(module, own)
        room = (a + b) * module - teeth * own - nut
        why = f"{a} + {b} = {a + b} is not more than {teeth} + {RULE_TEETH} = {teeth + RULE_TEETH}"
        if module != own:
            length = self.names.length
            why = f"{length(float(room + nut))} of diameter is left, and more than {length(float(nut))} is needed"
        foul = f"the {teeth} on {self.names.shaft(stud)} fouls {self.names.shaft(shaft)}"
        return float(room), f"by the rule of thumb {foul}: {why}"


@dataclass(frozen=True, slots=True)
class Reasons:
    """Words for one arrangement.

    Parameters
    ----------
    names, pool : the machine, and the gears to be had
    reading : what was found
    """

    names: Names
    pool: GearPool
    reading: Reading

    @property
    def quadrant(self) -> Quadrant:
        """What it stands on."""
        assert self.names.shop.quadrant is not None
        return self.names.shop.quadrant

    def why_not(self) -> str:
        """The condition that is broken by most, with gear, shaft and number."""
        limit, studs = self.reading.limit, self.reading.shape.studs
        assert limit is not None
        match limit.kind:
            case "studs":
                return (
                    f"it needs {studs} stud{'s' if studs > 1 else ''}; the quadrant takes {self.quadrant.bracket.takes}"
                )
            case "gap" | "obstacle":
                return self._foul()
            case "swing":
                return self._swing()
            case "apart":
                return f"{self._mesh(0)}; the shafts stand {self._shafts_apart()} apart"
            case "short" | "long":
                return self._triangle(limit.kind)
        return self._slot(limit.kind, *limit.shafts)

    def tightest(self) -> str:
        """Where there is least room."""
        if self.reading.limit is None:
            return "nothing stands near"
        gap = gap_words(self.reading.gap_mm, self.names.shop.units)
        wheel, other = self._contact()
        return f"tightest {gap} between {self.names.wheel(wheel)} and {other}"

    def placement(self) -> Placement:
        """Where everything goes, for an arrangement that mounts."""
        reading, wheels = self.reading, tuple(self._in_power_order())
        order = slice(None, None, -1 if reading.shape.pivot_last else 1)
        points, slots, centres = reading.points_mm[order], reading.slots[order], reading.centres_mm[order]
        studs = tuple(
            _stud(shaft, wheels, points[shaft], centres, slots[shaft - 1] + 1 if slots else None)
            for shaft in range(1, reading.shape.studs + 1)
        )
        return Placement(
            pivot=self.quadrant.pivot,
            shaft_distance_mm=reading.head_mm,
            studs=studs,
            wheels=wheels,
            clearance_mm=None if reading.limit is None else reading.gap_mm,
            tightest=self.tightest(),
            bracket_swing_deg=degrees(reading.swing) if reading.slots else None,
            heads_mm=reading.heads_mm,
            head_step_mm=head_step_mm(self.quadrant, reading.shape.studs),
        )

    def _in_power_order(self) -> Iterator[Wheel]:
        wheels = map(self._wheel, range(len(self.reading.gears)))
        yield from sorted(wheels, key=lambda wheel: (wheel.shaft, wheel.role == "driver", wheel.role == "idle"))

    def _name(self, from_pivot: int) -> str:
        return self.names.shaft(self.reading.shape.in_power_order(from_pivot))

    def _wheel(self, column: int) -> Wheel:
        """The gear of a column where it stands."""
        shape, size = self.reading.shape, self.reading.gears[column]
        seat, teeth, kind = shape.seats[column], self.pool.teeth[size], self.pool.kind[size]
        ends = (shape.pairs, 2 * shape.pairs, shape.idle_from)
        module = float(self.names.shop.gears[kind].kind.module_mm)
        return Wheel(
            teeth=teeth,
            kind=self.pool.tags[kind],
            role=_ROLES[sum(column >= end for end in ends)],
            shaft=shape.in_power_order(seat.shaft),
            plane=seat.plane,
            x_mm=self.reading.points_mm[seat.shaft][0],
            y_mm=self.reading.points_mm[seat.shaft][1],
            pitch_radius_mm=module * teeth / 2,
            tip_radius_mm=module * (teeth + 2) / 2,
        )

    def _contact(self) -> tuple[Wheel, str]:
        """The gear that is tightest, and what it must clear, in words."""
        contact, limit = self.reading.contact, self.reading.limit
        assert contact is not None
        assert limit is not None
        wheel = self._wheel(contact.gear)
        if limit.kind == "obstacle":
            block = self.quadrant.obstacles[contact.other]
            x, y = self.names.length(float(block.x_mm)), self.names.length(float(block.y_mm))
            return wheel, f"the obstacle at ({x}, {y})"
        if contact.nut:
            return wheel, f"the nut of {self._name(contact.other)}"
        first, second = sorted((wheel, self._wheel(contact.other)), key=lambda each: each.shaft)
        return first, self.names.wheel(second)

    def _foul(self) -> str:
        wheel, other = self._contact()
        gap, asked = self.reading.margin_mm + float(self.quadrant.clearance_mm), float(self.quadrant.clearance_mm)
        if gap < 0:
            return f"{self.names.wheel(wheel)} fouls {other} by {self.names.length(-gap)}"
        clears = gap_words(gap, self.names.shop.units, 1)
        return f"{self.names.wheel(wheel)} clears {other} by {clears}; {self.names.length(asked, 1)} is asked"

    def _mesh(self, number: int) -> str:
        """The two gears that mesh, and how far apart that puts their shafts."""
        wheels = sorted(map(self._wheel, self.reading.shape.meshes[number]), key=lambda wheel: wheel.shaft)
        apart = self.names.length(self.reading.centres_mm[number])
        return f"the {wheels[0].teeth} and the {wheels[1].teeth} mesh at {apart}"

    def _shafts_apart(self) -> str:
        assert self.quadrant.shaft_distance_mm is not None
        least, most = (self.names.length(float(end)) for end in self.quadrant.shaft_distance_mm)
        return least if least == most else f"{least} to {most}"

    def _triangle(self, kind: str) -> str:
        """That the last mesh does not close the triangle with the pivot."""
        say, centres, head = self.names.length, self.reading.centres_mm, self.reading.head_mm
        n, last = self.reading.shape.studs, centres[-1]
        if n > 1 and not self.quadrant.bracket.swings_whole and kind == "long":
            widest = max(range(3), key=lambda mesh: centres[mesh])
            others = head + sum(centres) - centres[widest]
            return f"too large: {self._mesh(widest)}, more than the {say(others)} of the other meshes and the shafts"
        stands = hypot(*self.reading.points_mm[n])
        if stands < EPS:
            return f"{self._name(n)} would stand on the pivot"
        if kind == "short":
            reaches = sum(centres) if not self.quadrant.bracket.swings_whole else stands + last
            return f"does not reach: {say(reaches)} of {say(head)}"
        far = self._name(n + 1)
        if stands > last:
            return (
                f"too large: {self._name(n)} would stand {say(stands)} from the pivot, {say(abs(stands - head))} from "
                f"{far} at the least, but {self._mesh(n)}"
            )
        return (
            f"too large: {self._mesh(n)}, but {self._name(n)} would stand {say(stands)} from the pivot, and "
            f"{far} {say(head)}"
        )

    def _slot(self, kind: str, stud: int, slot: int) -> str:
        """That a stud's place is not in its slot, or not in reach."""
        if isinstance(self.quadrant.bracket, Slots):
            return self._out_of_slot(kind, stud, slot)
        say, what = self.names.length, self.quadrant.bracket.holds
        far = hypot(*self.reading.points_mm[stud])
        near, end = (say(float(reach)) for reach in self.quadrant.bracket.reach_mm)
        place = f"{what} begins at {near}" if kind == "begins" else f"{what} ends at {end}"
        return f"{self._name(stud)} would stand {say(far)} from the pivot; the {place}"

    def _out_of_slot(self, kind: str, stud: int, slot: int) -> str:
        which, by = f"slot {slot + 1}", self.names.length(-self.reading.margin_mm)
        if kind == "cuts":
            return f"no place for {self._name(stud)} in {which}: {self._mesh(stud - 1)}, which misses the slot by {by}"
        end = f"before {which} begins" if kind == "begins" else f"beyond where {which} ends"
        return f"{self._name(stud)} would stand {by} {end}"

    def _swing(self) -> str:
        assert self.reading.limit is not None
        low, high = (float(angle) for angle in self.quadrant.swing_deg)
        stud = self.reading.limit.shafts
        what = "the bracket" if isinstance(self.quadrant.bracket, Slots) else f"the {self.quadrant.bracket.holds}"
        angle = degrees(self.reading.swing)
        if stud or not self.quadrant.bracket.swings_whole:
            number = stud[0] if stud else 1
            x, y = self.reading.points_mm[number]
            what, angle = self._name(number), degrees(atan2(y, x))
        return f"{what} would stand at {angle:.1f}°; the swing is from {low:.1f}° to {high:.1f}°"


def head_step_mm(quadrant: Quadrant, studs: int) -> float | None:
    """At how many millimetres a head is tried; None where it cannot be moved, or two gears without a stud set it."""
    assert quadrant.shaft_distance_mm is not None
    least, most = quadrant.shaft_distance_mm
    if least == most or not studs:
        return None
    return HEAD_STEP_MM if quadrant.bracket.swings_whole or studs == 1 else PLATE_HEAD_STEP_MM


def _stud(
    shaft: int, wheels: tuple[Wheel, ...], at: tuple[float, float], centres: tuple[float, ...], slot: int | None
) -> Stud:
    here = [wheel for wheel in wheels if wheel.shaft == shaft]
    idle = next((wheel.teeth for wheel in here if wheel.role == "idle"), None)
    return Stud(
        number=shaft,
        gears=tuple(wheel.teeth for wheel in here if wheel.role != "idle"),
        idle=idle,
        from_pivot_mm=hypot(*at),
        swing_deg=degrees(atan2(at[1], at[0])),
        to_previous_mm=centres[shaft - 1],
        to_next_mm=centres[shaft],
        x_mm=at[0],
        y_mm=at[1],
        slot=slot,
    )
