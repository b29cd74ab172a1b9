"""What a train that somebody has in mind gives: its lead, its error in the part's terms, whether it mounts."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import TYPE_CHECKING

from ..base import require
from ..base.errors import GearsearchError
from ..base.units import format_ppm
from ..shop.machine import Route
from ..shop.pool import GearPool, pool_of
from ..shop.shop import Shop
from ..shop.trains import HANDS, Train
from ..work.figures import Figures, accuracy_class, iso_class, iso_covers, iso_helix_slope_um, longest_cut_mm
from ..work.leads import HOW_WANTED, WantedLead, helix_angle
from ..work.limits import Limits
from ..work.tolerance import Tolerance
from .answers import Solution
from .slips import Slip, slips_of, turned_about_mm

if TYPE_CHECKING:
    from ..mounting.judge import Verdict

PROOF_TURNS = (1, 10)


@dataclass(frozen=True, slots=True)
class ToothSlope:
    """Helix slope of a helical tooth over its face width.

    Parameters
    ----------
    slope_um : deviation over the face [µm], signed; plus leans less than wanted
    allowed_um : tolerance of the class asked for [µm], ISO 1328-1:2013 by a formula from memory
    accuracy : the class asked for; None: none was
    passes : the finest class it would pass; None: not even the coarsest
    covered : whether the standard covers a gear of this size, from memory
    """

    slope_um: Fraction
    allowed_um: float | None
    accuracy: int | None
    passes: int | None
    covered: bool = True

    @property
    def within(self) -> bool | None:
        """Whether it is inside the class asked for; None where none was."""
        return None if self.allowed_um is None else abs(self.slope_um) <= Fraction(self.allowed_um)


@dataclass(frozen=True, slots=True)
class Cut:
    """What is known of the cut.

    Parameters
    ----------
    length_mm : axial length of the cut, for a gear its face width [mm]
    tolerance : how far off the lead on the work may be
    accuracy : class of ISO 1328-1 for a helical gear, 1 to 11
    diameter_mm : diameter that angles belong to [mm], where the wanted lead does not bring one

    Raises GearsearchError for lengths that are no exact numbers above zero, and for another tolerance or class.
    """

    length_mm: Fraction | None = None
    tolerance: Tolerance | None = None
    accuracy: int | None = None
    diameter_mm: Fraction | None = None

    def __post_init__(self) -> None:
        require.kept_exact(self, length_mm="length", diameter_mm="diameter")
        require.above_zero({"length": self.length_mm, "diameter": self.diameter_mm})
        require.instance(self.tolerance, Tolerance, "tolerance", "read it with Tolerance.parse('0.1%')")
        if self.accuracy is not None:
            object.__setattr__(self, "accuracy", accuracy_class(self.accuracy))


@dataclass(frozen=True, slots=True)
class CheckResult:
    """Everything there is to say of one train.

    Parameters
    ----------
    fit : lead, error, hand, mounting; the error is that against its own lead where nothing was wanted
    shop, route : of which machine
    wanted : the wanted lead; None where none was given
    cut : what is known of the cut
    figures : the error in the part's terms, of the lead on the work; None without a wanted lead
    interval_mm : shortest and longest geared lead that will do [mm]; None without a tolerance
    longest_cut_mm : longest cut inside a drift or turn tolerance [mm]; None where there is no end to it
    tooth : for a helical gear with a face width
    travel_mm : table travel for one and for ten turns of the work [mm], by turns
    slips : what each single wrong gear would have given
    turned_about_mm : lead with drivers and driven changed about [mm]
    alternative : an arrangement of the same gears that mounts, where the one typed does not
    fault : what keeps the train from being put on and used, in two or three words; empty where nothing does
    """

    fit: Solution
    shop: Shop
    route: Route
    wanted: WantedLead | None
    cut: Cut
    figures: Figures | None
    interval_mm: tuple[Fraction, Fraction] | None
    longest_cut_mm: Fraction | None
    tooth: ToothSlope | None
    travel_mm: dict[int, Fraction]
    slips: tuple[Slip, ...]
    turned_about_mm: Fraction
    alternative: Verdict | None
    fault: str = ""

    @property
    def tilt_deg(self) -> Fraction | None:
        """Tilt of the head at which this train makes a cam exact [degrees]; None without a tilt, or where none does."""
        return None if self.wanted is None else self.wanted.exact_tilt_deg(self.fit.lead_mm)

    def at_exact_tilt(self) -> CheckResult:
        """The same with the head at the tilt that makes the cam exact; unchanged where there is none."""
        lead, tilt = self.fit.lead_mm, self.tilt_deg
        if self.wanted is None or tilt is None or not self.fit.error:
            return self
        wanted = replace(self.wanted, lead_mm=lead, tilt_deg=tilt)
        interval = _interval(wanted, self.cut)
        fit = replace(self.fit, error=Fraction(0), within=None if interval is None else True)
        figures = _figures(wanted, lead, self.cut)
        return replace(self, fit=fit, wanted=wanted, figures=figures, interval_mm=interval, longest_cut_mm=None)

    @property
    def limits(self) -> Limits | None:
        """The leads that will do, as they are printed beside this one; None without a wanted lead."""
        if self.wanted is None:
            return None
        return Limits(self.interval_mm, self.wanted.lead_mm, (self.fit.lead_mm,), self.shop.units)

    @property
    def work_lead_mm(self) -> Fraction:
        """Lead on the work [mm]: that of the gears, shorter where the head is tilted."""
        return self.fit.lead_mm if self.figures is None else self.figures.lead_mm

    @property
    def diameter_mm(self) -> Fraction | None:
        """The diameter that the helix angle belongs to [mm]; None without one and on a cam, which is no helix."""
        return self.wanted.helix_diameter_mm if self.wanted else self.cut.diameter_mm

    @property
    def helix_angle_deg(self) -> Fraction | None:
        """Helix angle that is cut, at the diameter [degrees]; None without one. The arc tangent is a float's."""
        return None if self.diameter_mm is None else helix_angle(self.work_lead_mm, self.diameter_mm)

    @property
    def within(self) -> bool | None:
        """Whether the error is inside the tolerance and the accuracy class; None where neither was given."""
        verdicts = {self.fit.within, self.tooth.within if self.tooth else None} - {None}
        return all(verdicts) if verdicts else None

    @property
    def is_off(self) -> bool:
        """Whether the lead is farther off than is to be passed over in silence, where nothing says what will do."""
        return self.within is None and self.fit.is_off and self.tilt_deg is None

    @property
    def against(self) -> list[str]:
        """What speaks against the train, worst first, in a few words each."""
        reasons = [self.fault] if self.fault else []
        if self.fit.within is False:
            reasons.append("outside the tolerance")
        if self.tooth is not None and self.tooth.within is False:
            reasons.append(f"outside accuracy class {self.tooth.accuracy}")
        if self.is_off and self.fit.is_far:
            reasons.append(f"not the wanted lead: {format_ppm(self.fit.error)} off, and no tolerance was given")
        return reasons

    @property
    def passes(self) -> bool:
        """Whether nothing speaks against the train: it is inside what is allowed, and not known not to mount."""
        return not self.against

    @property
    def warns_of_step_up(self) -> bool:
        """Whether the last shaft turns faster, by more than the route's warning, than the first."""
        limit = self.route.step_up_warning
        return limit is not None and self.fit.step_up > limit

    @property
    def takes_power_feed(self) -> bool:
        """Whether the first shaft may drive the train under power: it steps up by no more than is warned of."""
        return self.fit.step_up <= max(Fraction(1), self.route.step_up_warning or Fraction(1))

    @property
    def screw_floor(self) -> bool:
        """Whether the error is below the accuracy of the screw, where a smaller one is worth nothing."""
        accuracy = self.shop.machine.screw_accuracy
        return accuracy is not None and abs(self.fit.error) < accuracy


