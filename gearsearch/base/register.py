"""Kinds of a thing that are found by being there: a module put into their folder is enough."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from importlib import import_module
from pathlib import Path
from typing import TypeVar

K = TypeVar("K")


class Register(Mapping[str, K]):
    """The kinds of one thing by name, in the order of their names; each enters itself when its module is read.

    Parameters
    ----------
    package : dotted name of the folder whose modules are read when a kind is first asked for
    """

    def __init__(self, package: str) -> None:
        self._package = package
        self._kinds: dict[str, K] = {}
        self._read = False

    def enter(self, name: str, kind: K) -> None:
        """Have a kind under its name."""
        self._kinds[name] = kind

    def _all(self) -> dict[str, K]:
        if not self._read:
            self._read = True
            for folder in import_module(self._package).__path__:
                for module in sorted(Path(folder).glob("[!_]*.py")):
                    import_module(f"{self._package}.{module.stem}")
        return self._kinds

    def __getitem__(self, name: str) -> K:
        return self._all()[name]

    def __iter__(self) -> Iterator[str]:
        return iter(sorted(self._all()))

    def __len__(self) -> int:
        return len(self._all())
