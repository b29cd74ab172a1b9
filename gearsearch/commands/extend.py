"""``gearsearch extend``: which gear to add to the box, which it never needs, and sets from scratch."""

from __future__ import annotations

import argparse
import re
from typing import TYPE_CHECKING, Any, TextIO

from ..base.errors import GearsearchError
from ..base.require import typed_whole
from . import options
from .parser import Parser

if TYPE_CHECKING:
    from ..extend.add import Advice
    from ..extend.over_all import AdviceOverAll, DesignOverAll
    from ..extend.scratch import Design
    from ..extend.spare import Spare

LEAST_TEETH, MOST_TEETH = 5, 1000
EXAMPLES = """\
examples:
  gearsearch extend --lead 333mm --lead 412.5mm --sizes 15:127 --tolerance 0.1%
  gearsearch extend --list leads.csv --sizes 15:127 --add 2 --pairs 3
  gearsearch extend --list leads.csv --spare
  gearsearch extend --list leads.csv --sizes 20:100 --design 12
  gearsearch extend --list leads.csv --shop mill.toml --shop lathe.toml

The list is a CSV file with the columns name, wanted and tolerance, or the name of a
standard list. A gear counts for what it brings as driver, as driven, and as the idler
that lets a train mount. Exit code 0: something helps; 1: nothing does."""


def add(parser: Parser) -> None:
    """Say what the command is for, and add its options."""
    parser.description = "Which one gear, or which two, bring the most leads inside tolerance with a train that mounts."
    parser.epilog = EXAMPLES
    _add_leads(parser)
    _add_gears(parser)
    _add_search(parser)
    parser.add_argument(
        "--shop",
        metavar="FILE",
        action="append",
        help="shop file; else $GEARSEARCH_SHOP, else shop.toml in this folder, else the built-in demo shop; "
        "repeated: the gears that bring most leads over all of them",
    )
    options.add_cluster(parser)
    options.add_format(parser)


def _add_leads(parser: argparse.ArgumentParser) -> None:
    group = parser.add_argument_group("the leads that matter")
    group.add_argument(
        "--list",
        metavar="LIST",
        action="append",
        default=[],
        help="a CSV file (name,wanted,tolerance), - for stdin, or a standard list such as iso-261; may be repeated",
    )
    group.add_argument(
        "--lead",
        metavar="L",
        action="append",
        default=[],
        help="a lead, as lists write it: 412.5mm, '13 tpi', 'helix 20deg at 50mm'; may be repeated",
    )
    options.add_tolerance(group, "for leads without one of their own (0.05%)", "0.05%")


def _add_gears(parser: argparse.ArgumentParser) -> None:
    group = parser.add_argument_group("the gears in question")
    group.add_argument("--sizes", metavar="A:B", default="15:127", help="tooth counts to try: 15:127, 28,63")
    group.add_argument("--kind", metavar="TAG", help="kind of tooth of the gears to add; else every kind of the shop")
    group.add_argument("--add", choices=("1", "2"), default="1", help="how many to add at once (1)")
    group.add_argument("--spare", action="store_true", help="instead: gears never needed, and the smallest set")
    group.add_argument("--design", metavar="N", help="instead: a set of N gears from scratch")
    group.add_argument(
        "--copies", metavar="N", default="2", help="how many equal gears a set from scratch may have (2)"
    )


def _add_search(parser: argparse.ArgumentParser) -> None:
    group = parser.add_argument_group("which trains")
    options.add_route_and_hand(group)
    group.add_argument("--pairs", metavar="N|A-B", default="1-2", help="pairs of gears in a train (1-2)")
    group.add_argument("--count", metavar="N", default="10", help="how many answers (10)")
    group.add_argument(
        "--mounting", choices=("must", "skip"), default="must", help="must: only trains that mount (default); skip"
    )
    options.add_without(group)


def run(args: argparse.Namespace, out: TextIO) -> int:
    """Answer the command; 0 when something helps, else 1."""
    from ..output.written import written

    if args.spare and args.design is not None:
        raise GearsearchError("--spare and --design ask for different things", "keep one of them")
    _refuse_idle(args)
    workshop, *others = [options.workshop_of(name) for name in args.shop or [None]]
    leads = _leads(args, workshop.units)
    asked: dict[str, Any] = {
        "tolerance": args.tolerance,
        "route": args.route,
        "hand": args.hand,
        "pairs": options.pairs_from(args.pairs),
        "mounting": args.mounting,
    }
    if args.design is None and not others:
        asked["without"] = options.gears_from(args.without, "--without")
    answer: Advice | AdviceOverAll | Spare | Design | DesignOverAll
    if args.spare:
        answer = workshop.extend.spare(leads, **asked)
    else:
        asked |= {"sizes": _teeth(args.sizes), "kind": args.kind}
        if args.design is None:
            asked |= {"add": 1 if args.add == "1" else 2, "count": typed_whole(args.count, "--count")}
        else:
            asked |= {"gears": typed_whole(args.design, "--design", "12")}
            asked |= {"copies": typed_whole(args.copies, "--copies")}
        extend = workshop.extend.also(*others) if others else workshop.extend
        with options.executor_from(args) as executor:
            answer = (extend if args.design is None else extend.design)(leads, executor=executor, **asked)
    out.write(written(answer, args.format))
    return 0 if answer.found else 1


def _refuse_idle(args: argparse.Namespace) -> None:
    """Refuse what belongs to another of the three questions, and what is asked of one shop alone."""
    remedy = "ask for one thing at a time"
    if len(args.shop or ()) > 1:
        one = {"spare": False, "without": []}
        options.refuse_idle(args, one, "with several shops, each of which has a box of its own", "name one --shop")
    idle: dict[str, object]
    if args.spare:
        idle = {"sizes": "15:127", "kind": None, "add": "1", "count": "10", "copies": "2", "cluster": None}
        options.refuse_idle(args, idle, "with --spare, which tries the gears owned", remedy)
    elif args.design is not None:
        idle = {"add": "1", "count": "10", "without": []}
        options.refuse_idle(args, idle, "with --design, which makes one set from scratch", remedy)
    else:
        options.refuse_idle(args, {"copies": "2"}, "without --design", "add --design 12 for a set from scratch")


def _leads(args: argparse.Namespace, unit: str) -> list[Any]:
    from ..work.lists import load_list

    if not args.list and not args.lead:
        raise GearsearchError(
            "no lead was asked for", "give a list with --list leads.csv, or leads with --lead 412.5mm"
        )
    return [*(item for name in args.list for item in load_list(name, unit).items), *args.lead]


def _teeth(text: str) -> list[int]:
    """Tooth counts as typed: ranges and single counts, parted by commas."""
    counts: set[int] = set()
    for part in re.split(r"[\s,]+", text.strip()):
        low, colon, high = part.partition(":")
        first = typed_whole(low, "--sizes", "15:127")
        last = typed_whole(high, "--sizes", "15:127") if colon else first
        if not LEAST_TEETH <= first <= last <= MOST_TEETH:
            raise GearsearchError(
                f"--sizes {part[:40]!r} is not a range of tooth counts",
                f"give {LEAST_TEETH} to {MOST_TEETH} teeth, the smaller number first, as in --sizes 15:127",
            )
        counts.update(range(first, last + 1))
    return sorted(counts)
