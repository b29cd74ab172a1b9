"""Lead charts: every lead of the box, the best trains for a list, and grids of diameters and angles."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from fractions import Fraction
from functools import partial
from typing import TYPE_CHECKING, Any

from ..base import require
from ..base.errors import GearsearchError
from ..base.facts import Record
from ..base.kept import Kept, digest_of
from ..base.sharing import HERE, Crew, code_digest
from ..base.units import PI, format_both, format_length, tan_deg
from ..search.terms import Terms
from ..shop.machine import Route
from ..shop.shop import Shop
from ..work.figures import Figures, error_in_words, figures_of
from ..work.helix import helix_angle, slope_of
from ..work.part import Part
from ..work.tolerance import Tolerance
from .rows import LeadRows, by_train, thinned

if TYPE_CHECKING:
    from ..work.lists import LeadList
    from .best import BestTrains

MOST_CELLS = 1_000_000
MOST_ROWS_EACH = 1000
ANGLES = ("helix angle", "lead angle")


@dataclass(frozen=True, slots=True)
class Column:
    """A column beyond those every chart has.

    Parameters
    ----------
    name, kind : its name, and ``text``, ``float``, ``int`` or ``bool``
    about : what it holds
    empty : whether a row may have none
    """

    name: str
    kind: str
    about: str
    empty: bool = False


_NULL = "null for a lead that has π in it, and where it takes more than 64 bits"
_WANTED = (
    Column("wanted_mm", "float", "wanted lead"),
    Column("rank", "int", "1 for the nearest lead to the wanted one"),
    Column("error_mm", "float", "lead minus wanted lead"),
    Column("error_ppm", "float", "the same in parts in a million of the wanted lead"),
    Column("wanted_num", "int", f"numerator of the exact wanted lead in mm; {_NULL}", True),
    Column("wanted_den", "int", f"its denominator; {_NULL}", True),
    Column("error_num", "int", f"numerator of the exact error in mm; {_NULL}", True),
    Column("error_den", "int", f"its denominator; {_NULL}", True),
)
WAY_COLUMNS = (
    Column("route", "text", "route of the shop file by which the train reaches the work"),
    Column("lever", "text", "position of the gearbox's lever; empty for a route without one"),
)
LIST_COLUMNS = (
    Column("name", "text", "name in the list"),
    *_WANTED,
    Column("within", "bool", "whether the lead is inside the tolerance; empty without one", True),
    Column("on_the_part", "text", "the error in the part's terms"),
)


@dataclass(frozen=True, slots=True)
class Chart:
    """A chart ready to be written, as often as it is wanted.

    Parameters
    ----------
    sources : whose gears, and on which terms, by each way to the work that was asked for
    kind : ``every``, ``list`` or ``grid``
    title : what it holds, in a line
    facts : further lines for the heading
    make : begins its rows
    columns : those beyond the ones every chart has
    sides : for a grid, its diameters [mm] and its angles [degrees]
    shown : for a list, how many leads of each item and hand people are shown
    read_from : for a list, where its sizes were read
    items, part_of : for a list and a grid, how many leads are wanted, and the part of each by its number
    """

    sources: tuple[BestTrains, ...]
    kind: str
    title: str
    facts: tuple[str, ...]
    make: Callable[[], Iterator[LeadRows]]
    columns: tuple[Column, ...] = ()
    sides: tuple[tuple[Fraction, ...], tuple[Fraction, ...]] = field(default=((), ()))
    shown: int = 1
    read_from: tuple[str, ...] = ()
    items: int = 0
    part_of: Callable[[int], Part] | None = None

    @property
    def has_dashes(self) -> bool:
        """Whether a lead without a train has a row."""
        return self.kind != "every" and all(column.name != "change" for column in self.columns)

    @property
    def source(self) -> BestTrains:
        """The first way, for all that the ways have in common."""
        return self.sources[0]

    @property
    def routes(self) -> tuple[Route, ...]:
        """The ways to the work."""
        return tuple(source.route for source in self.sources)

    @property
    def all_columns(self) -> tuple[Column, ...]:
        """The columns beyond the ones every chart has, with those that tell the ways apart where there are several."""
        return (*(WAY_COLUMNS if len(self.sources) > 1 else ()), *self.columns)

    @property
    def rows(self) -> Iterator[LeadRows]:
        """The rows, part by part; of a chart of every lead worked out anew each time: never all are held."""
        return self.make()

    def work(self) -> dict[str, str]:
        """What its slices hang on: those of the same work alone go together."""
        return {
            "the version of gearsearch": code_digest(),
            "the shop": digest_of(replace(self.source.shop, source="")),
            "the terms": digest_of([source.terms for source in self.sources]),
            "the chart": digest_of([self.kind, self.title, self.facts]),
        }

    @contextmanager
    def keeping(self, kept: Kept) -> Iterator[None]:
        """While this lasts, keep the slices that its rows are made of."""
        try:
            for source in self.sources:
                source.kept = kept
            yield
        finally:
            for source in self.sources:
                source.kept = None


def every(
    shop: Shop,
    terms: Terms,
    between_mm: tuple[Fraction | None, Fraction | None] = (None, None),
    thin: Fraction | None = None,
    all_arrangements: bool = False,
    crew: Crew = HERE,
) -> Chart:
    """Every lead the gears give, ascending, with the best train for each hand.

    Parameters
    ----------
    shop, terms : whose gears, and how trains may be built
    between_mm : shortest and longest lead [mm]; None for what can be reached
    thin : keep the easiest train of each step of this share of the lead; None keeps all
    all_arrangements : every order of every gear set that mounts, each with its best idlers, in place of the best
    crew : who does the work

    Raises GearsearchError for an empty range, one out of reach, a step that is not above zero, and for a number that
    is neither int nor Fraction.
    """
    from .ways import leads_of, sources_of

    low, high = between_mm
    low, high, thin = require.exact({"shortest lead": low, "longest lead": high, "step": thin})
    between_mm = low, high
    sources = sources_of(shop, terms, crew)
    _check_range(sources, between_mm)
    if thin is not None and not 0 < thin <= 1:
        raise GearsearchError(
            f"a chart cannot be thinned by steps of {float(100 * thin):g} %", "give more than 0 %, up to 100 %"
        )
    if thin is not None and all_arrangements:
        raise GearsearchError("a chart cannot be thinned and hold all arrangements", "leave one of the two out")
    unit = shop.units
    what = "every lead" if low is None and high is None else f"leads {_between(sources, between_mm, unit)}"
    facts = [f"thinned: the easiest train of each step of {float(100 * thin):g} %"] if thin else []
    if all_arrangements:
        orders = partial(leads_of, sources, lambda source: source.arrangements(low, high))
        return Chart(sources, "every", f"{what}, all arrangements", (), lambda: _named(orders(), sources))
    return Chart(sources, "every", what, tuple(facts), lambda: _every_rows(sources, low, high, thin))


def of_list(
    shop: Shop,
    terms: Terms,
    wanted: LeadList,
    count: int | None = None,
    tolerance: Tolerance | None = None,
    length_mm: Fraction | None = None,
    crew: Crew = HERE,
) -> Chart:
    """The nearest leads of each hand for each lead of a list, with the best train.

    Parameters
    ----------
    shop, terms : whose gears, and how trains may be built
    wanted : the list
    count : how many leads for each, by hand; None: 3 for programs, the best for people
    tolerance : for items without one of their own; None: these are not judged
    length_mm : axial length of the cut, for the error over it [mm]
    crew : who does the work

    A thread that is named with its hand is answered for that hand alone.
    Raises GearsearchError for a count outside 1 to 1000, for a tolerance that a lead of the list cannot have, and as
    ``ways.hands_of``.
    """
    from .ways import hands_of, sources_of

    shown, count = count or 1, 3 if count is None else count
    if not 1 <= count <= MOST_ROWS_EACH:
        raise GearsearchError(f"{count} is no number of trains for each lead", f"give 1 to {MOST_ROWS_EACH}")
    items = parts_of(wanted, tolerance, length_mm)
    sources = sources_of(shop, terms, crew)
    hands = hands_of(sources, items)
    facts = [f"{count} for each lead and hand, nearest first"] if shown > 1 else []
    if tolerance is not None:
        facts.append(f"tolerance where the list gives none: {tolerance.text}")
    if length_mm is not None:
        facts.append(f"length of the cut: {format_both(length_mm, shop.units)}")
    return Chart(
        sources,
        "list",
        wanted.title,
        tuple(facts),
        _once(lambda: _list_rows(sources, items, hands, count)),
        LIST_COLUMNS,
        shown=shown,
        read_from=wanted.sources,
        items=len(items),
        part_of=items.__getitem__,
    )


def grid(
    shop: Shop,
    terms: Terms,
    diameters_mm: Sequence[Fraction],
    angles_deg: Sequence[Fraction],
    angle: str = "helix angle",
    crew: Crew = HERE,
) -> Chart:
    """The nearest train for each diameter and angle, its lead, and the angle it really gives.

    Parameters
    ----------
    shop, terms : whose gears, and how trains may be built
    diameters_mm : diameters [mm], ascending
    angles_deg : angles [degrees], above 0 and below 90, ascending
    angle : ``helix angle`` (from the axis) or ``lead angle`` (from square to it)
    crew : who does the work

    Raises GearsearchError for a diameter that is not above zero, an angle outside its range, either of them not in
    ascending order or neither int nor Fraction, and for more than a million cells.
    """
    from .ways import sources_of

    diameters_mm, angles_deg = _sides(diameters_mm, angles_deg, angle)
    sources = sources_of(shop, terms, crew)
    side = f"{angle.replace(' ', '_')}_deg"
    columns = (
        Column("diameter_mm", "float", "diameter the angle belongs to"),
        Column(side, "float", f"{angle} asked for"),
        Column(f"{angle.replace(' ', '_')}_given_deg", "float", f"{angle} that the train gives at the diameter"),
        *_WANTED,
    )
    measured = "from the work's axis" if angle == ANGLES[0] else "from square to the axis"
    title = f"trains by diameter and {angle}"
    facts = (f"the {angle} is taken {measured}",)
    return Chart(
        sources,
        "grid",
        title,
        facts,
        _once(lambda: _grid_rows(sources, diameters_mm, angles_deg, columns)),
        columns,
        (diameters_mm, angles_deg),
        items=len(diameters_mm) * len(angles_deg),
        part_of=lambda item: Part(cell_lead_mm(*_cell(diameters_mm, angles_deg, item), angle)),
    )


def _cell(diameters_mm: Sequence[Fraction], angles_deg: Sequence[Fraction], item: int) -> tuple[Fraction, Fraction]:
    """Diameter and angle of a cell of a grid by its number, row by row."""
    row, column = divmod(item, len(angles_deg))
    return diameters_mm[row], angles_deg[column]


def _once(make: Callable[[], Iterator[LeadRows]]) -> Callable[[], Iterator[LeadRows]]:
    """Rows that are few enough to be held, worked out the first time they are gone through to their end."""
    held: list[tuple[LeadRows, ...]] = []

    def rows() -> Iterator[LeadRows]:
        if not held:
            held.append(tuple(make()))
        return iter(held[0])

    return rows


def cell_lead_mm(diameter_mm: Fraction, angle_deg: Fraction, angle: str) -> Fraction:
    """The lead [mm] of an angle at a diameter: π d / tan β, or π d tan λ; the tangent is a float's."""
    slope = tan_deg(angle_deg)
    return PI * diameter_mm / slope if angle == ANGLES[0] else PI * diameter_mm * slope


