"""Where the gears of a train stand: wheels, studs, gaps between them, and the words for what limits a place."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from math import atan2, degrees, floor, hypot, inf, radians

from ..base.units import INCH_MM, decimals
from ..shop.gears import PLACES
from ..shop.machine import Route
from ..shop.quadrant import Quadrant
from ..shop.shop import Shop
from ..shop.trains import Train

JUDGEMENT = {"yes": "yes", "rule": "by the rule of thumb", "no": "no", "unknown": "not judged"}  # of a train, in words
_FLOATS_MM = 1e-6


@dataclass(frozen=True, slots=True)
class Wheel:
    """One gear where it stands.

    Parameters
    ----------
    teeth, kind : tooth count, and the tag of its kind of tooth
    role : ``driver``, ``driven``, ``idler``, or ``idle`` for the unused partner in a joined piece
    shaft : 0 for the first shaft, then the studs in power order, then the last shaft
    plane : gear plane, from 0
    x_mm, y_mm : its centre [mm] from the pivot, x toward the other shaft
    pitch_radius_mm, tip_radius_mm : radii of the pitch circle and over the tips [mm]
    """

    teeth: int
    kind: str
    role: str
    shaft: int
    plane: int
    x_mm: float
    y_mm: float
    pitch_radius_mm: float
    tip_radius_mm: float


@dataclass(frozen=True, slots=True)
class Stud:
    """One stud, and how to set it with a rule.

    Parameters
    ----------
    number : from 1, in power order
    gears : tooth counts on it, driven before driver; an idler once
    idle : tooth count of the unused partner of a joined piece on it, or None
    from_pivot_mm : distance from the pivot [mm]
    swing_deg : angle from the line pivot → other shaft [degrees]; positive is toward positive y
    to_previous_mm, to_next_mm : distance from the shaft before and after it in power order [mm]
    x_mm, y_mm : its centre [mm] from the pivot, x toward the other shaft
    """

    number: int
    gears: tuple[int, ...]
    idle: int | None
    from_pivot_mm: float
    swing_deg: float
    to_previous_mm: float
    to_next_mm: float
    x_mm: float
    y_mm: float


@dataclass(frozen=True, slots=True)
class Placement:
    """Where everything of a train that mounts stands.

    Parameters
    ----------
    pivot : the shaft at the origin, ``first`` or ``last``
    shaft_distance_mm : distance of first and last shaft to set [mm]
    studs : in power order
    wheels : every gear, in power order
    clearance_mm : the smallest gap [mm] between a gear and what it must clear; None where nothing is near
    tightest : where that is, in words
    """

    pivot: str
    shaft_distance_mm: float
    studs: tuple[Stud, ...]
    wheels: tuple[Wheel, ...]
    clearance_mm: float | None
    tightest: str


@dataclass(frozen=True, slots=True)
class Verdict:
    """The verdict on one arrangement of a train.

    Parameters
    ----------
    train : its gears in power order, idlers included
    hand : hand it cuts; None where the shop file does not say which
    mounts : ``yes`` by the quadrant's geometry, ``rule`` by the rule of thumb only, ``no``, or ``unknown``
    why : of a no: gear, shaft and number; of a yes: where it is tightest
    clearance_mm : the smallest gap [mm]; None where no geometry was judged or nothing is near
    placement : where each stud goes; only with a yes
    """

    train: Train
    hand: str | None
    mounts: str
    why: str = ""
    clearance_mm: float | None = None
    placement: Placement | None = None


@dataclass(frozen=True, slots=True)
class Names:
    """What the shafts and gears of a train are called on this machine; one that calls them otherwise inherits from it.

    Parameters
    ----------
    shop, route : the machine and the way its train goes
    studs : how many studs the train has
    """

    shop: Shop
    route: Route
    studs: int

    def shaft(self, number: int) -> str:
        """The shaft of that number in power order."""
        if number == 0:
            return self.shop.machine.first_shaft
        if number <= self.studs:
            return f"stud {number}"
        return self.shop.machine.last_shaft(self.route)

    @property
    def no_idler(self) -> str:
        """That no gear is left for the idler which the way of turning takes."""
        return "no gear is left over that could turn the hand as an idler"

    def wheel(self, wheel: Wheel) -> str:
        """A gear and the shaft it is on."""
        tag = f"@{wheel.kind}" if len(self.shop.gears) > 1 else ""
        idle = "idle " if wheel.role == "idle" else ""
        return f"the {idle}{wheel.teeth}{tag} on {self.shaft(wheel.shaft)}"

    def length(self, mm: float, finer: int = 0) -> str:
        """A length in the shop's unit, to a tenth of a millimetre or a hundredth of an inch, finer where small."""
        inch = self.shop.units == "in"
        value, digits = (mm / float(INCH_MM), 2 + finer) if inch else (mm, 1 + finer)
        if abs(value) < 2 * 10.0**-digits:
            digits += 2
        return f"{value:.{digits}f} {self.shop.units if inch else 'mm'}"


