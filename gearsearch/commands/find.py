"""``gearsearch find``: the best trains for a wanted lead."""

from __future__ import annotations

import argparse
from typing import TextIO

from ..base.require import typed_whole
from . import options
from .parser import Parser

EXAMPLES = """\
examples:
  gearsearch find --lead 412.5mm --hand right
  gearsearch find --helix-angle 20 --diameter 50mm --hand left --length 60mm
  gearsearch find --lead 412.5mm --tolerance "0.02 mm over 60 mm"
  gearsearch find --rise 1.37mm --per 5.8
  gearsearch find --thread "13 tpi" --shop lathe.toml --pairs 3
  gearsearch find --lead 6.7mm --starts 3 --route spindle
  gearsearch find --lead 412.5 --all-arrangements

A train is written driver/driven in power order, from the table screw on (on a lathe
from the spindle side); an idler stands in brackets: 40/(56)/72. In a shop with several
kinds of tooth each pair, and each gear you name, has its kind after an @, as shop show
lists them: 40/60@m2. Exit code 1: no train mounts, or is inside the tolerance or,
without one, within 1 %."""


def add(parser: Parser) -> None:
    """Say what the command is for, and add its options."""
    parser.description = "The nearest trains for a wanted lead, from every train the shop's gears can make."
    parser.epilog = EXAMPLES
    options.add_wanted(parser)
    options.add_search(parser)
    options.add_judging(parser)
    parser.add_argument(
        "--all-arrangements",
        action="store_true",
        help="instead: every arrangement of every train with the nearest lead, and whether it mounts",
    )
    options.add_shop(parser)
    options.add_format(parser)
    options.add_full(parser)


def run(args: argparse.Namespace, out: TextIO) -> int:
    """Answer the command; 0 when a train qualifies, else 1."""
    from ..output.written import written

    options.refuse_idle_full(args)
    answer = options.workshop_from(args).find(
        options.wanted_from(args),
        length=args.length,
        tolerance=args.tolerance,
        route=args.route,
        hand=args.hand,
        pairs=options.pairs_from(args.pairs),
        count=typed_whole(args.count, "--count"),
        order=args.order,
        mounting=args.mounting,
        use=options.gears_from(args.use, "--use"),
        without=options.gears_from(args.without, "--without"),
        greatest_pair_ratio=args.greatest_pair_ratio,
        greatest_step_up=args.greatest_step_up,
        all_arrangements=args.all_arrangements,
    )
    out.write(written(answer, args.format, args.full))
    return 0 if answer.found else 1
