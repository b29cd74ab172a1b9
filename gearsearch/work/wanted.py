"""A wanted lead as Python gives it: a text, a number, or made by a form; the shop's unit makes it a part."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from ..base.errors import GearsearchError
from ..base.units import Value
from .asking import part, values_of_text
from .part import Part
from .tolerance import Tolerance


@dataclass(frozen=True, slots=True)
class Wanted:
    """A wanted lead, before the shop says in which unit its bare numbers are.

    Parameters
    ----------
    values : as given, by the names of the options: ``{"helix_angle": "20", "diameter": "50 mm"}``
    """

    values: Mapping[str, Value | None]

    @classmethod
    def of(cls, wanted: Wanted | Value) -> Wanted:
        """The lead as given: made by a form, a text as lists write it (``13 tpi``), or a number in the shop's unit."""
        if isinstance(wanted, Wanted):
            return wanted
        if wanted is None:
            raise GearsearchError(
                "no lead was asked for",
                "give one, as in '412.5 mm' or gearsearch.helix_angle(20, diameter='50 mm')",
                code="no-lead",
            )
        return cls(values_of_text(wanted) if isinstance(wanted, str) else {"lead": wanted})

    def part(self, unit: str = "mm", *, tolerance: str | Tolerance | None = None, **more: Value | None) -> Part:
        """The part, with what else is known of it: ``length``, ``diameter`` and ``accuracy``.

        Raises GearsearchError as ``work.asking.part``.
        """
        given = {**self.values, **{name: value for name, value in more.items() if value is not None}}
        return part(unit, name="", source="", tolerance=tolerance, **given)


def lead(
    lead: Value, /, *, diameter: Value | None = None, starts: int | None = None, tilt: Value | None = None
) -> Wanted:
    """The lead itself, for one turn of the work; a bare number is in the shop's unit.

    >>> import gearsearch as gs
    >>> gs.lead("412.5 mm").part().lead_mm
    Fraction(825, 2)
    """
    return Wanted({"lead": lead, "diameter": diameter, "starts": starts, "tilt": tilt})


def helix_angle(angle: Value, /, *, diameter: Value, starts: int | None = None) -> Wanted:
    """An angle from the work's axis [degrees] at a diameter: π d / tan β.

    >>> import gearsearch as gs
    >>> round(float(gs.helix_angle("17°45'", diameter="50 mm").part().lead_mm), 3)
    490.717
    """
    return Wanted({"helix_angle": angle, "diameter": diameter, "starts": starts})


def lead_angle(angle: Value, /, *, diameter: Value, starts: int | None = None) -> Wanted:
    """An angle from square to the axis [degrees] at a diameter: π d tan λ.

    >>> import gearsearch as gs
    >>> round(float(gs.lead_angle(45, diameter="10 mm").part().lead_mm), 3)
    31.416
    """
    return Wanted({"lead_angle": angle, "diameter": diameter, "starts": starts})


def rise(
    height: Value,
    /,
    *,
    per: Value,
    diameter: Value | None = None,
    starts: int | None = None,
    tilt: Value | None = None,
) -> Wanted:
    """A rise over an arc [degrees] of a ramp or cam: 360 × rise / arc; ``tilt`` is of the head, from the table.

    >>> import gearsearch as gs
    >>> gs.rise("2 mm", per=30).part().lead_mm
    Fraction(24, 1)
    """
    return Wanted({"rise": height, "per": per, "diameter": diameter, "starts": starts, "tilt": tilt})


def thread(pitch: Value, /, *, diameter: Value | None = None, starts: int | None = None) -> Wanted:
    """A thread by its name (``M12``, ``Tr 40x14(P7) LH``), threads per inch (``13 tpi``) or pitch.

    >>> import gearsearch as gs
    >>> gs.thread("1/2-13").part().lead_mm
    Fraction(127, 65)
    """
    return Wanted({"thread": pitch, "diameter": diameter, "starts": starts})


def worm_module(module: Value, /, *, diameter: Value | None = None, starts: int | None = None) -> Wanted:
    """A worm by its axial module [mm]: π × module × starts.

    >>> import gearsearch as gs
    >>> round(float(gs.worm_module(2, starts=3).part().lead_mm), 3)
    18.85
    """
    return Wanted({"worm_module": module, "diameter": diameter, "starts": starts})


def worm_dp(pitch: Value, /, *, diameter: Value | None = None, starts: int | None = None) -> Wanted:
    """A worm by its diametral pitch [1/in]: π × starts / pitch inches.

    >>> import gearsearch as gs
    >>> round(float(gs.worm_dp(10).part().lead_mm), 3)
    7.98
    """
    return Wanted({"worm_dp": pitch, "diameter": diameter, "starts": starts})


def gear_module(module: Value, /, *, teeth: int, helix_angle: Value) -> Wanted:
    """A helical gear by its normal module [mm]: π × module × teeth / sin β.

    >>> import gearsearch as gs
    >>> round(float(gs.gear_module(2, teeth=23, helix_angle=15).part().lead_mm), 3)
    558.356
    """
    return Wanted({"gear_module": module, "teeth": teeth, "helix_angle": helix_angle})


def gear_transverse_module(module: Value, /, *, teeth: int, helix_angle: Value) -> Wanted:
    """A helical gear by its module square to the axis [mm]: π × module × teeth / tan β.

    >>> import gearsearch as gs
    >>> round(float(gs.gear_transverse_module(2, teeth=23, helix_angle=15).part().lead_mm), 3)
    539.331
    """
    return Wanted({"gear_transverse_module": module, "teeth": teeth, "helix_angle": helix_angle})


def gear_dp(pitch: Value, /, *, teeth: int, helix_angle: Value) -> Wanted:
    """A helical gear by its normal diametral pitch [1/in]: π × teeth / (pitch × sin β) inches.

    >>> import gearsearch as gs
    >>> round(float(gs.gear_dp(12, teeth=18, helix_angle="17d45m").part().lead_mm), 3)
    392.616
    """
    return Wanted({"gear_dp": pitch, "teeth": teeth, "helix_angle": helix_angle})


Lead = Wanted | Part | Value  # every way in which a wanted lead may be given
