"""A chart that was broken off goes on where it stopped: finished slices are taken up, if they are of the same work."""

import os
import re
import shutil
import signal
import subprocess
import sys
from pathlib import Path

import pytest
from commands import run

import gearsearch as gs
from gearsearch.base.errors import GearsearchError
from gearsearch.base.kept import Kept, digest_of, kept_beside
from gearsearch.base.progress import Progress
from gearsearch.charts.best import BestTrains
from gearsearch.search.terms import Terms
from gearsearch.shop.reader import DEMO_TEXT, demo_shop

KINDS = {
    "every": ("every", "--from", "400mm", "--to", "450mm"),
    "routes": ("every", "--from", "40mm", "--to", "60mm", "--route", "any"),
    "arrangements": ("every", "--from", "400mm", "--to", "403mm", "--all-arrangements"),
    "list": ("list", "iso-261", "--count", "2", "--route", "spindle"),
    "grid": ("grid", "--diameters", "10:60:2", "--helix-angles", "10:45:5", "--hand", "right"),
}


@pytest.fixture(autouse=True)
def here(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    Path("shop.toml").write_text(DEMO_TEXT, encoding="utf-8")
    monkeypatch.setattr("gearsearch.base.kept._AFTER", 0.0)
    monkeypatch.setattr("gearsearch.charts.best.SLICE_TRAINS", 100)
    monkeypatch.setattr("gearsearch.base.sharing._LOT_SECONDS", 0.0)


def charted(kind, name, *more):
    return run("chart", *KINDS[kind], "--out", name, *more)[0]


def break_off(kind, name, monkeypatch, after=3, *more):
    """Type the command, and Ctrl-C after some slices."""
    steps = []

    def step(*_):
        steps.append(True)
        if len(steps) == after:
            raise KeyboardInterrupt

    with monkeypatch.context() as cut:
        cut.setattr(Progress, "step", step)
        return charted(kind, name, *more)


def worked(monkeypatch):
    """Notes how many windows are judged from now on."""
    seen = []
    for name in ("windows", "_arranged"):
        method = getattr(BestTrains, name)
        monkeypatch.setattr(BestTrains, name, lambda self, ends, method=method: seen.append(ends) or method(self, ends))
    return seen


@pytest.mark.parametrize("kind", KINDS)
def test_what_was_broken_off_goes_on_and_gives_the_same_bytes(kind, monkeypatch, capsys):
    seen = worked(monkeypatch)
    assert charted(kind, "whole.parquet") == 0
    whole = len(seen)
    assert break_off(kind, "leads.parquet", monkeypatch, whole // 2) == 130
    assert not Path("leads.parquet").exists()
    assert "leads.parquet.part" in capsys.readouterr().err
    seen.clear()
    assert charted(kind, "leads.parquet", "--resume") == 0
    assert 0 < len(seen) <= whole - whole // 2 + 1
    taken = int(re.search(r"(\d+) slices", capsys.readouterr().err)[1])
    assert taken - whole // 2 in (0, 1)  # of several ways some stand ready beside the one that was broken off
    assert Path("leads.parquet").read_bytes() == Path("whole.parquet").read_bytes()
    assert sorted(path.name for path in Path().iterdir()) == ["leads.parquet", "shop.toml", "whole.parquet"]


def test_it_may_be_broken_off_again_and_again(monkeypatch):
    assert charted("every", "whole.parquet") == 0
    assert break_off("every", "leads.parquet", monkeypatch) == 130
    for _ in range(3):
        assert break_off("every", "leads.parquet", monkeypatch, 7, "--resume") == 130
    seen = worked(monkeypatch)
    assert charted("every", "leads.parquet", "--resume") == 0
    assert seen
    assert Path("leads.parquet").read_bytes() == Path("whole.parquet").read_bytes()


def slices():
    (path,) = Path("leads.parquet.part").glob("*.slices")
    return path


@pytest.mark.parametrize(
    "spoil",
    [
        lambda data: data[: len(data) - 7],
        lambda data: data[:200] + b"\0\0\0" + data[203:],
        lambda data: b"none" + data[4:],
        lambda data: data[:20] + b"\xff" * 8 + data[28:],
        lambda data: data[: len(data) // 2] + bytes(5) + data[len(data) // 2 + 5 :],
        lambda _: b"",
    ],
)
def test_a_damaged_slice_is_worked_out_again(spoil, monkeypatch, capsys):
    assert charted("every", "whole.parquet") == 0
    assert break_off("every", "leads.parquet", monkeypatch, 6) == 130
    slices().write_bytes(spoil(slices().read_bytes()))
    assert break_off("every", "leads.parquet", monkeypatch, 8, "--resume") == 130
    capsys.readouterr()
    assert charted("every", "leads.parquet", "--resume") == 0
    assert Path("leads.parquet").read_bytes() == Path("whole.parquet").read_bytes()


def test_a_damaged_slice_is_said(monkeypatch, capsys):
    assert break_off("every", "leads.parquet", monkeypatch, 6) == 130
    data = slices().read_bytes()
    slices().write_bytes(data[:-7] + bytes(7))
    assert charted("every", "leads.parquet", "--resume") == 0
    assert "1 damaged" in capsys.readouterr().err


def refused(code, *words):
    before = {path: path.read_bytes() for path in Path().rglob("*") if path.is_file()}
    with pytest.raises(gs.GearsearchError) as caught:
        gs.open_shop().chart.every("400 mm", "450 mm").save("leads.parquet", **dict.fromkeys(words, True))
    assert caught.value.code == code
    assert {path: path.read_bytes() for path in Path().rglob("*") if path.is_file()} == before
    return str(caught.value)


def test_slices_that_nobody_asked_for_are_not_lost(monkeypatch):
    assert break_off("every", "leads.parquet", monkeypatch) == 130
    assert "leads.parquet.part" in refused("broken-off")
    assert charted("every", "leads.parquet") == 2
    assert charted("every", "leads.parquet", "--overwrite") == 0
    assert not Path("leads.parquet.part").exists()


def test_slices_of_another_shop_are_refused(monkeypatch):
    assert break_off("every", "leads.parquet", monkeypatch) == 130
    Path("shop.toml").write_text(DEMO_TEXT.replace("teeth = [20,", "teeth = [21,"), encoding="utf-8")
    assert "the shop" in refused("other-work", "resume")


def test_slices_of_other_terms_and_of_another_chart_are_refused(monkeypatch):
    assert break_off("every", "leads.parquet", monkeypatch) == 130
    words = ("chart", "every", "--from", "400mm", "--to", "450mm", "--out", "leads.parquet", "--resume")
    assert run(*words, "--hand", "right")[0] == 2
    assert run(*words, "--thin", "1%")[0] == 2
    assert run(*words)[0] == 0


def test_slices_of_another_version_are_refused(monkeypatch):
    assert break_off("every", "leads.parquet", monkeypatch) == 130
    work = Path("leads.parquet.part/work.txt")
    work.write_text(re.sub("(version of gearsearch: ).*", r"\1old", work.read_text()))
    assert "version" in refused("other-work", "resume")
    work.write_bytes(b"\xff")
    refused("other-work", "resume")


def test_a_folder_of_something_else_is_left_alone():
    Path("leads.parquet.part").mkdir()
    Path("leads.parquet.part/mine.txt").write_text("mine")
    refused("not-slices")
    refused("not-slices", "resume")
    refused("not-slices", "overwrite")


def test_with_nothing_to_go_on_with_it_begins_and_says_so(capsys):
    assert charted("every", "leads.parquet", "--resume") == 0
    assert "leads.parquet.part is not there" in capsys.readouterr().err


def test_resume_without_a_file_is_refused():
    assert run("chart", *KINDS["every"], "--resume")[0] == 2
    assert (
        run("chart", "list", "iso-261", "--fewest-changes", "--tolerance", "1%", "--resume", "--out", "a.csv")[0] == 2
    )


def test_short_work_keeps_nothing(monkeypatch):
    monkeypatch.setattr("gearsearch.base.kept._AFTER", 60.0)
    assert break_off("every", "leads.parquet", monkeypatch) == 130
    assert sorted(path.name for path in Path().iterdir()) == ["shop.toml"]


def test_slices_that_cannot_be_kept_stop_nothing(monkeypatch, capsys):
    monkeypatch.setattr(Path, "mkdir", lambda *_: (_ for _ in ()).throw(OSError(28, "No space left on device")))
    assert charted("every", "leads.parquet") == 0
    assert capsys.readouterr().err.count("no space left on device") == 1


@pytest.mark.skipif(not shutil.which("mount") or os.geteuid() != 0, reason="needs a small disk of its own")
@pytest.mark.slow
def test_a_full_disk_keeps_what_is_whole(tmp_path, monkeypatch):
    small = tmp_path / "small"
    small.mkdir()
    if subprocess.run(["mount", "-t", "tmpfs", "-o", "size=32k", "none", small], check=False).returncode:
        pytest.skip("no disk can be mounted here")
    try:
        assert charted("every", str(small / "leads.csv")) == 2
        subprocess.run(["mount", "-o", "remount,size=20m", small], check=True)
        assert charted("every", str(small / "leads.csv"), "--resume") == 0
        monkeypatch.chdir(tmp_path)
        assert charted("every", "whole.csv") == 0
        assert (small / "leads.csv").read_bytes() == Path("whole.csv").read_bytes()
    finally:
        subprocess.run(["umount", small], check=True)


def test_a_killed_process_leaves_slices_to_go_on_with(monkeypatch):
    """From Python, and taken up by other threads than those that made them."""
    script = (
        "import time, gearsearch as gs\n"
        "from unittest.mock import patch\n"
        "from gearsearch.base.progress import Progress\n"
        "step = lambda _, done: print('step', flush=True) or time.sleep(0.1)\n"
        "with patch('gearsearch.base.kept._AFTER', 0), patch('gearsearch.charts.best.SLICE_TRAINS', 100), "
        "patch('gearsearch.base.sharing._LOT_SECONDS', 0), patch.object(Progress, 'step', step):\n"
        "    gs.open_shop().chart.every('400 mm', '450 mm').save('leads.parquet')\n"
    )
    with subprocess.Popen([sys.executable, "-c", script], stdout=subprocess.PIPE, text=True) as process:
        for _ in range(4):
            assert process.stdout.readline() == "step\n"
        process.send_signal(signal.SIGKILL)
    for draft in Path().glob(".leads*"):
        draft.unlink()
    seen = worked(monkeypatch)
    gs.open_shop().chart.every("400 mm", "450 mm").save("leads.parquet", resume=True)
    again = len(seen)
    gs.open_shop().chart.every("400 mm", "450 mm").save("whole.parquet")
    assert again < len(seen) - again
    assert Path("leads.parquet").read_bytes() == Path("whole.parquet").read_bytes()


def test_columns_come_back_as_they_were_kept():
    source = BestTrains(demo_shop(), Terms())
    rows = source.window((1.0, 1.01, 0))
    again = source.nothing().of_arrays(rows.arrays())
    assert again.arrays().keys() == rows.arrays().keys()
    assert all((again.arrays()[name] == array).all() for name, array in rows.arrays().items())
    assert {hand: trains.hand for hand, trains in again.hands.items()} == {"right": "right", "left": "left"}


def test_a_digest_is_the_same_in_every_process_and_changes_with_the_shop():
    code = "from gearsearch.base.kept import digest_of as d; print(d([frozenset('abcdef'), {'a': {1, 2}}]))"
    said = {
        subprocess.run(
            [sys.executable, "-c", code], env=os.environ | {"PYTHONHASHSEED": seed}, capture_output=True, text=True
        ).stdout
        for seed in ("1", "2")
    }
    assert said == {digest_of([frozenset("abcdef"), {"a": {1, 2}}]) + "\n"}
    assert digest_of(demo_shop()) != digest_of(gs.demo().with_gear(37).shop)


def test_what_is_done_in_the_first_seconds_is_not_kept_and_comes_again(monkeypatch):
    monkeypatch.setattr("gearsearch.base.kept._AFTER", 60.0)
    source, target, asked = BestTrains(demo_shop(), Terms()), Path("a.parquet"), lambda: {"work": "this"}
    rows, kept = source.window((1.0, 1.01, 0)), Kept(target, asked)
    log = kept.log(source.nothing())
    log.put("one", rows)
    assert not kept.folder.exists()
    monkeypatch.setattr("gearsearch.base.kept._AFTER", 0.0)
    log.put("two", rows)
    log = Kept(target, asked, resume=True).log(source.nothing())
    assert (log.take("one"), log.is_read) == (None, False)
    assert (log.take("two").lead_mm == rows.lead_mm).all()
    assert log.is_read


def test_slices_that_another_process_keeps_stay_when_this_one_is_done():
    source, target = BestTrains(demo_shop(), Terms()), Path("a.parquet")
    with kept_beside(target, lambda: {"work": "this"}):
        Kept(target, lambda: {"work": "this"}).log(source.nothing()).put("one", source.window((1.0, 1.01, 0)))
    assert Kept(target, lambda: {"work": "this"}, resume=True).log(source.nothing()).take("one") is not None


@pytest.mark.parametrize("gone", [False, True])
def test_where_the_file_has_appeared_the_slices_still_there_are_pointed_out(gone):
    source, target = BestTrains(demo_shop(), Terms()), Path("a.parquet")
    with pytest.raises(GearsearchError) as caught, kept_beside(target, lambda: {"work": "this"}) as kept:
        kept.log(source.nothing()).put("one", source.window((1.0, 1.01, 0)))
        if gone:
            shutil.rmtree(kept.folder)
        raise GearsearchError("a.parquet is there", "add --overwrite or name another file", code="file-exists")
    assert ("--resume and --overwrite" in caught.value.remedy) is not gone
    assert ("another file" in caught.value.remedy) is gone


def test_work_that_goes_on_is_kept_from_its_start(monkeypatch):
    source, target, asked = BestTrains(demo_shop(), Terms()), Path("a.parquet"), lambda: {"work": "this"}
    rows = source.window((1.0, 1.01, 0))
    Kept(target, asked).log(source.nothing()).put("one", rows)
    monkeypatch.setattr("gearsearch.base.kept._AFTER", 60.0)
    log = Kept(target, asked, resume=True).log(source.nothing())
    assert log.take("one") is not None
    log.put("two", rows)
    log = Kept(target, asked, resume=True).log(source.nothing())
    assert None not in (log.take("one"), log.take("two"))
