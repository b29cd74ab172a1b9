"""What is asked of the dividing head from Python: divisions, an angle, starts, the steps of a ramp."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING, overload

from ..base import require
from ..base.errors import GearsearchError
from ..base.spelling import spelled
from ..base.units import Value, parse_angle, parse_length
from ..shop.gear_names import GearName
from ..shop.shop import Shop
from ..shop.trains import Train
from .answer import Divided
from .at_hand import AtHand
from .cumulative import table_of_angle, table_of_divisions, unequal_table
from .divided import of_angle, of_divisions, of_ramp, while_geared
from .ramps import Ramp, lead_of_steps, step_of_total

if TYPE_CHECKING:
    import pandas as pd


@dataclass(frozen=True, slots=True)
class Divide:
    """Spacing the work with a shop's dividing head.

    Parameters
    ----------
    shop : whose head and gears

    Called with a number it gives the ways of so many divisions, see ``__call__``.
    """

    shop: Shop

    @overload
    def __call__(
        self,
        divisions: int,
        *,
        nearest: bool = ...,
        count: int = ...,
        circles: Iterable[int] = ...,
        without: Iterable[GearName] = ...,
        table: bool = ...,
        unequal: Value | None = ...,
        unpaired: bool = ...,
    ) -> Divided: ...
    @overload
    def __call__(
        self,
        divisions: Iterable[int],
        *,
        nearest: bool = ...,
        circles: Iterable[int] = ...,
        without: Iterable[GearName] = ...,
    ) -> pd.DataFrame: ...
    @spelled
    def __call__(
        self,
        divisions: int | Iterable[int],
        *,
        nearest: bool = False,
        count: int = 5,
        circles: Iterable[int] = (),
        without: Iterable[GearName] = (),
        table: bool = False,
        unequal: Value | None = None,
        unpaired: bool = False,
    ) -> Divided | pd.DataFrame:
        """Divisions of the whole turn: plain, else differential, else the nearest.

        Parameters
        ----------
        divisions : 1 to 100 000; or several such numbers, as in ``range(2, 151)``, for an index table
        nearest : where no way is exact, also the differential trains that come nearest
        count : how many ways at the most
        circles : use only these index circles; none for all
        without : tooth counts in use elsewhere
        table : instead every cut, hole by hole and by a dial in degrees, from the exact total
        unequal : instead teeth at spaces that differ by about this angle [degrees], for reamers and cutters
        unpaired : with ``unequal``: no tooth need have one opposite

        Returns the answer; for several numbers a pandas DataFrame with the best way of each, one row each.
        Raises GearsearchError for numbers out of range, without a dividing head, and for what would change nothing.

        >>> import gearsearch as gs
        >>> gs.demo().divide(42).exact
        True
        >>> gs.demo().divide(range(2, 6))[["divisions", "turns", "exact"]].values.tolist()
        [[2, 30, True], [3, 20, True], [4, 15, True], [5, 12, True]]
        """
        at_hand = AtHand(tuple(circles), tuple(without))
        head = self.shop.dividing
        if head is not None and not head.differential:
            given = {"nearest": nearest, "without": bool(at_hand.without)}
            idle = "on a head that takes no gears between spindle and plate"
            require.none_idle(given, idle, "set differential = true in the shop file")
        cutter = _cutter(table, unequal, unpaired)
        if isinstance(divisions, Iterable):
            several = {"count": count != 5, "table": table, "unequal": unequal is not None}
            require.none_idle(several, "in an index table of several numbers", "ask for one number alone")
            return _index_table(at_hand.shop(self.shop), divisions, nearest=nearest)
        if cutter is None:
            found = of_divisions(at_hand.shop(self.shop), divisions, count, nearest=nearest)
        else:
            given = {"nearest": nearest, "without": bool(at_hand.without) and unequal is not None, "count": count != 5}
            require.none_idle(given, "in a table", "leave --table and --unequal out")
            found = cutter(at_hand.shop(self.shop), divisions)
        return at_hand.told(found)

    @spelled
    def angle(
        self,
        angle: Value,
        *,
        repeats: int = 1,
        count: int = 5,
        circles: Iterable[int] = (),
        table: bool = False,
    ) -> Divided:
        """Spaces of one angle, cut so many times.

        Parameters
        ----------
        angle : of one space: ``"17°30'"``, or 17.5 [degrees]; above 0 and up to 360
        repeats : how many such spaces, 1 to 10 000
        count, circles, table : as for divisions

        >>> import gearsearch as gs
        >>> gs.demo().divide.angle("17°30'", repeats=5).exact
        True
        """
        at_hand, step = AtHand(tuple(circles)), parse_angle(angle, "--angle")
        shop = at_hand.shop(self.shop)
        if table:
            require.none_idle({"count": count != 5}, "in a table", "leave --table out")
        found = table_of_angle(shop, step, repeats) if table else of_angle(shop, step, repeats, count)
        return at_hand.told(found)

    @spelled
    def starts(
        self,
        starts: int,
        *,
        route: str | None = None,
        train: str | None = None,
        count: int = 5,
        circles: Iterable[int] = (),
    ) -> Divided:
        """Starts or flutes, while the head is geared for a helix.

        Parameters
        ----------
        starts : how many
        route : by which the helix is geared; None for the first of the shop file
        train : the one that is on, for a route straight on the spindle, where its last gear indexes
        count, circles : as for divisions; circles where the crank indexes

        >>> import gearsearch as gs
        >>> gs.demo().divide.starts(3, route="spindle", train="72/24").exact
        True
        """
        at_hand = AtHand(tuple(circles))
        shop = at_hand.shop(self.shop)
        way = shop.route(route)
        if shop.machine.by_teeth(way, shop.dividing):
            by_gear = f"by the route {way.call}, where the teeth of the last gear index"
            require.none_idle({"circle": bool(at_hand.circles)}, by_gear, "take a route by the worm")
        else:
            by_crank = f"by the route {way.call}, where the crank indexes whatever train is on"
            require.none_idle({"train": train is not None}, by_crank, "take a route straight on the spindle")
        on = None if train is None else Train.parse(train)
        return at_hand.told(while_geared(shop, starts, way.call, on, count))

    @spelled
    def steps(
        self,
        steps: int,
        *,
        step_angle: Value | None = None,
        total_angle: Value | None = None,
        lead: Value | None = None,
        step_rise: Value | None = None,
        length: Value | None = None,
        undercut: Value | None = None,
        diameter: Value | None = None,
        circles: Iterable[int] = (),
    ) -> Divided:
        """The numbered steps of a ramp or ratchet.

        Parameters
        ----------
        steps : how many
        step_angle, total_angle : of one step, or of all together; one of the two
        lead, step_rise : the lead that the steps follow, or the move along the axis for one step; one of the two
        length : of the helix along the axis, which must not be overrun
        undercut, diameter : angle of an undercut tooth face from the axis, and where it is measured
        circles : as for divisions

        >>> import gearsearch as gs
        >>> len(gs.demo().divide.steps(12, step_angle=6, step_rise="1.37 mm").to_frame())
        12
        """
        at_hand = AtHand(tuple(circles))
        shop = at_hand.shop(self.shop)
        lengths = {"lead": lead, "step_rise": step_rise, "length": length}
        ramp = ramp_of(shop.units, steps, step_angle=step_angle, total_angle=total_angle, **lengths)
        size = None if diameter is None else parse_length(diameter, shop.units, "--diameter")
        leans = None if undercut is None else parse_angle(undercut, "--undercut")
        return at_hand.told(of_ramp(shop, ramp, size, leans))


def _index_table(shop: Shop, divisions: Iterable[int], *, nearest: bool) -> pd.DataFrame:
    """The best way of each number of divisions, one row each."""
    import pandas as pd

    frames = []
    for number in divisions:
        frame = of_divisions(shop, number, 1, nearest=nearest).to_frame().head(1)
        frame.insert(0, "divisions", number)
        frames.append(frame.astype(object))
    if not frames:
        raise GearsearchError("no number of divisions is given", "give some, as in range(2, 151)")
    return pd.concat(frames, ignore_index=True).infer_objects()


def _cutter(table: bool, unequal: Value | None, unpaired: bool) -> Callable[[Shop, int], Divided] | None:
    """What makes the table that is asked for; None where none is."""
    if unequal is None:
        require.none_idle({"unpaired": unpaired}, "without --unequal", "give the angle, as in --unequal 2deg")
        return table_of_divisions if table else None
    require.none_idle({"table": table}, "with --unequal, which prints one", "leave --unequal out")
    difference = parse_angle(unequal, "--unequal")

    def unequal_spaces(shop: Shop, teeth: int) -> Divided:
        if unpaired and teeth % 2:
            raise GearsearchError(
                f"--unpaired does nothing with {teeth} teeth, an odd number, of which none stand opposite",
                "leave --unpaired out",
                code="idle-option",
            )
        return unequal_table(shop, teeth, difference, paired=False if unpaired else None)

    return unequal_spaces


def ramp_of(
    unit: str,
    steps: int,
    *,
    step_angle: Value | None = None,
    total_angle: Value | None = None,
    lead: Value | None = None,
    step_rise: Value | None = None,
    length: Value | None = None,
) -> Ramp:
    """A ramp from what is known of it; see ``Divide.steps``.

    Raises GearsearchError unless the angle of its steps and its lead are each given in just one way.
    """
    if (step_angle is None) == (total_angle is None):
        raise GearsearchError(_once("the angle of its steps", step_angle), "give either --step-angle or --total-angle")
    if (lead is None) == (step_rise is None):
        raise GearsearchError(_once("its lead", lead), "give either --lead, or --step-rise for one step")
    if step_angle is not None:
        angle = parse_angle(step_angle, "--step-angle")
    else:
        assert total_angle is not None
        angle = step_of_total(parse_angle(total_angle, "--total-angle"), steps)
    known = {"--lead": lead, "--step-rise": step_rise, "--length": length}
    lead_mm, rise_mm, length_mm = (
        None if value is None else parse_length(value, unit, name) for name, value in known.items()
    )
    return Ramp(lead_mm or lead_of_steps(rise_mm or Fraction(0), angle), angle, steps, length_mm)


def _once(what: str, first: Value | None) -> str:
    return f"a ramp needs {what} once, and it is {'not given' if first is None else 'given twice'}"
