"""Charts as Python asks for them, and as an answer: a frame, a page, and files of any kind."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterable, Mapping, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal, TextIO

from ..base import require
from ..base.document import Block, Document
from ..base.errors import GearsearchError
from ..base.facts import Heading, Note, Record, Table
from ..base.sharing import Crew
from ..base.showing import Answering, from_above
from ..base.spelling import spelled
from ..base.units import Value, format_length, parse_angle, parse_length, parse_pitch, parse_share
from ..search.terms import Hand, Terms, terms_of
from ..shop.gear_names import GearName
from ..shop.shop import Shop
from ..work.lists import LeadList, load_list
from ..work.tolerance import Tolerance
from .making import ANGLES, Chart, every, grid, of_list

if TYPE_CHECKING:
    import pandas as pd
    import pyarrow as pa
    from matplotlib.axes import Axes

    from .looking import LookedUp

Mounting = Literal["must", "skip"]
Steps = str | Iterable[Value]
MOST_STEPS = 10_000
_SHOWN = 20  # rows of a chart that are shown where it is printed


@dataclass(frozen=True, slots=True, repr=False)
class Charted(Answering):
    """A chart that was asked for from Python; its rows are worked out when they are asked for.

    Parameters
    ----------
    chart : what it holds
    command : the call that made it
    """

    chart: Chart
    command: str

    @property
    def keys(self) -> Sequence[str]:
        """The columns of its file."""
        return [*self._columns().schema().names]

    def rows(self) -> list[Record]:
        """Every row as it stands in the file."""
        return [row for table in self._tables() for row in table.to_pylist()]

    def record(self) -> Record:
        """The whole chart for programs."""
        notes = [note.record() for note in self.notes]
        return {
            "chart": self.chart.kind,
            "title": self._title,
            "command": self.command,
            "rows": self.rows(),
            "notes": notes,
        }

    def to_table(self) -> pa.Table:
        """The chart as a ``pyarrow.Table``, its columns those of the Parquet file."""
        import pyarrow as pa

        tables = list(self._tables())
        return pa.concat_tables(tables) if tables else self._columns().schema().empty_table()

    def to_frame(self, *, exact: bool = False) -> pd.DataFrame:
        """The chart as a pandas DataFrame, its columns those of the Parquet file.

        Parameters
        ----------
        exact : also a column ``lead_exact`` of ``Fraction`` [mm]
        """
        import pandas as pd

        frame: pd.DataFrame = self.to_table().to_pandas()
        if exact:
            leads = map(Fraction, frame["lead_num"].tolist(), frame["lead_den"].tolist())
            frame["lead_exact"] = pd.Series([*leads], frame.index, object)
        return frame

    def document(self) -> Document:
        """Title, facts and the first rows."""
        first, more = self._first()
        unit, keys = self.chart.source.shop.units, self.keys
        both = {"train_right": "right hand", "train_left": "left hand"}
        shown = {"name": "name"} if "name" in keys else {}
        shown |= {"lead": "lead"} | (both if "train_left" in keys else {"train": "train"})
        rows = [row | {"lead": format_length(Fraction(row["lead_num"], row["lead_den"]), unit)} for row in first]
        cells = tuple(tuple(str(row[key] or "") for key in shown) for row in rows)
        table = Table(tuple(Heading(word, right=word == "lead") for word in shown.values()), cells)
        rest = ("and more: .to_frame() has them all, .save() writes them",) if more else ()
        blocks = (Block(table=table), Block(lines=rest)) if first else (Block(lines=("the chart is empty",)),)
        return Document(self._title, (self.chart.source.shop.heading,), blocks=blocks, notes=self.notes)

    @spelled
    def plot(self, ax: Axes | None = None) -> Axes:
        """Draw how far off the nearest lead can be, for a chart of every lead; needs matplotlib.

        Parameters
        ----------
        ax : axes of matplotlib; None: a sheet of its own, which also shows how many leads there are

        Returns the axes. Raises GearsearchError for a list and a grid, and where there are fewer than two leads.
        """
        drawn: Axes = from_above("output.drawing.density", "plot_chart")(self.chart, self.to_table(), ax)
        return drawn

    @spelled
    def save(
        self,
        *files: str | Path,
        paper: Literal["A4", "Letter"] = "A4",
        landscape: bool = False,
        rows: int | None = None,
        date: str = "",
        overwrite: bool = False,
        resume: bool = False,
    ) -> int:
        """Write the chart as ``.parquet``, ``.md``, ``.pdf`` or ``.csv``, and give how many rows it has.

        Parameters
        ----------
        files : each is written as its ending says, all in one go
        paper, landscape, rows : of a chart to print; rows of the table on a page, None for as many as fit
        date : for the heading, as it is to read
        overwrite : replace files that are there
        resume : go on where the same call was broken off; its finished slices are beside the first file
        """
        imprint = from_above("output.chart_files", "Imprint")
        sheet = from_above("output.paper", "Paper")(paper, landscape, rows)
        write = from_above("output.chart_files", "write_chart")
        count: int = write(self.chart, files, imprint(self.command, date, sheet), overwrite=overwrite, resume=resume)
        return count

    @spelled
    def print(self, stream: TextIO | None = None, *, date: str = "") -> int:
        """Print every row as text, as wide as the terminal, and give how many rows there are.

        Parameters
        ----------
        stream : where to; None: standard output
        date : for the heading, as it is to read
        """
        count: int = from_above("output.chart_files", "print_chart")(
            self.chart, stream or sys.stdout, self.command, date
        )
        return count

    @property
    def notes(self) -> tuple[Note, ...]:
        """Of a list or a grid, how many leads have no train, and what would help."""
        from .served import notes_of

        return tuple(notes_of(self.chart))

    @property
    def found(self) -> bool:
        """Whether any lead has a train: in a list and a grid one within 1 %, or inside its tolerance."""
        from .served import lacking

        if self.chart.items:
            return len(lacking(self.chart)) < self.chart.items
        return any(len(rows) for rows in self.chart.rows)

    @property
    def _title(self) -> str:
        return "; ".join((self.chart.title, *self.chart.facts))

    def _columns(self) -> Any:
        from .columns import SavedColumns

        return SavedColumns(self.chart, {})

    def _tables(self) -> Iterable[pa.Table]:
        columns = self._columns()
        return (columns.table(rows) for rows in self.chart.rows)

    def _first(self) -> tuple[list[dict[str, Any]], bool]:
        """The first rows, and whether there are more."""
        found: list[Record] = []
        for table in self._tables():
            found += table.slice(0, _SHOWN + 1 - len(found)).to_pylist()
            if len(found) > _SHOWN:
                return found[:_SHOWN], True
        return found, False


@dataclass(frozen=True, slots=True)
class Charts:
    """Lead charts of a shop's own gears.

    Parameters
    ----------
    shop : whose gears
    """

    shop: Shop

    @spelled
    def every(
        self,
        low: Value | None = None,
        high: Value | None = None,
        *,
        thin: str | None = None,
        all_arrangements: bool = False,
        route: str | None = None,
        hand: Hand = "either",
        pairs: int | tuple[int, int] = 2,
        mounting: Mounting = "must",
        without: Iterable[GearName] = (),
        executor: Executor | None = None,
    ) -> Charted:
        """Every lead the gears give, with the best train for each hand.

        Parameters
        ----------
        low, high : shortest and longest lead; None for what can be reached
        thin : keep the easiest train of each step of this share, such as ``"0.1%"``
        all_arrangements : every order of every gear set that mounts
        route, hand, pairs, mounting, without : how trains may be made, as for ``find``
        executor : of ``concurrent.futures``, to share the work among processes or machines; None: threads on every core

        >>> import gearsearch as gs
        >>> chart = gs.demo().chart.every("480 mm", "482 mm", hand="right")
        >>> chart.to_frame()["lead_mm"].is_monotonic_increasing
        True
        """
        unit = self.shop.units
        shortest = None if low is None else parse_pitch(low, unit, "--from")
        longest = None if high is None else parse_pitch(high, unit, "--to")
        share = None if thin is None else parse_share(thin, "--thin")
        given = {"low": low, "high": high, "thin": thin, "all_arrangements": all_arrangements}
        terms = terms_of(route, hand, pairs, mounting, without)
        chart = every(self.shop, terms, (shortest, longest), share, all_arrangements, Crew(executor))
        return Charted(chart, _said("every", given, terms))

    @spelled
    def list(
        self,
        name: str | Path,
        *,
        starts: Iterable[int] = (1,),
        count: int | None = None,
        fewest_changes: bool = False,
        tolerance: str | None = None,
        length: Value | None = None,
        route: str | None = None,
        hand: Hand = "either",
        pairs: int | tuple[int, int] = 2,
        mounting: Mounting = "must",
        without: Iterable[GearName] = (),
        executor: Executor | None = None,
    ) -> Charted:
        """The nearest trains for each lead of a list.

        Parameters
        ----------
        name : a CSV file with the columns name, wanted and tolerance, or a list that comes with gearsearch
        starts : of a standard list's threads
        count : how many leads for each, by hand; None: 3 in a saved chart, the best one on paper and on a screen
        fewest_changes : instead keep each train on for as many leads as levers and routes allow; needs a tolerance
        tolerance : for leads without one of their own
        length : axial length of the cut, for the error over it
        route, hand, pairs, mounting, without : how trains may be made, as for ``find``
        executor : of ``concurrent.futures``, to share the work among processes or machines; None: threads on every core

        >>> import gearsearch as gs
        >>> len(gs.demo().chart.list("iso-54", route="spindle", hand="right", count=1).to_frame()) > 5
        True
        """
        unit, starts = self.shop.units, tuple(starts)
        terms = terms_of(route, hand, pairs, mounting, without)
        wanted = load_list(name, unit, starts)
        allowed = None if tolerance is None else Tolerance.parse(tolerance, unit)
        length_mm = None if length is None else parse_length(length, unit, "--length")
        if fewest_changes:
            _check_changes(count, wanted, allowed)
            from .changes import fewest_changes as changes

            chart = changes(self.shop, terms, wanted, allowed, length_mm, Crew(executor))
        else:
            chart = of_list(self.shop, terms, wanted, count, allowed, length_mm, Crew(executor))
        told: dict[str, object] = {
            "starts": starts if starts != (1,) else None,
            "count": None if fewest_changes else count,
        }
        told |= {"fewest_changes": fewest_changes, "tolerance": tolerance, "length": length}
        return Charted(chart, _said("list", {"": str(name), **told}, terms))

    @spelled
    def grid(
        self,
        diameters: Steps,
        *,
        helix_angles: Steps | None = None,
        lead_angles: Steps | None = None,
        route: str | None = None,
        hand: Hand = "either",
        pairs: int | tuple[int, int] = 2,
        mounting: Mounting = "must",
        without: Iterable[GearName] = (),
        executor: Executor | None = None,
    ) -> Charted:
        """The nearest train for each diameter and angle.

        Parameters
        ----------
        diameters : such as ``range(10, 65, 5)``, in the shop's unit, or a text ``"10:60:5"``
        helix_angles, lead_angles : from the work's axis, or from square to it [degrees], likewise; one of the two
        route, hand, pairs, mounting, without : how trains may be made, as for ``find``
        executor : of ``concurrent.futures``, to share the work among processes or machines; None: threads on every core

        >>> import gearsearch as gs
        >>> len(gs.demo().chart.grid([20, 30], helix_angles=[15, 20, 25], hand="right").to_frame())
        6
        """
        if (helix_angles is None) == (lead_angles is None):
            raise GearsearchError(
                f"a grid needs angles of one kind, and {'none' if helix_angles is None else 'two'} are given",
                "give either --helix-angles (from the axis) or --lead-angles (from square to it)",
            )
        angle = ANGLES[helix_angles is None]
        given = helix_angles if helix_angles is not None else lead_angles
        assert given is not None
        name = f"{angle.replace(' ', '_')}s"
        option = "--" + name.replace("_", "-")
        angles = steps(given, option, lambda value: parse_angle(value, option))
        sizes = steps(diameters, "--diameters", lambda value: parse_length(value, self.shop.units, "--diameters"))
        terms = terms_of(route, hand, pairs, mounting, without)
        said = {"": _listed(diameters, sizes), name: _listed(given, angles)}
        chart = grid(self.shop, terms, sizes, angles, angle, Crew(executor))
        return Charted(chart, _said("grid", said, terms))

    @spelled
    def look(self, file: str | Path, lead: Value, *, count: int = 10) -> LookedUp:
        """The neighbours of a lead in a saved chart.

        Parameters
        ----------
        file : a ``.parquet`` or ``.csv`` file that ``save`` or the command wrote
        lead : such as ``"412 mm"``; a bare number is in the unit of the chart, else of this shop
        count : how many leads, 1 to 1000

        Raises GearsearchError for a file that is no chart or a damaged one.

        >>> import gearsearch as gs, tempfile
        >>> charts, folder = gs.demo().chart, tempfile.mkdtemp()
        >>> charts.every("480 mm", "490 mm", hand="right").save(f"{folder}/leads.parquet")
        35
        >>> charts.look(f"{folder}/leads.parquet", "485 mm", count=2).to_frame()["lead_mm"].round(3).tolist()
        [484.909, 485.333]
        """
        from .looking import look_up
        from .saved import unit_of

        unit = unit_of(file) or self.shop.units
        return look_up(file, parse_pitch(lead, unit, "lead"), count, unit)

    @spelled
    def plot(self, file: str | Path, ax: Axes | None = None) -> Axes:
        """Draw how densely a saved chart of every lead covers the leads; needs matplotlib.

        Parameters
        ----------
        file, ax : as for ``read``, and as for ``Charted.plot``

        Returns the axes. Raises GearsearchError for another file, and where there are fewer than two leads.
        """
        drawn: Axes = from_above("output.drawing.density", "plot_saved")(file, self.shop.units, ax)
        return drawn

    @spelled
    def read(self, file: str | Path) -> pd.DataFrame:
        """A chart that was saved as Parquet, as a pandas DataFrame; what it says of itself is in ``attrs``.

        Parameters
        ----------
        file : as for ``look``, but no ``.csv``

        >>> import gearsearch as gs, tempfile
        >>> charts, folder = gs.demo().chart, tempfile.mkdtemp()
        >>> rows = charts.every("480 mm", "490 mm", hand="right").save(f"{folder}/leads.parquet")
        >>> frame = charts.read(f"{folder}/leads.parquet")
        >>> len(frame) == rows, frame.attrs["hands"]
        (True, 'right')
        """
        from .saved import read_chart

        return read_chart(file)


def steps(given: Steps, option: str, read: Callable[[Value], Fraction]) -> Sequence[Fraction]:
    """Values, ascending, each once; in a text single ones and ranges FIRST:LAST:STEP, parted by commas.

    Raises GearsearchError for what is no range.
    """
    values: set[Fraction] = set()
    for part in given.split(",") if isinstance(given, str) else given:
        ends = [read(end) for end in part.strip().split(":")] if isinstance(part, str) else [read(part)]
        if len(ends) == 1:
            values.add(ends[0])
            continue
        if len(ends) != 3 or ends[2] <= 0 or ends[1] < ends[0] or (ends[1] - ends[0]) / ends[2] > MOST_STEPS:
            raise GearsearchError(
                f"{option} {str(part).strip()[:40]!r} is not a range",
                f"write FIRST:LAST:STEP with at most {MOST_STEPS} steps, as in {option} 10:60:5, or values: 10,12,16",
            )
        values.update(ends[0] + step * ends[2] for step in range(int((ends[1] - ends[0]) // ends[2]) + 1))
    return sorted(values)


def _listed(given: Steps, values: Sequence[Fraction]) -> str | Sequence[float]:
    return given if isinstance(given, str) else [float(value) for value in values]


def _check_changes(count: int | None, wanted: LeadList, tolerance: Tolerance | None) -> None:
    told = "with --fewest-changes, which tells one train for each lead"
    require.none_idle({"count": count is not None}, told, "ask for one of the two")
    if tolerance is None and any(item.tolerance is None for item in wanted.items):
        raise GearsearchError(
            "--fewest-changes needs to know which leads are acceptable",
            "give a tolerance, as in --tolerance 0.05%, or a list with one for each lead",
            code="no-tolerance",
        )


def _said(kind: str, given: Mapping[str, object], terms: Terms) -> str:
    """The call that made a chart: all that its rows hang on."""
    usual = {"route": None, "hand": "either", "pairs": (1, 2), "mounting": "must", "without": ()}
    values = {name: value for name, value in given.items() if value not in (None, False)}
    values |= {name: value for name in usual if (value := getattr(terms, name)) != usual[name]}
    words = [f"{name}={value!r}" if name else repr(value) for name, value in values.items()]
    return f"shop.chart.{kind}({', '.join(words)})"
