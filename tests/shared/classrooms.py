"""Course folders for the grading tests: the real lesson in a folder of its own, with a fresh grade book."""

import json
import os
import shutil
import subprocess
import sys
import warnings
from dataclasses import dataclass
from pathlib import Path

import pytest

HERE = Path(__file__).parents[2]
LESSON = "mixing"
SCORES = """
    SELECT submitted_assignment.student_id AS student, base_cell.name AS cell, auto_score, grade.needs_manual_grade
    FROM grade JOIN base_cell ON base_cell.id = grade.cell_id
    JOIN submitted_notebook ON submitted_notebook.id = grade.notebook_id
    JOIN submitted_assignment ON submitted_assignment.id = submitted_notebook.assignment_id
    JOIN assignment ON assignment.id = submitted_assignment.assignment_id WHERE assignment.name = :lesson
"""


@dataclass(frozen=True)
class Classroom:
    """A course folder with its released lesson at hand."""

    root: Path
    released: dict

    def hand_in(self, who: str, cells: dict | None = None, change=None) -> Path:
        """Hand in the right answers, some cells replaced, and the notebook changed by a function."""
        from refinishlib.grading import handin

        notebook = handin.filled(self.released, handin.texts(LESSON, who) | (cells or {}))
        return handin.hand_in(self.root, who, LESSON, change(notebook) if change else notebook)

    def scores(self, lesson: str = LESSON) -> dict[str, dict[str, tuple]]:
        """For each apprentice, for each graded cell, the automatic score and whether a human is asked for."""
        from nbgrader.api import Gradebook
        from sqlalchemy import text

        with warnings.catch_warnings(), Gradebook(f"sqlite:///{self.root}/gradebook.db") as book:
            warnings.simplefilter("ignore")
            found: dict[str, dict[str, tuple]] = {}
            for row in book.db.execute(text(SCORES), {"lesson": lesson}):
                found.setdefault(row.student, {})[row.cell] = (row.auto_score, bool(row.needs_manual_grade))
            return found

    @property
    def most(self) -> dict[str, float]:
        """The most points of every check."""
        about = [cell["metadata"]["nbgrader"] for cell in self.released["cells"] if "nbgrader" in cell["metadata"]]
        return {one["grade_id"]: float(one["points"]) for one in about if one["grade"] and not one["solution"]}

    def nbgrader(self, *words: str, **environment: str) -> subprocess.CompletedProcess:
        """Run nbgrader's own command in the course folder."""
        command = [Path(sys.executable).parent / "nbgrader", *words]
        return subprocess.run(command, cwd=self.root, env=os.environ | environment, capture_output=True, text=True)


def copy_of(fresh_course: Path, root: Path) -> Classroom:
    shutil.copytree(fresh_course, root)
    return Classroom(root, json.loads((root / "lessons" / LESSON / f"{LESSON}.ipynb").read_text(encoding="utf-8")))


@pytest.fixture
def back_home(monkeypatch):
    """Grading changes the working folder and needs the environment's programs; put both right for each test."""
    monkeypatch.setenv("PATH", f"{Path(sys.executable).parent}{os.pathsep}{os.environ['PATH']}")
    home = Path.cwd()
    yield
    os.chdir(home)


@pytest.fixture(scope="session")
def fresh_course(tmp_path_factory):
    """A course folder whose grade book knows the lesson, to be copied."""
    from refinishlib.course.lessons import names
    from refinishlib.grading.democlass import new_course
    from refinishlib.grading.nbgrading import Course

    root = tmp_path_factory.mktemp("fresh")
    before, path = Path.cwd(), os.environ["PATH"]
    os.environ["PATH"] = f"{Path(sys.executable).parent}{os.pathsep}{path}"
    new_course(HERE, root)
    os.chdir(root)
    for lesson in names():
        Course(root).generate(lesson)
    os.chdir(before)
    os.environ["PATH"] = path
    return root


@pytest.fixture
def classroom(fresh_course, tmp_path, back_home):
    """A fresh course folder of the test's own."""
    return copy_of(fresh_course, tmp_path / "course")


@pytest.fixture(scope="module")
def two_classrooms(fresh_course, tmp_path_factory):
    """Two course folders for a whole module: one for each way of grading."""
    folder = tmp_path_factory.mktemp("two")
    return copy_of(fresh_course, folder / "refinish"), copy_of(fresh_course, folder / "nbgrader")
