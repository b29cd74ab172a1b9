"""How a train may be made, and what follows from that, the part and the machine together."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, fields, replace
from fractions import Fraction
from functools import partial
from typing import Literal

from ..base import require
from ..base.errors import GearsearchError
from ..base.units import GREATEST_RATIO, INCH_MM, LEAST_RATIO, Value, decimal, parse_ratio, shown
from ..shop.gear_names import GearName, gear_names
from ..shop.shop import Shop
from ..shop.trains import HANDS, MOST_PAIRS
from ..work.lists import all_problems
from ..work.part import Blank, Part

Hand = Literal["right", "left", "either"]
Order = Literal["closest", "easiest"]
Mounting = Literal["must", "show", "skip"]
ORDERS = ("closest", "easiest")
MOUNTING = ("must", "show", "skip")
MOST_ANSWERS = 1000
PAIRS_TO_GIVE = f"give 1 to {MOST_PAIRS} pairs, as in --pairs 3 (at most) or --pairs 2-3"
_OF_ONE_LEAD = ("count", "order", "use", "greatest_pair_ratio", "greatest_step_up", "multiple")


@dataclass(frozen=True, slots=True)
class Terms:
    """How a train may be made, and which of the trains are told.

    Parameters
    ----------
    route : name of the route, of one position of its lever as ``gearbox:B``, or ``any`` for every route; None for the
        shop's first
    hand : ``right``, ``left`` or ``either``
    pairs : (least, most) pairs of a train, 1 to 4
    mounting : ``must`` (only trains that mount), ``show`` (others too, with the reason), ``skip`` (not judged);
        None: ``must``, but for a single lead ``show`` where the shop file has no quadrant to judge by
    without : gears in use elsewhere, one for each time it is named: ``60``, or ``60@m2`` where there are several kinds
    use : gears that every train must have as driver or driven, named likewise
    greatest_pair_ratio : no pair may step more than this, up or down; 1 or more
    greatest_step_up : the last shaft may turn at most this many times as fast as the first
    count : how many answers, 1 to 1000
    order : ``closest`` by error, or ``easiest``: fewest gears among those inside the tolerance
    multiple : the count of the gear by whose teeth the work is indexed must be a multiple of this: on a mill the last,
        by the route straight on the spindle, on a lathe the first; None: as the starts of the part ask

    Raises GearsearchError for what cannot be searched for, and for a number that is neither int nor Fraction.
    """

    route: str | None = None
    hand: str = "either"
    pairs: tuple[int, int] = (1, 2)
    mounting: str | None = None
    without: tuple[GearName, ...] = ()
    use: tuple[GearName, ...] = ()
    greatest_pair_ratio: Fraction | None = None
    greatest_step_up: Fraction | None = None
    count: int = 10
    order: str = "closest"
    multiple: int | None = None

    def __post_init__(self) -> None:
        keep = partial(object.__setattr__, self)
        keep("pairs", require.span(self.pairs, MOST_PAIRS, "pairs of a train", _NO_PAIRS, PAIRS_TO_GIVE))
        keep("count", require.whole(self.count, MOST_ANSWERS, "answers"))
        keep("use", gear_names(self.use, "gears to use"))
        keep("without", gear_names(self.without, "gears to do without", pieces=True))
        if self.multiple is not None:
            keep("multiple", require.whole(self.multiple, None, "teeth to be a multiple of"))
        require.one_of(self.hand, (*HANDS, "either"), "the hand")
        require.one_of(self.order, ORDERS, "the order")
        if self.mounting is not None:
            require.one_of(self.mounting, MOUNTING, "mounting")
        self._check_ratios()

    def _check_ratios(self) -> None:
        ratios = {"greatest_pair_ratio": "greatest ratio in one pair", "greatest_step_up": "greatest step-up"}
        require.kept_exact(self, **ratios)
        step, step_up = self.greatest_pair_ratio, self.greatest_step_up
        if step is not None and step < 1:
            raise GearsearchError(
                f"a greatest ratio in one pair of {step} cannot be searched for",
                "give 1 or more, as in 4 or 4:1",
                code="out-of-range",
            )
        if step_up is not None and not LEAST_RATIO <= step_up <= GREATEST_RATIO:
            raise GearsearchError(
                f"a greatest step-up of {shown(step_up)} cannot be searched for",
                "give 0.000000001 to 1 000 000 000",
                code="out-of-range",
            )

    def for_part(self, part: Blank, shop: Shop) -> Terms:
        """The same with the hand that the name of the part's thread tells, as in M12 LH.

        Raises GearsearchError where the other hand is asked for, for a tilt without a dividing head, and for a thread
        by name on a machine that cuts none with a tool of its form.
        """
        if not isinstance(part, Part):
            return self
        _check_machine(part, shop)
        thread = part.thread
        if thread is None or thread.hand in (None, self.hand):
            return self
        if self.hand != "either":
            raise GearsearchError(
                f"thread {shown(thread.name)} is of the {thread.hand} hand, and the {self.hand} hand is asked for",
                "leave --hand out, or name the thread without its hand",
                code="wrong-hand",
            )
        return replace(self, hand=thread.hand)

    def for_each(self, parts: Iterable[Part], shop: Shop) -> list[Terms]:
        """The same for each part of a list.

        Raises GearsearchError as ``for_part``, with every line of a file at once.
        """
        found, problems = [], []
        for part in parts:
            try:
                found.append(self.for_part(part, shop))
            except GearsearchError as error:
                if not part.found_at:
                    raise
                problems.append((f"{part.found_at}: {error.message}", error))
        if problems:
            told = [problem for problem, _ in problems]
            _, first = problems[0]
            raise GearsearchError(all_problems(told), first.remedy, code=first.code)
        return found

    def each_way(self, shop: Shop) -> list[Terms]:
        """The same terms for each single way that their route stands for, in the order of the shop file.

        Where several are asked for, a way whose hand is not known is left out if a hand is asked for.
        Raises GearsearchError for a route that is not there, and where no way is left.
        """
        ways = shop.ways(self.route)
        known = [way for way in ways if self.hand == "either" or way.hand_with_one_stud is not None]
        return [replace(self, route=way.call) for way in known or ways]

    @property
    def limits(self) -> list[str]:
        """What keeps trains out that the gears could make, in words."""
        named = {
            "greatest step-up": self.greatest_step_up,
            "greatest pair ratio": self.greatest_pair_ratio,
            "without": " ".join(map(str, self.without)),
            "use": " ".join(map(str, self.use)),
        }
        return [f"{name} {value}" for name, value in named.items() if value]

    def of_many_leads(self, what: str) -> Terms:
        """The same for ``what`` goes through many leads: trains must mount unless mounting is not judged.

        Raises GearsearchError for ``show``, and for what only a search for one lead goes by.
        """
        if self.mounting is not None:
            require.one_of(self.mounting, ("must", "skip"), "mounting")
        for usual in fields(self):
            if usual.name in _OF_ONE_LEAD and getattr(self, usual.name) != usual.default:
                raise GearsearchError(
                    f"{what} does not go by {usual.name.replace('_', ' ')}", "leave it out, or search for one lead"
                )
        return replace(self, mounting=self.mounting or "must")


def _check_machine(part: Part, shop: Shop) -> None:
    """Raise GearsearchError for a part that is not made on such a machine."""
    kind, another = shop.machine.kind, "name another shop with --shop"
    if part.tilt_deg is not None and not shop.machine.has_head:
        raise GearsearchError(
            f"--tilt belongs to a dividing head, and {shop.name} is a {kind}",
            f"leave it out, or {another}",
            code="wrong-machine",
        )
    if part.thread is not None and not shop.machine.counts_threads:
        raise GearsearchError(
            f"thread {shown(part.thread.name)} is asked for by name, as for a lathe, and {shop.name} is a {kind}",
            f"{_by_pitch(part, part.thread.hand)}, or {another}",
            code="wrong-machine",
        )


def _by_pitch(part: Part, hand: str | None) -> str:
    """How a thread is asked for by its pitch: by an option, or, where it stands in a list and has a name, as a text."""
    pitch = _typed_pitch(part.lead_mm / part.starts)
    if part.name:
        starts = f" x {part.starts} starts" if part.starts > 1 else ""
        return f"write its pitch, as in '{pitch.strip(chr(34))}{starts}'" + (f", with --hand {hand}" if hand else "")
    starts = f" --starts {part.starts}" if part.starts > 1 else ""
    return f"give its pitch, as in --thread {pitch}{starts}" + (f" --hand {hand}" if hand else "")


def _typed_pitch(pitch_mm: Fraction) -> str:
    """A pitch as it can be typed, exact: ``1.5mm``, or ``"11.5 tpi"``."""
    text = decimal(pitch_mm)
    return f"{text}mm" if Fraction(text) == pitch_mm else f'"{decimal(INCH_MM / pitch_mm)} tpi"'


_NO_PAIRS = "{} pairs cannot be searched for"


def multiple_of(shop: Shop, part: Part, terms: Terms) -> int:
    """What the count of the gear by whose teeth the work is indexed must be a multiple of.

    By a mill's route straight on the head spindle, several starts are indexed by the teeth of the last gear, whose
    count must then be a multiple of them (Practical Treatise on Milling and Milling Machines, Brown & Sharpe, 1914,
    p. 63). Raises GearsearchError for a route that is not there.
    """
    route = shop.route(terms.route)
    if terms.multiple is not None:
        return terms.multiple
    return shop.machine.multiple(route, part.starts) if shop.machine.by_teeth(route, shop.dividing) else 1


def cam_mm(shop: Shop, part: Part) -> Fraction | None:
    """The rise in one turn [mm] of a cam for which the head may be tilted; None where that would not help.

    Any train whose lead is no shorter is exact at a tilt of its own. Trains are judged at the tilt that was asked for,
    so that those with a tilt near to it come first, and each is told its own.
    """
    return part.work_lead_mm if shop.machine.has_head and part.may_be_cam else None


def terms_of(
    route: str | None = None,
    hand: str = "either",
    pairs: int | tuple[int, int] = 2,
    mounting: str | None = None,
    without: Iterable[GearName] = (),
    use: Iterable[GearName] = (),
    greatest_pair_ratio: Value | None = None,
    greatest_step_up: Value | None = None,
    count: int = 10,
    order: str = "closest",
) -> Terms:
    """Terms from the values that a call from Python takes; one number of pairs means at most so many."""
    names = gear_names(without, "gears to do without", pieces=True), gear_names(use, "gears to use")
    ratios = {"--greatest-pair-ratio": greatest_pair_ratio, "--greatest-step-up": greatest_step_up}
    step, step_up = (None if value is None else parse_ratio(value, name) for name, value in ratios.items())
    span = (1, pairs) if isinstance(pairs, int) else pairs
    return Terms(route, hand, span, mounting, *names, step, step_up, count, order)
