"""What stands on the set-up sheet, block by block, in the order in which it is needed at the machine."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from math import floor

from ..base.document import Block, Item, strong
from ..base.sources import noted
from ..base.units import decimals, format_angle, format_ppm, significant
from ..mounting.pieces import pieces_of, shafts
from ..mounting.placement import JUDGEMENT, Names, Stud
from ..search.tooth import tooth_slope
from ..work.figures import error_in_words
from ..work.limits import at_most, mark
from ..work.spans import span_note, span_words
from . import cams, cutting
from .items import do, know
from .job import Job
from .stacked import stacked
from .tally import tally_of


def what_is_cut(job: Job) -> Block:
    """The part."""
    return Block("What is cut", items=tuple(_cut(job)))


def _cut(job: Job) -> Iterator[Item]:
    wanted = job.checked.wanted
    if job.how_chosen:
        yield know(job.how_chosen)
    if wanted is not None:
        for line in wanted.describe(job.unit, once=True):
            yield know(line)
    if job.is_cam:
        yield from cams.rise(job)
    elif job.length_mm is not None:
        turn = cutting.turn_deg(job.lead_mm, job.length_mm)
        turns = f"makes {decimals(turn / 360, 3)} turns" if turn >= 360 else f"turns {format_angle(turn)}"
        yield know(f"Length along the axis {strong(job.dialled(job.length_mm))}; over it the work {turns}")
    if job.depth_mm is not None:
        yield know(f"Depth {strong(job.dialled(job.depth_mm))}")
    if wanted is not None and wanted.gear is not None:
        gear = wanted.gear
        yield know(
            f"Blank {job.told(cutting.blank_diameter_mm(gear))} over the tips; whole depth as marked on the cutter: "
            f"full-depth teeth have {job.told(cutting.tooth_depth_mm(gear))}, 14½° form cutters often "
            f"{job.told(cutting.shallow_depth_mm(gear))} (2.25 and 2.157 modules) {noted('memory')}"
        )
    if job.checked.fit.error:
        off = job.checked.work_lead_mm / job.lead_mm - 1
        share = f" ({format_ppm(off)})" if off else ""
        yield know(f"Above: the drawing; below: this train, {job.told(job.checked.work_lead_mm)}{share}")


def the_gear(job: Job) -> Block | None:
    """The cutter of a helical gear, and the span by which its depth is proved; None for any other part."""
    gear = job.checked.wanted.gear if job.checked.wanted else None
    if gear is None:
        return None
    items = [know(_cutter(gear.teeth, cutting.virtual_teeth(gear)))]
    if span := span_words(gear, job.unit, job.length_mm):
        items.append(know(f"{span}. {span_note(gear.normal_module_mm, job.unit)}"))
    return Block("The gear", items=tuple(items), own_page=True)


def _cutter(teeth: int, virtual: Fraction) -> str:
    cut_down = decimals(Fraction(floor(virtual * 10), 10), 1)  # rounded, it could pass the count where a cutter begins
    text = f"Cutter for {strong(f'{cut_down} teeth')}: {teeth} / cos³ of the helix angle, not for the {teeth}"
    serving = cutting.cutter_range(virtual)
    if serving is None:
        return f"{text}; no cutter of the usual set of eight goes below 12 {noted('memory')}"
    last = "a rack" if serving[1] is None else str(serving[1])
    number = cutting.cutter_number(serving)
    lower = (
        "; between two cutters use the one for fewer teeth" if serving[1] is not None and virtual > serving[1] else ""
    )
    return (
        f"{text}; of the usual set of eight {strong(f'No. {number}, marked {serving[0]} to {last} teeth')}, or "
        f"No. {9 - number} where No. 1 is that of 12 and 13{lower} {noted('memory')}"
    )


def putting_on(job: Job) -> Block:
    """The train by mesh in power order, and the order of putting it on: ends, then studs from the pivot outward."""
    return Block("Put the train on", items=tuple(_putting_on(job)), diagram=tuple(stacked(job.checked)))


def _putting_on(job: Job) -> Iterator[Item]:
    fit, names = job.checked.fit, job.names
    if fit.mounts == "no":
        other = job.checked.alternative
        instead = "" if other is None else f"; make the sheet of {strong(other.train)}"
        yield know(f"{strong('Do not put it on')}: {job.checked.fault}{instead}")
        return
    gears, placement = _Gears(job), fit.placement
    last = names.studs + 1
    apart = "" if placement is None else f"; shafts {strong(names.length(placement.shaft_distance_mm))} apart"
    ends = ", ".join(f"{gears.on(shaft)} on {names.shaft(shaft)}{gears.idle(shaft)}" for shaft in (0, last))
    yield do(f"Machine {strong('isolated')}. {ends[0].upper()}{ends[1:]}{apart}.")
    if placement is None:
        judged = fit.why or JUDGEMENT[fit.mounts]
        unknown = " Stud places are not known without a quadrant in the shop file." if names.studs else ""
        yield know(f"Mounts: {judged}.{unknown}")
        yield from (do(gears.stud(number)) for number in range(1, last))
    else:
        pivot = 0 if placement.pivot == "first" else last
        for stud in placement.studs if pivot == 0 else placement.studs[::-1]:
            yield do(f"{gears.stud(stud.number)}: {_stands(stud, names, pivot)}.")
    yield do("Mesh with a strip of paper between the teeth; turn by hand and feel for a tight spot.")
    if placement is not None:
        yield know(f"Tightest: {placement.tightest.removeprefix('tightest ')}.", drawn=True)
        if placement.studs:
            swing = "Swing is counted from the line between the shafts, + is the side you marked + in the shop file."
            yield know(swing, drawn=True)


def _stands(stud: Stud, names: Names, pivot: int) -> str:
    near = [(stud.number - 1, stud.to_previous_mm), (stud.number + 1, stud.to_next_mm)]
    others = ", ".join(f"{names.length(mm)} from {names.shaft(shaft)}" for shaft, mm in near if shaft != pivot)
    return (
        f"{strong(names.length(stud.from_pivot_mm))} from {names.shaft(pivot)} (the pivot), {others}; swing "
        f"{strong(f'{stud.swing_deg:+.1f}°')}"
    )


class _Gears:
    """The gears of a job's train in words: what is keyed, what is one piece, what hangs idle, what is the loose one."""

    def __init__(self, job: Job) -> None:
        checked = job.checked
        self._names, self._shop = job.names, checked.shop
        self._shafts = list(shafts(checked.fit.train))
        self._pieces = pieces_of(checked.shop, checked.fit.train, checked.fit.placement)
        self._joined = {
            (gears.kind.tag, teeth) for gears in checked.shop.gears for piece in gears.joined for teeth in piece
        }

    def on(self, shaft: int) -> str:
        """The gears of a shaft."""
        return " and ".join(self._one(gear, shaft) for gear in self._shafts[shaft])

    def _one(self, gear: tuple[str, int], shaft: int) -> str:
        """One gear, with what tells it from another of the same count."""
        tag, teeth = gear
        place = {0: "first", len(self._shafts) - 1: "last"}.get(shaft)
        if place and self._shop.gear_set(tag).fixed.get(place) == teeth:
            return f"the fixed {strong(teeth)}"
        loose = gear in self._joined and shaft not in self._pieces
        return f"the loose {strong(teeth)}" if loose else strong(teeth)

    def stud(self, number: int) -> str:
        """A stud with its gears."""
        gears, name = self._shafts[number], self._names.shaft(number).capitalize()
        if len(gears) == 1:
            return f"{name} with {self.on(number)} as an idler{self.idle(number)}"
        if number in self._pieces:
            return f"{name} with {self.on(number)}, {strong('one piece')}"
        return f"{name} with {self.on(number).replace(' and ', ' and, keyed to it, ')}"

    def idle(self, shaft: int) -> str:
        """The partner that hangs idle on a shaft, and where."""
        piece = self._pieces.get(shaft)
        if piece is None or piece.idle is None:
            return ""
        where = "beside it" if piece.plane is None else f"in plane {piece.plane + 1}"
        return f" (one piece with a {strong(piece.idle)}, which hangs {strong('idle')} {where})"


