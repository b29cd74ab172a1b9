"""Halves joined to trains: in numpy at first, and by compiled loops when so much is joined that loading them pays."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import numpy as np

from ..base.arrays import Floats, Ints
from ..mounting.bracket import ragged

_PAYS = 3_000_000  # places looked up, a tenth of a second of numpy; loading compiled loops takes four tenths
_CALL = 1000  # places that numpy could look up while it begins
_ROOM = 1024  # trains


looked = SimpleNamespace(places=0)  # that numpy has looked up in this process


def pays() -> bool:
    """Whether so much has been joined in this process that compiled loops are worth loading."""
    return bool(looked.places > _PAYS)


def join(
    few: Ints, few_product: Floats, many: Ints, many_product: Floats, added: Ints, cap: Ints, windows: Floats
) -> Ints:
    """Window, row of few and row of many of every train of ``kernels.join``, which says what is given."""
    looked.places += len(windows) * len(few) + _CALL
    if not pays():
        first = np.searchsorted(many_product, np.outer(windows[:, 0], few_product).ravel())
        stop = np.searchsorted(many_product, np.outer(windows[:, 1], few_product).ravel(), "right")
        looked.places += int((stop - first).clip(0).sum())
    if pays():
        return _compiled(few, few_product, many, many_product, added, cap, windows)
    at, j = ragged(first, np.maximum(first, stop))
    window, i = np.divmod(at, len(few))
    gears = np.concatenate([few[i], many[j], np.tile(added, (len(i), 1))], axis=1)
    used = (gears[:, :, np.newaxis] == gears[:, np.newaxis, :]).sum(axis=2)
    trains: Ints = np.column_stack([window, i, j])[(used <= cap[gears]).all(axis=1)]
    return trains


def _compiled(*given: Any) -> Ints:
    from . import kernels

    call = (*given, np.empty((_ROOM, 3), np.int64))
    if (found := kernels.join(*call)) > _ROOM:
        call = (*given, np.empty((found, 3), np.int64))
        kernels.join(*call)
    trains: Ints = call[-1][:found]
    return trains
