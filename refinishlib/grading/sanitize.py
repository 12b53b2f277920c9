"""nbgrader's sanitising step, ours: the released notebook with nothing but the answers' texts copied into it."""

from __future__ import annotations

import glob
import json
from pathlib import Path
from typing import Any

from nbconvert.exporters import NotebookExporter
from nbformat import NotebookNode, from_dict, validate
from nbformat.v4 import new_notebook
from nbgrader.preprocessors import NbGraderPreprocessor

from refinishlib.grading import guard, handedout, record
from refinishlib.grading.handedin import (
    LONGEST_TEXT,
    Answer,
    Unreadable,
    answers_in,
    is_plain_id,
    read_notebook,
    sweep_submission,
)
from refinishlib.grading.ledger import Ledger, append, hash_of_checks, hash_of_submission

NOT_MARKED = "This check has not been run. Your instructor will look at it."


class SubmissionExporter(NotebookExporter):
    """Reads what was handed in as data, with a size guard before anything is read.

    nbgrader makes it once for a run, before it looks at the first submission; that is the moment to move aside what
    could hang it (a timestamp that is a pipe) or what nobody may be called.
    """

    def __init__(self, config: Any = None, **more: Any):
        super().__init__(config=config, **more)
        self.records: dict[tuple[str, str], record.Record] = {}
        self.rebuilt: tuple[tuple[str, str, str], NotebookNode] | None = None
        self.noted: Any = {}
        self.evaluate: Any = None
        self.aside: dict[str, list[str]] = {}
        self.handed_in = ""
        self.known: dict[Any, dict[str, Any]] = {}
        self.rubrics: dict[str, str] = {}
        converter: Any = self.parent
        if getattr(converter, "_sanitizing", None) is not None:
            if not hasattr(converter, "due"):  # a folder without the lesson's notebook is somebody's hand-in too
                about = converter.coursedir
                for folder in glob.glob(converter._format_source(about.assignment_id, about.student_id)):  # noqa: PTH207
                    converter.assignments.setdefault(folder, [])
            for folder in list(converter.assignments):
                if not is_plain_id(Path(folder).parent.name):
                    self.log.error("%r is not the id of an apprentice; the folder is left alone", folder)
                    del converter.assignments[folder]
                    continue
                self.aside[folder] = sweep_submission(Path(folder), Path(converter.coursedir.root))
                if not any(
                    Path(notebook).name == f"{Path(folder).name}.ipynb" for notebook in converter.assignments[folder]
                ):
                    converter.assignments[folder] = [str(Path(folder) / f"{Path(folder).name}.ipynb")]
            self.known = Ledger(Path(converter.coursedir.root)).rows
            record.quicken(Path(converter.coursedir.root) / record.BOOK)

    def from_filename(self, filename: str, resources: Any = None, **more: Any) -> Any:
        whose = _whose(resources)
        if getattr(self.parent, "_sanitizing", True):
            self.handed_in = hash_of_submission(Path(filename).parent, [Path(filename).name, "timestamp.txt"])
            resources["refinish"] = _handed_in(Path(filename))
            resources["metadata"] = {"name": Path(filename).stem, "path": str(Path(filename).parent)}
            return self.from_notebook_node(new_notebook(), resources=resources, **more)
        if self.rebuilt is not None and self.rebuilt[0] == whose:
            resources["metadata"] = {"name": Path(filename).stem, "path": str(Path(filename).parent)}
            return self.from_notebook_node(self.rebuilt[1], resources=resources, **more)
        return super().from_filename(filename, resources=resources, **more)

    def from_notebook_node(self, nb: NotebookNode, resources: Any = None, **more: Any) -> Any:
        """The steps of NotebookExporter without its copies, and with the schema checked once: when the outputs are in.

        The notebook is the school's own, made for this one submission.
        """
        sanitizing = getattr(self.parent, "_sanitizing", False)
        guard.prove_steps(self._preprocessors, "sanitize_preprocessors" if sanitizing else "autograde_preprocessors")
        resources = self._init_resources(resources)
        for step in self._preprocessors:
            nb, resources = step(nb, resources)
        resources["output_suffix"] = ".nbconvert"
        if sanitizing:
            return json.dumps(nb) + "\n", resources
        validate(nb)
        self._leave_row(*_whose(resources))
        return json.dumps(nb, ensure_ascii=False) + "\n", resources

    def _leave_row(self, apprentice: str, lesson: str, notebook: str) -> None:
        coursedir = self.parent.coursedir  # type: ignore[union-attr]
        folder = coursedir.format_path(coursedir.submitted_directory, apprentice, lesson)
        lesson_record = self.records[lesson, notebook]
        row: dict[str, Any] = {
            "lesson": lesson,
            "apprentice": apprentice,
            "handed_in": self.handed_in,
            "checks": hash_of_checks(lesson, lesson_record.source, lesson_record.points),
            **handedout.about(lesson_record.released),
        }
        old = self.known.get((lesson, apprentice), {})
        same = all(old.get(name) == row[name] for name in ("handed_in", "checks"))
        row["aside"] = self.aside.get(folder) or (old.get("aside", []) if same else [])
        row |= {key: value for key, value in self.noted.items() if key != "deleted"}
        _rows_to_note[folder] = row


