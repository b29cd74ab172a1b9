"""Prime factors of tooth counts: a train can make a ratio exactly only from the factors that its gears have."""

from __future__ import annotations

from fractions import Fraction

from .shop import Shop


def primes(number: int) -> list[int]:
    """The prime factors of a whole number, ascending, each once."""
    found, factor = [], 2
    while factor * factor <= number:
        if number % factor == 0:
            found.append(factor)
            while number % factor == 0:
                number //= factor
        factor += 1
    return [*found, number] if number > 1 else found


def lacking_factors(shop: Shop, ratio: Fraction) -> list[int]:
    """The prime factors of a ratio in lowest terms, ascending, that no gear of the shop has."""
    owned = [teeth for gears in shop.gears for teeth in gears.available()]
    return [p for p in primes(ratio.numerator * ratio.denominator) if all(teeth % p for teeth in owned)]
