"""``gearsearch chart``: lead charts of the shop's own gears, to search and to pin up."""

from __future__ import annotations

import argparse
from dataclasses import replace
from typing import TYPE_CHECKING, Any, TextIO

from ..base.require import typed_whole
from ..base.units import parse_pitch
from . import options
from .parser import Parser

if TYPE_CHECKING:
    from concurrent.futures import Executor

    from ..charts.asking import Charted, Charts

KINDS = ("every", "list", "grid", "look", "plot")
EXAMPLES = """\
examples:
  gearsearch chart every --out leads.parquet --out leads.md --thin 1%
  gearsearch chart every --out leads.html
  gearsearch chart every --from 100mm --to 400mm --hand right
  gearsearch chart every --hand right --out leads.md --paper Letter --landscape
  gearsearch chart list iso-261 --route spindle --tolerance 0.1% --out iso.md
  gearsearch chart list iso-261 --route any --fewest-changes --tolerance 0.1%
  gearsearch chart list our-leads.csv --count 5 --length 60mm --out ours.csv
  gearsearch chart grid --diameters 10:60:5 --helix-angles 10:45:5 --out grid.md
  gearsearch chart look leads.parquet --lead 412mm --count 10
  gearsearch chart plot leads.parquet --out leads.svg

A list is one that comes with gearsearch (threads by size: iso-metric-coarse,
iso-metric-fine, tr, bsp, bspt, bsw, bsf, ba, unc, unf, unef, npt, acme; by pitch:
iso-261, asme-b1.1; worms: iso-54, iso-54-ii, worm-dp) or a CSV file with the columns
name, wanted and tolerance. Without --out the chart is printed. The ending of a file says
what is written: .parquet to search, .md or .pdf to print, .csv, .html for a tablet or
phone at the machine, which looks leads up by itself without a network (every and list,
up to 250 000 rows). Several --out are written in one go. Exit code 1: the chart is
empty, no lead of a list or grid has a train within 1 %, or look found none."""
# what a chart says of the command that made it: all that its rows hang on, and nothing of where and how it is written
_SAID = (
    *("low", "high", "thin", "all_arrangements"),
    *("starts", "count", "fewest_changes", "tolerance", "length"),
    *("diameters", "helix_angles", "lead_angles"),
    *("route", "hand", "pairs", "mounting", "without", "shop"),
)
_NAMED = {"low": "from", "high": "to"}  # options whose values go by another name


def add(parser: Parser) -> None:
    """Say what the command is for, and add its options."""
    parser.description = "Charts of every lead, of the best trains for a list, or of a grid of diameters and angles."
    parser.epilog = EXAMPLES
    kinds = parser.add_subparsers(dest="kind", metavar="KIND", title="what to chart", required=True)
    _add_every(kinds)
    _add_list(kinds)
    _add_grid(kinds)
    _add_look(kinds)
    _add_plot(kinds)


def run(args: argparse.Namespace, out: TextIO) -> int:
    """Answer the command; 0 when the chart has rows, else 1."""
    if args.kind == "plot":
        return _plot(args)
    return _look(args, out) if args.kind == "look" else _write(args, out)


def _write(args: argparse.Namespace, out: TextIO) -> int:
    from ..base.files import check_apart
    from ..output.chart_files import check_outs

    names, on_screen = options.outs_from(args.out)
    outs = check_outs(names, overwrite=args.overwrite) if names else []
    if args.kind == "list":
        check_apart(args.list, outs)
    _refuse_idle(args, {path.suffix.lower() for path in outs})
    rows = None if args.rows is None else typed_whole(args.rows, "--rows", "40")
    workshop = options.workshop_from(args)
    paper = {"paper": args.paper, "landscape": args.landscape, "rows": rows}
    with options.executor_from(args) as executor:
        chart = replace(_chart(workshop.chart, args, executor), command=_command(args))
        count = chart.print(out, date=args.date) if on_screen else 0
        if outs:
            count = chart.save(*outs, **paper, date=args.date, overwrite=args.overwrite, resume=args.resume)
    if outs:
        options.tell_written(outs, f" ({count} row{'' if count == 1 else 's'})")
        if workshop.shop.is_demo:
            options.tell("the shop is the built-in demo shop; name your own with --shop")
        for note in () if on_screen else chart.notes:
            options.tell(note.text)
    return 0 if count and (not chart.chart.items or chart.found) else 1


