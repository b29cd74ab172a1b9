"""Stdout and stderr of the process: UTF-8 where no terminal is, and a fault of stdout told as any other mistake."""

from __future__ import annotations

import errno
import io
import os
import sys
from typing import TextIO, cast

from .errors import GearsearchError


def prepare() -> None:
    """Put both streams of this process in the state that a command needs. Call it once, before anything is printed."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            # a terminal says what it can show; a file or a pipe is read by who knows where, so it is always the same
            stream.reconfigure(encoding=None if stream.isatty() else "utf-8", errors="replace")
    sys.stdout, sys.stderr = cast("TextIO", Answers(sys.stdout)), cast("TextIO", Talk(sys.stderr))


class _Stream(io.TextIOBase):
    """A stream of the process, or none where whoever started it has closed that."""

    def __init__(self, stream: TextIO | None) -> None:
        self._stream = stream

    def isatty(self) -> bool:
        """Whether a person is watching."""
        return self._stream is not None and self._stream.isatty()

    def writable(self) -> bool:
        """It is there to be written to."""
        return True

    def write(self, text: str) -> int:
        """Write, or tell what is in the way."""
        try:
            return self._open().write(text)
        except OSError as error:
            self._failed(error)
            return 0

    def flush(self) -> None:
        """Bring what was written to its end, or tell what is in the way."""
        try:
            if self._stream is not None:
                self._stream.flush()
        except OSError as error:
            self._failed(error)

    def _open(self) -> TextIO:
        if self._stream is None:
            raise OSError(errno.EBADF, os.strerror(errno.EBADF))
        return self._stream

    def _failed(self, error: OSError) -> None:
        raise NotImplementedError


class Answers(_Stream):
    """Stdout. A reader that has gone is left to the caller; any other fault is a GearsearchError."""

    def _failed(self, error: OSError) -> None:
        if isinstance(error, BrokenPipeError):
            raise error
        reason = "it is closed" if error.errno == errno.EBADF else (error.strerror or str(error)).lower()
        raise GearsearchError(
            f"the answer can't be written to standard output: {reason}",
            "send it to a terminal, a pipe or a file with room for it",
            code="not-printed",
        ) from None


class Talk(_Stream):
    """Stderr: where it can't be written, the answer and the exit code matter more than what is said beside them."""

    def _failed(self, error: OSError) -> None:
        pass