def check(
    shop: Shop,
    train: Train,
    wanted: WantedLead | None = None,
    cut: Cut | None = None,
    *,
    route: str | None = None,
    hand: str = "either",
) -> CheckResult:
    """Judge one train exactly as typed.

    Parameters
    ----------
    shop, train : whose machine and gears, and the train in power order
    wanted, cut : the lead the part needs, and what is known of the cut
    route : name of the route; None for the shop's first
    hand : the hand that is wanted, ``right``, ``left`` or ``either``; a train that cuts the other counts as one that
        does not mount

    Raises GearsearchError when a gear is not owned, or named more often than owned; for a tolerance without a wanted
    lead; and for an accuracy class without a helical gear and its face width. That a joined piece or a fixed gear
    cannot be put as typed is not an error: such a train does not mount, and ``fit.why`` says so.
    """
    require.one_of(hand, (*HANDS, "either"), "the hand")
    require.instance(train, Train, "train", "read it with Train.parse('48/36')", given=True)
    require.instance(wanted, WantedLead, "wanted lead", HOW_WANTED)
    require.instance(cut, Cut, "cut", "make it with Cut(length_mm=60)")
    cut = cut or Cut()
    way, train, box = shop.route(route), shop.tagged(train), pool_of(shop)
    require_owned(shop, train)
    wanted = wanted and wanted.at(cut.diameter_mm)
    _require_face(wanted, cut)
    lead = shop.lead(train, way)
    interval = _interval(wanted, cut)
    judged, fault, alternative = _judged(shop, box, way, train, hand)
    fit = Solution.of(judged, lead, None if wanted is None else wanted.lead_mm, way.name, interval)
    figures = _figures(wanted, lead, cut)
    return CheckResult(
        fit=fit,
        shop=shop,
        route=way,
        wanted=wanted,
        cut=cut,
        figures=figures,
        interval_mm=interval,
        longest_cut_mm=_longest_cut(wanted, figures, cut),
        tooth=_tooth(wanted, figures, cut),
        travel_mm={turns: turns * lead for turns in PROOF_TURNS},
        slips=tuple(slips_of(shop, way, train)),
        turned_about_mm=turned_about_mm(shop, way, train),
        alternative=alternative,
        fault=fault,
    )


