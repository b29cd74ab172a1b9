"""Options that several commands share, and the requests they make."""

from __future__ import annotations

import argparse
import re
from collections.abc import Mapping
from dataclasses import replace
from fractions import Fraction
from typing import TYPE_CHECKING, Any

from ..base.errors import GearsearchError
from ..base.units import PAPERS_MM, parse_length, parse_ratio
from ..search.terms import MOUNTING, ORDERS, Terms
from ..shop.trains import HANDS

if TYPE_CHECKING:
    from ..shop.shop import Shop
    from ..work.part import Blank, Part
    from ..work.tolerance import Tolerance

PAPERS = tuple(PAPERS_MM)
_SOURCES = (
    ("lead", "--lead"),
    ("lead_angle", "--lead-angle"),
    ("rise", "--rise"),
    ("thread", "--thread"),
    ("worm_module", "--worm-module"),
    ("worm_dp", "--worm-dp"),
    ("gear_module", "--gear-module"),
    ("gear_dp", "--gear-dp"),
)
_COMPANIONS = (
    ("diameter", "--diameter"),
    ("per", "--per"),
    ("starts", "--starts"),
    ("teeth", "--teeth"),
    ("tilt", "--tilt"),
)


def add_wanted(parser: argparse.ArgumentParser) -> None:
    """The options that say which lead the part needs."""
    group = parser.add_argument_group("the lead the part needs, in one of these ways")
    group.add_argument("--lead", metavar="L", help="the lead: 412.5mm, 3.6in; a bare number is in the shop's unit")
    group.add_argument(
        "--helix-angle", metavar="A", help="angle from the work's AXIS (flutes, gears), with --diameter or a gear"
    )
    group.add_argument(
        "--lead-angle", metavar="A", help="angle from SQUARE to the axis (threads, ramps, worms), with --diameter"
    )
    group.add_argument("--diameter", metavar="D", help="the diameter that angles and errors belong to")
    group.add_argument("--rise", metavar="H", help="rise of a ramp or cam over part of a turn, with --per")
    group.add_argument("--per", metavar="A", help="the arc the rise takes: 5.8 (degrees), 5d48m, '0.29 turns'")
    group.add_argument("--thread", metavar="P", help="thread: 1.5mm, '13 tpi', M12x1.75 or 1/2-13, with --starts")
    group.add_argument("--worm-module", metavar="M", help="axial module of a worm [mm], with --starts")
    group.add_argument("--worm-dp", metavar="P", help="diametral pitch of a worm, with --starts")
    group.add_argument("--starts", metavar="N", help="how many helices side by side (1)")
    group.add_argument(
        "--gear-module", metavar="M", help="normal module of a helical gear [mm], with --teeth and --helix-angle"
    )
    group.add_argument("--gear-dp", metavar="P", help="normal diametral pitch of a helical gear, likewise")
    group.add_argument("--teeth", metavar="Z", help="teeth of the helical gear")
    group.add_argument(
        "--tilt",
        metavar="A",
        help="angle of the head from the table, for short leads and cams (lead = geared lead × sin)",
    )


def wanted_from(args: argparse.Namespace, shop: Shop) -> Part:
    """The wanted lead that the options make. Raises GearsearchError unless it is given in just one way."""
    from ..work import leads

    wanted = _wanted_on_the_work(args, shop)
    if args.diameter is not None:
        wanted = wanted.at(parse_length(args.diameter, shop.units, "--diameter"))
    if args.tilt is None:
        return wanted
    given = _given(args)[0]
    if not shop.machine.has_head:
        raise GearsearchError(
            f"--tilt belongs to a dividing head, and {shop.name} is a {shop.machine.kind}",
            "leave it out, or name another shop with --shop",
        )
    if given not in ("--lead", "--rise"):
        raise GearsearchError(
            f"--tilt does not belong to {given}: a tilted head cuts the rise of a cam, and no helix along the work",
            "leave it out, or give the rise of the cam with --lead or --rise and --per",
        )
    return leads.tilted(wanted, args.tilt)


def part_from(args: argparse.Namespace, shop: Shop) -> Part:
    """The part that the options make. Raises GearsearchError as ``wanted_from``."""
    return replace(
        wanted_from(args, shop),
        length_mm=length_from(args, shop),
        tolerance=tolerance_from(args, shop),
        accuracy=_accuracy(args),
    )


