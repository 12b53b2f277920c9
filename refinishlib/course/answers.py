"""Reading an answer cell as data. Nothing in it is ever run.

What a plain answer may hold, and all that it may hold:

- numbers, texts, lists (and tables in curly brackets) of them, the three dots;
- names of earlier answers;
- arithmetic: ``+ - * / // % **`` and brackets;
- ``round`` to between -6 and 12 digits, ``abs``, and ``sum``, ``min``, ``max`` over one flat list of numbers;
- ``print(...)`` of such values on a line of its own, which is passed over.

A cell is read as a syntax tree, within bounds. A line that is no Python is read as the words that stand behind its
``=``: ``own_g = 34,2 g`` says the same as ``own_g = "34,2 g"``. Anything else makes the cell one that "holds code",
which is said and not run. The check in the notebook, the form's own check and the grader all read through here.
"""

from __future__ import annotations

import ast
import keyword
import operator
import re
import warnings
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from refinishlib.course.cures import cure

LONGEST_CELL = 6_000
MOST_NODES = 1_500
DEEPEST = 40
LONGEST_STRING = 2_000
MOST_BITS = 512
FEWEST_DIGITS, MOST_DIGITS = -6, 12

CODE, SLIP, TOO_MUCH = "code", "slip", "too much"

SOURCES = {
    "LONGEST_CELL": "teaching value: more letters than the longest honest answer cell",
    "MOST_NODES": "teaching value: more than the longest honest sum needs",
    "DEEPEST": "teaching value: more brackets in brackets than the longest honest sum needs",
    "LONGEST_STRING": "teaching value: longer text is no short answer",
    "MOST_BITS": "teaching value: whole numbers up to 154 digits",
    "FEWEST_DIGITS": "teaching value: to the million",
    "MOST_DIGITS": "teaching value: finer than any scale",
}

_ARITHMETIC: dict[type[ast.operator], Callable[[Any, Any], Any]] = {
    ast.Add: operator.add,
    ast.Sub: operator.sub,
    ast.Mult: operator.mul,
    ast.Div: operator.truediv,
    ast.FloorDiv: operator.floordiv,
    ast.Mod: operator.mod,
}
_SIGNS: dict[type[ast.unaryop], Callable[[Any], Any]] = {ast.UAdd: operator.pos, ast.USub: operator.neg}
_OVER_A_LIST: dict[str, Callable[[list[Any]], Any]] = {"sum": sum, "min": min, "max": max}
_NOT_RUN = (
    "This cell holds code, which is not run. Type a number, its unit if you like, words, or a sum like 7 * 28.35."
)
_TOO_MUCH = "This cell holds more than an answer needs. Type one plain value after each ="
_OWN_CELL = 'This line uses "{}" from a cell of your own, which could not be read.'
_HEAD = re.compile(r"^[ \t]*(?P<name>[^\W\d]\w*)[ \t]*(?:==?(?!=)|:(?!=))[ \t]*(?P<typed>.*)$", re.DOTALL)
_QUOTED = re.compile(r'"[^"\n]*"|\'[^\'\n]*\'|“[^”\n]*”|„[^“”\n]*[“”]|‘[^’\n]*’|«[^»\n]*»')
_DIGIT_COMMA_DIGIT = re.compile(r"(?<=\d),(?=\d)")


class _Problem(Exception):
    def __init__(self, kind: str, sentence: str, own: bool = False):
        super().__init__(sentence)
        self.kind = kind
        self.own = own


@dataclass(frozen=True)
class CellRead:
    """What one cell says.

    values : name to plain value, in the order of the cell
    problem : "" when all of it could be read, else "code", "slip" or "too much"
    sentence : what to tell the apprentice about the first problem
    slips : for each name whose line could not be read, what to tell the apprentice
    loose : whether a line was read that Python would not take, or would take for something else
    own : whether a line uses a name from a cell of the apprentice's own that could not be read
    """

    values: Mapping[str, Any] = field(default_factory=dict)
    problem: str = ""
    sentence: str = ""
    slips: Mapping[str, str] = field(default_factory=dict)
    loose: bool = False
    own: bool = False


