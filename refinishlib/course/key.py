"""Right answers, known mistakes, and the verdict on what somebody typed.

A key is made for one apprentice's own numbers. Marking is arithmetic-free here: the right values come from the engine
that the calculators use, and this room only compares.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from refinishlib.course.question import REASON, NotAnswered, Part, Question, read
from refinishlib.entry import BadEntry

NOT_THE_FORM = "not in the form asked for"
UNREADABLE = "cannot be read"


@dataclass(frozen=True)
class Mistake:
    """A wrong answer that is made often.

    name : a few words for the class report ("own weight instead of cumulative")
    value : what somebody types who makes it, in house units
    points : what it still earns
    sentence : what helps the apprentice next time; never gives the right value away
    """

    name: str
    value: Any
    points: float
    sentence: str


@dataclass(frozen=True)
class Before:
    """One rule of an order: first must come before then."""

    first: str
    then: str
    mistake: str
    points: float
    sentence: str


@dataclass(frozen=True)
class PartKey:
    """The right answer to one part: a value with its tolerance, or the rules of an order.

    tolerance : largest difference from a right number that still is right, in the part's unit
    also : other answers that are as right as the first
    """

    right: Any
    tolerance: float = 0.0
    mistakes: tuple[Mistake, ...] = ()
    rules: tuple[Before, ...] = ()
    also: tuple[Any, ...] = ()


@dataclass(frozen=True)
class Verdict:
    """What the check says. points is a plain float from 0 to max_points."""

    points: float
    max_points: float
    sentences: tuple[str, ...]
    mistakes: tuple[str, ...] = ()
    skill: str = ""
    flags: tuple[str, ...] = field(default=())


def judge_parts(question: Question, key: Mapping[str, PartKey], answers: Mapping[str, Any]) -> Verdict:
    """The verdict on the answers to one question.

    Parameters
    ----------
    question : as asked
    key : for each part's name, its key
    answers : for each part's name, what was typed; a missing name counts as not answered

    Never raises for any value of an answer.
    """
    judged = {part: _judge_part(part, key[part.name], answers.get(part.name, ...)) for part in question.parts}
    right = {part.name for part, (earned, _, mistake) in judged.items() if not mistake and earned == part.points}
    points = 0.0
    sentences: list[str] = []
    mistakes: list[str] = []
    for part, (earned, sentence, mistake) in judged.items():
        if not part.only_with or part.only_with in right:
            points += earned
        elif part.name in right:
            sentence = f"{part.label}: {_DOES_NOT_COUNT[part.name.endswith(REASON)]}"
        sentences.append(sentence)
        if mistake:
            mistakes.append(mistake)
    return Verdict(
        points=float(min(max(points, 0.0), question.points)),
        max_points=question.points,
        sentences=tuple(sentences),
        mistakes=tuple(mistakes),
        skill=question.skill,
        flags=(UNREADABLE,) if NOT_THE_FORM in mistakes else (),
    )


_DOES_NOT_COUNT = {
    True: "it counts only with the right decision.",
    False: "this decision counts only with its right reason.",
}


def _judge_part(part: Part, key: PartKey, typed: Any) -> tuple[float, str, str]:
    try:
        value = read(part, typed)
    except NotAnswered as entry:
        return 0.0, str(entry), "not answered"
    except BadEntry as entry:
        return 0.0, str(entry), NOT_THE_FORM
    if key.rules:
        return _judge_order(part, key, value)
    if any(same(value, right, key.tolerance) for right in (key.right, *key.also)):
        return part.points, f"{part.label}: right.", ""
    for mistake in key.mistakes:
        if same(value, mistake.value, key.tolerance):
            return mistake.points, f"{part.label}: {mistake.sentence}", mistake.name
    if isinstance(key.right, tuple):
        hits = [same(v, r, key.tolerance) for v, r in zip(value, key.right, strict=True)]
        rows = f"{sum(hits)} of {len(hits)} rows are right"
        return part.points * sum(hits) / len(hits), f"{part.label}: {rows}.", "some rows wrong"
    return 0.0, f"{part.label}: not right. Work it once more from the job card, step by step.", "other wrong value"


def _judge_order(part: Part, key: PartKey, order: tuple[str, ...]) -> tuple[float, str, str]:
    for rule in key.rules:
        if order.index(rule.first) > order.index(rule.then):
            return rule.points, f"{part.label}: {rule.sentence}", rule.mistake
    return part.points, f"{part.label}: this order works.", ""


def same(value: Any, other: Any, tolerance: float) -> bool:
    """Whether two answers are the same within the tolerance; words and sets must be equal.

    >>> same(41.7, 41.78, 0.1), same((1.0, 2.0), (1.0, 2.3), 0.1), same("rescue", "rescue", 0.1)
    (True, False, True)
    """
    if isinstance(other, tuple):
        return len(value) == len(other) and all(same(v, o, tolerance) for v, o in zip(value, other, strict=True))
    if isinstance(other, int | float):
        return isinstance(value, int | float) and abs(value - other) <= tolerance + 1e-9
    return bool(value == other)
