"""Refusals in Python's spelling: ``hand="right"`` where the command line has ``--hand right``."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from functools import wraps
from typing import TypeVar, cast

from .errors import GearsearchError

Method = TypeVar("Method", bound=Callable[..., object])

_WORDS = "right|left|either|must|show|skip|closest|easiest|parallel|crossed"
_VALUE = rf"""(?P<value>"[^"]*"|'[^']*'|[0-9][^\s,;)]*|[\w-]+\.[a-z]+\b|(?:{_WORDS})\b)"""
_OPTION = re.compile(rf"--(?P<name>[a-z]+(?:-[a-z]+)*)(?:[ =]{_VALUE})?")
_COMMAND = re.compile(r"\bgearsearch (find|check|chart|sheet|divide|pair|extend)\b")
_SHOP_COMMANDS = {"gearsearch shop show": "show()", "gearsearch shop measure": "the command gearsearch shop measure"}
_NAMES = {"circle": "circles", "from": "low", "to": "high", "shop": "open_shop", "picture": "plot", "out": "save"}
_NAMES |= {"cluster": "executor"}
_FLAGS = ("overwrite", "resume", "landscape")
_THREAD = re.compile(rf"--thread {_VALUE}(?: --starts (?P<starts>[0-9]+))?")
_TYPED = ContextVar("typed", default=False)
_RANGE = re.compile(r"([0-9]+):([0-9]+)")
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
        return f"{name}=True" if name in _FLAGS else name
    if name == "sizes" and (ends := _RANGE.fullmatch(value)):
        return f"sizes=range({ends[1]}, {int(ends[2]) + 1})"
    if _NUMBER.fullmatch(value):
        return f"{name}={value}"
    if _SEVERAL.fullmatch(value):
        return f"{name}=({', '.join(re.split('[-,]', value))})"
    bare = value.strip("\"'")
    return f'{name}="{bare}"' if '"' not in bare else f"{name}='{bare}'"


def _as_wanted(text: str) -> str:
    """The lead as the argument of a method that takes it as ``wanted``."""
    return _THREAD.sub(_thread, text).replace("--lead ", "--wanted ")


def _thread(found: re.Match[str]) -> str:
    starts = f", starts={found['starts']}" if found["starts"] else ""
    bare = found["value"].strip("\"'")
    return f'gearsearch.thread("{bare}"{starts})'


@contextmanager
def as_typed() -> Iterator[None]:
    """While this lasts refusals name options as the command line has them: a command is run."""
    before = _TYPED.set(True)
    try:
        yield
    finally:
        _TYPED.reset(before)


def spelled(method: Method) -> Method:
    """A method or function whose refusals come in Python's spelling, except while a command is run."""
    names = method.__code__.co_varnames[: method.__code__.co_argcount]

    @wraps(method)
    def called(*args: object, **named: object) -> object:
        try:
            return method(*args, **named)
        except GearsearchError as error:
            if not _TYPED.get():
                for part in ("message", "remedy"):
                    text: str = getattr(error, part)
                    setattr(error, part, in_python(_as_wanted(text) if "wanted" in names else text))
            raise

    return cast("Method", called)
