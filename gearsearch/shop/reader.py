"""The shop file: where it is found, how its text is read, and every mistake in it told at once."""

from __future__ import annotations

import os
import re
import tomllib
from decimal import Decimal
from fractions import Fraction
from pathlib import Path
from typing import Any

from ..base import require
from ..base.errors import GearsearchError, ShopError
from ..base.facts import Record
from ..base.files import legible
from . import fields
from .dial import MOST_MARKS, MOST_SCREW_STARTS, MOST_TEETH, Dial
from .fields import Reader, Table, Wrong, shown
from .gear_tables import KEYS as GEAR_KEYS
from .gear_tables import read_gears
from .gears import ENDS
from .head import LEAST_HOLES, MOST_HOLES, Dividing
from .machine import ANY_ROUTE, HANDS_WITH_ONE_STUD, MACHINES, Machine, Route
from .quadrant_table import KEYS as QUADRANT_KEYS
from .quadrant_table import read_quadrant
from .shop import UNITS, Shop

VARIABLE = "GEARSEARCH_SHOP"
DEFAULT_FILE = "shop.toml"
DEMO_TEXT = Path(__file__).with_name("demo.toml").read_text(encoding="utf-8")
MOST_BYTES = 1_000_000

_TOP = ("name", "units", "machine", "gears", "quadrant", "dividing")
_MACHINE = ("kind", "screw_lead", "screw_accuracy", "backlash", "dial", "route")
_DIAL = ("teeth", "marks", "screw_starts")
_ROUTE = ("name", "ratio", "hand_with_one_stud", "step_up_warning")
_DIVIDING = ("ratio", "circles", "plates", "differential", "quadrant")
_HOMES = {
    **dict.fromkeys(("name", "units"), "the top of the file, above the first table"),
    **dict.fromkeys(_ROUTE[1:], "[[machine.route]]"),
    **dict.fromkeys(_MACHINE[:4], "[machine]"),
    "dial": "[machine]: write [machine.dial]",
    **dict.fromkeys(_DIAL[1:], "[machine.dial]"),
    "route": "[machine]: write [[machine.route]]",
    **dict.fromkeys(GEAR_KEYS, "[[gears]]"),
    **dict.fromkeys(QUADRANT_KEYS, "[quadrant]"),
    **dict.fromkeys(_DIVIDING[1:-1], "[dividing]"),
}
_ONE = Fraction(1)
MOST_LEVERS = 100
_LEVERS = 'ratio = { A = "1", B = "1/2" }'
_WORST_SCREW = Fraction(1, 100)
# what stands for a part after a mistake in it, until all mistakes are told
_ANY_MACHINE = next(iter(MACHINES.values()))
_NO_ROUTES = (Route("", _ONE),)
_NO_PLATES = ((LEAST_HOLES,),)


def load_shop(path: str | os.PathLike[str] | None = None) -> Shop:
    """The shop that a command works for.

    Parameters
    ----------
    path : the shop file; None: that named by ``$GEARSEARCH_SHOP``, else ``shop.toml`` in the working folder, else
        the built-in demo shop, whose ``source`` is empty

    Raises GearsearchError when the file cannot be read, ShopError with every mistake in it.
    """
    named = require.path(path, "shop file") if path is not None else os.environ.get(VARIABLE) or None
    if named is not None:
        if not named:
            raise GearsearchError(
                "the name of the shop file is empty",
                "name a file after --shop, or leave --shop out",
                code="no-shop-file",
            )
        try:
            return read_shop(_text_of(named), named)
        except ShopError:
            raise
        except GearsearchError as error:
            if path is None:
                error = GearsearchError(f"{error.message} (named by ${VARIABLE})", error.remedy)
            raise error from None
    if os.path.lexists(DEFAULT_FILE):
        return read_shop(_text_of(DEFAULT_FILE), DEFAULT_FILE)
    return demo_shop()


