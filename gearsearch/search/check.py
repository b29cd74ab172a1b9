"""What a train that somebody has in mind gives: its lead, its error in the part's terms, whether it mounts."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import TYPE_CHECKING, Any

from ..base import require
from ..base.document import Document
from ..base.errors import GearsearchError
from ..base.facts import Note, Table
from ..base.showing import Pictured
from ..base.units import format_ppm
from ..shop.machine import Route
from ..shop.pool import GearPool, pool_of
from ..shop.shop import Shop
from ..shop.trains import Train
from ..work.accuracy import iso_class, iso_covers, iso_helix_slope_um
from ..work.figures import Figures, figures_of, longest_cut_mm
from ..work.helix import helix_angle
from ..work.limits import Limits
from ..work.part import HOW_TO_MAKE, Blank, Part
from ..work.tolerance import Interval
from .checked import KEYS, checked_record, page, slips
from .routes import is_better, other_routes, told_better
from .slips import Slip, slips_of, turned_about_mm
from .solution import Solution
from .terms import Terms
from .tooth import ToothSlope

if TYPE_CHECKING:
    from ..mounting.judge import Verdict

PROOF_TURNS = (1, 10)


@dataclass(frozen=True, slots=True)
class CheckResult(Pictured):
    """Everything there is to say of one train.

    Parameters
    ----------
    fit : lead, error, hand, mounting; the error is that against its own lead where nothing was wanted
    shop, route : of which machine
    part : what is to be cut, or a blank where no lead was asked for
    terms : the route and the hand that were asked for
    figures : the error in the part's terms, of the lead on the work; None without a wanted lead
    longest_cut_mm : longest cut inside a drift or turn tolerance [mm]; None where there is no end to it
    tooth : for a helical gear with a face width
    travel_mm : table travel for one and for ten turns of the work [mm], by turns
    slips : what each single wrong gear would have given
    turned_about_mm : lead with drivers and driven changed about [mm]
    alternative : an arrangement of the same gears that mounts, where the one typed does not
    fault : what keeps the train from being put on and used, in two or three words; empty where nothing does
    others : the same train by each other way that was asked for, in the order of the shop file
    notes : what else should be known of it
    """

    fit: Solution
    shop: Shop
    route: Route
    part: Blank
    terms: Terms
    figures: Figures | None
    longest_cut_mm: Fraction | None
    tooth: ToothSlope | None
    travel_mm: dict[int, Fraction]
    slips: tuple[Slip, ...]
    turned_about_mm: Fraction
    alternative: Verdict | None
    fault: str = ""
    others: tuple[CheckResult, ...] = ()
    notes: tuple[Note, ...] = ()

    keys = KEYS

    @property
    def wanted(self) -> Part | None:
        """The part with its wanted lead; None where no lead was asked for."""
        return self.part if isinstance(self.part, Part) else None

    @property
    def interval_mm(self) -> Interval | None:
        """Shortest and longest geared lead that will do [mm]; None without a tolerance."""
        return self.wanted.interval_mm if self.wanted else None

    @property
    def tilt_deg(self) -> Fraction | None:
        """Tilt of the head at which this train makes a cam exact [degrees]; None without a tilt, or where none does."""
        return None if self.wanted is None else self.wanted.exact_tilt_deg(self.fit.lead_mm)

    def at_exact_tilt(self) -> CheckResult:
        """The same with the head at the tilt that makes the cam exact; unchanged where there is none."""
        lead, tilt = self.fit.lead_mm, self.tilt_deg
        if self.wanted is None or tilt is None or not self.fit.error:
            return self
        part = replace(self.wanted, lead_mm=lead, tilt_deg=tilt)
        fit = replace(self.fit, error=Fraction(0), within=None if part.interval_mm is None else True)
        return replace(self, fit=fit, part=part, figures=figures_of(part, lead), longest_cut_mm=None)

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
        return self.part.helix_diameter_mm

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
    def against(self) -> tuple[Note, ...]:
        """What speaks against the train, worst first, in a few words each."""
        reasons = [Note(self.fault.replace(" ", "-"), self.fault)] if self.fault else []
        if self.fit.within is False:
            reasons.append(Note("outside-tolerance", "outside the tolerance"))
        if self.tooth is not None and self.tooth.within is False:
            reasons.append(Note("outside-class", f"outside accuracy class {self.tooth.accuracy}"))
        if self.is_off and self.fit.is_far:
            told = f"not the wanted lead: {format_ppm(self.fit.error)} off, and no tolerance was given"
            reasons.append(Note("far-off", told))
        return tuple(reasons)

    @property
    def passes(self) -> bool:
        """Whether nothing speaks against the train: it is inside what is allowed, and not known not to mount."""
        return not self.against

    @property
    def screw_floor(self) -> bool:
        """Whether the error is below the accuracy of the screw, where a smaller one is worth nothing."""
        accuracy = self.shop.machine.screw_accuracy
        return accuracy is not None and abs(self.fit.error) < accuracy

    def record(self) -> dict[str, Any]:
        """The judgement for programs; the keys are stable."""
        return checked_record(self)

    def rows(self) -> list[dict[str, Any]]:
        """The same in one flat row."""
        return [self.record()]

    def table(self) -> Table:
        """What each single wrong gear would give."""
        return slips(self)

    def document(self) -> Document:
        """The judgement for people."""
        return page(self)


def check(shop: Shop, train: Train, part: Blank | None = None, terms: Terms | None = None) -> CheckResult:
    """Judge one train exactly as typed.

    Parameters
    ----------
    shop, train : whose machine and gears, and the train in power order
    part : what is to be cut; a ``Blank``, or None, where no lead is asked for
    terms : the route, and the hand that is wanted: a train that cuts the other counts as one that does not mount

    Of several ways the one is judged by which nothing keeps the train from being used and its lead is nearest, the
    first of the shop file where that tells no difference; the others stand in ``others``.
    Raises GearsearchError when a gear is not owned, or named more often than owned. That a joined piece or a fixed gear
    cannot be put as typed is not an error: such a train does not mount, and ``fit.why`` says so.
    """
    require.instance(train, Train, "train", "read it with Train.parse('48/36')", given=True)
    require.instance(part, Blank, "part", HOW_TO_MAKE)
    require.instance(terms, Terms, "terms", "give Terms(hand='right')")
    part = part or Blank()
    terms = (terms or Terms()).for_part(part)
    require_owned(shop, train := shop.tagged(train))
    results = [_checked(shop, train, part, each) for each in terms.each_way(shop)]
    best = min(results, key=lambda result: (bool(result.fault), abs(result.fit.error)))
    others = tuple(result for result in results if result is not best)
    checked = replace(best, terms=terms, others=others)
    return replace(checked, notes=tuple(_better_route(checked)))


def _better_route(checked: CheckResult) -> Iterator[Note]:
    """That the train is exact, or better by a lot, by another route than the first, where none was asked for."""
    shop, wanted, own = checked.shop, checked.wanted, abs(checked.fit.error)
    serves = checked.fit.within or own <= (shop.machine.screw_accuracy or 0)
    if checked.terms.route is not None or wanted is None or wanted.is_cam or serves:
        return
    searched = [checked.route, *(other.route for other in checked.others)]
    ways = [each for other in other_routes(shop, checked.terms, searched) for each in other.each_way(shop)]
    results = [_checked(shop, checked.fit.train, wanted, way) for way in ways]
    sound = [result.fit for result in results if not result.fault]
    best = min(sound, key=lambda fit: abs(fit.error), default=None)
    if best is not None and is_better(best, own):
        yield told_better(best, shop)


def _checked(shop: Shop, train: Train, part: Blank, terms: Terms) -> CheckResult:
    """The judgement of a train by one way."""
    route, box = shop.route(terms.route), pool_of(shop)
    lead = shop.lead(train, route)
    wanted = part if isinstance(part, Part) else None
    judged, fault, alternative = _judged(shop, box, route, train, terms.hand)
    figures = figures_of(wanted, lead) if wanted else None
    return CheckResult(
        fit=Solution.of(
            judged, lead, wanted.lead_mm if wanted else None, route, wanted.interval_mm if wanted else None
        ),
        shop=shop,
        route=route,
        part=part,
        terms=terms,
        figures=figures,
        longest_cut_mm=_longest_cut(wanted, figures),
        tooth=_tooth(wanted, figures),
        travel_mm={turns: turns * lead for turns in PROOF_TURNS},
        slips=tuple(slips_of(shop, route, train)),
        turned_about_mm=turned_about_mm(shop, route, train),
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


def _longest_cut(part: Part | None, figures: Figures | None) -> Fraction | None:
    if part is None or figures is None or part.tolerance is None:
        return None
    return longest_cut_mm(part.tolerance, figures.wanted_mm, figures.lead_mm, part.diameter_mm)


def _tooth(part: Part | None, figures: Figures | None) -> ToothSlope | None:
    if part is None or part.gear is None or figures is None or part.length_mm is None:
        return None
    diameter, face = part.gear.pitch_diameter_mm, part.length_mm
    slope = figures.helix_slope_um(part.gear.helix_angle_deg, face)
    allowed = None if part.accuracy is None else iso_helix_slope_um(diameter, face, part.accuracy)
    return ToothSlope(slope, allowed, part.accuracy, iso_class(slope, diameter, face), iso_covers(part.gear, face))


def _judged(shop: Shop, box: GearPool, route: Route, train: Train, hand: str) -> tuple[Verdict, str, Verdict | None]:
    """The verdict on the train as typed and, where it is a no, its fault and an arrangement that mounts."""
    from ..mounting.judge import Judge

    judge = Judge(shop, box, route)
    judged = judge.place(train)
    fault = "does not mount" if judged.mounts == "no" else ""
    if judged.hand == "either":
        judged = replace(judged, hand=hand)
    if not fault and hand not in ("either", judged.hand):
        cuts = f"it cuts a {judged.hand}-hand helix by the route {route.label}"
        why = f"not for the {hand} hand: {cuts}; one idler more or fewer turns the hand"
        judged, fault = replace(judged, mounts="no", why=why), "wrong hand"
    if not fault:
        return judged, fault, None
    import numpy as np

    sizes = [box.size(pair.kind, getattr(pair, end)) for end in ("driver", "driven") for pair in train.pairs]
    others = judge.every(np.array(sizes, np.int64), hand if hand != "either" else judged.hand or "either")
    return judged, fault, next((other for other in others if other.mounts != "no"), None)
