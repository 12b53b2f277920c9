"""A class graded through nbgrader: right scores, only what changed, nothing lost, and the same marks as stock."""

import json
import os
import re
import sqlite3
import threading

import nbformat
import pytest

from refinishlib.course.keys import key
from refinishlib.course.lessons import names
from refinishlib.entry import BadEntry
from refinishlib.grading import classroom as grading
from refinishlib.grading import handin
from refinishlib.grading.evaluator import Evaluator, NotEvaluated
from refinishlib.grading.ledger import Ledger
from refinishlib.grading.nbgrading import Course

CHECK = "check-1-1"


def test_right_answers_earn_full_marks_and_known_mistakes_earn_theirs(classroom):
    classroom.hand_in("right")
    for number in range(3):
        classroom.hand_in(f"wrong{number}", handin.texts("mixing", f"wrong{number}", handin.wrong_answer(number)))
    classroom.hand_in("blank", {name: "" for name in handin.texts("mixing", "blank")})
    handin.hand_in(classroom.root, "untouched", "mixing", classroom.released)
    [summary] = grading.grade(classroom.root)
    scores = classroom.scores()
    assert {check: scores["right"][check] for check in classroom.most} == {
        check: (points, False) for check, points in classroom.most.items()
    }
    assert {scores["untouched"][check] for check in classroom.most} == {(0.0, False)}
    assert {scores["blank"][check] for check in classroom.most} == {(0.0, True)}, "an emptied cell is shown to a human"
    for number in range(3):
        who = f"wrong{number}"
        one = key("mixing", who)["1.1"]["own_g"].mistakes[number]
        assert scores[who][CHECK] == (float(one.points), False)
    assert set(summary.needs) == {"blank"} and summary.failed == {}


def test_only_what_changed_is_graded_again(classroom):
    for who in ("ann", "ben"):
        classroom.hand_in(who)
    assert sorted(grading.grade(classroom.root)[0].graded) == ["ann", "ben"]
    [second] = grading.grade(classroom.root)
    assert (second.graded, second.unchanged) == ([], 2)
    classroom.hand_in("ben", {"answer-1-1": "own_g = 0.5"})
    assert grading.grade(classroom.root)[0].graded == ["ben"]
    assert classroom.scores()["ben"][CHECK] == (0.0, False)
    (classroom.root / "submitted/ann/mixing/timestamp.txt").write_text("2030-01-01 10:00:00 UTC")
    assert grading.grade(classroom.root)[0].graded == ["ann"]
    with (classroom.root / "grading_ledger.jsonl").open("a") as file:
        file.write('{"lesson": "mixing", "appr')
    assert grading.grade(classroom.root)[0].graded == []
    assert sorted(grading.grade(classroom.root, again=True)[0].graded) == ["ann", "ben"]


def test_a_hand_given_mark_and_a_comment_outlive_grading_again(classroom):
    from nbgrader.api import Gradebook

    classroom.hand_in("ann", {"written-1": "Because the scale is too coarse."})
    grading.grade(classroom.root)
    with Gradebook(f"sqlite:///{classroom.root}/gradebook.db") as book:
        grade = book.find_grade("written-1", "mixing", "mixing", "ann")
        assert grade.auto_score is None and grade.needs_manual_grade
        grade.manual_score = 3.0
        book.find_comment("written-1", "mixing", "mixing", "ann").manual_comment = "Good."
        book.db.commit()
    grading.grade(classroom.root, again=True)
    with Gradebook(f"sqlite:///{classroom.root}/gradebook.db") as book:
        assert book.find_grade("written-1", "mixing", "mixing", "ann").manual_score == 3.0
        assert book.find_comment("written-1", "mixing", "mixing", "ann").comment == "Good."