def demo_shop() -> Shop:
    """The Millrace workshop, built into the package to try things with."""
    return _read(DEMO_TEXT, "demo shop", source="")


def read_shop(text: str, where: str) -> Shop:
    """The shop that a TOML text describes.

    Parameters
    ----------
    text : the whole text of a shop file; Windows line ends and a byte order mark do no harm
    where : the file's name as the user knows it; becomes the shop's ``source``

    Raises ShopError with every mistake, each named by its table and key.
    """
    return _read(text, where, source=legible(where))


def _read(text: str, where: str, source: str) -> Shop:
    problems: list[str] = []
    parts = _parts_of(_document(text, where), problems)
    _raise_all(problems, where)
    shop = Shop(**parts, source=source)
    _check_ends(shop, problems)
    _raise_all(problems, where)
    return shop


def _raise_all(problems: list[str], where: str) -> None:
    if problems:
        raise ShopError(problems, where)


def _text_of(name: str) -> str:
    """The text of a file. Raises GearsearchError for a folder, a file that cannot be read, or one that is no text."""
    try:
        with Path(name).open("rb") as stream:
            data = stream.read(MOST_BYTES + 1)
    except IsADirectoryError:
        raise GearsearchError(
            f"{name} is a folder",
            f"name the shop file in it, as in {Path(name) / DEFAULT_FILE}",
            code="no-shop-file",
        ) from None
    except FileNotFoundError:
        raise GearsearchError(
            f"there is no shop file {name!r}",
            "write one to fill in with: gearsearch shop new FILE",
            code="no-shop-file",
        ) from None
    except (OSError, ValueError) as error:
        reason = (getattr(error, "strerror", None) or str(error)).lower()
        raise GearsearchError(
            f"the shop file {name!r} cannot be read: {reason}", "name a file you may read", code="unreadable"
        ) from None
    if len(data) > MOST_BYTES:
        raise GearsearchError(
            f"{name} is larger than {MOST_BYTES} bytes: not a shop file", "name the shop file itself", code="unreadable"
        )
    return _decoded(data, name)


def _decoded(data: bytes, name: str) -> str:
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        at = error.start
        line = data.count(b"\n", 0, at) + 1
        kind = "; it looks like UTF-16" if data[:2] in (b"\xff\xfe", b"\xfe\xff") else ""
        raise GearsearchError(
            f"{name} is not UTF-8 text: byte {at + 1}, in line {line}, is 0x{data[at]:02x}{kind}",
            "save it again in your editor with the encoding UTF-8",
            code="unreadable",
        ) from None


def _document(text: str, where: str) -> Record:
    plain = text.removeprefix("\ufeff")
    try:
        return tomllib.loads(plain, parse_float=Decimal)
    except RecursionError:
        raise ShopError(
            ["brackets are nested too deeply to be read; close each list before the next begins"], where
        ) from None
    except tomllib.TOMLDecodeError as error:
        raise ShopError([_not_toml(str(error), plain)], where) from None
    except ValueError:  # an int of more digits than Python reads
        raise ShopError(["a number has thousands of digits; give at most 30"], where) from None


def _not_toml(said: str, text: str) -> str:
    """What the reader of TOML says, with the line it stumbled on and what is usually meant."""
    said = re.sub(r"\('([^)]*)',?\)", lambda names: "[" + names[1].replace("', '", ".") + "]", said)
    place = re.search(r"at line (\d+), column (\d+)", said)
    if place is None:
        return f"not TOML: {said}\n    help: something is opened and not closed: a quote, a bracket or a brace"
    lines = text.splitlines()
    number = int(place[1])
    line = lines[number - 1] if number <= len(lines) else ""
    return f"not TOML: {said}: {line.strip()[:80]}{_usual_slip(said, line)}"