def read_cell(text: str, earlier: Mapping[str, Any] | None = None, lost: Iterable[str] = ()) -> CellRead:
    """The names and plain values that an answer cell assigns.

    Parameters
    ----------
    text : the cell as typed
    earlier : answers of the cells above, which arithmetic may use
    lost : names that an unreadable cell of the apprentice's own would have given

    A cell that holds code gives no values at all. Elsewhere each line is read by itself: a slip costs its own name.

    >>> read_cell("total_g = round(7 * 28.35, 1)").values
    {'total_g': 198.5}
    >>> read_cell("own_g = 34,2 g").values
    {'own_g': '34,2 g'}
    >>> read_cell("total_g = open('gradebook.db')").problem
    'code'
    """
    cell = _Cell(earlier or {}, frozenset(lost))
    try:
        if len(text) > LONGEST_CELL or "\0" in text:
            raise _Problem(TOO_MUCH, _TOO_MUCH)
        for line in _lines(_without_common_indent(text)):
            cell.take(line)
    except _Problem as problem:
        return CellRead({}, problem.kind, str(problem))
    first = next(iter(cell.slips.values()), "")
    named = {name: sentence for name, sentence in cell.slips.items() if name}
    return CellRead(cell.values, SLIP if cell.slips else "", first, named, cell.loose, cell.own)


def assigned_names(text: str) -> tuple[str, ...]:
    """Every name that running a cell would set, as far as its text shows; for cells that cannot be read.

    >>> assigned_names("import math\\nhelp_g = math.ceil(3.2)")
    ('math', 'help_g')
    """
    text = text[: 2 * LONGEST_CELL]
    try:
        tree = _parsed(_without_common_indent(text))
    except _Problem:
        tree = None
    if tree is None:
        return tuple(dict.fromkeys(m["name"] for line in text.split("\n") if (m := _HEAD.match(line))))
    names: list[str] = []
    level: list[ast.AST] = [tree]
    while level:
        for node in level:
            if isinstance(node, ast.Name) and isinstance(node.ctx, ast.Store):
                names.append(node.id)
            elif isinstance(node, ast.FunctionDef | ast.ClassDef):
                names.append(node.name)
            elif isinstance(node, ast.alias):
                names.append((node.asname or node.name).split(".")[0])
        level = [child for node in level for child in ast.iter_child_nodes(node)]
    return tuple(dict.fromkeys(names))


def worked_out(text: str) -> float | int:
    """The value of a sum of plain numbers.

    Raises
    ------
    ValueError : it is no sum, or gives no number; the text says why

    >>> worked_out("(3 + 4) * 2")
    14
    """
    try:
        tree = _parsed(text) if len(text) <= LONGEST_STRING else None
        if tree is None or len(tree.body) != 1 or not isinstance(tree.body[0], ast.Expr):
            raise ValueError("not a sum")
        _bounded(tree)
        return _number(_Cell({}, frozenset()).value(tree.body[0].value))
    except _Problem as problem:
        raise ValueError(str(problem)) from None


@dataclass(frozen=True)
class _Line:
    """One answer of a cell: its statements, or, where it is no Python, the name and what was typed behind it."""

    source: str
    tree: ast.Module | None
    name: str = ""
    typed: str = ""


def _lines(source: str) -> list[_Line]:
    tree = _parsed(source)
    if tree is not None:
        _bounded(tree)
        if not _goes_on(tree):
            return [_Line(source, tree)]
    elif _has_escape(source):
        raise _Problem(CODE, _NOT_RUN)
    chunks: list[list[str]] = []
    alone = True
    for line in source.split("\n"):
        bare = _without_comment(line)
        if not bare.strip():
            continue
        begins = _head(bare) is not None
        statement = not begins and _is_statement(bare.strip())
        if begins or statement or alone or not chunks:
            chunks.append([])
        chunks[-1].append(bare.strip())
        alone = statement
    return [_line("\n".join(chunk)) for chunk in chunks]