def gap_words(mm: float, unit: str, finer: int = 0) -> str:
    """A clearance in the shop's unit, rounded DOWN, so that none is printed larger than it is.

    To a tenth of a millimetre or a hundredth of an inch, ``finer`` decimals more, two more where it is small; from
    whole micrometres, which the loops count by too. A millionth of a millimetre is the floats', and not counted.
    """
    exact = Fraction(floor((mm + _FLOATS_MM) * 1000), 1000) / (INCH_MM if unit == "in" else 1)
    digits = (2 if unit == "in" else 1) + finer
    if exact * 10**digits < 2:
        digits += 2
    return f"{decimals(Fraction(floor(exact * 10**digits), 10**digits), digits)} {unit}"


@dataclass(frozen=True, slots=True)
class Gap:
    """The room between a gear and what it must clear [mm]; negative where it fouls."""

    mm: float
    wheel: Wheel
    other: Wheel | int | None  # a gear, the shaft whose nut it is, or None for an obstacle
    obstacle: tuple[float, float] = (0.0, 0.0)

    def between(self, names: Names) -> str:
        """Where the gap is."""
        return f"between {names.wheel(self.wheel)} and {self._other(names)}"

    def foul(self, names: Names, asked_mm: float) -> str:
        """What is wrong with the gap."""
        if self.mm < 0:
            return f"{names.wheel(self.wheel)} fouls {self._other(names)} by {names.length(-self.mm)}"
        return (
            f"{names.wheel(self.wheel)} clears {self._other(names)} by {gap_words(self.mm, names.shop.units, 1)}; "
            f"{names.length(asked_mm, 1)} is asked"
        )

    def _other(self, names: Names) -> str:
        if isinstance(self.other, Wheel):
            return names.wheel(self.other)
        if self.other is None:
            x, y = self.obstacle
            return f"the obstacle at ({names.length(x)}, {names.length(y)})"
        return f"the nut of {names.shaft(self.other)}"


def gaps(quadrant: Quadrant, wheels: tuple[Wheel, ...]) -> Iterator[Gap]:
    """Every gap of a train as it stands: gears against nuts, against gears in their plane, against obstacles."""
    last = max(wheel.shaft for wheel in wheels)
    centres = {wheel.shaft: (wheel.x_mm, wheel.y_mm) for wheel in wheels}
    for wheel in wheels:
        meshing = {other.shaft for other in wheels if _mesh(wheel, other)}
        for shaft, (x, y) in centres.items():
            if shaft != wheel.shaft and shaft not in meshing:
                away = hypot(x - wheel.x_mm, y - wheel.y_mm)
                yield Gap(away - wheel.tip_radius_mm - _nut(quadrant, shaft, last), wheel, shaft)
        for other in wheels:
            if other.plane == wheel.plane and other.shaft > wheel.shaft and not _mesh(wheel, other):
                away = hypot(other.x_mm - wheel.x_mm, other.y_mm - wheel.y_mm)
                yield Gap(away - wheel.tip_radius_mm - other.tip_radius_mm, wheel, other)
        for block in quadrant.obstacles:
            x, y = float(block.x_mm), float(block.y_mm)
            away = hypot(x - wheel.x_mm, y - wheel.y_mm)
            yield Gap(away - wheel.tip_radius_mm - float(block.radius_mm), wheel, None, (x, y))


def _mesh(wheel: Wheel, other: Wheel) -> bool:
    a, b = sorted((wheel, other), key=lambda w: w.shaft)
    return a.shaft + 1 == b.shaft and a.role in ("driver", "idler") and b.role in ("driven", "idler")


def _nut(quadrant: Quadrant, shaft: int, last: int) -> float:
    return float(quadrant.nut_radius_mm.get(PLACES[0 if shaft == 0 else 2 if shaft == last else 1], 0))


