"""The front door: a shop with one method for each command.

Each method lists all its parameters, though several have the same: of a TypedDict unpacked in their place neither
``help`` nor what completes names in a notebook shows one.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import TYPE_CHECKING, Literal

from .base import require
from .base.errors import GearsearchError
from .base.facts import Note
from .base.spelling import in_python, spelled
from .base.units import Value, parse_angle
from .search.terms import Hand, Mounting, Order, Terms, terms_of
from .shop.gear_lists import GearList, teeth_of, with_changed
from .shop.gear_names import GearName
from .shop.reader import demo_shop, load_shop
from .shop.shop import Shop
from .work.asking import blank
from .work.part import Blank, Part
from .work.wanted import Lead, Wanted

if TYPE_CHECKING:
    import pandas as pd

    from .charts.asking import Charts
    from .dividing.asking import Divide
    from .extend.asking import Extend
    from .pairs.answer import PairAnswer
    from .search.answers import Answer
    from .search.checked import CheckResult
    from .sheet.answer import Sheet
    from .shop.overview import Overview

_LEFT_THREADS = (
    "a thread is right hand unless the drawing says LH (common practice, no source), and some of these cut a left one: "
    "ask with --hand right"
)


@spelled
def open_shop(path: str | os.PathLike[str] | None = None) -> Workshop:
    """The shop of a shop file.

    Parameters
    ----------
    path : the file; None: as the command finds it, ``$GEARSEARCH_SHOP``, else ``shop.toml`` here, else the demo shop

    Raises GearsearchError when the file cannot be read, ShopError with every mistake in it.

    >>> import gearsearch as gs
    >>> gs.open_shop("not-there.toml")  # doctest: +ELLIPSIS
    Traceback (most recent call last):
    gearsearch.base.errors.GearsearchError: there is no shop file 'not-there.toml'...
    """
    return Workshop(load_shop(path))


def demo() -> Workshop:
    """The Millrace workshop, built into the package to try things with.

    >>> import gearsearch as gs
    >>> gs.demo().name
    'Millrace workshop'
    """
    return Workshop(demo_shop())


@dataclass(frozen=True, slots=True)
class Workshop:
    """A shop with one method for each command; none of them changes it.

    Parameters
    ----------
    shop : its machine, gears, quadrant and dividing head

    A wanted lead is a text as lists write it (``"412.5 mm"``, ``"13 tpi"``, ``"helix 20deg at 50mm"``), a number in the
    shop's unit, or made by a form: ``gearsearch.helix_angle("17°45'", diameter="50 mm")``. Lengths likewise.
    How trains may be made is said by the same names everywhere:

    - ``route`` : its name in the shop file; None for the first
    - ``hand`` : ``right``, ``left`` or ``either``
    - ``pairs`` : at most so many, or (least, most)
    - ``mounting`` : ``must`` (only trains that mount), ``show`` (others too, with the reason), ``skip``
    - ``without``, ``use`` : tooth counts in use elsewhere, and that every train must have
    - ``greatest_pair_ratio``, ``greatest_step_up`` : no pair, and not the last shaft, may step more than this

    Every method raises GearsearchError for what cannot be, with what would do.
    """

    shop: Shop

    @property
    def name(self) -> str:
        """The shop's name."""
        return self.shop.name

    @property
    def units(self) -> str:
        """``mm`` or ``in``: the unit of a number that stands alone."""
        return self.shop.units

    def __repr__(self) -> str:
        return in_python(f"Workshop of {self.shop.heading}")

    @spelled
    def find(
        self,
        wanted: Lead,
        *,
        diameter: Value | None = None,
        length: Value | None = None,
        tolerance: str | None = None,
        route: str | None = None,
        hand: Hand = "either",
        pairs: int | tuple[int, int] = 2,
        count: int = 10,
        order: Order = "closest",
        mounting: Mounting | None = None,
        use: Iterable[GearName] = (),
        without: Iterable[GearName] = (),
        greatest_pair_ratio: Value | None = None,
        greatest_step_up: Value | None = None,
        all_arrangements: bool = False,
    ) -> Answer:
        """The best trains for a wanted lead, from every train the gears can make.

        Parameters
        ----------
        wanted : the lead
        diameter, length, tolerance : what the error is told by: ``length="60 mm", tolerance="0.02 mm over 60 mm"``
        route, hand, pairs, mounting, use, without, greatest_pair_ratio, greatest_step_up : see the class
        count : how many answers, 1 to 1000
        order : ``closest`` to the wanted lead, or ``easiest`` of those inside the tolerance
        all_arrangements : instead every order of the gears of the nearest lead, with its verdict

        >>> import gearsearch as gs
        >>> answer = gs.demo().find("412.5 mm", hand="right", count=5)
        >>> str(answer.fits[0].train), answer.fits[0].error == 0
        ('80/44 48/100', True)
        """
        from .search import find as search
        from .sheet.starts import notes as indexing_notes

        if all_arrangements:
            without_end = "with --all-arrangements, which lists them all"
            require.none_idle({"count": count != 10}, without_end, "ask for one of the two")
        part = self._part(wanted, diameter=diameter, length=length, tolerance=tolerance)
        terms = terms_of(
            route, hand, pairs, mounting, without, use, greatest_pair_ratio, greatest_step_up, count, order
        )
        answer = search.find(self.shop, part, terms)
        if all_arrangements:
            answer = search.with_every_arrangement(answer)
        notes = [*indexing_notes(answer, part.divisions)] if part.divisions > 1 else []
        left = answer.terms.hand == "either" and any(fit.hand == "left" for fit in answer.fits)
        if left and isinstance(wanted, str | Wanted) and "thread" in Wanted.of(wanted).values:
            notes.append(Note("left-threads", _LEFT_THREADS))
        return replace(answer, notes=(*answer.notes, *notes))

    @spelled
    def check(
        self,
        train: str,
        wanted: Lead | None = None,
        *,
        diameter: Value | None = None,
        length: Value | None = None,
        tolerance: str | None = None,
        accuracy: int | None = None,
        route: str | None = None,
        hand: Hand = "either",
    ) -> CheckResult:
        """What one train gives, whether it mounts, and whether its error matters.

        Parameters
        ----------
        train : driver/driven in power order, idlers in brackets: ``"40/(56)/72"``
        wanted : the lead; None: only what the train cuts
        diameter, length, tolerance, route, hand : as for ``find``
        accuracy : class of ISO 1328-1 for a helical gear, 1 to 11

        >>> import gearsearch as gs
        >>> gs.demo().check("80/44 48/100", "412.5 mm", length="60 mm", hand="right").passes
        True
        """
        from .search.check import check
        from .shop.trains import Train

        part = self._work(wanted, diameter=diameter, length=length, tolerance=tolerance, accuracy=accuracy)
        return check(self.shop, Train.parse(train), part, Terms(route=route, hand=hand))

    @spelled
    def sheet(
        self,
        wanted: Lead | None = None,
        *,
        train: str | None = None,
        diameter: Value | None = None,
        length: Value | None = None,
        tolerance: str | None = None,
        accuracy: int | None = None,
        depth: Value | None = None,
        disc_cutter: Value | None = None,
        cutter_width: Value | None = None,
        end_mill: Value | None = None,
        wall: tuple[Value, Value] | None = None,
        flank: Literal["end", "inner"] = "end",
        date: str | None = None,
        route: str | None = None,
        hand: Hand = "either",
        pairs: int | tuple[int, int] = 2,
        order: Order = "closest",
        mounting: Mounting | None = None,
        use: Iterable[GearName] = (),
        without: Iterable[GearName] = (),
        greatest_pair_ratio: Value | None = None,
        greatest_step_up: Value | None = None,
    ) -> Sheet:
        """The set-up sheet; ``.save("sheet.pdf")`` writes it with its pictures.

        Parameters
        ----------
        wanted : the lead; None with a train alone
        train : which train; None: the best that ``find`` gives
        diameter, length, tolerance, accuracy : as for ``check``
        depth, disc_cutter, cutter_width, end_mill : of the cut, and the cutter's sizes
        wall, flank : inner and outer diameter of a tube with a ramp on its end, and whether the ramp faces the end
        date : to print; None leaves a line to fill in
        route, hand, pairs, order, mounting, use, without, greatest_pair_ratio, greatest_step_up : as for ``find``; only
            hand and route go with a train

        >>> import gearsearch as gs
        >>> gs.demo().sheet("412.5 mm", hand="right", length="60 mm").ready
        True
        """
        from .sheet.asking import sheet_of

        part = self._work(wanted, diameter=diameter, length=length, tolerance=tolerance, accuracy=accuracy)
        terms = terms_of(route, hand, pairs, mounting, without, use, greatest_pair_ratio, greatest_step_up, order=order)
        return sheet_of(
            self.shop,
            part,
            terms,
            train,
            date=date,
            wall=wall,
            flank=flank,
            depth=depth,
            disc_cutter=disc_cutter,
            cutter_width=cutter_width,
            end_mill=end_mill,
        )

    @spelled
    def best_trains(
        self,
        leads_mm: Iterable[float | Fraction | str],
        *,
        exact: bool = False,
        route: str | None = None,
        hand: Hand = "either",
        pairs: int | tuple[int, int] = 2,
        mounting: Literal["must", "skip"] = "must",
        without: Iterable[GearName] = (),
    ) -> pd.DataFrame:
        """The nearest train for each of many leads [mm], one row each, by one sweep; see ``charts.many``.

        Parameters
        ----------
        leads_mm : an array, a list or a Series of wanted leads; a float is taken as the decimal it prints
        exact : also exact leads, as ``Fraction``
        route, hand, pairs, mounting, without : as for ``find``

        >>> import gearsearch as gs
        >>> gs.demo().best_trains([412.5, 648], hand="right")["error_ppm"].tolist()
        [0.0, 0.0]
        """
        from .charts.many import best_trains

        return best_trains(self.shop, leads_mm, terms_of(route, hand, pairs, mounting, without), exact=exact)

    def with_gears(self, gears: GearList, kind: str | None = None) -> Workshop:
        """The shop with these loose gears in place of its own of one kind of tooth; joined and fixed ones stay.

        Parameters
        ----------
        gears : tooth counts, one for each gear; or a pandas DataFrame, or a CSV file by its name, with a column
            ``teeth`` and, where there are several equal gears, ``count``
        kind : tag of the kind of tooth; None where the shop has only one

        Raises GearsearchError for what are no tooth counts, a table without such a column, and a file that cannot be
        read.

        >>> import gearsearch as gs
        >>> gs.demo().with_gears([24, 36, 48, 60]).find(360).fits[0].error == 0
        False
        >>> import pandas as pd
        >>> table = pd.DataFrame({"teeth": [24, 40], "count": [2, 1]})
        >>> gs.demo().with_gears(table).shop.gears[0].teeth
        (24, 24, 40)
        """
        return self._with(lambda _: teeth_of(gears), kind)

    def with_gear(self, *teeth: int, kind: str | None = None) -> Workshop:
        """The shop with one more gear of each of these tooth counts.

        Parameters
        ----------
        teeth, kind : tooth counts, and the tag of their kind of tooth, as for ``with_gears``

        >>> import gearsearch as gs
        >>> gs.demo().with_gear(37).find("333 mm", pairs=1, hand="right").fits[0].error == 0
        True
        """
        return self._with(lambda owned: (*owned, *teeth), kind)

    @spelled
    def without(self, *teeth: GearName) -> Workshop:
        """The shop without one loose gear for each of these tooth counts.

        Parameters
        ----------
        teeth : tooth counts, with their kind where the shop has several: ``"60@m2"``; a joined piece: ``"60+30"``

        Raises GearsearchError for one that is not there.

        >>> import gearsearch as gs
        >>> gs.demo().without(24, 24).shop.gears[0].teeth.count(24)
        0
        """
        from .dividing.at_hand import AtHand

        return replace(self, shop=AtHand(without=teeth).shop(self.shop))

    @spelled
    def _with(self, change: Callable[[tuple[int, ...]], tuple[int, ...]], kind: str | None) -> Workshop:
        return replace(self, shop=with_changed(self.shop, change, kind))

    @property
    def chart(self) -> Charts:
        """Lead charts: ``chart.every(…)``, ``chart.list(…)``, ``chart.grid(…)``; saved ones: ``look``, ``read``."""
        from .charts.asking import Charts

        return Charts(self.shop)

    @property
    def divide(self) -> Divide:
        """Spacing the work: ``divide(127)``, ``divide(range(2, 99))``, ``.angle(…)``, ``.starts(…)``, ``.steps(…)``."""
        from .dividing.asking import Divide

        return Divide(self.shop)

    @property
    def extend(self) -> Extend:
        """Which gear to add: ``extend(leads)``; never needed: ``extend.spare(…)``; a new set: ``extend.design(…)``."""
        from .extend.asking import Extend

        return Extend(self.shop)

    @spelled
    def pair(
        self,
        teeth: tuple[int, int],
        *,
        gear_module: Value | None = None,
        gear_dp: Value | None = None,
        gear_transverse_module: Value | None = None,
        helix_angle: Value | Sequence[Value] | None = None,
        centre_distance: Value | None = None,
        shafts: Literal["parallel", "crossed"] = "parallel",
        hand: Hand = "either",
        mate_hand: Literal["right", "left"] | None = None,
        face: Value | None = None,
        tolerance: str | None = None,
        helix_within: Value | None = None,
        route: str | None = None,
        pairs: int | tuple[int, int] = 2,
        count: int = 5,
        mounting: Mounting = "must",
        without: Iterable[GearName] = (),
    ) -> PairAnswer:
        """Two trains for two helical gears that must mesh: least mismatch of the helix angles first.

        Parameters
        ----------
        teeth : of both gears
        gear_module, gear_dp, gear_transverse_module : normal module [mm], normal diametral pitch [1/in] or transverse
            module [mm]; one of them
        helix_angle : from the axis [degrees], one, or two on crossed shafts
        centre_distance : in place of the angle, on parallel shafts
        shafts, hand, mate_hand : how they stand, hand of the first gear and of the second
        face, tolerance : common face width, and how far each lead may be off
        helix_within : also exact pairs with the helix angle moved by up to this [degrees]
        route, pairs, count, mounting, without : as for ``find``

        >>> import gearsearch as gs
        >>> gs.demo().pair((20, 44), gear_module=2, helix_angle=20, face="25 mm").found
        True
        """
        from .pairs.asking import pair_of
        from .pairs.find import find_pairs
        from .pairs.request import PairRequest

        gears = pair_of(
            self.units,
            teeth,
            gear_module=gear_module,
            gear_dp=gear_dp,
            gear_transverse_module=gear_transverse_module,
            helix_angle=helix_angle,
            centre_distance=centre_distance,
            shafts=shafts,
            hand=hand,
            mate_hand=mate_hand,
            face=face,
            tolerance=tolerance,
        )
        terms = terms_of(route, "either", pairs, mounting, without, count=count)
        within = None if helix_within is None else parse_angle(helix_within, "--helix-within")
        return find_pairs(self.shop, PairRequest(gears, terms, within))

    @spelled
    def show(self) -> Overview:
        """The shop with everything derived from it: leads of the machine, gears, leads in reach, what is missing.

        >>> import gearsearch as gs
        >>> gs.demo().show().to_frame()["trains"].tolist()[:2]
        [307, 18904]
        """
        from .shop.overview import overview

        return overview(self.shop)

    def _part(self, wanted: Lead, *, tolerance: str | None = None, **more: Value | None) -> Part:
        """The part; what a made part says of itself stays."""
        if isinstance(wanted, Part):
            given = [name for name, value in {"tolerance": tolerance, **more}.items() if value is not None]
            if given:
                raise GearsearchError(
                    f"{given[0]} is given beside a part, which has its own", "make the part with it, and leave it out"
                )
            return wanted
        return Wanted.of(wanted).part(self.units, tolerance=tolerance, **more)

    def _work(self, wanted: Lead | None, *, tolerance: str | None, **more: Value | None) -> Blank:
        """The part, or the blank where no lead is asked for."""
        if wanted is None:
            return blank(self.units, tolerance=tolerance, **more)
        return self._part(wanted, tolerance=tolerance, **more)
