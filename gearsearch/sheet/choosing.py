"""Which train a set-up sheet is made for, where none is typed."""

from __future__ import annotations

from dataclasses import dataclass, replace

from ..answers import Answer, Fit, Request
from ..errors import GearsearchError
from ..leads import WantedLead
from ..search import find
from ..shop import Shop
from ..trains import Train
from ..units import spaced


@dataclass(frozen=True, slots=True)
class Chosen:
    """A train with how it was come by, in words."""

    train: Train
    how: str


def choose(shop: Shop, request: Request, wanted: WantedLead) -> Chosen:
    """The best train that the search gives; on a lathe one as good that indexes the starts, where there is one.

    As good is a train with just as small an error, or one that is inside the tolerance as the best is.

    Parameters
    ----------
    shop, request : whose gears, and what is asked
    wanted : the lead the part needs, with its starts

    Raises GearsearchError where no train is found, and for a request that cannot be.
    """
    answer = find(shop, request)
    if not answer.fits:
        raise GearsearchError(
            "no train was found: " + "; ".join(answer.notes),
            "ask gearsearch find, with --mounting show, how near it comes",
        )
    how = f"Train chosen by find, {request.order} first, of {spaced(answer.searched)} trains searched"
    indexed = _indexing(answer, wanted.starts)
    if indexed is None:
        return Chosen(answer.fits[0].train, how)
    return Chosen(indexed.train, f"{how}, and with a first driver that indexes the {wanted.starts} starts")


def _indexing(answer: Answer, starts: int) -> Fit | None:
    """On a lathe, a train as good as the best whose first driver has a whole number of teeth to a start."""
    best, count = answer.fits[0], answer.route.multiple(starts)
    if answer.shop.machine.kind == "mill" or count == 1:
        return None
    for fit in find(answer.shop, replace(answer.request, starts=count)).fits:
        as_good = abs(fit.error) == abs(best.error) or (fit.within and best.within)
        if as_good and fit.mounts != "no" and fit.train.drivers[0] % count == 0:
            return fit
    return None
