"""Which gears to add, which are never needed, and a set from scratch, as Python asks for them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, replace
from typing import Literal, Protocol, TypedDict, Unpack

from ..base.errors import GearsearchError
from ..base.sharing import Crew
from ..base.spelling import spelled
from ..search.terms import Hand, Terms, terms_of
from ..shop.gear_names import GearName
from ..shop.shop import Shop
from ..work.asking import part_of_text
from ..work.lists import load_list
from ..work.part import Part
from ..work.tolerance import Tolerance
from ..work.wanted import Lead, Wanted
from .add import Advice, advised
from .boxes import alike
from .over_all import AdviceOverAll, DesignOverAll
from .scratch import Design, designed
from .spare import Spare, spare_gears
from .wanted import Gear

Leads = str | Iterable[Lead]
TEETH = range(15, 128)
TOLERANCE = "0.05%"
Machine = tuple[Shop, list[Part], list[Gear]]


class HasShop(Protocol):
    """What stands for a shop, such as a ``Workshop``."""

    @property
    def shop(self) -> Shop:
        """The shop."""


@dataclass(frozen=True, slots=True)
class Extend:
    """Adding to a shop's gears; called with the leads that matter it says which gear to add, see ``__call__``.

    Parameters
    ----------
    shop : whose gears
    """

    shop: Shop

    @spelled
    def __call__(
        self,
        leads: Leads,
        *,
        tolerance: str = TOLERANCE,
        add: Literal[1, 2] = 1,
        sizes: Iterable[int] = TEETH,
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
        add : how many are added at once
        sizes, kind : tooth counts to try, and of which kind of tooth; None: every kind of the shop
        count : how many answers
        route, hand, pairs, mounting, without : how trains may be made, as for ``find``
        executor : of ``concurrent.futures``, to share the work among processes or machines; None: threads on every core

        >>> import gearsearch as gs
        >>> advice = gs.demo().extend(["333 mm", "777 mm"], tolerance="20 ppm", sizes=range(20, 60), count=2)
        >>> [gain.gears for gain in advice.gains]
        [(('', 37),)]
        """
        terms = terms_of(route, hand, pairs, mounting, without)
        machines = _machines([self.shop], leads, tolerance, sizes, kind)
        return advised(machines, terms, add, count, Crew(executor))[0]

    @spelled
    def spare(
        self,
        leads: Leads,
        *,
        tolerance: str = TOLERANCE,
        route: str | None = None,
        hand: Hand = "either",
        pairs: int | tuple[int, int] = 2,
        mounting: Literal["must", "skip"] = "must",
        without: Iterable[GearName] = (),
    ) -> Spare:
        """The gears that these leads never need, and the fewest that cover what the whole box covers.

        Parameters
        ----------
        leads, tolerance : as for the gear to add
        route, hand, pairs, mounting, without : how trains may be made, as for ``find``

        >>> import gearsearch as gs
        >>> spare = gs.demo().extend.spare(["412.5 mm", "648 mm"])
        >>> len(spare.smallest), spare.proved
        (5, True)
        """
        terms = terms_of(route, hand, pairs, mounting, without)
        return spare_gears(self.shop, _needs(leads, tolerance, self.shop.units), terms)

    @spelled
    def design(
        self,
        leads: Leads,
        gears: int,
        *,
        tolerance: str = TOLERANCE,
        copies: int = 2,
        sizes: Iterable[int] = TEETH,
        kind: str | None = None,
        route: str | None = None,
        hand: Hand = "either",
        pairs: int | tuple[int, int] = 2,
        mounting: Literal["must", "skip"] = "must",
        executor: Executor | None = None,
    ) -> Design:
        """A set of gears from scratch for these leads; the shop's own are not asked about.

        Parameters
        ----------
        leads, tolerance : as for the gear to add
        gears : how many the set has
        copies : how many of them may be equal
        sizes, kind : tooth counts to choose from, and of which kind of tooth; None: every kind of the shop
        route, hand, pairs, mounting : how trains may be made, as for ``find``
        executor : of ``concurrent.futures``, to share the work; None: threads on every core

        >>> import gearsearch as gs
        >>> made = gs.demo().extend.design(["480 mm", "540 mm"], 4, sizes=[24, 30, 32, 36, 40, 48, 60], pairs=1)
        >>> made.covered
        2
        """
        terms = terms_of(route, hand, pairs, mounting)
        machines = _machines([self.shop], leads, tolerance, sizes, kind)
        return designed(machines, terms, gears, copies, Crew(executor))[0]

    def also(self, *others: HasShop) -> ExtendAll:
        """The same for several machines at once: the gears that bring most leads over all of them.

        Parameters
        ----------
        others : the other shops

        >>> import gearsearch as gs
        >>> other = gs.demo().without(24, 48)
        >>> both = gs.demo().extend.also(other)
        >>> advice = both(["333 mm", "777 mm"], tolerance="20 ppm", sizes=range(20, 60), count=1)
        >>> [(gain.each[0].gears, gain.gained) for gain in advice.gains]
        [((('', 37),), 4)]
        """
        return ExtendAll((self.shop, *(other.shop for other in others)))