def test_a_lesson_that_is_not_the_one_on_record_is_not_graded(classroom):
    classroom.hand_in("ann")
    path = classroom.root / "lessons/mixing/mixing.ipynb"
    lesson = json.loads(path.read_text(encoding="utf-8"))
    lesson["cells"] = [one for one in lesson["cells"] if one["metadata"].get("nbgrader", {}).get("grade_id") != CHECK]
    path.write_text(json.dumps(lesson), encoding="utf-8")
    with pytest.raises(BadEntry, match="refinish release mixing"):
        grading.grade(classroom.root)
    assert classroom.nbgrader("autograde", "mixing").returncode != 0
    assert not any(score for cells in classroom.scores().values() for score, _ in cells.values())


def test_a_locked_grade_book_is_waited_for(classroom):
    for who in ("ann", "ben"):
        classroom.hand_in(who)
    held, free = threading.Event(), threading.Event()

    def hold():
        with sqlite3.connect(classroom.root / "gradebook.db") as other:
            other.execute("BEGIN EXCLUSIVE")
            held.set()
            free.wait(7)
            other.rollback()

    other = threading.Thread(target=hold)
    other.start()
    held.wait()
    threading.Timer(3, free.set).start()
    [summary] = grading.grade(classroom.root)
    other.join()
    assert sorted(summary.graded) == ["ann", "ben"] and summary.failed == {}
    assert {scores[CHECK] for scores in classroom.scores().values()} == {(classroom.most[CHECK], False)}


def test_a_full_disk_stops_the_run_and_loses_no_grade(classroom, monkeypatch):
    for who in ("ann", "ben"):
        classroom.hand_in(who)
    grading.grade(classroom.root)
    before = classroom.scores()
    for who in ("ann", "ben"):
        classroom.hand_in(who, {"answer-1-1": "own_g = 0.5"})

    def full(*_, **__):
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as patch:
        patch.setattr("nbconvert.writers.FilesWriter.write", full)
        with pytest.raises(BadEntry, match="disk is full"):
            grading.grade(classroom.root)
    assert classroom.scores() == before
    assert sorted(grading.grade(classroom.root)[0].graded) == ["ann", "ben"]
    assert {scores[CHECK] for scores in classroom.scores().values()} == {(0.0, False)}


def test_ctrl_c_loses_nothing_and_goes_on_later(classroom, monkeypatch):
    for who in ("ann", "ben", "cleo"):
        classroom.hand_in(who)
    add = Ledger.add

    def stop_after_one(ledger, row):
        add(ledger, row)
        raise KeyboardInterrupt

    with monkeypatch.context() as patch:
        patch.setattr(Ledger, "add", stop_after_one)
        with pytest.raises(KeyboardInterrupt):
            grading.grade(classroom.root)
    assert classroom.scores()["ann"][CHECK] == (classroom.most[CHECK], False)
    assert {"ben", "cleo"} <= set(grading.grade(classroom.root)[0].graded)
    assert {scores[CHECK] for scores in classroom.scores().values()} == {(classroom.most[CHECK], False)}


def test_checks_that_hang_are_stopped_and_the_next_notebook_is_marked():
    evaluate = Evaluator(limit_s=1)
    hang = [{"check": "c", "source": "while True: pass", "points": 1.0}]
    with pytest.raises(NotEvaluated, match="did not finish"):
        evaluate("ann", hang)
    assert evaluate("ann", [{"check": "c", "source": "1.0", "points": 1.0}])["c"]["points"] == 1.0
    evaluate.close()


@pytest.mark.parametrize(
    "last", ["True", "None", "2", "float('nan')", "1e9", "-1.0", "__import__('numpy').float64(1)", "x = 1"]
)
def test_a_check_that_does_not_end_in_a_plain_float_earns_nothing_and_is_flagged(last):
    evaluate = Evaluator()
    outcome = evaluate("ann", [{"check": "c", "source": last, "points": 2.0}])["c"]
    evaluate.close()
    assert (outcome["points"], outcome["flag"]) == (None, "check failed")


