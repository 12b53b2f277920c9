"""``refinish release LESSON``: write a lesson from its solution, and its checks into the grade book.

A lesson may change after it was graded. Other points need nothing but grading again. nbgrader refuses a notebook with a
cell more or less once somebody has handed in; here the grade book is brought in line first, and no mark is dropped
before it is written down elsewhere and the instructor has said so.
"""

from __future__ import annotations

import argparse
import json
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from refinishlib.entry import BadEntry, one_of

DROPPED = "dropped_marks.csv"
_COLUMNS = ("lesson", "question", "apprentice", "points", "most", "comment")


@dataclass
class ReleaseChange:
    """What a lesson has on record and what its solution has now.

    points : question to its points before and now
    added, removed : graded questions
    marks : removed question to the marks that the grade book has for it
    by_hand : question with other points to those whose mark for it was given by hand
    """

    lesson: str
    points: dict[str, tuple[float, float]] = field(default_factory=dict)
    added: list[str] = field(default_factory=list)
    removed: list[str] = field(default_factory=list)
    marks: dict[str, int] = field(default_factory=dict)
    by_hand: dict[str, list[str]] = field(default_factory=dict)
    handed_in: int = 0

    @property
    def lines(self) -> list[str]:
        lines = [f"  {name}: {was:g} points before, {now:g} now" for name, (was, now) in self.points.items()]
        lines += [
            f"  {name}: marked by hand for {', '.join(who)}; these marks stay, look at them in the formgrader"
            for name, who in self.by_hand.items()
        ]
        lines += [f"  {name}: new" for name in self.added]
        lines += [f"  {name}: removed" for name in self.removed]
        return lines


def add_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("lesson", help="the lesson's name")
    parser.add_argument(
        "--drop",
        nargs="+",
        default=[],
        metavar="QUESTION",
        help="removed questions whose marks may go; they are kept in a table",
    )


def run(arguments: argparse.Namespace) -> int:
    from refinishlib.course.folder import course_folder

    change = release(course_folder(), arguments.lesson, drop=arguments.drop)
    print(f"lessons/{change.lesson} is written, and its checks are in the grade book.")
    print("\n".join(change.lines), end="\n" if change.lines else "")
    if change.handed_in and change.lines:
        print(f"Type: refinish grade {change.lesson}. Automatic marks follow the change; marks given by hand stay.")
    return 0


def release(root: Path, lesson: str, *, drop: list[str] | None = None) -> ReleaseChange:
    """Write the released lesson and bring the grade book in line with it.

    Parameters
    ----------
    drop : removed questions whose marks may leave the grade book; they are written to ``dropped_marks.csv`` first

    Raises
    ------
    BadEntry : an unknown lesson, or a question with marks was removed that drop does not name; nothing is changed then
    """
    import os

    from refinishlib.grading.nbgrading import Course, damage_told

    os.chdir(root)
    course = Course(root)
    one_of("lesson", lesson, course.lessons())
    source = root / str(course.directory.source_directory) / lesson / f"{lesson}.ipynb"
    wanted = _cells(source)
    with damage_told(course.db_url):
        change = _in_line(root, course, lesson, wanted, set(drop or []))
        course.generate(lesson)
        if change.handed_in:
            _fill_in(course, lesson)
            if change.lines:
                _to_grade_again(root, lesson)
    return change


def points_that_differ(lesson: str, points: Mapping[str, float]) -> list[str]:
    """Questions that count other points in the notebook than in the library, each as a sentence.

    points : the most points on record, by grade id

    >>> points_that_differ("mixing", {"check-1-1": 3.0, "check-1-2": 5.0, "written-1": 4.0})
    ['1.1 counts 3 points in this course and 2 in the library: its marks are scaled']
    """
    from refinishlib.course import lessons
    from refinishlib.grading import handedout
    from refinishlib.grading.ledger import question_of

    if lesson not in lessons.names():
        return []
    asked = handedout.points(lesson)
    return [
        f"{name} counts {most:g} points in this course and {asked[name]:g} in the library: its marks are scaled"
        for name, most in ((question_of(grade_id), most) for grade_id, most in points.items())
        if name in asked and asked[name] != most
    ]


def _cells(source: Path) -> dict[str, dict[str, Any]]:
    """nbgrader's metadata of a solution's cells by grade id, with the cell's kind."""
    try:
        cells = json.loads(source.read_text(encoding="utf-8"))["cells"]
        found = [(cell["metadata"].get("nbgrader"), cell["cell_type"]) for cell in cells]
    except (OSError, ValueError, KeyError, TypeError):
        raise BadEntry(f"{source.name} in solutions/ cannot be read; put back the last copy that you have.") from None
    return {about["grade_id"]: about | {"cell_type": kind} for about, kind in found if about}