def _named(rows: Iterator[LeadRows], sources: Sequence[BestTrains]) -> Iterator[LeadRows]:
    from .ways import named

    return (named(part, sources) for part in rows)


def _every_rows(
    sources: Sequence[BestTrains], low: Fraction | None, high: Fraction | None, thin: Fraction | None
) -> Iterator[LeadRows]:
    from .ways import leads_of

    leads = leads_of(sources, lambda source: source.leads(low, high))
    yield from _named(map(by_train, thinned(leads, thin) if thin else leads), sources)


def parts_of(wanted: LeadList, tolerance: Tolerance | None, length_mm: Fraction | None) -> tuple[Part, ...]:
    """The parts of a list, with the tolerance and the length of those that have none of their own."""
    from ..work.lists import LeadList

    remedy = "take one with lists.standard_list('iso-261') or lists.load_list('leads.csv')"
    require.instance(wanted, LeadList, "list of wanted leads", remedy, given=True)
    require.instance(tolerance, Tolerance, "tolerance", "read it with Tolerance.parse('0.1%')")
    (length_mm,) = require.above_zero({"length of the cut": length_mm})
    return tuple(
        replace(item, tolerance=item.tolerance or tolerance, length_mm=item.length_mm or length_mm)
        for item in wanted.items
    )


