"""Files are replaced whole or not at all."""

import os
import stat
from pathlib import Path

import pytest
from refusals import refused

from gearsearch.base import files as files_module
from gearsearch.base.errors import GearsearchError
from gearsearch.base.files import check_all_writable, check_apart, replacing, replacing_all, write_text


def test_a_new_file_is_written_and_nothing_else_is_left(tmp_path):
    write_text(tmp_path / "chart.md", "lead\n")
    assert (tmp_path / "chart.md").read_text() == "lead\n"
    assert [path.name for path in tmp_path.iterdir()] == ["chart.md"]


def test_an_existing_file_stays_unless_overwriting_is_asked_for(tmp_path):
    target = tmp_path / "chart.md"
    target.write_text("old")
    with pytest.raises(GearsearchError) as caught:
        write_text(target, "new")
    assert str(caught.value) == f"{target} exists\nhelp: add --overwrite to replace it, or name another file"
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
    with refused("file-appeared"), replacing(target) as draft:
        draft.write_text("ours")
        target.write_text("theirs")
    assert target.read_text() == "theirs"
    assert [path.name for path in tmp_path.iterdir()] == ["chart.md"]


def test_a_folder_or_a_missing_folder_is_named(tmp_path):
    with refused("not-writable"):
        write_text(tmp_path, "x")
    with refused("no-folder"):
        write_text(tmp_path / "no" / "chart.md", "x")


def test_a_new_file_has_the_usual_permissions(tmp_path):
    mask = os.umask(0o022)
    try:
        write_text(tmp_path / "chart.md", "x")
    finally:
        os.umask(mask)
    assert stat.S_IMODE((tmp_path / "chart.md").stat().st_mode) == 0o644


def files(folder):
    """Every file of a folder with what it holds."""
    return {path.name: path.read_text() for path in folder.iterdir()}


@pytest.mark.parametrize("late", [0, 1])
def test_of_several_files_none_is_written_where_one_has_appeared_meanwhile(tmp_path, late):
    names = [tmp_path / "a.md", tmp_path / "b.md"]
    with refused("file-appeared"), replacing_all(names) as drafts:
        for draft in drafts:
            draft.write_text("ours")
        names[late].write_text("theirs")
    assert files(tmp_path) == {names[late].name: "theirs"}


def test_several_files_are_put_in_place_together(tmp_path):
    (tmp_path / "a.md").write_text("old")
    with replacing_all([tmp_path / "a.md", tmp_path / "b.md"], overwrite=True) as drafts:
        for number, draft in enumerate(drafts):
            draft.write_text(f"new {number}")
        assert (tmp_path / "a.md").read_text() == "old"
    assert files(tmp_path) == {"a.md": "new 0", "b.md": "new 1"}


def without_links(monkeypatch):
    """As on a memory card: a file system without hard links."""

    def refused(*_):
        raise OSError(95, os.strerror(95))

    monkeypatch.setattr("os.link", refused)


def stopping_at(monkeypatch, name, fault, *, after=False):
    """Raise a fault when that file is put in place, or just after it was."""

    def stopping(doing):
        def do(self, target):
            into = (self if doing.__name__ == "hardlink_to" else Path(target)).name
            if after or into != name:
                doing(self, target)
            if into == name:
                monkeypatch.undo()
                raise fault

        return do

    for doing in (Path.replace, Path.rename, Path.hardlink_to):
        monkeypatch.setattr(Path, doing.__name__, stopping(doing))


FAULTS = (OSError(5, "Input/output error"), KeyboardInterrupt())


@pytest.mark.parametrize("links", [True, False])
@pytest.mark.parametrize("after", [True, False])
@pytest.mark.parametrize("fault", FAULTS, ids=["fault", "stopped"])
@pytest.mark.parametrize("at", ["a.md", "b.md", "c.md"])
def test_what_was_put_in_place_is_taken_back_where_the_next_cannot_be(tmp_path, monkeypatch, at, fault, after, links):
    old = {"a.md": "old a", "c.md": "old c"}
    for name, text in old.items():
        (tmp_path / name).write_text(text)
    names = [tmp_path / name for name in ("a.md", "b.md", "c.md")]
    if not links:
        without_links(monkeypatch)
    with pytest.raises((GearsearchError, KeyboardInterrupt)), replacing_all(names, overwrite=True) as drafts:
        for draft in drafts:
            draft.write_text("new")
        stopping_at(monkeypatch, at, fault, after=after)
    assert files(tmp_path) == old


