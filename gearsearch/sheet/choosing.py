"""Which train a set-up sheet is made for, where none is typed."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from ..base.document import strong
from ..base.errors import GearsearchError
from ..base.units import spaced
from ..search.answers import Answer
from ..search.find import find, with_every_arrangement
from ..search.solution import Solution
from ..search.terms import Terms
from ..shop.machine import Route
from ..shop.shop import Shop
from ..shop.trains import HANDS, Train
from ..work.part import Part
from .starts import indexing

_TRIED = 100  # trains, in their order, whose meshes are looked at


@dataclass(frozen=True, slots=True)
class ChosenTrain:
    """A train with how it was come by, in words, and the way it goes; None: as asked."""

    train: Train
    how: str
    way: Route | None = None


def choose(shop: Shop, part: Part, terms: Terms | None = None) -> ChosenTrain:
    """The best train that the search gives; where its teeth index the starts, one as good that does, if there is one.

    As good is a train with just as small an error, or one that is inside the tolerance as the best is.

    Parameters
    ----------
    shop, part, terms : whose gears, what is to be cut, and how its train may be made

    Raises GearsearchError where no train is found, and for a request that cannot be.
    """
    answer = find(shop, part, terms)
    if not answer.fits:
        raise _none_found(answer)
    how = (
        f"Train chosen by find, {answer.terms.order} first, of {spaced(answer.searched)} trains checked{_hand(answer)}"
    )
    how += "".join(f"; {note.text}" for note in answer.notes if note.code == "better-route")
    machine = shop.machine
    asked = machine.by_teeth(answer.route, shop.dividing)  # then the search lists no other trains
    sought = part.starts > 1 and (asked or not machine.has_head)
    indexed = _indexing(answer, part.starts) if sought else None
    if indexed is None or (asked and indexed == answer.fits[0]):
        return ChosenTrain(answer.fits[0].train, how, answer.route)
    which = "one" if asked else f"with a {machine.work_gear}"
    return ChosenTrain(indexed.train, f"{how}, and {which} that indexes the {part.starts} starts", indexed.way)


def _in_turn(answer: Answer, count: int) -> Iterator[Solution]:
    """The best train; then, of those whose gear is a multiple of the count, all of the nearest lead; then the rest."""
    yield answer.fits[0]
    terms = replace(answer.terms, route=answer.route.call, multiple=count, count=_TRIED)
    found = find(answer.shop, answer.part, terms)
    yield from with_every_arrangement(found).fits
    yield from found.fits


def _none_found(answer: Answer) -> GearsearchError:
    """Why there is no train to make a sheet of, and what would help."""
    helping = answer.helping
    why = "; ".join(note.text for note in answer.notes if note not in helping)
    steps = [note.text for note in helping if note.code != "nothing-helps"]
    return GearsearchError(f"no train was found: {why}", "; or ".join(steps) or "gearsearch find says what was tried")


def _hand(answer: Answer) -> str:
    """That no hand was asked for, where gears alone set it and so one was taken as it came."""
    taken = answer.terms.hand == "either" and answer.route.hand_with_one_stud in HANDS
    return (
        f"; {strong('no hand was asked for')}, so take care that this one is the hand you want, or ask with --hand"
        if taken
        else ""
    )


def _indexing(answer: Answer, starts: int) -> Solution | None:
    """A train as good as the best by whose teeth the starts are indexed."""
    best = answer.fits[0]
    for fit in _in_turn(answer, answer.shop.machine.multiple(answer.route, starts)):
        as_good = abs(fit.error) == abs(best.error) or (fit.within and best.within)
        if as_good and fit.mounts != "no" and not indexing(answer.shop, answer.route, fit.train, starts).why_not:
            return fit
    return None
