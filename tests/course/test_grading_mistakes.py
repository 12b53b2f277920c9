"""The mistake bank: for 500 apprentices, right answers score full marks and every known mistake is told from them."""

import pytest

from refinishlib.course.grading.answers import read_cell
from refinishlib.course.grading.handin import right_answer, typed, wrong_answer
from refinishlib.course.key import judge_parts, same
from refinishlib.course.keys import key
from refinishlib.course.lessons import LESSONS, questions

APPRENTICES = [f"a{number:03}" for number in range(500)]


def as_typed(value):
    """A value after it was typed into an answer cell and read again."""
    return read_cell(f"x = {typed(value)}").values["x"]


@pytest.mark.parametrize("lesson", LESSONS)
def test_every_question_knows_at_least_three_mistakes(lesson):
    for name, parts in key(lesson, "a000").items():
        known = {mistake.name for one in parts.values() for mistake in one.mistakes}
        known |= {rule.mistake for one in parts.values() for rule in one.rules}
        assert len(known) >= 3, name


@pytest.mark.parametrize("lesson", LESSONS)
def test_right_answers_and_mistakes_are_told_apart_for_everyone(lesson):
    for who in APPRENTICES:
        asked = questions(lesson, who)
        for name, parts in key(lesson, who).items():
            right = {part: as_typed(right_answer(name, part, one)) for part, one in parts.items()}
            verdict = judge_parts(asked[name], parts, right)
            assert (verdict.points, verdict.mistakes) == (asked[name].points, ()), (who, name)
            assert type(verdict.points) is float
            for part, one in parts.items():
                most = next(p.points for p in asked[name].parts if p.name == part)
                for number, mistake in enumerate(one.mistakes):
                    assert not same(mistake.value, one.right, one.tolerance), (who, name, mistake.name)
                    made = judge_parts(asked[name], parts, right | {part: as_typed(mistake.value)})
                    lost = most - mistake.points
                    assert made.points == pytest.approx(asked[name].points - lost), (who, name, mistake.name)
                    assert mistake.points < most and made.mistakes == (mistake.name,), (who, name, mistake.name, number)
                    assert any(mistake.sentence in sentence for sentence in made.sentences)
                for number, rule in enumerate(one.rules):
                    order = as_typed(wrong_answer(number)(name, part, one))
                    made = judge_parts(asked[name], parts, right | {part: order})
                    assert rule.points < most and made.points < asked[name].points, (who, rule.mistake)
                    assert made.mistakes, (who, name, rule.mistake)
