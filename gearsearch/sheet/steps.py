"""What stands on the set-up sheet, block by block, in the order in which it is needed at the machine."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from ..check import Checked, decimal
from ..leads import STEEPEST_TILT_DEG, WantedLead, tilt_for
from ..mounting.placement import Names, Stud
from ..report import JUDGEMENT
from ..tolerance import error_in_words
from ..units import decimals, format_angle, format_ppm
from . import cutting
from .block import Block, Item, do, know
from .job import Job
from .stacked import stacked

_BLANK = "_" * 14
_MOST_TRAVEL_MM = (
    500  # of a small mill's table, about: no turn of the work is proved that takes more, if another will do
)
_TURNS = (10, 5, 4, 3, 2)
_GRADUATION_DEG = Fraction(1, 4)


def what_is_cut(job: Job) -> Block:
    """The part."""
    return Block("What is cut", tuple(_cut(job)))


def _cut(job: Job) -> Iterator[Item]:
    wanted = job.checked.wanted
    if job.chosen:
        yield know(job.chosen)
    if wanted is not None:
        for line in wanted.describe(job.unit):
            yield know(line)
    if job.length_mm is not None:
        turn = cutting.turn_deg(job.lead_mm, job.length_mm)
        turns = f"{decimals(turn / 360, 3)} turns" if turn >= 360 else format_angle(turn)
        yield know(f"Length along the axis {job.both(job.length_mm)}; over it the work turns {turns}")
    if job.depth_mm is not None:
        yield know(f"Depth {job.both(job.depth_mm)}")
    if wanted is not None and wanted.gear is not None:
        gear = wanted.gear
        yield know(
            f"Blank {job.both(cutting.blank_diameter_mm(gear))} over the tips; whole depth as marked on the cutter: "
            f"full-depth teeth have {job.both(cutting.tooth_depth_mm(gear))}, 14½° form cutters often "
            f"{job.both(cutting.shallow_depth_mm(gear))} (2.25 and 2.157 modules, from memory)"
        )
        yield know(_cutter(gear.teeth, cutting.virtual_teeth(gear)))


def _cutter(teeth: int, virtual: Fraction) -> str:
    text = f"Cutter for **{decimals(virtual, 1)} teeth**: {teeth} / cos³ of the helix angle, not for the {teeth}"
    serving = cutting.cutter_range(virtual)
    if serving is None:
        return f"{text}; no cutter of the usual set of eight goes below 12 (from memory)"
    last = "a rack" if serving[1] is None else str(serving[1])
    return f"{text}; of the usual set of eight that marked **{serving[0]} to {last}** (from memory)"


def putting_on(job: Job) -> Block:
    """The train by mesh in power order, and the order of putting it on: ends, then studs from the pivot outward."""
    plain = tuple(stacked(job.checked))
    return Block("Put the train on", tuple(_putting_on(job)), plain)


def _putting_on(job: Job) -> Iterator[Item]:
    fit, names = job.checked.fit, job.names
    if fit.mounts == "no":
        yield know(f"**{job.checked.fault.capitalize()}**: {fit.why}")
        return
    first, last = names.shaft(0), names.shaft(names.studs + 1)
    placement = fit.placement
    apart = "" if placement is None else f"; shafts **{names.length(placement.shaft_distance_mm)}** apart"
    ends = f"**{fit.train.drivers[0]}** on {first}, **{fit.train.driven[-1]}** on {last}"
    yield do(f"Machine **isolated**. {ends}{apart}.")
    if placement is None:
        judged = fit.why or JUDGEMENT[fit.mounts]
        yield know(f"Mounts: {judged}. Stud places are not known without a quadrant in the shop file.")
        yield from (do(f"{_stud_gears(names, gears, number)}.") for number, gears in enumerate(_on_studs(job), 1))
    else:
        pivot = 0 if placement.pivot == "first" else names.studs + 1
        for stud in placement.studs if pivot == 0 else placement.studs[::-1]:
            yield do(_stud(stud, names, pivot))
    yield do("Mesh with a strip of paper between the teeth; turn by hand and feel for a tight spot.")
    if placement is not None:
        yield know(f"Tightest: {placement.tightest.removeprefix('tightest ')}.")
        if placement.studs:
            yield know("Swing is counted from the line between the shafts, plus to the side that was measured as plus.")


def _stud(stud: Stud, names: Names, pivot: int) -> str:
    near = [(stud.number - 1, stud.to_previous_mm), (stud.number + 1, stud.to_next_mm)]
    others = ", ".join(f"{names.length(mm)} from {names.shaft(shaft)}" for shaft, mm in near if shaft != pivot)
    idle = f", the {stud.idle} of its piece idle" if stud.idle else ""
    return (
        f"{_stud_gears(names, stud.gears, stud.number)}{idle}: **{names.length(stud.from_pivot_mm)}** from "
        f"{names.shaft(pivot)} (the pivot), {others}; swing **{stud.swing_deg:+.1f}°**."
    )


def _stud_gears(names: Names, gears: tuple[int, ...], number: int) -> str:
    tail = f" and, keyed to it, **{gears[1]}**" if len(gears) > 1 else " as an idler"
    return f"{names.shaft(number).capitalize()} with **{gears[0]}**{tail}"


def _on_studs(job: Job) -> list[tuple[int, ...]]:
    """The gears on each stud, driven before driver."""
    pairs = job.checked.fit.train.pairs
    studs: list[tuple[int, ...]] = []
    for number, pair in enumerate(pairs):
        studs += [(idler,) for idler in pair.idlers]
        if number + 1 < len(pairs):
            studs.append((pair.driven, pairs[number + 1].driver))
    return studs


def setting_the_machine(job: Job) -> Block:
    """Head, table, tilt and cutter."""
    return Block("Set the machine", tuple(_setting(job)))


def _setting(job: Job) -> Iterator[Item]:
    yield do(_head(job))
    yield from _turning(job)
    wanted = job.checked.wanted
    if wanted is not None and wanted.tilt_deg is not None:
        yield from _tilt(job, wanted)
    elif job.is_mill:
        yield from _table(job, wanted)
    if job.wall_mm is not None and job.end_mill_mm is not None:
        yield from _offset(job)


def _head(job: Job) -> str:
    route = job.checked.route
    if not job.is_mill:
        return "Half nuts closed, and left closed to the end unless a chasing dial serves this pitch."
    if route.ratio == 1:
        return "Worm **OUT** of mesh, spindle clamp **OFF**: the last gear is on the head's spindle itself."
    return "Index-plate lock **OUT**, index pin **IN**, worm **IN** mesh, spindle clamp **OFF**."


def _turning(job: Job) -> Iterator[Item]:
    checked, names = job.checked, job.names
    step, first, last = checked.fit.step_up, names.shaft(0), names.shaft(names.studs + 1)
    if not job.is_mill:
        yield from _screw_speed(checked)
        return
    if step == 1:
        yield know("First and last shaft turn equally fast.")
    elif step < 1:
        yield know(f"Turn it by **{first}**: the train steps down {decimal(1 / step)} : 1.")
    else:
        yield know(f"Turn it by **{last}**, the fast side: the train steps up 1 : {decimal(step)}.")
    if checked.warns_of_step_up:
        limit = checked.route.step_up_warning
        assert limit is not None
        yield know(
            f"**STEP-UP BEYOND {decimal(limit)}**, at which this route warns: no power feed from {first}; by hand, "
            f"from {last}."
        )


def _screw_speed(checked: Checked) -> Iterator[Item]:
    """How fast the lead screw of a lathe is driven, which the spindle turns whatever the train."""
    step, limit = checked.fit.step_up, checked.route.step_up_warning
    if step <= 1:
        yield know(f"The spindle turns **{decimal(1 / step)} times** as fast as the lead screw.")
    else:
        yield know(f"The lead screw turns **{decimal(step)} times** as fast as the spindle: lowest speed.")
    if limit is not None and checked.warns_of_step_up:
        yield know(
            f"**STEP-UP BEYOND {decimal(limit)}**, at which this route warns: motor isolated, turn by hand, from the "
            "lead screw where it can be."
        )


def _tilt(job: Job, wanted: WantedLead) -> Iterator[Item]:
    """The angle at which this very train gives the lead on the work: the tilt takes up the error of the gears."""
    assert wanted.tilt_deg is not None
    geared = job.checked.fit.lead_mm
    if wanted.work_lead_mm > geared:
        yield know(f"**No tilt serves**: this train gives {job.length(geared)}, less than the work needs.")
        return
    angle = tilt_for(wanted.work_lead_mm, geared)
    yield do(
        f"Head **and** cutter tilted **{format_angle(angle)}** from the table, both axes parallel: sine = lead on the "
        f"work / lead of this train = {decimals(wanted.work_lead_mm / geared, 5)} (Brown & Sharpe 1914, p. 180)."
    )
    if job.checked.fit.error:
        yield know(
            f"At just this tilt the lead on the work is exact; at the {format_angle(wanted.tilt_deg)} that was asked "
            "for it is off by what stands under the error."
        )
    off = cutting.tilt_change_mm(geared, angle, -_GRADUATION_DEG)
    yield know(f"Set a quarter of a degree too low it cuts {job.length(-off)} short in {job.length(job.lead_mm)}.")
    if angle > STEEPEST_TILT_DEG:
        yield know(f"**A tilt above {STEEPEST_TILT_DEG}° is avoided** (Brown & Sharpe 1914, pp. 180-182, 249).")


def _table(job: Job, wanted: WantedLead | None) -> Iterator[Item]:
    """Table swing for a disc cutter, none for an end mill; both where no cutter was named."""
    angle = None if wanted is None else wanted.helix_angle_deg
    if job.end_mill_mm is not None and job.disc_mm is None:
        yield do("End mill: table left **square**.")
        return
    if angle is None or wanted is None or wanted.diameter_mm is None:
        return
    hand = job.hand
    way = f"**{cutting.swing_side(hand or 'right')}**" + ("" if hand else " for a right-hand helix, else the other way")
    yield do(
        f"Disc cutter: swing the table **{format_angle(angle)}**, the helix angle at diameter "
        f"{job.length(wanted.diameter_mm)}, its right-hand end {way} (cutter above the work; common practice, no "
        "source)."
    )
    if angle > cutting.FARTHEST_SWING_DEG:
        yield know(
            f"Most tables swing no farther than {cutting.FARTHEST_SWING_DEG}°: use an end mill, or a head that turns "
            "the cutter (common practice, no source)."
        )
    if job.disc_mm is None:
        yield know("With an end mill the table stays square instead.")


def _offset(job: Job) -> Iterator[Item]:
    assert job.wall_mm is not None
    assert job.end_mill_mm is not None
    wanted, hand = job.checked.wanted, job.hand
    inner, outer = (float(diameter) / 2 for diameter in job.wall_mm)
    middle = float(wanted.diameter_mm) / 2 if wanted and wanted.diameter_mm else (inner + outer) / 2
    ramp = cutting.Ramp(float(job.lead_mm), inner, outer, float(job.end_mill_mm) / 2, middle)
    seen = "goes away from" if job.flank == "end" else "comes toward"
    side = f" **to the {cutting.offset_side(hand, job.flank).upper()}**" if hand else ""
    sides = "" if hand else f": {cutting.offset_side('right', job.flank)} for a right-hand ramp, else the other side"
    yield do(
        f"Offset the end mill **{job.length(ramp.offset_mm)}** across the axis{side}, as you look straight at the end "
        f"face with the cutter at the top: to the side where the ramp {seen} you{sides}. It is cutter radius × sin of "
        f"the lead angle at diameter {job.length(2 * middle)}."
    )
    yield know(
        f"Dish over the wall: {job.length(ramp.dish_mm(ramp.offset_mm))} with this offset, "
        f"{job.length(ramp.dish_mm(0.0))} with none, {job.length(ramp.dish_mm(-ramp.offset_mm))} on the wrong side "
        "(envelope of the cutter, worked out here)."
    )


def proving(job: Job) -> Block:
    """Travel for one and for several turns of the work, and the test of hand."""
    return Block("Prove it by hand", tuple(_proving(job)))


def _proving(job: Job) -> Iterator[Item]:
    checked = job.checked
    lead, screw, work = checked.fit.lead_mm, checked.shop.machine.screw_lead_mm, "work" if job.is_mill else "spindle"
    yield know(_product(job))
    several = next((turns for turns in _TURNS if turns * lead <= _MOST_TRAVEL_MM), 0)
    for turns in (1, several) if several else (1,):
        yield do(
            f"**{turns} turn{'s' if turns > 1 else ''}** of the {work}: {job.both(turns * lead)} of travel, "
            f"{decimal(turns * lead / screw)} turns of the screw. Measured {_BLANK}"
        )
    if not several:
        travel = Fraction(100) if job.unit == "mm" else 4 * Fraction("25.4")
        yield do(
            f"**{job.length(travel)}** of travel, {decimal(travel / screw)} turns of the screw: the {work} turns "
            f"**{format_angle(cutting.turn_deg(lead, travel))}**. Measured {_BLANK}"
        )
    yield do(_hand(job))
    yield do("Scribe a light line over the whole length; measure it and look at its hand before the first cut.")


def _product(job: Job) -> str:
    """The arithmetic of the lead, to be checked against the gears that are on."""
    checked, train = job.checked, job.checked.fit.train
    over, under = (train.driven, train.drivers) if job.is_mill else (train.drivers, train.driven)
    above, below = " × ".join(map(str, over)), " × ".join(map(str, under))
    below = f"({below})" if len(under) > 1 else below
    words = "driven / drivers" if job.is_mill else "drivers / driven"
    route = "" if checked.route.ratio == 1 else f" × route {decimal(checked.route.ratio)}"
    screw = job.length(checked.shop.machine.screw_lead_mm)
    return f"Screw {screw}{route} × {words} {above} / {below} = **{job.length(checked.fit.lead_mm)}**"


def _hand(job: Job) -> str:
    """The test of hand; on a mill the work moves, on a lathe the tool."""
    hand = job.hand
    if not job.is_mill:
        way = {"right": "TOWARD the headstock", "left": "AWAY FROM the headstock"}.get(hand or "")
        rule = "with the top of the work coming toward you the tool must go"
        if way is None:
            return f"Hand: {rule} toward the headstock for a right-hand thread, away from it for a left-hand one."
        start = "; each cut begins at the headstock end" if hand == "left" else ""
        return f"**{hand} hand**: {rule} **{way}**{start}. If not, {_turns_the_hand(job)}."
    rule = "looking along the work from either end, it must turn"
    if hand is None:
        return (
            f"Hand: {'set by the reversing lever' if job.has_lever else 'not known from the shop file'}. "
            f"{rule[0].upper()}{rule[1:]} clockwise as it moves away from you for a right-hand helix, anticlockwise "
            "for a left-hand one."
        )
    way = "CLOCKWISE" if hand == "right" else "ANTICLOCKWISE"
    return f"**{hand} hand**: {rule} **{way}** as it moves away from you. If not, {_turns_the_hand(job)}."


def _turns_the_hand(job: Job) -> str:
    return "turn the reversing lever" if job.has_lever else "one idler more or fewer turns the hand"


def cutting_it(job: Job) -> Block:
    """Stops, feed, lost motion, the first cut."""
    return Block("Cut", tuple(_cutting(job)))


def _cutting(job: Job) -> Iterator[Item]:
    wanted, backlash = job.checked.wanted, job.checked.shop.machine.backlash_mm
    is_cam = wanted is not None and wanted.tilt_deg is not None
    if wanted is not None and is_cam:
        yield from _along_a_cam(job, wanted)
    else:
        yield from _run_out(job)
    if job.is_mill and wanted is not None and not is_cam:
        yield from _along_a_groove(wanted, job)
    if backlash is None or not job.is_mill or wanted is None or (wanted.diameter_mm is None and not is_cam):
        yield know("Take up lost motion the same way before every cut.")
    if job.is_mill:
        yield do(
            "First cut light. Feed against the cutter's rotation unless lost motion is taken out of the screw. Cutter "
            "withdrawn before the return."
        )
    else:
        yield do(
            "First cut light: measure the pitch over as many threads as there are. Tool withdrawn before the return."
        )


def _along_a_groove(wanted: WantedLead, job: Job) -> Iterator[Item]:
    """Feed and lost motion at the diameter, where one is known."""
    backlash = job.checked.shop.machine.backlash_mm
    if wanted.diameter_mm is None:
        return
    factor = cutting.feed_factor(wanted.work_lead_mm, wanted.diameter_mm)
    yield know(
        f"Along the groove the cutter goes **{factor:.2f}** times as fast as the table: of the feed it can stand, "
        f"put **{100 / factor:.0f} %** on the table."
    )
    if backlash is not None:
        moved = cutting.lost_motion_mm(wanted.work_lead_mm, wanted.diameter_mm, backlash)
        yield know(
            f"Lost motion of {job.length(backlash)} moves the groove **{job.length(moved)}** around: take it up "
            "the same way before every cut."
        )


def _along_a_cam(job: Job, wanted: WantedLead) -> Iterator[Item]:
    """Cutter length, feed and lost motion of a tilted head, where the table goes the geared lead for one rise."""
    rise, geared, backlash = wanted.work_lead_mm, job.checked.fit.lead_mm, job.checked.shop.machine.backlash_mm
    if rise > geared:
        return
    yield do(
        f"Cutter longer than the cam is thick: one turn slides the work "
        f"**{job.length(cutting.slide_mm(rise, geared))}** along it, part of a turn that part."
    )
    if wanted.diameter_mm is not None:
        factor = cutting.cam_feed_factor(rise, geared, wanted.diameter_mm)
        yield know(
            f"Along the outline the cutter goes **{factor:.2f}** times as fast as the table: of the feed it can stand, "
            f"put **{100 / factor:.0f} %** on the table."
        )
    if backlash is not None:
        yield know(
            f"Lost motion of {job.length(backlash)} puts the rise **{job.length(backlash * rise / geared)}** out: take "
            "it up the same way before every cut."
        )


def _run_out(job: Job) -> Iterator[Item]:
    """Room past both ends, and where the stops go; for a swung disc cutter a little more than it needs."""
    if job.disc_mm is not None and job.depth_mm is not None:
        room, cutter = Fraction(cutting.run_out_mm(job.disc_mm, job.depth_mm)), "disc cutter"
    elif job.end_mill_mm is not None and job.disc_mm is None:
        room, cutter = job.end_mill_mm / 2, "end mill"
    else:
        return
    if job.wall_mm is not None:
        yield do(
            f"At the foot of the ramp **stop before the edge of the {cutter} meets the step**: it stands "
            f"**{job.length(room)}** ahead of the cutter's axis. Room past the end is there at the top only."
        )
        return
    whole = (
        "" if job.length_mm is None else f": stops for **{job.length(job.length_mm + 2 * room)}** of travel at least"
    )
    yield do(f"Leave **{job.length(room)}** free past each end for the {cutter}{whole}.")


def error_of(job: Job) -> Block | None:
    """What the error does to the part, against the tolerance; None where nothing was wanted."""
    return Block("What the error does", tuple(_error(job))) if job.checked.figures is not None else None


def _error(job: Job) -> Iterator[Item]:
    checked, figures = job.checked, job.checked.figures
    assert figures is not None
    if figures.error == 0:
        yield know("None: the lead is exact.")
    else:
        tilted = checked.wanted is not None and checked.wanted.tilt_deg is not None
        diameter = None if tilted else figures.diameter_mm  # a cam has no helix angle
        words = error_in_words(figures.wanted_mm, figures.lead_mm, job.length_mm, diameter, job.unit)
        yield know(f"Lead **{format_ppm(figures.error)}**" + (f": {words}" if words else ""))
        if figures.turn_deg is not None:
            more = "less" if figures.turn_deg < 0 else "more"
            around = "" if figures.around_mm is None else f", {job.length(abs(figures.around_mm))} around the diameter"
            yield know(f"The work turns {decimals(abs(figures.turn_deg), 4)}° {more} than it should{around}")
    if checked.interval_mm is not None:
        low, high = (job.length(lead) for lead in checked.interval_mm)
        yield know(
            f"**{'Inside' if checked.fit.within else 'OUTSIDE'}** the tolerance: geared leads {low} to {high} will do"
        )
    if checked.longest_cut_mm is not None:
        yield know(f"Longest cut inside what it allows: {job.length(checked.longest_cut_mm)}")
    if checked.tooth is not None and figures.error:
        yield from _tooth(checked)
    if checked.screw_floor and figures.error:
        yield know("Below what the screw itself holds: a smaller error is worth nothing")


def _tooth(checked: Checked) -> Iterator[Item]:
    tooth = checked.tooth
    assert tooth is not None
    passes = "none of the classes" if tooth.passes is None else f"class {tooth.passes} and coarser"
    yield know(
        f"Helix slope over the face {decimals(tooth.slope_um, 2)} µm: by the lead alone {passes} of ISO 1328-1:2013 "
        "(formula from memory)"
    )
    if tooth.allowed_um is not None:
        verdict = "inside" if abs(tooth.slope_um) <= Fraction(tooth.allowed_um) else "**OUTSIDE**"
        yield know(f"Class {tooth.accuracy} allows {tooth.allowed_um} µm: {verdict}")
