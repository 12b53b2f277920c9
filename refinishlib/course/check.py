"""What a check cell calls: the form, which everybody may see, and the mark, which only a grader can make.

Both print sentences and never raise for anything that was typed. ``mark`` ends in a plain float from 0 to the
maximum, the only form in which nbgrader takes partial credit as meant.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from refinishlib.course import apprentice, as_typed
from refinishlib.course.key import Verdict, judge_parts
from refinishlib.course.keys import key_to
from refinishlib.course.lessons import question
from refinishlib.course.reading import READ

FINE = "The form is fine. Whether the value is right, your instructor's grading will say."
OTHER_ID = "made for another id"
INSTEAD = "{}: cannot be read above, so this answer is judged by the value that is right for your job card."


def who(my_id: Any) -> None:
    """Say for whom the lesson is set up."""
    whose = apprentice.current(my_id)
    if apprentice.is_someone_elses(my_id):
        print(someone_elses(my_id, whose))
    elif whose:
        print(f"This lesson is set up for {whose}.")
    else:
        print('Your id: not filled in yet. Type the id that your instructor gave you, like "a07".')


def someone_elses(my_id: Any, whose: str) -> str:
    return f'This notebook was made for the id "{apprentice.own(my_id)}", but it was handed in by "{whose}".'


def form(lesson: str, name: str, my_id: Any, answers: Mapping[str, Any]) -> None:
    """Say what was read of each answer, by the grader's own reader. Says nothing about right or wrong.

    In a notebook the cells' texts count, as they stood when they were run, and not what the kernel still holds. Silent
    while a grader marks, whose verdict says the same and more.

    >>> form("mixing", "1.1", "demo", {"own_g": "seven"})
    Own weight: 'seven' was not understood, type a mass such as 250 g.
    >>> form("mixing", "1.1", "demo", {"own_g": "34,2"})
    Own weight: read as 34.2 g.
    The form is fine. Whether the value is right, your instructor's grading will say.
    """
    if apprentice.given_by_grader():
        return
    parts = question(lesson, name, apprentice.current(my_id)).parts
    lines = as_typed.cells.say(parts, answers)
    fine = all(line.state == READ for line in lines)
    as_typed.show("\n".join([*(line.sentence for line in lines), *([FINE] if fine else [])]), parts)


class Mark(float):
    """The points of a verdict, as the plain float that nbgrader wants, with the verdict for who can use it."""

    verdict: Verdict

    def __new__(cls, verdict: Verdict) -> Mark:
        mark = super().__new__(cls, verdict.points)
        mark.verdict = verdict
        return mark


def mark(
    lesson: str, name: str, my_id: Any, answers: Mapping[str, Any], earlier: Mapping[str, Any] | None = None
) -> Mark:
    """Print the verdict's sentences and return its points. Needs the key, so only a grader can run it."""
    verdict = judge(lesson, name, my_id, answers, earlier)
    for sentence in verdict.sentences:
        print(sentence)
    return Mark(verdict)


def earlier(names: Mapping[str, Any], *parts: str) -> dict[str, Any]:
    """What was typed above for earlier parts; a name that is not there counts as not answered.

    >>> earlier({"coats": 3}, "coats", "grey_l")
    {'coats': 3, 'grey_l': Ellipsis}
    """
    return {part: names.get(part, ...) for part in parts}


def judge(
    lesson: str, name: str, my_id: Any, answers: Mapping[str, Any], earlier: Mapping[str, Any] | None = None
) -> Verdict:
    """The verdict on one question for the apprentice who is being graded.

    earlier : what was typed for the earlier parts that this question is judged by

    Right answers always are those for the id that the grader hands over. When the notebook was made for another id,
    the verdict says so, whatever the marks.
    """
    graded_id = apprentice.current(my_id)
    key = key_to(lesson, name, graded_id, earlier or {})
    verdict = judge_parts(question(lesson, name, graded_id), key.parts, answers)
    if key.instead:
        verdict = replace(verdict, sentences=(INSTEAD.format(", ".join(key.instead)), *verdict.sentences))
    if apprentice.is_someone_elses(my_id):
        said = someone_elses(my_id, graded_id)
        return replace(verdict, sentences=(said, *verdict.sentences), flags=(OTHER_ID, *verdict.flags))
    return verdict