def setting_the_machine(job: Job) -> Block:
    """Head, table, tilt and cutter."""
    return Block("Set the machine", items=tuple(_setting(job)))


def _setting(job: Job) -> Iterator[Item]:
    shop, route = job.checked.shop, job.checked.route
    if route.lever:
        yield do(f"Gearbox lever to {strong(route.lever)}")
    yield do(shop.machine.engaging(route, shop.dividing))
    yield from map(know, shop.machine.turning(route, job.checked.fit.step_up))
    wanted = job.checked.wanted
    if wanted is not None and wanted.is_cam:
        yield from cams.tilt(job, wanted)
    elif shop.machine.has_cutter:
        yield from _table(job)
    if job.wall_mm is not None and job.end_mill_mm is not None:
        yield from _offset(job)


def _table(job: Job) -> Iterator[Item]:
    """Table swing for a disc cutter, none for an end mill; both where no cutter was named."""
    angle, diameter = job.checked.helix_angle_deg, job.checked.diameter_mm
    if job.end_mill_mm is not None and job.disc_mm is None:
        yield do(f"End mill: table left {strong('square')}.")
        return
    if angle is None or diameter is None:
        return
    hand = job.hand
    way = strong(cutting.swing_side(hand or "right")) + ("" if hand else " for a right-hand helix, else the other way")
    yield do(
        f"Disc cutter: swing the table {strong(format_angle(angle))}, its right-hand end {way} "
        f"(cutter above the work) {noted('practice')}{'' if job.disc_mm else '; an end mill: square'}"
    )
    if angle > cutting.FARTHEST_SWING_DEG:
        yield know(
            f"Most tables swing no farther than {cutting.FARTHEST_SWING_DEG}°: use an end mill, or a head that turns "
            f"the cutter {noted('practice')}"
        )


