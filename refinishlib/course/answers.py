"""Reading an answer cell as data. Nothing in it is ever run.

A cell is read as a syntax tree. Assignments of plain values and arithmetic over numbers and earlier answers are worked
out here, within bounds; anything else makes the cell one that "holds code", which is said and not run.
"""

from __future__ import annotations

import ast
import operator
import warnings
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

LONGEST_CELL = 6_000
MOST_NODES = 1_500
DEEPEST = 40
LONGEST_STRING = 2_000
MOST_BITS = 512

CODE, SLIP, TOO_MUCH = "code", "slip", "too much"

_ARITHMETIC: dict[type[ast.operator], Callable[[Any, Any], Any]] = {
    ast.Add: operator.add,
    ast.Sub: operator.sub,
    ast.Mult: operator.mul,
    ast.Div: operator.truediv,
    ast.FloorDiv: operator.floordiv,
    ast.Mod: operator.mod,
}
_SIGNS: dict[type[ast.unaryop], Callable[[Any], Any]] = {ast.UAdd: operator.pos, ast.USub: operator.neg}
_NOT_RUN = "This cell holds code, which is not run. Type plain values, a text in quotes, or arithmetic like 7 * 28.35."
_TOO_MUCH = "This cell holds more than an answer needs. Type one plain value after each ="


class _Problem(Exception):
    def __init__(self, kind: str, sentence: str):
        super().__init__(sentence)
        self.kind = kind


@dataclass(frozen=True)
class Reading:
    """What one answer cell says.

    values : name to plain value, in the order of the cell
    problem : "" when all of it could be read, else "code", "slip" or "too much"
    sentence : what to tell the apprentice about the problem
    """

    values: Mapping[str, Any] = field(default_factory=dict)
    problem: str = ""
    sentence: str = ""


def read_cell(text: str, earlier: Mapping[str, Any] | None = None) -> Reading:
    """The names and plain values that an answer cell assigns.

    Parameters
    ----------
    text : the cell as typed
    earlier : answers of the cells above, which arithmetic may use

    A cell that holds code gives no values at all. After a typing slip the lines above it still count, as they would
    when run from the top.

    >>> read_cell("total_g = 7 * 28.35").values
    {'total_g': 198.45000000000002}
    >>> read_cell("total_g = open('gradebook.db')").problem
    'code'
    """
    values: dict[str, Any] = {}
    try:
        for statement in _statements(text):
            _take(statement, values, earlier or {})
    except _Problem as problem:
        return Reading({} if problem.kind != SLIP else values, problem.kind, str(problem))
    return Reading(values)


def _statements(text: str) -> list[ast.stmt]:
    if len(text) > LONGEST_CELL:
        raise _Problem(TOO_MUCH, _TOO_MUCH)
    source = _without_common_indent(text)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            tree = ast.parse(source)
    except SyntaxError as error:
        if _has_escape(source):
            raise _Problem(CODE, _NOT_RUN) from None
        raise _Problem(SLIP, _slip_words(source, error.lineno)) from None
    except (ValueError, MemoryError, RecursionError):
        raise _Problem(TOO_MUCH, _TOO_MUCH) from None
    _bounded(tree)
    return tree.body


def _bounded(tree: ast.AST) -> None:
    level, nodes, depth = [tree], 0, 0
    while level:
        nodes, depth = nodes + len(level), depth + 1
        if nodes > MOST_NODES or depth > DEEPEST:
            raise _Problem(TOO_MUCH, _TOO_MUCH)
        level = [child for node in level for child in ast.iter_child_nodes(node)]


def _take(statement: ast.stmt, values: dict[str, Any], earlier: Mapping[str, Any]) -> None:
    if isinstance(statement, ast.Pass):
        return
    if isinstance(statement, ast.Expr):
        _value(statement.value, {**earlier, **values})
        return
    if not isinstance(statement, ast.Assign):
        raise _Problem(CODE, _NOT_RUN)
    names = [target.id if isinstance(target, ast.Name) else "" for target in statement.targets]
    if not all(names) or any(name.startswith("_") for name in names):
        raise _Problem(CODE, _NOT_RUN)
    value = _value(statement.value, {**earlier, **values})
    values.update(dict.fromkeys(names, value))