def blank_from(args: argparse.Namespace, shop: Shop) -> Blank:
    """What the options tell of the work where they ask for no lead.

    Raises GearsearchError for a tolerance or an accuracy class, which belong to a lead.
    """
    from ..work.part import Blank, no_gear

    diameter = None if args.diameter is None else parse_length(args.diameter, shop.units, "--diameter")
    blank = Blank(diameter_mm=diameter, length_mm=length_from(args, shop))
    if (accuracy := _accuracy(args)) is not None:
        raise no_gear(accuracy)
    if tolerance_from(args, shop) is not None:
        raise GearsearchError(
            "a tolerance is given without the lead it belongs to", "add the lead, as in --lead 412.5mm"
        )
    return blank


def _accuracy(args: argparse.Namespace) -> int | None:
    from ..work.accuracy import accuracy_class

    given = getattr(args, "accuracy", None)
    return None if given is None else accuracy_class(whole(given, "--accuracy"))


def has_wanted(args: argparse.Namespace) -> bool:
    """Whether any option about the wanted lead is there, be it one that gives no lead on its own."""
    return bool(_given(args)) or any(getattr(args, name) is not None for name, _ in _COMPANIONS)


def _given(args: argparse.Namespace) -> list[str]:
    given = [option for name, option in _SOURCES if getattr(args, name) is not None]
    is_gear = args.gear_module is not None or args.gear_dp is not None
    return given if args.helix_angle is None or is_gear else [*given, "--helix-angle"]


def _wanted_on_the_work(args: argparse.Namespace, shop: Shop) -> Part:
    from ..work import leads

    given = _given(args)
    if not given:
        alone = [option for name, option in _COMPANIONS if getattr(args, name) is not None]
        without = f": {' and '.join(alone)} alone will not do" if alone else ""
        raise GearsearchError(
            f"no lead was asked for{without}", "give one as in --lead 412.5mm, or --helix-angle 20 --diameter 50mm"
        )
    if len(given) > 1:
        raise GearsearchError(f"the lead is given in {len(given)} ways: {', '.join(given)}", "keep one of them")
    _refuse_what_does_not_belong(args, given[0])
    starts, unit = whole(args.starts or "1", "--starts"), shop.units
    match given[0]:
        case "--lead":
            return leads.from_lead(args.lead, unit, starts)
        case "--helix-angle":
            return leads.from_helix_angle(args.helix_angle, args.diameter, unit, starts)
        case "--lead-angle":
            return leads.from_lead_angle(args.lead_angle, args.diameter, unit, starts)
        case "--rise":
            return leads.from_rise(args.rise, args.per, unit)
        case "--thread":
            return leads.from_thread(args.thread, starts if args.starts else None, unit)
        case "--worm-module":
            return leads.from_worm_module(args.worm_module, starts, unit)
        case "--worm-dp":
            return leads.from_worm_dp(args.worm_dp, starts)
    if args.teeth is None:
        raise GearsearchError("a helical gear needs its tooth count, and none is given", "add it, as in --teeth 23")
    return leads.from_gear(
        whole(args.teeth, "--teeth"),
        args.helix_angle,
        module=args.gear_module,
        diametral_pitch=args.gear_dp,
    )


def _refuse_what_does_not_belong(args: argparse.Namespace, given: str) -> None:
    if args.per is not None and given != "--rise":
        raise GearsearchError(f"--per belongs to --rise, not to {given}", "leave it out, or give --rise")
    if args.teeth is not None and not given.startswith("--gear"):
        raise GearsearchError(
            f"--teeth belongs to a helical gear, not to {given}", "leave it out, or give --gear-module or --gear-dp"
        )
    if args.starts is not None and given in ("--rise", "--gear-module", "--gear-dp"):
        raise GearsearchError(f"--starts does not belong to {given}", "leave it out")
    if args.diameter is not None and given.startswith("--gear"):
        raise GearsearchError(
            "--diameter does not belong to a helical gear, which has its own pitch diameter", "leave --diameter out"
        )


def add_shop(parser: argparse.ArgumentParser) -> None:
    """The option that names the shop file."""
    parser.add_argument(
        "--shop",
        metavar="FILE",
        help="shop file; else $GEARSEARCH_SHOP, else shop.toml in this folder, else the built-in demo shop",
    )


def add_format(parser: argparse.ArgumentParser) -> None:
    """The option that chooses between a table for people and two formats for programs."""
    parser.add_argument(
        "--format", choices=("table", "json", "csv"), default="table", help="table for people (default), json or csv"
    )


