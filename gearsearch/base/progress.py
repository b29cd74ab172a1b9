"""A line of progress for long work: on stderr, and only where a person is watching."""

from __future__ import annotations

import sys
import time


class Progress:
    """Shows ``what: 37 %`` on stderr while it is a terminal; silent everywhere else.

    Parameters
    ----------
    what : what is being done, as the line's first words
    total : how many steps make the whole
    """

    def __init__(self, what: str, total: float) -> None:
        self._what = what
        self._total = max(total, 1e-300)
        self._shown = 0.0
        self._on = sys.stderr.isatty()

    def step(self, done: float) -> None:
        """Say how many steps are done; the line is redrawn at most five times a second."""
        now = time.monotonic()
        if self._on and now - self._shown > 0.2:
            self._shown = now
            print(f"\r{self._what}: {100 * done / self._total:3.0f} %", end="", file=sys.stderr, flush=True)

    def __enter__(self) -> Progress:
        return self

    def __exit__(self, *_: object) -> None:
        if self._on and self._shown:
            print("\r" + " " * (len(self._what) + 8) + "\r", end="", file=sys.stderr, flush=True)
