"""How an answer shows itself: the one place where what is below asks the writers above, and only when called."""

from __future__ import annotations

from importlib import import_module


class Shown:
    """An answer with a ``document()`` that a notebook shows, and that can be had as Markdown."""

    __slots__ = ()

    def to_markdown(self) -> str:
        """The answer as Markdown that reads as plain text too."""
        return _written(self, "md")

    def _repr_html_(self) -> str:
        return _written(self, "html")


def _written(answer: Shown, form: str) -> str:
    text: str = import_module("gearsearch.output.written").written(answer, form)
    return text
