"""The lead of a worm by its axial module."""

from __future__ import annotations

import re

from ...base.units import PI, format_both, parse_length, text_of_length
from ..form import DIAMETER, STARTS, Form, Given, Option
from ..part import Part

_MODULE = Option("worm_module", "M", "axial module of a worm [mm], with --starts", "2")


class WormModule(Form):
    """π × axial module × starts. Common practice, no source."""

    name = "worm_module"
    options = (_MODULE, DIAMETER, STARTS)
    gives = "a worm by its axial module"
    row = "`--worm-module 2 --starts 2`"
    example = "module 1.5"
    pattern = re.compile(r"(?:worm\s+)?(?:module|mod\.?)\s*(?P<worm_module>.+)", re.IGNORECASE)
    rank = 5

    def part(self, given: Given) -> Part:
        """The lead of the worm. Raises GearsearchError for what is no module; it is in mm where it has no unit."""
        size = parse_length(given.value(_MODULE, "no worm module is given"), "mm", "worm module")
        step = format_both(PI * size, given.unit)
        how = f"a worm of axial module {text_of_length(size)}, {step} from thread to thread"
        return Part(PI * size * given.starts, how, starts=given.starts)
