"""Mutants: one constant, operator or entry changed in a copy of the tree; the tests of its room must notice.

The list is `tests/deep/mutants.toml`. Each entry:

    file    what is changed, from the top of the project
    old     a text that stands exactly once in that file
    new     what it becomes
    tests   the tests of its room, as they are typed after pytest
    lives   only for a survivor that was judged: why no test can or need notice

Function bodies are not enough here: half of what decides stands in module constants and data files, which the kept
mutation tools leave alone. Hence a list by hand and these few lines.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tempfile
import tomllib
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).parents[2]
LIST = ROOT / "tests" / "deep" / "mutants.toml"
NEEDED = ("refinishlib", "tests", "solutions", "lessons", "pyproject.toml", "nbgrader_config.py", "README.md")
LONGEST_S = 300


@dataclass(frozen=True)
class Mutant:
    file: str
    old: str
    new: str
    tests: tuple[str, ...]
    lives: str = ""

    def __str__(self) -> str:
        return f"{self.file}: {self.old.strip()!r} -> {self.new.strip()!r}"


def read_list() -> list[Mutant]:
    rows = tomllib.loads(LIST.read_text(encoding="utf-8"))["mutant"]
    return [Mutant(**{**row, "tests": tuple(row["tests"])}) for row in rows]


def copy_of_the_tree(target: Path) -> Path:
    """The project without what was installed or made, in a folder of its own."""
    for name in NEEDED:
        source = ROOT / name
        if source.is_dir():
            shutil.copytree(source, target / name, ignore=shutil.ignore_patterns("__pycache__"))
        elif source.exists():
            shutil.copy2(source, target / name)
    return target


def dies(mutant: Mutant, tree: Path) -> bool:
    """Whether the tests of its room notice the mutant. The copy of the tree is as before afterwards."""
    path = tree / mutant.file
    text = path.read_text(encoding="utf-8")
    assert text.count(mutant.old) == 1, f"{mutant}: the old text stands {text.count(mutant.old)} times"
    path.write_text(text.replace(mutant.old, mutant.new), encoding="utf-8")
    try:
        return _pytest(mutant.tests, tree) != 0
    finally:
        path.write_text(text, encoding="utf-8")


def _pytest(tests: Sequence[str], tree: Path) -> int:
    command = [sys.executable, "-B", "-m", "pytest", "-x", "-q", "-n", "0", "-p", "no:cacheprovider", *tests]
    surroundings = os.environ | {"PYTHONPATH": str(tree), "PYTHONDONTWRITEBYTECODE": "1", "HYPOTHESIS_PROFILE": "house"}
    try:
        done = subprocess.run(command, cwd=tree, env=surroundings, capture_output=True, timeout=LONGEST_S, check=False)
    except subprocess.TimeoutExpired:
        return 1
    # 1: a test failed. 2: the tests could not even be read with this mutant, which is as loud.
    assert done.returncode in (0, 1, 2), done.stdout.decode()[-2000:]
    return done.returncode


def survivors(mutants: Sequence[Mutant], *, processes: int = 2) -> list[Mutant]:
    """Those whose tests pass with the mutant in place. Each process has a copy of the tree of its own."""
    with tempfile.TemporaryDirectory() as folder:
        trees = [copy_of_the_tree(Path(folder) / f"tree{number}") for number in range(processes)]

        def try_all(number: int) -> list[Mutant]:
            return [mutant for mutant in mutants[number::processes] if not dies(mutant, trees[number])]

        with ThreadPoolExecutor(processes) as pool:
            return [mutant for found in pool.map(try_all, range(processes)) for mutant in found]


if __name__ == "__main__":
    words = sys.argv[1:]
    chosen = [one for one in read_list() if not one.lives and all(word in str(one) for word in words)]
    living = survivors(chosen)
    for one in living:
        print("lives:", one)
    print(f"{len(chosen) - len(living)} of {len(chosen)} mutants die")
