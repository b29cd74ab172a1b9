"""The charts and pictures kept in ``tables`` are what the command in ``tables/make.py`` makes today."""

import importlib.util
import re
from pathlib import Path

import pyarrow.parquet as pq
import pytest

TABLES = Path(__file__).parents[1] / "tables"
LARGEST = 300_000  # bytes


def maker():
    """The module that makes them."""
    spec = importlib.util.spec_from_file_location("make_tables", TABLES / "make.py")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    """The charts made anew."""
    return maker().make_charts(tmp_path_factory.mktemp("tables"))


def words_in(picture):
    """What is written in an SVG, in its order; the rest hangs on matplotlib's version."""
    return re.findall(r"<text[^>]*>([^<]*)</text>", picture.read_text(encoding="utf-8"))


def test_the_kept_charts_are_those_that_are_made(made):
    kept = {path.name for path in TABLES.iterdir() if path.suffix in (".md", ".csv", ".parquet")} - {"README.md"}
    assert kept == {path.name for path in made}
    for path in made:
        if path.suffix == ".parquet":  # the bytes tell the version of the library
            assert pq.read_table(path).equals(pq.read_table(TABLES / path.name), check_metadata=True), path.name
        else:
            assert path.read_text(encoding="utf-8") == (TABLES / path.name).read_text(encoding="utf-8"), path.name


def test_the_kept_pictures_say_what_those_say_that_are_made(tmp_path):
    pytest.importorskip("matplotlib")
    pictures = maker().make_pictures(tmp_path)
    assert {path.name for path in TABLES.glob("*.svg")} == {path.name for path in pictures}
    for path in pictures:
        assert len(words_in(path)) > 10
        assert words_in(path) == words_in(TABLES / path.name), path.name


def test_the_kept_charts_are_small():
    assert {path.name: path.stat().st_size for path in TABLES.iterdir() if path.stat().st_size > LARGEST} == {}
