"""``gearsearch pair``: two trains for two helical gears that must mesh."""

from __future__ import annotations

import argparse
from typing import TextIO

from ..base.errors import GearsearchError
from ..base.require import typed_whole
from ..search.terms import MOUNTING
from ..shop.trains import HANDS
from ..work.asking import gear_forms
from . import options
from .parser import Parser

EXAMPLES = """\
examples:
  gearsearch pair --gear-module 2 --teeth 20,44 --helix-angle 20 --face 25mm
  gearsearch pair --gear-dp 12 --teeth 18,54 --helix-angle 17d45m --pairs 3
  gearsearch pair --gear-dp 12 --teeth 20,44 --helix-angle 20 --helix-within 1
  gearsearch pair --gear-dp 12 --teeth 20,40 --centre-distance 2.75in

On parallel shafts two gears run well when both have the same helix angle, even if it
isn't quite the angle of the drawing. So pairs are ranked by how well their leads agree
with each other first, and then by how well they agree with the drawing. Gears on crossed
shafts take an angle each, and both hands, as in --helix-angle 45,45 --shafts crossed
--hand right --mate-hand right."""


def add(parser: Parser) -> None:
    """Say what the command is for, and add its options."""
    parser.description = "Trains for two helical gears that must mesh: least mismatch of the helix angles first."
    parser.epilog = EXAMPLES
    _add_pair(parser)
    _add_search(parser)
    options.add_shop(parser)
    options.add_format(parser)


def _add_pair(parser: argparse.ArgumentParser) -> None:
    group = parser.add_argument_group("the two gears")
    for size in (form.options[0] for form in gear_forms()):
        about = size.help.partition(" of a helical gear")[0]
        group.add_argument(size.typed, metavar=size.metavar, help=f"{about} of both gears")
    group.add_argument("--teeth", metavar="Z,Z", required=True, help="teeth of both gears: 20,44")
    group.add_argument(
        "--helix-angle", metavar="A[,A]", help="helix angle from the AXIS: one, or two on crossed shafts"
    )
    group.add_argument(
        "--centre-distance", metavar="C", help="instead: fixed distance of parallel shafts, which gives the helix angle"
    )
    group.add_argument("--shafts", choices=("parallel", "crossed"), default="parallel", help="parallel (default)")
    group.add_argument(
        "--hand",
        type=options.hand_from,
        choices=(*HANDS, "either"),
        default="either",
        help="hand of the first gear; the mate has the other",
    )
    group.add_argument("--mate-hand", choices=HANDS, help="hand of the second gear; needed on crossed shafts")
    group.add_argument("--face", metavar="F", help="common face width, for the mismatch across it")
    options.add_tolerance(group, "how far each lead may be off (else 0.2%)")
    group.add_argument(
        "--helix-within", metavar="A", help="also offer exact pairs with the helix angle moved by up to this: 0.5deg"
    )


def _add_search(parser: argparse.ArgumentParser) -> None:
    group = parser.add_argument_group("which trains")
    options.add_route(group)
    group.add_argument("--pairs", metavar="N|A-B", default="1-2", help="pairs of gears in a train (1-2)")
    group.add_argument("--count", metavar="N", default="5", help="how many answers (5)")
    group.add_argument("--mounting", choices=MOUNTING, default="must", help="must (default), show or skip")
    options.add_without(group)


def run(args: argparse.Namespace, out: TextIO) -> int:
    """Answer the command; 0 when there is a pair of trains that mount, else 1."""
    from ..output.written import written

    teeth = [typed_whole(text, "--teeth", "20,44") for text in _parts(args.teeth, "--teeth", "20,44", 2)]
    angles = None if args.helix_angle is None else _parts(args.helix_angle, "--helix-angle", "20", 1, 2)
    answer = options.workshop_from(args).pair(
        (teeth[0], teeth[1]),
        **{form.name: getattr(args, form.name) for form in gear_forms()},
        helix_angle=angles,
        centre_distance=args.centre_distance,
        shafts=args.shafts,
        hand=args.hand,
        mate_hand=args.mate_hand,
        face=args.face,
        tolerance=args.tolerance,
        helix_within=args.helix_within,
        route=args.route,
        pairs=options.pairs_from(args.pairs),
        count=typed_whole(args.count, "--count"),
        mounting=args.mounting,
        without=options.gears_from(args.without, "--without"),
    )
    out.write(written(answer, args.format))
    return 0 if answer.found else 1


def _parts(text: str, name: str, example: str, *counts: int) -> list[str]:
    parts = [part.strip() for part in text.split(",")]
    if len(parts) not in counts or not all(parts):
        wanted = " or ".join(str(count) for count in counts)
        number = sum(map(bool, parts))
        raise GearsearchError(
            f"{name} {text[:40]!r} gives {number} value{'' if number == 1 else 's'}, and takes {wanted}",
            f"write it as in {name} {example}",
        )
    return parts
