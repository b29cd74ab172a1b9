"""Every way to be wrong gets one message that says what was given, why it cannot be, and what would do."""

import ast
import importlib.util
import re
from contextlib import chdir
from pathlib import Path
from tempfile import TemporaryDirectory

import messages
import pytest

ROWS = messages.table()
WHAT_WOULD_DO = re.compile(
    r"help: \S|^  .*(: write |; (allowed|give|write|measure|add|fill|put|close|look|take|did you mean|it belongs))",
    re.MULTILINE,
)
ALL = [row for group in ("typed", "shop_file", "python") for row in ROWS[group]]


DRAWS = importlib.util.find_spec("matplotlib") is not None


@pytest.fixture(scope="module")
def reached():
    """For each row that was tried, the (file, line) of every place it went through on the way to its message."""
    return {}


def tried(number, reached):
    """What a row is told, its places noted; a command must leave the folder as it was."""
    messages.prepare(ALL[number])
    before = sorted(Path().iterdir())
    with messages.watched(reached.setdefault(number, set())):
        said = messages.said_to(ALL[number])
    assert "call" in ALL[number] or sorted(Path().iterdir()) == before
    return said


@pytest.mark.parametrize("number", range(len(ALL)))
def test_every_way_to_be_wrong_gets_its_message(number, reached):
    """``python tests/messages.py`` writes the messages anew when they are meant to change."""
    row = ALL[number]
    if row.get("draws") and not DRAWS:
        pytest.skip("matplotlib is not installed")
    code, out, err = tried(number, reached)
    assert (code, out) == (2, "")
    assert messages.shown(row, err) == row["says"]


@pytest.mark.skipif(not DRAWS, reason="matplotlib is not installed")
def test_no_message_of_the_package_is_left_out(reached):
    """Each place in the package where a mistake is found is gone through by a row above."""
    for number in set(range(len(ALL))) - set(reached):
        with TemporaryDirectory() as folder, chdir(folder):
            tried(number, reached)
    places = set().union(*reached.values())
    missed = [
        f"{file}:{first}: {source}"
        for file, first, last, source in messages.sites()
        if not any((file, line) in places for line in range(first, last + 1)) and not _is_said(source)
    ]
    assert missed == []


def test_every_message_says_what_would_do():
    for row in ALL:
        assert WHAT_WOULD_DO.search(row["says"]), row["says"]


def _is_said(source):
    """Whether a note that is added to a plain list of mistakes stands in the table, whatever it holds of the user's."""
    if "problems.append(" not in source:
        return False
    (said,) = ast.parse(source, mode="eval").body.args
    parts = said.values if isinstance(said, ast.JoinedStr) else [said]
    pattern = "".join(re.escape(part.value) if isinstance(part, ast.Constant) else ".*" for part in parts)
    return any(re.search(pattern, row["says"]) for row in ALL)
