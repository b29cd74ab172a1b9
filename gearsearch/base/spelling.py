"""Refusals in Python's spelling: ``hand="right"`` where the command line has ``--hand right``."""

from __future__ import annotations

import re
from collections.abc import Callable
from functools import wraps
from typing import Any, TypeVar, cast

from .errors import GearsearchError

Method = TypeVar("Method", bound=Callable[..., object])

_WORDS = "right|left|either|must|show|skip|closest|easiest|parallel|crossed"
_VALUE = rf"""(?P<value>"[^"]*"|'[^']*'|[0-9][^\s,;)]*|[\w-]+\.[a-z]+\b|(?:{_WORDS})\b)"""
_OPTION = re.compile(rf"--(?P<name>[a-z]+(?:-[a-z]+)*)(?:[ =]{_VALUE})?")
_COMMAND = re.compile(r"\bgearsearch (find|check|chart|sheet|divide|pair|extend)\b")
_SHOP_COMMANDS = {"gearsearch shop show": "show()", "gearsearch shop measure": "the command gearsearch shop measure"}
_NAMES = {"circle": "circles", "from": "low", "to": "high", "shop": "open_shop", "picture": "plot", "out": "save"}
_NUMBER = re.compile(r"[0-9]+(?:\.[0-9]+)?")
_SEVERAL = re.compile(r"[0-9]+(?:[-,][0-9]+)+")


def in_python(text: str) -> str:
    """A sentence with options and commands as Python spells them."""
    for command, spelled in _SHOP_COMMANDS.items():
        text = text.replace(command, spelled)
    return _COMMAND.sub(r"\1()", _OPTION.sub(_spelled, text)).replace("() … save(", "(…).save(")


def _spelled(found: re.Match[str]) -> str:
    name = found["name"].replace("-", "_")
    name, value = _NAMES.get(name, name), found["value"]
    if name in ("open_shop", "plot", "save"):
        return f"{name}({repr(value) if value else ''})"
    if value is None:
        return name
    if _NUMBER.fullmatch(value):
        return f"{name}={value}"
    if _SEVERAL.fullmatch(value):
        return f"{name}=({', '.join(re.split('[-,]', value))})"
    bare = value.strip("\"'")
    return f'{name}="{bare}"' if '"' not in bare else f"{name}='{bare}'"


def spelled(method: Method) -> Method:
    """A method whose refusals come in Python's spelling, unless its object says ``as_typed``: it serves a command."""

    @wraps(method)
    def called(self: Any, *args: object, **named: object) -> object:
        try:
            return method(self, *args, **named)
        except GearsearchError as error:
            if not self.as_typed:
                error.message, error.remedy = in_python(error.message), in_python(error.remedy)
            raise

    return cast("Method", called)
