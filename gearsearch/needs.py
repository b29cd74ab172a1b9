"""The leads that matter to a shop, and the terms under which trains for them may be built."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from .answers import PAIRS_TO_GIVE
from .errors import GearsearchError
from .leads import WantedLead
from .tolerance import Tolerance
from .trains import HANDS, MOST_PAIRS


@dataclass(frozen=True, slots=True)
class Need:
    """A lead that matters.

    Parameters
    ----------
    name : what it is called in the list
    wanted_mm : wanted lead [mm]
    low_mm, high_mm : shortest and longest lead that will do [mm]
    """

    name: str
    wanted_mm: Fraction
    low_mm: Fraction
    high_mm: Fraction

    @classmethod
    def of(cls, name: str, wanted: WantedLead, tolerance: Tolerance) -> Need:
        """A wanted lead with its tolerance; both are those of the lead on the work, the need is that of the gears."""
        return cls(name, wanted.lead_mm, *wanted.geared(tolerance))

    def __post_init__(self) -> None:
        if self.wanted_mm <= 0:
            raise GearsearchError(f"{self.name}: a lead cannot be {self.wanted_mm} mm", "give leads longer than zero")
        if not 0 <= self.low_mm <= self.wanted_mm <= self.high_mm:
            raise GearsearchError(
                f"{self.name}: leads from {self.low_mm} to {self.high_mm} mm do not hold the wanted lead",
                "give a tolerance of zero or more",
            )


@dataclass(frozen=True, slots=True)
class Terms:
    """How the trains of a list may be built.

    Parameters
    ----------
    route : name of the route; None for the shop's first
    hand : ``right``, ``left`` or ``either``
    pairs : (least, most) pairs of a train, 1 to 4
    mounting : ``must`` (by the quadrant's geometry, or by the rule of thumb where there is none) or ``skip``
    without : tooth counts in use elsewhere, one gear for each time a count is named
    """

    route: str | None = None
    hand: str = "either"
    pairs: tuple[int, int] = (1, 2)
    mounting: str = "must"
    without: tuple[int, ...] = ()

    def __post_init__(self) -> None:
        least, most = self.pairs
        if not 1 <= least <= most <= MOST_PAIRS:
            raise GearsearchError(f"{least} to {most} pairs cannot be searched for", PAIRS_TO_GIVE)
        if self.hand not in (*HANDS, "either"):
            raise GearsearchError(f"the hand {self.hand!r} is not known", "use right, left or either")
        if self.mounting not in ("must", "skip"):
            raise GearsearchError(f"mounting {self.mounting!r} is not known", "use must or skip")
