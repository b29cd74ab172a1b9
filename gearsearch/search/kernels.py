"""The compiled loop of the search: the sweep that joins two halves to every train in a window.

Arrays in, arrays out. Products are held in float64 and int64; the caller proves that they stay below 2**53,
where both are exact. Windows are compared in float64, so a caller who needs a sharp edge widens the window by
``halves.EDGE`` and decides at the edge with fractions.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from ..base.compiled import compiled

Ints = NDArray[np.int64]
Floats = NDArray[np.float64]


@compiled
def share(over: Ints, under: Ints, cap: Ints) -> bool:
    """Whether the box holds the gears of both halves at once; both rows ascending, ``cap`` by size."""
    i = 0
    j = 0
    p = over.shape[0]
    while i < p or j < p:
        size = over[i] if j >= p or (i < p and over[i] <= under[j]) else under[j]
        used = 0
        while i < p and over[i] == size:
            i += 1
            used += 1
        while j < p and under[j] == size:
            j += 1
            used += 1
        if used > cap[size]:
            return False
    return True


@compiled
def sweep(
    over: Ints,
    over_product: Floats,
    under: Ints,
    under_product: Floats,
    cap: Ints,
    low: float,
    high: float,
    out: Ints,
) -> int:
    """Every train whose over / under product lies in [low, high): one pass of two pointers.

    Parameters
    ----------
    over, under : (H, pairs) halves, rows ascending; products of each (H,), ascending
    cap : how many of each size both halves may use together
    low, high : the window; a train belongs to it when under × low ≤ over < under × high in float64, so that
        windows that share an edge part the trains exactly
    out : (rows, 2) receives the row numbers of over and under; trains beyond its length are only counted

    Returns how many trains there are in the window.
    """
    found = 0
    first = 0
    last = 0
    rows = under.shape[0]
    for i in range(over.shape[0]):
        product = over_product[i]
        while first < rows and under_product[first] * high <= product:
            first += 1
        while last < rows and under_product[last] * low <= product:
            last += 1
        for j in range(first, last):
            if share(over[i], under[j], cap):
                if found < out.shape[0]:
                    out[found, 0] = i
                    out[found, 1] = j
                found += 1
    return found
