"""A kind of machine or bracket is one module: all of the package knows it once it is in its folder."""

import ast
import subprocess
import sys
from pathlib import Path

import pytest

import gearsearch
from gearsearch.base.errors import ShopError
from gearsearch.shop.bracket import BRACKETS
from gearsearch.shop.machine import MACHINES
from gearsearch.shop.reader import DEMO_TEXT, read_shop

TOP = Path(gearsearch.__file__).parent
WINDER = '''
from fractions import Fraction
from gearsearch.shop.machine import Machine


class Winder(Machine):
    """A coil winder: the spindle drives the screw of the wire guide."""

    __slots__ = ()
    kind = "winder"
    screw = "guide screw"
    work = "former"
    first_shaft = "the former's shaft"
    work_side = "first"
    work_shaft = "the former's shaft"
    work_gear = "first driver"
    divisions = "wires"
    own_cautions = ("Keep fingers off the wire.",)
    first_cut = "First layer slowly."
    has_head = False
    has_cutter = False
    has_dial = False
    when_stepped_up = "to be turned by hand"
    counts_threads = False

    def lead_sides(self, driven, drivers):
        return drivers, driven

    def last_shaft(self, route):
        return "the guide screw"

    def engaging(self, route, head):
        return "Clutch out."

    def turning(self, route, step_up):
        yield f"the guide screw turns {step_up * route.ratio} times as fast as the former"

    def hand_test(self, route, hand):
        return "Watch which way the guide goes."
'''
TRACK = '''
from gearsearch.shop.bracket import Bracket


class Track(Bracket):
    """One stud that slides on a track from the pivot."""

    __slots__ = ()
    layout = "track"
    most_studs = 1
    most_in_file = 1
    swings_whole = True
    holds = "track"
'''
COMMANDS = (
    "shop show",
    "find --lead 3mm --starts 2",
    "check 20/(72)/40 --lead 3mm",
    "sheet 20/(72)/40 --lead 3mm --starts 2",
    "chart list leads.csv --out leads.md",
    "extend --list leads.csv --spare",
)
RUN = """
import sys
from gearsearch.shop import brackets, machines
machines.__path__.append(sys.argv[1])
brackets.__path__.append(sys.argv[2])
from gearsearch.cli import main
for command in sys.argv[3:]:
    print("code", main(command.split()))
"""


@pytest.fixture(scope="module")
def said(tmp_path_factory):
    """What every command says for a shop whose machine and bracket are of a third kind, each put in as one file."""
    folder = tmp_path_factory.mktemp("kinds")
    for name, text in {"machines/winder.py": WINDER, "brackets/track.py": TRACK}.items():
        (folder / name).parent.mkdir()
        (folder / name).write_text(text)
    shop = DEMO_TEXT.replace('kind       = "mill"', 'kind = "winder"').replace('"slot"', '"track"')
    shop = shop.replace("studs  = 2", "studs  = 1").replace("ratio = 60 ", "ratio = 1 ")
    (folder / "shop.toml").write_text(shop, encoding="utf-8")
    (folder / "leads.csv").write_text("wanted\n3 mm\n4 mm\n")
    where = [str(folder / "machines"), str(folder / "brackets")]
    run = [sys.executable, "-c", RUN, *where, *COMMANDS]
    done = subprocess.run(run, cwd=folder, capture_output=True, text=True, encoding="utf-8", check=False)
    assert done.returncode == 0, done.stderr
    return done.stdout + (folder / "leads.md").read_text(encoding="utf-8")


def test_every_command_works_for_a_machine_of_a_third_kind(said):
    assert said.count("code 0") == len(COMMANDS)


@pytest.mark.parametrize(
    "words",
    [
        "winder: guide screw",
        "track swinging round",
        "1 stud",
        "drivers / driven 20 / 40 = 3.000 mm",
        "the guide screw turns",
        "Keep fingers off the wire.",
        "First layer slowly.",
        "Clutch out.",
        "Watch which way the guide goes.",
        "mesh by mesh from the former's shaft",
    ],
)
def test_what_a_machine_of_a_third_kind_owns_is_what_is_printed(said, words):
    assert words in said


@pytest.mark.parametrize(("kinds", "names"), [(MACHINES, ["lathe", "mill"]), (BRACKETS, ["plate", "slot"])])
def test_each_kind_has_every_name_that_its_base_asks_for(kinds, names):
    assert set(names) <= set(kinds)
    for kind in kinds.values():
        asked = [name for base in kind.__mro__ for name, text in _annotations(base) if text.startswith("ClassVar")]
        assert [name for name in asked if not hasattr(kind, name)] == []
        assert not getattr(kind, "__abstractmethods__", ())


def _annotations(kind):
    return vars(kind).get("__annotations__", {}).items()


@pytest.mark.parametrize(("old", "names"), [('"mill"', '"lathe" or "mill"'), ('"slot"', '"plate" or "slot"')])
def test_the_shop_file_takes_the_kinds_there_are(old, names):
    with pytest.raises(ShopError, match=f"allowed: {names}"):
        read_shop(DEMO_TEXT.replace(f"= {old}", '= "other"', 1), "shop.toml")


def test_nothing_asks_which_kind_a_machine_or_a_bracket_is():
    kinds = {*MACHINES, *BRACKETS}
    asking = [
        f"{path.relative_to(TOP)}:{node.lineno}"
        for path in TOP.rglob("*.py")
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.Compare)
        and isinstance(node.ops[0], ast.Eq | ast.NotEq)
        and any(isinstance(part, ast.Constant) and part.value in kinds for part in (node.left, *node.comparators))
    ]
    assert asking == []
