"""A mark outlives an update: old hand-ins keep theirs, new ones are graded by the version they were made from."""

import json
import os
import re
import shutil
import sqlite3
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

from refinishlib.course import builder, lessons
from refinishlib.entry import BadEntry
from refinishlib.grading import classroom as grading
from refinishlib.grading import forget, handin, upgrade
from refinishlib.grading.ledger import Ledger

ROOT = Path(__file__).parents[2]
MARKS = """
    SELECT submitted_assignment.student_id, base_cell.name, auto_score, manual_score FROM grade
    JOIN base_cell ON base_cell.id = grade.cell_id
    JOIN submitted_notebook ON submitted_notebook.id = grade.notebook_id
    JOIN submitted_assignment ON submitted_assignment.id = submitted_notebook.assignment_id
    JOIN assignment ON assignment.id = submitted_assignment.assignment_id WHERE assignment.name = ? ORDER BY 1, 2
"""


def marks(root: Path, lesson: str) -> list[tuple]:
    with sqlite3.connect(root / "gradebook.db") as book:
        return book.execute(MARKS, (lesson,)).fetchall()


@pytest.fixture
def old_class(tmp_path, back_home):
    """A class of five, handed out, graded and in part marked by hand before lessons were folders and had versions."""
    root = tmp_path / "class"
    with zipfile.ZipFile(Path(__file__).parent / "class_of_the_old_layout.zip") as kept:
        kept.extractall(root)
    return root


def refinish(root: Path, *words: str) -> subprocess.CompletedProcess:
    command = [Path(sys.executable).parent / "refinish", *words]
    return subprocess.run(command, cwd=root, capture_output=True, text=True, stdin=subprocess.DEVNULL)


@pytest.mark.deep
def test_a_class_of_the_old_layout_moves_to_the_new_one_keeps_its_marks_and_can_go_back(old_class):
    before = marks(old_class, "mixing")
    assert sum(manual or auto or 0 for _, _, auto, manual in before) > 40 and ("q01", "written-1", None, 3.0) in before
    files = {path.name: path.read_bytes() for path in (old_class / "lessons/mixing").iterdir()}

    graded = refinish(old_class, "grade")
    assert graded.returncode == 2 and "refinish upgrade" in graded.stderr, graded.stdout + graded.stderr
    assert marks(old_class, "mixing") == before

    asked = refinish(old_class, "upgrade")
    assert asked.returncode == 2 and "add --yes" in asked.stderr, asked.stdout + asked.stderr
    version = lessons.record("mixing").version
    assert f"mixing 1 becomes mixing {version} (world 1" in asked.stdout
    assert "5 hand-ins and all marks stay as they are, under the name mixing-1. No mark moves." in asked.stdout
    assert "3 written answers of mixing 1 are not marked yet" in asked.stdout
    assert marks(old_class, "mixing") == before and not (old_class / "backup").exists()

    done = refinish(old_class, "upgrade", "--yes")
    assert done.returncode == 0, done.stdout + done.stderr
    assert marks(old_class, "mixing-1") == before and marks(old_class, "mixing") == []
    assert (old_class / "submitted/q01/mixing-1/mixing.ipynb").is_file()
    released = json.loads((old_class / "lessons/mixing/mixing.ipynb").read_text(encoding="utf-8"))
    assert released["metadata"]["refinish"]["version"] == version
    assert {row["version"] for row in Ledger(old_class).rows.values()} == {1}
    assert refinish(old_class, "upgrade").stdout.startswith("Nothing to do")

    # The new lesson is graded; a notebook of the old one is refused with a sentence, and costs nobody a mark.
    handin.hand_in(old_class, "q06", "mixing", handin.filled(released, handin.texts("mixing", "q06")))
    shutil.copytree(old_class / "submitted/q02/mixing-1", old_class / "submitted/q02/mixing")
    [summary] = grading.grade(old_class, "mixing")
    assert summary.graded == ["q06"]
    assert summary.failed["q02"].startswith("it was made from an earlier version of mixing, and the class has mixing ")
    assert marks(old_class, "mixing-1") == before
    assert Ledger(old_class).rows["mixing", "q06"]["version"] == version

    # The old version's marks stay in the report; its pages are left as they were.
    for command in ("report", "feedback"):
        done = refinish(old_class, command)
        assert done.returncode == 0, done.stdout + done.stderr
    page = (old_class / "report/report.html").read_text(encoding="utf-8")
    assert "mixing-1" in page and 'href="answers/q06-mixing.html"' in page and "q01-mixing-1.html" not in page

    back = refinish(old_class, "upgrade", "--back")
    assert back.returncode == 0, back.stderr
    assert marks(old_class, "mixing") == before
    assert {path.name: path.read_bytes() for path in (old_class / "lessons/mixing").iterdir()} == files
    assert (old_class / "submitted/q01/mixing/mixing.ipynb").is_file()
    assert not (old_class / "submitted/q06").exists()
    assert list((old_class / "backup").glob("*, before going back/submitted/q06/mixing/mixing.ipynb"))


