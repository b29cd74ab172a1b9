"""Regular expressions that are compiled when they are first used: compiling all of them takes a third of a start."""

from __future__ import annotations

import re
from functools import cached_property


class Pattern:
    """A regular expression, as ``re.compile`` takes it, with those methods of it that are used here."""

    def __init__(self, text: str, flags: int = 0) -> None:
        self._text, self._flags = text, flags

    @cached_property
    def _compiled(self) -> re.Pattern[str]:
        return re.compile(self._text, self._flags)

    def fullmatch(self, text: str) -> re.Match[str] | None:
        """The match of a whole text."""
        return self._compiled.fullmatch(text)

    def match(self, text: str) -> re.Match[str] | None:
        """The match at the beginning of a text."""
        return self._compiled.match(text)

    def search(self, text: str) -> re.Match[str] | None:
        """The first match in a text."""
        return self._compiled.search(text)

    def sub(self, instead: str, text: str) -> str:
        """A text with every match replaced."""
        return self._compiled.sub(instead, text)
