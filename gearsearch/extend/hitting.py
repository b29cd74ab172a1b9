"""The fewest gears that hold one of each of many choices: a small exact search."""

from __future__ import annotations

MOST_STEPS = 100_000  # of all searches together


class Hitting:
    """Choices of gears, of each of which at least one must be kept.

    Parameters
    ----------
    owned : how many gears of each size there are

    A choice is made by a set that will not do: what does must have more gears of at least one size.
    """

    def __init__(self, owned: tuple[int, ...]) -> None:
        self._owned = owned
        self._bits: dict[tuple[int, int], int] = {}
        self._below: dict[int, int] = {}
        for size, count in enumerate(owned):
            bits = 0
            for copy in range(1, count + 1):
                bits |= 1 << len(self._bits)
                self._bits[size, copy] = 1 << len(self._bits)
                self._below[self._bits[size, copy]] = bits
        self._choices: set[int] = set()
        self._least = 0
        self._steps = MOST_STEPS

    def require(self, refused: tuple[int, ...]) -> None:
        """Note a set that will not do, given as how many gears of each size it has."""
        choice = sum(
            self._bits[size, have + 1]
            for size, (have, owned) in enumerate(zip(refused, self._owned, strict=True))
            if have < owned
        )
        if not any(choice & other == other for other in self._choices):
            self._choices = {other for other in self._choices if choice & other != choice} | {choice}

    def fewest(self, below: int) -> tuple[tuple[int, ...] | None, int]:
        """The fewest gears that meet every choice, and a number that no such set falls short of.

        Parameters
        ----------
        below : sets of so many gears or more are of no use

        None instead of a set when there is none of fewer gears than ``below``, or when the search was cut short;
        then the number is what was proved before.
        """
        search = _Search(sorted(self._choices, key=lambda choice: (choice.bit_count(), choice)), self._below, below)
        search.steps = self._steps
        search.go(0, 0)
        self._steps = search.steps
        if search.steps < 0:
            return None, self._least
        self._least = below if search.found is None else search.found.bit_count()
        return (None if search.found is None else self._counts(search.found)), self._least

    def _counts(self, mask: int) -> tuple[int, ...]:
        return tuple(
            sum(bool(mask & self._bits[size, copy]) for copy in range(1, count + 1))
            for size, count in enumerate(self._owned)
        )


class _Search:
    """Branch and bound over the choices, from the narrowest on."""

    def __init__(self, choices: list[int], below: dict[int, int], limit: int) -> None:
        self._choices = choices
        self._below = below
        self._limit = limit
        self.found: int | None = None
        self.steps = 0

    def go(self, kept: int, barred: int) -> None:
        """Try every way to meet the choices still open with what is not barred."""
        self.steps -= 1
        if self.steps < 0:
            return
        open_choices = [choice & ~barred for choice in self._choices if not choice & kept]
        if not open_choices:
            self._limit, self.found = kept.bit_count(), kept
            return
        if 0 in open_choices or kept.bit_count() + _apart(open_choices) >= self._limit:
            return
        narrowest = min(open_choices, key=lambda choice: (choice.bit_count(), choice))
        for option in _bits_of(narrowest):
            more = kept | self._below[option]
            if more.bit_count() < self._limit:
                self.go(more, barred)
            barred |= option


def _apart(choices: list[int]) -> int:
    """How many choices have nothing in common, taken greedily: each needs a gear of its own."""
    taken = count = 0
    for choice in sorted(choices, key=int.bit_count):
        if not choice & taken:
            taken |= choice
            count += 1
    return count


def _bits_of(mask: int) -> list[int]:
    bits = []
    while mask:
        bits.append(mask & -mask)
        mask &= mask - 1
    return bits
