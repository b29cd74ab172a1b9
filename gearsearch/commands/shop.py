"""``gearsearch shop``: write a shop file, read one back, or tell what to measure."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING, TextIO

from . import options
from .parser import Parser

if TYPE_CHECKING:
    from ..shop.shop import Shop

EXAMPLES = """\
examples:
  gearsearch shop new                  write shop.toml here: the demo shop, with
                                       notes on what to put in its place
  gearsearch shop new mill.toml        the same under another name
  gearsearch shop show                 what your gears reach, and what is missing
  gearsearch shop show --shop mill.toml --format json
  gearsearch shop show --picture bracket.svg
                                       your quadrant, drawn to scale
  gearsearch shop measure              what to measure on the quadrant"""


def add(parser: Parser) -> None:
    """Say what the command is for, and add its options."""
    parser.description = "The shop file: your machine, your gears and your quadrant."
    parser.epilog = EXAMPLES
    actions = parser.add_subparsers(dest="action", metavar="ACTION", title="actions", required=True)
    _add_new(actions)
    _add_show(actions)
    actions.add_parser(
        "measure",
        help="print how to measure the quadrant",
        description="What to measure on the quadrant, with what, and the tables to write.",
        epilog="example:\n  gearsearch shop measure > measure.txt",
    )


def run(args: argparse.Namespace, out: TextIO) -> int:
    """Answer the command; 0 when done."""
    actions = {"new": _new, "show": _show, "measure": _measure}
    return actions[args.action](args, out)


def _add_new(actions: options.Subparsers) -> None:
    new = actions.add_parser(
        "new",
        help="write a shop file to fill in",
        description="Write a shop file to fill in: the demo shop, every line explained.",
        epilog="example:\n  gearsearch shop new mill.toml",
    )
    new.add_argument(
        "file", metavar="FILE", nargs="?", default="shop.toml", help="the file to write (default: shop.toml)"
    )
    new.add_argument("--overwrite", action="store_true", help="replace the file if it is there already")


def _add_show(actions: options.Subparsers) -> None:
    show = actions.add_parser(
        "show",
        help="what your gears reach, and what is missing",
        description="Read a shop file back: leads of the machine, gears, trains, leads in reach, and what is missing.",
        epilog="example:\n  gearsearch shop show --shop mill.toml",
    )
    options.add_shop(show)
    options.add_format(show)
    show.add_argument(
        "--picture", metavar="FILE", help="also draw the bracket with its slots to scale (.svg, .png or .pdf)"
    )
    show.add_argument("--overwrite", action="store_true", help="replace the picture if it is there already")


def _new(args: argparse.Namespace, out: TextIO) -> int:
    from shlex import quote

    from ..base.files import write_text
    from ..shop.reader import DEFAULT_FILE, DEMO_TEXT

    write_text(args.file, DEMO_TEXT, overwrite=args.overwrite)
    named = "" if args.file == DEFAULT_FILE else f" --shop {quote(args.file)}"
    print(f"put your own machine into the file, then: gearsearch shop show{named}", file=out)
    options.tell_written([args.file])
    return 0


def _show(args: argparse.Namespace, out: TextIO) -> int:
    from ..output.written import written
    from ..shop.overview import overview
    from ..shop.reader import load_shop

    shop = load_shop(args.shop)
    if args.picture:
        _draw(shop, args.picture, overwrite=args.overwrite)
    else:
        options.refuse_idle(args, {"overwrite": False}, "without a picture to write", "add --picture FILE")
    out.write(written(overview(shop), args.format))
    return 0


def _draw(shop: Shop, name: str, *, overwrite: bool) -> None:
    from ..base.files import ending_of, replacing_all
    from ..output.drawing import papers

    ending = ending_of(name, *papers.ENDINGS)
    with papers.drawing():
        from ..output.drawing.bracket_view import bracket_figure

        figure = bracket_figure(shop)
        with replacing_all([name], overwrite=overwrite) as (draft,):
            papers.save([figure], draft, ending, f"The quadrant of {shop.name}")


def _measure(_args: argparse.Namespace, out: TextIO) -> int:
    from ..shop.measuring import PAGE, SLOTS_PAGE

    out.write(f"{PAGE}\n\n{SLOTS_PAGE}")
    return 0
