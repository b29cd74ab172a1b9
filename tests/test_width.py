"""No line is wider than the terminal, or than 80 letters in a pipe: helps, charts, what the pages show."""

import fcntl
import os
import pty
import shlex
import struct
import subprocess
import sys
import termios

import pytest
import readme
import reference
from commands import run
from width import WIDTHS, widest

FIND = [sys.executable, "-m", "gearsearch", *shlex.split("find --helix-angle 20 --diameter 50mm --length 60mm")]
BLOCKS = [match for page in readme.PAGES.values() for match in readme.BLOCK.finditer(page.read_text("utf-8"))]
SHOWN = [match["body"] for match in BLOCKS if match["kind"] == "console" and "--format" not in match["body"]]


@pytest.mark.parametrize("parser", reference.parsers(), ids=lambda parser: parser.prog)
@pytest.mark.parametrize("columns", WIDTHS)
def test_no_help_text_is_wider_than_the_terminal(parser, columns, monkeypatch):
    monkeypatch.setenv("COLUMNS", str(columns))
    assert widest(parser.format_help()) <= columns


def test_no_output_on_a_page_is_wider_than_a_terminal():
    assert SHOWN
    for body in SHOWN:
        assert widest(body.partition("\n")[2]) <= WIDTHS[0], body


@pytest.mark.parametrize("columns", WIDTHS)
@pytest.mark.parametrize(
    "words", ["every --from 400mm --to 410mm", "list iso-54", "grid --diameters 10,20 --helix-angles 10:45:5"]
)
def test_no_chart_on_the_screen_is_wider_than_it_is(columns, words, monkeypatch):
    monkeypatch.setenv("COLUMNS", str(columns))
    code, text = run("chart", *shlex.split(words))
    assert code == 0
    assert WIDTHS[0] - 20 <= widest(text) <= columns


def test_in_a_pipe_a_line_has_80_letters():
    env = {name: value for name, value in os.environ.items() if name != "COLUMNS"}
    said = subprocess.run(FIND, env=env, capture_output=True, text=True, check=True)
    assert 70 <= widest(said.stdout) <= 80


@pytest.mark.parametrize("columns", WIDTHS)
def test_on_a_terminal_a_line_is_as_wide_as_it_is(columns):
    ours, theirs = pty.openpty()
    fcntl.ioctl(theirs, termios.TIOCSWINSZ, struct.pack("HHHH", 24, columns, 0, 0))
    env = {name: value for name, value in os.environ.items() if name != "COLUMNS"}
    with subprocess.Popen(FIND, env=env, stdin=theirs, stdout=theirs, stderr=theirs):
        os.close(theirs)
        said = b""
        while part := _read(ours):
            said += part
    os.close(ours)
    assert columns - 12 <= widest(said.decode().replace("\r\n", "\n").split("\r")[-1]) <= columns


def _read(terminal):
    """What has been printed; nothing once the program has ended, which a terminal tells as an error."""
    try:
        return os.read(terminal, 65536)
    except OSError:
        return b""


@pytest.mark.parametrize("columns", WIDTHS)
def test_a_refusal_is_no_wider_than_the_terminal(columns, monkeypatch, capsys):
    monkeypatch.setenv("COLUMNS", str(columns))
    for watched in (True, False):
        monkeypatch.setattr(sys.stderr, "isatty", lambda watched=watched: watched)
        assert run("find", "--lead", "412.5", "27in")[0] == 2
        said = capsys.readouterr().err
        assert "help: " in said
        assert (widest(said) <= columns) == watched
