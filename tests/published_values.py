"""Published values from ``tests/published``, and what "agrees to the last printed digit" means."""

import tomllib
from fractions import Fraction
from pathlib import Path

FOLDER = Path(__file__).parent / "published"


def published(name):
    """The data file of one source."""
    return tomllib.loads((FOLDER / f"{name}.toml").read_text(encoding="utf-8"))


def last_digit(printed):
    """The size of the last printed digit: 1/100 for ``3.60``."""
    return Fraction(1, 10 ** len(printed.partition(".")[2]))


def rounds_to(value, printed):
    """Whether a value rounds to what is printed: within half a unit of the last digit."""
    return abs(value - Fraction(printed)) <= last_digit(printed) / 2


def is_cut_to(value, printed):
    """Whether a value becomes what is printed when its further digits are cut off."""
    return 0 <= value - Fraction(printed) < last_digit(printed)
