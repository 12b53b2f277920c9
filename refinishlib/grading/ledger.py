"""What has been graded: one line of JSON for each submission, written after its scores are safe in the grade book.

A line that was cut short by a crash is ignored; the submission it stood for is graded again, which changes nothing.
"""

from __future__ import annotations

import hashlib
import json
import os
from collections.abc import Collection, Iterable, Iterator, Mapping
from functools import cache
from pathlib import Path
from typing import Any

import refinishlib
from refinishlib.course import lessons
from refinishlib.course.check import OTHER_ID
from refinishlib.course.keys import written
from refinishlib.course.world import WORLDS
from refinishlib.entry import BadEntry
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
        lines = _lines(self.path)
        broken = 0
        for line in lines:
            try:
                row = json.loads(line)
                self.rows[row["lesson"], row["apprentice"]] = row
            except (ValueError, KeyError, TypeError, RecursionError):
                broken += 1
        if broken > 1:  # one line is what a crash may leave
            raise BadEntry(damaged(self.path, f"{broken} of its {len(lines)} lines cannot be read"))
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


def damaged(path: Path, what: str) -> str:
    """What to say, and to do, about a ledger that cannot be used."""
    return (
        f"{path.name} is damaged: {what}. No mark is lost, they are in the grade book. Move {path.name} away and type "
        "refinish grade again; it grades everything anew and keeps what was marked by hand."
    )


def reasons(row: Mapping[str, Any], waiting: Collection[str]) -> Iterator[str]:
    """Why an instructor should look at a submission, from its row and the checks that wait for a human."""
    if row.get("unreadable"):
        if waiting:
            yield str(row["unreadable"]).rstrip(".")
        return
    flags: dict[str, list[str]] = {}
    for check, outcome in (row.get("outcomes") or {}).items():
        if outcome["flag"] and check in waiting:
            flags.setdefault(outcome["flag"], []).append(question_of(check))
    for flag, checks in flags.items():
        whose = f", {row['claimed']}" if flag == OTHER_ID and row.get("claimed") else ""
        yield f"{flag}{whose} ({', '.join(checks)})"
    if row.get("copies") and waiting:
        yield f"copied cells, the last one counts ({', '.join(map(question_of, row['copies']))})"
    if row.get("aside"):
        yield f"moved aside: {', '.join(row['aside'][:3])}{' ...' if len(row['aside']) > 3 else ''}"


def question_of(grade_id: str) -> str:
    """A graded cell's question, as it is called on the screen.

    >>> question_of("check-1-1"), question_of("answer-my-id"), question_of("written-1")
    ('1.1', 'my-id', 'written answer 1')
    """
    if grade_id.startswith("written-"):
        return f"written answer {grade_id.removeprefix('written-')}"
    short = grade_id.removeprefix("check-").removeprefix("answer-")
    return short.replace("-", ".") if short.replace("-", "").isdigit() else short


def _lines(path: Path) -> list[str]:
    try:
        return path.read_bytes().decode("utf-8", errors="replace").splitlines()
    except FileNotFoundError:
        return []
    except OSError as problem:
        raise BadEntry(damaged(path, f"it cannot be opened ({problem.strerror})")) from None


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
