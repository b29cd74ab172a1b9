"""The README's commands, run in order in a folder of their own; ``python tests/readme.py`` writes their output anew."""

import io
import os
import re
import shlex
import sys
import tempfile
from contextlib import chdir, redirect_stderr
from pathlib import Path
from unittest.mock import patch

from gearsearch.cli import main

README = Path(__file__).parents[1] / "README.md"
BLOCK = re.compile(r"```console\n(\$ gearsearch .*\n)((?:(?!```).*\n)*)```\n")
SNIPPET = re.compile(r"```python\n((?:(?!```).*\n)*)```\n")


def output_of(line):
    """What a command of the README prints, both streams together."""
    out = io.StringIO()
    with redirect_stderr(out), patch.dict(os.environ, COLUMNS="80"):
        main(shlex.split(line)[2:], out)
    return out.getvalue()


def outputs(text):
    """Every command of the README with what it prints now, run in order in this folder."""
    return [(match[1], match[2], output_of(match[1])) for match in BLOCK.finditer(text)]


def rewritten(text):
    """The README with the output of every command as it is now."""
    fresh = iter(outputs(text))
    return BLOCK.sub(lambda match: f"```console\n{match[1]}{next(fresh)[2]}```\n", text)


if __name__ == "__main__":
    os.environ.pop("GEARSEARCH_SHOP", None)
    text = README.read_text(encoding="utf-8")
    with tempfile.TemporaryDirectory() as folder, chdir(folder):
        fresh = rewritten(text)
    README.write_text(fresh, encoding="utf-8")
    sys.stdout.write("README.md: the output of its commands is written anew\n")
