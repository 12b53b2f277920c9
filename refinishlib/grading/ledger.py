"""What has been graded: one line of JSON for each submission, written after its scores are safe in the grade book.

A line that was cut short by a crash is ignored; the submission it stood for is graded again, which changes nothing.
"""

from __future__ import annotations

import hashlib
import json
import os
from collections.abc import Iterable
from functools import cache
from pathlib import Path
from typing import Any

import refinishlib
from refinishlib.grading.handedin import LARGEST_NOTEBOOK

NAME = "grading_ledger.jsonl"
_NOT_IN_A_MARK = ("bench", "picture", "cli.py", "lab", "grading", "__pycache__")

Key = tuple[str, str]


class Ledger:
    """The ledger of one course folder, by lesson and apprentice."""

    def __init__(self, root: Path):
        self.path = root / NAME
        self.rows: dict[Key, dict[str, Any]] = {}
        try:
            lines = self.path.read_text(encoding="utf-8").splitlines()
        except FileNotFoundError:
            lines = []
        for line in lines:
            try:
                row = json.loads(line)
                self.rows[row["lesson"], row["apprentice"]] = row
            except (ValueError, KeyError, TypeError):
                continue
        if len(lines) > 2 * len(self.rows) + 1 or (lines and not _ends_in_newline(self.path)):
            self._rewrite()

    def add(self, row: dict[str, Any]) -> None:
        """Append a row and see it safely on the disk."""
        append(self.path.parent, row)
        self.rows[row["lesson"], row["apprentice"]] = row

    def _rewrite(self) -> None:
        fresh = self.path.with_suffix(".fresh")
        fresh.write_text("".join(json.dumps(row) + "\n" for row in self.rows.values()), encoding="utf-8")
        fresh.replace(self.path)


def append(root: Path, row: dict[str, Any]) -> None:
    """Append a row to the ledger of a course folder and see it safely on the disk."""
    with (root / NAME).open("a", encoding="utf-8") as file:
        file.write(json.dumps(row) + "\n")
        file.flush()
        os.fsync(file.fileno())


def hash_of_submission(folder: Path, names: Iterable[str]) -> str:
    """A hash of the lesson's files in a submission's folder. A file too large to be graded counts by its size."""
    digest = hashlib.sha256()
    for name in sorted(names):
        path = folder / name
        try:
            status = path.lstat()
            plain = path.is_file() and not path.is_symlink()
            small = status.st_size <= LARGEST_NOTEBOOK
            content = path.read_bytes() if plain and small else f"{status.st_size} {status.st_mtime_ns}".encode()
        except OSError:
            content = b"missing"
        digest.update(f"{name}\0{len(content)}\0".encode() + content)
    return digest.hexdigest()


def hash_of_checks(released: str, source: dict[str, str], points: dict[str, float]) -> str:
    """A hash of all that decides a mark: the lesson, the recorded checks, and the library that they call."""
    text = json.dumps([released, source, points], sort_keys=True)
    return hashlib.sha256((text + _hash_of_library()).encode()).hexdigest()


@cache
def _hash_of_library() -> str:
    root = Path(refinishlib.__file__).parent
    digest = hashlib.sha256()
    for path in sorted(root.rglob("*")):
        relative = path.relative_to(root)
        if path.suffix in (".py", ".toml") and not set(relative.parts) & set(_NOT_IN_A_MARK):
            digest.update(relative.as_posix().encode() + path.read_bytes())
    return digest.hexdigest()


def _ends_in_newline(path: Path) -> bool:
    with path.open("rb") as file:
        file.seek(-1, os.SEEK_END)
        return file.read(1) == b"\n"