def _usual_slip(said: str, line: str) -> str:
    if pointed := re.search(r"[{,]\s*([0-9]+\.[0-9]+)\s*=", line):
        return f'\n    help: a name with a point in it stands in quotes, as in "{pointed[1]}"'
    if "overwrite" in said or "twice" in said:
        return "\n    help: the same key or table stands twice; take one of them out"
    if re.search("[“”„‘’«»]", line):
        return '\n    help: use the straight quotes ", not curly ones'
    if re.search(r"=\s*[-\d./]+,\d", line):
        return "\n    help: write a decimal point, not a comma"
    if re.search(r"=\s*[\d./ ]+(\w|°|')", line):
        return '\n    help: a value with a unit stands in quotes, as in "6 mm"'
    return "\n    help: a key, an equals sign, a value; words and values with a unit stand in quotes"


def _parts_of(document: dict[str, Any], problems: list[str]) -> dict[str, Any]:
    """What a shop is made of, by the names that ``Shop`` has for it."""
    top = Table(document, "", problems, _TOP, _HOMES)
    name = top.need("name", fields.text("the name of the shop"), "")
    unit = top.need("units", fields.choice(*UNITS), UNITS[0])
    return {
        "name": name,
        "units": unit,
        "machine": _machine(top, unit),
        "gears": read_gears(_tables(top, "[[gears]]", GEAR_KEYS, "module and teeth"), unit, problems),
        "quadrant": read_quadrant(_table(top, "quadrant", QUADRANT_KEYS), unit) if "quadrant" in top else None,
        "dividing": _dividing(top, unit),
    }


def _table(top: Table, key: str, known: tuple[str, ...]) -> Table:
    values = top.values.get(key)
    if isinstance(values, list):
        top.note(f"[[{key}]]", f"there can be only one; write [{key}] with single brackets")
        return Table({}, f"[{key}]", [], known)
    return Table(values, f"[{key}]", top.problems, known, _HOMES)


def _tables(parent: Table, place: str, known: tuple[str, ...], needed: str) -> list[Table]:
    """Every table of a list of tables; with none, that is noted, with the keys that are needed."""
    key = place.strip("[]").split(".")[-1]
    values = parent.values.get(key)
    if isinstance(values, list) and any(isinstance(value, dict) for value in values):
        return [Table(value, f"{place} no. {n}", parent.problems, known, _HOMES) for n, value in enumerate(values, 1)]
    if values:
        parent.problems.append(f"{place[1:-1]}: write {place} with double brackets, there may be several")
    elif key in parent or key not in parent.misspelt:
        parent.problems.append(f"{place}: missing; give at least one such table with {needed}")
    return []


def _machine(top: Table, unit: str) -> Machine:
    if "machine" not in top:
        if "machine" not in top.misspelt:
            top.note("[machine]", "missing; give this table with kind, screw_lead and at least one [[machine.route]]")
        return _ANY_MACHINE(_ONE, _NO_ROUTES)
    table = _table(top, "machine", _MACHINE)
    lead = fields.screw_lead(unit, "0.1 mm", "60 mm", '"6 mm", "1/4 in" or "5 tpi"')
    backlash = fields.length(unit, "0 mm", "10 mm", '"0.1 mm"')
    kind = table.need("kind", fields.choice(*MACHINES), _ANY_MACHINE.kind)
    return MACHINES[kind](
        screw_lead_mm=table.need("screw_lead", lead, _ONE),
        routes=_routes(table),
        screw_accuracy=table.get("screw_accuracy", _accuracy(unit), None),
        backlash_mm=table.get("backlash", backlash, None),
        dial=_dial(table, MACHINES[kind]),
    )