@pytest.mark.parametrize("links", [True, False])
def test_new_files_are_taken_back_where_the_next_cannot_be_put_in_place(tmp_path, monkeypatch, links):
    if not links:
        without_links(monkeypatch)
    names = [tmp_path / "a.md", tmp_path / "b.md"]
    with refused("file-appeared", "/b.md"), replacing_all(names):
        put = files_module._put
        monkeypatch.setattr(
            files_module, "_put", lambda draft, **more: ((tmp_path / "b.md").write_text("theirs"), put(draft, **more))
        )
    assert files(tmp_path) == {"b.md": "theirs"}


def test_an_old_file_that_cannot_be_put_back_is_kept_and_named(tmp_path, monkeypatch):
    (tmp_path / "a.md").write_text("old")
    names = [tmp_path / "a.md", tmp_path / "b.md"]
    replaced = []
    really = Path.replace

    def replace(self, target):
        if replaced:
            raise OSError(30, "Read-only file system")
        replaced.append(really(self, target))

    with pytest.raises(GearsearchError) as caught, replacing_all(names, overwrite=True):
        monkeypatch.setattr(Path, "replace", replace)
    (kept,) = tmp_path.glob(".a.md.*.old")
    assert kept.read_text() == "old"
    assert str(caught.value) == (
        f"not every file could be written, and {names[0]} could not be put back as before\n"
        f"help: what was there before, if anything, is kept in {kept}"
    )


def test_an_old_file_that_somebody_takes_away_in_the_last_moment_is_there_again(tmp_path, monkeypatch):
    (tmp_path / "a.md").write_text("old")
    names = [tmp_path / "b.md", tmp_path / "a.md"]

    def failing(*_):
        names[1].unlink()
        monkeypatch.undo()
        raise OSError(5, os.strerror(5))

    with refused("not-writable"), replacing_all(names, overwrite=True):
        monkeypatch.setattr(Path, "replace", failing)
    assert files(tmp_path) == {"a.md": "old"}


def test_every_draft_is_on_the_disk_before_any_file_is_put_in_place(tmp_path, monkeypatch):
    synced = []
    monkeypatch.setattr("os.fsync", lambda _: synced.append(sorted(path.suffix for path in tmp_path.iterdir())))
    with replacing_all([tmp_path / "a.md", tmp_path / "b.md"]):
        pass
    assert synced == [[".part", ".part"]] * 2


@pytest.mark.parametrize("links", [True, False])
def test_a_file_system_without_hard_links_serves_as_well(tmp_path, monkeypatch, links):
    if not links:
        without_links(monkeypatch)
    (tmp_path / "a.md").write_text("old")
    (tmp_path / "a.md").chmod(0o640)
    with replacing_all([tmp_path / "a.md", tmp_path / "b.md"], overwrite=True) as drafts:
        for draft in drafts:
            draft.write_text("new")
    write_text(tmp_path / "c.md", "new")
    assert files(tmp_path) == dict.fromkeys(("a.md", "b.md", "c.md"), "new")
    assert mode(tmp_path / "a.md") == 0o640


def test_the_fault_names_the_file_it_is_about_or_all_of_them(tmp_path):
    names = [tmp_path / "a.md", tmp_path / "b.md"]
    with (
        refused("not-writable", "/b.md"),
        replacing_all(names) as two,
    ):
        two[1].mkdir()
    with refused("not-writable", "/a.md", "/b.md"), replacing_all(names):
        raise OSError(28, os.strerror(28))


@pytest.mark.parametrize("is_there", [True, False])
@pytest.mark.parametrize("other", ["absolute", "link", "folder", "dots"])
def test_one_file_named_by_two_paths_is_refused_before_any_work(tmp_path, other, is_there):
    Path("a.md").touch() if is_there else None
    Path("link.md").symlink_to("a.md")
    Path("folder").symlink_to(tmp_path)
    path = {"absolute": str(tmp_path / "a.md"), "link": "link.md", "folder": "folder/a.md", "dots": "x/../a.md"}[other]
    Path("x").mkdir()
    before = sorted(tmp_path.iterdir())
    with pytest.raises(GearsearchError) as caught:
        check_all_writable(["a.md", path], overwrite=True)
    assert str(caught.value) == f"a.md and {path} are one file\nhelp: name each file once"
    with refused("one-file"), replacing_all(["a.md", path], overwrite=True):
        raise AssertionError
    assert sorted(tmp_path.iterdir()) == before


