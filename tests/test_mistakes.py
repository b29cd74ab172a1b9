"""Every kind of mistake is refused: exit code 2, the mistake named, something that would do, and nothing lost."""

import argparse
import importlib.util
import io
import re
import shlex
import tomllib
from contextlib import redirect_stderr
from fractions import Fraction
from pathlib import Path
from unittest.mock import patch

import pytest
import reference

from gearsearch import cli
from gearsearch.base.errors import GearsearchError, ShopError
from gearsearch.shop.reader import DEMO_TEXT, demo_shop

TABLE = tomllib.loads(Path(__file__).with_name("mistakes.toml").read_text(encoding="utf-8"))
DRAWS = importlib.util.find_spec("matplotlib") is not None
OPTION = re.compile(r"(?<!\S)(--[a-z-]+)((?: (?:\d\S*|\"[^\"]*\"))*)")
COMMAND = re.compile(r"(?:as in:?|see) (gearsearch [a-z]+[^;\n]*)")


def edited(changes):
    """The demo's shop file with one piece of text after another replaced; each must stand there once."""
    text = DEMO_TEXT
    for old, new in changes:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    return text


def prepare(row):
    """Put what a row needs into this folder, which must be empty."""
    for name in row.get("folders", ()):
        Path(name).mkdir()
    for name, text in row.get("files", {}).items():
        Path(name).write_text(text, encoding="utf-8", newline="")
    for name, code in row.get("bytes", {}).items():
        Path(name).write_bytes(bytes.fromhex(code))
    for line in row.get("before", ()):
        assert typed(line)[0] == 0
    if "change" in row:
        Path("shop.toml").write_text(edited(row["change"]), encoding="utf-8")


def typed(line):
    """(exit code, stdout, stderr, error) of a command as it is typed behind ``gearsearch``."""
    caught, run = [], cli._run

    def noting(argv, out):
        try:
            return run(argv, out)
        except GearsearchError as error:
            caught.append(error)
            raise

    out, err = io.StringIO(), io.StringIO()
    with patch.object(cli, "_run", noting), redirect_stderr(err):
        code = cli.main(shlex.split(line), out)
    return code, out.getvalue(), err.getvalue(), caught[0] if caught else None


def contents():
    """Every file in this folder, with what it holds."""
    return {path: path.read_bytes() if path.is_file() else None for path in Path().rglob("*")}


def parser_of(words):
    """The parser of a typed command, and of its own command where it has some."""
    parser = cli.build_parser()
    for word in words:
        for action in parser._actions:
            if isinstance(action, argparse._SubParsersAction) and word in action.choices:
                parser = action.choices[word]
    return parser


def check_hints(line, text):
    """Every option that a message speaks of is there and takes its value, and every command in it parses."""
    parsers, given = [parser_of(line.split()), *reference.parsers()], set(re.findall(r"--[a-z-]+", line))
    for name, values in OPTION.findall(text):
        if name not in given | {"--help", "--shop"}:
            parser = next(each for each in parsers if name in each._option_string_actions)
            action = parser._option_string_actions[name]
            for value in shlex.split(values):
                assert action.nargs != 0, (name, value)
                assert action.choices is None or parser._get_value(action, value) in action.choices, (name, value)
    for hint in COMMAND.findall(text):
        words = shlex.split(hint)[1:]
        if words[-1] == "--help":
            assert parser_of(words).prog.split()[1:] == words[:-1]
        else:
            cli.build_parser().parse_args(words)


def check_error(row, error):
    assert error.code == row["code"]
    assert [fact for fact in row["names"] if fact not in str(error)] == []
    if isinstance(error, ShopError):
        assert all(re.search("; |: write |help: ", problem) for problem in error.problems)
    else:
        assert error.remedy
    assert "\n" not in error.remedy
    assert re.fullmatch("[a-z]+(-[a-z]+)*", error.code)


@pytest.mark.parametrize("row", TABLE["typed"] + TABLE["shop_file"], ids=str)
def test_a_mistake_is_refused_by_name_with_what_would_do_and_nothing_is_lost(row):
    if row.get("draws") and not DRAWS:
        pytest.skip("matplotlib is not installed")
    prepare(row)
    before, line = contents(), row.get("type", "shop show")
    code, out, err, error = typed(line)
    assert (code, out) == (2, "")
    assert contents() == before
    assert err == f"gearsearch: {error}\n"
    check_error(row, error)
    check_hints(line, str(error))


@pytest.mark.parametrize("row", TABLE["python"], ids=lambda row: row["call"][-60:])
def test_a_mistake_in_python_is_refused_by_name_with_what_would_do(row):
    with pytest.raises(GearsearchError) as caught:
        exec(row["call"], {"demo": demo_shop, "F": Fraction})
    check_error(row, caught.value)


AS_GIVEN = ("--date", "--title", "--name")
BASES = {
    "find": "--lead 412mm",
    "check": '"80/44 48/100" --lead 412mm',
    "chart every": "--from 400mm --to 402mm --out a.md",
    "chart list": "iso-261 --out a.md",
    "chart grid": "--diameters 10 --helix-angles 20 --out a.md",
    "sheet": "--lead 412mm",
    "divide": "42",
    "pair": "--gear-module 2 --teeth 20,44 --helix-angle 20",
    "extend": "--lead 412mm",
    "shop new": "",
    "shop show": "",
    "shop measure": "",
}
INSTEAD = {  # of --lead: what makes the option belong
    "--helix-angle": "--diameter 50mm",
    "--lead-angle": "--diameter 50mm",
    "--rise": "--per 5",
    "--per": "--rise 1mm",
    "--thread": "",
    "--worm-module": "",
    "--worm-dp": "",
    "--gear-module": "--teeth 20 --helix-angle 15",
    "--gear-dp": "--teeth 20 --helix-angle 15",
    "--teeth": "--gear-module 2 --helix-angle 15",
}
VALUED = [
    (command, action.option_strings[0])
    for command in BASES
    for action in parser_of(command.split())._actions
    if action.option_strings and type(action).__name__ in ("_StoreAction", "_AppendAction") and action.nargs is None
]


@pytest.mark.parametrize(("command", "option"), VALUED)
def test_nonsense_for_an_option_is_refused_and_told(command, option):
    """Where it is a text that is printed as given, such as a date, nothing is nonsense."""
    base = re.sub(rf"{option} \S+", "", BASES[command])
    if option in INSTEAD and command in ("find", "check", "sheet"):
        base = base.replace("--lead 412mm", INSTEAD[option])
    code, out, err, error = typed(f"{command} {base} {option} gibberish")
    if option in AS_GIVEN:
        assert code != 2, err
        return
    assert (code, out) == (2, ""), err
    assert "gibberish" in str(error).lower() or option in str(error)
    assert not list(Path().iterdir())
