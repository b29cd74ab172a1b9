"""What is asked of the search for a pair of helical gears."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from fractions import Fraction

from ..base import require
from ..base.errors import GearsearchError
from ..base.units import text_of_angle
from ..search.search import Search
from ..search.terms import Terms
from ..shop.shop import Shop
from ..work.part import Part
from .meshing import HelicalPair


@dataclass(frozen=True, slots=True)
class PairRequest:
    """What is asked of the search for a pair.

    Parameters
    ----------
    pair : the two gears, each with its hand
    terms : how their trains may be made; of ``count`` as many again with the helix angle moved. Trains must mount
        where ``mounting`` does not say otherwise
    helix_within_deg : the helix angle may be moved by so much [degrees] where that makes an exact pair; None: not

    Raises GearsearchError for what cannot be searched for.
    """

    pair: HelicalPair
    terms: Terms = field(default_factory=Terms)
    helix_within_deg: Fraction | None = None

    def __post_init__(self) -> None:
        require.instance(self.terms, Terms, "terms", "give Terms()", given=True)
        require.kept_exact(self, helix_within_deg="move of the helix angle")
        if self.helix_within_deg is not None:
            self._check_moving(self.helix_within_deg)
        if self.terms.hand != "either":
            raise GearsearchError(
                f"the terms ask for the {self.terms.hand} hand, and each gear of a pair has its own",
                "give both hands with the pair, as in HelicalPair(first, second, hands=('right', 'left'))",
            )

    def _check_moving(self, within_deg: Fraction) -> None:
        if self.pair.shafts == "crossed":
            raise GearsearchError(
                "the helix angle cannot be moved on crossed shafts: the shafts would move too",
                "leave --helix-within out",
            )
        if self.pair.fixed_mm is not None:
            raise GearsearchError(
                "the helix angle cannot be moved at a fixed centre distance, from which it follows",
                "leave --helix-within out, or give the angle of the drawing instead of --centre-distance",
            )
        if not 0 < within_deg <= 10:
            raise GearsearchError(
                f"the helix angle cannot be moved by {text_of_angle(within_deg)}",
                "give more than 0° and up to 10°",
            )

    def each_way(self, shop: Shop) -> list[PairRequest]:
        """The same for each single way that its route stands for. Raises GearsearchError as ``Terms.each_way``."""
        hands = {hand for setting in self.pair.settings for hand in setting}
        known = replace(self.terms, hand=next(iter(hands - {"either"}), "either"))
        return [replace(self, terms=replace(way, hand="either")) for way in known.each_way(shop)]

    def search(self, shop: Shop, part: Part, hand: str) -> Search:
        """The search for one of the parts."""
        return Search(shop, part, replace(self.terms, hand=hand, mounting=self.terms.mounting or "must"))
