"""``refinish grade``: a whole class, what changed since last time, with a summary that says who needs a human."""

from __future__ import annotations

import argparse
import copy
import os
import sqlite3
import sys
import time
from collections import deque
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from nbgrader.api import MissingEntry

from refinishlib.entry import BadEntry, one_of
from refinishlib.grading import record
from refinishlib.grading.evaluator import Evaluator, Outcomes
from refinishlib.grading.handedin import Unreadable, is_plain_id, read_notebook
from refinishlib.grading.handmarks import hides_a_better_one
from refinishlib.grading.ledger import Ledger, hash_of_checks, hash_of_submission, question_of, reasons
from refinishlib.grading.mark import steps_of
from refinishlib.grading.nbgrading import Course, autograde, damage_told, one_grade_book, quiet
from refinishlib.grading.release import points_that_differ
from refinishlib.grading.sanitize import rebuild, sweep_submission

PATIENCE_S = 120.0
DISK_FULL = ("No space left on device", "disk is full")
AHEAD = 8


@dataclass
class Summary:
    """What one run did for one lesson.

    needs : apprentice to what an instructor should look at, also from earlier runs
    failed : apprentice to why nothing could be graded
    """

    lesson: str
    handed_in: int = 0
    graded: list[str] = field(default_factory=list)
    unchanged: int = 0
    needs: dict[str, list[str]] = field(default_factory=dict)
    failed: dict[str, str] = field(default_factory=dict)
    written: int = 0
    notes: list[str] = field(default_factory=list)

    @property
    def lines(self) -> list[str]:
        first = f"{self.lesson}: {self.handed_in} handed in, {len(self.graded)} graded now, {self.unchanged} unchanged"
        lines = [f"{first}, {self.written} written answers to mark."]
        lines += [f"  {note}" for note in self.notes]
        lines += [f"  {who}: not graded, {why}" for who, why in sorted(self.failed.items())]
        lines += [f"  {who}: {'; '.join(what)}" for who, what in sorted(self.needs.items())]
        return lines


def add_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("lesson", nargs="?", default="all", help="a lesson's name, or all (the usual)")
    parser.add_argument("--again", action="store_true", help="grade everything, also what has not changed")


def run(arguments: argparse.Namespace) -> int:
    from refinishlib.course.folder import course_folder

    try:
        summaries = grade(course_folder(), arguments.lesson, again=arguments.again, show=sys.stderr.isatty())
    except KeyboardInterrupt:
        print("\nStopped. What was graded is safe; type the command again to go on where it stopped.")
        return 2
    if not any(summary.handed_in or summary.failed for summary in summaries):
        what = "" if arguments.lesson == "all" else f" for {arguments.lesson}"
        print(f"Nothing is handed in{what} yet. Sort in what you were given with: refinish collect LESSON FOLDER")
    for summary in summaries:
        print("\n".join(summary.lines))
    stopped = any(summary.failed for summary in summaries)
    return 2 if stopped else int(any(summary.needs for summary in summaries))


def grade(root: Path, lesson: str = "all", *, again: bool = False, show: bool = False) -> list[Summary]:
    """Grade what changed since last time.

    Parameters
    ----------
    root : the course's folder; it becomes the working folder, which nbgrader needs
    lesson : a lesson's name, or "all"
    again : grade everything
    show : draw a progress bar on standard error

    Raises
    ------
    BadEntry : an unknown lesson, a grade book that stays locked, or settings that are not the course's own
    """
    os.chdir(root)
    if os.environ.get("REFINISH_GRADING") == "stock":
        raise BadEntry("REFINISH_GRADING: stock was given, allowed with this command is nothing; unset it.")
    course = Course(root)
    lessons = course.lessons()
    if lesson != "all":
        lessons = [one_of("lesson", lesson, lessons)]
    ledger = Ledger(root)
    return [_grade_lesson(course, name, ledger, again, show) for name in lessons if course.submitted(name)]


