"""The charts kept in ``tables`` are what the command in ``tables/make.py`` makes today."""

import importlib.util
from pathlib import Path

import pyarrow.parquet as pq
import pytest

TABLES = Path(__file__).parents[1] / "tables"
LARGEST = 300_000  # bytes


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    """The charts made anew: the module, the folder and its files."""
    spec = importlib.util.spec_from_file_location("make_tables", TABLES / "make.py")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module.make(tmp_path_factory.mktemp("tables"))


def test_the_kept_charts_are_those_that_are_made(made):
    kept = {path.name for path in TABLES.iterdir() if path.suffix in (".md", ".csv", ".parquet")} - {"README.md"}
    assert kept == {path.name for path in made}
    for path in made:
        if path.suffix == ".parquet":  # the bytes tell the version of the library
            assert pq.read_table(path).equals(pq.read_table(TABLES / path.name), check_metadata=True), path.name
        else:
            assert path.read_text(encoding="utf-8") == (TABLES / path.name).read_text(encoding="utf-8"), path.name


def test_the_kept_charts_are_small():
    assert {path.name: path.stat().st_size for path in TABLES.iterdir() if path.stat().st_size > LARGEST} == {}
