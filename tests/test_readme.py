"""Every command and snippet of the README does what the README says."""

import importlib
import inspect
import re
import subprocess
import sys

import readme

from gearsearch.cli import COMMANDS

TEXT = readme.README.read_text(encoding="utf-8")


def test_every_command_prints_what_the_readme_shows():
    """``python tests/readme.py`` writes the outputs anew when they are meant to change."""
    for line, shown, printed in readme.outputs(TEXT):
        assert shown == printed, line


def test_every_snippet_runs_in_the_folder_where_the_commands_have_run():
    readme.outputs(TEXT)
    snippets = readme.SNIPPET.findall(TEXT)
    assert snippets
    for snippet in snippets:
        done = subprocess.run([sys.executable, "-c", snippet], capture_output=True, text=True, check=True)
        assert done.stderr == ""
        assert len(done.stdout.splitlines()) == 3


def test_every_library_call_that_is_named_is_there():
    rows = re.findall(r"^\| `(\w+)` \| (.*?) \| (.*)\|$", TEXT.split("| library call |")[1], re.MULTILINE)
    assert {command for command, *_ in rows} == set(COMMANDS)
    for _, calls, takes in rows:
        for module, name in re.findall(r"`([a-z_.]+)\.(\w+)`", calls + takes):
            called = getattr(importlib.import_module(f"gearsearch.{module}"), name)
            assert "Parameters" in inspect.getdoc(called) or len(inspect.signature(called).parameters) < 2, name


def test_every_command_has_its_place_in_the_readme():
    for name in COMMANDS:
        assert f"gearsearch {name}" in TEXT, name


def test_the_readme_opens_with_the_job_in_one_paragraph():
    title, paragraph = TEXT.split("\n\n")[:2]
    assert title == "# gearsearch"
    assert not paragraph.startswith("#")


def test_the_two_set_up_commands_stand_alone():
    commands = re.findall(r"```\n(python3 -m venv .*)\n```", TEXT)
    assert len(commands) == 2
