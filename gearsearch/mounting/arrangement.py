"""One arrangement of a train before any place is tried: what rules it out, and what the rule of thumb says of it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from itertools import chain, pairwise

from ..shop.pool import GearPool
from ..shop.trains import Pair, Train
from .placement import Names

RULE_TEETH = 15  # that the rule of thumb leaves for a shaft's nut; common practice, no source


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

    def ruled_out(self) -> str:
        """What rules it out before its gaps are judged: gears not to be had or not allowed there; empty if nothing."""
        ends = {0: self.pool.fixed_first, self.train.studs + 1: self.pool.fixed_last}
        return next(chain(self._misplaced(ends), self._steps_too_far(), self._too_few(ends)), "")

    def _gears(self) -> Iterator[tuple[int, int]]:
        """The number of every gear with its shaft, in power order."""
        shaft = 0
        for pair in self.train.pairs:
            for step, teeth in enumerate((pair.driver, *pair.idlers, pair.driven)):
                yield self.pool.number(pair.kind, teeth), shaft + step
            shaft += 1 + len(pair.idlers)

    def _misplaced(self, ends: dict[int, int]) -> Iterator[str]:
        pool, places = self.pool, dict(zip(ends, (0, 2), strict=True))
        for size, shaft in self._gears():
            if ends.get(shaft, -1) not in (-1, size):
                yield f"the {pool.teeth[ends[shaft]]} cannot come off {self.names.shaft(shaft)}"
        for size, shaft in self._gears():
            if not pool.allowed[size][places.get(shaft, 1)]:
                yield f"the {pool.teeth[size]} may not go on {self.names.shaft(shaft)}"

    def _steps_too_far(self) -> Iterator[str]:
        limit = self.pool.greatest_pair_ratio
        for pair in self.train.pairs:
            step = Fraction(max(pair.driver, pair.driven), min(pair.driver, pair.driven))
            if limit is not None and step > limit:
                yield f"the pair {pair} steps by {float(step):.2f}:1; at most {float(limit):.2f}:1 is asked"

    def _too_few(self, ends: dict[int, int]) -> Iterator[str]:
        needed = Counter(size for size, shaft in self._gears() if ends.get(shaft, -1) < 0)
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