def test_with_the_library_missing_nothing_runs_and_nobody_gains_a_mark(classroom, tmp_path):
    classroom.hand_in("sly", {"answer-1-1": f"own_g = 1\nopen({str(tmp_path / 'canary')!r}, 'w')"})
    (tmp_path / "broken/refinishlib").mkdir(parents=True)
    (tmp_path / "broken/refinishlib/__init__.py").write_text("raise ImportError('broken')")
    done = classroom.nbgrader("autograde", "mixing", PYTHONPATH=str(tmp_path / "broken"))
    assert done.returncode != 0
    assert not (tmp_path / "canary").exists()
    assert not any(score for cells in classroom.scores().values() for score, _ in cells.values())
    settings = (classroom.root / "nbgrader_config.py").read_text()
    assert "import refinishlib" not in settings and "from refinishlib" not in settings


def as_a_painter_types(text):
    """Decimal commas, units and words without quotes."""
    text = re.sub(r"(?m)^(\w+_g) = (\d+)\.(\d+)$", r"\1 = \2,\3 g", text)
    return re.sub(r'(?m)= "([^"]+)"$', r"= \1", text)


@pytest.mark.parametrize("lesson", names())
def test_stock_execution_and_ours_give_the_same_marks_cell_by_cell(classroom, lesson):
    released = json.loads((classroom.root / f"lessons/{lesson}/{lesson}.ipynb").read_text(encoding="utf-8"))
    for number, who in enumerate(("s1", "s2", "s3", "s4", "s5", "s6", "s7")):
        pick = handin.wrong_answer(number - 1) if 0 < number < 5 else handin.right_answer
        cells = handin.texts(lesson, who, pick) | {"written-1": "The scale is too coarse."}
        if who == "s5":  # a typing slip, a text with a unit, arithmetic, an empty cell
            slips = ("= 7 grams", '= "1.2 kg"', "= 3 * 2", "")
            answers = [name for name in cells if name.startswith("answer-") and name != "answer-my-id"]
            for name, slip in zip(answers, slips, strict=False):
                cells[name] = cells[name].split(" = ")[0] + " " + slip if slip else ""
        if who == "s6":  # no quotes, no brackets, functions, a slip whose name a later cell uses
            cells |= {name: as_a_painter_types(text) for name, text in cells.items() if name.startswith("answer-")}
        notebook = handin.filled(released, cells)
        if who == "s7":  # every value worked out in a cell of one's own
            for cell in [c for c in notebook["cells"] if c["metadata"]["nbgrader"]["grade_id"] in cells]:
                if cell["cell_type"] == "code":
                    in_own = nbformat.v4.new_code_cell(re.sub(r"(?m)^(\w+) =", r"my_\1 =", cell["source"]))
                    notebook["cells"].insert(notebook["cells"].index(cell), dict(in_own))
                    cell["source"] = re.sub(r"(?m)^(\w+) =.*", r"\1 = my_\1", cell["source"])
        handin.hand_in(classroom.root, who, lesson, notebook)
    grading.grade(classroom.root, lesson)
    ours = {who: {cell: score for cell, (score, _) in cells.items()} for who, cells in classroom.scores(lesson).items()}
    done = classroom.nbgrader("autograde", lesson, "--force", REFINISH_GRADING="stock")
    assert done.returncode == 0, done.stderr[-2000:]
    assert {
        who: {cell: score for cell, (score, _) in cells.items()} for who, cells in classroom.scores(lesson).items()
    } == ours
    assert len(ours) == 7
    assert ours["s1"] == ours["s6"] == ours["s7"]