def _refuse_idle(args: argparse.Namespace, endings: set[str]) -> None:
    """Refuse what is asked of a printed chart where none is written, and what is never broken off."""
    if not endings:
        options.refuse_idle(args, {"resume": False}, "without a file", "name one, as in --out leads.parquet")
    if args.kind == "list" and args.fewest_changes:
        options.refuse_idle(args, {"resume": False}, "with --fewest-changes, which keeps no slices", "begin again")
    if not endings & {".md", ".pdf"}:
        layout = {"paper": options.PAPERS[0], "landscape": False, "rows": None}
        options.refuse_idle(args, layout, "without a chart to print", "name one with --out, as in --out leads.md")
    if endings == {".csv"}:
        remedy = "name one with --out, as in --out leads.md"
        options.refuse_idle(args, {"date": ""}, "in a .csv file, which has no heading", remedy)


def _chart(charts: Charts, args: argparse.Namespace, executor: Executor | None) -> Charted:
    terms: dict[str, Any] = {
        "executor": executor,
        "route": args.route,
        "hand": args.hand,
        "pairs": options.pairs_from(args.pairs),
        "mounting": args.mounting,
        "without": options.gears_from(args.without, "--without"),
    }
    if args.kind == "every":
        return charts.every(args.low, args.high, thin=args.thin, all_arrangements=args.all_arrangements, **terms)
    if args.kind == "grid":
        return charts.grid(args.diameters, helix_angles=args.helix_angles, lead_angles=args.lead_angles, **terms)
    return charts.list(
        args.list,
        starts=options.teeth_from([args.starts], "--starts"),
        count=None if args.count is None else typed_whole(args.count, "--count"),
        fewest_changes=args.fewest_changes,
        tolerance=args.tolerance,
        length=args.length,
        **terms,
    )


def _unit(args: argparse.Namespace) -> str:
    """The unit of the shop that is named, else of the one that the chart was made for, else of the one there is."""
    from ..charts.saved import unit_of
    from ..shop.reader import load_shop

    return (None if args.shop else unit_of(args.file)) or load_shop(args.shop).units


def _look(args: argparse.Namespace, out: TextIO) -> int:
    from ..charts.looking import look_up
    from ..output.records import json_text
    from ..output.written import SCHEMA, written

    unit = _unit(args)
    wanted = parse_pitch(args.lead, unit, "--lead")
    found = look_up(args.file, wanted, typed_whole(args.count, "--count"), unit)
    rows = [{"schema": SCHEMA} | row for row in found.rows()]
    out.write(json_text(rows) if args.format == "json" else written(found, args.format))
    return 0 if found.is_near else 1


def _plot(args: argparse.Namespace) -> int:
    from ..base.files import check_all_writable, ending_of, replacing_all
    from ..output.drawing import density, papers

    endings, unit = [ending_of(name, *papers.ENDINGS) for name in args.out], _unit(args)
    check_all_writable(args.out, overwrite=args.overwrite)
    found = density.density_of(args.file)
    with papers.drawing(), replacing_all(args.out, overwrite=args.overwrite) as drafts:
        for draft, ending in zip(drafts, endings, strict=True):
            papers.save([density.density_figure(found, unit, args.paper)], draft, ending, found.facts.get("title", ""))
    options.tell_written(args.out)
    return 0


def _command(args: argparse.Namespace) -> str:
    words = ["gearsearch", "chart", args.kind, *([args.list] if args.kind == "list" else [])]
    usual = {_NAMED.get(name, name): args.parser.get_default(name) for name in _SAID}
    given = {_NAMED.get(name, name): getattr(args, name, args.parser.get_default(name)) for name in _SAID}
    return options.typed_again(words, given, usual)


def _parser(kinds: options.Subparsers, name: str, about: str) -> argparse.ArgumentParser:
    parser: argparse.ArgumentParser = kinds.add_parser(
        name,
        help=about,
        description=f"{about[0].upper()}{about[1:]}.",
        epilog=_examples_of(name),
    )
    parser.set_defaults(parser=parser)
    return parser


def _examples_of(kind: str) -> str:
    """The examples of one kind of chart, with what is said of all."""
    others = [f"gearsearch chart {other} " for other in KINDS if other != kind]
    return "\n".join(line for line in EXAMPLES.splitlines() if not any(other in line for other in others))


