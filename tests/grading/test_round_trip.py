"""The instructor's path with nbgrader's own commands on the real lesson: hand in, autograde, feedback, export."""

import csv
import re
from html import unescape

import pytest

from refinishlib.course import lessons
from refinishlib.course.keys import key
from refinishlib.grading import handin

LESSON = "mixing"
SOLVERS = [f"a{number:02d}" for number in range(1, 21)]
BLANKS = [f"b{number:02d}" for number in range(1, 21)]
MISTAKEN = [f"c{number:02d}" for number in range(1, 4)]


def points_with_mistake(apprentice, number):
    """What earns who makes known mistake 0, 1, 2 in every part that has so many."""
    points = 0.0
    for name, parts in key(LESSON, apprentice).items():
        for part in lessons.questions(LESSON, apprentice)[name].parts:
            known = parts[part.name].mistakes or parts[part.name].rules
            points += known[min(number, len(known) - 1)].points if known else part.points
    return points


def test_the_whole_way_for_a_class(classroom):
    full = sum(question.points for question in lessons.questions(LESSON, "demo").values())
    expected = dict.fromkeys(SOLVERS, full) | dict.fromkeys(BLANKS, 0.0)
    for apprentice in SOLVERS:
        classroom.hand_in(apprentice)
    for apprentice in BLANKS:
        handin.hand_in(classroom.root, apprentice, LESSON, classroom.released)
    for number, apprentice in enumerate(MISTAKEN):
        classroom.hand_in(apprentice, handin.texts(LESSON, apprentice, handin.wrong_answer(number)))
        expected[apprentice] = points_with_mistake(apprentice, number)

    for words in (["autograde", LESSON], ["generate_feedback", LESSON], ["export"]):
        run = classroom.nbgrader(*words)
        assert run.returncode == 0, run.stderr[-4000:]
    with (classroom.root / "grades.csv").open(newline="", encoding="utf-8") as table:
        scores = {
            row["student_id"]: float(row["raw_score"]) for row in csv.DictReader(table) if row["assignment"] == LESSON
        }
    assert scores == pytest.approx(expected)

    for number, apprentice in enumerate(MISTAKEN):
        page = (classroom.root / "feedback" / apprentice / LESSON / f"{LESSON}.html").read_text(encoding="utf-8")
        said = " ".join(unescape(re.sub(r"<[^>]+>", " ", page)).split())
        for parts in key(LESSON, apprentice).values():
            for one in parts.values():
                if one.mistakes:
                    sentence = one.mistakes[min(number, len(one.mistakes) - 1)].sentence
                    assert sentence[1:] in said, "with or without the field's label before it"
