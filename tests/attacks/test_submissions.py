"""The attack bank: hostile submissions, all in one class, graded both by `refinish grade` and by `nbgrader autograde`.

Each case says what it tries and what it may earn. Code that an apprentice typed would leave a canary: a file of the
case's own. No canary may exist after grading and feedback; the scores must be right; the honest must be graded.
"""

import copy
import os
import subprocess
import sys
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

import pytest

from refinishlib.grading import classroom as grading
from refinishlib.grading import handin

CHECK = "check-1-1"
ANSWER = "answer-1-1"


@dataclass(frozen=True)
class Attack:
    """One hostile submission.

    lay : puts it into the class, given the classroom, the apprentice and the canary's path
    lost : checks that must score 0; all others must score full marks
    """

    name: str
    tries: str
    lay: Callable
    lost: tuple[str, ...] = (CHECK,)
    scored: dict = field(default_factory=dict)


def types(text: str, answer: str = ANSWER) -> Callable:
    """An answer cell with this text; CANARY stands for the canary's path, RIGHT for the right answer."""

    def lay(room, who, canary):
        right = handin.texts("mixing", who)[answer].split(" = ", 1)[1]
        room.hand_in(who, {answer: text.replace("CANARY", str(canary)).replace("RIGHT", right)})

    return lay


def changes(change: Callable, cells: dict | None = None) -> Callable:
    """The honest notebook, changed by a function of the notebook and the canary's path."""

    def lay(room, who, canary):
        room.hand_in(who, cells, lambda notebook: change(notebook, canary) or notebook)

    return lay


def file(content: bytes | Callable) -> Callable:
    """Bytes in place of the notebook."""

    def lay(room, who, canary):
        path = room.hand_in(who)
        whole = path.read_bytes()
        path.write_bytes(content(whole) if callable(content) else content)

    return lay


def beside(do: Callable) -> Callable:
    """An honest notebook, and something done in its folder."""

    def lay(room, who, canary):
        path = room.hand_in(who)
        do(path.parent, room, canary)

    return lay


def instead(do: Callable) -> Callable:
    """Something in place of the notebook file."""

    def lay(room, who, canary):
        path = room.hand_in(who)
        path.unlink()
        do(path, room)

    return lay


def cell(notebook: dict, grade_id: str) -> dict:
    return next(c for c in notebook["cells"] if c["metadata"].get("nbgrader", {}).get("grade_id") == grade_id)


def with_about(grade_id: str, /, **about) -> Callable:
    return changes(lambda nb, canary: cell(nb, grade_id)["metadata"]["nbgrader"].update(about))


def with_source(grade_id: str, text: str, **cells: str) -> Callable:
    def change(notebook, canary):
        cell(notebook, grade_id)["source"] = text.replace("CANARY", str(canary))

    return changes(change, {name.replace("_", "-"): text for name, text in cells.items()})


WRONG = {ANSWER: "own_g = 0.1"}
TOUCH = "__import__('pathlib').Path('CANARY').touch()"
FAKE = [{"output_type": "execute_result", "execution_count": 1, "metadata": {}, "data": {"text/plain": "3.0"}}]


def copied(notebook, grade_id, text=None, first=False):
    twin = copy.deepcopy(cell(notebook, grade_id))
    if text is not None:
        twin["source"] = text
    notebook["cells"].insert(0 if first else len(notebook["cells"]), twin)


def old_format(notebook, canary):
    cells = [{**c, "input": c["source"]} if c["cell_type"] == "code" else c for c in copy.deepcopy(notebook["cells"])]
    for one in cells:
        one.pop("source", None) if one["cell_type"] == "code" else None
    return {"nbformat": 3, "nbformat_minor": 0, "metadata": {}, "worksheets": [{"cells": cells, "metadata": {}}]}


def forged_outcomes(notebook, canary):
    notebook["metadata"]["refinish"] = {"outcomes": {CHECK: {"points": 3.0, "sentences": [], "flag": "", "error": ""}}}


def whole_folder_is_a_link(room, who, canary):
    room.hand_in("neighbour")
    (room.root / "submitted" / who).mkdir(parents=True)
    (room.root / "submitted" / who / "mixing").symlink_to("../neighbour/mixing")


def someone_elses(room, who, canary):
    room.hand_in(who, handin.texts("mixing", "neighbour"))


