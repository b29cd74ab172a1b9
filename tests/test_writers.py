"""The writers of answers: one for tables, one each for text, Markdown, HTML, CSV and JSON."""

import csv
import io
import json
import os
import subprocess
import sys

import pytest

from gearsearch.base.document import Block, Document, Item, strong
from gearsearch.base.facts import Heading, Note, Table
from gearsearch.base.sources import NOTES
from gearsearch.output.html import html
from gearsearch.output.markdown import markdown
from gearsearch.output.records import csv_text, json_text
from gearsearch.output.tables import aligned, drawn, tabulated
from gearsearch.output.text import text

TABLE = Table(
    (Heading("no.", right=True), Heading("train"), Heading("in inches", weight=1), Heading("clear", weight=2)),
    (("1", "100/24 32/48", "16.2402 in", "4.1 mm"), ("2", "40/(56)/72", "0.25 in", "")),
)
PAGE = Document(
    "Sheet | of *one* [x](y) train",
    ("Millrace workshop", "  route worm"),
    (Note("wrong-hand", "cuts the wrong hand"),),
    (
        Block("Set up", ("two gears",), (Item(f"Put the {strong(100)} on", tick=True), Item("Turn it")), ("o--o",)),
        Block(table=TABLE),
    ),
    (Note("tilt", f"a < b, {'long words ' * 20}"),),
)


def test_a_table_with_room_has_all_its_columns():
    assert drawn(TABLE, 80) == [
        "no.  train         in inches   clear",
        "---  ------------  ----------  ------",
        "  1  100/24 32/48  16.2402 in  4.1 mm",
        "  2  40/(56)/72    0.25 in",
    ]


def test_the_lightest_column_goes_first():
    assert drawn(TABLE, 30)[0] == "no.  train         clear"
    assert len(drawn(TABLE, 30)) == 4
    assert drawn(TABLE, 20)[0] == "no.  train"
    assert drawn(TABLE, 20)[-1] == "no room for: clear"


def test_where_what_must_stay_is_too_wide_a_row_takes_two_lines():
    headings = (
        Heading("no.", right=True),
        Heading("train"),
        Heading("clear", weight=2),
        Heading("over 60 mm", right=True),
    )
    rows = (("1", "100/24 32/48", "4.1 mm", "+0.020 mm"), ("2", "40/(56)/72", "3.0 mm", ""))
    assert drawn(Table(headings, rows), 20) == [
        "no.  train",
        "     over 60 mm",
        "---  ------------",
        "  1  100/24 32/48",
        "      +0.020 mm",
        "  2  40/(56)/72",
        "no room for: clear",
    ]


def test_what_all_rows_say_alike_is_said_once_before_a_row_takes_two_lines():
    headings = (Heading("train"), Heading("lead", right=True), Heading("mounts"), Heading("helix", right=True))
    rows = tuple((f"86/44 28/{teeth}", f"{teeth}.000 mm", "yes", f"+{teeth}′") for teeth in (72, 80))
    wide, narrow = (drawn(Table(headings, rows), width) for width in (40, 36))
    assert [len(lines) for lines in (wide, narrow)] == [4, 5]
    assert "mounts" in wide[0]
    assert "mounts" not in narrow[0]
    assert "mounts yes" in narrow[-1]
    other = Table(headings, (*rows, ("86/44 28/24", "24.000 mm", "no", "+0.15′")))
    assert "mounts" in drawn(other, 36)[0]


def test_a_few_long_cells_are_broken_behind_their_commas_and_no_train_is():
    headings = (Heading("name"), Heading("train"), Heading("dial"))
    rows = [(f"1-{pitch} UNC", "20/32 24/60", "any mark") for pitch in (8, 9, 10)]
    rows.append(("2-1/2-4 UNC, 2-3/4-4 UNC", "20/32 24/60", "closed"))
    lines = drawn(Table(headings, tuple(rows)), 40)
    assert [line.split("  ")[0].strip() for line in lines[5:]] == ["2-1/2-4 UNC,", "2-3/4-4 UNC"]
    assert sum("20/32 24/60" in line for line in lines) == 4
    assert all(len(line) <= 40 for line in lines)


def test_a_table_too_narrow_for_what_must_stay_tells_every_cell():
    assert drawn(TABLE, 16) == [
        "no. 1",
        "  train 100/24",
        "    32/48",
        "  in inches",
        "    16.2402 in",
        "  clear 4.1 mm",
        "no. 2",
        "  train",
        "    40/(56)/72",
        "  in inches",
        "    0.25 in",
    ]
    assert drawn(Table((Heading("a"), Heading("b")), (("x" * 9, "y" * 9),)), 19) == ["a " + "x" * 9, "  b " + "y" * 9]


@pytest.mark.parametrize("width", [24, 40, 80, 120])
def test_no_line_of_text_is_longer_than_the_terminal_and_none_has_marks(width):
    said = text(PAGE, width)
    assert max(map(len, said.splitlines())) <= width
    assert "**" not in said
    assert "[ ] Put the 100 on" in said
    for word in ("wrong hand", "long words", "o--o"):
        assert word in " ".join(said.split())


