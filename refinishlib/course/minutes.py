"""How long a lesson takes, as a sum of what is in it: so that the minutes on its first screen are honest."""

from __future__ import annotations

from refinishlib.course import builder, lessons
from refinishlib.course.practice import MIXED_AT_THE_END, MIXED_FROM_BEFORE, kinds_before
from refinishlib.course.question import Choice, Chosen, Order, Question

WORDS_A_MINUTE = 130
PROBLEM = 0.5
PROBLEMS_AN_IDEA = 3
NUMBER, DECISION, WRITTEN = 4.0, 2.5, 8.0

SOURCES = {
    "WORDS_A_MINUTE": "teaching value: slow readers, in a second language",
    "PROBLEM": "teaching value: minutes for one practice problem",
    "PROBLEMS_AN_IDEA": "teaching value: three in a row, as far as ready takes",
    "NUMBER": "teaching value: minutes for a question that asks for a number, its job card read",
    "DECISION": "teaching value: minutes for a question that asks only for decisions, its job card read",
    "WRITTEN": "teaching value: minutes for a written answer",
}


def is_decision(question: Question) -> bool:
    """Whether a question asks for nothing but decisions: which, whether, in what order."""
    return all(isinstance(part.form, Choice | Chosen | Order) for part in question.parts)


def minutes(lesson: str) -> float:
    """The sum: reading, practice, questions, the written answer.

    Raises
    ------
    BadEntry : an unknown lesson

    >>> 40 < minutes("mixing") < 80
    True
    """
    record = lessons.record(lesson)
    text = lessons.text(lesson)
    found = list(builder.pieces(text, "lesson.md"))
    asked = lessons.questions(lesson, "demo").values()
    read = [piece.prose for piece in found]
    read += [builder.standing(record)[piece.words[0]] for piece in found if piece.words[:1] in (("how",), ("id",))]
    directives = [piece.words[0] for piece in found if piece.words]
    problems = PROBLEMS_AN_IDEA * directives.count("practise") + MIXED_AT_THE_END * directives.count("mixed")
    if "from-last-time" in directives and kinds_before(lesson):
        problems += MIXED_FROM_BEFORE
    return (
        sum(len(words.split()) for words in read) / WORDS_A_MINUTE
        + PROBLEM * problems
        + sum(DECISION if is_decision(question) else NUMBER for question in asked)
        + WRITTEN * directives.count("written")
    )
