"""One arrangement of a train before any place is tried: what rules it out, and what the rule of thumb says of it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

from ..shop.pool import GearPool
from ..shop.trains import Pair, Train
from .placement import Names

RULE_TEETH = 15  # that the rule of thumb leaves for a shaft's nut; common practice, no source
_Place = tuple[str, int, int, str]  # kind tag, tooth count, shaft, role


@dataclass(frozen=True, slots=True)
class Arrangement:
    """A train in power order with its idlers, on one machine.

    Parameters
    ----------
    names : what its shafts are called
    pool : the gears to be had
    train : the train, every pair with the tag of its kind of tooth
    """

    names: Names
    pool: GearPool
    train: Train

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

    def ruled_out(self) -> str:
        """What rules it out before its gaps are judged: gears not to be had or not allowed there; empty if nothing."""
        for reason in (self._fixed(), self._not_allowed(), self._steps_too_far(), self._too_few()):
            if reason:
                return reason
        return ""

    def _fixed(self) -> str:
        ends = {0: self.pool.fixed_first, self.train.studs + 1: self.pool.fixed_last}
        for kind, teeth, shaft, _ in self.places():
            fixed = ends.get(shaft, -1)
            if fixed >= 0 and self.pool.number(kind, teeth) != fixed:
                return f"the {self.pool.teeth[fixed]} cannot come off {self.names.shaft(shaft)}"
        return ""

    def _not_allowed(self) -> str:
        last = self.train.studs + 1
        for kind, teeth, shaft, _ in self.places():
            place = 0 if shaft == 0 else 2 if shaft == last else 1
            if not self.pool.allowed[self.pool.number(kind, teeth)][place]:
                return f"the {teeth} may not go on {self.names.shaft(shaft)}"
        return ""

    def _steps_too_far(self) -> str:
        limit = self.pool.greatest_pair_ratio
        for pair in self.train.pairs:
            step = Fraction(max(pair.driver, pair.driven), min(pair.driver, pair.driven))
            if limit is not None and step > limit:
                return f"the pair {pair} steps by {float(step):.2f}:1; at most {float(limit):.2f}:1 is asked"
        return ""

    def _too_few(self) -> str:
        ends = {0: self.pool.fixed_first, self.train.studs + 1: self.pool.fixed_last}
        needed = Counter(
            self.pool.number(kind, teeth) for kind, teeth, shaft, _ in self.places() if ends.get(shaft, -1) < 0
        )
        for size, count in sorted(needed.items()):
            has = self.pool.loose[size] + sum((size == a) * n + (size == b) * n for a, b, n in self.pool.joined)
            if count > has:
                fixed = " besides the fixed one" if size in ends.values() else ""
                return f"the box has {has or 'none'} of the {self.pool.teeth[size]}{fixed}; this train needs {count}"
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
        module, own = (self.names.shop.gear_set(kind).kind.module_mm for kind in (pair.kind, other.kind))
        nut = RULE_TEETH * max(module, own)
        room = (a + b) * module - teeth * own - nut
        why = f"{a} + {b} = {a + b} is not more than {teeth} + {RULE_TEETH} = {teeth + RULE_TEETH}"
        if module != own:
            length = self.names.length
            why = f"{length(float(room + nut))} of diameter is left, and more than {length(float(nut))} is needed"
        foul = f"the {teeth} on {self.names.shaft(stud)} fouls {self.names.shaft(shaft)}"
        return float(room), f"by the rule of thumb {foul}: {why}"
