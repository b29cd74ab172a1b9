"""``gearsearch divide``: spacing the work with the dividing head."""

from __future__ import annotations

import argparse
import re
import shlex
from dataclasses import replace
from fractions import Fraction
from typing import TYPE_CHECKING, Any, TextIO

from ..base.errors import GearsearchError, UnitError
from ..base.units import parse_angle, parse_length
from . import options

if TYPE_CHECKING:
    from ..dividing.answer import Divided
    from ..dividing.at_hand import AtHand
    from ..dividing.ramps import Ramp
    from ..shop.shop import Shop

EXAMPLES = """\
examples:
  gearsearch divide 42                               forty-two divisions
  gearsearch divide 28 --out plate.pdf               the same in large type, to hang by the head
  gearsearch divide 127                              by differential indexing where no circle serves
  gearsearch divide 127 --circle 33 --without 40     with the circle and the gears that are at hand
  gearsearch divide 1009 --nearest                   the nearest differential trains where none is exact
  gearsearch divide 127 --table                      every cut from the exact total, and for a dial
  gearsearch divide 8 --unequal 2deg                 a reamer's teeth at spaces that differ
  gearsearch divide --angle "17°30'" --repeats 5     five spaces of an angle
  gearsearch divide --starts 3 --route worm          while the head is geared for a helix
  gearsearch divide --starts 3 --route spindle --train "72/24"
  gearsearch divide --steps 12 --step-angle 5.8 --rise 1.37mm --out ramp.md
  gearsearch divide --steps 9 --total-angle 60 --lead 120mm --face 15 --diameter 40mm

Exit code 0: an exact way was found; 1: only a nearest one, or one that does not mount."""

# the options of each thing that can be asked for, as argparse names them
_QUESTIONS = {
    "divisions": ("nearest", "count", "circle", "without", "table", "unequal", "unpaired"),
    "angle": ("repeats", "count", "circle", "table"),
    "starts": ("route", "train", "count", "circle"),
    "steps": ("step_angle", "total_angle", "lead", "rise", "length", "circle", "face", "diameter"),
}


def add(subparsers: Any) -> None:
    """Add the command to the parser."""
    parser = subparsers.add_parser(
        "divide",
        help="index circles, angles, differential trains, stepped ramps",
        description="Space the work with the dividing head: divisions, an angle, starts, or the steps of a ramp.",
        epilog=EXAMPLES,
        formatter_class=argparse.RawDescriptionHelpFormatter,
        allow_abbrev=False,
    )
    parser.for_a_number = (
        "give one number of divisions, and the next one to a gearsearch divide of its own; an angle goes with --angle, "
        "in one piece or in quotes, as in --angle 17d30m"
    )
    parser.add_argument("divisions", nargs="?", metavar="N", help="how many divisions of the whole turn")
    parser.add_argument(
        "--nearest", action="store_true", help="where no way is exact, the differential trains that come nearest"
    )
    parser.add_argument("--full", action="store_true", help="all notes, and all there is to say of each way")
    parser.add_argument("--angle", metavar="A", help="instead: one space of this angle: 17.5, 17°30', 24m")
    parser.add_argument("--repeats", metavar="N", help="how many such spaces are cut (1)")
    parser.add_argument(
        "--table", action="store_true", help="every cut, hole by hole and by a dial in degrees, from the exact total"
    )
    parser.add_argument(
        "--unequal", metavar="A", help="N teeth at spaces that differ by about this angle, for reamers and cutters"
    )
    parser.add_argument("--unpaired", action="store_true", help="with --unequal: no tooth need have one opposite")
    parser.add_argument("--count", metavar="N", help="how many ways at the most (5)")
    parser.add_argument(
        "--circle", metavar="H", action="append", default=[], help="use only this index circle; may be repeated"
    )
    options.add_without(parser)
    _add_starts(parser)
    _add_ramp(parser)
    parser.add_argument(
        "--out", metavar="FILE", help="write the answer to a file (.md, .pdf to hang by the head, .csv or .json)"
    )
    options.add_paper(parser, "paper to print a .pdf on (A4)")
    parser.add_argument("--overwrite", action="store_true", help="replace the file if it is there")
    options.add_shop(parser)
    options.add_format(parser)


def _add_starts(parser: argparse.ArgumentParser) -> None:
    group = parser.add_argument_group("starts or flutes, while the head is geared for a helix")
    group.add_argument("--starts", metavar="N", help="how many starts or flutes")
    group.add_argument("--route", metavar="NAME", help="the route the helix is geared by; the first is the default")
    group.add_argument("--train", metavar="TRAIN", help="the train that is on, for a route straight on the spindle")


