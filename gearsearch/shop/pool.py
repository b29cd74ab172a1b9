"""The pool: the gears a search may use, numbered, with what is known of where each may go."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction

from ..base.errors import GearsearchError
from .gear_names import GearName, is_piece, parts_of, pieces_left, taken
from .gears import PLACES, GearSet
from .shop import Shop
from .trains import Pair, Train


@dataclass(frozen=True, slots=True)
class GearPool:
    """The gears numbered by kind of tooth, then tooth count: equal gears share a gear number, the place in all below.

    Parameters
    ----------
    tags : the tag of each kind of tooth
    kind : number of the kind of tooth
    teeth : tooth count
    loose : how many loose gears there are
    joined : joined pieces as (gear number, gear number, how many)
    fixed_first, fixed_last : the gear number that cannot come off that shaft, or −1
    allowed : whether it may go on (first shaft, stud, last shaft)
    greatest_pair_ratio : no driver and driven of one pair may differ by more than this, either way; None: no limit

    A train may use a gear as often as it is loose, once more where it is fixed on that very shaft, and once more
    for each joined piece under the rule of ``GearSet``.
    """

    tags: tuple[str, ...]
    kind: tuple[int, ...]
    teeth: tuple[int, ...]
    loose: tuple[int, ...]
    joined: tuple[tuple[int, int, int], ...]
    fixed_first: int
    fixed_last: int
    allowed: tuple[tuple[bool, bool, bool], ...]
    greatest_pair_ratio: Fraction | None = None

    @property
    def available(self) -> tuple[int, ...]:
        """How many of each gear a train could use at most: loose, joined and fixed together."""
        most = list(self.loose)
        for a, b, count in self.joined:
            most[a] += count
            most[b] += count
        for fixed in (self.fixed_first, self.fixed_last):
            if fixed >= 0:
                most[fixed] += 1
        return tuple(most)

    def train(self, drivers: Iterable[int], driven: Iterable[int], idlers: Iterable[Iterable[int]] = ()) -> Train:
        """The train of these gear numbers, in power order; idlers as one list for each pair."""
        ends = list(zip(drivers, driven, strict=True))
        between = [tuple(self.teeth[i] for i in sizes) for sizes in idlers] or [()] * len(ends)
        return Train(
            tuple(
                Pair(self.teeth[a], self.teeth[b], middle, self.tags[self.kind[a]])
                for (a, b), middle in zip(ends, between, strict=True)
            )
        )

    def number(self, tag: str, teeth: int) -> int:
        """The gear number of a kind and tooth count. Raises GearsearchError when the pool has no such gear."""
        for number, (kind, count) in enumerate(zip(self.kind, self.teeth, strict=True)):
            if count == teeth and self.tags[kind] == tag:
                return number
        owned = ", ".join(str(t) for k, t in zip(self.kind, self.teeth, strict=True) if self.tags[k] == tag)
        raise GearsearchError(
            f"there is no gear of {teeth} teeth in the box", f"gears in the box: {owned}", code="no-such-gear"
        )


def needed(pool: GearPool, use: Iterable[GearName]) -> list[tuple[tuple[int, ...], int]]:
    """The gear numbers that each named gear may be of, with how many of them there must be.

    Raises GearsearchError where the pool does not have every gear that is to be used, as often as it is named.
    """
    asked = Counter(use)
    found = []
    for name in asked:
        teeth, kind = parts_of(name)
        sizes = tuple(
            size
            for size, (count, number) in enumerate(zip(pool.teeth, pool.kind, strict=True))
            if count == teeth and kind in ("", pool.tags[number])
        )
        times = sum(
            count for other, count in asked.items() if other == name or (not kind and parts_of(other)[0] == teeth)
        )
        owned = sum(pool.available[size] for size in sizes)
        if owned < times:
            counts = ", ".join(
                map(str, sorted({teeth for teeth, n in zip(pool.teeth, pool.available, strict=True) if n}))
            )
            raise GearsearchError(
                f"a train cannot use {f'{times} gears' if times > 1 else 'a gear'} of {name} teeth: "
                f"the box has {owned or 'none'}",
                f"gears in the box: {counts}",
                code="gear-not-owned",
            )
        found.append((sizes, times))
    return found


def pool_of(
    shop: Shop,
    without: Iterable[GearName] = (),
    starts: int = 1,
    greatest_pair_ratio: Fraction | None = None,
) -> GearPool:
    """The gears of a shop that a search may use.

    Parameters
    ----------
    shop : the shop
    without : gears in use elsewhere, one left out for each time it is named: ``60``, or ``60@m2`` of one kind of tooth;
        a joined piece as a whole, ``60+30``
    starts : the count of the gear on the work's side, the last on a mill and the first on a lathe, must be a multiple
        of this
    greatest_pair_ratio : see ``GearPool``

    Raises GearsearchError when ``without`` names a loose gear or a piece that is not there.
    """
    missing = Counter(without)
    for name in missing:
        if parts_of(name)[1]:
            shop.gear_set(parts_of(name)[1])
    sizes = [(number, teeth) for number, gears in enumerate(shop.gears) for teeth in sorted(gears.available())]
    index = {size: i for i, size in enumerate(sizes)}
    loose = [_loose(shop, number, teeth, missing) for number, teeth in sizes]
    joined = _joined(shop, index, missing)
    left = +missing
    if left:
        name = min(left, key=parts_of)
        _refuse_piece(shop, name)
        raise GearsearchError(
            f"{_too_few(shop, *parts_of(name))} of {name} teeth to do without",
            f"loose gears: {', '.join(map(str, sorted({teeth for gears in shop.gears for teeth in gears.teeth})))}",
            code="no-such-gear",
        )
    fixed = {
        place: index[number, gears.fixed[place]] for number, gears in enumerate(shop.gears) for place in gears.fixed
    }
    return GearPool(
        tags=tuple(gears.kind.tag for gears in shop.gears),
        kind=tuple(number for number, _ in sizes),
        teeth=tuple(teeth for _, teeth in sizes),
        loose=tuple(loose),
        joined=joined,
        fixed_first=fixed.get("first", -1),
        fixed_last=fixed.get("last", -1),
        allowed=tuple(_allowed(shop, number, teeth, starts) for number, teeth in sizes),
        greatest_pair_ratio=greatest_pair_ratio,
    )


def _refuse_piece(shop: Shop, name: GearName) -> None:
    """Raise GearsearchError for a joined piece that is not there, and for a gear that is there in a piece alone."""
    teeth, kind = parts_of(name)
    sets = [gears for gears in shop.gears if kind in ("", gears.kind.tag)]
    pieces = [(gears, piece) for gears in sets for piece in gears.joined]
    if is_piece(name):
        there = ", ".join(_named(gears, piece) for gears, piece in pieces) or "none"
        what = f"joined piece {name} is named more often than the shop has it"
        raise GearsearchError(what, f"joined pieces: {there}", code="no-such-gear")
    own = next((_named(gears, piece) for gears, piece in pieces if teeth in piece), None)
    if own is not None and not any(teeth in gears.teeth for gears in sets):
        raise GearsearchError(
            f"the gear of {name} teeth is part of a joined piece, which goes as a whole",
            f"leave the piece out, as in --without {own}",
            code="joined-gear",
        )


def _named(gears: GearSet, piece: tuple[int, int]) -> str:
    tag = f"@{gears.kind.tag}" if gears.kind.tag else ""
    return f"{piece[0]}+{piece[1]}{tag}"


def _too_few(shop: Shop, teeth: int, kind: str) -> str:
    count = sum(gears.teeth.count(teeth) for gears in shop.gears if kind in ("", gears.kind.tag))
    if not count:
        return "there is no loose gear"
    return "there is only one loose gear" if count == 1 else f"there are only {count} loose gears"


def _loose(shop: Shop, number: int, teeth: int, missing: Counter[GearName]) -> int:
    owned = shop.gears[number].teeth.count(teeth)
    return owned - taken(missing, teeth, shop.gears[number].kind.tag, owned)


def _joined(
    shop: Shop, index: dict[tuple[int, int], int], missing: Counter[GearName]
) -> tuple[tuple[int, int, int], ...]:
    pieces = Counter(
        (index[number, min(piece)], index[number, max(piece)])
        for number, gears in enumerate(shop.gears)
        for piece in pieces_left(gears.joined, gears.kind.tag, missing)
    )
    return tuple((a, b, count) for (a, b), count in sorted(pieces.items()))


def _allowed(shop: Shop, number: int, teeth: int, starts: int) -> tuple[bool, bool, bool]:
    tag = shop.gears[number].kind.tag
    first, stud, last = (shop.allows(tag, teeth, place) for place in PLACES)
    indexes = teeth % starts == 0
    side = shop.machine.work_side
    return first and (indexes or side != "first"), stud, last and (indexes or side != "last")
