"""From one start, flute or tooth to the next while the machine is geared."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from ..base.document import Item, strong
from ..base.errors import GearsearchError
from ..base.facts import Note
from ..base.sources import noted
from ..base.units import decimal, format_angle, mixed
from ..dividing.teeth import opening
from ..search.answers import Answer
from ..search.next_steps import by_other_routes, off_words
from ..shop.machine import Route
from ..shop.shop import Shop
from ..shop.trains import Train
from .items import do, know

_ANOTHER_WAY = (
    "go on by one pitch with a top slide set parallel to the axis, or by a driving plate with a slot for each start "
    f"{noted('practice')}"
)


@dataclass(frozen=True, slots=True)
class Indexing:
    """How the divisions are gone through with a train on.

    Parameters
    ----------
    items : what to do and to know, for the sheet
    why_not : why they cannot be indexed so; empty where they can
    remedy : what would do instead
    """

    items: tuple[Item, ...]
    why_not: str = ""
    remedy: str = ""


def indexing(shop: Shop, route: Route, train: Train, divisions: int) -> Indexing:
    """How to go from one start, flute or tooth to the next while the machine is geared, or why that cannot be.

    Parameters
    ----------
    shop, route, train : whose machine, and what is geared on it
    divisions : starts, flutes or teeth, at least 2
    """
    if not shop.machine.has_head:
        return _by_teeth(shop, route, train, divisions)
    try:
        return Indexing(tuple(_on_the_head(shop, route, train, divisions)))
    except GearsearchError as error:
        return _not_so(error.message, error.remedy)


def _not_so(why_not: str, remedy: str) -> Indexing:
    return Indexing((know(f"{strong('CANNOT BE INDEXED THIS WAY')}: {why_not}."), know(remedy)), why_not, remedy)


def notes(answer: Answer, divisions: int) -> list[Note]:
    """That the first answer of a search cannot index the divisions, where that is so."""
    found = indexing(answer.shop, answer.route, answer.fits[0].train, divisions) if answer.fits else None
    if found is None or not found.why_not:
        return []
    shop, what = answer.shop, answer.shop.machine.divisions
    routes = "".join(
        f"; or add --route {fit.route}, where {fit.train} is {off_words(fit.error)}"
        for fit in by_other_routes(shop, answer.part, answer.terms)
        if not indexing(shop, shop.route(fit.route), fit.train, divisions).why_not
    )
    text = f"no. 1 cannot index the {divisions} {what}: {found.why_not}; {found.remedy}{routes}"
    return [Note("cannot-index", text)]


def _on_the_head(shop: Shop, route: Route, train: Train, divisions: int) -> Iterator[Item]:
    from ..dividing.divided import while_geared

    if shop.dividing is None and not shop.machine.by_teeth(route, shop.dividing):
        yield from _without_circles(route.ratio, divisions)
        return
    answer = while_geared(shop, divisions, route.call, train)
    table = answer.table()
    cells = zip((heading.short for heading in table.headings), table.rows[0], strict=True)
    yield do("; ".join(f"{name} {strong(text)}" for name, text in cells if text and text != "exact"))
    yield from (know(note.text) for note in answer.notes)
    if shop.machine.through_worm(route, shop.dividing) is None:
        yield know("The crank and the plate turn the work only through the worm, the last gear's teeth only without it")


def _without_circles(ratio: Fraction, divisions: int) -> Iterator[Item]:
    """What is known of the divisions where the shop file has no [dividing] table."""
    yield do(f"From each to the next the work turns {strong(format_angle(Fraction(360, divisions)))}")
    turns = ratio / divisions
    made = f"makes {strong(mixed(turns))} turn{'' if turns <= 1 else 's'}"
    yield know(
        "No circle of holes is named: the shop file has no [dividing] table. A crank that turns the work "
        f"{mixed(ratio)}:1, as this route does, {made}; index with the train at rest"
    )


def _by_teeth(shop: Shop, route: Route, train: Train, starts: int) -> Indexing:
    """By the teeth of the gear that turns with the work, with the train out of mesh."""
    machine = shop.machine
    teeth = machine.work_teeth(train)
    is_fixed = any(gears.fixed.get(machine.work_side) == teeth for gears in shop.gears)
    advance = teeth * machine.work_turns(route) / starts
    if advance.denominator > 1:
        other = f"take a {machine.work_gear} whose count is a multiple of {machine.multiple(route, starts)}, or "
        return _not_so(
            f"a start is {decimal(advance)} of the {teeth} teeth of the gear on {machine.work_shaft}",
            f"{f'the {teeth} cannot come off: ' if is_fixed else other}{_ANOTHER_WAY}",
        )
    try:
        opened = opening(shop, route, train, int(advance))
    except GearsearchError as error:
        return _not_so(error.message, f"{error.remedy}, or {_ANOTHER_WAY}")
    move = do(
        f"{_sentence(opened.mark)}. {_sentence(opened.turn)}; the {machine.screw} stays where it is {noted('practice')}"
    )
    return Indexing((move,))


def _sentence(words: str) -> str:
    return words[:1].upper() + words[1:]
