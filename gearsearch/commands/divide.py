"""``gearsearch divide``: spacing the work with the dividing head."""

from __future__ import annotations

import argparse
import re
import shlex
from typing import TYPE_CHECKING, Any, TextIO

from ..base.errors import GearsearchError, UnitError
from ..base.require import typed_whole
from ..base.units import parse_angle
from . import options
from .parser import Parser

if TYPE_CHECKING:
    from ..dividing.answer import Divided
    from ..dividing.asking import Divide

EXAMPLES = """\
examples:
  gearsearch divide 42                            forty-two divisions
  gearsearch divide 28 --out plate.pdf            in large type, for the head
  gearsearch divide 127                           by gears, as no circle is
  gearsearch divide 127 --circle 33 --without 40  with what is at hand
  gearsearch divide 1009 --nearest                nothing is exact: nearest
  gearsearch divide 127 --table                   every cut, hole by hole
  gearsearch divide 8 --unequal 2deg              a reamer's teeth
  gearsearch divide --angle "17°30'" --repeats 5  five spaces of an angle
  gearsearch divide --starts 3 --route worm       while geared for a helix
  gearsearch divide --starts 3 --route spindle --train "72/24"
  gearsearch divide --steps 12 --step-angle 5.8 --step-rise 1.37mm --out ramp.md
  gearsearch divide --steps 9 --total-angle 60 --lead 120mm

Exit code 0: an exact way was found; 1: only a nearest one, or one that doesn't mount."""

# the options of each thing that can be asked for, as argparse names them
_QUESTIONS = {
    "divisions": ("nearest", "count", "circle", "without", "table", "unequal", "unpaired"),
    "angle": ("repeats", "count", "circle", "table"),
    "starts": ("route", "train", "count", "circle"),
    "steps": ("step_angle", "total_angle", "lead", "step_rise", "length", "circle", "undercut", "diameter"),
}


def add(parser: Parser) -> None:
    """Say what the command is for, and add its options."""
    parser.description = "Space the work with the dividing head: divisions, an angle, starts, or the steps of a ramp."
    parser.epilog = EXAMPLES
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
    parser.add_argument(
        "--unpaired", action="store_true", help="with --unequal: teeth needn't stand opposite each other"
    )
    parser.add_argument("--count", metavar="N", help="how many ways (5)")
    parser.add_argument(
        "--circle", metavar="H", action="append", default=[], help="use only this index circle; may be repeated"
    )
    options.add_without(parser)
    _add_starts(parser)
    _add_ramp(parser)
    parser.add_argument(
        "--out",
        metavar="FILE",
        help="write the answer to a file (.md, .pdf to hang by the head, .csv or .json); - prints it",
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
    group.add_argument("--step-rise", metavar="H", help="move ALONG THE AXIS for one step, instead of the lead")
    group.add_argument("--length", metavar="L", help="length of the helix along the axis, which must not be overrun")
    group.add_argument(
        "--undercut", metavar="A", help="angle of an undercut tooth face, from the axis: gives the tooth its depth"
    )
    group.add_argument("--diameter", metavar="D", help="diameter at which an undercut tooth is measured")


def run(args: argparse.Namespace, out: TextIO) -> int:
    """Answer the command; 0 when an exact way was found, else 1."""
    from ..base.files import check_all_writable
    from ..output.written import written

    if args.out == "-":
        args.out = None
    question = _question(args)
    _refuse_idle(args)
    if args.out is not None:
        check_all_writable([args.out], overwrite=args.overwrite)
    divided = _ASK[question](options.workshop_from(args).divide, args)
    if args.out is None:
        out.write(written(divided, args.format, args.full))
    else:
        divided.save(args.out, paper=args.paper, overwrite=args.overwrite)
        options.tell_written([args.out])
    return 0 if divided.exact else 1


def _refuse_idle(args: argparse.Namespace) -> None:
    """Refuse what would change nothing, and a file that is none of those that can be written."""
    from ..base.files import ending_of
    from ..output.divide_files import ENDINGS

    ending = None if args.out is None else ending_of(args.out, ENDINGS)
    if ending is not None or args.format != "table":
        options.refuse_idle(args, {"full": False}, "in a file or for a program, which get all of it", "print a table")
    if ending is None:
        options.refuse_idle(args, {"overwrite": False}, "without a file to write", "name one with --out ramp.md")
    elif args.format not in ("table", ending.strip(".")):
        raise GearsearchError(
            f"{args.out} is written as its ending says, not as --format {args.format}", "leave --format out"
        )
    if ending != ".pdf":
        options.refuse_idle(args, {"paper": "A4"}, "without a page to print", "name one with --out ramp.pdf")


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


def _divisions(divide: Divide, args: argparse.Namespace) -> Divided:
    if _is_angle(args.divisions):
        raise GearsearchError(
            f"{args.divisions[:40]!r} is an angle, not a number of divisions",
            f"give it with --angle, as in --angle {shlex.quote(args.divisions)}, or a number as in 42",
        )
    return divide(
        typed_whole(args.divisions, "gearsearch divide", "42"),
        nearest=args.nearest,
        without=options.gears_from(args.without, "--without"),
        table=args.table,
        unequal=args.unequal,
        unpaired=args.unpaired,
        **_common(args),
    )


def _is_angle(text: str) -> bool:
    """Whether a text is an angle with its unit."""
    try:
        parse_angle(text)
    except UnitError:
        return False
    return re.search("[^0-9.eE+/ -]", text) is not None


def _angle(divide: Divide, args: argparse.Namespace) -> Divided:
    repeats = typed_whole(args.repeats or "1", "--repeats")
    return divide.angle(args.angle, repeats=repeats, table=args.table, **_common(args))


def _starts(divide: Divide, args: argparse.Namespace) -> Divided:
    starts = typed_whole(args.starts, "--starts")
    return divide.starts(starts, route=args.route, train=args.train, **_common(args))


def _steps(divide: Divide, args: argparse.Namespace) -> Divided:
    names = ("step_angle", "total_angle", "lead", "step_rise", "length", "undercut", "diameter")
    given = {name: getattr(args, name) for name in names}
    circles = options.teeth_from(args.circle, "--circle")
    return divide.steps(typed_whole(args.steps, "--steps"), circles=circles, **given)


def _common(args: argparse.Namespace) -> dict[str, Any]:
    circles, count = options.teeth_from(args.circle, "--circle"), typed_whole(args.count or "5", "--count")
    return {"count": count, "circles": circles}


_ASK = {"divisions": _divisions, "angle": _angle, "starts": _starts, "steps": _steps}