def _value(node: ast.expr, known: Mapping[str, Any]) -> Any:
    if isinstance(node, ast.Constant):
        return _constant(node.value)
    if isinstance(node, ast.Name):
        if node.id not in known:
            raise _Problem(SLIP, f'"{node.id[:40]}" is not known here. A text needs quotes, as in "{node.id[:40]}".')
        return known[node.id]
    if isinstance(node, ast.List | ast.Tuple | ast.Set):
        items = [_value(item, known) for item in node.elts]
        _weigh(items)
        if isinstance(node, ast.List):
            return items
        return tuple(items) if isinstance(node, ast.Tuple) else _hashed(frozenset, items)
    if isinstance(node, ast.Dict) and all(key is not None for key in node.keys):
        pairs = [
            (_value(key, known), _value(item, known))
            for key, item in zip(node.keys, node.values, strict=True)
            if key is not None
        ]
        _weigh(item for pair in pairs for item in pair)
        return _hashed(dict, pairs)
    if isinstance(node, ast.UnaryOp) and type(node.op) in _SIGNS:
        return _bounded_number(_SIGNS[type(node.op)](_number(_value(node.operand, known))))
    if isinstance(node, ast.BinOp):
        return _binary(node, _value(node.left, known), _value(node.right, known))
    raise _Problem(CODE, _NOT_RUN)


def _constant(value: Any) -> Any:
    if value is ... or value is None or isinstance(value, bool):
        return value
    if isinstance(value, str):
        if len(value) > LONGEST_STRING:
            raise _Problem(TOO_MUCH, _TOO_MUCH)
        return value
    if isinstance(value, int | float):
        return _bounded_number(value)
    raise _Problem(CODE, _NOT_RUN)


def _number(value: Any) -> int | float:
    if isinstance(value, int | float) and not isinstance(value, bool):
        return value
    if value is ... or value is None:
        raise _Problem(SLIP, "This line uses an answer that is not filled in yet.")
    raise (
        _Problem(CODE, _NOT_RUN)
        if not isinstance(value, str)
        else _Problem(SLIP, f'"{value[:40]}" is a text. Arithmetic needs plain numbers.')
    )


def _bounded_number(value: Any) -> Any:
    if isinstance(value, int) and value.bit_length() > MOST_BITS:
        raise _Problem(TOO_MUCH, _TOO_MUCH)
    if isinstance(value, complex):
        raise _Problem(SLIP, "A negative number cannot be raised to a broken power.")
    return value


def _binary(node: ast.BinOp, left: Any, right: Any) -> Any:
    a, b = _number(left), _number(right)
    try:
        if isinstance(node.op, ast.Pow):
            return _power(a, b)
        if type(node.op) not in _ARITHMETIC:
            raise _Problem(CODE, _NOT_RUN)
        return _bounded_number(_ARITHMETIC[type(node.op)](a, b))
    except ZeroDivisionError:
        raise _Problem(SLIP, "This line divides by zero.") from None
    except OverflowError:
        raise _Problem(SLIP, "This line gives a number too large to write down.") from None


def _power(base: int | float, exponent: int | float) -> Any:
    whole = isinstance(base, int) and isinstance(exponent, int)
    if whole and (abs(exponent) > MOST_BITS or int(base).bit_length() * abs(exponent) > 2 * MOST_BITS):
        raise _Problem(TOO_MUCH, _TOO_MUCH)
    return _bounded_number(base**exponent)


def _weigh(items: Iterable[Any]) -> None:
    """Refuse lists of lists of lists that grow with every line: a value may hold only so many plain values."""
    stack, weight = list(items), 0
    while stack:
        item = stack.pop()
        weight += 1
        if weight > MOST_NODES:
            raise _Problem(TOO_MUCH, _TOO_MUCH)
        if isinstance(item, dict):
            stack += [*item, *item.values()]
        elif isinstance(item, list | tuple | frozenset):
            stack += item


def _hashed(make: Any, items: list[Any]) -> Any:
    try:
        return make(items)
    except TypeError:
        raise _Problem(SLIP, "A list cannot stand inside curly brackets.") from None


def _without_common_indent(text: str) -> str:
    """Blank lines on top and the first line's indent taken away, as the notebook does when a cell is run."""
    lines = text.split("\n")
    while lines and not lines[0].strip():
        lines.pop(0)
    if not lines:
        return ""
    indent = lines[0][: len(lines[0]) - len(lines[0].lstrip(" \t"))]
    return "\n".join(line.removeprefix(indent) for line in lines)


def _has_escape(source: str) -> bool:
    lines = [line.strip() for line in source.splitlines()]
    return any(line.startswith(("%", "!", "?")) or line.endswith("?") or _assigned_escape(line) for line in lines)


def _assigned_escape(line: str) -> bool:
    return "=" in line and line.split("=", 1)[1].strip().startswith(("%", "!"))


def _slip_words(source: str, lineno: int | None) -> str:
    lines = source.splitlines()
    line = lines[lineno - 1].strip()[:60] if lineno and 0 < lineno <= len(lines) else ""
    return f'The line "{line}" could not be read. A line reads: name = number, or name = "text in quotes".'
