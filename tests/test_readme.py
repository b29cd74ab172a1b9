"""What the README and the pages beside the code show is what is printed, and every link leads somewhere."""

import importlib
import inspect
import os
import re
import tomllib
from pathlib import PurePosixPath

import pyarrow.parquet as pq
import pytest
import readme
from width import at_every_width

from gearsearch import demo
from gearsearch.cli import COMMANDS
from gearsearch.shop.reader import DEMO_TEXT

TEXTS = {name: path.read_text(encoding="utf-8") for name, path in readme.PAGES.items()}
README = TEXTS["README.md"]
FENCED = re.compile(r"^```.*?^```$", re.MULTILINE | re.DOTALL)
MOST_LINES = 300


@pytest.mark.parametrize("name", readme.PAGES)
def test_every_command_and_snippet_does_what_its_page_shows(name):
    """``python tests/readme.py`` writes the outputs anew when they are meant to change."""
    with at_every_width():
        assert readme.rewritten(name) == TEXTS[name]


@pytest.mark.parametrize("name", [*readme.PAGES, "DEVELOPERS.md", "gearsearch/commands/README.md", "tables/README.md"])
def test_every_link_leads_somewhere(name):
    for link in re.findall(r"\]\(([^)]+)\)", FENCED.sub("", _text(name))):
        page, _, heading = link.partition("#")
        target = os.path.normpath(PurePosixPath(name).parent / page) if page else name
        assert _file(target).exists(), link
        if heading:
            assert heading in _anchors(_text(target)), link


def test_every_page_is_linked_from_the_readme():
    assert [name for name in (*readme.PAGES, "gearsearch/commands/README.md")[1:] if f"({name}" not in README] == []


def test_what_an_index_of_packages_shows_needs_no_file_of_the_project():
    """It fetches pictures from an address alone, and there is none: so the train is drawn in text too."""
    project = tomllib.loads((readme.ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    shown = README
    for each in project["tool"]["hatch"]["metadata"]["hooks"]["fancy-pypi-readme"]["substitutions"]:
        shown = re.sub(each["pattern"], each["replacement"], shown)
    assert "](" not in shown
    assert "44 ========== 48" in shown
    assert len(README.splitlines()) - len(shown.splitlines()) == 2 * README.count("![")


def test_the_readme_is_short_and_says_the_job_in_its_first_paragraph():
    assert len(README.splitlines()) <= MOST_LINES
    title, paragraph = README.split("\n\n")[:2]
    assert title == "# gearsearch"
    assert not paragraph.startswith("#")


def test_the_five_tasks_of_the_readme_take_ten_lines_each_at_most():
    snippets = [match["body"] for match in readme.BLOCK.finditer(README) if match["kind"] == "python"]
    assert len(snippets) == 5
    assert max(len(readme.PRINTED.sub("", body).splitlines()) for body in snippets) <= 10


def test_every_command_has_its_place_in_the_readme_and_the_library_call_behind_it_on_the_page_for_python():
    calls = TEXTS["gearsearch/README.md"].split("| library call |")[1]
    rows = re.findall(r"^\| `(\w+)` \| (.*?) \| (.*)\|$", calls, re.MULTILINE)
    assert {command for command, *_ in rows} == set(COMMANDS)
    for _, calls, takes in rows:
        for module, name in re.findall(r"`([a-z_.]+)\.(\w+)`", calls + takes):
            called = getattr(importlib.import_module(f"gearsearch.{module}"), name)
            assert "Parameters" in inspect.getdoc(called) or len(inspect.signature(called).parameters) < 2, name
    shown = "\n".join(TEXTS.values())
    assert [name for name in COMMANDS if f"gearsearch {name}" not in shown] == []


def test_the_page_of_the_shop_file_names_every_key():
    keys = re.findall(r"^(?:# )?(\[*[a-z_.]+\]*) *(?:=|$)", DEMO_TEXT, re.MULTILINE)
    assert len(keys) > 30
    assert [key for key in keys if f"`{key}`" not in TEXTS["gearsearch/shop/README.md"]] == []


def test_the_shop_file_of_the_lathe_on_its_page_is_the_one_that_is_kept():
    assert f"```toml lathe.toml\n{_text('tables/lathe.toml')}```\n" in TEXTS["gearsearch/shop/machines/README.md"]


def test_the_page_of_charts_names_every_column(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    shop = demo()
    charts = [
        shop.chart.every("400 mm", "405 mm"),
        shop.chart.list("iso-54", starts=(1, 2), route="any", tolerance="0.1%", fewest_changes=True, length="60 mm"),
        shop.chart.grid("20:30:10", helix_angles="20:30:10"),
        shop.chart.grid("20:30:10", lead_angles="2:4:2"),
    ]
    for number, chart in enumerate(charts):
        chart.save(f"{number}.parquet")
        names = pq.read_schema(f"{number}.parquet").names
        assert [name for name in names if f"`{name}`" not in TEXTS["gearsearch/charts/README.md"]] == []


def test_every_method_on_the_page_for_python_can_be_called_as_it_says(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    shop = demo()
    shop.chart.every("400 mm", "425 mm").save("leads.parquet")
    rows = TEXTS["gearsearch/README.md"].partition("| method | gives |")[2].partition("\n\n")[0].splitlines()[2:]
    calls = re.findall(r"`([^`]+)`", "\n".join(row.split(" | ")[0] for row in rows))
    assert len(calls) > 12
    for call in calls:
        assert eval(f"shop.{call}", {"shop": shop, "range": range}) is not None, call


def test_the_test_command_stands_alone():
    assert len(re.findall(r"<!-- test command -->\n```\n(python3 -m venv .*)\n```", README)) == 1


def _file(name):
    """A file of the project; those of the package may be installed elsewhere."""
    inside = name.startswith("gearsearch/")
    return readme.PACKAGE / name.removeprefix("gearsearch/") if inside else readme.ROOT / name


def _text(name):
    return _file(name).read_text(encoding="utf-8")


def _anchors(text):
    """What headings are linked by: small letters, no punctuation, hyphens for blanks."""
    headings = re.findall(r"^#+ (.*)$", FENCED.sub("", text), re.MULTILINE)
    return {re.sub(r"[^\w\- ]", "", heading.lower()).replace(" ", "-") for heading in headings}
