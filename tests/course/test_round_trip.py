"""The instructor's path on the real lesson: release, hand in, autograde, feedback, export."""

import csv
import json
import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from refinishlib.course import lessons
from refinishlib.course.keys import key, right

ROOT = Path(__file__).parents[2]
BIN = Path(sys.executable).parent
LESSON = "mixing"
SOLVERS = [f"a{number:02d}" for number in range(1, 21)]
BLANKS = [f"b{number:02d}" for number in range(1, 21)]
MISTAKEN = [f"c{number:02d}" for number in range(1, 4)]


def nbgrader(course, *words, stock=False):
    environment = os.environ | {"PATH": f"{BIN}{os.pathsep}{os.environ['PATH']}"}
    if stock:
        environment["REFINISH_GRADING"] = "stock"
    run = subprocess.run([BIN / "nbgrader", *words], cwd=course, env=environment, capture_output=True, text=True)
    assert run.returncode == 0, run.stderr[-4000:]
    return run.stderr


def hand_in(course, apprentice, answers):
    """Type answers into the released lesson's answer cells and hand it in."""
    notebook = json.loads((course / "lessons" / LESSON / f"{LESSON}.ipynb").read_text(encoding="utf-8"))
    for cell in notebook["cells"]:
        grade_id = cell["metadata"].get("nbgrader", {}).get("grade_id", "")
        typed = answers.get(grade_id, {})
        source = "".join(cell["source"])
        for name, value in typed.items():
            source, found = re.subn(rf"(?m)^{name} = \.\.\.", lambda m: f"{name} = {value!r}", source)  # noqa: B023
            assert found == 1, (grade_id, name)
        cell["source"] = source
    folder = course / "submitted" / apprentice / LESSON
    folder.mkdir(parents=True)
    (folder / f"{LESSON}.ipynb").write_text(json.dumps(notebook), encoding="utf-8")


def solved(apprentice):
    answers = {"answer-my-id": {"my_id": apprentice}}
    for name in lessons.questions(LESSON, apprentice):
        answers[f"answer-{name.replace('.', '-')}"] = right(LESSON, name, apprentice)
    return answers


def mistaken(apprentice, count):
    """Everything right but each number, in which a known mistake was made: the count-th of its list."""
    answers = solved(apprentice)
    expected = 0.0
    for name, parts in key(LESSON, apprentice).items():
        question = lessons.questions(LESSON, apprentice)[name]
        for part in question.parts:
            mistakes = parts[part.name].mistakes
            if len(mistakes) <= count:
                expected += part.points
                continue
            value = mistakes[count].value
            answers[f"answer-{name.replace('.', '-')}"][part.name] = list(value) if isinstance(value, tuple) else value
            expected += mistakes[count].points
    return answers, expected


def scores(course):
    nbgrader(course, "export")
    with (course / "grades.csv").open(newline="", encoding="utf-8") as table:
        return {row["student_id"]: float(row["raw_score"]) for row in csv.DictReader(table)}


def full_marks():
    return sum(question.points for question in lessons.questions(LESSON, "demo").values())


@pytest.fixture(scope="module")
def released(tmp_path_factory):
    folder = tmp_path_factory.mktemp("released")
    for name in ("solutions", "lessons"):
        shutil.copytree(ROOT / name, folder / name, ignore=shutil.ignore_patterns(".ipynb_checkpoints"))
    shutil.copy(ROOT / "nbgrader_config.py", folder)
    nbgrader(folder, "generate_assignment", LESSON, "--force")
    return folder


@pytest.fixture
def course(released, tmp_path):
    return Path(shutil.copytree(released, tmp_path / "course"))


def test_the_whole_way_for_a_class(course):
    expected = {}
    for apprentice in SOLVERS:
        hand_in(course, apprentice, solved(apprentice))
        expected[apprentice] = full_marks()
    for apprentice in BLANKS:
        hand_in(course, apprentice, {})
        expected[apprentice] = 0.0
    for count, apprentice in enumerate(MISTAKEN):
        answers, points = mistaken(apprentice, count)
        hand_in(course, apprentice, answers)
        expected[apprentice] = points
    nbgrader(course, "autograde", LESSON)
    assert scores(course) == pytest.approx(expected)

    nbgrader(course, "generate_feedback", LESSON)
    for count, apprentice in enumerate(MISTAKEN):
        page = (course / "feedback" / apprentice / LESSON / f"{LESSON}.html").read_text(encoding="utf-8")
        said = " ".join(re.sub(r"<[^>]+>", " ", page).replace("&#39;", "'").split())
        for parts in key(LESSON, apprentice).values():
            for one in parts.values():
                if len(one.mistakes) > count:
                    assert one.mistakes[count].sentence in said


def test_the_stock_way_gives_the_same_marks(course):
    """nbgrader's own execution of the notebook, for a solver, a blank and a mistaken apprentice."""
    answers, points = mistaken("c01", 0)
    for apprentice, typed in {"a01": solved("a01"), "b01": {}, "c01": answers}.items():
        hand_in(course, apprentice, typed)
    nbgrader(course, "autograde", LESSON, stock=True)
    assert scores(course) == pytest.approx({"a01": full_marks(), "b01": 0.0, "c01": points})
