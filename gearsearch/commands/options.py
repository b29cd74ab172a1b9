"""Options that several commands share, and the requests they make."""

from __future__ import annotations

import argparse
import os
import re
import shlex
import sys
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

from ..base import require
from ..base.errors import GearsearchError
from ..base.require import typed_whole
from ..base.units import PAPERS_MM
from ..shop.trains import HANDS

if TYPE_CHECKING:
    from concurrent.futures import Executor
    from pathlib import Path

    from ..shop.gear_names import GearName
    from ..work.wanted import Wanted
    from ..workshop import Workshop
    from .parser import Parser

    Subparsers = argparse._SubParsersAction[Parser]  # what the kinds of a command are added to

PAPERS = tuple(PAPERS_MM)


def add_wanted(parser: argparse.ArgumentParser) -> None:
    """The options that say which lead the part needs: those of every form of wanted lead."""
    from ..work.asking import options

    group = parser.add_argument_group("the lead the part needs, in one of these ways")
    for option in options():
        group.add_argument(option.typed, metavar=option.metavar, help=option.help)


def workshop_from(args: argparse.Namespace) -> Workshop:
    """The shop that is named, whose refusals then name options as they are typed."""
    return workshop_of(args.shop)


def workshop_of(name: str | None) -> Workshop:
    """The shop of a file; None for the one there is."""
    from ..shop.reader import load_shop
    from ..workshop import Workshop

    return Workshop(load_shop(name))


def wanted_from(args: argparse.Namespace) -> Wanted:
    """The wanted lead as typed."""
    from ..work.asking import options
    from ..work.wanted import Wanted

    typed = {option.name: getattr(args, option.name) for option in options()}
    return Wanted({name: value for name, value in typed.items() if value is not None})


def asks_for_lead(args: argparse.Namespace) -> bool:
    """Whether a lead is asked for; a diameter alone only asks which angles a train cuts there."""
    return bool(wanted_from(args).values.keys() - {"diameter"})


def add_shop(parser: argparse.ArgumentParser) -> None:
    """The option that names the shop file."""
    parser.add_argument(
        "--shop",
        metavar="FILE",
        help="shop file; else $GEARSEARCH_SHOP, else shop.toml in this folder, else the built-in demo shop",
    )


def add_cluster(parser: argparse.ArgumentParser) -> None:
    """The option that shares long work among machines."""
    parser.add_argument(
        "--cluster",
        metavar="ADDRESS",
        help="share the work among the workers of a dask cluster: host:port of its scheduler; else $GEARSEARCH_CLUSTER",
    )


@contextmanager
def executor_from(args: argparse.Namespace) -> Iterator[Executor]:
    """Who does long work: the cluster that is named, or the cores here."""
    address = os.environ.get("GEARSEARCH_CLUSTER") or None if args.cluster is None else args.cluster
    from ..base.cluster import Cluster
    from ..base.sharing import Growing

    with Growing() if address is None else Cluster(address) as executor:
        yield executor


def add_format(parser: argparse.ArgumentParser) -> None:
    """The option that chooses between a table for people and two formats for programs."""
    parser.add_argument(
        "--format", choices=("table", "json", "csv"), default="table", help="table for people (default), json or csv"
    )


def add_full(parser: argparse.ArgumentParser) -> None:
    """The option that shows the details too."""
    parser.add_argument("--full", action="store_true", help="all details")


def refuse_idle_full(args: argparse.Namespace) -> None:
    """Refuse ``--full`` for a program, which gets all of it."""
    if args.format != "table":
        refuse_idle(args, {"full": False}, f"with --format {args.format}, which holds all of it", "leave it out")


def add_route(parser: argparse._ActionsContainer) -> None:
    """The option that says how the train reaches the work."""
    parser.add_argument(
        "--route",
        metavar="NAME",
        help="route of the shop file, or any for every route at once; the file's first is the default",
    )


def add_route_and_hand(parser: argparse._ActionsContainer) -> None:
    """The options that say how the train reaches the work and which hand is cut."""
    add_route(parser)
    parser.add_argument(
        "--hand",
        type=hand_from,
        choices=(*HANDS, "either"),
        default="either",
        help="hand of the helix; either: each answer says which",
    )


def typed_again(words: Sequence[str], values: Mapping[str, Any], usual: Mapping[str, Any]) -> str:
    """A command as it may be typed again, less the options that are left as they are.

    Parameters
    ----------
    words : the command, and what has no option
    values, usual : of the options by name, as given and as left out; a list is typed one by one, a pair together
    """
    typed = [*words]
    for name, value in values.items():
        option = "--" + name.replace("_", "-")
        if value is True:
            typed.append(option)
        elif value != usual.get(name):
            for one in value if isinstance(value, list) else [value]:
                told = [one] if isinstance(one, str) else one
                typed += [f"{option}={one}"] if told[0].startswith("-") else [option, *told]
    return shlex.join(typed)


def hand_from(text: str) -> str:
    """A hand in full, as it is typed in short too: R, RH, right-hand."""
    word = text.strip().lower().removesuffix("-hand").removesuffix(" hand")
    return {"r": "right", "rh": "right", "l": "left", "lh": "left"}.get(word, word)