def _add_ramp(parser: argparse.ArgumentParser) -> None:
    group = parser.add_argument_group("a stepped ramp or ratchet")
    group.add_argument("--steps", metavar="N", help="how many steps")
    group.add_argument("--step-angle", metavar="A", help="angle of one step")
    group.add_argument("--total-angle", metavar="A", help="angle of all steps together")
    group.add_argument("--lead", metavar="L", help="lead that the steps follow")
    group.add_argument("--rise", metavar="H", help="move ALONG THE AXIS for one step, instead of the lead")
    group.add_argument("--length", metavar="L", help="length of the helix along the axis, which must not be overrun")
    group.add_argument(
        "--face", metavar="A", help="angle by which the face of a tooth is undercut, from the axis: tells its depth"
    )
    group.add_argument("--diameter", metavar="D", help="diameter at which an undercut tooth is measured")


def run(args: argparse.Namespace, out: TextIO) -> int:
    """Answer the command; 0 when an exact way was found, else 1."""
    from ..base.files import check_all_writable
    from ..output.written import written
    from ..shop.reader import load_shop

    question = _question(args)
    _refuse_idle(args)
    if args.out is not None:
        check_all_writable([args.out], overwrite=args.overwrite)
    at_hand = _at_hand(args)
    found = at_hand.told(_ASK[question](args, at_hand.shop(load_shop(args.shop))))
    divided = replace(found, full=args.full or args.out is not None)
    if args.out is None:
        out.write(written(divided, args.format))
    else:
        _write(divided, args)
        options.tell_written([args.out])
    return 0 if divided.exact else 1


def _refuse_idle(args: argparse.Namespace) -> None:
    """Refuse what would change nothing, and a file that is none of those that can be written."""
    if args.out is not None or args.format != "table":
        options.refuse_idle(args, {"full": False}, "in a file or for a program, which get all of it", "print a table")
    if args.out is None:
        options.refuse_idle(args, {"overwrite": False}, "without a file to write", "name one with --out ramp.md")
    if args.out is None or _ending(args.out) != ".pdf":
        options.refuse_idle(args, {"paper": "A4"}, "without a page to print", "name one with --out ramp.pdf")
    if args.out is not None and args.format not in ("table", _ending(args.out).strip(".")):
        raise GearsearchError(
            f"{args.out} is written as its ending says, not as --format {args.format}", "leave --format out"
        )


def _ending(name: str) -> str:
    """The ending that says what is written. Raises GearsearchError for others."""
    for ending in (".md", ".pdf", ".csv", ".json"):
        if name.lower().endswith(ending):
            return ending
    raise GearsearchError(
        f"{name} has none of the endings that can be written", "end the name in .md, .pdf, .csv or .json"
    )


def _write(divided: Divided, args: argparse.Namespace) -> None:
    """Write the answer to a file, as its ending says."""
    from ..base.files import replacing, write_text
    from ..output.written import written

    ending = _ending(args.out)
    if ending != ".pdf":
        write_text(args.out, written(divided, ending[1:]), overwrite=args.overwrite)
        return
    from ..output.drawing import papers
    from ..output.drawing.divide_pages import divide_pages

    with papers.drawing(), replacing(args.out, overwrite=args.overwrite) as draft:
        papers.save(divide_pages(divided, args.paper), draft, ending)


def _question(args: argparse.Namespace) -> str:
    """Which of the four things is asked for. Raises GearsearchError for none, for two, and for a stray option."""
    given = [name for name in _QUESTIONS if getattr(args, name) is not None]
    if len(given) != 1:
        raise GearsearchError(
            f"{len(given)} things to divide are given: {' and '.join(map(_option, given))}"
            if given
            else "nothing to divide is given",
            "give one: a number of divisions, --angle, --starts, or --steps",
        )
    owners: dict[str, list[str]] = {}
    for question, names in _QUESTIONS.items():
        for name in names:
            owners.setdefault(name, []).append(question)
    for name, questions in owners.items():
        if getattr(args, name) not in (None, False, []) and given[0] not in questions:
            belongs = " or ".join(_option(question) for question in questions)
            raise GearsearchError(f"{_option(name)} belongs to {belongs}, not to {_option(given[0])}", "leave it out")
    return given[0]


def _option(name: str) -> str:
    return "a number of divisions" if name == "divisions" else "--" + name.replace("_", "-")


