"""The contributors' guide tells how a lesson is made; this walks it, line by line, in a copy of the project."""

import json
import os
import re
import shlex
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
PARTS = ("refinishlib", "solutions", "lessons", "tests/course", "tests/shared", "pyproject.toml", "nbgrader_config.py")
MOST_LINES = 120


def recipe(name: str) -> list[list[str]]:
    """The command lines of a recipe in DEVELOPERS.md."""
    guide = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    block = re.search(rf"<!-- recipe: {name} -->\n```\n(.*?)```", guide, re.S)[1]
    return [shlex.split(line) for line in block.splitlines()]


@pytest.fixture(scope="module")
def project(tmp_path_factory):
    """A copy of the project, and a way to type a command in it."""
    place = tmp_path_factory.mktemp("project")
    for part in PARTS:
        source, target = ROOT / part, place / part
        target.parent.mkdir(parents=True, exist_ok=True)
        if source.is_dir():
            shutil.copytree(source, target, ignore=shutil.ignore_patterns("__pycache__", "test_recipe.py"))
        else:
            shutil.copy(source, target)
    subprocess.run([sys.executable, "-m", "venv", "--without-pip", str(place / "env")], check=True)
    [packages] = (place / "env").rglob("site-packages")
    usual = next(path for path in sys.path if path.endswith("site-packages"))
    (packages / "project.pth").write_text(f"{place}\n{usual}\n")
    python = place / ("env/Scripts/python.exe" if os.name == "nt" else "env/bin/python")
    programs = {"refinish": ["-m", "refinishlib.cli"], "pytest": ["-m", "pytest", "-n", "0", "-p", "no:cacheprovider"]}

    def typed(program: str, *words: str) -> subprocess.CompletedProcess:
        command = [python, *programs.get(program, [program]), *words]
        # With bytecode on: a key that is read must leave none beside itself.
        env = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
        env["JUPYTER_PATH"] = str(Path(sys.prefix) / "share/jupyter")
        env["PATH"] = os.pathsep.join([str(Path(sys.executable).parent), env["PATH"]])  # nbgrader calls alembic
        return subprocess.run(command, cwd=place, capture_output=True, text=True, env=env)

    return place, typed


MARKS = """
import json, os
from pathlib import Path
from refinishlib.course import lessons
from refinishlib.course.keys import key
from refinishlib.grading import classroom, handin
root, lesson = Path.cwd(), "sealing"
released = json.loads((root / f"lessons/{lesson}/{lesson}.ipynb").read_text())
handin.hand_in(root, "ann", lesson, handin.filled(released, handin.texts(lesson, "ann")))
handin.hand_in(root, "ben", lesson, handin.filled(released, handin.texts(lesson, "ben", handin.wrong_answer(0))))
[summary] = classroom.grade(root, lesson)
rows = [json.loads(line) for line in (root / "grading_ledger.jsonl").read_text().splitlines()]
print(json.dumps([summary.failed, {row["apprentice"]: row["outcomes"]["check-1-1"]["points"] for row in rows}]))
"""


LISTED = """
from pathlib import Path
from nbgrader.apps.api import NbGraderAPI
from refinishlib.grading.nbgrading import Course
print(sorted(NbGraderAPI(Course(Path.cwd()).directory).get_source_assignments()))
"""


@pytest.mark.deep
def test_a_lesson_of_one_question_is_made_by_the_recipe(project):
    place, typed = project
    for words in recipe("a lesson"):
        done = typed(*words)
        assert done.returncode == 0, (words, done.stdout[-3000:], done.stderr[-3000:])
        assert words[0] != "pytest" or int(re.search(r"(\d+) passed", done.stdout)[1]) >= 5, done.stdout
    by_hand = [*(place / "refinishlib/course/lessons/sealing").glob("*.*"), *(place / "solutions").glob("sealing_*")]
    assert len(by_hand) == 6
    assert sum(len(path.read_text(encoding="utf-8").splitlines()) for path in by_hand) <= MOST_LINES

    # Nothing is touched but the lesson's own, and the release holds the notebook alone.
    assert [path.name for path in (place / "lessons/sealing").iterdir()] == ["sealing.ipynb"]
    assert not list((place / "solutions").rglob("__pycache__"))
    done = typed("-c", MARKS)
    assert done.returncode == 0, done.stderr[-3000:]
    failed, points = json.loads(done.stdout.splitlines()[-1])
    assert failed == {} and points == {"ann": 6.0, "ben": 4.0}
    assert [path.name for path in (place / "autograded/ann/sealing").iterdir()] == ["sealing.ipynb"]
    assert not list((place / "solutions").rglob("__pycache__"))
    assert "'sealing'" in typed("-c", LISTED).stdout


def test_an_installation_without_the_courses_solutions_has_no_key_and_grades_nothing(project, tmp_path):
    place, typed = project
    away = tmp_path / "solutions"
    shutil.move(place / "solutions", away)
    try:
        code = "from refinishlib.course import check\ncheck.mark('mixing', '1.1', 'ann', {'own_g': 12.0})"
        done = typed("-c", code)
        assert done.returncode and "There is no key of the lesson mixing here" in done.stderr
        fine = typed("-c", "from refinishlib.course import check\ncheck.form('mixing', '1.1', 'ann', {'own_g': 12.0})")
        assert "The form is fine" in fine.stdout
    finally:
        shutil.move(away, place / "solutions")


@pytest.mark.parametrize("name", ["con", "Sealing", "mixing", "two words", "../up", "x" * 30, "1st"])
def test_a_name_that_cannot_be_a_lesson_is_one_sentence(project, name):
    place, typed = project
    before = sorted(path for path in place.rglob("*") if "__pycache__" not in path.parts)
    done = typed("refinish", "new-lesson", name, "A title")
    assert done.returncode == 2 and done.stderr.startswith("name: ") and done.stderr.count("\n") == 1
    assert sorted(path for path in place.rglob("*") if "__pycache__" not in path.parts) == before