def _list_rows(
    sources: Sequence[BestTrains], items: tuple[Part, ...], hands: Sequence[str], count: int
) -> Iterator[LeadRows]:
    from .ways import nearest_of, of_hands

    found = nearest_of(sources, [item.lead_mm for item in items], count)
    if found is not None and (found := of_hands(found, hands)) is not None:
        yield list_rows(sources, items, found)


def list_rows(sources: Sequence[BestTrains], items: Sequence[Part], found: LeadRows) -> LeadRows:
    """The rows of the leads found for the items of a list, with what is told of each."""
    import numpy as np

    from .ways import named

    more = _wanted_columns(found, [item.lead_mm for item in items])
    within, terms = [], []
    for row, number in enumerate(found.more["item"].tolist()):
        part, lead = items[number], found.lead(row)
        allowed = part.interval_mm
        within.append(None if allowed is None else allowed[0] <= lead <= allowed[1])
        terms.append(error_in_words(figures_of(part, lead), sources[0].shop.units))
    more["starts"] = np.array([items[number].starts for number in found.more["item"].tolist()])
    more["name"] = np.array([items[number].title for number in found.more["item"].tolist()], object)
    more["within"] = np.array(within, object)
    more["on_the_part"] = np.array(terms, object)
    return named(by_train(found, found.more | more), sources)


