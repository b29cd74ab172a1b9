"""A set of gears from scratch: so many gears that bring as many leads of a list inside tolerance as can be found."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from ..base import require
from ..base.errors import GearsearchError
from ..search.answers import Solution
from ..search.terms import Terms
from ..shop.machine import Route
from ..shop.shop import Shop
from ..work.part import Part
from .candidates import Gear

if TYPE_CHECKING:
    from .bound import Bound
    from .coverage import Setting

MOST_GEARS, MOST_COPIES = 60, 4


@dataclass(frozen=True, slots=True)
class Design:
    """A set of gears for a list of leads.

    Parameters
    ----------
    shop, route, terms, needs : for which machine, by which route, under which terms, for which leads
    gears : the gears, as (tag of the kind of tooth, tooth count), ascending; fewer than asked for where more help none
    fits : the closest train that mounts for each lead; None where the set has none inside tolerance
    bound : what no set of these gears could pass, however many of each
    proved : whether no set of so many gears does better: every set was tried, or this one does all the bound allows
    """

    shop: Shop
    route: Route
    terms: Terms
    needs: tuple[Part, ...]
    gears: tuple[Gear, ...]
    fits: tuple[Solution | None, ...]
    bound: Bound
    proved: bool

    @property
    def covered(self) -> int:
        """How many leads the set brings inside tolerance."""
        return sum(fit is not None for fit in self.fits)

    @property
    def exact(self) -> int:
        """How many leads the set gives exactly."""
        return sum(fit is not None and fit.error == 0 for fit in self.fits)


def design(
    shop: Shop, needs: Iterable[Part], terms: Terms, candidates: Iterable[Gear], gears: int, copies: int = 2
) -> Design:
    """A set of so many gears, from scratch, that covers as much of a list as can be found.

    Parameters
    ----------
    shop : the machine; of its gears only those that cannot come off are used, and not counted
    needs, terms : for which leads, and how trains may be built; with no gears to do without, as none is owned
    candidates : the gears that could be had, as (tag of the kind of tooth, tooth count)
    gears : how many gears the set may have, 2 to 60
    copies : how many equal gears it may have, 1 to 4

    Sets are compared by leads inside tolerance, then leads met exactly, then fewest teeth in all, then tooth counts.
    Where there are no more than 500 sets, every one is tried. Else sets are begun in a few ways; gears are put in one
    at a time (two, where one brings nothing), each the best there is, and then exchanged one for one as long as that
    helps: a good set, not proved to be the best unless it does all that the bound allows.
    Raises GearsearchError for a request that cannot be.
    """
    from .bound import unlimited
    from .coverage import Setting
    from .maker import Maker

    gears = require.whole(gears, MOST_GEARS, "gears for a set", 2)
    copies = require.whole(copies, MOST_COPIES, "equal gears in a set")
    if terms.without:
        raise GearsearchError(
            "a set from scratch has none of the gears owned, and some to do without are named", "leave them out"
        )
    bare = replace(shop, gears=tuple(replace(owned, teeth=(), joined=()) for owned in shop.gears))
    setting = Setting(bare, needs, terms, candidates)
    if len(setting.candidates) * copies < gears:
        raise GearsearchError(
            f"{len(setting.candidates)} tooth counts, {copies} gears of each, make no set of {gears} gears",
            "give more tooth counts, as in --teeth 15:127",
        )
    chosen, every = Maker(setting, gears, copies).best()
    bound = unlimited(setting, setting.box, {})
    made = _made(setting, chosen, bound)
    reached = made.covered == bound.most_covered and made.exact == bound.most_exact
    return replace(made, shop=shop, proved=every or reached)


def _made(setting: Setting, chosen: tuple[int, ...], bound: Bound) -> Design:
    """The set as an answer."""
    from .fitting import fits_of
    from .owned import Owned

    box = setting.with_gears(setting.box, chosen)
    best, _ = Owned(setting, box).closest()
    fits = fits_of(setting, box, best)
    gears = tuple((box.tags[box.kind[size]], box.teeth[size]) for size in chosen)
    told = tuple(fits.get(need) for need in range(len(setting.needs)))
    return Design(setting.shop, setting.route, setting.terms, setting.needs, gears, told, bound, proved=False)
