"""The columns of a solution, for programs and for people: a new column is one entry here."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import asdict, dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

from ..base.facts import Column, Note, Record, record
from ..base.units import INCH_MM, OTHER_UNIT, decimal, format_angle, format_length, format_ppm, significant
from ..mounting.placement import JUDGEMENT, gap_words
from ..shop.dial import DialRule, return_by
from ..shop.machine import Route
from ..shop.shop import Shop
from ..work.figures import figures_of, over_words
from ..work.limits import OFF, Limits, mark
from ..work.part import Part

if TYPE_CHECKING:
    from .solution import Solution

_MOUNTS = JUDGEMENT | {"rule": "rule of thumb"}  # in the cell of a table
PART_KEYS = ("drift_mm", "turn_deg", "around_mm", "helix_angle_change_deg")
CAUTION = Note(
    "caution",
    "Before a cut: machine isolated while gears are changed, gears guarded, the whole travel turned by hand first; "
    "the machine's manual, local rules and qualified people come before this.",
)

FAR_OFF = Note("off", f"{OFF}, and no tolerance was given")


@dataclass(frozen=True, slots=True)
class Told:
    """A solution as it is told: with its place in the answer and what it is held against.

    Parameters
    ----------
    shop : whose machine and whose unit
    fit : the solution
    number : its place in the answer, from 1
    part : what is to be cut; None where no lead was asked for
    limits : the leads that will do; None where the lead is told by itself
    off : whether its lead is marked as far off
    routes : all ways that were asked for
    hand : that all answers cut, where it was asked for and is not told of each; None where that of none is known
    """

    shop: Shop
    fit: Solution
    number: int = 1
    part: Part | None = None
    limits: Limits | None = None
    off: bool = False
    routes: tuple[Route, ...] = ()
    hand: str | None = ""

    @property
    def cost(self) -> str:
        """What its route takes away."""
        return self.shop.machine.cost(self.fit.way, self.shop.dividing)


def solution_record(shop: Shop, fit: Solution) -> Record:
    """One solution for programs; the keys are stable."""
    return record(SOLUTION, Told(shop, fit))


def mounts_in_short(fit: Solution) -> str:
    """Whether a train mounts, in few words for a table; ``fit.why`` says more."""
    return "at one distance" if fit.mounts == "rule" and not fit.train.studs else _MOUNTS[fit.mounts]


def clear_in_short(fit: Solution, unit: str) -> str:
    """The smallest gap of a train that mounts; empty where none was judged."""
    return "" if fit.clearance_mm is None or fit.mounts != "yes" else gap_words(fit.clearance_mm, unit)


def pairs_words(pairs: tuple[int, int]) -> str:
    """How many pairs a train may have: ``1 or 2 pairs``."""
    least, most = pairs
    if least == most:
        return f"{least} pair{'' if least == 1 else 's'}"
    return f"{least} {'or' if most == least + 1 else 'to'} {most} pairs"


def refusals(fits: Iterable[Solution]) -> Iterator[str]:
    """Why each of these does not mount, or at which shaft distance alone it does, by its number."""
    for number, fit in enumerate(fits, 1):
        if fit.mounts == "no":
            yield f"no. {number} does not mount: {fit.why}"
        elif fit.mounts == "rule" and not fit.train.studs:
            yield f"no. {number}: {fit.why}"


def on_the_part(fit: Solution, part: Part) -> dict[str, float | None]:
    """What the lead does to the part; None for what needs a length or a diameter that is not known."""
    figures = figures_of(part, fit.lead_mm)
    values = figures.drift_mm, figures.turn_deg, figures.around_mm, figures.helix_deg
    return dict(zip(PART_KEYS, map(number, values), strict=True))


def number(value: Fraction | None) -> float | None:
    """A figure for programs."""
    return None if value is None else float(value)


def _placed(told: Told, name: str) -> object:
    """A figure of where the train stands; None where its place was not judged."""
    return None if told.fit.placement is None else getattr(told.fit.placement, name)


def _on_the_part(told: Told) -> dict[str, float | None] | None:
    part = told.part
    if part is None or (part.length_mm is None and part.helix_diameter_mm is None):
        return None
    return on_the_part(told.fit, part)


def _lead(told: Told) -> str:
    lead = told.fit.lead_mm
    return format_length(lead, told.shop.units) if told.limits is None else told.limits.length(lead)


def _threads(told: Told) -> str:
    """Threads per inch, as lathe work counts them."""
    if not told.shop.machine.counts_threads:
        return ""
    starts = 1 if told.part is None else told.part.starts
    return f"{significant(starts * INCH_MM / told.fit.lead_mm, 4).rstrip('0').rstrip('.')} tpi"


def _error(told: Told) -> str:
    fit = told.fit
    return "" if fit.error == 0 else format_length(fit.error_mm, told.shop.units, signed=True)


def _relative(told: Told) -> str:
    """The error as a share of the lead, with whether it is inside the tolerance or far off without one."""
    fit, limits = told.fit, told.limits
    if fit.error == 0:
        return "exact"
    share = limits.relative(fit.lead_mm) if limits else format_ppm(fit.error)
    return share + mark(told.off, fit.within)


def _route(told: Told) -> str:
    return told.fit.route if len({route.name for route in told.routes}) > 1 else ""


def _lever(told: Told) -> str:
    return " or ".join([told.fit.way.lever, *_other_levers(told)]) if len(told.routes) > 1 else ""


def _other_levers(told: Told) -> list[str]:
    """Later positions of the lever that gear as that of an answer does."""
    way = told.fit.way
    alike = [each.lever for each in told.routes if each.is_like(way)]
    return alike[alike.index(way.lever) + 1 :] if way.lever in alike else []


def _step_up(told: Told) -> str:
    """How many times as fast as the first shaft the last one turns, as a ratio: ``1 : 2.5`` steps up."""
    step = told.fit.step_up
    return f"1 : {decimal(step)}" if step >= 1 else f"{decimal(1 / step)} : 1"


def _dial(told: Told) -> DialRule | None:
    """Where the half nuts may close for the lead of this train; None without a chasing dial."""
    machine = told.shop.machine
    return machine.dial.rule(machine.screw_lead_mm, told.fit.lead_mm) if machine.dial else None


def _carriage_back(told: Told) -> float | None:
    """How far the carriage goes back to a stop, with the spindle at rest [mm]; None where no half nuts close."""
    machine = told.shop.machine
    if not machine.has_dial:
        return None
    rule = _dial(told)
    back = rule.back if rule else return_by(machine.screw_lead_mm, told.fit.lead_mm)
    return float(back.distance_mm)


def _tilt(told: Told) -> Fraction | None:
    return None if told.part is None else told.part.exact_tilt_deg(told.fit.lead_mm)


def _tilt_words(told: Told) -> str:
    """The tilt of the head that takes up the error of a train on a cam."""
    tilt = _tilt(told)
    if tilt is not None:
        return format_angle(tilt)
    return "none" if told.part is not None and told.part.is_cam else ""


def _hand(told: Told) -> str:
    return "" if told.fit.hand == told.hand else told.fit.hand or "not known"


def _over(told: Told) -> str:
    """The length of cut that the drift belongs to."""
    length = told.part and told.part.length_mm
    return over_words(length, told.shop.units) if length else ""


def _drift(told: Told) -> str:
    """How far the cut is off along the axis at the end of its length; empty for none."""
    if told.part is None or told.part.length_mm is None or told.fit.error == 0:
        return ""
    return format_length(told.fit.error * told.part.length_mm, told.shop.units, signed=True)


def _helix(told: Told) -> str:
    """The change of the helix angle [minutes of arc]; empty for none."""
    change = figures_of(told.part, told.fit.lead_mm).helix_deg if told.part and told.fit.error else None
    return f"{'+' if change > 0 else ''}{significant(60 * change, 2)}′" if change else ""


# what every answer tells of a solution
SOLUTION: tuple[Column[Told], ...] = (
    Column("", "no.", cell=lambda told: str(told.number), right=True),
    Column("train", "train", lambda told: str(told.fit.train), lambda told: str(told.fit.train)),
    Column("drivers", "", lambda told: list(told.fit.train.drivers)),
    Column("driven", "", lambda told: list(told.fit.train.driven)),
    Column("idlers", "", lambda told: list(told.fit.train.idlers)),
    Column("lead_mm", "lead", lambda told: float(told.fit.lead_mm), _lead, "mm", right=True),
    Column("", "or", cell=lambda told: format_length(told.fit.lead_mm, OTHER_UNIT[told.shop.units]), weight=1),
    Column("lead_exact", "", lambda told: str(told.fit.lead_mm), unit="mm"),
    Column("", "threads", cell=_threads),
    Column("error_mm", "error", lambda told: float(told.fit.error_mm), _error, "mm", weight=3, right=True),
    Column("error_ppm", "relative", lambda told: float(told.fit.error * 1_000_000), _relative, "ppm", right=True),
    Column("within", "", lambda told: told.fit.within),
    Column("step_up", "step-up", lambda told: float(told.fit.step_up), _step_up, weight=2),
    Column(
        "dial",
        "dial",
        lambda told: rule.text if (rule := _dial(told)) else None,
        lambda told: rule.short if (rule := _dial(told)) else "",
        weight=3,
    ),
    Column("carriage_back_mm", "", _carriage_back, unit="mm"),
    Column("hand", "hand", lambda told: told.fit.hand, _hand),
    Column("route", "route", lambda told: told.fit.route, _route),
    Column("lever", "lever", lambda told: told.fit.way.lever or None, _lever),
    Column("other_levers", "", _other_levers),
    Column("route_cost", "", lambda told: told.cost),
    Column("mounts", "mounts", lambda told: told.fit.mounts, lambda told: mounts_in_short(told.fit)),
    Column("why", "", lambda told: told.fit.why),
    Column(
        "clearance_mm",
        "clear",
        lambda told: told.fit.clearance_mm,
        lambda told: clear_in_short(told.fit, told.shop.units),
        unit="mm",
        weight=4,
        right=True,
    ),
    Column("shaft_distance_mm", "", lambda told: _placed(told, "shaft_distance_mm"), unit="mm"),
    Column("head_between_mm", "", lambda told: _placed(told, "heads_mm"), unit="mm"),
    Column("bracket_swing_deg", "", lambda told: _placed(told, "bracket_swing_deg"), unit="degrees"),
    Column("studs", "", lambda told: [asdict(s) for s in told.fit.placement.studs] if told.fit.placement else []),
    Column(
        "same_lead",
        "same lead",
        lambda told: told.fit.same_lead,
        lambda told: f"{told.fit.same_lead} more" if told.fit.same_lead else "",
        weight=2,
    ),
)
# what is told of it beside the part
ON_THE_PART: tuple[Column[Told], ...] = (
    Column("exact_tilt_deg", "exact at tilt", lambda told: number(_tilt(told)), _tilt_words, "degrees"),
    Column("on_the_part", "over", _on_the_part, _drift, right=True, about=_over),
    Column("", "helix", cell=_helix, right=True),
)