def _grid_rows(
    sources: Sequence[BestTrains],
    diameters_mm: Sequence[Fraction],
    angles_deg: Sequence[Fraction],
    columns: tuple[Column, ...],
) -> Iterator[LeadRows]:
    import numpy as np

    from .ways import named, nearest_of

    angle = columns[1].name.removesuffix("_deg").replace("_", " ")
    slopes = [cell_lead_mm(Fraction(1), slope, angle) for slope in angles_deg]
    wanted = [slope * diameter for diameter in diameters_mm for slope in slopes]
    found = nearest_of(sources, wanted, 1)
    if found is None:
        return
    more = _wanted_columns(found, wanted)
    row_of, column_of = np.divmod(found.more["item"], len(angles_deg))
    more["diameter_mm"] = np.array([float(size) for size in diameters_mm])[row_of]
    more[columns[1].name] = np.array([float(size) for size in angles_deg])[column_of]
    slopes = [helix_angle(found.lead(row), diameters_mm[size]) for row, size in enumerate(row_of.tolist())]
    more["given"] = np.array([beta if angle == ANGLES[0] else 90 - beta for beta in slopes], object)
    more[columns[2].name] = more["given"].astype(float)
    yield named(by_train(found, found.more | more), sources)


def _wanted_columns(found: LeadRows, wanted: Sequence[Fraction]) -> dict[str, Any]:
    import numpy as np

    figures = [Figures(wanted[item], found.lead(row)) for row, item in enumerate(found.more["item"].tolist())]
    return {
        "item": found.more["item"],
        "wanted": np.array([figure.wanted_mm for figure in figures], object),
        "wanted_mm": np.array([float(figure.wanted_mm) for figure in figures]),
        "rank": found.more["rank"],
        "error_mm": np.array([float(figure.lead_mm - figure.wanted_mm) for figure in figures]),
        "error_ppm": np.array([float(figure.error * 1_000_000) for figure in figures]),
        **_exactly("wanted", [figure.wanted_mm for figure in figures]),
        **_exactly("error", [figure.lead_mm - figure.wanted_mm for figure in figures]),
    }


