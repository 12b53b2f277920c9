"""``refinish report``: one page for the instructor that can be kept, printed or mailed, and the same numbers as CSV."""

from __future__ import annotations

import argparse
import csv
import datetime
import os
import webbrowser
from collections import Counter, defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from refinishlib.course.lessons import place
from refinishlib.grading.ledger import Ledger

if TYPE_CHECKING:
    from refinishlib.grading.nbgrading import Course

NOT_COUNTED = ("", "not answered")


@dataclass(frozen=True)
class MarkRow:
    """One apprentice in one lesson. score is None where nothing was handed in."""

    apprentice: str
    name: str
    lesson: str
    score: float | None
    most: float
    late_h: float
    to_mark: int
    to_look_at: str


@dataclass(frozen=True)
class SkillRow:
    """One apprentice in one skill: points earned and points that could be earned."""

    apprentice: str
    lesson: str
    skill: str
    points: float
    most: float


@dataclass(frozen=True)
class MistakeRow:
    """One mistake and who made it."""

    lesson: str
    question: str
    mistake: str
    count: int
    apprentices: str


@dataclass(frozen=True)
class Report:
    """All numbers of the class, in plain rows."""

    marks: list[MarkRow]
    skills: list[SkillRow]
    mistakes: list[MistakeRow]

    @property
    def lessons(self) -> list[str]:
        return sorted({row.lesson for row in self.marks}, key=place)

    @property
    def skill_means(self) -> list[tuple[str, str, float]]:
        """Lesson, skill, and the share of all its points that the class earned, weakest first."""
        sums: dict[tuple[str, str], list[float]] = defaultdict(lambda: [0.0, 0.0])
        for row in self.skills:
            sums[row.lesson, row.skill][0] += row.points
            sums[row.lesson, row.skill][1] += row.most
        means = [(lesson, skill, got / most) for (lesson, skill), (got, most) in sums.items() if most]
        return sorted(means, key=lambda mean: mean[2])


def add_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--open", action="store_true", help="show the page in the browser")


def run(arguments: argparse.Namespace) -> int:
    from refinishlib.course.folder import course_folder

    page = write(course_folder())
    print(f"The report is {page}")
    if arguments.open:
        webbrowser.open(page.as_uri())
    return 0


def write(root: Path) -> Path:
    """Write ``report/report.html`` and the CSV files beside it; says where the page is."""
    from refinishlib.grading.nbgrading import Course

    os.chdir(root)
    report = collect_numbers(Course(root), Ledger(root))
    folder = root / "report"
    folder.mkdir(exist_ok=True)
    for name in ("marks", "skills", "mistakes"):
        _write_csv(folder / f"{name}.csv", getattr(report, name))
    page = folder / "report.html"
    page.write_text(as_html(report), encoding="utf-8")
    return page


def collect_numbers(course: Course, ledger: Ledger) -> Report:
    """The class's numbers from the grade book, and skills and mistakes from the ledger."""
    from refinishlib.grading.nbgrading import one_grade_book

    marks: list[MarkRow] = []
    skills: list[SkillRow] = []
    mistakes: list[MistakeRow] = []
    with one_grade_book(course.db_url, str(course.directory.course_id)) as book:
        for assignment in sorted(book.assignments, key=lambda one: place(one.name)):
            handed_in = {submission.student_id: submission for submission in assignment.submissions}
            most = {
                cell.name: float(cell.max_score) for notebook in assignment.notebooks for cell in notebook.grade_cells
            }
            for student in sorted(book.students, key=lambda one: one.id):
                name = " ".join(part for part in (student.first_name, student.last_name) if part)
                row = ledger.rows.get((assignment.name, student.id), {})
                submission = handed_in.get(student.id)
                marks.append(_mark_row(student.id, name, assignment, submission, row))
                if submission is not None:
                    skills += _skill_rows(assignment.name, student.id, row, most)
            mistakes += _mistake_rows(assignment.name, handed_in, ledger)
    return Report(marks, skills, mistakes)


def _mark_row(who: str, name: str, assignment: Any, submission: Any, row: dict[str, Any]) -> MarkRow:
    if submission is None:
        return MarkRow(who, name, assignment.name, None, float(assignment.max_score), 0.0, 0, "not handed in")
    grades = [grade for notebook in submission.notebooks for grade in notebook.grades]
    to_mark = sum(1 for grade in grades if grade.needs_manual_grade and grade.cell_type != "code")
    open_checks = [grade.name for grade in grades if grade.needs_manual_grade and grade.cell_type == "code"]
    flags = {
        outcome["flag"]
        for check, outcome in (row.get("outcomes") or {}).items()
        if check in open_checks and outcome["flag"]
    }
    why: str = str(row.get("unreadable") or "").rstrip(".") if open_checks else ""
    return MarkRow(
        who,
        name,
        assignment.name,
        float(submission.score) - float(submission.late_submission_penalty or 0),
        float(assignment.max_score),
        round(submission.total_seconds_late / 3600, 1),
        to_mark,
        (why or "; ".join(sorted(flags)) or ("check by hand" if open_checks else "")),
    )


def _skill_rows(lesson: str, who: str, row: dict[str, Any], most: dict[str, float]) -> Iterable[SkillRow]:
    sums: dict[str, list[float]] = defaultdict(lambda: [0.0, 0.0])
    for check, outcome in (row.get("outcomes") or {}).items():
        if outcome.get("skill"):
            sums[outcome["skill"]][0] += outcome["points"] or 0.0
            sums[outcome["skill"]][1] += most.get(check, 0.0)
    return [SkillRow(who, lesson, skill, points, limit) for skill, (points, limit) in sums.items()]


def _mistake_rows(lesson: str, handed_in: Iterable[str], ledger: Ledger) -> list[MistakeRow]:
    who_made: dict[tuple[str, str], list[str]] = defaultdict(list)
    for who in sorted(handed_in):
        for check, outcome in (ledger.rows.get((lesson, who), {}).get("outcomes") or {}).items():
            for mistake, times in Counter(outcome.get("mistakes", [])).items():
                if times and mistake not in NOT_COUNTED and not outcome["flag"]:
                    who_made[check.removeprefix("check-").replace("-", "."), mistake].append(who)
    rows = [MistakeRow(lesson, question, name, len(who), " ".join(who)) for (question, name), who in who_made.items()]
    return sorted(rows, key=lambda row: (-row.count, row.question, row.mistake))


def as_html(report: Report) -> str:
    """The page: no script, nothing loaded from elsewhere, every text escaped."""
    from jinja2 import Environment, PackageLoader

    environment = Environment(
        loader=PackageLoader("refinishlib.grading"), autoescape=True, trim_blocks=True, lstrip_blocks=True
    )
    now = datetime.datetime.now().strftime("%Y-%m-%d %H:%M")
    return environment.get_template("report.html.j2").render(report=report, now=now)


def _write_csv(path: Path, rows: list[Any]) -> None:
    with path.open("w", encoding="utf-8-sig", newline="") as file:
        if rows:
            writer = csv.DictWriter(file, list(rows[0].__dataclass_fields__))
            writer.writeheader()
            writer.writerows(vars(row) for row in rows)