def _grade_lesson(course: Course, lesson: str, ledger: Ledger, again: bool, show: bool) -> Summary:
    summary = Summary(lesson)
    lesson_record = _recorded(course, lesson)
    summary.notes = points_that_differ(lesson, lesson_record.points)
    checks = hash_of_checks(lesson_record.released, lesson_record.source, lesson_record.points)
    known = _graded_in_book(course, lesson)
    due: dict[str, dict[str, Any]] = {}
    for who in course.submitted(lesson):
        if not is_plain_id(who):
            summary.failed[ascii(who)] = "this is not the id of an apprentice; rename the folder in submitted/"
            continue
        summary.handed_in += 1
        folder = course.folder(course.directory.submitted_directory, who, lesson)
        aside = sweep_submission(folder, course.root)
        row = {
            "lesson": lesson,
            "apprentice": who,
            "handed_in": hash_of_submission(folder, [f"{lesson}.ipynb", "timestamp.txt"]),
            "checks": checks,
        }
        old = ledger.rows.get((lesson, who), {})
        same = all(old.get(name) == row[name] for name in ("handed_in", "checks"))
        if same and not again and not aside and who in known and _is_there(_graded_file(course, who, lesson)):
            summary.unchanged += 1
            continue
        due[who] = row | {"aside": aside or (old.get("aside", []) if same else [])}
    if due:
        _grade_due(course, lesson, lesson_record, ledger, due, summary, show)
    _say_what_needs_a_human(course, lesson, ledger, summary)
    return summary


def _grade_due(
    course: Course,
    lesson: str,
    lesson_record: record.Record,
    ledger: Ledger,
    due: dict[str, dict[str, Any]],
    summary: Summary,
    show: bool,
) -> None:
    total = len(due)
    waiting = dict(due)

    def done(who: str, noted: Any) -> None:
        row = waiting.pop(who)
        ledger.add(
            row | {key: noted.get(key) for key in ("outcomes", "unreadable", "copies", "missing", "words", "claimed")}
        )
        summary.graded.append(who)
        if show:
            _progress(total - len(waiting), total, who)

    patience = time.monotonic() + PATIENCE_S
    tries = 0
    while True:
        before = len(waiting)
        gradable = {who for who in waiting if _is_there(_submitted_file(course, who, lesson))}
        if gradable:
            with Ahead(course, lesson, lesson_record, sorted(gradable)) as ahead:
                autograde(course, lesson, gradable, done, ahead)
        left = [who for who in gradable if who in waiting]
        tries = 0 if len(waiting) < before else tries + 1
        locked = _is_locked(course)
        if not left or (tries > 1 and not locked):
            break
        if locked and time.monotonic() > patience:
            raise BadEntry(
                f"The grade book is in use by another program; {len(waiting)} of {total} are not graded yet. "
                "Close that program and type the command again."
            )
        time.sleep(0.5)
    if any(sign in complaint for complaint in course.complaints for sign in DISK_FULL):
        raise BadEntry(
            f"The disk is full; {len(waiting)} of {total} are not graded yet and no grade is lost. "
            "Make room and type the command again."
        )
    for who, row in waiting.items():
        missing = who not in gradable
        why = f"there is no {lesson}.ipynb in the folder; ask for the file" if missing else _last(course.complaints)
        clear_scores(course, lesson, who)
        ledger.add(row | {"outcomes": {}, "unreadable": why, "copies": [], "missing": []} | {"handed_in": ""})
        summary.failed[who] = why


def clear_scores(course: Course, lesson: str, who: str) -> None:
    """Take back the automatic scores of a submission that cannot be graded, and flag it for a human."""
    with one_grade_book(course.db_url, str(course.directory.course_id)) as book, quiet():
        book.update_or_create_student(who)
        submission = book.update_or_create_submission(lesson, who)
        for notebook in submission.notebooks:
            for one in notebook.grades:
                one.auto_score = 0.0
                one.needs_manual_grade = True
        book.db.commit()


