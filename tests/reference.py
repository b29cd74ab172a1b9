"""The command reference, made from the parser; ``python tests/reference.py`` writes it and the manual page anew."""

import argparse
import re
import sys
import textwrap
from pathlib import Path

import gearsearch.commands
from gearsearch.cli import build_parser

REFERENCE = Path(gearsearch.commands.__file__).with_name("README.md")
HEAD = """\
# Every command and every option

Made from the program itself by `python tests/reference.py`; what stands here is what `gearsearch COMMAND --help`
prints. The [README](../../README.md) shows the commands at work, with their answers.

"""
GROUPS = {"positional arguments": "what is given first", "options": "other options"}
ORDER = {"positional arguments": 0, "options": 2}
ANY = "gearsearch COMMAND --help"
EXAMPLE = re.compile(r"  (gearsearch .*?)(?: {2,}(.*))?")


def reference():
    """The whole text."""
    parser = build_parser()
    commands = _subparsers(parser)
    rows = [f"| [`{command.prog}`](#{_anchor(command.prog)}) | {said} |" for command, said in commands]
    listed = "\n".join(["| command | what it is for |", "|---|---|", *rows])
    parts = [HEAD + _paragraph(parser.description), listed, *_tail(parser)]
    for command, _ in commands:
        parts += _section(command, "##")
        for inner, _ in _subparsers(command):
            parts += _section(inner, "###")
    return "\n\n".join(parts) + "\n"


def parsers():
    """Every parser there is: the whole, each command, each command of a command."""
    whole = build_parser()
    commands = [command for command, _ in _subparsers(whole)]
    return [whole, *commands, *(inner for command in commands for inner, _ in _subparsers(command))]


def examples(parser):
    """The example commands of a help text, without their remarks."""
    lines = (parser.epilog or "").splitlines()
    return [match[1] for match in map(EXAMPLE.fullmatch, lines) if match]


def options(parser):
    """Every option and every word of a parser but ``--help`` and the choice of a command."""
    return [
        action
        for action in parser._actions
        if not isinstance(action, (argparse._HelpAction, argparse._SubParsersAction))
    ]


def _subparsers(parser):
    """Each command of a parser with what its list says of it."""
    for action in parser._actions:
        if isinstance(action, argparse._SubParsersAction):
            said = {choice.dest: choice.help for choice in action._choices_actions}
            return [(command, said[name]) for name, command in action.choices.items()]
    return []


def _section(parser, level):
    typed = f"```\n{usage(parser)}\n```"
    return [f"{level} {parser.prog}", _paragraph(parser.description), typed, *_tables(parser), *_tail(parser)]


def usage(parser):
    """A command as it is typed."""
    if _subparsers(parser):
        return f"{parser.prog} {'|'.join(command.prog.split()[-1] for command, _ in _subparsers(parser))} …"
    needed = [written(action) for action in options(parser) if action.required and action.option_strings]
    words = [written(action) for action in options(parser) if not action.option_strings]
    free = ["[options]"] if any(not action.required for action in options(parser)) else []
    return " ".join([parser.prog, *words, *needed, *free])


def written(action):
    """An option as it is typed, with what follows it."""
    metavar = action.metavar or "|".join(action.choices or ())
    if not action.option_strings:
        return f"[{metavar}]" if action.nargs == "?" else metavar
    if action.nargs == 0:
        return action.option_strings[0]
    return " ".join([action.option_strings[0], *[metavar] * (action.nargs or 1)])


def _tables(parser):
    wanted = options(parser)
    for group in sorted(parser._action_groups, key=lambda group: ORDER.get(group.title, 1)):
        actions = [action for action in group._group_actions if action in wanted]
        if actions:
            yield f"**{GROUPS.get(group.title, group.title)}**"
            yield "\n".join(["| type | what it says | if left out |", "|---|---|---|", *map(_row, actions)])


def _row(action):
    usual = f"`{action.default}`" if action.default else ""
    said = (action.help % vars(action)).removesuffix(f" ({action.default})")
    needed = "needed" if action.required and action.option_strings else usual
    return f"| {_cell('`' + written(action) + '`')} | {_cell(said)} | {needed} |"


def _cell(text):
    return text.replace("|", "\\|")


def _tail(parser):
    """Examples in a block of their own, the rest of the epilog as paragraphs."""
    for part in (parser.epilog or "").split("\n\n"):
        if part.startswith("example"):
            first, *lines = part.splitlines()
            yield f"**{first.rstrip(':')}**"
            yield "\n".join(["```", *(line.removeprefix("  ") for line in lines), "```"])
        elif part:
            yield _paragraph(part)


def _paragraph(text):
    return textwrap.fill(text, 120, break_long_words=False, break_on_hyphens=False)


def _anchor(title):
    return title.replace(" ", "-")


if __name__ == "__main__":
    import man

    REFERENCE.write_text(reference(), encoding="utf-8")
    man.PAGE.write_text(man.page(), encoding="utf-8")
    sys.stdout.write("README.md and gearsearch.1 in gearsearch/commands are written anew\n")
