"""gearsearch: the best change-gear train for a lead, from the gears the shop owns.

>>> import gearsearch as gs
>>> shop = gs.demo()  # or gs.open_shop("shop.toml")
>>> print(shop.find("412.5 mm", hand="right", count=1).fits[0].train)
80/44 48/100
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from .base.cluster import Cluster as Cluster
    from .base.errors import GearsearchError as GearsearchError
    from .output.written import schema as schema
    from .work.wanted import Wanted as Wanted
    from .work.wanted import gear_dp as gear_dp
    from .work.wanted import gear_module as gear_module
    from .work.wanted import gear_transverse_module as gear_transverse_module
    from .work.wanted import helix_angle as helix_angle
    from .work.wanted import lead as lead
    from .work.wanted import lead_angle as lead_angle
    from .work.wanted import rise as rise
    from .work.wanted import thread as thread
    from .work.wanted import worm_dp as worm_dp
    from .work.wanted import worm_module as worm_module
    from .workshop import Workshop as Workshop
    from .workshop import demo as demo
    from .workshop import open_shop as open_shop

__version__ = "0.1.0"

_FORMS = (
    *("lead", "helix_angle", "lead_angle", "rise", "thread", "worm_module", "worm_dp"),
    *("gear_module", "gear_transverse_module", "gear_dp", "Wanted"),
)
_FROM = dict.fromkeys(_FORMS, "work.wanted")
_FROM |= dict.fromkeys(("open_shop", "demo", "Workshop"), "workshop") | {
    "GearsearchError": "base.errors",
    "Cluster": "base.cluster",
    "schema": "output.written",
}
__all__ = ["__version__", *_FROM]


def __getattr__(name: str) -> object:
    """A name of the front door, bound when it is first used (PEP 562)."""
    if name not in _FROM:
        raise AttributeError(f"module 'gearsearch' has no attribute {name!r}")
    value = getattr(import_module(f"gearsearch.{_FROM[name]}"), name)
    globals()[name] = value
    return value


def __dir__() -> list[str]:
    return sorted(__all__)
