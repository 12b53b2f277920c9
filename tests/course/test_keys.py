"""A key says which value is right; one that uses earlier answers lets one slip cost one mark."""

import importlib
import sys

import pytest

from refinishlib.course import check, keys, lessons
from refinishlib.entry import BadEntry

RECORD = """
title = "Two steps"
good_for = "You see how one answer hangs on another."
minutes = 5
order = 90
version = 0
world = 1
skills = ["two steps"]
needs = []
"""
JOB = """
from dataclasses import dataclass

@dataclass(frozen=True)
class Job:
    grey: float

def job(draw, shop):
    return Job(draw.step(40, 60, 1))
"""
QUESTIONS = """
from refinishlib.course.question import Number, Part, Question
LEVEL = Number("mass", "g", 0, 100)

def black(grey):
    return {"for this grey": 100 - grey, "white for black": float(grey)}

def questions(mine):
    grey = Part("grey_g", "Grey", LEVEL, 2, values={"darker": mine.grey + 30, "lighter": mine.grey - 30}, near=0.1)
    part = Part("black_g", "Black", LEVEL, 3, values=black(mine.grey + 30), near=0.1)
    return (
        Question("1.1", "Grey", "two steps", "", (grey,)),
        Question("1.2", "Black", "two steps", "", (part,), uses=("grey_g",)),
    )
"""
KEY = """
from refinishlib.course.keys import Known, Right
from refinishlib.course.lessons.twosteps.questions import black

def key(mine, earlier):
    grey = earlier.value("grey_g", mine.grey + 30)
    swapped = Known("white for black", 1, "that is the white.")
    return {
        "1.1": {"grey_g": Right("darker", {"lighter": Known("wrong way", 1, "the other way.")})},
        "1.2": {"black_g": Right("for this grey", {"white for black": swapped}, values=black(grey))},
    }
"""


@pytest.fixture
def two_steps(tmp_path, monkeypatch):
    """A lesson whose second question is judged by the answer to its first, in folders of its own."""
    folder = tmp_path / "lessons" / "twosteps"
    folder.mkdir(parents=True)
    (tmp_path / "solutions").mkdir()
    for name, text in (("lesson.toml", RECORD), ("job.py", JOB), ("questions.py", QUESTIONS)):
        (folder / name).write_text(text, encoding="utf-8")
    (tmp_path / "solutions" / "twosteps_key.py").write_text(KEY, encoding="utf-8")
    monkeypatch.setattr(lessons, "FOLDER", tmp_path / "lessons")
    monkeypatch.setattr(lessons, "__path__", [*lessons.__path__, str(tmp_path / "lessons")])
    monkeypatch.setenv(keys.COURSE_IN, str(tmp_path))
    importlib.invalidate_caches()
    lessons.record.cache_clear()
    yield tmp_path / "solutions" / "twosteps_key.py"
    lessons.record.cache_clear()
    for name in [name for name in sys.modules if "twosteps" in name]:
        del sys.modules[name]


def judged(black_g, **earlier):
    return check.judge("twosteps", "1.2", "ann", {"black_g": black_g}, check.earlier(earlier, "grey_g"))


def test_a_part_is_judged_by_the_earlier_answer_and_one_slip_costs_one_mark(two_steps):
    own = lessons.job("twosteps", "ann").grey + 30
    wrong = own - 7
    assert check.judge("twosteps", "1.1", "ann", {"grey_g": wrong}).points == 0
    for typed in (wrong, f"{wrong:g} g"):
        verdict = judged(100 - wrong, grey_g=typed)
        assert (verdict.points, len(verdict.sentences)) == (3.0, 1)
    assert judged(100 - own, grey_g=wrong).points == 0
    assert judged(wrong, grey_g=wrong).mistakes == ("white for black",)


@pytest.mark.parametrize("earlier", [{}, {"grey_g": ...}, {"grey_g": "dark"}, {"grey_g": [1, 2]}, {"grey_g": 1e9}])
def test_an_earlier_answer_that_is_missing_or_cannot_be_read_is_replaced_and_told(two_steps, earlier):
    own = lessons.job("twosteps", "ann").grey + 30
    verdict = judged(100 - own, **earlier)
    assert verdict.points == 3.0
    assert "judged by the value that is right for your job card" in verdict.sentences[0]


def test_what_a_key_and_its_lesson_do_not_agree_on_is_a_sentence_with_the_place(two_steps):
    for change, said in (
        (('"1.2":', '"1.3":'), "questions 1.1, 1.2"),
        (('"black_g": Right', '"white_g": Right'), "allowed are black_g"),
        (('Right("darker"', 'Right("dark"'), "1.1, grey_g"),
        (('{"lighter":', '{"light":'), "1.1, grey_g"),
    ):
        two_steps.write_text(KEY.replace(*change), encoding="utf-8")
        with pytest.raises(BadEntry, match=said) as bad:
            keys.key("twosteps", "ann")
        assert str(bad.value).startswith("twosteps_key.py") and "\n" not in str(bad.value)


def test_a_key_that_is_edited_counts_at_once_and_leaves_no_bytecode(two_steps, monkeypatch):
    monkeypatch.setattr(sys, "dont_write_bytecode", False)
    own = lessons.job("twosteps", "ann").grey + 30
    assert keys.key("twosteps", "ann")["1.1"]["grey_g"].right == own
    two_steps.write_text(KEY.replace('Right("darker", {"lighter"', 'Right("lighter", {"darker"'), encoding="utf-8")
    assert keys.key("twosteps", "ann")["1.1"]["grey_g"].right == own - 60
    assert [path.name for path in two_steps.parent.iterdir()] == ["twosteps_key.py"]
