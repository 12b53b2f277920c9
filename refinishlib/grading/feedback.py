"""What an apprentice gets back: the job card, their own words, what each answer earned and why, what to practise next.

The page is built from the released lesson again, however the notebook was graded. The sentences are worked out anew
from the answers, so that nothing which a graded notebook carries (sources of checks, tracebacks, output of executed
code) can come along. No right value is on it.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

from nbconvert.exporters import HTMLExporter
from nbgrader.api import Gradebook

from refinishlib.course.check import someone_elses
from refinishlib.grading import guard, pages, record, standing
from refinishlib.grading.answersheet import NOTHING, Sheet, sheets
from refinishlib.grading.classlist import Apprentice
from refinishlib.grading.evaluator import NotEvaluated, Outcomes, shared
from refinishlib.grading.handedin import ASIDE, Answer, Unreadable, read_notebook, sweep
from refinishlib.grading.handmarks import claimed_id
from refinishlib.grading.ledger import hash_of_submission
from refinishlib.grading.mark import DELETED, steps_of
from refinishlib.grading.sanitize import rebuild
from refinishlib.grading.standing import Lesson, Standing

# More than these at once is no advice.
MOST_TO_PRACTISE = 3
SOURCES = {"MOST_TO_PRACTISE": "teaching value: what fits into one evening", "LOOKED_AT": "definition"}
LOOKED_AT = "Your instructor will look at this answer."


class FeedbackExporter(HTMLExporter):
    """Makes the same page as ``refinish feedback`` when nbgrader asks for it, by its command or a button."""

    def __init__(self, config: Any = None, **more: Any):
        super().__init__(config=config, **more)
        self.class_now: Standing | None = None
        self.records: dict[str, record.Record] = {}

    def from_filename(self, filename: str, resources: Any = None, **more: Any) -> Any:
        guard.prove_steps(self._preprocessors, "preprocessors")
        about = resources["nbgrader"]
        converter: Any = self.parent
        root = Path(converter.coursedir.root)
        if self.class_now is None:
            with Gradebook(about["db_url"]) as book:
                self.class_now = standing.read(root, book)
        name = about["assignment"]
        if name not in self.records:
            self.records[name] = recorded(root, name)
        resources["metadata"] = {"name": Path(filename).stem, "path": str(Path(filename).parent)}
        resources = self._init_resources(resources)
        return page(root, self.class_now, about["student"], name, self.records[name]), resources


def recorded(root: Path, lesson: str) -> record.Record:
    book = f"sqlite:///{root / record.BOOK}"
    return record.load(root / "lessons" / lesson / f"{lesson}.ipynb", book, lesson, lesson)


def page_path(root: Path, who: str, lesson: str) -> Path:
    return root / "feedback" / who / lesson / f"{lesson}.html"


def made_from(root: Path, now: Standing, who: str, lesson: str) -> str:
    """What a page follows from, as a short hash: the answers, every mark and comment, the name, the library."""
    graded = hash_of_submission(root / "autograded" / who / lesson, [f"{lesson}.ipynb"])
    about = next(one for one in now.lessons if one.name == lesson)
    return pages.made_from(now.hand_ins[who, lesson], _person(now, who), about, graded, pages.hash_of_lesson(lesson))


def page(root: Path, now: Standing, who: str, lesson: str, on_record: record.Record) -> str:
    """The feedback page of one apprentice for one lesson."""
    hand_in = now.hand_ins[who, lesson]
    answers, trouble = _answers(root, who, lesson)
    if hand_in.row.get("unreadable"):
        trouble = f"Your notebook could not be read: {hand_in.row['unreadable']}"
    notebook = rebuild(on_record, answers, trouble)
    outcomes = {} if trouble else _outcomes(who, notebook)
    for check in notebook.metadata.refinish.deleted:
        outcomes[check] = {"points": 0.0, "sentences": [DELETED]}
    claimed = claimed_id(notebook.cells)
    once = someone_elses(claimed, who.casefold()) if claimed not in ("", who.casefold()) else ""
    found = sheets(lesson, who, notebook.cells, outcomes, {one.name: one for one in hand_in.cells}, once)
    return pages.render(
        "feedback.html.j2",
        mark=made_from(root, now, who, lesson),
        lesson=_lesson(now, lesson),
        one=_person(now, who),
        hand_in=hand_in,
        trouble=trouble or once,
        sheets=[_honest(sheet, outcomes.get(sheet.grade_id)) for sheet in found],
        practise=[] if trouble else to_practise(found),
        answered=any(line.typed != NOTHING for sheet in found for line in sheet.lines),
    )


def to_practise(found: Sequence[Sheet]) -> list[tuple[str, str, str]]:
    """The few skills that cost the most: skill, questions, and the part of the lesson that has practice for it."""
    rows: dict[str, list[Sheet]] = {}
    for sheet in found:
        answered = any(line.typed != NOTHING for line in sheet.lines)
        if sheet.skill and answered and not sheet.mark.unmarked and sheet.mark.points < sheet.mark.most - 1e-9:
            rows.setdefault(sheet.skill, []).append(sheet)
    weakest = sorted(rows.items(), key=lambda row: sum(one.mark.points - one.mark.most for one in row[1]))
    return [(skill, ", ".join(one.name for one in of), of[0].section) for skill, of in weakest[:MOST_TO_PRACTISE]]


def _outcomes(who: str, notebook: Any) -> Outcomes:
    try:
        return shared()(who, steps_of(notebook))
    except NotEvaluated:
        return {}


def _honest(sheet: Sheet, outcome: dict[str, Any] | None) -> Sheet:
    """A sheet whose sentences fit the automatic mark in the grade book; where they do not, only the mark is said."""
    if sheet.mark.written:
        return sheet
    points, saved = (outcome or {}).get("points"), sheet.mark.auto
    if points is not None and saved is not None and abs(points - saved) < 1e-9:
        return sheet
    said = (LOOKED_AT,) if points is None else (f"The check gave {saved or 0:g} of {sheet.mark.most:g} points.",)
    return Sheet(**(vars(sheet) | {"sentences": said}))


def _answers(root: Path, who: str, lesson: str) -> tuple[dict[str, Answer], str]:
    try:
        return read_notebook(root / "autograded" / who / lesson / f"{lesson}.ipynb"), ""
    except Unreadable as problem:
        return {}, f"Your notebook {problem}."


def _person(now: Standing, who: str) -> Apprentice:
    return next((one for one in now.people if one.id == who), Apprentice(who))


def _lesson(now: Standing, name: str) -> Lesson:
    return next(one for one in now.lessons if one.name == name)


def move_aside(*, assignment: str, student: str, notebooks: list[str]) -> None:
    """nbgrader's ``pre_convert_hook`` for feedback: nothing that executed code may have left is copied along."""
    for folder in {Path(notebook).parent for notebook in notebooks}:
        root = folder.parents[2]
        lesson = [entry.name for entry in (root / "solutions" / folder.name).glob("*") if entry.is_file()]
        names = [Path(notebook).name for notebook in notebooks]
        sweep(folder, [*lesson, *names, "timestamp.txt"], root / ASIDE / folder.parent.name / f"{folder.name}-graded")
