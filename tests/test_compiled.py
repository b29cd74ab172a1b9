"""Loops are compiled also where nothing can be kept."""

import errno
import io
import os
import sys

import numba
import pytest

from gearsearch.base import compiled as module


def double(x):
    return 2 * x


def test_where_no_cache_folder_can_be_written_a_loop_is_compiled_all_the_same(monkeypatch):
    def without_folder(**options):
        if options.get("cache"):
            raise RuntimeError("cannot cache function 'double': no locator available for file 'x.py'")
        return numba.njit(**options)

    monkeypatch.setattr(module, "njit", without_folder)
    assert module.compiled(double)(21) == 42


def test_any_other_failure_is_not_hidden(monkeypatch):
    def failing(**_):
        raise RuntimeError("out of memory")

    monkeypatch.setattr(module, "njit", failing)
    with pytest.raises(RuntimeError, match="out of memory"):
        module.compiled(double)


class Screen(io.StringIO):
    """A terminal, with somebody before it."""

    def isatty(self):
        """It is one."""
        return True


@pytest.mark.skipif(numba.config.DISABLE_JIT, reason="nothing is compiled")
@pytest.mark.parametrize(
    ("screen", "owner", "times"),
    [
        (Screen(), "gearsearch.search.kernels", 1),
        (io.StringIO(), "gearsearch.search.kernels", 0),
        (Screen(), "somebody.else", 0),
    ],
)
def test_whoever_waits_for_loops_of_the_package_to_be_compiled_is_told_once(screen, owner, times, monkeypatch):
    monkeypatch.setattr(sys, "stderr", screen)
    monkeypatch.setattr(module._first_time, "said", False)
    loops = [lambda x, n=n: n * x for n in (3, 4)]
    for loop in loops:
        loop.__module__ = owner
    triple, fourfold = map(numba.njit, loops)
    assert (triple(2), fourfold(2), triple(3)) == (6, 8, 9)
    assert screen.getvalue().count("first run here") == times


@pytest.fixture
def kept(tmp_path, monkeypatch):
    """A loop of a file of its own, compiled and kept; then as the next process finds it."""
    monkeypatch.setattr(numba.config, "CACHE_DIR", str(tmp_path / "kept"))
    monkeypatch.setattr(module._Kept, "told", False)
    (tmp_path / "looping.py").write_text("def triple(x):\n    return 3 * x\n")
    space = {"__name__": "looping"}
    exec(compile((tmp_path / "looping.py").read_text(), str(tmp_path / "looping.py"), "exec"), space)
    return lambda: module.compiled(space["triple"])


COMPILED = pytest.mark.skipif(numba.config.DISABLE_JIT, reason="nothing is compiled")


@COMPILED
@pytest.mark.parametrize("ending", ["nbi", "nbc"])
@pytest.mark.parametrize("left", [0, 10, 200])
def test_a_kept_file_that_was_cut_off_is_told_of_once_and_made_anew(kept, tmp_path, capsys, ending, left):
    assert kept()(2) == 6
    assert kept().stats.cache_hits == {}
    (file,) = (tmp_path / "kept").rglob(f"*.{ending}")
    file.write_bytes(file.read_bytes()[:left])
    assert [kept()(2), kept()(2)] == [6, 6]
    assert capsys.readouterr().err.count("\n") == 1
    loop = kept()
    assert loop(2) == 6
    assert sum(loop.stats.cache_hits.values()) == 1
    assert capsys.readouterr().err == ""


@COMPILED
def test_a_full_disk_stops_no_loop_and_is_told_once(kept, monkeypatch, capsys):
    def full(*_):
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr("numba.core.caching.IndexDataCacheFile._save_data", full)
    assert [kept()(2), kept()(2)] == [6, 6]
    said = capsys.readouterr().err
    assert said.count("\n") == 1
    assert os.strerror(errno.ENOSPC).lower() in said
