"""The best trains for a wanted lead: every train there is, nearest first, until enough of them will do."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from fractions import Fraction
from math import asin, degrees, floor

from ..base import require
from ..base.errors import GearsearchError
from ..base.facts import Note
from ..base.units import decimals, format_both, format_ppm
from ..mounting.placement import JUDGEMENT
from ..shop.factors import lacking_factors
from ..shop.shop import Shop
from ..shop.trains import HANDS, Train
from ..work.part import HOW_TO_MAKE, Part
from .answers import Answer
from .next_steps import next_steps, other_unit
from .routes import better_route, costs, left_out, ranked, reach_of, searches_of
from .search import Search
from .solution import Solution
from .solutions import pairs_words
from .terms import Terms, cam_mm

_FACTORED = 10**6  # a ratio of larger numbers is hardly meant to be made exactly
_LARGEST_GEAR = 150  # teeth of a change gear that could be had


def find(shop: Shop, part: Part, terms: Terms | None = None) -> Answer:
    """The best trains for a wanted lead, from every train the shop's gears can make.

    Parameters
    ----------
    shop : whose gears
    part : what is to be cut
    terms : how its train may be made; None: as ``Terms()``

    Returns the answers in the documented order (see ``Search.closest`` and ``Search.easiest``; over several ways
    ``routes.ranked``), one for each lead and way. A limit of k answers is always the first k of the full list.
    Raises GearsearchError for a request that cannot be.
    Limits of validity: external spur gears, one train between two shafts, at most four pairs.
    """
    require.instance(part, Part, "part", HOW_TO_MAKE, given=True)
    require.instance(terms, Terms, "terms", "give Terms(hand='right')")
    searches = searches_of(shop, part, terms := (terms or Terms()).for_part(part, shop))
    notes = list(left_out(shop, terms, searches))
    fits: list[Solution] = []
    reach = reach_of(searches)
    reached = any(search.reaches for search in searches)
    if reach is None:
        notes.append(_no_train(searches[0]))
    elif not reached:
        notes.extend(out_of_reach(searches))
    else:
        easy = _easy_window(searches[0], notes) if terms.order == "easiest" else None
        fits = ranked(searches, easy, terms.count)
        notes.extend(remarks(searches, fits))
    searched = sum(search.searched for search in searches)
    answer = Answer(shop, part, terms, tuple(search.route for search in searches), searched, tuple(fits), reach)
    steps = list(better_route(answer)) if reached else []
    if reached and not answer.found:
        steps = list(next_steps(searches, steps))
    return replace(answer, notes=(*_far_off(answer), *steps, *notes))


def remarks(searches: Sequence[Search], fits: list[Solution]) -> Iterator[Note]:
    """What the machinist should know of the answers, beyond the table."""
    search, terms = searches[0], searches[0].terms
    if not fits:
        hand = "" if terms.hand == "either" else f" for the {terms.hand} hand"
        yield Note("none-mounts", f"none of these trains mounts{hand} on this quadrant: --mounting show says why")
        return
    yield from _of_hands({fit.way.hand_with_one_stud for fit in fits}, terms.hand)
    if search.part.interval_mm is not None and not any(fit.within for fit in fits):
        yield Note("none-inside", "no usable train is inside the tolerance")
    yield from _why_not_exact(searches, fits)
    yield from _screw_floor(search, fits)
    if len(searches) > 1:
        yield from costs(search.shop, dict.fromkeys(fit.way for fit in fits))
    serve = any(fit.within is not False and (not fit.is_far or search.part.tilts_to(fit.lead_mm)) for fit in fits)
    yield from _fierce(search, fits if serve else fits[:1])


def _of_hands(known: set[str | None], hand: str) -> Iterator[Note]:
    """What the hand of the answers hangs on: not known, a reversing lever, or the gears."""
    if None in known:
        yield Note(
            "hand-not-known",
            "the hand is not known: turn a train through by hand once and write hand_with_one_stud into the shop file",
        )
    if "either" in known:
        way = "" if hand == "either" else f": set it for the {hand}"
        yield Note("set-the-lever", f"the reversing lever sets the hand{way}")
    if hand == "either" and known & set(HANDS):
        yield Note(
            "no-hand-asked",
            "each answer says which hand it cuts; for one hand alone add --hand right or --hand left",
        )


def _fierce(search: Search, fits: list[Solution]) -> Iterator[Note]:
    """Which answers step up beyond what their route warns of."""
    fierce: dict[Fraction, list[str]] = {}
    for number, fit in enumerate(fits, 1):
        limit = fit.way.step_up_warning
        if limit is not None and fit.way.warns_of(fit.step_up):
            fierce.setdefault(limit, []).append(str(number))
    for limit, numbers in fierce.items():
        which = "all of these" if len(numbers) == len(fits) > 1 else f"no. {', '.join(numbers)}"
        way = search.shop.machine.when_stepped_up
        yield Note("step-up", f"step-up beyond {decimals(limit, 1)}, {way}: {which}")


def _far_off(answer: Answer) -> Iterator[Note]:
    """That even the nearest is no answer, with what may be in the way."""
    terms = answer.terms
    best = min(answer.fits, key=lambda fit: abs(fit.error), default=None)
    if best is not None and answer.is_far(best):
        way = f"these limits may be in the way: {', '.join(terms.limits)}" if terms.limits else ""
        off = f"not the wanted lead: even the nearest is {format_ppm(best.error)} off, and no tolerance was given"
        yield Note("far-off", f"{off}; {way}" if way else off)


def _why_not_exact(searches: Sequence[Search], fits: list[Solution]) -> Iterator[Note]:
    """Which factors the gears lack for the lead by every way, where the error matters and such a gear could be had."""
    if abs(fits[0].error) <= (searches[0].shop.machine.screw_accuracy or 0):
        return
    lacking = {search.route: _lacking(search) for search in searches}
    if not all(lacking.values()):
        return
    needed = lacking[fits[0].way]
    factors = " and ".join(map(str, needed))
    by = f" by the route {fits[0].way.label}" if len(searches) > 1 else ""
    yield Note(
        "cannot-be-exact",
        f"no train can be exact: this lead needs{by} gears with the factor{'s' if len(needed) > 1 else ''} {factors}, "
        "and there is none in the box; gearsearch extend shows what one more gear would bring",
    )


def _lacking(search: Search) -> tuple[int, ...]:
    """The factors that no gear of the box has; none where they are not worth naming."""
    ratio = search.drive.ratio(search.part.lead_mm)
    if max(ratio.numerator, ratio.denominator) > _FACTORED:
        return ()
    lacking = tuple(lacking_factors(search.shop, ratio))
    return lacking if lacking and max(lacking) <= _LARGEST_GEAR else ()


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
        f"no. {numbers} are within the screw's own error ({decimals(accuracy * 10**6, 0)} ppm), where a "
        f"smaller error gains nothing: of these no. {easiest + 1} is the easiest",
    )


def with_every_arrangement(answer: Answer) -> Answer:
    """The same answer with, in place of its fits, every arrangement of the first fit's lead by its way.

    Each order of the gears of each gear set stands once, with its best idlers and its verdict; those that mount
    come first, then the fewest gears and idlers.
    """
    if not answer.fits:
        return answer
    search = Search(answer.shop, answer.part, replace(answer.terms, route=answer.route.call))
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
            code="no-tolerance",
        )
    told = "no tolerance was given: the easiest trains are those inside the screw's own accuracy"
    notes.append(Note("no-tolerance", told))
    return part.lead_mm * (1 - accuracy), part.lead_mm * (1 + accuracy)


def _no_train(search: Search) -> Note:
    return Note(
        "no-train",
        f"the box makes no train of {pairs_words(search.terms.pairs)}: too few gears that mesh with each other",
    )


def out_of_reach(searches: Sequence[Search]) -> Iterator[Note]:
    """Why no train of this box gives the wanted lead by the ways asked for, and what would help."""
    reaching = [search for search in searches if search.reach_mm is not None]
    for search in _nearest_of_each_route(reaching):
        yield _end_of_reach(search)
        yield _nearest_in_reach(search)
    yield from other_unit(searches[0])
    yield from next_steps(searches, [])
    yield from dict.fromkeys(note for search in reaching for note in _tilt(search))


def _nearest_of_each_route(searches: Sequence[Search]) -> Iterator[Search]:
    """Of the levers of a route the one that comes nearest, from above and from below."""
    nearest: dict[tuple[str, bool], tuple[Fraction, Search]] = {}
    for search in searches:
        short, end = search.end_mm
        known, off = nearest.get((search.route.name, short)), abs(end - search.part.lead_mm)
        if known is None or off < known[0]:
            nearest[search.route.name, short] = off, search
    return (search for _, search in nearest.values())


def _end_of_reach(search: Search) -> Note:
    short, end = search.end_mm
    bare = Search(search.shop, search.part, replace(search.terms, use=(), greatest_step_up=None, mounting="skip"))
    return Note(
        "out-of-reach",
        f"out of reach: the {'shortest' if short else 'longest'} lead of this box by the route {search.route.label} "
        f"is {format_both(end, search.shop.units)}, by {_first_train(bare, end)}",
    )


def _nearest_in_reach(search: Search) -> Note:
    """The nearest train that will do, which need not be at the end of the reach."""
    mounting = "skip" if search.terms.mounting == "skip" else "must"
    fit, tried = Search(search.shop, search.part, replace(search.terms, mounting=mounting)).nearest_in_reach()
    hand = "" if search.terms.hand == "either" else f" for the {search.terms.hand} hand"
    if fit is None:
        return Note("none-mounts", f"{_none_of(search, tried)}{hand}")
    lead = format_both(fit.lead_mm, search.shop.units)
    return Note("nearest-in-reach", f"nearest in reach{hand}: {lead}, by {fit.train}; mounts: {JUDGEMENT[fit.mounts]}")


def _none_of(search: Search, tried: int) -> str:
    """That no train will do, and of which."""
    where = " on this quadrant" if search.shop.has_geometry else ""
    if tried:
        return f"no train of the {tried} nearest leads mounts{where}"
    if not search.catalogue.pairs:
        return f"no train of {pairs_words(search.terms.pairs)} mounts{where}"
    return "what is asked of the gears and their steps leaves no train"


def _tilt(search: Search) -> Iterator[Note]:
    """The tilt of the head by which the shortest geared lead that mounts cuts a short cam."""
    cam = cam_mm(search.shop, search.part)
    if cam is None or search.reach_mm is None or cam >= search.reach_mm[0]:
        return
    fit = next((fit for fit in search.closest(1) if fit.mounts != "no"), None)
    tilt = 0.0 if fit is None else floor(100 * degrees(asin(float(cam / fit.lead_mm)))) / 100  # never rounded up
    if fit is not None and tilt >= 1:
        unit = search.shop.units
        yield Note(
            "tilt-for-a-cam",
            f"for a cam: add --tilt {tilt:.2f}; with the head tilted {tilt:.2f}° from the table, {fit.train} "
            f"(lead {format_both(fit.lead_mm, unit)}) rises {format_both(cam, unit)} in a turn",
        )


def _first_train(search: Search, lead_mm: Fraction) -> Train:
    """A train of a lead, of the fewest gears; no idlers."""
    trains = search.leads(lead_mm, lead_mm).trains
    pairs = int(trains.pairs.min())
    gears = min(trains.take(trains.pairs == pairs).gears(pairs).tolist())
    return search.pool.train(gears[:pairs], gears[pairs:])
