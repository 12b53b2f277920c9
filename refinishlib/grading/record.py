"""What the grade book has on record: the school's own cells with their hidden parts, and who was graded.

Read with plain SQL. A class in which nothing changed is told so without loading nbgrader, which takes seconds.
"""

from __future__ import annotations

import contextlib
import json
import sqlite3
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import NamedTuple

from refinishlib.entry import BadEntry

BOOK = "gradebook.db"
WAIT_FOR_LOCK_S = 5

SCHOOL_CELLS = """
    SELECT source_cell.name, source FROM source_cell JOIN notebook ON notebook.id = source_cell.notebook_id
    JOIN assignment ON assignment.id = notebook.assignment_id WHERE assignment.name = ? AND notebook.name = ?
"""
_POINTS = """
    SELECT base_cell.name, max_score FROM grade_cells JOIN base_cell ON base_cell.id = grade_cells.id
    JOIN notebook ON notebook.id = base_cell.notebook_id
    JOIN assignment ON assignment.id = notebook.assignment_id WHERE assignment.name = ? AND notebook.name = ?
"""
_GRADED = """
    SELECT student_id FROM submitted_assignment
    JOIN assignment ON assignment.id = submitted_assignment.assignment_id WHERE assignment.name = ?
"""
_OPEN = """
    SELECT submitted_assignment.student_id, base_cell.name, grade_cells.cell_type = 'code', auto_score, manual_score
    FROM grade
    JOIN base_cell ON base_cell.id = grade.cell_id JOIN grade_cells ON grade_cells.id = base_cell.id
    JOIN submitted_notebook ON submitted_notebook.id = grade.notebook_id
    JOIN submitted_assignment ON submitted_assignment.id = submitted_notebook.assignment_id
    JOIN assignment ON assignment.id = submitted_assignment.assignment_id
    WHERE grade.needs_manual_grade AND assignment.name = ? ORDER BY submitted_assignment.student_id
"""
# nbgrader looks a submission's rows up by these; without an index each look goes through the whole class.
_LOOKED_UP_BY = {"grade": "notebook_id", "comment": "notebook_id", "submitted_notebook": "assignment_id"}


class LessonDiffers(Exception):
    """The released lesson is not what the grade book has on record; says what to type."""


class NotOnRecord(LessonDiffers):
    """The grade book, or the lesson in it, is not there yet."""


class Open(NamedTuple):
    """A graded cell that waits for a human. is_check : marked by a check, else a written answer."""

    name: str
    is_check: bool
    auto: float | None
    by_hand: float | None


@dataclass(frozen=True)
class Record:
    """The released notebook as JSON, and for each grade id the recorded source and the most points."""

    released: str
    source: dict[str, str]
    points: dict[str, float]


def load(released: Path, db_url: str, lesson: str, notebook: str) -> Record:
    """The record of one notebook, checked against the released file.

    Raises
    ------
    LessonDiffers : a cell is missing on one side, or the released file is not there
    NotOnRecord : the grade book does not know the notebook
    BadEntry : the grade book is damaged or in use
    """
    with opened(Path(db_url.removeprefix("sqlite:///"))) as book:
        source = dict(book.execute(SCHOOL_CELLS, (lesson, notebook)).fetchall())
        points = {name: float(most) for name, most in book.execute(_POINTS, (lesson, notebook))}
    remedy = f"type: refinish release {lesson}, which says what changed and keeps every mark"
    if not source:
        raise NotOnRecord(f"The grade book does not know {lesson}; {remedy}")
    try:
        data = json.loads(released.read_text(encoding="utf-8"))
    except (OSError, ValueError):
        raise LessonDiffers(f"{released.name} cannot be read; {remedy}") from None
    for cell in data["cells"]:
        cell["source"] = "".join(cell["source"])
    ids = {cell["metadata"]["nbgrader"]["grade_id"] for cell in data["cells"] if "nbgrader" in cell["metadata"]}
    if ids != set(source):
        differ = ", ".join(sorted(ids ^ set(source))[:3])
        raise LessonDiffers(f"lessons/{lesson} and the grade book differ in {differ}; {remedy}")
    return Record(json.dumps(data), source, points)


def points(root: Path, lesson: str) -> dict[str, float]:
    """The most points of every graded cell of a lesson, by grade id."""
    with opened(root / BOOK) as book:
        return {name: float(most) for name, most in book.execute(_POINTS, (lesson, lesson))}


def graded(root: Path, lesson: str) -> set[str]:
    """Who has a submission of the lesson in the grade book of a course folder."""
    with opened(root / BOOK) as book:
        return {who for (who,) in book.execute(_GRADED, (lesson,))}


def still_open(root: Path, lesson: str) -> dict[str, list[Open]]:
    """For each apprentice who needs a human, the cells that do."""
    found: dict[str, list[Open]] = {}
    with opened(root / BOOK) as book:
        for who, name, is_check, auto, by_hand in book.execute(_OPEN, (lesson,)):
            found.setdefault(who, []).append(Open(name, bool(is_check), auto, by_hand))
    return found


def quicken(path: Path) -> None:
    """Give the grade book the indexes that keep the work for one submission the same in a class of any size."""
    with contextlib.suppress(sqlite3.OperationalError), contextlib.closing(_connected(path, 0.5)) as book:
        for table, column in _LOOKED_UP_BY.items():
            book.execute(f"CREATE INDEX IF NOT EXISTS refinish_{table} ON {table} ({column})")
        book.commit()


@contextlib.contextmanager
def opened(path: Path) -> Iterator[sqlite3.Connection]:
    """A grade book for reading.

    Raises
    ------
    NotOnRecord : there is none
    BadEntry : damaged, or in use for longer than a few seconds
    """
    if not path.is_file():
        raise NotOnRecord(f"There is no grade book {path.name} yet.")
    try:
        with contextlib.closing(_connected(path, WAIT_FOR_LOCK_S)) as book:
            yield book
    except sqlite3.DatabaseError as problem:
        if "no such table" in str(problem):
            raise NotOnRecord(f"The grade book {path.name} is empty.") from None
        if "locked" in str(problem):
            raise BadEntry(
                f"The grade book is in use by another program ({path.name}). Close it and type the command again."
            ) from None
        raise BadEntry(damaged(path.name)) from None


def damaged(name: str) -> str:
    """What to say, and to do, about a grade book that cannot be read."""
    return (
        f"{name} is damaged and cannot be read. Put back the last copy that you have of it; if there is none, move "
        f"{name} and grading_ledger.jsonl away, type refinish class and refinish due with your tables, then "
        "refinish grade: all automatic marks come back, marks given by hand do not."
    )


def _connected(path: Path, wait_s: float) -> sqlite3.Connection:
    return sqlite3.connect(f"{path.absolute().as_uri()}?mode=rw", uri=True, timeout=wait_s)
