"""A class whose grading is killed at 20 drawn moments ends with the grade book of an undisturbed run.

A moment is just before or just after something is made to last: a commit, a graded notebook, a line of the ledger. The
killed process counts them itself, so how fast the machine is does not matter.
"""

import os
import random
import shutil
import signal
import sqlite3
from collections import Counter
from pathlib import Path

import pytest

from refinishlib.grading import classroom as grading
from refinishlib.grading import handin
from refinishlib.grading.ledger import Ledger

APPRENTICES = 24
KILLS = 20
# A submission has some 14 such moments: each of the first 20 is hit once, and all together cannot grade the class.
MOMENTS = range(3, 3 + KILLS)

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
        if number % 7 == 5:
            (room.root / "submitted" / who / "mixing/mixing.ipynb").write_text("{")


def contents(root: Path) -> tuple[list, list, list, dict]:
    with sqlite3.connect(root / "gradebook.db") as book:
        graded = sorted(path.parent.parent.name for path in (root / "autograded").glob("*/mixing/mixing.ipynb"))
        rows = dict(sorted(Ledger(root).rows.items()))
        return book.execute(GRADE_BOOK).fetchall(), book.execute(COMMENTS).fetchall(), graded, rows


def count_moments(kill_at: int, log: Path) -> None:
    """Count what is made to last in this process, and end it at the moment with that number."""
    from nbconvert.writers import FilesWriter
    from sqlalchemy.engine import Connection

    left = [kill_at]

    def moment(name: str) -> None:
        left[0] -= 1
        if left[0] == 0:
            log.write_text(name)
            os.kill(os.getpid(), signal.SIGKILL)

    def watched(owner, name: str) -> None:
        original = getattr(owner, name)

        def watch(*given, **more):
            moment(f"before {name}")
            result = original(*given, **more)
            moment(f"after {name}")
            return result

        setattr(owner, name, watch)

    watched(Connection, "_commit_impl")
    watched(FilesWriter, "write")
    watched(Ledger, "add")


def grade_and_kill(root: Path, kill_at: int) -> str:
    """Grade in a process of its own that ends at a moment; says at which kind."""
    log = root / "killed.txt"
    child = os.fork()
    if child == 0:
        try:
            count_moments(kill_at, log)
            grading.grade(root, "mixing")
        finally:
            os._exit(0)
    assert os.waitpid(child, 0)[1] == signal.SIGKILL, "the class was graded before the moment came"
    return log.read_text()


@pytest.mark.deep
@pytest.mark.skipif(not hasattr(os, "fork"), reason="kills a forked process; Windows has none")
def test_twenty_kills_change_nothing(classroom, tmp_path, monkeypatch):
    monkeypatch.setattr(os, "cpu_count", lambda: 1)  # one worker a run; twenty-one runs start enough of them
    hand_in_all(classroom)
    disturbed = tmp_path / "disturbed"
    shutil.copytree(classroom.root, disturbed)
    grading.grade(classroom.root, "mixing")
    book, comments, graded, rows = contents(classroom.root)
    marks = {(who, cell): score for who, cell, score, *_ in book}
    hit = Counter()
    for kill_at in random.Random(2030).sample(MOMENTS, KILLS):
        hit[grade_and_kill(disturbed, kill_at)] += 1
        seen, _, there, noted = contents(disturbed)
        for who, cell, score, *_ in seen:
            assert score in (marks[who, cell], None, 0.0), "no mark but the right one, or none yet"
        for key, row in noted.items():
            assert row == rows[key] and key[1] in there, "a line in the ledger stands for what is safe"
            assert [one for one in seen if one[0] == key[1]] == [one for one in book if one[0] == key[1]]
    assert {name.removeprefix("before ").removeprefix("after ") for name in hit} == {"_commit_impl", "write", "add"}
    assert len(hit) >= 5, f"kills of too few kinds: {hit}"
    left = APPRENTICES - len(contents(disturbed)[3])
    assert 0 < left < APPRENTICES, "the kills stopped the class in its midst"
    [summary] = grading.grade(disturbed, "mixing")
    assert len(summary.graded) == left and summary.failed == {}
    assert contents(disturbed) == (book, comments, graded, rows)