def _exactly(name: str, values: Sequence[Fraction]) -> Record:
    """Numerators and denominators of exact values; None for one of which either takes more than 64 bits."""
    import numpy as np

    told = [
        each.as_integer_ratio() if max(abs(each.numerator), each.denominator) < 2**63 else (None, None)
        for each in values
    ]
    nums, dens = zip(*told, strict=True) if told else ((), ())
    return {f"{name}_num": np.array(nums, object), f"{name}_den": np.array(dens, object)}


def _check_range(sources: Sequence[BestTrains], between_mm: tuple[Fraction | None, Fraction | None]) -> None:
    from .ways import reach_of

    unit, (shortest, longest) = sources[0].shop.units, reach_of(sources)
    low, high = between_mm
    if low is not None and high is not None and low > high:
        raise GearsearchError(
            f"there is no lead from {format_length(low, unit)} to {format_length(high, unit)}",
            "give the shorter lead first",
        )
    if (low is not None and low > longest) or (high is not None and high < shortest):
        raise GearsearchError(
            f"leads from {_end(low, unit, 'the shortest')} to {_end(high, unit, 'the longest')} are out of reach",
            f"these gears reach from {format_both(shortest, unit)} to {format_both(longest, unit)} by the route "
            f"{' or '.join(source.route.label for source in sources)}; take another route, or more pairs",
        )


def _end(length_mm: Fraction | None, unit: str, without: str) -> str:
    return without if length_mm is None else format_length(length_mm, unit)


def _between(sources: Sequence[BestTrains], between_mm: tuple[Fraction | None, Fraction | None], unit: str) -> str:
    from .ways import reach_of

    low, high = (end if end is not None else mine for end, mine in zip(between_mm, reach_of(sources), strict=True))
    return f"from {format_length(low, unit)} to {format_length(high, unit)}"


def _sides(
    diameters_mm: Sequence[Fraction], angles_deg: Sequence[Fraction], angle: str
) -> tuple[tuple[Fraction, ...], tuple[Fraction, ...]]:
    """The diameters and the angles of a grid as Fractions, once they are checked."""
    if angle not in ANGLES:
        raise GearsearchError(f"a grid cannot go by {angle}", "use helix angle or lead angle")
    cells = len(diameters_mm) * len(angles_deg)
    if not 1 <= cells <= MOST_CELLS:
        raise GearsearchError(
            f"a grid cannot have {cells:,} cells".replace(",", " "),
            f"give diameters × angles of 1 to {MOST_CELLS:,}".replace(",", " "),
        )
    diameters = [require.above_zero({"diameter": size}, given=True)[0] for size in diameters_mm]
    angles = [require.exact({angle: slope}, given=True)[0] for slope in angles_deg]
    for slope in angles:
        slope_of(slope, angle)
    require.ascending(diameters, "diameter")
    require.ascending(angles, angle)
    return tuple(diameters), tuple(angles)
