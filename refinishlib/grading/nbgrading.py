"""nbgrader's own converters, driven for a whole class: one grade book kept open, one note after each submission."""

from __future__ import annotations

import contextlib
import logging
import warnings
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import nbgrader.converters.autograde
import nbgrader.preprocessors.latesubmissions
from nbgrader.api import Gradebook
from nbgrader.apps.baseapp import NbGrader
from nbgrader.converters import Autograde, GenerateAssignment, NbGraderException
from nbgrader.coursedir import CourseDirectory
from sqlalchemy.exc import DatabaseError, SAWarning

from refinishlib.entry import BadEntry
from refinishlib.grading import guard, handedout, mark
from refinishlib.grading.record import damaged
from refinishlib.grading.sanitize import row_to_note

WAIT_FOR_LOCK_S = 5
DAMAGED = ("not a database", "malformed", "database corruption", "no such table", "no such column")


class Course:
    """A course folder with nbgrader's settings, as nbgrader itself loads them. The folder must be the working one."""

    def __init__(self, root: Path):
        self.root = root
        self.app = NbGrader()
        self.app.log_level = logging.CRITICAL
        self.app.raise_config_file_errors = True
        try:
            self.app.initialize([])
        except (Exception, SystemExit) as error:
            raise guard.Refused(guard.what_is_wrong_in(error)) from None
        self.complaints: list[str] = []
        self.app.log.handlers = [_Listener(self.complaints)]
        self.app.log.propagate = False
        directory = self.app.coursedir
        assert directory is not None
        self.directory: CourseDirectory = directory
        self.directory.root = str(root)
        try:
            guard.prove(Autograde(coursedir=directory, parent=self.app))
        except BadEntry:
            raise
        except Exception as error:  # a class or a hook that cannot be imported
            raise guard.Refused(guard.what_is_wrong_in(error)) from None

    @property
    def db_url(self) -> str:
        return str(self.directory.db_url)

    def folder(self, step: str, apprentice: str, lesson: str) -> Path:
        return Path(self.directory.format_path(step, apprentice, lesson))

    def lessons(self) -> list[str]:
        """The lessons that have a source notebook of their own name."""
        source = self.root / self.directory.source_directory
        return sorted(path.parent.name for path in source.glob("*/*.ipynb") if path.stem == path.parent.name)

    def submitted(self, lesson: str) -> list[str]:
        """Who has a folder for the lesson among the submissions, whatever it holds."""
        folders = (self.root / self.directory.submitted_directory).glob(f"*/{lesson}")
        return sorted(folder.parent.name for folder in folders)

    def generate(self, lesson: str) -> None:
        """Write the lesson and its checks into the grade book, as ``nbgrader generate_assignment --force`` does.

        What the lesson is now is worked out and kept with it, so that grading need not.
        """
        self.directory.assignment_id = lesson
        converter = GenerateAssignment(coursedir=self.directory, parent=self.app)
        converter.force = True
        with quiet():
            converter.start()
        with contextlib.suppress(BadEntry):  # no lesson of the library, or no key here
            handedout.now(lesson)


class ClassAutograde(Autograde):
    """nbgrader's Autograde over the submissions that are due, with a call after each one."""

    assignments: Any

    def __init__(self, due: set[str], done: Callable[[str, Any], None], evaluate: Any, **more: Any):
        super().__init__(**more)
        self.due, self.done, self.evaluate = due, done, evaluate
        self.force = True

    def init_notebooks(self) -> None:
        super().init_notebooks()
        self.assignments = {
            path: books for path, books in self.assignments.items() if Path(path).parent.name in self.due
        }

    def _init_preprocessors(self) -> None:
        super()._init_preprocessors()
        self.exporter.evaluate = self.evaluate

    def run_post_convert_hook(self) -> None:
        notebook = self.notebooks[0]
        self.done(Path(notebook).parent.parent.name, row_to_note(notebook))


def autograde(course: Course, lesson: str, due: set[str], done: Callable[[str, Any], None], evaluate: Any) -> None:
    """Grade the submissions that are due. A submission that fails is passed over; the rest is graded."""
    course.directory.assignment_id = lesson
    with one_grade_book(course.db_url, str(course.directory.course_id)), quiet():
        converter = ClassAutograde(due, done, evaluate, coursedir=course.directory, parent=course.app)
        guard.prove(converter)
        with contextlib.suppress(NbGraderException):
            converter.start()


@contextlib.contextmanager
def one_grade_book(db_url: str, course_id: str) -> Iterator[Gradebook]:
    """Let nbgrader's steps share one open grade book; each of them would open its own, nine for a submission."""
    with damage_told(db_url):
        shared = _KeptOpen(f"{db_url}?timeout={WAIT_FOR_LOCK_S}" if db_url.startswith("sqlite") else db_url, course_id)
    rooms: tuple[Any, ...] = (nbgrader.converters.autograde, nbgrader.preprocessors.latesubmissions, mark)
    for room in rooms:
        room.Gradebook = lambda db_url="", course_id="": shared
    try:
        with damage_told(db_url):
            yield shared
    finally:
        for room in rooms:
            room.Gradebook = Gradebook
        shared.close()


@contextlib.contextmanager
def damage_told(db_url: str) -> Iterator[None]:
    """Say in one sentence, with what to do, that a grade book is damaged."""
    try:
        yield
    except DatabaseError as problem:
        if not any(sign in str(problem) for sign in DAMAGED):
            raise
        raise BadEntry(damaged(Path(db_url.removeprefix("sqlite:///")).name)) from None


class _KeptOpen(Gradebook):
    """A grade book whose ``with`` ends the session and keeps the connection."""

    def __exit__(self, *error: Any) -> None:
        self.db.remove()


@contextlib.contextmanager
def quiet() -> Iterator[None]:
    """Without SQLAlchemy's warnings about nbgrader's own statements."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", SAWarning)
        warnings.simplefilter("ignore", DeprecationWarning)
        yield


class _Listener(logging.Handler):
    """Keeps what nbgrader complains about, for the one line of a summary."""

    def __init__(self, lines: list[str]):
        super().__init__(logging.WARNING)
        self.lines = lines

    def emit(self, record: logging.LogRecord) -> None:
        self.lines.append(record.getMessage())
