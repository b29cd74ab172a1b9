"""The best trains for a wanted lead: every train there is, nearest first, until enough of them will do."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction
from math import asin, degrees, floor
from typing import TYPE_CHECKING

from ..base import require
from ..base.errors import GearsearchError
from ..base.facts import Note
from ..base.units import decimals, format_both, format_ppm
from ..shop.factors import lacking_factors
from ..shop.shop import Shop
from ..shop.trains import MOST_PAIRS, Train
from ..work.part import HOW_TO_MAKE, Part
from .answers import Answer, Solution
from .search import Search
from .solutions import pairs_words
from .terms import Terms, cam_mm

if TYPE_CHECKING:
    pass

_FACTORED = 10**6  # a ratio of larger numbers is hardly meant to be made exactly
_LARGEST_GEAR = 150  # teeth of a change gear that could be had


def find(shop: Shop, part: Part, terms: Terms | None = None) -> Answer:
    """The best trains for a wanted lead, from every train the shop's gears can make.

    Parameters
    ----------
    shop : whose gears
    part : what is to be cut
    terms : how its train may be made; None: as ``Terms()``

    Returns the answers in the documented order (see ``Search.closest`` and ``Search.easiest``), one for each
    lead. A limit of k answers is always the first k of the full list.
    Raises GearsearchError for a request that cannot be.
    Limits of validity: external spur gears, one train between two shafts, at most four pairs.
    """
    require.instance(part, Part, "part", HOW_TO_MAKE, given=True)
    require.instance(terms, Terms, "terms", "give Terms(hand='right')")
    search = Search(shop, part, terms := (terms or Terms()).for_part(part))
    notes: list[Note] = []
    fits: list[Solution] = []
    if search.reach_mm is None:
        notes.append(_no_train(search))
    elif not search.reaches:
        notes.extend(out_of_reach(search))
    else:
        easy = _easy_window(search, notes) if terms.order == "easiest" else None
        fits = search.easiest(easy) if easy else search.closest()
        notes.extend(remarks(search, fits))
    answer = Answer(shop, part, terms, search.route, search.searched, tuple(fits), search.reach_mm)
    return replace(answer, notes=(*_far_off(answer), *notes))


def remarks(search: Search, fits: list[Solution]) -> Iterator[Note]:
    """What the machinist should know of the answers, beyond the table."""
    terms, route = search.terms, search.route
    if not fits:
        hand = "" if terms.hand == "either" else f" for the {terms.hand} hand"
        yield Note("none-mounts", f"none of these trains mounts{hand} on this quadrant: --mounting show tells why")
        return
    if route.hand_with_one_stud is None:
        yield Note(
            "hand-not-known",
            "the hand is not known: turn a train through by hand once and write hand_with_one_stud into the shop file",
        )
    elif route.hand_with_one_stud == "either":
        way = "" if terms.hand == "either" else f": set it for the {terms.hand}"
        yield Note("set-the-lever", f"the reversing lever sets the hand{way}")
    elif terms.hand == "either":
        yield Note(
            "no-hand-asked",
            "no hand was asked for, each answer tells the hand it cuts: add --hand right or --hand left",
        )
    if search.part.interval_mm is not None and not any(fit.within for fit in fits):
        yield Note("none-inside", "no train that qualifies is inside the tolerance; these are the closest")
    yield from _why_not_exact(search, fits)
    yield from _screw_floor(search, fits)
    limit = route.step_up_warning
    fierce = [str(number) for number, fit in enumerate(fits, 1) if route.warns_of(fit.step_up)]
    if fierce and limit is not None:
        which, way = ", ".join(fierce), search.shop.machine.when_stepped_up
        yield Note("step-up", f"step-up beyond {decimals(limit, 1)}, {way}: no. {which}")


def _far_off(answer: Answer) -> Iterator[Note]:
    """That even the nearest is no answer, with what may be in the way."""
    terms = answer.terms
    best = min(answer.fits, key=lambda fit: abs(fit.error), default=None)
    if best is not None and answer.is_far(best):
        more = f"more pairs may come nearer: --pairs {terms.pairs[1] + 1}" if terms.pairs[1] < MOST_PAIRS else ""
        way = f"what was asked may be in the way: {', '.join(terms.limits)}" if terms.limits else more
        off = f"not the wanted lead: even the nearest is {format_ppm(best.error)} off, and no tolerance was given"
        yield Note("far-off", f"{off}; {way}" if way else off)


def _why_not_exact(search: Search, fits: list[Solution]) -> Iterator[Note]:
    """Which factor the gears lack for the lead, where the error matters and one such gear could be bought or made."""
    ratio = search.drive.ratio(search.part.lead_mm)
    if (
        abs(fits[0].error) <= (search.shop.machine.screw_accuracy or 0)
        or max(ratio.numerator, ratio.denominator) > _FACTORED
    ):
        return
    lacking = lacking_factors(search.shop, ratio)
    if lacking and max(lacking) <= _LARGEST_GEAR:
        factors = " and ".join(map(str, lacking))
        yield Note(
            "cannot-be-exact",
            f"no train can be exact: this lead needs gears with the factor{'s' if len(lacking) > 1 else ''} {factors}, "
            "and there is none in the box; gearsearch extend says what one more gear would do",
        )


def _screw_floor(search: Search, fits: list[Solution]) -> Iterator[Note]:
    """Below the accuracy of the screw a smaller error is worth nothing: say so, and point at the easiest train."""
    accuracy = search.shop.machine.screw_accuracy
    inside = [n for n, fit in enumerate(fits) if accuracy is not None and abs(fit.error) < accuracy]
    if accuracy is None or len(inside) < 2:
        return
    easiest = min(inside, key=lambda n: (fits[n].train.gears, len(fits[n].train.idlers), -(fits[n].clearance_mm or 0)))
    numbers = ", ".join(str(n + 1) for n in inside)
    yield Note(
        "below-screw",
        f"no. {numbers} are nearer than the screw itself is true ({decimals(accuracy * 10**6, 0)} ppm), where a "
        f"smaller error is worth nothing: of these no. {easiest + 1} is the easiest",
    )


def with_every_arrangement(answer: Answer) -> Answer:
    """The same answer with, in place of its fits, every arrangement of the first fit's lead.

    Each order of the gears of each gear set stands once, with its best idlers and its verdict; those that mount
    come first, then the fewest gears and idlers.
    """
    if not answer.fits:
        return answer
    search = Search(answer.shop, answer.part, answer.terms)
    lead_mm = answer.fits[0].lead_mm
    return replace(answer, fits=tuple(search.arrangements(search.leads(lead_mm, lead_mm))))


def _easy_window(search: Search, notes: list[Note]) -> tuple[Fraction, Fraction]:
    """The tolerance asked for, or what the table screw itself can hold."""
    part, accuracy = search.part, search.shop.machine.screw_accuracy
    if part.interval_mm is not None:
        return part.interval_mm
    if accuracy is None:
        raise GearsearchError(
            "the easiest train is one inside a tolerance, and none is given",
            "add one, as in --tolerance 0.1%, or measure the screw and put screw_accuracy into the shop file",
        )
    told = "no tolerance was given: the easiest trains are those inside the screw's own accuracy"
    notes.append(Note("no-tolerance", told))
    return part.lead_mm * (1 - accuracy), part.lead_mm * (1 + accuracy)


def _no_train(search: Search) -> Note:
    pairs = pairs_words(search.terms.pairs)
    return Note("no-train", f"the box makes no train of {pairs} pairs: too few gears that mesh with each other")


def out_of_reach(search: Search) -> list[Note]:
    """Why no train of this box gives the wanted lead, the nearest it reaches, and what would help."""
    assert search.reach_mm is not None
    wanted, unit, (shortest, longest) = search.part.lead_mm, search.shop.units, search.reach_mm
    short = wanted < shortest
    end = shortest if short else longest
    bare = Search(search.shop, search.part, replace(search.terms, use=(), greatest_step_up=None, mounting="skip"))
    train = _first_train(bare, end)
    said = [
        Note(
            "out-of-reach",
            f"out of reach: the {'shortest' if short else 'longest'} lead of this box by the route "
            f"{search.route.name} is {format_both(end, unit)}, by {train}",
        ),
        *_other_routes(search),
        *_more_pairs(search),
    ]
    cam = cam_mm(search.shop, search.part)
    sine = 0.0 if cam is None else min(1.0, float(cam / shortest))
    tilt = floor(100 * degrees(asin(sine))) / 100  # rounded up, it would not be reached
    if short and cam is not None and tilt >= 1:
        told = (
            f"for a cam: a geared lead of {format_both(shortest, unit)} with the head tilted {tilt:.2f}° from the "
            f"table rises {format_both(cam, unit)} in a turn: ask again with --tilt {tilt:.2f}"
        )
        said.append(Note("tilt-for-a-cam", told))
    return said


def _first_train(search: Search, lead_mm: Fraction) -> Train:
    """A train of a lead, of the fewest gears; no idlers."""
    trains = search.leads(lead_mm, lead_mm).trains
    pairs = int(trains.pairs.min())
    gears = min(trains.take(trains.pairs == pairs).gears(pairs).tolist())
    return search.pool.train(gears[:pairs], gears[pairs:])


def _other_routes(search: Search) -> Iterator[Note]:
    for route in search.shop.machine.routes:
        other = Search(search.shop, search.part, replace(search.terms, route=route.name))
        if route != search.route and other.reaches:
            yield Note("other-route", f"the route {route.name} reaches it: add --route {route.name}")


def _more_pairs(search: Search) -> Iterator[Note]:
    least, most = search.terms.pairs
    for pairs in range(most + 1, MOST_PAIRS + 1):
        if Search(search.shop, search.part, replace(search.terms, pairs=(least, pairs))).reaches:
            yield Note("more-pairs", f"{pairs} pairs reach it: add --pairs {pairs}")
            return
