"""The command reference is what the parser says, and the examples of every help text run."""

import importlib.util
import io
import os
import re
import shlex

import man
import pytest
import readme
import reference
from examples import SLOW, prepare
from width import at_every_width, widest

from gearsearch.cli import COMMANDS, main

DRAWS = importlib.util.find_spec("matplotlib") is not None
EXAMPLES = sorted({line for parser in reference.parsers() for line in reference.examples(parser)} - {reference.ANY})
LONG = "chart every --out leads.parquet"


def test_the_reference_and_the_manual_page_are_what_the_parser_says():
    """``python tests/reference.py`` writes them anew when they are meant to change."""
    assert reference.REFERENCE.read_text(encoding="utf-8") == reference.reference()
    assert man.PAGE.read_text(encoding="utf-8") == man.page()


def test_every_command_and_option_stands_in_the_reference():
    text = reference.REFERENCE.read_text(encoding="utf-8")
    for parser in reference.parsers():
        section = re.split(rf"^#+ {parser.prog}$", text, flags=re.MULTILINE)[-1].split("\n## ")[0]
        for action in reference.options(parser):
            written = action.option_strings[0] if action.option_strings else action.metavar
            assert written in section or action.dest == "version", (parser.prog, written)


def test_every_option_and_every_command_has_a_help_text():
    for parser in reference.parsers():
        assert parser.description, parser.prog
        for action in reference.options(parser):
            assert action.help, (parser.prog, action.dest)


def test_the_pages_show_some_of_the_examples():
    pages = "\n".join(page.read_text(encoding="utf-8") for page in readme.PAGES.values())
    assert sum(line in pages for line in EXAMPLES) >= 10


def test_every_command_has_examples():
    for parser in reference.parsers():
        assert reference.examples(parser), parser.prog
    assert {line.split()[1] for line in EXAMPLES} == set(COMMANDS)


@pytest.mark.parametrize(
    "line", [pytest.param(line, marks=[pytest.mark.slow] * any(s in line for s in SLOW)) for line in EXAMPLES]
)
def test_every_example_of_the_help_texts_runs(line, capsys, monkeypatch):
    monkeypatch.setenv("COLUMNS", "80")
    words = shlex.split(line.split(" > ")[0])[1:]
    if not DRAWS and any(word.endswith((".pdf", ".svg", ".png")) for word in words):
        pytest.skip("matplotlib is not installed")
    if LONG in line and os.environ.get("NUMBA_DISABLE_JIT") == "1":
        pytest.skip("interpreted, the loops over every lead take too long")
    prepare(words)
    capsys.readouterr()
    out = io.StringIO()
    with at_every_width():
        code = main(words, out)
    said = capsys.readouterr()
    assert code in (0, 1), said.err
    assert "Traceback" not in said.err
    assert out.getvalue() or "--out" in words
    if "--format" not in words and words[0] != "completion":  # which are for programs
        assert widest(out.getvalue() + said.err) <= 80


@pytest.mark.parametrize("name", COMMANDS)
def test_the_example_that_stands_for_every_command_runs(name, capsys):
    assert reference.ANY in reference.examples(reference.parsers()[0])
    with pytest.raises(SystemExit) as stopped:
        main([name, "--help"])
    assert stopped.value.code == 0
    assert capsys.readouterr().out.startswith(f"usage: gearsearch {name} ")
