"""``gearsearch check``: what a train gives, whether it mounts, and whether its error matters."""

from __future__ import annotations

import argparse
from typing import TextIO

from . import options
from .parser import Parser

EXAMPLES = """\
examples:
  gearsearch check "100/24 32/48"
  gearsearch check "100/24 32/48" --diameter 50mm --length 60mm
  gearsearch check "40/(56)/72" --lead 648mm --hand left
  gearsearch check "48/36 60/100" --lead 450 --tolerance "0.02 mm over 60 mm"
  gearsearch check "24/56 36/64" --gear-module 2 --teeth 23 --helix-angle 15

Without a lead it says what the train cuts. With --tilt the error is that at the tilt
you give, and the tilt that makes the lead exact is said beside it. Exit code 0: the
train mounts, or isn't known not to, and is inside the tolerance and the class or,
without them, at most 1 % off; 1: it isn't, and the first line says why; 2: it can't be
judged, as with a gear that you don't own."""


def add(parser: Parser) -> None:
    """Say what the command is for, and add its options."""
    parser.description = "Judge one train exactly as typed: its lead, its error on the part, its mounting."
    parser.epilog = EXAMPLES
    parser.add_argument("train", metavar="TRAIN", help="driver/driven in power order, idlers in brackets")
    options.add_wanted(parser)
    options.add_judging(parser)
    parser.add_argument("--accuracy", metavar="A", help="tolerance class of ISO 1328-1 for a helical gear, 1 to 11")
    options.add_route_and_hand(parser)
    options.add_shop(parser)
    options.add_format(parser)
    options.add_full(parser)


def run(args: argparse.Namespace, out: TextIO) -> int:
    """Answer the command; 0 when nothing speaks against the train, else 1."""
    from ..output.written import written

    options.refuse_idle_full(args)
    asks = options.asks_for_lead(args)
    checked = options.workshop_from(args).check(
        args.train,
        options.wanted_from(args) if asks else None,
        diameter=None if asks else args.diameter,
        length=args.length,
        tolerance=args.tolerance,
        accuracy=args.accuracy,
        route=args.route,
        hand=args.hand,
    )
    out.write(written(checked, args.format, args.full))
    return 0 if checked.passes else 1
