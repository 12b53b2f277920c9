"""A class of 200 whose grading is killed at 20 moments ends with the grade book of an undisturbed run."""

import os
import random
import shutil
import signal
import sqlite3
import time
from pathlib import Path

import pytest

from refinishlib.grading import classroom as grading
from refinishlib.grading import handin

APPRENTICES = 200
KILLS = 20

GRADE_BOOK = """
    SELECT a.student_id, base_cell.name, grade.auto_score, grade.manual_score, grade.needs_manual_grade
    FROM grade JOIN base_cell ON base_cell.id = grade.cell_id
    JOIN submitted_notebook n ON n.id = grade.notebook_id
    JOIN submitted_assignment a ON a.id = n.assignment_id
    ORDER BY 1, 2
"""
COMMENTS = """
    SELECT a.student_id, base_cell.name, comment.auto_comment
    FROM comment JOIN base_cell ON base_cell.id = comment.cell_id
    JOIN submitted_notebook n ON n.id = comment.notebook_id
    JOIN submitted_assignment a ON a.id = n.assignment_id
    ORDER BY 1, 2
"""


def hand_in_all(room) -> None:
    for number in range(APPRENTICES):
        who = f"a{number:03}"
        pick = handin.wrong_answer(number % 3) if number % 4 == 1 else handin.right_answer
        cells = handin.texts("mixing", who, pick)
        if number % 10 == 3:
            cells["answer-1-1"] = "import os\nown_g = 3"
        room.hand_in(who, cells)
        if number % 25 == 7:
            (room.root / "submitted" / who / "mixing/mixing.ipynb").write_text("{")


def contents(root: Path) -> tuple[list, list, list]:
    with sqlite3.connect(root / "gradebook.db") as book:
        graded = sorted(path.parent.parent.name for path in (root / "autograded").glob("*/mixing/mixing.ipynb"))
        return book.execute(GRADE_BOOK).fetchall(), book.execute(COMMENTS).fetchall(), graded


def lines_in(root: Path) -> int:
    ledger = root / "grading_ledger.jsonl"
    return ledger.read_bytes().count(b"\n") if ledger.exists() else 0


def grade_and_kill(root: Path, chance: random.Random) -> bool:
    """Grade in a process of its own and kill it after a few more submissions and some milliseconds."""
    enough = lines_in(root) + chance.randint(0, 15)
    child = os.fork()
    if child == 0:
        grading.grade(root, "mixing")
        os._exit(0)
    while lines_in(root) < enough:
        if os.waitpid(child, os.WNOHANG) != (0, 0):
            return False
        time.sleep(0.002)
    time.sleep(chance.uniform(0, 0.15))
    os.kill(child, signal.SIGKILL)
    return os.waitpid(child, 0)[1] == signal.SIGKILL


@pytest.mark.skipif(not hasattr(os, "fork"), reason="kills a forked process; Windows has none")
def test_twenty_kills_change_nothing(classroom, tmp_path, monkeypatch):
    monkeypatch.setattr(os, "cpu_count", lambda: 1)  # one worker a run; twenty-one runs start enough of them
    hand_in_all(classroom)
    disturbed = tmp_path / "disturbed"
    shutil.copytree(classroom.root, disturbed)
    grading.grade(classroom.root, "mixing")
    chance = random.Random(2030)
    killed = sum(grade_and_kill(disturbed, chance) for _ in range(KILLS))
    assert killed == KILLS
    seen = contents(disturbed)[0]
    [summary] = grading.grade(disturbed, "mixing")
    assert 0 < len(summary.graded) < APPRENTICES and summary.failed == {}
    assert contents(disturbed) == contents(classroom.root)
    assert len(seen) <= len(contents(disturbed)[0])
