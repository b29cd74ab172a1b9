"""Which gears to add, which are never needed, and a set from scratch, as Python asks for them."""

from __future__ import annotations

from collections.abc import Iterable
from concurrent.futures import Executor
from dataclasses import dataclass, replace
from typing import Literal

from ..base.errors import GearsearchError
from ..base.sharing import Crew
from ..base.spelling import spelled
from ..search.terms import Hand, terms_of
from ..shop.gear_names import GearName
from ..shop.shop import Shop
from ..work.asking import part_of_text
from ..work.lists import load_list
from ..work.part import Part
from ..work.tolerance import Tolerance
from ..work.wanted import Lead, Wanted
from .add import Advice, best_gears
from .scratch import Design, design
from .spare import Spare, spare_gears

Leads = str | Iterable[Lead]
TEETH = range(15, 128)


@dataclass(frozen=True, slots=True)
class Extend:
    """Adding to a shop's gears; called with the leads that matter it says which gear to add, see ``__call__``.

    Parameters
    ----------
    shop : whose gears
    as_typed : whether refusals name options as the command line has them
    """

    shop: Shop
    as_typed: bool = False

    @spelled
    def __call__(
        self,
        leads: Leads,
        *,
        tolerance: str = "0.05%",
        gears: Literal[1, 2] = 1,
        teeth: Iterable[int] = TEETH,
        kind: str | None = None,
        count: int = 10,
        route: str | None = None,
        hand: Hand = "either",
        pairs: int | tuple[int, int] = 2,
        mounting: Literal["must", "skip"] = "must",
        without: Iterable[GearName] = (),
        executor: Executor | None = None,
    ) -> Advice:
        """Which gear, or which two, to add so that most leads come inside tolerance.

        Parameters
        ----------
        leads : the leads that matter, or the name of a list or of a CSV file
        tolerance : for leads without one of their own
        gears : how many are added at once
        teeth, kind : tooth counts to try, and of which kind of tooth; None: every kind of the shop
        count : how many answers
        route, hand, pairs, mounting, without : how trains may be made, as for ``find``
        executor : of ``concurrent.futures``, to share the work among processes or machines; None: threads on every core

        >>> import gearsearch as gs
        >>> advice = gs.demo().extend(["333 mm", "777 mm"], tolerance="20 ppm", teeth=range(20, 60), count=2)
        >>> [gain.gears for gain in advice.gains]
        [(('', 37),)]
        """
        terms = terms_of(route, hand, pairs, mounting, without)
        needs, candidates = self._needs(leads, tolerance), self._had(teeth, kind)
        return best_gears(self.shop, needs, terms, candidates, gears, count, Crew(executor))

    @spelled
    def spare(
        self,
        leads: Leads,
        *,
        tolerance: str = "0.05%",
        route: str | None = None,
        hand: Hand = "either",
        pairs: int | tuple[int, int] = 2,
        mounting: Literal["must", "skip"] = "must",
        without: Iterable[GearName] = (),
    ) -> Spare:
        """The gears that these leads never need, and the fewest that cover what the whole box covers."""
        terms = terms_of(route, hand, pairs, mounting, without)
        return spare_gears(self.shop, self._needs(leads, tolerance), terms)

    @spelled
    def design(
        self,
        leads: Leads,
        gears: int,
        *,
        tolerance: str = "0.05%",
        copies: int = 2,
        teeth: Iterable[int] = TEETH,
        kind: str | None = None,
        route: str | None = None,
        hand: Hand = "either",
        pairs: int | tuple[int, int] = 2,
        mounting: Literal["must", "skip"] = "must",
        executor: Executor | None = None,
    ) -> Design:
        """A set of so many gears from scratch, no more than ``copies`` of them equal, for these leads."""
        terms = terms_of(route, hand, pairs, mounting, ())
        needs, candidates = self._needs(leads, tolerance), self._had(teeth, kind)
        return design(self.shop, needs, terms, candidates, gears, copies, Crew(executor))

    def _needs(self, leads: Leads, tolerance: str) -> list[Part]:
        unit = self.shop.units
        usual = Tolerance.parse(tolerance, unit)
        items = load_list(leads, unit).items if isinstance(leads, str) else [_need(lead, unit) for lead in leads]
        if not items:
            raise GearsearchError("no lead was asked for", "give some, as in ['412.5 mm', '13 tpi'], or a list's name")
        return [replace(item, tolerance=item.tolerance or usual) for item in items]

    def _had(self, teeth: Iterable[int], kind: str | None) -> list[tuple[str, int]]:
        kinds = self.shop.gears if kind is None else (self.shop.gear_set(kind),)
        return [(gears.kind.tag, count) for gears in kinds for count in teeth]


def _need(lead: Lead, unit: str) -> Part:
    if isinstance(lead, str):
        return part_of_text(lead, unit, lead)
    return lead if isinstance(lead, Part) else Wanted.of(lead).part(unit)