def _in_line(root: Path, course: Any, lesson: str, wanted: dict[str, dict[str, Any]], drop: set[str]) -> ReleaseChange:
    """Add and remove cells on record so that nbgrader takes the lesson; says what changed."""
    from nbgrader.api import MissingEntry

    from refinishlib.grading.ledger import question_of
    from refinishlib.grading.nbgrading import one_grade_book, quiet
    from refinishlib.grading.table import read_table, write_table

    change = ReleaseChange(lesson)
    with quiet(), one_grade_book(course.db_url, str(course.directory.course_id)) as book:
        try:
            notebook = book.find_notebook(lesson, lesson)
        except MissingEntry:
            return change
        change.handed_in = len(notebook.submissions)
        graded = {name: float(about["points"]) for name, about in wanted.items() if about.get("grade")}
        had = {cell.name: cell for cell in notebook.grade_cells}
        change.points = {
            question_of(name): (float(had[name].max_score), most)
            for name, most in graded.items()
            if name in had and float(had[name].max_score) != most
        }
        change.added = [question_of(name) for name in graded if name not in had]
        change.removed = [question_of(name) for name in had if name not in graded]
        if not change.handed_in:
            return change
        for cell in had.values():
            by_hand = [one.notebook.student.id for one in cell.grades if one.manual_score is not None]
            if by_hand and question_of(cell.name) in change.points:
                change.by_hand[question_of(cell.name)] = sorted(by_hand)
        gone = [cell for cell in had.values() if cell.name not in graded]
        change.marks = {question_of(cell.name): len(cell.grades) for cell in gone if cell.grades}
        refused = [name for name in change.marks if name not in drop]
        if refused:
            count = sum(change.marks[name] for name in refused)
            raise BadEntry(
                f"{lesson}: question {', '.join(refused)} is not in the solution any more, but the grade book has "
                f"{count} marks for it. Nothing was changed. Put it back into solutions/{lesson}, or type refinish "
                f"release {lesson} --drop {' '.join(refused)}: the marks are written to {DROPPED} first."
            )
        comments = {
            (one.notebook_id, one.name): one.comment or "" for cell in notebook.solution_cells for one in cell.comments
        }
        rows = [
            (
                lesson,
                question_of(cell.name),
                one.notebook.student.id,
                one.score,
                one.max_score,
                comments.get((one.notebook_id, cell.name), ""),
            )
            for cell in gone
            for one in cell.grades
        ]
        if rows:
            kept = read_table(root / DROPPED, _COLUMNS) if (root / DROPPED).exists() else []
            fresh = [dict(zip(_COLUMNS, row, strict=True)) for row in rows]
            write_table(root / DROPPED, _COLUMNS, [*kept, *fresh])
        for kind, role in (("grade_cells", "grade"), ("solution_cells", "solution"), ("source_cells", "")):
            for cell in list(getattr(notebook, kind)):
                about = wanted.get(cell.name)
                if about is None or (role and not about.get(role)):
                    for hung in [*getattr(cell, "grades", []), *getattr(cell, "comments", [])]:
                        book.db.delete(hung)
                    book.db.delete(cell)
        book.db.commit()
        for name, about in wanted.items():
            if about.get("grade"):
                values = {"max_score": float(about["points"]), "cell_type": about["cell_type"]}
                book.update_or_create_grade_cell(name, lesson, lesson, **values)
            if about.get("solution"):
                book.update_or_create_solution_cell(name, lesson, lesson)
            if about.get("grade") or about.get("solution") or about.get("locked"):
                book.update_or_create_source_cell(name, lesson, lesson, cell_type=about["cell_type"])
    return change


def _to_grade_again(root: Path, lesson: str) -> None:
    """Have the next `refinish grade` take every hand-in for a new one."""
    from refinishlib.grading.ledger import Ledger

    ledger = Ledger(root)
    ledger.keep({key: row | {"handed_in": ""} if key[0] == lesson else row for key, row in ledger.rows.items()})


def _fill_in(course: Any, lesson: str) -> None:
    """Give every submission a place for the marks and comments of questions that came later."""
    from nbgrader.api import Comment, Grade

    from refinishlib.grading.nbgrading import one_grade_book, quiet

    with quiet(), one_grade_book(course.db_url, str(course.directory.course_id)) as book:
        notebook = book.find_notebook(lesson, lesson)
        for submitted in notebook.submissions:
            marked = {one.cell_id for one in submitted.grades}
            said = {one.cell_id for one in submitted.comments}
            book.db.add_all(
                Grade(cell=cell, notebook=submitted) for cell in notebook.grade_cells if cell.id not in marked
            )
            book.db.add_all(
                Comment(cell=cell, notebook=submitted) for cell in notebook.solution_cells if cell.id not in said
            )
        book.db.commit()
