"""Every way to be wrong with what is said to it (``messages.toml``); ``python tests/messages.py`` writes it anew."""

import ast
import io
import os
import re
import shlex
import sys
import tempfile
import tomllib
from contextlib import chdir, contextmanager, redirect_stderr
from fractions import Fraction
from pathlib import Path

import gearsearch
from gearsearch.base import errors
from gearsearch.cli import main
from gearsearch.shop import fields
from gearsearch.shop.reader import DEMO_TEXT, demo_shop

TABLE = Path(__file__).with_name("messages.toml")
PACKAGE = Path(gearsearch.__file__).parent
SAYS = re.compile(r"^says = '''\n(?:(?!''').*\n)*'''$", re.MULTILINE)
EMPTY = "says = '''\n'''"


def table():
    """The rows of the table: typed commands, lines of the shop file, and calls from Python."""
    return tomllib.loads(TABLE.read_text(encoding="utf-8"))


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
        _run(line)
    if "change" in row:
        Path("shop.toml").write_text(edited(row["change"]), encoding="utf-8")


def said_to(row):
    """(exit code, stdout, stderr) of a row's mistake, made in a folder prepared for it."""
    return _call(row["call"]) if "call" in row else _run(row.get("type", "shop show"))


def _run(line):
    """(exit code, stdout, stderr) of a command as it is typed behind ``gearsearch``."""
    out, err = io.StringIO(), io.StringIO()
    with redirect_stderr(err):
        code = main(shlex.split(line), out)
    return code, out.getvalue(), err.getvalue()


def _call(program):
    """As ``_run`` for lines of Python: what a command would print of the error they raise."""
    try:
        exec(program, {"demo": demo_shop, "F": Fraction})
    except errors.GearsearchError as error:
        return 2, "", f"gearsearch: {error}\n"
    return 0, "", ""


def sites():
    """Every place in the package where a mistake is found: (file, first line, last line, source)."""
    found = []
    for path in sorted(PACKAGE.rglob("*.py")):
        text = path.read_text(encoding="utf-8")
        for node in ast.walk(ast.parse(text)):
            if _is_site(node):
                place = str(path.relative_to(PACKAGE))
                found.append((place, node.lineno, node.end_lineno, ast.get_source_segment(text, node)))
    return found


def _is_site(node):
    """A raise of something new, a requirement, and a note of a mistake in a file."""
    if isinstance(node, ast.Raise):
        return node.exc is not None and not ast.unparse(node.exc).startswith(("KeyboardInterrupt", "AssertionError"))
    if not isinstance(node, ast.Call):
        return False
    called = ast.unparse(node.func)
    helpers = ("_require", "options.refuse_idle")
    return called in helpers or called.startswith("require.") or called.endswith((".note", "problems.append"))


@contextmanager
def watched(reached):
    """Note each (file, line) of the package on the way to a mistake."""

    def marking(first):
        def init(self, *args, **more):
            _mark(reached)
            first(self, *args, **more)

        return init

    kept = errors.GearsearchError.__init__, fields.Wrong.__init__, fields.Table.note
    errors.GearsearchError.__init__ = marking(kept[0])
    fields.Wrong.__init__ = marking(lambda self, *args: Exception.__init__(self, *args))
    fields.Table.note = lambda self, *args: (_mark(reached), kept[2](self, *args))[1]
    try:
        yield
    finally:
        errors.GearsearchError.__init__, fields.Wrong.__init__, fields.Table.note = kept


def _mark(reached):
    frame = sys._getframe(2)
    while frame is not None:
        path = Path(frame.f_code.co_filename)
        if path.is_relative_to(PACKAGE):
            reached.add((str(path.relative_to(PACKAGE)), frame.f_lineno))
        frame = frame.f_back


def rewritten(text):
    """The table with what is said now in every row, each row in a new folder."""
    rows = [row for group in ("typed", "shop_file", "python") for row in table()[group]]
    assert len(rows) == len(SAYS.findall(text)), (len(rows), len(SAYS.findall(text)))
    parts = iter(rows)

    def fresh(_):
        row = next(parts)
        with tempfile.TemporaryDirectory() as folder, chdir(folder):
            prepare(row)
            code, out, err = said_to(row)
        if code != 2 or out:
            sys.stdout.write(f"NOT REFUSED: {row} {code} {out[:200]} {err}\n")
        return f"says = '''\n{shown(row, err)}'''"

    return SAYS.sub(fresh, text)


def shown(row, err):
    """What the table holds of a message: of the shop file's, the one mistake alone."""
    if "change" in row and "type" not in row:
        return err.removeprefix("gearsearch: shop.toml: 1 mistake\n")
    return err.removeprefix("gearsearch: ")


if __name__ == "__main__":
    os.environ.pop("GEARSEARCH_SHOP", None)
    TABLE.write_text(rewritten(TABLE.read_text(encoding="utf-8")), encoding="utf-8")
    sys.stdout.write("tests/messages.toml: what is said is written anew\n")
