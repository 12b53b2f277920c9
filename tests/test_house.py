"""The floors of the house hold: imports go down, and nothing below the widgets knows Jupyter."""

import ast
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
ENGINES = sorted(
    path
    for room in ("mixing", "colour", "prep", "booth", "job", "picture")
    for path in (ROOT / "refinishlib" / room).glob("*.py")
)


def test_imports_go_down():
    linter = Path(sys.executable).parent / "lint-imports"
    run = subprocess.run([linter, "--no-cache"], cwd=ROOT, capture_output=True, text=True)
    assert run.returncode == 0, run.stdout + run.stderr


@pytest.mark.parametrize("path", ENGINES, ids=lambda path: f"{path.parent.name}/{path.name}")
def test_an_engine_is_handed_values_and_never_looks_the_shop_up(path):
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.ImportFrom) and str(node.module).startswith("refinishlib.shop"):
            names = {name.name for name in node.names}
            assert node.module != "refinishlib.shop.shop" and "shop" not in names, f"line {node.lineno}"


def test_a_public_class_has_a_name_of_its_own():
    """A `Step` of the booth and a `Step` of the pour in one file, and nobody knows which is meant."""
    rooms: dict[str, list[str]] = {}
    for path in sorted((ROOT / "refinishlib").rglob("*.py")):
        for node in ast.parse(path.read_text(encoding="utf-8")).body:
            if isinstance(node, ast.ClassDef) and not node.name.startswith("_"):
                rooms.setdefault(node.name, []).append(str(path.relative_to(ROOT)))
    assert {name: places for name, places in rooms.items() if len(places) > 1} == {}
