"""Lists of wanted leads: the standard ones against what is printed, and CSV files good and bad."""

import csv
import io
import re
import tomllib
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from refusals import refused

from gearsearch.base.errors import GearsearchError
from gearsearch.base.units import INCH_MM, PI
from gearsearch.commands.chart import EXAMPLES
from gearsearch.work import lists
from gearsearch.work.asking import part_of_text, spellings
from gearsearch.work.lists import COLUMNS, load_list, read_list, standard_names
from gearsearch.work.tolerance import spellings as tolerance_spellings

INCH = Fraction(127, 5)


def test_every_standard_list_names_the_source_of_every_value():
    for name in standard_names():
        items = load_list(name).items
        assert len(items) >= 15
        assert all(item.source for item in items), name
        assert len({item.name for item in items}) == len(items), name


def test_a_source_that_is_printed_has_no_address_and_one_of_the_web_keeps_it_beside_it():
    files = [Path(lists.__file__).with_name(f"{name}.toml") for name in ("standards", "series")]
    tables = [table for file in files for kind in tomllib.loads(file.read_text("utf-8")).values() for table in kind]
    parts = [part for table in tables for part in table.get("parts", ())]
    assert all("://" not in part["source"] and "www." not in part["source"] for part in parts)
    assert all(("from memory" in part["source"]) == ("address" not in part) for part in parts)


@pytest.mark.parametrize(
    ("name", "item", "lead_mm"),
    [
        ("iso-261", "1.25 mm pitch", Fraction(5, 4)),
        ("iso-metric-coarse", "M10", Fraction(3, 2)),
        ("iso-metric-coarse", "M64", Fraction(6)),
        ("asme-b1.1", "4.5 tpi", INCH / Fraction(9, 2)),
        ("unc", "1/4-20 UNC", INCH / 20),
        ("unc", "1/2-13 UNC", INCH / 13),
        ("unf", "#1-72 UNF", INCH / 72),
        ("unf", "3/8-24 UNF", INCH / 24),
        ("unef", "1-20 UNEF", INCH / 20),
        ("iso-metric-fine", "M10x1.25", Fraction(5, 4)),
        ("tr", "Tr 20x4", Fraction(4)),
        ("bsw", "1/2 BSW", INCH / 12),
        ("bsf", "1/4 BSF", INCH / 26),
        ("ba", "2BA", Fraction("0.81")),
        ("bsp", "G1/2", INCH / 14),
        ("npt", "1 NPT", INCH / Fraction("11.5")),
        ("iso-54", "module 1.25", PI * Fraction(5, 4)),
        ("iso-54-ii", "module 1.125", PI * Fraction(9, 8)),
        ("worm-dp", "10 dp", PI * INCH / 10),
    ],
)
def test_values_are_those_of_the_standard(name, item, lead_mm):
    leads = {entry.name: entry.lead_mm for entry in load_list(name).items}
    assert leads[item] == lead_mm


def test_starts_multiply_every_value_and_are_named():
    plain, several = load_list("unc").items, load_list("unc", starts=(1, 3)).items
    assert len(several) == 2 * len(plain)
    by_name = {item.name: item for item in several}
    assert by_name["1/2-13 UNC, 3 starts"].lead_mm == 3 * by_name["1/2-13 UNC"].lead_mm
    assert by_name["1/2-13 UNC, 3 starts"].starts == 3