def test_another_text_of_the_same_version_moves_no_mark_and_no_card(classroom, monkeypatch):
    for who in ("ann", "ben"):
        classroom.hand_in(who)
    grading.grade(classroom.root)
    before = marks(classroom.root, "mixing")
    real = builder.written

    def with_a_new_paragraph(lesson, course):
        notebook = json.loads(real(lesson, course))
        extra = json.loads(json.dumps(notebook["cells"][0]))
        extra["id"] = extra["metadata"]["nbgrader"]["grade_id"] = "one-more"
        extra["source"] = ["One more thing."]
        notebook["cells"].insert(1, extra)
        return json.dumps(notebook)

    monkeypatch.setattr(builder, "written", with_a_new_paragraph)
    [change] = [one for one in upgrade.plan(classroom.root) if one.lesson == "mixing"]
    assert not change.new_version and "No job card moves." in change.lines[0] and "No mark moves." in change.lines[1]
    upgrade.upgrade(classroom.root, [change])
    assert "One more thing." in (classroom.root / "lessons/mixing/mixing.ipynb").read_text(encoding="utf-8")
    assert marks(classroom.root, "mixing") == before
    assert grading.grade(classroom.root)[0].graded == []


@pytest.fixture
def other_library(tmp_path):
    """A copy of the library to be changed, and a way to run Python with it."""
    place = tmp_path / "library"
    shutil.copytree(ROOT / "refinishlib", place / "refinishlib", ignore=shutil.ignore_patterns("__pycache__"))
    shutil.copytree(ROOT / "solutions", place / "solutions")
    made = [sys.executable, "-m", "venv", "--without-pip", str(tmp_path / "env")]
    subprocess.run(made, check=True)
    [packages] = (tmp_path / "env").rglob("site-packages")
    usual = next(path for path in sys.path if path.endswith("site-packages"))
    (packages / "other.pth").write_text(f"{place}\n{usual}\n")
    python = next(
        path for path in ((tmp_path / "env/bin/python"), (tmp_path / "env/Scripts/python.exe")) if path.exists()
    )

    def run(code: str, cwd: Path) -> str:
        shared = os.environ | {"JUPYTER_PATH": str(Path(sys.prefix) / "share/jupyter")}
        done = subprocess.run([python, "-c", code], cwd=cwd, capture_output=True, text=True, env=shared)
        assert done.returncode == 0, done.stderr
        return done.stdout

    return place / "refinishlib", run


CARDS = """
from refinishlib.course import lessons
for number in range(60):
    for question in lessons.questions("mixing", f"a{number:02}").values():
        print(question.text)
"""
GRADE = """
import json
from pathlib import Path
from refinishlib.grading import classroom
print(json.dumps([vars(summary) for summary in classroom.grade(Path.cwd())]))
"""


def grow_the_shop(shop: Path) -> None:
    """One colour, one toner, one product more on the shelf."""
    for name, kind in (("toners", "toner"), ("colours", "colour"), ("products", "product")):
        path = shop / f"{name}.toml"
        text = path.read_text(encoding="utf-8")
        first = re.search(rf"\[\[{kind}\]\].*?(?=\n\[\[)", text, re.S)[0]
        fresh = re.sub(r'name = "[^"]+"', 'name = "one more"', first, count=1)
        path.write_text(text.replace(first, f"{first}\n{fresh}", 1), encoding="utf-8")


@pytest.mark.deep
def test_a_colour_a_toner_and_a_product_more_move_no_card_and_an_engine_moves_no_mark_unasked(classroom, other_library):
    library, run = other_library
    cards = run(CARDS, classroom.root)
    grow_the_shop(library / "shop")
    assert run("from refinishlib.shop.shop import load; print(len(load().colours))", library) != run(
        "from refinishlib.course.world import world; print(len(world(1).colours))", library
    )
    assert run(CARDS, classroom.root) == cards

    for who in ("ann", "ben"):
        classroom.hand_in(who)
    grading.grade(classroom.root)
    before = marks(classroom.root, "mixing")
    [same] = json.loads(run(GRADE, classroom.root))
    assert (same["graded"], same["unchanged"], same["moves"], same["behind"]) == ([], 2, {}, "")

    # An engine that gives other values: no card of the lesson moves and no mark, but the instructor is told.
    engine = library / "booth/quantity.py"
    text = engine.read_text(encoding="utf-8")
    start = text.index("def paint_needed(")
    changed = re.sub(r"\n    return ([^\n]+)", r"\n    return 1.5 * (\1)", text[start:], count=1)
    engine.write_text(text[:start] + changed, encoding="utf-8")
    classroom.hand_in("cleo")
    [told] = json.loads(run(GRADE, classroom.root))
    assert (told["graded"], told["unchanged"]) == ([], 2)
    assert {who: set(checks) for who, checks in told["moves"].items()} == {"ann": {"check-6-1"}, "ben": {"check-6-1"}}
    assert "type refinish upgrade" in told["failed"]["cleo"]
    assert marks(classroom.root, "mixing") == before
    assert run(CARDS, classroom.root) == cards

    # Asked for, they move; and back again.
    asked = "from refinishlib import cli\nraise SystemExit(cli.main(['upgrade', '{}']))"
    said = run(asked.format("--yes"), classroom.root)
    assert "2 marks of 2 hand-ins would be others today" in said and "They move." in said
    assert {row for row in marks(classroom.root, "mixing") if row[1] == "check-6-1" and row[0] != "cleo"} == {
        ("ann", "check-6-1", 0.0, None),
        ("ben", "check-6-1", 0.0, None),
    }
    run(asked.format("--back"), classroom.root)
    assert marks(classroom.root, "mixing") == before


