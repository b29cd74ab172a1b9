"""``gearsearch find``: the best trains for a wanted lead."""

from __future__ import annotations

import argparse
from dataclasses import replace
from typing import Any, TextIO

from . import options

EXAMPLES = """\
examples:
  gearsearch find --lead 412.5mm --hand right
  gearsearch find --helix-angle 20 --diameter 50mm --hand left --length 60mm --tolerance "0.02 mm over 60 mm"
  gearsearch find --rise 1.37mm --per 5.8
  gearsearch find --thread "13 tpi" --shop lathe.toml --pairs 3
  gearsearch find --lead 6.7mm --starts 3 --route spindle
  gearsearch find --lead 412.5 --all-arrangements

Trains are written driver/driven in power order, starting at the table screw (on a
lathe at the spindle side); an idler stands in brackets: 40/(56)/72. In a shop with several
kinds of tooth each pair, and each gear you name, has its kind after an @, as shop show
lists them: 40/60@m2. Exit code 1: no train mounts or is inside the tolerance or, where
none was given, within 1 %."""

_LEFT_THREADS = (
    "a thread is right hand unless the drawing says LH (common practice, no source), and some of these cut a left one: "
    "ask with --hand right"
)


def add(subparsers: Any) -> None:
    """Add the command to the parser."""
    parser = subparsers.add_parser(
        "find",
        help="the best trains for a wanted lead",
        description="The nearest trains for a wanted lead, from every train the shop's gears can make.",
        epilog=EXAMPLES,
        formatter_class=argparse.RawDescriptionHelpFormatter,
        allow_abbrev=False,
    )
    options.add_wanted(parser)
    options.add_search(parser)
    options.add_judging(parser)
    parser.add_argument(
        "--all-arrangements",
        action="store_true",
        help="instead: every order of the gears of every train with the nearest lead, with its verdict",
    )
    options.add_shop(parser)
    options.add_format(parser)


def run(args: argparse.Namespace, out: TextIO) -> int:
    """Answer the command; 0 when a train qualifies, else 1."""
    from ..base.facts import Note
    from ..output.written import written
    from ..search import find as search
    from ..sheet.starts import notes as indexing_notes
    from ..shop.reader import load_shop

    if args.all_arrangements:
        options.refuse_idle(
            args, {"count": "10"}, "with --all-arrangements, which lists them all", "ask for one of the two"
        )
    shop = load_shop(args.shop)
    part = options.part_from(args, shop)
    answer = search.find(shop, part, options.search_terms_from(args))
    if args.all_arrangements:
        answer = search.with_every_arrangement(answer)
    if part.divisions > 1:
        answer = replace(answer, notes=(*answer.notes, *indexing_notes(answer, part.divisions)))
    if args.thread is not None and answer.terms.hand == "either" and any(fit.hand == "left" for fit in answer.fits):
        answer = replace(answer, notes=(*answer.notes, Note("left-threads", _LEFT_THREADS)))
    out.write(written(answer, args.format))
    return 0 if answer.found else 1