@dataclass(frozen=True, slots=True)
class Chain:
    """Centre distances of a train, counted from the pivot, against what the quadrant allows.

    Parameters
    ----------
    names, quadrant : the machine
    wheels : gears in power order, placed or not
    centres_mm : distance of neighbouring shafts [mm], from the pivot
    """

    names: Names
    quadrant: Quadrant
    wheels: tuple[Wheel, ...]
    centres_mm: tuple[float, ...]

    @property
    def studs(self) -> int:
        """How many studs there are."""
        return len(self.centres_mm) - 1

    def stud(self, position: int) -> str:
        """The name of the stud at a position from the pivot."""
        return self.names.shaft(position if self.quadrant.pivot == "first" else self.studs + 1 - position)

    def mesh(self, position: int) -> str:
        """The two gears that mesh at a position from the pivot."""
        mesh = position if self.quadrant.pivot == "first" else self.studs - position
        a = next(w for w in self.wheels if w.shaft == mesh and w.role in ("driver", "idler"))
        b = next(w for w in self.wheels if w.shaft == mesh + 1 and w.role in ("driven", "idler"))
        return f"the {a.teeth} and the {b.teeth} mesh at {self.names.length(self.centres_mm[position])}"

    def lengths(self) -> Iterator[tuple[float, str]]:
        """Margin [mm] and words of each condition on the centre distances alone."""
        assert self.quadrant.shaft_distance_mm is not None
        shortest, longest = map(float, self.quadrant.shaft_distance_mm)
        say, total, n = self.names.length, sum(self.centres_mm), self.studs
        if n == 0:
            apart = say(shortest) if shortest == longest else f"{say(shortest)} to {say(longest)}"
            wheel = self.wheels[0]
            off = min(total - shortest, longest - total) + (wheel.tip_radius_mm - wheel.pitch_radius_mm) / 10
            yield off, f"{self.mesh(0)}; the shafts stand {apart} apart"
            return
        yield total - shortest, f"does not reach: {say(total)} of {say(shortest)}"
        far = self.names.shaft(n + 1 if self.quadrant.pivot == "first" else 0)
        if self.quadrant.layout == "plate" and n == 2:
            widest = max(range(3), key=lambda i: self.centres_mm[i])
            others = longest + total - self.centres_mm[widest]
            yield (
                others - self.centres_mm[widest],
                f"too large: {self.mesh(widest)}, more than the {say(others)} of the other meshes and the shafts",
            )
            return
        stands, last = total - self.centres_mm[n], self.centres_mm[n]
        yield (
            longest - abs(stands - last),
            f"too large: {self.stud(n)} would stand {say(stands)} from the pivot, {say(abs(stands - longest))} from "
            f"{far} at the least, but {self.mesh(n)}"
            if stands > last
            else f"too large: {self.mesh(n)}, but {self.stud(n)} would stand {say(stands)} from the pivot, and "
            f"{far} {say(longest)}",
        )

    def reaches(self, from_pivot_mm: list[float]) -> Iterator[tuple[float, str]]:
        """Margin [mm] and words of the reach of each stud, by its distance from the pivot."""
        slot = self.quadrant.layout == "slot"
        nearest, farthest = map(float, self.quadrant.reach_mm)
        for position, far in enumerate(from_pivot_mm, 1):
            where = f"{self.stud(position)} would stand {self.names.length(far)} from the pivot; the "
            begins, ends = ("slot begins", "slot ends") if slot else ("reach begins", "reach ends")
            yield far - nearest, f"{where}{begins} at {self.names.length(nearest)}"
            yield farthest - far, f"{where}{ends} at {self.names.length(farthest)}"

    def swings(self, points: list[tuple[float, float]]) -> Iterator[tuple[float, str]]:
        """Margin [mm] and words of the swing of each stud, by where it stands."""
        low, high = map(float, self.quadrant.swing_deg)
        slot = self.quadrant.layout == "slot"
        for position, (x, y) in enumerate(points, 1):
            angle = degrees(atan2(y, x))
            what = "the slot" if slot else self.stud(position)
            words = f"{what} would stand at {angle:.1f}°; the swing is from {low:.1f}° to {high:.1f}°"
            yield hypot(x, y) * radians(min(angle - low, high - angle)), words


def worst(conditions: Iterator[tuple[float, str]]) -> tuple[float, str]:
    """The condition with the least margin."""
    return min(conditions, key=lambda condition: condition[0], default=(inf, ""))
