"""A lead as given."""

from __future__ import annotations

import re

from ..form import DIAMETER, STARTS, Form, Given, Option
from ..part import Part


class Lead(Form):
    """The lead itself. A list says with this spelling that nothing else is meant."""

    name = "lead"
    options = (
        Option("lead", "L", "the lead: 412.5mm, 3.6in; a bare number is in the shop's unit", "412.5mm"),
        DIAMETER,
        STARTS,
    )
    gives = "a lead"
    row = "`--lead 412.5mm`"
    example = "412.5 mm"
    pattern = re.compile(r"(?:lead\s+)?(?P<lead>.+)", re.IGNORECASE)
    rank = 0
    may_be_cam = True

    def part(self, given: Given) -> Part:
        """The lead as given. Raises UnitError for what is no length."""
        bare = given.is_bare("lead")
        return Part(given.length("lead", given=True), starts=given.starts, bare=bare)
