"""What is asked of the dividing head from Python: divisions, an angle, starts, the steps of a ramp."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import TYPE_CHECKING

from ..base.errors import GearsearchError
from ..base.spelling import spelled
from ..base.units import Value, parse_angle, parse_length
from ..shop.gear_names import GearName
from ..shop.shop import Shop
from ..shop.trains import Train
from .answer import Divided
from .at_hand import AtHand
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
    as_typed : whether refusals name options as the command line has them

    Called with a number it gives the ways of so many divisions, see ``__call__``.
    """

    shop: Shop
    as_typed: bool = False

    @spelled
    def __call__(
        self,
        divisions: int,
        *,
        nearest: bool = False,
        count: int = 5,
        circles: Iterable[int] = (),
        without: Iterable[GearName] = (),
        full: bool = False,
    ) -> Divided:
        """Divisions of the whole turn: plain, else differential, else the nearest.

        Parameters
        ----------
        divisions : 1 to 100 000
        nearest : where no way is exact, also the differential trains that come nearest
        count : how many ways at the most
        circles : use only these index circles; none for all
        without : tooth counts in use elsewhere
        full : tell people all notes, and all there is to say of each way

        >>> import gearsearch as gs
        >>> gs.demo().divide(42).exact
        True
        """
        at_hand = AtHand(tuple(circles), tuple(without))
        return replace(
            at_hand.told(of_divisions(at_hand.shop(self.shop), divisions, count, nearest=nearest)), full=full
        )

    @spelled
    def each(
        self,
        divisions: Iterable[int],
        *,
        nearest: bool = False,
        circles: Iterable[int] = (),
        without: Iterable[GearName] = (),
    ) -> pd.DataFrame:
        """An index table: the best way of each number of divisions, one row each, as a pandas DataFrame.

        Parameters
        ----------
        divisions : such as ``range(2, 151)``; the others are as for one number

        >>> import gearsearch as gs
        >>> gs.demo().divide.each(range(2, 6))[["divisions", "turns", "exact"]].values.tolist()
        [[2, 30, True], [3, 20, True], [4, 15, True], [5, 12, True]]
        """
        import pandas as pd

        at_hand = AtHand(tuple(circles), tuple(without))
        shop = at_hand.shop(self.shop)
        frames = []
        for number in divisions:
            frame = of_divisions(shop, number, 1, nearest=nearest).to_frame().head(1)
            frame.insert(0, "divisions", number)
            frames.append(frame.astype(object))
        if not frames:
            raise GearsearchError("no number of divisions is given", "give some, as in range(2, 151)")
        return pd.concat(frames, ignore_index=True).infer_objects()

    @spelled
    def angle(
        self,
        angle: Value,
        *,
        repeats: int = 1,
        count: int = 5,
        circles: Iterable[int] = (),
        full: bool = False,
    ) -> Divided:
        """Spaces of one angle, such as ``"17°30'"`` or 17.5 degrees, cut so many times.

        >>> import gearsearch as gs
        >>> gs.demo().divide.angle("17°30'", repeats=5).exact
        True
        """
        at_hand = AtHand(tuple(circles))
        return replace(
            at_hand.told(of_angle(at_hand.shop(self.shop), parse_angle(angle, "angle"), repeats, count)), full=full
        )

    @spelled
    def starts(
        self,
        starts: int,
        *,
        route: str | None = None,
        train: str | None = None,
        count: int = 5,
        circles: Iterable[int] = (),
        full: bool = False,
    ) -> Divided:
        """Starts or flutes, while the head is geared for a helix by a route; straight on the spindle by its train."""
        at_hand = AtHand(tuple(circles))
        shop = at_hand.shop(self.shop)
        on = None if train is None else Train.parse(train)
        return replace(at_hand.told(while_geared(shop, starts, shop.route(route).name, on, count)), full=full)

    @spelled
    def steps(
        self,
        steps: int,
        *,
        step_angle: Value | None = None,
        total_angle: Value | None = None,
        lead: Value | None = None,
        rise: Value | None = None,
        length: Value | None = None,
        face: Value | None = None,
        diameter: Value | None = None,
        circles: Iterable[int] = (),
        full: bool = False,
    ) -> Divided:
        """The numbered steps of a ramp or ratchet.

        Parameters
        ----------
        steps : how many
        step_angle, total_angle : of one step, or of all together; one of the two
        lead, rise : the lead that the steps follow, or the move along the axis for one step; one of the two
        length : of the helix along the axis, which must not be overrun
        face, diameter : angle by which the face of a tooth is undercut, and where it is measured

        >>> import gearsearch as gs
        >>> len(gs.demo().divide.steps(12, step_angle=6, rise="1.37 mm").to_frame())
        12
        """
        at_hand = AtHand(tuple(circles))
        shop = at_hand.shop(self.shop)
        lengths = {"lead": lead, "rise": rise, "length": length}
        ramp = ramp_of(shop.units, steps, step_angle=step_angle, total_angle=total_angle, **lengths)
        size = None if diameter is None else parse_length(diameter, shop.units, "--diameter")
        leans = None if face is None else parse_angle(face, "--face")
        return replace(at_hand.told(of_ramp(shop, ramp, size, leans)), full=full)


def ramp_of(
    unit: str,
    steps: int,
    *,
    step_angle: Value | None = None,
    total_angle: Value | None = None,
    lead: Value | None = None,
    rise: Value | None = None,
    length: Value | None = None,
) -> Ramp:
    """A ramp from what is known of it; see ``Divide.steps``.

    Raises GearsearchError unless the angle of its steps and its lead are each given in just one way.
    """
    if (step_angle is None) == (total_angle is None):
        raise GearsearchError(_once("the angle of its steps", step_angle), "give either --step-angle or --total-angle")
    if (lead is None) == (rise is None):
        raise GearsearchError(_once("its lead", lead), "give either --lead, or --rise for one step")
    if step_angle is not None:
        angle = parse_angle(step_angle, "--step-angle")
    else:
        assert total_angle is not None
        angle = step_of_total(parse_angle(total_angle, "--total-angle"), steps)
    known = {"--lead": lead, "--rise": rise, "--length": length}
    lead_mm, rise_mm, length_mm = (
        None if value is None else parse_length(value, unit, name) for name, value in known.items()
    )
    return Ramp(lead_mm or lead_of_steps(rise_mm or Fraction(0), angle), angle, steps, length_mm)


def _once(what: str, first: Value | None) -> str:
    return f"a ramp needs {what} once, and it is {'not given' if first is None else 'given twice'}"
