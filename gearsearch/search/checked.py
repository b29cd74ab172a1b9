"""What the judgement of one train is, as a record for programs and as a page for people."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import TYPE_CHECKING, Any

from ..base.document import Block, Document
from ..base.facts import Column, Note, Record, Table
from ..base.showing import Pictured
from ..base.units import format_angle, format_both, format_length, format_ppm, significant
from ..mounting.placement import JUDGEMENT, Names, placement_lines
from ..shop.machine import Route
from ..shop.overview import machine_lines, two_ratios
from ..shop.shop import Shop
from ..work.figures import Figures, figures_of, helix_words
from ..work.helix import helix_angle
from ..work.limits import OFF, Limits, at_most, mark
from ..work.part import Blank, Part
from ..work.tolerance import Interval, open_ended
from .answers import wanted_record
from .proof import proof
from .slips import Slip
from .solution import Solution
from .solutions import CAUTION, SOLUTION, Told, number, solution_record
from .terms import Terms
from .tooth import ToothSlope, tooth_slope

if TYPE_CHECKING:
    from ..mounting.judge import Verdict

_SLIPS = "what a wrong gear would give"
# of the record, what a flat row has; what is a list of records stays with JSON
KEYS = (
    *("shop", "demo", "train", "drivers", "driven", "idlers", "lead_mm", "lead_exact", "error_mm", "error_ppm"),
    *("within", "hand", "route", "lever", "mounts", "why", "clearance_mm", "same_lead", "against", "drift_mm"),
    *("turn_deg", "around_mm", "helix_angle_deg", "exact_tilt_deg", "helix_angle_change_deg", "shortest_allowed_mm"),
    *("longest_allowed_mm", "longest_cut_mm", "helix_slope_um", "helix_slope_allowed_um", "accuracy_class_passed"),
    *("step_up", "below_screw_accuracy", "turned_about_mm", "alternative", "dial", "carriage_back_mm"),
)


@dataclass(frozen=True, slots=True, repr=False)
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
        wanted, leads = self.wanted, (self.fit.lead_mm,)
        return Limits(self.interval_mm, wanted.lead_mm, leads, self.shop.units, wanted.of_gears)

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

    def record(self) -> Record:
        """The judgement for programs; the keys are stable."""
        return checked_record(self)

    def rows(self) -> list[Record]:
        """The same in one flat row."""
        return [self.record()]

    def table(self) -> Table:
        """What each single wrong gear would give."""
        return slips(self)

    def document(self) -> Document:
        """The judgement for people."""
        return page(self)


def checked_record(checked: CheckResult) -> Record:
    """The judgement for programs; the keys are stable. ``longest_allowed_mm`` is None where there is no end."""
    figures, tooth, (shortest, longest) = checked.figures, checked.tooth, _ends(checked)
    return {
        "wanted": wanted_record(checked.wanted, checked.shop.units) if checked.wanted else None,
        "shop": checked.shop.name,
        "demo": checked.shop.is_demo,
        **solution_record(checked.shop, checked.fit),
        "same_lead": None,  # which other gears give the lead is not looked for
        "within": checked.within,
        "against": "; ".join(note.text for note in checked.against),
        "drift_mm": number(figures.drift_mm if figures else None),
        "turn_deg": number(figures.turn_deg if figures else None),
        "around_mm": number(figures.around_mm if figures else None),
        "helix_angle_deg": number(checked.helix_angle_deg),
        "exact_tilt_deg": number(checked.tilt_deg),
        "helix_angle_change_deg": number(figures.helix_deg if figures else None),
        "shortest_allowed_mm": number(shortest),
        "longest_allowed_mm": number(longest),
        "longest_cut_mm": number(checked.longest_cut_mm),
        "helix_slope_um": number(tooth.slope_um if tooth else None),
        "helix_slope_allowed_um": tooth and tooth.allowed_um,
        "accuracy_class_passed": tooth and tooth.passes,
        "step_up": float(checked.fit.step_up),
        "below_screw_accuracy": checked.screw_floor,
        "travel_mm": {str(turns): float(travel) for turns, travel in checked.travel_mm.items()},
        "slips": [_slip_record(checked, place) for place in range(len(checked.slips))],
        "turned_about_mm": float(checked.turned_about_mm),
        "alternative": str(checked.alternative.train) if checked.alternative else None,
        "other_routes": [_other_record(other) for other in checked.others],
        "notes": [note.record() for note in (*checked.against, *checked.notes)],
    }


def _other_record(other: CheckResult) -> Record:
    record = solution_record(other.shop, other.fit)
    names = ("route", "lever", "route_cost", "lead_mm", "lead_exact", "error_ppm", "hand", "mounts")
    return {name: record[name] for name in names}


def _slip_record(checked: CheckResult, place: int) -> Record:
    slip = checked.slips[place]
    return {
        "meant": slip.meant,
        "put_on": slip.put_on,
        "place": slip.place,
        "in_the_box": slip.in_the_box,
        "lead_mm": float(slip.lead_mm),
    }


def _ends(checked: CheckResult) -> tuple[Fraction | None, Fraction | None]:
    """Shortest and longest geared lead that will do [mm]; None without a tolerance, and for a longest without end."""
    if checked.interval_mm is None or checked.wanted is None:
        return None, None
    return open_ended(checked.interval_mm, checked.wanted.lead_mm)


def page(checked: CheckResult) -> Document:
    """The judgement for people: the train and its lead, what it does to the part, how to prove it."""
    shop, wanted = checked.shop, checked.wanted
    judged = (
        *_error_lines(checked),
        *_tilt_lines(checked),
        *_tolerance_lines(checked),
        *_under(tooth_slope(checked.tooth) if checked.tooth else iter(())),
        *_mounting_lines(checked),
        *_under(shop.machine.turning(checked.route, checked.fit.step_up), "turning: "),
        *shop.machine.catching(checked.fit.lead_mm, wanted.starts if wanted else 1, shop.units),
    )
    asked, about = (wanted.asked(shop.units), wanted.about(shop.units)) if wanted else (_cut_lines(checked), [])
    return Document(
        f"train {checked.fit.train}: lead {_lead(checked)}, {_hand(checked)}",
        tuple(asked),
        (*checked.against, *two_ratios(shop, checked.route)),
        (
            Block(lines=judged),
            *_by_other_routes(checked),
            Block(lines=(*about, shop.heading, *machine_lines(shop, checked.route))),
            Block("to prove it by hand:", tuple(f"  {line}" for line in _proof_lines(checked))),
            Block("if one gear is wrong, you get:", table=slips(checked), detail=_SLIPS),
            Block(
                lines=(f"drivers and driven swapped: {' '.join(_slipped(checked, checked.turned_about_mm))}",),
                detail=_SLIPS,
            ),
        ),
        (*checked.notes, CAUTION),
    )


def _by_other_routes(checked: CheckResult) -> Iterator[Block]:
    """What the same train cuts by each other way that was asked for."""
    if checked.others:
        ways = (checked.route, *(other.route for other in checked.others))
        several = (Told(other.shop, other.fit, 1, other.wanted, other.limits, routes=ways) for other in checked.others)
        names = ("route", "lever", "lead", "error", "relative", "hand")
        shown = tuple(column for column in SOLUTION if column.short in names)
        cost = checked.shop.machine.cost(checked.route, checked.shop.dividing)
        mine = f"by the route {checked.route.label}{f' ({cost})' if cost else ''} above; by the other routes:"
        yield Block(mine, table=Table.of(shown, list(several)))


def _under(lines: Iterator[str], name: str = "") -> Iterator[str]:
    """The first line, and the others under it."""
    for place, line in enumerate(lines):
        yield f"  {line}" if place else f"{name}{line}"


def _lead(checked: CheckResult) -> str:
    lead, limits = checked.fit.lead_mm, checked.limits
    return format_both(lead, checked.shop.units) if limits is None else limits.lead(lead)


def _hand(checked: CheckResult) -> str:
    hand = checked.fit.hand
    return f"{hand} hand" if hand else "hand not known: turn it through by hand once"


def _cut_lines(checked: CheckResult) -> Iterator[str]:
    """What the train cuts, where there is no wanted lead to hold it against."""
    angle, cut, unit = checked.helix_angle_deg, checked.part, checked.shop.units
    if checked.wanted is not None:
        return
    if angle is not None and cut.diameter_mm is not None:
        yield (
            f"at diameter {format_both(cut.diameter_mm, unit)}: helix angle {format_angle(angle)} from the axis, "
            f"lead angle {format_angle(90 - angle)} square to it"
        )
    if cut.length_mm is not None:
        turned = significant(360 * cut.length_mm / checked.fit.lead_mm, 4)
        yield f"over {format_length(cut.length_mm, unit)} of cut the work turns {turned}°"


def _error_lines(checked: CheckResult) -> Iterator[str]:
    figures, unit, wanted, limits = checked.figures, checked.shop.units, checked.wanted, checked.limits
    if figures is None or wanted is None or limits is None:
        return
    if figures.error == 0:
        yield "error: none, the lead is exact"
        return
    side, turn = ("long", "less") if figures.error > 0 else ("short", "more")
    off = format_length(abs(figures.lead_mm - figures.wanted_mm), unit)
    where = f"at the tilt of {format_angle(wanted.tilt_deg)} the lead on the work" if wanted.tilt_deg else "the lead"
    yield f"error: {where} is {off} too {side} ({limits.relative(checked.fit.lead_mm)}){mark(checked.is_off, None)}"
    if figures.drift_mm is not None and figures.length_mm is not None and figures.turn_deg is not None:
        over = format_length(figures.length_mm, unit)
        yield f"  along the axis: {format_length(abs(figures.drift_mm), unit)} {side} over {over} of cut"
        around = figures.around_mm
        at = "" if around is None else f", {format_length(abs(around), unit)} around the diameter"
        yield f"  around the axis: the work turns {significant(abs(figures.turn_deg), 4)}° {turn} over that length{at}"
    if figures.helix_deg is not None:
        angle = checked.helix_angle_deg
        assert angle is not None
        yield f"  helix angle at the diameter: {helix_words(figures.helix_deg)}, {format_angle(angle)} from the axis"
    if checked.screw_floor:
        accuracy = checked.shop.machine.screw_accuracy
        assert accuracy is not None
        yield f"  within the screw's own error ({format_ppm(accuracy)[1:]}): a smaller error gains nothing"


def _tilt_lines(checked: CheckResult) -> Iterator[str]:
    """The tilt that takes up the error of the gears on a cam."""
    wanted = checked.wanted
    if wanted is None or not wanted.is_cam or not checked.fit.error:
        return
    if checked.tilt_deg is None:
        geared = format_both(checked.fit.lead_mm, checked.shop.units)
        yield f"tilt: none works: this train gives {geared}, less than the lead on the work"
    else:
        yield f"tilt: set the head to {format_angle(checked.tilt_deg)} instead: with these gears the lead is then exact"


def _tolerance_lines(checked: CheckResult) -> Iterator[str]:
    if checked.interval_mm is None or checked.limits is None:
        if checked.is_off:
            yield f"tolerance: none given; {OFF}"
        elif checked.fit.error and checked.wanted is not None:
            yield "tolerance: none given, so judge this error yourself, or add --tolerance"
        return
    yield f"tolerance: {'inside' if checked.fit.within else 'OUTSIDE'}; {checked.limits.words}"
    if checked.longest_cut_mm is not None:
        longest = at_most(checked.longest_cut_mm, checked.shop.units)
        yield f"  longest cut before the error uses up the tolerance: {longest}"


def _mounting_lines(checked: CheckResult) -> Iterator[str]:
    fit = checked.fit
    yield f"mounts: {fit.why or JUDGEMENT[fit.mounts]}" if fit.mounts == "rule" else f"mounts: {_verdict(fit)}"
    if fit.placement:
        names = Names(checked.shop, checked.route, fit.train.studs)
        yield from (f"  {line}" for line in placement_lines(fit.placement, names))
    if checked.alternative is not None:
        other = checked.alternative
        how = " by the rule of thumb" if other.mounts == "rule" else ""
        hand = f"{other.hand} hand" if other.hand else "hand not known"
        yield f"  the same gears mount{how} as {other.train}: {hand}"


def _verdict(fit: Solution) -> str:
    return JUDGEMENT[fit.mounts] + (f", {fit.why}" if fit.why else "")


def _proof_lines(checked: CheckResult) -> Iterator[str]:
    """On a cam the length is no travel: it lies square to the axis."""
    wanted = checked.wanted
    is_cam = wanted is not None and wanted.is_cam
    length = None if is_cam else checked.part.length_mm
    arc = None if wanted is None or is_cam else wanted.arc_deg
    yield from proof(checked.shop, checked.route, checked.fit.train, length, arc)


def slips(checked: CheckResult) -> Table:
    """What each single wrong gear would give."""
    return Table.of(_SLIP, [(checked, place) for place in range(len(checked.slips))])


def _slipped(checked: CheckResult, lead_mm: Fraction) -> tuple[str, str]:
    """The lead of another train, and how far it is from that of the train meant."""
    off = lead_mm / checked.fit.lead_mm - 1
    return format_length(lead_mm, checked.shop.units), "the same lead" if off == 0 else format_ppm(off)


def _of_slip(part: int) -> Any:
    return lambda row: _slipped(row[0], row[0].slips[row[1]].lead_mm)[part]


_SLIP: tuple[Column[Any], ...] = (
    Column("", "put on", cell=lambda row: str(row[0].slips[row[1]].put_on), right=True),
    Column("", "for the", cell=lambda row: str(row[0].slips[row[1]].meant), right=True),
    Column("", "as", cell=lambda row: row[0].slips[row[1]].place),
    Column("", "lead", cell=_of_slip(0), right=True),
    Column("", "off by", cell=_of_slip(1), right=True),
    Column("", "owned", cell=lambda row: "yes" if row[0].slips[row[1]].in_the_box else ""),
)
