"""The argument parser, whose mistakes are said like every other mistake."""

from __future__ import annotations

import argparse
import re
import sys
from collections.abc import Iterable, Mapping, Sequence
from difflib import get_close_matches
from itertools import pairwise
from typing import Any, NoReturn

from ..base.errors import GearsearchError
from ..shop.trains import is_pair

_CHOICE = re.compile(r"argument (.+?): invalid choice: (.+?)(?:, maybe you meant .*)? \(choose from .*\)", re.DOTALL)
_VALUE = re.compile(r"argument (.+?): expected .*argument.*", re.DOTALL)
_NO_VALUE = re.compile(r"argument (.+?): ignored explicit argument (.+)", re.DOTALL)
_NEEDED = re.compile(r"the following arguments are required: (.+)", re.DOTALL)
_SIGNED_PAIR = re.compile(r"-[0-9]+[/:](?:\([0-9]+\)[/:])*[0-9]+")
# what the trade calls an option by another name
_ALSO = {
    "--pitch": "--thread",
    "--tpi": "--thread",
    "--dia": "--diameter",
    "--tol": "--tolerance",
    "--gears": "--use",
    "--file": "--out",
    "--face": "--length",
    "--width": "--length",
}
# what another command does, or the terminal itself
_ELSEWHERE = {
    "--train": 'a train you have in mind is judged by gearsearch check "100/24 32/48"',
    "--out": "an answer goes to a file with > answer.txt at the end of the command",
}
# what a command's option was called before it meant one thing over all commands
_RENAMED = {
    "gearsearch extend": {"--teeth": "--sizes", "--gears": "--add"},
    "gearsearch divide": {"--rise": "--step-rise", "--face": "--undercut"},
    "gearsearch chart look": {"--near": "--count"},
}
_EXAMPLE = re.compile(r"^  (gearsearch .*?)(?: {2,}.*)?$", re.MULTILINE)


class _Help(argparse.RawDescriptionHelpFormatter):
    """Help as wide as the terminal; examples stay as they are typed, what is said of one goes under it without room."""

    def _fill_text(self, text: str, width: int, indent: str) -> str:
        return "\n\n".join(self._paragraph(part, width, indent) for part in text.split("\n\n"))

    def _paragraph(self, text: str, width: int, indent: str) -> str:
        if not text.startswith("example"):
            return super(argparse.RawDescriptionHelpFormatter, self)._fill_text(text, width, indent)
        return "\n".join(
            line if len(line) <= width + 2 else re.sub(r"(?<=\S) {2,}(?=\S)", "\n" + " " * 6, line)
            for line in text.splitlines()
        )


