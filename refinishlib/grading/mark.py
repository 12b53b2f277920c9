"""nbgrader's grading step, ours: answers read as data, the school's checks run in a worker, scores saved at once."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from nbformat import NotebookNode, from_dict
from nbgrader import utils
from nbgrader.api import BaseCell, Comment, Grade, Gradebook
from nbgrader.preprocessors import NbGraderPreprocessor

from refinishlib.grading.evaluator import NotEvaluated, Outcomes, shared
from refinishlib.grading.handmarks import changed_since, claimed_id, rubric_of, waits, words_of
from refinishlib.grading.sanitize import NOT_MARKED, SubmissionExporter, is_check, not_marked

DELETED = "The check of this question was deleted from the notebook, so it counts as not answered."


def steps_of(nb: NotebookNode) -> list[dict[str, Any]]:
    """What a worker needs of a rebuilt notebook: its answers, checks and the apprentice's own cells in order."""
    steps: list[dict[str, Any]] = []
    own = nb.metadata.get("refinish", {}).get("own", {})
    for cell in nb.cells:
        about = cell.metadata.get("nbgrader")
        if about is None:
            continue
        steps += [{"own": about["grade_id"], "text": text} for text in own.get(about["grade_id"], [])]
        if cell.cell_type != "code":
            continue
        if is_check(cell):
            steps.append({"check": about["grade_id"], "source": cell.source, "points": float(about["points"])})
        elif about.get("solution"):
            steps.append({"answer": about["grade_id"], "text": cell.source})
    return steps


def flags_of(nb: NotebookNode) -> dict[str, str]:
    """For each check that an instructor should look at, why. Looks at the outcomes and at what Rebuild noted."""
    noted = nb.metadata.get("refinish", {})
    outcomes = noted.get("outcomes", {})
    flags, copied = {}, False
    for cell in nb.cells:
        about = cell.metadata.get("nbgrader")
        if about is None:
            continue
        grade_id = about["grade_id"]
        copied = copied or grade_id in noted.get("copies", [])
        if not is_check(cell):
            continue
        flag = noted.get("unreadable") or outcomes.get(grade_id, {}).get("flag", "check failed")
        if flag or copied:
            flags[grade_id] = flag or "copied cell"
        copied = False
    return flags


class Evaluate(NbGraderPreprocessor):
    """In place of execution. Replaces a check's error output only when the check finished."""

    def preprocess(self, nb: NotebookNode, resources: Any) -> tuple[NotebookNode, Any]:
        noted = nb.metadata.setdefault("refinish", NotebookNode())
        steps = steps_of(nb)
        try:
            outcomes = {} if noted.get("unreadable") else self._evaluate(resources["nbgrader"]["student"], steps)
        except NotEvaluated as problem:
            self.log.error("%s: %s", resources["nbgrader"]["student"], problem)
            outcomes = {
                step["check"]: {"points": None, "sentences": [], "flag": "check failed", "error": str(problem)}
                for step in steps
                if "check" in step
            }
        for check in noted.get("deleted", []):
            outcomes[check] = {"points": 0.0, "sentences": [DELETED], "flag": "check deleted", "error": ""}
        for cell in nb.cells:
            if is_check(cell):
                outcome = outcomes.get(cell.metadata.nbgrader.grade_id)
                cell.outputs = [from_dict(one) for one in outputs_of(outcome, noted.get("unreadable", ""))]
        noted["outcomes"] = outcomes
        if isinstance(self.parent, SubmissionExporter):
            self.parent.noted = noted
        return nb, resources

    def _evaluate(self, apprentice: str, steps: list[dict[str, Any]]) -> Outcomes:
        evaluate = getattr(self.parent, "evaluate", None) or shared()
        return evaluate(apprentice, steps)


def outputs_of(outcome: dict[str, Any] | None, unreadable: str = "") -> list[dict[str, Any]]:
    """A check's outputs in the form that nbgrader takes as a score."""
    if outcome is None:
        return [not_marked(unreadable or NOT_MARKED)]
    outputs: list[dict[str, Any]] = []
    if outcome["sentences"]:
        text = "\n".join(outcome["sentences"]) + "\n"
        outputs.append({"output_type": "stream", "name": "stdout", "text": text})
    if outcome["points"] is None:
        outputs.append(not_marked(NOT_MARKED, outcome["error"]))
    else:
        points = {"text/plain": repr(float(outcome["points"]))}
        outputs.append({"output_type": "execute_result", "data": points, "metadata": {}, "execution_count": None})
    return outputs


class SaveScores(NbGraderPreprocessor):
    """Saves the scores of one notebook, and then what needs a human, in one transaction."""

    def preprocess(self, nb: NotebookNode, resources: Any) -> tuple[NotebookNode, Any]:
        about = resources["nbgrader"]
        flags = flags_of(nb)
        noted = nb.metadata.setdefault("refinish", NotebookNode())
        before, rubric = self._last_time(about)
        noted["words"], noted["claimed"] = words_of(nb.cells, rubric), claimed_id(nb.cells)
        cells = {cell.metadata.nbgrader.grade_id: cell for cell in nb.cells if "nbgrader" in cell.metadata}
        with Gradebook(about["db_url"]) as gradebook:
            submission = gradebook.find_submission_notebook(about["notebook"], about["assignment"], about["student"])
            for grade, name in _rows(gradebook, Grade, submission.id):
                cell = cells.get(name)
                score = utils.determine_grade(cell, self.log)[0] if cell is not None else 0.0
                grade.needs_manual_grade = waits(
                    auto=score,
                    auto_before=grade.auto_score,
                    by_hand=grade.manual_score,
                    waited=bool(grade.needs_manual_grade),
                    flagged=name in flags,
                    changed=changed_since(before, noted, name),
                )
                grade.auto_score = score
            for comment, name in _rows(gradebook, Comment, submission.id):
                cell = cells.get(name)
                untouched = cell is None or cell.metadata.nbgrader.get("checksum") == utils.compute_checksum(cell)
                comment.auto_comment = "No response." if untouched else None
            gradebook.db.commit()
        return nb, resources

    def _last_time(self, about: Any) -> tuple[dict[str, Any], str]:
        """The ledger's row of this submission before this run, and the lesson's rubric, each read once for a run."""
        exporter = self.parent
        if not isinstance(exporter, SubmissionExporter):
            return {}, ""
        lesson = about["assignment"]
        if lesson not in exporter.rubrics:
            exporter.rubrics[lesson] = rubric_of(Path(exporter.parent.coursedir.root), lesson)  # type: ignore[union-attr]
        return exporter.known.get((lesson, about["student"]), {}), exporter.rubrics[lesson]


def _rows(gradebook: Gradebook, kind: Any, notebook_id: str) -> list[Any]:
    """A submitted notebook's grades or comments with their cells' names, in one query."""
    query = gradebook.db.query(kind, BaseCell.name).join(BaseCell, BaseCell.id == kind.cell_id)
    return query.filter(kind.notebook_id == notebook_id).all()
