"""``gearsearch divide``: spacing the work with the dividing head."""

from __future__ import annotations

import argparse
import csv
import io
import json
from fractions import Fraction
from typing import TYPE_CHECKING, Any, TextIO

from ..errors import GearsearchError
from ..units import parse_angle, parse_length
from . import options

if TYPE_CHECKING:
    from ..divided import Divided
    from ..shop import Shop

EXAMPLES = """\
examples:
  gearsearch divide 42                               forty-two divisions
  gearsearch divide 127                              by differential indexing where no circle serves
  gearsearch divide --angle "17°30'" --repeats 5     five spaces of an angle
  gearsearch divide 3 --geared worm                  while the head is geared for a helix
  gearsearch divide 3 --geared spindle --train "72/24"
  gearsearch divide --steps 12 --step-angle 5.8 --rise 1.37mm --out ramp.md
  gearsearch divide --steps 9 --total-angle 60 --lead 120mm --face 15 --diameter 40mm

Exit code 0: an exact way was found; 1: only a nearest one."""


def add(subparsers: Any) -> None:
    """Add the command to the parser."""
    parser = subparsers.add_parser(
        "divide",
        help="index circles, angles, differential trains, stepped ramps",
        description="Space the work with the dividing head: divisions, an angle, or the steps of a ramp.",
        epilog=EXAMPLES,
        formatter_class=argparse.RawDescriptionHelpFormatter,
        allow_abbrev=False,
    )
    parser.add_argument("divisions", nargs="?", metavar="N", help="how many divisions of the whole turn")
    parser.add_argument("--angle", metavar="A", help="one space of this angle instead: 17.5, 17°30', 24 minutes")
    parser.add_argument("--repeats", metavar="N", help="how many such spaces are cut (1)")
    parser.add_argument("--count", metavar="N", default="5", help="how many ways at the most (5)")
    parser.add_argument("--nearest", action="store_true", help="the nearest ways, also where an exact one exists")
    geared = parser.add_argument_group("while the head is geared for a helix")
    geared.add_argument("--geared", metavar="ROUTE", help="the route the helix is geared by")
    geared.add_argument("--train", metavar="TRAIN", help="the train that is on, for a route straight on the spindle")
    ramp = parser.add_argument_group("a stepped ramp or ratchet")
    ramp.add_argument("--steps", metavar="N", help="how many steps")
    ramp.add_argument("--step-angle", metavar="A", help="angle of one step")
    ramp.add_argument("--total-angle", metavar="A", help="angle of all steps together")
    ramp.add_argument("--lead", metavar="L", help="lead that the steps follow")
    ramp.add_argument("--rise", metavar="H", help="move along the axis for one step, instead of the lead")
    ramp.add_argument("--circle", metavar="H", help="index circle to use; else the one that comes nearest")
    ramp.add_argument("--face", metavar="A", help="angle by which the face of a tooth is undercut, from the axis")
    ramp.add_argument("--diameter", metavar="D", help="diameter at which an undercut tooth is measured")
    parser.add_argument("--out", metavar="FILE", help="write the answer to a file (.md, .csv or .json)")
    parser.add_argument("--overwrite", action="store_true", help="replace the file if it is there")
    options.add_shop(parser)
    options.add_format(parser)


def run(args: argparse.Namespace, out: TextIO) -> int:
    """Answer the command; 0 when an exact way was found, else 1."""
    from ..shopfile import load_shop

    divided = _divided(args, load_shop(args.shop))
    if args.out is None:
        out.write(_text(divided, args.format))
    else:
        from ..files import write_text

        write_text(args.out, _text(divided, _format_of(args.out)), overwrite=args.overwrite)
        print(f"written: {args.out}", file=out)
    return 0 if divided.exact else 1


def _divided(args: argparse.Namespace, shop: Shop) -> Divided:
    from .. import divided

    count = options.whole(args.count, "--count")
    given = [name for name in ("divisions", "angle", "steps") if getattr(args, name) is not None]
    if len(given) != 1:
        raise GearsearchError(
            f"{len(given)} things to divide were given", "give one: a number of divisions, --angle, or --steps"
        )
    if args.steps is not None:
        return divided.of_ramp(shop, *_ramp(args, shop))
    if args.angle is not None:
        repeats = options.whole(args.repeats or "1", "--repeats")
        return divided.of_angle(shop, parse_angle(args.angle, "--angle"), repeats, count)
    divisions = options.whole(args.divisions, "N")
    if args.geared is not None:
        return divided.while_geared(shop, divisions, args.geared, args.train, count)
    return divided.of_divisions(shop, divisions, count, nearest=args.nearest)


def _ramp(args: argparse.Namespace, shop: Shop) -> tuple[Any, ...]:
    from ..ramps import Ramp, lead_of_steps, ramp_of_total

    steps = options.whole(args.steps, "--steps")
    if (args.step_angle is None) == (args.total_angle is None):
        raise GearsearchError("a ramp needs the angle of its steps", "give --step-angle or --total-angle, not both")
    if (args.lead is None) == (args.rise is None):
        raise GearsearchError("a ramp needs its lead", "give --lead, or --rise for one step, not both")
    if args.total_angle is not None:
        total = parse_angle(args.total_angle, "--total-angle")
        angle = total / steps if steps > 0 else Fraction(0)
    else:
        angle = parse_angle(args.step_angle, "--step-angle")
        total = angle * steps
    if args.lead is not None:
        lead = parse_length(args.lead, shop.units, "--lead")
    else:
        lead = lead_of_steps(parse_length(args.rise, shop.units, "--rise"), angle)
    ramp = ramp_of_total(lead, steps, total) if args.total_angle is not None else Ramp(lead, angle, steps)
    circle = None if args.circle is None else options.whole(args.circle, "--circle")
    face = None if args.face is None else parse_angle(args.face, "--face")
    diameter = None if args.diameter is None else parse_length(args.diameter, shop.units, "--diameter")
    return ramp, circle, diameter, face


def _format_of(name: str) -> str:
    for ending, form in ((".md", "table"), (".csv", "csv"), (".json", "json")):
        if name.lower().endswith(ending):
            return form
    raise GearsearchError(f"{name} has none of the endings that can be written", "name a file .md, .csv or .json")


def _text(divided: Divided, form: str) -> str:
    if form == "json":
        return json.dumps(divided.record(), indent=2, ensure_ascii=False) + "\n"
    if form == "csv":
        text = io.StringIO()
        rows = divided.records
        writer = csv.DictWriter(text, list(rows[0]) if rows else ["way"], lineterminator="\n")
        writer.writeheader()
        writer.writerows(rows)
        return text.getvalue()
    return divided.text()
