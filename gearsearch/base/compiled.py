"""How loops are compiled: once for a machine where a cache folder can be written, else once for each process.

Where numpy does the work nothing is compiled: each loop costs the first run ever its compile time, 0.2 s and more.
Those there are run 3.7 to 60 times as fast as the same in numpy (``benchmarks/loops.py``); one below 2 is to go.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from contextlib import suppress
from typing import Any, TypeVar, cast

from numba import njit
from numba.core import event
from numba.core.caching import FunctionCache

F = TypeVar("F", bound=Callable[..., object])


def compiled(function: F) -> F:
    """Compile a loop on its first call; the machine code is kept between runs where a folder allows it.

    A kernel and the kernels it calls must stand in one file: the kept code is renewed when that file changes,
    and not when another one does. The interpreter lock is let go while the loop runs, so threads may share work.
    """
    try:
        loop = njit(cache=True, nogil=True)(function)
        if hasattr(loop, "_cache"):  # not where numba is told to interpret
            loop._cache = _Kept(function)  # type: ignore[no-untyped-call]
        return cast("F", loop)
    except RuntimeError as error:  # numba finds no folder it may write
        if "cache" not in str(error):
            raise
        return cast("F", njit(nogil=True)(function))


class _Kept(FunctionCache):
    """The machine code of one loop, kept in a folder; where that fails the loop is compiled, and this is said once.

    A file that a power cut has cut short is made anew; where one can't be, as on a full disk, none is used.
    """

    told = False

    def load_overload(self, sig: object, target_context: object) -> object:
        """The loop as it was kept, or None for one that must be compiled."""
        try:
            return super().load_overload(sig, target_context)  # type: ignore[no-untyped-call]
        except Exception as error:  # what a damaged pickle raises is anything
            self._go_on(error)
            with suppress(OSError):
                self.flush()  # type: ignore[no-untyped-call]
        return None

    def save_overload(self, sig: object, data: object) -> None:
        """Keep a loop that was compiled."""
        try:
            super().save_overload(sig, data)  # type: ignore[no-untyped-call]
        except OSError as error:
            self._go_on(error)

    def _go_on(self, error: Exception) -> None:
        if not _Kept.told:
            _Kept.told = True
            reason = (getattr(error, "strerror", None) or "a file is damaged").lower()
            print(f"compiled loops kept in {self.cache_path}: {reason}; going on without them", file=sys.stderr)


class _FirstTime(event.Listener):
    """Says, once and where a person is watching, what the wait for the package's own loops is for."""

    said = False

    def on_start(self, happened: Any) -> None:
        """Called before anything in this process is compiled, other people's loops among it."""
        ours = happened.data["dispatcher"].py_func.__module__.startswith("gearsearch.")
        if ours and not self.said and sys.stderr.isatty():
            self.said = True
            print("first run here: compiling for this machine, once, a few seconds …", file=sys.stderr)

    def on_end(self, _: object) -> None:
        """Called when a loop is compiled."""


_first_time = _FirstTime()
event.register("numba:compile", _first_time)  # type: ignore[no-untyped-call]
