"""``refinish grade``: a whole class, what changed since last time, with a summary that says who needs a human.

What changed is found out without nbgrader, which takes seconds to load; it is loaded when there is something to grade.
"""

from __future__ import annotations

import argparse
import copy
import os
import sqlite3
import time
from collections import Counter, deque
from collections.abc import Callable, Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

from refinishlib.entry import BadEntry, one_of
from refinishlib.grading import handedout, record
from refinishlib.grading.borrowed import quick_start
from refinishlib.grading.evaluator import Evaluator, Outcomes
from refinishlib.grading.handedin import (
    Unreadable,
    graded_file,
    is_plain_id,
    lessons_of,
    read_notebook,
    submitted_file,
    sweep_submission,
    who_handed_in,
)
from refinishlib.grading.handmarks import hides_a_better_one
from refinishlib.grading.ledger import Ledger, hash_of_checks, hash_of_submission, question_of, reasons
from refinishlib.grading.release import points_that_differ

if TYPE_CHECKING:
    from tqdm import tqdm

    from refinishlib.grading.nbgrading import Course

PATIENCE_S = 120.0
DISK_FULL = ("No space left on device", "disk is full")
AHEAD = 8
MOST_WORKERS = 2
MOST_SHOWN = 12
PROGRESS = "{desc}: {n_fmt} of {total_fmt} graded{postfix} |{bar}| {remaining}"


@dataclass
class Summary:
    """What one run did for one lesson.

    needs : apprentice to what an instructor should look at, also from earlier runs
    failed : apprentice to why nothing could be graded
    moves : apprentice to the checks whose marks would be others today, each with its points then and now
    behind : why the class has another version of the lesson than is here, if it has
    """

    lesson: str
    handed_in: int = 0
    graded: list[str] = field(default_factory=list)
    unchanged: int = 0
    needs: dict[str, list[str]] = field(default_factory=dict)
    failed: dict[str, str] = field(default_factory=dict)
    written: int = 0
    notes: list[str] = field(default_factory=list)
    moves: dict[str, dict[str, tuple[float, float]]] = field(default_factory=dict)
    behind: str = ""

    @property
    def lines(self) -> list[str]:
        first = f"{self.lesson}: {self.handed_in} handed in, {len(self.graded)} graded now, {self.unchanged} unchanged"
        lines = [f"{first}, {self.written} written answers to mark."]
        lines += [f"  {note}" for note in self.notes]
        if self.moves:
            lines.append(
                f"  {moved(self.moves)} They stay as they were given; refinish upgrade takes the new ones over."
            )
        lines += [f"  {who}: not graded, {why}" for who, why in sorted(self.failed.items())]
        lines += [f"  {who}: {'; '.join(what)}" for who, what in sorted(self.needs.items())]
        return lines


def moved(moves: dict[str, dict[str, tuple[float, float]]]) -> str:
    """What would move, in a sentence.

    >>> moved({"a07": {"check-1-1": (3.0, 1.0)}})
    '1 mark of 1 hand-in would be another one today: a07 check-1-1 3 -> 1.'
    """
    rows = [(who, check, then, now) for who, checks in moves.items() for check, (then, now) in checks.items()]
    shown = "; ".join(f"{who} {check} {then:g} -> {now:g}" for who, check, then, now in rows[:MOST_SHOWN])
    marks = "1 mark" if len(rows) == 1 else f"{len(rows)} marks"
    hand_ins = "1 hand-in" if len(moves) == 1 else f"{len(moves)} hand-ins"
    more = "" if len(rows) <= MOST_SHOWN else " ..."
    return f"{marks} of {hand_ins} would be {'another one' if len(rows) == 1 else 'others'} today: {shown}{more}."


def add_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("lesson", nargs="?", default="all", help="a lesson's name, or all (the usual)")
    parser.add_argument("--again", action="store_true", help="grade everything, also what has not changed")


