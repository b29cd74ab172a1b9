"""What the README and the pages beside the code show, done again in order; ``python tests/readme.py`` writes it anew.

Each page has a folder of its own, with the shop file of ``gearsearch shop new`` in it; that of the README is the
project's, of which it needs ``tables``.

- A block ``console`` holds one command and what it prints; a line ``…`` stands for those left out.
- A block ``python`` is run after those before it, as they are typed; its last lines, as comments, are what it prints.
- A block whose first line names a file too (``toml lathe.toml``) is that file.
- A command in a sentence is run, and must be answered; not one that is the name of a link.
"""

import io
import os
import re
import shlex
import shutil
import sys
import tempfile
from contextlib import chdir, redirect_stderr, redirect_stdout
from importlib.util import find_spec
from pathlib import Path
from unittest.mock import patch

import gearsearch
from gearsearch.cli import main

ROOT = Path(__file__).parents[1]
PACKAGE = Path(gearsearch.__file__).parent
README = ROOT / "README.md"
PAGES = {"README.md": README} | {
    f"gearsearch/{path.relative_to(PACKAGE).as_posix()}": path
    for path in sorted(PACKAGE.rglob("README.md"))
    if path.parent.name != "commands"  # made by reference.py, its examples run by test_reference.py
}
DRAWS = find_spec("matplotlib") is not None
DRAWN = re.compile(r"matplotlib|\.plot\(|\.(?:pdf|svg|png)\b")
PRINTED = re.compile(r"(?:^#.*\n)+\Z", re.MULTILINE)
LEFT_OUT = "…\n"
BLOCK = re.compile(
    r"^```(?P<kind>\w+)(?: (?P<file>\S+))?\n(?P<body>(?:(?!```).*\n)*)```\n|`(?P<inline>gearsearch [^`]+)`(?!\])",
    re.MULTILINE,
)


def rewritten(name):
    """A page as it is when everything on it is done now, in a folder of its own."""
    with tempfile.TemporaryDirectory() as folder, chdir(folder), patch.dict(os.environ, COLUMNS="80"):
        if PAGES[name] == README:
            shutil.copytree(ROOT / "tables", "tables")
        else:
            output_of("gearsearch shop new")
        session = {"__name__": "__main__"}
        return BLOCK.sub(lambda match: _done(match, session), PAGES[name].read_text(encoding="utf-8"))


def _done(match, session):
    kind, body = match["kind"], match["body"]
    if match["file"]:
        Path(match["file"]).write_text(body, encoding="utf-8")
    elif match["inline"] and (DRAWS or not DRAWN.search(match["inline"])):
        printed, code = output_of(match["inline"])
        assert code in (0, 1), match["inline"] + "\n" + printed
    elif kind == "console" and (DRAWS or not DRAWN.search(body)):
        command, _, shown = body.partition("\n")
        return f"```console\n{command}\n{shortened(output_of(command.removeprefix('$ '))[0], shown)}```\n"
    elif kind == "python" and (DRAWS or not DRAWN.search(body)):
        code = PRINTED.sub("", body)
        shown = "".join(f"# {line}\n" for line in printed_by(code, session).splitlines())
        return f"```python\n{code}{shown}```\n"
    return match[0]


def output_of(command):
    """What a command prints, both streams together, and its exit code."""
    out = io.StringIO()
    with redirect_stdout(out), redirect_stderr(out):
        try:
            code = main(shlex.split(command)[1:], out)
        except SystemExit as stopped:
            code = stopped.code
    return out.getvalue(), code


def printed_by(snippet, session):
    """What a snippet prints, typed behind those before it; nothing may go to the error stream."""
    out, wrong = io.StringIO(), io.StringIO()
    with redirect_stdout(out), redirect_stderr(wrong):
        exec(compile(snippet, "<snippet>", "exec"), session)
    assert wrong.getvalue() == ""
    return out.getvalue()


def shortened(printed, shown):
    """As many first and last lines of an output as the page shows round its ``…``; all where there is none."""
    first, left_out, last = shown.partition(LEFT_OUT)
    lines = printed.splitlines(keepends=True)
    before, after = first.count("\n"), last.count("\n")
    if not left_out or before + after >= len(lines):
        return printed
    return "".join([*lines[:before], LEFT_OUT, *lines[len(lines) - after :]])


if __name__ == "__main__":
    os.environ.pop("GEARSEARCH_SHOP", None)
    for name, path in PAGES.items():
        path.write_text(rewritten(name), encoding="utf-8")
        sys.stdout.write(f"{name}: what it shows is written anew\n")
