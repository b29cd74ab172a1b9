"""Compiled loops for gears that might be added: join two lists of half trains for many windows at once.

Arrays in, arrays out. Products are exact in float64, because the caller keeps them below 2**53. Windows are
compared in float64: the caller widens them by ``catalogue.EDGE`` and decides at the edge with fractions.
"""

from __future__ import annotations

from ..base.arrays import Bools, Floats, Ints
from ..base.compiled import compiled


@compiled
def first_at_least(products: Floats, value: float, start: int) -> int:
    """The first place from ``start`` on whose product is at least ``value``: strides that double, then halve."""
    rows = products.shape[0]
    if start >= rows or products[start] >= value:
        return start
    below = start
    step = 1
    while below + step < rows and products[below + step] < value:
        below += step
        step *= 2
    above = min(below + step, rows)
    while above - below > 1:
        middle = (below + above) // 2
        if products[middle] < value:
            below = middle
        else:
            above = middle
    return int(above)


@compiled
def holds(few: Ints, many: Ints, added: Ints, cap: Ints) -> bool:
    """Whether the box holds the gears of two halves and those added, at once; ``cap`` by size."""
    p, q, r = few.shape[0], many.shape[0], added.shape[0]
    for k in range(p + q + r):
        size = few[k] if k < p else (many[k - p] if k < p + q else added[k - p - q])
        used = 0
        for a in range(p):
            used += few[a] == size
        for b in range(q):
            used += many[b] == size
        for c in range(r):
            used += added[c] == size
        if used > cap[size]:
            return False
    return True


@compiled
def join(
    few: Ints,
    few_product: Floats,
    many: Ints,
    many_product: Floats,
    added: Ints,
    cap: Ints,
    windows: Floats,
    out: Ints,
) -> int:
    """Every way to join a half of the short list with one of the long list so that the ratio is in a window.

    Parameters
    ----------
    few, many : (H, p) and (K, q) halves; products of each, ascending; the loop runs over ``few``
    added : sizes that stand in the train besides the two halves
    cap : how many of each size the box has
    windows : (W, 2); a train is in window w when windows[w, 0] ≤ many / few ≤ windows[w, 1]
    out : (rows, 3) receives window, row of few, row of many; trains beyond its length are only counted

    Returns how many there are.
    """
    found = 0
    for w in range(windows.shape[0]):
        low, high = windows[w, 0], windows[w, 1]
        first = 0
        for i in range(few.shape[0]):
            first = first_at_least(many_product, few_product[i] * low, first)
            j = first
            most = few_product[i] * high
            while j < many.shape[0] and many_product[j] <= most:
                if holds(few[i], many[j], added, cap):
                    if found < out.shape[0]:
                        out[found, 0] = w
                        out[found, 1] = i
                        out[found, 2] = j
                    found += 1
                j += 1
    return found


@compiled
def touch(
    few: Ints,
    few_product: Floats,
    many: Ints,
    many_product: Floats,
    added: Ints,
    cap: Ints,
    windows: Floats,
    hit: Bools,
) -> None:
    """Mark the windows that hold a train at all; those marked already are passed over. Parameters as ``join``."""
    for w in range(windows.shape[0]):
        low, high = windows[w, 0], windows[w, 1]
        first = 0
        for i in range(few.shape[0]):
            if hit[w]:
                break
            first = first_at_least(many_product, few_product[i] * low, first)
            j = first
            most = few_product[i] * high
            while j < many.shape[0] and many_product[j] <= most and not hit[w]:
                hit[w] = holds(few[i], many[j], added, cap)
                j += 1
