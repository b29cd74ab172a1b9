"""What a train that somebody has in mind gives: its lead, its error in the part's terms, whether it mounts."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction
from typing import TYPE_CHECKING

from ..base import require
from ..base.errors import GearsearchError
from ..base.facts import Note
from ..shop.machine import Route
from ..shop.pool import GearPool, pool_of
from ..shop.shop import Shop
from ..shop.trains import Train
from ..work.accuracy import iso_class, iso_covers, iso_helix_slope_um
from ..work.figures import Figures, figures_of, longest_cut_mm
from ..work.part import HOW_TO_MAKE, Blank, Part
from .checked import CheckResult
from .routes import is_better, other_routes, told_better
from .slips import slips_of, turned_about_mm
from .solution import Solution
from .terms import Terms
from .tooth import ToothSlope

if TYPE_CHECKING:
    from ..mounting.judge import Verdict

PROOF_TURNS = (1, 10)


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
    terms = (terms or Terms()).for_part(part, shop)
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
    route, pool = shop.route(terms.route), pool_of(shop)
    lead = shop.lead(train, route)
    wanted = part if isinstance(part, Part) else None
    judged, fault, alternative = _judged(shop, pool, route, train, terms.hand)
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
                f"{train}: there is no gear of {teeth} teeth{kind} in {shop.name}",
                f"gears owned: {counts}",
                code="no-such-gear",
            )
        raise GearsearchError(
            f"{train}: the {teeth}{kind} is needed {times} times, and {shop.name} has {owned[teeth]}",
            f"gears owned: {counts}",
            code="gear-not-owned",
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


def _judged(shop: Shop, pool: GearPool, route: Route, train: Train, hand: str) -> tuple[Verdict, str, Verdict | None]:
    """The verdict on the train as typed and, where it is a no, its fault and an arrangement that mounts."""
    from ..mounting.judge import Judge

    judge = Judge(shop, pool, route)
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

    sizes = [pool.number(pair.kind, getattr(pair, end)) for end in ("driver", "driven") for pair in train.pairs]
    others = judge.every(np.array(sizes, np.int64), hand if hand != "either" else judged.hand or "either")
    return judged, fault, next((other for other in others if other.mounts != "no"), None)