def _dial(machine: Table, kind: type[Machine]) -> Dial | None:
    if "dial" not in machine:
        return None
    if not kind.has_dial:
        others = " or ".join(f'kind = "{name}"' for name, other in MACHINES.items() if other.has_dial)
        machine.note("dial", f"a {kind.kind} has no chasing dial; take the table out, or write {others}")
        return None
    table = Table(machine.values["dial"], "[machine.dial]", machine.problems, _DIAL, _HOMES)
    return Dial(
        _wheels(table),
        table.need("marks", fields.whole(1, MOST_MARKS), 1),
        table.get("screw_starts", fields.whole(1, MOST_SCREW_STARTS), 1),
    )


def _wheels(dial: Table) -> int | tuple[int, ...]:
    """The teeth of the dial's wheel, or of each that can be put on."""
    one = fields.whole(1, MOST_TEETH)
    if isinstance(dial.values.get("teeth"), list):
        return dial.items("teeth", one) or 1
    return dial.need("teeth", one, 1)


def _routes(machine: Table) -> tuple[Route, ...]:
    tables = _tables(machine, "[[machine.route]]", _ROUTE, "name and ratio")
    found = [_ways(table) for table in tables]
    seen: set[str] = set()
    for table, ways in zip(tables, found, strict=True):
        calls = {ways[0].name, *(way.call for way in ways)}
        if ways[0].name and calls & seen:
            table.note("name", f"{shown(ways[0].name)} is the name of another route too; give each its own")
        seen |= calls
    routes = tuple(way for ways in found for way in ways)
    return routes if routes and machine.sound else _NO_ROUTES


def _ways(table: Table) -> list[Route]:
    """The ways of one route: one, or one for each position of its gearbox's lever."""
    name = table.need("name", fields.text("a name for the route", 30), "")
    if name == ANY_ROUTE:
        table.note("name", f"{shown(name)} asks for every route at once; give the route another name")
        name = ""
    step_up = fields.ratio(_ONE, 1000, "step_up_warning = 4")
    hand = table.get("hand_with_one_stud", fields.choice(*HANDS_WITH_ONE_STUD), None)
    warning = table.get("step_up_warning", step_up, None)
    return [Route(name, ratio, hand, warning, lever) for lever, ratio in _ratios(table)]


def _ratios(table: Table) -> list[tuple[str, Fraction]]:
    """Every lever of a route with its ratio; one ratio of no lever where none is named."""
    reader = fields.ratio(Fraction(1, 1000), 10_000, 'ratio = 60 or "60:1"')
    levers = table.values.get("ratio")
    if not isinstance(levers, dict):
        return [("", table.need("ratio", reader, _ONE))]
    if not 1 <= len(levers) <= MOST_LEVERS:
        table.note("ratio", f"{len(levers) or 'no'} levers; allowed: 1 to {MOST_LEVERS}, as in {_LEVERS}")
        return [("", _ONE)]
    lever = fields.text("the name of a lever's position", 12)
    inner = Table(levers, f"{table.place}, ratio", table.problems, tuple(levers))
    named = Table({name: name for name in levers}, inner.place, table.problems, tuple(levers))
    for name, value in levers.items():
        if isinstance(value, dict):  # of 11.5 = "16/23" the reader of TOML makes a table 11 with a key 5
            pointed = ".".join([name, *list(value)[:1]])
            table.note("ratio", f'the lever {pointed} has a point in its name; write it in quotes: "{pointed}"')
            return [("", _ONE)]
    seen: dict[str, str] = {}
    for name in levers:
        same = seen.setdefault("".join(name.split()).lower(), name)
        if same != name:
            inner.note(name, f"the lever {shown(same)} stands there already; give each position once")
    return [(named.need(name, lever, "") or "?", inner.need(name, reader, _ONE)) for name in levers]


