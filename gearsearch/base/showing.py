"""How an answer shows itself: the one place where what is below asks the writers above, and only when called."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from fractions import Fraction
from importlib import import_module
from typing import TYPE_CHECKING, Any, cast

from .facts import Record
from .spelling import in_python, spelled

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.axes import Axes


class Shown:
    """What has a ``document()``: a notebook shows it, and it can be had as Markdown."""

    __slots__ = ()

    def __str__(self) -> str:
        """What the command prints, without the end of its last line."""
        return self.to_text()

    def __repr__(self) -> str:
        """The same, with options as Python spells them."""
        return in_python(self.to_text())

    def to_text(self, *, full: bool = False) -> str:
        """The answer as text for a terminal; ``full`` with all details, as the command has them with ``--full``."""
        return _written(self, "table", full).rstrip("\n")

    def to_markdown(self) -> str:
        """The answer as Markdown that reads as plain text too."""
        return _written(self, "md")

    def _repr_html_(self) -> str:
        return in_python(_written(self, "html"))


class Answering(Shown):
    """An answer: besides a page it has a ``record()`` for programs, and flat ``rows()`` under ``keys``."""

    __slots__ = ()

    @property
    def keys(self) -> Sequence[str]:
        """The columns of its rows, in order."""
        raise NotImplementedError

    def record(self) -> Record:
        """All of it in plain types, exact fractions as text."""
        raise NotImplementedError

    def rows(self) -> Iterable[Mapping[str, Any]]:
        """Flat rows of plain values."""
        raise NotImplementedError

    def to_dict(self) -> dict[str, Any]:
        """What the command gives as JSON: plain types, exact fractions as text; the keys are stable.

        Their meaning is in ``gearsearch.schema``.

        >>> import gearsearch as gs
        >>> gs.demo().find("412.5 mm", count=1).to_dict()["fits"][0]["lead_exact"]
        '825/2'
        """
        return cast("Record", from_above("output.written", "for_programs")(self))

    def to_frame(self, *, exact: bool = False) -> pd.DataFrame:
        """The rows as a pandas DataFrame; units stand in the names of its columns.

        Parameters
        ----------
        exact : also the columns of exact values, such as ``lead_exact``, as ``Fraction``

        >>> import gearsearch as gs
        >>> gs.demo().find("412.5 mm", hand="right", count=2).to_frame(exact=True)["lead_exact"].tolist()
        [Fraction(825, 2), Fraction(4536, 11)]
        """
        import pandas as pd

        rows = [dict(row) for row in self.rows()]
        exactly = list(_exact_of(self.keys))
        for row in rows:
            row.update({name: Fraction(row[name]) for name in exactly if row.get(name) is not None})
        kept = [name for name in self.keys if exact or name not in exactly]
        return pd.DataFrame(rows, columns=kept)


class Pictured(Answering):
    """An answer with a picture to scale: a train on the quadrant, or a bracket."""

    __slots__ = ()

    def _repr_html_(self) -> str:
        page: str = from_above("output.pictures", "for_notebook")(self, super()._repr_html_())
        return page

    @spelled
    def plot(self, ax: Axes | None = None) -> Axes:
        """Draw the picture; needs matplotlib.

        Parameters
        ----------
        ax : axes of matplotlib, in which it is then drawn in the machine's own millimetres; None: a sheet of its own,
            with its legend

        Returns the axes. Raises GearsearchError where there is nothing to draw, as for a train that does not mount.
        """
        drawn: Axes = from_above("output.pictures", "plot")(self, ax)
        return drawn


def _exact_of(keys: Sequence[str]) -> Iterator[str]:
    """The columns that hold a value exactly which another holds rounded: ``lead_exact`` beside ``lead_mm``."""
    for name in keys:
        stem, mark, _ = name.partition("_exact")
        if mark and any(other != name and other.startswith(f"{stem}_") for other in keys):
            yield name


def from_above(module: str, name: str) -> Any:
    """A function of a module of ``gearsearch`` above this one, found only now."""
    return getattr(import_module(f"gearsearch.{module}"), name)


def _written(answer: Shown, form: str, full: bool = True) -> str:
    text: str = from_above("output.written", "written")(answer, form, full)
    return text