def sparse_200_mb(path, room):
    with path.open("wb") as out:
        out.truncate(200_000_000)


def shadow(name: str) -> Callable:
    return beside(lambda folder, room, canary: (folder / name).write_text(TOUCH.replace("CANARY", str(canary))))


EVERY = "every"  # stands for all checks

ATTACKS = [
    # Code in an answer cell
    Attack("shell", "runs a shell command", types("!touch CANARY\nown_g = RIGHT")),
    Attack("shell-value", "takes an answer from a shell command", types("own_g = !touch CANARY")),
    Attack("line-magic", "runs a line magic", types("%system touch CANARY\nown_g = RIGHT")),
    Attack("cell-magic", "runs a cell magic", types("%%bash\ntouch CANARY")),
    Attack("ipython", "reaches for the shell object", types("get_ipython().system('touch CANARY')\nown_g = RIGHT")),
    Attack("import", "imports a module by function", types(f"own_g = {TOUCH}")),
    Attack("import-line", "imports a module by statement", types("import pathlib\npathlib.Path('CANARY').touch()")),
    Attack("star-import", "imports everything from a module", types("from os import *\nown_g = RIGHT")),
    Attack("open", "opens a file for writing", types("open('CANARY', 'w')\nown_g = RIGHT")),
    Attack("exec", "builds code from text", types(f'exec("{TOUCH}")\nown_g = RIGHT')),
    Attack("lambda", "calls a function without a name", types(f"own_g = (lambda: {TOUCH})()")),
    Attack("comprehension", "hides a call in a list", types(f"own_g = [{TOUCH} for _ in (1,)]")),
    Attack("f-string", "hides a call in a text", types(f'own_g = f"{{{TOUCH}}}"')),
    Attack("walrus", "assigns inside an expression", types(f"own_g = (x := {TOUCH})")),
    Attack("class-body", "runs code while defining a class", types(f"class A:\n    {TOUCH}\nown_g = RIGHT")),
    Attack("decorator", "runs code while decorating", types("@print\ndef f(): pass\nown_g = RIGHT")),
    Attack("try", "hides code in a try", types(f"try:\n    {TOUCH}\nexcept Exception:\n    own_g = RIGHT")),
    Attack("subclasses", "climbs from a tuple to all classes", types("own_g = ().__class__.__base__.__subclasses__()")),
    Attack("coding-line", "declares another encoding", types("# -*- coding: utf-7 -*-\n+AAo-" + TOUCH)),
    Attack("semicolon", "puts code after an answer", types(f"own_g = RIGHT; {TOUCH}")),
    # Tricks with values and names
    Attack("monkeypatch", "replaces the check's function", types(
        "import refinishlib.course.check as c\nc.mark = lambda *a: 3.0\nown_g = 1")),
    Attack("builtins", "replaces a builtin", types("__builtins__ = {}\nown_g = RIGHT")),
    Attack("named-check", "calls an answer check", types("check = 3\nown_g = RIGHT"), lost=()),
    Attack("equals-all", "an object that equals everything", types(
        "class A(float):\n    def __eq__(s, o): return True\nown_g = A(1)")),
    Attack("prints-a-number", "an object that prints as full marks", types(
        "class A:\n    def __repr__(s): return '3.0'\nown_g = A()")),
    Attack("environment", "changes the id that the grader handed over", types(
        "import os\nos.environ['REFINISH_APPRENTICE'] = 'neighbour'\nown_g = RIGHT")),
    Attack("infinity", "a number without end", types("own_g = 1e999")),
    Attack("not-a-number", "a number that is none", types("own_g = 1e999 - 1e999")),
    Attack("true", "a yes in place of a number", types("own_g = True")),
    Attack("look-alike", "a Greek letter in the name", types("\u03bfwn_g = RIGHT")),
    Attack("wide-letters", "wide letters, which Python reads as plain ones", types("\uff4fwn_g = RIGHT"), lost=()),
    Attack("backwards", "a mark that turns the line around", types("own_g = RIGHT  # \u202e 3.0 = g_nwo"), lost=()),
    Attack("null", "a null letter", types("own_g = RIGHT\0")),
    Attack("surrogate", "half a letter", types("own_g = RIGHT  # \ud800"), lost=()),
    Attack("hidden-tests", "the hidden tests' markers in an answer", types(
        "### BEGIN HIDDEN TESTS\nown_g = RIGHT\n### END HIDDEN TESTS"), lost=()),
    Attack("solution-marks", "the solution's markers in an answer", types(
        "### BEGIN SOLUTION\nown_g = RIGHT"), lost=()),
    # Bombs
    Attack("brackets", "a hundred thousand brackets", types("own_g = " + "[" * 100_000)),
    Attack("signs", "thousands of minus signs", types("own_g = " + "-" * 5_000 + "1")),
    Attack("digits", "an integer of a million digits", types("own_g = " + "9" * 1_000_000)),
    Attack("exponent", "a tower of powers", types("own_g = 9 ** 9 ** 9 ** 9")),
    Attack("long-list", "a list of a billion", types("own_g = [0] * 10 ** 9")),
    Attack("long-text", "a text of a billion letters", types("own_g = 'a' * 10 ** 9")),
    Attack("doubling", "a list that doubles thirty times", types(
        "a = [0, 0]\n" + "\n".join("a = [a, a]" for _ in range(30)) + "\nown_g = a")),
    Attack("deep-dict", "a table in a table in a table", types("own_g = " + "{1: " * 90 + "2" + "}" * 90)),
    # Check cells
    Attack("check-replaced", "the check's source replaced by full marks", with_source(
        CHECK, "3.0", answer_1_1="own_g = 0.1")),
    Attack("check-code", "code in a check cell", with_source(CHECK, TOUCH + "\n3.0", answer_1_1="own_g = 0.1")),
    Attack("set-up-code", "code in the set-up cell", with_source("set-up", TOUCH), lost=()),
    Attack("check-deleted", "a deleted check, which stock nbgrader never marks", changes(
        lambda nb, canary: nb["cells"].remove(cell(nb, CHECK)))),
    Attack("answer-deleted", "a deleted answer cell", changes(lambda nb, canary: nb["cells"].remove(cell(nb, ANSWER)))),
    Attack("check-copied", "a copied check with another source", changes(
        lambda nb, canary: copied(nb, CHECK, "3.0"), WRONG)),
    Attack("answer-copied", "a copied answer: the last one counts", changes(
        lambda nb, canary: copied(nb, ANSWER, "own_g = 0.1"))),
    Attack("answer-copied-above", "a copied answer above the real one", changes(
        lambda nb, canary: copied(nb, ANSWER, "own_g = 0.1", first=True)), lost=()),
    Attack("fake-output", "an output of full marks in a check", changes(
        lambda nb, canary: cell(nb, CHECK).update(outputs=FAKE), WRONG)),
    Attack("fake-outcome", "marks in the notebook's metadata", changes(forged_outcomes, WRONG)),
    Attack("cells-swapped", "a check above its answer", changes(
        lambda nb, canary: nb["cells"].insert(0, nb["cells"].pop(nb["cells"].index(cell(nb, CHECK))))), lost=()),
    Attack("no-cells", "a notebook without cells", changes(lambda nb, canary: {**nb, "cells": []}), lost=EVERY),
    # Metadata
    Attack("points", "a check worth a thousand points", with_about(CHECK, points=1000), lost=()),
    Attack("points-text", "points that are no number", with_about(CHECK, points="many"), lost=()),
    Attack("schema-new", "a schema version from the future", with_about(ANSWER, schema_version=99), lost=()),
    Attack("schema-old", "a schema version from the past", with_about(ANSWER, schema_version=0), lost=()),
    Attack("schema-text", "a schema version that is no number", with_about(ANSWER, schema_version="x"), lost=()),
    Attack("not-a-check", "a check that says it is not graded", with_about(CHECK, grade=False), lost=()),
    Attack("by-hand", "a check that asks to be marked by hand", with_about(CHECK, solution=True), lost=()),
    Attack("two-checks", "an answer that calls itself a check", with_about(ANSWER, grade_id=CHECK, grade=True)),
    # An answer cell that lost its id counts as a cell of one's own: its value counts, and a human is asked.
    Attack("id-is-a-list", "an id that is a list", with_about(ANSWER, grade_id=[1]), lost=()),
    Attack("id-is-a-path", "an id that is a path", with_about(ANSWER, grade_id="../../gradebook")),
    Attack("about-empty", "empty grading metadata", changes(
        lambda nb, canary: cell(nb, ANSWER)["metadata"].update(nbgrader={})), lost=()),
    Attack("about-text", "grading metadata that is a text", changes(
        lambda nb, canary: cell(nb, ANSWER)["metadata"].update(nbgrader="x")), lost=()),
    Attack("metadata-list", "cell metadata that is a list", changes(
        lambda nb, canary: cell(nb, ANSWER).update(metadata=[])), lost=()),
    Attack("cell-is-text", "a cell that is a text", changes(lambda nb, canary: nb["cells"].insert(0, "x")), lost=()),
    Attack("source-is-number", "a source that is a number", changes(
        lambda nb, canary: cell(nb, ANSWER).update(source=7))),
    Attack("as-markdown", "an answer turned into text", changes(
        lambda nb, canary: cell(nb, ANSWER).update(cell_type="markdown")), lost=()),
    Attack("new-check", "a check of one's own, worth a hundred", changes(
        lambda nb, canary: nb["cells"].append({**copy.deepcopy(cell(nb, CHECK)), "metadata": {"nbgrader": {
            "grade": True, "grade_id": "check-9-9", "points": 100, "solution": False}}})), lost=()),
    Attack("kernel", "another kernel", changes(
        lambda nb, canary: nb["metadata"].update(kernelspec={"name": "../evil", "language": "bash"})), lost=()),
    Attack("widgets", "widget state with a script", changes(
        lambda nb, canary: nb["metadata"].update(
            widgets={"application/vnd.jupyter.widget-state+json": {"x": "</script><script>alert(1)</script>"}})),
        lost=()),
    # Formats and files
    Attack("old-format", "a notebook of format 3", changes(old_format), lost=()),
    Attack("new-format", "a notebook of format 99", changes(lambda nb, canary: {**nb, "nbformat": 99}), lost=()),
    Attack("no-format", "a notebook without a format", changes(
        lambda nb, canary: {"cells": nb["cells"]}), lost=()),
    Attack("cut-short", "a notebook cut short", file(lambda whole: whole[: len(whole) // 2]), lost=EVERY),
    Attack("empty", "an empty file", file(b""), lost=EVERY),
    Attack("garbage", "bytes that are no text", file(bytes(range(256)) * 40), lost=EVERY),
    Attack("a-list", "JSON that is a list", file(b"[1, 2]"), lost=EVERY),
    Attack("deep-json", "JSON of a hundred thousand brackets", file(b"[" * 100_000), lost=EVERY),
    Attack("long-number", "JSON with a number of a million digits", file(
        b'{"cells": [' + b"9" * 1_000_000 + b"]}"), lost=EVERY),
    Attack("many-cells", "a notebook of a hundred thousand cells", file(
        b'{"cells": [' + b"{}," * 100_000 + b"{}]}"), lost=EVERY),
    Attack("huge", "a notebook of 200 MB", instead(sparse_200_mb), lost=EVERY),
    Attack("link-solution", "a link to the solution", instead(
        lambda path, room: path.symlink_to(room.root / "solutions/mixing/mixing.ipynb")), lost=EVERY),
    Attack("link-grade-book", "a link to the grade book", instead(
        lambda path, room: path.symlink_to(room.root / "gradebook.db")), lost=EVERY),
    Attack("link-classmate", "a link to a classmate's notebook", instead(
        lambda path, room: path.symlink_to("../../a-first/mixing/mixing.ipynb")), lost=EVERY),
    Attack("link-folder", "the whole folder is a link", whole_folder_is_a_link, lost=EVERY),
    Attack("pipe", "a pipe that hangs who reads it", instead(lambda path, room: os.mkfifo(path)), lost=EVERY),
    Attack("folder-as-notebook", "a folder called like the notebook", instead(
        lambda path, room: path.mkdir()), lost=EVERY),
    Attack("pipe-timestamp", "a time of handing in that is a pipe", beside(
        lambda folder, room, canary: os.mkfifo(folder / "timestamp.txt")), lost=()),
    Attack("time-garbage", "a time of handing in that is none", beside(
        lambda folder, room, canary: (folder / "timestamp.txt").write_text("yesterday's ☂")), lost=()),
    Attack("time-far", "a time of handing in in the year 99999", beside(
        lambda folder, room, canary: (folder / "timestamp.txt").write_text("99999-01-01 00:00:00")), lost=()),
    Attack("page", "a page with a script beside the notebook", beside(
        lambda folder, room, canary: (folder / "a.html").write_text("<script>alert(1)</script>")), lost=()),
    Attack("picture", "a drawing with a script beside the notebook", beside(
        lambda folder, room, canary: (folder / "a.svg").write_text("<svg onload='alert(1)'/>")), lost=()),
    Attack("extra-link", "a link to the grade book beside the notebook", beside(
        lambda folder, room, canary: (folder / "notes.txt").symlink_to(room.root / "gradebook.db")), lost=()),
    Attack("sub-folder", "a folder with a link to the solutions", beside(
        lambda folder, room, canary: [(folder / "more").mkdir(), (folder / "more/x").symlink_to(room.root)]), lost=()),
    Attack("second-notebook", "a second notebook with code", beside(
        lambda folder, room, canary: (folder / "other.ipynb").write_text("{}")), lost=()),
    Attack("shadow-pathlib", "a pathlib.py of one's own", shadow("pathlib.py"), lost=()),
    Attack("shadow-library", "a refinishlib.py of one's own", shadow("refinishlib.py"), lost=()),
    Attack("shadow-site", "a sitecustomize.py of one's own", shadow("sitecustomize.py"), lost=()),
    Attack("shadow-settings", "an nbgrader_config.py of one's own", shadow("nbgrader_config.py"), lost=()),
    # Ids
    Attack("other-id", "a classmate's id and answers", someone_elses, lost=("check-2-1", "check-6-1"),
           scored={"check-7-1": 3.0}),
    Attack("id-number", "an id that is a huge number", types("my_id = 10 ** 90", "answer-my-id"), lost=()),
    Attack("id-table", "an id that is a table", types("my_id = {1: [2]}", "answer-my-id"), lost=()),
]  # fmt: skip

HONEST = ("a-first", "neighbour", "z-last")


def lay_all(room, canaries: Path) -> None:
    for who in HONEST:
        room.hand_in(who)
    for attack in ATTACKS:
        attack.lay(room, attack.name, canaries / attack.name)


# Feedback takes most of a second a page, so it is given to the kinds that could carry something along.
GIVEN_BACK = {
    *("a-first", "shell", "monkeypatch", "hidden-tests", "check-replaced", "check-code", "fake-output", "widgets"),
    *("new-check", "old-format", "cut-short", "extra-link", "other-id"),
}


def give_feedback(room) -> None:
    others = ",".join(({attack.name for attack in ATTACKS} | set(HONEST)) - GIVEN_BACK)
    done = room.nbgrader("generate_feedback", "mixing", f"--CourseDirectory.student_id_exclude={others}")
    assert done.returncode == 0, done.stderr[-2000:]


@dataclass(frozen=True)
class Graded:
    """One class after grading and feedback."""

    root: Path
    most: dict
    scores: dict


@pytest.fixture(scope="module")
def graded(two_classrooms, tmp_path_factory):
    """Both classes graded, with feedback given: by way of grading the scores, and the folder of canaries."""
    ours, stock_command = two_classrooms
    canaries = tmp_path_factory.mktemp("canaries")
    path, home = os.environ["PATH"], Path.cwd()
    os.environ["PATH"] = f"{Path(sys.executable).parent}{os.pathsep}{path}"
    lay_all(ours, canaries)
    lay_all(stock_command, canaries)
    [summary] = grading.grade(ours.root, "mixing")
    os.chdir(home)
    done = stock_command.nbgrader("autograde", "mixing")
    assert done.returncode == 0, done.stderr[-3000:]
    give_feedback(ours)
    os.environ["PATH"] = path
    rooms = {"refinish grade": ours, "nbgrader autograde": stock_command}
    return {way: Graded(room.root, room.most, room.scores()) for way, room in rooms.items()}, canaries, summary


@pytest.mark.parametrize("way", ["refinish grade", "nbgrader autograde"])
@pytest.mark.parametrize("attack", ATTACKS, ids=[attack.name for attack in ATTACKS])
def test_no_code_ran_and_the_score_is_right(graded, attack, way):
    rooms, canaries, _ = graded
    assert not (canaries / attack.name).exists()
    most = rooms[way].most
    lost = most if attack.lost == EVERY else attack.lost
    if attack.name == "other-id":
        expected = {check: 0.0 for check in attack.lost} | attack.scored
    else:
        expected = {check: 0.0 if check in lost else points for check, points in most.items()}
    scores = rooms[way].scores[attack.name]
    assert {check: scores[check][0] for check in expected} == expected


@pytest.mark.parametrize("way", ["refinish grade", "nbgrader autograde"])
def test_the_class_is_graded_and_every_loss_is_flagged(graded, way):
    rooms, canaries, _ = graded
    room = rooms[way]
    assert list(canaries.iterdir()) == []
    scores = room.scores
    assert len(scores) == len(ATTACKS) + len(HONEST)
    for who in HONEST:
        assert {check: scores[who][check] for check in room.most} == {c: (p, False) for c, p in room.most.items()}


@pytest.mark.parametrize("way", ["refinish grade", "nbgrader autograde"])
def test_only_the_lessons_own_files_lie_where_they_are_served_or_given_back(graded, way):
    room = graded[0][way].root
    for step, kind in (("submitted", "ipynb"), ("autograded", "ipynb"), ("feedback", "html")):
        for path in (room / step).rglob("*"):
            assert not path.is_symlink(), path
            assert path.is_dir() or path.name in (f"mixing.{kind}", "timestamp.txt"), path


def test_feedback_gives_nothing_away(graded):
    room = graded[0]["refinish grade"].root
    pages = list((room / "feedback").rglob("*.html"))
    assert {page.parent.parent.name for page in pages} == GIVEN_BACK
    for page in pages:
        text = page.read_text(encoding="utf-8")
        for secret in (
            "BEGIN HIDDEN",
            "check.mark",
            "refinishlib.course.keys",
            "Traceback (most",
            "Half a per cent of 60 g",
        ):
            typed_it_themselves = secret == "BEGIN HIDDEN" and page.parent.parent.name == "hidden-tests"
            assert secret not in text or typed_it_themselves, (page, secret)
        assert "<script" not in text


def test_the_summary_names_each_trouble_in_one_line(graded):
    summary = graded[2]
    lines = "\n".join(summary.lines)
    assert summary.handed_in == len(ATTACKS) + len(HONEST)
    for who in ("shell", "check-deleted", "answer-copied", "other-id", "cut-short", "huge", "pipe", "link-solution"):
        assert f"  {who}:" in lines, who
    assert not set(summary.needs) & {"a-first", "z-last", "points", "schema-new"}
    assert all(len(line) < 400 for line in summary.lines)


def test_a_resubmission_with_a_deleted_check_loses_the_mark(classroom):
    classroom.hand_in("sly")
    grading.grade(classroom.root, "mixing")
    assert classroom.scores()["sly"][CHECK] == (3.0, False)
    changes(lambda nb, canary: nb["cells"].remove(cell(nb, CHECK)), WRONG)(classroom, "sly", None)
    grading.grade(classroom.root, "mixing")
    assert classroom.scores()["sly"][CHECK] == (0.0, True)


def test_a_damaged_resubmission_clears_the_earlier_score_and_says_so(classroom):
    classroom.hand_in("sly")
    grading.grade(classroom.root, "mixing")
    file(b"{")(classroom, "sly", None)
    [summary] = grading.grade(classroom.root, "mixing")
    assert classroom.scores()["sly"][CHECK] == (0.0, True)
    assert "damaged" in "\n".join(summary.lines)


def test_a_folder_that_is_nobodys_id_is_left_alone(classroom):
    names = ["<img src=x onerror=alert(1)>", "a b", "..x", "-rf", "a;touch", "\u202ea"]
    for name in [*names, "honest"]:
        classroom.hand_in(name)
    [summary] = grading.grade(classroom.root, "mixing")
    assert list(classroom.scores()) == ["honest"]
    assert len(summary.failed) == len(names)
    assert classroom.nbgrader("autograde", "mixing", "--force").returncode == 0
    assert list(classroom.scores()) == ["honest"]


def test_the_worker_imports_nothing_from_where_it_was_started(tmp_path):
    (tmp_path / "refinishlib.py").write_text(f"open({str(tmp_path / 'canary')!r}, 'w')")
    ask = "from refinishlib.grading.evaluator import Evaluator; e = Evaluator(); print(e('a', [])); e.close()"
    root = Path(__file__).parents[2]
    environment = os.environ | {"PYTHONPATH": str(root)}
    command = [sys.executable, "-P", "-c", ask]
    run = subprocess.run(command, cwd=tmp_path, capture_output=True, text=True, env=environment)
    assert run.stdout.strip() == "{}", run.stderr
    assert not (tmp_path / "canary").exists()
