"""What DEVELOPERS.md names is there."""

import re
from pathlib import Path

HERE = Path(__file__).parents[1]
PACKAGE = HERE / "gearsearch"
ROOMS = [HERE, HERE / "tests", HERE / "benchmarks", PACKAGE, *(path for path in PACKAGE.iterdir() if path.is_dir())]


def test_every_file_and_folder_that_is_named_is_there():
    named = re.findall(r"`([a-z_./]+(?:\.py|\.toml|\.md|/))`", (HERE / "DEVELOPERS.md").read_text(encoding="utf-8"))
    assert len(named) > 40
    assert [name for name in named if not any((room / name).exists() for room in ROOMS)] == []