def run(arguments: argparse.Namespace) -> int:
    from refinishlib.course.folder import course_folder

    try:
        summaries = grade(course_folder(), arguments.lesson, again=arguments.again, show=True)
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
    show : say on standard error how far it is and what is left, where somebody watches

    Raises
    ------
    BadEntry : an unknown lesson, a grade book that stays locked, or settings that are not the course's own
    """
    os.chdir(root)
    if os.environ.get("REFINISH_GRADING") == "stock":
        raise BadEntry("REFINISH_GRADING: stock was given, allowed with this command is nothing; unset it.")
    lessons = lessons_of(root)
    if lesson != "all":
        lessons = [one_of("lesson", lesson, lessons)]
    ledger = Ledger(root)

    @cache
    def course() -> Course:
        with quick_start():
            from refinishlib.grading.nbgrading import Course

            return Course(root)

    return [_grade_lesson(root, course, name, ledger, again, show) for name in lessons if who_handed_in(root, name)]


def _grade_lesson(
    root: Path, course: Callable[[], Course], lesson: str, ledger: Ledger, again: bool, show: bool
) -> Summary:
    summary = Summary(lesson)
    lesson_record = _recorded(root, course, lesson)
    summary.notes = points_that_differ(lesson, lesson_record.points)
    checks = hash_of_checks(lesson, lesson_record.source, lesson_record.points)
    known = record.graded(root, lesson)
    due: dict[str, dict[str, Any]] = {}
    stale: list[str] = []
    handed_in = who_handed_in(root, lesson)
    alike = Counter(who.casefold() for who in handed_in)
    for who in handed_in:
        if not is_plain_id(who):
            summary.failed[ascii(who)] = "this is not the id of an apprentice; rename the folder in submitted/"
            continue
        if alike[who.casefold()] > 1:
            summary.failed[who] = "another folder in submitted/ differs from it only in capitals; keep one of them"
            continue
        summary.handed_in += 1
        folder = submitted_file(root, who, lesson).parent
        aside = sweep_submission(folder, root)
        row = {
            "lesson": lesson,
            "apprentice": who,
            "handed_in": hash_of_submission(folder, [f"{lesson}.ipynb", "timestamp.txt"]),
            "checks": checks,
            **handedout.about(lesson_record.released),
        }
        old = ledger.rows.get((lesson, who), {})
        same = old.get("handed_in") == row["handed_in"]
        stands = same and not again and not aside and who in known and _is_there(graded_file(root, who, lesson))
        if stands and old.get("checks") == checks:
            summary.unchanged += 1
        elif stands and not old.get("unreadable"):
            summary.unchanged += 1
            stale.append(who)
        elif why := handedout.why_not(submitted_file(root, who, lesson), lesson, lesson_record.released):
            summary.failed[who] = why
        else:
            due[who] = row | {"aside": aside or (old.get("aside", []) if same else [])}
    summary.behind = handedout.moved_on(lesson, lesson_record.released)
    if not handedout.same_version(lesson, lesson_record.released):
        stale = []
    summary.moves = would_move(root, lesson, lesson_record, ledger, stale)
    for who in set(stale) - set(summary.moves):
        ledger.add(ledger.rows[lesson, who] | {"checks": checks})
    if due:
        opened = course()
        with _progress(lesson, len(due), show) as bar:
            _grade_due(opened, lesson, lesson_record, ledger, due, summary, bar)
    _say_what_needs_a_human(root, lesson, ledger, summary)
    return summary


def would_move(
    root: Path, lesson: str, lesson_record: record.Record, ledger: Ledger, names: list[str]
) -> dict[str, dict[str, tuple[float, float]]]:
    """Whose automatic marks would be others if they were graded now; nothing is changed.

    Returns, for each apprentice with one, the checks with the points that were given and those of today.
    """
    moves: dict[str, dict[str, tuple[float, float]]] = {}
    if not names:
        return moves
    with Ahead(root, lesson, lesson_record, []) as ahead:
        for who, (_, outcomes) in zip(names, ahead.evaluated(names), strict=True):
            then = ledger.rows[lesson, who].get("outcomes") or {}
            checks = {
                check: (then.get(check, {}).get("points") or 0.0, outcome["points"] or 0.0)
                for check, outcome in outcomes.items()
            }
            moves[who] = {check: pair for check, pair in checks.items() if abs(pair[0] - pair[1]) > 1e-9}
    return {who: checks for who, checks in moves.items() if checks}


def _grade_due(
    course: Course,
    lesson: str,
    lesson_record: record.Record,
    ledger: Ledger,
    due: dict[str, dict[str, Any]],
    summary: Summary,
    bar: tqdm[Any],
) -> None:
    from refinishlib.grading.nbgrading import autograde

    total = len(due)
    waiting = dict(due)

    def done(who: str, noted: Any) -> None:
        row = waiting.pop(who)
        ledger.add(noted | row)
        summary.graded.append(who)
        bar.set_postfix_str(f"{len(waiting)} left", refresh=False)
        bar.update()

    patience = time.monotonic() + PATIENCE_S
    tries = 0
    while True:
        before = len(waiting)
        gradable = {who for who in waiting if _is_there(submitted_file(course.root, who, lesson))}
        if gradable:
            with Ahead(course.root, lesson, lesson_record, sorted(gradable)) as ahead:
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
    from refinishlib.grading.nbgrading import one_grade_book, quiet

    with one_grade_book(course.db_url, str(course.directory.course_id)) as book, quiet():
        book.update_or_create_student(who)
        submission = book.update_or_create_submission(lesson, who)
        for notebook in submission.notebooks:
            for one in notebook.grades:
                one.auto_score = 0.0
                one.needs_manual_grade = True
        book.db.commit()


def cores() -> int:
    """How many cores this process may use; on one of them a second worker would only load the engines twice."""
    affinity = getattr(os, "sched_getaffinity", None)  # systems without it have no narrower answer
    return len(affinity(0)) if affinity else os.cpu_count() or 1


class Ahead:
    """Evaluates the next few submissions in worker processes while the grade book is being written."""

    def __init__(self, root: Path, lesson: str, lesson_record: record.Record, names: list[str]):
        self.root, self.lesson, self.record = root, lesson, lesson_record
        self._names = deque(names)
        self._futures: dict[str, Future[tuple[list[dict[str, Any]], Outcomes]]] = {}
        self._workers = [Evaluator() for _ in range(min(MOST_WORKERS, cores()))]
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

    def evaluated(self, names: list[str]) -> Iterator[tuple[list[dict[str, Any]], Outcomes]]:
        """The steps and outcomes of these submissions, as they are handed in."""
        return self._pool.map(self._read_and_evaluate, names)

    def _fill(self) -> None:
        while self._names and len(self._futures) < AHEAD:
            name = self._names.popleft()
            self._futures[name] = self._pool.submit(self._read_and_evaluate, name)

    def _read_and_evaluate(self, name: str) -> tuple[list[dict[str, Any]], Outcomes]:
        from refinishlib.grading.mark import steps_of
        from refinishlib.grading.sanitize import rebuild

        try:
            answers = read_notebook(submitted_file(self.root, name, self.lesson))
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


def _recorded(root: Path, course: Callable[[], Course], lesson: str) -> record.Record:
    released = root / "lessons" / lesson / f"{lesson}.ipynb"
    book = f"sqlite:///{root / record.BOOK}"
    try:
        try:
            return record.load(released, book, lesson, lesson)
        except record.NotOnRecord:
            course().generate(lesson)
            return record.load(released, book, lesson, lesson)
    except record.LessonDiffers as problem:
        raise BadEntry(str(problem)) from None


def _say_what_needs_a_human(root: Path, lesson: str, ledger: Ledger, summary: Summary) -> None:
    still_open = record.still_open(root, lesson)
    for cells in still_open.values():
        summary.written += sum(not cell.is_check for cell in cells)
    for who in record.graded(root, lesson) - set(summary.failed):
        row = ledger.rows.get((lesson, who))
        if row is None:
            continue
        checks = [cell for cell in still_open.get(who, []) if cell.is_check]
        hidden = [hides_a_better_one(question_of(cell.name), cell.by_hand, cell.auto) for cell in checks]
        what = [*reasons(row, {cell.name for cell in checks}), *filter(None, hidden)]
        if what:
            summary.needs[who] = what


def _is_there(path: Path) -> bool:
    try:
        return path.is_file()
    except OSError:
        return False


def _is_locked(course: Course) -> bool:
    try:
        with sqlite3.connect(course.root / record.BOOK, timeout=0.2) as probe:
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


def _progress(lesson: str, total: int, show: bool) -> tqdm[Any]:
    """A bar that says how many are left and how long they take. It draws nothing into a pipe, and fits any window."""
    from tqdm import tqdm

    return tqdm(total=total, desc=lesson, dynamic_ncols=True, disable=None if show else True, bar_format=PROGRESS)
