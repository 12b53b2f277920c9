"""What is read in a lesson can be read by somebody who reads slowly, in a second language.

The grade is that of Flesch and Kincaid (see tests/shared/reading_ease.py). Its limits are teaching values: 7 for each
text, 5 for a lesson as a whole.
"""

import pytest
from reading_ease import grade, plain

from refinishlib.booth import cautions
from refinishlib.course import builder, lessons
from refinishlib.course.guess import guesses
from refinishlib.course.keys import key
from refinishlib.course.practice import kinds

HARDEST, HARDEST_LESSON = 7.0, 5.0
IDS = [f"a{number:02d}" for number in range(12)]
# A formula tells nothing about a few words; what is shorter is read together with what stands beside it.
FEWEST_WORDS = 8


def prose(lesson):
    """The lesson's own text, part by part as a screen shows it."""
    text = (lessons.FOLDER / lesson / "lesson.md").read_text(encoding="utf-8")
    for piece in builder.pieces(text, "lesson.md"):
        words = piece.words[1:] if piece.words[:1] == ("question",) else ()
        yield plain(piece.prose or " ".join(words[1:]))
    for words in builder.standing(lessons.record(lesson)).values():
        yield plain(words)


def questions(lesson):
    for whose in IDS:
        for question in lessons.questions(lesson, whose).values():
            yield plain(question.text)
            yield " ".join(f"{option}." for part in question.parts for option in getattr(part.form, "options", ()))


def feedback(lesson):
    for whose in IDS:
        for parts in key(lesson, whose).values():
            for one in parts.values():
                yield from (plain(mistake.sentence) for mistake in one.mistakes)
                yield from (plain(rule.sentence) for rule in one.rules)


def teaching(lesson):
    shop = lessons.record(lesson).shop
    for one in guesses(lesson).values():
        yield plain(f"{one.question}\n\n{one.outcome(shop)[1]}")
        yield " ".join(f"{option}." for option in one.options)
    for kind in kinds(lesson):
        for seed in IDS:
            problem = kind.problem(seed)
            yield plain(problem.text)
            for step in problem.steps:
                yield plain(f"{step.part.label}. {step.hint}")
                yield from (plain(mistake.sentence) for mistake in step.key.mistakes)


PLACES = {"text": prose, "questions": questions, "feedback": feedback, "teaching": teaching}


def hard(texts):
    return {
        text: grade(text)
        for text in dict.fromkeys(texts)
        if grade(text) > HARDEST and len(text.split()) >= FEWEST_WORDS
    }


@pytest.mark.parametrize("place", PLACES)
@pytest.mark.parametrize("lesson", lessons.names())
def test_each_text_of_a_lesson_is_easy_to_read(lesson, place):
    assert hard(PLACES[place](lesson)) == {}


@pytest.mark.parametrize("lesson", lessons.names())
def test_a_lesson_as_a_whole_is_easier_still(lesson):
    whole = " ".join(dict.fromkeys(text for texts in PLACES.values() for text in texts(lesson) if text))
    assert grade(whole) <= HARDEST_LESSON


def caution_texts():
    for one in cautions.cautions().values():
        yield plain(f"{one.danger} {one.usual}")
        yield plain(one.short)
        yield plain(one.defer)


def test_each_caution_is_easy_to_read():
    assert hard(caution_texts()) == {}


def test_the_measure_tells_hard_from_easy():
    """The grade of Flesch and Kincaid worked out by hand: 0.39 * 9 + 11.8 * 10 / 9 - 15.59."""
    assert abs(grade("Cover your eyes. Keep the tube cool.") - (0.39 * 3.5 + 11.8 * 8 / 7 - 15.59)) < 0.1
    office = "Applicable procedures necessitate comprehensive consideration of organisational responsibilities."
    assert hard([f"{office} {office}"])
