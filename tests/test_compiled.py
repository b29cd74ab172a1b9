"""Loops are compiled also where nothing can be kept."""

import io
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
