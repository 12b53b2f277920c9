"""The floors of the house hold: imports go down, and nothing below the widgets knows Jupyter."""

import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parents[1]


def test_imports_go_down():
    linter = Path(sys.executable).parent / "lint-imports"
    run = subprocess.run([linter, "--no-cache"], cwd=ROOT, capture_output=True, text=True)
    assert run.returncode == 0, run.stdout + run.stderr
