"""The lead of a thread: starts × pitch."""

from __future__ import annotations

import re

from ...base.errors import UnitError
from ...base.units import format_both, parse_pitch, shown
from ..form import DIAMETER, STARTS, Form, Given, Option
from ..naming import read_name
from ..part import Part
from ..threads import read_thread

_THREAD = Option("thread", "P", "thread: M12, 1/2-13, 2BA, G1/2, '13 tpi' or 1.5mm, with --starts", "1.5mm")
_PITCH = re.compile(r"tpi|thread|per\s+in", re.IGNORECASE)


class Thread(Form):
    """Starts × pitch, by the pitch (``1.5mm``), threads per inch (``13 tpi``) or a name (``Tr 40x14(P7) LH``)."""

    name = "thread"
    options = (_THREAD, DIAMETER, STARTS)
    gives = "a thread"
    row = '`--thread M12`, `1/2-13`, `2BA`, `"Tr 40x14(P7) LH"`, `"13 tpi"`, or `1.5mm --starts 2`'
    example = "13 tpi, M12x1.75"
    pattern = re.compile(r"(?P<thread>.+)")
    rank = 4

    def reads(self, text: str) -> dict[str, str | None] | None:
        """A text that is a thread's name, or says that it is one."""
        return {"thread": text} if _PITCH.search(text) or read_name(text) else None

    def part(self, given: Given) -> Part:
        """The lead of the thread. Raises UnitError as ``read_thread``, and for other starts than the name's own."""
        pitch = given.value(_THREAD, "no thread is given")
        if isinstance(pitch, str):
            size, named, thread = read_thread(pitch, given.unit)
        else:
            size, named, thread = parse_pitch(pitch, given.unit, "thread"), "", None
        own = thread and thread.starts
        if own is not None and "starts" in given and own != given.starts:
            have = f"{own} start{'' if own == 1 else 's'}"
            raise UnitError(f"thread {shown(pitch)} has {have}, and {given.starts} are given", "leave --starts out")
        count = own or given.starts
        how = f"a thread of {named}pitch {format_both(size, given.unit)}"
        if thread is None or thread.row is None:
            return Part(size * count, how, starts=count, thread=thread)
        return Part(size * count, f"{how}, {thread.standard}", starts=count, thread=thread, source=thread.row.source)
