"""The part: the lead it needs, and all that belongs to it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from fractions import Fraction
from functools import partial

from ..base import require
from ..base.document import Document
from ..base.errors import GearsearchError
from ..base.showing import Shown
from ..base.sources import noted
from ..base.units import Value, decimals, format_angle, format_both, format_length, parse_angle, shown, sin_deg
from .accuracy import accuracy_class
from .helix import HelicalGear, helix_angle
from .naming import NamedThread
from .tilt import STEEPEST_TILT_DEG, no_tilt, tilt_for
from .tolerance import Interval, Tolerance

MOST_STARTS = 1000
SHORTEST_MM, LONGEST_MM = Fraction(1, 10**6), Fraction(10**9)
HOW_TO_MAKE = "make it with part(lead='412.5 mm') or its like"


def _in_degrees(angle: Fraction) -> str:
    return f"{decimals(angle, 3)}°"


@dataclass(frozen=True, slots=True, kw_only=True)
class Blank:
    """A piece of work of which only sizes are known: a train is judged on it without a lead that is wanted.

    Parameters
    ----------
    diameter_mm : diameter that angles and errors belong to [mm]; None where none was given
    length_mm : axial length of the cut [mm], for a gear its face width; None where none was given

    Raises UnitError for what is neither int nor Fraction, or not above zero.
    """

    diameter_mm: Fraction | None = None
    length_mm: Fraction | None = None

    def __post_init__(self) -> None:
        require.kept_exact(self, diameter_mm="diameter", length_mm="length")
        require.above_zero({"diameter": self.diameter_mm, "length": self.length_mm})

    @property
    def helix_diameter_mm(self) -> Fraction | None:
        """The diameter that the helix angle which is cut belongs to [mm]; None without one."""
        return self.diameter_mm


@dataclass(frozen=True, slots=True)
class Part(Blank, Shown):
    """A part to be cut: the lead that the gears must give, where it comes from, and what belongs to it.

    Parameters
    ----------
    lead_mm : lead to be geared for [mm]
    how : where it comes from, in words
    diameter_mm, length_mm : as of a ``Blank``
    starts : how many helices stand side by side; pitch = lead on the work / starts
    gear : the helical gear, where that is what is cut
    tilt_deg : angle of the head from the table [degrees]; the lead on the work is then lead_mm × sin(tilt)
    rise_mm : the rise over an arc that it was given by [mm]; None where it was given otherwise
    may_be_cam : whether the rise of a cam may be meant: given as a lead or a rise, by no helix, thread or gear
    tolerance : how far the lead on the work may be off; None where nobody says
    accuracy : class of ISO 1328-1 for a helical gear of a face width, 1 to 11
    name : what it is called in a list
    source : title and page of where the value was read; empty for the user's own
    thread : what the name of a thread tells, where it was given by one
    bare : whether its lead was given without a unit, and read in the shop's
    found_at : where it stands in a list of the user's own, for messages: ``leads.csv: line 3, column wanted``
    interval_mm : shortest and longest geared lead that will do [mm], worked out; None without a tolerance

    Raises GearsearchError for a lead from which nothing can be cut, a number that is neither int nor Fraction, a
    tolerance that such a part cannot have, and an accuracy class without a helical gear and its face width.
    """

    lead_mm: Fraction
    how: str = ""
    starts: int = 1
    gear: HelicalGear | None = None
    tilt_deg: Fraction | None = None
    rise_mm: Fraction | None = None
    may_be_cam: bool = False
    tolerance: Tolerance | None = None
    accuracy: int | None = None
    name: str = ""
    source: str = ""
    thread: NamedThread | None = None
    bare: bool = field(default=False, compare=False, repr=False)
    found_at: str = field(default="", compare=False, repr=False)
    interval_mm: Interval | None = field(init=False, default=None, compare=False, repr=False)

    def __post_init__(self) -> None:
        require.kept_exact(self, lead_mm="lead", tilt_deg="tilt", rise_mm="rise")
        Blank.__post_init__(self)
        require.above_zero({"rise": self.rise_mm})
        require.instance(self.tolerance, Tolerance, "tolerance", "read it with Tolerance.parse('0.1%')")
        object.__setattr__(self, "starts", starts_of(self.starts))
        if self.tilt_deg is not None and not 0 < self.tilt_deg <= 90:
            raise no_tilt(self.tilt_deg)
        if not SHORTEST_MM <= self.lead_mm <= LONGEST_MM:
            size = f"{float(self.lead_mm):.3g}" if abs(self.lead_mm) < 10**300 else shown(self.lead_mm)
            raise GearsearchError(
                f"a lead of {size} mm cannot be cut: {self.how}",
                "ask for a lead from 0.000001 mm to 1 000 000 000 mm",
            )
        self._check_accuracy()
        object.__setattr__(self, "interval_mm", self._interval())

    def _check_accuracy(self) -> None:
        if self.accuracy is None:
            return
        object.__setattr__(self, "accuracy", accuracy_class(self.accuracy))
        if self.gear is None:
            raise no_gear(self.accuracy)
        if self.length_mm is None:
            raise GearsearchError(
                f"accuracy class {self.accuracy} is judged over the face width, and none is given",
                "add it, as in --length 20mm",
                code="no-length",
            )

    def _interval(self) -> Interval | None:
        if self.tolerance is None:
            return None
        if self.is_cam and not self.tolerance.suits_a_cam:
            raise GearsearchError(
                f"tolerance {shown(self.tolerance.text)} is one of a helix angle, and a cam, which is no helix, has "
                "none",
                "give one of its rise, as in 0.1% or '0.02mm over 5mm'",
            )
        low, high = self.tolerance.interval(self.work_lead_mm, self.diameter_mm)
        share = self.lead_mm / self.work_lead_mm
        return low * share, high * share

    @property
    def work_lead_mm(self) -> Fraction:
        """Lead on the work [mm]: the geared lead, × sin(tilt) where the head is tilted."""
        return self.lead_mm if self.tilt_deg is None else self.lead_mm * sin_deg(self.tilt_deg)

    @property
    def arc_deg(self) -> Fraction | None:
        """The arc of the work over which the part rises by ``rise_mm`` [degrees]; None where it was given otherwise."""
        return None if self.rise_mm is None else 360 * self.rise_mm / self.work_lead_mm

    @property
    def is_cam(self) -> bool:
        """Whether the head is tilted for it: then it rises square to the work's axis, and is no helix."""
        return self.tilt_deg is not None

    @property
    def helix_diameter_mm(self) -> Fraction | None:
        """The diameter where the helix angle that is cut belongs to [mm]; None without one, and on a cam."""
        return None if self.is_cam else self.diameter_mm

    @property
    def of_gears(self) -> str:
        """What the lead that the gears must give is called beside the wanted one."""
        return "lead" if self.tilt_deg is None else "geared lead"

    @property
    def divisions(self) -> int:
        """How many helices are cut one beside the other: teeth of a helical gear, starts of anything else."""
        return self.gear.teeth if self.gear else self.starts

    @property
    def pitch_mm(self) -> Fraction:
        """Axial distance from one start to the next [mm]."""
        return self.work_lead_mm / self.starts

    @property
    def helix_angle_deg(self) -> Fraction | None:
        """Angle between the helix and the axis, at the diameter [degrees]; None without a diameter."""
        return None if self.diameter_mm is None else helix_angle(self.work_lead_mm, self.diameter_mm)

    @property
    def lead_angle_deg(self) -> Fraction | None:
        """Angle between the helix and a plane square to the axis, at the diameter [degrees]: 90° − helix angle."""
        angle = self.helix_angle_deg
        return None if angle is None else 90 - angle

    def at(self, diameter_mm: Fraction | None) -> Part:
        """The same lead with the diameter that angles and errors belong to, where it has none yet."""
        return self if diameter_mm is None or self.diameter_mm else replace(self, diameter_mm=diameter_mm)

    @property
    def allowed_mm(self) -> Interval:
        """``interval_mm`` where it takes one. Raises GearsearchError without a tolerance."""
        if self.interval_mm is None:
            raise GearsearchError(
                f"{self.title}: no tolerance says which leads are acceptable",
                "give one, as in Tolerance.parse('0.05%')",
                code="no-tolerance",
            )
        return self.interval_mm

    @property
    def title(self) -> str:
        """What the part is called: its name, else its lead."""
        return self.name or f"lead {format_length(self.work_lead_mm)}"

    def tilts_to(self, geared_mm: Fraction) -> bool:
        """Whether the head is tilted for a cam, and can be tilted so that gears of that lead [mm] make it exact."""
        return self.is_cam and self.work_lead_mm < self.lead_mm and self.work_lead_mm <= geared_mm

    def on_the_work(self, geared_mm: Fraction) -> Fraction:
        """The lead on the work [mm] of a geared lead, at the tilt of the part."""
        return geared_mm * self.work_lead_mm / self.lead_mm

    def tilted(self, tilt: Value) -> Part:
        """The same lead on the work, cut with the head tilted by α: the gears must give lead / sin α.

        Parameters
        ----------
        tilt : angle of the head from the table [degrees], above 0° and up to 90°

        Raises GearsearchError outside that range and for a part that is tilted already. Angles above 80° are avoided.
        Source: Practical Treatise on Milling and Milling Machines, Brown & Sharpe, 1914, pp. 180-182, 249.
        """
        alpha = parse_angle(tilt, "tilt")
        if not 0 < alpha <= 90:
            raise no_tilt(tilt)
        if self.is_cam:
            raise GearsearchError("the head is tilted twice", "give one tilt, from the table")
        return replace(self, lead_mm=self.lead_mm / sin_deg(alpha), tilt_deg=alpha)

    def exact_tilt_deg(self, geared_mm: Fraction) -> Fraction | None:
        """Tilt at which a train of that lead gives just this lead on the work [degrees].

        None where the head is not tilted, and where the train's lead is the shorter, which no tilt makes longer.
        """
        served = self.is_cam and self.work_lead_mm <= geared_mm
        return tilt_for(self.work_lead_mm, geared_mm) if served else None

    def describe(self, unit: str = "mm", *, once: bool = False) -> list[str]:
        """All lines that say what is wanted: ``asked`` and ``about``.

        Parameters
        ----------
        unit : in which lengths are told, ``mm`` or ``in``
        once : in that unit alone, a thread as it is named, and angles without minutes; else lengths in both units
        """
        return [*self.asked(unit, once=once), *self.about(unit, once=once)]

    def asked(self, unit: str = "mm", *, once: bool = False) -> list[str]:
        """Lines that say what is wanted: the lead, how many starts, what the gears must give; see ``describe``."""
        length = format_length if once else format_both
        how = self.thread.told if once and self.thread else self.how
        lines = [f"wanted: lead {length(self.work_lead_mm, unit)}" + (f", {how}" if how else "")]
        if self.starts > 1:
            lines.append(f"{self.starts} starts, {length(self.pitch_mm, unit)} from one to the next")
        if self.tilt_deg is not None:
            told = f"head tilted {format_angle(self.tilt_deg)} from the table"
            lines.append(f"{told}: the gears must give {length(self.lead_mm, unit)}")
        return lines

    def about(self, unit: str = "mm", *, once: bool = False) -> list[str]:
        """What else follows from it: both angles with their diameter, cautions of a tilt and of a taper."""
        length, angle = (format_length, _in_degrees) if once else (format_both, format_angle)
        angles = self._angle_lines(partial(length, unit=unit), angle)
        return [*angles, *self._tilt_lines(), *self._taper_lines()]

    def __str__(self) -> str:
        return "\n".join(self.describe())

    def document(self) -> Document:
        """What is wanted, for people."""
        wanted, *more = self.describe()
        return Document(wanted, tuple(more))

    def _angle_lines(self, length: Callable[[Fraction], str], angle: Callable[[Fraction], str]) -> list[str]:
        helix, lead = self.helix_angle_deg, self.lead_angle_deg
        if self.diameter_mm is None or helix is None or lead is None:
            return []
        if self.is_cam:
            return [f"at diameter {length(self.diameter_mm)}: the cam's outline rises at {angle(lead)} to the round"]
        where = "at its pitch diameter" if self.gear else "at diameter"
        return [
            f"{where} {length(self.diameter_mm)}: "
            f"helix angle {angle(helix)} from the axis, lead angle {angle(lead)} square to it"
        ]

    def _tilt_lines(self) -> list[str]:
        if self.tilt_deg is None:
            return []
        lines = ["a tilted head cuts the rise of a cam, square to the axis of the work; it cuts no helix along it"]
        if self.tilt_deg > STEEPEST_TILT_DEG:
            lines.append(f"a tilt above {STEEPEST_TILT_DEG}° is avoided in practice {noted('treatise')}")
        return lines

    def _taper_lines(self) -> list[str]:
        if self.thread is None or not self.thread.taper:
            return []
        return [
            f"taper 1 in {1 / self.thread.taper} on the diameter: it takes a taper attachment, the tool square to the "
            "axis and the lead along it, and a gauge to try it with"
        ]


def no_gear(accuracy: int) -> GearsearchError:
    """The refusal of an accuracy class for anything but a helical gear."""
    return GearsearchError(
        f"accuracy class {accuracy} judges a helical gear, and none is given",
        "add the gear, as in --gear-module 2 --teeth 23 --helix-angle 15",
    )


def starts_of(starts: int) -> int:
    """How many helices stand side by side. Raises GearsearchError outside 1 to 1000."""
    return require.whole(starts, MOST_STARTS, "starts")
