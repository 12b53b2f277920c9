"""No mark is lost: by hand, with other points, with a question more or less, and with a damaged file."""

import csv
import json
import re
from html import unescape

import pytest

from refinishlib.course.keys import key
from refinishlib.entry import BadEntry
from refinishlib.grading import classroom as grading
from refinishlib.grading import giveback, standing
from refinishlib.grading.release import release

WRITTEN = {"written-1": "The scale is too coarse."}


def mark_by_hand(classroom, who: str, cell: str, score: float | None, comment: str = "") -> None:
    """As the formgrader saves a mark."""
    with standing.open_book(classroom.root) as book:
        grade = book.find_grade(cell, "mixing", "mixing", who)
        grade.manual_score, grade.needs_manual_grade = score, False
        if comment:
            book.find_comment(cell, "mixing", "mixing", who).manual_comment = comment
        book.db.commit()


def cell(classroom, who: str, name: str):
    hand_in = standing.load(classroom.root).hand_ins[who, "mixing"]
    return next(one for one in hand_in.cells if one.name == name)


def change_notebook(classroom, folder: str, change) -> None:
    path = classroom.root / folder / "mixing/mixing.ipynb"
    notebook = json.loads(path.read_text(encoding="utf-8"))
    change(notebook["cells"])
    path.write_text(json.dumps(notebook), encoding="utf-8")


def about(cells: list, grade_id: str) -> dict:
    return next(one for one in cells if one["metadata"].get("nbgrader", {}).get("grade_id") == grade_id)


def page(classroom, who: str) -> str:
    text = (classroom.root / f"feedback/{who}/mixing/mixing.html").read_text(encoding="utf-8")
    return " ".join(unescape(re.sub(r"<style>.*?</style>|<[^>]+>", " ", text, flags=re.DOTALL)).split())


def test_a_hand_mark_reopens_only_when_its_own_text_or_its_rubric_changed(classroom):
    classroom.hand_in("ann", WRITTEN)
    grading.grade(classroom.root)
    assert cell(classroom, "ann", "written-1").waits
    mark_by_hand(classroom, "ann", "written-1", 3.0)
    grading.grade(classroom.root, again=True)
    assert not cell(classroom, "ann", "written-1").waits, "graded again, nothing changed"
    change_notebook(classroom, "solutions", lambda cells: cells[-1].update(source="## Remember\n\nA typo mended."))
    release(classroom.root, "mixing")
    classroom.hand_in("ann", WRITTEN | {"answer-1-1": "own_g = 0.5"})
    assert grading.grade(classroom.root)[0].graded == ["ann"]
    assert not cell(classroom, "ann", "written-1").waits, "the wrap-up and another answer changed"
    classroom.hand_in("ann", {"written-1": "Something else."})
    grading.grade(classroom.root)
    assert cell(classroom, "ann", "written-1").waits and cell(classroom, "ann", "written-1").by_hand == 3.0
    mark_by_hand(classroom, "ann", "written-1", 2.0)
    [rubric] = (classroom.root / "solutions").glob("mixing*rubric.md")
    rubric.write_text(rubric.read_text(encoding="utf-8") + "\nA new line.\n", encoding="utf-8")
    grading.grade(classroom.root, again=True)
    assert cell(classroom, "ann", "written-1").waits, "the rubric changed"


def test_an_old_hand_mark_never_hides_a_better_automatic_one_unnamed(classroom):
    classroom.hand_in("ann", {"answer-1-1": "own_g = 0.5"})
    grading.grade(classroom.root)
    mark_by_hand(classroom, "ann", "check-1-1", 1.0)
    [summary] = grading.grade(classroom.root, again=True)
    assert summary.needs == {}, "it was given for this answer"
    classroom.hand_in("ann")
    [summary] = grading.grade(classroom.root)
    said = f"1.1: the mark by hand is 1, the check now gives {classroom.most['check-1-1']:g}"
    assert summary.needs == {"ann": [said]}
    assert standing.load(classroom.root).hand_ins["ann", "mixing"].look_at == [said]


def test_a_flag_that_was_looked_at_stays_closed_until_the_answer_changes(classroom):
    classroom.hand_in("ann", {"answer-1-1": "import os\nown_g = 1"})
    [summary] = grading.grade(classroom.root)
    assert summary.needs == {"ann": ["holds code (1.1)"]}
    mark_by_hand(classroom, "ann", "check-1-1", 2.0)
    assert grading.grade(classroom.root, again=True)[0].needs == {}
    classroom.hand_in("ann", {"answer-1-1": "import sys\nown_g = 1"})
    assert grading.grade(classroom.root)[0].needs == {"ann": ["holds code (1.1)"]}


