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
from refinishlib.course import lessons
from refinishlib.course.keys import written
from refinishlib.course.world import WORLDS
from refinishlib.grading import handedout
from refinishlib.grading.handedin import LARGEST_NOTEBOOK

NAME = "grading_ledger.jsonl"
_LIBRARY = Path(refinishlib.__file__).parent
# What reads and marks an answer, whatever the lesson. What a lesson's own engines give is told by its values.
_MARKING = ("course/answers.py", "course/check.py", "course/key.py", "course/keys.py", "course/question.py",
            "course/reading.py", "course/typed.py", "entry.py", "units.py", "grading/worker.py")  # fmt: skip

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

    def keep(self, rows: dict[Key, dict[str, Any]]) -> None:
        """Write the ledger anew with these rows, in place of all that it has."""
        self.rows = rows
        self._rewrite()

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


def hash_of_checks(lesson: str, source: dict[str, str], points: dict[str, float]) -> str:
    """A hash of all that decides the marks of a lesson, and of nothing else.

    That is the recorded checks and points, what reads and marks an answer, the lesson's own folder, its key and its
    world, and the values that its questions and its key have for a few ids: an engine that was changed counts when it
    changes one of them.
    """
    about = {name: source.get(name) for name in points}
    of_the_lesson = _rules_of(lesson, written(lesson)) if lesson in lessons.names() else ""
    text = json.dumps([about, points, _hash_of_marking(), of_the_lesson], sort_keys=True)
    return hashlib.sha256(text.encode()).hexdigest()


@cache
def _hash_of_marking() -> str:
    return _hash(_LIBRARY / name for name in _MARKING)


@cache
def _rules_of(lesson: str, key: tuple[Path, int]) -> str:
    folders = (lessons.FOLDER / lesson, WORLDS / str(lessons.record(lesson).world))
    files = [path for folder in folders for path in sorted(folder.iterdir()) if path.suffix in (".py", ".toml")]
    now = handedout.now(lesson)
    return f"{_hash([*files, key[0]])} {now.cards} {now.marks}"


def _hash(files: Iterable[Path]) -> str:
    digest = hashlib.sha256()
    for path in files:
        digest.update(path.name.encode() + path.read_bytes())
    return digest.hexdigest()


def _ends_in_newline(path: Path) -> bool:
    with path.open("rb") as file:
        file.seek(-1, os.SEEK_END)
        return file.read(1) == b"\n"
