"""What every test shares: judges that may be missing, shops made up at random, and a folder of one's own."""

import ast
import importlib.util
import os
import signal
from pathlib import Path
from zlib import crc32

import pytest

os.environ.pop("GEARSEARCH_SHOP", None)
# in the background or by nohup these are ignored, and tests of Ctrl-C and of a closed terminal would hear nothing
signal.signal(signal.SIGINT, signal.default_int_handler)
signal.signal(signal.SIGHUP, signal.SIG_DFL)
if importlib.util.find_spec("hypothesis"):
    from hypothesis import settings

    settings.register_profile("seeded", derandomize=True, deadline=None, print_blob=True)
    settings.load_profile("seeded")
HERE = Path(__file__).parent
JUDGES = ("hypothesis", "sympy", "mpmath", "pint", "shapely", "scipy", "duckdb", "jsonschema", "matplotlib")
MISSING = {name for name in JUDGES if importlib.util.find_spec(name) is None}


def pytest_ignore_collect(collection_path):
    """Leave out the files that need a judge that is not installed, as beside a plain install."""
    if MISSING and collection_path.suffix == ".py" and _imports(collection_path) & MISSING:
        return True
    return None


def _imports(path, seen=()):
    """Every module a test file needs, those that its helpers beside it need included."""
    names = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            names.update(alias.name.split(".")[0] for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and node.module and not node.level:
            names.add(node.module.split(".")[0])
            if node.module.startswith("gearsearch.output.drawing"):
                names.add("matplotlib")  # the package itself imports it only where it draws
    beside = {helper for name in names if (helper := HERE / f"{name}.py").exists()} - {*seen}
    return names.union(*(_imports(helper, {*seen, *beside}) for helper in sorted(beside)))


def pytest_addoption(parser):
    """``--draw SEED`` runs an eighth of the chosen tests, the same ones for the same number."""
    parser.addoption("--draw", type=int, metavar="SEED", help="run an eighth of the chosen tests, drawn by this number")


@pytest.hookimpl(trylast=True)  # when -m and -k have chosen
def pytest_collection_modifyitems(config, items):
    """Keep the eighth that ``--draw`` draws; whether it draws a test hangs on no other test."""
    seed = config.getoption("--draw")
    if seed is not None:
        drawn = [crc32(f"{seed} {item.nodeid}".encode()) % 8 == 0 for item in items]
        config.hook.pytest_deselected(items=[item for item, kept in zip(items, drawn, strict=True) if not kept])
        items[:] = [item for item, kept in zip(items, drawn, strict=True) if kept]


def pytest_report_header(config):
    """Say what is left out, and by which number the others were drawn."""
    lines = [f"judges not installed, their tests left out: {', '.join(sorted(MISSING))}"] if MISSING else []
    seed = config.getoption("--draw")
    return lines + ([f"an eighth of the tests, drawn by {seed}"] if seed is not None else [])


@pytest.fixture(autouse=True)
def a_folder_of_ones_own(tmp_path, monkeypatch):
    """No test finds a shop file by accident, nor leaves anything behind."""
    monkeypatch.chdir(tmp_path)


@pytest.fixture(autouse=True)
def room_for_every_line(monkeypatch):
    """Answers in one line each, however long, so that tests find their words; those of widths set their own."""
    monkeypatch.delenv("COLUMNS", raising=False)  # which pytest-xdist sets
    monkeypatch.setattr("gearsearch.output.tables.NO_TERMINAL", 10_000)
