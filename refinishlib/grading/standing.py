"""Where a class stands, in plain values: the grade book, the ledger, the class list and the due dates put together.

The report, the answers page and the feedback all read from here, so that they cannot say different things.
"""

from __future__ import annotations

import contextlib
import datetime
import json
import os
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from refinishlib.course.lessons import place
from refinishlib.grading import classlist, duedates
from refinishlib.grading.classlist import Apprentice
from refinishlib.grading.collect import collected
from refinishlib.grading.handmarks import hides_a_better_one
from refinishlib.grading.ledger import Ledger, question_of, reasons


@dataclass(frozen=True)
class Graded:
    """One graded cell of one hand-in.

    written : marked by hand, not by a check
    waits : whether a human is asked for
    """

    name: str
    written: bool
    auto: float | None
    by_hand: float | None
    extra: float
    most: float
    waits: bool
    comment: str = ""

    @property
    def unmarked(self) -> bool:
        """Nobody has marked it yet, so its points are neither earned nor lost."""
        return self.auto is None and self.by_hand is None

    @property
    def points(self) -> float:
        given = self.by_hand if self.by_hand is not None else self.auto
        return (given or 0.0) + self.extra


@dataclass(frozen=True)
class HandIn:
    """One apprentice's work on one lesson. handed_in is in local time, None when nobody knows it."""

    apprentice: str
    lesson: str
    cells: tuple[Graded, ...]
    row: Mapping[str, Any]
    penalty: float = 0.0
    late_h: float = 0.0
    handed_in: datetime.datetime | None = None
    time_from: str = ""

    @property
    def score(self) -> float:
        return sum(cell.points for cell in self.cells) - self.penalty

    @property
    def most(self) -> float:
        """The most points of what has been marked."""
        return sum(cell.most for cell in self.cells if not cell.unmarked)

    @property
    def unmarked(self) -> float:
        """Points of answers that nobody has marked yet."""
        return sum(cell.most for cell in self.cells if cell.unmarked)

    @property
    def to_mark(self) -> int:
        return sum(cell.written and cell.waits for cell in self.cells)

    @property
    def look_at(self) -> list[str]:
        """Why an instructor should look at it; empty when nobody needs to."""
        waiting = [cell.name for cell in self.cells if cell.waits and not cell.written]
        hidden = [
            hides_a_better_one(question_of(cell.name), cell.by_hand, cell.auto) for cell in self.cells if cell.waits
        ]
        what = [*reasons(self.row, waiting), *filter(None, hidden)]
        return what or (["check by hand"] if waiting else [])


@dataclass(frozen=True)
class Lesson:
    """One lesson of the course: its title, when it is due (local time), and the most points of its graded cells.

    is_here : whether it is handed out now; an older version, whose marks were kept, is not
    """

    name: str
    title: str
    due: datetime.datetime | None = None
    most: Mapping[str, float] = field(default_factory=dict)
    is_here: bool = True

    @property
    def total(self) -> float:
        return sum(self.most.values())


@dataclass(frozen=True)
class Standing:
    """The whole class. people and lessons are in the order of the class list and of the course."""

    people: tuple[Apprentice, ...]
    lessons: tuple[Lesson, ...]
    hand_ins: Mapping[tuple[str, str], HandIn]
    now: datetime.datetime

    def missing(self, lesson: Lesson) -> list[Apprentice]:
        return [one for one in self.people if (one.id, lesson.name) not in self.hand_ins]

    def overdue(self, lesson: Lesson) -> bool:
        return lesson.due is not None and lesson.due < self.now


def load(root: Path, now: datetime.datetime | None = None) -> Standing:
    """Read where the class stands. The course's folder becomes the working one, which nbgrader needs.

    Raises
    ------
    BadEntry : a grade book, ledger or class list that is damaged
    """
    with open_book(root) as book:
        return read(root, book, now)


