"""What a train that somebody has in mind gives: its lead, its error in the part's terms, whether it mounts."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from fractions import Fraction
from math import prod
from typing import TYPE_CHECKING

from .answers import Fit
from .box import Box, box_of
from .errors import GearsearchError
from .leads import WantedLead, helix_angle
from .shop import Route, Shop
from .slips import Slip, slips_of, turned_about_mm
from .tolerance import Figures, Tolerance, iso_class, iso_covers, iso_helix_slope_um, longest_cut_mm
from .trains import Train
from .units import decimals, format_length

if TYPE_CHECKING:
    from .mounting import Judged

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
    """

    length_mm: Fraction | None = None
    tolerance: Tolerance | None = None
    accuracy: int | None = None
    diameter_mm: Fraction | None = None

    def __post_init__(self) -> None:
        if self.accuracy is not None and not 1 <= self.accuracy <= 11:
            raise GearsearchError(
                f"there is no tolerance for accuracy class {self.accuracy}", "give a class of ISO 1328-1 from 1 to 11"
            )


@dataclass(frozen=True, slots=True)
class Checked:
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
    hand : the hand that is wanted
    """

    fit: Fit
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
    alternative: Judged | None
    hand: str = "either"

    @property
    def fault(self) -> str:
        """What keeps the train from being put on and used, in two or three words; empty where nothing does."""
        if self.fit.mounts != "no":
            return ""
        return "wrong hand" if self.fit.why.startswith(_not_for(self.hand)) else "does not mount"

    @property
    def work_lead_mm(self) -> Fraction:
        """Lead on the work [mm]: that of the gears, shorter where the head is tilted."""
        return self.fit.lead_mm if self.figures is None else self.figures.lead_mm

    @property
    def helix_angle_deg(self) -> Fraction | None:
        """Helix angle that is cut, at the diameter [degrees]; None without one. The arc tangent is a float's."""
        diameter = self.wanted.diameter_mm if self.wanted else self.cut.diameter_mm
        return None if diameter is None else helix_angle(self.work_lead_mm, diameter)

    @property
    def within(self) -> bool | None:
        """Whether the error is inside the tolerance and the accuracy class; None where neither was given."""
        verdicts = {self.fit.within, self.tooth.within if self.tooth else None} - {None}
        return all(verdicts) if verdicts else None

    @property
    def passes(self) -> bool:
        """Whether nothing speaks against the train: inside what is allowed, and not known not to mount."""
        return self.within is not False and self.fit.mounts != "no"

    @property
    def warns_of_step_up(self) -> bool:
        """Whether the last shaft turns faster, by more than the route's warning, than the first."""
        limit = self.route.step_up_warning
        return limit is not None and self.fit.step_up > limit

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
) -> Checked:
    """Judge one train exactly as typed.

    Parameters
    ----------
    shop, train : whose machine and gears, and the train in power order
    wanted, cut : the lead the part needs, and what is known of the cut
    route : name of the route; None for the shop's first
    hand : the hand that is wanted; a train that cuts the other counts as one that does not mount

    Raises GearsearchError when a gear is not owned, or named more often than owned; for a tolerance without a wanted
    lead; and for an accuracy class without a helical gear and its face width. That a joined piece or a fixed gear
    cannot be put as typed is not an error: such a train does not mount, and ``fit.why`` says so.
    """
    cut = cut or Cut()
    way, train, box = shop.route(route), shop.tagged(train), box_of(shop)
    require_owned(shop, train)
    wanted = wanted and wanted.at(cut.diameter_mm)
    _require_face(wanted, cut)
    lead = shop.lead(train, way)
    interval = _interval(wanted, cut)
    judged, alternative = _judged(shop, box, way, train, hand)
    fit = Fit.of(judged, lead, None if wanted is None else wanted.lead_mm, way.name, interval)
    figures = _figures(wanted, lead, cut)
    return Checked(
        fit=fit,
        shop=shop,
        route=way,
        wanted=wanted,
        cut=cut,
        figures=figures,
        interval_mm=interval,
        longest_cut_mm=_longest_cut(figures, cut),
        tooth=_tooth(wanted, figures, cut),
        travel_mm={turns: turns * lead for turns in PROOF_TURNS},
        slips=tuple(slips_of(shop, way, train)),
        turned_about_mm=turned_about_mm(shop, way, train),
        alternative=alternative,
        hand=hand,
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


def proof(shop: Shop, route: Route, train: Train) -> list[str]:
    """The arithmetic to prove the lead by hand, as lines."""
    names, sides = ("driven", "drivers"), (train.driven, train.drivers)
    if shop.machine.kind == "lathe":
        names, sides = names[::-1], sides[::-1]
    products = [f"{name} {' × '.join(map(str, side))} = {prod(side)}" for name, side in zip(names, sides, strict=True)]
    base, lead = shop.lead_of_machine(route), shop.lead(train, route)
    screw, unit = shop.machine.screw_lead_mm, shop.units
    return [
        "; ".join(products),
        f"screw lead {format_length(screw, unit)} × route {decimal(route.ratio)} = lead of the machine "
        f"{format_length(base, unit)}; × {prod(sides[0])} / {prod(sides[1])} = {format_length(lead, unit)}",
        *(
            f"{turns} turn{'s' if turns > 1 else ''} of the work: {format_length(turns * lead, unit)} of travel, "
            f"{decimal(turns * lead / screw)} turns of the screw"
            for turns in PROOF_TURNS
        ),
    ]


def decimal(value: Fraction) -> str:
    """A number to four decimals, without trailing zeros."""
    return decimals(value, 4).rstrip("0").rstrip(".")


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
    low, high = cut.tolerance.interval(wanted.work_lead_mm, wanted.diameter_mm)
    geared = wanted.lead_mm / wanted.work_lead_mm
    return low * geared, high * geared


def _figures(wanted: WantedLead | None, lead: Fraction, cut: Cut) -> Figures | None:
    if wanted is None:
        return None
    on_the_work = lead * wanted.work_lead_mm / wanted.lead_mm
    return Figures(wanted.work_lead_mm, on_the_work, cut.length_mm, wanted.diameter_mm)


def _longest_cut(figures: Figures | None, cut: Cut) -> Fraction | None:
    if figures is None or cut.tolerance is None:
        return None
    return longest_cut_mm(cut.tolerance, figures.wanted_mm, figures.lead_mm, figures.diameter_mm)


def _tooth(wanted: WantedLead | None, figures: Figures | None, cut: Cut) -> ToothSlope | None:
    if wanted is None or wanted.gear is None or figures is None or cut.length_mm is None:
        return None
    diameter, face = wanted.gear.pitch_diameter_mm, cut.length_mm
    slope = figures.helix_slope_um(wanted.gear.helix_angle_deg, face)
    allowed = None if cut.accuracy is None else iso_helix_slope_um(diameter, face, cut.accuracy)
    return ToothSlope(slope, allowed, cut.accuracy, iso_class(slope, diameter, face), iso_covers(diameter, face))


def _not_for(hand: str) -> str:
    return f"not for the {hand} hand"


def _judged(shop: Shop, box: Box, route: Route, train: Train, hand: str) -> tuple[Judged, Judged | None]:
    """The verdict on the train as typed and, where it is a no, an arrangement of the same gears that mounts."""
    from .mounting import Judge

    judge = Judge(shop, box, route)
    judged = judge.place(train)
    if judged.hand == "either":
        judged = replace(judged, hand=hand)
    if judged.mounts != "no" and hand not in ("either", judged.hand):
        cuts = f"it cuts a {judged.hand}-hand helix by the route {route.name}"
        why = f"{_not_for(hand)}: {cuts}; one idler more or fewer turns the hand"
        judged = replace(judged, mounts="no", why=why)
    if judged.mounts != "no":
        return judged, None
    import numpy as np

    sizes = [box.size(pair.kind, getattr(pair, end)) for end in ("driver", "driven") for pair in train.pairs]
    others = judge.every(np.array(sizes, np.int64), hand if hand != "either" else judged.hand or "either")
    return judged, next((other for other in others if other.mounts != "no"), None)