def _goes_on(tree: ast.Module) -> bool:
    """Whether an answer goes on where Python sees new statements: "12; 30,5; 41", or one number a line."""
    assigned = False
    for statement in tree.body:
        if assigned and isinstance(statement, ast.Expr) and _bare_values(statement.value):
            return True
        assigned = assigned or _assignment(statement)[1] is not None
    return False


def _bare_values(node: ast.expr) -> bool:
    if isinstance(node, ast.Tuple):
        return all(_bare_values(item) for item in node.elts)
    if isinstance(node, ast.UnaryOp | ast.BinOp):
        return _only_words(node, {}, frozenset())
    return isinstance(node, ast.Constant) and node.value is not ...


def _line(source: str) -> _Line:
    tree = _parsed(source)
    if tree is not None:
        _bounded(tree)
        if not _goes_on(tree):
            return _Line(source, tree)
    head = _head(source)
    return _Line(source, None, head["name"], head["typed"].strip()) if head else _Line(source, None)


def _head(line: str) -> re.Match[str] | None:
    """A line that begins with a name and an equals sign (or two, or a colon in its place)."""
    found = _HEAD.match(line)
    return found if found and not keyword.iskeyword(found["name"]) and not found["name"].startswith("_") else None


def _is_statement(line: str) -> bool:
    """Whether a line that is no answer is a line of Python that does something, and not words or numbers."""
    tree = _parsed(line)
    if tree is None:
        return False
    return any(
        not isinstance(one, ast.Expr) or any(isinstance(node, ast.Call) for node in ast.walk(one)) for one in tree.body
    )


def _without_comment(line: str) -> str:
    """The line up to a # that stands outside of quotes; a quote that is never closed hides none."""
    outside = _QUOTED.sub(lambda quoted: " " * len(quoted.group()), line)
    return line[: outside.find("#")] if "#" in outside else line


def _parsed(source: str) -> ast.Module | None:
    """The syntax tree, or None where the text is no Python."""
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            return ast.parse(source)
    except SyntaxError:
        return None
    except (ValueError, MemoryError, RecursionError):
        raise _Problem(TOO_MUCH, _TOO_MUCH) from None


def _bounded(tree: ast.AST) -> None:
    level, nodes, depth = [tree], 0, 0
    while level:
        nodes, depth = nodes + len(level), depth + 1
        if nodes > MOST_NODES or depth > DEEPEST:
            raise _Problem(TOO_MUCH, _TOO_MUCH)
        level = [child for node in level for child in ast.iter_child_nodes(node)]


