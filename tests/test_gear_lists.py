"""Lists of gears that cannot be read, and a shop whose kind of tooth must be named."""

import pytest

import gearsearch as gs
from gearsearch.base.errors import GearsearchError


def test_a_list_of_gears_that_is_not_there_or_no_table_is_refused(tmp_path):
    with pytest.raises(GearsearchError, match="no list of gears"):
        gs.demo().with_gears(str(tmp_path / "none.csv"))
    (tmp_path / "odd.csv").write_bytes(b"\xff\xfe\x00teeth\n\xff")
    with pytest.raises(GearsearchError, match="odd"):
        gs.demo().with_gears(str(tmp_path / "odd.csv"))


def test_a_sheet_tells_whether_it_is_ready_and_its_row():
    sheet = gs.demo().sheet("412.5 mm", hand="right")
    assert sheet.ready
    assert next(iter(sheet.rows()))["train"] == "80/44 48/100"
    assert len(sheet.keys) == len(set(sheet.keys)) > 0
