"""When a mark waits for a human: once for each answer, and again only when that answer or its rubric changed.

nbgrader would put every mark that was given by hand back to "to mark" whenever a notebook is graded again. Here the
ledger remembers what each mark was given for, and a mark that still fits stays.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from refinishlib.course.answers import read_cell
from refinishlib.course.apprentice import own


def words_of(cells: list[Any], rubric: str = "") -> dict[str, str]:
    """For every graded cell of a notebook, a hash of the words that its mark is given for.

    Parameters
    ----------
    cells : the cells of a rebuilt notebook
    rubric : the text of the lesson's rubric; a written answer's mark follows from it too

    A written answer is its own text with its pictures; a check stands for the answer cells since the check before.
    """
    found: dict[str, str] = {}
    typed: list[str] = []
    for cell in cells:
        about = cell["metadata"].get("nbgrader")
        if about is None:
            continue
        if about.get("solution") and not about.get("grade"):
            typed.append(cell["source"])
        elif about.get("grade") and about.get("solution"):
            found[about["grade_id"]] = _hash([cell["source"].strip(), dict(cell.get("attachments", {})), rubric])
        elif about.get("grade"):
            found[about["grade_id"]], typed = _hash(typed), []
    return found


def claimed_id(cells: list[Any]) -> str:
    """The id that a notebook says it was made for, "" when it says none."""
    for cell in cells:
        if (cell["metadata"].get("nbgrader") or {}).get("grade_id") == "answer-my-id":
            return own(read_cell(cell["source"]).values.get("my_id", ...))
    return ""


def rubric_of(root: Path, lesson: str) -> str:
    """The text of a lesson's rubric in the instructor's folder, "" when there is none."""
    solutions = root / "solutions"
    paths = [*solutions.glob(f"{lesson}*rubric*.md"), *solutions.glob(f"{lesson}/*rubric*.md")]
    return "\n".join(path.read_text(encoding="utf-8", errors="replace") for path in sorted(paths))


def waits(
    *,
    auto: float | None,
    auto_before: float | None,
    by_hand: float | None,
    waited: bool,
    flagged: bool,
    changed: bool,
) -> bool:
    """Whether a mark waits for a human after grading.

    Parameters
    ----------
    auto : the automatic score now, None for a written answer
    auto_before : the automatic score before, None when there was none
    by_hand : the mark that was given by hand, None when there is none
    waited : whether it waited before
    flagged : whether an instructor should look, whatever the score
    changed : whether what the mark is given for, or what the check says about it, is not what it was last time

    >>> waits(auto=None, auto_before=None, by_hand=3.0, waited=False, flagged=False, changed=False)
    False
    >>> waits(auto=None, auto_before=None, by_hand=3.0, waited=False, flagged=False, changed=True)
    True
    """
    if by_hand is None and auto is None:
        return True
    if not flagged and by_hand is None:
        return False
    seen = not waited and (by_hand is not None or auto_before is not None)
    return changed or not seen


def changed_since(before: Mapping[str, Any], noted: Mapping[str, Any], grade_id: str) -> bool:
    """Whether a cell's words or its check's outcome differ from those in the ledger's row of last time."""
    was, now = before.get("words") or {}, noted.get("words") or {}
    if grade_id not in was or was[grade_id] != now.get(grade_id):
        return True
    if (before.get("unreadable") or "") != (noted.get("unreadable") or ""):
        return True
    return _verdict(before, grade_id) != _verdict(noted, grade_id)


def hides_a_better_one(question: str, by_hand: float | None, auto: float | None) -> str:
    """What to say when a mark given by hand is lower than the automatic one, "" when it is not.

    >>> hides_a_better_one("1.1", 1.0, 3.0)
    '1.1: the mark by hand is 1, the check now gives 3'
    """
    if by_hand is None or auto is None or auto <= by_hand + 1e-9:
        return ""
    return f"{question}: the mark by hand is {by_hand:g}, the check now gives {auto:g}"


def _verdict(row: Mapping[str, Any], grade_id: str) -> tuple[Any, ...]:
    outcome = (row.get("outcomes") or {}).get(grade_id) or {}
    return outcome.get("points"), outcome.get("flag") or ""


def _hash(values: Any) -> str:
    return hashlib.sha256(json.dumps(values, sort_keys=True).encode()).hexdigest()[:16]
