"""The floors of the house hold: imports go down, and nothing below the widgets knows Jupyter."""

import ast
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
ENGINES = sorted(
    path
    for room in ("mixing", "colour", "prep", "booth", "picture")
    for path in (ROOT / "refinishlib" / room).glob("*.py")
)
LOOK_UPS = {"toner", "toners", "formulas", "product", "products", "panels"}


def test_imports_go_down():
    linter = Path(sys.executable).parent / "lint-imports"
    run = subprocess.run([linter, "--no-cache"], cwd=ROOT, capture_output=True, text=True)
    assert run.returncode == 0, run.stdout + run.stderr


@pytest.mark.parametrize("path", ENGINES, ids=lambda path: f"{path.parent.name}/{path.name}")
def test_an_engine_is_handed_values_and_never_looks_the_shop_up(path):
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.ImportFrom) and str(node.module).startswith("refinishlib.shop"):
            names = {name.name for name in node.names}
            assert node.module != "refinishlib.shop.shop" and "shop" not in names
            assert not names & LOOK_UPS, f"line {node.lineno}"
            # A whole module would bring its look-ups along.
            assert node.module != "refinishlib.shop", f"line {node.lineno}"
