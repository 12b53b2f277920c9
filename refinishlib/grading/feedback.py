"""What an apprentice gets back: the lesson, their own words, the scores and the checks' sentences; nothing else.

The page is built from the released lesson again, however the notebook was graded. The sentences are worked out anew
from the answers, so that nothing which a graded notebook carries (sources of checks, tracebacks, output of executed
code) can come along.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

from nbconvert.exporters import HTMLExporter
from nbformat import NotebookNode
from nbformat.v4 import new_notebook, new_output
from nbgrader.api import Gradebook
from nbgrader.preprocessors import NbGraderPreprocessor

from refinishlib.grading import guard, record
from refinishlib.grading.evaluator import NotEvaluated, shared
from refinishlib.grading.handedin import ASIDE, Unreadable, read_notebook, sweep
from refinishlib.grading.mark import steps_of
from refinishlib.grading.sanitize import NOT_MARKED, is_check

CHECK_STAYS = "# The check of this question stays with the school. What it says about your answer:"


class FeedbackExporter(HTMLExporter):
    """Reads a graded notebook as data, and takes only the answers' texts from it."""

    def __init__(self, config: Any = None, **more: Any):
        super().__init__(config=config, **more)
        self.records: dict[tuple[str, str], record.Record] = {}

    def from_filename(self, filename: str, resources: Any = None, **more: Any) -> Any:
        path = Path(filename)
        try:
            resources["refinish"] = {"answers": read_notebook(path), "unreadable": ""}
        except Unreadable as problem:
            resources["refinish"] = {"answers": {}, "unreadable": f"{path.name} {problem}."}
        resources["metadata"] = {"name": path.stem, "path": str(path.parent)}
        guard.prove_steps(self._preprocessors, "preprocessors")
        return self.from_notebook_node(new_notebook(), resources=resources, **more)


class ForTheApprentice(NbGraderPreprocessor):
    """Leaves of every check only its sentences, and of every other cell no output."""

    def preprocess(self, nb: NotebookNode, resources: Any) -> tuple[NotebookNode, Any]:
        about = resources["nbgrader"]
        with Gradebook(about["db_url"]) as gradebook:
            notebook = gradebook.find_submission_notebook(about["notebook"], about["assignment"], about["student"])
            saved = {one.name: one.auto_score for one in notebook.grades}
        try:
            outcomes = shared()(about["student"], steps_of(nb))
        except NotEvaluated:
            outcomes = {}
        for cell in nb.cells:
            if cell.cell_type != "code":
                continue
            cell.outputs, cell.execution_count = [], None
            if is_check(cell):
                grade_id = cell.metadata.nbgrader.grade_id
                sentences = _sentences(outcomes.get(grade_id), saved.get(grade_id), cell.metadata.nbgrader.points)
                cell.source = CHECK_STAYS
                cell.outputs = [new_output("stream", name="stdout", text="\n".join(sentences) + "\n")]
        nb.metadata.pop("refinish", None)
        return nb, resources


def _sentences(outcome: dict[str, Any] | None, saved: float | None, most: float) -> list[str]:
    if outcome is None or outcome["points"] is None:
        return [NOT_MARKED]
    if saved is None or abs(outcome["points"] - saved) > 1e-9:
        return [f"This check gave {saved or 0:g} of {most:g} points."]
    return list(outcome["sentences"])


def move_aside(*, assignment: str, student: str, notebooks: list[str]) -> None:
    """nbgrader's ``pre_convert_hook`` for feedback: nothing that executed code may have left is copied along."""
    for folder in {Path(notebook).parent for notebook in notebooks}:
        root = folder.parents[2]
        lesson = [entry.name for entry in (root / "solutions" / folder.name).glob("*") if entry.is_file()]
        names = [Path(notebook).name for notebook in notebooks]
        sweep(folder, [*lesson, *names, "timestamp.txt"], root / ASIDE / folder.parent.name / f"{folder.name}-graded")