@pytest.mark.parametrize(
    ("text", "unit", "lead_mm", "starts"),
    [
        ("412.5 mm", "in", Fraction(825, 2), 1),
        ("412.5", "mm", Fraction(825, 2), 1),
        ("3 3/8", "in", INCH * Fraction(27, 8), 1),
        ("13 tpi", "mm", INCH / 13, 1),
        ("13 tpi x 2 starts", "mm", 2 * INCH / 13, 2),
        ("1.5 mm, 3 starts", "mm", Fraction(9, 2), 3),
        ("module 1.5 x 2 starts", "mm", 3 * PI, 2),
        ("20 dp", "mm", PI * INCH_MM / 20, 1),
        ("dp 20", "mm", PI * INCH_MM / 20, 1),
        ("helix 45deg at 50mm", "mm", 50 * PI, 1),
        ("helix angle 45deg at 2in", "mm", 2 * INCH * PI, 1),
        ("lead angle 45deg at 50mm", "mm", 50 * PI, 1),
        ("rise 1.37mm per 5.8deg", "mm", 360 * Fraction(137, 100) / Fraction(29, 5), 1),
    ],
)
def test_a_wanted_lead_is_read_in_each_form(text, unit, lead_mm, starts):
    wanted = part_of_text(text, unit)
    assert (wanted.lead_mm, wanted.starts) == (lead_mm, starts)


@given(st.lists(st.tuples(st.text("abc|,\"' é", max_size=8), st.integers(1, 10**6)), min_size=1, max_size=9))
def test_a_list_written_by_the_csv_module_is_read_back(rows):
    import io

    text = io.StringIO()
    writer = csv.writer(text)
    writer.writerow(COLUMNS)
    writer.writerows((f"n{name}", f"{lead}/1000 mm", "0.1%") for name, lead in rows)
    read = read_list(text.getvalue(), "x.csv")
    assert [item.lead_mm for item in read.items] == [Fraction(lead, 1000) for _, lead in rows]
    assert [item.name for item in read.items] == [f"n{name}".strip() for name, _ in rows]
    assert all(item.tolerance.interval(Fraction(1000)) == (999, 1001) for item in read.items)


def test_columns_may_stand_in_any_order_and_tolerance_and_name_may_be_missing():
    items = read_list("Wanted , Name\n5 mm,a\n\n6 mm,\n", "x.csv").items
    assert [(item.name, item.tolerance) for item in items] == [("a", None), ("6 mm", None)]


def test_a_file_saved_by_a_spreadsheet_is_read(tmp_path):
    path = tmp_path / "leads.csv"
    path.write_bytes("name,wanted,tolerance\r\nnut,1/2 in,\r\n".encode("utf-8-sig"))
    assert load_list(str(path)).items[0].lead_mm == INCH / 2
    assert load_list(path) == load_list(str(path))


BAD = {
    "a,4x,\n": "x.csv: line 2, column wanted: lead '4x': 'x' is not a unit of length",
    "a,,\n": "x.csv: line 2, column wanted: the wanted lead is empty",
    "a,5 mm,zz\n": "x.csv: line 2, column tolerance: tolerance 'zz' cannot be read",
    "a,5 mm,0.1deg helix\n": "x.csv: line 2, column tolerance: tolerance '0.1deg helix' is a helix angle, which means "
    "nothing without its diameter",
    "a,5 mm,1%,more\n": "x.csv: line 2, column 4: one cell more than the heading has; write decimals with a point, and "
    "text with commas in double quotes",
    '"two\nlines",5 mm,\nb,6,\nc,-1,\n': "x.csv: line 5, column wanted: lead '-1' is not above zero",
    "a,4x,\nb,5 mm,\nc,q,\n": "x.csv: 2 mistakes\n  line 2, column wanted: lead '4x': 'x' is not a unit of length\n"
    "  line 4, column wanted: lead 'q' cannot be read",
}


