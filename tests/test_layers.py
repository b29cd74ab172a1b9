"""The rooms of the house: each imports only from the rooms below its own floor, and no two modules need each other."""

import ast
import re
from graphlib import TopologicalSorter
from pathlib import Path

import gearsearch

TOP = Path(gearsearch.__file__).parent
FLOORS = (
    {"base"},
    {"shop"},
    {"work"},
    {"mounting"},
    {"search"},
    {"charts", "dividing", "pairs", "extend"},
    {"sheet"},
    {"output"},
    {"workshop"},
    {"commands"},
    {"cli"},
    {"__main__"},
)
FLOOR = {room: number for number, rooms in enumerate(FLOORS) for room in rooms}


def modules():
    """Every module of the package by its dotted name below the top."""
    for path in TOP.rglob("*.py"):
        parts = path.relative_to(TOP).with_suffix("").parts
        yield ".".join(parts), path


def needs(name, path):
    """The modules a module imports from the package, be it inside functions or for types."""
    here = name.split(".")[:-1]
    tree = ast.parse(path.read_text(encoding="utf-8"))
    for node in ast.walk(tree):
        if isinstance(node, ast.ImportFrom) and node.level:
            above = here[: len(here) - node.level + 1]
            if node.module:
                module = ".".join([*above, node.module])
                inner = [f"{module}.{each.name}" for each in node.names]
                yield from (each if each in NAMES else module for each in inner)
            else:
                yield from (".".join([*above, each.name]) for each in node.names)


NAMES = {name for name, _ in modules()}


def room(module):
    return module.partition(".")[0]


def test_there_are_twelve_rooms_at_most_and_each_has_its_floor():
    rooms = {room(name) for name in NAMES} - {"__init__"}
    assert rooms == set(FLOOR)
    assert sum((TOP / each).is_dir() for each in rooms) <= 12


def test_a_room_imports_only_from_floors_below_it():
    up = {
        (name, other)
        for name, path in modules()
        for other in needs(name, path)
        if room(other) != room(name) and room(name) in FLOOR and room(other) in FLOOR
        if FLOOR[room(other)] >= FLOOR[room(name)]
    }
    assert up == set()


def test_no_two_modules_need_each_other_be_it_for_types_or_inside_functions():
    graph = {name: {other for other in needs(name, path) if other in NAMES} for name, path in modules()}
    list(TopologicalSorter(graph).static_order())


def test_the_face_of_a_package_is_empty_but_for_its_words():
    for name, path in modules():
        if path.name == "__init__.py" and name != "__init__":
            body = ast.parse(path.read_text(encoding="utf-8")).body
            assert len(body) == 1, name
            assert isinstance(body[0], ast.Expr), name


MARKS = re.compile(r"(?<![0-9])\*\*|^#{2,} |- \[ \]|^\| |<br>|<div")  # of Markdown and of a page
DRAWERS = {"textwrap", "tabulate"}
WRITERS = {"dumps", "dump", "DictWriter", "writer", "get_terminal_size"}


def said(tree):
    """The texts of a module without its docstrings, and what it imports."""
    docstrings = {id(node.value) for node in ast.walk(tree) if isinstance(node, ast.Expr)}
    for node in ast.walk(tree):
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in docstrings:
            yield node.value
        elif isinstance(node, ast.ImportFrom):
            yield str(node.module)
        elif isinstance(node, ast.Import):
            yield from (each.name for each in node.names)


def test_only_the_writers_know_the_marks_of_markdown_and_how_wide_a_line_is():
    found = {
        (name, text)
        for name, path in modules()
        if room(name) in FLOOR and FLOOR[room(name)] < FLOOR["output"]
        for text in said(ast.parse(path.read_text(encoding="utf-8")))
        if MARKS.search(text) or text in DRAWERS
    }
    assert found == set()


def test_csv_json_and_the_terminal_are_written_to_by_one_module_each():
    found = {
        (node.attr, name)
        for name, path in modules()
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.Attribute) and node.attr in WRITERS
    }
    assert found == {("dumps", "output.records"), ("writer", "output.records"), ("get_terminal_size", "output.tables")}
