"""The fewest sets that cover all there is: which trains to keep on, for as many leads as the levers allow."""

from __future__ import annotations

from collections.abc import Sequence

ALWAYS_PROVED = 30  # sets up to which the search is never stopped
_MOST_STEPS = 300_000  # beyond that


def fewest(sets: Sequence[int]) -> tuple[tuple[int, ...], bool]:
    """The places of the fewest sets whose union is that of all, and whether it is proved that there are no fewer.

    Parameters
    ----------
    sets : each the sum of 2 ** item over its items; of equal ones the first is taken

    Exact: the item with the fewest sets is covered by each of them in turn, and a branch is left once it cannot come
    to fewer than the best so far. With more than 30 sets that matter the search is stopped after 300 000 steps; then
    the best so far, which the greedy choice began, stands unproved.
    """
    useful = _useful(sets)
    search = _Search([sets[place] for place in useful])
    proved = search.run(None if len(useful) <= ALWAYS_PROVED else _MOST_STEPS)
    return tuple(sorted(useful[place] for place in search.best)), proved


def _useful(sets: Sequence[int]) -> list[int]:
    """The places of the sets that no other holds, the largest first."""
    first: dict[int, int] = {}
    for place, items in enumerate(sets):
        first.setdefault(items, place)
    kept: list[int] = []
    for items in sorted(first, key=lambda items: (-items.bit_count(), first[items])):
        if items and not any(items | sets[place] == sets[place] for place in kept):
            kept.append(first[items])
    return kept


class _Search:
    def __init__(self, sets: list[int]) -> None:
        self._sets = sets
        self._all = 0
        for items in sets:
            self._all |= items
        self._of_item = {
            item: [place for place, items in enumerate(sets) if items >> item & 1]
            for item in range(self._all.bit_length())
            if self._all >> item & 1
        }
        self.best = self._greedy()

    def _greedy(self) -> tuple[int, ...]:
        left, chosen = self._all, []
        while left:
            place = max(range(len(self._sets)), key=lambda place: ((self._sets[place] & left).bit_count(), -place))
            chosen.append(place)
            left &= ~self._sets[place]
        return tuple(chosen)

    def run(self, most: int | None) -> bool:
        """Better the best; whether all was gone through."""
        waiting: list[tuple[int, tuple[int, ...]]] = [(self._all, ())]
        steps = 0
        while waiting:
            left, chosen = waiting.pop()
            if not left:
                self.best = min(self.best, chosen, key=len)
                continue
            if len(chosen) + self._at_least(left) >= len(self.best):
                continue
            steps += 1
            if most is not None and steps > most:
                return False
            item = min((item for item in self._of_item if left >> item & 1), key=lambda item: len(self._of_item[item]))
            branches = sorted(self._of_item[item], key=lambda place: (self._sets[place] & left).bit_count())
            waiting += [(left & ~self._sets[place], (*chosen, place)) for place in branches]
        return True

    def _at_least(self, left: int) -> int:
        """How many more sets it takes at the least."""
        most = max((items & left).bit_count() for items in self._sets)
        return -(-left.bit_count() // most)