def add_paper(parser: argparse._ActionsContainer, about: str) -> None:
    """The paper that is printed on, in capitals or not."""
    parser.add_argument("--paper", type=str.capitalize, choices=PAPERS, default=PAPERS[0], help=about)


def refuse_idle(args: argparse.Namespace, usual: Mapping[str, object], without: str, remedy: str) -> None:
    """Raise GearsearchError for an option that would change nothing.

    Parameters
    ----------
    args : the options as parsed
    usual : names of options, each with its value where it is left out
    without : why they change nothing, in words that follow "does nothing"
    remedy : what would make them do something
    """
    require.none_idle({name: getattr(args, name) != value for name, value in usual.items()}, without, remedy)


def outs_from(names: Sequence[str]) -> tuple[list[str], bool]:
    """The files that ``--out`` names, and whether the answer is printed: with ``-``, and where no file is named."""
    files = [name for name in names if name != "-"]
    return files, not files or len(files) < len(names)


def tell_written(names: Iterable[str | Path], more: str = "") -> None:
    """Say on stderr, beside the answer, which files are there now."""
    from ..base.files import legible

    for name in names:
        tell(f"written: {legible(str(name))}{more}")


def tell(text: str) -> None:
    """Say something beside the answer."""
    print(text, file=sys.stderr)


def add_without(parser: argparse._ActionsContainer) -> None:
    """The option that names gears to do without."""
    parser.add_argument(
        "--without",
        metavar="GEAR",
        action="append",
        default=[],
        help="a gear in use elsewhere: 40, or 40@m2 of one kind of tooth; 40+60, a joined piece; may be repeated",
    )


def add_search(parser: argparse.ArgumentParser, *, count: bool = True) -> None:
    """The options that choose among trains; ``count`` where several are answered."""
    from ..search.terms import MOUNTING, ORDERS

    add_route_and_hand(parser)
    group = parser.add_argument_group("which trains")
    group.add_argument(
        "--pairs", metavar="N|A-B", default="1-2", help="pairs of gears: at most N, or from A to B (1-2)"
    )
    if count:
        group.add_argument("--count", metavar="N", default="10", help="how many answers (10)")
    group.add_argument(
        "--order",
        choices=ORDERS,
        default="closest",
        help="closest to the wanted lead, or easiest of those inside the tolerance",
    )
    group.add_argument(
        "--mounting",
        choices=MOUNTING,
        help="must: only those that mount (default with a quadrant); show: others too, with the reason; skip",
    )
    group.add_argument(
        "--use",
        metavar="GEAR",
        action="append",
        default=[],
        help="a gear every train must have: 40, or 40@m2 of one kind of tooth; may be repeated",
    )
    add_without(group)
    group.add_argument(
        "--greatest-pair-ratio", metavar="R", help="no pair may step more than this, up or down: 4 or 4:1"
    )
    group.add_argument(
        "--greatest-step-up", metavar="R", help="the last shaft may turn at most this many times as fast as the first"
    )


def pairs_from(text: str) -> tuple[int, int]:
    """(least, most) pairs of a train as typed: at most N, or A-B."""
    least, dash, most = text.partition("-")
    return (typed_whole(least, "--pairs"), typed_whole(most, "--pairs")) if dash else (1, typed_whole(least, "--pairs"))


def gears_from(words: list[str], name: str) -> tuple[GearName, ...]:
    """Gears as typed, each a tooth count, with its kind of tooth where a shop has several, as in 60@m2."""
    typed = [part for word in words for part in re.split(r"[\s,]+", word.strip()) if part]
    for part in typed:
        if not re.fullmatch(r"[0-9]{1,9}(?:\+[0-9]{1,9})?(?:@[\w.]+)?", part) or ("+" in part and name != "--without"):
            raise GearsearchError(
                f"{name} {part[:40]!r} is not the tooth count of a gear",
                f"write it as in {name} 40, or {name} 40@m2 where the shop has several kinds of tooth",
                code="not-whole",
            )
    return tuple(int(part) if part.isdigit() else part for part in typed)


def teeth_from(words: list[str], name: str) -> tuple[int, ...]:
    """Tooth counts as typed, parted by blanks or commas, over several uses of an option."""
    return tuple(typed_whole(part, name) for word in words for part in re.split(r"[\s,]+", word.strip()) if part)


def add_judging(parser: argparse.ArgumentParser) -> None:
    """The options that say what the error does to the part."""
    group = parser.add_argument_group("what the error does to the part")
    group.add_argument("--length", metavar="L", help="axial length of the cut")
    add_tolerance(group, "how far off the lead may be, around and helix with --diameter")


def add_tolerance(parser: argparse._ActionsContainer, about: str, default: str | None = None) -> None:
    """The option that says how far off a lead may be, with every form of it."""
    from ..work.tolerance import spellings

    said = f"{about}: {spellings()}".replace("%", "%%")
    parser.add_argument("--tolerance", metavar="T", default=default, help=said)
