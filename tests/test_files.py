"""Files are replaced whole or not at all."""

import os
import stat

import pytest

from gearsearch.errors import GearsearchError
from gearsearch.files import replacing, write_text


def test_a_new_file_is_written_and_nothing_else_is_left(tmp_path):
    write_text(tmp_path / "chart.md", "lead\n")
    assert (tmp_path / "chart.md").read_text() == "lead\n"
    assert [path.name for path in tmp_path.iterdir()] == ["chart.md"]


def test_an_existing_file_stays_unless_overwriting_is_asked_for(tmp_path):
    target = tmp_path / "chart.md"
    target.write_text("old")
    with pytest.raises(GearsearchError) as caught:
        write_text(target, "new")
    assert str(caught.value) == f"{target} is already there\nhelp: add --overwrite to replace it, or name another file"
    assert target.read_text() == "old"
    write_text(target, "new", overwrite=True)
    assert target.read_text() == "new"


def test_a_fault_while_writing_leaves_the_old_file(tmp_path):
    target = tmp_path / "chart.md"
    target.write_text("old")
    with pytest.raises(RuntimeError), replacing(target, overwrite=True) as draft:
        draft.write_text("half")
        raise RuntimeError
    assert target.read_text() == "old"
    assert [path.name for path in tmp_path.iterdir()] == ["chart.md"]


def test_an_interruption_while_writing_leaves_the_old_file(tmp_path):
    target = tmp_path / "chart.md"
    target.write_text("old")
    with pytest.raises(KeyboardInterrupt), replacing(target, overwrite=True) as draft:
        draft.write_text("half")
        raise KeyboardInterrupt
    assert target.read_text() == "old"
    assert [path.name for path in tmp_path.iterdir()] == ["chart.md"]


def test_a_full_disk_is_told_in_words(tmp_path):
    target = tmp_path / "chart.md"
    with pytest.raises(GearsearchError) as caught, replacing(target):
        raise OSError(28, os.strerror(28))
    assert str(caught.value) == (
        f"{target} cannot be written: no space left on device\nhelp: choose another folder or name, or free some room"
    )
    assert list(tmp_path.iterdir()) == []


def test_a_file_that_appears_meanwhile_is_not_lost(tmp_path):
    target = tmp_path / "chart.md"
    with pytest.raises(GearsearchError, match="has appeared meanwhile"), replacing(target) as draft:
        draft.write_text("ours")
        target.write_text("theirs")
    assert target.read_text() == "theirs"
    assert [path.name for path in tmp_path.iterdir()] == ["chart.md"]


def test_a_folder_or_a_missing_folder_is_named(tmp_path):
    with pytest.raises(GearsearchError, match="is a folder\nhelp: name a file in it"):
        write_text(tmp_path, "x")
    with pytest.raises(GearsearchError, match=r"there is no folder .*\nhelp: make the folder first"):
        write_text(tmp_path / "no" / "chart.md", "x")


def test_a_new_file_has_the_usual_permissions(tmp_path):
    mask = os.umask(0o022)
    try:
        write_text(tmp_path / "chart.md", "x")
    finally:
        os.umask(mask)
    assert stat.S_IMODE((tmp_path / "chart.md").stat().st_mode) == 0o644