@pytest.mark.parametrize("points", [1, 6])
def test_other_points_scale_the_marks_instead_of_failing_every_check(classroom, points):
    mistake = key("mixing", "ben")["1.1"]["own_g"].mistakes[0]
    classroom.hand_in("ann", WRITTEN)
    classroom.hand_in("ben", {"answer-1-1": f"own_g = {mistake.value!r}"})
    grading.grade(classroom.root)
    mark_by_hand(classroom, "ann", "written-1", 3.0)
    before = classroom.most["check-1-1"]
    change_notebook(
        classroom, "solutions", lambda cells: about(cells, "check-1-1")["metadata"]["nbgrader"].update(points=points)
    )
    change = release(classroom.root, "mixing")
    assert change.points == {"1.1": (before, float(points))}
    [summary] = grading.grade(classroom.root)
    assert "its marks are scaled" in summary.notes[0] and summary.needs == {}
    scores = classroom.scores()
    assert scores["ann"]["check-1-1"] == (float(points), False)
    assert scores["ben"]["check-1-1"] == (pytest.approx(mistake.points * points / before), False)
    assert cell(classroom, "ann", "written-1").by_hand == 3.0


def test_a_question_removed_after_grading_is_named_and_its_marks_are_kept(classroom):
    for who in ("ann", "ben"):
        classroom.hand_in(who, WRITTEN)
    grading.grade(classroom.root)
    mark_by_hand(classroom, "ann", "written-1", 3.0)
    before = classroom.scores()
    most = classroom.most["check-6-1"]

    def take_out(cells: list) -> None:
        for grade_id in ("text-6-1", "card-6-1", "answer-6-1", "check-6-1"):
            cells.remove(about(cells, grade_id))

    change_notebook(classroom, "solutions", take_out)
    with pytest.raises(BadEntry, match=r"question 6\.1 .* 2 marks .* --drop 6\.1"):
        release(classroom.root, "mixing")
    assert classroom.scores() == before
    assert release(classroom.root, "mixing", drop=["6.1"]).removed == ["6.1"]
    with (classroom.root / "dropped_marks.csv").open(encoding="utf-8-sig", newline="") as file:
        kept = {(row["apprentice"], row["question"]): float(row["points"]) for row in csv.DictReader(file)}
    assert kept == {("ann", "6.1"): most, ("ben", "6.1"): most}
    grading.grade(classroom.root)
    after = classroom.scores()
    assert after["ben"] == {name: score for name, score in before["ben"].items() if name != "check-6-1"}
    assert cell(classroom, "ann", "written-1").by_hand == 3.0 and not cell(classroom, "ann", "written-1").waits


def test_feedback_shows_a_new_mark_and_comment_and_writes_nothing_else(classroom):
    for who in ("ann", "ben"):
        classroom.hand_in(who, WRITTEN)
    grading.grade(classroom.root)
    [first] = giveback.give_back(classroom.root, "mixing")
    assert len(first.written) == 2 and "not marked yet" in page(classroom, "ann")
    mark_by_hand(classroom, "ann", "written-1", 3.0, "Think of the rest of the paint.")
    [second] = giveback.give_back(classroom.root, "mixing")
    assert [path.parents[1].name for path in second.written] == ["ann"] and second.unchanged == 1
    assert "Your instructor gave 3 of 4" in page(classroom, "ann")
    assert "Think of the rest of the paint." in page(classroom, "ann")
    classroom.hand_in("ben", {"answer-1-1": "own_g = 0.5"})
    [third] = giveback.give_back(classroom.root, "mixing")
    assert (third.written, third.older) == ([], ["ben"])


def test_the_feedback_page_shows_no_code_and_no_right_value(classroom):
    classroom.hand_in("ann", {"answer-1-1": "own_g = 0.5", "answer-6-1": "ready_ml = 1"})
    grading.grade(classroom.root)
    giveback.give_back(classroom.root, "mixing")
    text = (classroom.root / "feedback/ann/mixing/mixing.html").read_text(encoding="utf-8")
    assert not [word for word in ("In [", "own_g", "ready_ml", "check.", "card(", "my_id", "<script") if word in text]
    said = page(classroom, "ann")
    assert "Own weight 0.5" in said and "What to practise next" in said
    assert "go back to Parts, share, own weight and use the practice there" in said
    for name, part in (("1.1", "own_g"), ("6.1", "ready_ml")):
        right = key("mixing", "ann")[name][part].right
        assert f"{right:.1f}" not in said and f"{right:.2f}" not in said


@pytest.mark.parametrize("damage", [b"this is no database" * 100, b"SQLite format 3\0" + bytes(4096)])
def test_a_damaged_grade_book_is_one_sentence_with_what_to_do(classroom, damage):
    classroom.hand_in("ann")
    (classroom.root / "gradebook.db").write_bytes(damage)
    for command in (grading.grade, standing.load):
        with pytest.raises(BadEntry, match=r"gradebook\.db is damaged .* Put back the last copy"):
            command(classroom.root)


def test_a_damaged_ledger_is_one_sentence_with_what_to_do(classroom):
    classroom.hand_in("ann", WRITTEN)
    grading.grade(classroom.root)
    (classroom.root / "grading_ledger.jsonl").write_bytes(b"\xff\xfe\x00broken\n" * 3)
    for command in (grading.grade, standing.load):
        with pytest.raises(BadEntry, match=r"grading_ledger\.jsonl is damaged: 3 of its 3 lines .* refinish grade"):
            command(classroom.root)


def test_with_nothing_handed_in_it_says_so(classroom, monkeypatch, capsys):
    monkeypatch.chdir(classroom.root)
    words = type("Given", (), {"lesson": "mixing", "again": False})
    assert grading.run(words) == 0
    assert capsys.readouterr().out.startswith("Nothing is handed in for mixing yet.")
