"""Two trains for two helical gears that must mesh: those whose errors agree with each other come first."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from fractions import Fraction

from ..base.errors import GearsearchError
from ..base.facts import Note
from ..base.units import format_angle, format_length, format_ppm
from ..search.routes import costs
from ..search.search import Candidate, Search
from ..search.solutions import pairs_words
from ..shop.factors import lacking_factors
from ..shop.shop import Shop
from ..work.limits import Limits
from ..work.tolerance import Tolerance
from .answer import PairAnswer, PairFit
from .meshing import HelicalPair, angle_change, shaft_change, shortest_lead_mm
from .request import PairRequest

USUAL = Fraction(1, 500)  # share of the lead searched where no tolerance is given; doubled until a pair is found
WIDEST = Fraction(1, 4)
_JUST_OVER = 1 + Fraction(1, 10**6)  # keeps helix angles below 90°
_GRAIN = 10**9  # shaft angles are told apart to a thousand-millionth of a degree


Window = tuple[Fraction, Fraction]
Windows = tuple[Window, Window]
Searches = tuple[Search, Search]
Key = tuple[object, ...]
Scale = tuple[list[Fraction], list[Fraction], Callable[[Fraction, Fraction], Fraction]]


@dataclass(frozen=True, slots=True)
class _Side:
    """A lead of one gear that will do."""

    search: Search
    lead: Candidate


@dataclass(frozen=True, slots=True)
class _Match:
    """A lead for each gear."""

    first: _Side
    second: _Side
    mismatch: Fraction

    @property
    def shared(self) -> Fraction:
        """Mean of the two errors."""
        return (self.first.lead.error + self.second.lead.error) / 2

    @property
    def trains(self) -> tuple[Key, Key, Key]:
        """Gears and idlers of both trains; least clearance; tooth counts in power order, then hands."""
        one, two = self.first.lead.key, self.second.lead.key
        hands = self.first.search.terms.hand, self.second.search.terms.hand
        return (one[1] + two[1], one[2] + two[2]), (max(one[3], two[3]),), (one[4:], two[4:], hands)

    @property
    def closest(self) -> Key:
        """Order of answers for the angle as drawn."""
        effort, clearance, teeth = self.trains
        return self.mismatch, abs(self.shared), effort, clearance, teeth

    @property
    def easiest(self) -> Key:
        """Order of answers with the helix angle moved."""
        effort, clearance, teeth = self.trains
        return effort, abs(self.shared), clearance, teeth

    @property
    def leads(self) -> tuple[Fraction, Fraction]:
        """Both leads [mm]."""
        return self.first.lead.lead_mm, self.second.lead.lead_mm


def find_pairs(shop: Shop, request: PairRequest) -> PairAnswer:
    """Trains for two gears that must mesh, least mismatch first.

    Parameters
    ----------
    shop, request : whose gears, and what is asked

    Every lead of each gear in its window is considered, each with the best train for its own hand, as the search
    for one lead orders them; over several ways, as levers, both gears are cut by one of them. A limit of k answers is
    always the first k of the full list.
    Raises GearsearchError for a request that cannot be.
    Limits of validity: as ``find``; teeth of one normal module without profile shift.
    """
    ways = request.each_way(shop)
    settings = [_searches(shop, way, hands) for way in ways for hands in request.pair.settings]
    windows, drawn = _drawn(request, settings)
    moved = _moved(request, settings) if request.helix_within_deg is not None else []
    one_of_each = [first for first, _ in settings[:: len(request.pair.settings)]]
    routes, searched = tuple(search.route for search in one_of_each), sum(search.searched for search in one_of_each)
    fits, others = (tuple(_fit(request.pair, match) for match in matches) for matches in (drawn, moved))
    answer = PairAnswer(request, shop, routes, searched, fits, others, windows)
    return replace(answer, notes=tuple(_notes(answer)))


def _searches(shop: Shop, request: PairRequest, hands: tuple[str, str]) -> Searches:
    first, second = request.pair.parts
    return request.search(shop, first, hands[0]), request.search(shop, second, hands[1])


def _drawn(request: PairRequest, settings: list[Searches]) -> tuple[Windows, list[_Match]]:
    """The best pairs of leads near those of the drawing, and the windows searched."""
    share = USUAL
    while True:
        windows = _windows(request, share)
        found = [match for searches in settings for match in _near(request, searches, windows)]
        if found or request.pair.tolerance is not None or share >= WIDEST:
            return windows, _first(found, request.terms.count, lambda match: match.closest)
        share *= 2


def _windows(request: PairRequest, share: Fraction) -> Windows:
    pair = request.pair
    pair = pair if pair.tolerance else replace(pair, tolerance=Tolerance("share", share, share))
    first, second = (
        (max(low, shortest_lead_mm(gear) * _JUST_OVER), high)
        for gear, (low, high) in zip(pair.gears, (part.allowed_mm for part in pair.parts), strict=True)
    )
    return first, second


def _near(request: PairRequest, searches: Searches, windows: Windows) -> list[_Match]:
    """The pairs of leads in two windows that agree best, and all that tie with the last of them."""
    first, second = (
        [_Side(search, lead) for lead in search.candidates(search.leads(*window)) if lead is not None]
        for search, window in zip(searches, windows, strict=True)
    )
    scale = _ratio_scale if request.pair.shafts == "parallel" else _angle_scale
    marks = scale(request.pair, first, second)
    pairs = _nearest(*marks, request.terms.count)
    return [_Match(first[i], second[j], apart) for apart, i, j in pairs]


def _ratio_scale(pair: HelicalPair, first: list[_Side], second: list[_Side]) -> Scale:
    """Lead over teeth: equal for both gears of an exact pair. Their distance: the greater over the smaller, less 1."""
    xs = [side.lead.lead_mm / pair.first.teeth for side in first]
    ys = [side.lead.lead_mm / pair.second.teeth for side in second]
    return xs, ys, lambda x, y: max(x / y, y / x) - 1


def _angle_scale(pair: HelicalPair, first: list[_Side], second: list[_Side]) -> Scale:
    """What each gear does to the shaft angle, the second with its sign turned: equal where the shaft angle is kept."""
    nothing = Fraction(0)
    xs = [shaft_change(pair, angle_change(pair.first, side.lead.lead_mm), nothing) for side in first]
    ys = [-shaft_change(pair, nothing, angle_change(pair.second, side.lead.lead_mm)) for side in second]
    return xs, ys, lambda x, y: Fraction(round(abs(x - y) * _GRAIN), _GRAIN)


def _nearest(
    xs: list[Fraction], ys: list[Fraction], apart: Callable[[Fraction, Fraction], Fraction], count: int
) -> list[tuple[Fraction, int, int]]:
    """The ``count`` nearest pairs of marks, and all that tie with the last: (distance, place in xs, place in ys)."""
    ranked = sorted(range(len(ys)), key=lambda j: ys[j])
    sorted_ys = [ys[j] for j in ranked]
    found: list[tuple[Fraction, int, int]] = []
    for i, x in enumerate(xs):
        middle = bisect_left(sorted_ys, x)
        for place in range(max(0, middle - count), min(len(ranked), middle + count)):
            found.append((apart(x, sorted_ys[place]), i, ranked[place]))
    found.sort()
    return [row for row in found if row[0] <= found[min(count, len(found)) - 1][0]]


def _moved(request: PairRequest, settings: list[Searches]) -> list[_Match]:
    """Exact pairs with the helix angle moved, easiest first."""
    windows = moved_windows(request)
    found = [match for searches in settings for match in _exact(request.pair, searches, windows)]
    return _first(found, request.terms.count, lambda match: match.easiest)


def moved_windows(request: PairRequest) -> Windows:
    """The leads of each gear for helix angles as far from the drawing as allowed."""
    within = request.helix_within_deg
    assert within is not None
    drawn = request.pair.first.helix_angle_deg
    if not 0 < drawn - within < drawn + within < 90:
        raise GearsearchError(
            f"moving a helix angle of {format_angle(drawn)} by {format_angle(within)} passes 0° or 90°",
            "move it less, as in --helix-within 0.5deg",
        )
    first, second = (
        (
            replace(gear, helix_angle_deg=drawn + within).lead_mm,
            replace(gear, helix_angle_deg=drawn - within).lead_mm,
        )
        for gear in request.pair.gears
    )
    return first, second


def _exact(pair: HelicalPair, searches: Searches, windows: Windows) -> list[_Match]:
    """Every pair of leads in two windows that are in the exact ratio of the teeth; only those are judged."""
    teeth = pair.first.teeth, pair.second.teeth
    leads = [search.leads(*window) for search, window in zip(searches, windows, strict=True)]
    first, second = (
        {search.drive.lead_mm(ratio) / z: place for place, ratio in enumerate(found.ratios)}
        for search, found, z in zip(searches, leads, teeth, strict=True)
    )
    common = sorted(first.keys() & second.keys())
    ones = searches[0].candidates(leads[0].take([first[mark] for mark in common]))
    twos = searches[1].candidates(leads[1].take([second[mark] for mark in common]))
    return [
        _Match(_Side(searches[0], one), _Side(searches[1], two), Fraction(0))
        for one, two in zip(ones, twos, strict=True)
        if one and two
    ]


def _first(found: list[_Match], count: int, order: Callable[[_Match], Key]) -> list[_Match]:
    """The first so many in an order; leads that do for either way round of the hands come once."""
    first: dict[tuple[Fraction, Fraction], _Match] = {}
    for match in sorted(found, key=order):
        first.setdefault(match.leads, match)
    return list(first.values())[:count]


def _fit(pair: HelicalPair, match: _Match) -> PairFit:
    first, second = (side.search.solution(side.lead) for side in (match.first, match.second))
    meshing = pair.meshing(match.leads)
    return PairFit(first, second, match.mismatch if pair.shafts == "parallel" else None, match.shared, meshing)


def _no_exact(answer: PairAnswer) -> Note:
    """Why no pair is exact, and what would help."""
    pair, within = answer.request.pair, answer.request.helix_within_deg
    ratio = Fraction(pair.first.teeth, pair.second.teeth)
    if lacking := lacking_factors(answer.shop, ratio):
        counts = " and ".join(map(str, lacking))
        return Note(
            "cannot-be-exact",
            f"no pair can be exact: leads in the ratio {ratio.numerator}:{ratio.denominator} of the teeth need gears "
            f"with the factor{'s' if len(lacking) > 1 else ''} {counts}, and there is none in the box",
        )
    if pair.fixed_mm is not None:
        return Note("none-exact", "no pair here is exact; more --pairs may have one")
    if within is None:
        told = "no pair here is exact; --helix-within 0.5deg may find one, with the helix angle moved"
        return Note("none-exact", told)
    told = "no exact pair was found with the helix angle moved so little; move it more, or allow more --pairs"
    return Note("none-exact", told)


def _at_a_fixed_distance(answer: PairAnswer, fixed_mm: Fraction) -> Iterator[Note]:
    """What trains that are a little off do where the shafts cannot give way: to the play, not to the distance."""
    unit = answer.shop.units
    worst = max(abs(fit.meshing.centre_distance_mm - fixed_mm) for fit in answer.fits)
    yield Note(
        "shafts-stay",
        f"the shafts stay {format_length(fixed_mm, unit)} apart: a lead that is off turns the helix angle and changes "
        "the play of the teeth. Distance off: the distance that suits the trains, less yours; at most "
        f"{format_length(worst, unit)}; + is tight, cut the teeth deeper by it, both gears together; - is play",
    )
    play = "play around the pitch circle: twice the tangent of the pressure angle times that, about 0.7 of it at 20°"
    yield Note("play", play)


def _limits(answer: PairAnswer) -> list[Limits]:
    windows = zip(answer.windows_mm, answer.request.pair.gears, strict=True)
    return [Limits(window, gear.lead_mm, unit=answer.shop.units) for window, gear in windows]


def _shares(answer: PairAnswer) -> str:
    """How far off leads were searched; a window ends where a lead is too short for the teeth of its gear."""
    first, second = (limits.share for limits in _limits(answer))
    if first == second:
        return f"{first} those wanted"
    return f"{first} that of gear 1 and {second} that of gear 2"


def _notes(answer: PairAnswer) -> Iterator[Note]:
    request = answer.request
    parallel, fixed = request.pair.shafts == "parallel", request.pair.fixed_mm
    if request.pair.tolerance is None:
        yield Note("no-tolerance", f"no tolerance was given: leads {_shares(answer)} were searched")
    if not answer.searched:
        yield Note("no-train", f"the box makes no train of {pairs_words(request.terms.pairs)}: too few gears that mesh")
    elif not answer.fits:
        first, second = (limits.span for limits in _limits(answer))
        yield Note(
            "none-mounts", f"no train that mounts for both gears: leads from {first} and from {second} were searched"
        )
        moving = "--helix-within 0.5deg, " if parallel and fixed is None and request.helix_within_deg is None else ""
        yield Note("what-helps", f"what would help: {moving}more --pairs, or a wider --tolerance")
    if len(answer.routes) > 1:
        yield from costs(answer.shop, dict.fromkeys(fit.first.way for fit in (*answer.fits, *answer.moved)))
    if parallel and answer.searched and not any(fit.exact for fit in (*answer.fits, *answer.moved)):
        yield _no_exact(answer)
    if fixed is not None and answer.fits:
        yield from _at_a_fixed_distance(answer, fixed)
    accuracy = answer.shop.machine.screw_accuracy
    best = answer.fits[0].mismatch if answer.fits else None
    if accuracy is not None and best and best < accuracy:
        held = format_ppm(accuracy).lstrip("+")
        yield Note("below-screw", f"the best mismatch is below what the screw itself holds ({held})")
