"""Batches of arrangements as arrays: centre distances from the pivot outward, and how far apart shafts must be."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from ..base.arrays import Floats, Ints
from .gears import Gears
from .shape import Contact, Shape

Coordinate = Floats | float

EPS = 1e-9  # mm; far below what can be made, far above the last bit
NOTHING_NEAR = 1e6  # gap [mm] where nothing can foul


@dataclass(frozen=True, slots=True)
class Chains:
    """Arrangements of one shape, one a column of ``gears``.

    Parameters
    ----------
    shape : what they have in common
    gears : (gears of the shape, rows) gear numbers
    sizes : of which gears
    nuts : nut radius [mm] of the pivot, of a stud, and of the other shaft
    """

    shape: Shape
    gears: Ints
    sizes: Gears
    nuts: tuple[float, float, float]
    _needs: dict[tuple[int, int], Floats | None] = field(default_factory=dict)

    def __len__(self) -> int:
        return len(self.gears[0])

    def take(self, rows: Ints) -> Chains:
        """Some of the rows, in that order."""
        needs = {pair: None if need is None else need.take(rows) for pair, need in self._needs.items()}
        return Chains(self.shape, self.gears.take(rows, axis=1), self.sizes, self.nuts, needs)

    def centre(self, mesh: int) -> Floats:
        """Centre distance of a mesh [mm], counted from the pivot."""
        near, far = self.shape.meshes[mesh]
        centre: Floats = self.sizes.pitch.take(self.gears[near]) + self.sizes.pitch.take(self.gears[far])
        return centre

    def need(self, i: int, j: int) -> Floats | None:
        """How far apart two shafts must be [mm] for nothing on them to touch; None where nothing could."""
        if (i, j) not in self._needs:
            wanted = [self.room(contact) for contact in self.shape.contacts[i, j]]
            self._needs[i, j] = np.maximum.reduce(wanted) if wanted else None
        return self._needs[i, j]

    def room(self, contact: Contact) -> Floats:
        """How far apart [mm] the shafts of a contact stand where the two just touch."""
        tip: Floats = self.sizes.tip.take(self.gears[contact.gear])
        return tip + (self.nut(contact.other) if contact.nut else self.sizes.tip.take(self.gears[contact.other]))

    def nut(self, shaft: int) -> float:
        """Nut radius of a shaft [mm]."""
        return self.nuts[0 if shaft == 0 else 2 if shaft == self.shape.studs + 1 else 1]

    def widest(self, shaft: int) -> Floats:
        """Radius over the tips of the largest gear on a shaft [mm]."""
        widest: Floats = np.maximum.reduce([self.sizes.tip[self.gears[column]] for column in self.shape.at(shaft)])
        return widest
