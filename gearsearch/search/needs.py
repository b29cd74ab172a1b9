"""The leads that matter to a shop, and the terms under which trains for them may be built."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from ..base import require
from ..base.errors import GearsearchError
from ..base.units import shown
from ..shop.trains import HANDS
from ..work.leads import HOW_WANTED, LONGEST_MM, SHORTEST_MM, WantedLead
from ..work.tolerance import Tolerance
from .answers import pairs_of


@dataclass(frozen=True, slots=True)
class Need:
    """A lead that matters.

    Parameters
    ----------
    name : what it is called in the list
    wanted_mm : wanted lead [mm]
    low_mm, high_mm : shortest and longest lead that will do [mm], with the wanted lead between them

    Raises GearsearchError for a lead that cannot be cut, for leads that do not hold the wanted one, and for what is
    neither int nor Fraction.
    """

    name: str
    wanted_mm: Fraction
    low_mm: Fraction
    high_mm: Fraction

    @classmethod
    def of(cls, name: str, wanted: WantedLead, tolerance: Tolerance) -> Need:
        """A wanted lead with its tolerance; both are those of the lead on the work, the need is that of the gears."""
        require.instance(wanted, WantedLead, "wanted lead", HOW_WANTED, given=True)
        return cls(name, wanted.lead_mm, *wanted.geared(tolerance))

    def __post_init__(self) -> None:
        ends = {"low_mm": "shortest lead that will do", "high_mm": "longest lead that will do"}
        require.kept_exact(self, wanted_mm="lead", **ends)
        if not SHORTEST_MM <= self.wanted_mm <= LONGEST_MM:
            raise GearsearchError(
                f"{self.name}: a lead cannot be {shown(self.wanted_mm)} mm",
                "give leads from 0.000001 mm to 1 000 000 000 mm",
            )
        require.holds(self.low_mm, self.high_mm, self.wanted_mm, f"{self.name}: ")


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

    Raises GearsearchError for what cannot be.
    """

    route: str | None = None
    hand: str = "either"
    pairs: tuple[int, int] = (1, 2)
    mounting: str = "must"
    without: tuple[int, ...] = ()

    def __post_init__(self) -> None:
        object.__setattr__(self, "pairs", pairs_of(self.pairs))
        object.__setattr__(self, "without", require.whole_numbers(self.without, "gears to do without"))
        require.one_of(self.hand, (*HANDS, "either"), "the hand")
        require.one_of(self.mounting, ("must", "skip"), "mounting")
