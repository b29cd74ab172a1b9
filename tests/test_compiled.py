"""Loops are compiled also where nothing can be kept."""

import numba
import pytest

from gearsearch import compiled as module


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
