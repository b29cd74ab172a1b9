"""Every small change of a module that the tests should notice, made from its syntax tree.

Left alone are what no run of the program can show: annotations, docstrings, imports, assertions (they narrow types
for the type checker), decorators, ``__all__`` and what stands under ``if TYPE_CHECKING``.
"""

from __future__ import annotations

import ast
import re
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

_OPERATORS: dict[type[ast.AST], type[ast.AST]] = {
    ast.Add: ast.Sub,
    ast.Sub: ast.Add,
    ast.Mult: ast.Div,
    ast.Div: ast.Mult,
    ast.FloorDiv: ast.Mult,
    ast.Mod: ast.FloorDiv,
    ast.Pow: ast.Mult,
    ast.BitOr: ast.BitAnd,
    ast.BitAnd: ast.BitOr,
    ast.Lt: ast.LtE,
    ast.LtE: ast.Lt,
    ast.Gt: ast.GtE,
    ast.GtE: ast.Gt,
    ast.Eq: ast.NotEq,
    ast.NotEq: ast.Eq,
    ast.Is: ast.IsNot,
    ast.IsNot: ast.Is,
    ast.In: ast.NotIn,
    ast.NotIn: ast.In,
    ast.And: ast.Or,
    ast.Or: ast.And,
}
_NEGATED_ALREADY = (ast.Eq, ast.NotEq, ast.Is, ast.IsNot, ast.In, ast.NotIn)
_NAMES = {"min": "max", "max": "min", "any": "all", "all": "any"}
_SHOWN = 60


@dataclass(frozen=True, slots=True)
class Mutant:
    """One change.

    Parameters
    ----------
    where : the function or class it stands in
    change : what it is, in words
    lines : of its statement
    source : the whole module as changed
    body : whether it stands in the body of a function, so that code of that function is all that changes
    """

    where: str
    change: str
    lines: range
    source: str
    body: bool

    def __str__(self) -> str:
        return f"{self.where}: {self.change}"


@dataclass(frozen=True, slots=True)
class _Spot:
    """A place in the tree: the field of a node that holds another, and what that one stands in."""

    node: Any
    parent: Any
    field: str
    index: int | None
    where: str
    lines: range
    body: bool

    def put(self, node: Any) -> None:
        """Let another node stand here."""
        if self.index is None:
            setattr(self.parent, self.field, node)
        else:
            getattr(self.parent, self.field)[self.index] = node


def mutants_of(source: str) -> list[Mutant]:
    """Every mutant of a module, in the order of its source; equal names of changes in one function are numbered."""
    tree = ast.parse(source)
    _mark(tree)
    spots = list(_spots(tree, "", range(0), False))
    seen: Counter[str] = Counter()
    found = []
    for spot in spots:
        for new in _variants(spot):
            before = _words(spot)
            spot.put(new)
            change = f"{before} → {_words(spot, new)}"
            seen[f"{spot.where}: {change}"] += 1
            times = seen[f"{spot.where}: {change}"]
            label = change if times == 1 else f"{change} #{times}"
            found.append(Mutant(spot.where, label, spot.lines, ast.unparse(tree), spot.body))
            spot.put(spot.node)
    return found


def _spots(node: ast.AST, where: str, lines: range, body: bool) -> Iterator[_Spot]:
    """Every place below a node that a run of the program can show."""
    for field, value in ast.iter_fields(node):
        if field in ("annotation", "returns", "decorator_list", "ctx", "type_comment"):
            continue
        for index, child in enumerate(value) if isinstance(value, list) else [(None, value)]:
            if not isinstance(child, ast.AST) or _invisible(child, node, field, index):
                continue
            inside = where
            if isinstance(child, ast.FunctionDef | ast.ClassDef) and not body:
                inside = f"{where}.{child.name}" if where else child.name
            spread = _header(child) if isinstance(child, ast.stmt) else lines
            in_body = body or (isinstance(node, ast.FunctionDef) and field == "body")
            yield _Spot(child, node, field, index, inside or "the module", spread, in_body)
            yield from _spots(child, inside, spread, in_body)


def _invisible(node: ast.AST, parent: ast.AST, field: str, index: int | None) -> bool:
    if isinstance(node, ast.Assert | ast.Import | ast.ImportFrom):
        return True
    if isinstance(node, ast.If) and ast.unparse(node.test) == "TYPE_CHECKING":
        return True
    if isinstance(node, ast.Assign) and ast.unparse(node.targets[0]) == "__all__":
        return True
    is_text = isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant)
    has_docstring = isinstance(parent, ast.Module | ast.FunctionDef | ast.ClassDef) and field == "body"
    return is_text and has_docstring and index == 0