@pytest.mark.parametrize("rows", BAD)
def test_mistakes_are_told_by_line_and_column(rows):
    with pytest.raises(GearsearchError) as caught:
        read_list("name,wanted,tolerance\n" + rows, "x.csv")
    columns = {"wanted": spellings(), "tolerance": f"write a tolerance as in {tolerance_spellings()}"}
    forms = [form for column, form in columns.items() if f"column {column}:" in BAD[rows]]
    assert (caught.value.message, caught.value.remedy) == (
        BAD[rows],
        "; ".join(forms) or "write each line as name,wanted,tolerance",
    )


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("foo,wanted\n", "x.csv: line 1, column 1: 'foo' is no column"),
        ("name,wanted,wanted\n", "x.csv: line 1, column 3: the column 'wanted' stands twice"),
        ("name\nq\n", "x.csv: line 1: there is no column wanted"),
        ("", "x.csv: line 1: there is no column wanted"),
        ("name,wanted\n", "x.csv: no lead below the heading"),
        ('name,wanted\n"a,5\n', "x.csv: line 2: unexpected end of data"),
    ],
)
def test_files_that_are_no_list_are_refused(text, message):
    with pytest.raises(GearsearchError) as caught:
        read_list(text, "x.csv")
    assert caught.value.message == message


def test_many_mistakes_are_counted_and_not_all_printed():
    with pytest.raises(GearsearchError) as caught:
        read_list("wanted\n" + "q\n" * 50, "x.csv")
    assert caught.value.message.startswith("x.csv: 50 mistakes\n")
    assert caught.value.message.endswith("and 40 more")


def test_unknown_lists_and_files_say_what_there_is(tmp_path):
    with pytest.raises(GearsearchError, match="there is no list 'iso261'") as caught:
        load_list("iso261")
    assert caught.value.remedy.startswith("did you mean iso-261? name a CSV file, or one of: iso-261, ")
    with refused("no-such-list", "no.csv"):
        load_list("no.csv")
    binary = tmp_path / "x.csv"
    binary.write_bytes(b"name,wanted\n\xff,5\n")
    with refused("unreadable", "byte 13", "UTF-8"):
        load_list(str(binary))
    binary.write_text("wanted\n5\n", encoding="utf-8")
    with refused("refused", "starts"):
        load_list(str(binary), starts=(2,))


def test_the_lists_travel_with_the_package():
    assert Path(lists.__file__).with_name("standards.toml").is_file()


def test_the_help_of_chart_names_every_standard_list():
    named = set(re.findall(r"[a-z0-9.-]+", EXAMPLES.split("A list is one that comes")[1]))
    assert set(standard_names()) <= named


@pytest.mark.parametrize("mark", [";", "\t"])
@pytest.mark.parametrize("bom", ["", "\ufeff"])
def test_a_list_saved_with_semicolons_or_tabs_and_decimal_commas_is_read_as_the_same_list(tmp_path, mark, bom):
    rows = [("name", "wanted", "tolerance"), ("a", "412,5 mm", "0,1%"), ("b, c", "0,125 in", ""), ("d", "13 tpi", "")]
    text = "".join(mark.join(row) + "\r\n" for row in rows)
    (tmp_path / "leads.csv").write_text(bom + text, encoding="utf-8")
    items = load_list("leads.csv").items
    assert [item.title for item in items] == ["a", "b, c", "d"]
    assert [item.lead_mm for item in items] == [Fraction(825, 2), Fraction(127, 40), Fraction(127, 65)]
    assert items[0].tolerance.less == Fraction(1, 1000)


@pytest.mark.parametrize("cell", ["1,500 mm", "12,345 mm", "1,2,3 mm"])
def test_a_comma_that_may_part_thousands_is_refused_in_every_list(cell):
    with refused("wrong-list", cell[:5]):
        read_list(f"name;wanted\na;{cell}\n", "x.csv")


def test_a_list_may_come_in_by_stdin(monkeypatch):
    monkeypatch.setattr("sys.stdin", io.StringIO("name,wanted\na,412.5mm\n"))
    assert [item.lead_mm for item in load_list("-").items] == [Fraction(825, 2)]


def test_names_keep_their_commas_in_whatever_column():
    (item,) = read_list("wanted;name\n412,5mm;M10x1,5\n", "x.csv").items
    assert (item.title, item.lead_mm) == ("M10x1,5", Fraction(825, 2))
