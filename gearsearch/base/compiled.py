"""How loops are compiled: once for a machine where a cache folder can be written, else once for each process.

Where numpy does the work nothing is compiled: each loop costs the first run ever its compile time, 0.2 s and more.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from typing import Any, TypeVar, cast

from numba import njit
from numba.core import event

F = TypeVar("F", bound=Callable[..., Any])


def compiled(function: F) -> F:
    """Compile a loop on its first call; the machine code is kept between runs where a folder allows it.

    A kernel and the kernels it calls must stand in one file: the kept code is renewed when that file changes,
    and not when another one does. The interpreter lock is let go while the loop runs, so threads may share work.
    """
    try:
        return cast("F", njit(cache=True, nogil=True)(function))
    except RuntimeError as error:  # numba finds no folder it may write
        if "cache" not in str(error):
            raise
        return cast("F", njit(nogil=True)(function))


class _FirstTime(event.Listener):
    """Says, once and where a person is watching, what the wait for the package's own loops is for."""

    said = False

    def on_start(self, happened: Any) -> None:
        """Called before anything in this process is compiled, other people's loops among it."""
        ours = happened.data["dispatcher"].py_func.__module__.startswith("gearsearch.")
        if ours and not self.said and sys.stderr.isatty():
            self.said = True
            print("first run here: loops are compiled for this machine, once, some seconds …", file=sys.stderr)

    def on_end(self, _: Any) -> None:
        """Called when a loop is compiled."""


_first_time = _FirstTime()
event.register("numba:compile", _first_time)  # type: ignore[no-untyped-call]
