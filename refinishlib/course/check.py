"""What a check cell calls: the form, which everybody may see, and the mark, which only a grader can make.

Both print sentences and never raise for anything that was typed. ``mark`` ends in a plain float from 0 to the
maximum, the only form in which nbgrader takes partial credit as meant.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from refinishlib.course import apprentice
from refinishlib.course.key import Verdict, judge_parts
from refinishlib.course.lessons import question
from refinishlib.course.question import read
from refinishlib.entry import BadEntry

OTHER_ID = "made for another id"


def who(my_id: Any) -> None:
    """Say for whom the lesson is set up."""
    whose = apprentice.current(my_id)
    if apprentice.is_someone_elses(my_id):
        print(someone_elses(my_id, whose))
    elif whose:
        print(f"This lesson is set up for {whose}.")
    else:
        print('my_id: not filled in yet, it takes the id from your instructor in quotes, like "a07".')


def someone_elses(my_id: Any, whose: str) -> str:
    return f'This notebook was made for the id "{apprentice.own(my_id)}", but it was handed in by "{whose}".'


def form(lesson: str, name: str, my_id: Any, answers: Mapping[str, Any]) -> None:
    """Say whether the answers have the form that the question asks for. Says nothing about the value.

    Silent while a grader marks, whose verdict says the same and more.

    >>> form("mixing", "1.1", "demo", {"own_g": "seven"})
    Own weight: 'seven' was not understood, type a mass such as 250 g.
    """
    if apprentice.given_by_grader():
        return
    asked = question(lesson, name, apprentice.current(my_id))
    fine = True
    for part in asked.parts:
        try:
            read(part, answers.get(part.name, ...))
        except BadEntry as entry:
            fine = False
            print(entry)
    if fine:
        print("The form is fine. Whether the value is right, your instructor's grading will say.")


def mark(lesson: str, name: str, my_id: Any, answers: Mapping[str, Any]) -> float:
    """Print the verdict's sentences and return its points. Needs the keys, so only a grader can run it."""
    verdict = judge(lesson, name, my_id, answers)
    for sentence in verdict.sentences:
        print(sentence)
    return verdict.points


def judge(lesson: str, name: str, my_id: Any, answers: Mapping[str, Any]) -> Verdict:
    """The verdict on one question for the apprentice who is being graded.

    Right answers always are those for the id that the grader hands over. When the notebook was made for another id,
    the verdict says so, whatever the marks.
    """
    graded_id = apprentice.current(my_id)
    from refinishlib.course.keys import key

    verdict = judge_parts(question(lesson, name, graded_id), key(lesson, graded_id)[name], answers)
    if apprentice.is_someone_elses(my_id):
        said = someone_elses(my_id, graded_id)
        return replace(verdict, sentences=(said, *verdict.sentences), flags=(*verdict.flags, OTHER_ID))
    return verdict
