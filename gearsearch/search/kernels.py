"""Compiled loops of the search among millions of trains: trains numbered by their exact ratio, and the first of each.

Arrays in, arrays out; no raise. Products stay below 2**53 (the search proves it), where float64 holds them exactly.
"""
# mypy: disable-error-code="no-any-return"

from __future__ import annotations

import numpy as np

from ..base.arrays import Floats, Ints
from ..base.compiled import compiled


@compiled
def below(over: Floats, under: Floats, edge: float, found: Ints) -> int:
    """For each of ``under`` how many of ``over`` are less than it times an edge, and how many that is in all.

    Parameters
    ----------
    over, under : products of halves, ascending
    edge : compared as ``numpy.searchsorted(over, under * edge)`` does
    found : receives the counts, where it has room for them
    """
    first = 0
    total = 0
    rows = over.shape[0]
    kept = found.shape[0] > 0
    for i in range(under.shape[0]):
        product = under[i] * edge
        while first < rows and over[first] < product:
            first += 1
        total += first
        if kept:
            found[i] = first
    return total


@compiled
def number(bits: Ints, driven: Ints, drivers: Ints, owner: Ints, first: Ints) -> int:
    """Number the trains by their ratio: equal ratios, and only these, share a number.

    Parameters
    ----------
    bits : (T,) the bits of driven / drivers as float64, which equal ratios share
    driven, drivers : (T,) products of tooth counts
    owner : (T,) receives the number of each train
    first : (T,) receives, for each number, its first train

    Two ratios of one float are equal when their cross products are: these differ by less than 2**54 then, so
    that comparing them modulo 2**64, as the machine does, is exact.
    """
    room = 16
    while room < 2 * bits.shape[0]:
        room *= 2
    table = np.full(room, -1, np.int64)
    numbers = 0
    for t in range(bits.shape[0]):
        mixed = bits[t] ^ (bits[t] >> 29)
        place = ((mixed * 0x9E3779B97F4A7C1) >> 17) & (room - 1)
        while True:
            here = table[place]
            if here < 0:
                table[place] = numbers
                first[numbers] = t
                owner[t] = numbers
                numbers += 1
                break
            other = first[here]
            if bits[other] == bits[t] and driven[t] * drivers[other] == driven[other] * drivers[t]:
                owner[t] = here
                break
            place = (place + 1) & (room - 1)
    return numbers


@compiled
def first_of_each(owner: Ints, keys: Ints, best: Ints) -> None:
    """The row of each owner with the least keys, compared from the left; of equal rows the earlier.

    Parameters
    ----------
    owner : (T,) whom each row belongs to
    keys : (T, K)
    best : (G,) holds −1 for every owner and receives the row, where there is one
    """
    for t in range(owner.shape[0]):
        other = best[owner[t]]
        if other < 0:
            best[owner[t]] = t
            continue
        for k in range(keys.shape[1]):
            if keys[t, k] != keys[other, k]:
                if keys[t, k] < keys[other, k]:
                    best[owner[t]] = t
                break