def read(root: Path, book: Any, now: datetime.datetime | None = None) -> Standing:
    """Where the class stands, out of a grade book that is open already."""
    from nbgrader.api import (
        Assignment,
        BaseCell,
        Comment,
        Grade,
        GradeCell,
        Notebook,
        SubmittedAssignment,
        SubmittedNotebook,
    )

    dates, known, times = duedates.load(root), classlist.load(root), collected(root)
    rows = Ledger(root).rows
    query = book.db.query
    most: dict[str, dict[str, float]] = {name: {} for (name,) in query(Assignment.name)}
    points = (
        query(Assignment.name, GradeCell.name, GradeCell.max_score)
        .select_from(GradeCell)
        .join(Notebook, Notebook.id == GradeCell.notebook_id)
        .join(Assignment, Assignment.id == Notebook.assignment_id)
    )
    for lesson, cell, limit in points:
        most[lesson][cell] = float(limit or 0.0)
    due = {name: when for name, when in query(Assignment.name, Assignment.duedate)}
    said = query(Comment.notebook_id, BaseCell.name, Comment.comment).select_from(Comment)
    comments = {
        (notebook, name): text or "" for notebook, name, text in said.join(BaseCell, BaseCell.id == Comment.cell_id)
    }
    handed = (
        query(
            Assignment.name,
            SubmittedAssignment.student_id,
            SubmittedAssignment.timestamp,
            SubmittedAssignment.extension,
            SubmittedNotebook.id,
            SubmittedNotebook.late_submission_penalty,
        )
        .select_from(SubmittedNotebook)
        .join(SubmittedAssignment, SubmittedAssignment.id == SubmittedNotebook.assignment_id)
        .join(Assignment, Assignment.id == SubmittedAssignment.assignment_id)
        .all()
    )
    cells: dict[str, list[Graded]] = {}
    grades = query(
        Grade.notebook_id,
        BaseCell.name,
        GradeCell.cell_type,
        GradeCell.max_score,
        Grade.auto_score,
        Grade.manual_score,
        Grade.extra_credit,
        Grade.needs_manual_grade,
    ).select_from(Grade)
    grades = grades.join(BaseCell, BaseCell.id == Grade.cell_id).join(GradeCell, GradeCell.id == Grade.cell_id)
    for notebook, name, kind, limit, auto, by_hand, extra, waits in grades:
        one = Graded(
            name,
            kind != "code",
            auto,
            by_hand,
            float(extra or 0.0),
            float(limit or 0.0),
            bool(waits),
            comments.get((notebook, name), ""),
        )
        cells.setdefault(notebook, []).append(one)
    students = [(s.id, s.first_name or "", s.last_name or "") for s in book.students]
    listed = {one.id for one in known}
    strangers = [Apprentice(who, first, last, "") for who, first, last in sorted(students) if who not in listed]
    hand_ins = {}
    for lesson, who, stamp, extension, notebook, penalty in handed:
        local = _local(stamp)
        last = due[lesson] + extension if due[lesson] and extension else due[lesson]
        noted = times.get((lesson, who), {})
        order = list(most[lesson])
        hand_ins[who, lesson] = HandIn(
            apprentice=who,
            lesson=lesson,
            cells=tuple(sorted(cells.get(notebook, []), key=lambda one: order.index(one.name))),
            row=rows.get((lesson, who), {}),
            penalty=float(penalty or 0.0),
            late_h=round(max(0.0, (stamp - last).total_seconds()) / 3600, 1) if stamp and last else 0.0,
            handed_in=local,
            time_from=noted.get("time from", "") if local else "",
        )
    names = sorted(most, key=lambda name: (place(name)[0], due[name] or datetime.datetime.max, name))
    lessons = tuple(
        Lesson(name, title_of(root, name), _local(due[name]) or dates.get(name), most[name], is_here(root, name))
        for name in names
    )
    return Standing((*known, *strangers), lessons, hand_ins, now or datetime.datetime.now().astimezone())


@contextlib.contextmanager
def open_book(root: Path) -> Iterator[Any]:
    """The grade book of a course folder, which becomes the working one.

    Raises
    ------
    BadEntry : it is damaged
    """
    from refinishlib.grading.nbgrading import Course, one_grade_book, quiet

    os.chdir(root)
    course = Course(root)
    with quiet(), one_grade_book(course.db_url, str(course.directory.course_id)) as book:
        yield book


def is_here(root: Path, lesson: str) -> bool:
    """Whether a lesson is handed out now, and not an older version whose marks were kept."""
    return (root / "lessons" / lesson / f"{lesson}.ipynb").is_file()


def title_of(root: Path, lesson: str) -> str:
    """A lesson's title: the first heading of its notebook, or its name."""
    try:
        text = (root / "lessons" / lesson / f"{lesson}.ipynb").read_text(encoding="utf-8")
        first = next(cell for cell in json.loads(text)["cells"] if cell["cell_type"] == "markdown")
        heading = re.match(r"\s*#\s+(.+)", "".join(first["source"]))
    except (OSError, ValueError, KeyError, StopIteration):
        heading = None
    return heading[1].strip() if heading else lesson


def _local(stamp: datetime.datetime | None) -> datetime.datetime | None:
    return stamp.replace(tzinfo=datetime.UTC).astimezone() if stamp else None