def require_owned(shop: Shop, train: Train) -> None:
    """Raise GearsearchError when a gear of the train, idlers included, is not in the shop, or not so often."""
    for (tag, teeth), times in sorted(Counter(train.wheels).items()):
        owned = shop.gear_set(tag).available()
        if owned[teeth] >= times:
            continue
        kind = f" of {shop.gear_set(tag).kind.label}" if tag else ""
        counts = ", ".join(str(count) for count in sorted(owned))
        if not owned[teeth]:
            raise GearsearchError(
                f"{train}: there is no gear of {teeth} teeth{kind} in {shop.name}", f"gears owned: {counts}"
            )
        raise GearsearchError(
            f"{train}: the {teeth}{kind} is needed {times} times, and {shop.name} has {owned[teeth]}",
            f"gears owned: {counts}",
        )


def _require_face(wanted: WantedLead | None, cut: Cut) -> None:
    if cut.accuracy is None:
        return
    if wanted is None or wanted.gear is None:
        raise GearsearchError(
            f"accuracy class {cut.accuracy} judges a helical gear, and none is given",
            "add the gear, as in --gear-module 2 --teeth 23 --helix-angle 15",
        )
    if cut.length_mm is None:
        raise GearsearchError(
            f"accuracy class {cut.accuracy} is judged over the face width, and none is given",
            "add it, as in --length 20mm",
        )


def _interval(wanted: WantedLead | None, cut: Cut) -> tuple[Fraction, Fraction] | None:
    if cut.tolerance is None:
        return None
    if wanted is None:
        raise GearsearchError(
            "a tolerance is given without the lead it belongs to", "add the lead, as in --lead 412.5mm"
        )
    return wanted.geared(cut.tolerance)


def _figures(wanted: WantedLead | None, lead: Fraction, cut: Cut) -> Figures | None:
    if wanted is None:
        return None
    on_the_work = lead * wanted.work_lead_mm / wanted.lead_mm
    return Figures(wanted.work_lead_mm, on_the_work, cut.length_mm, wanted.helix_diameter_mm)


def _longest_cut(wanted: WantedLead | None, figures: Figures | None, cut: Cut) -> Fraction | None:
    if wanted is None or figures is None or cut.tolerance is None:
        return None
    return longest_cut_mm(cut.tolerance, figures.wanted_mm, figures.lead_mm, wanted.diameter_mm)


def _tooth(wanted: WantedLead | None, figures: Figures | None, cut: Cut) -> ToothSlope | None:
    if wanted is None or wanted.gear is None or figures is None or cut.length_mm is None:
        return None
    diameter, face = wanted.gear.pitch_diameter_mm, cut.length_mm
    slope = figures.helix_slope_um(wanted.gear.helix_angle_deg, face)
    allowed = None if cut.accuracy is None else iso_helix_slope_um(diameter, face, cut.accuracy)
    return ToothSlope(slope, allowed, cut.accuracy, iso_class(slope, diameter, face), iso_covers(wanted.gear, face))


def _judged(shop: Shop, box: GearPool, route: Route, train: Train, hand: str) -> tuple[Verdict, str, Verdict | None]:
    """The verdict on the train as typed and, where it is a no, its fault and an arrangement that mounts."""
    from ..mounting.judge import Judge

    judge = Judge(shop, box, route)
    judged = judge.place(train)
    fault = "does not mount" if judged.mounts == "no" else ""
    if judged.hand == "either":
        judged = replace(judged, hand=hand)
    if not fault and hand not in ("either", judged.hand):
        cuts = f"it cuts a {judged.hand}-hand helix by the route {route.name}"
        why = f"not for the {hand} hand: {cuts}; one idler more or fewer turns the hand"
        judged, fault = replace(judged, mounts="no", why=why), "wrong hand"
    if not fault:
        return judged, fault, None
    import numpy as np

    sizes = [box.size(pair.kind, getattr(pair, end)) for end in ("driver", "driven") for pair in train.pairs]
    others = judge.every(np.array(sizes, np.int64), hand if hand != "either" else judged.hand or "either")
    return judged, fault, next((other for other in others if other.mounts != "no"), None)
