"""A train of change gears: its pairs in power order, its idlers, its ratio and its notation."""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from math import prod

from ..base import require
from ..base.errors import TrainError
from ..base.pattern import Pattern
from ..base.require import is_whole
from ..base.units import shown

HANDS = ("right", "left")
MOST_PAIRS = 4
_SEPARATORS = re.compile(r"[\s,;x×*·]+", re.IGNORECASE)
_PAIR = Pattern(r"([0-9]+)[/:]((?:\([0-9]+\)[/:])*)([0-9]+)(?:@([\w.]+))?")
_ROW = Pattern(r"[0-9]+(?:-[0-9]+)+")


@dataclass(frozen=True, slots=True, order=True)
class Pair:
    """One driver, the idlers it turns, and the driven gear they turn; all of one kind of tooth.

    Parameters
    ----------
    driver, driven : tooth counts
    idlers : tooth counts between the two, in power order
    kind : the tag of their kind of tooth, empty where the shop has only one
    """

    driver: int
    driven: int
    idlers: tuple[int, ...] = ()
    kind: str = ""

    def __post_init__(self) -> None:
        for teeth in (self.driver, self.driven, *self.idlers):
            if not is_whole(teeth):
                raise TrainError(f"a gear cannot have {shown(teeth)} teeth", "give a whole number of teeth")
            if teeth < 1:
                raise TrainError(f"a gear cannot have {teeth} teeth", "give tooth counts of at least 1")
        object.__setattr__(self, "driver", int(self.driver))
        object.__setattr__(self, "driven", int(self.driven))
        object.__setattr__(self, "idlers", tuple(map(int, self.idlers)))

    def __str__(self) -> str:
        between = "".join(f"({teeth})/" for teeth in self.idlers)
        tag = f"@{self.kind}" if self.kind else ""
        return f"{self.driver}/{between}{self.driven}{tag}"


@dataclass(frozen=True, slots=True, order=True)
class Train:
    """Pairs in power order; two trains are equal when gears, idlers and their places are equal.

    The driven gear of a pair and the driver of the next share a stud. ``str(train)`` is the notation
    ``40/(56)/72 32/48``, which ``Train.parse`` reads back.
    """

    pairs: tuple[Pair, ...]

    def __post_init__(self) -> None:
        if not isinstance(self.pairs, tuple) or not all(isinstance(pair, Pair) for pair in self.pairs):
            raise TrainError(f"a train cannot be {shown(self.pairs)}", "read it with Train.parse('48/36')")
        if not self.pairs:
            raise TrainError("a train needs gears, and has none", "give at least one pair, as in 40/72")

    @property
    def drivers(self) -> tuple[int, ...]:
        """Tooth counts of the drivers, in power order."""
        return tuple(pair.driver for pair in self.pairs)

    @property
    def driven(self) -> tuple[int, ...]:
        """Tooth counts of the driven gears, in power order."""
        return tuple(pair.driven for pair in self.pairs)

    @property
    def idlers(self) -> tuple[int, ...]:
        """Tooth counts of all idlers, in power order."""
        return tuple(teeth for pair in self.pairs for teeth in pair.idlers)

    @property
    def gears(self) -> int:
        """How many gears set the ratio: drivers and driven, without the idlers."""
        return 2 * len(self.pairs)

    @property
    def studs(self) -> int:
        """How many studs stand between the first and the last shaft."""
        return len(self.pairs) - 1 + len(self.idlers)

    @property
    def ratio(self) -> Fraction:
        """Turns of the first shaft for one turn of the last: product of driven over product of drivers."""
        return Fraction(prod(self.driven), prod(self.drivers))

    @property
    def wheels(self) -> tuple[tuple[str, int], ...]:
        """Every wheel as (kind tag, tooth count), in power order, idlers included."""
        return tuple((pair.kind, teeth) for pair in self.pairs for teeth in (pair.driver, *pair.idlers, pair.driven))

    @property
    def order(self) -> tuple[int, ...]:
        """Tooth counts and idlers in power order: the last tie-break of every list of trains."""
        return (*self.drivers, *self.driven, *self.idlers)

    def __str__(self) -> str:
        return " ".join(str(pair) for pair in self.pairs)

    @classmethod
    def parse(cls, text: str) -> Train:
        """Read a train as typed: pairs ``driver/driven`` in power order, idlers in brackets between.

        Parameters
        ----------
        text : ``100/24 32/48``; pairs may also be parted by a comma, ``x``, ``*`` or ``×``, and written ``100:24``

        Raises GearsearchError for anything else, naming the part that cannot be read.
        """
        tight = re.sub(r"\s*([/:])\s*", r"\1", require.text(text, "train").strip())
        parts = [part for part in _SEPARATORS.split(tight) if part]
        if not parts:
            raise TrainError("the train is empty", "write pairs driver/driven in power order, as in 100/24 32/48")
        return cls(tuple(_parse_pair(part) for part in parts))


def is_pair(text: str) -> bool:
    """Whether a text is one pair of a train as typed, ``40/(56)/72``."""
    return _PAIR.fullmatch(text) is not None


def _parse_pair(text: str) -> Pair:
    match = _PAIR.fullmatch(text)
    if match is None or len(text) > 200:
        if _ROW.fullmatch(text) and len(text) <= 200:
            raise TrainError(
                f"{text[:60]!r} does not tell which gear drives which",
                f"write pairs driver/driven in power order, as in {_paired(text)}",
            )
        raise TrainError(
            f"{text[:60]!r} is not a pair of gears",
            "write pairs driver/driven in power order, idlers in brackets between: 100/24 32/48 or 40/(56)/72",
        )
    driver, idlers, driven, kind = match.groups()
    return Pair(int(driver), int(driven), tuple(int(i) for i in re.findall(r"[0-9]+", idlers)), kind or "")


def _paired(row: str) -> str:
    """A row of gears in pairs, where it can be one: ``40-60-50-80`` as ``40/60 50/80``."""
    gears = row.split("-")
    if len(gears) % 2:
        return "100/24 32/48"
    return " ".join(f"{driver}/{driven}" for driver, driven in zip(gears[::2], gears[1::2], strict=True))


def other_hand(hand: str) -> str:
    """The hand that one more mesh gives: left for right, right for left."""
    return HANDS[1 - HANDS.index(hand)]


def hand_of(studs: int, hand_with_one_stud: str | None, wanted: str = "either") -> str | None:
    """The hand a train cuts, from the number of its studs; None when the machine's hand is not known.

    Parameters
    ----------
    studs : studs between the first and the last shaft, ``Train.studs``
    hand_with_one_stud : ``right``, ``left`` or ``either``, as the route has it; None where it is not known
    wanted : the hand that is wanted, which a lever gives

    Where ``hand_with_one_stud`` is ``either``, a lever of the machine reverses the train: it cuts the wanted hand.
    Each mesh reverses, so the hand is that of one stud when the number of studs is odd, else the other.
    Limits: every mesh is external; chains and internal gears are not counted. Common practice, no source.
    """
    if hand_with_one_stud is None:
        return None
    if hand_with_one_stud == "either":
        return wanted
    return hand_with_one_stud if studs % 2 else other_hand(hand_with_one_stud)
