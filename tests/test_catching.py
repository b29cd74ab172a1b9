"""How the tool comes back into its groove: what a lathe says of its half nuts, on the sheet and in answers."""

from fractions import Fraction

import pytest

from gearsearch.base.document import plain
from gearsearch.base.units import INCH_MM, parse_pitch
from gearsearch.shop.dial import Dial
from gearsearch.shop.machine import Route
from gearsearch.shop.machines.lathe import Lathe
from gearsearch.shop.machines.mill import Mill

ROUTES = (Route("spindle", Fraction(1), "right"),)
DIALLED = Lathe(INCH_MM / 8, ROUTES, dial=Dial(32, 8))
PLAIN = Lathe(INCH_MM / 8, ROUTES)


def said(machine, thread, starts=1, unit="mm"):
    return [plain(line) for line in machine.catching(parse_pitch(thread) * starts, starts, unit)]


@pytest.mark.parametrize(
    ("thread", "starts", "lines"),
    [
        ("16 tpi", 1, ["close the half nuts anywhere"]),
        ("10 tpi", 1, ["any mark"]),
        ("13 tpi", 1, ["every 2nd mark: 1, 3, 5 and 7 if you began at 1"]),
        ("1.75 mm", 1, ["never open the half nuts: reverse the lathe"]),
        ("16 tpi", 2, ["close the half nuts anywhere"]),
        ("13 tpi", 2, ["marks 1 and 5 only, if you began at 1"]),
    ],
)
def test_a_lathe_with_a_dial_says_its_rule(thread, starts, lines):
    told = said(DIALLED, thread, starts)
    assert told[0].endswith(lines[0])
    assert len(told) in (1, starts)


def test_a_mark_on_is_the_next_start():
    """Two starts half an inch apart, as the marks are. Four a quarter inch apart: a mark goes on by two of them."""
    assert said(DIALLED, "2 tpi", 2)[1] == "1 mark on, the tool falls where the next start goes"
    assert len(said(DIALLED, "4 tpi", 4)) == 1


@pytest.mark.parametrize(
    ("thread", "unit", "text"),
    [
        ("16 tpi", "mm", "half nuts: close them anywhere, the tool finds its groove"),
        ("13 tpi", "in", "bring the carriage back 1.0000 in (25.400 mm) or a multiple of it to a stop"),
        ("1.5 mm", "mm", "bring the carriage back 190.500 mm (7.5000 in) or a multiple of it to a stop"),
        ("0.35 mm", "mm", "half nuts: keep them closed and reverse"),
        ("0.473 mm", "mm", "half nuts: never open them: reverse the lathe"),
    ],
)
def test_a_lathe_without_a_dial_says_how_far_to_go_back(thread, unit, text):
    (line,) = said(PLAIN, thread, unit=unit)
    assert text in line


def test_a_mill_opens_nothing():
    assert said(Mill(6, ROUTES), "1.5 mm") == []