def _at_hand(args: argparse.Namespace) -> AtHand:
    from ..dividing.at_hand import AtHand

    return AtHand(options.teeth_from(args.circle, "--circle"), options.gears_from(args.without, "--without"))


def _divisions(args: argparse.Namespace, shop: Shop) -> Divided:
    from ..dividing.divided import of_divisions

    if _is_angle(args.divisions):
        raise GearsearchError(
            f"{args.divisions[:40]!r} is an angle, not a number of divisions",
            f"give it with --angle, as in --angle {shlex.quote(args.divisions)}, or a number as in 42",
        )
    if shop.dividing is not None and not shop.dividing.differential:
        idle = "on a head that takes no gears between spindle and plate"
        options.refuse_idle(args, {"nearest": False, "without": []}, idle, "set differential = true in the shop file")
    divisions = options.whole(args.divisions, "gearsearch divide", "42")
    if args.table or args.unequal is not None:
        return _in_a_table(args, shop, divisions)
    options.refuse_idle(args, {"unpaired": False}, "without --unequal", "give the angle, as in --unequal 2deg")
    return of_divisions(shop, divisions, _count(args), nearest=args.nearest)


def _in_a_table(args: argparse.Namespace, shop: Shop, divisions: int) -> Divided:
    from ..dividing.cumulative import table_of_divisions, unequal_table

    one_circle = {"nearest": False, "without": [], "count": None}
    options.refuse_idle(args, one_circle, "in a table, which is of one circle", "leave --table and --unequal out")
    if args.unequal is None:
        options.refuse_idle(args, {"unpaired": False}, "without --unequal", "give the angle, as in --unequal 2deg")
        return table_of_divisions(shop, divisions)
    options.refuse_idle(args, {"table": False}, "with --unequal, which prints one", "leave --unequal out")
    if args.unpaired and divisions % 2:
        raise GearsearchError(
            f"--unpaired does nothing with {divisions} teeth, an odd number, of which none stand opposite",
            "leave --unpaired out",
            code="idle-option",
        )
    difference = parse_angle(args.unequal, "--unequal")
    return unequal_table(shop, divisions, difference, paired=False if args.unpaired else None)


def _is_angle(text: str) -> bool:
    """Whether a text is an angle with its unit."""
    try:
        parse_angle(text)
    except UnitError:
        return False
    return re.search("[^0-9.eE+/ -]", text) is not None


def _angle(args: argparse.Namespace, shop: Shop) -> Divided:
    from ..dividing.cumulative import table_of_angle
    from ..dividing.divided import of_angle

    repeats = options.whole(args.repeats or "1", "--repeats")
    if args.table:
        options.refuse_idle(args, {"count": None}, "in a table, which is of one circle", "leave --table out")
        return table_of_angle(shop, parse_angle(args.angle, "--angle"), repeats)
    return of_angle(shop, parse_angle(args.angle, "--angle"), repeats, _count(args))


def _starts(args: argparse.Namespace, shop: Shop) -> Divided:
    from ..dividing.divided import while_geared
    from ..shop.trains import Train

    starts, route = options.whole(args.starts, "--starts"), shop.route(args.route)
    if not shop.machine.by_teeth(route, shop.dividing):
        by_crank = f"by the route {route.call}, where the crank indexes whatever train is on"
        options.refuse_idle(args, {"train": None}, by_crank, "take a route straight on the spindle")
    else:
        by_gear = f"by the route {route.call}, where the teeth of the last gear index"
        options.refuse_idle(args, {"circle": []}, by_gear, "take a route by the worm")
    train = None if args.train is None else Train.parse(args.train)
    return while_geared(shop, starts, route.call, train, _count(args))


def _steps(args: argparse.Namespace, shop: Shop) -> Divided:
    from ..dividing.divided import of_ramp

    face = None if args.face is None else parse_angle(args.face, "--face")
    return of_ramp(shop, _ramp(args, shop), _length(args.diameter, shop, "--diameter"), face)


def _ramp(args: argparse.Namespace, shop: Shop) -> Ramp:
    from ..dividing.asking import ramp_of

    given = {name: getattr(args, name) for name in ("step_angle", "total_angle", "lead", "rise", "length")}
    return ramp_of(shop.units, options.whole(args.steps, "--steps"), **given)


def _length(text: str | None, shop: Shop, name: str) -> Fraction | None:
    return None if text is None else parse_length(text, shop.units, name)


def _count(args: argparse.Namespace) -> int:
    return options.whole(args.count or "5", "--count")


_ASK = {"divisions": _divisions, "angle": _angle, "starts": _starts, "steps": _steps}