def test_nbgraders_own_api_grades_our_way_and_late_penalties_arrive(classroom):
    from nbgrader.api import Gradebook
    from nbgrader.apps.api import NbGraderAPI

    with (classroom.root / "nbgrader_config.py").open("a") as settings:
        settings.write('\nc.LateSubmissionPlugin.penalty_method = "zero"\n')
    with Gradebook(f"sqlite:///{classroom.root}/gradebook.db") as book:
        book.update_or_create_assignment("mixing", duedate="2030-01-01 12:00:00 UTC")
    for who, when in (("ann", "2030-01-01 11:00:00 UTC"), ("ben", "2030-01-01 13:00:00 UTC")):
        path = classroom.hand_in(who, {"answer-1-1": "own_g = print()"} if who == "ann" else {})
        (path.parent / "timestamp.txt").write_text(when)
    os.chdir(classroom.root)
    course = Course(classroom.root)
    api = NbGraderAPI(course.directory, parent=course.app)
    assert api.autograde("mixing", "ann")["success"]
    assert classroom.scores()["ann"][CHECK] == (0.0, True)
    grading.grade(classroom.root)
    by_id = {one["id"]: one for one in api.get_student_submissions("ben") if one["name"] == "mixing"}
    assert len(by_id) == 1
    with Gradebook(f"sqlite:///{classroom.root}/gradebook.db") as book:
        penalties = {who: book.find_submission("mixing", who).late_submission_penalty for who in ("ann", "ben")}

    assert penalties == {"ann": 0.0, "ben": sum(classroom.most.values())}


def test_after_stock_execution_too_feedback_carries_only_sentences(classroom):
    spy = (
        "import pathlib\nfrom refinishlib.course.keys import key_folder\n"
        "k = (key_folder() / 'mixing_key.py').read_text()\nprint(k)\n"
        "pathlib.Path('stolen.html').write_text(k)\nown_g = 1\nraise ValueError('BEGIN HIDDEN')"
    )
    classroom.hand_in("spy", {"answer-1-1": spy})
    classroom.nbgrader("autograde", "mixing", REFINISH_GRADING="stock")
    assert (classroom.root / "autograded/spy/mixing/stolen.html").exists(), "stock execution really ran it"
    done = classroom.nbgrader("generate_feedback", "mixing")
    assert done.returncode == 0, done.stderr[-2000:]
    folder = classroom.root / "feedback/spy/mixing"
    assert [path.name for path in folder.iterdir()] == ["mixing.html"]
    page = (folder / "mixing.html").read_text(encoding="utf-8")
    assert "OWN = Right(" not in page and "cumulative reading instead" not in page
    assert not [secret for secret in ("check.mark(", "Half a per cent of 60 g") if secret in page]
    assert page.count("BEGIN HIDDEN") == 1, "only in the words that they typed themselves"
    assert "Right." in page or "right." in page


def test_feedback_names_the_mistake_and_a_notebook_for_another_id(classroom):
    classroom.hand_in("ann", handin.texts("mixing", "ann", handin.wrong_answer(0)))
    classroom.hand_in("ben", handin.texts("mixing", "ann"))
    grading.grade(classroom.root)
    assert classroom.nbgrader("generate_feedback", "mixing").returncode == 0
    for_ann, for_ben = ((classroom.root / f"feedback/{who}/mixing/mixing.html").read_text() for who in ("ann", "ben"))
    assert key("mixing", "ann")["1.1"]["own_g"].mistakes[0].sentence.split(".")[0][1:] in for_ann
    assert for_ben.count("was made for the id &#34;ann&#34;") == 1, "said once, not at every question"
    assert 'src="http' not in for_ann and "<script" not in for_ann and "<link" not in for_ann


def test_two_folders_that_differ_only_in_capitals_are_told_and_everybody_else_is_graded(classroom):
    """On a system that knows no capitals in names the two would be one folder, and one hand-in lost."""
    for who in ("ann", "a07", "A07"):
        classroom.hand_in(who)
    if not (classroom.root / "submitted" / "A07").samefile(classroom.root / "submitted" / "a07"):
        [summary] = grading.grade(classroom.root)
        assert summary.graded == ["ann"] and set(summary.failed) == {"a07", "A07"}
        assert all("differs from it only in capitals" in said for said in summary.failed.values())