def _offset(job: Job) -> Iterator[Item]:
    assert job.wall_mm is not None
    assert job.end_mill_mm is not None
    wanted, hand = job.checked.wanted, job.hand
    inner, outer = (float(diameter) / 2 for diameter in job.wall_mm)
    middle = float(wanted.diameter_mm) / 2 if wanted and wanted.diameter_mm else (inner + outer) / 2
    ramp = cutting.EndRamp(float(job.checked.work_lead_mm), inner, outer, float(job.end_mill_mm) / 2, middle)
    seen = "goes away from" if job.flank == "end" else "comes toward"
    side = f" {strong(f'to the {cutting.offset_side(hand, job.flank).upper()}')}" if hand else ""
    sides = "" if hand else f": {cutting.offset_side('right', job.flank)} for a right-hand ramp, else the other side"
    yield do(
        f"Offset the end mill {strong(job.length(ramp.offset_mm))} across the axis{side}, as you look straight at the "
        f"end face with the cutter at the top: to the side where the ramp {seen} you{sides}. It is cutter radius × "
        f"sin of the lead angle at diameter {job.length(2 * middle)}."
    )
    yield know(
        f"Dish over the wall: {job.length(ramp.dish_mm(ramp.offset_mm))} with this offset, "
        f"{job.length(ramp.dish_mm(0.0))} with none, {job.length(ramp.dish_mm(-ramp.offset_mm))} on the wrong side "
        f"{noted('here')}."
    )


def cutting_it(job: Job) -> Block:
    """Stops, feed, backlash, the first cut."""
    return Block("Cut", items=tuple(_cutting(job)))


def _cutting(job: Job) -> Iterator[Item]:
    wanted, machine = job.checked.wanted, job.checked.shop.machine
    if wanted is not None and wanted.is_cam:
        yield from cams.cutting_it(job, wanted)
    else:
        yield from _run_out(job)
        yield from _along_a_groove(job)
    yield from map(
        know, machine.catching(job.checked.fit.lead_mm, wanted.starts if wanted else 1, job.checked.shop.units)
    )
    told = machine.has_cutter and (job.checked.diameter_mm is not None or job.is_cam)
    if machine.backlash_mm is None or not told:
        yield know("Take up backlash the same way before every cut.")
    yield do(machine.first_cut)


def _along_a_groove(job: Job) -> Iterator[Item]:
    """Feed, where the table is fed, and backlash at the diameter, where one is known."""
    backlash, lead = job.checked.shop.machine.backlash_mm, job.checked.fit.lead_mm
    diameter = job.checked.diameter_mm if job.checked.shop.machine.has_cutter else None
    if diameter is None:
        return
    if job.checked.route.takes_power(job.checked.fit.step_up):
        yield know(cutting.feed_words(cutting.feed_factor(lead, diameter), "groove"))
    if backlash is not None:
        moved = cutting.lost_motion_mm(lead, diameter, backlash)
        yield know(
            f"{job.length(backlash)} of backlash shifts the groove {strong(job.length(moved))} round the work: "
            "take it up the same way before every cut."
        )


