"""``gearsearch sheet``: the set-up sheet for the machine."""

from __future__ import annotations

import argparse
from dataclasses import replace
from fractions import Fraction
from typing import TYPE_CHECKING, Any, TextIO

from ..base.errors import GearsearchError
from ..base.units import parse_length
from . import options

if TYPE_CHECKING:
    from ..search.terms import Terms
    from ..sheet.page import ChosenTrain, Job
    from ..shop.shop import Shop
    from ..work.part import Blank

PICTURES = ("train", "template", "error", "coverage")
# what find goes by, with what it is where it is left out
_CHOOSING: dict[str, object] = {
    "order": "closest",
    "mounting": None,
    "use": [],
    "without": [],
    "greatest_pair_ratio": None,
    "greatest_step_up": None,
}
EXAMPLES = """\
examples:
  gearsearch sheet "80/44 48/100" --lead 412.5mm --hand right --length 60mm
  gearsearch sheet --gear-module 2 --teeth 23 --helix-angle 15 --hand left --disc-cutter 60mm --depth 4.5mm
  gearsearch sheet --lead 120mm --hand right --diameter 48mm --end-mill 10mm --wall 36mm 60mm --out ramp.md
  gearsearch sheet --lead 450mm --starts 6 --hand right --date "25 November" --out flutes.md --out flutes.pdf
  gearsearch sheet "80/44 48/100" --lead 412.5mm --diameter 50mm --length 60mm --picture template --out wrap.svg

Without a train the best that find gives is taken, and the sheet says so. Lines for
which a length is missing are left out. With --tilt the sheet sets the head to the
tilt at which its train is exact. Exit code 1 when the train does not mount, is outside
the tolerance or, where none was given, more than 1 % off, and when the starts or teeth
cannot be indexed with it on: the sheet then says that first."""


def add(subparsers: Any) -> None:
    """Add the command to the parser."""
    parser = subparsers.add_parser(
        "sheet",
        help="the set-up sheet: everything at the machine, in the order it is done",
        description="The set-up sheet: train, studs, machine, proof by hand, cutter, indexing, cautions.",
        epilog=EXAMPLES,
        formatter_class=argparse.RawDescriptionHelpFormatter,
        allow_abbrev=False,
    )
    parser.add_argument("train", nargs="?", metavar="TRAIN", help="driver/driven in power order; else find chooses")
    options.add_wanted(parser)
    options.add_judging(parser)
    parser.add_argument("--accuracy", metavar="A", help="tolerance class of ISO 1328-1 for a helical gear, 1 to 11")
    options.add_search(parser, count=False)
    parser.set_defaults(count="1")
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
        help="write the sheet (.md, or .pdf with its pictures) or one picture (.svg, .png); may be repeated",
    )
    parser.add_argument(
        "--picture",
        choices=PICTURES,
        help="train: to scale (default); template: wrap-round, 1:1; error: along the cut; coverage: leads nearby",
    )
    options.add_paper(parser, "paper to print on (A4)")
    parser.add_argument("--overwrite", action="store_true", help="replace the file if it is there")
    options.add_shop(parser)


def run(args: argparse.Namespace, out: TextIO) -> int:
    """Answer the command; 0 when nothing speaks against the set-up, else 1."""
    from ..base.files import check_all_writable
    from ..output import sheet_files
    from ..output.text import text
    from ..shop.reader import load_shop

    _refuse_idle(args, {sheet_files.ending_of(name) for name in args.out})
    check_all_writable(args.out, overwrite=args.overwrite)
    job = _job(args, load_shop(args.shop))
    if args.out:
        pairs = options.pairs_from(args.pairs)
        sheet_files.write_sheet(job, args.out, args.paper, args.picture, pairs, overwrite=args.overwrite)
        options.tell_written(args.out)
    else:
        out.write(text(sheet_files.in_words(job)))
    return 1 if job.against else 0


def _refuse_idle(args: argparse.Namespace, endings: set[str]) -> None:
    """Refuse what would change nothing on the sheet, or on any file that is written."""
    if not endings:
        options.refuse_idle(args, {"overwrite": False}, "without a file to write", "name one with --out sheet.md")
    if not endings - {".md"}:
        remedy = "name a .pdf, .svg or .png with --out, as in --out sheet.pdf"
        options.refuse_idle(args, {"picture": None, "paper": "A4"}, "without a picture or a page to write", remedy)
    elif ".md" not in endings and (".pdf" not in endings or args.picture is not None):
        options.refuse_idle(args, {"date": None}, "on a picture alone", "write the sheet too with --out sheet.md")
    if args.train is not None:
        pairs: dict[str, object] = {} if args.picture == "coverage" else {"pairs": "1-2"}
        idle = {**pairs, **_CHOOSING}
        options.refuse_idle(args, idle, "when the train is given", "leave the train out, and find chooses it")
    _refuse_idle_cutters(args)


def _refuse_idle_cutters(args: argparse.Namespace) -> None:
    if args.wall is None:
        tube = "without a ramp on the end of a tube"
        options.refuse_idle(args, {"flank": "end"}, tube, "give the tube with --wall 36mm 60mm")
    elif args.end_mill is None:
        cutter = "without the end mill that cuts the ramp"
        options.refuse_idle(args, {"wall": None}, cutter, "give it with --end-mill 10mm")
    if args.disc_cutter is None or (args.depth is None and args.teeth is None):
        room = "without the disc cutter and the depth, which with it make the room past the ends"
        options.refuse_idle(args, {"cutter_width": None}, room, "give them with --disc-cutter 60mm --depth 5mm")
    if args.end_mill is not None and args.disc_cutter is not None:
        raise GearsearchError(
            "a disc cutter and an end mill are given, and a sheet is for one",
            "keep the one that cuts: --disc-cutter or --end-mill",
        )


def _job(args: argparse.Namespace, shop: Shop) -> Job:
    from ..base.files import legible
    from ..search.check import check
    from ..sheet.page import Job

    asked = options.has_wanted(args) or args.train is None
    part = options.part_from(args, shop) if asked else options.blank_from(args, shop)
    terms = options.search_terms_from(args)
    chosen = _chosen(args, shop, part, terms)
    checked = check(shop, chosen.train, part, replace(terms, route=chosen.way.call) if chosen.way else terms)
    wall = None if args.wall is None else tuple(parse_length(d, shop.units, "--wall") for d in args.wall)
    return Job(
        checked,
        date=None if args.date is None else legible(args.date),
        depth_mm=_length(args.depth, shop, "--depth"),
        disc_mm=_length(args.disc_cutter, shop, "--disc-cutter"),
        disc_width_mm=_length(args.cutter_width, shop, "--cutter-width"),
        end_mill_mm=_length(args.end_mill, shop, "--end-mill"),
        wall_mm=(wall[0], wall[1]) if wall else None,
        flank=args.flank,
        chosen=chosen.how,
    )


def _chosen(args: argparse.Namespace, shop: Shop, part: Blank, terms: Terms) -> ChosenTrain:
    from ..sheet.page import ChosenTrain, choose
    from ..shop.trains import Train
    from ..work.part import Part

    if args.train is not None or not isinstance(part, Part):
        return ChosenTrain(Train.parse(args.train or ""), "")
    return choose(shop, part, terms)


def _length(text: str | None, shop: Shop, name: str) -> Fraction | None:
    return None if text is None else parse_length(text, shop.units, name)
