"""``gearsearch sheet``: the set-up sheet for the machine."""

from __future__ import annotations

import argparse
from dataclasses import replace
from typing import TextIO

from . import options
from .parser import Parser

PICTURES = ("train", "template", "error", "coverage")
EXAMPLES = """\
examples:
  gearsearch sheet "80/44 48/100" --lead 412.5mm --hand right --length 60mm
  gearsearch sheet --gear-module 2 --teeth 23 --helix-angle 15 --disc-cutter 60
  gearsearch sheet --lead 120mm --diameter 48mm --end-mill 10mm --wall 36mm 60mm
  gearsearch sheet --lead 450mm --starts 6 --date "25 November" --out flutes.pdf
  gearsearch sheet --lead 413mm --length 60mm --picture error --out error.svg

Without a train the best that find gives is taken, and the sheet says so. Lines that
need a length you don't give are left out. With --tilt the sheet sets the head to the
tilt at which its train is exact. Exit code 1: the train doesn't mount, is outside the
tolerance or, without one, more than 1 % off, or the starts or teeth can't be indexed
with it on; the sheet then says that first."""


def add(parser: Parser) -> None:
    """Say what the command is for, and add its options."""
    parser.description = "The set-up sheet: train, studs, machine, proof by hand, cutter, indexing, cautions."
    parser.epilog = EXAMPLES
    parser.add_argument("train", nargs="?", metavar="TRAIN", help="driver/driven in power order; else find chooses")
    options.add_wanted(parser)
    options.add_judging(parser)
    parser.add_argument("--accuracy", metavar="A", help="tolerance class of ISO 1328-1 for a helical gear, 1 to 11")
    options.add_search(parser, count=False)
    group = parser.add_argument_group("the cutter")
    group.add_argument("--disc-cutter", metavar="D", help="diameter of a disc cutter on the arbor")
    group.add_argument("--cutter-width", metavar="W", help="width of the disc cutter: it needs more room past the ends")
    group.add_argument("--end-mill", metavar="D", help="diameter of an end mill")
    group.add_argument("--depth", metavar="H", help="depth of the cut (that of a gear's full-depth teeth)")
    group.add_argument("--wall", metavar="D", nargs=2, help="inner and outer diameter of a tube with a ramp on its end")
    group.add_argument("--flank", choices=("end", "inner"), default="end", help="whether the ramp faces the end (end)")
    parser.add_argument("--date", metavar="TEXT", help="date to print; else a line to fill in")
    parser.add_argument(
        "--out",
        metavar="FILE",
        action="append",
        default=[],
        help="write the sheet (.md, .html for a phone or tablet, .pdf with its pictures) or one picture (.svg, .png); "
        "- prints it; may be repeated",
    )
    parser.add_argument(
        "--picture",
        choices=PICTURES,
        help="train: to scale (default); template: wrap-round, 1:1; error: along the cut; coverage: leads nearby",
    )
    options.add_paper(parser, "paper to print on (A4)")
    parser.add_argument("--overwrite", action="store_true", help="replace the file if it is there")
    options.add_shop(parser)
    parser.set_defaults(parser=parser)


def run(args: argparse.Namespace, out: TextIO) -> int:
    """Answer the command; 0 when nothing speaks against the set-up, else 1."""
    from ..base.files import check_all_writable, ending_of
    from ..output.sheet_files import ENDINGS

    outs, on_screen = options.outs_from(args.out)
    _refuse_idle(args, {ending_of(name, ENDINGS) for name in outs})
    check_all_writable(outs, overwrite=args.overwrite)
    asks = options.asks_for_lead(args) or args.train is None
    sheet = options.workshop_from(args).sheet(
        options.wanted_from(args) if asks else None,
        train=args.train,
        diameter=None if asks else args.diameter,
        length=args.length,
        tolerance=args.tolerance,
        accuracy=args.accuracy,
        depth=args.depth,
        disc_cutter=args.disc_cutter,
        cutter_width=args.cutter_width,
        end_mill=args.end_mill,
        wall=args.wall,
        flank=args.flank,
        date=args.date,
        route=args.route,
        hand=args.hand,
        pairs=options.pairs_from(args.pairs),
        order=args.order,
        mounting=args.mounting,
        use=options.gears_from(args.use, "--use"),
        without=options.gears_from(args.without, "--without"),
        greatest_pair_ratio=args.greatest_pair_ratio,
        greatest_step_up=args.greatest_step_up,
    )
    if on_screen:
        print(sheet, file=out)
    if outs:
        sheet = replace(sheet, command=_command(args))
        sheet.save(*outs, paper=args.paper, picture=args.picture, overwrite=args.overwrite)
        options.tell_written(outs)
    return 0 if sheet.ready else 1


def _command(args: argparse.Namespace) -> str:
    """The command as typed, less where it was written to and how."""
    unsaid = {"train", "date", "out", "picture", "paper", "overwrite", "parser", "whole", "command", "version"}
    given = {name: value for name, value in vars(args).items() if name not in unsaid}
    if args.wall is not None:
        given["wall"] = [tuple(args.wall)]
    words = ["gearsearch", "sheet", *([args.train] if args.train else [])]
    return options.typed_again(words, given, {name: args.parser.get_default(name) for name in given})


def _refuse_idle(args: argparse.Namespace, endings: set[str]) -> None:
    """Refuse what would change nothing on any file that is written."""
    if not endings:
        options.refuse_idle(args, {"overwrite": False}, "without a file to write", "name one with --out sheet.md")
    in_words = {".md", ".html"}
    if not endings - in_words:
        remedy = "name a .pdf, .svg or .png with --out, as in --out sheet.pdf"
        options.refuse_idle(args, {"picture": None, "paper": "A4"}, "without a picture or a page to write", remedy)
    elif not endings & in_words and (".pdf" not in endings or args.picture is not None):
        options.refuse_idle(args, {"date": None}, "on a picture alone", "write the sheet too with --out sheet.md")
    if args.train is not None and args.picture != "coverage":
        options.refuse_idle(
            args, {"pairs": "1-2"}, "when the train is given", "leave the train out, and find chooses it"
        )
