"""Numbers at the end of a line: a figure that is cut in two is read as another figure."""

import re

import pytest

from gearsearch.base.document import strong
from gearsearch.output.drawing.flow import broken, words_of
from gearsearch.output.html import marked
from gearsearch.output.tables import filled

TEXT = "all 12 208 014 trains checked, the nut 43.5 mm off, 2 1/7 turns of the crank, steps up 1 : 5.4545, -330.6 ppm"
WHOLE = ("12 208 014", "43.5 mm", "2 1/7", "1 : 5.4545", "-330.6 ppm")


@pytest.mark.parametrize("width", range(12, 60))
def test_no_number_is_parted_from_its_thousands_its_fraction_or_its_unit(width):
    for lines in (filled(TEXT, width), broken([TEXT], 1.5 * width, 9.0)):
        assert " ".join(lines) == TEXT
        assert all(any(number in line for line in lines) for number in WHOLE)


def test_a_browser_is_told_where_no_line_may_end():
    text = marked(f"shafts {strong('150.0 mm')} apart, 1 & 2")
    assert text == "shafts <b>150.0\xa0mm</b> apart, 1 &amp; 2"


def test_what_is_heavy_in_a_sentence_is_whole_too():
    said = [
        "".join(piece for piece, _ in word) for word in words_of(f"shafts {strong('150.0 mm')} apart, 16 6/7 turns")
    ]
    assert [piece for word in words_of("100/24 32/48") for piece, _ in word] == ["100/24", "32/48"]
    assert said == ["shafts", "150.0 mm", "apart,", "16 6/7", "turns"]


def test_a_list_of_gears_may_be_cut_anywhere_but_in_a_few():
    gears = " ".join(map(str, range(100, 130)))
    assert max(map(len, filled(gears, 40))) <= 40
    assert not re.search("\xa0", "".join(filled(gears, 40)))