class Ahead:
    """Evaluates the next few submissions in worker processes while the grade book is being written."""

    def __init__(self, course: Course, lesson: str, lesson_record: record.Record, names: list[str]):
        self.course, self.lesson, self.record = course, lesson, lesson_record
        self._names = deque(names)
        self._futures: dict[str, Future[tuple[list[dict[str, Any]], Outcomes]]] = {}
        self._workers = [Evaluator() for _ in range(min(2, os.cpu_count() or 1))]
        self._idle = deque(self._workers)
        self._pool = ThreadPoolExecutor(len(self._workers))

    def __enter__(self) -> Ahead:
        self._fill()
        return self

    def __exit__(self, *error: Any) -> None:
        self._pool.shutdown(wait=False, cancel_futures=True)
        for worker in self._workers:
            worker.close()

    def __call__(self, apprentice: str, steps: list[dict[str, Any]]) -> Outcomes:
        future = self._futures.pop(apprentice, None)
        self._fill()
        if future is not None:
            seen, outcomes = future.result()
            if seen == steps:
                return outcomes
        return self._pool.submit(self._evaluate, apprentice, steps).result()

    def _fill(self) -> None:
        while self._names and len(self._futures) < AHEAD:
            name = self._names.popleft()
            self._futures[name] = self._pool.submit(self._read_and_evaluate, name)

    def _read_and_evaluate(self, name: str) -> tuple[list[dict[str, Any]], Outcomes]:
        try:
            answers = read_notebook(_submitted_file(self.course, name, self.lesson))
        except Unreadable:
            return [], {}
        steps = steps_of(rebuild(self.record, answers))
        return steps, self._evaluate(name, steps)

    def _evaluate(self, apprentice: str, steps: list[dict[str, Any]]) -> Outcomes:
        worker = self._idle.popleft()
        try:
            return worker(apprentice, copy.deepcopy(steps))
        finally:
            self._idle.append(worker)


def _recorded(course: Course, lesson: str) -> record.Record:
    released = course.folder(course.directory.release_directory, ".", lesson) / f"{lesson}.ipynb"
    try:
        with quiet(), damage_told(course.db_url):
            try:
                return record.load(released, course.db_url, lesson, lesson)
            except MissingEntry:
                course.generate(lesson)
                return record.load(released, course.db_url, lesson, lesson)
    except record.LessonDiffers as problem:
        raise BadEntry(str(problem)) from None


def _graded_in_book(course: Course, lesson: str) -> set[str]:
    with one_grade_book(course.db_url, str(course.directory.course_id)) as book:
        return {submission.student_id for submission in book.find_assignment(lesson).submissions}


def _say_what_needs_a_human(course: Course, lesson: str, ledger: Ledger, summary: Summary) -> None:
    with one_grade_book(course.db_url, str(course.directory.course_id)) as book:
        for submission in book.find_assignment(lesson).submissions:
            open_checks, hidden = set(), []
            for grade_row in (one for notebook in submission.notebooks for one in notebook.grades):
                if grade_row.needs_manual_grade and grade_row.cell_type == "code":
                    open_checks.add(grade_row.name)
                    given = question_of(grade_row.name), grade_row.manual_score, grade_row.auto_score
                    hidden += [said] if (said := hides_a_better_one(*given)) else []
                elif grade_row.needs_manual_grade:
                    summary.written += 1
            who = submission.student_id
            row = ledger.rows.get((lesson, who))
            if row is None or who in summary.failed:
                continue
            what = [*reasons(row, open_checks), *hidden]
            if what:
                summary.needs[who] = what


def _submitted_file(course: Course, who: str, lesson: str) -> Path:
    return course.folder(course.directory.submitted_directory, who, lesson) / f"{lesson}.ipynb"


def _graded_file(course: Course, who: str, lesson: str) -> Path:
    return course.folder(course.directory.autograded_directory, who, lesson) / f"{lesson}.ipynb"


def _is_there(path: Path) -> bool:
    try:
        return path.is_file()
    except OSError:
        return False


def _is_locked(course: Course) -> bool:
    path = course.db_url.removeprefix("sqlite:///")
    try:
        with sqlite3.connect(path, timeout=0.2) as probe:
            probe.execute("BEGIN IMMEDIATE")
            probe.rollback()
    except sqlite3.OperationalError:
        return True
    return False


def _last(complaints: list[str]) -> str:
    """The last line of the last traceback among what nbgrader complained about."""
    for complaint in reversed(complaints):
        if "Traceback" in complaint:
            return complaint.strip().splitlines()[-1][:200]
    return "nbgrader gave no reason; run nbgrader autograde for it to see one"


def _progress(count: int, total: int, who: str) -> None:
    width = 30
    filled = width * count // total
    end = "\n" if count == total else ""
    sys.stderr.write(f"\r[{'#' * filled}{'.' * (width - filled)}] {count}/{total} {who[:24]:<24}{end}")
    sys.stderr.flush()
