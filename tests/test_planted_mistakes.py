"""The type checker finds every mistake that is planted in a user's script, and no other."""

import re
from pathlib import Path

import pytest
from mypy import api

SCRIPT = Path(__file__).with_name("planted_mistakes.py")


@pytest.mark.slow
def test_the_type_checker_finds_what_is_planted():
    said, told, _ = api.run(["--strict", "--no-incremental", "--follow-imports=silent", str(SCRIPT)])
    assert not told
    found = {int(line) for line in re.findall(r"planted_mistakes\.py:(\d+): error", said)}
    lines = SCRIPT.read_text(encoding="utf-8").splitlines()
    planted = {number for number, line in enumerate(lines, 1) if "# mistake:" in line}
    assert len(planted) == 5
    assert found == planted