def _add_every(kinds: options.Subparsers) -> None:
    parser = _parser(kinds, "every", "every lead the gears give, with the best train for each hand")
    shortest = "shortest lead: 100mm, 4in, 11 tpi (all that can be reached)"
    parser.add_argument("--from", dest="low", metavar="L", help=shortest)
    parser.add_argument("--to", dest="high", metavar="L", help="longest lead, likewise")
    parser.add_argument("--thin", metavar="S", help="keep the easiest train of each step of this share: 0.1%%")
    parser.add_argument(
        "--all-arrangements", action="store_true", help="every order of every gear set that mounts (many rows)"
    )
    _add_common(parser)


def _add_list(kinds: options.Subparsers) -> None:
    parser = _parser(kinds, "list", "the best trains for each lead of a list")
    parser.add_argument(
        "list", metavar="LIST", help="a CSV file (name,wanted,tolerance), - for stdin, or a standard list"
    )
    parser.add_argument("--starts", metavar="N,…", default="1", help="starts of a standard list's threads: 1,2,3 (1)")
    parser.add_argument("--count", metavar="N", help="leads for each and each hand (3; printed: 1)")
    parser.add_argument(
        "--fewest-changes",
        action="store_true",
        help="keep each train on for as many leads as levers and routes allow; needs a tolerance",
    )
    options.add_tolerance(parser, "for leads without one of their own")
    parser.add_argument("--length", metavar="L", help="axial length of the cut, for the error over it")
    _add_common(parser)


def _add_grid(kinds: options.Subparsers) -> None:
    parser = _parser(kinds, "grid", "the train, its lead and its angle for each diameter and angle")
    parser.add_argument("--diameters", metavar="A:B:S", required=True, help="10:60:5 or 10,12,16; in the shop's unit")
    parser.add_argument("--helix-angles", metavar="A:B:S", help="angles from the work's AXIS: 10:45:5")
    parser.add_argument("--lead-angles", metavar="A:B:S", help="angles from SQUARE to the axis, instead")
    _add_common(parser)


def _add_look(kinds: options.Subparsers) -> None:
    parser = _parser(kinds, "look", "the neighbours of a lead in a saved chart")
    parser.add_argument("file", metavar="FILE", help="a .parquet or .csv file that gearsearch chart has written")
    parser.add_argument("--lead", metavar="L", required=True, help="the lead: 412mm, 16.2in, 11 tpi")
    parser.add_argument("--count", metavar="N", default="10", help="how many leads (10)")
    options.add_shop(parser)
    options.add_format(parser)


def _add_plot(kinds: options.Subparsers) -> None:
    parser = _parser(kinds, "plot", "how densely a saved chart of every lead covers the leads (needs matplotlib)")
    parser.add_argument("file", metavar="FILE", help="a .parquet file that gearsearch chart every has written")
    parser.add_argument(
        "--out",
        metavar="FILE",
        action="append",
        required=True,
        help="file to write: .svg, .png or .pdf; may be repeated",
    )
    options.add_paper(parser, "paper whose width the plot takes (A4)")
    parser.add_argument("--overwrite", action="store_true", help="replace files that are there")
    options.add_shop(parser)


def _add_common(parser: argparse.ArgumentParser) -> None:
    options.add_route_and_hand(parser)
    group = parser.add_argument_group("which trains")
    group.add_argument(
        "--pairs", metavar="N|A-B", default="1-2", help="pairs of gears: at most N, or from A to B (1-2)"
    )
    group.add_argument(
        "--mounting", choices=("must", "skip"), default="must", help="must: only trains that mount (default); skip"
    )
    options.add_without(group)
    group = parser.add_argument_group("where to, and how it is printed")
    group.add_argument(
        "--out",
        metavar="FILE",
        action="append",
        default=[],
        help="file to write: .parquet to search, .md or .pdf to print, .html for a tablet, .csv; may be repeated; "
        "without one, or with -, the chart is printed",
    )
    group.add_argument("--overwrite", action="store_true", help="replace files that are there")
    group.add_argument(
        "--resume", action="store_true", help="go on where the same command was broken off, with its finished slices"
    )
    options.add_paper(group, "paper to print on (A4)")
    group.add_argument("--landscape", action="store_true", help="landscape")
    group.add_argument("--rows", metavar="N", help="rows of the table on a page (as many as fit)")
    group.add_argument("--date", metavar="TEXT", default="", help="date for the heading, as you want it to read")
    options.add_cluster(parser)
    options.add_shop(parser)
