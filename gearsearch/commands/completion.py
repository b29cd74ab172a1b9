"""``gearsearch completion``: what makes a shell complete commands and options."""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from typing import TextIO

from .parser import Parser

SHELLS = ("bash", "zsh", "fish")
EXAMPLES = """\
examples:
  gearsearch completion bash > gearsearch.bash
  gearsearch completion zsh > ~/.zfunc/_gearsearch
  gearsearch completion fish > ~/.config/fish/completions/gearsearch.fish

A new shell then completes commands, options, their words and files with the Tab
key. The file for bash goes into ~/.local/share/bash-completion/completions. For
zsh the folder must be in fpath before compinit, as in:
fpath+=~/.zfunc; autoload -U compinit; compinit. For one shell alone:
eval "$(gearsearch completion bash)"."""


def add(parser: Parser) -> None:
    """Say what the command is for, and add its options."""
    parser.description = "Print what makes a shell complete commands and options with the Tab key."
    parser.epilog = EXAMPLES
    parser.add_argument("shell", metavar="SHELL", choices=SHELLS, help="bash, zsh or fish")


def run(args: argparse.Namespace, out: TextIO) -> int:
    """Answer the command; 0 when done."""
    import shtab

    for action in _actions(args.whole):
        if action.metavar in ("FILE", "LIST"):
            action.complete = shtab.FILE  # type: ignore[attr-defined]
    out.write(shtab.complete(args.whole, args.shell).rstrip("\n") + "\n")
    return 0


def _actions(parser: argparse.ArgumentParser) -> Iterator[argparse.Action]:
    """Every option of a parser and of its commands."""
    for action in parser._actions:
        yield action
        if isinstance(action, argparse._SubParsersAction):
            for command in action.choices.values():
                yield from _actions(command)