_rows_to_note: dict[str, dict[str, Any]] = {}


def row_to_note(notebook: str) -> dict[str, Any]:
    """What the ledger should say of the submission that was just graded, by one of its notebooks. Asked for once."""
    return _rows_to_note.pop(str(Path(notebook).parent), {})


def note(*, assignment: str, student: str, notebooks: list[str]) -> None:
    """nbgrader's ``post_convert_hook``: write a submission into the ledger when its scores and its file are safe."""
    for notebook in notebooks:
        row = row_to_note(notebook)
        if row:
            append(Path(notebook).absolute().parents[3], row)


def move_aside(*, assignment: str, student: str, notebooks: list[str]) -> None:
    """nbgrader's ``pre_convert_hook``: leave only the lesson's own plain files in the submission's folder."""
    for folder in {Path(notebook).parent for notebook in notebooks}:
        sweep_submission(folder, folder.parents[2])


def _whose(resources: Any) -> tuple[str, str, str]:
    about = resources["nbgrader"]
    return about["student"], about["assignment"], about["notebook"]


def _handed_in(path: Path) -> dict[str, Any]:
    try:
        return {"answers": read_notebook(path), "unreadable": "", "path": path}
    except Unreadable as problem:
        return {"answers": {}, "unreadable": f"{path.name} {problem}."}


class Rebuild(NbGraderPreprocessor):
    """The released notebook, with the texts of the answer cells copied into it by grade id.

    Everything else that was handed in is dropped. Every check starts as an error that only a finished check replaces.
    """

    def preprocess(self, nb: NotebookNode, resources: Any) -> tuple[NotebookNode, Any]:
        handed_in = resources.get("refinish") or {"answers": answers_in(nb), "unreadable": ""}
        lesson_record = self._record(resources)
        if "path" in handed_in:
            why = handedout.why_not(handed_in["path"], resources["nbgrader"]["assignment"], lesson_record.released)
            handed_in = {"answers": {}, "unreadable": f"Not graded: {why}."} if why else handed_in
        rebuilt = rebuild(lesson_record, handed_in["answers"], handed_in["unreadable"])
        if isinstance(self.parent, SubmissionExporter):
            self.parent.rebuilt = (_whose(resources), rebuilt)
        return rebuilt, resources

    def _record(self, resources: Any) -> record.Record:
        about = resources["nbgrader"]
        known = getattr(self.parent, "records", {})
        key = (about["assignment"], about["notebook"])
        if key not in known:
            coursedir = self.parent.parent.coursedir
            released = Path(coursedir.format_path(coursedir.release_directory, ".", key[0])) / f"{key[1]}.ipynb"
            known[key] = record.load(released, about["db_url"], *key)
        return known[key]


def rebuild(lesson: record.Record, answers: dict[str, Answer], unreadable: str = "") -> NotebookNode:
    """A notebook with the school's cells from the record and the apprentice's texts.

    Its metadata has, under "refinish", what an instructor should know: ``unreadable``, ``copies`` (grade ids that
    were there more than once; the last counts), ``missing`` (answer cells that were deleted), ``deleted`` (checks
    that were deleted, which score 0), and ``own``: by grade id, the texts of the apprentice's own cells above it.
    """
    data = json.loads(lesson.released)
    copies: list[str] = []
    missing: list[str] = []
    deleted: list[str] = []
    for cell in data["cells"]:
        about = cell["metadata"].get("nbgrader")
        if about is None:
            continue
        grade_id = about["grade_id"]
        answer = answers.get(grade_id)
        if answer is not None and answer.copies > 1:
            copies.append(grade_id)
        if about.get("solution"):
            if answer is None:
                missing.append(grade_id)
            else:
                cell["source"] = _cut(answer.text)
                if cell["cell_type"] == "markdown" and answer.pictures:
                    cell["attachments"] = answer.pictures
        if is_check(cell):
            cell["source"] = lesson.source[grade_id]
            if answer is None:
                deleted.append(grade_id)
        if about.get("grade"):
            about["points"] = lesson.points[grade_id]
        if cell["cell_type"] == "code":
            cell["execution_count"] = None
            cell["outputs"] = [not_marked(NOT_MARKED)] if is_check(cell) else []
    data["metadata"]["refinish"] = data["metadata"].get("refinish", {}) | {
        "unreadable": unreadable,
        "copies": copies,
        "missing": [] if unreadable else missing,
        "deleted": [] if unreadable else deleted,
        "own": {grade_id: list(answer.above) for grade_id, answer in answers.items() if answer.above},
    }
    return from_dict(data)


def is_check(cell: Any) -> bool:
    """Whether a cell is one of the school's checks: graded by running it, not an answer itself."""
    about = cell["metadata"].get("nbgrader") or {}
    return bool(about.get("grade")) and not about.get("solution") and cell["cell_type"] == "code"


def not_marked(*sentences: str) -> dict[str, Any]:
    """The output of a check that did not finish; nbgrader gives 0 for it."""
    return {"output_type": "error", "ename": "NotMarked", "evalue": sentences[0], "traceback": list(sentences)}


def _cut(text: str) -> str:
    if len(text) <= LONGEST_TEXT:
        return text
    return text[:LONGEST_TEXT] + f"\n\n(cut here: {len(text)} letters were handed in)"
