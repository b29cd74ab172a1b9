"""A set-up sheet from what is said of the job: one place for typed options and for Python."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from ..base import require
from ..base.errors import GearsearchError
from ..base.units import Value, parse_length
from ..search.check import check
from ..search.terms import Terms
from ..shop.shop import Shop
from ..shop.trains import Train
from ..work.part import Blank, Part
from .answer import Sheet
from .choosing import choose
from .job import Job

_CUTTERS = {
    "depth": "depth_mm",
    "disc_cutter": "disc_mm",
    "cutter_width": "disc_width_mm",
    "end_mill": "end_mill_mm",
}


def sheet_of(
    shop: Shop,
    part: Blank,
    terms: Terms,
    train: str | None,
    *,
    date: str | None = None,
    wall: tuple[Value, Value] | None = None,
    flank: str = "end",
    **cutters: Value | None,
) -> Sheet:
    """The sheet of a train, or of the best that ``find`` gives.

    Parameters
    ----------
    shop, part, terms : whose machine, what is cut, and how its train may be made
    train : as typed; None: the best of all
    date, wall, flank : as ``Workshop.sheet`` has them
    cutters : ``depth``, ``disc_cutter``, ``cutter_width`` and ``end_mill``, likewise

    Raises GearsearchError for what would change nothing on the sheet, and as ``check`` and ``Job``.
    """
    _refuse_idle_cutters(part, wall, flank, **cutters)
    how = ""
    if train is None:
        if not isinstance(part, Part):
            raise GearsearchError("a sheet needs a wanted lead or a train", "give one, as in sheet('412.5 mm')")
        best = choose(shop, part, terms)
        on, how = best.train, best.how
        terms = replace(terms, route=best.way.call) if best.way else terms
    else:
        _refuse_idle_terms(terms)
        on = Train.parse(train)
    sizes = {_CUTTERS[name]: _length(shop, value, name) for name, value in cutters.items()}
    inner, outer = (None, None) if wall is None else (_length(shop, size, "wall") for size in require.two(wall, "wall"))
    walls = None if inner is None or outer is None else (inner, outer)
    dated = None if date is None else require.line(date, "date")
    return Sheet(Job(check(shop, on, part, terms), dated, wall_mm=walls, flank=flank, how_chosen=how, **sizes))


def _length(shop: Shop, value: Value | None, name: str) -> Fraction | None:
    return None if value is None else parse_length(value, shop.units, "--" + name.replace("_", "-"))


def _refuse_idle_terms(terms: Terms) -> None:
    usual = Terms()
    names = ("order", "mounting", "use", "without", "greatest_pair_ratio", "greatest_step_up")
    given = {name: getattr(terms, name) != getattr(usual, name) for name in names}
    require.none_idle(given, "when the train is given", "leave the train out, and find chooses it")


def _refuse_idle_cutters(part: Blank, wall: tuple[Value, Value] | None, flank: str, **cutters: Value | None) -> None:
    disc, mill = cutters["disc_cutter"], cutters["end_mill"]
    if wall is None:
        tube = "without a ramp on the end of a tube"
        require.none_idle({"flank": flank != "end"}, tube, "give the tube with --wall 36mm 60mm")
    elif mill is None:
        require.none_idle({"wall": True}, "without the end mill that cuts the ramp", "give it with --end-mill 10mm")
    toothed = isinstance(part, Part) and part.gear is not None
    if disc is None or (cutters["depth"] is None and not toothed):
        room = "without the disc cutter and the depth, which with it make the room past the ends"
        given = {"cutter_width": cutters["cutter_width"] is not None}
        require.none_idle(given, room, "give them with --disc-cutter 60mm --depth 5mm")
    if mill is not None and disc is not None:
        raise GearsearchError(
            "a disc cutter and an end mill are given, and a sheet is for one",
            "keep the one that cuts: --disc-cutter or --end-mill",
        )