def _run_out(job: Job) -> Iterator[Item]:
    """Room past both ends, and where the stops go; what a disc cutter's width adds is told where it is not given."""
    disc, depth = job.disc_mm, job.cut_depth_mm
    if disc is not None and depth is None:
        yield know("A disc cutter needs room past each end, more the deeper it cuts: give --depth to see how much.")
        return
    if disc is not None and depth is not None:
        swing, width = job.checked.helix_angle_deg, job.disc_width_mm
        room = Fraction(cutting.run_out_mm(disc, depth, swing, width or Fraction(0)))
        cutter = "thin disc cutter" if width is None else f"disc cutter {job.length(width)} wide"
        cutter += "" if job.depth_mm else f" that cuts {job.length(depth)} deep"
    elif job.end_mill_mm is not None and job.disc_mm is None:
        room, cutter = job.end_mill_mm / 2, "end mill"
    else:
        return
    if job.wall_mm is not None:
        yield do(
            f"At the foot of the ramp {strong(f'stop before the edge of the {cutter} meets the step')}: it stands "
            f"{strong(job.length(room))} ahead of the cutter's axis. Room past the end is there at the top only."
        )
        return
    article = "the" if disc is None else "a"
    travel = None if job.length_mm is None else strong(job.room(job.length_mm + 2 * room))
    stops = "" if travel is None else f": stops for {travel} of travel at least"
    yield do(f"Leave {strong(job.room(room))} free past each end for {article} {cutter}{stops}.")
    if disc is not None and job.disc_width_mm is None:
        yield know(_width(job.checked.helix_angle_deg))


def _width(swing: Fraction | None) -> str:
    """What the width of a disc cutter adds to the room at each end."""
    if swing is None:
        return "For its width add half of it × sin of the swing at each end, along the axis; the stops twice as much"
    share = decimals(cutting.rounded_up(cutting.width_share(swing), Fraction(1, 100)), 2)
    return (
        f"For its width add {strong(f'{share} × the width')} at each end, along the axis: half of it × sin of the "
        "swing; the stops twice as much"
    )


def indexing(job: Job) -> Block | None:
    """How to go from one start, flute or tooth to the next while the machine is geared; None for a single one."""
    if job.indexing is None:
        return None
    items, wanted = job.indexing.items, job.checked.wanted
    if job.indexing.why_not and wanted is not None and not job.checked.shop.machine.has_head:
        items += (know(f"One pitch is {strong(job.dialled(wanted.pitch_mm))}"),)
    return Block(f"Index the {job.divisions} {job.checked.shop.machine.divisions}", items=items)


def dividing_table(job: Job) -> Block | None:
    """Every division numbered, to be ticked off; None where there is nothing to number."""
    tally = tally_of(job.checked)
    if tally is None:
        return None
    return Block(tally.title, table=tally.table, own_page=True)


def error_of(job: Job) -> Block | None:
    """What the error does to the part, against the tolerance; None where nothing was wanted."""
    if job.checked.figures is None:
        return None
    return Block("What the error does", items=tuple(_error(job)), own_page=True)


def _error(job: Job) -> Iterator[Item]:
    checked, figures = job.checked, job.checked.figures
    assert figures is not None
    if checked.wanted is not None and checked.tilt_deg is not None:
        yield from cams.error(job, checked.wanted)
    elif figures.error == 0:
        yield know("None: the lead is exact.")
    else:
        words = error_in_words(figures, job.unit)
        assert checked.limits is not None
        off = strong(checked.limits.relative(checked.fit.lead_mm) + mark(checked.is_off, None))
        yield know(f"Lead {off}" + (f": {words}" if words else ""))
        if figures.turn_deg is not None:
            more = "less" if figures.turn_deg < 0 else "more"
            around = "" if figures.around_mm is None else f", {job.length(abs(figures.around_mm))} around the diameter"
            yield know(f"The work turns {significant(abs(figures.turn_deg), 4)}° {more} than it should{around}")
    if checked.interval_mm is not None and checked.limits is not None and checked.tilt_deg is None:
        yield know(f"{strong('Inside' if checked.fit.within else 'OUTSIDE')} the tolerance: {checked.limits.words}")
    if checked.longest_cut_mm is not None:
        yield know(f"Longest cut before the error uses up the tolerance: {at_most(checked.longest_cut_mm, job.unit)}")
    if checked.tooth is not None and figures.error:
        yield from map(know, tooth_slope(checked.tooth))
    if checked.screw_floor and figures.error:
        yield know("Within the screw's own error: a smaller error gains nothing")