@pytest.mark.parametrize(("style", "gap", "around"), [("simple", 2, 0), ("pipe", 3, 4)])
def test_decimal_points_stand_in_line_and_every_row_is_as_wide_as_the_cells_say(style, gap, around):
    """The rules of a printed chart stand where the cells say."""
    headings = (Heading("lead, mm", right=True), Heading("train"), Heading("error", right=True))
    rows = (("1234.500", "56/48", "-0.0075 OUT"), ("7.8540", "44/48 20/24", "+0.013 ok"), ("12", "1/2", "exact ok"))
    table = aligned(Table(headings, rows))
    _, head, lines = tabulated(table, style)
    assert len({line.rstrip("|").index(".") for line in lines[:2]}) == 1
    assert len({line.rindex(".") for line in lines[:2]}) == 1
    wide = sum(table.sizes) + gap * (len(headings) - 1) + around
    assert {len(line) for line in (head, *lines[:1])} == {wide}


def test_where_there_is_no_terminal_a_line_has_80_columns():
    run = "from gearsearch.output.tables import terminal_width; print(terminal_width())"
    env = {name: value for name, value in os.environ.items() if name != "COLUMNS"}
    said = subprocess.run([sys.executable, "-c", run], env=env, capture_output=True, text=True, check=True).stdout
    assert said == "80\n"
    env["COLUMNS"] = "120"
    said = subprocess.run([sys.executable, "-c", run], env=env, capture_output=True, text=True, check=True).stdout
    assert said == "120\n"


@pytest.mark.parametrize("width", [5, 17, 80])
def test_a_table_without_rows_is_drawn_however_narrow_it_is(width):
    lines = drawn(Table((Heading("a heading"), Heading("another one")), ()), width)
    assert max(map(len, lines), default=0) <= width
    assert bool(lines) == (width == 80)


def test_markdown_keeps_what_was_typed_and_reads_as_text():
    said = markdown(PAGE)
    assert said.startswith("# Sheet \\| of \\*one\\* [x\\](y) train\n")
    assert "- [ ] Put the **100** on\n" in said
    assert "    o--o\n" in said
    assert "- Millrace workshop\n  - route worm\n" in said
    assert "|----:|:-------------|:-----------|:-------|\n" in said
    assert max(map(len, said.splitlines())) <= 100


def test_a_markdown_table_too_wide_is_a_list():
    wide = Table((Heading("no."), Heading("why")), (("1", "because " * 20),))
    said = markdown(Document("why", blocks=(Block(table=wide),)))
    assert "- no. 1\n    why because" in said
    assert max(map(len, said.splitlines())) <= 100


def test_html_is_a_real_table_and_runs_nothing():
    said = html(PAGE)
    style = '<th style="text-align:{};white-space:nowrap">'
    assert f"{style.format('right')}no.</th>{style.format('left')}train</th>" in said
    assert ">100/24 32/48</td>" in said
    assert "a &lt; b" in said
    assert "Put the <b>100</b> on" in said


def test_csv_has_one_way_for_truth_lists_and_nothing():
    said = csv_text(("a", "b", "c", "d"), [{"a": True, "b": [1, 2], "c": None, "d": "x,y", "e": 5}, {"a": False}])
    assert said == 'a,b,c,d\ntrue,1 2,,"x,y"\nfalse,,,\n'
    assert next(csv.DictReader(io.StringIO(said)))["d"] == "x,y"
    assert csv_text(("a",), []) == "a\n"


def test_json_is_ascii_and_reads_back():
    said = json_text({"°": [1.5, None, True]})
    assert said.isascii()
    assert json.loads(said) == {"°": [1.5, None, True]}
    assert said.endswith("}\n")


def test_no_train_is_broken_where_it_is_the_one_long_cell():
    rows = (("M3", "20/32", "one"), ("M4", "20/60", "two"), ("M5", "86/28 20/64 30/80", "any mark"))
    lines = drawn(Table((Heading("name"), Heading("train"), Heading("dial")), rows), 28)
    assert any("86/28 20/64 30/80" in line for line in lines)


def test_cells_are_broken_only_where_few_are_long():
    rows = tuple((f"1-{n} UNC, 2-{n} UNC", "20/32 24/60", f"mark {n}") for n in (8, 9))
    lines = drawn(Table((Heading("name"), Heading("train"), Heading("dial")), rows), 32)
    assert sum("1-8 UNC, 2-8 UNC" in line for line in lines) == 1


def test_of_two_columns_that_with_the_fewest_long_cells_is_broken():
    rows = (("a", "bb, cc"), ("a", "bb, cc"), ("aa, aa", "b"), *[("a", "b")] * 3)
    assert sum("bb, cc" in line for line in drawn(Table((Heading("n"), Heading("a")), rows), 11)) == 2


def test_what_numbers_in_a_warning_mean_is_said_too():
    (said,) = Document("a", against=(Note("c", "d (note 2)"),)).keyed().notes
    assert said.text == f"note 2: {NOTES['memory']}"
