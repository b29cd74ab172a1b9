"""What a form of wanted lead is: the options it takes, how a list spells it, and the lead it makes."""

from __future__ import annotations

import re
from abc import ABC, abstractmethod
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import ClassVar, Literal, overload

from ..base import require
from ..base.errors import GearsearchError, UnitError
from ..base.register import Register
from ..base.units import Value, parse_length, parse_ratio, shown
from .part import MOST_STARTS, Part

FORMS: Register[Form] = Register(f"{__package__}.forms")


@dataclass(frozen=True, slots=True)
class Option:
    """A value of a form, by the one name it has on the command line, in a list and in a call.

    Parameters
    ----------
    name : ``helix_angle``, which is typed ``--helix-angle``
    metavar, help : as the command line shows them
    example : a value, for messages
    """

    name: str
    metavar: str
    help: str
    example: str

    @property
    def typed(self) -> str:
        """The option as it is typed: ``--helix-angle``."""
        return typed(self.name)


def typed(name: str) -> str:
    """A name as the command line has it: ``--helix-angle``."""
    return "--" + name.replace("_", "-")


HELIX_ANGLE = Option("helix_angle", "A", "angle from the work's AXIS (flutes, gears), with --diameter or a gear", "15")
DIAMETER = Option("diameter", "D", "the diameter that angles and errors belong to", "50mm")
STARTS = Option("starts", "N", "how many helices side by side (1)", "3")
TEETH = Option("teeth", "Z", "teeth of the helical gear", "23")


@dataclass(frozen=True, slots=True)
class Given:
    """The values that a part is made from, by name.

    Parameters
    ----------
    values : as typed, or as numbers; None stands for what is not given
    unit : ``mm`` or ``in``, for a length without one
    """

    values: Mapping[str, Value | None]
    unit: str = "mm"

    def __contains__(self, name: str) -> bool:
        return self.values.get(name) is not None

    def value(self, option: Option, without: str) -> Value:
        """A value that must be there. Raises GearsearchError that begins with ``without`` where it is not."""
        value = self.values.get(option.name)
        if value is None:
            raise GearsearchError(without, f"add it, as in {option.typed} {option.example}")
        return value

    @overload
    def length(self, name: str, *, given: Literal[True]) -> Fraction: ...
    @overload
    def length(self, name: str, *, given: Literal[False] = False) -> Fraction | None: ...
    def length(self, name: str, *, given: bool = False) -> Fraction | None:
        """A length [mm], or None where it is not given. Raises UnitError as ``parse_length``."""
        value = self.values.get(name)
        if value is None and not given:
            return None
        return parse_length(value, self.unit, name.replace("_", " "))  # type: ignore[arg-type]

    def is_bare(self, name: str) -> bool:
        """Whether a length is typed without its unit. Raises UnitError as ``length``."""
        value = self.values.get(name)
        return isinstance(value, str) and parse_length(value, "mm", name) != parse_length(value, "in", name)

    def whole(self, option: Option, most: int, usual: int | None = None) -> int:
        """A whole number from 1 to ``most``, typed or not. Raises GearsearchError for anything else."""
        value = self.as_typed(option)
        return require.whole(usual if value is None else value, most, option.name)

    def as_typed(self, option: Option) -> object:
        """The value, a text of digits as its number. Raises GearsearchError for another text."""
        value = self.values.get(option.name)
        return require.typed_whole(value, option.typed, option.example) if isinstance(value, str) else value

    @property
    def starts(self) -> int:
        """Helices side by side; 1 where nothing is said of them."""
        return self.whole(STARTS, MOST_STARTS, 1)


class Form(ABC):
    """A form of wanted lead: what the drawing gives, and the lead that follows from it.

    A module in ``work/forms`` with one subclass is all that it takes to have another. ``name`` is that of its own
    option; ``options`` are all it takes, its own first; ``gives`` and ``row`` make its row on the room's page;
    ``example`` is how a list spells it, and ``pattern`` reads that, with a group for each value; ``rank`` is its place
    in the help.
    """

    name: ClassVar[str]
    options: ClassVar[tuple[Option, ...]]
    gives: ClassVar[str]
    row: ClassVar[str]
    example: ClassVar[str]
    pattern: ClassVar[re.Pattern[str]]
    rank: ClassVar[int] = 9
    is_gear: ClassVar[bool] = False
    may_be_cam: ClassVar[bool] = False

    def __init_subclass__(cls) -> None:
        if "name" in vars(cls):
            FORMS.enter(cls.name, cls())

    @property
    def takes(self) -> set[str]:
        """The names of the values it takes."""
        return {option.name for option in self.options}

    def reads(self, text: str) -> dict[str, str | None] | None:
        """The values in a list's text, by name; None where the text is of another form."""
        match = self.pattern.fullmatch(text)
        return match.groupdict() if match else None

    @abstractmethod
    def part(self, given: Given) -> Part:
        """The part with its lead. Raises GearsearchError for values that make none."""


def forms() -> list[Form]:
    """Every form, in the order of the help."""
    return sorted(FORMS.values(), key=lambda form: (form.rank, form.name))


def diametral_pitch(value: Value, what: str) -> Fraction:
    """A diametral pitch [1/in] as given: ``20`` or ``20 dp``. Raises UnitError for what is none."""
    pitch = re.sub(r"\s*d\.?p\.?\s*$", "", value, flags=re.IGNORECASE) if isinstance(value, str) else value
    try:
        return parse_ratio(pitch, what)
    except UnitError:
        raise UnitError(f"{what} {shown(value)} is not a number above zero", "write it as in 20 or 20 dp") from None
