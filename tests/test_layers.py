"""Imports go one way: no two parts of the package need each other to be imported."""

import ast
from graphlib import TopologicalSorter
from pathlib import Path

import gearsearch

TOP = Path(gearsearch.__file__).parent


def part(parts):
    """The module or package right below the top that something belongs to."""
    return parts[0] if parts else "gearsearch"


def needs(path):
    """The parts that a module cannot be imported without."""
    here = path.relative_to(TOP).with_suffix("").parts[:-1]
    for node in ast.parse(path.read_text(encoding="utf-8")).body:
        if isinstance(node, ast.ImportFrom) and node.level:
            above = here[: len(here) - node.level + 1]
            names = [node.module.split(".")] if node.module else [[name.name] for name in node.names]
            yield from (part([*above, *name]) for name in names)


def graph():
    found = {}
    for path in TOP.rglob("*.py"):
        own = part(path.relative_to(TOP).with_suffix("").parts)
        found.setdefault(own, set()).update(other for other in needs(path) if other != own)
    return found


def test_no_two_parts_of_the_package_import_each_other():
    parts = list(TopologicalSorter(graph()).static_order())
    assert parts.index("units") < parts.index("shop") < parts.index("answers") < parts.index("search")


def test_what_is_typed_is_needed_by_nothing_but_the_command_line():
    assert {own for own, others in graph().items() if "commands" in others} <= {"cli", "__main__"}