class Parser(argparse.ArgumentParser):
    """An argument parser that raises what the user did wrong, with what would do."""

    def __init__(self, **options: Any) -> None:
        options.setdefault("formatter_class", _Help)
        super().__init__(allow_abbrev=False, **options)

    for_a_number = ""  # what to do with a number that belongs to nothing; empty: what most commands would

    def parse_args(self, args: Sequence[str] | None = None, namespace: None = None) -> argparse.Namespace:  # type: ignore[override]
        """Parse every word. Raises GearsearchError for a word that belongs to nothing."""
        words = list(sys.argv[1:] if args is None else args)
        self._refuse_before_command(words)
        _refuse_signed_pair(words)
        parsed, left = self.parse_known_args(words, namespace)
        _take_pairs(parsed, left, words)
        if left:
            self._chosen(parsed)._refuse(left[0])
        self._chosen(parsed)._refuse_twice(words)
        return parsed

    def error(self, message: str) -> NoReturn:
        """Raise instead of printing usage: the caller prints one message and ends with exit code 2."""
        for pattern, said, code in (
            (_CHOICE, self._choice, "unknown-word"),
            (_VALUE, self._value, "value-missing"),
            (_NO_VALUE, self._no_value, "value-not-taken"),
            (_NEEDED, self._needed, "needed"),
        ):
            if match := pattern.fullmatch(message):
                raise GearsearchError(*said(*match.groups()), code=code)
        raise GearsearchError(message, f"see {self.prog} --help")

    def exit(self, status: int = 0, message: str | None = None) -> NoReturn:
        """End after a help text, once it is out."""
        sys.stdout.flush()
        super().exit(status, message)

    def _refuse_before_command(self, words: list[str]) -> None:
        """Refuse a command's option that stands before it, whose value would be taken for the command."""
        name = (words or [""])[0].partition("=")[0]
        if name.startswith("-") and name not in self._option_string_actions:
            command = next((word for word in words if word in self._commands()), "find")
            raise GearsearchError(
                f"{name[:40]} stands where the command should",
                f"write the command first, as in {self.prog} {command} --help",
                code="command-first",
            )

    def _refuse(self, word: str) -> NoReturn:
        if word[:1].isdigit() and self.for_a_number:
            raise GearsearchError(f"unexpected {word[:40]!r}", self.for_a_number, code="stray-word")
        if not word.startswith("-"):
            is_lead = word[:1].isdigit() and "--lead" in self._option_string_actions
            lead = f"a lead goes with --lead, as in --lead {word[:40]}; " if is_lead else ""
            raise GearsearchError(
                f"unexpected {word[:40]!r}",
                f'{lead}write a value in one piece, as in 412.5mm, or quote it, as in "0.02 mm over 60 mm"; '
                f"see {self.prog} --help",
                code="stray-word",
            )
        name = word.partition("=")[0]
        if new := _RENAMED.get(self.prog, {}).get(name):
            raise GearsearchError(
                f"{name} of {self.prog} is called {new}", f"write {new} in its place", code="renamed-option"
            )
        raise GearsearchError(
            f"{self.prog} has no option {name[:40]}",
            f"{self._instead_of(name)}see {self.prog} --help",
            code="unknown-option",
        )

    def _instead_of(self, name: str) -> str:
        elsewhere = _ELSEWHERE.get(name)
        return f"{elsewhere}; " if elsewhere else _meant(name, self._option_string_actions)

    def _refuse_twice(self, words: list[str]) -> None:
        """Refuse an option that is given twice, of which argparse would silently keep the last."""
        given = [word.partition("=")[0] for word in words]
        for action in self._actions:
            if type(action).__name__ == "_StoreAction" and sum(given.count(name) for name in action.option_strings) > 1:
                raise GearsearchError(
                    f"{action.option_strings[0]} is given twice", "keep the one you mean", code="given-twice"
                )

    def _choice(self, name: str, value: str) -> tuple[str, str]:
        choices = [str(choice) for choice in self._named(name).choices or ()]
        what = f"{self.prog} has no {name.lower()} {value}" if name.isupper() else f"{name} cannot be {value}"
        if name.isupper() and value == "'help'":
            return what, f"type {self.prog} --help, or {self.prog} {choices[0]} --help for one of {', '.join(choices)}"
        return what, f"{_meant(value.strip(chr(39)), choices)}use one of: {', '.join(choices)}"

    def _value(self, name: str) -> tuple[str, str]:
        action = self._named(name)
        count = action.nargs if isinstance(action.nargs, int) else 1
        metavar = " ".join([str(action.metavar or "|".join(action.choices or ()))] * count)
        said = (action.help or "") % vars(action)
        needs = "a value" if count == 1 else f"{count} values"
        minus = f", or {name}=-… where it begins with a minus sign" if count == 1 else ""
        return f"{name} needs {needs}", f"write {name} {metavar}{minus}: {said}"

    def _no_value(self, name: str, value: str) -> tuple[str, str]:
        return f"{name} takes no value, and {value} was given", f"write {name} alone"

    def _needed(self, names: str) -> tuple[str, str]:
        example = _EXAMPLE.search(self.epilog or "")
        remedy = f"as in: {example[1]}" if example else f"see {self.prog} --help"
        return f"{self.prog} needs {names.replace(', ', ' and ')}", remedy

    def _named(self, name: str) -> argparse.Action:
        """The option or word that argparse calls so."""
        for action in self._actions:
            if name in ("/".join(action.option_strings), action.metavar, action.dest):
                return action
        raise AssertionError(name)

    def _commands(self) -> Mapping[str, Parser]:
        """The parsers of the commands by name."""
        return next((each.choices for each in self._actions if isinstance(each, argparse._SubParsersAction)), {})

    def _chosen(self, parsed: argparse.Namespace) -> Parser:
        """The parser of the command that was asked for, and of its own command where it has some."""
        for action in self._actions:
            if isinstance(action, argparse._SubParsersAction):
                name = getattr(parsed, action.dest)
                return self if name is None else action.choices[name]._chosen(parsed)
        return self


def _refuse_signed_pair(words: list[str]) -> None:
    """Refuse a pair with a sign, which argparse takes for an option; behind an option it may be another value."""
    for before, word in pairwise(["", *words]):
        if _SIGNED_PAIR.fullmatch(word) and not before.startswith("-"):
            raise GearsearchError(
                f"{word[:40]!r} begins with a minus sign, and a tooth count has none",
                f"write the pair as {word.lstrip('-')[:40]}",
                code="train",
            )


def _take_pairs(parsed: argparse.Namespace, left: list[str], words: list[str]) -> None:
    """Let a train be typed without quotes: the pairs that follow its first one belong to it."""
    train = getattr(parsed, "train", None)
    at = words.index(train) + 1 if train in words else len(words)
    while left and words[at : at + 1] == left[:1] and is_pair(left[0]):
        parsed.train += f" {left.pop(0)}"
        at += 1


def _meant(word: str, known: Iterable[str]) -> str:
    names = list(known)
    also = [_ALSO[word]] if _ALSO.get(word) in names else []
    part = [name for name in names if word.strip("-") in name.split("-")] if len(word) > 3 else []
    near = also or part or get_close_matches(word, names, 1)
    return f"did you mean {' or '.join(near[:2])}? " if near else ""
