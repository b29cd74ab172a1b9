"""How a chart prints its leads: with as many digits as tell them apart, and on a lathe as threads per inch too."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from fractions import Fraction
from itertools import pairwise

from ..base.units import INCH_MM, UNIT_MM, decimals

UNITS = {"mm": ("mm", "in"), "in": ("in", "mm")}  # the shop's own first
LEAD_DIGITS = {False: 1, True: 5}  # significant ones at the least, without threads per inch beside the lead and with
_TPI_DIGITS = 5
_USUAL = {"mm": 3, "in": 4}  # decimals of a long lead; none has fewer
_FAR_MM = {"mm": Fraction(1, 10**3), "in": INCH_MM / 10**4}  # farther apart no two leads print alike


def number(lead_mm: Fraction, unit: str, places: int, digits: int) -> str:
    """A lead as a bare number.

    Parameters
    ----------
    lead_mm : lead [mm]
    unit : ``mm`` or ``in``
    places : decimals at the least; a short lead, and one in inches, has 4
    digits : significant digits at the least
    """
    return decimals(lead_mm / UNIT_MM[unit], _places(lead_mm, unit, places, digits))


def in_both_units(leads_mm: Sequence[Fraction], unit: str, digits: int) -> Iterator[tuple[str, str]]:
    """Leads with their units, the shop's own first, all with the digits that tell them apart.

    Parameters
    ----------
    leads_mm : leads [mm]
    unit : the shop's, ``mm`` or ``in``
    digits : significant digits at the least
    """
    places = {one: places_apart(leads_mm, one, digits) for one in UNITS[unit]}
    for lead in leads_mm:
        own, other = (f"{number(lead, one, places[one], digits)} {one}" for one in places)
        yield own, other


def places_apart(leads_mm: Iterable[Fraction], unit: str, digits: int) -> int:
    """The fewest decimals, as ``number`` takes them, with which, and with more, no two different leads print alike."""
    ascending = sorted(set(leads_mm))
    return max((_apart(a, b, unit, digits) for a, b in pairwise(ascending)), default=_USUAL[unit])


def _apart(a_mm: Fraction, b_mm: Fraction, unit: str, digits: int) -> int:
    gap_mm = b_mm - a_mm
    places = enough = _USUAL[unit]
    while gap_mm <= _FAR_MM[unit] and gap_mm / UNIT_MM[unit] * 10**places <= 1:
        if _printed(a_mm, unit, places, digits) == _printed(b_mm, unit, places, digits):
            enough = places + 1
        places += 1
    return enough


def _printed(lead_mm: Fraction, unit: str, places: int, digits: int) -> Fraction:
    most = _places(lead_mm, unit, places, digits)
    return Fraction(round(lead_mm / UNIT_MM[unit] * 10**most), 10**most)


def threads_per_inch(lead_mm: Fraction, starts: int) -> str:
    """Threads per inch of a lead, as a bare number of 5 significant digits."""
    threads = starts * INCH_MM / lead_mm
    return decimals(threads, _enough(threads, 0, _TPI_DIGITS))


def _places(lead_mm: Fraction, unit: str, places: int, digits: int) -> int:
    usual = 4 if lead_mm < 10 else _USUAL[unit]
    return _enough(lead_mm / UNIT_MM[unit], max(usual, places), digits)


def _enough(value: Fraction, places: int, digits: int) -> int:
    """Decimals that leave so many significant digits."""
    while value * 10**places < 10 ** (digits - 1):
        places += 1
    return places