class _Cell:
    """One cell while it is read."""

    def __init__(self, earlier: Mapping[str, Any], lost: frozenset[str]):
        self.earlier = earlier
        self.lost = lost
        self.values: dict[str, Any] = {}
        self.slips: dict[str, str] = {}
        self.loose = self.own = False
        self.source = ""

    def take(self, line: _Line) -> None:
        self.source = line.source
        if line.tree is None:
            self.loose = True
            self._keep([line.name], lambda: self._words(line))
            return
        for statement in line.tree.body:
            self._statement(statement)

    def _statement(self, statement: ast.stmt) -> None:
        names, node = _assignment(statement)
        if node is not None:
            if not all(names) or any(name.startswith("_") for name in names):
                raise _Problem(CODE, _NOT_RUN)
            self.loose = self.loose or not isinstance(statement, ast.Assign)
            self._keep(names, lambda: self._answer(node))
        elif isinstance(statement, ast.Expr):
            self._keep([""], lambda: self._passed_over(statement.value))
        elif not isinstance(statement, ast.Pass):
            raise _Problem(CODE, _NOT_RUN)

    def _keep(self, names: list[str], read: Callable[[], Any]) -> None:
        try:
            value = read()
        except _Problem as problem:
            if problem.kind != SLIP:
                raise
            self.own = self.own or problem.own
            for name in names:
                self.values.pop(name, None)
                self.slips[name] = str(problem)
            return
        for name in names:
            if name:
                self.slips.pop(name, None)
                self.values[name] = value

    def _words(self, line: _Line) -> str | Any:
        """What stands behind the = of a line that is no Python, as a text."""
        if not line.name or not line.typed.strip("\"' "):
            raise _Problem(SLIP, _said(line.source, cure(line.source)))
        if len(line.typed) > LONGEST_STRING:
            raise _Problem(TOO_MUCH, _TOO_MUCH)
        return ... if line.typed in ("…", "....", "..") else line.typed

    def _passed_over(self, node: ast.expr) -> None:
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "print":
            for argument in [*node.args, *(word.value for word in node.keywords)]:
                self.value(argument)
            return
        self.value(node)

    def _answer(self, node: ast.expr) -> Any:
        """The value of an answer. Where the blanks show that a comma is a decimal comma, the answer is its text."""
        segment = ast.get_source_segment(self.source, node) or ""
        if _decimal_comma(node, segment):
            self.loose = True
            return segment
        if _only_words(node, {**self.earlier, **self.values}, self.lost, hyphens=not re.search(r"\s", segment)):
            self.loose = True
            return segment
        return self.value(node)

    def value(self, node: ast.expr) -> Any:
        if isinstance(node, ast.Constant):
            return _constant(node.value)
        if isinstance(node, ast.Name):
            return self._named(node.id)
        if isinstance(node, ast.List | ast.Tuple | ast.Set):
            items = [self.value(item) if not isinstance(item, ast.Name) else self._word(item.id) for item in node.elts]
            _weigh(items)
            if isinstance(node, ast.List):
                return items
            return tuple(items) if isinstance(node, ast.Tuple) else _hashed(frozenset, items)
        if isinstance(node, ast.Dict) and all(key is not None for key in node.keys):
            pairs = [
                (self.value(key), self.value(item))
                for key, item in zip(node.keys, node.values, strict=True)
                if key is not None
            ]
            _weigh(item for pair in pairs for item in pair)
            return _hashed(dict, pairs)
        if isinstance(node, ast.UnaryOp) and type(node.op) in _SIGNS:
            return _bounded_number(_SIGNS[type(node.op)](_number(self.value(node.operand))))
        if isinstance(node, ast.BinOp):
            return _binary(node, self.value(node.left), self.value(node.right))
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and not node.keywords:
            return self._called(node.func.id, node.args)
        raise _Problem(CODE, _NOT_RUN)

    def _named(self, name: str) -> Any:
        if name in self.values:
            return self.values[name]
        if name in self.slips:
            raise _Problem(SLIP, f'This line uses "{name[:40]}", whose own line could not be read.')
        if name in self.lost:
            raise _Problem(SLIP, _OWN_CELL.format(name[:40]), own=True)
        if name in self.earlier:
            return self.earlier[name]
        raise _Problem(SLIP, f'"{name[:40]}" has no value here. Fill in the cell that gives it, or type the number.')

    def _word(self, name: str) -> Any:
        """One of a list: an answer above, or a word that lacks its quotes."""
        if any(name in known for known in (self.values, self.slips, self.lost, self.earlier)):
            return self._named(name)
        self.loose = True
        return name

    def _called(self, function: str, nodes: list[ast.expr]) -> Any:
        if function in self.values or function in self.earlier or any(isinstance(n, ast.Starred) for n in nodes):
            raise _Problem(CODE, _NOT_RUN)
        if function in _OVER_A_LIST and len(nodes) == 1:
            items = self.value(nodes[0])
            if not isinstance(items, list | tuple | frozenset):
                raise _Problem(SLIP, f"{function}(...) takes a list of numbers, like {function}([12.0, 30.5]).")
            return self._safely(lambda: _OVER_A_LIST[function]([_number(item) for item in items]), function)
        if function == "abs" and len(nodes) == 1:
            return _bounded_number(abs(_number(self.value(nodes[0]))))
        if function == "round" and 1 <= len(nodes) <= 2:
            value = _number(self.value(nodes[0]))
            digits = self.value(nodes[1]) if len(nodes) == 2 else None
            if digits is not None and (type(digits) is not int or not FEWEST_DIGITS <= digits <= MOST_DIGITS):
                raise _Problem(SLIP, f"round(...) takes {FEWEST_DIGITS} to {MOST_DIGITS} digits, like round(34.21, 1).")
            return self._safely(lambda: round(value, digits), function)
        raise _Problem(CODE, _NOT_RUN)

    @staticmethod
    def _safely(work: Callable[[], Any], function: str) -> Any:
        try:
            return _bounded_number(work())
        except (ValueError, OverflowError):
            raise _Problem(SLIP, f"{function}(...) of this gives no number.") from None


