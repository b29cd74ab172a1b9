"""How wide an answer is: every text is laid out at several widths while a command runs."""

from collections.abc import Iterator
from contextlib import contextmanager
from unittest.mock import patch

from gearsearch.output import text as writer

WIDTHS = (80, 120)


def widest(text):
    """The letters of the longest line."""
    return max(map(len, text.splitlines()), default=0)


@contextmanager
def at_every_width() -> Iterator[None]:
    """While this lasts no text may have a line wider than the terminal would be, whatever is asked for."""
    laid_out = writer._parts

    def tried(document, width):
        for room in WIDTHS:
            for part in laid_out(document, room):
                for line in part:
                    assert len(line) <= room, line
        return laid_out(document, width)

    with patch.object(writer, "_parts", tried):
        yield