class Asked(TypedDict, total=False):
    """What may be said of gears for several machines; the names are those of ``Extend``."""

    tolerance: str
    sizes: Iterable[int]
    kind: str | None
    route: str | None
    hand: Hand
    pairs: int | tuple[int, int]
    mounting: Literal["must", "skip"]
    executor: Executor | None


class AskedToAdd(Asked, total=False):
    """The same for gears to add."""

    add: Literal[1, 2]
    count: int


@dataclass(frozen=True, slots=True)
class ExtendAll:
    """Adding the same gears to the boxes of several shops, or making one set for all their machines.

    Parameters
    ----------
    shops : the shops; a gear goes on every machine that has its kind of tooth
    """

    shops: tuple[Shop, ...]

    @spelled
    def __call__(self, leads: Leads, **asked: Unpack[AskedToAdd]) -> AdviceOverAll:
        """Which gear, or which two, to add to each box so that most leads of all machines come inside tolerance.

        Parameters
        ----------
        leads : the leads that matter on each machine, or the name of a list or of a CSV file
        asked : as for ``Extend``, but for ``without``
        """
        add, count = asked.pop("add", 1), asked.pop("count", 10)
        return AdviceOverAll(tuple(advised(*self._asked(leads, asked), add, count, Crew(asked.get("executor")))))

    @spelled
    def design(self, leads: Leads, gears: int, *, copies: int = 2, **asked: Unpack[Asked]) -> DesignOverAll:
        """One set of so many gears from scratch, the best over the leads of all machines."""
        return DesignOverAll(tuple(designed(*self._asked(leads, asked), gears, copies, Crew(asked.get("executor")))))

    def _asked(self, leads: Leads, asked: Asked) -> tuple[list[Machine], Terms]:
        for name in set(asked) - set(Asked.__annotations__):
            raise TypeError(f"extend.also() got an unexpected keyword argument {name!r}")
        terms = terms_of(
            asked.get("route"), asked.get("hand", "either"), asked.get("pairs", 2), asked.get("mounting", "must")
        )
        tolerance, sizes = asked.get("tolerance", TOLERANCE), asked.get("sizes", TEETH)
        return _machines(self.shops, leads, tolerance, sizes, asked.get("kind")), terms


def _machines(
    shops: Sequence[Shop], leads: Leads, tolerance: str, teeth: Iterable[int], kind: str | None
) -> list[Machine]:
    """Each shop with the leads, a bare number in the unit of the first, and the gears of its kinds of tooth."""
    shops, teeth = alike(shops), list(teeth)
    needs = _needs(leads, tolerance, shops[0].units)
    tags = {gears.kind.tag for shop in shops for gears in shop.gears}
    if kind is not None:
        tags = {kind} & tags or {shops[0].gear_set(kind).kind.tag}  # refused, with those that are there
    return [
        (
            shop,
            needs,
            [(gears.kind.tag, count) for gears in shop.gears if gears.kind.tag in tags for count in teeth],
        )
        for shop in shops
    ]


def _needs(leads: Leads, tolerance: str, unit: str) -> list[Part]:
    usual = Tolerance.parse(tolerance, unit)
    items = load_list(leads, unit).items if isinstance(leads, str) else [_need(lead, unit) for lead in leads]
    if not items:
        raise GearsearchError("no lead was asked for", "give some, as in ['412.5 mm', '13 tpi'], or a list's name")
    return [replace(item, tolerance=item.tolerance or usual) for item in items]


def _need(lead: Lead, unit: str) -> Part:
    if isinstance(lead, str):
        return part_of_text(lead, unit, lead)
    return lead if isinstance(lead, Part) else Wanted.of(lead).part(unit)
