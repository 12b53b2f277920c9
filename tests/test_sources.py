"""No number in the library without an origin."""

import ast
import math
from pathlib import Path

import pytest

from refinishlib import sources

ROOT = Path(sources.__file__).parent
ENGINE_ROOMS = ("units.py", "entry.py", "shop", "mixing", "colour", "prep", "booth", "job")
MODULES = sorted(
    path for room in ENGINE_ROOMS for path in ([ROOT / room] if room.endswith(".py") else (ROOT / room).rglob("*.py"))
)
# Numbers that say nothing about paint: counting, halving, powers of ten, minutes and turns.
FREE = {0, 1, 2, 3, 4, 5, 6, 8, 0.5, 0.25, 1.5, 24, 60, 90, 180, 360, 3600}


def is_free(value: float) -> bool:
    if value in FREE:
        return True
    power = math.log10(abs(value))
    return math.isclose(power, round(power), abs_tol=1e-12)


def numbers_in(node: ast.AST) -> list[ast.Constant]:
    return [
        n
        for n in ast.walk(node)
        if isinstance(n, ast.Constant) and isinstance(n.value, int | float) and not isinstance(n.value, bool)
    ]


@pytest.mark.parametrize("path", MODULES, ids=lambda p: p.relative_to(ROOT).as_posix())
def test_every_constant_has_a_source_and_no_number_hides_in_a_function(path):
    tree = ast.parse(path.read_text(encoding="utf-8"))
    declared: set[str] = set()
    constants: set[str] = set()
    for node in tree.body:
        target = node.targets[0] if isinstance(node, ast.Assign) else getattr(node, "target", None)
        if not isinstance(target, ast.Name) or getattr(node, "value", None) is None:
            continue
        if target.id == "SOURCES" and isinstance(node.value, ast.Dict):
            declared = {key.value for key in node.value.keys if isinstance(key, ast.Constant)}
        elif numbers_in(node.value):
            constants.add(target.id)
    assert constants <= declared, f"without a source: {sorted(constants - declared)}"
    hidden = [
        (n.lineno, n.value)
        for top in tree.body
        if isinstance(top, ast.FunctionDef | ast.ClassDef)
        for n in numbers_in(top)
        if not is_free(n.value)
    ]
    assert not hidden, f"give these numbers a name and a source: {hidden}"


def test_every_source_is_a_tag_or_a_publication_with_its_year():
    rows = sources.table()
    assert rows
    assert [row for row in rows if not sources.is_source(row.source)] == []