def _header(statement: ast.stmt) -> range:
    """The lines of a statement, without the statements inside it."""
    body = getattr(statement, "body", None)
    last = body[0].lineno - 1 if body else statement.end_lineno
    return range(statement.lineno, max(statement.lineno, last or 0) + 1)


def _variants(spot: _Spot) -> Iterator[Any]:
    """What could stand in place of a node."""
    node, parent = spot.node, spot.parent
    if type(node) in _OPERATORS:
        yield _OPERATORS[type(node)]()
    elif isinstance(node, ast.UnaryOp):
        yield node.operand
    elif isinstance(node, ast.Constant):
        yield from _other_constants(spot)
    elif isinstance(node, ast.Name) and node.id in _NAMES:
        yield ast.Name(_NAMES[node.id])
    elif isinstance(node, ast.Return) and node.value is not None and ast.unparse(node.value) != "None":
        yield ast.Return(ast.Constant(None))
    elif isinstance(node, ast.Break | ast.Continue):
        yield ast.Continue() if isinstance(node, ast.Break) else ast.Pass()
    elif isinstance(node, ast.stmt) and _can_go(node, parent):
        yield ast.Pass()
    if spot.field in ("test", "ifs") and not _negated_elsewhere(node):
        yield ast.UnaryOp(ast.Not(), node)


def _other_constants(spot: _Spot) -> Iterator[Any]:
    value = spot.node.value
    if isinstance(value, bool):
        yield ast.Constant(not value)
    elif isinstance(value, int | float):
        yield ast.Constant(value + 1)
    elif isinstance(value, str):
        kind = getattr(spot.node, "kind_of_text", "words")
        yield from map(ast.Constant, _TEXTS[kind](value))


def _other_formats(text: str) -> Iterator[str]:
    if re.search("[0-9]", text):
        yield re.sub("[0-9]", lambda digit: str((int(digit[0]) + 1) % 10), text)


def _other_patterns(text: str) -> Iterator[str]:
    """A pattern with one mark of repetition taken for another."""
    yield f"XX{text}"
    for mark in re.finditer(r"(?<![\\(\[*+?])[*+?](?![^\[\]]*\])", text):
        other = {"*": "+", "+": "*", "?": ""}[mark[0]]
        yield text[: mark.start()] + other + text[mark.end() :]


_TEXTS = {"words": lambda text: [f"XX{text}"], "format": _other_formats, "pattern": _other_patterns}


def _mark(tree: ast.AST) -> None:
    """Tell formats and patterns from words."""
    for node in ast.walk(tree):
        if isinstance(node, ast.FormattedValue) and node.format_spec is not None:
            _call_it("format", node.format_spec)
        if isinstance(node, ast.Call) and ast.unparse(node.func).startswith("re."):
            _call_it("pattern", node.args[0])


def _call_it(kind: str, tree: ast.AST) -> None:
    for node in ast.walk(tree):
        if isinstance(node, ast.Constant):
            node.kind_of_text = kind  # type: ignore[attr-defined]


def _can_go(node: ast.stmt, parent: ast.AST) -> bool:
    """Whether a statement may be left out without a name that is never bound: that any run would notice."""
    if isinstance(node, ast.Assign):
        names = [n.id for target in node.targets for n in ast.walk(target) if isinstance(n, ast.Name)]
        stored = Counter(n.id for n in ast.walk(parent) if isinstance(n, ast.Name) and isinstance(n.ctx, ast.Store))
        return not isinstance(node.targets[0], ast.Name | ast.Tuple) or all(stored[name] > 1 for name in names)
    return isinstance(node, ast.Expr | ast.AugAssign | ast.Raise)


def _negated_elsewhere(test: ast.AST) -> bool:
    if isinstance(test, ast.UnaryOp):
        return isinstance(test.op, ast.Not)
    return isinstance(test, ast.Compare) and len(test.ops) == 1 and isinstance(test.ops[0], _NEGATED_ALREADY)


def _words(spot: _Spot, new: Any = None) -> str:
    """A node in words, with as much round it as tells where it stands."""
    node = new if new is not None else spot.node
    if isinstance(node, ast.Pass):
        return "nothing"
    small = isinstance(node, ast.operator | ast.cmpop | ast.boolop | ast.Name)
    if isinstance(node, ast.Constant) and not isinstance(node.value, str):
        small = not isinstance(spot.parent, ast.stmt)
    text = ast.unparse(spot.parent if small and isinstance(spot.parent, ast.expr) else node)
    if isinstance(spot.parent, ast.AugAssign):
        text = ast.unparse(spot.parent)
    text = " ".join(text.split())
    return text if len(text) <= _SHOWN else text[: _SHOWN - 1] + "…"