def add_route_and_hand(parser: argparse.ArgumentParser) -> None:
    """The options that say how the train reaches the work and which hand is cut."""
    parser.add_argument("--route", metavar="NAME", help="route of the shop file; its first is the default")
    parser.add_argument(
        "--hand",
        type=hand_from,
        choices=(*HANDS, "either"),
        default="either",
        help="hand of the helix; either: each answer tells",
    )


def hand_from(text: str) -> str:
    """A hand in full, as it is typed in short too: R, RH, right-hand."""
    word = text.strip().lower().removesuffix("-hand").removesuffix(" hand")
    return {"r": "right", "rh": "right", "l": "left", "lh": "left"}.get(word, word)


def add_paper(parser: Any, about: str) -> None:
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
    for name, value in usual.items():
        if getattr(args, name) != value:
            option = "--" + name.replace("_", "-")
            raise GearsearchError(
                f"{option} does nothing {without}", f"{remedy}, or leave {option} out", code="idle-option"
            )


def add_search(parser: argparse.ArgumentParser, *, count: bool = True) -> None:
    """The options that choose among trains; ``count`` where several are answered."""
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
        "--use", metavar="TEETH", action="append", default=[], help="a gear every train must have; may be repeated"
    )
    group.add_argument(
        "--without", metavar="TEETH", action="append", default=[], help="a gear in use elsewhere; may be repeated"
    )
    group.add_argument(
        "--greatest-pair-ratio", metavar="R", help="no pair may step more than this, up or down: 4 or 4:1"
    )
    group.add_argument(
        "--greatest-step-up", metavar="R", help="the last shaft may turn at most this many times as fast as the first"
    )


def terms_from(args: argparse.Namespace) -> Terms:
    """The terms that the options of every command about trains make."""
    return Terms(
        route=args.route,
        hand=args.hand,
        pairs=pairs_from(args.pairs),
        mounting=args.mounting,
        without=teeth_from(args.without, "--without"),
    )


def search_terms_from(args: argparse.Namespace) -> Terms:
    """The terms that the options of a search for one lead make."""
    return replace(
        terms_from(args),
        count=whole(args.count, "--count"),
        order=args.order,
        use=teeth_from(args.use, "--use"),
        greatest_pair_ratio=_ratio(args.greatest_pair_ratio, "--greatest-pair-ratio"),
        greatest_step_up=_ratio(args.greatest_step_up, "--greatest-step-up"),
    )


def whole(text: str, name: str, example: str = "3") -> int:
    """A whole number as typed. Raises GearsearchError naming the option, with how it is written."""
    if re.fullmatch(r"[+-]?[0-9]{1,9}", text.strip()) is None:
        raise GearsearchError(
            f"{name} {text[:40]!r} is not a whole number", f"write it as in {name} {example}", code="not-whole"
        )
    return int(text)


def pairs_from(text: str) -> tuple[int, int]:
    """(least, most) pairs of a train as typed: at most N, or A-B."""
    least, dash, most = text.partition("-")
    return (whole(least, "--pairs"), whole(most, "--pairs")) if dash else (1, whole(least, "--pairs"))


def teeth_from(words: list[str], name: str) -> tuple[int, ...]:
    """Tooth counts as typed, parted by blanks or commas, over several uses of an option."""
    return tuple(whole(part, name) for word in words for part in re.split(r"[\s,]+", word.strip()) if part)


def _ratio(text: str | None, name: str) -> Fraction | None:
    return None if text is None else parse_ratio(text, name)


def add_judging(parser: argparse.ArgumentParser) -> None:
    """The options that say what the error does to the part."""
    group = parser.add_argument_group("what the error does to the part")
    group.add_argument("--length", metavar="L", help="axial length of the cut")
    group.add_argument(
        "--tolerance",
        metavar="T",
        help="0.05mm of lead, +0.1/-0mm, 200ppm, 0.1%%, 0.5mm/m, '0.02mm over 60mm', '0.1deg over 60mm', and with "
        "--diameter '0.05mm around over 60mm' or '0.05deg helix'",
    )


def length_from(args: argparse.Namespace, shop: Shop) -> Fraction | None:
    """The axial length of the cut [mm], where it was given."""
    return None if args.length is None else parse_length(args.length, shop.units, "--length")


def tolerance_from(args: argparse.Namespace, shop: Shop) -> Tolerance | None:
    """What the lead on the work may be off, where a tolerance was given."""
    from ..work.tolerance import Tolerance

    return None if args.tolerance is None else Tolerance.parse(args.tolerance, shop.units)