def _assignment(statement: ast.stmt) -> tuple[list[str], ast.expr | None]:
    """The names that a line gives a value, and the value; also where a colon or two signs stand for the one."""
    if isinstance(statement, ast.Assign):
        return [t.id if isinstance(t, ast.Name) else "" for t in statement.targets], statement.value
    if isinstance(statement, ast.AnnAssign) and statement.value is None and isinstance(statement.target, ast.Name):
        return [statement.target.id], statement.annotation
    if isinstance(statement, ast.Expr) and isinstance(statement.value, ast.Compare):
        left, signs = statement.value.left, statement.value.ops
        if isinstance(left, ast.Name) and len(signs) == 1 and isinstance(signs[0], ast.Eq):
            return [left.id], statement.value.comparators[0]
    return [], None


def _decimal_comma(node: ast.expr, segment: str) -> bool:
    """Whether a comma between two digits is a decimal comma: nothing is in brackets, or other commas have blanks."""
    if not isinstance(node, ast.List | ast.Tuple) or not _DIGIT_COMMA_DIGIT.search(segment):
        return False
    if any(
        isinstance(part, ast.Name | ast.Call | ast.List | ast.Dict) for item in node.elts for part in ast.walk(item)
    ):
        return False
    in_brackets = segment[:1] in "(["
    return bool(re.search(r",\s|;", segment)) if in_brackets else len(node.elts) == segment.count(",") + 1


def _only_words(node: ast.expr, known: Mapping[str, Any], lost: frozenset[str], hyphens: bool = False) -> bool:
    """Whether Python would see names, and perhaps "and", "or", "not", "in", "-" between them, where words are meant.

    hyphens : whether numbers may stand among them ("RD-7")
    """
    words = [part for part in ast.walk(node) if isinstance(part, ast.Name)]
    if not words or any(word.id in known or word.id in lost for word in words):
        return False
    plain: tuple[type[ast.AST], ...]
    plain = (ast.Name, ast.BoolOp, ast.And, ast.Or, ast.UnaryOp, ast.Not, ast.Compare, ast.In, ast.NotIn, ast.Is)
    if hyphens:
        plain = (*plain, ast.Constant)
    return all(
        isinstance(part, (*plain, ast.Load, ast.Sub)) or (isinstance(part, ast.BinOp) and isinstance(part.op, ast.Sub))
        for part in ast.walk(node)
    )


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
    if isinstance(value, str):
        raise _Problem(SLIP, f'"{value[:40]}" is a text. A sum needs plain numbers, without quotes and units.')
    raise _Problem(CODE, _NOT_RUN)


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
        if isinstance(node.op, ast.BitXor):
            raise _Problem(SLIP, "The sign ^ does not raise to a power here: type 3 ** 2, or 3 * 3.")
        if type(node.op) not in _ARITHMETIC:
            raise _Problem(CODE, _NOT_RUN)
        return _bounded_number(_ARITHMETIC[type(node.op)](a, b))
    except ZeroDivisionError:
        raise _Problem(SLIP, "This line divides by zero. Look at the number below the line of the fraction.") from None
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
    return any(
        line.startswith(("%", "!", "?")) or (line.endswith("?") and "=" not in line) or _assigned_escape(line)
        for line in lines
    )


def _assigned_escape(line: str) -> bool:
    return re.match(r"[^=]*=\s*(!|%%?[^\W\d])", line) is not None


def _said(line: str, advice: str) -> str:
    shown = " ".join(line.split())[:60]
    return f"{shown}: {advice}" if shown else advice
