"""The questions of each lesson, with an apprentice's own numbers. No answers here: those live in ``course.keys``."""

from __future__ import annotations

import importlib
from functools import lru_cache

from refinishlib.course.question import Question
from refinishlib.entry import one_of

LESSONS = ("mixing",)


@lru_cache(maxsize=64)
def questions(lesson: str, apprentice: str) -> dict[str, Question]:
    """All graded questions of a lesson for one apprentice, by name, in the lesson's order.

    Raises
    ------
    BadEntry : an unknown lesson

    >>> list(questions("mixing", "demo"))[:2]
    ['1.1', '1.2']
    """
    one_of("lesson", lesson, LESSONS)
    module = importlib.import_module(f"refinishlib.course.lessons.{lesson}")
    return {question.name: question for question in module.questions(apprentice)}


def question(lesson: str, name: str, apprentice: str) -> Question:
    """One question of a lesson for one apprentice.

    Raises
    ------
    BadEntry : an unknown lesson or question
    """
    asked = questions(lesson, apprentice)
    return asked[one_of("question", name, asked)]