def _accuracy(unit: str) -> Reader[Fraction]:
    """A screw's relative error: so much over so much, parts per million, or percent."""
    piece = fields.length(unit, "0 mm", "10000 mm", "")

    def parse(value: object) -> Fraction:
        if not isinstance(value, str):
            raise Wrong(f"{shown(value)} is not a text in quotes")
        parts = re.split(r"\bover\b", value)
        if len(parts) == 2:
            error, travel = (piece.parse(part.strip()) for part in parts)
            read = error / travel if travel else Fraction(0)
        else:
            read = _parts(value)
        if not 0 < read <= _WORST_SCREW:
            raise Wrong(f"{shown(value)} is {'too large' if read > 0 else 'zero'}")
        return read

    example = 'screw_accuracy = "0.03 mm over 300 mm" or "100 ppm"'
    return Reader(
        f"the screw's error, above 0 and at most 1 in 100, as in {example}; leave it out if not measured", parse
    )


def _parts(value: str) -> Fraction:
    match = re.fullmatch(r"\s*([0-9]{1,9}(?:\.[0-9]{0,9})?)\s*(ppm|%)\s*", value)
    if match is None:
        raise Wrong(f"{shown(value)} cannot be read")
    return Fraction(match[1]) / {"ppm": 1_000_000, "%": 100}[match[2]]


def _dividing(top: Table, unit: str) -> Dividing | None:
    if "dividing" not in top:
        return None
    table = _table(top, "dividing", _DIVIDING)
    ratio = table.need("ratio", fields.ratio(_ONE, 10_000, "ratio = 60"), _ONE)
    plates = _plates(table)
    differential = table.get("differential", fields.yes_or_no, True)
    quadrant = None
    if "quadrant" in table:
        inner = Table(table.values["quadrant"], "[dividing.quadrant]", top.problems, QUADRANT_KEYS, _HOMES)
        quadrant = read_quadrant(inner, unit)
    return Dividing(ratio, plates, differential, quadrant) if table.sound else Dividing(ratio, _NO_PLATES)


def _plates(table: Table) -> tuple[tuple[int, ...], ...]:
    """The circles of each side of a plate; one list of circles is taken as one side."""
    holes = fields.whole(LEAST_HOLES, MOST_HOLES)
    if "circles" in table and "plates" in table:
        table.note("plates", "is given as well as circles; allowed: one of the two")
    elif "circles" not in table and "plates" not in table and not table.misspelt & {"circles", "plates"}:
        by_side = "plates = [[15, 16, 17], [18, 19, 20]]"
        table.note("circles", f"missing; give circles = [15, 16, 17] or, by side, {by_side}")
    sides = _sides(table, holes) if "plates" in table else {"circles": table.items("circles", holes)}
    for key, side in sides.items():
        for twice in sorted({circle for circle in side if side.count(circle) > 1}):
            table.note(key, f"the circle of {twice} holes stands twice; allowed: each circle once")
    return tuple(tuple(sorted(side)) for side in sides.values())


def _sides(table: Table, holes: Reader[int]) -> dict[str, tuple[int, ...]]:
    """The circles of each side, by the name that a mistake in them is told with."""
    values = table.values["plates"]
    if not isinstance(values, list) or not values:
        table.note("plates", f"{shown(values)} is not a list of lists; allowed: [[15, 16, 17], [18, 19, 20]]")
        return {}
    named = {f"plates no. {n}": value for n, value in enumerate(values, 1)}
    inner = Table(named, table.place, table.problems, tuple(named))
    return {key: inner.items(key, holes) for key in named}


def _check_ends(shop: Shop, problems: list[str]) -> None:
    """A shop none of whose gears may stand on an end shaft, or whose fixed gear may not stand where it is."""
    for place in ENDS:
        fixed = [(gears, gears.fixed[place]) for gears in shop.gears if place in gears.fixed]
        usable = fixed or [(gears, teeth) for gears in shop.gears for teeth in gears.available()]
        if not any(shop.allows(gears.kind.tag, teeth, place) for gears, teeth in usable):
            which = f"not even the {fixed[0][1]} fixed there" if fixed else "no gear there is"
            problems.append(
                f"[quadrant] and only_on: {which} may go on the {place} shaft; look at smallest, largest and only_on"
            )