def test_names_that_differ_in_case_are_one_file_where_the_file_system_says_so(monkeypatch):
    check_all_writable(["a.md", "A.md"], overwrite=False)
    opened = os.open
    monkeypatch.setattr("os.open", lambda path, *more: opened(str(path).lower(), *more))
    stat_of = os.stat
    monkeypatch.setattr("os.stat", lambda path, **more: stat_of(str(path).lower(), **more))
    with refused("one-file", "a.md", "A.md"):
        check_all_writable(["a.md", "A.md"], overwrite=False)


def test_what_is_read_is_not_written_over(tmp_path):
    (tmp_path / "leads.csv").write_text("name,wanted\n")
    (tmp_path / "link.csv").symlink_to("leads.csv")
    for name in ("leads.csv", "link.csv"):
        with refused("input-lost", f"{name}"):
            check_apart(tmp_path / "leads.csv", ["new.csv", name])
    check_apart("iso-261", ["leads.csv"])
    check_apart("leads.csv", ["new.csv"])


def mode(path):
    """The permissions of a file."""
    return stat.S_IMODE(path.stat().st_mode)


def test_a_link_is_followed_and_the_old_permissions_are_kept(tmp_path):
    real, link = tmp_path / "real.csv", tmp_path / "link.csv"
    real.write_text("old")
    real.chmod(0o600)
    link.symlink_to("real.csv")
    with replacing(link, overwrite=True) as draft:
        assert mode(draft) == 0o600
        draft.write_text("new")
    assert link.is_symlink()
    assert real.read_text() == "new"
    assert mode(real) == 0o600
    with refused("file-exists", "link.csv"):
        write_text(link, "newer")


def test_a_file_that_may_only_be_read_stays_so(tmp_path):
    (tmp_path / "a.md").write_text("old")
    (tmp_path / "a.md").chmod(0o444)
    write_text(tmp_path / "a.md", "new", overwrite=True)
    assert files(tmp_path) == {"a.md": "new"}
    assert mode(tmp_path / "a.md") == 0o444


@pytest.mark.parametrize("overwrite", [True, False])
def test_a_link_to_nothing_makes_the_file_that_it_points_to(tmp_path, overwrite):
    (tmp_path / "below").mkdir()
    (tmp_path / "link.csv").symlink_to("below/real.csv")
    write_text(tmp_path / "link.csv", "new", overwrite=overwrite)
    assert (tmp_path / "link.csv").is_symlink()
    assert files(tmp_path / "below") == {"real.csv": "new"}


def test_a_link_into_no_folder_and_links_in_a_ring_are_told(tmp_path):
    (tmp_path / "far.csv").symlink_to("gone/real.csv")
    with refused("no-folder", "far.csv", "/gone"):
        write_text(tmp_path / "far.csv", "x")
    (tmp_path / "a.csv").symlink_to("b.csv")
    (tmp_path / "b.csv").symlink_to("a.csv")
    with refused("not-writable", "a.csv"):
        write_text(tmp_path / "a.csv", "x", overwrite=True)


@pytest.mark.parametrize("overwrite", [True, False])
def test_what_is_no_ordinary_file_is_left_alone_also_behind_a_link(tmp_path, overwrite):
    """A pipe stands for the devices: root, who runs this in a container, could really lose one."""
    os.mkfifo(tmp_path / "pipe.md")
    (tmp_path / "link.md").symlink_to("pipe.md")
    for name in ("pipe.md", "link.md"):
        with refused("not-writable"):
            write_text(tmp_path / name, "x", overwrite=overwrite)
    assert stat.S_ISFIFO((tmp_path / "pipe.md").lstat().st_mode)
    assert (tmp_path / "link.md").is_symlink()


def test_a_folder_where_nothing_may_be_written_is_told_before_any_work(monkeypatch):
    def withheld(*_):
        raise PermissionError(13, os.strerror(13))

    monkeypatch.setattr("os.open", withheld)
    with refused("not-writable", "a.md"):
        check_all_writable(["a.md"], overwrite=False)


def test_a_target_that_has_become_a_folder_meanwhile_spoils_nothing(tmp_path):
    names = [tmp_path / "a.md", tmp_path / "b.md"]
    with refused("not-writable"), replacing_all(names, overwrite=True):
        names[1].mkdir()
    assert list(tmp_path.iterdir()) == [names[1]]


def test_the_mask_of_the_process_is_never_touched(tmp_path, monkeypatch):
    """It is that of all threads: a file made by another one meanwhile would be open to everybody."""
    monkeypatch.delattr("os.umask")
    write_text(tmp_path / "a.md", "x")
