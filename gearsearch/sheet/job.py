"""What a set-up sheet is of: the train, and what is cut with it."""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction
from functools import cached_property

from ..base import require
from ..base.document import strong
from ..base.errors import GearsearchError
from ..base.units import INCH_MM, format_both, format_length
from ..mounting.placement import Names
from ..search.checked import CheckResult
from .cutting import FLANKS, blank_diameter_mm, rounded_up, tooth_depth_mm
from .starts import Indexing, indexing


@dataclass(frozen=True)
class Job:
    """What is cut, beyond the train and the lead; whatever is None leaves its lines out.

    Parameters
    ----------
    checked : the train, judged for the wanted lead
    date : as the user writes it; None leaves a line to fill in
    depth_mm : of the cut [mm]
    disc_mm : diameter of a disc cutter on the arbor [mm]
    disc_width_mm : its width [mm]
    end_mill_mm : diameter of an end mill [mm]
    wall_mm : inner and outer diameter of a tube on whose end a ramp is milled [mm]
    flank : ``end`` or ``inner``: whether the ramp faces the end of the work
    how_chosen : how the train was come by, where it was not typed
    asked_tilt_deg : the tilt of the head that was asked for [degrees]; ``checked`` is at the tilt that makes this
        train exact, wherever there is one

    Raises GearsearchError for a cutter on a lathe, sizes that are no exact numbers above zero, a depth that reaches the
    axis of the work, and another flank.
    """

    checked: CheckResult
    date: str | None = None
    depth_mm: Fraction | None = None
    disc_mm: Fraction | None = None
    disc_width_mm: Fraction | None = None
    end_mill_mm: Fraction | None = None
    wall_mm: tuple[Fraction, Fraction] | None = None
    flank: str = "end"
    how_chosen: str = ""
    asked_tilt_deg: Fraction | None = field(init=False, default=None)

    def __post_init__(self) -> None:
        require.instance(self.checked, CheckResult, "train of a sheet", "make it with check(shop, train)", given=True)
        self._check_sizes()
        self._check_depth()
        if self.checked.wanted is not None:
            object.__setattr__(self, "asked_tilt_deg", self.checked.wanted.tilt_deg)
        object.__setattr__(self, "checked", self.checked.at_exact_tilt())
        shop = self.checked.shop
        if not shop.machine.has_cutter and (self.disc_mm or self.end_mill_mm or self.wall_mm):
            raise GearsearchError(
                f"a milling cutter has no place on {shop.name}, which is a {shop.machine.kind}",
                "leave the cutter and the wall out",
            )

    def _check_sizes(self) -> None:
        named = {
            "depth_mm": "depth of the cut",
            "disc_mm": "diameter of the disc cutter",
            "disc_width_mm": "width of the disc cutter",
            "end_mill_mm": "diameter of the end mill",
        }
        require.kept_exact(self, **named)
        require.above_zero({what: getattr(self, name) for name, what in named.items()})
        if self.wall_mm is not None:
            inner, outer = require.two(self.wall_mm, "diameters of the wall")
            named = {"inner diameter of the wall": inner, "outer diameter of the wall": outer}
            object.__setattr__(self, "wall_mm", require.above_zero(named, given=True))
        require.one_of(self.flank, FLANKS, "the flank")

    def _check_depth(self) -> None:
        """Refuse a groove as deep as the work is thick to its axis; a cam and a ramp on a tube are cut otherwise."""
        gear = self.checked.wanted.gear if self.checked.wanted else None
        across = blank_diameter_mm(gear) if gear else self.checked.part.diameter_mm
        if self.depth_mm is None or across is None or self.is_cam or self.wall_mm is not None:
            return
        if 2 * self.depth_mm >= across:
            raise GearsearchError(
                f"a cut {self.length(self.depth_mm)} deep goes to the axis of work of {self.length(across)} diameter",
                f"give a --depth below half the diameter, {self.length(across / 2)}",
                code="too-deep",
            )

    @property
    def length_mm(self) -> Fraction | None:
        """Axial length of the cut [mm], where it is known."""
        return self.checked.part.length_mm

    @property
    def cut_depth_mm(self) -> Fraction | None:
        """Depth of the cut [mm]: as given, else that of a gear's full-depth teeth, else not known."""
        gear = self.checked.wanted.gear if self.checked.wanted else None
        return self.depth_mm or (tooth_depth_mm(gear) if gear else None)

    @property
    def unit(self) -> str:
        """The unit lengths are printed in: that by which a thread is named on a lathe, else the shop's."""
        wanted, shop = self.checked.wanted, self.checked.shop
        thread = wanted.thread if wanted else None
        return thread.unit if thread is not None and shop.machine.counts_threads else shop.units

    @property
    def divisions(self) -> int:
        """How many helices stand side by side on the work."""
        return self.checked.wanted.divisions if self.checked.wanted else 1

    @cached_property
    def indexing(self) -> Indexing | None:
        """How to go from one of them to the next; None for a single one."""
        checked = self.checked
        if self.divisions < 2:
            return None
        return indexing(checked.shop, checked.route, checked.fit.train, self.divisions)

    @property
    def against(self) -> list[str]:
        """What speaks against the set-up, worst first, in a few words each: the train, and the indexing."""
        unindexed = self.indexing is not None and self.indexing.why_not
        return [
            *(note.text for note in self.checked.against),
            *([f"the {self.divided} cannot be indexed so"] if unindexed else []),
        ]

    @property
    def divided(self) -> str:
        """What stands side by side on the work: the teeth of a gear, the starts of anything else."""
        return "teeth" if self.checked.wanted is not None and self.checked.wanted.gear is not None else "starts"

    @property
    def is_cam(self) -> bool:
        """Whether the head is tilted for the rise of a cam."""
        return self.checked.wanted is not None and self.checked.wanted.is_cam

    @property
    def hand(self) -> str | None:
        """The hand that is cut; None where it is not known, or left to the reversing lever."""
        return None if self.checked.fit.hand == "either" else self.checked.fit.hand

    @property
    def lead_mm(self) -> Fraction:
        """The lead on the work [mm]: the wanted one, else that of the train."""
        return self.checked.wanted.work_lead_mm if self.checked.wanted else self.checked.fit.lead_mm

    @property
    def names(self) -> Names:
        """What the shafts are called."""
        return Names(self.checked.shop, self.checked.route, self.checked.fit.train.studs)

    def length(self, mm: Fraction | float) -> str:
        """A length in ``unit``."""
        return format_length(Fraction(mm), self.unit)

    def dialled(self, mm: Fraction) -> str:
        """A length set or measured at the machine: in the unit of its dials, in brackets in ``unit`` if another."""
        dials = self.checked.shop.units
        return self.length(mm) if dials == self.unit else format_both(mm, dials)

    def room(self, mm: Fraction) -> str:
        """A length that is to be left free, rounded up to a tenth of a millimetre or a hundredth of an inch."""
        step, digits = (INCH_MM / 100, 2) if self.unit == "in" else (Fraction(1, 10), 1)
        return format_length(rounded_up(mm, step), self.unit, digits=digits)

    def told(self, mm: Fraction) -> str:
        """A length, strong."""
        return strong(self.length(mm))