@pytest.mark.deep
def test_forgetting_leaves_nothing_of_somebody_in_any_file(old_class):
    upgrade.upgrade(old_class, upgrade.plan(old_class))
    released = json.loads((old_class / "lessons/mixing/mixing.ipynb").read_text(encoding="utf-8"))
    for who in ("q02", "q021"):
        cells = handin.texts("mixing", who, handin.wrong_answer(0)) | {
            "written-1": f"I am {who}, and it is too coarse."
        }
        path = handin.hand_in(old_class, who, "mixing", handin.filled(released, cells))
        (path.parent / "extra.txt").write_text(f"notes of {who}")
    grading.grade(old_class)
    with sqlite3.connect(old_class / "gradebook.db") as book:
        book.execute("UPDATE student SET first_name = 'Zephyrine', last_name = 'Quillfeather' WHERE id = 'q02'")
    (old_class / "class_list.csv").write_text("id,first name\nq02,Zephyrine\nq021,Ann\n", encoding="utf-8")
    (old_class / ".nbgrader.log").write_text("graded q02\ngraded q021\n", encoding="utf-8")
    assert refinish(old_class, "report").returncode == 0
    assert refinish(old_class, "nbgrader", "generate_feedback", "mixing").returncode == 0
    theirs = re.compile(rb"(?<![\w.@+-])q02(?![\w@+-])|Zephyrine|Quillfeather", re.I)

    def found() -> set[str]:
        places = set()
        for path in old_class.rglob("*"):
            if theirs.search(str(path.relative_to(old_class)).encode()) or (
                path.is_file() and theirs.search(path.read_bytes())
            ):
                places.add(str(path.relative_to(old_class)))
        return places

    before = found()
    for place in ("gradebook.db", "grading_ledger.jsonl", "class_list.csv", ".nbgrader.log", "set_aside", "report",
                  "submitted", "autograded", "feedback", "backup"):  # fmt: skip
        assert any(one.startswith(place) for one in before), place
    others = marks(old_class, "mixing-1")
    assert refinish(old_class, "forget", "q02").returncode == 2, "nobody is there to ask"
    assert found() == before
    done = refinish(old_class, "forget", "q02", "--yes")
    assert done.returncode == 0, done.stderr
    assert found() == set()
    assert marks(old_class, "mixing-1") == [row for row in others if row[0] != "q02"]
    assert {row[0] for row in marks(old_class, "mixing")} == {"q021"}
    assert (old_class / "report/report.html").is_file()
    with pytest.raises(BadEntry, match="q02 was given"):
        forget.forget(old_class, "q02")


def test_a_hand_in_whose_metadata_was_tampered_with_is_refused_or_graded_as_what_it_is(classroom):
    def claims(version):
        def change(notebook):
            notebook["metadata"]["refinish"]["version"] = version
            return notebook

        return change

    def forgetful(notebook):
        notebook["metadata"] = {}
        return notebook

    classroom.hand_in("sly", change=claims(99))
    classroom.hand_in("odd", change=claims("nine" * 1000))
    classroom.hand_in("lost", change=forgetful)
    [summary] = grading.grade(classroom.root)
    assert set(summary.graded) == {"odd", "lost"}
    assert "made from mixing 99" in summary.failed["sly"] and len(summary.failed["sly"]) < 300
    row = Ledger(classroom.root).rows["mixing", "lost"]
    record = lessons.record("mixing")
    assert (row["version"], row["world"], row["library"]) == (record.version, record.world, "0.1.0")
    done = classroom.nbgrader("autograde", "mixing", "--student", "sly")
    assert done.returncode == 0, done.stderr
    assert {score for score, _ in classroom.scores()["sly"].values()} <= {0.0, None}
    assert "made from mixing 99" in Ledger(classroom.root).rows["mixing", "sly"]["unreadable"]
