"""Every standard thread by its name, and its figures, against tables that were read, or are from memory and say so."""

from fractions import Fraction

import pytest
from published_values import last_digit, published
from slow import in_lots

from gearsearch.base.units import INCH_MM
from gearsearch.work.naming import read_name
from gearsearch.work.profiles import profile_of
from gearsearch.work.series import all_series

TABLES = published("thread_tables")
OF_PROFILE = {
    "effective": lambda profile: profile.effective_mm,
    "core": lambda profile: profile.core_mm,
    "bore": lambda profile: profile.bore_mm,
    "nut_major": lambda profile: profile.nut_major_mm,
    "depth": lambda profile: profile.depth_mm,
    "radius": lambda profile: profile.root_radius_mm,
    "small_end": lambda profile: profile.effective_mm,
    "length": lambda profile: profile.effective_length_mm,
    "major": lambda profile: profile.thread.major_mm,
    "pitch": lambda profile: profile.thread.pitch_mm,
}
ROWS = [(source, row) for source, table in TABLES.items() for row in table["rows"].strip().splitlines()]


def wrong_columns(source, row):
    """The columns of a printed row that do not come out as printed, each with what comes out."""
    table = TABLES[source]
    size, *printed = row.split()
    thread = read_name(table["name"].format(size))
    profile, wrong = profile_of(thread), {}
    inch = INCH_MM if table["unit"] == "in" else 1
    values = dict(zip(table["columns"].split(), printed, strict=True))
    for column, text in values.items():
        if column == "tpi":
            good, ours = thread.pitch_mm * Fraction(text) == INCH_MM, thread.pitch_mm
        else:
            ours, shown = OF_PROFILE[column](profile) / inch, Fraction(text)
            off = last_digit(text) if table.get("loose") else last_digit(text) / 2
            if column == "major":
                off += Fraction(table.get("converted", 0))
            elif "converted" in table:
                ours, shown = thread.major_mm / inch - ours, Fraction(values["major"]) - shown
                off += last_digit(text) / 2  # the major diameter is rounded as well
            good = abs(ours - shown) <= off
        if not good:
            wrong[column] = float(ours)
    return wrong


def test_there_are_more_than_two_hundred_rows():
    assert len(ROWS) > 200
    assert sum(TABLES[source]["where"] != "from memory" for source, _ in ROWS) > 200


@in_lots(ROWS)
def test_a_named_thread_is_as_printed(source, row):
    table = TABLES[source]
    thread = read_name(table["name"].format(row.split()[0]))
    assert thread.row, (table, row)
    assert thread.row.series == table["series"], (table, row)
    assert wrong_columns(source, row) == {}, (table, row)


@pytest.mark.parametrize(
    ("source", "row"), [(source, row) for source, table in TABLES.items() for row in table.get("misprints", ())]
)
def test_a_misprint_does_not_come_out(source, row):
    assert wrong_columns(source, row), TABLES[source]["reason"]


def test_a_row_that_no_printed_table_confirms_says_that_it_is_from_memory():
    """Or names the page of its series that it was read from, which the data file keeps."""
    printed = {read_name(TABLES[source]["name"].format(row.split()[0])).row.name for source, row in ROWS}
    unconfirmed = [row for series in all_series() for row in series.threads if row.name not in printed]
    assert all(row.source for row in unconfirmed)
    named = {row.source for row in unconfirmed if "from memory" not in row.source}
    assert all("page" in source or "table" in source.lower() for source in named), named
